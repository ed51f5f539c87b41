"""Who comes when: weeks of visits at the depots, three ways of planning, moved by hand, booked."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from gettext import gettext as _
from pathlib import Path

from PySide6.QtCore import QItemSelectionModel, QModelIndex, Qt
from PySide6.QtWidgets import (
    QComboBox,
    QFileDialog,
    QLabel,
    QMenu,
    QPushButton,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from wearlog.drawing.plan_words import proof_text, summary_text
from wearlog.fleet.planned import PlannedVisit
from wearlog.planning.scheduling import VisitPolicy
from wearlog.window.filled_sheet import open_filled_sheet
from wearlog.window.flow import FlowLayout
from wearlog.window.page import Page, hairline
from wearlog.window.paper import ask_job_card
from wearlog.window.plan.detail import StopDetail
from wearlog.window.plan.model import FIRST_WEEKS, WEEKS_AHEAD, WeekModel, week_text
from wearlog.window.plan.policy_bar import CostsView, PolicyBar
from wearlog.window.plan.terms_form import TermsForm
from wearlog.window.plan.traffic import Marked, Moved, PlanTraffic, Seen
from wearlog.window.plan.view import WeekView
from wearlog.window.session import Session
from wearlog.window.theme import set_role
from wearlog.workshop.changes import Changes
from wearlog.workshop.plan_snapshot import PlannedStop, VisitPlan


class PlanPage(Page):
    """The visit plan."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(session, _("Who comes when?"), parent)
        self.model = WeekModel(session.shown_units)
        self.view = WeekView(self.model)
        self.plans: dict[VisitPolicy, VisitPlan] = {}
        self.policy = VisitPolicy.LEAST_COST
        self._visits: tuple[PlannedVisit, ...] = ()
        self.policies = PolicyBar()
        self.costs = CostsView()
        self.terms = TermsForm()
        self.detail = StopDetail(self.model)
        self.traffic = PlanTraffic(session, self)
        self.stale = QLabel(_("Something changed since this plan was made."))
        self.again = QPushButton(_("Plan ane&w"))
        self.body.setSpacing(12)
        self.body.addLayout(self._make_filters())
        self.body.addWidget(self.policies)
        self.stack = QStackedWidget()
        self.stack.addWidget(self._make_week())
        self.stack.addWidget(self.costs)
        self.stack.addWidget(self.terms)
        self.body.addWidget(self.stack, 1)
        self._make_actions()
        self._connect()
        self._show_stale(False)
        self.primary.setEnabled(False)

    # --- making

    def _make_filters(self) -> FlowLayout:
        self.depot, self.weeks = QComboBox(), QComboBox()
        self.depot.setAccessibleName(_("Depot"))
        self.depot.addItem(_("all depots"), "")
        self.weeks.setAccessibleName(_("How far ahead"))
        for weeks in WEEKS_AHEAD:
            self.weeks.addItem(_("next {n} weeks").format(n=weeks), weeks)
        self.weeks.setCurrentIndex(WEEKS_AHEAD.index(FIRST_WEEKS))
        self.before, self.after = QPushButton("‹"), QPushButton("›")
        self.before.setAccessibleName(_("The week before"))
        self.before.setToolTip(_("The week before  Page Up"))
        self.after.setAccessibleName(_("The week after"))
        self.after.setToolTip(_("The week after  Page Down"))
        self.week = QComboBox()
        self.week.setAccessibleName(_("Week"))
        row = FlowLayout()
        for combo in (self.depot, self.weeks, self.week):
            combo.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        for widget in (self.depot, self.weeks, self.before, self.week, self.after, self.stale, self.again):
            row.addWidget(widget)
        set_role(self.stale, "problem")
        self.again.setToolTip("F5")
        self.again.setShortcut("F5")
        return row

    def _make_week(self) -> QWidget:
        made = QWidget()
        layout = QVBoxLayout(made)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(8)
        layout.addWidget(self.view, 1)
        layout.addWidget(hairline())
        layout.addWidget(self.detail)
        return made

    def _make_actions(self) -> None:
        self.set_primary(_("Book this plan"), self.book_plan, "Ctrl+Return")
        self.costs_button = QPushButton(_("What it &costs"))
        self.costs_button.setToolTip(_("Show what each way costs, by cause.  C"))
        self.terms_button = QPushButton(_("&Terms"))
        self.terms_button.setToolTip(_("Opening days, bay time, and the amounts the costs rest on."))
        for button in (self.costs_button, self.terms_button):
            button.setCheckable(True)
            self.side_actions.addWidget(button)
        export = QPushButton(_("E&xport"))
        menu = QMenu(export)
        for text, slot in self.exports():
            menu.addAction(text).triggered.connect(lambda _checked, slot=slot: slot())
        export.setMenu(menu)
        self.side_actions.addWidget(export)

    def _connect(self) -> None:
        self.depot.currentIndexChanged.connect(lambda _n: self._on_depot())
        self.weeks.currentIndexChanged.connect(lambda _n: self.load())
        self.week.activated.connect(lambda _n: self._go_to_week(self.week.currentData()))
        self.before.clicked.connect(lambda: self._turn(-1))
        self.after.clicked.connect(lambda: self._turn(1))
        self.again.clicked.connect(self.load)
        self.policies.chosen.connect(self.show_policy)
        self.costs_button.toggled.connect(lambda is_on: self._on_side(self.costs_button, is_on))
        self.terms_button.toggled.connect(lambda is_on: self._on_side(self.terms_button, is_on))
        self.terms.given.connect(self.traffic.agree)
        self.terms.left.connect(lambda: self.terms_button.setChecked(False))
        self.traffic.planned.connect(self._on_planned)
        self.traffic.marked.connect(self._on_marked)
        self.traffic.moved.connect(self._on_moved)
        self.traffic.terms_kept.connect(self._on_terms_kept)
        self.traffic.refused.connect(self.show_problems)
        self.model.dropped.connect(self.move_to)
        self.view.selectionModel().currentChanged.connect(self._on_current)
        self.view.move_wanted.connect(self._on_move)
        self.view.week_wanted.connect(self._turn)
        self.view.book_wanted.connect(self.book_chosen)
        self.view.sheet_wanted.connect(self.open_sheet)
        self.view.call_off_wanted.connect(self.call_off_chosen)
        self.view.costs_wanted.connect(self.costs_button.toggle)
        self.view.doubleClicked.connect(lambda _index: self.open_sheet())
        self.detail.book.clicked.connect(self.book_chosen)
        self.detail.done.clicked.connect(self.open_sheet)
        self.detail.off.clicked.connect(self.call_off_chosen)
        self.session.preferences_changed.connect(self._on_preferences)

    # --- the plan

    @property
    def plan(self) -> VisitPlan | None:
        """The plan that is shown."""
        return self.plans.get(self.policy)

    def show_vehicle(self, vehicle_id: int | None) -> None:
        """Make the plan if there is none; else go to the next visit of the vehicle."""
        if not self.plans:
            self.load()
            return
        chosen = self.chosen_stop()
        plan = self.plan
        if plan is None or vehicle_id is None or (chosen is not None and chosen.vehicle_id == vehicle_id):
            return
        stop = next((stop for stop in plan.stops if stop.vehicle_id == vehicle_id), None)
        if stop is not None and self.model.depot in {"", stop.depot}:
            self._choose(stop)

    def refresh(self, _changes: Changes) -> None:
        """Mark what is booked; say so if the plan rests on what is no longer so."""
        if self.plan is None:
            self.load()
        else:
            self.traffic.mark(self.plan)

    def load(self) -> None:
        """Plan the weeks in all three ways."""
        self.traffic.plan(self.weeks.currentData())

    def _on_planned(self, seen: Seen) -> None:
        self.clear_problems()
        self.plans = {plan.policy: plan for plan in seen.plans}
        self._visits = seen.visits
        self._show_stale(False)
        self._show_depots()
        self._show_plan()

    def _on_marked(self, marked: Marked) -> None:
        self._visits = marked.visits
        self.model.show_visits(self._visits)
        self._show_stale(not marked.holds)
        self._show_detail()

    def show_policy(self, policy: VisitPolicy) -> None:
        """Show the plan of another way."""
        self.policy = policy
        self._show_plan()

    def _show_plan(self) -> None:
        plan, chosen = self.plan, self.chosen_stop()
        if plan is None:
            return
        self.policies.show_plans(tuple(self.plans.values()), self.policy)
        self.costs.show_plans(tuple(self.plans.values()))
        said = [summary_text(plan), proof_text(plan)]
        self.set_subject("; ".join(text for text in said if text))
        self.model.show(plan)
        self.model.show_visits(self._visits)
        self.primary.setEnabled(bool(plan.stops))
        self._show_weeks()
        stop = next((one for one in plan.stops if chosen and one.vehicle_id == chosen.vehicle_id), None)
        if stop is not None and self.model.depot in {"", stop.depot}:
            self._choose(stop)
        else:
            self._choose_first()

    def _show_stale(self, is_stale: bool) -> None:
        self.stale.setVisible(is_stale)
        self.again.setVisible(is_stale)

    # --- depots and weeks

    def _show_depots(self) -> None:
        plan = self.plan
        depots = list(dict.fromkeys(load.depot for load in plan.loads)) if plan else []
        chosen = self.depot.currentData()
        self.depot.blockSignals(True)
        while self.depot.count() > 1:
            self.depot.removeItem(1)
        for name in depots:
            self.depot.addItem(name, name)
        self.depot.setCurrentIndex(max(self.depot.findData(chosen), 0))
        self.depot.blockSignals(False)
        self.depot.setVisible(len(depots) > 1)

    def _on_depot(self) -> None:
        self.model.show_depot(str(self.depot.currentData()))
        self._choose_first()

    def _show_weeks(self) -> None:
        plan, mondays = self.plan, self.model.mondays()
        if plan is None:
            return
        self.week.clear()
        for monday in mondays:
            self.week.addItem(week_text(monday, plan.today), monday)
        place = mondays.index(self.model.monday)
        self.week.setCurrentIndex(place)
        self.before.setEnabled(place > 0)
        self.after.setEnabled(place + 1 < len(mondays))

    def _turn(self, step: int) -> None:
        self._go_to_week(self.model.monday + timedelta(days=7 * step))

    def _go_to_week(self, monday: date) -> None:
        if self.model.plan is None or monday not in self.model.mondays():
            return
        self.model.show_week(monday)
        self._show_weeks()
        self._choose_first()

    # --- the chosen visit

    def chosen_stop(self) -> PlannedStop | None:
        """Return the visit that is chosen."""
        return self.model.stop_at(self.view.currentIndex())

    def _choose(self, stop: PlannedStop) -> None:
        monday = stop.on - timedelta(days=stop.on.weekday())
        if monday != self.model.monday:
            self.model.show_week(monday)
            self._show_weeks()
        index = self.model.index_of(stop.vehicle_id, stop.on)
        self.view.selectionModel().setCurrentIndex(index, QItemSelectionModel.SelectionFlag.ClearAndSelect)
        self.view.scrollTo(index)
        self._show_detail()

    def _choose_first(self) -> None:
        for column in range(self.model.columnCount()):
            stop = self.model.stop_at(self.model.index(0, column))
            if stop is not None:
                self._choose(stop)
                return
        self._show_detail()

    def _on_current(self, _current: QModelIndex, _previous: QModelIndex) -> None:
        stop = self.chosen_stop()
        self._show_detail()
        if stop is not None and self.view.hasFocus():
            self.session.choose(stop.vehicle_id)

    def _show_detail(self) -> None:
        self.detail.show_stop(self.chosen_stop())

    # --- by hand

    def _on_move(self, step: int) -> None:
        stop = self.chosen_stop()
        if stop is None:
            return
        to = stop.on + timedelta(days=step) if abs(step) == 7 else self.model.open_day_beside(stop, step)
        if to is not None:
            self.move_to(stop, to)

    def move_to(self, stop: PlannedStop, to: date) -> None:
        """Put a visit on another day; one that is booked moves in the books, too."""
        if self.plan is not None:
            self.traffic.move(self.plan, stop, self.model.visit_of(stop), to)

    def _on_moved(self, moved: Moved) -> None:
        self.clear_problems()
        self.plans[moved.plan.policy] = moved.plan
        visit = self.model.visit_of(moved.stop)
        if moved.changes is not None and visit is not None:
            self._visits = tuple(replace(one, on=moved.to) if one is visit else one for one in self._visits)
        self._show_plan()
        key = (moved.stop.vehicle_id, moved.to)
        there = next((one for one in moved.plan.stops if (one.vehicle_id, one.on) == key), None)
        if there is not None and moved.plan.policy is self.policy:
            self._choose(there)
        if moved.changes is not None:
            self.session.tell_change(moved.changes)

    # --- booking

    def book_plan(self) -> None:
        """Book every visit of the plan that is shown."""
        if self.plan is not None and self.plan.stops:
            self.traffic.book_plan(self.plan)

    def book_chosen(self) -> None:
        """Book the visit that is chosen."""
        stop = self.chosen_stop()
        if stop is not None and self.detail.book.isEnabled():
            self.traffic.book(stop)

    def call_off_chosen(self) -> None:
        """Call the chosen visit off, if it was planned or booked."""
        stop = self.chosen_stop()
        visit = None if stop is None else self.model.visit_of(stop)
        if visit is not None:
            self.traffic.call_off(visit)

    def open_sheet(self) -> None:
        """Open the service sheet of the chosen visit with its work ticked."""
        stop = self.chosen_stop()
        if stop is not None:
            open_filled_sheet(self.session, [work.line for work in stop.works], self.show_problems, self)

    def _on_terms_kept(self) -> None:
        self.terms_button.setChecked(False)
        self.load()

    # --- look

    def _on_side(self, button: QPushButton, is_on: bool) -> None:
        other = self.terms_button if button is self.costs_button else self.costs_button
        if is_on and other.isChecked():
            other.setChecked(False)
        place = 0 if not is_on else 1 if button is self.costs_button else 2
        self.stack.setCurrentIndex(place)
        plan = self.plan
        if place == 2 and plan is not None:
            self.terms.show_terms(plan.terms, tuple(dict.fromkeys(load.depot for load in plan.loads)))
            self.terms.focus_first()
        elif place == 0:
            self.focus_first()

    def focus_first(self) -> None:
        """Put the focus into the week."""
        self.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_preferences(self) -> None:
        self.model.show_units(self.session.shown_units)
        self.view.take_look()
        self.policies.take_look()
        self.detail.take_look()
        self._show_detail()

    # --- files

    def exports(self) -> tuple[tuple[str, Callable[[], None]], ...]:
        """Return what the plan can be written to."""
        return (
            (_("&Calendar, iCalendar …"), lambda: self._ask_file("ics", _("Calendar (*.ics)"))),
            (_("&Table, CSV …"), lambda: self._ask_file("csv", _("Table (*.csv)"))),
            (_("&Data, JSON …"), lambda: self._ask_file("json", _("Data (*.json)"))),
            (_("&Job card of the chosen vehicle, PDF …"), lambda: ask_job_card(self)),
        )

    def _ask_file(self, form: str, kind: str) -> None:
        name, _kind = QFileDialog.getSaveFileName(self, _("Export the visit plan"), f"visits.{form}", kind)
        if name:
            self.write(Path(name).with_suffix(f".{form}"), form)

    def write(self, file: Path, form: str) -> None:
        """Write the plan that is shown to a file: ``"ics"``, ``"csv"`` or ``"json"``."""
        if self.plan is not None:
            self.traffic.write(self.plan, self.model.depot, file, form)
