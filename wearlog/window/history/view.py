"""The two lists of the history page; what no longer counts is struck through and muted."""

from typing import Any

from PySide6.QtCore import QItemSelectionModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QPalette, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from wearlog.window import theme
from wearlog.window.history.model import RecordsModel
from wearlog.window.theme import colours, scaled

#: Height of a line, and the least height of the list, [px] at plain text size.
LINE_PX, LEAST_PX = 28, 140
#: What brings cells under their heads: left of the first column, of the others, and right, [px].
INSETS_PX = (5, -3, 5)
#: Air between a number and the words beside it, [px].
NUMBER_GAP_PX = 16
#: How much wider columns get in a wide window.
MOST_GROWTH = 1.4


class _Cells(QStyledItemDelegate):
    """Writes a cell; what no longer counts struck through."""

    def initStyleOption(
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        super().initStyleOption(option, index)
        model = index.model()
        row = model.row_at(index.row()) if isinstance(model, RecordsModel) else None
        shown: Any = option
        shown.textElideMode = Qt.TextElideMode.ElideRight
        if row is None or not row.is_void:
            return
        shown.font.setStrikeOut(True)
        for role in (QPalette.ColorRole.Text, QPalette.ColorRole.HighlightedText):
            shown.palette.setColor(role, QColor(colours().muted))

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Write the cell right under its head."""
        shown: Any = option
        if shown.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(shown.rect, QColor(colours().raised))
            if index.column() == 0:
                bar = shown.rect.adjusted(0, 0, 3 - shown.rect.width(), 0)
                painter.fillRect(bar, QColor(colours().accent))
        first, others, right = INSETS_PX
        model = index.model()
        if isinstance(model, RecordsModel) and model.is_number(index.column()):
            right = NUMBER_GAP_PX
        shown.rect = shown.rect.adjusted(others if index.column() else first, 0, -right, 0)
        super().paint(painter, option, index)


class RecordsView(QTableView):
    """A list of records.

    Parameters
    ----------
    name
        Its accessible name.
    model
        Its rows.
    widths
        Of the columns, [px] at plain text size; negative ones share the rest by their size.
    needed
        From which width on a column is shown.

    Signals
    -------
    chosen(str)
        The key of the line that is chosen; empty for none.
    change_wanted(), void_wanted(), adding_wanted()
        Enter or F2, Delete, Insert on the chosen line.
    """

    chosen = Signal(str)
    change_wanted = Signal()
    void_wanted = Signal()
    adding_wanted = Signal()

    def __init__(
        self,
        name: str,
        model: RecordsModel,
        widths: tuple[int, ...],
        needed: dict[int, int],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.records = model
        self.chosen_key = ""
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
        head.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.doubleClicked.connect(lambda _index: self.change_wanted.emit())
        self.selectionModel().currentChanged.connect(self._on_current)
        model.narrowed.connect(self._on_narrowed)
        self.size_columns()

    def size_columns(self) -> None:
        """Give the columns their widths; those that matter least leave where there is no room."""
        self.setMinimumHeight(scaled(LEAST_PX))
        self.verticalHeader().setDefaultSectionSize(scaled(LINE_PX))
        head = self.horizontalHeader()
        head.setFixedHeight(scaled(28))
        width = self.viewport().width()
        room = width / theme.text_scale()
        growth = min(max(room / 960.0, 1.0), MOST_GROWTH)
        shown = [n for n in range(len(self._widths)) if room >= self._needed.get(n, 0)]
        fixed = {n: scaled(self._widths[n] * growth) for n in shown if self._widths[n] >= 0}
        rest = max(width - sum(fixed.values()), 0)
        parts = sum(-self._widths[n] for n in shown if n not in fixed)
        for column, wanted in enumerate(self._widths):
            self.setColumnHidden(column, column not in shown)
            if column in fixed:
                head.resizeSection(column, fixed[column])
            elif column in shown:
                head.resizeSection(column, rest * -wanted // parts)

    def choose(self, key: str) -> bool:
        """Choose the line of a record; return whether it is shown."""
        place = self.records.place_of(key)
        if place is None:
            return False
        flags = QItemSelectionModel.SelectionFlag.ClearAndSelect | QItemSelectionModel.SelectionFlag.Rows
        self.selectionModel().setCurrentIndex(self.records.index(place, 0), flags)
        self.scrollTo(self.records.index(place, 0))
        return True

    def _on_current(self, current: QModelIndex, _previous: QModelIndex) -> None:
        row = self.records.row_at(current.row()) if current.isValid() else None
        self._tell(row.key if row is not None else "")

    def _on_narrowed(self) -> None:
        kept = self.chosen_key
        if kept and self.choose(kept):
            self._tell(kept)
            return
        first = self.records.row_at(0)
        if first is not None and self.choose(first.key):
            self._tell(first.key)
        else:
            self._tell("")

    def _tell(self, key: str) -> None:
        self.chosen_key = key
        self.chosen.emit(key)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Change with Enter or F2, void with Delete, add a meter replacement with Insert."""
        key = event.key()
        if key in {Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_F2} and not (
            event.modifiers() & Qt.KeyboardModifier.ControlModifier
        ):
            self.change_wanted.emit()
        elif key == Qt.Key.Key_Delete:
            self.void_wanted.emit()
        elif key == Qt.Key.Key_Insert:
            self.adding_wanted.emit()
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let columns come and go."""
        super().resizeEvent(event)
        self.size_columns()
