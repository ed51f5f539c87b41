"""The due list for the wall: A4 across, to be read at two metres, ticked and initialled by hand."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from gettext import gettext as _
from pathlib import Path
from typing import BinaryIO

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPageSize, QPainter, QPen

from wearlog.drawing.cautions import caution_line
from wearlog.drawing.palette import Palette, palette, type_font
from wearlog.drawing.wear_rule import paint_state_mark
from wearlog.drawing.words import action_text, state_text
from wearlog.exchange.files import write_whole
from wearlog.exchange.pdf import Paper
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.state import State, worst
from wearlog.wording import day_text, month_text
from wearlog.workshop.due_snapshot import DueLine, DueSnapshot, VisitGroup

#: Height of capitals of what has to be read from afar, [mm]: 0.004 x the distance at least.
#: NUREG-0700 rev. 2 (2002), 11.4.1.5-1, for a distance of 2 m.
READ_AT_MM = 2000.0
CAPITAL_MM = 0.004 * READ_AT_MM
_SMALL_CAPITAL_MM = 2.8
_TITLE_CAPITAL_MM = 8.0

# The sheet, [mm]: a box to tick and initial, the mark of the state, tag, what, by when.
_MARGIN = 12.0
_BOX, _BOX_WIDTH, _BOX_HEIGHT = 12.0, 20.0, 11.0
_MARK, _MARK_SIDE = 36.0, 8.0
_TAG, _TAG_WIDTH = 49.0, 52.0
_WHAT, _WHAT_WIDTH = 104.0, 124.0
_BY, _BY_WIDTH = 231.0, 54.0
_HEAD, _FOOT = 34.0, 16.0
_LINE, _GAP = 19.5, 1.5
#: Letters are set this narrow at most before a text takes a second line.
_NARROWEST = 0.8
#: Coordinates are tenths of a millimetre, so that sizes of letters, whole numbers in Qt, are fine enough.
_PER_MM = 10.0
#: Visits of up to so many jobs are not parted by the end of a page.
_TOGETHER = 3


@dataclass(frozen=True, slots=True)
class _Row:
    """One job to tick: lines of a visit that ask for the same; the first row of a visit says the tag."""

    lines: tuple[DueLine, ...]
    starts: bool
    what: tuple[str, ...]

    @property
    def first(self) -> DueLine:
        """The line that comes due first."""
        return min(self.lines, key=lambda line: line.due_on)

    @property
    def state(self) -> State:
        """The most urgent state of its lines."""
        return worst([line.state for line in self.lines])

    @property
    def where(self) -> str:
        """State, stages and parts."""
        places = (
            ", ".join(part for part in (line.stage_name, line.part_text) if part) for line in self.lines
        )
        return f"{state_text(self.state)}: {'; '.join(dict.fromkeys(places))}".rstrip(": ")

    @property
    def height(self) -> float:
        """Height on the sheet, [mm]."""
        return _LINE + (len(self.what) - 1) * (CAPITAL_MM + 4.0)


@dataclass(frozen=True, slots=True)
class _Sheet:
    """One page: the lines of one depot that fit."""

    depot: str
    rows: tuple[_Row, ...]


def _capital_font(capital_mm: float, *, bold: bool = False) -> QFont:
    """Return the platform's font with capitals of at least this height."""
    font = type_font("body", bold=bold)
    font.setPixelSize(1000)
    share = QFontMetricsF(font).capHeight() / 1000.0
    # Rounded up: what must be read from afar may be larger, never smaller.
    font.setPixelSize(int(capital_mm * _PER_MM / share) + 1)
    return font


def _width(font: QFont, text: str) -> float:
    return QFontMetricsF(font).horizontalAdvance(text) / _PER_MM


def _in_lines(text: str, width: float, font: QFont) -> tuple[str, ...]:
    """Return a text in as few lines as fit, narrowed letters allowed for."""
    room = width / _NARROWEST
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and _width(font, longer) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(lines) or ("",)


def _first_due(group: VisitGroup) -> date:
    return min((line.due_on for line in group.lines), default=group.on)


def _visits(snapshot: DueSnapshot) -> dict[str, list[VisitGroup]]:
    """Return the visits of each depot by date, what is most urgent first."""
    depots: dict[str, list[VisitGroup]] = {}
    for group in sorted(snapshot.groups, key=lambda g: (g.depot, _first_due(g), g.tag)):
        depots.setdefault(group.depot, []).append(group)
    return depots


def _rows(group: VisitGroup, font: QFont) -> list[_Row]:
    jobs: dict[str, list[DueLine]] = {}
    for line in sorted(group.lines, key=lambda line: line.due_on):
        jobs.setdefault(action_text(line), []).append(line)
    return [
        _Row(tuple(lines), n == 0, _in_lines(job, _WHAT_WIDTH, font))
        for n, (job, lines) in enumerate(jobs.items())
    ]


def _sheets(snapshot: DueSnapshot, height: float, font: QFont) -> Iterator[_Sheet]:
    """Share the lines out to pages; each depot starts a page, short visits stay together."""
    room = height - _HEAD - _FOOT
    for depot, groups in _visits(snapshot).items():
        page: list[_Row] = []
        used = 0.0
        for group in groups:
            rows = _rows(group, font)
            needed = sum(row.height for row in rows)
            if page and used + needed > room and len(rows) <= _TOGETHER:
                yield _Sheet(depot, tuple(page))
                page, used = [], 0.0
            for row in rows:
                if page and used + row.height > room:
                    yield _Sheet(depot, tuple(page))
                    page, used = [], 0.0
                # A visit that goes on overleaf says again whose it is.
                page.append(row if page else replace(row, starts=True))
                used += row.height
        if page:
            yield _Sheet(depot, tuple(page))


def write_wall_list(snapshot: DueSnapshot, target: Path | BinaryIO, shown: ShownUnits) -> None:
    """Write the due list as a PDF to hang on the wall.

    Parameters
    ----------
    snapshot : DueSnapshot
        The due list.
    target : Path or BinaryIO
        A file, replaced if it exists, or a stream.
    shown : ShownUnits
        The units of this seat; the wall list shows dates only.

    Raises
    ------
    WearlogError
        If the file can't be written.
    """
    del shown
    content = _wall_list(snapshot)

    def write(stream: BinaryIO) -> None:
        stream.write(content)

    write_whole(target, write)


def _wall_list(snapshot: DueSnapshot) -> bytes:
    paper = Paper(_("Due for service"), QPageSize(QPageSize.PageSizeId.A4), is_landscape=True)
    paint_wall_list(snapshot, paper.painter, paper.page_mm, paper.new_page)
    return paper.finished()


def paint_wall_list(
    snapshot: DueSnapshot, painter: QPainter, page: QRectF, new_page: Callable[[], object]
) -> None:
    """Draw the wall list sheet by sheet, on a PDF or a printer.

    Parameters
    ----------
    snapshot : DueSnapshot
        The due list.
    painter : QPainter
        Draws in millimetres from the upper left corner of the sheet.
    page : QRectF
        The sheet, A4 across, [mm].
    new_page : callable
        Goes on to the next sheet.
    """
    painter.scale(1.0 / _PER_MM, 1.0 / _PER_MM)
    large = _capital_font(CAPITAL_MM)
    sheets = list(_sheets(snapshot, page.height(), large)) or [_Sheet("", ())]
    for number, sheet in enumerate(sheets, start=1):
        if number > 1:
            new_page()
        _paint_head(painter, page, sheet, snapshot, _("page {n} of {all}").format(n=number, all=len(sheets)))
        top = _HEAD
        for row in sheet.rows:
            _paint_row(painter, page, row, top, snapshot.today)
            top += row.height
        if not sheet.rows:
            _write(painter, _MARGIN, _HEAD + 20.0, large, _nothing(snapshot))
        _paint_foot(painter, page)


def _nothing(snapshot: DueSnapshot) -> str:
    if snapshot.within_days is None:
        return _("Nothing is due.")
    return _("Nothing is due in the next {n} days.").format(n=snapshot.within_days)


def _ink(painter: QPainter, colour: str = "#000000") -> None:
    painter.setPen(QColor(colour))


def _write(
    painter: QPainter, left: float, base: float, font: QFont, text: str, width: float | None = None
) -> None:
    """Write a line of text on a base line, narrowed if it is wider than its column, [mm]."""
    painter.setFont(font)
    natural = _width(font, text)
    squeeze = min(1.0, width / natural) if width and natural > 0 else 1.0
    if squeeze == 1.0:
        painter.drawText(QPointF(left * _PER_MM, base * _PER_MM), text)
        return
    painter.save()
    painter.translate(left * _PER_MM, base * _PER_MM)
    painter.scale(squeeze, 1.0)
    painter.drawText(QPointF(0.0, 0.0), text)
    painter.restore()


def _rule(painter: QPainter, page: QRectF, top: float, thick: float) -> None:
    painter.setPen(QPen(QColor("#000000"), thick * _PER_MM, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
    painter.drawLine(
        QPointF(_MARGIN * _PER_MM, top * _PER_MM), QPointF((page.width() - _MARGIN) * _PER_MM, top * _PER_MM)
    )


def _paint_head(painter: QPainter, page: QRectF, sheet: _Sheet, snapshot: DueSnapshot, number: str) -> None:
    _ink(painter)
    title = _("Due for service")
    if sheet.depot:
        title = _("{depot}: due for service").format(depot=sheet.depot)
    _write(painter, _MARGIN, 21.0, _capital_font(_TITLE_CAPITAL_MM, bold=True), title, 195.0)
    small = _capital_font(_SMALL_CAPITAL_MM)
    for base, text in ((15.5, _("data as of {day}").format(day=day_text(snapshot.today))), (21.0, number)):
        _write(painter, page.width() - _MARGIN - _width(small, text), base, small, text)
    for left, text in (
        (_BOX, _("done, by")),
        (_TAG, _("vehicle")),
        (_WHAT, _("what")),
        (_BY, _("by when")),
    ):
        _write(painter, left, _HEAD - 3.0, small, text)
    _rule(painter, page, _HEAD - 1.0, 0.5)


def _paint_row(painter: QPainter, page: QRectF, row: _Row, top: float, today: date) -> None:
    line = row.first
    if row.starts and top > _HEAD:
        _rule(painter, page, top - _GAP / 2 - 0.4, 0.3)
    large, bold, small = (
        _capital_font(CAPITAL_MM),
        _capital_font(CAPITAL_MM, bold=True),
        _capital_font(_SMALL_CAPITAL_MM),
    )
    base = top + 2.2 + CAPITAL_MM
    painter.setPen(QPen(QColor("#000000"), 0.4 * _PER_MM))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    box = QRectF(_BOX, top + 1.6, _BOX_WIDTH, _BOX_HEIGHT)
    painter.drawRect(QRectF(box.topLeft() * _PER_MM, box.size() * _PER_MM))
    mark = QRectF(_MARK, top + 2.2, _MARK_SIDE, _MARK_SIDE)
    paint_state_mark(painter, QRectF(mark.topLeft() * _PER_MM, mark.size() * _PER_MM), row.state, _black())
    _ink(painter)
    if row.starts:
        _write(painter, _TAG, base, bold, line.tag, _TAG_WIDTH)
    for n, text in enumerate(row.what):
        _write(painter, _WHAT, base + n * (CAPITAL_MM + 4.0), large, text, _WHAT_WIDTH)
    _write(painter, _BY, base, bold, _by_text(line.due_on, today), _BY_WIDTH)
    under = base + (len(row.what) - 1) * (CAPITAL_MM + 4.0) + 6.0
    _write(painter, _WHAT, under, small, _cut(row.where, small, _WHAT_WIDTH / 0.7), _WHAT_WIDTH)
    _write(painter, _BY, under, small, _spread_text(line, today), _BY_WIDTH)


def _cut(text: str, font: QFont, width: float) -> str:
    return QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideRight, width * _PER_MM)


def _by_text(day: date, today: date) -> str:
    if day <= today:
        return _("now")
    text = f"{day.day} {month_text(day)}"
    return text if (day - today).days < 300 else f"{text} {day.year % 100:02d}"


def _spread_text(line: DueLine, today: date) -> str:
    """Return the dates that hold 8 in 10, without years where nobody could mistake them."""
    if line.early_on is None or line.early_on == line.late_on or (line.late_on and line.late_on <= today):
        return _("since {day}").format(day=day_text(line.due_on)) if line.due_on < today else ""
    early = _by_text(line.early_on, today)
    if line.late_on is None:
        return _("8 in 10: {early} or later").format(early=early)
    return _("8 in 10: {early} to {late}").format(early=early, late=_by_text(line.late_on, today))


@cache
def _black() -> Palette:
    """Return the colours of paper with every state in black: what a copier makes of them anyway."""
    paper = palette("paper")
    return replace(paper, looks=tuple(replace(look, mark=paper.ink, text=paper.ink) for look in paper.looks))


def _paint_foot(painter: QPainter, page: QRectF) -> None:
    _rule(painter, page, page.height() - _FOOT + 2.0, 0.3)
    _ink(painter)
    small = _capital_font(_SMALL_CAPITAL_MM)
    width = page.width() - 2 * _MARGIN
    base = page.height() - _FOOT + 7.0
    for n, text in enumerate(_in_lines(caution_line(), width * _NARROWEST, small)[:2]):
        _write(painter, _MARGIN, base + n * 4.6, small, text, width)
