"""A drive stage to scale, from the side: what is planned over what is fitted; for screen and paper."""

import math
from dataclasses import dataclass, field
from gettext import gettext as _

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QPainter,
    QPainterPath,
    QPainterPathStroker,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from wearlog.drawing.drive_outline import Point, StageOutline, WheelOutline, stage_outline
from wearlog.drawing.drive_side_marks import (
    BOTTOM_PX,
    PLATE,
    SIDE_PX,
    TOP_PX,
    Scale,
    between,
    paint_distances,
    paint_slack,
    paint_teeth_texts,
    paint_ways,
)
from wearlog.drawing.palette import Palette, colour, palette, type_font
from wearlog.drawing.setup_words import adjuster_text, length_text
from wearlog.drive.figures import SetupFigures
from wearlog.fleet.quantity import ShownUnits

#: Thickness of a belt, in pitches.
_BELT = 0.62
#: Joints closer than this are not drawn one by one, [px].
_LEAST_JOINT_PX = 3.2


@dataclass(frozen=True, slots=True)
class SideView:
    """What is drawn.

    Attributes
    ----------
    before
        The stage as it is; None draws nothing of it.
    after
        The stage as it is planned; None, or the same, draws the stage as it is in full.
    shown
        The units of this seat.
    """

    before: SetupFigures | None
    after: SetupFigures | None = None
    shown: ShownUnits = field(default_factory=ShownUnits)

    @property
    def front(self) -> SetupFigures | None:
        """What is drawn in full."""
        return self.before if self.after is None else self.after

    @property
    def back(self) -> SetupFigures | None:
        """What shows through in pale lines, if anything."""
        if self.after is None or self.before is None or _drawn(self.before) == _drawn(self.after):
            return None
        return self.before


def _drawn(figures: SetupFigures) -> tuple[object, ...]:
    setup = figures.setup
    place = figures.loop.centre_distance_mm
    return (
        setup.drive,
        setup.pitch_mm,
        setup.driver_teeth,
        setup.driven_teeth,
        None if place is None else round(place, 2),
        setup.adjuster_front_mm,
        setup.adjuster_rear_mm,
    )


def side_view_text(view: SideView) -> str:
    """Return the drawing in words, for captions and screen readers.

    Examples
    --------
    >>> side_view_text(SideView(None))
    'Nothing is known of this stage yet.'
    """
    front, back = view.front, view.back
    if front is None:
        return _("Nothing is known of this stage yet.")
    text = _stage_text(front, view.shown)
    if back is not None:
        return _("{after} Before, in pale lines: {before}").format(
            after=text, before=_stage_text(back, view.shown)
        )
    return text


def _stage_text(figures: SetupFigures, shown: ShownUnits) -> str:
    setup = figures.setup
    what = _("chain") if setup.is_chain else _("belt")
    parts = [
        _("{driver} to {driven} teeth by {what}").format(
            driver=setup.driver_teeth, driven=setup.driven_teeth, what=what
        )
    ]
    if figures.loop.centre_distance_mm is not None:
        parts.append(_("{mm} between centres").format(mm=length_text(figures.loop.centre_distance_mm, shown)))
    if setup.is_chain and figures.target.slack_mm is not None:
        parts.append(_("slack {mm} in all").format(mm=length_text(figures.target.slack_mm, shown)))
    adjuster = adjuster_text(figures, shown)
    return ", ".join([*parts, *([adjuster] if adjuster else [])]) + "."


def paint_drive_side_view(
    painter: QPainter, rect: QRectF, view: SideView, colours: Palette, scale: float = 1.0
) -> None:
    """Draw a stage to scale, with the front of the vehicle at the left.

    What is planned is drawn in full; what is fitted shows through in dashed lines, so that the two are told
    apart without colour.

    Parameters
    ----------
    painter : QPainter
        On a widget, a picture or paper.
    rect : QRectF
        Where; the stage is as large as fits.
    view : SideView
        What is drawn.
    colours : Palette
        The theme's colours; the paper's are black on white.
    scale : float
        The seat's text scale, [-].
    """
    front = None if view.front is None else stage_outline(view.front)
    back = None if view.back is None else stage_outline(view.back)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    if front is None or view.front is None:
        _paint_nothing(painter, rect, view, colours, scale)
    else:
        outlines = [one for one in (front, back) if one is not None]
        to_px = _fitting(outlines, rect, colours, scale)
        if back is not None:
            _paint_back(painter, back, to_px)
        _paint_front(painter, front, to_px)
        if front.slack is not None:
            text = length_text(front.slack.movement_mm, view.shown)
            paint_slack(painter, front.slack, to_px, text, between(outlines, to_px))
        paint_ways(painter, front, to_px, rect)
        paint_teeth_texts(painter, rect, (front, back), to_px)
        paint_distances(painter, rect, view.front, view.shown, (front, back), to_px)
    painter.restore()


def _fitting(outlines: list[StageOutline], rect: QRectF, colours: Palette, scale: float) -> Scale:
    bounds = [outline.bounds for outline in outlines]
    left, top = min(b[0] for b in bounds), min(b[1] for b in bounds)
    right, bottom = max(b[2] for b in bounds), max(b[3] for b in bounds)
    area = rect.adjusted(SIDE_PX * scale, TOP_PX * scale, -SIDE_PX * scale, -BOTTOM_PX * scale)
    px = min(area.width() / (right - left), area.height() / (bottom - top))
    origin = QPointF(
        area.center().x() - 0.5 * px * (left + right), area.center().y() - 0.5 * px * (top + bottom)
    )
    return Scale(px, origin, scale, colours)


def _paint_nothing(painter: QPainter, rect: QRectF, view: SideView, colours: Palette, scale: float) -> None:
    text = side_view_text(view)
    if view.front is not None:
        text = _("To scale once the centre distance, or the length of chain or belt, is known.")
    painter.setFont(type_font("body", scale=scale))
    painter.setPen(colour(colours.muted))
    painter.drawText(rect, int(Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap), text)


# --- the stage itself


def _paint_back(painter: QPainter, outline: StageOutline, to_px: Scale) -> None:
    """Draw what is fitted: pitch circles and pitch line alone, dashed."""
    pen = QPen(colour(to_px.colours.fleet), 1.4 * to_px.text, Qt.PenStyle.CustomDashLine)
    pen.setDashPattern([4.0, 3.0])
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for wheel in (outline.driver, outline.driven):
        radius = to_px.px * wheel.pitch_radius_mm
        painter.drawEllipse(to_px.at(wheel.centre), radius, radius)
    painter.drawPolygon(to_px.polygon(outline.loop))
    _paint_axle(painter, outline.driven.centre, to_px, to_px.colours.fleet)


def _paint_front(painter: QPainter, outline: StageOutline, to_px: Scale) -> None:
    _paint_wheel(painter, outline.driver, to_px)
    _paint_wheel(painter, outline.driven, to_px)
    _paint_loop(painter, outline, to_px)
    for wheel in (outline.driver, outline.driven):
        _paint_axle(painter, wheel.centre, to_px, to_px.colours.ink)


def _paint_wheel(painter: QPainter, wheel: WheelOutline, to_px: Scale) -> None:
    colours = to_px.colours
    painter.setPen(QPen(colour(colours.outline), 1.0 * to_px.text))
    painter.setBrush(colour(colours.panel))
    painter.drawPolygon(to_px.polygon(wheel.rim))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(colour(colours.hairline), 1.0 * to_px.text))
    for share in (0.68, 0.22):
        radius = share * to_px.px * wheel.pitch_radius_mm
        painter.drawEllipse(to_px.at(wheel.centre), radius, radius)


def _paint_loop(painter: QPainter, outline: StageOutline, to_px: Scale) -> None:
    """Draw the plates of a chain with its rollers, or a belt with its teeth."""
    colours = to_px.colours
    line = QPainterPath()
    line.addPolygon(to_px.polygon(outline.loop))
    line.closeSubpath()
    thick = (PLATE if outline.is_chain else _BELT) * outline.pitch_mm * to_px.px
    band = QPainterPathStroker()
    band.setWidth(max(thick, 2.4 * to_px.text))
    band.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    body = band.createStroke(line).simplified()
    painter.setPen(QPen(colour(colours.ink), 1.2 * to_px.text))
    painter.setBrush(colour(colours.raised if outline.is_chain else colours.hairline))
    painter.drawPath(body)
    if outline.pitch_mm * to_px.px < _LEAST_JOINT_PX * to_px.text:
        return
    if outline.is_chain:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour(colours.ink))
        radius = max(0.17 * outline.pitch_mm * to_px.px, 0.9)
        for joint in outline.joints:
            painter.drawEllipse(to_px.at(joint), radius, radius)
        return
    painter.setPen(QPen(colour(colours.muted), 1.0 * to_px.text))
    for joint in outline.joints:
        inner = _inwards(joint, outline)
        at = to_px.at(joint)
        depth = 0.5 * thick
        painter.drawLine(at, QPointF(at.x() + depth * inner[0], at.y() + depth * inner[1]))


def _inwards(joint: Point, outline: StageOutline) -> Point:
    """Return the way from a belt's back to its teeth: to the axle it runs round, else to the other run."""
    for wheel in (outline.driver, outline.driven):
        dx, dy = wheel.centre[0] - joint[0], wheel.centre[1] - joint[1]
        distance = math.hypot(dx, dy)
        if abs(distance - wheel.pitch_radius_mm) < 0.02 * wheel.pitch_radius_mm:
            return dx / distance, dy / distance
    return 0.0, 1.0 if joint[1] < 0.0 else -1.0


def _paint_axle(painter: QPainter, centre: Point, to_px: Scale, name: str) -> None:
    at, arm = to_px.at(centre), 5.0 * to_px.text
    painter.setPen(QPen(colour(name), 1.2 * to_px.text))
    painter.drawLine(QPointF(at.x() - arm, at.y()), QPointF(at.x() + arm, at.y()))
    painter.drawLine(QPointF(at.x(), at.y() - arm), QPointF(at.x(), at.y() + arm))


class DriveSideView(QWidget):
    """The drawing of a stage; says it in words too."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.view = SideView(None)
        self._colours = palette("light")
        self._scale = 1.0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.setAccessibleName(_("Drawing of the stage"))

    def wear_colours(self, colours: Palette, scale: float = 1.0) -> None:
        """Take the colours of a theme and the seat's text scale."""
        self._colours, self._scale = colours, scale
        self.updateGeometry()
        self.update()

    def show_view(self, view: SideView) -> None:
        """Show a stage."""
        self.view = view
        self.setAccessibleDescription(side_view_text(view))
        self.setToolTip(side_view_text(view))
        self.update()

    def sizeHint(self) -> QSize:
        """Return a size at which the teeth can be told apart."""
        return QSize(round(620 * self._scale), round(236 * self._scale))

    def minimumSizeHint(self) -> QSize:
        """Return the least at which the figures can be read."""
        return QSize(round(320 * self._scale), round(180 * self._scale))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw."""
        with QPainter(self) as painter:
            paint_drive_side_view(painter, QRectF(self.rect()), self.view, self._colours, self._scale)
