"""Lines of the due list as columns: made into records only when somebody looks at them.

A fleet of ten thousand vehicles has eighty thousand lines of some fifty numbers and words each. As columns
they are sorted, kept and read back in a moment; a record is made when it is asked for, and stays the same.
"""

import base64
import json
import types
import zlib
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, fields
from datetime import date
from enum import StrEnum
from functools import cached_property
from operator import attrgetter
from typing import Any, Union, get_args, get_origin, get_type_hints, overload

import numpy as np
from numpy.typing import NDArray

from wearlog.workshop.due_snapshot import DueLine, DueReason, VisitGroup
from wearlog.workshop.fleet_snapshot import WearRuleValue

#: Stands for "none" among whole numbers and days.
NO_NUMBER = np.iinfo(np.int64).min
#: Records made at a time when somebody goes through many.
BLOCK_LINES = 2000

Numbers = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Field:
    """A field of a line or of what hangs on it: where it is found, and what it holds."""

    path: str
    holds: Any

    @property
    def is_float(self) -> bool:
        return self.holds is float


def _fields_of(kind: type, prefix: str = "") -> tuple[_Field, ...]:
    hints = get_type_hints(kind)
    found = []
    for field in fields(kind):
        hint = hints[field.name]
        if get_origin(hint) in {types.UnionType, Union}:
            (hint,) = (one for one in get_args(hint) if one is not type(None))
        if hint not in {DueReason, WearRuleValue}:
            found.append(_Field(prefix + field.name, hint))
    return tuple(found)


_LINE, _REASON, _RULE = _fields_of(DueLine), _fields_of(DueReason), _fields_of(WearRuleValue)
_ALL = (
    *_LINE,
    *(_Field(f"reason.{one.path}", one.holds) for one in _REASON),
    *(_Field(f"rule.{one.path}", one.holds) for one in _RULE),
)
_NAMES = tuple(one.path for one in _ALL)
#: Numbers and floats stand in two tables; this is the column of each field in its table.
_COLUMN = {
    one.path: n
    for table in (True, False)
    for n, one in enumerate(one for one in _ALL if one.is_float is table)
}
_WORDS = tuple(one for one in _ALL if issubclass(one.holds, str))
_VEHICLE, _GROUP, _DUE_ON, _GROUP_ON, _TAG = (
    _COLUMN[name] for name in ("vehicle_id", "group", "due_on", "group_on", "tag")
)
_LINE_VALUES = attrgetter(*(one.path for one in _LINE))
_REASON_VALUES = attrgetter(*(one.path for one in _REASON))
_RULE_VALUES = attrgetter(*(one.path for one in _RULE))
_NO_RULE = (None,) * len(_RULE)
_LINE_ORDER = tuple(field.name for field in fields(DueLine))


def fields_kept() -> str:
    """Return the names of all fields; columns that were kept with other ones are of no use."""
    return " ".join(_NAMES)


@dataclass(frozen=True, slots=True, eq=False)
class LineColumns:
    """Lines by vehicle, those of each vehicle in a row, sorted by date.

    Attributes
    ----------
    numbers, floats
        Whole numbers, days and words; fractional numbers: a row for each line.
    words
        By field, the words that the numbers of it point to, sorted.
    made
        The records made so far.
    """

    numbers: Numbers
    floats: Floats
    words: dict[str, tuple[str, ...]]
    made: NDArray[np.object_]

    @classmethod
    def of(cls, lines: Sequence[DueLine]) -> "LineColumns":
        """Return lines as columns."""
        n = len(lines)
        numbers = np.empty((n, sum(not one.is_float for one in _ALL)), dtype=np.int64)
        floats = np.empty((n, sum(one.is_float for one in _ALL)))
        words: dict[str, tuple[str, ...]] = {}
        rows = (
            (
                *_LINE_VALUES(line),
                *_REASON_VALUES(line.reason),
                *(_NO_RULE if line.rule is None else _RULE_VALUES(line.rule)),
            )
            for line in lines
        )
        for one, values in zip(_ALL, zip(*rows, strict=True) if n else [()] * len(_ALL), strict=True):
            column = _COLUMN[one.path]
            if one.is_float:
                floats[:, column] = np.array(values, dtype=np.float64)
            elif issubclass(one.holds, str):
                some = set(values)
                some.discard(None)
                words[one.path] = tuple(sorted(map(str, some)))
                code: dict[str | None, int] = {word: m for m, word in enumerate(words[one.path])}
                code[None] = NO_NUMBER
                numbers[:, column] = [code[value] for value in values]
            elif one.holds is date:
                numbers[:, column] = [NO_NUMBER if day is None else day.toordinal() for day in values]
            else:
                numbers[:, column] = [NO_NUMBER if number is None else number for number in values]
        return cls(numbers, floats, words, np.full(n, None, dtype=np.object_))

    def __len__(self) -> int:
        return len(self.numbers)

    @property
    def vehicle_id(self) -> Numbers:
        """The vehicle of each line."""
        return np.asarray(self.numbers[:, _VEHICLE])

    @property
    def due_on(self) -> Numbers:
        """The ordinal day on which each line is due."""
        return np.asarray(self.numbers[:, _DUE_ON])

    def order(self) -> Numbers:
        """Return the lines sorted by date, tag and what else tells them apart."""
        tags = max(len(self.words["tag"]), 1)
        # Those of one vehicle stand in the right order already.
        return np.argsort(self.due_on * tags + self.numbers[:, _TAG], kind="stable")

    def with_vehicles(self, vehicles: Collection[int], made: "LineColumns") -> "LineColumns":
        """Return the lines with those of some vehicles in place of what these had."""
        stays = ~np.isin(self.vehicle_id, list(vehicles))
        # Vehicles stand in a row, so that whole stretches are taken over.
        turns = np.flatnonzero(np.diff(stays, prepend=False, append=False))
        stretches = zip(turns[::2].tolist(), turns[1::2].tolist(), strict=True)
        return joined([*(self._stretch(begin, end) for begin, end in stretches), made])

    def _stretch(self, begin: int, end: int) -> "LineColumns":
        rows = slice(begin, end)
        return LineColumns(self.numbers[rows], self.floats[rows], self.words, self.made[rows])

    def in_words(self, words: dict[str, tuple[str, ...]]) -> "LineColumns":
        """Return the same with words numbered as in larger lists."""
        numbers = self.numbers
        for field in _WORDS:
            mine, larger = self.words[field.path], words[field.path]
            if mine == larger:
                continue
            if numbers is self.numbers:
                numbers = numbers.copy()
            code = {word: n for n, word in enumerate(larger)}
            # None points to the end.
            new = np.array([*(code[word] for word in mine), NO_NUMBER], dtype=np.int64)
            old = numbers[:, _COLUMN[field.path]]
            numbers[:, _COLUMN[field.path]] = new[np.where(old == NO_NUMBER, len(mine), old)]
        return LineColumns(numbers, self.floats, words, self.made)

    def records(self, rows: Numbers) -> list[DueLine]:
        """Return some lines as records."""
        missing = rows[[one is None for one in self.made[rows]]]
        for begin in range(0, missing.size, BLOCK_LINES):
            self._make(missing[begin : begin + BLOCK_LINES])
        found: list[DueLine] = self.made[rows].tolist()
        return found

    def _make(self, rows: Numbers) -> None:
        numbers, floats = self.numbers[rows].T.tolist(), self.floats[rows].T.tolist()
        columns = {one.path: self._values(one, numbers, floats) for one in _ALL}
        reasons = zip(*(columns[f"reason.{one.path}"] for one in _REASON), strict=True)
        rules = zip(*(columns[f"rule.{one.path}"] for one in _RULE), strict=True)
        columns["reason"] = [DueReason(*values) for values in reasons]
        columns["rule"] = [None if values[0] is None else WearRuleValue(*values) for values in rules]
        values = zip(*(columns[name] for name in _LINE_ORDER), strict=True)
        for row, cells in zip(rows.tolist(), values, strict=True):
            self.made[row] = DueLine(*cells)

    def _values(self, one: _Field, numbers: list[list[int]], floats: list[list[float]]) -> list[Any]:
        if one.is_float:
            # What is no number equals nothing, not even itself.
            return [value if value == value else None for value in floats[_COLUMN[one.path]]]  # noqa: PLR0124
        cells = numbers[_COLUMN[one.path]]
        if issubclass(one.holds, str):
            make = one.holds if issubclass(one.holds, StrEnum) else str
            known: dict[int, Any] = {n: make(word) for n, word in enumerate(self.words[one.path])}
            return [known.get(cell) for cell in cells]
        if one.holds is date:
            days: dict[int, date | None] = {day: date.fromordinal(day) for day in set(cells) if day > 0}
            return [days.get(cell) for cell in cells]
        return [None if cell == NO_NUMBER else one.holds(cell) for cell in cells]

    def to_text(self) -> str:
        """Return all as text, to be kept."""
        packing = zlib.compressobj(1)
        pieces = [
            packing.compress(column.tobytes()) for table in (self.numbers, self.floats) for column in table.T
        ]
        packed = base64.b64encode(b"".join([*pieces, packing.flush()])).decode("ascii")
        return json.dumps({"lines": len(self), "words": self.words, "columns": packed})

    @classmethod
    def from_text(cls, text: str) -> "LineColumns":
        """Return kept ones."""
        told = json.loads(text)
        n, raw = told["lines"], zlib.decompress(base64.b64decode(told["columns"]))
        wide = sum(not one.is_float for one in _ALL)
        numbers = np.frombuffer(raw, dtype=np.int64, count=n * wide).reshape(wide, n)
        floats = np.frombuffer(raw, dtype=np.float64, offset=numbers.nbytes).reshape(-1, n)
        return cls(
            np.ascontiguousarray(numbers.T),
            np.ascontiguousarray(floats.T),
            {name: tuple(some) for name, some in told["words"].items()},
            np.full(n, None, dtype=np.object_),
        )


class LazyLines(Sequence[DueLine]):
    """Some lines in some order; a record is made when it is asked for."""

    def __init__(self, columns: LineColumns, rows: Numbers) -> None:
        self._columns, self._rows = columns, rows

    def __len__(self) -> int:
        return int(self._rows.size)

    @overload
    def __getitem__(self, place: int) -> DueLine: ...

    @overload
    def __getitem__(self, place: slice) -> "LazyLines": ...

    def __getitem__(self, place: int | slice) -> "DueLine | LazyLines":
        if isinstance(place, slice):
            return LazyLines(self._columns, self._rows[place])
        at = range(len(self))[place]
        return self._columns.records(self._rows[at : at + 1])[0]

    def __iter__(self) -> Iterator[DueLine]:
        for begin in range(0, len(self), BLOCK_LINES):
            yield from self._columns.records(self._rows[begin : begin + BLOCK_LINES])

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and len(self) == len(other) and all(map(_are_equal, self, other))

    def __hash__(self) -> int:
        return hash(tuple(self))


class LazyVisits(Sequence[VisitGroup]):
    """Visits of the lines that are due until a day, by date and vehicle; made when asked for."""

    def __init__(self, columns: LineColumns, until: int) -> None:
        self._columns, self._until = columns, until

    @cached_property
    def _places(self) -> tuple[Numbers, Numbers, Numbers]:
        """Rows of the lines; where in them each visit begins and ends."""
        columns = self._columns
        rows = np.flatnonzero(columns.due_on <= self._until)
        whose = columns.numbers[rows][:, [_VEHICLE, _GROUP]]
        is_first = np.ones(rows.size, dtype=np.bool_)
        is_first[1:] = (whose[1:] != whose[:-1]).any(axis=1)
        begin = np.flatnonzero(is_first)
        end = np.append(begin[1:], rows.size)[: begin.size]
        first = columns.numbers[rows[begin]]
        order = np.lexsort((first[:, _VEHICLE], first[:, _GROUP_ON]))
        return rows, begin[order], end[order]

    def __len__(self) -> int:
        return int(self._places[1].size)

    @overload
    def __getitem__(self, place: int) -> VisitGroup: ...

    @overload
    def __getitem__(self, place: slice) -> tuple[VisitGroup, ...]: ...

    def __getitem__(self, place: int | slice) -> VisitGroup | tuple[VisitGroup, ...]:
        if isinstance(place, slice):
            return tuple(self[n] for n in range(len(self))[place])
        rows, begin, end = self._places
        inside = self._columns.records(rows[begin[place] : end[place]])
        first = inside[0]
        on = first.group_on or first.due_on
        return VisitGroup(first.group, first.vehicle_id, first.tag, first.depot, on, tuple(inside))

    def __iter__(self) -> Iterator[VisitGroup]:
        # All at once: one by one takes ten times as long.
        self._columns.records(self._places[0])
        return (self[n] for n in range(len(self)))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and len(self) == len(other) and all(map(_are_equal, self, other))

    def __hash__(self) -> int:
        return hash(tuple(self))


def _are_equal(one: object, other: object) -> bool:
    return one == other


def joined(blocks: Sequence[LineColumns]) -> LineColumns:
    """Return the lines of all blocks, which are those of different vehicles."""
    words: dict[str, tuple[str, ...]] = {}
    for field in _WORDS:
        lists = {one.words[field.path] for one in blocks}
        largest = max(lists, key=len)
        every = set().union(*lists)
        words[field.path] = largest if len(every) == len(largest) else tuple(sorted(every))
    alike = [one if one.words == words else one.in_words(words) for one in blocks]
    return LineColumns(
        np.concatenate([one.numbers for one in alike]),
        np.concatenate([one.floats for one in alike]),
        words,
        np.concatenate([one.made for one in alike]),
    )
