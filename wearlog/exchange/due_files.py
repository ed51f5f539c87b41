"""The due list as a file: CSV, JSON, spreadsheet, calendar, wall list; and as text for the terminal."""

import csv
import io
import json
import textwrap
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from gettext import gettext as _
from pathlib import Path
from typing import Any, BinaryIO

from wearlog import __version__, units
from wearlog.drawing.words import action_text, due_interval_text, reason_text, state_text
from wearlog.exchange.due_cells import Cell, due_cells, due_headers, finite
from wearlog.exchange.files import harmless, write_whole
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.quantity import ShownUnits
from wearlog.wording import count_text, day_text
from wearlog.workshop.due_snapshot import DueLine, DueSnapshot

#: Formats that are not text.
BINARY_FORMATS = frozenset({"xlsx", "pdf"})


def _write_csv(snapshot: DueSnapshot, stream: BinaryIO, shown: ShownUnits) -> None:
    text = io.TextIOWrapper(stream, encoding="utf-8", newline="", write_through=True)
    try:
        writer = csv.writer(text)
        writer.writerow(due_headers(shown))
        for line in snapshot.lines:
            writer.writerow([_csv_cell(cell) for cell in due_cells(line, shown)])
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


def _write_json(snapshot: DueSnapshot, stream: BinaryIO, _shown: ShownUnits) -> None:
    text = json.dumps(due_data(snapshot), ensure_ascii=False, indent=2, allow_nan=False)
    stream.write(text.encode() + b"\n")


def _write_xlsx(snapshot: DueSnapshot, stream: BinaryIO, shown: ShownUnits) -> None:
    from wearlog.exchange.due_sheet import write_due_sheet  # noqa: PLC0415 - only when asked for

    write_due_sheet(snapshot, stream, shown)


def _write_ics(snapshot: DueSnapshot, stream: BinaryIO, shown: ShownUnits) -> None:
    from wearlog.exchange.visit_calendar import visit_calendar  # noqa: PLC0415 - only when asked for

    stream.write(visit_calendar(snapshot, shown))


def _write_pdf(snapshot: DueSnapshot, stream: BinaryIO, shown: ShownUnits) -> None:
    from wearlog.exchange.wall_list import write_wall_list  # noqa: PLC0415 - loads Qt

    write_wall_list(snapshot, stream, shown)


_WRITERS: Mapping[str, Callable[[DueSnapshot, BinaryIO, ShownUnits], None]] = {
    "csv": _write_csv,
    "json": _write_json,
    "xlsx": _write_xlsx,
    "ics": _write_ics,
    "pdf": _write_pdf,
}

#: Formats that `write_due` knows.
DUE_FORMATS = tuple(_WRITERS)


def write_due(snapshot: DueSnapshot, file: Path | BinaryIO, format: str, shown: ShownUnits) -> None:  # noqa: A002
    """Write the due list to a file, whole or not at all.

    Parameters
    ----------
    snapshot : DueSnapshot
        The due list.
    file : Path or BinaryIO
        Where to. A CSV file begins with a byte order mark, by which spreadsheet programs know UTF-8.
    format : str
        One of `DUE_FORMATS`.
    shown : ShownUnits
        The units of this seat; JSON keeps the canonical ones, which stand in its field names.

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
                _("Use one of {formats}.").format(formats=", ".join(DUE_FORMATS)),
            )
        )

    def write(stream: BinaryIO) -> None:
        if format == "csv" and isinstance(file, Path):
            stream.write(b"\xef\xbb\xbf")
        writer(snapshot, stream, shown)

    write_whole(file, write)


def of_depot(snapshot: DueSnapshot, depot: str) -> DueSnapshot:
    """Return the part of the due list that concerns one depot, whatever its capitals.

    Raises
    ------
    WearlogError
        If there is no such depot.
    """
    name = {known.casefold(): known for known in snapshot.depots}.get(depot.strip().casefold())
    if name is None:
        raise WearlogError(
            Problem(
                _("There is no depot {depot}.").format(depot=depot),
                "",
                _("Depots: {depots}.").format(depots=", ".join(snapshot.depots) or "–"),
                kind=ProblemKind.NOT_FOUND,
            )
        )
    return replace(
        snapshot,
        lines=tuple(line for line in snapshot.lines if line.depot == name),
        groups=tuple(group for group in snapshot.groups if group.depot == name),
    )


# --- for programs ----------------------------------------------------------------------------------------


def due_data(snapshot: DueSnapshot) -> dict[str, Any]:
    """Return the due list as plain data: canonical numbers with the unit in the field name, ISO dates."""
    return {
        "program": f"wearlog {__version__}",
        "as_of": snapshot.today.isoformat(),
        "within_days": snapshot.within_days,
        "caution_level": snapshot.caution_level,
        "lines": [_line_data(line) for line in snapshot.lines],
    }


def _line_data(line: DueLine) -> dict[str, Any]:
    is_hours = line.use_unit == "h"
    data: dict[str, Any] = {
        "vehicle": line.tag,
        "depot": line.depot,
        "stage": line.stage_name,
        "part": line.part_text,
        "action": line.action.value,
        "action_text": action_text(line),
        "task": line.task.value if line.task else None,
        "measurand": line.measurand.value if line.measurand else None,
        "state": line.state.value,
        "due_on": line.due_on.isoformat(),
    }
    for name, use, day in (
        ("early", line.early_use, line.early_on),
        ("likely", line.likely_use, line.likely_on),
        ("late", line.late_use, line.late_on),
    ):
        data[f"{name}_distance_km"] = None if is_hours else finite(use, 3)
        data[f"{name}_running_time_h"] = finite(use, 3) if is_hours else None
        data[f"{name}_on"] = day.isoformat() if day else None
    data |= {
        "order_by": line.order_by.isoformat() if line.order_by else None,
        "probability_past_limit_now": finite(line.past_probability, 6),
        "reason": reason_text(line, ShownUnits()),
        "visit_group": line.group or None,
        "visit_on": line.group_on.isoformat() if line.group_on else None,
        "unused_share": finite(line.unused_share, 6),
    }
    return data


# --- for the terminal ------------------------------------------------------------------------------------


def due_table_text(snapshot: DueSnapshot, shown: ShownUnits, width: int = 100) -> str:
    """Return the due list as lines of text for a terminal.

    Parameters
    ----------
    snapshot : DueSnapshot
        The due list.
    shown : ShownUnits
        The units of this seat.
    width : int
        Columns of the terminal, [-].
    """
    head = _("Due for service on {day}").format(day=day_text(snapshot.today))
    if not snapshot.lines:
        return _("{head}: nothing.").format(head=head) + "\n"
    vehicles = len({line.vehicle_id for line in snapshot.lines})
    head = _("{head}: {lines}, {vehicles}").format(
        head=head,
        lines=count_text(len(snapshot.lines), _("entry"), _("entries")),
        vehicles=count_text(vehicles, _("vehicle"), _("vehicles")),
    )
    rows = [[_("DUE ON"), _("VEHICLE"), _("ACTION"), _("STAGE"), _("STATE"), _("BETWEEN")]]
    rows += [
        [
            day_text(line.due_on),
            line.tag,
            action_text(line),
            line.stage_name,
            state_text(line.state),
            due_interval_text(line),
        ]
        for line in snapshot.lines
    ]
    rows = [[_plain(cell) for cell in row] for row in rows]
    wide = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    indent = " " * (wide[0] + 2)
    out = [head, ""]
    for row, line in zip(rows, [None, *snapshot.lines], strict=True):
        cells = [row[0].rjust(wide[0]), *(row[place].ljust(wide[place]) for place in range(1, len(row)))]
        out.append("  ".join(cells).rstrip())
        if line is not None:
            why = " – ".join(text for text in (line.part_text, reason_text(line, shown)) if text)
            out += textwrap.wrap(_plain(why), max(width, 60), initial_indent=indent, subsequent_indent=indent)
    return "\n".join(out) + "\n"


def _plain(text: str) -> str:
    """Return text with ordinary spaces, which every terminal can show."""
    return text.replace(units.THIN_SPACE, " ").replace(units.NARROW_NO_BREAK_SPACE, " ")
