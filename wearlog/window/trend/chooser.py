"""Chooses the part whose trend is shown; each with its state and its wear rule."""

from gettext import gettext as _

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QPainter
from PySide6.QtWidgets import QComboBox, QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from wearlog.drawing.palette import colour
from wearlog.drawing.wear_rule import RuleSize, paint_state_mark, paint_wear_rule
from wearlog.drawing.words import rule_text
from wearlog.window import theme
from wearlog.window.trend.model import Choice

_ROW_PX, _RULE_PX, _MARK_PX, _GAP_PX = 32, 112, 12, 12
#: Closed, the wear rule need not fit; beside it stand when the part was fitted and the switches.
_MOST_PX = 320


class _ChoiceDelegate(QStyledItemDelegate):
    """Paints one part of the list: state, words, wear rule."""

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        """Return room for all of it."""
        width = QFontMetrics(option.font).horizontalAdvance(str(index.data(Qt.ItemDataRole.DisplayRole)))
        return QSize(width + theme.scaled(_MARK_PX + _RULE_PX + 4 * _GAP_PX), theme.scaled(_ROW_PX))

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Paint one part."""
        choice = index.data(Qt.ItemDataRole.UserRole)
        if not isinstance(choice, Choice):
            super().paint(painter, option, index)
            return
        look = theme.colours()
        rect = QRectF(option.rect)
        is_chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        painter.save()
        painter.fillRect(rect, colour(look.panel if is_chosen else look.raised))
        if is_chosen:
            painter.fillRect(QRectF(rect.left(), rect.top(), 3.0, rect.height()), colour(look.accent))
        gap, mark, rule = (theme.scaled(px) for px in (_GAP_PX, _MARK_PX, _RULE_PX))
        paint_state_mark(
            painter,
            QRectF(rect.left() + gap, rect.center().y() - mark / 2, mark, mark),
            choice.rule.state,
            look,
        )
        right = QRectF(rect.right() - gap - rule, rect.top(), rule, rect.height())
        paint_wear_rule(painter, right, choice.rule, look, RuleSize.SMALL, scale=theme.text_scale())
        painter.setPen(colour(look.ink if choice.is_current else look.muted))
        words = QRectF(rect.left() + 2 * gap + mark, rect.top(), 0.0, rect.height())
        words.setRight(right.left() - gap)
        text = QFontMetrics(option.font).elidedText(
            choice.text, Qt.TextElideMode.ElideRight, int(words.width())
        )
        painter.setFont(option.font)
        painter.drawText(words, int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft), text)
        painter.restore()


class PartChooser(QComboBox):
    """The parts of the vehicle.

    Signals
    -------
    wanted(Choice)
        Another part was chosen by hand.
    """

    wanted = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("Part"))
        self.setToolTip(_("The part that is shown; Ctrl+Up and Ctrl+Down step through them"))
        self.setItemDelegate(_ChoiceDelegate(self))
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.setMinimumContentsLength(24)
        self.setMaximumWidth(theme.scaled(_MOST_PX))
        self.activated.connect(self._on_activated)

    def show_choices(self, choices: list[Choice], chosen: int) -> None:
        """Show what can be chosen."""
        known = [self.itemData(n) for n in range(self.count())]
        if known != choices:
            self.clear()
            for choice in choices:
                self.addItem(choice.text, choice)
                self.setItemData(self.count() - 1, rule_text(choice.rule), Qt.ItemDataRole.ToolTipRole)
                self.setItemData(
                    self.count() - 1,
                    f"{choice.text}. {rule_text(choice.rule)}",
                    Qt.ItemDataRole.AccessibleTextRole,
                )
        self.setCurrentIndex(chosen)

    def showPopup(self) -> None:
        """Open the list, wide enough for every part and its wear rule."""
        self.view().setMinimumWidth(max(self.view().sizeHintForColumn(0) + 8, self.width()))
        super().showPopup()

    def step(self, way: int) -> None:
        """Choose the next part, or the one before."""
        if self.count() > 1:
            self._on_activated((self.currentIndex() + way) % self.count())

    def _on_activated(self, index: int) -> None:
        choice = self.itemData(index)
        if isinstance(choice, Choice):
            self.wanted.emit(choice)
