"""Blocks of a page, one under the other: headings, paragraphs, tables with boxes to write in."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QRectF

from wearlog.drawing.paper_ink import LINE, Ink, Side, in_lines
from wearlog.fleet.state import State
from wearlog.workshop.fleet_snapshot import WearRuleValue


@dataclass(frozen=True, slots=True)
class Look:
    """Where a page writes and how large, [mm]; `body`, `small` and `heading` are sizes of letters."""

    left: float
    width: float
    body: float = 3.3
    small: float = 2.7
    heading: float = 4.4
    gap: float = 1.0

    def times(self, scale: float) -> "Look":
        """Return the same page in smaller letters, no smaller than can be read in the hand."""
        return Look(
            self.left,
            self.width,
            self.body * scale,
            # Six-point letters: common practice for the least on paper, no source.
            max(self.small * scale, 2.1),
            self.heading * scale,
            self.gap * scale,
        )


@dataclass(frozen=True, slots=True)
class Block:
    """Something as wide as the page; `keeps_next` stays on one page with what follows."""

    height: float
    paint: Callable[[Ink, float], None]
    keeps_next: bool = False


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands in a cell of a table: a text with a smaller one under it, or something drawn.

    `blanks` are boxes to write in, `ends` the unit after them; `ticks` is a box to tick.
    """

    text: str = ""
    small: str = ""
    is_bold: bool = False
    rule: WearRuleValue | None = None
    state: State | None = None
    blanks: int = 0
    ticks: bool = False
    ends: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: what stands over it, and its share of the width."""

    title: str
    share: float
    side: Side = Side.LEFT


#: Height of a box to write in, [mm]: room for figures by hand. Common practice, no source.
BLANK_MM = 6.4
#: Height of a wear rule in a table, [mm].
RULE_MM = 4.4


def share_out(blocks: Sequence[Block], first: float, other: float) -> list[list[Block]]:
    """Return blocks page by page; a heading goes to the next page rather than standing alone at the end.

    Parameters
    ----------
    blocks : sequence of Block
        In their order.
    first, other : float
        Room on the first page and on the others, [mm].
    """
    pages: list[list[Block]] = [[]]
    used = 0.0
    held: list[Block] = []
    for block in blocks:
        held.append(block)
        if block.keeps_next:
            continue
        needed = sum(one.height for one in held)
        if pages[-1] and used + needed > (first if len(pages) == 1 else other):
            pages.append([])
            used = 0.0
        pages[-1] += held
        used += needed
        held = []
    pages[-1] += held
    return pages


def space(height: float) -> Block:
    """Return room, [mm]."""
    return Block(height, lambda _ink, _top: None)


def heading(look: Look, text: str) -> Block:
    """Return the heading of a part of the page, with a rule under it."""
    size = look.heading

    def paint(ink: Ink, top: float) -> None:
        base = top + size * 1.25
        ink.write(look.left, base, text, size, bold=True, width=look.width)
        ink.line(look.left, look.left + look.width, base + size * 0.38, thick=0.3, firm=True)

    return Block(size * 1.9, paint, keeps_next=True)


def paragraph(
    look: Look, text: str, *, size: float | None = None, bold: bool = False, muted: bool = False
) -> Block:
    """Return a text over the width of the page."""
    letters = size or look.body
    lines = in_lines(text, look.width, letters, bold=bold)

    def paint(ink: Ink, top: float) -> None:
        for n, line in enumerate(lines):
            base = top + letters * (1.0 + n * LINE)
            ink.write(look.left, base, line, letters, bold=bold, muted=muted, width=look.width)

    return Block(len(lines) * letters * LINE + look.gap, paint)


def in_columns(look: Look, texts: Sequence[str], count: int) -> Block:
    """Return short texts in columns side by side, each with a dash before it, in small letters."""
    gutter, dash = 5.0, look.small * 1.1
    width = (look.width - gutter * (count - 1)) / count
    sets = [in_lines(text, width - dash, look.small) for text in texts]
    total = sum(map(len, sets))
    columns: list[list[tuple[str, bool]]] = [[] for _n in range(count)]
    place = 0
    for lines in sets:
        if place < count - 1 and len(columns[place]) >= total / count:
            place += 1
        columns[place] += [(line, n == 0) for n, line in enumerate(lines)]
    step = look.small * LINE

    def paint(ink: Ink, top: float) -> None:
        for n, column in enumerate(columns):
            left = look.left + n * (width + gutter)
            for row, (line, starts) in enumerate(column):
                base = top + look.small + row * step
                if starts:
                    ink.write(left, base, "–", look.small)
                ink.write(left + dash, base, line, look.small, width=width - dash)

    return Block(max(map(len, columns), default=0) * step + look.gap, paint)


def table(look: Look, columns: Sequence[Column], rows: Sequence[Sequence[Cell]]) -> list[Block]:
    """Return a table, row by row; its head stays with the first row.

    Parameters
    ----------
    look : Look
        The page.
    columns : sequence of Column
        Shares add up to one.
    rows : sequence of sequence of Cell
        As many cells as columns in each row.
    """
    edges = [look.left]
    for column in columns:
        edges.append(edges[-1] + column.share * look.width)
    places = [
        (edges[n], edges[n + 1] - edges[n] - (2.0 if n < len(columns) - 1 else 0.0), column)
        for n, column in enumerate(columns)
    ]
    blocks = []
    if any(column.title for column in columns):
        blocks.append(_table_head(look, places))
    return blocks + [_row(look, places, row) for row in rows]


_Place = tuple[float, float, Column]


def _table_head(look: Look, places: Sequence[_Place]) -> Block:
    size = look.small

    def paint(ink: Ink, top: float) -> None:
        for left, width, column in places:
            ink.write(left, top + size * 1.15, column.title, size, muted=True, width=width, side=column.side)

    return Block(size * 1.55, paint, keeps_next=True)


def _row(look: Look, places: Sequence[_Place], row: Sequence[Cell]) -> Block:
    texts = [
        (
            in_lines(cell.text, _room(look, cell, width), look.body, bold=cell.is_bold) if cell.text else [],
            in_lines(cell.small, width, look.small) if cell.small else [],
        )
        for cell, (_left, width, _column) in zip(row, places, strict=True)
    ]
    pad = 0.22 * look.body
    height = max(
        *(
            len(big) * look.body * LINE
            + len(fine) * look.small * LINE
            + (RULE_MM if cell.rule is not None else 0.0)
            for cell, (big, fine) in zip(row, texts, strict=True)
        ),
        max((_drawn_height(look, cell) for cell in row), default=0.0),
    )

    def paint(ink: Ink, top: float) -> None:
        for cell, (left, width, column), (big, fine) in zip(row, places, texts, strict=True):
            _paint_drawn(ink, look, cell, QRectF(left, top + pad, width, height))
            shift = width - _room(look, cell, width)
            base = top + pad + look.body
            for line in big:
                ink.write(
                    left + shift,
                    base,
                    line,
                    look.body,
                    bold=cell.is_bold,
                    width=width - shift,
                    side=column.side,
                )
                base += look.body * LINE
            base += look.small - look.body + (RULE_MM if cell.rule is not None else 0.0)
            for line in fine:
                ink.write(left, base, line, look.small, muted=True, width=width, side=column.side)
                base += look.small * LINE
        ink.line(look.left, look.left + look.width, top + height + 2 * pad)

    return Block(height + 2 * pad, paint)


def _room(look: Look, cell: Cell, width: float) -> float:
    """Return the width that is left to the text beside a mark."""
    return width - (1.35 * look.body if cell.state is not None else 0.0)


def _drawn_height(look: Look, cell: Cell) -> float:
    if cell.blanks:
        return BLANK_MM
    if cell.ticks:
        return look.body * 1.45
    return RULE_MM if cell.rule is not None else 0.0


def _paint_drawn(ink: Ink, look: Look, cell: Cell, room: QRectF) -> None:
    if cell.rule is not None:
        ink.wear_rule(QRectF(room.left(), room.top(), room.width(), RULE_MM), cell.rule)
    if cell.state is not None:
        side = look.body * 0.95
        ink.state_mark(QRectF(room.left(), room.top() + 0.12 * look.body, side, side), cell.state)
    if cell.ticks:
        side = look.body * 1.3
        ink.box(QRectF(room.left(), room.top() + 0.05 * look.body, side, side), thick=0.35)
    if cell.blanks:
        gap = 1.2
        ends = 9.0 if cell.ends else 0.0
        width = (room.width() - ends - gap * (cell.blanks - 1)) / cell.blanks
        for n in range(cell.blanks):
            ink.box(QRectF(room.left() + n * (width + gap), room.top(), width, BLANK_MM))
        if cell.ends:
            base = room.top() + BLANK_MM * 0.68
            ink.write(room.right() - ends + 1.0, base, cell.ends, look.small, width=ends - 1.0)
