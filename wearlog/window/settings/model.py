"""What the settings page shows: the snapshot, and the rows of its lists."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt, Signal

from wearlog.fleet.quantity import ShownUnits
from wearlog.window.rows import take_rows
from wearlog.workshop.agree_snapshot import AgreedSnapshot


class Section(StrEnum):
    """One part of the page; one is visible at a time."""

    LIMITS = "limits"
    INTERVALS = "intervals"
    INSTRUMENTS = "instruments"
    WORKSHOP = "workshop"
    SEAT = "seat"
    DATABASE = "database"


@dataclass(frozen=True, slots=True)
class LedgerRow:
    """One line of a list.

    Attributes
    ----------
    key
        The number of the record.
    cells
        What stands in the columns.
    is_problem
        Whether something is wrong with it, for example an overdue check; said in a cell too.
    is_quiet
        Whether it no longer counts, for example a retired instrument.
    more
        Words that are found but not shown.
    """

    key: int
    cells: tuple[str, ...]
    is_problem: bool = False
    is_quiet: bool = False
    more: str = ""

    def has(self, words: Sequence[str]) -> bool:
        """Whether all words stand in it somewhere."""
        text = f"{' '.join(self.cells)} {self.more}".casefold()
        return all(word in text for word in words)


class LedgerModel(QAbstractTableModel):
    """A list of agreements; searched by words.

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
        self._numbers = numbers
        self._all: tuple[LedgerRow, ...] = ()
        self._rows: list[LedgerRow] = []
        self._words: tuple[str, ...] = ()

    @property
    def total(self) -> int:
        """How many rows there are before anything is searched for."""
        return len(self._all)

    def show(self, rows: Sequence[LedgerRow]) -> None:
        """Replace the rows, touching only those that differ."""
        self._all = tuple(rows)
        self._narrow()

    def search(self, text: str) -> None:
        """Show the rows that have all the words."""
        self._words = tuple(text.casefold().split())
        self._narrow()

    def _narrow(self) -> None:
        wanted = [row for row in self._all if row.has(self._words)]
        take_rows(self, self._rows, wanted, lambda row: row.key, self.columnCount())
        self.narrowed.emit()

    def row_at(self, row: int) -> LedgerRow | None:
        """Return a row, None beyond the last."""
        return self._rows[row] if 0 <= row < len(self._rows) else None

    def place_of(self, key: int) -> int | None:
        """Return where the row of a record is shown."""
        return next((n for n, row in enumerate(self._rows) if row.key == key), None)

    def rowCount(self, parent: QModelIndex | QPersistentModelIndex | None = None) -> int:
        """Return how many rows are shown."""
        return 0 if parent is not None and parent.isValid() else len(self._rows)

    def columnCount(self, parent: QModelIndex | QPersistentModelIndex | None = None) -> int:
        """Return how many columns there are."""
        return 0 if parent is not None and parent.isValid() else len(self.heads)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the head of a column."""
        if orientation is not Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self.heads[section]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return self._alignment(section)
        return None

    def data(
        self, index: QModelIndex | QPersistentModelIndex, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return what stands in a cell."""
        row = self.row_at(index.row())
        if row is None:
            return None
        if role in {Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole}:
            return row.cells[index.column()]
        if role == Qt.ItemDataRole.AccessibleTextRole:
            if index.column():
                return f"{self.heads[index.column()]}: {row.cells[index.column()]}"
            return row.cells[0]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return self._alignment(index.column())
        return None

    def _alignment(self, column: int) -> Qt.AlignmentFlag:
        side = Qt.AlignmentFlag.AlignRight if column in self._numbers else Qt.AlignmentFlag.AlignLeft
        return side | Qt.AlignmentFlag.AlignVCenter


class SettingsModel(QObject):
    """The state of the page.

    Signals
    -------
    shown_anew()
        Another snapshot, or other units.
    turned(Section)
        Another section is visible.
    """

    shown_anew = Signal()
    turned = Signal(object)

    def __init__(self, shown: ShownUnits, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.shown = shown
        self.section = Section.LIMITS
        self.snapshot: AgreedSnapshot | None = None

    def show(self, snapshot: AgreedSnapshot) -> None:
        """Show what is agreed on now."""
        self.snapshot = snapshot
        self.shown_anew.emit()

    def show_units(self, shown: ShownUnits) -> None:
        """Show in other units."""
        if shown != self.shown:
            self.shown = shown
            self.shown_anew.emit()

    def turn(self, section: Section) -> None:
        """Show another section."""
        if section is not self.section:
            self.section = section
            self.turned.emit(section)

    def step(self, step: int) -> None:
        """Go to the next section or the one before; the first follows the last."""
        every = list(Section)
        self.turn(every[(every.index(self.section) + step) % len(every)])
