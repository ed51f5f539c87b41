"""The charts of the fleet record as one kind of widget: it paints what it was given, and says it in words."""

from collections.abc import Callable
from dataclasses import dataclass
from gettext import gettext as _
from typing import TypeAlias

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from wearlog.drawing.palette import Palette, palette
from wearlog.drawing.record_reliability import paint_reliability
from wearlog.drawing.record_rows import Rows, lives_of_kinds, paint_rows, rate_rows, rates_of_kinds
from wearlog.drawing.record_survival import paint_survival
from wearlog.drawing.record_words import kind_text
from wearlog.fleet.quantity import ShownUnits
from wearlog.workshop.record_snapshot import Factor, KindRecord, RecordSnapshot

#: Paints into a box, in the colours of a theme and at a text scale.
Paint: TypeAlias = Callable[[QPainter, QRectF, Palette, float], None]

#: Height of a chart with two axes at text scale 1, [px].
CHART_PX = 264.0
_LEAST_WIDTH_PX = 280


@dataclass(frozen=True, slots=True)
class Drawn:
    """One chart: how it is painted, how high it wants to be at text scale 1, and what it shows in words."""

    paint: Paint
    height_px: float
    text: str


def reliability_drawn(snapshot: RecordSnapshot, kind: KindRecord | None) -> Drawn:
    """Return the chart of promised against held, of one kind or of all together."""
    readings = snapshot.readings if kind is None else kind.readings
    distances = snapshot.distances if kind is None else kind.distances

    def paint(painter: QPainter, box: QRectF, colours: Palette, scale: float) -> None:
        paint_reliability(painter, box, readings, distances, colours, scale)

    return Drawn(paint, CHART_PX, _("Share of intervals that held what came, over the share they promised"))


def rates_drawn(
    snapshot: RecordSnapshot, kind: KindRecord | None, by: Factor | None, shown: ShownUnits
) -> Drawn:
    """Return the chart of wear rates: of one kind by a factor, or of all kinds."""
    return _rows_drawn(
        rates_of_kinds(snapshot.kinds, shown) if kind is None else rate_rows(kind, by, shown),
    )


def lives_drawn(snapshot: RecordSnapshot, kind: KindRecord | None, shown: ShownUnits) -> Drawn | None:
    """Return the chart of survival of one kind, or of how far half of each kind go; None if none is worn."""
    if kind is None:
        rows = lives_of_kinds(snapshot.kinds, shown)
        return _rows_drawn(rows) if rows.rows else None
    curve = kind.survival
    if curve is None or not curve.n_worn:
        return None

    def paint(painter: QPainter, box: QRectF, colours: Palette, scale: float) -> None:
        paint_survival(painter, box, curve, kind.use_unit, shown, colours, scale)

    return Drawn(
        paint, CHART_PX, _("Share of {parts} that goes farther, over use").format(parts=kind_text(kind))
    )


def _rows_drawn(rows: Rows) -> Drawn:
    def paint(painter: QPainter, box: QRectF, colours: Palette, scale: float) -> None:
        paint_rows(painter, box, rows, colours, scale)

    return Drawn(paint, rows.height(), rows.text())


class RecordPicture(QWidget):
    """One chart of the fleet record."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.drawn: Drawn | None = None
        self._colours = palette("light")
        self._scale = 1.0
        self.setAccessibleName(name)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def wear_colours(self, colours: Palette, scale: float = 1.0) -> None:
        """Take the colours of a theme and the seat's text scale."""
        self._colours, self._scale = colours, scale
        self.updateGeometry()
        self.update()

    def show_drawn(self, drawn: Drawn | None) -> None:
        """Show a chart, or nothing."""
        self.drawn = drawn
        self.setAccessibleDescription(drawn.text if drawn is not None else "")
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """Return the height that the chart wants."""
        height = self.drawn.height_px if self.drawn is not None else 0.0
        return QSize(round(560 * self._scale), round(height * self._scale))

    def minimumSizeHint(self) -> QSize:
        """Return the same height, narrow."""
        return QSize(_LEAST_WIDTH_PX, self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the chart."""
        if self.drawn is not None:
            with QPainter(self) as painter:
                self.drawn.paint(painter, QRectF(self.rect()), self._colours, self._scale)
        event.accept()
