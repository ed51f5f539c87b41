"""What was recorded at a fastener: the last record and those before it, each to be voided with a reason."""

from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from wearlog.drawing.torque_words import applied_text
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.torque import TorqueRecord, TorqueWork
from wearlog.window.bench_keys import put_focus
from wearlog.window.fields import EntryField
from wearlog.window.theme import set_role
from wearlog.wording import day_text
from wearlog.workshop.torque_snapshot import FastenerLine

#: So many earlier records are listed; all of them stand in the history of the vehicle.
MOST_SHOWN = 4


def record_text(record: TorqueRecord, shown: ShownUnits) -> str:
    """Return a record in a line."""
    text = _("{day}: {applied}").format(day=day_text(record.on), applied=applied_text(record, shown))
    if record.work is TorqueWork.RECHECKED:
        text = _("{text}, re-checked").format(text=text)
    return _("{text}, by {by}").format(text=text, by=record.by) if record.by else text


class EarlierRecords(QWidget):
    """Records of the chosen fastener, and the way to void the last one.

    Signals
    -------
    void_wanted(TorqueRecord, str)
        A record should no longer count, and why.
    """

    void_wanted = Signal(object, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._record: TorqueRecord | None = None
        self.before = QLabel()
        self.before.setWordWrap(True)
        self.before.setAccessibleName(_("Earlier records"))
        set_role(self.before, "muted")
        self.void = QPushButton(_("&Void the last one …"))
        self.void.setAccessibleName(_("Void the last record"))
        set_role(self.void, "link")
        self.void.clicked.connect(self.ask)
        self.reason = EntryField(_("Why the record should no longer count"))
        self.reason.setPlaceholderText(_("reason"))
        self.confirm = QPushButton(_("Void it"))
        self.confirm.setAccessibleName(_("Void it with this reason"))
        self.confirm.clicked.connect(self._on_confirm)
        self.asked = QWidget()
        row = QHBoxLayout(self.asked)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(self.reason, 1)
        row.addWidget(self.confirm)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addWidget(self.before)
        layout.addWidget(self.void)
        layout.addWidget(self.asked)
        self.asked.hide()

    def show_line(self, line: FastenerLine | None, shown: ShownUnits) -> None:
        """Show the records of a fastener; a reason that is being typed stays while its record does."""
        record = None if line is None else line.last
        if record != self._record:
            self._record = record
            self.reason.clear()
            self.asked.hide()
        self.void.setVisible(record is not None and self.asked.isHidden())
        earlier = () if line is None else line.earlier
        said = [record_text(one, shown) for one in earlier[:MOST_SHOWN]]
        if len(earlier) > MOST_SHOWN:
            said.append(_("and {n} before that").format(n=len(earlier) - MOST_SHOWN))
        text = _("Earlier: {records}").format(records="\n".join(said)) if said else ""
        self.before.setText(text)
        self.before.setVisible(bool(text))

    def ask(self) -> None:
        """Ask for the reason."""
        if self._record is not None:
            self.void.hide()
            self.asked.show()
            put_focus(self.reason)

    def _on_confirm(self) -> None:
        reason = self.reason.text().strip()
        if self._record is None:
            return
        if not reason:
            # Nothing is voided without a reason.
            self.reason.mark_problem(True)
            put_focus(self.reason)
            return
        self.void_wanted.emit(self._record, reason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter voids, Esc leaves it."""
        if self.asked.isVisible() and event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            self._on_confirm()
        elif self.asked.isVisible() and event.key() == Qt.Key.Key_Escape:
            self.asked.hide()
            self.void.show()
            put_focus(self.void)
        else:
            super().keyPressEvent(event)
