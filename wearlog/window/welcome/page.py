"""Where to begin: three ways in, each a sentence and a button; the import."""

from collections.abc import Sequence
from gettext import gettext as _
from gettext import ngettext
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QPlainTextEdit,
    QPushButton,
    QScrollArea,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from wearlog.fleet.problem import Doubt, Problem, WearlogError
from wearlog.fleet.progress import Progress
from wearlog.window import theme
from wearlog.window.page import Page, hairline
from wearlog.window.session import Session
from wearlog.window.theme import set_role
from wearlog.workshop.bring_in import Brought


class WelcomePage(Page):
    """Says what to do first and offers it.

    Signals
    -------
    vehicle_wanted()
        A vehicle is to be added.
    sample_wanted()
        A throw-away copy of the sample fleet is to be opened.
    """

    vehicle_wanted = Signal()
    sample_wanted = Signal()

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(session, _("Where do you begin?"), parent)
        self.stack = QStackedWidget()
        self.ways = self._make_ways()
        self.stack.addWidget(self.ways)
        self.import_report = self._make_import_report()
        self.body.addWidget(self.stack, 1)
        self.back = QPushButton(_("&Back"))
        self.back.clicked.connect(self.show_ways)
        self.back.hide()
        self.side_actions.addWidget(self.back)
        self.show_ways()

    # --- the three ways

    def show_ways(self) -> None:
        """Show the ways to begin."""
        self.heading.setText(_("Where do you begin?"))
        self.set_subject(_("wearlog needs to know a vehicle before it can say anything about its drive."))
        self.stack.setCurrentWidget(self.ways)
        self.back.hide()
        self.clear_problems()

    def focus_first(self) -> None:
        """Put the focus on the first way."""
        self.add_button.setFocus(Qt.FocusReason.OtherFocusReason)

    def _make_ways(self) -> QWidget:
        self.add_button = QPushButton(_("&Add a vehicle"))
        set_role(self.add_button, "primary")
        self.add_button.clicked.connect(self.vehicle_wanted)
        folder = QPushButton(_("Choose a &folder …"))
        folder.clicked.connect(self.choose_folder)
        files = QPushButton(_("Choose fi&les …"))
        files.clicked.connect(self.choose_files)
        sample = QPushButton(_("Open the &sample fleet"))
        sample.clicked.connect(self.sample_wanted)
        ways = QWidget()
        layout = QVBoxLayout(ways)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.setSpacing(24)
        for title, says, buttons in (
            (
                _("Add a vehicle"),
                _(
                    "A tag, its meter and what it is made like: a minute. The service sheet follows for its "
                    "first reading, and the wear trend shows the first forecast."
                ),
                (self.add_button,),
            ),
            (
                _("Bring in a spreadsheet"),
                _(
                    "Vehicles, parts, meter entries, visits and readings as CSV files, each column with its "
                    "unit. All or nothing: every row that can't be understood is listed, and importing the "
                    "same file twice adds nothing."
                ),
                (folder, files),
            ),
            (
                _("Look at the sample fleet"),
                _(
                    "Larkfell Ranger Service, an invented fleet of about 40 vehicles with three years of "
                    "readings. It opens as a copy that is thrown away; your own database is not touched."
                ),
                (sample,),
            ),
        ):
            layout.addWidget(hairline())
            layout.addWidget(_way(title, says, buttons))
        layout.addStretch(1)
        return _scrolling(ways)

    # --- an import

    def choose_files(self) -> None:
        """Ask for CSV files and import them."""
        names, _kind = QFileDialog.getOpenFileNames(
            self, _("Import CSV files"), "", _("CSV files (*.csv);;All files (*)")
        )
        if names:
            self.import_paths([Path(name) for name in names])

    def choose_folder(self) -> None:
        """Ask for a folder of CSV files and import it."""
        name = QFileDialog.getExistingDirectory(self, _("Import a folder of CSV files"))
        if name:
            self.import_paths([Path(name)])

    def import_paths(self, paths: Sequence[Path]) -> None:
        """Import files: all rows, or none with every problem listed."""
        bench = self.session.bench
        self.clear_problems()

        def bring(progress: Progress) -> Brought:
            from wearlog.exchange.csv_folder import read_import  # noqa: PLC0415 - as above
            from wearlog.workshop.bring_in import bring_in  # noqa: PLC0415 - as above

            return bring_in(bench, read_import(paths, progress), progress)

        self.session.background.run(
            bring,
            key="import",
            done=self._on_brought,
            failed=self._on_not_brought,
            what=_("Importing"),
            owner=self,
        )

    def _on_brought(self, brought: Brought) -> None:
        self.show_ways()
        if brought.changes is None:
            n = brought.rows_already
            self.session.messages.said(_("Nothing new: all {n} rows were known already.").format(n=n))
        else:
            self.session.tell_change(brought.changes)
        if brought.doubts:
            self.heading.setText(_("Imported. Is this right?"))
            n = len(brought.doubts)
            self.set_subject(
                ngettext("{n} row was kept but looks odd.", "{n} rows were kept but look odd.", n).format(n=n)
            )
            self._show_report([_doubt_line(doubt) for doubt in brought.doubts])

    def _on_not_brought(self, error: WearlogError) -> None:
        self.heading.setText(_("What is wrong with the import?"))
        n = len(error.problems)
        self.set_subject(
            _("Nothing was imported. {n} places need a look; mend them and import again.").format(n=n)
            if n > 1
            else _("Nothing was imported. One place needs a look; mend it and import again.")
        )
        self._show_report([_problem_line(problem) for problem in error.problems])

    def _show_report(self, lines: Sequence[str]) -> None:
        self.import_report.setPlainText("\n".join(lines))
        self.stack.setCurrentWidget(self.import_report)
        self.back.show()
        self.import_report.setFocus(Qt.FocusReason.OtherFocusReason)

    def _make_import_report(self) -> QPlainTextEdit:
        report = QPlainTextEdit()
        report.setReadOnly(True)
        report.setTabChangesFocus(True)
        report.setAccessibleName(_("Problems of the import"))
        self.stack.addWidget(report)
        return report


def _problem_line(problem: Problem) -> str:
    where = f"{problem.where}:  " if problem.where else ""
    return f"{where}{problem.what} {problem.todo}".strip()


def _doubt_line(doubt: Doubt) -> str:
    return f"{doubt.where}:  {doubt.question}" if doubt.where else doubt.question


def _scrolling(widget: QWidget) -> QScrollArea:
    """Return a place where a widget scrolls if it is higher than the page."""
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFrameShape(QScrollArea.Shape.NoFrame)
    area.setWidget(widget)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    return area


def _way(title: str, says: str, buttons: Sequence[QPushButton]) -> QWidget:
    """Return one way to begin: a heading, a sentence, and its buttons at the right."""
    way = QWidget()
    heading = QLabel(title)
    set_role(heading, "strong")
    text = QLabel(says)
    text.setWordWrap(True)
    text.setMaximumWidth(theme.scaled(560))
    set_role(text, "muted")
    words = QVBoxLayout()
    words.setSpacing(4)
    words.addWidget(heading)
    words.addWidget(text)
    row = QHBoxLayout(way)
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(16)
    row.addLayout(words, 4)
    row.addStretch(1)
    offered = QVBoxLayout()
    offered.setSpacing(8)
    for button in buttons:
        offered.addWidget(button)
    row.addLayout(offered)
    row.setAlignment(offered, Qt.AlignmentFlag.AlignVCenter)
    return way
