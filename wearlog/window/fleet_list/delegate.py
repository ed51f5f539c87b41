"""Paints a line of the fleet list: a depot, or a vehicle with a wear rule for every stage."""

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem

from wearlog.drawing.palette import colour
from wearlog.drawing.wear_rule import paint_state_mark, paint_wear_rule
from wearlog.fleet.state import URGENCY
from wearlog.window import theme
from wearlog.window.fleet_list.model import DepotHeading, FleetModel
from wearlog.wording import count_text
from wearlog.workshop.fleet_snapshot import FleetRow, StageRule

#: All lines are equally high, so that ten thousand need no measuring. Before the text scale, [px].
LINE_PX = 56
SIDE_PX = 24
RIGHT_PX = 14
MARK_PX = 11
RULE_PX = 92
#: Lists narrower than this show tags and wear rules only, [px].
NARROW_PX = 250
#: More wear rules than this do not fit on a line; the most urgent ones are shown.
MOST_RULES = 3


class FleetDelegate(QStyledItemDelegate):
    """Paints depots and vehicles."""

    def sizeHint(self, _option: QStyleOptionViewItem, _index: QModelIndex | QPersistentModelIndex) -> QSize:
        """Return the one size of all lines."""
        return QSize(theme.scaled(200), theme.scaled(LINE_PX))

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Paint one line."""
        entry = index.data(FleetModel.EntryRole)
        rect: QRect = option.rect
        state: QStyle.StateFlag = option.state
        painter.save()
        if isinstance(entry, DepotHeading):
            _paint_heading(painter, rect, entry)
        elif isinstance(entry, FleetRow):
            _paint_vehicle(painter, rect, entry, state)
        painter.restore()


def _paint_heading(painter: QPainter, rect: QRect, heading: DepotHeading) -> None:
    look = theme.colours()
    inner = rect.adjusted(SIDE_PX, 0, -RIGHT_PX, -theme.scaled(6))
    painter.setPen(colour(look.muted))
    counted = count_text(heading.vehicles, "vehicle", "vehicles")
    font = theme.font("caption")
    painter.setFont(font)
    painter.drawText(inner, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom, counted)
    room = inner.width() - QFontMetrics(font).horizontalAdvance(counted) - 16
    font = theme.font("caption", bold=True)
    painter.setFont(font)
    name = QFontMetrics(font).elidedText(heading.depot, Qt.TextElideMode.ElideRight, room)
    painter.drawText(inner, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignBottom, name)


def _paint_vehicle(painter: QPainter, rect: QRect, row: FleetRow, state: QStyle.StateFlag) -> None:
    look = theme.colours()
    is_chosen = bool(state & QStyle.StateFlag.State_Selected)
    is_hovered = bool(state & QStyle.StateFlag.State_MouseOver)
    if is_chosen:
        painter.fillRect(rect, colour(look.raised))
        painter.fillRect(QRect(rect.left(), rect.top(), 4, rect.height()), colour(look.accent))
    elif is_hovered:
        painter.fillRect(rect, colour(look.raised, 0.5))
    if state & QStyle.StateFlag.State_HasFocus:
        painter.setPen(colour(look.accent))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(rect.adjusted(0, 0, -1, -1))
        painter.drawRect(rect.adjusted(1, 1, -2, -2))
    inner = rect.adjusted(SIDE_PX, 0, -RIGHT_PX, 0)
    rule_width = min(theme.scaled(RULE_PX), inner.width() * 2 // 5)
    rules_left = inner.right() + 1 - rule_width
    mark = theme.scaled(MARK_PX)
    text_width = rules_left - mark - 2 * 8 - inner.left()
    _paint_words(painter, QRect(inner.left(), inner.top(), text_width, inner.height()), row, rect.width())
    _paint_rules(painter, QRectF(rules_left, inner.top(), rule_width, inner.height()), row, mark)


def _paint_words(painter: QPainter, rect: QRect, row: FleetRow, whole_width: int) -> None:
    look = theme.colours()
    tag_font, font = theme.font("body", bold=True), theme.font("caption")
    tag_metrics, metrics = QFontMetrics(tag_font), QFontMetrics(font)
    is_narrow = whole_width < theme.scaled(NARROW_PX)
    height = tag_metrics.height() + (0 if is_narrow else metrics.height() + 1)
    top = rect.top() + (rect.height() - height) // 2
    painter.setFont(tag_font)
    painter.setPen(colour(look.muted if row.is_retired else look.ink))
    tag = tag_metrics.elidedText(row.tag, Qt.TextElideMode.ElideRight, rect.width())
    painter.drawText(rect.left(), top + tag_metrics.ascent(), tag)
    if is_narrow:
        return
    painter.setFont(font)
    painter.setPen(colour(look.muted))
    text = metrics.elidedText(row.description, Qt.TextElideMode.ElideRight, rect.width())
    painter.drawText(rect.left(), top + tag_metrics.height() + 1 + metrics.ascent(), text)


def _paint_rules(painter: QPainter, rect: QRectF, row: FleetRow, mark: int) -> None:
    stages = most_urgent(row.rules)
    if not stages:
        return
    look = theme.colours()
    pitch = min(theme.scaled(23), rect.height() / len(stages))
    top = rect.center().y() - pitch * len(stages) / 2
    for n, stage in enumerate(stages):
        line = QRectF(rect.left(), top + n * pitch, rect.width(), pitch)
        paint_wear_rule(painter, line, stage.rule, look, scale=theme.text_scale())
        beside = QRectF(rect.left() - mark - 8, line.center().y() - mark / 2, mark, mark)
        paint_state_mark(painter, beside, stage.rule.state, look)


def most_urgent(stages: tuple[StageRule, ...]) -> tuple[StageRule, ...]:
    """Return the stages that fit on a line, in their order from the motor on."""
    if len(stages) <= MOST_RULES:
        return stages
    ranked = sorted(stages, key=lambda s: (-URGENCY.index(s.rule.state), -s.rule.median))
    chosen = {id(stage) for stage in ranked[:MOST_RULES]}
    return tuple(stage for stage in stages if id(stage) in chosen)
