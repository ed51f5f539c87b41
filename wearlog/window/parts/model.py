"""What the parts list shows: one part type at one depot per row, what is to be ordered first."""

from dataclasses import dataclass, replace
from enum import IntEnum, StrEnum
from gettext import gettext as _
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal

from wearlog.drawing.parts_words import (
    demand_text,
    kind_text,
    level_text,
    on_order_text,
    order_text,
    shelf_text,
    summary_text,
    why_text,
)
from wearlog.window.rows import take_rows
from wearlog.workshop.parts_snapshot import PartsLine, PartsSnapshot

#: Weeks ahead and chances of having enough that can be chosen.
WEEKS_AHEAD = (4, 8, 13, 26)
LEVELS = (0.80, 0.90, 0.95, 0.99)
FIRST_WEEKS, FIRST_LEVEL = 8, 0.95


class Column(IntEnum):
    """The columns of the list."""

    PART = 0
    SHELF = 1
    DEMAND = 2
    ENOUGH = 3
    ORDER = 4


class Group(StrEnum):
    """How urgent a row is."""

    NOW = "order now"
    LATER = "order later"
    ENOUGH = "enough"


def group_of(line: PartsLine) -> Group:
    """Return how urgent a line is."""
    if line.order_now:
        return Group.NOW
    return Group.LATER if line.short else Group.ENOUGH


_RANK = {group: n for n, group in enumerate(Group)}


@dataclass(frozen=True, slots=True)
class Narrowing:
    """What is to be shown; empty leaves nothing out."""

    depot: str = ""
    only_orders: bool = False
    words: tuple[str, ...] = ()

    def lets_through(self, line: PartsLine) -> bool:
        """Whether a line is shown."""
        if (self.depot and line.depot != self.depot) or (self.only_orders and not line.short):
            return False
        text = " ".join((line.name, line.depot, kind_text(line.kind), *(one.tag for one in line.coming)))
        return all(word in text.casefold() for word in self.words)


@dataclass(frozen=True, slots=True)
class PartsRow:
    """A line and whether it is the first of its urgency."""

    line: PartsLine
    starts_group: bool


class PartsModel(QAbstractTableModel):
    """The parts list, one part type at one depot per row.

    Signals
    -------
    narrowed()
        What is shown changed.
    """

    narrowed = Signal()

    #: Role of the `PartsRow` itself.
    RowRole = int(Qt.ItemDataRole.UserRole) + 1

    def __init__(self) -> None:
        super().__init__()
        self._snapshot: PartsSnapshot | None = None
        self._rows: list[PartsLine] = []
        self._narrowing = Narrowing()
        #: True while rows come and go; the view's current row then moves without anybody choosing.
        self.is_narrowing = False

    @property
    def snapshot(self) -> PartsSnapshot | None:
        """The parts list as it was last read."""
        return self._snapshot

    @property
    def narrowing(self) -> Narrowing:
        """What is shown of it."""
        return self._narrowing

    def show(self, snapshot: PartsSnapshot) -> None:
        """Replace what is shown, touching only the rows that differ."""
        self._snapshot = snapshot
        self._narrow()

    def narrow(self, narrowing: Narrowing) -> None:
        """Show a part of the list."""
        if narrowing != self._narrowing:
            self._narrowing = narrowing
            self._narrow()

    def line_at(self, row: int) -> PartsLine | None:
        """Return the line in a row."""
        return self._rows[row] if 0 <= row < len(self._rows) else None

    def row_of(self, key: tuple[int, str] | None) -> int | None:
        """Return the row of a line by its key."""
        return next((n for n, line in enumerate(self._rows) if line.key == key), None)

    def shown_snapshot(self) -> PartsSnapshot | None:
        """Return the part of the list that is shown, for files, paper and orders."""
        if self._snapshot is None:
            return None
        depot = self._narrowing.depot
        keys = {line.key for line in self._rows}
        return replace(
            self._snapshot,
            lines=tuple(line for line in self._snapshot.lines if line.key in keys),
            sets=tuple(one for one in self._snapshot.sets if not depot or one.depot == depot),
            cuts=tuple(one for one in self._snapshot.cuts if not depot or one.depot == depot),
            joining_links=tuple(
                one for one in self._snapshot.joining_links if not depot or one.depot == depot
            ),
            orders=tuple(one for one in self._snapshot.orders if not depot or one.depot == depot),
        )

    def summary(self) -> str:
        """Return what is to be ordered of what is shown, in words."""
        shown = self.shown_snapshot()
        return "" if shown is None else summary_text(shown)

    # --- Qt's questions

    def rowCount(self, parent: QModelIndex | QPersistentModelIndex = QModelIndex()) -> int:  # noqa: B008
        """Return how many lines there are."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: QModelIndex | QPersistentModelIndex = QModelIndex()) -> int:  # noqa: B008
        """Return how many columns there are."""
        return 0 if parent.isValid() else len(Column)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the heads of the columns."""
        if orientation is not Qt.Orientation.Horizontal or role != Qt.ItemDataRole.DisplayRole:
            return None
        level = level_text(self._snapshot.level if self._snapshot else FIRST_LEVEL)
        weeks = self._snapshot.weeks if self._snapshot else FIRST_WEEKS
        return {
            Column.PART: _("part"),
            Column.SHELF: _("on the shelf"),
            Column.DEMAND: _("wanted within {n} weeks, 8 in 10").format(n=weeks),
            Column.ENOUGH: _("enough, {level}").format(level=level),
            Column.ORDER: _("order"),
        }[Column(section)]

    def data(
        self, index: QModelIndex | QPersistentModelIndex, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the words of a cell, or the row itself."""
        if not index.isValid() or self._snapshot is None:
            return None
        line = self._rows[index.row()]
        if role == self.RowRole:
            before = self.line_at(index.row() - 1)
            return PartsRow(line, before is not None and group_of(before) is not group_of(line))
        if role == Qt.ItemDataRole.DisplayRole:
            return self._cell(line, Column(index.column()))
        if role == Qt.ItemDataRole.AccessibleTextRole:
            head = ", ".join(part for part in (line.name, line.depot, self._cell(line, Column.ORDER)) if part)
            return f"{head}. {why_text(self._snapshot, line)}"
        return None

    def _cell(self, line: PartsLine, column: Column) -> str:
        today = self._snapshot.today if self._snapshot else None
        if today is None:
            return ""
        return {
            Column.PART: lambda: line.name,
            Column.SHELF: lambda: " + ".join(
                text for text in (shelf_text(line), on_order_text(line, today)) if text
            ),
            Column.DEMAND: lambda: demand_text(line),
            Column.ENOUGH: lambda: str(line.wanted),
            Column.ORDER: lambda: order_text(line, today),
        }[column]()

    def _narrow(self) -> None:
        lines = self._snapshot.lines if self._snapshot else ()
        wanted = sorted(
            (line for line in lines if self._narrowing.lets_through(line)),
            key=lambda line: _RANK[group_of(line)],
        )
        self.is_narrowing = True
        take_rows(self, self._rows, wanted, lambda line: line.key, len(Column))
        self.is_narrowing = False
        self.narrowed.emit()
