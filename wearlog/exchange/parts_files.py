"""The parts list as a file: CSV, JSON, spreadsheet, order list on paper; and as text for the terminal."""

import csv
import io
import json
from collections.abc import Callable, Mapping
from datetime import date
from gettext import gettext as _
from pathlib import Path
from typing import Any, BinaryIO

from wearlog import __version__, units
from wearlog.drawing.parts_words import (
    cut_text,
    demand_text,
    joining_text,
    late_text,
    on_order_text,
    order_text,
    set_text,
    shelf_text,
    summary_text,
)
from wearlog.exchange.files import harmless, write_whole
from wearlog.exchange.parts_cells import Cell, parts_cells, parts_headers
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.wording import day_text
from wearlog.workshop.parts_snapshot import PartsLine, PartsSnapshot


def _write_csv(snapshot: PartsSnapshot, stream: BinaryIO) -> None:
    text = io.TextIOWrapper(stream, encoding="utf-8", newline="", write_through=True)
    try:
        writer = csv.writer(text)
        writer.writerow(parts_headers(snapshot))
        for line in snapshot.lines:
            writer.writerow([_csv_cell(cell) for cell in parts_cells(snapshot, line)])
    finally:
        text.detach()


def _csv_cell(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return harmless(cell)
    if isinstance(cell, date):
        return cell.isoformat()
    return f"{cell:g}" if isinstance(cell, int) else f"{cell:.6g}"


def _write_json(snapshot: PartsSnapshot, stream: BinaryIO) -> None:
    text = json.dumps(parts_data(snapshot), ensure_ascii=False, indent=2, allow_nan=False)
    stream.write(text.encode() + b"\n")


def _write_xlsx(snapshot: PartsSnapshot, stream: BinaryIO) -> None:
    from wearlog.exchange.parts_sheet import write_parts_sheet  # noqa: PLC0415 - only when asked for

    write_parts_sheet(snapshot, stream)


def _write_pdf(snapshot: PartsSnapshot, stream: BinaryIO) -> None:
    from wearlog.exchange.parts_paper import parts_paper  # noqa: PLC0415 - loads Qt

    stream.write(parts_paper(snapshot))


_WRITERS: Mapping[str, Callable[[PartsSnapshot, BinaryIO], None]] = {
    "csv": _write_csv,
    "json": _write_json,
    "xlsx": _write_xlsx,
    "pdf": _write_pdf,
}

#: Formats that `write_parts` knows.
PARTS_FORMATS = tuple(_WRITERS)


def write_parts(snapshot: PartsSnapshot, file: Path | BinaryIO, format: str) -> None:  # noqa: A002
    """Write the parts list to a file, whole or not at all.

    Parameters
    ----------
    snapshot : PartsSnapshot
        The parts list.
    file : Path or BinaryIO
        Where to. A CSV file begins with a byte order mark, by which spreadsheet programs know UTF-8.
    format : str
        One of `PARTS_FORMATS`.

    Raises
    ------
    WearlogError
        If the format is not known or the file can't be written.
    """
    writer = _WRITERS.get(format)
    if writer is None:
        raise WearlogError(
            Problem(
                _("The format {format} is not known.").format(format=format),
                "",
                _("Use one of {formats}.").format(formats=", ".join(PARTS_FORMATS)),
            )
        )

    def write(stream: BinaryIO) -> None:
        if format == "csv" and isinstance(file, Path):
            stream.write(b"\xef\xbb\xbf")
        writer(snapshot, stream)

    write_whole(file, write)


# --- for programs ----------------------------------------------------------------------------------------


def parts_data(snapshot: PartsSnapshot) -> dict[str, Any]:
    """Return the parts list as plain data: numbers with the unit in the field name, ISO dates."""
    return {
        "program": f"wearlog {__version__}",
        "as_of": snapshot.today.isoformat(),
        "weeks": snapshot.weeks,
        "service_level": snapshot.level,
        "lines": [_line_data(line) for line in snapshot.lines],
        "sets": [
            {
                "vehicle": one.tag,
                "depot": one.depot,
                "stage": one.stage_name,
                "parts": list(one.names),
                "chance_together": round(one.chance_together, 6),
            }
            for one in snapshot.sets
        ],
        "chains_to_cut": [
            {
                "vehicle": one.tag,
                "depot": one.depot,
                "stage": one.stage_name,
                "designation": one.designation,
                "links": one.links,
                "from_links": one.from_links,
            }
            for one in snapshot.cuts
        ],
        "joining_links": [
            {
                "depot": one.depot,
                "designation": one.designation,
                "kind": one.kind,
                "on_hand": one.on_hand,
                "for_chains": one.for_chains,
                "for_shortening": one.for_shortening,
            }
            for one in snapshot.joining_links
        ],
    }


def _line_data(line: PartsLine) -> dict[str, Any]:
    return {
        "part": line.name,
        "kind": line.kind.value,
        "designation": line.designation,
        "depot": line.depot,
        "fitted": line.running,
        "on_hand": line.on_hand if line.line_id else None,
        "on_order": line.on_order,
        "next_arrival": _iso(line.next_arrival),
        "lead_time_days": line.lead_days,
        "price": line.price,
        "demand_by_week": [
            {
                "until": week.until.isoformat(),
                "mean": round(week.mean, 6),
                "few": week.few,
                "many": week.many,
                "enough": week.enough,
            }
            for week in line.weeks
        ],
        "demand_chances": [round(chance, 6) for chance in line.chances],
        "wanted": line.wanted,
        "short": line.short,
        "order_now": line.order_now,
        "order_by": _iso(line.order_by),
        "chance_enough": round(line.chance_enough, 6),
        "set_with": list(line.set_with),
    }


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


# --- for the terminal ------------------------------------------------------------------------------------


def parts_table_text(snapshot: PartsSnapshot) -> str:
    """Return the parts list as lines of text for a terminal: what to order first, then the rest."""
    head = _("Parts on {day}: {summary}").format(day=day_text(snapshot.today), summary=summary_text(snapshot))
    if not snapshot.lines:
        return _plain(head) + "\n"
    rows = [[_("PART"), _("DEPOT"), _("SHELF"), _("ON ORDER"), _("DEMAND"), _("WANTED"), _("ORDER"), ""]]
    ordered = sorted(snapshot.lines, key=lambda line: not line.order_now)
    rows += [
        [
            line.name,
            line.depot,
            shelf_text(line),
            on_order_text(line, snapshot.today),
            demand_text(line),
            str(line.wanted),
            order_text(line, snapshot.today),
            late_text(line, snapshot.today),
        ]
        for line in ordered
    ]
    rows = [[_plain(cell) for cell in row] for row in rows]
    wide = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    out = [_plain(head), ""]
    out += ["  ".join(cell.ljust(wide[n]) for n, cell in enumerate(row)).rstrip() for row in rows]
    for title, lines in (
        (_("SETS"), [set_text(one) for one in snapshot.sets]),
        (_("CHAINS TO CUT"), [cut_text(one) for one in snapshot.cuts]),
        (
            _("JOINING LINKS"),
            [f"{one.depot}, {joining_text(one)}" for one in snapshot.joining_links if one.short],
        ),
    ):
        if lines:
            out += ["", title, *(f"  {_plain(line)}" for line in lines)]
    return "\n".join(out) + "\n"


def _plain(text: str) -> str:
    """Return text with ordinary spaces, which every terminal can show."""
    return text.replace(units.THIN_SPACE, " ").replace(units.NARROW_NO_BREAK_SPACE, " ")
