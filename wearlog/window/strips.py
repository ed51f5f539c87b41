"""The two quiet strips at the bottom of the window: what is on its way, and what was just saved."""

from gettext import gettext as _

from PySide6.QtCore import QObject, QSize, QTimer, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QProgressBar, QPushButton, QWidget

from wearlog.window.background import Background, Job
from wearlog.window.messages import Messages, Said
from wearlog.window.theme import set_role

#: Work shorter than this is not worth a strip, [ms].
SHOW_AFTER_MS = 500
#: A quiet word leaves after this; undoing stays in the menu, [ms].
HIDE_AFTER_MS = 60_000


def _timer(parent: QObject, interval_ms: int) -> QTimer:
    timer = QTimer(parent)
    timer.setSingleShot(True)
    timer.setInterval(interval_ms)
    return timer


class _GivingWay(QLabel):
    """A line that is cut off rather than making the window wider."""

    def minimumSizeHint(self) -> QSize:
        return QSize(0, super().minimumSizeHint().height())


class ProgressStrip(QFrame):
    """Says what is being done and how far it is; Esc stops it."""

    def __init__(self, background: Background, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("role", "strip")
        self.setAccessibleName(_("Work on its way"))
        self._jobs: list[Job] = []
        self.text = _GivingWay()
        self.text.setAccessibleName(_("What is being done"))
        self.bar = QProgressBar()
        self.bar.setAccessibleName(_("How far it is"))
        self.bar.setTextVisible(False)
        self.bar.setFixedWidth(240)
        stop = QPushButton(_("Stop  Esc"))
        stop.setAccessibleName(_("Stop the work"))
        set_role(stop, "link")
        stop.clicked.connect(self.stop)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(32, 4, 32, 4)
        layout.setSpacing(16)
        layout.addWidget(self.text)
        layout.addWidget(self.bar)
        layout.addStretch(1)
        layout.addWidget(stop)
        self._esc = QShortcut(QKeySequence("Esc"), self)
        self._esc.setEnabled(False)
        self._esc.activated.connect(self.stop)
        self._wait = _timer(self, SHOW_AFTER_MS)
        self._wait.timeout.connect(self._appear)
        background.started.connect(self._on_started)
        background.progressed.connect(self._on_progressed)
        background.ended.connect(self._on_ended)
        self.hide()

    def stop(self) -> None:
        """Ask the work that is shown to stop."""
        if self._jobs:
            self._jobs[-1].stop()

    def _on_started(self, job: Job) -> None:
        if job.what:
            self._jobs.append(job)
            self._show_job()
            if not self.isVisible():
                self._wait.start()

    def _on_progressed(self, job: Job) -> None:
        if self._jobs and job is self._jobs[-1]:
            self._show_job()

    def _on_ended(self, job: Job) -> None:
        if job in self._jobs:
            self._jobs.remove(job)
        if self._jobs:
            self._show_job()
        else:
            self._wait.stop()
            self._esc.setEnabled(False)
            self.hide()

    def _appear(self) -> None:
        if self._jobs:
            self._esc.setEnabled(True)
            self.show()

    def _show_job(self) -> None:
        job = self._jobs[-1]
        self.text.setText(f"{job.what} …" if not job.step_what else job.step_what)
        self.bar.setRange(0, job.steps)
        self.bar.setValue(job.step_done)


class QuietBar(QFrame):
    """Says what was saved and offers the way back.

    Signals
    -------
    undo_changed(Said)
        What the menu's undo takes back now; None for nothing.
    """

    undo_changed = Signal(object)

    def __init__(self, messages: Messages, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("role", "strip")
        self.setAccessibleName(_("What was saved"))
        self._said: Said | None = None
        self.text = _GivingWay()
        self.text.setAccessibleName(_("What was saved, in words"))
        self.undo_button = QPushButton(_("&Undo"))
        set_role(self.undo_button, "link")
        self.undo_button.clicked.connect(self.undo)
        hide = QPushButton(_("Hide"))
        hide.setAccessibleName(_("Hide what was saved"))
        set_role(hide, "link")
        hide.clicked.connect(self.hide)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(32, 4, 32, 4)
        layout.setSpacing(16)
        layout.addWidget(self.text)
        layout.addWidget(self.undo_button)
        layout.addStretch(1)
        layout.addWidget(hide)
        self._leave = _timer(self, HIDE_AFTER_MS)
        self._leave.timeout.connect(self.hide)
        messages.said_quietly.connect(self.say)
        self.hide()

    def say(self, said: Said) -> None:
        """Show a quiet word."""
        self._said = said
        self.text.setText(said.text)
        self.text.setToolTip(said.text)
        self.undo_button.setVisible(said.undo is not None)
        self.undo_changed.emit(said if said.undo is not None else None)
        self.show()
        self._leave.start()

    def undo(self) -> None:
        """Take back what was said last."""
        said, self._said = self._said, None
        if said is not None and said.undo is not None:
            self.undo_changed.emit(None)
            self.undo_button.hide()
            said.undo()
