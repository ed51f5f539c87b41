"""What the columns of somebody's own sheet are: the match between it and what wearlog keeps."""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from enum import StrEnum
from functools import cache
from gettext import gettext as _
from hashlib import sha256
from typing import Any

from wearlog.exchange.columns import FORMS, Column
from wearlog.exchange.spreadsheet import Cell, Sheet, SheetRow
from wearlog.fleet.fitting import Position
from wearlog.fleet.reading import Measurand, Method

#: A sheet with a row for each service; the other purposes are the files of the import format.
SERVICE = "service"
#: Fields of a service row that hold no text of their own: a value that was measured, and a part renewed.
MEASURE, RENEWED = "measure", "renewed"
#: Methods that need the number of pitches spanned.
OVER_PITCHES = frozenset(
    {
        Method.PIN_TO_PIN,
        Method.OVER_ROLLERS,
        Method.INSIDE_AND_OUTSIDE,
        Method.BETWEEN_ROLLERS,
        Method.TAPE,
    }
)


class DayOrder(StrEnum):
    """How days are written in figures, where the year does not come first."""

    UNKNOWN = ""
    DAY_FIRST = "day first"
    MONTH_FIRST = "month first"


@dataclass(frozen=True, slots=True)
class Field:
    """Something that a column may hold, or that one value may hold for all rows.

    Attributes
    ----------
    name
        For the program.
    title
        For people.
    column
        The column of the import format that reads it; None where it is read in a way of its own.
    is_required
        Whether no row can do without.
    is_many
        Whether several columns may hold it.
    """

    name: str
    title: str
    column: Column | None = None
    is_required: bool = False
    is_many: bool = False


@dataclass(frozen=True, slots=True)
class Measure:
    """What a column of figures measured, and how; columns that say the same are spots of one reading."""

    measurand: Measurand
    method: Method
    stage: str = ""
    position: Position | None = None
    pitches: int | None = None
    instrument: str = ""


@dataclass(frozen=True, slots=True)
class ColumnMatch:
    """One column of the sheet.

    Attributes
    ----------
    place
        Counted from 0.
    header
        As it stands in the sheet.
    field
        What it holds; empty if it is left out.
    unit
        That of its bare numbers; empty where none belongs or the cells name theirs.
    measure
        Of a measured column; the stage alone counts for a renewed part.
    """

    place: int
    header: str
    field: str = ""
    unit: str = ""
    measure: Measure | None = None


@dataclass(frozen=True, slots=True)
class Match:
    """How a sheet is to be understood.

    Attributes
    ----------
    purpose
        `SERVICE`, or a file of the import format.
    header_row
        The number of the row with the headers.
    columns
        All columns of the sheet, in their order.
    fixed
        What the sheet lacks and holds for all rows, by field.
    days
        How days are written.
    decimal
        ``","`` or ``"."``; empty if nothing tells.
    """

    purpose: str
    header_row: int
    columns: tuple[ColumnMatch, ...]
    fixed: tuple[tuple[str, str], ...] = ()
    days: DayOrder = DayOrder.UNKNOWN
    decimal: str = ""

    @property
    def left_out(self) -> tuple[ColumnMatch, ...]:
        """The columns that are not brought in."""
        return tuple(column for column in self.columns if not column.field)

    def fixed_text(self, name: str) -> str:
        """Return what holds for all rows, empty for nothing."""
        return dict(self.fixed).get(name, "")

    def with_fixed(self, name: str, text: str) -> "Match":
        """Return the match with another value for all rows."""
        fixed = {**dict(self.fixed), name: text}
        return replace(self, fixed=tuple((key, value) for key, value in fixed.items() if value.strip()))

    def with_column(self, column: ColumnMatch) -> "Match":
        """Return the match with one column changed; what only one may hold is taken from the others."""
        many = {field.name for field in fields_of(self.purpose) if field.is_many}
        taken = column.field if column.field not in many else ""
        return replace(
            self,
            columns=tuple(
                column
                if other.place == column.place
                else replace(other, field="", unit="", measure=None)
                if taken and other.field == taken
                else other
                for other in self.columns
            ),
        )

    def column_of(self, field: str) -> ColumnMatch | None:
        """Return the first column that holds a field."""
        return next((column for column in self.columns if column.field == field), None)


# --- what there is to match with


@cache
def purposes() -> Mapping[str, str]:
    """Return what a row of a sheet may be: the purpose and the words for it."""
    return {
        SERVICE: _("a service"),
        "vehicles.csv": _("a vehicle"),
        "stages.csv": _("a drive stage"),
        "part_types.csv": _("a part type"),
        "instruments.csv": _("an instrument"),
        "meter.csv": _("a meter entry"),
        "installations.csv": _("a part fitted"),
        "visits.csv": _("a service visit"),
        "readings.csv": _("a reading"),
        "interval_rules.csv": _("an interval rule"),
        "limits.csv": _("a limit"),
        "stock.csv": _("a part in stock"),
    }


def _column(file: str, field: str) -> Column:
    return next(column for column in FORMS[file].columns if column.field == field)


@cache
def fields_of(purpose: str) -> tuple[Field, ...]:
    """Return what the columns of a sheet with this purpose may hold."""
    if purpose != SERVICE:
        return tuple(
            Field(column.field, column.title, column, column.is_required) for column in FORMS[purpose].columns
        )
    return (
        Field("vehicle", _("vehicle (tag)"), _column("visits.csv", "vehicle"), is_required=True),
        Field("on", _("date"), _column("visits.csv", "on"), is_required=True),
        Field("meter", _("meter"), _column("visits.csv", "meter"), is_required=True),
        Field(MEASURE, _("a measured value"), is_many=True),
        Field(RENEWED, _("chain or belt renewed"), is_many=True),
        Field("cleaned", _("cleaned, yes or no")),
        Field("lubricated", _("lubricated, or with what")),
        Field("by", _("by whom"), _column("visits.csv", "by")),
        Field("tasks", _("tasks"), _column("visits.csv", "tasks")),
        Field("notes", _("notes"), _column("visits.csv", "notes"), is_many=True),
        Field("cost", _("cost"), _column("visits.csv", "cost")),
    )


@cache
def fixed_fields_of(purpose: str) -> tuple[Field, ...]:
    """Return what one value may hold for all rows; on a sheet of services also what new vehicles need."""
    plain = tuple(field for field in fields_of(purpose) if field.column is not None and not field.is_many)
    if purpose != SERVICE:
        return plain
    named = {"vehicle", "by", "on", "meter"}
    return (
        *(field for field in plain if field.name in named),
        Field("like", _("new vehicles are")),
        Field("depot", _("depot"), _column("vehicles.csv", "depot")),
        Field("meter_unit", _("meter unit"), _column("vehicles.csv", "meter_unit")),
    )


# --- the header row


def header_cells(sheet: Sheet, header_row: int) -> tuple[str, ...]:
    """Return the headers in a row; empty for columns without one."""
    row = row_numbered(sheet, header_row)
    cells = [] if row is None else [text_of(cell) for cell in row.cells]
    return tuple(cells + [""] * (sheet.width - len(cells)))


def row_numbered(sheet: Sheet, number: int) -> SheetRow | None:
    """Return the row with a number; None for a blank one."""
    return next((row for row in sheet.rows if row.number == number), None)


def data_rows(sheet: Sheet, header_row: int) -> tuple[SheetRow, ...]:
    """Return the rows under the headers."""
    return tuple(row for row in sheet.rows if row.number > header_row)


def text_of(cell: Cell) -> str:
    """Return a cell as plain text on one line."""
    if isinstance(cell, float):
        return f"{cell:.12g}"
    return "" if cell is None else " ".join(str(cell).split())


def fingerprint(sheet: Sheet, header_row: int) -> str:
    """Return what tells the header row of a sheet from others, without regard to capitals and spaces."""
    headers = [text.casefold() for text in header_cells(sheet, header_row)]
    while headers and not headers[-1]:
        headers.pop()
    return sha256("\x1f".join(headers).encode()).hexdigest()[:32]


# --- kept for the next time


def match_to_text(match: Match) -> str:
    """Return a match as the text in which it is remembered."""
    return json.dumps(asdict(match), ensure_ascii=False, sort_keys=True)


def match_from_text(text: str, sheet: Sheet, header_row: int) -> Match | None:
    """Return a remembered match for a sheet with the same headers; None if it does not fit any more."""
    try:
        kept = json.loads(text)
        known = {field.name for field in fields_of(kept["purpose"])}
        columns = tuple(_column_from(given) for given in kept["columns"])
        match = Match(
            purpose=kept["purpose"],
            header_row=header_row,
            columns=columns,
            fixed=tuple((str(name), str(value)) for name, value in kept["fixed"]),
            days=DayOrder(kept["days"]),
            decimal=str(kept["decimal"]),
        )
    except (ValueError, KeyError, TypeError, AttributeError):
        return None
    headers = header_cells(sheet, header_row)
    is_same = len(columns) >= len([text for text in headers if text]) and all(
        column.place < len(headers) or not column.field for column in columns
    )
    if not is_same or any(column.field and column.field not in known for column in columns):
        return None
    more = tuple(ColumnMatch(place, headers[place]) for place in range(len(columns), sheet.width))
    return replace(match, columns=(*columns, *more))


def _column_from(given: Mapping[str, Any]) -> ColumnMatch:
    measure = given["measure"]
    return ColumnMatch(
        place=int(given["place"]),
        header=str(given["header"]),
        field=str(given["field"]),
        unit=str(given["unit"]),
        measure=None
        if measure is None
        else Measure(
            measurand=Measurand(measure["measurand"]),
            method=Method(measure["method"]),
            stage=str(measure["stage"]),
            position=None if measure["position"] is None else Position(measure["position"]),
            pitches=None if measure["pitches"] is None else int(measure["pitches"]),
            instrument=str(measure["instrument"]),
        ),
    )
