"""Thousands of rows straight into arrays, without a record for each.

Days are proleptic Gregorian ordinals, as `datetime.date.toordinal` counts them; words are numbers that point
into the tuples below. What is unknown is NaN in an array of floats, 0 in an array of days or numbers of
records, -1 in an array of words.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Date, Integer, Select, case, cast, func, literal, select, type_coerce
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql import ColumnElement
from sqlalchemy.sql.compiler import SQLCompiler
from sqlalchemy.sql.functions import FunctionElement

from wearlog.fleet.fitting import Position, RemovalReason
from wearlog.fleet.meter import MeterEvent
from wearlog.fleet.reading import Measurand
from wearlog.store import errors
from wearlog.store.records import Records
from wearlog.store.tables import InstallationRow, MeterEntryRow, PartRow, ReadingRow

#: What the codes in `ReadingColumns.measurand` point to.
MEASURANDS: tuple[Measurand, ...] = tuple(Measurand)
#: What the codes in `InstallationColumns.position` point to.
POSITIONS: tuple[Position, ...] = tuple(Position)
#: What the codes in `InstallationColumns.removal_reason` point to; -1 is still fitted.
REMOVAL_REASONS: tuple[RemovalReason, ...] = tuple(RemovalReason)
#: What the codes in `MeterColumns.event` point to.
METER_EVENTS: tuple[MeterEvent, ...] = tuple(MeterEvent)

Integers = NDArray[np.int64]
Floats = NDArray[np.float64]
Truths = NDArray[np.bool_]
#: Rows fetched at a time.
ROWS_AT_ONCE = 20_000
#: Julian day of ordinal 0, the midnight before 1 January of year 1.
_JULIAN_DAY_0 = 1721424.5


@dataclass(frozen=True, slots=True)
class ReadingColumns:
    """Readings that count, one entry each, in the order of part, total use and number.

    Attributes
    ----------
    id, part_id, installation_id, vehicle_id, stage_id
        Numbers of the records; part and installation are 0 for readings of a stage.
    day
        The day of the reading.
    total_use
        Total use of the vehicle, km or h.
    value, low, high, u_value
        In the canonical unit of the measurand; `low` and `high` may be infinite.
    measurand
        Index into `MEASURANDS`.
    is_zero
        Whether it is the zero reading of a new part.
    """

    id: Integers
    part_id: Integers
    installation_id: Integers
    vehicle_id: Integers
    stage_id: Integers
    day: Integers
    total_use: Floats
    value: Floats
    low: Floats
    high: Floats
    u_value: Floats
    measurand: Integers
    is_zero: Truths

    def __len__(self) -> int:
        return len(self.id)


@dataclass(frozen=True, slots=True)
class InstallationColumns:
    """Installations that count, one entry each, in the order of part, use at fitting and number.

    Attributes
    ----------
    id, part_id, vehicle_id, stage_id, part_type_id
        Numbers of the records.
    fitted_use, removed_use
        Total use of the vehicle, km or h; `removed_use` is NaN while the part is there.
    fitted_day, removed_day
        `removed_day` is 0 while the part is there.
    position
        Index into `POSITIONS`.
    removal_reason
        Index into `REMOVAL_REASONS`, -1 for none.
    use_before
        What was on the part when it first came to the fleet, km or h.
    is_history_known
        Whether `use_before` is known.
    """

    id: Integers
    part_id: Integers
    vehicle_id: Integers
    stage_id: Integers
    part_type_id: Integers
    fitted_use: Floats
    removed_use: Floats
    fitted_day: Integers
    removed_day: Integers
    position: Integers
    removal_reason: Integers
    use_before: Floats
    is_history_known: Truths

    def __len__(self) -> int:
        return len(self.id)


@dataclass(frozen=True, slots=True)
class MeterColumns:
    """Meter entries that count, one entry each, in the order of vehicle, day and number.

    Attributes
    ----------
    id, vehicle_id
        Numbers of the records.
    day
        The day of the entry.
    value, old_value
        What the meter showed, km or h; `old_value` is NaN where there is none.
    event
        Index into `METER_EVENTS`.
    """

    id: Integers
    vehicle_id: Integers
    day: Integers
    value: Floats
    old_value: Floats
    event: Integers

    def __len__(self) -> int:
        return len(self.id)


Columns = TypeVar("Columns", ReadingColumns, InstallationColumns, MeterColumns)


def reading_columns(records: Records, vehicles: Collection[int] | None = None) -> ReadingColumns:
    """Return the unvoided readings of unvoided installations, and those of stages.

    Parameters
    ----------
    vehicles
        Of which vehicles; all if None.
    """
    reading, installation = ReadingRow, InstallationRow
    part_id = func.coalesce(installation.part_id, 0)
    query = (
        select(
            reading.id,
            part_id,
            func.coalesce(reading.installation_id, 0),
            reading.vehicle_id,
            reading.stage_id,
            ordinal(reading.on),
            reading.total_use,
            reading.value,
            reading.low,
            reading.high,
            reading.u_value,
            _code(reading.measurand, MEASURANDS),
            cast(reading.is_zero_reading, Integer),
        )
        .join_from(reading, installation, reading.installation_id == installation.id, isouter=True)
        .where(reading.void_reason == "", func.coalesce(installation.void_reason, "") == "")
    )
    if vehicles is not None:
        query = query.where(reading.vehicle_id.in_(list(vehicles)))
    found = _columns(records, ReadingColumns, query)
    # Sorted here: the database takes several times as long.
    order = np.lexsort((found.id, found.total_use, found.part_id))
    return ReadingColumns(*(getattr(found, field.name)[order] for field in fields(ReadingColumns)))


def installation_columns(records: Records) -> InstallationColumns:
    """Return the unvoided installations with what is known of their parts."""
    installation, part = InstallationRow, PartRow
    query = (
        select(
            installation.id,
            installation.part_id,
            installation.vehicle_id,
            installation.stage_id,
            part.part_type_id,
            installation.fitted_use,
            installation.removed_use,
            ordinal(installation.fitted_on),
            func.coalesce(ordinal(installation.removed_on), 0),
            _code(installation.position, POSITIONS),
            _code(installation.removal_reason, REMOVAL_REASONS),
            part.use_before,
            cast(part.is_history_known, Integer),
        )
        .join_from(installation, part, installation.part_id == part.id)
        .where(installation.void_reason == "")
        .order_by(installation.part_id, installation.fitted_use, installation.id)
    )
    return _columns(records, InstallationColumns, query)


def meter_columns(records: Records) -> MeterColumns:
    """Return the unvoided meter entries."""
    entry = MeterEntryRow
    query = (
        select(
            entry.id,
            entry.vehicle_id,
            ordinal(entry.on),
            entry.value,
            entry.old_value,
            _code(entry.event, METER_EVENTS),
        )
        .where(entry.void_reason == "")
        .order_by(entry.vehicle_id, entry.on, entry.id)
    )
    return _columns(records, MeterColumns, query)


def _columns(records: Records, kind: type[Columns], query: Select[*tuple[Any, ...]]) -> Columns:
    # Only plain numbers are selected: the driver's own rows need no translation, and come sooner without it.
    cursor: Any = records.connection.execute(query).cursor
    types: Mapping[Any, Any] = {Integers: np.int64, Floats: np.float64, Truths: np.bool_}
    pieces: list[list[NDArray[Any]]] = [[np.zeros(0, dtype=types[field.type])] for field in fields(kind)]
    try:
        # Rows of the driver take ten times the memory of arrays, so never all at once.
        while rows := cursor.fetchmany(ROWS_AT_ONCE):
            for piece, column in zip(pieces, zip(*rows, strict=True), strict=True):
                piece.append(np.array(column, dtype=piece[0].dtype))
    except (ValueError, TypeError) as error:
        raise errors.unreadable("", kind.__name__) from error
    return kind(*(np.concatenate(piece) for piece in pieces))


def _code(word: Any, words: Sequence[str]) -> ColumnElement[int]:
    codes = {str(one): literal(n, Integer, literal_execute=True) for n, one in enumerate(words)}
    return case(codes, value=word, else_=literal(-1, Integer, literal_execute=True))


class _Ordinal(FunctionElement[int]):
    """The ordinal of a day, worked out by the database."""

    type = Integer()
    inherit_cache = True
    name = "ordinal"


def ordinal(day: Any) -> _Ordinal:
    """Return the ordinal of a day, to be worked out by the database."""
    return _Ordinal(type_coerce(day, Date))


@compiles(_Ordinal, "sqlite")
def _ordinal_in_sqlite(element: _Ordinal, compiler: SQLCompiler, **options: Any) -> str:
    day = compiler.process(element.clauses, **options)
    return f"CAST(julianday({day}) - {_JULIAN_DAY_0} AS INTEGER)"


@compiles(_Ordinal, "postgresql")
def _ordinal_in_postgresql(element: _Ordinal, compiler: SQLCompiler, **options: Any) -> str:
    day = compiler.process(element.clauses, **options)
    return f"(({day}) - DATE '0001-01-01' + 1)"
