"""How many parts go how far: steps down with their interval, and where half of them are left."""

import math
from gettext import gettext as _

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen

from wearlog.drawing.chart_frame import Frame, draw_text, nice_ticks, points, text_size
from wearlog.drawing.number_words import share_text, use_quantity, use_unit_text
from wearlog.drawing.palette import Palette, colour
from wearlog.drawing.trend_axes import value_tick_text
from wearlog.fleet.quantity import ShownUnits
from wearlog.units import factor
from wearlog.workshop.record_snapshot import Floats, Survival

_TICK_PX, _END_PX = 5.0, 6.0
#: More marks than these on one curve hide it.
_MOST_ENDS = 120


def survival_frame(
    box: QRectF, curve: Survival, use_unit: str, shown: ShownUnits, colours: Palette, scale: float = 1.0
) -> Frame:
    """Return where the chart lies, from nothing on the part to as far as one was followed.

    Parameters
    ----------
    box : QRectF
        All the room there is, [px].
    curve : Survival
        What is drawn.
    use_unit : str
        ``"km"`` or ``"h"``.
    shown : ShownUnits
        The units of this seat.
    colours : Palette
        The theme's colours.
    scale : float
        The seat's text scale, [-].
    """
    area = box.adjusted(48.0 * scale, 26.0 * scale, -12.0 * scale, -60.0 * scale)
    return Frame(
        area, box, (0.0, max(1.02 * curve.use_last, 1.0) / _size(use_unit, shown)), (0.0, 1.0), colours, scale
    )


def paint_survival(
    painter: QPainter,
    box: QRectF,
    curve: Survival,
    use_unit: str,
    shown: ShownUnits,
    colours: Palette,
    scale: float = 1.0,
) -> None:
    """Draw the share of parts that goes farther, with its 95 % interval.

    Parameters
    ----------
    painter : QPainter
        On a widget, a picture or paper.
    box : QRectF
        All the room there is, [px].
    curve : Survival
        What is drawn.
    use_unit : str
        ``"km"`` or ``"h"``.
    shown : ShownUnits
        The units of this seat.
    colours : Palette
        The theme's colours.
    scale : float
        The seat's text scale, [-].
    """
    frame = survival_frame(box, curve, use_unit, shown, colours, scale)
    size = _size(use_unit, shown)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _paint_shares(painter, frame)
    end = curve.use_last / size
    low_x, low = _steps(curve.use / size, curve.low, end)
    _x, high = _steps(curve.use / size, curve.high, end)
    share_x, share = _steps(curve.use / size, curve.share, end)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour(colours.bands[1]))
    painter.drawPolygon(
        points(frame.xs(np.concatenate([low_x, low_x[::-1]])), frame.ys(np.concatenate([low, high[::-1]])))
    )
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(colour(colours.median), 2.0))
    painter.drawPolyline(points(frame.xs(share_x), frame.ys(share)))
    _paint_ends(painter, frame, curve, size)
    _paint_half(painter, frame, curve, size)
    _paint_use(painter, frame, curve, use_unit, shown)
    painter.restore()


def _size(use_unit: str, shown: ShownUnits) -> float:
    return factor(shown.unit_of(use_quantity(use_unit)), use_quantity(use_unit))


def _steps(use: Floats, share: Floats, end: float) -> tuple[Floats, Floats]:
    """Return the corners of the steps, from the start to as far as parts were followed."""
    x = np.concatenate([[0.0], np.repeat(use, 2), [max(end, float(use[-1]) if use.size else 0.0)]])
    y = np.repeat(np.concatenate([[1.0], share]), 2)
    return x, y


def _paint_shares(painter: QPainter, frame: Frame) -> None:
    font, area = frame.font(), frame.area
    for n in range(0, 101, 25):
        y = int(frame.y(n / 100)) + 0.5
        painter.setPen(QPen(colour(frame.colours.hairline if n else frame.colours.outline), 1.0))
        painter.drawLine(QPointF(area.left(), y), QPointF(area.right(), y))
        text = share_text(n / 100)
        width, height = text_size(font, text)
        painter.setPen(colour(frame.colours.muted))
        draw_text(painter, area.left() - 8.0 - width, y - height / 2, font, text)
    draw_text(painter, frame.whole.left(), frame.whole.top(), font, _("share of the parts that goes farther"))


def _paint_ends(painter: QPainter, frame: Frame, curve: Survival, size: float) -> None:
    """Mark where parts were followed for the last time that were not worn, unless they would be a hedge."""
    if curve.ended_early.size > _MOST_ENDS:
        return
    shares = np.concatenate([[1.0], curve.share])
    at = shares[np.searchsorted(curve.use, curve.ended_early, side="right")]
    painter.setPen(QPen(colour(frame.colours.median), 1.0))
    for use, share in zip((curve.ended_early / size).tolist(), at.tolist(), strict=True):
        x, y = frame.x(use), frame.y(share)
        painter.drawLine(QPointF(x, y - _END_PX), QPointF(x, y))


def _paint_half(painter: QPainter, frame: Frame, curve: Survival, size: float) -> None:
    if not math.isfinite(curve.median):
        return
    pen = QPen(colour(frame.colours.crossing), 1.2)
    pen.setDashPattern([3.0, 3.0])
    painter.setPen(pen)
    x, y = frame.x(curve.median / size), frame.y(0.5)
    painter.drawLine(QPointF(frame.area.left(), y), QPointF(x, y))
    painter.drawLine(QPointF(x, y), QPointF(x, frame.area.bottom()))
    high = min(curve.median_high, curve.use_last)
    painter.setPen(QPen(colour(frame.colours.crossing), 2.5))
    base = frame.area.bottom()
    painter.drawLine(QPointF(frame.x(curve.median_low / size), base), QPointF(frame.x(high / size), base))
    painter.setBrush(colour(frame.colours.crossing))
    painter.drawEllipse(QPointF(x, base), 4.0 * frame.scale, 4.0 * frame.scale)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    font = frame.font(bold=True)
    text = _("half of them")
    width, height = text_size(font, text)
    if frame.area.left() + width + 16.0 < x:
        painter.setPen(colour(frame.colours.crossing))
        draw_text(painter, frame.area.left() + 6.0, y - height - 1.0, font, text)


def _paint_use(painter: QPainter, frame: Frame, curve: Survival, use_unit: str, shown: ShownUnits) -> None:
    """Write the use below, and how many parts were still followed there."""
    font, area = frame.font(), frame.area
    size = _size(use_unit, shown)
    ticks, step = nice_ticks(*frame.x_range, most=max(3, int(area.width() / (72.0 * frame.scale))))
    base = int(area.bottom()) + 0.5
    height = text_size(font, "0")[1]
    followed = _("followed")
    followed_end = frame.whole.left() + text_size(font, followed)[0] + 6.0
    for tick in ticks:
        x = int(frame.x(tick)) + 0.5
        painter.setPen(QPen(colour(frame.colours.outline), 1.0))
        painter.drawLine(QPointF(x, base), QPointF(x, base + _TICK_PX))
        painter.setPen(colour(frame.colours.muted))
        for line, text in enumerate((value_tick_text(tick, step), str(_followed(curve, tick * size)))):
            width = text_size(font, text)[0]
            left = min(x - width / 2, frame.whole.right() - width)
            if line == 0 or left > followed_end:
                draw_text(painter, left, base + 7.0 + line * (height + 1.0), font, text)
    painter.setPen(colour(frame.colours.muted))
    draw_text(painter, frame.whole.left(), base + 8.0 + height, font, followed)
    title = _("use of the part, {unit}").format(unit=use_unit_text(use_unit, shown))
    width = text_size(font, title)[0]
    draw_text(painter, area.right() - width, base + 9.0 + 2.0 * height, font, title)


def _followed(curve: Survival, use: float) -> int:
    """Return how many parts were running and followed at a use."""
    step = int(np.searchsorted(curve.use, use, side="left"))
    if step < curve.use.size:
        return int(curve.at_risk[step])
    return int((curve.ended_early >= use).sum())
