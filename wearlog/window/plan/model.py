"""What the week of a plan shows: a column for each day, a visit in each cell."""

from collections.abc import Iterable
from datetime import date, timedelta
from gettext import gettext as _
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QMimeData, QModelIndex, QPersistentModelIndex, Qt, Signal

from wearlog.drawing.plan_words import booked_text, load_text, plan_day_text, spoken_stop
from wearlog.fleet.planned import PlannedVisit
from wearlog.fleet.quantity import ShownUnits
from wearlog.workshop.plan_snapshot import DayLoad, PlannedStop, VisitPlan

#: How far ahead can be chosen, [weeks].
WEEKS_AHEAD = (2, 4, 8, 13, 26)
FIRST_WEEKS = 8
#: What a dragged visit is known by.
MIME = "application/x-wearlog-visit"


class WeekModel(QAbstractTableModel):
    """One week of a plan at one depot, or at all: a column for each day, its visits below each other.

    Signals
    -------
    dropped(PlannedStop, date)
        A visit was dragged to another day.
    """

    dropped = Signal(object, object)

    #: Roles of the `PlannedStop` of a cell and of the `DayLoad` of a column.
    StopRole = int(Qt.ItemDataRole.UserRole) + 1
    LoadRole = int(Qt.ItemDataRole.UserRole) + 2

    def __init__(self, shown_units: ShownUnits | None = None) -> None:
        super().__init__()
        self.shown_units = shown_units or ShownUnits()
        self.plan: VisitPlan | None = None
        self.depot = ""
        self.monday = date.min
        self._visits: dict[tuple[int, date], PlannedVisit] = {}
        self._days: list[date] = []
        self._stops: list[list[PlannedStop]] = []

    # --- what is shown

    def show(self, plan: VisitPlan | None) -> None:
        """Show a plan; the week stays if the plan has it."""
        self.plan = plan
        if plan is not None and not self.mondays()[0] <= self.monday <= self.mondays()[-1]:
            self.monday = self.mondays()[0]
        self._lay_out()

    def show_visits(self, visits: Iterable[PlannedVisit]) -> None:
        """Mark what is planned or booked already."""
        self._visits = {(visit.vehicle_id, visit.on): visit for visit in visits}
        if self._days:
            self.dataChanged.emit(self.index(0, 0), self.index(self.rowCount() - 1, len(self._days) - 1))

    def show_depot(self, depot: str) -> None:
        """Show the visits of one depot, of all for an empty name."""
        self.depot = depot
        self._lay_out()

    def show_week(self, monday: date) -> None:
        """Show another week of the plan."""
        mondays = self.mondays()
        if mondays and monday != self.monday:
            self.monday = min(max(monday, mondays[0]), mondays[-1])
            self._lay_out()

    def show_units(self, shown_units: ShownUnits) -> None:
        """Speak in other units."""
        self.shown_units = shown_units

    def mondays(self) -> list[date]:
        """Return the weeks of the plan by their Mondays."""
        if self.plan is None:
            return []
        first = self.plan.today - timedelta(days=self.plan.today.weekday())
        last = self.plan.today + timedelta(days=7 * self.plan.weeks - 1)
        return [first + timedelta(days=n) for n in range(0, (last - first).days + 1, 7)]

    @property
    def days(self) -> tuple[date, ...]:
        """The days shown, those that are open or have visits."""
        return tuple(self._days)

    def stop_at(self, index: QModelIndex | QPersistentModelIndex) -> PlannedStop | None:
        """Return the visit of a cell."""
        if not index.isValid() or index.column() >= len(self._stops):
            return None
        column = self._stops[index.column()]
        return column[index.row()] if index.row() < len(column) else None

    def index_of(self, vehicle_id: int, on: date | None = None) -> QModelIndex:
        """Return the cell of a vehicle's visit in this week, on a day if it is given."""
        for column, stops in enumerate(self._stops):
            for row, stop in enumerate(stops):
                if stop.vehicle_id == vehicle_id and on in {None, stop.on}:
                    return self.index(row, column)
        return QModelIndex()

    def visit_of(self, stop: PlannedStop) -> PlannedVisit | None:
        """Return what is planned or booked of a visit."""
        return self._visits.get((stop.vehicle_id, stop.on))

    def booked_words(self, stop: PlannedStop) -> str:
        """Return how far a visit has come, empty if it only stands in the plan."""
        visit = self.visit_of(stop)
        if visit is None or self.plan is None:
            return ""
        return booked_text(visit.state, visit.number, visit.on, self.plan.today)

    def load_of(self, day: date) -> tuple[int, int]:
        """Return used and available bay time of a day at what is shown, [min]."""
        loads = [load for load in self._loads() if load.on == day]
        return sum(load.used_minutes for load in loads), sum(load.bay_minutes for load in loads)

    def open_day_beside(self, stop: PlannedStop, step: int) -> date | None:
        """Return the next open day of a visit's depot, or the one before; None outside the plan."""
        if self.plan is None:
            return None
        days = [load.on for load in self.plan.loads if load.depot == stop.depot and load.bay_minutes]
        there = [day for day in days if (day > stop.on if step > 0 else day < stop.on)]
        if not there:
            return None
        return min(there) if step > 0 else max(there)

    def _loads(self) -> list[DayLoad]:
        if self.plan is None:
            return []
        return [load for load in self.plan.loads if self.depot in {"", load.depot}]

    def _lay_out(self) -> None:
        self.beginResetModel()
        week = {self.monday + timedelta(days=n) for n in range(7)} if self.plan else set()
        stops = [
            stop
            for stop in (self.plan.stops if self.plan else ())
            if stop.on in week and self.depot in {"", stop.depot}
        ]
        is_open = {load.on for load in self._loads() if load.on in week and load.bay_minutes}
        self._days = sorted(is_open | {stop.on for stop in stops})
        self._stops = [[stop for stop in stops if stop.on == day] for day in self._days]
        self.endResetModel()

    # --- Qt's questions

    def rowCount(self, parent: QModelIndex | QPersistentModelIndex = QModelIndex()) -> int:  # noqa: B008
        """Return how many visits the fullest day has; one empty cell stays under it to drop into."""
        if parent.isValid() or not self._days:
            return 0
        return max(len(stops) for stops in self._stops) + 1

    def columnCount(self, parent: QModelIndex | QPersistentModelIndex = QModelIndex()) -> int:  # noqa: B008
        """Return how many days are shown."""
        return 0 if parent.isValid() else len(self._days)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the day, and how full it is."""
        if orientation is not Qt.Orientation.Horizontal or not 0 <= section < len(self._days):
            return None
        day = self._days[section]
        if role == Qt.ItemDataRole.DisplayRole and self.plan is not None:
            return plan_day_text(day, self.plan.today)
        if role == Qt.ItemDataRole.AccessibleTextRole and self.plan is not None:
            return f"{plan_day_text(day, self.plan.today)}, {load_text(*self.load_of(day))}"
        if role == self.LoadRole:
            return self.load_of(day)
        return None

    def data(
        self, index: QModelIndex | QPersistentModelIndex, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the words of a visit, or the visit itself."""
        stop = self.stop_at(index)
        if stop is None or self.plan is None:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return stop.tag
        if role in {Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole}:
            return spoken_stop(stop, self.plan.today, self.shown_units, self.booked_words(stop))
        return stop if role == self.StopRole else None

    def flags(self, index: QModelIndex | QPersistentModelIndex) -> Qt.ItemFlag:
        """Let visits be chosen and dragged, and dropped on any day shown."""
        flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsDropEnabled
        if self.stop_at(index) is not None:
            flags |= Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsDragEnabled
        return flags

    def supportedDropActions(self) -> Qt.DropAction:
        """Only move: the page does it when it has worked out what that means."""
        return Qt.DropAction.MoveAction

    def mimeTypes(self) -> list[str]:
        """Return what a dragged visit is known by."""
        return [MIME]

    def mimeData(self, indexes: Any) -> QMimeData:
        """Return a visit to be dragged."""
        data = QMimeData()
        stop = next((found for index in indexes if (found := self.stop_at(index)) is not None), None)
        if stop is not None:
            data.setData(MIME, f"{stop.vehicle_id}|{stop.on.isoformat()}".encode())
        return data

    def dropMimeData(
        self,
        data: QMimeData,
        action: Qt.DropAction,
        _row: int,
        column: int,
        parent: QModelIndex | QPersistentModelIndex,
    ) -> bool:
        """Tell that a visit was dropped on a day; the model itself changes nothing yet."""
        at = parent.column() if parent.isValid() else column
        if action != Qt.DropAction.MoveAction or not data.hasFormat(MIME) or not 0 <= at < len(self._days):
            return False
        vehicle, _sep, on = bytes(data.data(MIME).data()).decode().partition("|")
        index = self.index_of(int(vehicle), date.fromisoformat(on))
        stop = self.stop_at(index)
        if stop is not None and stop.on != self._days[at]:
            self.dropped.emit(stop, self._days[at])
        # Were it true, the view would take the dragged row away by itself.
        return False


def week_text(monday: date, today: date) -> str:
    """Return a week in words."""
    first = today - timedelta(days=today.weekday())
    number = (monday - first).days // 7
    if number == 0:
        return _("this week")
    if number == 1:
        return _("next week")
    return _("week of {day}").format(day=plan_day_text(monday, today))
