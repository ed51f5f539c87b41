"""Above the lists: what happened or who changed it, which kinds, and a search."""

from functools import partial
from gettext import gettext as _

from PySide6.QtCore import QSize, Signal
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from wearlog.window import theme
from wearlog.window.flow import FlowLayout
from wearlog.window.history.model import Filter, RecordsModel
from wearlog.window.theme import scaled, set_role


def filter_text(wanted: Filter) -> str:
    """Return what a filter is called."""
    return {
        Filter.ALL: _("Everything"),
        Filter.VISITS: _("Visits"),
        Filter.READINGS: _("Readings"),
        Filter.METER: _("Meter"),
        Filter.PARTS: _("Parts"),
        Filter.TORQUES: _("Torques"),
        Filter.SETUP: _("Set-up"),
    }[wanted]


class HistoryHead(QWidget):
    """The switch between the two lists, the filters of the first, and the search of both.

    Signals
    -------
    turned(bool)
        Whether the trail is wanted.
    filtered(Filter), searched(str)
        What is to be shown.
    """

    turned = Signal(bool)
    filtered = Signal(object)
    searched = Signal(str)

    def __init__(self, model: RecordsModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self.happened = _Tab(_("What happened"))
        self.trail = _Tab(_("Who changed it"))
        self.trail.setAccessibleDescription(_("The trail: who changed what, when, from what to what"))
        tabs = QButtonGroup(self)
        for tab in (self.happened, self.trail):
            tabs.addButton(tab)
        self.happened.setChecked(True)
        self.trail.toggled.connect(self._on_turned)
        self.filters: dict[Filter, QPushButton] = {}
        group = QButtonGroup(self)
        self.row = QWidget()
        row = FlowLayout(self.row, spacing=16)
        for wanted in Filter:
            button = QPushButton(filter_text(wanted))
            button.setCheckable(True)
            set_role(button, "count")
            button.clicked.connect(partial(self._choose, wanted))
            group.addButton(button)
            row.addWidget(button)
            self.filters[wanted] = button
        self.filters[Filter.ALL].setChecked(True)
        self.words = QLineEdit()
        self.words.setPlaceholderText(_("Search"))
        self.words.setAccessibleName(_("Search the history"))
        self.words.setClearButtonEnabled(True)
        self.words.textChanged.connect(self.searched)
        self.count = QLabel()
        self.count.setAccessibleName(_("How many are shown"))
        set_role(self.count, "muted")
        first = QHBoxLayout()
        first.setSpacing(24)
        first.addWidget(self.happened)
        first.addWidget(self.trail)
        first.addStretch(1)
        first.addWidget(self.count)
        first.addWidget(self.words, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addLayout(first)
        layout.addWidget(self.row)
        self.take_look()

    def take_look(self) -> None:
        """Follow the text size."""
        self.words.setMinimumWidth(scaled(72))
        self.words.setMaximumWidth(scaled(200))

    def show_counts(self) -> None:
        """Say how many records each filter leaves; those of none can't be chosen."""
        for wanted, button in self.filters.items():
            count = self._model.count_of(wanted)
            button.setText(f"{filter_text(wanted)} {count}")
            button.setAccessibleName(_("{kind}, {n} records").format(kind=filter_text(wanted), n=count))
            button.setEnabled(bool(count) or wanted is Filter.ALL)

    def say_count(self, shown: int, total: int) -> None:
        """Say how many lines the search leaves."""
        self.count.setText("" if shown == total else _("{n} of {all}").format(n=shown, all=total))

    def choose(self, wanted: Filter) -> None:
        """Choose a filter."""
        self.filters[wanted].setChecked(True)
        self._choose(wanted)

    def _choose(self, wanted: Filter, *_checked: bool) -> None:
        self.filtered.emit(wanted)

    def _on_turned(self, is_trail: bool) -> None:
        self.row.setVisible(not is_trail)
        self.turned.emit(is_trail)


class _Tab(QPushButton):
    """A switch that has room for its bold text, so that nothing moves when it is chosen."""

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.setCheckable(True)
        self.setAccessibleName(text)
        set_role(self, "tab")

    def sizeHint(self) -> QSize:
        """Return the size with bold text."""
        hint = super().sizeHint()
        width = QFontMetrics(theme.font(bold=True)).horizontalAdvance(self.text())
        return QSize(max(hint.width(), width + 8), hint.height())
