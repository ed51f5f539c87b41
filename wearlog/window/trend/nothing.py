"""What stands on the wear trend page while there is no trend."""

from gettext import gettext as _

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QPushButton, QVBoxLayout, QWidget

from wearlog.window.theme import set_role


class Nothing(QWidget):
    """What stands here while there is no trend: why, and what to do first."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title, self.text = QLabel(), QLabel()
        set_role(self.title, "title")
        set_role(self.text, "muted")
        for label in (self.title, self.text):
            label.setWordWrap(True)
        self.title.setAccessibleName(_("Why there is no trend"))
        self.button = QPushButton()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 24, 0, 0)
        layout.setSpacing(8)
        layout.addWidget(self.title)
        layout.addWidget(self.text)
        layout.addSpacing(8)
        layout.addWidget(self.button, 0, Qt.AlignmentFlag.AlignLeft)
        layout.addStretch(1)

    def say(self, title: str, text: str, offer: str = "") -> None:
        """Say why there is nothing, and offer a way on."""
        self.title.setText(title)
        self.text.setText(text)
        self.button.setText(offer)
        self.button.setVisible(bool(offer))
