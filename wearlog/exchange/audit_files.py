"""The trail as a file: who changed what, when, from what to what, with the chain that guards it."""

import csv
import io
import json
from collections.abc import Callable, Mapping
from gettext import gettext as _
from pathlib import Path
from typing import Any, BinaryIO

from wearlog.drawing.trail_words import (
    after_text,
    before_text,
    entry_title,
    moment_iso,
    moment_text,
    person_text,
)
from wearlog.exchange.files import harmless, write_whole
from wearlog.fleet.audit import AuditEntry
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.fleet.quantity import ShownUnits
from wearlog.workshop.history_snapshot import TrailNames, TrailSnapshot

#: Columns of the CSV file; their order is part of the format.
COLUMNS = (
    "number",
    "at",
    "by",
    "work",
    "vehicle",
    "what",
    "record",
    "record_number",
    "before",
    "after",
    "change",
    "chain",
)


def _vehicle(entry: AuditEntry, names: TrailNames) -> str:
    return names.vehicles.get(entry.vehicle_id or 0, "")


def _write_csv(trail: TrailSnapshot, stream: BinaryIO, shown: ShownUnits) -> None:
    text = io.TextIOWrapper(stream, encoding="utf-8", newline="", write_through=True)
    try:
        writer = csv.writer(text)
        writer.writerow(COLUMNS)
        for entry in trail.entries:
            writer.writerow([harmless(cell) for cell in _cells(entry, trail.names, shown)])
    finally:
        text.detach()


def _cells(entry: AuditEntry, names: TrailNames, shown: ShownUnits) -> tuple[str, ...]:
    return (
        str(entry.id),
        moment_iso(entry),
        entry.by,
        entry.what,
        _vehicle(entry, names),
        entry_title(entry, names),
        entry.record,
        str(entry.record_id),
        before_text(entry, names, shown),
        after_text(entry, names, shown),
        entry.change_id,
        entry.chain,
    )


def _write_json(trail: TrailSnapshot, stream: BinaryIO, shown: ShownUnits) -> None:
    data = [_data(entry, trail.names, shown) for entry in trail.entries]
    stream.write(json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False).encode() + b"\n")


def _data(entry: AuditEntry, names: TrailNames, shown: ShownUnits) -> dict[str, Any]:
    """Return an entry; `before` and `after` are the texts that the chain was reckoned over."""
    return {
        "number": entry.id,
        "at": entry.at.isoformat(),
        "by": entry.by,
        "work": entry.what,
        "vehicle": _vehicle(entry, names),
        "vehicle_number": entry.vehicle_id,
        "what": entry_title(entry, names),
        "record": entry.record,
        "record_number": entry.record_id,
        "before": entry.before,
        "after": entry.after,
        "before_words": before_text(entry, names, shown),
        "after_words": after_text(entry, names, shown),
        "change": entry.change_id,
        "chain": entry.chain,
    }


_WRITERS: Mapping[str, Callable[[TrailSnapshot, BinaryIO, ShownUnits], None]] = {
    "csv": _write_csv,
    "json": _write_json,
}

#: Formats that `write_trail` knows.
TRAIL_FORMATS = tuple(_WRITERS)


def write_trail(trail: TrailSnapshot, file: Path | BinaryIO, format: str, shown: ShownUnits) -> None:  # noqa: A002
    """Write the trail to a file, whole or not at all.

    Parameters
    ----------
    trail : TrailSnapshot
        The entries and the names in them.
    file : Path or BinaryIO
        Where to. A CSV file begins with a byte order mark, by which spreadsheet programs know UTF-8.
    format : str
        One of `TRAIL_FORMATS`.
    shown : ShownUnits
        The units of this seat, for the words; JSON has the values as they are kept beside them.

    Raises
    ------
    WearlogError
        If the format is not known or the file can't be written.
    """
    writer = _WRITERS.get(format)
    if writer is None:
        what = _("The format {format} is not known.").format(format=format)
        raise WearlogError(
            Problem(what, "", _("Use one of {formats}.").format(formats=", ".join(TRAIL_FORMATS)))
        )

    def write(stream: BinaryIO) -> None:
        if format == "csv" and isinstance(file, Path):
            stream.write(b"\xef\xbb\xbf")
        writer(trail, stream, shown)

    write_whole(file, write)


def trail_text(trail: TrailSnapshot, shown: ShownUnits) -> str:
    """Return the trail for the terminal, a few lines for each entry."""
    if not trail.entries:
        return _("Nothing was changed yet.") + "\n"
    lines = []
    for entry in trail.entries:
        tag = _vehicle(entry, trail.names)
        head = (moment_text(entry), person_text(entry.by), tag, entry_title(entry, trail.names))
        lines.append("  ".join(part for part in head if part))
        before, after = before_text(entry, trail.names, shown), after_text(entry, trail.names, shown)
        if before:
            lines.append("    " + _("before: {text}").format(text=before))
        lines.append("    " + (_("after:  {text}") if before else "{text}").format(text=after))
    return "\n".join(lines) + "\n"
