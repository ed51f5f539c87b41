"""What the drawn steps of measuring are made of: chains, jaws, rules, arrows, in the colours of the theme."""

import math
from dataclasses import dataclass
from itertools import pairwise

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPen, QPolygonF

from wearlog.drawing.palette import Palette, type_font

#: The sheet on which every step is drawn, before it is scaled, [-].
WIDTH, HEIGHT = 360.0, 150.0
#: Distance of two rollers of a drawn chain, and their radius, [-].
PITCH, ROLLER = 34.0, 10.0


@dataclass(slots=True)
class Pencil:
    """Draws the parts of a step; lengths are those of the sheet.

    Attributes
    ----------
    painter
        Scaled to the sheet.
    look
        The colours.
    text_scale
        Of the seat, so that labels keep their size when the sheet is scaled, [-].
    """

    painter: QPainter
    look: Palette
    text_scale: float = 1.0

    # --- lines

    def ink(self, width: float = 1.4, *, muted: bool = False, dashed: bool = False) -> None:
        """Draw outlines from now on."""
        pen = QPen(QColor(self.look.outline if muted else self.look.ink), width)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        if dashed:
            pen.setDashPattern([3.0, 3.0])
        self.painter.setPen(pen)
        self.painter.setBrush(Qt.BrushStyle.NoBrush)

    def accent(self, width: float = 2.0) -> None:
        """Draw what is measured from now on."""
        self.ink(width)
        self.painter.setPen(QPen(QColor(self.look.accent), width))

    def fill(self, name: str) -> None:
        """Fill with a colour of the palette."""
        self.painter.setBrush(QBrush(QColor(getattr(self.look, name))))

    def line(self, x1: float, y1: float, x2: float, y2: float) -> None:
        """Draw a line."""
        self.painter.drawLine(QPointF(x1, y1), QPointF(x2, y2))

    def arrow(self, x1: float, y1: float, x2: float, y2: float, head: float = 6.0) -> None:
        """Draw an arrow from the first point to the second."""
        self.line(x1, y1, x2, y2)
        way = math.atan2(y2 - y1, x2 - x1)
        back = [(head * math.cos(way + side), head * math.sin(way + side)) for side in (0.45, -0.45)]
        points = [QPointF(x2, y2), *(QPointF(x2 - dx, y2 - dy) for dx, dy in back)]
        painter = self.painter
        painter.save()
        painter.setBrush(QBrush(painter.pen().color()))
        painter.drawPolygon(QPolygonF(points))
        painter.restore()

    def span(self, x1: float, x2: float, y: float, text: str, *, is_above: bool = True) -> None:
        """Draw a length between two places, with arrows at both ends and what it is."""
        self.accent(1.6)
        middle = (x1 + x2) / 2
        self.arrow(middle, y, x1, y)
        self.arrow(middle, y, x2, y)
        self.word(middle, y - 10 if is_above else y + 11, text, is_accent=True)

    def rise(self, x: float, y1: float, y2: float, text: str, *, is_left: bool = False) -> None:
        """Draw an upright length with what it is beside it."""
        self.accent(1.6)
        middle = (y1 + y2) / 2
        self.arrow(x, middle, x, y1)
        self.arrow(x, middle, x, y2)
        side = Qt.AlignmentFlag.AlignRight if is_left else Qt.AlignmentFlag.AlignLeft
        self.word(x + (-8 if is_left else 8), middle, text, side=side, is_accent=True)

    def word(
        self,
        x: float,
        y: float,
        text: str,
        *,
        side: Qt.AlignmentFlag = Qt.AlignmentFlag.AlignHCenter,
        is_accent: bool = False,
    ) -> None:
        """Write a label centred on a point, or beginning or ending there; always upon the sheet."""
        painter = self.painter
        font = type_font("caption", bold=is_accent)
        painter.setFont(font)
        box = painter.fontMetrics().boundingRect(text)
        width, height = float(box.width()) + 4, float(box.height())
        left = {
            Qt.AlignmentFlag.AlignLeft: x,
            Qt.AlignmentFlag.AlignRight: x - width,
        }.get(side, x - width / 2)
        left = min(max(left, 1.0), WIDTH - width - 1)
        painter.setPen(QColor(self.look.accent if is_accent else self.look.ink))
        painter.drawText(QRectF(left, y - height / 2, width, height), Qt.AlignmentFlag.AlignCenter, text)

    # --- parts of a drive

    def chain(
        self, x: float, y: float, pitches: int, *, pitch: float = PITCH, worn: float = 0.0
    ) -> list[float]:
        """Draw a straight run of chain; return where its pins are.

        Parameters
        ----------
        x, y
            The middle of the first pin.
        pitches
            How many pitches.
        pitch
            Length of one, on the sheet.
        worn
            By how much each is longer, a fraction.
        """
        places = [x + n * pitch * (1 + worn) for n in range(pitches + 1)]
        size = pitch / PITCH
        painter = self.painter
        for n, (left, right) in enumerate(pairwise(places)):
            is_inner = n % 2 == 0
            half = (9.0 if is_inner else 6.5) * size
            self.ink(1.2)
            self.fill("panel" if is_inner else "raised")
            plate = QRectF(left - half, y - half, right - left + 2 * half, 2 * half)
            painter.drawRoundedRect(plate, half, half)
        for place in places:
            self.ink(1.3)
            self.fill("hairline")
            painter.drawEllipse(QPointF(place, y), ROLLER * size, ROLLER * size)
            self.fill("ink")
            painter.drawEllipse(QPointF(place, y), 2.4 * size, 2.4 * size)
        return places

    def wheel(self, x: float, y: float, radius: float, teeth: int) -> None:
        """Draw a sprocket from the side."""
        path = QPainterPath()
        for n in range(4 * teeth):
            way = 2 * math.pi * n / (4 * teeth)
            reach = radius * (1.08 if n % 4 in {0, 1} else 0.9)
            point = QPointF(x + reach * math.cos(way), y + reach * math.sin(way))
            if n:
                path.lineTo(point)
            else:
                path.moveTo(point)
        path.closeSubpath()
        self.ink(1.2)
        self.fill("raised")
        self.painter.drawPath(path)
        self.painter.drawEllipse(QPointF(x, y), 0.16 * radius, 0.16 * radius)

    def pulley(self, x: float, y: float, radius: float) -> None:
        """Draw a belt pulley from the side."""
        self.ink(1.2)
        self.fill("raised")
        self.painter.drawEllipse(QPointF(x, y), radius, radius)
        self.painter.drawEllipse(QPointF(x, y), 0.16 * radius, 0.16 * radius)

    def turning(self, x: float, y: float, radius: float, text: str = "") -> None:
        """Draw an arrow that says: turn by hand."""
        self.ink(1.4)
        box = QRectF(x - radius, y - radius, 2 * radius, 2 * radius)
        self.painter.drawArc(box, 16 * 40, 16 * 100)
        way = math.radians(140)
        end = QPointF(x + radius * math.cos(way), y - radius * math.sin(way))
        self.arrow(end.x() + 3, end.y() - 3.5, end.x() - 1.5, end.y() + 2.5)
        if text:
            self.word(x, y - radius - 9, text)

    def jaw(self, x: float, top: float, bottom: float, *, opens_right: bool) -> None:
        """Draw a jaw of a caliper; the edge that measures is at x."""
        wide = 7.0 if opens_right else -7.0
        self.accent(1.4)
        self.fill("panel")
        shape = [QPointF(x, top), QPointF(x + wide, top), QPointF(x + wide, bottom - 10), QPointF(x, bottom)]
        self.painter.drawPolygon(QPolygonF(shape))
        self.accent(2.2)
        self.line(x, top, x, bottom)

    def beam(self, x1: float, x2: float, y: float) -> None:
        """Draw the beam of a caliper with its divisions."""
        self.accent(1.4)
        self.fill("panel")
        self.painter.drawRect(QRectF(x1, y, x2 - x1, 9.0))
        place = x1 + 6
        while place < x2:
            self.line(place, y + 9, place, y + 5)
            place += 8.0
