"""The warranty record of one part as a PDF for people and as JSON for checking."""

import json
from collections.abc import Callable, Iterator, Mapping
from gettext import gettext as _
from pathlib import Path
from typing import Any, BinaryIO

from wearlog.drawing.cautions import maker_caution
from wearlog.drawing.number_words import measurand_text, method_text, use_text
from wearlog.drawing.paper_blocks import Block, Cell, Column, Look, heading, paragraph, space, table
from wearlog.drawing.paper_ink import Ink
from wearlog.drawing.paper_warranty_words import (
    calibration_text,
    digest_text,
    fitted_text,
    part_facts,
    removed_text,
    spots_text,
    trail_text,
    voided_text,
)
from wearlog.drawing.paper_words import done_text, limit_words, reading_text
from wearlog.drawing.torque_words import applied_text, range_text, work_text
from wearlog.drawing.trail_words import entry_title, moment_text, person_text
from wearlog.exchange.files import write_whole
from wearlog.exchange.pdf import PaperSize, ensure_application
from wearlog.exchange.pdf_pages import MARGIN_MM, page_width, pages_pdf
from wearlog.exchange.warranty_record_data import warranty_data
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.quantity import ShownUnits
from wearlog.wording import day_text
from wearlog.workshop.warranty_snapshot import WarrantyRecord

_HEAD_MM = 25.0


def write_warranty_record(
    record: WarrantyRecord, file: Path, shown: ShownUnits, size: PaperSize = PaperSize.A4
) -> None:
    """Write the evidence on one part as the kind of file that its ending names.

    Parameters
    ----------
    record : WarrantyRecord
        The evidence.
    file : Path
        Ends in .pdf or .json; replaced if it exists.
    shown : ShownUnits
        The units of this seat; JSON has the values as they are kept.
    size : PaperSize
        A4 or Letter, for a PDF.

    Raises
    ------
    WearlogError
        If the ending is another one, or the file can't be written.
    """
    makers: Mapping[str, Callable[[], bytes]] = {
        ".pdf": lambda: _pdf(record, shown, size),
        ".json": lambda: _json(warranty_data(record)),
    }
    make = makers.get(file.suffix.lower())
    if make is None:
        raise WearlogError(
            Problem(
                _("“{name}” has no ending that says what to write.").format(name=file.name),
                "",
                _("End the name in .pdf or .json."),
                kind=ProblemKind.FILE,
            )
        )
    content = make()

    def write(stream: BinaryIO) -> None:
        stream.write(content)

    write_whole(file, write)


def _json(data: Mapping[str, Any]) -> bytes:
    return json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False).encode() + b"\n"


def _pdf(record: WarrantyRecord, shown: ShownUnits, size: PaperSize) -> bytes:
    ensure_application()
    look = Look(MARGIN_MM, page_width(size), body=3.0, small=2.5, heading=4.2)
    title = _("Warranty record: {part} of {tag}").format(part=record.part_text, tag=record.tag)
    digest = warranty_data(record)["digest"]
    foot = _("Digest of this record: {digest}. {caution}").format(
        digest=digest_text(digest), caution=maker_caution()
    )
    blocks = list(_blocks(record, shown, look))
    return pages_pdf(title, size, lambda ink: _paint_head(ink, look, record), _HEAD_MM, blocks, foot)


def _paint_head(ink: Ink, look: Look, record: WarrantyRecord) -> None:
    ink.write(look.left, 17.0, _("Warranty record"), 3.2, muted=True)
    ink.write(look.left, 25.5, record.part_text, 7.0, bold=True, width=look.width)
    place = "  ·  ".join(p for p in (record.stage_name, record.tag, record.vehicle_text, record.depot) if p)
    ink.write(look.left, 31.5, place, 3.6, width=look.width)
    ink.write(look.left, 36.3, _("made on {day}").format(day=day_text(record.today)), 3.0, muted=True)


def _blocks(record: WarrantyRecord, shown: ShownUnits, look: Look) -> Iterator[Block]:
    yield heading(look, _("The part"))
    yield space(0.8)
    yield from table(
        look,
        (Column("", 0.3), Column("", 0.7)),
        [(Cell(name), Cell(text)) for name, text in _facts(record, shown)],
    )
    yield from _limits(record, shown, look)
    yield from _readings(record, shown, look)
    yield from _instruments(record, look)
    yield from _visits(record, look)
    yield from _torques(record, shown, look)
    yield from _trail(record, look)


def _facts(record: WarrantyRecord, shown: ShownUnits) -> Iterator[tuple[str, str]]:
    yield from part_facts(record)
    yield _("fitted"), fitted_text(record, shown)
    yield _("came off"), removed_text(record, shown)
    yield _("use on it"), use_text(record.use_on_part, record.use_unit, shown)
    for place, one in record.earlier:
        yield (
            _("before that"),
            _("{place}, {first} to {last}").format(
                place=place, first=day_text(one.fitted_on), last=day_text(one.removed_on)
            ),
        )


def _limits(record: WarrantyRecord, shown: ShownUnits, look: Look) -> Iterator[Block]:
    if not record.limits:
        return
    yield heading(look, _("Limits"))
    rows = []
    for one in record.limits:
        source = "; ".join(dict.fromkeys(p.rstrip(".") for p in (one.why, one.limit.source) if p))
        rows.append(
            (Cell(measurand_text(one.limit.measurand)), Cell(limit_words(one.limit, shown)), Cell(source))
        )
    yield from table(look, (Column("", 0.22), Column("", 0.13), Column("", 0.65)), rows)


def _meter(record: WarrantyRecord, total_use: float) -> str:
    value = record.meters.get(total_use)
    shown = ShownUnits() if record.use_unit == "h" else ShownUnits(distance=record.meter_unit)
    return "" if value is None else use_text(value, record.use_unit, shown)


def _readings(record: WarrantyRecord, shown: ShownUnits, look: Look) -> Iterator[Block]:
    yield heading(look, _("Readings, as typed"))
    if not record.readings:
        yield paragraph(look, _("Nothing was measured while the part was on."))
        return
    columns = (
        Column(_("when, meter"), 0.17),
        Column(_("what, how"), 0.22),
        Column(_("as typed"), 0.21),
        Column(_("value"), 0.18),
        Column(_("instrument, who"), 0.22),
    )
    rows = []
    for one in record.readings:
        instrument = record.instruments.get(one.instrument_id or 0)
        remarks = [person_text(one.by)]
        if one.void_reason:
            remarks.append(voided_text(one.void_reason))
        if one.note:
            remarks.append(one.note)
        rows.append(
            (
                Cell(day_text(one.on), small=_meter(record, one.total_use)),
                Cell(measurand_text(one.measurand), small=method_text(one.method)),
                Cell(spots_text(one)),
                Cell(reading_text(one, shown), is_bold=not one.void_reason),
                Cell("–" if instrument is None else instrument.name, small="; ".join(remarks)),
            )
        )
    yield from table(look, columns, rows)


def _instruments(record: WarrantyRecord, look: Look) -> Iterator[Block]:
    if not record.instruments:
        return
    yield heading(look, _("Instruments"))
    columns = (
        Column(_("instrument"), 0.3),
        Column(_("kind"), 0.2),
        Column(_("uncertainty, calibration"), 0.5),
    )
    yield from table(
        look,
        columns,
        [
            (Cell(one.name), Cell(_(one.kind.value)), Cell(calibration_text(one)))
            for one in record.instruments.values()
        ],
    )


def _visits(record: WarrantyRecord, look: Look) -> Iterator[Block]:
    yield heading(look, _("Service visits"))
    if not record.visits:
        yield paragraph(look, _("None is on record while the part was on."))
        return
    rows = []
    for one in record.visits:
        own = [done_text(task) for task in one.tasks if task.stage_id in {None, record.installation.stage_id}]
        notes = [one.notes, voided_text(one.void_reason) if one.void_reason else ""]
        rows.append(
            (
                Cell(day_text(one.on), small=_meter(record, one.total_use)),
                Cell(
                    ", ".join(dict.fromkeys(own)) or _("looked at and measured"),
                    small="; ".join(part for part in notes if part),
                ),
                Cell(person_text(one.by)),
            )
        )
    columns = (Column(_("when, meter"), 0.2), Column(_("what was done"), 0.6), Column(_("who"), 0.2))
    yield from table(look, columns, rows)


def _torques(record: WarrantyRecord, shown: ShownUnits, look: Look) -> Iterator[Block]:
    if not record.torques:
        return
    yield heading(look, _("Torques"))
    columns = (
        Column(_("when, meter"), 0.18),
        Column(_("fastener, range"), 0.3),
        Column(_("applied"), 0.26),
        Column(_("wrench, who"), 0.26),
    )
    rows = []
    for one in record.torques:
        fastener = record.fasteners[one.fastener_id]
        wrench = record.instruments.get(one.instrument_id or 0)
        who = [person_text(one.by), voided_text(one.void_reason) if one.void_reason else ""]
        rows.append(
            (
                Cell(day_text(one.on), small=_meter(record, one.total_use)),
                Cell(fastener.name, small=range_text(fastener, shown)),
                Cell(applied_text(one, shown), small=work_text(one.work)),
                Cell("–" if wrench is None else wrench.name, small="; ".join(p for p in who if p)),
            )
        )
    yield from table(look, columns, rows)


def _trail(record: WarrantyRecord, look: Look) -> Iterator[Block]:
    yield heading(look, _("Audit trail"))
    yield space(0.8)
    yield paragraph(look, trail_text(record))
    columns = (Column(_("no., when"), 0.2), Column(_("what, who"), 0.33), Column(_("chain"), 0.47))
    rows = []
    for one in record.trail:
        entry = one.entry
        rows.append(
            (
                Cell(small=_("{n}, {when}").format(n=entry.id, when=moment_text(entry))),
                Cell(small=f"{entry_title(entry, record.names)}; {person_text(entry.by)}"),
                Cell(small=digest_text(entry.chain)),
            )
        )
    yield from table(look, columns, rows)
