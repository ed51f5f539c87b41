"""The keys of the bench: Enter goes on, Shift+Enter back; a number pad is enough."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QCheckBox, QScrollArea, QWidget

from wearlog.window.fields import EntryField

_ENTER = {Qt.Key.Key_Return, Qt.Key.Key_Enter}


class SpotsField(EntryField):
    """A field for one or several spots; the plus key parts spots, so that a number pad is enough.

    Signals
    -------
    cleaned_wanted()
        The star key: cleaned before measuring, yes or no.
    """

    cleaned_wanted = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Part spots with plus, tell cleaned with star; arrow keys up and down change nothing."""
        if event.text() == "+":
            if self.text()[: self.cursorPosition()].strip():
                self.insert(" ")
        elif event.text() == "*":
            self.cleaned_wanted.emit()
        else:
            super().keyPressEvent(event)


class BenchTick(QCheckBox):
    """A tick that a number pad can set: plus ticks and goes on, minus clears and goes on.

    Signals
    -------
    went_on()
        Ticked or cleared by such a key.
    """

    went_on = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Tick or clear."""
        if event.text() == "+":
            self.setChecked(True)
            self.went_on.emit()
        elif event.text() == "-":
            self.setChecked(False)
            self.went_on.emit()
        else:
            super().keyPressEvent(event)


class EnterWalk(QObject):
    """Walks through the fields of a sheet with Enter and Shift+Enter, and with the arrow keys up and down.

    `stops` is asked anew at every step, because fields come and go. Past the last stop comes `at_end`.
    """

    def __init__(
        self,
        stops: Callable[[], Sequence[QWidget]],
        at_end: Callable[[], None],
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._stops = stops
        self._at_end = at_end
        self._own_enter: list[QWidget] = []

    def watch(self, widget: QWidget, *, has_own_enter: bool = False) -> None:
        """Let the keys work in a widget; one may keep Enter for itself, not Shift+Enter."""
        widget.installEventFilter(self)
        if has_own_enter:
            self._own_enter.append(widget)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take Enter, Shift+Enter and the arrows up and down; wheels change nothing."""
        if event.type() != QEvent.Type.KeyPress or not isinstance(event, QKeyEvent):
            return False
        if not isinstance(watched, QWidget):
            return False
        key = Qt.Key(event.key())
        modifiers = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        if key in _ENTER and modifiers == Qt.KeyboardModifier.NoModifier:
            if watched in self._own_enter:
                return False
            self.go(watched, 1)
        elif key in _ENTER and modifiers == Qt.KeyboardModifier.ShiftModifier:
            self.go(watched, -1)
        elif key in {Qt.Key.Key_Down, Qt.Key.Key_Up} and modifiers == Qt.KeyboardModifier.NoModifier:
            self.go(watched, 1 if key == Qt.Key.Key_Down else -1)
        else:
            return False
        return True

    def go(self, at: QWidget, step: int) -> None:
        """Go to the next stop or the one before; from between the stops too."""
        stops = [stop for stop in self._stops() if stop.isVisible() and stop.isEnabled()]
        if not stops:
            return
        position = _position(at, stops, step)
        if position >= len(stops):
            self._at_end()
        elif position >= 0:
            put_focus(stops[position])


def _position(at: QWidget, stops: Sequence[QWidget], step: int) -> int:
    if at in stops:
        return stops.index(at) + step
    # A widget off the way (a count of pitches, a date): go on from where it stands in the tab order.
    order = at.nextInFocusChain()
    while order is not None and order is not at and order not in stops:
        order = order.nextInFocusChain()
    after = stops.index(order) if order in stops else 0
    return after if step > 0 else after - 1


def put_focus(widget: QWidget) -> None:
    """Put the focus on a widget, select what it holds and bring it into view."""
    widget.setFocus(Qt.FocusReason.TabFocusReason)
    parent = widget.parentWidget()
    while parent is not None:
        if isinstance(parent, QScrollArea):
            parent.ensureWidgetVisible(widget, 0, 48)
        parent = parent.parentWidget()


def focus_is_within(widget: QWidget) -> bool:
    """Whether the focus is on a widget or inside it."""
    now = QApplication.focusWidget()
    return now is not None and (now is widget or widget.isAncestorOf(now))
