"""Words of the import page: values as understood, what an import would bring, and names for choice."""

from collections.abc import Iterable
from datetime import date
from enum import StrEnum
from gettext import gettext as _
from gettext import ngettext
from typing import Any

from wearlog import units
from wearlog.exchange.matching import MEASURE, ColumnMatch, Field, Match
from wearlog.exchange.measured_cells import spot_quantity
from wearlog.fleet.fitting import Position
from wearlog.fleet.parts import DriveKind, PartKind, WearClass
from wearlog.fleet.problem import Doubt, Problem
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.reading import InstrumentKind, Measurand, Method, Spot
from wearlog.fleet.vehicle import Duty, MeterUnit, VehicleKind
from wearlog.wording import day_text
from wearlog.workshop.bring_in import Brought
from wearlog.workshop.import_rows import Amount, GaugeSpot, TaskRow

#: What separates columns of a text, in words.
SEPARATOR_WORDS = {",": _("comma"), ";": _("semicolon"), "\t": _("tab"), "|": _("upright stroke")}
#: The lists from which one value for all rows may be chosen.
_LISTS: dict[str, type[StrEnum]] = {
    "meter_unit": MeterUnit,
    "duty": Duty,
    "drive": DriveKind,
    "position": Position,
    "measurand": Measurand,
    "method": Method,
    "wear_class": WearClass,
}
_KINDS: dict[str, type[StrEnum]] = {
    "vehicles.csv": VehicleKind,
    "part_types.csv": PartKind,
    "instruments.csv": InstrumentKind,
}


def choices_of(purpose: str, field: str) -> tuple[str, ...]:
    """Return the words of the format among which a field is chosen; empty where it is free."""
    kinds = _KINDS.get(purpose) if field == "kind" else _LISTS.get(field)
    return () if kinds is None else tuple(kind.value for kind in kinds)


def unit_text(unit: str) -> str:
    """Return a unit as people read it."""
    return {"1": _("fraction"), "": _("in the cell"), "N.m": "N·m", "degC": "°C", "degF": "°F"}.get(
        unit, unit
    )


def field_text(column: ColumnMatch, fields: Iterable[Field]) -> str:
    """Return what a column holds, in words."""
    if not column.field:
        return _("left out")
    title = next((field.title for field in fields if field.name == column.field), column.field)
    measure = column.measure
    if measure is None:
        return title
    if column.field != MEASURE:
        return f"{title}, {measure.stage}" if measure.stage else title
    parts = [_(measure.measurand.value)]
    if measure.pitches is not None:
        parts.append(_("over {n} pitches").format(n=measure.pitches))
    if measure.position is not None:
        parts.append(_(measure.position.value))
    if measure.stage:
        parts.append(measure.stage)
    return ", ".join(parts)


def value_text(value: object, column: ColumnMatch, field: Field | None, shown: ShownUnits) -> str:
    """Return a value as it was understood, with its unit."""
    text = str(value)
    if isinstance(value, bool):
        text = _("yes") if value else _("no")
    elif isinstance(value, StrEnum):
        text = _(value.value)
    elif isinstance(value, date):
        text = day_text(value)
    elif isinstance(value, Amount):
        unit = value.unit or (column.unit if column.field == "meter" else "")
        number = f"{value.value:.6g}" if value.value < 1000 else f"{value.value:.0f}"
        text = f"{number}{units.THIN_SPACE}{unit}" if unit else number
    elif isinstance(value, tuple):
        text = "; ".join(_spot_text(one, column, shown) for one in value)
    elif isinstance(value, float) and field is not None and field.column is not None:
        kinds = field.column.quantities
        text = units.show(value, kinds[0], shown) if kinds else f"{value:g}"
    return text


def _spot_text(spot: Any, column: ColumnMatch, shown: ShownUnits) -> str:
    measure = column.measure
    if isinstance(spot, TaskRow):
        return _(spot.task.value)
    if not isinstance(spot, Spot) or measure is None:
        return spot.typed if isinstance(spot, Spot | GaugeSpot) else str(spot)
    quantity = spot_quantity(measure.method, measure.measurand)
    if quantity is Quantity.GRADE:
        return f"{spot.value:.0f}"
    # A digit more than was written would say more than the sheet does.
    u = 5.0 * spot.resolution or None
    first = units.show(spot.value, quantity, shown, u=u, with_u=False)
    if spot.second is None:
        return first
    return f"{first} / {units.show(spot.second, Quantity.LENGTH, shown, u=u, with_u=False)}"


# --- what comes of it


def counted(counts: dict[str, int]) -> str:
    """Return how many rows of which kind.

    Examples
    --------
    >>> counted({"vehicles": 1, "readings": 30, "meter entries implied": 4})
    '1 vehicle, 30 readings'
    """
    names = {
        "vehicles": lambda n: ngettext("{n} vehicle", "{n} vehicles", n),
        "stages": lambda n: ngettext("{n} stage", "{n} stages", n),
        "part_types": lambda n: ngettext("{n} part type", "{n} part types", n),
        "instruments": lambda n: ngettext("{n} instrument", "{n} instruments", n),
        "meter": lambda n: ngettext("{n} meter entry", "{n} meter entries", n),
        "installations": lambda n: ngettext("{n} part fitted", "{n} parts fitted", n),
        "visits": lambda n: ngettext("{n} visit", "{n} visits", n),
        "readings": lambda n: ngettext("{n} reading", "{n} readings", n),
        "interval_rules": lambda n: ngettext("{n} interval rule", "{n} interval rules", n),
        "limits": lambda n: ngettext("{n} limit", "{n} limits", n),
        "stock": lambda n: ngettext("{n} stock line", "{n} stock lines", n),
    }
    said = [names[name](n).format(n=n) for name, n in counts.items() if name in names]
    return ", ".join(said)


def outcome_text(brought: Brought) -> str:
    """Return what an import would add, what is known already and what is questioned, in one line."""
    added = counted(brought.added)
    parts = [_("Would add {what}.").format(what=added) if added else _("Nothing new in it.")]
    known = counted(brought.already)
    if known:
        parts.append(_("Known already: {what}.").format(what=known))
    if brought.doubts:
        n = len(brought.doubts)
        parts.append(ngettext("{n} question.", "{n} questions.", n).format(n=n))
    return " ".join(parts)


def subject_text(file: str, sheet: str, rows: int, columns: int) -> str:
    """Return what the page is about: the file and its size."""
    name = f"{file}, {sheet}" if sheet else file
    size = _("{rows} by {columns}").format(
        rows=ngettext("{n} row", "{n} rows", rows).format(n=rows),
        columns=ngettext("{n} column", "{n} columns", columns).format(n=columns),
    )
    return f"{name}: {size}"


def left_out_text(match: Match) -> str:
    """Return which columns are left out, empty if none is."""
    names = [column.header or _("column {n}").format(n=column.place + 1) for column in match.left_out]
    if not names:
        return ""
    n, most = len(names), 4
    listed = ", ".join(names[:most])
    if n > most:
        listed = _("{names} and {n} more").format(names=listed, n=n - most)
    return ngettext("{n} column is left out: {names}.", "{n} columns are left out: {names}.", n).format(
        n=n, names=listed
    )


def problem_line(problem: Problem) -> str:
    """Return a problem on one line, its place first."""
    where = f"{problem.where}: " if problem.where else ""
    return f"{where}{problem.what} {problem.todo}".strip()


def doubt_line(doubt: Doubt) -> str:
    """Return a question on one line, its place first."""
    return f"{doubt.where}: {doubt.question}" if doubt.where else doubt.question
