"""The coming weeks, with the uncertainty of each date: one row a line, for lists, widgets and paper."""

from dataclasses import dataclass
from datetime import date, timedelta
from gettext import gettext as _

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from wearlog.drawing.chart_frame import draw_text, text_size
from wearlog.drawing.due_words import action_text, due_interval_text
from wearlog.drawing.palette import Palette, colour, palette, type_font
from wearlog.drawing.wear_rule import paint_state_mark
from wearlog.wording import day_text, month_text
from wearlog.workshop.due_snapshot import DueLine

#: Weeks shown at first; a quarter is as far as a workshop plans by the day.
WEEKS = 13
_ROW_PX, _AXIS_PX, _MARK_PX, _BAR_PX = 24.0, 24.0, 11.0, 6.0


@dataclass(frozen=True, slots=True)
class WeekScale:
    """The days between today and the end of some weeks, laid over a width."""

    today: date
    weeks: int = WEEKS

    @property
    def end(self) -> date:
        """The last day shown."""
        return self.today + timedelta(weeks=self.weeks)

    def x(self, rect: QRectF, day: date) -> float:
        """Return where a day lies in a rectangle, held to its ends, [px]."""
        share = (day - self.today).days / (7 * self.weeks)
        return rect.left() + rect.width() * min(max(share, 0.0), 1.0)

    def has(self, day: date) -> bool:
        """Whether a day is shown."""
        return self.today <= day <= self.end

    def mondays(self) -> list[date]:
        """Return the Mondays shown."""
        first = self.today + timedelta(days=(7 - self.today.weekday()) % 7)
        return [
            first + timedelta(weeks=n)
            for n in range(self.weeks + 1)
            if first + timedelta(weeks=n) <= self.end
        ]


def paint_week_axis(
    painter: QPainter, rect: QRectF, weeks: WeekScale, colours: Palette, scale: float = 1.0
) -> None:
    """Write the dates of Mondays above the rows, as many as fit, and today at the left end.

    Parameters
    ----------
    painter : QPainter
        On a widget, a picture or paper.
    rect : QRectF
        Where; the rows lie below it.
    weeks : WeekScale
        Which weeks.
    colours : Palette
        The theme's colours.
    scale : float
        The seat's text scale, [-].
    """
    font, bold = type_font("caption", scale=scale), type_font("caption", bold=True, scale=scale)
    today = _("today")
    end, height = text_size(bold, today)
    top = rect.bottom() - height - 7.0
    painter.setPen(colour(colours.ink))
    draw_text(painter, rect.left(), top, bold, today)
    painter.drawLine(
        QPointF(rect.left() + 0.5, rect.bottom() - 5.0), QPointF(rect.left() + 0.5, rect.bottom())
    )
    edge = rect.left() + end + 12.0
    for day in weeks.mondays():
        x = int(weeks.x(rect, day)) + 0.5
        text = f"{day.day} {month_text(day)}"
        width = text_size(font, text)[0]
        painter.setPen(colour(colours.outline))
        painter.drawLine(QPointF(x, rect.bottom() - 4.0), QPointF(x, rect.bottom()))
        if x - width / 2 >= edge and x + width / 2 <= rect.right():
            painter.setPen(colour(colours.muted))
            draw_text(painter, x - width / 2, top, font, text)
            edge = x + width / 2 + 12.0


def paint_due_span(
    painter: QPainter, rect: QRectF, line: DueLine, weeks: WeekScale, colours: Palette, scale: float = 1.0
) -> None:
    """Draw when a line comes due: a bar from early to late (8 in 10), the mark of its state at the due date.

    Parameters
    ----------
    painter : QPainter
        On a widget, a picture or paper.
    rect : QRectF
        The row; its whole width are the weeks.
    line : DueLine
        What comes due.
    weeks : WeekScale
        Which weeks.
    colours : Palette
        The theme's colours.
    scale : float
        The seat's text scale, [-].
    """
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    middle = rect.center().y()
    look = colours.look(line.state)
    side, thick = _MARK_PX * scale, _BAR_PX * scale
    if (
        line.early_on is not None
        and line.early_on <= weeks.end
        and (line.late_on is None or line.late_on >= weeks.today)
    ):
        left = weeks.x(rect, line.early_on)
        right = weeks.x(rect, line.late_on) if line.late_on is not None else rect.right()
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour(look.mark, 0.32))
        painter.drawRect(QRectF(left, middle - thick / 2, max(right - left, 1.0), thick))
        if line.late_on is None or line.late_on > weeks.end:
            painter.drawPolygon(_point(rect.right(), middle, thick, 1.0))
        if line.early_on < weeks.today:
            painter.drawPolygon(_point(rect.left(), middle, thick, -1.0))
        if line.likely_on is not None and weeks.has(line.likely_on):
            painter.setPen(QPen(colour(look.mark), 2.0 * scale))
            at = weeks.x(rect, line.likely_on)
            painter.drawLine(QPointF(at, middle - thick), QPointF(at, middle + thick))
    if line.due_on <= weeks.end:
        at = weeks.x(rect, line.due_on)
        at = min(max(at, rect.left() + side / 2), rect.right() - side / 2)
        paint_state_mark(painter, QRectF(at - side / 2, middle - side / 2, side, side), line.state, colours)
    else:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour(colours.outline))
        painter.drawPolygon(_point(rect.right() - 4.0, middle, thick, 1.0))
    painter.restore()


def _point(x: float, y: float, thick: float, way: float) -> QPolygonF:
    """Return a small point that says: it goes on beyond the edge."""
    return QPolygonF(
        [QPointF(x, y - thick / 2), QPointF(x + way * thick * 0.7, y), QPointF(x, y + thick / 2)]
    )


def span_text(line: DueLine) -> str:
    """Return what one row shows, for tool tips and screen readers."""
    head = _("{tag}, {action}: by {day}").format(
        tag=line.tag, action=action_text(line), day=day_text(line.due_on)
    )
    span = due_interval_text(line)
    return _("{head} (8 in 10: {span})").format(head=head, span=span) if span else head


class DueTimeline(QWidget):
    """The coming weeks of a due list, one row a line, sorted as the list.

    Signals
    -------
    line_chosen(str)
        A row was clicked; the key of its line.
    """

    line_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._lines: tuple[DueLine, ...] = ()
        self._weeks = WeekScale(date(2000, 1, 1))
        self._colours = palette("light")
        self._scale = 1.0
        self._chosen = ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        self.setAccessibleName(_("The coming weeks"))

    def wear_colours(self, colours: Palette, scale: float = 1.0) -> None:
        """Take the colours of a theme and the seat's text scale."""
        self._colours, self._scale = colours, scale
        self.updateGeometry()
        self.update()

    def show_lines(self, lines: tuple[DueLine, ...], today: date, weeks: int = WEEKS) -> None:
        """Show the lines of a due list."""
        self._lines = lines
        self._weeks = WeekScale(today, weeks)
        within = sum(1 for line in lines if line.due_on <= self._weeks.end)
        self.setAccessibleDescription(
            _("{n} of {all} lines come due by {day}").format(
                n=within, all=len(lines), day=day_text(self._weeks.end)
            )
        )
        self.updateGeometry()
        self.update()

    def choose(self, key: str) -> None:
        """Point out the row of a line."""
        self._chosen = key
        self.update()

    def row_rect(self, row: int) -> QRectF:
        """Return where a row lies, [px]."""
        height = _ROW_PX * self._scale
        return QRectF(0.0, (_AXIS_PX + row * _ROW_PX) * self._scale, float(self.width()), height)

    def sizeHint(self) -> QSize:
        """Return room for all rows."""
        return QSize(
            round(360 * self._scale), round((_AXIS_PX + len(self._lines) * _ROW_PX) * self._scale) + 2
        )

    def minimumSizeHint(self) -> QSize:
        """Return room for the axis and all rows, narrow."""
        return QSize(160, self.sizeHint().height())

    def _span_rect(self, row: QRectF) -> QRectF:
        edge = _BAR_PX * self._scale
        return row.adjusted(edge, 0.0, -edge, 0.0)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw axis and rows in sight."""
        with QPainter(self) as painter:
            axis = self._span_rect(QRectF(0.0, 0.0, float(self.width()), _AXIS_PX * self._scale))
            paint_week_axis(painter, axis, self._weeks, self._colours, self._scale)
            bottom = self.row_rect(len(self._lines)).top()
            painter.setPen(QPen(colour(self._colours.hairline), 1.0))
            for day in self._weeks.mondays():
                x = int(self._weeks.x(axis, day)) + 0.5
                painter.drawLine(QPointF(x, axis.bottom()), QPointF(x, bottom))
            painter.setPen(QPen(colour(self._colours.ink), 1.0))
            painter.drawLine(QPointF(axis.left() + 0.5, axis.bottom()), QPointF(axis.left() + 0.5, bottom))
            for n, line in enumerate(self._lines):
                row = self.row_rect(n)
                if not row.intersects(QRectF(event.rect())):
                    continue
                if line.key == self._chosen:
                    painter.fillRect(row, colour(self._colours.raised))
                paint_due_span(painter, self._span_rect(row), line, self._weeks, self._colours, self._scale)
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the row under the pointer."""
        row = int((event.position().y() / self._scale - _AXIS_PX) // _ROW_PX)
        if 0 <= row < len(self._lines):
            self.choose(self._lines[row].key)
            self.line_chosen.emit(self._lines[row].key)
