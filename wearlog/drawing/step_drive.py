"""Drawn steps of measuring at the drive: slack, adjuster, sprockets and belt."""

import math
from gettext import gettext as _

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainterPath

from wearlog.drawing.step_pencil import Pencil

_LEFT = Qt.AlignmentFlag.AlignLeft


def slack(pencil: Pencil) -> None:
    """Draw movement of the run at mid-span, at the tightest place of the wheel."""
    pencil.wheel(56, 62, 20, 9)
    pencil.wheel(296, 70, 42, 19)
    pencil.ink(4.0, muted=True)
    pencil.line(54, 39, 292, 25)
    pencil.painter.drawArc(QRectF(33, 39, 46, 46), 16 * 95, 16 * 170)
    pencil.painter.drawArc(QRectF(251, 25, 90, 90), 16 * 265, 16 * 190)
    pencil.ink(1.4, muted=True, dashed=True)
    for depth in (84, 130):
        path = QPainterPath(QPointF(54, 85))
        path.quadTo(QPointF(172, depth), QPointF(292, 115))
        pencil.painter.drawPath(path)
    pencil.ink(4.0, muted=True)
    path = QPainterPath(QPointF(54, 85))
    path.quadTo(QPointF(172, 107), QPointF(292, 115))
    pencil.painter.drawPath(path)
    pencil.rise(174, 91, 116, "")
    pencil.turning(296, 70, 22)
    pencil.word(164, 62, _("turn to the tightest place"))
    pencil.word(174, 138, _("slack: up and down at the middle of the run"), is_accent=True)


def adjuster(pencil: Pencil) -> None:
    """Draw distance of the axle from the front end of the adjuster, on both sides."""
    for y, text in ((44.0, _("left")), (104.0, _("right"))):
        pencil.ink(1.4)
        pencil.fill("raised")
        pencil.painter.drawRoundedRect(QRectF(70, y - 18, 240, 36), 6, 6)
        pencil.fill("panel")
        pencil.painter.drawRoundedRect(QRectF(110, y - 9, 160, 18), 9, 9)
        for n in range(9):
            pencil.line(118 + n * 18, y + 18, 118 + n * 18, y + 12)
        pencil.fill("hairline")
        pencil.painter.drawEllipse(QPointF(206, y), 12, 12)
        pencil.span(110, 206, y - 3, "", is_above=True)
        pencil.word(60, y, text, side=Qt.AlignmentFlag.AlignRight)
    pencil.word(190, 74, _("front end of the slot to the axle: alike"))


def _tooth(x: float, y: float, half: float, height: float, lean: float = 0.0) -> QPainterPath:
    path = QPainterPath(QPointF(x - half - 12, y))
    path.quadTo(QPointF(x - half, y), QPointF(x - half * 0.8, y - height * 0.5))
    path.lineTo(QPointF(x - half * 0.35 + lean, y - height))
    path.lineTo(QPointF(x + half * 0.35 + lean, y - height))
    path.lineTo(QPointF(x + half * 0.8, y - height * 0.5))
    path.quadTo(QPointF(x + half, y), QPointF(x + half + 12, y))
    return path


def tooth_thickness(pencil: Pencil) -> None:
    """Draw caliper across a tooth where the rollers bear."""
    for x in (76.0, 180.0, 284.0):
        pencil.ink(1.5)
        pencil.fill("raised")
        pencil.painter.drawPath(_tooth(x, 118, 36, 76))
    pencil.ink(1.2, muted=True, dashed=True)
    for x in (128.0, 232.0):
        pencil.painter.drawEllipse(QPointF(x, 92), 22, 22)
    pencil.jaw(151.5, 26, 86, opens_right=False)
    pencil.jaw(208.5, 26, 86, opens_right=True)
    pencil.span(151.5, 208.5, 66, "")
    pencil.word(180, 14, _("thickness where the rollers bear"), is_accent=True)
    pencil.word(180, 136, _("three teeth, the thinnest counts"))


def chain_lift(pencil: Pencil) -> None:
    """Draw the chain pulled straight back at the rearmost tooth."""
    pencil.wheel(130, 76, 62, 21)
    pencil.ink(5.0, muted=True)
    path = QPainterPath(QPointF(60, 12))
    path.quadTo(QPointF(168, 4), QPointF(192, 46))
    path.quadTo(QPointF(214, 76), QPointF(192, 106))
    path.quadTo(QPointF(168, 148), QPointF(60, 140))
    pencil.painter.drawPath(path)
    pencil.ink(1.8)
    pencil.arrow(210, 76, 262, 76)
    pencil.word(270, 76, _("pull back"), side=_LEFT)
    pencil.accent(1.6)
    pencil.line(196, 60, 196, 30)
    pencil.line(204, 60, 204, 30)
    pencil.word(210, 26, _("lift off the tooth"), side=_LEFT, is_accent=True)


def tooth_grades(pencil: Pencil) -> None:
    """Draw how teeth look from new to worn out."""
    grades = (
        (36.0, 74.0, 0.0, _("0 as new")),
        (35.0, 74.0, 0.0, _("1 polished")),
        (27.0, 72.0, 0.0, _("2 thinner")),
        (20.0, 64.0, 14.0, _("3 hooked")),
    )
    for n, (half, height, lean, text) in enumerate(grades):
        x = 48.0 + n * 88
        pencil.ink(1.5)
        pencil.fill("raised")
        pencil.painter.drawPath(_tooth(x, 104, half - 8, height, lean))
        if n == 1:
            pencil.accent(2.0)
            pencil.line(x - 23, 72, x - 19, 58)
            pencil.line(x + 23, 72, x + 19, 58)
        pencil.word(x, 128, text, is_accent=n == 3)


def _belt_run(pencil: Pencil) -> None:
    pencil.pulley(48, 76, 28)
    pencil.pulley(312, 76, 38)
    pencil.ink(4.0, muted=True)
    pencil.line(46, 106, 310, 116)
    pencil.painter.drawArc(QRectF(18, 46, 60, 60), 16 * 95, 16 * 170)
    pencil.painter.drawArc(QRectF(272, 36, 80, 80), 16 * 265, 16 * 190)


def span_frequency(pencil: Pencil) -> None:
    """Draw the free span plucked, its frequency read."""
    _belt_run(pencil)
    pencil.ink(1.2, muted=True, dashed=True)
    for bend in (20.0, 62.0):
        path = QPainterPath(QPointF(46, 46))
        path.quadTo(QPointF(180, bend), QPointF(310, 36))
        pencil.painter.drawPath(path)
    pencil.accent(3.0)
    pencil.line(46, 46, 310, 36)
    pencil.span(50, 306, 76, _("free span"))
    pencil.ink(1.6)
    pencil.arrow(150, 8, 150, 34)
    pencil.word(144, 12, _("pluck"), side=Qt.AlignmentFlag.AlignRight)
    pencil.fill("panel")
    pencil.painter.drawRoundedRect(QRectF(206, 2, 58, 22), 4, 4)
    pencil.word(235, 13, _("50.2 Hz"), is_accent=True)
    pencil.word(180, 138, _("four positions of the wheel, motor off"))


def deflection(pencil: Pencil) -> None:
    """Draw a force square on mid-span, and how far the span gives way."""
    _belt_run(pencil)
    pencil.ink(1.2, muted=True, dashed=True)
    pencil.line(46, 46, 310, 36)
    pencil.accent(3.0)
    pencil.line(46, 46, 180, 62)
    pencil.line(180, 62, 310, 36)
    pencil.ink(2.0)
    pencil.arrow(180, 8, 180, 58)
    pencil.word(172, 14, _("force, N"), side=Qt.AlignmentFlag.AlignRight)
    pencil.rise(152, 42, 58.5, "")
    pencil.word(160, 73, _("deflection, mm"), side=_LEFT, is_accent=True)
    pencil.span(50, 306, 92, _("free span"))
    pencil.word(180, 138, _("square to the span, at its middle"))


def belt_grades(pencil: Pencil) -> None:
    """Draw how a belt looks from new to hurt."""
    texts = (_("0 as new"), _("1 polished"), _("2 cracks"), _("3 tooth gone"))
    for n, text in enumerate(texts):
        x = 12.0 + n * 88
        path = QPainterPath(QPointF(x, 40))
        path.lineTo(QPointF(x + 72, 40))
        path.lineTo(QPointF(x + 72, 58))
        for tooth in range(2, -1, -1):
            left = x + 4 + tooth * 24
            if n == 3 and tooth == 1:
                continue
            path.lineTo(QPointF(left + 16, 58))
            path.lineTo(QPointF(left + 13, 84))
            path.lineTo(QPointF(left + 3, 84))
            path.lineTo(QPointF(left, 58))
        path.lineTo(QPointF(x, 58))
        path.closeSubpath()
        pencil.ink(1.4)
        pencil.fill("raised")
        pencil.painter.drawPath(path)
        pencil.accent(1.8)
        for tooth in range(3):
            left = x + 4 + tooth * 24
            if n == 1:
                pencil.line(left + 3, 84, left + 13, 84)
            elif n == 2:
                pencil.line(left + 16, 58, left + 20, 50 - math.cos(tooth))
        pencil.word(x + 36, 106, text, is_accent=n == 3)
