"""The job card as a PDF: one page, A4 or Letter, however long the visit's work is."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from gettext import gettext as _
from gettext import ngettext
from pathlib import Path
from typing import BinaryIO

from PySide6.QtCore import QRectF

from wearlog.drawing.cautions import cautions, maker_caution
from wearlog.drawing.number_words import use_text
from wearlog.drawing.paper_blocks import (
    BLANK_MM,
    Block,
    Cell,
    Column,
    Look,
    heading,
    in_columns,
    paragraph,
    space,
    table,
)
from wearlog.drawing.paper_code39 import can_be_coded, code39_width
from wearlog.drawing.paper_ink import Ink, Side, paper_font, text_width
from wearlog.drawing.paper_words import (
    allowance_text,
    asked_how_text,
    asked_place_text,
    asked_spots,
    asked_text,
    asked_unit,
    card_part_text,
    card_place_text,
    card_return_text,
    card_shelf_text,
    card_task_text,
    card_when_text,
    card_why_text,
    limit_words,
    reading_text,
)
from wearlog.drawing.torque_pattern import BoltPattern, pattern_text
from wearlog.drawing.torque_words import bolts_text, last_text, range_text, treatment_text
from wearlog.exchange.files import write_whole
from wearlog.exchange.pdf import Paper, PaperSize, capital_share, sheet_of
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.torque import Fastener
from wearlog.wording import day_text
from wearlog.workshop.job_card_snapshot import JobCard
from wearlog.workshop.sheet import AskedReading
from wearlog.workshop.torque_snapshot import Standing

#: Least height of capitals of the number, [mm]: it is read off a card that lies 2 m away.
#: 0.004 x the distance by NUREG-0700 rev. 2 (2002), 11.4.1.5-1.
NUMBER_CAPITAL_MM = 8.0
_MARGIN = 12.0
_HEAD = 40.0
_FOOT = 13.0
#: A narrow bar, [mm]: no less than 0.19 mm can be read by every scanner; 0.33 is the usual target.
_NARROW_MM = 0.33
_CODE_MM = 12.0
#: Most fasteners whose pattern is drawn beside the table.
_PATTERNS = 3


@dataclass(frozen=True, slots=True)
class Room:
    """How a card is made to fit: size of letters, and what is left out first.

    `readings` and `fasteners` is how many are listed at most; the rest is counted and waits in the program.
    Tasks and parts are never left out.
    """

    scale: float = 1.0
    has_reasons: bool = True
    has_patterns: bool = True
    readings: int = 99
    fasteners: int = 99


#: From roomy to tight. The last one holds twenty tasks with the longest names.
ROOMS = (
    Room(),
    Room(0.9),
    Room(0.82),
    Room(0.82, has_patterns=False),
    Room(0.82, has_reasons=False),
    Room(0.82, has_reasons=False, has_patterns=False),
    Room(0.76, has_reasons=False, has_patterns=False),
    *(
        Room(0.76, has_reasons=False, has_patterns=False, readings=readings, fasteners=fasteners)
        for readings, fasteners in ((99, 4), (12, 4), (10, 4), (8, 4), (6, 3), (4, 3), (2, 2))
    ),
    Room(0.66, has_reasons=False, has_patterns=False, readings=2, fasteners=2),
)


def write_job_card(
    card: JobCard, target: Path | BinaryIO, shown: ShownUnits, size: PaperSize = PaperSize.A4
) -> None:
    """Write a job card as a PDF of one page.

    Parameters
    ----------
    card : JobCard
        The card.
    target : Path or BinaryIO
        A file, replaced if it exists, or a stream.
    shown : ShownUnits
        The units of this seat.
    size : PaperSize
        A4 or Letter.

    Raises
    ------
    WearlogError
        If the file can't be written.
    """
    content = _pdf(card, shown, size)

    def write(stream: BinaryIO) -> None:
        stream.write(content)

    write_whole(target, write)


def _pdf(card: JobCard, shown: ShownUnits, size: PaperSize) -> bytes:
    title = _("Job card {name}").format(name=card.code)
    paper = Paper(title, sheet_of(size))
    page = paper.page_mm
    ink = Ink(paper.painter)
    look = Look(_MARGIN, page.width() - 2 * _MARGIN)
    room_mm = page.height() - _HEAD - _FOOT - 4.0
    blocks: list[Block] = []
    for room in ROOMS:
        blocks = list(_blocks(card, shown, look.times(room.scale), room))
        if sum(block.height for block in blocks) <= room_mm:
            break
    _paint_head(ink, page, card)
    top = _HEAD
    used = sum(block.height for block in blocks)
    # Beyond twenty tasks with long names letters shrink further rather than a task being lost.
    squeeze = min(1.0, room_mm / used)
    ink.painter.save()
    if squeeze < 1.0:
        ink.painter.translate(0.0, top)
        ink.painter.scale(1.0, squeeze)
        ink.painter.translate(0.0, -top)
    for block in blocks:
        block.paint(ink, top)
        top += block.height
    ink.painter.restore()
    _paint_notes(ink, page, _HEAD + used * squeeze)
    _paint_foot(ink, page, card)
    return paper.finished()


# --- head and foot -----------------------------------------------------------------------------------------


def _paint_head(ink: Ink, page: QRectF, card: JobCard) -> None:
    right = page.width() - _MARGIN
    code_left = right
    code = card.code.upper()
    if can_be_coded(code):
        width = min(code39_width(code, _NARROW_MM), 78.0)
        code_left = right - width
        ink.bars(QRectF(code_left, 9.0, width, _CODE_MM), code)
        words = text_width(code, 2.7)
        ink.write(right - width / 2 - words / 2, 9.0 + _CODE_MM + 3.3, code, 2.7)
    ink.write(_MARGIN, 12.0, _("Job card"), 3.3, muted=True)
    number = card.number or card.sheet.tag
    large = NUMBER_CAPITAL_MM / capital_share(paper_font(10.0, bold=True)) + 0.1
    ink.write(_MARGIN, 22.5, number, large, bold=True, width=code_left - _MARGIN - 4.0)
    sheet = card.sheet
    if card.number:
        ink.write(_MARGIN, 30.0, sheet.tag, 6.0, bold=True, width=58.0)
        beside = _MARGIN + min(text_width(sheet.tag, 6.0, bold=True), 58.0) + 4.0
    else:
        beside = _MARGIN
    line = "  ·  ".join(part for part in (sheet.vehicle_text, sheet.depot, card_when_text(card)) if part)
    ink.write(beside, 30.0, line, 3.3, width=right - beside)
    last = ""
    if sheet.last_meter is not None:
        meter = ShownUnits() if sheet.use_unit == "h" else ShownUnits(distance=sheet.meter_unit)
        last = _("last {use}, {day}").format(
            use=use_text(sheet.last_meter, sheet.use_unit, meter), day=day_text(sheet.last_meter_on)
        )
    left, width = _MARGIN, (right - _MARGIN) / 4
    for n, (label, hint) in enumerate(
        (
            (_("meter, {unit}").format(unit=sheet.meter_unit), last),
            (_("day"), ""),
            (_("done by"), ""),
            (_("checked by"), ""),
        )
    ):
        at = left + n * width
        ink.write(at, 35.0, f"{label}  {hint}".rstrip(), 2.5, muted=True, width=width - 2.0)
        ink.box(QRectF(at, 35.8, width - 2.0 if n < 3 else width, BLANK_MM))


def _paint_notes(ink: Ink, page: QRectF, top: float) -> None:
    """Draw lines to write on, as many as there is room for."""
    bottom = page.height() - _FOOT - 2.0
    if bottom - top < 14.0:
        return
    ink.write(_MARGIN, top + 5.0, _("Notes, found on the way, parts used"), 2.7, muted=True)
    at = top + 13.0
    while at <= bottom:
        ink.line(_MARGIN, page.width() - _MARGIN, at)
        at += 8.0


def _paint_foot(ink: Ink, page: QRectF, card: JobCard) -> None:
    right = page.width() - _MARGIN
    top = page.height() - _FOOT
    ink.line(_MARGIN, right, top, thick=0.3, firm=True)
    ink.write(_MARGIN, top + 4.2, card_return_text(card), 2.9, bold=True, width=right - _MARGIN)
    ink.write(_MARGIN, top + 8.0, maker_caution(), 2.5, muted=True, width=right - _MARGIN)


# --- what stands between ------------------------------------------------------------------------------------


def _blocks(card: JobCard, shown: ShownUnits, look: Look, room: Room) -> Iterator[Block]:
    yield space(BLANK_MM - 3.0)
    yield heading(look, _("To do"))
    yield from _tasks(card, shown, look, room)
    if card.note:
        yield paragraph(look, card.note, bold=True)
    if card.parts:
        yield heading(look, _("Parts to take along"))
        yield from _parts(card, look)
    yield heading(look, _("Measure"))
    yield from _readings(card, shown, look, room)
    yield from _torques(card, shown, look, room)
    yield heading(look, _("Cautions"))
    yield in_columns(look, cautions(), 2)


def _tasks(card: JobCard, shown: ShownUnits, look: Look, room: Room) -> Iterator[Block]:
    if not card.tasks:
        yield paragraph(look, _("Nothing is due within a month. Measure what the table below asks for."))
        return
    if room.has_reasons:
        columns = (Column("", 0.05), Column("", 0.25), Column("", 0.7))
        rows = [
            (
                Cell(ticks=True),
                Cell(card_task_text(task), is_bold=True),
                Cell(card_place_text(task), small=card_why_text(task, shown)),
            )
            for task in card.tasks
        ]
        yield from table(look, columns, rows)
        return
    short = (Column("", 0.05), Column("", 0.27), Column("", 0.54), Column("", 0.14, Side.RIGHT))
    yield from table(
        look,
        short,
        [
            (
                Cell(ticks=True),
                Cell(card_task_text(task), is_bold=True),
                Cell(card_place_text(task)),
                Cell(_due_text(task.due_on, card.sheet.today)),
            )
            for task in card.tasks
        ],
    )


def _due_text(due_on: date | None, today: date) -> str:
    if due_on is None:
        return ""
    return _("now") if due_on <= today else day_text(due_on)


def _parts(card: JobCard, look: Look) -> Iterator[Block]:
    """Write parts two to a line, each with its box and what lies on the shelf."""
    cells = [
        (Cell(ticks=True), Cell(card_part_text(part), small=card_shelf_text(part), is_bold=True))
        for part in card.parts
    ]
    if len(cells) % 2:
        cells.append((Cell(), Cell()))
    columns = (Column("", 0.05), Column("", 0.45)) * 2
    yield from table(
        look, columns, [(*one, *other) for one, other in zip(cells[::2], cells[1::2], strict=True)]
    )


def _readings(card: JobCard, shown: ShownUnits, look: Look, room: Room) -> Iterator[Block]:
    asked = [(block.stage_name, one) for block in card.sheet.blocks for one in block.readings if one.is_due]
    if not asked:
        yield paragraph(look, _("Nothing is asked for."))
        return
    columns = (
        Column(_("what, how"), 0.28),
        Column(_("last"), 0.17),
        Column(_("limit"), 0.1),
        Column(_("wear allowance used today"), 0.18),
        Column(_("found"), 0.27),
    )
    listed = asked[: room.readings]
    yield from table(look, columns, [_reading_row(stage, one, shown, room) for stage, one in listed])
    yield from _left_out(
        look,
        len(asked) - len(listed),
        _("more reading is asked for in the service sheet."),
        _("more readings are asked for in the service sheet."),
    )


def _reading_row(stage: str, asked: AskedReading, shown: ShownUnits, room: Room) -> tuple[Cell, ...]:
    how = asked_how_text(asked)
    place = asked_place_text(stage, asked)
    previous = asked.previous
    return (
        Cell(
            asked_text(asked),
            small=f"{place}; {how}" if how and (room.has_reasons or asked.pitches) else place,
            is_bold=True,
        ),
        Cell(reading_text(previous, shown), small="" if previous is None else day_text(previous.on)),
        Cell(limit_words(asked.limit, shown)),
        Cell(rule=asked.rule, small="" if asked.rule is None else allowance_text(asked.rule)),
        Cell(blanks=asked_spots(asked), ends=asked_unit(asked, shown)),
    )


def _torques(card: JobCard, shown: ShownUnits, look: Look, room: Room) -> Iterator[Block]:
    torque = card.torque
    if torque.sheet is None or not torque.lines:
        return
    yield heading(look, _("Torques"))
    columns = (
        Column(_("fastener"), 0.3),
        Column(_("range"), 0.17),
        Column(_("last"), 0.2),
        Column(_("applied, in tightening order"), 0.33),
    )
    # Where not all find room, those whose re-check is due come first.
    by_need = sorted(torque.lines, key=lambda line: line.standing is not Standing.RECHECK_DUE)
    chosen = {line.fastener.id for line in by_need[: room.fasteners]}
    listed = [line for line in torque.lines if line.fastener.id in chosen]
    rows = []
    for line in listed:
        fastener = line.fastener
        small = ", ".join(part for part in (bolts_text(fastener), treatment_text(fastener.treatment)) if part)
        rows.append(
            (
                Cell(fastener.name, small=small, is_bold=True),
                Cell(range_text(fastener, shown), is_bold=True),
                Cell(last_text(line, shown) or "–"),
                Cell(blanks=min(fastener.bolts, 6), ends=_torque_unit(shown)),
            )
        )
    yield from table(look, columns, rows)
    yield from _left_out(
        look,
        len(torque.lines) - len(listed),
        _("more fastener stands on the torque sheet."),
        _("more fasteners stand on the torque sheet."),
    )
    patterns = [line.fastener for line in listed if line.fastener.is_opposing and line.fastener.bolts > 1]
    if patterns and room.has_patterns:
        yield _patterns(look, patterns[:_PATTERNS])
    for fastener in {f.bolts: f for f in patterns}.values() if not room.has_patterns else ():
        yield paragraph(look, f"{fastener.name}: {_pattern(fastener)}", size=look.small)


def _torque_unit(shown: ShownUnits) -> str:
    return shown.torque.replace(".", "·")


def _pattern(fastener: Fastener) -> str:
    return pattern_text(BoltPattern(fastener.bolts, is_opposing=True))


def _patterns(look: Look, fasteners: list[Fastener]) -> Block:
    """Draw the bolts of fasteners side by side, each with its order beside it."""
    side = 24.0 * look.body / 3.3
    each = look.width / len(fasteners)
    words = [Look(0.0, each - side - 6.0, small=look.small) for _one in fasteners]
    texts = [paragraph(one, _pattern(f), size=look.small) for one, f in zip(words, fasteners, strict=True)]

    def paint(ink: Ink, top: float) -> None:
        for n, fastener in enumerate(fasteners):
            left = look.left + n * each
            ink.bolts(QRectF(left, top + 1.0, side, side), BoltPattern(fastener.bolts, is_opposing=True))
            beside = left + side + 2.0
            ink.write(
                beside, top + 1.0 + look.body, fastener.name, look.small, bold=True, width=each - side - 4.0
            )
            ink.painter.save()
            ink.painter.translate(beside, top + 2.0 + look.body)
            texts[n].paint(ink, 0.0)
            ink.painter.restore()

    return Block(max(side, *(text.height + look.body for text in texts)) + 2.0, paint)


def _left_out(look: Look, count: int, one: str, many: str) -> Iterator[Block]:
    if count > 0:
        yield paragraph(look, f"{count} {ngettext(one, many, count)}", size=look.small, muted=True)
