"""The same stage of other vehicles on a wear trend: lines in the colour of their state, named at the end."""

import numpy as np
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter, QPen

from wearlog.drawing.chart_frame import Frame
from wearlog.drawing.label_room import Label, Line, Wanted, place_labels
from wearlog.drawing.palette import colour
from wearlog.drawing.trend_series import OtherSeries, TrendSeries
from wearlog.workshop.trend_snapshot import MEDIAN, FloatArray

#: Where along its visible line a name is tried, the end first, [-].
_ANCHORS = (1.0, 0.92, 0.84, 0.75, 0.65, 0.55, 0.45, 0.35)
_SIDES = ("above left", "left", "above", "below right", "below", "right", "below left", "above right")
_DOT_PX = 3.0


def paint_others(painter: QPainter, frame: Frame, series: TrendSeries) -> None:
    """Draw the medians of other vehicles: firm through their readings, dashed ahead, a dot between."""
    for other in series.others:
        ink = colour(frame.colours.look(other.state).mark)
        pen = QPen(ink, 1.3)
        known = other.use <= other.known
        ahead = other.use >= other.known
        for part, dashes in ((known, None), (ahead, [3.0, 3.0])):
            if np.count_nonzero(part) < 2:
                continue
            if dashes:
                pen.setDashPattern(dashes)
            painter.setPen(pen)
            for piece in frame.lines(other.use[part], other.value[part]):
                painter.drawPolyline(piece)
        at = float(np.interp(other.known, other.use, other.value)) if len(other.use) else np.nan
        if frame.has_x(other.known) and frame.has_y(at):
            painter.setPen(QPen(colour(frame.colours.ground), 1.0))
            painter.setBrush(ink)
            radius = _DOT_PX * frame.scale
            painter.drawEllipse(QPointF(frame.x(other.known), frame.y(at)), radius, radius)


def other_labels(
    frame: Frame, series: TrendSeries, taken: list[QRectF], faint: list[QRectF], bounds: QRectF
) -> list[Label]:
    """Return the names of the lines in their places: at their ends, or further back where that is taken.

    Parameters
    ----------
    frame : Frame
        Where data lies.
    series : TrendSeries
        What is drawn.
    taken : list of QRectF
        Boxes that no label may touch, [px].
    faint : list of QRectF
        Boxes that labels avoid if they can, [px].
    bounds : QRectF
        No label leaves these, [px].
    """
    placed: list[Label] = []
    lines = [
        (other.name, *_seen(frame, other.use, other.value), _other_line(frame, other))
        for other in series.others
    ]
    if series.others and len(series.curve_use):
        own = Line(series.snapshot.tag, frame.font(bold=True), frame.colours.ink)
        seen = _seen(frame, series.curve_use, series.curve_value[:, MEDIAN])
        lines.insert(0, (series.snapshot.tag, *seen, own))
    for name, xs, ys, line in lines:
        if not len(xs):
            continue
        occupied = [*taken, *(label.box.adjusted(-2.0, 0.0, 2.0, 0.0) for label in placed)]
        for share in _ANCHORS:
            at = round(share * (len(xs) - 1))
            spot = QRectF(float(xs[at]) - 2.0, float(ys[at]) - 2.0, 4.0, 4.0)
            found = place_labels([Wanted(f"other {name}", (line,), spot, _SIDES)], occupied, faint, bounds)
            if found:
                placed += found
                break
    return placed


def _other_line(frame: Frame, other: OtherSeries) -> Line:
    return Line(other.name, frame.font(), frame.colours.look(other.state).text)


def _seen(frame: Frame, use: FloatArray, value: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return positions along the part of a line that is in sight, [px]."""
    if len(use) < 2:
        return np.zeros(0), np.zeros(0)
    at = np.linspace(max(float(use[0]), frame.x_range[0]), min(float(use[-1]), frame.x_range[1]), 80)
    if at[-1] <= at[0]:
        return np.zeros(0), np.zeros(0)
    values = np.interp(at, use, value)
    inside = (values >= frame.y_range[0]) & (values <= frame.y_range[1])
    return frame.xs(at[inside]), frame.ys(values[inside])
