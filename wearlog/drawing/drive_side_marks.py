"""What stands round a stage drawn to scale: distances, the adjuster's slot, slack, directions, teeth."""

from dataclasses import dataclass
from gettext import gettext as _

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen, QPolygonF

from wearlog.drawing.drive_outline import Point, SlackOutline, StageOutline
from wearlog.drawing.palette import Palette, colour, type_font
from wearlog.drawing.setup_words import adjuster_text, length_text
from wearlog.drive.figures import SetupFigures
from wearlog.fleet.quantity import ShownUnits

#: Rows of text above the drawing and below it; room beside it, [px] at plain text size.
TOP_PX, BOTTOM_PX, SIDE_PX = 24.0, 46.0, 72.0
#: Height of a chain's plates, in pitches.
PLATE = 0.80
_ARROW_PX = 6.0


@dataclass(frozen=True, slots=True)
class Scale:
    """From mm to px: how large one is and where the driver's axle lies."""

    px: float
    origin: QPointF
    text: float
    colours: Palette

    def at(self, point: Point) -> QPointF:
        """Return where a point of the outline lies, [px]."""
        return QPointF(self.origin.x() + self.px * point[0], self.origin.y() + self.px * point[1])

    def polygon(self, points: tuple[Point, ...]) -> QPolygonF:
        """Return a line of the outline, [px]."""
        return QPolygonF([self.at(point) for point in points])


def between(outlines: list[StageOutline], to_px: Scale) -> tuple[float, float]:
    """Return where the room between the wheels begins and ends, [px]."""
    return (
        max(to_px.at((o.driver.centre[0] + o.driver.tip_radius_mm, 0.0)).x() for o in outlines),
        min(to_px.at((o.driven.centre[0] - o.driven.tip_radius_mm, 0.0)).x() for o in outlines),
    )


def paint_slack(
    painter: QPainter, slack: SlackOutline, to_px: Scale, text: str, between: tuple[float, float]
) -> None:
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
    width = metrics.horizontalAdvance(label)
    # Between the runs, clear of the wheels and of the run's higher end; the sag hangs below.
    left = min(max(high.x() - 0.5 * width, between[0] + gap), between[1] - gap - width)
    slope = -slack.outwards[0] / max(slack.outwards[1], 1e-6)
    rise = max(slope * (high.x() - left), -slope * (left + width - high.x()), 0.0)
    at = QPointF(left, high.y() - gap - rise)
    painter.drawText(at, label)


# --- directions and texts


def _arrow(painter: QPainter, tip: QPointF, to_px: Scale, name: str, *, way: float = -1.0) -> None:
    """Draw the point of an arrow that looks to the left (way -1) or to the right."""
    size = _ARROW_PX * to_px.text
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour(name))
    back = tip.x() - way * 1.5 * size
    painter.drawPolygon(
        QPolygonF([tip, QPointF(back, tip.y() - 0.6 * size), QPointF(back, tip.y() + 0.6 * size)])
    )


def paint_ways(painter: QPainter, outline: StageOutline, to_px: Scale, rect: QRectF) -> None:
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
    below = middle + QPointF(-aside, PLATE * outline.pitch_mm * to_px.px + 12.0 * to_px.text)
    painter.setPen(QPen(colour(colours.muted), 1.4 * to_px.text))
    painter.drawLine(QPointF(below.x() - 0.5 * length + size, below.y()), below + QPointF(0.5 * length, 0.0))
    _arrow(painter, below - QPointF(0.5 * length, 0.0), to_px, colours.muted)
    painter.setPen(colour(colours.muted))
    painter.drawText(below + QPointF(0.5 * length + 5.0 * to_px.text, 0.36 * metrics.ascent()), _("pulls"))


def paint_teeth_texts(
    painter: QPainter, rect: QRectF, outlines: tuple[StageOutline, StageOutline | None], to_px: Scale
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


def paint_distances(
    painter: QPainter,
    rect: QRectF,
    figures: SetupFigures,
    shown: ShownUnits,
    outlines: tuple[StageOutline, StageOutline | None],
    to_px: Scale,
) -> None:
    """Draw the distance between the axles, and the slot of the adjuster with the axle in it, to scale."""
    front, back = outlines
    colours, scale = to_px.colours, to_px.text
    font = type_font("caption", scale=scale)
    metrics = QFontMetricsF(font)
    painter.setFont(font)
    driver, driven = (to_px.at(wheel.centre) for wheel in (front.driver, front.driven))
    y = rect.bottom() - BOTTOM_PX * scale + 14.0 * scale
    thin = QPen(colour(colours.outline), 1.0 * scale)
    painter.setPen(thin)
    for x in (driver.x(), driven.x()):
        painter.drawLine(QPointF(x, to_px.origin.y() + 8.0 * scale), QPointF(x, y + 3.0 * scale))
    painter.drawLine(QPointF(driver.x(), y), QPointF(driven.x(), y))
    _arrow(painter, QPointF(driver.x(), y), to_px, colours.outline)
    _arrow(painter, QPointF(driven.x(), y), to_px, colours.outline, way=1.0)
    text = length_text(front.driven.centre[0], shown)
    if back is not None and abs(back.driven.centre[0] - front.driven.centre[0]) >= 0.05:
        text = _("{text}, before {mm}").format(text=text, mm=length_text(back.driven.centre[0], shown))
    painter.setPen(colour(colours.ink))
    middle = 0.5 * (driver.x() + driven.x())
    painter.drawText(
        QPointF(middle - 0.5 * metrics.horizontalAdvance(text), y + metrics.height() + 1.0 * scale), text
    )
    paint_adjuster(painter, rect, figures, shown, driven.x(), y, to_px)


def paint_adjuster(
    painter: QPainter,
    rect: QRectF,
    figures: SetupFigures,
    shown: ShownUnits,
    axle_x: float,
    y: float,
    to_px: Scale,
) -> None:
    """Draw the slot of the adjuster round the driven axle, and say how much of it is used."""
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
    text = adjuster_text(figures, shown)
    metrics = QFontMetricsF(painter.font())
    # Beside the arrow of the centre distance, where the driven wheel leaves room.
    start = min(
        max(right, axle_x) + 12.0 * scale, rect.right() - metrics.horizontalAdvance(text) - 2.0 * scale
    )
    painter.setPen(colour(colours.accent))
    painter.drawText(QPointF(start, y + metrics.height() + 1.0 * scale), text)
