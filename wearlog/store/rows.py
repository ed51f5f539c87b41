"""A record and its row: translated by the names of the fields, with a converter where the types differ."""

import json
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import MISSING, Field, fields, is_dataclass
from datetime import date
from enum import Enum
from functools import cache
from operator import attrgetter
from types import UnionType
from typing import Any, ClassVar, Generic, Protocol, TypeVar, Union, get_args, get_origin, get_type_hints

from sqlalchemy import Connection, Row, Select
from sqlalchemy import Table as SqlTable

from wearlog.fleet.audit import AuditEntry
from wearlog.fleet.fitting import Installation
from wearlog.fleet.limit import Limit
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.parts import Part, PartType
from wearlog.fleet.planned import PlannedVisit
from wearlog.fleet.reading import Instrument, Reading
from wearlog.fleet.service import IntervalRule, Visit
from wearlog.fleet.spells import DutySpell, LayUp
from wearlog.fleet.stock import PartOrder, StockLine, StockMove
from wearlog.fleet.torque import Fastener, TorqueRecord, TorqueSheet
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.store import errors, tables, tables_plans
from wearlog.store.tables_base import Table as RowTable


class Kept(Protocol):
    """Any of the frozen records of the fleet that are kept."""

    __dataclass_fields__: ClassVar[dict[str, Field[Any]]]

    @property
    def id(self) -> int:
        """The number of its row; 0 before it is kept."""


R = TypeVar("R", bound=Kept)

#: Each record and its table.
TABLES: dict[type[Any], type[RowTable]] = {
    Vehicle: tables.VehicleRow,
    Stage: tables.StageRow,
    PartType: tables.PartTypeRow,
    Part: tables.PartRow,
    Installation: tables.InstallationRow,
    Visit: tables.VisitRow,
    MeterEntry: tables.MeterEntryRow,
    Instrument: tables.InstrumentRow,
    Reading: tables.ReadingRow,
    IntervalRule: tables.IntervalRuleRow,
    Limit: tables.LimitRow,
    TorqueSheet: tables.TorqueSheetRow,
    Fastener: tables.FastenerRow,
    TorqueRecord: tables.TorqueRecordRow,
    DutySpell: tables_plans.DutySpellRow,
    LayUp: tables_plans.LayUpRow,
    StockLine: tables_plans.StockLineRow,
    PartOrder: tables_plans.PartOrderRow,
    StockMove: tables_plans.StockMoveRow,
    PlannedVisit: tables_plans.PlannedVisitRow,
    AuditEntry: tables.AuditRow,
}

_Convert = Callable[[Any], Any]


class Shape(Generic[R]):
    """How records of one kind are kept.

    Attributes
    ----------
    kind
        The class of the records.
    table
        Where their rows are.
    names
        Fields and columns, in the order of the record's fields.
    """

    def __init__(self, kind: type[R], table: SqlTable) -> None:
        self.kind = kind
        self.table = table
        self.names = tuple(field.name for field in fields(kind))
        self.columns = tuple(table.c[name] for name in self.names)
        self._hints = get_type_hints(kind)
        pairs = {name: _converters(self._hints[name]) for name in self.names}
        self._to_cell: dict[str, _Convert] = {name: pair[0] for name, pair in pairs.items()}
        self._numbers = [(name, pair[0]) for name, pair in pairs.items() if pair[0] in {_number, int, bool}]
        self._from_cell = [(n, pair[1]) for n, pair in enumerate(pairs.values()) if pair[1] is not None]
        kinds = {name: _without_none(hint) for name, hint in self._hints.items()}
        self._days = [n for n, name in enumerate(self.names) if kinds[name] is date]
        self._truths = [n for n, name in enumerate(self.names) if kinds[name] is bool]
        self._values: Callable[[R], tuple[Any, ...]] = attrgetter(*self.names)

    def has(self, name: str) -> bool:
        """Whether the records have a field of this name."""
        return name in self._to_cell

    def fields_of(self, record: R) -> dict[str, Any]:
        """Return a record's values by name."""
        return dict(zip(self.names, self._values(record), strict=True))

    def row(self, record: R) -> dict[str, Any]:
        """Return the row of a record."""
        return {
            name: None if value is None else convert(value)
            for (name, convert), value in zip(self._to_cell.items(), self._values(record), strict=True)
        }

    def record(self, cells: Sequence[Any]) -> R:
        """Return the record of a row whose cells come in the order of `names`."""
        values = list(cells)
        try:
            for n, convert in self._from_cell:
                if values[n] is not None:
                    values[n] = convert(values[n])
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
            number = values[self.names.index("id")]
            raise errors.unreadable("", f"{self.table.name} {number}") from error
        return self.kind(**dict(zip(self.names, values, strict=True)))

    def record_of_raw(self, cells: Sequence[Any]) -> R:
        """Return the record of a row as the driver handed it out: days may be texts, truths numbers.

        For records without instants.
        """
        values = list(cells)
        try:
            for n in self._days:
                if type(values[n]) is str:
                    values[n] = date.fromisoformat(values[n])
        except ValueError as error:
            raise errors.unreadable("", f"{self.table.name} {values[self.names.index('id')]}") from error
        for n in self._truths:
            if values[n] is not None:
                values[n] = bool(values[n])
        return self.record(values)

    def rows(self, connection: Connection, query: Select[Any]) -> list[Row[Any]]:
        """Return the rows of a query.

        Raises
        ------
        Damaged
            If a day or an instant in them is none.
        """
        try:
            return list(connection.execute(query))
        except (ValueError, TypeError) as error:
            raise errors.unreadable("", self.table.name) from error

    def defaults(self) -> dict[str, Any]:
        """Return the values that fields have when nothing is said, by name."""
        return {field.name: field.default for field in fields(self.kind) if field.default is not MISSING}

    def changed(self, record: R, **values: Any) -> R:
        """Return a record with other values in some fields; numbers become those of Python."""
        new = self.fields_of(record) | values
        for name, convert in self._numbers:
            if new[name] is not None:
                new[name] = convert(new[name])
        return self.kind(**new)

    def values_from_json(self, text: str) -> dict[str, Any]:
        """Return the values by name that `json_text` has written of fields of these records."""
        return {name: _from_plain(self._hints[name], value) for name, value in json.loads(text).items()}

    def cell(self, name: str, value: object) -> object:
        """Return a single value as its column keeps it.

        Raises
        ------
        TypeError
            If the records have no such field.
        """
        if name not in self._to_cell:
            message = f"{self.kind.__name__} has no field {name!r}"
            raise TypeError(message)
        return None if value is None else self._to_cell[name](value)


@cache
def _shape(kind: type[Any]) -> Shape[Any]:
    table = TABLES[kind].__table__
    if not isinstance(table, SqlTable):
        raise TypeError(kind)
    return Shape(kind, table)


def shape_of(kind: type[R]) -> Shape[R]:
    """Return how records of a kind are kept.

    Raises
    ------
    KeyError
        If such records are not kept.
    """
    return _shape(kind)


def _same(value: Any) -> Any:
    return value


def _number(value: Any) -> float:
    number = float(value)
    if math.isnan(number):
        # SQLite would keep it as NULL, PostgreSQL as NaN.
        message = "not a number cannot be kept; use None for an unknown value"
        raise ValueError(message)
    return number


def _converters(hint: Any) -> tuple[_Convert, _Convert | None]:
    """Return how a value of a field's type goes into its cell and comes back; None for "as it is"."""
    kind = _without_none(hint)
    if get_origin(kind) is tuple:
        return _json_list, lambda text: _from_plain(kind, json.loads(text))
    if isinstance(kind, type) and issubclass(kind, Enum):
        return attrgetter("value"), {member.value: member for member in kind}.__getitem__
    # numpy's numbers and truth values are not those of the database drivers.
    plain: dict[Any, _Convert] = {float: _number, int: int, bool: bool}
    return plain.get(kind, _same), None


def _without_none(hint: Any) -> Any:
    if get_origin(hint) in {UnionType, Union}:
        (kind,) = (choice for choice in get_args(hint) if choice is not type(None))
        return kind
    return hint


def _json_list(value: Any) -> str:
    return json_text(value) if value else "[]"


def _plain_one(value: Any) -> Any:
    """Return a record or a day as what JSON knows; fields without a value are left out."""
    if isinstance(value, date):
        return value.isoformat()
    if not is_dataclass(value):
        return value.item()  # a number of numpy
    named = ((name, getattr(value, name)) for name in value.__dataclass_fields__)
    return {name: one for name, one in named if one is not None}


_ENCODER = json.JSONEncoder(ensure_ascii=False, allow_nan=False, separators=(",", ":"), default=_plain_one)


def json_text(value: Any) -> str:
    """Return JSON text of a value made of records, enums, days, numbers and texts.

    Infinite numbers, which JSON does not know, become the texts ``"inf"`` and ``"-inf"``.

    Examples
    --------
    >>> json_text({"low": 0.0075, "high": math.inf, "on": date(2026, 5, 3)})
    '{"low":0.0075,"high":"inf","on":"2026-05-03"}'
    """
    try:
        return _ENCODER.encode(value)
    except ValueError:
        return _ENCODER.encode(_with_finite_numbers(value))


def _with_finite_numbers(value: Any) -> Any:
    if isinstance(value, float) and math.isinf(value):
        return str(float(value))
    if isinstance(value, Mapping):
        return {key: _with_finite_numbers(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [_with_finite_numbers(one) for one in value]
    return _with_finite_numbers(_plain_one(value)) if is_dataclass(value) else value


def _from_plain(hint: Any, value: Any) -> Any:
    """Return a value of a field's type from what JSON made of it."""
    read = _reader(hint)
    return value if value is None or read is None else read(value)


@cache
def _reader(hint: Any) -> _Convert | None:
    """Return how what JSON made of a value becomes one of a type; None if it is so already."""
    kind = _without_none(hint)
    if get_origin(kind) is tuple:
        parts = get_args(kind)
        if parts[-1] is Ellipsis:
            return lambda value: tuple([_from_plain(parts[0], one) for one in value])
        return lambda value: tuple(_from_plain(part, one) for part, one in zip(parts, value, strict=True))
    if isinstance(kind, type) and issubclass(kind, Enum):
        members = {member.value: member for member in kind}
        return lambda value: members.get(value) or kind(value)
    if isinstance(kind, type) and is_dataclass(kind):
        return _record_reader(kind)
    plain: dict[Any, _Convert] = {float: float, date: date.fromisoformat}
    return plain.get(kind)


def _record_reader(kind: type[Any]) -> _Convert:
    readers = {name: _reader(hint) for name, hint in get_type_hints(kind).items()}

    def read(value: Mapping[str, Any]) -> Any:
        fields_ = dict(value)
        for name, one in value.items():
            convert = readers[name]
            if convert is not None and one is not None:
                fields_[name] = convert(one)
        return kind(**fields_)

    return read
