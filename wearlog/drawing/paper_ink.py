"""Writing and drawing on paper in millimetres: lines of text, rules, boxes to fill in, wear rules, bars."""

from enum import StrEnum
from functools import lru_cache

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPen

from wearlog.drawing.palette import colour, palette, type_font
from wearlog.drawing.paper_code39 import paint_code39
from wearlog.drawing.torque_pattern import BoltPattern, paint_torque_pattern
from wearlog.drawing.wear_rule import RuleSize, paint_state_mark, paint_wear_rule
from wearlog.fleet.state import State
from wearlog.workshop.fleet_snapshot import WearRuleValue

#: Sizes of letters are whole numbers in Qt; so many to a millimetre are fine enough.
_PER_MM = 20.0
#: Letters are set this narrow at most where a text must stay on its line.
NARROWEST = 0.72
#: Base line to base line, as a share of the size of letters.
LINE = 1.28
#: A pixel of the small wear rule on paper, [mm].
_RULE_PX_MM = 0.24


class Side(StrEnum):
    """To which side of its column a text keeps."""

    LEFT = "left"
    RIGHT = "right"


@lru_cache(maxsize=64)
def paper_font(size_mm: float, *, bold: bool = False) -> QFont:
    """Return the platform's font with letters of a size, [mm]."""
    font = type_font("body", bold=bold)
    font.setPixelSize(max(1, round(size_mm * _PER_MM)))
    return font


def text_width(text: str, size_mm: float, *, bold: bool = False) -> float:
    """Return how wide a text is, [mm]."""
    return QFontMetricsF(paper_font(size_mm, bold=bold)).horizontalAdvance(text) / _PER_MM


def in_lines(text: str, width_mm: float, size_mm: float, *, bold: bool = False) -> list[str]:
    """Return a text in lines that fit a width; a word that is wider than that is broken.

    Parameters
    ----------
    text : str
        The text; line breaks in it are kept.
    width_mm : float
        Room, [mm].
    size_mm : float
        Size of letters, [mm].
    bold : bool
        Whether it is set bold.
    """
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line = ""
        # Only at plain spaces: the narrow ones hold numbers and units together.
        for word in paragraph.split(" "):
            longer = f"{line} {word}" if line else word
            if text_width(longer, size_mm, bold=bold) <= width_mm:
                line = longer
                continue
            if line:
                lines.append(line)
            line = word
            while len(line) > 1 and text_width(line, size_mm, bold=bold) > width_mm:
                end = len(line) - 1
                while end > 1 and text_width(line[:end], size_mm, bold=bold) > width_mm:
                    end -= 1
                lines.append(line[:end])
                line = line[end:]
        lines.append(line)
    return lines


class Ink:
    """Writes on a painter whose unit is the millimetre."""

    def __init__(self, painter: QPainter) -> None:
        self.painter = painter
        self.colours = palette("paper")

    def write(
        self,
        left: float,
        base: float,
        text: str,
        size: float,
        *,
        bold: bool = False,
        muted: bool = False,
        width: float | None = None,
        side: Side = Side.LEFT,
    ) -> None:
        """Write one line on a base line; narrowed, then cut, if it is wider than its room, [mm]."""
        font = paper_font(size, bold=bold)
        metrics = QFontMetricsF(font)
        natural = metrics.horizontalAdvance(text)
        squeeze = 1.0
        if width is not None and natural > width * _PER_MM:
            squeeze = max(width * _PER_MM / natural, NARROWEST)
            text = metrics.elidedText(text, Qt.TextElideMode.ElideRight, width * _PER_MM / squeeze + 1.0)
            natural = metrics.horizontalAdvance(text)
        if side is Side.RIGHT and width is not None:
            left += width - natural * squeeze / _PER_MM
        painter = self.painter
        painter.save()
        painter.translate(left, base)
        painter.scale(squeeze / _PER_MM, 1.0 / _PER_MM)
        painter.setFont(font)
        painter.setPen(colour(self.colours.muted if muted else self.colours.ink))
        painter.drawText(QPointF(0.0, 0.0), text)
        painter.restore()

    def line(self, left: float, right: float, at: float, *, thick: float = 0.15, firm: bool = False) -> None:
        """Draw a rule across, [mm]."""
        pen = QPen(colour(self.colours.ink if firm else self.colours.outline), thick)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        self.painter.setPen(pen)
        self.painter.drawLine(QPointF(left, at), QPointF(right, at))

    def box(self, rect: QRectF, *, thick: float = 0.25) -> None:
        """Draw a box to tick or to write in, [mm]."""
        self.painter.setPen(QPen(colour(self.colours.ink), thick))
        self.painter.setBrush(Qt.BrushStyle.NoBrush)
        self.painter.drawRect(rect)

    def wear_rule(self, rect: QRectF, value: WearRuleValue) -> None:
        """Draw a small wear rule, [mm]."""
        self.painter.save()
        self.painter.translate(rect.left(), rect.top())
        self.painter.scale(_RULE_PX_MM, _RULE_PX_MM)
        inside = QRectF(0.0, 0.0, rect.width() / _RULE_PX_MM, rect.height() / _RULE_PX_MM)
        paint_wear_rule(self.painter, inside, value, self.colours, RuleSize.SMALL)
        self.painter.restore()

    def state_mark(self, rect: QRectF, state: State) -> None:
        """Draw the mark of a state, [mm]."""
        self.painter.save()
        self.painter.translate(rect.left(), rect.top())
        self.painter.scale(1.0 / _PER_MM, 1.0 / _PER_MM)
        inside = QRectF(0.0, 0.0, rect.width() * _PER_MM, rect.height() * _PER_MM)
        paint_state_mark(self.painter, inside, state, self.colours)
        self.painter.restore()

    def bolts(self, rect: QRectF, pattern: BoltPattern) -> None:
        """Draw bolts with the numbers of their turns, [mm]."""
        # The drawing is made for a square of 120 pixels or more; letters in it follow the heads.
        scale = min(rect.width(), rect.height()) / 120.0
        self.painter.save()
        self.painter.translate(rect.left(), rect.top())
        self.painter.scale(scale, scale)
        inside = QRectF(0.0, 0.0, rect.width() / scale, rect.height() / scale)
        paint_torque_pattern(self.painter, inside, pattern, self.colours)
        self.painter.restore()

    def bars(self, rect: QRectF, text: str) -> None:
        """Draw a text as a bar code, [mm]."""
        paint_code39(self.painter, rect, text)
