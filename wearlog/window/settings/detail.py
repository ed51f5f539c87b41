"""Under a list: the chosen line in words, and what can be done with it."""

from collections.abc import Callable
from gettext import gettext as _

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QPushButton, QVBoxLayout, QWidget

from wearlog.window.flow import FlowLayout
from wearlog.window.theme import set_role

#: What is offered: the words of the button, and what to call.
Deed = tuple[str, Callable[[], None]]


class Detail(QWidget):
    """The chosen line in words."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.title = QLabel()
        self.title.setWordWrap(True)
        self.title.setAccessibleName(_("Chosen line"))
        set_role(self.title, "title")
        self.text = QLabel()
        self.text.setWordWrap(True)
        self.text.setAccessibleName(_("About the chosen line"))
        self.text.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        set_role(self.text, "muted")
        self._deeds = FlowLayout(spacing=16)
        self.buttons: list[QPushButton] = []
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(8)
        layout.addWidget(self.title)
        layout.addWidget(self.text)
        layout.addLayout(self._deeds)

    def show_words(self, title: str, sentences: tuple[str, ...]) -> None:
        """Show a title and sentences under it."""
        self.title.setText(title)
        self.text.setText("\n".join(sentences))

    def show_deeds(self, deeds: tuple[Deed, ...]) -> None:
        """Offer what can be done; the same words keep their buttons."""
        if [button.text() for button in self.buttons] == [text for text, _slot in deeds]:
            return
        for button in self.buttons:
            self._deeds.removeWidget(button)
            button.hide()
            button.deleteLater()
        self.buttons = []
        for text, slot in deeds:
            button = QPushButton(text)
            button.setAccessibleName(text.replace("&", "").removesuffix(" …"))
            set_role(button, "link")
            button.clicked.connect(lambda _checked=False, slot=slot: slot())
            self._deeds.addWidget(button)
            self.buttons.append(button)
