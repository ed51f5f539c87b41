"""Lists to choose from: words beside what they mean, changed only by the person."""

from collections.abc import Iterable

from PySide6.QtCore import Signal
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QComboBox

from wearlog.window.vehicle.fields import shrinking


class Choice(QComboBox):
    """A list of words, each standing for a value; a wheel that passes over it changes nothing.

    Signals
    -------
    picked(object)
        The person chose another value.
    """

    picked = Signal(object)

    def __init__(self, name: str, *, is_free: bool = False) -> None:
        super().__init__()
        self.setAccessibleName(name)
        self.setEditable(is_free)
        shrinking(self)
        if is_free:
            self.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
            if (line := self.lineEdit()) is not None:
                line.setAccessibleName(name)
                line.editingFinished.connect(self._on_typed)
        self.activated.connect(self._on_activated)
        self._told: object = None

    def offer(self, choices: Iterable[tuple[object, str]], chosen: object) -> None:
        """Offer other values, one of them chosen; a free text need not be among them."""
        wanted = list(choices)
        now = [(self.itemData(n), self.itemText(n)) for n in range(self.count())]
        self._told = chosen
        blocked = self.blockSignals(True)
        if now != wanted:
            self.clear()
            for value, text in wanted:
                self.addItem(text, value)
        place = next((n for n, (value, _text) in enumerate(wanted) if value == chosen), -1)
        self.setCurrentIndex(place)
        line = self.lineEdit()
        if line is not None and not line.hasFocus():
            self.setEditText(wanted[place][1] if place >= 0 else str(chosen or ""))
        self.blockSignals(blocked)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Let the page scroll."""
        event.ignore()

    def _on_activated(self, number: int) -> None:
        self._tell(self.itemData(number))

    def _on_typed(self) -> None:
        text = self.currentText().strip()
        place = self.findText(text)
        self._tell(self.itemData(place) if place >= 0 else text)

    def _tell(self, value: object) -> None:
        if value != self._told:
            self._told = value
            self.picked.emit(value)
