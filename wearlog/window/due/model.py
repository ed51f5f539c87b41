"""What the due list shows: one line per row, narrowed and grouped; and its words."""

from bisect import bisect_left
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import IntEnum
from gettext import gettext as _
from itertools import islice, takewhile
from operator import itemgetter
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal

from wearlog.drawing.plan_words import booked_text
from wearlog.drawing.words import due_interval_text, state_text
from wearlog.fleet.planned import PlannedVisit
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.state import State
from wearlog.window.due.words import counted, search_text, spoken, what_text
from wearlog.window.rows import take_rows
from wearlog.wording import day_text
from wearlog.workshop.due_snapshot import Action, DueLine, DueSnapshot

#: Days ahead that can be chosen; None for all.
HORIZONS: tuple[int | None, ...] = (14, 28, 56, 84, 182, None)
#: The timeline is never shorter or longer than this, [d].
SHORTEST_DAYS, LONGEST_DAYS = 28, 182
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
    WEEKS = 6


Keyed = tuple[str, DueLine]


@dataclass(frozen=True, slots=True)
class Narrowing:
    """What is to be shown; empty and None leave nothing out.

    `is_booked` asks for work that is planned or booked, or for work that is not.
    """

    depot: str = ""
    within_days: int | None = FIRST_HORIZON
    action: Action | None = None
    words: tuple[str, ...] = ()
    state: State | None = None
    is_booked: bool | None = None

    def let_through(self, lines: list[Keyed], today: date) -> list[Keyed]:
        """Return the lines that are shown, their words apart; there may be tens of thousands."""
        if self.within_days is not None:
            last = today + timedelta(days=self.within_days)
            lines = [keyed for keyed in lines if keyed[1].due_on <= last]
        if self.depot:
            lines = [keyed for keyed in lines if keyed[1].depot == self.depot]
        if self.action is not None:
            lines = [keyed for keyed in lines if keyed[1].action is self.action]
        if self.state is not None:
            lines = [keyed for keyed in lines if keyed[1].state is self.state]
        return lines


@dataclass(frozen=True, slots=True)
class DueRow:
    """A line, its place in the visit (the first is drawn as such), and what is booked of it."""

    line: DueLine
    starts_visit: bool
    booked: PlannedVisit | None = None


def _visit(line: DueLine) -> tuple[int, int, date | None]:
    return line.vehicle_id, line.group, line.group_on


def _order(line: DueLine) -> tuple[date, str, int, date]:
    return line.group_on or line.due_on, line.tag, line.group, line.due_on


def arranged(snapshot: DueSnapshot) -> list[Keyed]:
    """Return the lines by visit and date, each with its key; thousands are better arranged on a worker."""
    lines = sorted(snapshot.lines, key=_order)
    return [(line.key, line) for line in lines]


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
        self._ordered: list[Keyed] = []
        self._texts: list[str] | None = None
        self._rows: list[Keyed] = []
        self._narrowing = Narrowing()
        self._visits: dict[str, PlannedVisit] = {}
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

    def show(self, snapshot: DueSnapshot, lines: list[Keyed] | None = None) -> None:
        """Replace what is shown, touching only the rows that differ; `lines` are the `arranged` ones."""
        self._snapshot = snapshot
        self._ordered = arranged(snapshot) if lines is None else lines
        # Made when somebody searches: the words of thousands of lines take a moment.
        self._texts = None
        self._narrow()

    def show_visits(self, visits: dict[str, PlannedVisit]) -> None:
        """Mark lines that are planned or booked, by their keys."""
        if visits == self._visits:
            return
        self._visits = visits
        if self._narrowing.is_booked is not None:
            self._narrow()
        elif self._rows:
            self.dataChanged.emit(self.index(0, 0), self.index(len(self._rows) - 1, Column.WEEKS))

    def visit_of(self, line: DueLine) -> PlannedVisit | None:
        """Return what is planned or booked of a line."""
        return self._visits.get(line.key)

    def together_with(self, line: DueLine) -> tuple[DueLine, ...]:
        """Return the lines that come in with a line, itself included; also those that are not shown."""
        wanted = _visit(line)
        first = bisect_left(self._ordered, _order(line)[:3], key=lambda keyed: _order(keyed[1])[:3])
        near = (one for _key, one in islice(self._ordered, first, None))
        return tuple(takewhile(lambda one: _visit(one) == wanted, near))

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
                self.dataChanged.emit(self.index(0, 0), self.index(len(self._rows) - 1, Column.WEEKS))

    def line_at(self, row: int) -> DueLine | None:
        """Return the line in a row."""
        return self._rows[row][1] if 0 <= row < len(self._rows) else None

    def row_of(self, key: str) -> int | None:
        """Return the row of a line by its key."""
        return next((n for n, (known, _line) in enumerate(self._rows) if known == key), None)

    def row_of_vehicle(self, vehicle_id: int | None) -> int | None:
        """Return the first row of a vehicle."""
        return next((n for n, (_key, line) in enumerate(self._rows) if line.vehicle_id == vehicle_id), None)

    def shown_snapshot(self) -> DueSnapshot | None:
        """Return the part of the list that is shown, for files and paper."""
        if self._snapshot is None:
            return None
        keys = {key for key, _line in self._rows}
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

    @property
    def today(self) -> date:
        """The day of the list."""
        return self._today

    def weeks_shown(self) -> int:
        """Return how many weeks the timeline shows: those of the horizon, half a year at most."""
        within = self._narrowing.within_days or LONGEST_DAYS
        return max(within, SHORTEST_DAYS) // 7

    def summary(self) -> str:
        """Return how much is shown, in words."""
        if self._snapshot is None:
            return ""
        shown = {_visit(line) for _key, line in self._rows}
        visits, vehicles = len(shown), len({visit[0] for visit in shown})
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
            Column.WEEKS: _("the coming weeks"),
        }[Column(section)]

    def data(
        self, index: QModelIndex | QPersistentModelIndex, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the words of a cell, or the row itself."""
        if not index.isValid():
            return None
        line = self._rows[index.row()][1]
        if role == self.RowRole:
            before = self.line_at(index.row() - 1)
            starts = before is None or _visit(before) != _visit(line)
            return DueRow(line, starts, self.visit_of(line))
        if role == Qt.ItemDataRole.DisplayRole:
            return self._cell(line, Column(index.column()))
        if role == Qt.ItemDataRole.AccessibleTextRole:
            text = spoken(line, self._today, self.shown_units)
            visit = self.visit_of(line)
            if visit is None:
                return text
            return f"{text}; {booked_text(visit.state, visit.number, visit.on, self._today)}"
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
            Column.WEEKS: lambda: due_interval_text(line),
        }[column]()

    def _found(self) -> list[Keyed]:
        """Return the lines in which all words occur."""
        words = self._narrowing.words
        if not words:
            return self._ordered
        if self._texts is None:
            self._texts = [search_text(line) for _key, line in self._ordered]
        return [
            keyed
            for keyed, text in zip(self._ordered, self._texts, strict=True)
            if all(word in text for word in words)
        ]

    def _narrow(self) -> None:
        booked = self._narrowing.is_booked
        wanted = self._narrowing.let_through(self._found(), self._today)
        if booked is not None:
            wanted = [keyed for keyed in wanted if (keyed[0] in self._visits) is booked]
        self.is_narrowing = True
        take_rows(self, self._rows, wanted, itemgetter(0), len(Column))
        self.is_narrowing = False
        self.narrowed.emit()
