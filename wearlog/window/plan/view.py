"""The week as a table: the heads with the load of each day, a card for each visit, the keys."""

from gettext import gettext as _

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QKeyEvent, QPainter, QPen
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
from wearlog.drawing.plan_words import booked_short, load_text, stop_text, time_text
from wearlog.window import theme
from wearlog.window.plan.model import WeekModel
from wearlog.workshop.plan_snapshot import PlannedStop

#: Heights of a card and of the heads, room around a card, before the text scale, [px].
CARD_PX, HEAD_PX, GAP_PX = 64, 54, 4


class _Heads(QHeaderView):
    """Day, bay time used and there, and a bar; what is too much sticks out in words and hatching."""

    def __init__(self, model: WeekModel, parent: QWidget) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self._week = model
        self.setSectionsClickable(False)
        self.setHighlightSections(False)
        self.setSectionResizeMode(QHeaderView.ResizeMode.Stretch)

    def paintSection(self, painter: QPainter, rect: QRect, logicalIndex: int) -> None:  # noqa: N803
        """Paint one day."""
        if not 0 <= logicalIndex < len(self._week.days):
            return
        look, day = theme.colours(), self._week.days[logicalIndex]
        used, bay = self._week.load_of(day)
        is_over = used > bay
        painter.save()
        painter.fillRect(rect, colour(look.ground))
        inner = rect.adjusted(theme.scaled(GAP_PX) + 2, 0, -theme.scaled(GAP_PX) - 2, 0)
        strong, small = theme.font("body", bold=True), theme.font("caption")
        first, second = QFontMetrics(strong), QFontMetrics(small)
        way = Qt.TextElideMode.ElideRight
        head = str(self._week.headerData(logicalIndex, Qt.Orientation.Horizontal))
        painter.setFont(strong)
        painter.setPen(colour(look.ink))
        painter.drawText(
            inner.left(), inner.top() + first.ascent(), first.elidedText(head, way, inner.width())
        )
        painter.setFont(small)
        painter.setPen(colour(look.problem if is_over else look.muted))
        at = inner.top() + first.height() + second.ascent()
        painter.drawText(inner.left(), at, second.elidedText(load_text(used, bay), way, inner.width()))
        bar = QRectF(inner.left(), rect.bottom() - theme.scaled(9), inner.width(), theme.scaled(5))
        painter.fillRect(bar, colour(look.hairline))
        full = QRectF(bar)
        full.setWidth(bar.width() * min(used / bay if bay else 1.0, 1.0))
        if used:
            painter.fillRect(full, colour(look.problem if is_over else look.median))
        painter.restore()


class WeekDelegate(QStyledItemDelegate):
    """Paints a visit as a card."""

    def __init__(self, view: QTableView, model: WeekModel) -> None:
        super().__init__(view)
        self._week = model

    def sizeHint(self, _option: QStyleOptionViewItem, _index: QModelIndex | QPersistentModelIndex) -> QSize:
        """Return the size of a card."""
        return QSize(theme.scaled(96), theme.scaled(CARD_PX))

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Paint one card."""
        stop = index.data(WeekModel.StopRole)
        if not isinstance(stop, PlannedStop):
            return
        look = theme.colours()
        gap = theme.scaled(GAP_PX)
        rect = option.rect.adjusted(gap, gap // 2, -gap, -gap // 2)
        is_chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        painter.save()
        painter.setClipRect(option.rect)
        painter.fillRect(rect, colour(look.raised if is_chosen else look.panel))
        painter.setPen(QPen(colour(look.accent if is_chosen else look.hairline), 2.0 if is_chosen else 1.0))
        painter.drawRect(rect.adjusted(0, 0, -1, -1))
        visit = self._week.visit_of(stop)
        words = "" if visit is None else booked_short(visit.state, visit.number)
        if words:
            painter.fillRect(QRect(rect.left(), rect.top(), 4, rect.height()), colour(look.accent))
        inner = rect.adjusted(10, theme.scaled(4), -6, -theme.scaled(3))
        self._paint_words(painter, inner, stop, words)
        painter.restore()

    def _paint_words(self, painter: QPainter, inner: QRect, stop: PlannedStop, booked: str) -> None:
        look, way = theme.colours(), Qt.TextElideMode.ElideRight
        strong, small = theme.font("body", bold=True), theme.font("caption")
        first, second = QFontMetrics(strong), QFontMetrics(small)
        time = time_text(stop.minutes)
        room = second.horizontalAdvance(time)
        painter.setFont(small)
        painter.setPen(colour(look.muted))
        painter.drawText(inner.right() - room, inner.top() + first.ascent(), time)
        painter.setFont(strong)
        painter.setPen(colour(look.ink))
        tag = first.elidedText(stop.tag, way, inner.width() - room - 6)
        painter.drawText(inner.left(), inner.top() + first.ascent(), tag)
        painter.setFont(small)
        at = inner.top() + first.height() + second.ascent()
        painter.drawText(inner.left(), at, second.elidedText(stop_text(stop), way, inner.width()))
        below = booked or ("" if self._week.depot else stop.depot)
        painter.setPen(colour(look.ink if booked else look.muted))
        painter.drawText(inner.left(), at + second.height(), second.elidedText(below, way, inner.width()))


class WeekView(QTableView):
    """One week of visits.

    Signals
    -------
    move_wanted(int)
        Alt and an arrow: the chosen visit goes to the next open day, or the one before; Alt with Page Down or
        Page Up: by a week, as 7 or -7.
    week_wanted(int)
        Page Down, Page Up: the week after, the one before.
    book_wanted(), sheet_wanted(), call_off_wanted(), costs_wanted()
        B, Enter, Delete, C.
    """

    move_wanted = Signal(int)
    week_wanted = Signal(int)
    book_wanted = Signal()
    sheet_wanted = Signal()
    call_off_wanted = Signal()
    costs_wanted = Signal()

    def __init__(self, model: WeekModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setModel(model)
        self.setHorizontalHeader(_Heads(model, self))
        self.setItemDelegate(WeekDelegate(self, model))
        self.setAccessibleName(_("Visits of the week"))
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTabKeyNavigation(False)
        self.setCornerButtonEnabled(False)
        self.setDragDropMode(QAbstractItemView.DragDropMode.DragDrop)
        self.setDefaultDropAction(Qt.DropAction.MoveAction)
        self.setDragDropOverwriteMode(True)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.take_look()

    def take_look(self) -> None:
        """Follow the text size."""
        self.verticalHeader().setDefaultSectionSize(theme.scaled(CARD_PX))
        self.horizontalHeader().setFixedHeight(theme.scaled(HEAD_PX))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Move the chosen visit, turn the weeks, book, enter, call off."""
        key, held = Qt.Key(event.key()), event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        moves = {
            Qt.Key.Key_Left: -1,
            Qt.Key.Key_Right: 1,
            Qt.Key.Key_PageUp: -7,
            Qt.Key.Key_PageDown: 7,
        }
        plain = {
            Qt.Key.Key_B: self.book_wanted,
            Qt.Key.Key_Return: self.sheet_wanted,
            Qt.Key.Key_Enter: self.sheet_wanted,
            Qt.Key.Key_Delete: self.call_off_wanted,
            Qt.Key.Key_C: self.costs_wanted,
        }
        if held == Qt.KeyboardModifier.AltModifier and key in moves:
            self.move_wanted.emit(moves[key])
        elif not held and key in {Qt.Key.Key_PageUp, Qt.Key.Key_PageDown}:
            self.week_wanted.emit(1 if key == Qt.Key.Key_PageDown else -1)
        elif not held and key in plain:
            plain[key].emit()
        else:
            super().keyPressEvent(event)
