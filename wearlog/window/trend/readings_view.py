"""The readings under the chart, and the way to void one."""

from gettext import gettext as _

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPushButton,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from wearlog.drawing.palette import colour
from wearlog.window import theme
from wearlog.window.trend.model import Column, ReadingRow, ReadingsModel
from wearlog.workshop.trend_snapshot import ReadingMark

ROW_PX = 28
_WIDTHS = {Column.DATE: 112, Column.METER: 84, Column.VALUE: 140, Column.RATE: 152}
#: What was read gets this at most of what the others leave to it and the remarks, [px].
_READ_PX = 248


class _ReadingDelegate(QStyledItemDelegate):
    """Paints one cell: voided readings muted, questioned ones with their remark in the colour of problems."""

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Paint one cell with a hairline under it."""
        row = index.data(ReadingsModel.RowRole)
        if not isinstance(row, ReadingRow):
            return
        look, rect, column = theme.colours(), option.rect, Column(index.column())
        painter.save()
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(rect, colour(look.raised))
            if column is Column.DATE:
                painter.fillRect(rect.left(), rect.top(), 3, rect.height(), colour(look.accent))
        painter.setPen(colour(look.hairline))
        painter.drawLine(rect.bottomLeft(), rect.bottomRight())
        is_questioned = row.mark in {ReadingMark.SUSPECT, ReadingMark.DOUBTFUL}
        ink = look.ink if row.mark is ReadingMark.GOOD else look.muted
        if column is Column.REMARKS:
            ink = look.problem if is_questioned else look.muted
        painter.setPen(colour(ink))
        font = theme.font()
        font.setStrikeOut(row.mark is ReadingMark.VOIDED and column is Column.VALUE)
        painter.setFont(font)
        words = rect.adjusted(8 if column is Column.DATE else 0, 0, -8, -1)
        text = painter.fontMetrics().elidedText(
            row.cells[column], Qt.TextElideMode.ElideRight, max(words.width(), 8)
        )
        painter.drawText(words, int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft), text)
        painter.restore()


class ReadingsView(QTableView):
    """The readings of the part, newest first.

    Signals
    -------
    reading_chosen(int)
        Another reading was chosen, by its id.
    void_wanted(int)
        Delete was pressed on a reading that counts.
    """

    reading_chosen = Signal(int)
    void_wanted = Signal(int)

    def __init__(self, model: ReadingsModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._readings = model
        self.setModel(model)
        self.setItemDelegate(_ReadingDelegate(self))
        self.setAccessibleName(_("Readings"))
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
        head = self.horizontalHeader()
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        head.setHighlightSections(False)
        head.setSectionsClickable(False)
        self.wear_theme()
        self.selectionModel().currentRowChanged.connect(self._on_row)

    def wear_theme(self) -> None:
        """Take the text scale that is applied now."""
        rows = self.verticalHeader()
        rows.setMinimumSectionSize(8)
        rows.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        rows.setDefaultSectionSize(theme.scaled(ROW_PX))
        head = self.horizontalHeader()
        for column in Column:
            head.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
        head.setSectionResizeMode(Column.REMARKS, QHeaderView.ResizeMode.Stretch)
        for column, width in _WIDTHS.items():
            head.resizeSection(column, theme.scaled(width))
        self._share_width()
        head.setFixedHeight(theme.scaled(ROW_PX))

    def _share_width(self) -> None:
        spare = self.viewport().width() - sum(theme.scaled(width) for width in _WIDTHS.values())
        self.horizontalHeader().resizeSection(Column.READ, max(min(spare // 2, theme.scaled(_READ_PX)), 64))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the width anew."""
        super().resizeEvent(event)
        self._share_width()

    def show_rows(self, most: int) -> None:
        """Take the height of whole rows, as many as there are but no more than some."""
        rows = min(max(self._readings.rowCount(), 1), max(most, 2))
        self.setFixedHeight(theme.scaled(ROW_PX) * (rows + 1) + 2)

    def choose(self, reading_id: int) -> None:
        """Choose a reading without telling."""
        row = self._readings.row_of(reading_id)
        if row is not None and row != self.currentIndex().row():
            blocked = self.blockSignals(True)
            self.selectRow(row)
            self.blockSignals(blocked)
            self.viewport().update()

    def chosen(self) -> ReadingRow | None:
        """Return the reading that is chosen."""
        return self._readings.row_at(self.currentIndex().row())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Offer to void a reading with Delete."""
        row = self.chosen()
        if event.key() == Qt.Key.Key_Delete and row is not None and row.mark is not ReadingMark.VOIDED:
            self.void_wanted.emit(row.reading_id)
        else:
            super().keyPressEvent(event)

    def _on_row(self, current: QModelIndex, _previous: QModelIndex) -> None:
        row = self._readings.row_at(current.row())
        if row is not None:
            self.reading_chosen.emit(row.reading_id)


class VoidBar(QWidget):
    """Asks why a reading is wrong; nothing is deleted, it only counts no longer.

    Signals
    -------
    voided(int, str)
        A reading is to be voided, with the reason.
    """

    voided = Signal(int, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._reading_id = 0
        self.text = QLabel()
        self.reason = QLineEdit()
        self.reason.setAccessibleName(_("Why the reading is wrong"))
        self.reason.setPlaceholderText(_("other vehicle, miscounted, chain not cleaned …"))
        self.go = QPushButton(_("Vo&id the reading"))
        self.go.setEnabled(False)
        self.go.clicked.connect(self._go)
        self.reason.textChanged.connect(lambda text: self.go.setEnabled(bool(text.strip())))
        self.reason.returnPressed.connect(self._go)
        self.back = QPushButton(_("&Keep it"))
        self.back.clicked.connect(self.hide)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(8)
        layout.addWidget(self.text)
        layout.addWidget(self.reason, 1)
        layout.addWidget(self.go)
        layout.addWidget(self.back)
        self.hide()

    def ask(self, row: ReadingRow) -> None:
        """Ask why a reading is wrong."""
        self._reading_id = row.reading_id
        self.text.setText(_("Why is the reading of {day} wrong?").format(day=row.cells[Column.DATE]))
        self.reason.clear()
        self.show()
        self.reason.setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave it as it is with Esc."""
        if event.key() == Qt.Key.Key_Escape:
            self.hide()
        else:
            super().keyPressEvent(event)

    def _go(self) -> None:
        reason = self.reason.text().strip()
        if reason and self.isVisible():
            self.hide()
            self.voided.emit(self._reading_id, reason)
