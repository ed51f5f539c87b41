"""When is it due: the list, what narrows it, the weeks ahead, and the files it can be written to."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from gettext import gettext as _
from pathlib import Path

from PySide6.QtCore import QItemSelectionModel, QModelIndex, Qt
from PySide6.QtWidgets import (
    QComboBox,
    QFileDialog,
    QLabel,
    QLineEdit,
    QMenu,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from wearlog.drawing.words import state_text
from wearlog.fleet.planned import PlannedVisit
from wearlog.fleet.progress import Progress
from wearlog.fleet.state import URGENCY, State
from wearlog.window import theme
from wearlog.window.due.booking_bar import BookingBar
from wearlog.window.due.delegate import LINE_PX
from wearlog.window.due.model import FIRST_HORIZON, HORIZONS, DueModel, Keyed, Narrowing
from wearlog.window.due.traffic import DueTraffic, ReadList
from wearlog.window.due.view import DueView
from wearlog.window.filled_sheet import open_filled_sheet
from wearlog.window.flow import FlowLayout
from wearlog.window.page import Page
from wearlog.window.paper import ask_job_card
from wearlog.window.session import Session
from wearlog.window.theme import set_role
from wearlog.workshop.changes import Changes
from wearlog.workshop.due_snapshot import Action, DueLine, DueSnapshot

#: Choices beside the states.
BOOKED, NOT_BOOKED = "booked", "not booked"


class DuePage(Page):
    """The due list, sorted by date and grouped into visits."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(session, _("When is it due?"), parent)
        self.model = DueModel(session.shown_units)
        self.view = DueView(self.model)
        self.delegate = self.view.delegate
        self.nothing = QLabel()
        self.nothing.setAccessibleName(_("Why the list is empty"))
        set_role(self.nothing, "muted")
        self.all_button = QPushButton(_("Show the &whole list"))
        self.all_button.clicked.connect(self._show_all)
        self.empty = QWidget()
        empty = QVBoxLayout(self.empty)
        empty.setContentsMargins(0, 8, 0, 0)
        empty.setSpacing(16)
        empty.addWidget(self.nothing)
        empty.addWidget(self.all_button, 0, Qt.AlignmentFlag.AlignLeft)
        empty.addStretch(1)
        self.empty.hide()
        self.body.addLayout(self._make_filters())
        self.body.addWidget(self.empty, 1)
        self.body.addWidget(self.view, 1)
        self.booking = BookingBar(session.bench.today())
        self.body.addWidget(self.booking)
        self.traffic = DueTraffic(session, self)
        self._make_actions()
        self._unfolded_row: int | None = None
        self.model.narrowed.connect(self._on_narrowed)
        self.view.selectionModel().currentChanged.connect(self._on_current)
        self.view.sheet_wanted.connect(lambda: self._go("sheet"))
        self.view.trend_wanted.connect(lambda: self._go("trend"))
        self.view.weeks_wanted.connect(self._toggle_weeks)
        self.view.doubleClicked.connect(lambda _index: self._go("sheet"))
        self.view.resized.connect(self._size_columns)
        self.view.book_wanted.connect(self.booking.begin)
        self.view.done_wanted.connect(self.enter_as_done)
        self.view.off_wanted.connect(self.call_off)
        self.view.why_wanted.connect(self.why_button.toggle)
        self.booking.book_wanted.connect(self.book)
        self.booking.done_wanted.connect(self.enter_as_done)
        self.booking.off_wanted.connect(self.call_off)
        self.booking.left.connect(self.focus_first)
        self.traffic.read.connect(self._on_read)
        self.traffic.explained.connect(self._on_explained)
        self.traffic.refused.connect(self.show_problems)
        session.preferences_changed.connect(self._on_preferences)
        self._size_columns()

    # --- the list

    def show_vehicle(self, vehicle_id: int | None) -> None:
        """Go to the first line of the vehicle chosen in the fleet; read the list when it was never read."""
        if self.model.snapshot is None:
            self.load()
            return
        line = self.chosen_line()
        if line is None or line.vehicle_id != vehicle_id:
            self._choose_row(self.model.row_of_vehicle(vehicle_id))

    def refresh(self, _changes: Changes) -> None:
        """Read the list anew: a visit of one vehicle may move those of none other, but its own lines."""
        self.load()

    def load(self) -> None:
        """Read the due list off the window's thread."""
        self.traffic.load()

    def _on_read(self, read: ReadList) -> None:
        self.model.show_visits(read.visits)
        self.show_due(read.snapshot, read.lines)

    def show_due(self, snapshot: DueSnapshot, lines: list[Keyed] | None = None) -> None:
        """Show a due list; the chosen line stays chosen."""
        chosen = self.chosen_line()
        self.clear_problems()
        self._show_depots(snapshot.depots)
        self.model.show(snapshot, lines)
        row = self.model.row_of(chosen.key) if chosen else None
        self._choose_row(row if row is not None else self.model.row_of_vehicle(self.session.vehicle_id))

    def chosen_line(self) -> DueLine | None:
        """Return the line that is chosen."""
        return self.model.line_at(self.view.currentIndex().row())

    def focus_first(self) -> None:
        """Put the focus into the list."""
        first = self.all_button if self.model.rowCount() == 0 else self.view
        first.setFocus(Qt.FocusReason.OtherFocusReason)

    def _choose_row(self, row: int | None) -> None:
        selection = self.view.selectionModel()
        if row is None:
            selection.clear()
            self._unfold(None)
        elif row != self.view.currentIndex().row() or not selection.hasSelection():
            flags = QItemSelectionModel.SelectionFlag.ClearAndSelect | QItemSelectionModel.SelectionFlag.Rows
            selection.setCurrentIndex(self.model.index(row, 0), flags)
            self.view.scrollTo(self.model.index(row, 0))
        else:
            self._unfold(row)

    def _on_current(self, current: QModelIndex, _previous: QModelIndex) -> None:
        if self.model.is_narrowing:
            return
        self._unfold(current.row() if current.isValid() else None)
        line = self.model.line_at(current.row())
        if line is not None:
            self.session.choose(line.vehicle_id)

    def _unfold(self, row: int | None) -> None:
        """Unfold the reason of one line and fold the one before."""
        plain = theme.scaled(LINE_PX)
        if self._unfolded_row is not None and self._unfolded_row < self.model.rowCount():
            self.view.setRowHeight(self._unfolded_row, plain)
        line = self.model.line_at(row) if row is not None else None
        self._unfolded_row = row if line is not None else None
        self.delegate.unfolded = line.key if line is not None else ""
        self.delegate.evidence = ()
        self._show_booking(line)
        if line is not None and self.why_button.isChecked():
            self.traffic.explain(line)
        self._fit_unfolded()
        self.view.viewport().update()

    def _fit_unfolded(self) -> None:
        line = self.model.line_at(self._unfolded_row) if self._unfolded_row is not None else None
        if line is not None and self._unfolded_row is not None:
            self.view.setRowHeight(self._unfolded_row, self.delegate.unfolded_height(line))

    # --- booking and entering

    def _show_booking(self, line: DueLine | None) -> None:
        if line is None:
            self.booking.show_visit((), None, self.model.today)
        else:
            lines = self.model.together_with(line)
            self.booking.show_visit(lines, self._booked_of(lines), self.model.today)

    def _booked_of(self, lines: tuple[DueLine, ...]) -> PlannedVisit | None:
        return next((visit for one in lines if (visit := self.model.visit_of(one)) is not None), None)

    def book(self, on: date) -> None:
        """Book the work that comes in with the chosen line."""
        line = self.chosen_line()
        if line is not None:
            self.traffic.book(self.model.together_with(line), on)
            self.focus_first()

    def enter_as_done(self) -> None:
        """Open the service sheet with the work of the chosen visit ticked."""
        line = self.chosen_line()
        if line is not None:
            open_filled_sheet(self.session, self.model.together_with(line), self.show_problems, self)

    def call_off(self) -> None:
        """Call the chosen visit off, if it was planned or booked."""
        line = self.chosen_line()
        visit = None if line is None else self._booked_of(self.model.together_with(line))
        if visit is not None:
            self.traffic.call_off(visit)

    def _on_why(self, is_wanted: bool) -> None:
        """Unfold, or fold, what the date of the chosen line rests on."""
        line = self.chosen_line()
        self.delegate.evidence = ()
        if is_wanted and line is not None:
            self.traffic.explain(line)
        self._fit_unfolded()
        self.view.viewport().update()

    def _on_explained(self, key: str, lines: tuple[str, ...]) -> None:
        if key == self.delegate.unfolded and self.why_button.isChecked():
            self.delegate.evidence = lines
            self._fit_unfolded()
            self.view.scrollTo(self.view.currentIndex())
            self.view.viewport().update()

    def _toggle_weeks(self) -> None:
        self.weeks_button.toggle()

    def _go(self, page: str) -> None:
        line = self.chosen_line()
        if line is not None:
            self.session.choose(line.vehicle_id)
            self.session.want_page(page)

    def _on_narrowed(self) -> None:
        self.set_subject(self.model.summary())
        is_empty = self.model.rowCount() == 0
        self.empty.setVisible(is_empty)
        self.view.setVisible(not is_empty)
        narrowing = self.model.narrowing
        is_chosen = replace(narrowing, within_days=None) != Narrowing(within_days=None)
        is_narrowed = is_chosen or narrowing.within_days
        self.all_button.setVisible(bool(is_narrowed))
        if is_chosen:
            text = _("Nothing matches what is chosen above.")
        elif narrowing.within_days:
            text = _("Nothing is due in the next {n} weeks.").format(n=narrowing.within_days // 7)
        else:
            text = _("Nothing is due. Lines appear as soon as vehicles have parts, readings and intervals.")
        self.nothing.setText(text)
        # Rows that came and went carry their heights along; the unfolded one is found again by its line.
        row = self.model.row_of(self.delegate.unfolded) if self.delegate.unfolded else None
        for other in {self._unfolded_row, row} - {None}:
            if other is not None and other < self.model.rowCount():
                self.view.setRowHeight(other, theme.scaled(LINE_PX))
        self._unfolded_row = row
        self._fit_unfolded()
        # Where a visit starts depends on the line above, and the weeks on the horizon.
        self.view.viewport().update()
        self.view.horizontalHeader().viewport().update()

    # --- what narrows it

    def _make_filters(self) -> FlowLayout:
        self.depot = QComboBox()
        self.depot.setAccessibleName(_("Depot"))
        self.depot.addItem(_("all depots"), "")
        self.horizon = QComboBox()
        self.horizon.setAccessibleName(_("How far ahead"))
        for days in HORIZONS:
            text = _("next {n} weeks").format(n=days // 7) if days else _("however far ahead")
            self.horizon.addItem(text, days)
        self.horizon.setCurrentIndex(HORIZONS.index(FIRST_HORIZON))
        self.kind = QComboBox()
        self.kind.setAccessibleName(_("Kind of job"))
        self.kind.addItem(_("all jobs"), None)
        for action, text in {
            Action.REPLACE: _("replace"),
            Action.ADJUST: _("adjust"),
            Action.MEASURE: _("measure"),
            Action.TASK: _("regular tasks"),
            Action.RECHECK: _("re-checks after fitting"),
        }.items():
            self.kind.addItem(text, action)
        self.state = QComboBox()
        self.state.setAccessibleName(_("State"))
        self.state.addItem(_("all states"), None)
        for state in URGENCY[::-1]:
            self.state.addItem(state_text(state), state)
        self.state.addItem(_("not booked"), NOT_BOOKED)
        self.state.addItem(_("booked"), BOOKED)
        self.words = QLineEdit()
        self.words.setAccessibleName(_("Find in the due list"))
        self.words.setPlaceholderText(_("Find a tag, a part, a job …"))
        self.words.setClearButtonEnabled(True)
        self.words.setMinimumWidth(theme.scaled(176))
        self.words.textChanged.connect(self._on_filters)
        row = FlowLayout()
        for combo in (self.depot, self.horizon, self.kind, self.state):
            combo.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
            combo.currentIndexChanged.connect(self._on_filters)
            row.addWidget(combo)
        row.addWidget(self.words)
        self.weeks_button = QPushButton(_("&Weeks ahead"))
        self.weeks_button.setCheckable(True)
        self.weeks_button.setToolTip(_("Show when each job comes due over the coming weeks.  W"))
        self.weeks_button.toggled.connect(self._size_columns)
        row.addWidget(self.weeks_button)
        self.why_button = QPushButton(_("Wh&y"))
        self.why_button.setCheckable(True)
        self.why_button.setToolTip(_("Unfold what the date of the chosen line rests on.  Y"))
        self.why_button.toggled.connect(self._on_why)
        row.addWidget(self.why_button)
        return row

    def _on_filters(self) -> None:
        chosen = self.chosen_line()
        state = str(self.state.currentData() or "")
        self.model.narrow(
            replace(
                self.model.narrowing,
                depot=str(self.depot.currentData()),
                within_days=self.horizon.currentData(),
                # Qt keeps words as plain text.
                action=Action(self.kind.currentData()) if self.kind.currentData() else None,
                words=tuple(self.words.text().casefold().split()),
                state=State(state) if state and state not in {BOOKED, NOT_BOOKED} else None,
                is_booked={BOOKED: True, NOT_BOOKED: False}.get(state),
            )
        )
        self._choose_row(self.model.row_of(chosen.key) if chosen else None)

    def _show_all(self) -> None:
        self.words.clear()
        for combo in (self.depot, self.kind, self.state):
            combo.setCurrentIndex(0)
        self.horizon.setCurrentIndex(len(HORIZONS) - 1)
        self.focus_first()

    def _show_depots(self, depots: tuple[str, ...]) -> None:
        known = tuple(str(self.depot.itemData(n)) for n in range(1, self.depot.count()))
        if known == depots:
            return
        chosen = self.depot.currentData()
        self.depot.blockSignals(True)
        while self.depot.count() > 1:
            self.depot.removeItem(1)
        for name in depots:
            self.depot.addItem(name, name)
        self.depot.setCurrentIndex(max(self.depot.findData(chosen), 0))
        self.depot.blockSignals(False)
        self.depot.setVisible(len(depots) > 1)

    # --- files and paper

    def _make_actions(self) -> None:
        self.set_primary(_("Enter a service"), lambda: self._go("sheet"))
        export = QPushButton(_("E&xport"))
        menu = QMenu(export)
        for text, slot in self.exports():
            menu.addAction(text).triggered.connect(lambda _checked, slot=slot: slot())
        export.setMenu(menu)
        self.side_actions.addWidget(export)

    def exports(self) -> tuple[tuple[str, Callable[[], None]], ...]:
        """Return what the due list can be written to."""
        return (
            (_("Wall &list, PDF …"), lambda: self._ask_file("pdf", _("PDF (*.pdf)"))),
            (_("&Print the wall list …"), self.print_wall_list),
            (_("&Spreadsheet, XLSX …"), lambda: self._ask_file("xlsx", _("Spreadsheet (*.xlsx)"))),
            (_("&Table, CSV …"), lambda: self._ask_file("csv", _("Table (*.csv)"))),
            (_("&Calendar, iCalendar …"), lambda: self._ask_file("ics", _("Calendar (*.ics)"))),
            (_("&Job card of the chosen vehicle, PDF …"), lambda: ask_job_card(self)),
        )

    def _ask_file(self, form: str, kind: str) -> None:
        name, _kind = QFileDialog.getSaveFileName(self, _("Export the due list"), f"due.{form}", kind)
        if name:
            self.write(Path(name).with_suffix(f".{form}"), form)

    def write(self, file: Path, form: str) -> None:
        """Write what is shown to a file: ``"pdf"``, ``"xlsx"``, ``"csv"`` or ``"ics"``."""
        snapshot, shown = self.model.shown_snapshot(), self.session.shown_units
        if snapshot is None:
            return

        def write(_progress: Progress) -> Path:
            from wearlog.exchange.due_files import write_due  # noqa: PLC0415 - loaded when first needed

            write_due(snapshot, file, form, shown)
            return file

        self.session.background.run(
            write,
            key=f"write {file}",
            done=lambda written: self.session.messages.said(_("Written to {file}").format(file=written)),
            failed=self.show_problems,
            what=_("Writing {file}").format(file=file.name),
            owner=self,
        )

    def print_wall_list(self) -> None:
        """Show the wall list as it will be printed; what is shown of the list is printed."""
        snapshot = self.model.shown_snapshot()
        if snapshot is None:
            return
        from wearlog.window.due.print_preview import WallListPreview  # noqa: PLC0415 - loaded when first needed

        preview = WallListPreview(snapshot, self)
        preview.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        preview.open()

    # --- look

    def _on_preferences(self) -> None:
        self.model.show_units(self.session.shown_units)
        self._size_columns()

    def _size_columns(self) -> None:
        self.view.size_columns(with_weeks=self.weeks_button.isChecked())
        self.weeks_button.setVisible(not self.view.has_room_for_weeks())
        self._fit_unfolded()
        if self.view.currentIndex().isValid():
            self.view.scrollTo(self.view.currentIndex())
