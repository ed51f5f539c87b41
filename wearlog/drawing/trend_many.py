"""Readings of the wear trend where there are thousands: what could be made out is drawn, and no more.

Of plain readings every two pixels square that hold one get a dot. Gauge readings of one column of pixels
become one bar from their lowest to their highest end. Questioned and voided ones keep their marks, one for
each few pixels. So the outline of the readings, their gaps and every odd one stay, whatever their number.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QImage, QPaintEngine, QPainter, QPen, QPixmap

from wearlog.drawing.chart_frame import Frame, points
from wearlog.drawing.palette import colour, type_font
from wearlog.drawing.trend_series import TrendSeries

#: More readings in sight than this are drawn so.
MANY = 1200
_CELL_PX = 2.0
#: Marks of odd readings stand at least this far apart.
_MARK_CELL_PX = 14.0
_COLUMN_PX = 2.0
_RADIUS_PX = 4.5


@dataclass(frozen=True, slots=True)
class SortedReadings:
    """The readings of a trend sorted by use, apart by kind, so that those in sight are found at once."""

    use: NDArray[np.float64]
    plain: NDArray[np.intp]
    plain_use: NDArray[np.float64]
    plain_value: NDArray[np.float64]
    gauges: NDArray[np.intp]
    voided: NDArray[np.intp]
    questioned: NDArray[np.intp]

    @classmethod
    def of(cls, series: TrendSeries) -> "SortedReadings":
        """Return the readings of a trend sorted."""
        order = np.argsort(series.reading_use, kind="stable")
        voided = order[series.is_voided[order]]
        questioned = order[series.is_questioned[order] & ~series.is_voided[order]]
        rest = order[~series.is_voided[order] & ~series.is_questioned[order]]
        plain = rest[~series.is_gauge[rest]]
        return cls(
            use=series.reading_use[order],
            plain=plain,
            plain_use=np.ascontiguousarray(series.reading_use[plain]),
            plain_value=np.ascontiguousarray(series.reading_value[plain]),
            gauges=rest[series.is_gauge[rest]],
            voided=voided,
            questioned=questioned,
        )

    def count(self, x_range: tuple[float, float]) -> int:
        """Return how many readings lie in a range of use."""
        first, last = np.searchsorted(self.use, x_range)
        return int(last - first)


#: Of the trend that was drawn last: sorted once, drawn many times.
_last: list[tuple[TrendSeries, SortedReadings]] = []


def sorted_readings(series: TrendSeries) -> SortedReadings:
    """Return the readings of a trend sorted by use; kept for the trend that is drawn again and again."""
    for known, found in _last:
        if known is series:
            return found
    found = SortedReadings.of(series)
    _last[:] = [(series, found)]
    return found


def has_many(frame: Frame, series: TrendSeries) -> bool:
    """Whether more readings are in sight than can be told apart."""
    return len(series.reading_use) > MANY and sorted_readings(series).count(frame.x_range) > MANY


def visible_readings(frame: Frame, series: TrendSeries) -> NDArray[np.intp]:
    """Return which readings lie in the ranges shown."""
    use = series.reading_use
    low, high = frame.y_range
    is_in = (use >= frame.x_range[0]) & (use <= frame.x_range[1])
    is_in &= (series.reading_high >= low) & (series.reading_low <= high)
    return np.flatnonzero(is_in)


@dataclass(frozen=True, slots=True)
class _Cells:
    """Squares of a few pixels that many points fall into; they stay with the data while the chart is panned.

    `place` is that of each point among `columns` x `rows` squares, from the lower left, one more around them
    for what lies outside; `left` and `bottom` are where the first square begins, [px].
    """

    place: NDArray[np.int32]
    columns: int
    rows: int
    left: float
    bottom: float

    @classmethod
    def of(
        cls, use: NDArray[np.float64], value: NDArray[np.float64], frame: Frame, cell_px: float
    ) -> "_Cells":
        """Return the squares of points in shown units."""
        columns = int(frame.area.width() / cell_px) + 2
        rows = int(frame.area.height() / cell_px) + 2
        (left, right), (low, high) = frame.x_range, frame.y_range
        across = frame.area.width() / cell_px / max(right - left, 1e-12)
        up = frame.area.height() / cell_px / max(high - low, 1e-12)
        first, lowest = np.floor(left * across), np.floor(low * up)
        column = np.clip(use * across - (first - 1.0), 0.0, columns + 1.0).astype(np.int32)
        row = np.clip(value * up - (lowest - 1.0), 0.0, rows + 1.0).astype(np.int32)
        return cls(
            column * (rows + 2) + row,
            columns,
            rows,
            frame.area.left() + (first - left * across) * cell_px,
            frame.area.bottom() - (lowest - low * up) * cell_px,
        )

    def inside(self, held: NDArray[Any]) -> NDArray[Any]:
        """Return what the squares in sight hold, shape (columns, rows)."""
        return held.reshape(self.columns + 2, self.rows + 2)[1:-1, 1:-1]

    @property
    def size(self) -> int:
        """Number of squares with those around them."""
        return (self.columns + 2) * (self.rows + 2)


def thinned(
    use: NDArray[np.float64], value: NDArray[np.float64], frame: Frame, cell_px: float = _CELL_PX
) -> NDArray[np.intp]:
    """Return which of many points to draw so that every few pixels hold one of them at most.

    Parameters
    ----------
    use, value : ndarray of float
        Where they lie, in shown units; those outside the ranges shown are left out.
    frame : Frame
        Where data lies.
    cell_px : float
        Side of the squares, [px].
    """
    cells = _Cells.of(use, value, frame, cell_px)
    holder = np.full(cells.size, -1, dtype=np.int32)
    holder[cells.place] = np.arange(len(use), dtype=np.int32)
    inside = cells.inside(holder)
    return np.asarray(inside[inside >= 0], dtype=np.intp)


def _paint_dots(
    painter: QPainter, frame: Frame, use: NDArray[np.float64], value: NDArray[np.float64]
) -> None:
    """Draw a dot in every square of two pixels that holds a reading; on screen all as one picture."""
    if not _is_raster(painter):
        kept = thinned(use, value, frame)
        painter.setPen(QPen(colour(frame.colours.ink), _CELL_PX))
        painter.drawPoints(points(frame.xs(use[kept]), frame.ys(value[kept])))
        return
    cells = _Cells.of(use, value, frame, _CELL_PX)
    is_held = np.zeros(cells.size, dtype=np.bool_)
    is_held[cells.place] = True
    ink = np.uint32(colour(frame.colours.ink).rgba())
    picture = np.ascontiguousarray(np.where(cells.inside(is_held).T[::-1], ink, np.uint32(0)))
    image = QImage(
        picture.data, cells.columns, cells.rows, 4 * cells.columns, QImage.Format.Format_ARGB32_Premultiplied
    )
    height = cells.rows * _CELL_PX
    painter.save()
    painter.setClipRect(frame.area)
    painter.drawImage(
        QRectF(round(cells.left), round(cells.bottom - height), cells.columns * _CELL_PX, height), image
    )
    painter.restore()


def _is_raster(painter: QPainter) -> bool:
    """Whether pixels are painted; paper and drawings keep points and lines."""
    return painter.paintEngine().type() is QPaintEngine.Type.Raster


def paint_many(painter: QPainter, frame: Frame, series: TrendSeries) -> None:
    """Draw thousands of readings.

    Parameters
    ----------
    painter : QPainter
        On a widget, a picture or paper.
    frame : Frame
        Where data lies.
    series : TrendSeries
        What is drawn.
    """
    known = sorted_readings(series)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
    _paint_gauges(painter, frame, series, _in_range(known.gauges, frame, series))
    first, last = np.searchsorted(known.plain_use, frame.x_range)
    use, value = known.plain_use[first:last], known.plain_value[first:last]
    _paint_dots(painter, frame, use, value)
    painter.restore()
    for odd, is_void in ((known.voided, True), (known.questioned, False)):
        seen = _in_range(odd, frame, series)
        if len(seen):
            _paint_odd(painter, frame, series, seen, is_void=is_void)


def _in_range(numbers: NDArray[np.intp], frame: Frame, series: TrendSeries) -> NDArray[np.intp]:
    first, last = np.searchsorted(series.reading_use[numbers], frame.x_range)
    return numbers[first:last]


def _paint_gauges(painter: QPainter, frame: Frame, series: TrendSeries, gauges: NDArray[np.intp]) -> None:
    """Draw one bar a column of pixels, from the lowest to the highest end in it."""
    if not len(gauges):
        return
    column = ((frame.xs(series.reading_use[gauges]) - frame.area.left()) / _COLUMN_PX).astype(np.int32)
    column = np.maximum(column, 0)
    high = np.maximum(frame.ys(series.reading_high[gauges]), frame.area.top())
    low = np.minimum(frame.ys(series.reading_low[gauges]), frame.area.bottom())
    top = np.full(int(column.max()) + 1, np.inf)
    bottom = np.full(top.size, -np.inf)
    np.minimum.at(top, column, high)
    np.maximum.at(bottom, column, low)
    used = np.flatnonzero(np.isfinite(top))
    left = frame.area.left() + (used + 0.5) * _COLUMN_PX
    painter.setPen(QPen(colour(frame.colours.muted, 0.45), 1.0))
    painter.drawLines(
        [
            QLineF(x, upper, x, lower)
            for x, upper, lower in zip(left.tolist(), top[used].tolist(), bottom[used].tolist(), strict=True)
        ]
    )


def _paint_odd(
    painter: QPainter, frame: Frame, series: TrendSeries, odd: NDArray[np.intp], *, is_void: bool
) -> None:
    """Draw the marks of voided or questioned readings, not more than one in each few pixels."""
    low = np.where(np.isfinite(series.reading_low[odd]), series.reading_low[odd], series.reading_high[odd])
    high = np.where(np.isfinite(series.reading_high[odd]), series.reading_high[odd], low)
    middle = np.where(series.is_gauge[odd], 0.5 * (low + high), series.reading_value[odd])
    kept = thinned(series.reading_use[odd], middle, frame, _MARK_CELL_PX * frame.scale)
    xs, ys = frame.xs(series.reading_use[odd[kept]]), frame.ys(middle[kept])
    ink = frame.colours.muted if is_void else frame.colours.problem
    radius = _RADIUS_PX * frame.scale * (1.0 if is_void else 1.35)
    font = frame.font(bold=True)
    font.setPixelSize(max(7, round(9 * frame.scale)))
    if not is_void:
        painter.setPen(QPen(colour(ink), 1.0))
        ends = frame.ys(high[kept]), frame.ys(low[kept])
        painter.drawLines(
            [
                QLineF(x, upper, x, lower)
                for x, upper, lower in zip(xs.tolist(), ends[0].tolist(), ends[1].tolist(), strict=True)
            ]
        )
    if not _is_raster(painter):
        # Paper keeps its lines; a stamp would be coarse there.
        for x, y in zip(xs.tolist(), ys.tolist(), strict=True):
            _paint_odd_mark(painter, QPointF(x, y), radius, ink, frame.colours.ground, font, is_void=is_void)
        return
    ratio = painter.device().devicePixelRatioF()
    stamp = _stamp(ink, frame.colours.ground, round(radius, 2), is_void, ratio, frame.scale)
    half = stamp.width() / ratio / 2.0
    for x, y in zip(xs.tolist(), ys.tolist(), strict=True):
        painter.drawPixmap(QPointF(x - half, y - half), stamp)


@lru_cache(maxsize=32)
def _stamp(ink: str, ground: str, radius: float, is_void: bool, ratio: float, scale: float) -> QPixmap:
    """Return the mark of an odd reading, drawn once."""
    side = 2.0 * radius + 4.0
    stamp = QPixmap(round(side * ratio), round(side * ratio))
    stamp.setDevicePixelRatio(ratio)
    stamp.fill(Qt.GlobalColor.transparent)
    font = type_font("caption", bold=True, scale=scale)
    font.setPixelSize(max(7, round(9 * scale)))
    with QPainter(stamp) as painter:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        _paint_odd_mark(painter, QPointF(side / 2, side / 2), radius, ink, ground, font, is_void=is_void)
    return stamp


def _paint_odd_mark(
    painter: QPainter, at: QPointF, radius: float, ink: str, ground: str, font: QFont, *, is_void: bool
) -> None:
    painter.setPen(QPen(colour(ink), 1.4 if is_void else 1.8))
    painter.setBrush(Qt.BrushStyle.NoBrush if is_void else colour(ground))
    painter.drawEllipse(at, radius, radius)
    if is_void:
        arm = 0.62 * radius
        painter.drawLine(QPointF(at.x() - arm, at.y() + arm), QPointF(at.x() + arm, at.y() - arm))
        return
    painter.setFont(font)
    box = QRectF(at.x() - radius, at.y() - radius, 2 * radius, 2 * radius)
    painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), "?")
