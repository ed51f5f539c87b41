"""The workshop's books: rows of the import format, and beside them the rows of the truth."""

import csv
import io
from dataclasses import dataclass, field
from pathlib import Path

Row = dict[str, str]

#: File name and columns of each table that the workshop hands over.
CSV_COLUMNS: dict[str, tuple[str, ...]] = {
    "vehicles": ("tag", "description", "kind", "depot", "meter unit", "duty", "model", "in service since",
                 "retired on", "owner contact", "notes"),
    "stages": ("vehicle", "stage", "order", "drive", "centre distance [mm]", "adjuster range [mm]",
               "belt span [mm]", "rated speed [1/min]", "rated power [kW]", "wheel circumference [mm]",
               "slack definition"),
    "part_types": ("name", "kind", "designation", "wear class", "pitch [mm]", "roller diameter [mm]",
                   "inner width [mm]", "links", "joining link", "teeth", "chain", "width [mm]",
                   "mass per length [kg/m]", "lead time [d]", "price", "source"),
    "instruments": ("name", "kind", "resolution", "standard uncertainty", "bias", "stamps", "calibration due",
                    "notes"),
    "meter": ("vehicle", "date", "meter", "event", "old meter", "by", "note"),
    "installations": ("vehicle", "stage", "position", "part type", "fitted on", "fitted at", "part", "lot",
                      "use before", "history known", "removed on", "removed at", "reason", "links",
                      "thread lock", "cost", "notes"),
    "visits": ("vehicle", "date", "meter", "by", "tasks", "notes", "cost"),
    "readings": ("vehicle", "stage", "date", "meter", "measurand", "method", "spots [mm]", "position",
                 "pitches", "instrument", "cleaned", "zero reading", "temperature [degC]", "definition", "by",
                 "note", "void reason"),
    "interval_rules": ("task", "every [km]", "every [h]", "every [d]", "first [km]", "first [h]", "first [d]",
                       "after fitting", "vehicle kind", "vehicle", "stage", "drive", "note", "source"),
    "limits": ("measurand", "wear class", "service limit", "as new", "plan share", "stop-use limit",
               "designation", "model", "vehicle", "stage", "source", "note"),
    "stock": ("part type", "depot", "on hand", "least", "lead time [d]", "price", "joining links", "note"),
}  # fmt: skip

#: The same for what only the generator knows. Shares are of the allowance, distances in km or h.
#: True values are in the canonical unit of the measurand; `expected` is what a faultless hand would have read
#: with that instrument, in the unit of the spots (elongation for chains), empty where it is the true value;
#: `u` is the stated standard error of one spot in the same unit.
TRUTH_COLUMNS: dict[str, tuple[str, ...]] = {
    "readings": ("vehicle", "stage", "date", "measurand", "position", "zero reading", "true value",
                 "expected", "u", "mark"),
    "installations": ("vehicle", "stage", "position", "fitted on", "part type", "limit", "unit",
                      "distance at fitting", "distance now", "share now", "distance at limit", "reached",
                      "part factor", "late acceleration", "readings", "care"),
    "vehicles": ("vehicle", "total", "unit", "lost distance", "vehicle factor", "worst share", "worst part",
                 "state"),
    "mess": ("what", "vehicle", "date", "detail"),
}  # fmt: skip


@dataclass(slots=True)
class Books:
    """All rows by table."""

    records: dict[str, list[Row]] = field(default_factory=lambda: {name: [] for name in CSV_COLUMNS})
    truth: dict[str, list[Row]] = field(default_factory=lambda: {name: [] for name in TRUTH_COLUMNS})

    def keep(self, table: str, row: Row) -> None:
        """Keep a row of the workshop's records; columns left out stay empty."""
        _check(row, CSV_COLUMNS[table])
        self.records[table].append(row)

    def know(self, table: str, row: Row) -> None:
        """Keep a row of the truth."""
        _check(row, TRUTH_COLUMNS[table])
        self.truth[table].append(row)

    def write(self, folder: Path) -> None:
        """Write ``csv/`` and ``truth/`` below a folder."""
        for part, columns, tables in (
            ("csv", CSV_COLUMNS, self.records),
            ("truth", TRUTH_COLUMNS, self.truth),
        ):
            target = folder / part
            target.mkdir(parents=True, exist_ok=True)
            for name, rows in tables.items():
                text = io.StringIO()
                writer = csv.DictWriter(text, columns[name], restval="", lineterminator="\n")
                writer.writeheader()
                writer.writerows(rows)
                (target / f"{name}.csv").write_bytes(text.getvalue().encode("utf-8"))


def shown(value: float | None, digits: int = 6) -> str:
    """Return a number without needless zeros, empty for None."""
    return "" if value is None else f"{round(value, digits):.10g}"


def _check(row: Row, columns: tuple[str, ...]) -> None:
    unknown = set(row) - set(columns)
    if unknown:
        raise KeyError(", ".join(sorted(unknown)))
