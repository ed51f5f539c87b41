"""What the wear trend page shows, in words; no widgets."""

from dataclasses import dataclass
from enum import IntEnum
from gettext import gettext as _
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt, Signal

from wearlog.drawing.trend_view import PLAIN_VIEW, TrendView
from wearlog.drawing.words import (
    BigFigure,
    Fact,
    assumes_text,
    axis_text,
    basis_share_text,
    big_figure,
    limit_text,
    maker_caution,
    measurand_text,
    method_text,
    place_text,
    rate_text,
    rate_unit_text,
    reading_value_text,
    remarks_text,
    trend_facts,
    trend_sentences,
    use_text,
    use_unit_text,
    why_facts,
)
from wearlog.fleet.fitting import Position
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Measurand, Method
from wearlog.window.rows import take_rows
from wearlog.wording import count_text, day_text
from wearlog.workshop.fleet_snapshot import WearRuleValue
from wearlog.workshop.trend_overlay_snapshot import OverlayLine
from wearlog.workshop.trend_snapshot import ReadingMark, TrendReading, TrendSnapshot

Index = QModelIndex | QPersistentModelIndex


class Column(IntEnum):
    """Columns of the readings."""

    DATE = 0
    METER = 1
    READ = 2
    VALUE = 3
    RATE = 4
    REMARKS = 5


@dataclass(frozen=True, slots=True)
class Choice:
    """One part that can be chosen; `text` says which, `rule` how it stands."""

    installation_id: int
    measurand: Measurand
    text: str
    rule: WearRuleValue
    is_current: bool


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """One reading in words."""

    reading_id: int
    mark: ReadingMark
    cells: tuple[str, ...]


def read_text(reading: TrendReading) -> str:
    """Return what was read, as it was typed: the greatest spot, over how many pitches, at how many spots.

    For example ``"257.68 mm over 20, 3 spots"``.
    """
    if not reading.spots:
        return method_text(reading.method)
    greatest = max(reading.spots, key=lambda spot: spot.value)
    text = greatest.typed
    if reading.method is Method.GAUGE:
        return _("{gauge}: {typed}").format(gauge=reading.instrument or _("gauge"), typed=text)
    if reading.pitches:
        text = _("{typed} over {n}").format(typed=text, n=reading.pitches)
    if len(reading.spots) > 1:
        text = _("{text}, {spots}").format(text=text, spots=count_text(len(reading.spots), "spot", "spots"))
    return text


def reading_row(reading: TrendReading, snapshot: TrendSnapshot, shown: ShownUnits) -> ReadingRow:
    """Return one reading in words."""
    cells = (
        day_text(reading.on),
        use_text(reading.total_use, snapshot.use_unit, shown, unit=False),
        read_text(reading),
        reading_value_text(reading, snapshot, shown, unit=False),
        rate_text(snapshot.measurand, reading.rate, snapshot.use_unit, shown),
        remarks_text(reading, snapshot, shown),
    )
    return ReadingRow(reading.reading_id, reading.mark, cells)


class ReadingsModel(QAbstractTableModel):
    """The readings of the part, newest first."""

    RowRole = Qt.ItemDataRole.UserRole + 1

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._rows: list[ReadingRow] = []
        self._headers = [""] * len(Column)

    def show(self, snapshot: TrendSnapshot | None, shown: ShownUnits) -> None:
        """Replace what is shown, touching only the rows that differ."""
        readings = (
            sorted(snapshot.readings, key=lambda r: (r.on, r.use_on_part, r.reading_id)) if snapshot else []
        )
        wanted = [
            reading_row(reading, snapshot, shown) for reading in reversed(readings) if snapshot is not None
        ]
        headers = _headers(snapshot, shown) if snapshot is not None else self._headers
        if headers != self._headers:
            self._headers = headers
            self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, len(Column) - 1)
        take_rows(self, self._rows, wanted, lambda row: row.reading_id, len(Column))

    def row_at(self, row: int) -> ReadingRow | None:
        """Return the reading of a row."""
        return self._rows[row] if 0 <= row < len(self._rows) else None

    def row_of(self, reading_id: int) -> int | None:
        """Return the row of a reading."""
        return next((n for n, row in enumerate(self._rows) if row.reading_id == reading_id), None)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        """Return the number of readings."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        """Return the number of columns."""
        return 0 if parent.isValid() else len(Column)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return the words of a cell, or the whole row for whoever paints it."""
        row = self.row_at(index.row()) if index.isValid() else None
        if row is None:
            return None
        if role in {Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole}:
            return row.cells[index.column()]
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{self._headers[index.column()]}: {row.cells[index.column()]}"
        return row if role == self.RowRole else None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the name of a column with its unit."""
        if orientation is Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            return self._headers[section]
        return None


def _headers(snapshot: TrendSnapshot, shown: ShownUnits) -> list[str]:
    use = use_unit_text(snapshot.use_unit, shown)
    rate = rate_unit_text(snapshot.measurand, snapshot.use_unit, shown)
    return [
        _("date"),
        _("meter, {unit}").format(unit=use),
        _("as read"),
        axis_text(snapshot, shown),
        _("rate, {unit}").format(unit=rate),
        _("remarks"),
    ]


class TrendModel(QObject):
    """The trend that is shown and everything said about it.

    Signals
    -------
    changed()
        Another snapshot, or other units.
    """

    changed = Signal()

    def __init__(self, shown: ShownUnits, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.snapshot: TrendSnapshot | None = None
        self.shown = shown
        self.readings = ReadingsModel(self)
        self._wanted: dict[int, tuple[int, Measurand]] = {}
        self.view = PLAIN_VIEW
        self.others: tuple[OverlayLine, ...] = ()

    def show(self, snapshot: TrendSnapshot | None) -> None:
        """Show another snapshot."""
        self.snapshot = snapshot
        self.readings.show(snapshot, self.shown)
        self.changed.emit()

    def show_units(self, shown: ShownUnits) -> None:
        """Read in other units."""
        if shown != self.shown:
            self.shown = shown
            self.show(self.snapshot)

    def show_view(self, view: TrendView) -> None:
        """Let the axes count something else."""
        if view != self.view:
            self.view = view
            self.changed.emit()

    def show_others(self, others: tuple[OverlayLine, ...]) -> None:
        """Lay the same stage of other vehicles over the trend; none takes them away."""
        self.others = others
        self.changed.emit()

    @property
    def place(self) -> tuple[str, Position, Measurand] | None:
        """What parts of other vehicles are compared by: stage, position and what is measured."""
        if self.snapshot is None:
            return None
        return self.snapshot.stage_name, self.snapshot.position, self.snapshot.measurand

    def want(self, vehicle_id: int, installation_id: int, measurand: Measurand) -> None:
        """Remember which part of a vehicle is wanted."""
        self._wanted[vehicle_id] = (installation_id, measurand)

    def wanted(self, vehicle_id: int) -> tuple[int, Measurand] | tuple[None, None]:
        """Return which part of a vehicle is wanted; none for the most urgent one."""
        return self._wanted.get(vehicle_id, (None, None))

    def forget(self, vehicle_id: int) -> None:
        """Forget which part was wanted; it may have come off."""
        self._wanted.pop(vehicle_id, None)

    @property
    def subject(self) -> str:
        """Which vehicle this is."""
        if self.snapshot is None:
            return ""
        words = (self.snapshot.tag, self.snapshot.vehicle_text, self.snapshot.depot)
        return "  ·  ".join(word for word in words if word)

    @property
    def fitted_text(self) -> str:
        """Since when the part has been there."""
        if self.snapshot is None:
            return ""
        snapshot = self.snapshot
        fitted = _("fitted {day} at {use}").format(
            day=day_text(snapshot.fitted_on), use=use_text(snapshot.fitted_use, snapshot.use_unit, self.shown)
        )
        if snapshot.removed_on is None:
            return fitted
        return _("{fitted}, came off {day}").format(fitted=fitted, day=day_text(snapshot.removed_on))

    @property
    def choices(self) -> list[Choice]:
        """What can be chosen: parts that run first."""
        if self.snapshot is None:
            return []
        made = []
        for choice in self.snapshot.choices:
            # "Driven sprocket" says already where it sits.
            position = None if choice.position.value in choice.part_text.casefold() else choice.position
            text = _("{place}: {part}").format(
                place=place_text(choice.stage_name, position), part=choice.part_text
            )
            several = sum(1 for c in self.snapshot.choices if c.installation_id == choice.installation_id) > 1
            if several:
                text = _("{part}, {measurand}").format(part=text, measurand=measurand_text(choice.measurand))
            if not choice.is_current:
                text = _("{part} (came off)").format(part=text)
            made.append(
                Choice(choice.installation_id, choice.measurand, text, choice.rule, choice.is_current)
            )
        return sorted(made, key=lambda choice: not choice.is_current)

    @property
    def chosen(self) -> int:
        """Which of the choices is shown; -1 for none."""
        if self.snapshot is None:
            return -1
        shown = (self.snapshot.installation_id, self.snapshot.measurand)
        keys = [(choice.installation_id, choice.measurand) for choice in self.choices]
        return keys.index(shown) if shown in keys else -1

    @property
    def figure(self) -> BigFigure | None:
        """The estimate today."""
        return big_figure(self.snapshot, self.shown) if self.snapshot is not None else None

    @property
    def facts(self) -> tuple[Fact, ...]:
        """The few figures beside the chart."""
        return trend_facts(self.snapshot, self.shown) if self.snapshot is not None else ()

    @property
    def why(self) -> tuple[Fact, ...]:
        """What unfolds under "Why?"."""
        return why_facts(self.snapshot, self.shown) if self.snapshot is not None else ()

    @property
    def basis(self) -> str:
        """What the estimate rests on, in the fewest words."""
        return basis_share_text(self.snapshot) if self.snapshot is not None else ""

    @property
    def limit(self) -> str:
        """The service limit."""
        return limit_text(self.snapshot, self.shown) if self.snapshot is not None else ""

    @property
    def sentences(self) -> list[str]:
        """What the trend means."""
        if self.snapshot is None:
            return []
        return [sentence.text for sentence in trend_sentences(self.snapshot, self.shown)]

    @property
    def foot(self) -> str:
        """What is taken for granted, and what the limits do not override."""
        if self.snapshot is None:
            return ""
        return f"{assumes_text(self.snapshot, self.shown)} {maker_caution()}"
