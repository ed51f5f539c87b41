"""A drive stage to scale, from the side: what is planned over what is fitted; for screen and paper."""

import math
from dataclasses import dataclass, field
from gettext import gettext as _

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QFontMetricsF,
    QPainter,
    QPainterPath,
    QPainterPathStroker,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from wearlog.drawing.drive_outline import Point, SlackOutline, StageOutline, WheelOutline, stage_outline
from wearlog.drawing.palette import Palette, colour, palette, type_font
from wearlog.drawing.setup_words import adjuster_text, length_text
from wearlog.drive.figures import SetupFigures
from wearlog.fleet.quantity import ShownUnits

#: Rows of text above the drawing and below it; room beside it, [px] at plain text size.
_TOP_PX, _BOTTOM_PX, _SIDE_PX = 24.0, 46.0, 72.0
#: Height of a chain's plates and thickness of a belt, in pitches.
_PLATE, _BELT = 0.80, 0.62
#: Joints closer than this are not drawn one by one, [px].
_LEAST_JOINT_PX = 3.2
_ARROW_PX = 6.0


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


@dataclass(frozen=True, slots=True)
class _Scale:
    """From mm to px: how large one is and where the driver's axle lies."""

    px: float
    origin: QPointF
    text: float
    colours: Palette

    def at(self, point: Point) -> QPointF:
        return QPointF(self.origin.x() + self.px * point[0], self.origin.y() + self.px * point[1])

    def polygon(self, points: tuple[Point, ...]) -> QPolygonF:
        return QPolygonF([self.at(point) for point in points])


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
        to_px = _fitting([one for one in (front, back) if one is not None], rect, colours, scale)
        if back is not None:
            _paint_back(painter, back, to_px)
        _paint_front(painter, front, to_px)
        if front.slack is not None:
            _paint_slack(painter, front.slack, to_px, length_text(front.slack.movement_mm, view.shown))
        _paint_ways(painter, front, to_px, rect)
        _paint_teeth_texts(painter, rect, (front, back), to_px)
        _paint_distances(painter, rect, view, (front, back), to_px)
    painter.restore()


def _fitting(outlines: list[StageOutline], rect: QRectF, colours: Palette, scale: float) -> _Scale:
    bounds = [outline.bounds for outline in outlines]
    left, top = min(b[0] for b in bounds), min(b[1] for b in bounds)
    right, bottom = max(b[2] for b in bounds), max(b[3] for b in bounds)
    area = rect.adjusted(_SIDE_PX * scale, _TOP_PX * scale, -_SIDE_PX * scale, -_BOTTOM_PX * scale)
    px = min(area.width() / (right - left), area.height() / (bottom - top))
    origin = QPointF(
        area.center().x() - 0.5 * px * (left + right), area.center().y() - 0.5 * px * (top + bottom)
    )
    return _Scale(px, origin, scale, colours)


def _paint_nothing(painter: QPainter, rect: QRectF, view: SideView, colours: Palette, scale: float) -> None:
    text = side_view_text(view)
    if view.front is not None:
        text = _("To scale once the centre distance, or the length of chain or belt, is known.")
    painter.setFont(type_font("body", scale=scale))
    painter.setPen(colour(colours.muted))
    painter.drawText(rect, int(Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap), text)


# --- the stage itself


def _paint_back(painter: QPainter, outline: StageOutline, to_px: _Scale) -> None:
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


def _paint_front(painter: QPainter, outline: StageOutline, to_px: _Scale) -> None:
    _paint_wheel(painter, outline.driver, to_px)
    _paint_wheel(painter, outline.driven, to_px)
    _paint_loop(painter, outline, to_px)
    for wheel in (outline.driver, outline.driven):
        _paint_axle(painter, wheel.centre, to_px, to_px.colours.ink)


def _paint_wheel(painter: QPainter, wheel: WheelOutline, to_px: _Scale) -> None:
    colours = to_px.colours
    painter.setPen(QPen(colour(colours.outline), 1.0 * to_px.text))
    painter.setBrush(colour(colours.panel))
    painter.drawPolygon(to_px.polygon(wheel.rim))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(colour(colours.hairline), 1.0 * to_px.text))
    for share in (0.68, 0.22):
        radius = share * to_px.px * wheel.pitch_radius_mm
        painter.drawEllipse(to_px.at(wheel.centre), radius, radius)


def _paint_loop(painter: QPainter, outline: StageOutline, to_px: _Scale) -> None:
    """Draw the plates of a chain with its rollers, or a belt with its teeth."""
    colours = to_px.colours
    line = QPainterPath()
    line.addPolygon(to_px.polygon(outline.loop))
    line.closeSubpath()
    thick = (_PLATE if outline.is_chain else _BELT) * outline.pitch_mm * to_px.px
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
    centre = 0.5 * outline.driven.centre[0]
    for joint in outline.joints:
        # A tooth stands on the inner side of the belt, which looks to the nearer axle or to the middle.
        inner = _inwards(joint, outline, centre)
        at = to_px.at(joint)
        depth = 0.5 * thick
        painter.drawLine(at, QPointF(at.x() + depth * inner[0], at.y() + depth * inner[1]))


def _inwards(joint: Point, outline: StageOutline, middle_x: float) -> Point:
    for wheel in (outline.driver, outline.driven):
        dx, dy = wheel.centre[0] - joint[0], wheel.centre[1] - joint[1]
        distance = math.hypot(dx, dy)
        if abs(distance - wheel.pitch_radius_mm) < 0.02 * wheel.pitch_radius_mm:
            return dx / distance, dy / distance
    return (0.0, 1.0 if joint[1] < 0.0 else -1.0) if middle_x else (0.0, 0.0)


def _paint_axle(painter: QPainter, centre: Point, to_px: _Scale, name: str) -> None:
    at, arm = to_px.at(centre), 5.0 * to_px.text
    painter.setPen(QPen(colour(name), 1.2 * to_px.text))
    painter.drawLine(QPointF(at.x() - arm, at.y()), QPointF(at.x() + arm, at.y()))
    painter.drawLine(QPointF(at.x(), at.y() - arm), QPointF(at.x(), at.y() + arm))


def _paint_slack(painter: QPainter, slack: SlackOutline, to_px: _Scale, text: str) -> None:
    """Draw how far the slack run can be moved at its middle: from the middle of the arrow up and down."""
    colours = to_px.colours
    half = 0.5 * slack.movement_mm
    high, low = (
        to_px.at((slack.middle[0] + side * slack.outwards[0], slack.middle[1] + side * slack.outwards[1]))
        for side in (-half, half)
    )
    painter.setPen(QPen(colour(colours.accent), 1.4 * to_px.text))
    painter.drawLine(high, low)
    along = QPointF(slack.outwards[1], -slack.outwards[0]) * 4.0 * to_px.text
    for end in (high, low):
        painter.drawLine(end - along, end + along)
    font = type_font("caption", scale=to_px.text)
    painter.setFont(font)
    painter.setPen(colour(colours.ink))
    label = _("slack {mm}").format(mm=text)
    metrics = QFontMetricsF(font)
    gap = 6.0 * to_px.text
    half_width = 0.5 * metrics.horizontalAdvance(label)
    # Between the runs, clear of the run's higher end; the sag hangs below.
    rise = half_width * abs(slack.outwards[0]) / max(slack.outwards[1], 1e-6)
    at = QPointF(high.x() - half_width, high.y() - gap - rise)
    painter.drawText(at, label)


# --- directions and texts


def _arrow(painter: QPainter, tip: QPointF, to_px: _Scale, name: str, *, way: float = -1.0) -> None:
    """Draw the point of an arrow that looks to the left (way -1) or to the right."""
    size = _ARROW_PX * to_px.text
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour(name))
    back = tip.x() - way * 1.5 * size
    painter.drawPolygon(
        QPolygonF([tip, QPointF(back, tip.y() - 0.6 * size), QPointF(back, tip.y() + 0.6 * size)])
    )


def _paint_ways(painter: QPainter, outline: StageOutline, to_px: _Scale, rect: QRectF) -> None:
    """Say where the front is, and which run pulls which way."""
    colours = to_px.colours
    font = type_font("caption", scale=to_px.text)
    metrics = QFontMetricsF(font)
    painter.setFont(font)
    text = _("front")
    y = to_px.origin.y()
    left = rect.left() + 2.0 * to_px.text
    _arrow(painter, QPointF(left, y), to_px, colours.muted)
    painter.setPen(colour(colours.muted))
    painter.drawText(QPointF(left + 2.2 * _ARROW_PX * to_px.text, y + 0.36 * metrics.ascent()), text)
    middle = to_px.at(outline.tight_middle)
    size = _ARROW_PX * to_px.text
    length = 4.5 * size
    # Ends at the middle of the run: to its right a short stage has its driven wheel.
    aside = 0.5 * length + 5.0 * to_px.text + metrics.horizontalAdvance(_("pulls"))
    below = middle + QPointF(-aside, _PLATE * outline.pitch_mm * to_px.px + 12.0 * to_px.text)
    painter.setPen(QPen(colour(colours.muted), 1.4 * to_px.text))
    painter.drawLine(QPointF(below.x() - 0.5 * length + size, below.y()), below + QPointF(0.5 * length, 0.0))
    _arrow(painter, below - QPointF(0.5 * length, 0.0), to_px, colours.muted)
    painter.setPen(colour(colours.muted))
    painter.drawText(below + QPointF(0.5 * length + 5.0 * to_px.text, 0.36 * metrics.ascent()), _("pulls"))


def _paint_teeth_texts(
    painter: QPainter, rect: QRectF, outlines: tuple[StageOutline, StageOutline | None], to_px: _Scale
) -> None:
    """Write the teeth above each wheel, with those from before where they were others."""
    front, back = outlines
    font = type_font("caption", bold=True, scale=to_px.text)
    metrics = QFontMetricsF(font)
    painter.setFont(font)
    painter.setPen(colour(to_px.colours.ink))
    texts = []
    for wheel, old in (
        (front.driver, None if back is None else back.driver),
        (front.driven, None if back is None else back.driven),
    ):
        text = _("{n} teeth").format(n=wheel.teeth)
        if old is not None and old.teeth != wheel.teeth:
            text = _("{text}, before {n}").format(text=text, n=old.teeth)
        texts.append((text, to_px.at(wheel.centre).x()))
    widths = [metrics.horizontalAdvance(text) for text, _x in texts]
    starts = [x - 0.5 * width for (_text, x), width in zip(texts, widths, strict=True)]
    gap = 16.0 * to_px.text
    overlap = starts[0] + widths[0] + gap - starts[1]
    if overlap > 0.0:
        starts = [starts[0] - 0.5 * overlap, starts[1] + 0.5 * overlap]
    baseline = rect.top() + metrics.ascent() + 1.0
    for (text, _x), start in zip(texts, starts, strict=True):
        painter.drawText(QPointF(start, baseline), text)


def _paint_distances(
    painter: QPainter,
    rect: QRectF,
    view: SideView,
    outlines: tuple[StageOutline, StageOutline | None],
    to_px: _Scale,
) -> None:
    """Draw the distance between the axles, and the slot of the adjuster with the axle in it, to scale."""
    front, back = outlines
    figures = view.front
    if figures is None:
        return
    colours, scale = to_px.colours, to_px.text
    font = type_font("caption", scale=scale)
    metrics = QFontMetricsF(font)
    painter.setFont(font)
    driver, driven = (to_px.at(wheel.centre) for wheel in (front.driver, front.driven))
    y = rect.bottom() - _BOTTOM_PX * scale + 14.0 * scale
    thin = QPen(colour(colours.outline), 1.0 * scale)
    painter.setPen(thin)
    for x in (driver.x(), driven.x()):
        painter.drawLine(QPointF(x, to_px.origin.y() + 8.0 * scale), QPointF(x, y + 3.0 * scale))
    painter.drawLine(QPointF(driver.x(), y), QPointF(driven.x(), y))
    _arrow(painter, QPointF(driver.x(), y), to_px, colours.outline)
    _arrow(painter, QPointF(driven.x(), y), to_px, colours.outline, way=1.0)
    text = length_text(front.driven.centre[0], view.shown)
    if back is not None and abs(back.driven.centre[0] - front.driven.centre[0]) >= 0.05:
        text = _("{text}, before {mm}").format(text=text, mm=length_text(back.driven.centre[0], view.shown))
    painter.setPen(colour(colours.ink))
    middle = 0.5 * (driver.x() + driven.x())
    painter.drawText(
        QPointF(middle - 0.5 * metrics.horizontalAdvance(text), y + metrics.height() + 1.0 * scale), text
    )
    _paint_adjuster(painter, rect, view, driven.x(), y, to_px)


def _paint_adjuster(
    painter: QPainter, rect: QRectF, view: SideView, axle_x: float, y: float, to_px: _Scale
) -> None:
    figures = view.front
    if figures is None:
        return
    front_mm, rear_mm = figures.setup.adjuster_front_mm, figures.setup.adjuster_rear_mm
    if front_mm is None or rear_mm is None:
        return
    colours, scale = to_px.colours, to_px.text
    left, right = (to_px.at((mm, 0.0)).x() for mm in (front_mm, rear_mm))
    high = 5.0 * scale
    centre = to_px.origin.y()
    painter.setPen(QPen(colour(colours.accent), 1.4 * scale))
    painter.setBrush(colour(colours.ground))
    slot = QRectF(left - high, centre - high, right - left + 2.0 * high, 2.0 * high)
    painter.drawRoundedRect(slot, high, high)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour(colours.ink))
    painter.drawEllipse(QPointF(axle_x, centre), 0.62 * high, 0.62 * high)
    text = adjuster_text(figures, view.shown)
    metrics = QFontMetricsF(painter.font())
    # Beside the arrow of the centre distance, where the driven wheel leaves room.
    start = min(
        max(right, axle_x) + 12.0 * scale, rect.right() - metrics.horizontalAdvance(text) - 2.0 * scale
    )
    painter.setPen(colour(colours.accent))
    painter.drawText(QPointF(start, y + metrics.height() + 1.0 * scale), text)


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
