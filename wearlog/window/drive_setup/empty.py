"""What the drive set-up page says while nothing can be planned."""

from gettext import gettext as _

from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from wearlog.window.theme import set_role


class EmptySetup(QWidget):
    """Says why nothing can be planned, and what to do about it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title, self.text = QLabel(), QLabel()
        set_role(self.title, "title")
        set_role(self.text, "muted")
        self.title.setAccessibleName(_("Why there is no set-up"))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 16, 0, 0)
        layout.setSpacing(8)
        for label in (self.title, self.text):
            label.setWordWrap(True)
            layout.addWidget(label)
        layout.addStretch(1)

    def say(self, title: str, text: str) -> None:
        """Say why there is nothing."""
        self.title.setText(title)
        self.text.setText(text)
