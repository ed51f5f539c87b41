"""Long-run cost against the wear at replacement, as a curve with its band; the same on screen and paper."""

import math
from dataclasses import dataclass
from gettext import gettext as _

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen, QPolygonF

from wearlog.drawing.number_words import share_text
from wearlog.drawing.palette import Palette, colour, type_font
from wearlog.drawing.policy_words import distance_text
from wearlog.workshop.policy_snapshot import PolicyOf

#: Margins for the words of the axes before the text scale, [px].
LEFT, RIGHT, TOP, BOTTOM = 56.0, 24.0, 28.0, 44.0
#: The cost axis begins at 0 and ends at so many times the cost at the limit.
MOST_COST = 2.0


@dataclass(frozen=True, slots=True)
class PolicyScale:
    """Where shares and costs lie in the chart."""

    area: QRectF
    first: float
    last: float
    most: float

    def point(self, share: float, cost: float) -> QPointF:
        """Return the place of a share and a cost, [px]."""
        x = self.area.left() + self.area.width() * (share - self.first) / (self.last - self.first)
        y = self.area.bottom() - self.area.height() * min(cost / self.most, 1.0)
        return QPointF(x, y)


def policy_scale(rect: QRectF, policy: PolicyOf, scale: float = 1.0) -> PolicyScale:
    """Return where shares and costs lie in a rectangle."""
    area = rect.adjusted(LEFT * scale, TOP * scale, -RIGHT * scale, -BOTTOM * scale)
    most = MOST_COST * policy.cost_at(1.0)
    return PolicyScale(area, policy.shares[0], policy.shares[-1], most)


def cost_step(most: float) -> float:
    """Return a round step for the cost axis, about four of them.

    Examples
    --------
    >>> cost_step(19.0), cost_step(39.0)
    (5.0, 10.0)
    """
    raw = most / 4.0
    size = 10.0 ** math.floor(math.log10(raw))
    return next((size * step for step in (1.0, 2.0, 5.0) if size * step >= raw), 10.0 * size)


def paint_policy(
    painter: QPainter, rect: QRectF, policy: PolicyOf, look: Palette, scale: float = 1.0
) -> None:
    """Paint the curve of one class of chains.

    The band holds 8 in 10; what sprockets cost is the lighter area below; the limit is a firm line, the share
    at which the cost is least a dot with its interval on the axis.

    Parameters
    ----------
    painter : QPainter
        Where to.
    rect : QRectF
        Room for it, [px].
    policy : PolicyOf
        What to paint.
    look : Palette
        Colours.
    scale : float
        The seat's text scale, [-].
    """
    at = policy_scale(rect, policy, scale)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _paint_grid(painter, at, policy, look, scale)
    painter.save()
    painter.setClipRect(at.area)
    _area(painter, at, policy.shares, policy.low, policy.high, look.bands[1])
    worn = tuple(a + b for a, b in zip(policy.sprocket_cost, policy.failure_cost, strict=True))
    _area(painter, at, policy.shares, tuple(0.0 for _share in policy.shares), worn, look.hairline)
    pen = QPen(colour(look.muted), 1.0 * scale, Qt.PenStyle.DashLine)
    _curve(painter, at, policy.shares, worn, pen)
    _curve(painter, at, policy.shares, policy.cost, QPen(colour(look.median), 2.2 * scale))
    painter.restore()
    _paint_limit(painter, at, look, scale)
    _paint_best(painter, at, policy, look, scale)
    _label(painter, at, policy, worn, look, scale)
    painter.restore()


def _area(
    painter: QPainter,
    at: PolicyScale,
    shares: tuple[float, ...],
    low: tuple[float, ...],
    high: tuple[float, ...],
    fill: str,
) -> None:
    below = [at.point(share, cost) for share, cost in zip(shares, low, strict=True)]
    above = [at.point(share, cost) for share, cost in zip(shares, high, strict=True)]
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour(fill))
    painter.drawPolygon(QPolygonF(below + above[::-1]))
    painter.setBrush(Qt.BrushStyle.NoBrush)


def _curve(
    painter: QPainter, at: PolicyScale, shares: tuple[float, ...], cost: tuple[float, ...], pen: QPen
) -> None:
    painter.setPen(pen)
    painter.drawPolyline(QPolygonF([at.point(share, one) for share, one in zip(shares, cost, strict=True)]))


def _paint_grid(painter: QPainter, at: PolicyScale, policy: PolicyOf, look: Palette, scale: float) -> None:
    font = type_font("caption", scale=scale)
    painter.setFont(font)
    metrics = QFontMetricsF(font)
    step = cost_step(at.most)
    cost = 0.0
    while cost <= at.most + 1e-9:
        y = at.point(at.first, cost).y()
        painter.setPen(QPen(colour(look.hairline if cost else look.outline), 1.0))
        painter.drawLine(QLineF(at.area.left(), y, at.area.right(), y))
        painter.setPen(colour(look.muted))
        text = f"{cost:g}"
        left = at.area.left() - 8.0 * scale - metrics.horizontalAdvance(text)
        painter.drawText(QPointF(left, y + metrics.ascent() / 2.0 - 1.0), text)
        cost += step
    share = math.ceil(at.first * 5.0 - 1e-9) / 5.0
    base = at.area.bottom()
    while share <= at.last + 1e-9:
        x = at.point(share, 0.0).x()
        painter.setPen(QPen(colour(look.outline), 1.0))
        painter.drawLine(QLineF(x, base, x, base + 4.0 * scale))
        painter.setPen(colour(look.muted))
        text = share_text(share)
        painter.drawText(
            QPointF(x - metrics.horizontalAdvance(text) / 2.0, base + 6.0 * scale + metrics.ascent()), text
        )
        share += 0.2
    painter.setPen(colour(look.muted))
    title = _("replaced at this share of the allowance")
    left = at.area.right() - metrics.horizontalAdvance(title)
    painter.drawText(QPointF(left, base + 10.0 * scale + 2.0 * metrics.height()), title)
    head = _("cost for {distance}").format(distance=distance_text(policy.use_unit))
    painter.drawText(QPointF(at.area.left() - 40.0 * scale, at.area.top() - 12.0 * scale), head)


def _paint_limit(painter: QPainter, at: PolicyScale, look: Palette, scale: float) -> None:
    x = at.point(1.0, 0.0).x()
    painter.setPen(QPen(colour(look.ink), 1.4 * scale))
    painter.drawLine(QLineF(x, at.area.top(), x, at.area.bottom()))
    painter.setFont(type_font("caption", scale=scale))
    painter.drawText(QPointF(x + 6.0 * scale, at.area.top() + 10.0 * scale), _("service limit"))


def _paint_best(painter: QPainter, at: PolicyScale, policy: PolicyOf, look: Palette, scale: float) -> None:
    base = at.area.bottom()
    painter.setPen(QPen(colour(look.accent), 4.0 * scale))
    low, high = at.point(policy.best_low, 0.0).x(), at.point(policy.best_high, 0.0).x()
    painter.drawLine(QLineF(low, base, high, base))
    dot = at.point(policy.best, policy.cost_at(policy.best))
    painter.setPen(QPen(colour(look.ground), 1.5 * scale))
    painter.setBrush(colour(look.accent))
    painter.drawEllipse(dot, 5.5 * scale, 5.5 * scale)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def _label(
    painter: QPainter,
    at: PolicyScale,
    policy: PolicyOf,
    worn: tuple[float, ...],
    look: Palette,
    scale: float,
) -> None:
    """Write what the lines are, clear of them."""
    font = type_font("caption", scale=scale)
    metrics = QFontMetricsF(font)
    painter.setFont(font)
    text = _("all costs; the band holds 8 in 10")
    left = at.point(1.12, 0.0).x()
    right = left + metrics.horizontalAdvance(text)
    tops = [
        at.point(share, high).y()
        for share, high in zip(policy.shares, policy.high, strict=True)
        if left - 8.0 <= at.point(share, 0.0).x() <= right + 8.0
    ]
    top = max(min(tops, default=at.area.top()) - 8.0 * scale, at.area.top() + 26.0 * scale)
    painter.setPen(colour(look.ink))
    painter.drawText(QPointF(left, top), text)
    below = _("of which sprockets and failures")
    room = at.area.bottom() - max(
        at.point(share, one).y() for share, one in zip(policy.shares, worn, strict=True)
    )
    painter.setPen(colour(look.ink if room > 1.6 * metrics.height() else look.muted))
    painter.drawText(QPointF(left, at.area.bottom() - 9.0 * scale), below)
