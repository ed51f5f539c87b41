"""What the history page shows: the snapshot, the rows of its two lists, and what is filtered."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt, Signal

from wearlog.drawing.history_words import detail_sentences, value_of, what_text, where_text
from wearlog.drawing.number_words import use_text
from wearlog.drawing.trail_words import after_text, before_text, entry_title, moment_text, person_text
from wearlog.fleet.audit import AuditEntry
from wearlog.fleet.meter import MeterEntry, MeterEvent
from wearlog.fleet.quantity import ShownUnits
from wearlog.window.rows import take_rows
from wearlog.wording import day_text
from wearlog.workshop.history_snapshot import HistoryKind, HistoryLine, HistorySnapshot


class Filter(StrEnum):
    """Which lines are shown."""

    ALL = "all"
    VISITS = "visits"
    READINGS = "readings"
    METER = "meter"
    PARTS = "parts"
    TORQUES = "torques"
    SETUP = "set-up"


#: The kinds of line behind each filter.
KINDS: dict[Filter, frozenset[HistoryKind]] = {
    Filter.ALL: frozenset(HistoryKind),
    Filter.VISITS: frozenset({HistoryKind.VISIT}),
    Filter.READINGS: frozenset({HistoryKind.READING}),
    Filter.METER: frozenset({HistoryKind.METER}),
    Filter.PARTS: frozenset({HistoryKind.FITTED, HistoryKind.REMOVED}),
    Filter.TORQUES: frozenset({HistoryKind.TORQUE}),
    Filter.SETUP: frozenset({HistoryKind.SETUP}),
}


@dataclass(frozen=True, slots=True)
class RecordRow:
    """One line of a list.

    Attributes
    ----------
    key
        Names it, also after the list was read anew.
    cells
        What stands in the columns.
    item
        The line of the history, or the entry of the trail.
    is_void
        Whether it no longer counts; said in a cell too.
    is_alone
        Whether it stands in the list of everything; a meter value of a visit stands with its visit there.
    more
        Words that are found but not shown.
    """

    key: str
    cells: tuple[str, ...]
    item: HistoryLine | AuditEntry
    is_void: bool = False
    is_alone: bool = True
    more: str = ""

    def has(self, words: Sequence[str]) -> bool:
        """Whether all words stand in it somewhere."""
        text = f"{' '.join(self.cells)} {self.more}".casefold()
        return all(word in text for word in words)


class RecordsModel(QAbstractTableModel):
    """A list of records: filtered by kind, searched by words.

    Signals
    -------
    narrowed()
        Other rows are shown.
    """

    narrowed = Signal()

    def __init__(
        self, heads: tuple[str, ...], numbers: frozenset[int], parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self.heads = heads
        self.filter = Filter.ALL
        self._numbers = numbers
        self._all: tuple[RecordRow, ...] = ()
        self._rows: list[RecordRow] = []
        self._words: tuple[str, ...] = ()

    @property
    def total(self) -> int:
        """How many rows there are before anything is searched for."""
        return sum(1 for row in self._all if self._is_of_filter(row))

    def count_of(self, wanted: Filter) -> int:
        """Return how many records a filter leaves."""
        kinds = KINDS[wanted]
        return sum(
            1 for row in self._all if _kind(row) in kinds and (wanted is not Filter.ALL or row.is_alone)
        )

    def show(self, rows: Sequence[RecordRow]) -> None:
        """Replace the rows, touching only those that differ."""
        self._all = tuple(rows)
        self._narrow()

    def search(self, text: str) -> None:
        """Show the rows that have all the words."""
        self._words = tuple(text.casefold().split())
        self._narrow()

    def choose_filter(self, wanted: Filter) -> None:
        """Show the rows of some kinds."""
        self.filter = wanted
        self._narrow()

    def _is_of_filter(self, row: RecordRow) -> bool:
        kind = _kind(row)
        if kind is None:
            return True
        return kind in KINDS[self.filter] and (self.filter is not Filter.ALL or row.is_alone)

    def _narrow(self) -> None:
        wanted = [row for row in self._all if self._is_of_filter(row) and row.has(self._words)]
        take_rows(self, self._rows, wanted, lambda row: row.key, self.columnCount())
        self.narrowed.emit()

    def is_number(self, column: int) -> bool:
        """Whether a column holds numbers."""
        return column in self._numbers

    def row_at(self, row: int) -> RecordRow | None:
        """Return a row, None beyond the last."""
        return self._rows[row] if 0 <= row < len(self._rows) else None

    def row_of(self, key: str) -> RecordRow | None:
        """Return a row by its key, shown or not."""
        return next((row for row in self._all if row.key == key), None)

    def place_of(self, key: str) -> int | None:
        """Return where a row is shown."""
        return next((n for n, row in enumerate(self._rows) if row.key == key), None)

    def rowCount(self, parent: QModelIndex | QPersistentModelIndex | None = None) -> int:
        """Return how many rows are shown."""
        return 0 if parent is not None and parent.isValid() else len(self._rows)

    def columnCount(self, parent: QModelIndex | QPersistentModelIndex | None = None) -> int:
        """Return how many columns there are."""
        return 0 if parent is not None and parent.isValid() else len(self.heads)

    def data(
        self, index: QModelIndex | QPersistentModelIndex, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return what a cell shows."""
        row = self.row_at(index.row())
        if row is None:
            return None
        text = row.cells[index.column()]
        if role == Qt.ItemDataRole.DisplayRole or (role == Qt.ItemDataRole.ToolTipRole and text):
            return text
        if role == Qt.ItemDataRole.AccessibleTextRole:
            head = self.heads[index.column()]
            return f"{head}: {text}" if head else text
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = (
                Qt.AlignmentFlag.AlignRight if index.column() in self._numbers else Qt.AlignmentFlag.AlignLeft
            )
            return side | Qt.AlignmentFlag.AlignVCenter
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the head of a column."""
        if orientation is not Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self.heads[section]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignRight if section in self._numbers else Qt.AlignmentFlag.AlignLeft
            return side | Qt.AlignmentFlag.AlignVCenter
        return None


def _kind(row: RecordRow) -> HistoryKind | None:
    return row.item.kind if isinstance(row.item, HistoryLine) else None


# --- rows from a snapshot --------------------------------------------------------------------------------


def history_rows(snapshot: HistorySnapshot, shown: ShownUnits, voided: str) -> tuple[RecordRow, ...]:
    """Return the rows of what happened.

    Parameters
    ----------
    snapshot
        All that happened to the vehicle.
    shown
        The units of this seat.
    voided
        The word beside what no longer counts.
    """
    with_visit = {
        (line.on, round(line.meter_value))
        for line in snapshot.lines
        if line.kind is HistoryKind.VISIT and line.meter_value is not None and not line.void_reason
    }
    rows = []
    for line in snapshot.lines:
        meter = "" if line.meter_value is None else use_text(line.meter_value, snapshot.use_unit, shown)
        what = what_text(line, snapshot)
        # What the meter showed stands in its own column.
        is_plain = isinstance(line.record, MeterEntry) and line.record.event is MeterEvent.READ
        rows.append(
            RecordRow(
                key=line.key,
                cells=(
                    day_text(line.on),
                    meter,
                    f"{what} ({voided})" if line.void_reason else what,
                    where_text(line),
                    "" if is_plain else value_of(line, snapshot, shown),
                    line.by,
                ),
                item=line,
                is_void=bool(line.void_reason),
                is_alone=not _stands_with_visit(line, with_visit),
                more=f"{line.on.isoformat()} {' '.join(detail_sentences(line, snapshot, shown))}",
            )
        )
    return tuple(rows)


def _stands_with_visit(line: HistoryLine, with_visit: set[tuple[Any, int]]) -> bool:
    record = line.record
    if not isinstance(record, MeterEntry) or record.event is not MeterEvent.READ or record.void_reason:
        return False
    return (record.on, round(record.value)) in with_visit


def trail_rows(snapshot: HistorySnapshot, shown: ShownUnits) -> tuple[RecordRow, ...]:
    """Return the rows of the trail."""
    names = snapshot.trail.names
    return tuple(
        RecordRow(
            key=f"trail {entry.id}",
            cells=(
                moment_text(entry),
                person_text(entry.by),
                entry_title(entry, names),
                before_text(entry, names, shown),
                after_text(entry, names, shown),
            ),
            item=entry,
            more=f"{entry.what} {entry.at.date().isoformat()}",
        )
        for entry in snapshot.trail.entries
    )
