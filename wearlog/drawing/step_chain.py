"""Drawn steps of measuring a chain."""

from gettext import gettext as _

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPolygonF

from wearlog.drawing.step_pencil import PITCH, ROLLER, WIDTH, Pencil

_LEFT, _RIGHT = Qt.AlignmentFlag.AlignLeft, Qt.AlignmentFlag.AlignRight


def over_rollers(pencil: Pencil) -> None:
    """Draw same side of two rollers."""
    pins = pencil.chain(44, 92, 8)
    first, last = pins[0] - ROLLER, pins[-1] - ROLLER
    pencil.beam(first - 8, last + 40, 40)
    pencil.jaw(first, 49, 92, opens_right=False)
    pencil.jaw(last, 49, 92, opens_right=False)
    pencil.span(first, last, 24, _("left side to left side"))
    pencil.word(pins[0], 124, _("roller 1"))
    pencil.word(pins[-1], 124, _("roller 9: 8 pitches"))


def inside_and_outside(pencil: Pencil) -> None:
    """Draw between the end rollers, then over the same two."""
    pins = pencil.chain(58, 76, 7)
    for place in (pins[0] + ROLLER, pins[-1] - ROLLER):
        pencil.accent(2.2)
        pencil.line(place, 30, place, 76)
    for place in (pins[0] - ROLLER, pins[-1] + ROLLER):
        pencil.accent(2.2)
        pencil.line(place, 76, place, 122)
    pencil.span(pins[0] + ROLLER, pins[-1] - ROLLER, 34, _("inside"))
    pencil.span(pins[0] - ROLLER, pins[-1] + ROLLER, 116, _("outside, over the same two"), is_above=False)


def between_rollers(pencil: Pencil) -> None:
    """Draw inside jaws push two rollers apart."""
    pins = pencil.chain(58, 92, 7)
    first, last = pins[0] + ROLLER, pins[-1] - ROLLER
    pencil.beam(first - 14, last + 14, 36)
    pencil.jaw(first, 45, 92, opens_right=True)
    pencil.jaw(last, 45, 92, opens_right=False)
    pencil.span(first, last, 22, _("inside"))
    pencil.ink(1.6)
    pencil.arrow(pins[0] + 2, 114, pins[0] - 20, 114)
    pencil.arrow(pins[-1] - 2, 114, pins[-1] + 20, 114)
    pencil.word((first + last) / 2, 134, _("pushes the rollers apart: their play is read as wear"))


def pin_edges(pencil: Pencil) -> None:
    """Draw a rule at the same edge of two pins."""
    pins = pencil.chain(44, 58, 8)
    pencil.ink(1.2)
    pencil.fill("panel")
    zero = pins[0] - 2.4
    pencil.painter.drawRect(QRectF(zero, 76, WIDTH - zero - 12, 22))
    for n in range(36):
        x = zero + n * PITCH / 4
        if x < WIDTH - 14:
            pencil.line(x, 76, x, 84 if n % 4 else 89)
    pencil.accent(1.8)
    end = pins[-1] - 2.4
    pencil.line(zero, 50, zero, 98)
    pencil.line(end, 50, end, 98)
    pencil.word(zero + 4, 108, "0", is_accent=True)
    pencil.span(zero, end, 24, _("same edge of both pins"))
    pencil.word(pins[0], 128, _("pin 1"))
    pencil.word(pins[-1], 128, _("pin 21: 20 pitches"))


def tape_under_load(pencil: Pencil) -> None:
    """Draw a long stretch of chain off the machine, pulled tight."""
    pins = pencil.chain(40, 66, 17, pitch=15.5)
    pencil.ink(1.6)
    pencil.line(18, 66, pins[0], 66)
    pencil.line(18, 52, 18, 80)
    pencil.arrow(pins[-1] + 6, 66, WIDTH - 16, 66)
    pencil.word(WIDTH - 28, 84, _("100 N"))
    pencil.accent(1.4)
    pencil.fill("panel")
    pencil.painter.drawRect(QRectF(pins[0] - 1.5, 92, pins[-1] - pins[0] + 18, 10))
    pencil.span(pins[0] - 1.5, pins[-1] - 1.5, 36, _("as many pitches as there are"))
    pencil.word((pins[0] + pins[-1]) / 2, 122, _("tape from pin edge to the same pin edge"))


def whole_chain(pencil: Pencil) -> None:
    """Draw the whole chain beside a new one."""
    pencil.chain(60, 44, 16, pitch=14.0)
    worn = pencil.chain(60, 88, 16, pitch=14.0, worn=0.06)
    new_end = 60 + 16 * 14.0
    pencil.ink(1.6)
    pencil.line(60, 24, 60, 112)
    pencil.word(52, 44, _("new"), side=_RIGHT)
    pencil.word(52, 88, _("worn"), side=_RIGHT)
    pencil.accent(1.4)
    pencil.line(new_end, 44, new_end, 112)
    pencil.line(worn[-1], 88, worn[-1], 112)
    pencil.word(worn[-1] + 6, 112, _("longer by this"), side=_LEFT, is_accent=True)
    pencil.word(150, 132, _("same count of pitches, both pulled flat"))


def several_spots(pencil: Pencil) -> None:
    """Draw three stretches round the chain; the longest counts."""
    pencil.wheel(86, 74, 26, 11)
    pencil.wheel(262, 74, 44, 19)
    pencil.ink(5.0, muted=True)
    pencil.line(82, 44, 256, 26)
    pencil.line(82, 104, 256, 122)
    pencil.painter.drawArc(QRectF(56, 44, 60, 60), 16 * 95, 16 * 170)
    pencil.painter.drawArc(QRectF(214, 26, 96, 96), 16 * 265, 16 * 190)
    for number, (x1, y1, x2, y2) in enumerate(
        ((104, 41.7, 160, 35.9), (186, 33.2, 244, 27.2), (140, 110, 198, 116)), start=1
    ):
        pencil.accent(5.0)
        pencil.line(x1, y1, x2, y2)
        pencil.word((x1 + x2) / 2, (y1 + y2) / 2 + (-13 if number < 3 else 13), str(number), is_accent=True)
    pencil.turning(262, 74, 22)
    pencil.word(168, 74, _("the longest counts"))


def _gauge(pencil: Pencil, y: float, left: float, right: float) -> None:
    pencil.accent(1.6)
    pencil.fill("panel")
    pencil.painter.drawRect(QRectF(left - 30, y, right - left + 60, 13))


def _prong(pencil: Pencil, x: float, top: float, bottom: float, *, is_left_edge: bool) -> None:
    wide = 8.0 if is_left_edge else -8.0
    pencil.accent(1.6)
    pencil.fill("panel")
    shape = [QPointF(x, top), QPointF(x, bottom), QPointF(x + wide, bottom - 4), QPointF(x + wide, top)]
    pencil.painter.drawPolygon(QPolygonF(shape))


def gauge_two_prong(pencil: Pencil) -> None:
    """Draw a gauge whose prongs push two rollers apart."""
    pins = pencil.chain(58, 94, 7)
    left, right = pins[0] + ROLLER, pins[-1] - ROLLER
    _gauge(pencil, 42, left, right)
    _prong(pencil, left, 55, 96, is_left_edge=True)
    _prong(pencil, right, 55, 96, is_left_edge=False)
    pencil.ink(1.8)
    pencil.arrow(left - 2, 114, left - 26, 114)
    pencil.arrow(right + 2, 114, right + 26, 114)
    pencil.word((left + right) / 2, 134, _("apart: reads high by the play of two rollers"))
    pencil.word((left + right) / 2, 26, _("two prongs"))


def gauge_one_side(pencil: Pencil) -> None:
    """Draw a gauge that loads both rollers the same way."""
    pins = pencil.chain(58, 94, 7)
    left, right = pins[0] + ROLLER, pins[-1] + ROLLER
    _gauge(pencil, 42, left, right)
    _prong(pencil, left, 55, 96, is_left_edge=True)
    _prong(pencil, right, 55, 96, is_left_edge=True)
    pencil.ink(1.8)
    pencil.arrow(left - 2, 114, left - 26, 114)
    pencil.arrow(right - 2, 114, right - 26, 114)
    pencil.word((left + right) / 2, 134, _("both the same way: play does not count"))
    pencil.word((left + right) / 2, 26, _("on one side"))
