"""The owner's report as a PDF: chart, what was measured and done, what is advised and why."""

from collections.abc import Iterator
from datetime import date
from gettext import gettext as _
from pathlib import Path
from typing import BinaryIO

from PySide6.QtCore import QRectF

from wearlog.drawing.cautions import maker_caution
from wearlog.drawing.number_words import measurand_text, use_text
from wearlog.drawing.paper_blocks import Block, Cell, Column, Look, heading, paragraph, space, table
from wearlog.drawing.paper_ink import Ink
from wearlog.drawing.paper_report_words import (
    about_numbers,
    advice_text,
    advice_why_text,
    chart_sentences,
    not_checked_text,
    short_sentences,
    source_text,
    when_text,
)
from wearlog.drawing.paper_words import allowance_text, done_text, limit_words, reading_text
from wearlog.drawing.trend_picture import is_drawable, paint_trend, trend_frame
from wearlog.drawing.trend_series import trend_series
from wearlog.exchange.files import write_whole
from wearlog.exchange.pdf import PaperSize, ensure_application
from wearlog.exchange.pdf_pages import MARGIN_MM, page_width, pages_needed, pages_pdf
from wearlog.fleet.quantity import ShownUnits
from wearlog.wording import day_text
from wearlog.workshop.owner_report_snapshot import OwnerReport, ReportVisit
from wearlog.workshop.trend_snapshot import TrendSnapshot

_HEAD_MM = 25.0
#: Charts are drawn in pixels of this size, [mm], so that their letters are as large as the text's.
_PIXEL_MM = 0.215
_CHART_MM = 66.0
#: More pages than this nobody reads.
MOST_PAGES = 3


def write_owner_report(
    report: OwnerReport, target: Path | BinaryIO, shown: ShownUnits, size: PaperSize = PaperSize.A4
) -> None:
    """Write the owner's report as a PDF of one to three pages.

    Parameters
    ----------
    report : OwnerReport
        The report.
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
    ensure_application()
    look = Look(MARGIN_MM, page_width(size), body=3.2, small=2.7, heading=4.6)
    blocks: list[Block] = []
    # Older visits and later advice are left out first, then the second chart.
    for visits, lines, charts in ((10, 20, 2), (6, 14, 2), (4, 10, 2), (4, 8, 1), (3, 6, 1)):
        blocks = list(_blocks(report, shown, look, visits, lines, charts))
        if pages_needed(blocks, _HEAD_MM, size) <= MOST_PAGES:
            break
    title = _("Wear report on {tag}").format(tag=report.tag)
    foot = _("Data as of {day}. {caution}").format(day=day_text(report.today), caution=maker_caution())
    content = pages_pdf(title, size, lambda ink: _paint_head(ink, look, report), _HEAD_MM, blocks, foot)

    def write(stream: BinaryIO) -> None:
        stream.write(content)

    write_whole(target, write)


def _paint_head(ink: Ink, look: Look, report: OwnerReport) -> None:
    ink.write(look.left, 17.0, _("Wear report"), 3.2, muted=True)
    ink.write(look.left, 25.5, report.tag, 8.4, bold=True, width=look.width)
    ink.write(
        look.left,
        31.5,
        "  ·  ".join(p for p in (report.vehicle_text, report.depot) if p),
        3.6,
        width=look.width,
    )
    facts = [day_text(report.today)]
    if report.last_meter is not None:
        meter = ShownUnits() if report.use_unit == "h" else ShownUnits(distance=report.meter_unit)
        facts.append(
            _("meter {use} on {day}").format(
                use=use_text(report.last_meter, report.use_unit, meter), day=day_text(report.last_meter_on)
            )
        )
    ink.write(look.left, 36.3, "  ·  ".join(facts), 3.0, muted=True, width=look.width)


def _blocks(
    report: OwnerReport, shown: ShownUnits, look: Look, visits: int, lines: int, charts: int
) -> Iterator[Block]:
    yield heading(look, _("In short"))
    yield space(1.0)
    for sentence in short_sentences(report):
        yield paragraph(look, sentence)
    drawn = 0
    for trend in report.trends:
        if drawn < charts and is_drawable(trend_series(trend, shown)):
            yield from _chart(trend, shown, look)
            drawn += 1
    yield from _advice(report, shown, look, lines)
    yield from _measured(report, shown, look)
    yield from _done(report, look, visits)
    yield from _limits(report, shown, look)
    yield heading(look, _("How to read this"))
    yield space(1.0)
    for text in about_numbers(report, shown):
        yield paragraph(look, text, size=look.small)


def _chart(trend: TrendSnapshot, shown: ShownUnits, look: Look) -> Iterator[Block]:
    name = f"{trend.stage_name}: {trend.part_text}"
    yield heading(look, name[:1].upper() + name[1:])

    def paint(ink: Ink, top: float) -> None:
        painter = ink.painter
        painter.save()
        painter.translate(look.left, top + 1.0)
        painter.scale(_PIXEL_MM, _PIXEL_MM)
        room = QRectF(0.0, 0.0, look.width / _PIXEL_MM, (_CHART_MM - 2.0) / _PIXEL_MM)
        series = trend_series(trend, shown)
        paint_trend(painter, trend_frame(series, room, ink.colours), series)
        painter.restore()

    yield Block(_CHART_MM, paint, keeps_next=True)
    yield paragraph(look, " ".join(chart_sentences(trend, shown)))


def _advice(report: OwnerReport, shown: ShownUnits, look: Look, most: int) -> Iterator[Block]:
    yield heading(look, _("What is advised, and why"))
    if not report.advice:
        text = _("Nothing needs doing until {day} as far as can be seen today.")
        yield paragraph(look, text.format(day=day_text(report.until)))
        return
    columns = (Column(_("by"), 0.15), Column(_("what"), 0.25), Column(_("where and why"), 0.6))
    rows = [
        (
            Cell(when_text(line, report.today), is_bold=True),
            Cell(advice_text(line), is_bold=True),
            Cell(
                ", ".join(p for p in (line.stage_name, line.part_text) if p),
                small=advice_why_text(line, shown),
            ),
        )
        for line in report.advice[:most]
    ]
    yield from table(look, columns, rows)
    left = len(report.advice) - most
    if left > 0:
        yield paragraph(look, _("And {n} more, later.").format(n=left), size=look.small, muted=True)


def _measured(report: OwnerReport, shown: ShownUnits, look: Look) -> Iterator[Block]:
    yield heading(look, _("What was measured"))
    if not report.readings:
        yield paragraph(look, _("Nothing was measured on the parts that are fitted now."))
        return
    columns = (
        Column(_("what and where"), 0.34),
        Column(_("last"), 0.19),
        Column(_("before that"), 0.18),
        Column(_("limit"), 0.1),
        Column(_("wear allowance used today"), 0.19),
    )
    rows = []
    for one in report.readings:
        name = measurand_text(one.latest.measurand)
        before = one.before
        rows.append(
            (
                Cell(
                    name[:1].upper() + name[1:],
                    small=", ".join(p for p in (one.stage_name, one.part_text) if p),
                    is_bold=True,
                ),
                Cell(reading_text(one.latest, shown), small=_at_text(report, one.latest.on, one.meter_value)),
                Cell(reading_text(before, shown), small="" if before is None else day_text(before.on)),
                Cell(limit_words(one.limit, shown)),
                Cell(rule=one.rule, small="" if one.rule is None else allowance_text(one.rule)),
            )
        )
    yield from table(look, columns, rows)


def _at_text(report: OwnerReport, on: date, meter_value: float) -> str:
    shown = ShownUnits() if report.use_unit == "h" else ShownUnits(distance=report.meter_unit)
    return f"{day_text(on)}, {use_text(meter_value, report.use_unit, shown)}"


def _done(report: OwnerReport, look: Look, most: int) -> Iterator[Block]:
    yield heading(look, _("What was done"))
    if not report.visits:
        yield paragraph(look, _("No service visit is on record."))
        return
    columns = (Column(_("when"), 0.27), Column(_("what"), 0.73))
    rows = [
        (Cell(_at_text(report, one.visit.on, one.meter_value)), Cell(_work(one), small=one.visit.notes))
        for one in report.visits[:most]
    ]
    yield from table(look, columns, rows)
    left = len(report.visits) - most
    if left > 0:
        yield paragraph(
            look, _("And {n} earlier visits on record.").format(n=left), size=look.small, muted=True
        )


def _work(one: ReportVisit) -> str:
    by_stage: dict[str, list[str]] = {}
    for done in one.visit.tasks:
        by_stage.setdefault(one.stages.get(done.stage_id or 0, ""), []).append(done_text(done))
    told = [
        f"{stage}: {', '.join(dict.fromkeys(done))}" if stage else ", ".join(dict.fromkeys(done))
        for stage, done in by_stage.items()
    ]
    told += [_("new: {part}").format(part=part) for part in one.fitted]
    return "; ".join(told) or _("looked at and measured")


def _limits(report: OwnerReport, shown: ShownUnits, look: Look) -> Iterator[Block]:
    known = {}
    for one in report.readings:
        if one.limit is not None:
            place = ", ".join(p for p in (one.stage_name, one.part_text) if p)
            known[measurand_text(one.latest.measurand), place] = (one.limit, one.limit_why)
    if not known:
        return
    yield heading(look, _("Limits, and where they come from"))
    grouped: dict[tuple[str, str, str], list[str]] = {}
    for (name, place), (limit, why) in known.items():
        key = (name, limit_words(limit, shown), source_text(limit, why))
        grouped.setdefault(key, []).append(place)
    columns = (Column("", 0.3), Column("", 0.12), Column("", 0.58))
    rows = [
        (
            Cell(name[:1].upper() + name[1:], small="; ".join(places), is_bold=True),
            Cell(limit),
            Cell("", small=source),
        )
        for (name, limit, source), places in grouped.items()
    ]
    yield from table(look, columns, rows)
    yield paragraph(look, not_checked_text(), size=look.small, muted=True)
