"""How a problem, a quiet word, a question or a bug reaches the person."""

import logging
import platform
import sys
import threading  # noqa: TID251 - only its hook for errors; nothing is started here
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from gettext import gettext as _
from types import TracebackType

import PySide6
from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QLabel,
    QMessageBox,  # noqa: TID251 - here, and only here
    QPlainTextEdit,
    QVBoxLayout,
    QWidget,
)

import wearlog
from wearlog.fleet.problem import WearlogError

_log = logging.getLogger("wearlog.window")


@dataclass(frozen=True, slots=True)
class Said:
    """A quiet word at the bottom of the window; `undo` takes back what it tells of."""

    text: str
    undo: Callable[[], None] | None = None


class Messages(QObject):
    """The one way from the program to the person.

    Signals
    -------
    problem_told(WearlogError, page)
        Shown as a banner on the page; None stands for the page that is open.
    said_quietly(Said)
        Shown in the quiet bar.
    bug_found(str)
        A report to copy.
    """

    problem_told = Signal(object, object)
    said_quietly = Signal(object)
    bug_found = Signal(str)

    def problem(self, error: WearlogError, page: QWidget | None = None) -> None:
        """Show problems on a page, or on the one that is open."""
        self.problem_told.emit(error, page)

    def said(self, text: str, undo: Callable[[], None] | None = None) -> None:
        """Say something quietly, with a way back if there is one."""
        self.said_quietly.emit(Said(text, undo))

    def bug(self, error: BaseException) -> None:
        """Log a bug of ours and show a report that can be copied."""
        report = bug_report(error)
        _log.error("%s", report)
        self.bug_found.emit(report)

    def ask(self, parent: QWidget | None, question: str, detail: str, yes: str, no: str = "") -> bool:
        """Ask before something that can't be undone; only then."""
        box = QMessageBox(QMessageBox.Icon.NoIcon, _("wearlog"), question, parent=parent)
        box.setInformativeText(detail)
        agreed = box.addButton(yes, QMessageBox.ButtonRole.AcceptRole)
        stay = box.addButton(no or _("Cancel"), QMessageBox.ButtonRole.RejectRole)
        box.setDefaultButton(stay)
        box.setEscapeButton(stay)
        box.exec()
        return box.clickedButton() is agreed


def bug_report(error: BaseException) -> str:
    """Return what somebody needs to know to mend a bug."""
    lines = traceback.format_exception(type(error), error, error.__traceback__)
    head = (
        f"wearlog {wearlog.__version__}, Python {platform.python_version()}, Qt {PySide6.__version__}, "
        f"{platform.system()} {platform.release()}"
    )
    return head + "\n\n" + "".join(lines).rstrip()


class BugDialog(QDialog):
    """Says that wearlog made a mistake, that the work is kept, and offers the report."""

    def __init__(self, report: str, log_file: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(_("Something went wrong in wearlog"))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        says = QLabel(
            _(
                "This is a mistake in wearlog, not yours. What was saved is safe and half-filled sheets are "
                "kept. You can go on working; please pass the report below on to whoever looks after wearlog."
            )
        )
        says.setWordWrap(True)
        self.report = QPlainTextEdit(report)
        self.report.setReadOnly(True)
        self.report.setTabChangesFocus(True)
        self.report.setAccessibleName(_("Report"))
        where = QLabel(_("Also written to {file}").format(file=log_file) if log_file else "")
        where.setWordWrap(True)
        where.setProperty("role", "caption")
        where.setVisible(bool(log_file))
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        copy = buttons.addButton(_("&Copy report"), QDialogButtonBox.ButtonRole.ActionRole)
        copy.clicked.connect(self._copy)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(16)
        for widget in (says, self.report, where, buttons):
            layout.addWidget(widget)
        self.resize(640, 400)

    def _copy(self) -> None:
        QGuiApplication.clipboard().setText(self.report.toPlainText())


class BugCatcher:
    """Sends every error that nobody caught to the messages; work goes on."""

    def __init__(self, messages: Messages) -> None:
        self._messages = messages
        self._before = sys.excepthook
        self._before_thread = threading.excepthook

    def install(self) -> None:
        """Listen from now on."""
        sys.excepthook = self._on_error
        threading.excepthook = self._on_thread_error

    def remove(self) -> None:
        """Put back what was there before."""
        sys.excepthook = self._before
        threading.excepthook = self._before_thread

    def _on_error(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        if issubclass(kind, KeyboardInterrupt):
            self._before(kind, error, trace)
        elif isinstance(error, WearlogError):
            self._messages.problem(error)
        else:
            self._messages.bug(error)

    def _on_thread_error(self, args: threading.ExceptHookArgs) -> None:
        if args.exc_value is not None:
            self._messages.bug(args.exc_value)
