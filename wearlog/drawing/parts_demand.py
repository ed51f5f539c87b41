"""The demand ahead as a small drawing: how likely each number of pieces is, and what is there for it."""

from collections.abc import Sequence

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QPainter, QPen

from wearlog.drawing.palette import Palette, colour, type_font
from wearlog.workshop.parts_snapshot import PartsLine

#: Bars drawn at least, so that one or two pieces do not look like many.
LEAST_BARS = 6
MOST_BARS = 14


def bars_shown(line: PartsLine) -> int:
    """Return how many numbers of pieces the drawing shows, from 0."""
    have = line.on_hand + line.on_order
    return max(LEAST_BARS, min(max(len(line.chances), line.wanted + 1, have + 1), MOST_BARS))


def paint_demand(
    painter: QPainter,
    rect: QRectF,
    line: PartsLine,
    look: Palette,
    scale: float = 1.0,
    *,
    numbers: bool = False,
) -> None:
    """Paint how likely each number of pieces is.

    What is there and on order covers the filled bars; a firm tick marks the number that is enough with the
    chance wanted. Bars beyond what is there are hollow, so that the drawing reads without colour.

    Parameters
    ----------
    painter : QPainter
        Where to.
    rect : QRectF
        Room for it, [px].
    line : PartsLine
        The part type.
    look : Palette
        Colours.
    scale : float
        The seat's text scale, [-].
    numbers : bool
        Whether the numbers of pieces stand below.
    """
    count = bars_shown(line)
    foot = 14.0 * scale if numbers else 4.0 * scale
    base = rect.bottom() - foot
    step = rect.width() / count
    room = base - rect.top() - 2.0
    have = line.on_hand + line.on_order
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for pieces, chance in enumerate(shown_chances(line.chances, count)):
        left = rect.left() + pieces * step
        bar = QRectF(left + 0.18 * step, base - room * chance, 0.64 * step, room * chance)
        is_covered = pieces <= have
        fill = QBrush(colour(look.bands[1] if is_covered else look.ground))
        painter.setPen(QPen(colour(look.median if is_covered else look.problem), 1.0))
        painter.setBrush(fill)
        if chance > 0.004:
            painter.drawRect(bar)
    painter.setPen(QPen(colour(look.outline), 1.0))
    painter.drawLine(QLineF(rect.left(), base + 0.5, rect.right(), base + 0.5))
    if line.wanted < count:
        x = rect.left() + (line.wanted + 0.5) * step
        painter.setPen(QPen(colour(look.ink), 1.6 * scale))
        painter.drawLine(QLineF(x - 0.32 * step, base + 2.0 * scale, x + 0.32 * step, base + 2.0 * scale))
    if numbers:
        _paint_numbers(painter, QRectF(rect.left(), base + 3.0, rect.width(), foot), count, look, scale)
    painter.restore()


def shown_chances(chances: Sequence[float], count: int) -> list[float]:
    """Return the chances of the bars; what lies beyond the last is added to it.

    Examples
    --------
    >>> shown_chances([0.5, 0.25, 0.125, 0.125], 3)
    [0.5, 0.25, 0.25]
    """
    shown = [*chances[: count - 1], sum(chances[count - 1 :])]
    return shown + [0.0] * (count - len(shown))


def _paint_numbers(painter: QPainter, rect: QRectF, count: int, look: Palette, scale: float) -> None:
    painter.setFont(type_font("caption", scale=scale * 0.85))
    painter.setPen(colour(look.muted))
    step = rect.width() / count
    for pieces in range(count):
        room = QRectF(QPointF(rect.left() + pieces * step, rect.top()), rect.bottomRight())
        room.setWidth(step)
        text = f"{pieces}+" if pieces == MOST_BARS - 1 else str(pieces)
        painter.drawText(room, int(Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop), text)
