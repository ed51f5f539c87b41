"""What the due list shows: one line per row, narrowed and grouped; and its words."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import IntEnum
from gettext import gettext as _
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal

from wearlog.drawing.words import state_text
from wearlog.fleet.quantity import ShownUnits
from wearlog.window.due.words import counted, search_text, spoken, what_text
from wearlog.window.rows import take_rows
from wearlog.wording import day_text
from wearlog.workshop.due_snapshot import Action, DueLine, DueSnapshot

#: Days ahead that can be chosen; None for all.
HORIZONS: tuple[int | None, ...] = (14, 28, 56, 84, 182, None)
#: Shown at first, [d].
FIRST_HORIZON = 56


class Column(IntEnum):
    """The columns of the list."""

    VISIT = 0
    VEHICLE = 1
    WHAT = 2
    DUE = 3
    ORDER = 4
    WEAR = 5


@dataclass(frozen=True, slots=True)
class Narrowing:
    """What is to be shown; empty and None leave nothing out."""

    depot: str = ""
    within_days: int | None = FIRST_HORIZON
    action: Action | None = None
    words: tuple[str, ...] = ()

    def lets_through(self, line: DueLine, today: date) -> bool:
        """Whether a line is shown, its words apart."""
        return (
            (not self.depot or line.depot == self.depot)
            and (self.within_days is None or line.due_on <= today + timedelta(days=self.within_days))
            and (self.action is None or line.action is self.action)
        )


@dataclass(frozen=True, slots=True)
class DueRow:
    """A line and its place in the visit: the first and the last of a visit are drawn as such."""

    line: DueLine
    starts_visit: bool
    ends_visit: bool


class DueModel(QAbstractTableModel):
    """The due list, one line per row.

    Signals
    -------
    narrowed()
        What is shown changed.
    """

    narrowed = Signal()

    #: Role of the `DueRow` itself.
    RowRole = int(Qt.ItemDataRole.UserRole) + 1

    def __init__(self, shown_units: ShownUnits | None = None) -> None:
        super().__init__()
        self.shown_units = shown_units or ShownUnits()
        self._snapshot: DueSnapshot | None = None
        self._ordered: list[tuple[DueLine, str]] = []
        self._rows: list[DueRow] = []
        self._narrowing = Narrowing()
        #: True while rows come and go; the view's current row then moves without anybody choosing.
        self.is_narrowing = False

    @property
    def snapshot(self) -> DueSnapshot | None:
        """The due list as it was last read."""
        return self._snapshot

    @property
    def narrowing(self) -> Narrowing:
        """What is shown of it."""
        return self._narrowing

    def show(self, snapshot: DueSnapshot) -> None:
        """Replace what is shown, touching only the rows that differ."""
        self._snapshot = snapshot
        ordered = sorted(
            snapshot.lines, key=lambda ln: (ln.group_on or ln.due_on, ln.tag, ln.group, ln.due_on, ln.key)
        )
        self._ordered = [(line, search_text(line)) for line in ordered]
        self._narrow()

    def narrow(self, narrowing: Narrowing) -> None:
        """Show a part of the list."""
        if narrowing != self._narrowing:
            self._narrowing = narrowing
            self._narrow()

    def show_units(self, shown_units: ShownUnits) -> None:
        """Write in other units."""
        if shown_units != self.shown_units:
            self.shown_units = shown_units
            if self._rows:
                self.dataChanged.emit(self.index(0, 0), self.index(len(self._rows) - 1, Column.WEAR))

    def line_at(self, row: int) -> DueLine | None:
        """Return the line in a row."""
        return self._rows[row].line if 0 <= row < len(self._rows) else None

    def row_of(self, key: str) -> int | None:
        """Return the row of a line by its key."""
        return next((n for n, row in enumerate(self._rows) if row.line.key == key), None)

    def row_of_vehicle(self, vehicle_id: int | None) -> int | None:
        """Return the first row of a vehicle."""
        return next((n for n, row in enumerate(self._rows) if row.line.vehicle_id == vehicle_id), None)

    def shown_snapshot(self) -> DueSnapshot | None:
        """Return the part of the list that is shown, for files and paper."""
        if self._snapshot is None:
            return None
        keys = {row.line.key for row in self._rows}
        lines = tuple(line for line in self._snapshot.lines if line.key in keys)
        groups = (
            replace(group, lines=tuple(line for line in group.lines if line.key in keys))
            for group in self._snapshot.groups
        )
        return replace(
            self._snapshot,
            lines=lines,
            groups=tuple(group for group in groups if group.lines),
            within_days=self._narrowing.within_days,
        )

    def summary(self) -> str:
        """Return how much is shown, in words."""
        if self._snapshot is None:
            return ""
        vehicles = len({row.line.vehicle_id for row in self._rows})
        visits = sum(1 for row in self._rows if row.starts_visit)
        within = self._narrowing.within_days
        ahead = _("in the next {n} weeks").format(n=within // 7) if within else _("on the whole list")
        if not self._rows:
            return _("Nothing {ahead}").format(ahead=ahead)
        return _("{lines} on {vehicles}, in {visits} {ahead}").format(
            lines=counted(len(self._rows), _("1 job"), _("{n} jobs")),
            vehicles=counted(vehicles, _("1 vehicle"), _("{n} vehicles")),
            visits=counted(visits, _("1 visit"), _("{n} visits")),
            ahead=ahead,
        )

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
        return {
            Column.VISIT: _("visit"),
            Column.VEHICLE: _("vehicle"),
            Column.WHAT: _("what, and why"),
            Column.DUE: _("due by: early – likely – late"),
            Column.ORDER: _("order by"),
            Column.WEAR: _("wear allowance"),
        }[Column(section)]

    def data(
        self, index: QModelIndex | QPersistentModelIndex, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the words of a cell, or the row itself."""
        if not index.isValid():
            return None
        row = self._rows[index.row()]
        if role == self.RowRole:
            return row
        if role == Qt.ItemDataRole.DisplayRole:
            return self._cell(row.line, Column(index.column()))
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return spoken(row.line, self._today, self.shown_units)
        return None

    @property
    def _today(self) -> date:
        return self._snapshot.today if self._snapshot else date.min

    def _cell(self, line: DueLine, column: Column) -> str:
        return {
            Column.VISIT: lambda: day_text(line.group_on or line.due_on),
            Column.VEHICLE: lambda: line.tag,
            Column.WHAT: lambda: what_text(line),
            Column.DUE: lambda: day_text(line.due_on),
            Column.ORDER: lambda: day_text(line.order_by, none=""),
            Column.WEAR: lambda: state_text(line.state),
        }[column]()

    def _narrow(self) -> None:
        today, narrowing = self._today, self._narrowing
        lines = [
            line
            for line, text in self._ordered
            if narrowing.lets_through(line, today) and all(word in text for word in narrowing.words)
        ]
        visits = [(line.vehicle_id, line.group, line.group_on) for line in lines]
        wanted = [
            DueRow(
                line,
                n == 0 or visits[n - 1] != visits[n],
                n + 1 == len(lines) or visits[n + 1] != visits[n],
            )
            for n, line in enumerate(lines)
        ]
        self.is_narrowing = True
        take_rows(self, self._rows, wanted, lambda row: row.line.key, len(Column))
        self.is_narrowing = False
        self.narrowed.emit()
