"""Curves of the wear trend: bands and median, the fleet's expectation, earlier parts, and the levels."""

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from wearlog.drawing.chart_frame import Frame
from wearlog.drawing.palette import colour
from wearlog.drawing.trend_series import TrendSeries
from wearlog.fleet.state import State
from wearlog.workshop.trend_snapshot import MEDIAN, FloatArray

#: More ghosts than these would hide what they are compared with.
EARLIER_SHOWN = 2
#: Columns of the 95, 80 and 50 % intervals, the widest first.
_PAIRS = ((0, 6), (1, 5), (2, 4))


def _parts(series: TrendSeries) -> tuple[FloatArray, FloatArray]:
    """Return the curve with a point at the end of what is known, so that both parts meet there."""
    use, value = series.curve_use, series.curve_value
    if len(use) < 2 or not use[0] < series.known < use[-1] or np.any(use == series.known):
        return use, value
    at = int(np.searchsorted(use, series.known))
    row = np.array([np.interp(series.known, use, value[:, n]) for n in range(value.shape[1])])
    return np.insert(use, at, series.known), np.insert(value, at, row, axis=0)


def _draw(painter: QPainter, pieces: list[QPolygonF]) -> None:
    for piece in pieces:
        painter.drawPolyline(piece)


def paint_bands(painter: QPainter, frame: Frame, series: TrendSeries) -> None:
    """Draw the 95, 80 and 50 % bands, lighter where they are forecast."""
    use, value = _parts(series)
    if len(use) < 2:
        return
    known = use <= series.known
    ahead = use >= series.known
    for part, colours in ((ahead, frame.colours.bands_ahead), (known, frame.colours.bands)):
        if np.count_nonzero(part) < 2:
            continue
        painter.setPen(Qt.PenStyle.NoPen)
        for (low, high), band in zip(_PAIRS, colours, strict=True):
            painter.setBrush(colour(band))
            painter.drawPolygon(frame.ribbon(use[part], value[part, low], value[part, high]))
    painter.setBrush(Qt.BrushStyle.NoBrush)


def paint_median(painter: QPainter, frame: Frame, series: TrendSeries) -> None:
    """Draw the median, dashed where it is forecast; heavier than the lines of other vehicles."""
    use, value = _parts(series)
    if len(use) < 2:
        return
    known = use <= series.known
    ahead = use >= series.known
    pen = QPen(colour(frame.colours.median), 3.2 if series.others else 2.0)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    for part, dashes in ((known, None), (ahead, [4.0, 2.5])):
        if np.count_nonzero(part) < 2:
            continue
        if dashes:
            pen.setDashPattern(dashes)
        painter.setPen(pen)
        _draw(painter, frame.lines(use[part], value[part, MEDIAN]))


def paint_fleet(painter: QPainter, frame: Frame, series: TrendSeries) -> None:
    """Draw the 80 % interval that similar parts lead to expect, as dotted lines."""
    if len(series.fleet_use) < 2:
        return
    pen = QPen(colour(frame.colours.fleet), 1.2)
    pen.setDashPattern([1.0, 3.0])
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    painter.setPen(pen)
    for column in (0, 2):
        _draw(painter, frame.lines(series.fleet_use, series.fleet_value[:, column]))


def earlier_lines(series: TrendSeries) -> list[tuple[FloatArray, FloatArray, str]]:
    """Return use, value and name of the earlier parts that are shown; none while vehicles are compared."""
    if series.others:
        return []
    snapshot = series.snapshot
    moved = [
        part.meter_offset - snapshot.meter_offset if series.view.is_vehicle else 0.0
        for part in snapshot.earlier
    ]
    return [
        (series.shown_use(part.use_on_part + shift), series.shown_value(part.value), part.text)
        for part, shift in zip(snapshot.earlier[:EARLIER_SHOWN], moved, strict=False)
    ]


def paint_earlier(painter: QPainter, frame: Frame, series: TrendSeries) -> None:
    """Draw earlier parts in the same place as thin ghosts."""
    painter.setPen(QPen(colour(frame.colours.fleet, 0.55), 1.2))
    for use, value, _text in earlier_lines(series):
        if len(use) > 1:
            _draw(painter, frame.lines(use, value))


def paint_levels(painter: QPainter, frame: Frame, series: TrendSeries) -> None:
    """Draw the service limit as a firm line, plan ahead dashed, and the stop-use limit as a double line."""
    left, right = frame.area.left(), frame.area.right()
    if frame.has_y(series.plan):
        pen = QPen(colour(frame.colours.look(State.PLAN).mark), 1.4)
        pen.setDashPattern([6.0, 4.0])
        painter.setPen(pen)
        y = frame.y(series.plan)
        painter.drawLine(QPointF(left, y), QPointF(right, y))
    if frame.has_y(series.limit):
        painter.setPen(QPen(colour(frame.colours.ink), 2.0))
        y = frame.y(series.limit)
        painter.drawLine(QPointF(left, y), QPointF(right, y))
    if not np.isnan(series.stop) and frame.has_y(series.stop):
        painter.setPen(QPen(colour(frame.colours.ink), 1.0))
        y = frame.y(series.stop)
        for shift in (-1.5, 1.5):
            painter.drawLine(QPointF(left, y + shift), QPointF(right, y + shift))


def crossing_span(frame: Frame, series: TrendSeries) -> tuple[float, float] | None:
    """Return where the 80 % interval of the crossing lies on the limit line, [px]; None if out of sight."""
    low, _likely, high = series.crossing
    if not np.isfinite(low) or low > frame.x_range[1] or not frame.has_y(series.limit):
        return None
    if np.isfinite(high) and high < frame.x_range[0]:
        return None
    left = max(frame.x(low), frame.area.left())
    right = min(frame.x(high), frame.area.right()) if np.isfinite(high) else frame.area.right()
    return left, max(right, left + 2.0)


def crossing_box(frame: Frame, series: TrendSeries) -> QRectF | None:
    """Return the room that the crossing takes with its marker."""
    span = crossing_span(frame, series)
    if span is None:
        return None
    y = frame.y(series.limit)
    return QRectF(span[0], y - 18.0 * frame.scale, span[1] - span[0], 22.0 * frame.scale)


def paint_crossing(painter: QPainter, frame: Frame, series: TrendSeries) -> None:
    """Draw where the limit is reached: a bar over the 80 % interval, a marker at the median."""
    span = crossing_span(frame, series)
    if span is None:
        return
    y = frame.y(series.limit)
    thick = 7.0 * frame.scale
    painter.setPen(QPen(colour(frame.colours.ground), 1.0))
    painter.setBrush(colour(frame.colours.crossing))
    painter.drawRect(QRectF(span[0], y - thick / 2, span[1] - span[0], thick))
    middle = series.crossing[1]
    if np.isfinite(middle) and frame.has_x(middle):
        x, side = frame.x(middle), 6.0 * frame.scale
        tip = y - thick / 2 - 2.0
        painter.drawPolygon(
            QPolygonF(
                [QPointF(x, tip), QPointF(x + side, tip - 1.7 * side), QPointF(x - side, tip - 1.7 * side)]
            )
        )
