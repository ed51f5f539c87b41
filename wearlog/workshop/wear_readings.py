"""The fleet's readings on the forecast's scale: one table of a family, and the records behind it."""

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearlog.fleet.fitting import Installation, RemovalReason
from wearlog.fleet.parts import PartKind
from wearlog.fleet.reading import Measurand
from wearlog.forecast.readings import ReadingTable, worn_out_reading
from wearlog.store.columns import MEASURANDS, ReadingColumns
from wearlog.workshop.fleet_state import FleetState
from wearlog.workshop.wear_items import WearItem

#: A part that came off worn out and was read within this of it needs no reading to stand for it, [scaled].
READ_AT_REMOVAL = 0.1
#: Standard uncertainty of a reading that states none, share of the allowance; assumption.
UNSTATED_UNCERTAINTY = 0.01

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class WearReadings:
    """Readings of the n parts of a family.

    Attributes
    ----------
    table
        On the forecast's scale; `table.row` leads into the other two.
    ids, days
        Number of the record behind each row and its ordinal day; 0 for a reading that stands for
        "came off worn out".
    """

    table: ReadingTable
    ids: Ints
    days: Ints

    def of(self, row: int) -> list[tuple[int, int]]:
        """Return number and ordinal day of the readings of one part, in the order of the table."""
        rows = self.table.row[row, : self.table.count[row]]
        return [(int(self.ids[r]), int(self.days[r])) for r in rows]


@dataclass(frozen=True, slots=True)
class _Rows:
    """Columns of readings, one entry each."""

    part: Ints
    x: Floats
    r: Floats
    y: Floats
    lo: Floats
    hi: Floats
    id: Ints
    day: Ints

    def kept(self, is_kept: NDArray[np.bool_]) -> "_Rows":
        """Return some of the rows."""
        return _Rows(*(getattr(self, name)[is_kept] for name in self.__slots__))

    def and_also(self, other: "_Rows") -> "_Rows":
        """Return the rows of both."""
        return _Rows(
            *(np.concatenate([getattr(self, name), getattr(other, name)]) for name in self.__slots__)
        )


def wear_readings(
    measurand: Measurand, items: list[WearItem], state: FleetState, columns: ReadingColumns
) -> WearReadings:
    """Return the readings of some parts from the columns of the whole fleet.

    Parameters
    ----------
    measurand
        What was measured.
    items
        The n parts, in the order wanted.
    state
        The fleet.
    columns
        All readings that count.
    """
    x_start, is_unknown = _starts(items, state)
    rows = _matched(measurand, items, columns)
    rows = rows.and_also(_worn_out(items, rows, state))
    table = ReadingTable.from_columns(
        len(items),
        rows.part,
        np.maximum(rows.x, x_start[rows.part]),
        rows.r,
        rows.y,
        rows.lo,
        rows.hi,
        x_start,
        is_unknown,
    )
    return WearReadings(table, rows.id, rows.day)


def _matched(measurand: Measurand, items: list[WearItem], columns: ReadingColumns) -> _Rows:
    is_wanted = columns.measurand == MEASURANDS.index(measurand)
    installation, total = columns.installation_id[is_wanted], columns.total_use[is_wanted]
    part = np.full(total.size, -1, dtype=np.int64)
    x, as_new, span = (np.ones(total.size) for _ in range(3))
    rows_of: dict[int, list[int]] = defaultdict(list)
    for row, item in enumerate(items):
        for installation_id in item.offsets:
            rows_of[installation_id].append(row)
    order = np.argsort(installation, kind="stable")
    numbers, first = np.unique(installation[order], return_index=True)
    ends = np.append(first[1:], order.size)
    for number, start, end in zip(numbers.tolist(), first, ends[: numbers.size], strict=True):
        here = order[start:end]
        for row in rows_of.get(number, ()):
            item = items[row]
            chosen = here[item.has_at(total[here])]
            part[chosen] = row
            x[chosen] = item.x_of(total[chosen] + item.offsets[number])
            as_new[chosen], span[chosen] = item.as_new, item.span
    value, low, high = (
        (column[is_wanted] - as_new) / span for column in (columns.value, columns.low, columns.high)
    )
    is_point = ~np.isnan(value)
    lo, hi = np.minimum(low, high), np.maximum(low, high)
    r = np.abs(columns.u_value[is_wanted] / span)
    rows = _Rows(
        part,
        x,
        np.where(r > 0.0, r, UNSTATED_UNCERTAINTY),
        value,
        np.where(is_point, np.nan, lo),
        np.where(is_point, np.nan, hi),
        columns.id[is_wanted],
        columns.day[is_wanted],
    )
    says_something = is_point | ((lo < hi) & (np.isfinite(lo) | np.isfinite(hi)))
    return rows.kept((part >= 0) & says_something)


def _starts(items: list[WearItem], state: FleetState) -> tuple[Floats, NDArray[np.bool_]]:
    """Return the distance already on each part, and whose history nobody knows."""
    x_start, is_unknown = np.zeros(len(items)), np.zeros(len(items), dtype=np.bool_)
    for row, item in enumerate(items):
        part = state.parts[item.installation.part_id]
        if item.since_use is None:
            is_unknown[row] = not part.is_history_known
            x_start[row] = float(item.x_of(part.use_before)) if part.is_history_known else 0.0
    return x_start, is_unknown


def came_off_with_its_chain(state: FleetState, installation: Installation) -> bool:
    """Return whether a sprocket came off on the day on which a worn chain did, as a set.

    "Worn" is then the chain's; of the sprocket nobody found that it had reached its limit.
    """
    if installation.removed_on is None or state.part_type_of(installation).kind is not PartKind.SPROCKET:
        return False
    return any(
        other.removed_on == installation.removed_on
        and other.removal_reason is RemovalReason.WORN
        and state.part_type_of(other).kind is PartKind.CHAIN
        for other in state.installed_on.get(installation.stage_id, ())
    )


def _worn_out(items: list[WearItem], rows: _Rows, state: FleetState) -> _Rows:
    """Return a reading for each part that came off worn out without being read, its set apart."""
    lo, hi, r = worn_out_reading()
    last = np.full(len(items), -np.inf)
    np.maximum.at(last, rows.part, rows.x)
    found = []
    for row, item in enumerate(items):
        removed = item.installation.removed_use
        is_worn = item.installation.removal_reason is RemovalReason.WORN and item.since_use is None
        if not is_worn or removed is None or last[row] >= item.x_at(removed) - READ_AT_REMOVAL:
            continue
        if not came_off_with_its_chain(state, item.installation):
            found.append((row, item.x_at(removed), lo * item.own_limit))
    n = len(found)
    return _Rows(
        part=np.array([row for row, _x, _lo in found], dtype=np.int64),
        x=np.array([x for _row, x, _lo in found]),
        r=np.full(n, r),
        y=np.full(n, np.nan),
        lo=np.array([low for _row, _x, low in found]),
        hi=np.full(n, hi),
        id=np.zeros(n, dtype=np.int64),
        day=np.zeros(n, dtype=np.int64),
    )
