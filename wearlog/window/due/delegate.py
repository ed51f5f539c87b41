"""Paints a line of the due list; the chosen one unfolds its reason across the columns at its right."""

from gettext import gettext as _

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPen
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem, QTableView

from wearlog.drawing.due_timeline import WeekScale, paint_due_span
from wearlog.drawing.palette import colour
from wearlog.drawing.plan_words import booked_text
from wearlog.drawing.wear_rule import paint_state_mark, paint_wear_rule
from wearlog.drawing.words import action_text, reason_text, state_text
from wearlog.fleet.planned import PlannedVisit
from wearlog.fleet.state import State
from wearlog.window import theme
from wearlog.window.due.model import Column, DueModel, DueRow
from wearlog.window.due.words import short_day, span_text, when_text, why_text
from wearlog.wording import day_text
from wearlog.workshop.due_snapshot import DueLine

#: Height of a folded line, room between columns, before the text scale, [px].
LINE_PX = 48
GAP_PX = 16
_TOP_PX = 6
_WRAP = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop


class DueDelegate(QStyledItemDelegate):
    """Paints the cells of the due list."""

    def __init__(self, view: QTableView, model: DueModel) -> None:
        super().__init__(view)
        self._view = view
        self._model = model
        self.unfolded: str = ""
        #: What the date of the unfolded line rests on, if it was asked for.
        self.evidence: tuple[str, ...] = ()

    def sizeHint(self, _option: QStyleOptionViewItem, _index: QModelIndex | QPersistentModelIndex) -> QSize:
        """Return the size of a folded cell."""
        return QSize(theme.scaled(80), theme.scaled(LINE_PX))

    def unfolded_height(self, line: DueLine) -> int:
        """Return the height a line needs with its reason unfolded, [px]."""
        metrics = QFontMetrics(theme.font("caption"))
        room = QRect(0, 0, max(self._why_width(), 80), 10_000)
        height = metrics.boundingRect(room, int(_WRAP), self._why(line)).height()
        return _below_two_lines() + height + theme.scaled(12)

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Paint one cell."""
        row = index.data(DueModel.RowRole)
        snapshot = self._model.snapshot
        if not isinstance(row, DueRow) or snapshot is None:
            return
        rect, column = option.rect, Column(index.column())
        is_chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        painter.save()
        painter.setClipRect(rect)
        is_first = column is self._first_column()
        _paint_ground(painter, rect, row, is_first=is_first, is_chosen=is_chosen)
        inner = rect.adjusted(theme.scaled(8) if is_first else 0, 0, -theme.scaled(GAP_PX), 0)
        line, today = row.line, snapshot.today
        if column is Column.VISIT and row.starts_visit:
            on = line.group_on or line.due_on
            is_late = on < today
            _paint_two(
                painter, inner, short_day(on, today), when_text(on, today), strong=True, is_warm=is_late
            )
        elif column is Column.VEHICLE and row.starts_visit:
            on = line.group_on or line.due_on
            is_alone = self._view.isColumnHidden(Column.VISIT)
            below = line.depot
            if is_alone:
                below = when_text(on, today) if on < today else short_day(on, today)
            _paint_two(painter, inner, line.tag, below, strong=True, is_warm=is_alone and on < today)
        elif column is Column.WHAT:
            self._paint_what(painter, inner, row)
        elif column is Column.DUE:
            _paint_two(painter, inner, day_text(line.due_on), span_text(line, today))
        elif column is Column.ORDER and line.order_by is not None:
            is_late = line.order_by < today
            when = when_text(line.order_by, today)
            _paint_two(painter, inner, short_day(line.order_by, today), when, is_warm=is_late)
        elif column is Column.WEAR:
            _paint_wear(painter, inner, line)
        elif column is Column.WEEKS:
            _paint_weeks(painter, rect, line, week_scale(self._model))
        if line.key == self.unfolded and column >= Column.WHAT:
            self._paint_why(painter, rect, line)
        painter.restore()

    def _paint_what(self, painter: QPainter, rect: QRect, row: DueRow) -> None:
        line = row.line
        where = ", ".join(part for part in (line.stage_name, line.part_text) if part)
        if line.key == self.unfolded:
            _paint_two(painter, rect, action_text(line), where)
        else:
            why = reason_text(line, self._model.shown_units)
            if row.booked is not None:
                why = f"{self._booked(row.booked)}; {why}"
            _paint_two(painter, rect, action_text(line), why, beside=where)

    def _why(self, line: DueLine) -> str:
        """Return the reason, with what the columns that left would have said."""
        words = []
        if self._view.isColumnHidden(Column.WEAR) and not _is_quiet(line):
            words.append(_("State: {state}.").format(state=state_text(line.state)))
        if self._view.isColumnHidden(Column.ORDER) and line.order_by is not None:
            words.append(_("Order by {day}.").format(day=day_text(line.order_by)))
        visit = self._model.visit_of(line)
        if visit is not None:
            booked = self._booked(visit)
            words.insert(0, _("{booked}.").format(booked=booked[:1].upper() + booked[1:]))
        why = " ".join([*words, why_text(line, self._model.shown_units)])
        return "\n".join([why, *self.evidence])

    def _booked(self, visit: PlannedVisit) -> str:
        return booked_text(visit.state, visit.number, visit.on, self._model.today)

    def _first_column(self) -> Column:
        return Column.VEHICLE if self._view.isColumnHidden(Column.VISIT) else Column.VISIT

    def _why_left(self) -> int:
        return self._view.columnViewportPosition(Column.WHAT)

    def _why_width(self) -> int:
        return self._view.viewport().width() - self._why_left() - theme.scaled(GAP_PX)

    def _paint_why(self, painter: QPainter, rect: QRect, line: DueLine) -> None:
        """Paint this cell's part of the reason, which runs on below the columns at the right."""
        painter.setFont(theme.font("caption"))
        painter.setPen(colour(theme.colours().ink))
        room = QRect(self._why_left(), rect.top() + _below_two_lines(), self._why_width(), rect.height())
        painter.drawText(room, int(_WRAP), self._why(line))


def _below_two_lines() -> int:
    """Return where a third line starts in a cell, [px]."""
    upper, lower = QFontMetrics(theme.font()), QFontMetrics(theme.font("caption"))
    return theme.scaled(_TOP_PX) + upper.height() + 2 + lower.height() + theme.scaled(4)


def _paint_ground(painter: QPainter, rect: QRect, row: DueRow, *, is_first: bool, is_chosen: bool) -> None:
    look = theme.colours()
    if is_chosen:
        painter.fillRect(rect, colour(look.raised))
        if is_first:
            painter.fillRect(QRect(rect.left(), rect.top(), 3, rect.height()), colour(look.accent))
    if row.starts_visit:
        # A rule over the whole width where a visit begins; within a visit nothing parts its lines.
        painter.fillRect(QRect(rect.left(), rect.top(), rect.width(), 1), colour(look.hairline))


def _paint_two(
    painter: QPainter,
    rect: QRect,
    first: str,
    second: str,
    *,
    strong: bool = False,
    is_warm: bool = False,
    beside: str = "",
) -> None:
    """Paint a line of text and a smaller one under it."""
    look = theme.colours()
    upper, lower = theme.font("body", bold=strong), theme.font("caption")
    metrics = QFontMetrics(upper)
    top = rect.top() + theme.scaled(_TOP_PX)
    baseline = top + metrics.ascent()
    painter.setFont(upper)
    painter.setPen(colour(look.ink))
    painter.drawText(rect.left(), baseline, _elided(first, upper, rect.width()))
    if beside:
        left = rect.left() + metrics.horizontalAdvance(first) + theme.scaled(8)
        painter.setFont(lower)
        painter.setPen(colour(look.muted))
        painter.drawText(left, baseline, _elided(beside, lower, rect.right() - left))
    if second:
        painter.setFont(lower)
        painter.setPen(colour(look.problem if is_warm else look.muted))
        at = top + metrics.height() + 2 + QFontMetrics(lower).ascent()
        painter.drawText(rect.left(), at, _elided(second, lower, rect.width()))


def _is_quiet(line: DueLine) -> bool:
    """Whether the state of a line goes without saying: a task that is not late."""
    return line.rule is None and line.state is State.WITHIN_LIMIT


def _paint_wear(painter: QPainter, rect: QRect, line: DueLine) -> None:
    look = theme.colours()
    font = theme.font("caption")
    metrics = QFontMetrics(font)
    mark = theme.scaled(11)
    top = rect.top() + theme.scaled(_TOP_PX)
    height = QFontMetrics(theme.font()).height()
    if not _is_quiet(line):
        paint_state_mark(
            painter, QRectF(rect.left(), top + (height - mark) / 2, mark, mark), line.state, look
        )
        painter.setFont(font)
        painter.setPen(colour(look.look(line.state).text))
        baseline = top + (height - metrics.height()) // 2 + metrics.ascent()
        painter.drawText(rect.left() + mark + 6, baseline, state_text(line.state))
    if line.rule is not None:
        rule = QRectF(rect.left(), top + height, rect.width(), theme.scaled(18))
        paint_wear_rule(painter, rule, line.rule, look, scale=theme.text_scale())


def week_scale(model: DueModel) -> WeekScale:
    """Return the weeks that the list shows."""
    return WeekScale(model.today, model.weeks_shown())


def weeks_rect(rect: QRect) -> QRectF:
    """Return where the weeks lie in the width of a cell or head; points at both ends need a little room."""
    edge = theme.scaled(8)
    return QRectF(rect).adjusted(edge, 0.0, -edge, 0.0)


def _paint_weeks(painter: QPainter, rect: QRect, line: DueLine, weeks: WeekScale) -> None:
    """Paint when a line comes due, over light rules for the weeks, or the months where there are many."""
    look = theme.colours()
    inner = weeks_rect(rect)
    # Below, an unfolded reason runs across.
    row = QRectF(inner.left(), inner.top(), inner.width(), float(theme.scaled(LINE_PX)))
    painter.setPen(QPen(colour(look.hairline), 1.0, Qt.PenStyle.DotLine))
    for day in weeks.mondays():
        if weeks.weeks <= 13 or day.day <= 7:
            x = int(weeks.x(row, day)) + 0.5
            painter.drawLine(QPointF(x, row.top()), QPointF(x, row.bottom()))
    painter.setPen(QPen(colour(look.ink), 1.0))
    left = int(row.left()) + 0.5
    painter.drawLine(QPointF(left, row.top()), QPointF(left, row.bottom()))
    paint_due_span(painter, row, line, weeks, look, theme.text_scale())


def _elided(text: str, font: QFont, width: int) -> str:
    return QFontMetrics(font).elidedText(text, Qt.TextElideMode.ElideRight, max(width, 0))
