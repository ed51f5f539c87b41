"""A list of agreements with a field to search it; the chosen line is explained under it."""

from gettext import gettext as _
from typing import Any

from PySide6.QtCore import QItemSelectionModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QPalette, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from wearlog.window import theme
from wearlog.window.settings.model import LedgerModel
from wearlog.window.theme import colours, scaled, set_role

#: Height of a line, and the least height of the list, [px] at plain text size.
LINE_PX, LEAST_PX = 28, 150
#: What brings cells under their heads: left of the first column, of the others, and right, [px].
INSETS_PX = (5, -3, 5)
#: From this width on the last column takes the rest, and the one that did is as wide as this, [px].
WIDE_PX, FIRST_PX = 1200, 264


class _Cells(QStyledItemDelegate):
    """Writes a cell; what is wrong in the colour of problems, what no longer counts muted."""

    def initStyleOption(
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        super().initStyleOption(option, index)
        model = index.model()
        row = model.row_at(index.row()) if isinstance(model, LedgerModel) else None
        if row is None:
            return
        shown: Any = option
        wanted = colours().problem if row.is_problem else colours().muted if row.is_quiet else ""
        if wanted:
            for role in (QPalette.ColorRole.Text, QPalette.ColorRole.HighlightedText):
                shown.palette.setColor(role, QColor(wanted))
        shown.textElideMode = Qt.TextElideMode.ElideRight

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        """Write the cell right under its head, with air between a number and the words beside it."""
        shown: Any = option
        if shown.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(shown.rect, QColor(colours().raised))
        first, others, right = INSETS_PX
        shown.rect = shown.rect.adjusted(others if index.column() else first, 0, -right, 0)
        super().paint(painter, option, index)


class LedgerView(QTableView):
    """The list itself.

    Signals
    -------
    change_wanted(), adding_wanted(), taking_out_wanted()
        Enter or F2, Insert, Delete on the chosen line.
    """

    change_wanted = Signal()
    adding_wanted = Signal()
    taking_out_wanted = Signal()

    def __init__(
        self,
        name: str,
        model: LedgerModel,
        widths: tuple[int, ...],
        needed: dict[int, int],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._widths = widths
        self._needed = needed
        self.setModel(model)
        self.setItemDelegate(_Cells(self))
        self.setAccessibleName(name)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTabKeyNavigation(False)
        self.setCornerButtonEnabled(False)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.verticalHeader().setMinimumSectionSize(8)
        head = self.horizontalHeader()
        head.setHighlightSections(False)
        head.setSectionsClickable(False)
        head.setMinimumSectionSize(24)
        self.doubleClicked.connect(lambda _index: self.change_wanted.emit())
        self.size_columns()

    def size_columns(self) -> None:
        """Give the columns their widths; those that matter least leave where there is no room."""
        self.setMinimumHeight(scaled(LEAST_PX))
        self.verticalHeader().setDefaultSectionSize(scaled(LINE_PX))
        head = self.horizontalHeader()
        room = self.viewport().width() / theme.text_scale()
        is_wide = room >= WIDE_PX
        rest = len(self._widths) - 1 if is_wide else self._widths.index(0)
        for column, width in enumerate(self._widths):
            self.setColumnHidden(column, room < self._needed.get(column, 0))
            if column == rest:
                head.setSectionResizeMode(column, QHeaderView.ResizeMode.Stretch)
            else:
                head.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
                head.resizeSection(column, scaled((width or FIRST_PX) * self._growth(room)))
        head.setFixedHeight(scaled(28))

    def _growth(self, room: float) -> float:
        # In a wide window every column breathes, not only the one that takes the rest.
        return min(max(room / 960.0, 1.0), 1.3)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Change with Enter or F2, add with Insert, take out with Delete."""
        key = Qt.Key(event.key())
        if key in {Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_F2} and not (
            event.modifiers() & Qt.KeyboardModifier.ControlModifier
        ):
            self.change_wanted.emit()
        elif key == Qt.Key.Key_Insert:
            self.adding_wanted.emit()
        elif key == Qt.Key.Key_Delete:
            self.taking_out_wanted.emit()
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let columns come and go."""
        super().resizeEvent(event)
        self.size_columns()


class Ledger(QWidget):
    """The list with its search.

    Signals
    -------
    chosen(int)
        The number of the record that is chosen; 0 for none.
    """

    chosen = Signal(int)

    def __init__(
        self, name: str, model: LedgerModel, widths: tuple[int, ...], needed: dict[int, int], counted: str
    ) -> None:
        super().__init__()
        self.model = model
        self._counted = counted
        self._chosen = 0
        self.words = QLineEdit()
        self.words.setAccessibleName(_("Search: {list}").format(list=name))
        self.words.setPlaceholderText(_("Search"))
        self.words.setClearButtonEnabled(True)
        self.words.setMaximumWidth(scaled(280))
        self.words.textChanged.connect(model.search)
        self.count = QLabel()
        self.count.setAccessibleName(_("How many are shown"))
        set_role(self.count, "muted")
        self.view = LedgerView(name, model, widths, needed)
        row = QHBoxLayout()
        row.setSpacing(16)
        row.addWidget(self.words, 1)
        row.addWidget(self.count)
        row.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(8)
        layout.addLayout(row)
        layout.addWidget(self.view, 1)
        model.narrowed.connect(self._on_narrowed)
        self.view.selectionModel().currentChanged.connect(self._on_current)

    @property
    def chosen_key(self) -> int:
        """The number of the record that is chosen; 0 for none."""
        return self._chosen

    def choose(self, key: int) -> None:
        """Choose the line of a record."""
        place = self.model.place_of(key)
        if place is None:
            return
        flags = QItemSelectionModel.SelectionFlag.ClearAndSelect | QItemSelectionModel.SelectionFlag.Rows
        self.view.selectionModel().setCurrentIndex(self.model.index(place, 0), flags)
        self.view.scrollTo(self.model.index(place, 0))

    def _on_current(self, current: QModelIndex, _previous: QModelIndex) -> None:
        row = self.model.row_at(current.row()) if current.isValid() else None
        self._tell(row.key if row is not None else 0)

    def _on_narrowed(self) -> None:
        shown, total = self.model.rowCount(), self.model.total
        text = self._counted.format(n=total)
        self.count.setText(text if shown == total else _("{n} of {all}").format(n=shown, all=text))
        kept = self._chosen
        if self.model.place_of(kept) is not None:
            self.choose(kept)
            self._tell(kept)
        elif shown:
            first = self.model.row_at(0)
            self.choose(first.key if first is not None else 0)
        else:
            self._tell(0)

    def _tell(self, key: int) -> None:
        self._chosen = key
        self.chosen.emit(key)
