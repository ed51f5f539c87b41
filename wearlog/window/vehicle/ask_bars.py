"""What is asked before a vehicle is retired, a stage taken off service or a template kept."""

from abc import abstractmethod
from datetime import date
from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QComboBox, QFrame, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from wearlog.drawing.setup_words import removal_text
from wearlog.fleet.fitting import RemovalReason
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.window.fields import DateField, EntryField, FieldNote
from wearlog.window.flow import FlowLayout
from wearlog.window.settings.form import Labelled
from wearlog.window.theme import set_role
from wearlog.window.vehicle.fields import shrinking
from wearlog.workshop.vehicles_draft import TakenOff

#: Why a stage goes off service; a part that is worn is replaced elsewhere.
_REASONS = (RemovalReason.CONVERSION, RemovalReason.DAMAGED, RemovalReason.WORN, RemovalReason.OTHER)


class AskBar(QFrame):
    """A few questions under the heading, with one way on and one back.

    Signals
    -------
    confirmed()
        All questions are answered.
    left()
        It is not to be done.
    """

    confirmed = Signal()
    left = Signal()

    def __init__(self, name: str, action: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("role", "panel")
        self.setAccessibleName(name)
        self.what = QLabel()
        self.what.setWordWrap(True)
        self.what.setAccessibleName(_("What is asked"))
        self.said = FieldNote()
        self.said.setAccessibleName(_("Problems of it"))
        self.said.hide()
        self.row = FlowLayout(spacing=16)
        self.go = QPushButton(action)
        self.go.setAccessibleName(action.replace("&", ""))
        self.go.setToolTip("Ctrl+Enter")
        self.cancel = QPushButton(_("Ca&ncel"))
        self.cancel.setAccessibleName(_("Cancel"))
        self.cancel.setToolTip("Esc")
        self.go.clicked.connect(self.confirm)
        self.cancel.clicked.connect(self.left)
        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        buttons.addWidget(self.go)
        buttons.addWidget(self.cancel)
        buttons.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 8, 16, 12)
        layout.setSpacing(8)
        layout.addWidget(self.what)
        layout.addLayout(self.row)
        layout.addWidget(self.said)
        layout.addLayout(buttons)
        self._labelled: list[Labelled] = []
        self.hide()

    def ask(self, caption: str, field: QWidget, width_px: int) -> None:
        """Add a question."""
        self._labelled.append(Labelled(caption, field, width_px))
        self.row.addWidget(self._labelled[-1])

    def open(self, text: str) -> None:
        """Ask."""
        self.what.setText(text)
        self.show_problems(())
        self.show()
        self.first.setFocus(Qt.FocusReason.TabFocusReason)

    @property
    @abstractmethod
    def first(self) -> QWidget:
        """Where the answers begin."""

    def typed_problems(self) -> tuple[Problem, ...]:
        """Return what can't be understood or is missing."""
        return ()

    def confirm(self) -> None:
        """Go on if every question is answered."""
        wrong = self.typed_problems()
        self.show_problems(wrong)
        if not wrong:
            self.confirmed.emit()

    def show_problems(self, problems: tuple[Problem, ...]) -> None:
        """Say why it is not done."""
        self.said.show_problems(problems)
        self.said.setVisible(bool(problems))

    def refuse(self, error: WearlogError) -> None:
        """Say why it was not done; what was answered stays."""
        self.show_problems(error.problems)

    def take_look(self) -> None:
        """Follow the text size."""
        for labelled in self._labelled:
            labelled.take_look()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter goes on, Ctrl+Enter confirms, Esc leaves."""
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
                self.confirm()
            else:
                self.focusNextChild()
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)


class _DayBar(AskBar):
    """Asks since when."""

    def __init__(self, name: str, action: str) -> None:
        super().__init__(name, action)
        self.day = DateField(_("Day"), date.min)
        self.ask(_("Since"), self.day, 128)

    @property
    def first(self) -> QWidget:
        """The day."""
        return self.day

    def start(self, today: date, text: str) -> None:
        """Ask, as of today."""
        self.day.today = today
        self.day.set_day(today)
        self.open(text)

    def typed_problems(self) -> tuple[Problem, ...]:
        """Return what is wrong with the day."""
        if self.day.problem is not None:
            return (self.day.problem,)
        if self.day.day is None:
            return (Problem(_("The day is missing."), "on", _("Give the day, for example today.")),)
        return ()

    @property
    def on(self) -> date:
        """The day."""
        return self.day.day or self.day.today


class RetireBar(_DayBar):
    """Asks since when and why a vehicle goes out of service."""

    def __init__(self) -> None:
        super().__init__(_("Retire the vehicle"), _("Retire it"))
        self.reason = EntryField(_("Reason"))
        self.reason.setPlaceholderText(_("for example sold, written off"))
        self.ask(_("Reason"), self.reason, 320)

    def start(self, today: date, text: str) -> None:
        """Ask, as of today."""
        self.reason.clear()
        super().start(today, text)


class StageOffBar(_DayBar):
    """Asks since when and why a stage goes off service."""

    def __init__(self) -> None:
        super().__init__(_("Take the stage off service"), _("Take it off"))
        self.reason = shrinking(QComboBox())
        for reason in _REASONS:
            self.reason.addItem(removal_text(reason), reason)
        self.ask(_("Why the parts come off"), self.reason, 176)
        self.key = 0

    @property
    def end(self) -> TakenOff:
        """What was answered."""
        return TakenOff(on=self.on, reason=RemovalReason(self.reason.currentData()))


class TemplateBar(AskBar):
    """Asks under which name a template is kept."""

    def __init__(self) -> None:
        super().__init__(_("Keep as a template"), _("Keep the template"))
        self.name = EntryField(_("Name of the template"))
        self.ask(_("Name of the template"), self.name, 320)

    @property
    def first(self) -> QWidget:
        """The name."""
        return self.name


class ContactBar(AskBar):
    """Asks before the owner's contact is erased, which can't be undone."""

    def __init__(self) -> None:
        super().__init__(_("Erase the owner’s contact"), _("Erase it for good"))
        set_role(self.go, "quiet")

    @property
    def first(self) -> QWidget:
        """The way back: nothing is erased by one key too many."""
        return self.cancel
