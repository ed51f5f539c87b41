"""Where the data are, how much there is, and how a copy is made."""

from gettext import gettext as _
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFileDialog, QGridLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.units import show
from wearlog.window.bench_keys import put_focus
from wearlog.window.flow import FlowLayout
from wearlog.window.settings.keeping import KeepingBlock
from wearlog.window.settings.keeping_traffic import KeepingTraffic
from wearlog.window.settings.model import SettingsModel
from wearlog.window.settings.traffic import SettingsTraffic
from wearlog.window.settings.value_words import capital, size_text
from wearlog.window.theme import set_role
from wearlog.workshop.agree_snapshot import DatabaseFacts


class DatabaseSection(QWidget):
    """The database: facts, back-up, another one.

    Signals
    -------
    other_wanted()
        Another database is to be opened.
    restore_wanted(KeptBackup)
        A backup is to be put in the place of this one.
    """

    other_wanted = Signal()
    restore_wanted = Signal(object)

    def __init__(self, model: SettingsModel, traffic: SettingsTraffic, keeping: KeepingTraffic) -> None:
        super().__init__()
        self._keeping = keeping
        self.safe = KeepingBlock(keeping)
        self.safe.restore_wanted.connect(self.restore_wanted)
        self._model = model
        self._traffic = traffic
        self.address = QLabel()
        self.address.setAccessibleName(_("Address of the database"))
        self.address.setWordWrap(True)
        self.address.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        set_role(self.address, "title")
        self.about = QLabel()
        self.about.setWordWrap(True)
        self.about.setAccessibleName(_("About the database"))
        set_role(self.about, "muted")
        self.counts = QGridLayout()
        self.counts.setHorizontalSpacing(16)
        self.counts.setVerticalSpacing(4)
        self.counts.setColumnStretch(2, 1)
        self.other = QPushButton(_("&Open another database …"))
        self.other.setAccessibleName(_("Open another database"))
        set_role(self.other, "link")
        self.other.clicked.connect(self.other_wanted)
        self.why = QLabel(
            _(
                "A copy is made while work goes on and is checked before it gets its name."
                " Keep it on another disk."
            )
        )
        self.why.setWordWrap(True)
        set_role(self.why, "muted")
        deeds = FlowLayout(spacing=16)
        deeds.addWidget(self.other)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(12)
        layout.addWidget(self.address)
        layout.addWidget(self.about)
        layout.addLayout(self.counts)
        layout.addSpacing(8)
        layout.addWidget(self.why)
        layout.addLayout(deeds)
        layout.addSpacing(16)
        layout.addWidget(self.safe)
        layout.addStretch(1)
        model.shown_anew.connect(self._show_anew)

    def focus_first(self) -> None:
        """Start at opening another one."""
        put_focus(self.other)

    def take_look(self) -> None:
        """Follow the text size: nothing here has a width of its own."""

    def ask_target(self) -> None:
        """Ask where the copy goes, and make it."""
        snapshot = self._model.snapshot
        if snapshot is None:
            return
        name = f"wearlog-{snapshot.today.isoformat()}.sqlite"
        chosen, _kind = QFileDialog.getSaveFileName(
            self,
            _("Back up the database"),
            name,
            _("wearlog databases (*.sqlite)"),
            options=QFileDialog.Option.DontConfirmOverwrite,
        )
        if chosen:
            self.back_up(Path(chosen))

    def back_up(self, target: Path) -> None:
        """Copy the database to a new file."""
        self._traffic.back_up(target if target.suffix else target.with_suffix(".sqlite"))

    def _show_anew(self) -> None:
        snapshot = self._model.snapshot
        if snapshot is None:
            return
        facts = snapshot.database
        self.address.setText(facts.address)
        self.about.setText(_about(facts))
        self.safe.show_for(is_file=facts.is_file)
        self._keeping.load()
        while (item := self.counts.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        for row, (words, n) in enumerate(facts.counts):
            label, number = QLabel(capital(words)), QLabel(show(float(n), Quantity.COUNT, ShownUnits()))
            set_role(label, "muted")
            number.setAlignment(Qt.AlignmentFlag.AlignRight)
            number.setAccessibleName(capital(words))
            self.counts.addWidget(label, row, 0)
            self.counts.addWidget(number, row, 1)


def _about(facts: DatabaseFacts) -> str:
    if facts.size_bytes is not None:
        return _("A file of {size} · schema {schema}").format(
            size=size_text(facts.size_bytes), schema=facts.schema
        )
    if "://" in facts.address:
        return _("On a server, where it is backed up with the server’s own means · schema {schema}").format(
            schema=facts.schema
        )
    return _("In memory, gone when the window closes · schema {schema}").format(schema=facts.schema)
