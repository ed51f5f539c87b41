"""The bolts of a joint as one looks at them, numbered in tightening order; the same on screen and paper."""

import math
from dataclasses import dataclass
from gettext import gettext as _
from itertools import pairwise

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from wearlog.drawing.palette import Palette, colour, palette, type_font
from wearlog.drive.tightening import bolt_positions, steps_by_place, tightening_order

#: Radius of a bolt's head as a share of half the drawing's side, and at most, [px].
_HEAD_SHARE, _HEAD_PX = 0.24, 22.0
_EDGE_PX = 3.0
#: With more bolts the way from turn to turn would hide more than it shows.
_MOST_WITH_WAY = 8


@dataclass(frozen=True, slots=True)
class BoltPattern:
    """A pattern to draw.

    Attributes
    ----------
    bolts
        How many.
    is_opposing
        Whether they sit on a circle and are tightened in opposing order; else they stand side by side.
    done
        How many turns have been entered; drawn as filled heads.
    """

    bolts: int = 1
    is_opposing: bool = False
    done: int = 0

    @property
    def steps(self) -> tuple[int, ...]:
        """When each bolt's turn comes: clockwise from the top, or from left to right."""
        if self.is_opposing:
            return steps_by_place(self.bolts)
        return tuple(range(1, self.bolts + 1))


def pattern_text(pattern: BoltPattern) -> str:
    """Return a pattern in words, for captions and screen readers.

    Examples
    --------
    >>> pattern_text(BoltPattern(5, is_opposing=True))
    '5 bolts in opposing order: 1-3-5-2-4, counted clockwise; any bolt may be the first.'
    """
    if pattern.bolts == 1:
        return _("One bolt or nut.")
    if not pattern.is_opposing:
        return _("{n} bolts, one after the other.").format(n=pattern.bolts)
    order = "-".join(str(bolt) for bolt in tightening_order(pattern.bolts))
    return _("{n} bolts in opposing order: {order}, counted clockwise; any bolt may be the first.").format(
        n=pattern.bolts, order=order
    )


def head_places(rect: QRectF, pattern: BoltPattern, scale: float = 1.0) -> tuple[list[QPointF], float]:
    """Return where the heads of the bolts lie in a rectangle, and their radius, [px].

    Parameters
    ----------
    rect : QRectF
        What is drawn in.
    pattern : BoltPattern
        Which bolts.
    scale : float
        The seat's text scale, [-].
    """
    centre = rect.center()
    half = min(rect.width(), rect.height()) / 2 - _EDGE_PX * scale
    if pattern.is_opposing and pattern.bolts > 1:
        # Neighbours must not touch, however many there are.
        gap = math.sin(math.pi / pattern.bolts) if pattern.bolts > 2 else 1.0
        head = min(_HEAD_SHARE * half, _HEAD_PX * scale, 0.86 * half * gap / (1 + 0.86 * gap))
        circle = half - head - 2.0 * scale
        return [
            QPointF(centre.x() + circle * x, centre.y() + circle * y)
            for x, y in bolt_positions(pattern.bolts)
        ], head
    columns = min(pattern.bolts, 4)
    rows = math.ceil(pattern.bolts / columns)
    step = min(rect.width() / columns, rect.height() / rows, 3.0 * _HEAD_PX * scale)
    head = min(0.36 * step, _HEAD_PX * scale)
    places = []
    for n in range(pattern.bolts):
        row, column = divmod(n, columns)
        in_row = columns if row < rows - 1 else pattern.bolts - columns * (rows - 1)
        places.append(
            QPointF(
                centre.x() + (column - (in_row - 1) / 2) * step, centre.y() + (row - (rows - 1) / 2) * step
            )
        )
    return places, head


def paint_torque_pattern(
    painter: QPainter, rect: QRectF, pattern: BoltPattern, colours: Palette, scale: float = 1.0
) -> None:
    """Draw the bolts of a joint, each with the number of its turn.

    A thin line leads from turn to turn; bolts whose value was entered are filled. Told apart without colour:
    filled heads bear light figures.

    Parameters
    ----------
    painter : QPainter
        On a widget, a picture or paper.
    rect : QRectF
        Where; the pattern is as large as fits.
    pattern : BoltPattern
        Which bolts.
    colours : Palette
        The theme's colours; the paper's are black on white.
    scale : float
        The seat's text scale, [-].
    """
    places, head = head_places(rect, pattern, scale)
    steps = pattern.steps
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    if pattern.is_opposing and pattern.bolts > 1:
        _paint_plate(painter, rect, places, colours, scale)
        if pattern.bolts <= _MOST_WITH_WAY:
            by_turn = sorted(range(pattern.bolts), key=lambda place: steps[place])
            _paint_way(painter, [places[place] for place in by_turn], head, colours, scale)
    for place, step in zip(places, steps, strict=True):
        _paint_bolt(painter, place, head, step, colours, scale, is_done=step <= pattern.done)
    painter.restore()


def _paint_plate(
    painter: QPainter, rect: QRectF, places: list[QPointF], colours: Palette, scale: float
) -> None:
    """Draw the circle the bolts sit on, round the shaft."""
    centre = rect.center()
    radius = math.hypot(places[0].x() - centre.x(), places[0].y() - centre.y())
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(colour(colours.outline), 1.0 * scale, Qt.PenStyle.DashLine))
    painter.drawEllipse(centre, radius, radius)
    painter.setPen(QPen(colour(colours.hairline), 1.0 * scale))
    for share in (0.26, 0.32):
        painter.drawEllipse(centre, radius * share, radius * share)


def _paint_way(painter: QPainter, places: list[QPointF], head: float, colours: Palette, scale: float) -> None:
    """Draw the way of the wrench from turn to turn, with a point at its end."""
    pen = QPen(colour(colours.outline), 1.2 * scale)
    for before, after in pairwise(places):
        length = math.hypot(after.x() - before.x(), after.y() - before.y())
        if length <= 2.6 * head:
            continue
        ahead = (after - before) / length
        start, end = before + ahead * (head + 2.0 * scale), after - ahead * (head + 3.0 * scale)
        tip, side = 7.0 * scale, QPointF(-ahead.y(), ahead.x()) * 3.0 * scale
        painter.setPen(pen)
        painter.drawLine(start, end - ahead * tip)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour(colours.outline))
        painter.drawPolygon(QPolygonF([end, end - ahead * tip + side, end - ahead * tip - side]))


def _paint_bolt(
    painter: QPainter,
    place: QPointF,
    head: float,
    step: int,
    colours: Palette,
    scale: float,
    *,
    is_done: bool,
) -> None:
    painter.setPen(QPen(colour(colours.ink), 1.5 * scale))
    painter.setBrush(colour(colours.ink if is_done else colours.raised))
    corners = [math.radians(60 * n + 30) for n in range(6)]
    painter.drawPolygon(
        QPolygonF([QPointF(place.x() + head * math.cos(a), place.y() + head * math.sin(a)) for a in corners])
    )
    font = type_font("body", bold=True, scale=scale)
    font.setPixelSize(max(1, min(font.pixelSize(), round(head * 1.05))))
    painter.setFont(font)
    painter.setPen(colour(colours.ground if is_done else colours.ink))
    text = str(step)
    metrics = QFontMetricsF(font)
    painter.drawText(
        QPointF(place.x() - metrics.horizontalAdvance(text) / 2, place.y() + metrics.capHeight() / 2),
        text,
    )


class TorquePattern(QWidget):
    """The pattern of one fastener; says it in words too."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.pattern = BoltPattern()
        self._colours = palette("light")
        self._scale = 1.0
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        self.setAccessibleName(_("Tightening order"))

    def wear_colours(self, colours: Palette, scale: float = 1.0) -> None:
        """Take the colours of a theme and the seat's text scale."""
        self._colours, self._scale = colours, scale
        self.updateGeometry()
        self.update()

    def show_pattern(self, pattern: BoltPattern) -> None:
        """Show the bolts of a fastener."""
        self.pattern = pattern
        self.setAccessibleDescription(pattern_text(pattern))
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """Return a square for a circle of bolts, a row for others."""
        side = round(184 * self._scale)
        is_circle = self.pattern.is_opposing and self.pattern.bolts > 1
        return QSize(
            side, side if is_circle else round((72 if self.pattern.bolts <= 4 else 144) * self._scale)
        )

    def minimumSizeHint(self) -> QSize:
        """Return the least at which the figures can be read."""
        return self.sizeHint() * 0.6

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw."""
        with QPainter(self) as painter:
            paint_torque_pattern(painter, QRectF(self.rect()), self.pattern, self._colours, self._scale)
