"""When is it due: the list, what narrows it, the weeks ahead, and the files it can be written to."""

import tempfile
from collections.abc import Callable
from dataclasses import replace
from gettext import gettext as _
from pathlib import Path

from PySide6.QtCore import QItemSelectionModel, QModelIndex, Qt, QUrl
from PySide6.QtGui import QDesktopServices
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

from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.progress import Progress
from wearlog.window import theme
from wearlog.window.due.delegate import LINE_PX
from wearlog.window.due.model import FIRST_HORIZON, HORIZONS, DueModel, Keyed, arranged
from wearlog.window.due.view import DueView
from wearlog.window.flow import FlowLayout
from wearlog.window.page import Page
from wearlog.window.session import Session
from wearlog.window.theme import set_role
from wearlog.workshop.changes import Changes
from wearlog.workshop.due_snapshot import Action, DueLine, DueSnapshot


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
        self._make_actions()
        self._unfolded_row: int | None = None
        self.model.narrowed.connect(self._on_narrowed)
        self.view.selectionModel().currentChanged.connect(self._on_current)
        self.view.sheet_wanted.connect(lambda: self._go("sheet"))
        self.view.trend_wanted.connect(lambda: self._go("trend"))
        self.view.weeks_wanted.connect(self._toggle_weeks)
        self.view.doubleClicked.connect(lambda _index: self._go("sheet"))
        self.view.resized.connect(self._size_columns)
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
        bench = self.session.bench

        def read(progress: Progress) -> tuple[DueSnapshot, list[Keyed]]:
            from wearlog.workshop.due import due_snapshot  # noqa: PLC0415 - numpy and scipy load meanwhile

            snapshot = due_snapshot(bench, None, progress)
            return snapshot, arranged(snapshot)

        self.session.background.run(
            read,
            key="due",
            done=lambda read: self.show_due(*read),
            failed=self.show_problems,
            what=_("Working out what is due"),
            owner=self,
        )

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
        self._fit_unfolded()
        self.view.viewport().update()

    def _fit_unfolded(self) -> None:
        line = self.model.line_at(self._unfolded_row) if self._unfolded_row is not None else None
        if line is not None and self._unfolded_row is not None:
            self.view.setRowHeight(self._unfolded_row, self.delegate.unfolded_height(line))

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
        is_narrowed = bool(narrowing.depot or narrowing.action or narrowing.words) or narrowing.within_days
        self.all_button.setVisible(bool(is_narrowed))
        if narrowing.depot or narrowing.action or narrowing.words:
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
        self.words = QLineEdit()
        self.words.setAccessibleName(_("Find in the due list"))
        self.words.setPlaceholderText(_("Find a tag, a part, a job …"))
        self.words.setClearButtonEnabled(True)
        self.words.setMinimumWidth(theme.scaled(176))
        self.words.textChanged.connect(self._on_filters)
        row = FlowLayout()
        for combo in (self.depot, self.horizon, self.kind):
            combo.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
            combo.currentIndexChanged.connect(self._on_filters)
            row.addWidget(combo)
        row.addWidget(self.words)
        self.weeks_button = QPushButton(_("&Weeks ahead"))
        self.weeks_button.setCheckable(True)
        self.weeks_button.setToolTip(_("Show when each job comes due over the coming weeks.  W"))
        self.weeks_button.toggled.connect(self._size_columns)
        row.addWidget(self.weeks_button)
        return row

    def _on_filters(self) -> None:
        chosen = self.chosen_line()
        self.model.narrow(
            replace(
                self.model.narrowing,
                depot=str(self.depot.currentData()),
                within_days=self.horizon.currentData(),
                # Qt keeps words as plain text.
                action=Action(self.kind.currentData()) if self.kind.currentData() else None,
                words=tuple(self.words.text().casefold().split()),
            )
        )
        self._choose_row(self.model.row_of(chosen.key) if chosen else None)

    def _show_all(self) -> None:
        self.words.clear()
        for combo in (self.depot, self.kind):
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
        )

    def _ask_file(self, form: str, kind: str) -> None:
        name, _kind = QFileDialog.getSaveFileName(self, _("Export the due list"), f"due.{form}", kind)
        if name:
            self.write(Path(name).with_suffix(f".{form}"), form)

    def write(self, file: Path, form: str, *, open_after: bool = False) -> None:
        """Write what is shown to a file: ``"pdf"``, ``"xlsx"``, ``"csv"`` or ``"ics"``."""
        snapshot, shown = self.model.shown_snapshot(), self.session.shown_units
        if snapshot is None:
            return

        def write(_progress: Progress) -> Path:
            from wearlog.exchange.due_files import write_due  # noqa: PLC0415 - loaded when first needed

            write_due(snapshot, file, form, shown)
            return file

        def on_written(written: Path) -> None:
            if not open_after:
                self.session.messages.said(_("Written to {file}").format(file=written))
            elif not QDesktopServices.openUrl(QUrl.fromLocalFile(str(written))):
                self.show_problems(_no_viewer(written))

        self.session.background.run(
            write,
            key=f"write {file}",
            done=on_written,
            failed=self.show_problems,
            what=_("Writing {file}").format(file=file.name),
            owner=self,
        )

    def print_wall_list(self) -> None:
        """Open the wall list in the system's viewer, from where it is printed."""
        folder = Path(tempfile.mkdtemp(prefix="wearlog-"))
        self.write(folder / _("wall list.pdf"), "pdf", open_after=True)

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


def _no_viewer(file: Path) -> WearlogError:
    return WearlogError(
        Problem(
            _("No program was found that shows PDF files."),
            str(file),
            _("The wall list was written there; open and print it by hand."),
            kind=ProblemKind.FILE,
        )
    )
