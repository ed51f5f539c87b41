"""What does each column say: a workshop's own sheet, its match, and the import of it."""

from collections.abc import Sequence
from gettext import gettext as _
from gettext import ngettext
from pathlib import Path

from PySide6.QtCore import QEvent, Qt, QTimer
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QFileDialog,
    QLabel,
    QPlainTextEdit,
    QPushButton,
    QScrollArea,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from wearlog.exchange.spreadsheet import SUFFIXES, Book, TextWay
from wearlog.fleet.problem import WearlogError
from wearlog.window.flow import FlowLayout
from wearlog.window.import_sheet import words
from wearlog.window.import_sheet.column_form import ColumnForm
from wearlog.window.import_sheet.columns_view import ColumnsView
from wearlog.window.import_sheet.model import ImportModel, Outcome
from wearlog.window.import_sheet.sheet_bar import FixedRow, SheetBar
from wearlog.window.import_sheet.traffic import ImportTraffic, Wanted
from wearlog.window.page import Page, hairline
from wearlog.window.session import Session
from wearlog.window.theme import scaled, set_role
from wearlog.workshop.bring_in import Brought
from wearlog.workshop.changes import Changes
from wearlog.workshop.import_matches import KnownForImport

#: Changes that follow one another this quickly are tried once, [ms].
PAUSE_MS = 150


class ImportPage(Page):
    """The import of a sheet."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(session, _("What does each column say?"), parent)
        self.model = ImportModel(session.shown_units, self)
        self.traffic = ImportTraffic(session.bench, session.background, self)
        self._path: Path | None = None
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE_MS)
        self._pause.timeout.connect(self._try)
        self.stack = QStackedWidget()
        # From the outside in: each move of a filled widget to a parent costs as much as laying it out.
        self.body.addWidget(self.stack, 1)
        self.empty, self.sheet = QWidget(), QWidget()
        self.stack.addWidget(self.empty)
        self.stack.addWidget(self.sheet)
        self._fill_empty(self.empty)
        self.bar = SheetBar(self.model)
        self.list = ColumnsView(self.model)
        self.form = ColumnForm(self.model)
        self.fixed = FixedRow(self.model)
        self.outcome = QLabel()
        self.outcome.setWordWrap(True)
        self.outcome.setAccessibleName(_("What would come of it"))
        self.report = QPlainTextEdit()
        self.report.setReadOnly(True)
        self.report.setTabChangesFocus(True)
        self.report.setAccessibleName(_("Problems and questions of the import"))
        self._fill_sheet(self.sheet)
        self._make_actions()
        self._connect()
        self._show_book()

    # --- making

    def _fill_empty(self, empty: QWidget) -> None:
        says = QLabel(
            _(
                "A sheet of your own: a book of services with what was measured, a list of vehicles, of "
                "parts, of meter readings. CSV, XLSX, ODS or XLS. Its columns are matched by their headers, "
                "you change what is not right, and nothing is kept before you import: all rows, or none "
                "with every problem listed. The same file twice adds nothing."
            )
        )
        says.setWordWrap(True)
        says.setMaximumWidth(scaled(640))
        set_role(says, "muted")
        self.choose_file = QPushButton(_("Choose a &sheet …"))
        set_role(self.choose_file, "primary")
        self.choose_file.clicked.connect(self.choose_files)
        self.choose_folder_button = QPushButton(_("Choose a &folder in the import format …"))
        self.choose_folder_button.clicked.connect(self.choose_folder)
        self.plain_report = QPlainTextEdit()
        self.plain_report.setReadOnly(True)
        self.plain_report.setTabChangesFocus(True)
        self.plain_report.setAccessibleName(_("Problems of the import"))
        self.plain_report.hide()
        buttons = FlowLayout(spacing=8)
        buttons.addWidget(self.choose_file)
        buttons.addWidget(self.choose_folder_button)
        layout = QVBoxLayout(empty)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.setSpacing(16)
        layout.addWidget(says)
        layout.addLayout(buttons)
        layout.addWidget(self.plain_report, 1)
        layout.addStretch(0)

    def _fill_sheet(self, sheet: QWidget) -> None:
        below = QWidget()
        self.area = QScrollArea()
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QScrollArea.Shape.NoFrame)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.setWidget(below)
        layout = QVBoxLayout(sheet)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(12)
        layout.addWidget(self.bar)
        layout.addWidget(self.list, 1)
        layout.addWidget(hairline())
        layout.addWidget(self.area)
        layout.addWidget(hairline())
        layout.addWidget(self.outcome)
        layout.addWidget(self.report)
        column = QVBoxLayout(below)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(12)
        column.addWidget(self.form)
        column.addWidget(self.fixed)

    def _make_actions(self) -> None:
        self.forget_button = QPushButton(_("F&orget the match"))
        self.forget_button.setToolTip(_("Match by the headers alone, now and the next time"))
        self.forget_button.clicked.connect(lambda: self.traffic.forget(self.model.fingerprint))
        self.other_button = QPushButton(_("&Another file …"))
        self.other_button.clicked.connect(self.choose_files)
        for button in (self.forget_button, self.other_button):
            self.side_actions.addWidget(button)
        self.set_primary(_("&Import"), self.bring, "Ctrl+Return")

    def _connect(self) -> None:
        model, traffic = self.model, self.traffic
        model.book_changed.connect(self._show_book)
        model.match_changed.connect(self._on_match)
        model.outcome_changed.connect(self._show_outcome)
        self.bar.way_wanted.connect(self._read_again)
        self.list.chosen.connect(self._on_column)
        self.list.change_wanted.connect(lambda: self.form.holds.setFocus(Qt.FocusReason.TabFocusReason))
        self.list.leaving_out_wanted.connect(self.form.leave_out)
        self.form.left.connect(lambda: self.list.setFocus(Qt.FocusReason.OtherFocusReason))
        traffic.opened.connect(self._on_opened)
        traffic.in_format.connect(traffic.bring_format)
        traffic.tried.connect(model.show_outcome)
        traffic.brought.connect(self._on_brought)
        traffic.refused.connect(self._on_refused)
        traffic.forgotten.connect(self._on_forgotten)
        self.session.preferences_changed.connect(self._on_preferences)

    # --- files

    def focus_first(self) -> None:
        """Put the focus on the list, or on the button that chooses a file."""
        first = self.choose_file if self.model.book is None else self.list
        first.setFocus(Qt.FocusReason.OtherFocusReason)

    def choose_files(self) -> None:
        """Ask for files: a sheet to match, or several in the import format."""
        endings = " ".join(f"*{suffix}" for suffix in SUFFIXES)
        names, _kind = QFileDialog.getOpenFileNames(
            self,
            _("Choose a sheet"),
            "",
            _("Sheets ({endings});;All files (*)").format(endings=endings),
        )
        if names:
            self.take_paths([Path(name) for name in names])

    def choose_folder(self) -> None:
        """Ask for a folder of files in the import format."""
        name = QFileDialog.getExistingDirectory(self, _("Choose a folder in the import format"))
        if name:
            self.take_paths([Path(name)])

    def take_paths(self, paths: Sequence[Path]) -> None:
        """Match one sheet; bring in folders and several files, which must be in the import format."""
        self.clear_problems()
        self.plain_report.hide()
        if len(paths) == 1 and not paths[0].is_dir():
            self._path = paths[0]
            self.traffic.open(paths[0])
        else:
            self._path = None
            self.model.show_nothing()
            self.traffic.bring_format(paths)

    def _read_again(self, way: TextWay) -> None:
        if self._path is not None:
            self.traffic.open(self._path, way)

    def _on_opened(self, book: Book, known: KnownForImport) -> None:
        self.clear_problems()
        self.model.show_book(book, known)
        self.list.choose(0)
        self.focus_first()

    # --- showing

    def _show_book(self) -> None:
        has_book = self.model.book is not None
        self.stack.setCurrentWidget(self.sheet if has_book else self.empty)
        self.primary.setVisible(has_book)
        self.other_button.setVisible(has_book)
        if not has_book:
            self.set_subject(_("Bring in a sheet as your workshop keeps it."))
            self.forget_button.hide()
            return
        self.bar.show_anew()
        self._show_match()

    def _show_match(self) -> None:
        self.set_subject(self.model.subject())
        self.forget_button.setVisible(self.model.is_remembered)
        self.list.show_lines()
        self.form.show_column(self.list.place)
        self.fixed.show_anew()
        self._fit()

    def _on_column(self, place: int) -> None:
        self.form.show_column(place)
        self._fit()

    def _on_match(self) -> None:
        self.primary.setEnabled(False)
        if self.model.sheet is not None:
            self.bar.show_anew()
            self._show_match()
        self._pause.start()

    def _wanted(self) -> Wanted | None:
        model = self.model
        if model.book is None or model.sheet is None or model.match is None:
            return None
        return Wanted(model.book, model.sheet, model.match, model.fingerprint, model.match_text())

    def _try(self) -> None:
        wanted = self._wanted()
        if wanted is not None:
            self.traffic.try_match(wanted)

    def _show_outcome(self) -> None:
        outcome = self.model.outcome
        if self.model.book is None or outcome is None:
            return
        self._show_match()
        self.primary.setEnabled(self.model.can_import)
        lines = self._say(outcome)
        text = "\n".join(lines)
        if self.report.toPlainText() != text:
            self.report.setPlainText(text)
        self.report.setVisible(bool(lines))
        self._fit()

    def _say(self, outcome: Outcome) -> list[str]:
        """Say in one line what would come of it; return the lines that go with it."""
        problems = outcome.problems
        doubts = [words.doubt_line(doubt) for doubt in self.model.doubts()]
        if problems:
            n = len(problems) + outcome.understood.left_out
            self.outcome.setText(
                ngettext("{n} thing stands against it.", "{n} things stand against it.", n).format(n=n)
            )
            set_role(self.outcome, "problem")
            return [words.problem_line(problem) for problem in problems] + doubts
        set_role(self.outcome, "strong")
        if outcome.brought is not None:
            self.outcome.setText(words.outcome_text(outcome.brought))
        return doubts

    def _fit(self) -> None:
        """Give the forms and the report the height they need, the list the rest."""
        below = self.area.widget()
        if below is None:
            return
        width = max(self.area.viewport().width(), 1)
        layout = below.layout()
        if layout is None:
            return
        # What was shown or hidden just now is laid out first.
        for part in (self.form.layout(), self.fixed.layout(), layout):
            if part is not None:
                part.invalidate()
        needed = layout.totalHeightForWidth(width)
        self.area.setFixedHeight(min(max(needed, scaled(64)), max(self.height() * 2 // 5, scaled(120))))
        line_px = self.report.fontMetrics().lineSpacing()
        letters = max((self.report.width() - scaled(40)) // self.report.fontMetrics().averageCharWidth(), 20)
        text = self.report.toPlainText()
        lines = sum(1 + len(line) // letters for line in text.split("\n"))
        most = max(self.height() // 7, scaled(56))
        self.report.setFixedHeight(min(lines * line_px + scaled(20), most))

    # --- bringing in

    def bring(self) -> None:
        """Bring in the sheet."""
        wanted = self._wanted()
        if wanted is not None and self.model.can_import:
            self.primary.setEnabled(False)
            self.clear_problems()
            self.traffic.bring(wanted)

    def _on_brought(self, brought: Brought) -> None:
        lines = [words.doubt_line(doubt) for doubt in brought.doubts]
        self.model.show_nothing()
        self._path = None
        self.plain_report.setPlainText("\n".join(lines))
        self.plain_report.setVisible(bool(lines))
        if brought.changes is None:
            n = brought.rows_already
            self.session.messages.said(_("Nothing new: all {n} rows were known already.").format(n=n))
        else:
            self.session.tell_change(brought.changes)
        if lines:
            n = len(lines)
            self.set_subject(
                ngettext(
                    "Imported: {what}. {n} row looks odd.", "Imported: {what}. {n} rows look odd.", n
                ).format(what=words.counted(brought.added), n=n)
            )
        elif brought.added:
            self.set_subject(_("Imported: {what}.").format(what=words.counted(brought.added)))
        self.focus_first()

    def _on_refused(self, error: WearlogError) -> None:
        if self.model.book is None:
            n = len(error.problems)
            self.set_subject(
                ngettext(
                    "Nothing was imported. {n} place needs a look.",
                    "Nothing was imported. {n} places need a look.",
                    n,
                ).format(n=n)
            )
            self.plain_report.setPlainText("\n".join(map(words.problem_line, error.problems)))
            self.plain_report.show()
        else:
            self.primary.setEnabled(self.model.can_import)
            self.show_problems(error)

    def _on_forgotten(self) -> None:
        self.session.messages.said(_("The match is forgotten."))
        self.model.is_remembered = False
        self.model.guess_again()
        self._show_match()

    # --- what happens around

    def refresh(self, changes: Changes) -> None:
        """Try the match again when the workshop changed."""
        del changes
        if self.model.book is not None and self._path is not None and not self._pause.isActive():
            self._pause.start()

    def _on_preferences(self) -> None:
        self.model.shown = self.session.shown_units
        self.bar.take_look()
        self.form.take_look()
        self.fixed.take_look()
        self.list.size_columns()
        if self.model.book is not None:
            self._show_match()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the height anew."""
        super().resizeEvent(event)
        if self.model.book is not None:
            self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """Show colours anew."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.StyleChange and hasattr(self, "list"):
            self.list.viewport().update()
