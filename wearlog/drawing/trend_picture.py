"""Paints a whole wear trend into a rectangle: on screen, in a picture file, on paper."""

from contextlib import contextmanager
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from wearlog.drawing.chart_frame import Frame, text_size
from wearlog.drawing.trend_axes import paint_axes, paint_grid, paint_today, value_tick_text, value_ticks
from wearlog.drawing.trend_bands import (
    paint_bands,
    paint_crossing,
    paint_earlier,
    paint_fleet,
    paint_levels,
    paint_median,
)
from wearlog.drawing.trend_labels import margin_width, paint_events, paint_labels, trend_labels
from wearlog.drawing.trend_marks import paint_readings
from wearlog.drawing.trend_others import paint_others

if TYPE_CHECKING:
    from collections.abc import Iterator

    from wearlog.drawing.label_room import Label
    from wearlog.drawing.palette import Palette
    from wearlog.drawing.trend_series import TrendSeries

Ranges = tuple[tuple[float, float], tuple[float, float]]


def trend_frame(
    series: "TrendSeries", whole: QRectF, colours: "Palette", ranges: Ranges | None = None, scale: float = 1.0
) -> Frame:
    """Return where data goes in a rectangle once axes and labels have their room.

    Parameters
    ----------
    series : TrendSeries
        What is drawn.
    whole : QRectF
        All the room there is, [px].
    colours : Palette
        The theme's colours.
    ranges : tuple or None
        Ranges of use and value in shown units; the whole story if None.
    scale : float
        The seat's text scale, [-].
    """
    x_range, y_range = ranges or series.home_range()
    bare = Frame(whole, whole, x_range, y_range, colours, scale)
    height = text_size(bare.font(), "0")[1]
    ticks, step = value_ticks(bare)
    numbers = max((text_size(bare.font(), value_tick_text(tick, step))[0] for tick in ticks), default=0.0)
    area = QRectF(
        whole.left() + max(numbers + 10.0, 24.0),
        whole.top() + height + 14.0,
        1.0,
        1.0,
    )
    area.setRight(max(whole.right() - margin_width(bare, series) - 2.0, area.left() + 40.0))
    area.setBottom(max(whole.bottom() - 2.0 * height - 14.0, area.top() + 40.0))
    return Frame(area, whole, x_range, y_range, colours, scale)


@contextmanager
def _clipped(painter: QPainter, box: QRectF) -> "Iterator[None]":
    painter.save()
    painter.setClipRect(box)
    try:
        yield
    finally:
        painter.restore()


def paint_trend(
    painter: QPainter,
    frame: Frame,
    series: "TrendSeries",
    labels: "list[Label] | None" = None,
    *,
    is_moving: bool = False,
) -> None:
    """Draw a trend.

    Parameters
    ----------
    painter : QPainter
        On a widget, a picture or paper.
    frame : Frame
        From `trend_frame`.
    series : TrendSeries
        What is drawn.
    labels : list of Label or None
        Labels with their places, if they are known already.
    is_moving : bool
        Whether the next frame follows at once: edges of curves are not smoothed then.
    """
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=not is_moving)
    painter.setRenderHint(QPainter.RenderHint.TextAntialiasing)
    with _clipped(painter, frame.area):
        paint_grid(painter, frame)
        paint_bands(painter, frame, series)
        paint_fleet(painter, frame, series)
        paint_earlier(painter, frame, series)
        paint_others(painter, frame, series)
        paint_median(painter, frame, series)
        paint_levels(painter, frame, series)
        paint_events(painter, frame, series)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    paint_today(painter, frame, series)
    # Marks at the edge of the area are drawn whole.
    with _clipped(painter, frame.area.adjusted(-8.0, -8.0, 8.0, 8.0)):
        paint_readings(painter, frame, series)
        paint_crossing(painter, frame, series)
    paint_axes(painter, frame, series)
    paint_labels(painter, frame, trend_labels(frame, series) if labels is None else labels)
    painter.restore()


def is_drawable(series: "TrendSeries") -> bool:
    """Whether there is anything to draw: a curve, or at least one reading."""
    return len(series.curve_use) > 1 or bool(np.isfinite(series.reading_use).any())
