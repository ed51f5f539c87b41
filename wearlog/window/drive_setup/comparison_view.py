"""The comparison as a table as high as its rows, so that the page scrolls as one."""

from gettext import gettext as _

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from wearlog.drawing.palette import colour
from wearlog.window import theme
from wearlog.window.drive_setup.model_comparison import Column, ComparisonModel

_ROW_PX, _GROUP_PX, _GAP_PX = 23, 31, 8
#: Widths of before, after and change as shares of the table.
_SHARES = {Column.BEFORE: 0.235, Column.AFTER: 0.235, Column.CHANGE: 0.13}


class _RowDelegate(QStyledItemDelegate):
    """Paints a figure; a group's line bold over a hairline, what was before in the quiet colour."""

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        """Return the height of a row."""
        del option
        is_group = bool(index.data(ComparisonModel.GroupRole))
        return QSize(40, theme.scaled(_GROUP_PX if is_group else _ROW_PX))

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Paint one cell."""
        look = theme.colours()
        rect = QRectF(option.rect)
        is_group = bool(index.data(ComparisonModel.GroupRole))
        painter.save()
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(rect, colour(look.raised))
        if is_group:
            painter.fillRect(QRectF(rect.left(), rect.bottom(), rect.width(), 1.0), colour(look.hairline))
        text = str(index.data() or "")
        font = theme.font("body", bold=is_group)
        is_quiet = index.column() == Column.BEFORE or text in {"–", "…", _("same")}
        painter.setFont(font)
        painter.setPen(colour(look.muted if is_quiet and not is_group else look.ink))
        words = rect if index.column() == Column.NAME else rect.adjusted(0.0, 0.0, -_GAP_PX, 0.0)
        side = Qt.AlignmentFlag.AlignLeft if index.column() == Column.NAME else Qt.AlignmentFlag.AlignRight
        upright = Qt.AlignmentFlag.AlignBottom if is_group else Qt.AlignmentFlag.AlignVCenter
        if is_group:
            words.setBottom(words.bottom() - 4.0)
        shown = QFontMetrics(font).elidedText(text, Qt.TextElideMode.ElideRight, int(words.width()) + 1)
        painter.drawText(words, int(upright | side), shown)
        painter.restore()


class ComparisonView(QTableView):
    """Before, after and change, group by group."""

    def __init__(self, model: ComparisonModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows = model
        self.setModel(model)
        self.setItemDelegate(_RowDelegate(self))
        self.setAccessibleName(_("Comparison"))
        self.setShowGrid(False)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTabKeyNavigation(False)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.verticalHeader().setMinimumSectionSize(8)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header.setMinimumSectionSize(24)
        header.setSectionsClickable(False)
        header.setHighlightSections(False)
        for signal in (model.rowsInserted, model.rowsRemoved, model.modelReset):
            signal.connect(lambda *_what: self.take_look())

    def take_look(self) -> None:
        """Take rows and text size as they are now."""
        height = 0
        self.clearSpans()
        for row in range(self._rows.rowCount()):
            found = self._rows.row_at(row)
            is_group = found is not None and found.is_group
            if is_group:
                self.setSpan(row, 0, 1, len(Column))
            px = theme.scaled(_GROUP_PX if is_group else _ROW_PX)
            self.setRowHeight(row, px)
            height += px
        self.setFixedHeight(height + self.horizontalHeader().sizeHint().height() + 2)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the width."""
        super().resizeEvent(event)
        width = self.viewport().width()
        used = 0
        for column, share in _SHARES.items():
            px = round(share * width)
            self.setColumnWidth(int(column), px)
            used += px
        self.setColumnWidth(int(Column.NAME), max(width - used, 24))
