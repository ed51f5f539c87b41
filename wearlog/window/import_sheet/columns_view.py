"""The columns of the sheet, one a line: its name, what it holds, and its first cells as understood."""

from gettext import gettext as _
from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    QSize,
    Qt,
    Signal,
)
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
from wearlog.window.import_sheet.model import ColumnLine, ImportModel
from wearlog.window.rows import take_rows
from wearlog.window.theme import colours, scaled

#: Widths of the first columns, and the least of those with cells, [px] at plain text size.
HEADER_PX, HOLDS_PX, UNIT_PX, CELL_PX = 176, 240, 64, 104
LINE_PX, LEAST_PX = 28, 124
_Index = QModelIndex | QPersistentModelIndex


class ColumnsModel(QAbstractTableModel):
    """The lines, and the rows of the sheet beside them."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.lines: list[ColumnLine] = []
        self.numbers: tuple[int, ...] = ()

    def show_lines(self, lines: list[ColumnLine], numbers: tuple[int, ...]) -> None:
        """Show other lines."""
        if len(numbers) != len(self.numbers):
            self.beginResetModel()
            self.lines, self.numbers = list(lines), numbers
            self.endResetModel()
            return
        self.numbers = numbers
        take_rows(self, self.lines, lines, lambda line: (line.place, line.header), self.columnCount())
        self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, self.columnCount() - 1)

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008 - an invalid index is a constant
        """Return how many columns the sheet has."""
        return 0 if parent.isValid() else len(self.lines)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008 - as above
        """Return the three that say what it is, and one for each row shown."""
        return 0 if parent.isValid() else 3 + len(self.numbers)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the heads of the columns."""
        if orientation is not Qt.Orientation.Horizontal or role != Qt.ItemDataRole.DisplayRole:
            return None
        if section < 3:
            return (_("Column of the sheet"), _("What it says"), _("Unit"))[section]
        return _("Row {n}").format(n=self.numbers[section - 3]) if section - 3 < len(self.numbers) else None

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return the text, tool tip and colour of a cell."""
        if not index.isValid():
            return None
        line, column = self.lines[index.row()], index.column()
        texts = (f"{line.letters}  {line.header}", line.holds, line.unit, *line.cells)
        text = texts[column] if column < len(texts) else ""
        if role in {Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole}:
            return text
        if role == Qt.ItemDataRole.AccessibleTextRole:
            wrong = _("{text}, can't be read") if column - 3 in line.wrong else "{text}"
            return wrong.format(text=text)
        if role == Qt.ItemDataRole.ForegroundRole:
            if column - 3 in line.wrong:
                return QColor(colours().problem)
            if line.is_left_out and column != 0:
                return QColor(colours().muted)
        return None


class _Cells(QStyledItemDelegate):
    """Writes a cell right under its head; what is wrong keeps its colour on the chosen line."""

    def initStyleOption(self, option: QStyleOptionViewItem, index: _Index) -> None:
        super().initStyleOption(option, index)
        wanted = index.data(Qt.ItemDataRole.ForegroundRole)
        if isinstance(wanted, QColor):
            shown: Any = option
            shown.palette.setColor(QPalette.ColorRole.HighlightedText, wanted)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        """Write the cell."""
        shown: Any = option
        if shown.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(shown.rect, QColor(colours().raised))
        shown.rect = shown.rect.adjusted(-3 if index.column() else 5, 0, -5, 0)
        super().paint(painter, option, index)


class ColumnsView(QTableView):
    """The list of columns.

    Signals
    -------
    chosen(int)
        The place of the column that is chosen, -1 for none.
    change_wanted()
        Enter or F2: what it holds is to be changed.
    leaving_out_wanted()
        Delete: it is to be left out.
    """

    chosen = Signal(int)
    change_wanted = Signal()
    leaving_out_wanted = Signal()

    def __init__(self, model: ImportModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self.columns = ColumnsModel(self)
        self.setModel(self.columns)
        self.setAccessibleName(_("Columns of the sheet"))
        self.setItemDelegate(_Cells(self))
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
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.selectionModel().currentChanged.connect(self._on_current)
        self.doubleClicked.connect(lambda _index: self.change_wanted.emit())
        self.columns.modelReset.connect(self.size_columns)

    @property
    def place(self) -> int:
        """The place of the chosen column, -1 for none."""
        row = self.currentIndex().row()
        return self.columns.lines[row].place if 0 <= row < len(self.columns.lines) else -1

    def show_lines(self) -> None:
        """Show the match as it is now; the chosen column stays chosen."""
        place = self.place
        self.columns.show_lines(self._model.lines(), self._model.row_numbers())
        if self.columns.lines and self.place < 0:
            self.choose(max(place, 0))

    def choose(self, place: int) -> None:
        """Choose a column."""
        row = min(place, len(self.columns.lines) - 1)
        if row >= 0:
            flags = QItemSelectionModel.SelectionFlag.ClearAndSelect | QItemSelectionModel.SelectionFlag.Rows
            self.selectionModel().setCurrentIndex(self.columns.index(row, 0), flags)
            self.scrollTo(self.columns.index(row, 0))

    def size_columns(self) -> None:
        """Give the columns their widths; rows of the sheet that have no room are not shown."""
        self.verticalHeader().setDefaultSectionSize(scaled(LINE_PX))
        head = self.horizontalHeader()
        head.setFixedHeight(scaled(28))
        room = self.viewport().width()
        growth = min(max(room / theme.text_scale() / 900.0, 1.0), 1.5)
        taken = 0
        for column, width in enumerate((HEADER_PX, HOLDS_PX, UNIT_PX)):
            head.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
            head.resizeSection(column, scaled(width * growth))
            taken += scaled(width * growth)
        shown = max(min((room - taken) // scaled(CELL_PX), len(self.columns.numbers)), 0)
        for count in range(len(self.columns.numbers)):
            self.setColumnHidden(3 + count, count >= shown)
            head.setSectionResizeMode(3 + count, QHeaderView.ResizeMode.Stretch)

    def sizeHint(self) -> QSize:
        """Ask for a few lines; what room there is, the list takes."""
        return QSize(256, scaled(LEAST_PX))

    def minimumSizeHint(self) -> QSize:
        """Ask for no less."""
        return self.sizeHint()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let rows of the sheet come and go; the chosen line stays in sight."""
        super().resizeEvent(event)
        self.size_columns()
        if self.currentIndex().isValid():
            self.scrollTo(self.currentIndex())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Change with Enter or F2, leave out with Delete."""
        key = Qt.Key(event.key())
        has_control = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        if key in {Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_F2} and not has_control:
            self.change_wanted.emit()
        elif key == Qt.Key.Key_Delete:
            self.leaving_out_wanted.emit()
        else:
            super().keyPressEvent(event)

    def _on_current(self, _current: QModelIndex, _previous: QModelIndex) -> None:
        self.chosen.emit(self.place)
