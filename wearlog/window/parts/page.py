"""What must be ordered: the shelf, the demand ahead, orders, and the files it can be written to."""

from collections.abc import Callable
from dataclasses import replace
from gettext import gettext as _
from pathlib import Path

from PySide6.QtCore import QItemSelectionModel, QModelIndex, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFileDialog,
    QLabel,
    QLineEdit,
    QMenu,
    QPushButton,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from wearlog.drawing.parts_words import cut_text, joining_short_text, level_text
from wearlog.fleet.progress import Progress
from wearlog.window import theme
from wearlog.window.flow import FlowLayout
from wearlog.window.page import Page, hairline
from wearlog.window.parts.model import FIRST_LEVEL, FIRST_WEEKS, LEVELS, WEEKS_AHEAD, PartsModel
from wearlog.window.parts.policy_view import PolicyView
from wearlog.window.parts.shelf_bar import Job, ShelfBar
from wearlog.window.parts.view import PartsView
from wearlog.window.session import Session
from wearlog.window.theme import set_role
from wearlog.workshop.changes import Changes
from wearlog.workshop.parts_snapshot import PartsLine, PartsSnapshot, ShelfTerms, Wanted
from wearlog.workshop.policy_snapshot import PolicySnapshot

#: Below this height of the page, before the text scale, only the list and the jobs are shown, [px].
COMPACT_BELOW_PX = 600


class PartsPage(Page):
    """The parts list; what is to be ordered today stands first."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(session, _("What must be ordered?"), parent)
        self.model = PartsModel()
        self.view = PartsView(self.model)
        self.bar = ShelfBar()
        self.notes = QLabel()
        self.notes.setWordWrap(True)
        self.notes.setAccessibleName(_("Chains to cut and joining links"))
        set_role(self.notes, "caption")
        self.nothing = QLabel()
        self.nothing.setWordWrap(True)
        self.nothing.setAccessibleName(_("Why the list is empty"))
        set_role(self.nothing, "muted")
        self.list = QWidget()
        inside = QVBoxLayout(self.list)
        inside.setContentsMargins(0, 0, 0, 0)
        inside.setSpacing(8)
        inside.addWidget(self.nothing)
        inside.addWidget(self.view, 1)
        inside.addWidget(self.notes)
        inside.addWidget(hairline())
        inside.addWidget(self.bar)
        self.stack = QStackedWidget()
        self.stack.addWidget(self.list)
        self.policy = PolicyView()
        self.stack.addWidget(self.policy)
        self.body.addLayout(self._make_filters())
        self.body.addWidget(self.stack, 1)
        self._make_actions()
        self.view.policy_wanted.connect(self.policy_button.toggle)
        self.nothing.hide()
        self.bar.show_line(None, None)
        self.model.narrowed.connect(self._on_narrowed)
        self.view.selectionModel().currentChanged.connect(self._on_current)
        self.view.job_wanted.connect(self.bar.begin)
        self.view.resized.connect(self.view.size_columns)
        self.bar.left.connect(lambda: self.view.setFocus(Qt.FocusReason.OtherFocusReason))
        self.bar.job_done.connect(self._on_job)
        self.bar.terms_given.connect(self._on_terms)
        session.preferences_changed.connect(self._on_preferences)

    def _on_preferences(self) -> None:
        self.view.size_columns()
        self._fit()

    # --- the list

    def show_vehicle(self, _vehicle_id: int | None) -> None:
        """Read the list when it was never read; it is about no one vehicle."""
        if self.model.snapshot is None:
            self.load()

    def refresh(self, _changes: Changes) -> None:
        """Read the list anew, and the policy if it is shown."""
        self.load()
        if self.policy_button.isChecked():
            self.load_policy()

    def load(self) -> None:
        """Read the parts list off the window's thread."""
        bench, weeks, level = self.session.bench, self.weeks.currentData(), self.level.currentData()

        def read(progress: Progress) -> PartsSnapshot:
            from wearlog.workshop.parts import parts_snapshot  # noqa: PLC0415 - numpy and scipy load meanwhile

            return parts_snapshot(bench, weeks, level, progress=progress)

        self.session.background.run(
            read,
            key="parts",
            done=self.show_parts,
            failed=self.show_problems,
            what=_("Working out what is wanted"),
            owner=self,
        )

    def show_parts(self, snapshot: PartsSnapshot) -> None:
        """Show a parts list; the chosen line stays chosen."""
        chosen = self.chosen_line()
        self.clear_problems()
        self._show_depots(snapshot.depots)
        self.model.show(snapshot)
        self._choose_row(self.model.row_of(chosen.key) if chosen else 0)

    def load_policy(self) -> None:
        """Work out off the window's thread when chains are best replaced."""
        bench = self.session.bench

        def read(progress: Progress) -> PolicySnapshot:
            from wearlog.workshop.policy import policy_snapshot  # noqa: PLC0415 - as above

            return policy_snapshot(bench, progress)

        self.session.background.run(
            read,
            key="policy",
            done=self.policy.show_policies,
            failed=self.show_problems,
            what=_("Weighing early against late"),
            owner=self,
        )

    def _on_policy(self, is_shown: bool) -> None:
        self.stack.setCurrentWidget(self.policy if is_shown else self.list)
        for widget in (self.weeks, self.level, self.words, self.only_orders):
            widget.setVisible(not is_shown)
        self.depot.setVisible(not is_shown and self.depot.count() > 2)
        self.primary.setEnabled(not is_shown and self._has_orders())
        if is_shown:
            self.load_policy()
        else:
            self.focus_first()

    def _has_orders(self) -> bool:
        shown = self.model.shown_snapshot()
        return shown is not None and bool(shown.to_order)

    def chosen_line(self) -> PartsLine | None:
        """Return the line that is chosen."""
        return self.model.line_at(self.view.currentIndex().row())

    def focus_first(self) -> None:
        """Put the focus into the list."""
        self.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def _choose_row(self, row: int | None) -> None:
        if self.model.rowCount() == 0:
            self.bar.show_line(None, None)
            return
        index = self.model.index(min(row or 0, self.model.rowCount() - 1), 0)
        flags = QItemSelectionModel.SelectionFlag.ClearAndSelect | QItemSelectionModel.SelectionFlag.Rows
        self.view.selectionModel().setCurrentIndex(index, flags)
        self.view.scrollTo(index)
        self.bar.show_line(self.model.snapshot, self.chosen_line())

    def _on_current(self, current: QModelIndex, _previous: QModelIndex) -> None:
        if not self.model.is_narrowing:
            self.bar.show_line(self.model.snapshot, self.model.line_at(current.row()))

    def _on_narrowed(self) -> None:
        shown = self.model.shown_snapshot()
        if shown is None:
            return
        self.set_subject(self.model.summary())
        is_empty = not shown.lines
        self.nothing.setVisible(is_empty)
        self.view.setVisible(not is_empty)
        self.nothing.setText(
            _("Nothing matches what is chosen above.")
            if self.model.snapshot is not None and self.model.snapshot.lines
            else _("Parts appear here as soon as they are fitted to a vehicle.")
        )
        cuts = "; ".join(cut_text(one) for one in shown.cuts)
        links = joining_short_text(shown.joining_links)
        texts = [cuts, _("Joining links missing: {text}").format(text=links) if links else ""]
        self.notes.setText("<br>".join(text for text in texts if text))
        self._fit()
        self.primary.setEnabled(bool(shown.to_order) and not self.policy_button.isChecked())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Leave the list at least a few lines, also with large text in a low window."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        room = self.seen_height_px / theme.text_scale()
        self.bar.set_compact(room < COMPACT_BELOW_PX)
        self.notes.setVisible(bool(self.notes.text()) and room >= COMPACT_BELOW_PX)

    # --- what narrows it

    def _make_filters(self) -> FlowLayout:
        self.depot = QComboBox()
        self.depot.setAccessibleName(_("Depot"))
        self.depot.addItem(_("all depots"), "")
        self.weeks = QComboBox()
        self.weeks.setAccessibleName(_("How far ahead"))
        for weeks in WEEKS_AHEAD:
            self.weeks.addItem(_("next {n} weeks").format(n=weeks), weeks)
        self.weeks.setCurrentIndex(WEEKS_AHEAD.index(FIRST_WEEKS))
        self.level = QComboBox()
        self.level.setAccessibleName(_("Chance of having enough"))
        for level in LEVELS:
            self.level.addItem(_("enough with {level}").format(level=level_text(level)), level)
        self.level.setCurrentIndex(LEVELS.index(FIRST_LEVEL))
        self.only_orders = QCheckBox(_("only what is &short"))
        self.words = QLineEdit()
        self.words.setAccessibleName(_("Find in the parts list"))
        self.words.setPlaceholderText(_("Find a part, a tag …"))
        self.words.setClearButtonEnabled(True)
        self.words.setMinimumWidth(theme.scaled(160))
        row = FlowLayout()
        for combo in (self.depot, self.weeks, self.level):
            combo.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
            row.addWidget(combo)
        row.addWidget(self.words)
        row.addWidget(self.only_orders)
        self.depot.currentIndexChanged.connect(self._on_filters)
        self.words.textChanged.connect(self._on_filters)
        self.only_orders.toggled.connect(self._on_filters)
        self.weeks.currentIndexChanged.connect(lambda _n: self.load())
        self.level.currentIndexChanged.connect(lambda _n: self.load())
        return row

    def _on_filters(self) -> None:
        chosen = self.chosen_line()
        self.model.narrow(
            replace(
                self.model.narrowing,
                depot=str(self.depot.currentData()),
                only_orders=self.only_orders.isChecked(),
                words=tuple(self.words.text().casefold().split()),
            )
        )
        self._choose_row(self.model.row_of(chosen.key) if chosen else 0)

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
        self.depot.setVisible(len(depots) > 1 and not self.policy_button.isChecked())

    # --- work at the shelf

    def _on_job(self, job: Job, pieces: int) -> None:
        line = self.chosen_line()
        if line is None:
            return
        bench, (type_id, depot) = self.session.bench, line.key

        def work() -> Changes:
            from wearlog.workshop import stock  # noqa: PLC0415 - the store is loaded when first needed

            if job == "receive":
                return stock.receive(bench, type_id, depot, pieces)
            if job == "count":
                return stock.count_shelf(bench, type_id, depot, pieces)
            if job == "order":
                return stock.place_orders(bench, [Wanted(type_id, depot, pieces)])
            return stock.use_part(bench, type_id, depot, pieces)

        self._run(work)

    def _on_terms(self, terms: ShelfTerms) -> None:
        line = self.chosen_line()
        if line is None:
            return
        bench, (type_id, depot) = self.session.bench, line.key

        def work() -> Changes:
            from wearlog.workshop.stock import agree_terms  # noqa: PLC0415 - as above

            return agree_terms(bench, type_id, depot, terms)

        self._run(work)

    def order_all(self) -> None:
        """Note that everything to be ordered today, of what is shown, was ordered."""
        shown = self.model.shown_snapshot()
        if shown is None or not shown.to_order:
            return
        bench = self.session.bench
        wanted = [Wanted(line.part_type_id, line.depot, line.order_now) for line in shown.to_order]

        def work() -> Changes:
            from wearlog.workshop.stock import place_orders  # noqa: PLC0415 - as above

            return place_orders(bench, wanted)

        self._run(work)

    def _run(self, work: Callable[[], Changes]) -> None:
        self.session.background.run(
            lambda _progress: work(),
            key="shelf",
            done=self._on_done,
            failed=self.show_problems,
            what=_("Saving"),
            owner=self,
            is_urgent=True,
        )

    def _on_done(self, changes: Changes) -> None:
        self.clear_problems()
        self.session.tell_change(changes)

    # --- files and paper

    def _make_actions(self) -> None:
        self.set_primary(_("Order all of today"), self.order_all, "Ctrl+Return")
        self.policy_button = QPushButton(_("&When to replace"))
        self.policy_button.setCheckable(True)
        self.policy_button.setToolTip(_("Show at which wear chains are cheapest in the long run.  P"))
        self.policy_button.toggled.connect(self._on_policy)
        self.side_actions.addWidget(self.policy_button)
        export = QPushButton(_("E&xport"))
        menu = QMenu(export)
        for text, slot in self.exports():
            menu.addAction(text).triggered.connect(lambda _checked, slot=slot: slot())
        export.setMenu(menu)
        self.side_actions.addWidget(export)

    def exports(self) -> tuple[tuple[str, Callable[[], None]], ...]:
        """Return what the parts list can be written to."""
        return (
            (_("&Order list, PDF …"), lambda: self._ask_file("pdf", _("PDF (*.pdf)"))),
            (_("&Spreadsheet, XLSX …"), lambda: self._ask_file("xlsx", _("Spreadsheet (*.xlsx)"))),
            (_("&Table, CSV …"), lambda: self._ask_file("csv", _("Table (*.csv)"))),
        )

    def _ask_file(self, form: str, kind: str) -> None:
        name, _kind = QFileDialog.getSaveFileName(self, _("Export the parts list"), f"parts.{form}", kind)
        if name:
            self.write(Path(name).with_suffix(f".{form}"), form)

    def write(self, file: Path, form: str) -> None:
        """Write what is shown to a file: ``"pdf"``, ``"xlsx"`` or ``"csv"``."""
        snapshot = self.model.shown_snapshot()
        if snapshot is None:
            return

        def write(_progress: Progress) -> Path:
            from wearlog.exchange.parts_files import write_parts  # noqa: PLC0415 - loaded when first needed

            write_parts(snapshot, file, form)
            return file

        self.session.background.run(
            write,
            key=f"write {file}",
            done=lambda written: self.session.messages.said(_("Written to {file}").format(file=written)),
            failed=self.show_problems,
            what=_("Writing {file}").format(file=file.name),
            owner=self,
        )
