"""The order list on paper: A4, one block for each depot, with boxes to tick when a part has come."""

from collections.abc import Iterator
from dataclasses import dataclass
from gettext import gettext as _

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPageSize, QPainter, QPen

from wearlog.drawing.palette import colour, palette, type_font
from wearlog.drawing.parts_words import (
    cut_text,
    demand_text,
    joining_text,
    late_text,
    money_text,
    on_order_text,
    order_text,
    set_text,
    shelf_text,
    summary_text,
)
from wearlog.exchange.pdf import Paper
from wearlog.wording import day_text
from wearlog.workshop.parts import narrowed
from wearlog.workshop.parts_snapshot import PartsLine, PartsSnapshot

#: Coordinates are tenths of a millimetre, so that sizes of letters, whole numbers in Qt, are fine enough.
_PER_MM = 10.0
_MARGIN = 15.0
_ROW = 6.6
#: Columns: left edge and width, [mm].
_COLUMNS = (
    ("box", 15.0, 6.0),
    ("part", 22.0, 58.0),
    ("shelf", 80.0, 11.0),
    ("order", 91.0, 22.0),
    ("demand", 113.0, 25.0),
    ("wanted", 138.0, 15.0),
    ("now", 153.0, 21.0),
    ("money", 174.0, 21.0),
)


@dataclass(frozen=True, slots=True)
class _Row:
    """One line on paper: cells by column, or a text across; `is_head` sets it bold."""

    cells: dict[str, str]
    across: str = ""
    is_head: bool = False
    has_box: bool = False
    is_strong: bool = False


def parts_paper(snapshot: PartsSnapshot) -> bytes:
    """Return the parts list as a PDF, depot by depot, what is to be ordered first.

    Parameters
    ----------
    snapshot : PartsSnapshot
        The parts list.
    """
    paper = Paper(_("Parts"), QPageSize(QPageSize.PageSizeId.A4))
    painter, page = paper.painter, paper.page_mm
    painter.scale(1.0 / _PER_MM, 1.0 / _PER_MM)
    top = _head(painter, page, snapshot)
    for row in _rows(snapshot):
        needed = _height(row, page)
        if top + needed > page.height() - _MARGIN:
            paper.new_page()
            top = _MARGIN + 4.0
        _paint(painter, page, row, top)
        top += needed
    return paper.finished()


def _rows(snapshot: PartsSnapshot) -> Iterator[_Row]:
    if not snapshot.lines:
        yield _Row({}, across=summary_text(snapshot))
    for depot in dict.fromkeys(line.depot for line in snapshot.lines):
        one = narrowed(snapshot, depot)
        yield _Row({}, across=depot, is_head=True)
        yield _Row({}, across=summary_text(one))
        yield _Row(
            {
                "part": _("part"),
                "shelf": _("shelf"),
                "order": _("on order"),
                "demand": _("demand"),
                "wanted": _("enough"),
                "now": _("order"),
                "money": _("cost"),
            },
            is_strong=True,
        )
        for line in sorted(one.lines, key=lambda line: not line.order_now):
            yield _line_row(one, line)
        notes = [
            *(set_text(each) for each in one.sets),
            *(cut_text(each) for each in one.cuts),
            *(
                _("Joining links {text}").format(text=joining_text(each))
                for each in one.joining_links
                if each.short
            ),
        ]
        if notes:
            yield _Row({}, across=_("Sets, chains to cut, joining links"), is_strong=True)
        for note in notes:
            yield _Row({}, across=note)


def _line_row(snapshot: PartsSnapshot, line: PartsLine) -> _Row:
    order = order_text(line, snapshot.today)
    late = late_text(line, snapshot.today)
    return _Row(
        {
            "part": line.name,
            "shelf": shelf_text(line),
            "order": on_order_text(line, snapshot.today),
            "demand": demand_text(line),
            "wanted": str(line.wanted),
            "now": order + (" !" if late else ""),
            "money": "" if line.order_cost is None else money_text(line.order_cost),
        },
        has_box=bool(order),
        is_strong=bool(line.order_now),
    )


def _font(mm: float, *, bold: bool = False) -> QFont:
    font = type_font("body", bold=bold)
    font.setPixelSize(round(mm * _PER_MM))
    return font


def _head(painter: QPainter, page: QRectF, snapshot: PartsSnapshot) -> float:
    ink = palette("paper").ink
    painter.setPen(colour(ink))
    painter.setFont(_font(7.0, bold=True))
    title = _("Parts to order")
    painter.drawText(QPointF(_MARGIN * _PER_MM, 22.0 * _PER_MM), title)
    painter.setFont(_font(3.4))
    weeks = _("on {day}, for {n} weeks; “!”: ordered too late for the first need").format(
        day=day_text(snapshot.today), n=snapshot.weeks
    )
    painter.drawText(QPointF(_MARGIN * _PER_MM, 28.5 * _PER_MM), weeks)
    painter.setPen(QPen(colour(ink), 0.4 * _PER_MM))
    painter.drawLine(
        QPointF(_MARGIN * _PER_MM, 32.0 * _PER_MM),
        QPointF((page.width() - _MARGIN) * _PER_MM, 32.0 * _PER_MM),
    )
    return 34.0


def _room(page: QRectF) -> float:
    return page.width() - 2 * _MARGIN


def _height(row: _Row, page: QRectF) -> float:
    if row.is_head:
        return 13.0
    if not row.across:
        return _ROW
    metrics = QFontMetricsF(_font(3.4, bold=row.is_strong))
    box = metrics.boundingRect(
        QRectF(0.0, 0.0, _room(page) * _PER_MM, 1e5), int(Qt.TextFlag.TextWordWrap), row.across
    )
    return float(box.height()) / _PER_MM + 1.8


def _paint(painter: QPainter, page: QRectF, row: _Row, top: float) -> None:
    look = palette("paper")
    painter.setPen(colour(look.ink))
    if row.across:
        painter.setFont(_font(4.6, bold=True) if row.is_head else _font(3.4, bold=row.is_strong))
        above = 5.0 if row.is_head else 0.8
        room = QRectF(_MARGIN, top + above, _room(page), _height(row, page) - above)
        painter.drawText(_scaled(room), int(Qt.TextFlag.TextWordWrap), row.across)
        return
    painter.setFont(_font(3.4, bold=row.is_strong))
    metrics = QFontMetricsF(painter.font())
    for name, left, width in _COLUMNS:
        text = row.cells.get(name, "")
        if name == "box":
            if row.has_box:
                painter.setPen(QPen(colour(look.ink), 0.25 * _PER_MM))
                painter.drawRect(_scaled(QRectF(left, top + 1.4, 3.6, 3.6)))
            continue
        shown = metrics.elidedText(text, Qt.TextElideMode.ElideRight, width * _PER_MM)
        way = Qt.AlignmentFlag.AlignLeft if name == "part" else Qt.AlignmentFlag.AlignRight
        painter.setPen(colour(look.ink))
        painter.drawText(
            _scaled(QRectF(left, top, width, _ROW)), int(way | Qt.AlignmentFlag.AlignVCenter), shown
        )
    painter.setPen(QPen(colour(look.hairline), 0.15 * _PER_MM))
    base = (top + _ROW) * _PER_MM
    painter.drawLine(QPointF(_MARGIN * _PER_MM, base), QPointF((page.width() - _MARGIN) * _PER_MM, base))


def _scaled(rect: QRectF) -> QRectF:
    return QRectF(rect.topLeft() * _PER_MM, rect.size() * _PER_MM)
