"""Chooses the vehicles that are laid over the trend: type to narrow, Space to choose, Esc to close."""

from gettext import gettext as _

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QKeyEvent, QMouseEvent, QPainter, QPen
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListView,
    QPushButton,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QVBoxLayout,
    QWidget,
)

from wearlog.drawing.palette import colour
from wearlog.drawing.wear_rule import RuleSize, paint_wear_rule
from wearlog.window import theme
from wearlog.window.theme import set_role
from wearlog.window.trend.compare_model import CompareModel
from wearlog.window.trend.panel import WIDTH_PX
from wearlog.workshop.trend_overlay_snapshot import OverlayChoice

_ROW_PX, _TICK_PX, _RULE_PX, _GAP_PX = 36, 14, 96, 8


class _RowDelegate(QStyledItemDelegate):
    """Paints one vehicle: whether it is chosen, its tag, its wear rule."""

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        """Return the height of a row; the list gives it its width."""
        del option, index
        return QSize(theme.scaled(160), theme.scaled(_ROW_PX))

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Paint one vehicle."""
        choice = index.data(CompareModel.ChoiceRole)
        if not isinstance(choice, OverlayChoice):
            return
        look, rect = theme.colours(), QRectF(option.rect)
        is_chosen = index.data(Qt.ItemDataRole.CheckStateRole) == Qt.CheckState.Checked
        painter.save()
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(rect, colour(look.panel))
            painter.fillRect(QRectF(rect.left(), rect.top(), 3.0, rect.height()), colour(look.accent))
        gap, side, rule = (theme.scaled(px) for px in (_GAP_PX, _TICK_PX, _RULE_PX))
        box = QRectF(rect.left() + gap, rect.center().y() - side / 2, side, side)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(colour(look.accent if is_chosen else look.outline), 1.2))
        painter.setBrush(colour(look.accent) if is_chosen else Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(box, 2.0, 2.0)
        if is_chosen:
            painter.setPen(QPen(colour(look.on_accent), 1.8))
            corners = ((0.22, 0.52), (0.42, 0.74), (0.80, 0.28))
            painter.drawPolyline(
                [QPointF(box.left() + x * box.width(), box.top() + y * box.height()) for x, y in corners]
            )
        right = QRectF(rect.right() - gap - rule, rect.top(), rule, rect.height())
        paint_wear_rule(painter, right, choice.rule, look, RuleSize.SMALL, scale=theme.text_scale())
        words = QRectF(box.right() + gap, rect.top(), 0.0, rect.height())
        words.setRight(right.left() - gap)
        painter.setFont(option.font)
        painter.setPen(colour(look.ink))
        text = QFontMetrics(option.font).elidedText(
            choice.tag, Qt.TextElideMode.ElideRight, int(words.width())
        )
        painter.drawText(words, int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft), text)
        painter.restore()


class _Choices(QListView):
    """The list; Space and Enter choose, Up from the first row goes back to the line above."""

    toggled = Signal(int)
    left_above = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Choose by key."""
        key = event.key()
        if key in {Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Enter} and self.currentIndex().isValid():
            self.toggled.emit(self.currentIndex().row())
        elif key == Qt.Key.Key_Up and self.currentIndex().row() <= 0:
            self.left_above.emit()
        elif key == Qt.Key.Key_Escape:
            event.ignore()
        else:
            super().keyPressEvent(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Choose by a click."""
        super().mouseReleaseEvent(event)
        at = self.indexAt(event.position().toPoint())
        if event.button() is Qt.MouseButton.LeftButton and at.isValid():
            self.toggled.emit(at.row())


class ComparePanel(QWidget):
    """Stands where the figures do while vehicles are chosen.

    Signals
    -------
    closed()
        The choosing is over.
    """

    closed = Signal()

    def __init__(self, model: CompareModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self.setAccessibleName(_("Compare with other vehicles"))
        self.title = QLabel(_("Compare with"))
        set_role(self.title, "title")
        self.entry = QLineEdit()
        self.entry.setPlaceholderText(_("Tag, depot, model …"))
        self.entry.setAccessibleName(_("Find a vehicle to compare with"))
        self.entry.setClearButtonEnabled(True)
        self.entry.textChanged.connect(self._on_text)
        self.list = _Choices()
        self.list.setModel(model)
        self.list.setAccessibleName(_("Vehicles to compare with"))
        self.list.setItemDelegate(_RowDelegate(self.list))
        self.list.setUniformItemSizes(True)
        self.list.setMinimumHeight(theme.scaled(_ROW_PX))
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.toggled.connect(self._toggle)
        self.list.left_above.connect(self.entry.setFocus)
        self.count, self.hint = QLabel(), QLabel(_("Space chooses, Esc closes."))
        for label in (self.count, self.hint):
            set_role(label, "caption")
            label.setWordWrap(True)
        self.none = QPushButton(_("&None"))
        self.none.setAccessibleName(_("Compare with none"))
        self.none.clicked.connect(model.clear)
        self.done = QPushButton(_("&Close"))
        self.done.clicked.connect(self.closed)
        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        buttons.addWidget(self.none)
        buttons.addWidget(self.done)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(8)
        for part in (self.title, self.entry, self.list, self.count, self.hint):
            layout.addWidget(part, 1 if part is self.list else 0)
        layout.addLayout(buttons)
        model.chosen_changed.connect(self._show)
        model.modelReset.connect(self._on_reset)
        self.setFixedWidth(theme.scaled(WIDTH_PX))
        self._show()

    def wear_theme(self) -> None:
        """Take the text scale that is applied now."""
        self.setFixedWidth(theme.scaled(WIDTH_PX))

    def open(self) -> None:
        """Begin to choose."""
        self.show()
        self.entry.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.entry.selectAll()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go down into the list, choose the first with Enter, close with Esc."""
        key = event.key()
        if key == Qt.Key.Key_Escape:
            self.closed.emit()
        elif key == Qt.Key.Key_Down and self.entry.hasFocus():
            self.list.setFocus(Qt.FocusReason.TabFocusReason)
            if not self.list.currentIndex().isValid():
                self.list.setCurrentIndex(self._model.index(0))
        elif key in {Qt.Key.Key_Return, Qt.Key.Key_Enter} and self.entry.hasFocus():
            self._toggle(0)
        else:
            super().keyPressEvent(event)

    def _on_text(self, text: str) -> None:
        self._model.filter_by(text)

    def _on_reset(self) -> None:
        if self._model.rowCount():
            self.list.setCurrentIndex(self._model.index(0))
        self._show()

    def _toggle(self, row: int) -> None:
        if not self._model.toggle(row) and self._model.is_full:
            self.hint.setText(_("More lines could not be told apart; let one go first."))
        elif self._model.rowCount():
            self.hint.setText(_("Space chooses, Esc closes."))

    def _show(self) -> None:
        self.count.setText(self._model.count_text)
        self.none.setEnabled(bool(self._model.chosen))
        is_empty = self._model.rowCount() == 0
        self.hint.setText(_("No other vehicle fits.") if is_empty else _("Space chooses, Esc closes."))
