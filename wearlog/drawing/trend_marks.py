"""Readings of the wear trend: points with whiskers, gauge bars, voided ones hollow, questioned marked."""

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from wearlog.drawing.chart_frame import Frame
from wearlog.drawing.palette import colour
from wearlog.drawing.trend_many import has_many, paint_many, visible_readings
from wearlog.drawing.trend_series import TrendSeries

_RADIUS_PX = 4.5


def paint_readings(painter: QPainter, frame: Frame, series: TrendSeries) -> None:
    """Draw the readings in sight."""
    if has_many(frame, series):
        paint_many(painter, frame, series)
        return
    for number in visible_readings(frame, series).tolist():
        if series.is_gauge[number]:
            _paint_gauge(painter, frame, series, number)
        else:
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
    """Draw one reading that has a value: point and whisker, hollow if voided, marked if questioned."""
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
