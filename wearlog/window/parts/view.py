"""The parts list itself, and how its cells are painted."""

from gettext import gettext as _
from gettext import ngettext

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QKeyEvent, QPainter, QResizeEvent
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
from wearlog.drawing.parts_demand import paint_demand
from wearlog.drawing.parts_words import (
    demand_text,
    late_text,
    money_text,
    on_order_text,
    order_text,
    shelf_text,
)
from wearlog.window import theme
from wearlog.window.parts.model import Column, Group, PartsModel, PartsRow, group_of
from wearlog.workshop.parts_snapshot import PartsLine

#: Height of a line, room between columns, before the text scale, [px].
LINE_PX, GAP_PX = 46, 16
_TOP_PX = 5
_WIDTHS = {Column.SHELF: 132, Column.DEMAND: 232, Column.ENOUGH: 92, Column.ORDER: 124}
#: Below this width of the list, before the text scale, a column leaves, [px].
_NEEDED = {Column.ENOUGH: 660, Column.SHELF: 620}
#: Keys of the jobs at the shelf.
JOB_KEYS = {
    Qt.Key.Key_R: "receive",
    Qt.Key.Key_C: "count",
    Qt.Key.Key_O: "order",
    Qt.Key.Key_U: "use",
}


class PartsDelegate(QStyledItemDelegate):
    """Paints the cells of the parts list."""

    def __init__(self, view: QTableView, model: PartsModel) -> None:
        super().__init__(view)
        self._view = view
        self._model = model

    def sizeHint(self, _option: QStyleOptionViewItem, _index: QModelIndex | QPersistentModelIndex) -> QSize:
        """Return the size of a cell."""
        return QSize(theme.scaled(80), theme.scaled(LINE_PX))

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Paint one cell."""
        row = index.data(PartsModel.RowRole)
        snapshot = self._model.snapshot
        if not isinstance(row, PartsRow) or snapshot is None:
            return
        rect, column, line, today = option.rect, Column(index.column()), row.line, snapshot.today
        look = theme.colours()
        painter.save()
        painter.setClipRect(rect)
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(rect, colour(look.raised))
            if column is Column.PART:
                painter.fillRect(QRect(rect.left(), rect.top(), 3, rect.height()), colour(look.accent))
        if row.starts_group:
            painter.fillRect(QRect(rect.left(), rect.top(), rect.width(), 1), colour(look.outline))
        inner = rect.adjusted(theme.scaled(8) if column is Column.PART else 0, 0, -theme.scaled(GAP_PX), 0)
        is_quiet = group_of(line) is Group.ENOUGH
        if column is Column.PART:
            _two(painter, inner, line.name, self._below(line), strong=not is_quiet)
        elif column is Column.SHELF:
            coming = on_order_text(line, today)
            _two(painter, inner, shelf_text(line), _("+ {n}").format(n=coming) if coming else "")
        elif column is Column.DEMAND:
            _paint_demand(painter, inner, line)
        elif column is Column.ENOUGH:
            _two(painter, inner, str(line.wanted) if line.weeks else "", "")
        elif column is Column.ORDER:
            late = late_text(line, today)
            below = late or ("" if line.order_cost is None else money_text(line.order_cost))
            _two(
                painter,
                inner,
                order_text(line, today),
                below,
                strong=bool(line.order_now),
                is_warm=bool(late),
            )
        painter.restore()

    def _below(self, line: PartsLine) -> str:
        fitted = ngettext("{n} fitted", "{n} fitted", line.running).format(n=line.running)
        words = fitted if self._model.narrowing.depot else f"{line.depot}, {fitted}"
        if self._view.isColumnHidden(Column.SHELF):
            words = _("{n} there, {words}").format(n=shelf_text(line), words=words)
        return words


def _paint_demand(painter: QPainter, rect: QRect, line: PartsLine) -> None:
    look = theme.colours()
    words = theme.scaled(84)
    if not line.is_followed and not line.mean:
        _two(painter, rect, "", demand_text(line))
        return
    drawn = QRectF(rect.left(), rect.top() + 4, rect.width() - words, rect.height() - 8)
    if line.mean >= 0.005:
        paint_demand(painter, drawn, line, look, theme.text_scale())
    _two(painter, rect.adjusted(rect.width() - words + 12, 0, 0, 0), demand_text(line), "")


def _two(
    painter: QPainter,
    rect: QRect,
    first: str,
    second: str,
    *,
    strong: bool = False,
    is_warm: bool = False,
) -> None:
    """Paint a line of text and a smaller one under it."""
    look = theme.colours()
    upper, lower = theme.font("body", bold=strong), theme.font("caption")
    metrics = QFontMetrics(upper)
    top = rect.top() + theme.scaled(_TOP_PX)
    way = Qt.TextElideMode.ElideRight
    painter.setFont(upper)
    painter.setPen(colour(look.ink))
    painter.drawText(rect.left(), top + metrics.ascent(), metrics.elidedText(first, way, rect.width()))
    if second:
        small = QFontMetrics(lower)
        painter.setFont(lower)
        painter.setPen(colour(look.problem if is_warm else look.muted))
        at = top + metrics.height() + 1 + small.ascent()
        painter.drawText(rect.left(), at, small.elidedText(second, way, rect.width()))


class PartsView(QTableView):
    """The list itself.

    Signals
    -------
    job_wanted(str)
        R, C, O or U on the chosen line: ``"receive"``, ``"count"``, ``"order"`` or ``"use"``.
    policy_wanted()
        P: when to replace.
    resized()
        The width changed.
    """

    job_wanted = Signal(str)
    policy_wanted = Signal()
    resized = Signal()

    def __init__(self, model: PartsModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setModel(model)
        self.setItemDelegate(PartsDelegate(self, model))
        self.setAccessibleName(_("Parts list"))
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
        head = self.horizontalHeader()
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        head.setHighlightSections(False)
        head.setSectionsClickable(False)
        head.setMinimumSectionSize(24)

    def size_columns(self) -> None:
        """Give the columns their widths; those that matter least leave where there is no room."""
        self.verticalHeader().setDefaultSectionSize(theme.scaled(LINE_PX))
        head = self.horizontalHeader()
        room = self.viewport().width() / theme.text_scale()
        for column in Column:
            self.setColumnHidden(column, room < _NEEDED.get(column, 0))
            if column is Column.PART:
                head.setSectionResizeMode(column, QHeaderView.ResizeMode.Stretch)
            else:
                head.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
                head.resizeSection(column, theme.scaled(_WIDTHS[column]))
        head.setFixedHeight(theme.scaled(28))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Begin a job at the shelf with its letter; Enter begins the one that is most likely wanted."""
        key = Qt.Key(event.key())
        if event.modifiers() not in {Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.KeypadModifier}:
            super().keyPressEvent(event)
        elif key in JOB_KEYS:
            self.job_wanted.emit(JOB_KEYS[key])
        elif key in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            self.job_wanted.emit("receive")
        elif key == Qt.Key.Key_P:
            self.policy_wanted.emit()
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give the columns their widths anew."""
        super().resizeEvent(event)
        self.resized.emit()
