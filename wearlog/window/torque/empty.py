"""What the torque page says while there is no sheet: what to do first, and the sheet to start from."""

from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QLabel, QPushButton, QVBoxLayout, QWidget

from wearlog.drawing.cautions import maker_caution
from wearlog.window.theme import scaled, set_role
from wearlog.workshop.torque_snapshot import TorqueSnapshot


class EmptySheet(QWidget):
    """Says why nothing is shown, and offers a way on.

    Signals
    -------
    start_wanted(str)
        A sheet is to be started from the template of this name; empty for one without fasteners.
    """

    start_wanted = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.says = QLabel()
        self.says.setWordWrap(True)
        self.says.setAccessibleName(_("Why the page is empty"))
        self.about = QLabel()
        self.about.setWordWrap(True)
        set_role(self.about, "muted")
        self.offers = QVBoxLayout()
        self.offers.setSpacing(8)
        self.buttons: list[QPushButton] = []
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.setSpacing(16)
        layout.addWidget(self.says)
        layout.addWidget(self.about)
        layout.addLayout(self.offers)
        layout.addStretch(1)

    def show_snapshot(self, snapshot: TorqueSnapshot | None) -> None:
        """Say what is missing for a vehicle, or that none is chosen."""
        for button in self.buttons:
            self.offers.removeWidget(button)
            button.hide()
            button.deleteLater()
        self.buttons = []
        self.about.setMaximumWidth(scaled(640))
        if snapshot is None:
            self.says.setText(_("Choose a vehicle in the fleet to see how tight its fasteners belong."))
            self.about.setText(_("Ctrl+L goes to the fleet; typing a tag finds it."))
            return
        self.says.setText(_("{tag} has no torque sheet yet.").format(tag=snapshot.tag))
        whose = (
            _("It will count for every vehicle of model {model}.").format(model=snapshot.model)
            if snapshot.model
            else _("It will count for this vehicle alone, as its model is not recorded.")
        )
        start = _(
            "The sheet to start from holds values of common practice, without a source. Put the maker’s "
            "values in their place as soon as they are at hand."
        )
        self.about.setText(" ".join((*([start] if snapshot.templates else []), whose, maker_caution())))
        for key, name in snapshot.templates:
            self._offer(_("&Start from: {name}").format(name=name), key, "primary")
        role = "" if snapshot.templates else "primary"
        self._offer(_("Start with an &empty sheet"), "", role)

    def focus_first(self) -> None:
        """Put the focus on the first way on."""
        if self.buttons:
            self.buttons[0].setFocus(Qt.FocusReason.OtherFocusReason)

    def _offer(self, text: str, key: str, role: str) -> None:
        button = QPushButton(text)
        button.setAccessibleName(text.replace("&", ""))
        if role:
            set_role(button, role)
        button.clicked.connect(lambda _checked=False, key=key: self.start_wanted.emit(key))
        self.buttons.append(button)
        self.offers.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)
