"""How the database is kept safe: the backups there are, putting one back, looking through everything."""

from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QAbstractItemView, QLabel, QListWidget, QPushButton, QVBoxLayout, QWidget

from wearlog.window.flow import FlowLayout
from wearlog.window.settings.keeping_traffic import KeepingTraffic
from wearlog.window.settings.value_words import size_text
from wearlog.window.theme import set_role
from wearlog.workshop.keeping_snapshot import KeptBackup, VerifySnapshot

#: Rows of a list that are seen at once; more scroll.
_MOST_ROWS = 8


class KeepingBlock(QWidget):
    """Backups made by themselves, and a look through the database.

    Signals
    -------
    restore_wanted(KeptBackup)
        A backup is to be put in the place of the database.
    """

    restore_wanted = Signal(object)

    def __init__(self, traffic: KeepingTraffic) -> None:
        super().__init__()
        self._traffic = traffic
        self._backups: tuple[KeptBackup, ...] = ()
        heading = QLabel(_("Backups made by themselves"))
        set_role(heading, "strong")
        self.about = _muted(
            _(
                "One a day when wearlog starts or closes and something has changed: all of two days are kept,"
                " then one a day for two weeks and one a week for three months."
            )
        )
        self.list = _list(_("Backups"))
        self.list.itemSelectionChanged.connect(self._show_deeds)
        self.list.itemActivated.connect(lambda _item: self._want_restore())
        self.none = _muted(_("No backup yet."))
        self.more = _link(_("&Make one now"), self._traffic.back_up)
        self.put_back = _link(_("&Put the chosen one back …"), self._want_restore)
        checking = QLabel(_("Is everything in order?"))
        set_role(checking, "strong")
        self.look = _link(_("&Look through the database"), self._verify)
        self.found = _muted(
            _(
                "Looks at the file, the chain of the audit trail, every row against the trail, and for"
                " records that contradict each other. Nothing is changed."
            )
        )
        self.findings = _list(_("What was found"))
        self.findings.setWordWrap(True)
        self.findings.hide()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(8)
        for widget in (heading, self.about, self.none, self.list):
            layout.addWidget(widget)
        layout.addLayout(_row(self.more, self.put_back))
        layout.addSpacing(8)
        for widget in (checking, self.found, self.findings):
            layout.addWidget(widget)
        layout.addLayout(_row(self.look))
        traffic.listed.connect(self._show_backups)
        traffic.verified.connect(self._show_found)
        traffic.refused.connect(lambda _error: self.look.setEnabled(True))
        self._show_backups(())

    @property
    def chosen(self) -> KeptBackup | None:
        """The backup that is chosen in the list."""
        row = self.list.currentRow()
        return self._backups[row] if self.list.selectedItems() and 0 <= row < len(self._backups) else None

    def show_for(self, *, is_file: bool) -> None:
        """Show only what a database has: one on a server is backed up there."""
        for widget in (self.about, self.more, self.put_back):
            widget.setVisible(is_file)
        if not is_file:
            self.none.setText(_("A database on a server is backed up with the server’s own means."))

    def _show_backups(self, backups: tuple[KeptBackup, ...]) -> None:
        self._backups = backups
        self.list.clear()
        for backup in backups:
            when = f"{backup.at.astimezone():%Y-%m-%d %H:%M}"
            self.list.addItem(_("{when}   {size}").format(when=when, size=size_text(backup.size_bytes)))
        _fit(self.list)
        self.list.setVisible(bool(backups))
        self.none.setVisible(not backups)
        self._show_deeds()

    def _show_deeds(self) -> None:
        self.put_back.setEnabled(self.chosen is not None)

    def _want_restore(self) -> None:
        backup = self.chosen
        if backup is not None:
            self.restore_wanted.emit(backup)

    def _verify(self) -> None:
        self.look.setEnabled(False)
        self._traffic.verify()

    def _show_found(self, snapshot: VerifySnapshot) -> None:
        self.look.setEnabled(True)
        looked = _("{rows} rows were held against {entries} entries of the trail").format(
            rows=snapshot.rows, entries=snapshot.entries
        )
        if snapshot.is_clean:
            self.found.setText(_("{looked}: nothing found.").format(looked=looked))
        else:
            self.found.setText(
                _("{looked}: {count} findings.").format(looked=looked, count=len(snapshot.findings))
            )
        self.findings.clear()
        self.findings.addItems([str(finding) for finding in snapshot.findings])
        self.findings.addItems([_("Note: {note}").format(note=note) for note in snapshot.notes])
        _fit(self.findings)
        self.findings.setVisible(self.findings.count() > 0)


def _muted(text: str) -> QLabel:
    label = QLabel(text)
    label.setWordWrap(True)
    set_role(label, "muted")
    return label


def _link(text: str, deed: object) -> QPushButton:
    button = QPushButton(text)
    button.setAccessibleName(text.replace("&", "").removesuffix(" …"))
    set_role(button, "link")
    button.clicked.connect(deed)
    return button


def _list(name: str) -> QListWidget:
    shown = QListWidget()
    shown.setAccessibleName(name)
    shown.setSpacing(3)
    shown.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
    shown.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    return shown


def _fit(shown: QListWidget) -> None:
    """Make a list as high as its rows, up to some."""
    rows = min(max(shown.count(), 1), _MOST_ROWS)
    height = max(shown.sizeHintForRow(0), shown.fontMetrics().height()) + 2 * shown.spacing()
    shown.setFixedHeight(rows * height + 2 * shown.frameWidth() + 4)


def _row(*buttons: QPushButton) -> FlowLayout:
    deeds = FlowLayout(spacing=16)
    for button in buttons:
        deeds.addWidget(button)
    return deeds
