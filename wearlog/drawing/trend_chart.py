"""The wear trend on screen: pan, zoom, read out, step through the readings."""

from gettext import gettext as _
from typing import Any

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, QSize, QSizeF, Qt, QTimer, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QPainter, QPen, QResizeEvent
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from wearlog.drawing.chart_frame import Frame, draw_text, text_size
from wearlog.drawing.label_room import Label
from wearlog.drawing.palette import Palette, colour, palette
from wearlog.drawing.trend_labels import moved_labels, trend_labels
from wearlog.drawing.trend_marks import mark_box, nearest_reading
from wearlog.drawing.trend_picture import Ranges, is_drawable, paint_trend, trend_frame
from wearlog.drawing.trend_readout import place_lines, reading_lines
from wearlog.drawing.trend_series import TrendSeries, trend_series
from wearlog.drawing.trend_view import TrendView
from wearlog.drawing.trend_words import trend_sentences
from wearlog.fleet.quantity import ShownUnits
from wearlog.workshop.trend_overlay_snapshot import OverlayLine
from wearlog.workshop.trend_snapshot import TrendSnapshot

_REACH_PX = 14.0
#: After so long without a movement labels are placed anew, [ms].
_REST_MS = 120
_MARGIN_PX = 2.0


class _Layer(QGraphicsItem):
    """Paints one thing over the whole scene and lets the mouse through."""

    def __init__(self, chart: "TrendChart", level: float) -> None:
        super().__init__()
        self._chart = chart
        self.setZValue(level)
        self.setAcceptedMouseButtons(Qt.MouseButton.NoButton)

    def boundingRect(self) -> QRectF:
        """Return the whole scene."""
        return QRectF(QPointF(0.0, 0.0), QSizeF(self._chart.size()))

    def resized(self) -> None:
        """Take note of another size of the scene."""
        self.prepareGeometryChange()
        self.update()


class _TrendLayer(_Layer):
    """The chart itself; kept as a picture between changes, so that the read-out moves freely above it."""

    def __init__(self, chart: "TrendChart") -> None:
        super().__init__(chart, 1.0)
        self.setCacheMode(QGraphicsItem.CacheMode.DeviceCoordinateCache)

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        """Draw the trend."""
        del option, widget
        frame, series = self._chart.frame_now, self._chart.series
        if frame is not None and series is not None:
            paint_trend(painter, frame, series, self._chart.labels(), is_moving=self._chart.is_moving)


class _ReadOutLayer(_Layer):
    """The crosshair, the reading that is looked at, and what they say."""

    def __init__(self, chart: "TrendChart") -> None:
        super().__init__(chart, 2.0)

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        """Draw the read-out."""
        del option, widget
        frame, series = self._chart.frame_now, self._chart.series
        if frame is None or series is None:
            return
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._chart.hasFocus():
            painter.setPen(QPen(colour(frame.colours.accent), 1.0))
            painter.drawRect(frame.area.adjusted(-1.0, -1.0, 1.0, 1.0))
        number, at = self._chart.looked_at, self._chart.pointer
        if number is not None:
            self._paint_reading(painter, frame, series, number)
        elif at is not None:
            self._paint_crosshair(painter, frame, series, at)

    def _paint_reading(self, painter: QPainter, frame: Frame, series: TrendSeries, number: int) -> None:
        box = mark_box(frame, series, number)
        if not frame.area.adjusted(-8.0, -8.0, 8.0, 8.0).intersects(box):
            return
        painter.setPen(QPen(colour(frame.colours.accent), 2.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(box.adjusted(-4.0, -4.0, 4.0, 4.0), 4.0, 4.0)
        self._paint_box(painter, frame, QPointF(box.right(), box.center().y()), reading_lines(series, number))

    def _paint_crosshair(self, painter: QPainter, frame: Frame, series: TrendSeries, at: QPointF) -> None:
        painter.setPen(QPen(colour(frame.colours.outline), 1.0))
        x = int(at.x()) + 0.5
        painter.drawLine(QPointF(x, frame.area.top()), QPointF(x, frame.area.bottom()))
        use = frame.use_at(at.x())
        middle = series.value_at(use)[1]
        y = at.y() if np.isnan(middle) or not frame.has_y(middle) else frame.y(middle)
        painter.drawLine(QPointF(frame.area.left(), int(y) + 0.5), QPointF(frame.area.right(), int(y) + 0.5))
        self._paint_box(
            painter,
            frame,
            QPointF(x, y),
            place_lines(series, use, _REACH_PX / 2 * (frame.use_at(1.0) - frame.use_at(0.0))),
        )

    def _paint_box(self, painter: QPainter, frame: Frame, at: QPointF, lines: tuple[str, ...]) -> None:
        fonts = [frame.font(bold=n == 0) for n in range(len(lines))]
        sizes = [text_size(font, line) for font, line in zip(fonts, lines, strict=True)]
        width = max(size[0] for size in sizes) + 16.0
        height = sum(size[1] for size in sizes) + 12.0
        area = frame.area
        left = at.x() + 14.0 if at.x() + 14.0 + width <= area.right() else at.x() - 14.0 - width
        left = min(max(left, area.left() + 2.0), area.right() - width - 2.0)
        top = at.y() - height - 14.0 if at.y() - height - 14.0 >= area.top() else at.y() + 14.0
        top = min(max(top, area.top() + 2.0), area.bottom() - height - 2.0)
        painter.setPen(QPen(colour(frame.colours.outline), 1.0))
        painter.setBrush(colour(frame.colours.raised, 0.96))
        painter.drawRoundedRect(QRectF(left, top, width, height), 4.0, 4.0)
        at_y = top + 6.0
        for n, (font, line, size) in enumerate(zip(fonts, lines, sizes, strict=True)):
            painter.setPen(colour(frame.colours.ink if n == 0 else frame.colours.muted))
            draw_text(painter, left + 8.0, at_y, font, line)
            at_y += size[1]


class TrendChart(pg.GraphicsView):  # type: ignore[misc]
    """A wear trend that can be panned, zoomed and read out.

    Left and Right step through the readings, Home and End go to the first and last; plus and minus zoom,
    Shift with the arrow keys pans, 0 shows the whole story again, Esc drops the read-out.

    Signals
    -------
    reading_chosen(int)
        The reading that was stepped or pointed to, by its id.
    """

    reading_chosen = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent, useOpenGL=False, background=None)
        self.series: TrendSeries | None = None
        self.looked_at: int | None = None
        self.pointer: QPointF | None = None
        self._colours = palette("light")
        self._scale = 1.0
        self._frame: Frame | None = None
        self._labels: list[Label] | None = None
        self._placed: tuple[list[Label], Frame] | None = None
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(_REST_MS)
        self._rest.timeout.connect(self._come_to_rest)
        self._view = pg.ViewBox(enableMenu=False, border=None)
        self._view.setMouseEnabled(x=True, y=True)
        self._view.disableAutoRange()
        self.setCentralItem(pg.GraphicsWidget())
        self.scene().addItem(self._view)
        self._layer = _TrendLayer(self)
        self._read_out = _ReadOutLayer(self)
        self.scene().addItem(self._layer)
        self.scene().addItem(self._read_out)
        self._view.sigRangeChanged.connect(self._on_range)
        self.scene().sigMouseMoved.connect(self._on_pointer)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setFrameShape(pg.GraphicsView.Shape.NoFrame)
        self.setMinimumSize(360, 220)
        self.setAccessibleName(_("Wear trend"))

    @property
    def frame_now(self) -> Frame | None:
        """Where data lies now; None while nothing is shown."""
        return self._frame

    @property
    def is_moving(self) -> bool:
        """Whether the chart is being panned."""
        return self._rest.isActive()

    def labels(self) -> list[Label]:
        """Return the labels in their places."""
        if self._labels is None:
            frame, series = self._frame, self.series
            if frame is None or series is None:
                self._labels = []
            elif self.is_moving and self._placed is not None:
                self._labels = moved_labels(*self._placed, frame)
            else:
                self._labels = trend_labels(frame, series)
                self._placed = (self._labels, frame)
        return self._labels

    def wear_colours(self, colours: Palette, scale: float = 1.0) -> None:
        """Take the colours of a theme and the seat's text scale."""
        self._colours = colours
        self._scale = scale
        self.setBackground(colour(colours.ground))
        self._lay_out()

    def show_snapshot(
        self,
        snapshot: TrendSnapshot | None,
        shown: ShownUnits,
        view: TrendView | None = None,
        others: tuple[OverlayLine, ...] = (),
    ) -> None:
        """Show a trend; the view is kept while it is the same part, the whole story is shown for another."""
        self.show_series(None if snapshot is None else trend_series(snapshot, shown, view, others))
        sentences = trend_sentences(snapshot, shown) if snapshot is not None else []
        self.setAccessibleDescription(" ".join(sentence.text for sentence in sentences))

    def show_series(self, series: TrendSeries | None) -> None:
        """Show a trend that is in shown units already."""
        before = self.series
        self.series = series if series is not None and is_drawable(series) else None
        self.looked_at = None
        self.pointer = None
        self._placed = None
        self._rest.stop()
        if self.series is None:
            self._frame = None
            self._changed()
        elif before is None or not _is_same_view(before, self.series):
            self.show_all()
        else:
            self._lay_out()

    def show_all(self) -> None:
        """Show the whole story."""
        if self.series is None:
            return
        (left, right), (low, high) = self.series.home_range()
        width, height = right - left, high - low
        self._view.setLimits(
            xMin=left - 0.1 * width,
            xMax=left + 4.0 * width,
            yMin=low - 2.0 * height,
            yMax=high + 2.0 * height,
            minXRange=width / 400,
            minYRange=height / 400,
        )
        self._view.setRange(xRange=(left, right), yRange=(low, high), padding=0.0, disableAutoRange=True)
        self._lay_out()

    def ranges(self) -> Ranges:
        """Return the ranges of use and value in sight, in shown units."""
        (left, right), (low, high) = self._view.viewRange()
        return (left, right), (low, high)

    def look_at(self, reading_id: int) -> None:
        """Point out a reading, moving the view to it if it is out of sight."""
        series = self.series
        if series is None:
            return
        ids = [reading.reading_id for reading in series.snapshot.readings]
        if reading_id in ids:
            self._look_at(ids.index(reading_id), tell=False)

    def zoom(self, factor: float) -> None:
        """Make everything larger (below 1) or smaller about the middle of the view."""
        self._view.scaleBy((factor, factor))

    def pan(self, x: float, y: float) -> None:
        """Move the view by shares of its width and height."""
        (left, right), (low, high) = self._view.viewRange()
        self._view.translateBy(x=x * (right - left), y=y * (high - low))

    def _changed(self) -> None:
        self._labels = None
        self._layer.update()
        self._read_out.update()

    def _on_range(self, *_args: Any) -> None:
        if self._placed is not None and self._is_panned(self._placed[1]):
            self._rest.start()
        else:
            self._rest.stop()
        self._lay_out()

    def _is_panned(self, placed: Frame) -> bool:
        """Whether the view moved since labels were placed, without being zoomed."""
        pairs = zip((placed.x_range, placed.y_range), self.ranges(), strict=True)
        return all(
            abs((now[1] - now[0]) - (before[1] - before[0])) < 1e-6 * (before[1] - before[0])
            for before, now in pairs
        )

    def _come_to_rest(self) -> None:
        """Place the labels anew once the chart no longer moves."""
        self._changed()

    def _lay_out(self) -> None:
        if self.series is None:
            return
        whole = QRectF(QPointF(0.0, 0.0), QSizeF(self.size())).adjusted(
            _MARGIN_PX, _MARGIN_PX, -_MARGIN_PX, -_MARGIN_PX
        )
        self._frame = trend_frame(self.series, whole, self._colours, self.ranges(), self._scale)
        if self._view.geometry() != self._frame.area:
            self._view.setGeometry(self._frame.area)
        self._changed()

    def _on_pointer(self, at: Any) -> None:
        frame, series = self._frame, self.series
        if frame is None or series is None:
            return
        where = QPointF(at)
        is_inside = frame.area.contains(where)
        self.pointer = where if is_inside else None
        number = nearest_reading(frame, series, where.x(), where.y(), _REACH_PX) if is_inside else None
        if number != self.looked_at:
            self.looked_at = number
            if number is not None:
                self.reading_chosen.emit(series.snapshot.readings[number].reading_id)
        self._read_out.update()

    def _look_at(self, number: int, *, tell: bool = True) -> None:
        series = self.series
        if series is None:
            return
        self.looked_at = number
        use, value = float(series.reading_use[number]), float(series.value_middle[number])
        (left, right), (low, high) = self._view.viewRange()
        if not left <= use <= right:
            self._view.translateBy(x=use - (left + right) / 2)
        if np.isfinite(value) and not low <= value <= high:
            self._view.translateBy(y=value - (low + high) / 2)
        self._read_out.update()
        if tell:
            self.setAccessibleDescription(" ".join(reading_lines(series, number)))
            self.reading_chosen.emit(series.snapshot.readings[number].reading_id)

    def _step(self, key: int) -> None:
        series = self.series
        if series is None or not series.snapshot.readings:
            return
        order = np.argsort(series.reading_use, kind="stable").tolist()
        last = len(order) - 1
        if key == Qt.Key.Key_Home:
            place = 0
        elif key == Qt.Key.Key_End or self.looked_at is None:
            place = 0 if key == Qt.Key.Key_Right else last
        else:
            way = 1 if key == Qt.Key.Key_Right else -1
            place = min(max(order.index(self.looked_at) + way, 0), last)
        self._look_at(order[place])

    def sizeHint(self) -> QSize:
        """Return the least size at which it reads well; a page gives it what it can spare."""
        return QSize(self.minimumWidth(), self.minimumHeight())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Step, pan, zoom, reset."""
        key, is_shift = event.key(), bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        pans = {
            Qt.Key.Key_Left: (-0.1, 0.0),
            Qt.Key.Key_Right: (0.1, 0.0),
            Qt.Key.Key_Up: (0.0, 0.1),
            Qt.Key.Key_Down: (0.0, -0.1),
        }
        if is_shift and key in pans:
            self.pan(*pans[Qt.Key(key)])
        elif key in {Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Home, Qt.Key.Key_End}:
            self._step(key)
        elif key in {Qt.Key.Key_Plus, Qt.Key.Key_Equal}:
            self.zoom(0.8)
        elif key == Qt.Key.Key_Minus:
            self.zoom(1.25)
        elif key == Qt.Key.Key_0:
            self.show_all()
        elif key == Qt.Key.Key_Escape and self.looked_at is not None:
            self.looked_at = None
            self.pointer = None
            self._read_out.update()
        else:
            event.ignore()
            return
        event.accept()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay out anew."""
        super().resizeEvent(event)
        if hasattr(self, "_read_out"):
            self._layer.resized()
            self._read_out.resized()
            self._lay_out()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show where the keyboard is."""
        super().focusInEvent(event)
        self._read_out.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show that the keyboard is elsewhere."""
        super().focusOutEvent(event)
        self._read_out.update()

    def leaveEvent(self, event: Any) -> None:
        """Drop the crosshair; a reading that was stepped to stays."""
        super().leaveEvent(event)
        self.pointer = None
        self._read_out.update()


def _is_same_view(before: TrendSeries, after: TrendSeries) -> bool:
    """Whether two series show the same part in the same units, so that a zoomed view stays where it is."""
    first, second = before.snapshot, after.snapshot
    return (
        first.installation_id == second.installation_id
        and first.measurand is second.measurand
        and before.shown == after.shown
        and before.view == after.view
        and [other.name for other in before.others] == [other.name for other in after.others]
        and len(first.readings) == len(second.readings)
    )
