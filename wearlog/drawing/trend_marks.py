"""Readings of the wear trend: points with whiskers, gauge bars, voided ones hollow, questioned marked."""

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from wearlog.drawing.chart_frame import Frame, points
from wearlog.drawing.palette import colour
from wearlog.drawing.trend_series import TrendSeries

_RADIUS_PX = 4.5
#: More points than this are drawn as dots, one for each few pixels: nothing more could be made out.
MANY = 1200
_CELL_PX = 2


def visible_readings(frame: Frame, series: TrendSeries) -> NDArray[np.intp]:
    """Return which readings lie in the ranges shown."""
    use = series.reading_use
    low, high = frame.y_range
    is_in = (use >= frame.x_range[0]) & (use <= frame.x_range[1])
    is_in &= (series.reading_high >= low) & (series.reading_low <= high)
    return np.flatnonzero(is_in)


def thinned(xs: NDArray[np.float64], ys: NDArray[np.float64], frame: Frame) -> NDArray[np.intp]:
    """Return which of many points to draw so that every few pixels hold one of them at most."""
    columns = int(frame.area.width() / _CELL_PX) + 2
    rows = int(frame.area.height() / _CELL_PX) + 2
    column = np.clip(((xs - frame.area.left()) / _CELL_PX).astype(np.intp), 0, columns - 1)
    row = np.clip(((ys - frame.area.top()) / _CELL_PX).astype(np.intp), 0, rows - 1)
    holder = np.full(columns * rows, -1, dtype=np.intp)
    holder[column * rows + row] = np.arange(len(xs))
    return holder[holder >= 0]


def paint_readings(painter: QPainter, frame: Frame, series: TrendSeries) -> None:
    """Draw the readings in sight."""
    seen = visible_readings(frame, series)
    if len(seen) > MANY:
        _paint_many(painter, frame, series, seen)
        return
    for number in seen.tolist():
        if series.is_gauge[number]:
            _paint_gauge(painter, frame, series, number)
        else:
            _paint_point(painter, frame, series, number)


def _paint_many(painter: QPainter, frame: Frame, series: TrendSeries, seen: NDArray[np.intp]) -> None:
    with_value = seen[~series.is_gauge[seen]]
    xs, ys = frame.xs(series.reading_use[with_value]), frame.ys(series.reading_value[with_value])
    kept = thinned(xs, ys, frame)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
    painter.setPen(QPen(colour(frame.colours.ink), 2.0))
    painter.drawPoints(points(xs[kept], ys[kept]))
    painter.restore()
    for number in seen[series.is_questioned[seen]][:200].tolist():
        if not series.is_gauge[number]:
            _paint_point(painter, frame, series, number)


def _ends(frame: Frame, series: TrendSeries, number: int) -> tuple[float, float]:
    """Return top and bottom of a whisker or bar; open ends run to the edge."""
    low, high = float(series.reading_low[number]), float(series.reading_high[number])
    bottom = frame.area.bottom() if not np.isfinite(low) else min(frame.y(low), frame.area.bottom())
    top = frame.area.top() if not np.isfinite(high) else max(frame.y(high), frame.area.top())
    return top, bottom


def _paint_gauge(painter: QPainter, frame: Frame, series: TrendSeries, number: int) -> None:
    top, bottom = _ends(frame, series, number)
    x = frame.x(float(series.reading_use[number]))
    width = 4.0 * frame.scale
    box = QRectF(x - width / 2, top, width, bottom - top)
    if series.is_voided[number]:
        painter.setPen(QPen(colour(frame.colours.muted), 1.2))
        painter.setBrush(colour(frame.colours.ground))
    elif series.is_questioned[number]:
        painter.setPen(QPen(colour(frame.colours.problem), 1.5))
        painter.setBrush(colour(frame.colours.ground))
    else:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour(frame.colours.muted))
    painter.drawRect(box)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour(frame.colours.muted))
    arrow = 4.0 * frame.scale
    # An open end is an arrow: the gauge says no more than "less than" or "more than".
    for is_open, y, way in (
        (not np.isfinite(series.reading_low[number]), bottom, 1.0),
        (not np.isfinite(series.reading_high[number]), top, -1.0),
    ):
        if is_open:
            corners = [(0.0, 0.0), (arrow, -way * 1.6 * arrow), (-arrow, -way * 1.6 * arrow)]
            painter.drawPolygon(QPolygonF([QPointF(x + dx, y + dy) for dx, dy in corners]))


def _paint_point(painter: QPainter, frame: Frame, series: TrendSeries, number: int) -> None:
    x = frame.x(float(series.reading_use[number]))
    y = frame.y(float(series.reading_value[number]))
    top, bottom = _ends(frame, series, number)
    radius = _RADIUS_PX * frame.scale
    if series.is_voided[number]:
        paint = colour(frame.colours.muted)
        painter.setPen(QPen(paint, 1.4))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(QPointF(x, y), radius, radius)
        arm = radius * 0.62
        painter.drawLine(QPointF(x - arm, y + arm), QPointF(x + arm, y - arm))
        return
    if series.is_questioned[number]:
        paint = colour(frame.colours.problem)
        painter.setPen(QPen(paint, 1.8))
        painter.drawLine(QPointF(x, top), QPointF(x, bottom))
        painter.setBrush(colour(frame.colours.ground))
        radius *= 1.35
        painter.drawEllipse(QPointF(x, y), radius, radius)
        font = frame.font(bold=True)
        font.setPixelSize(max(7, round(9 * frame.scale)))
        painter.setFont(font)
        painter.drawText(
            QRectF(x - radius, y - radius, 2 * radius, 2 * radius), Qt.AlignmentFlag.AlignCenter, "?"
        )
        return
    paint = colour(frame.colours.ink)
    painter.setPen(QPen(paint, 1.8))
    painter.drawLine(QPointF(x, top), QPointF(x, bottom))
    painter.setPen(QPen(colour(frame.colours.ground), 1.0))
    painter.setBrush(paint)
    painter.drawEllipse(QPointF(x, y), radius, radius)


def mark_box(frame: Frame, series: TrendSeries, number: int) -> QRectF:
    """Return the room that the mark of one reading takes, [px]."""
    x = frame.x(float(series.reading_use[number]))
    top, bottom = _ends(frame, series, number)
    radius = 1.4 * _RADIUS_PX * frame.scale
    if series.is_gauge[number]:
        return QRectF(x - radius, top, 2 * radius, max(bottom - top, 1.0))
    y = frame.y(float(series.reading_value[number]))
    return QRectF(x - radius, min(top, y - radius), 2 * radius, max(bottom - top, 2 * radius))


def nearest_reading(frame: Frame, series: TrendSeries, x: float, y: float, reach: float) -> int | None:
    """Return the reading nearest to a point, None if none is within `reach`, [px]."""
    if not len(series.reading_use):
        return None
    dx = frame.xs(series.reading_use) - x
    dy = frame.ys(series.value_middle) - y
    far = np.hypot(dx, np.where(series.is_gauge, 0.35 * dy, dy))
    best = int(np.argmin(far))
    return best if far[best] <= reach else None
