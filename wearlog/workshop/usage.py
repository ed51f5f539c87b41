"""The use of every vehicle, worked out from all meter entries; after a change only of those concerned.

What the fleet's entries say of season and of vehicles in general is kept like a fit and found anew when one
entry in a hundred is new: else every saved sheet would move every date a little.
"""

import json
from collections.abc import Collection
from dataclasses import asdict, dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from wearlog.fleet.meter import MeterEvent
from wearlog.fleet.vehicle import MeterUnit
from wearlog.forecast.season import OperationalDays, season_factors
from wearlog.forecast.usage import (
    NEW_SHOP_HOURS,
    NEW_SHOP_KM,
    MeterIntervals,
    Usage,
    UsagePrior,
    fit_usage_prior,
)
from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.vehicle_use import EARLY_LIKELY_LATE, VehicleUse

__all__ = ["EARLY_LIKELY_LATE", "VehicleUse", "vehicle_uses"]

#: Season and prior are found anew when this share of the entries has changed.
REFIT_SHARE = 0.01

_NEW_SHOP = {"km": NEW_SHOP_KM, "h": NEW_SHOP_HOURS}


@dataclass(frozen=True, slots=True)
class _FleetUse:
    """What the fleet's meter entries of one use unit say, and how many they were."""

    factors: tuple[float, ...]
    prior: UsagePrior
    entries: int

    def to_text(self) -> str:
        """Return it as JSON text, to be kept."""
        return json.dumps({"factors": self.factors, "prior": asdict(self.prior), "entries": self.entries})

    @classmethod
    def from_text(cls, text: str) -> "_FleetUse":
        """Return a kept one."""
        told = json.loads(text)
        return cls(tuple(told["factors"]), UsagePrior(**told["prior"]), told["entries"])

    def still_counts(self, entries: int) -> bool:
        """Whether hardly any entries came since."""
        return abs(entries - self.entries) <= REFIT_SHARE * max(self.entries, 1)


@dataclass(frozen=True, slots=True)
class _Uses:
    data_version: int
    by_vehicle: dict[int, VehicleUse]
    fleet: dict[str, _FleetUse]


def vehicle_uses(bench: Bench) -> dict[int, VehicleUse]:
    """Return the use of every vehicle; worked out again only if something changed."""
    state = fleet_state(bench)
    mark = (state.data_version, bench.today())
    known = bench.remembered.get("uses")
    before = known[1] if known is not None and isinstance(known[1], _Uses) else None
    if known is not None and before is not None and known[0] == mark:
        return before.by_vehicle
    uses = None
    if before is not None and known is not None and (known[0] == mark or not state.lay_ups):
        uses = _with_changes(bench, state, before)
    if uses is None:
        uses = _uses(bench, state, before)
    bench.remembered["uses"] = (mark, uses)
    return uses.by_vehicle


def _with_changes(bench: Bench, state: FleetState, before: _Uses) -> _Uses | None:
    """Return the uses with those of changed vehicles worked out again; None if the fleet says else now."""
    changed = state.changed_since(before.data_version)
    if changed is None:
        return None
    entries = _entries(state)
    if any(not kept.still_counts(entries[unit]) for unit, kept in before.fleet.items()):
        return None
    found = dict(before.by_vehicle)
    for unit, kept in before.fleet.items():
        vehicles = [
            number
            for number in sorted(changed)
            if number in state.vehicles and state.vehicles[number].meter_unit.use_unit == unit
        ]
        told = _MeterTold.of_some(state, vehicles, bench.today())
        found |= _uses_of(told, kept)
    return _Uses(state.data_version, found, before.fleet)


def _uses(bench: Bench, state: FleetState, before: _Uses | None) -> _Uses:
    entries = _entries(state)
    units = dict(zip(state.vehicles, state.vehicles.column("meter_unit"), strict=True))
    found: dict[int, VehicleUse] = {}
    fleet: dict[str, _FleetUse] = {}
    fresh: dict[str, str] = {}
    whole = _Columns.of(state)
    for unit, new_shop in _NEW_SHOP.items():
        vehicles = [number for number, one in units.items() if MeterUnit(one).use_unit == unit]
        told = _MeterTold.of_all(state, vehicles, whole, bench.today())
        kept = before.fleet.get(unit) if before is not None else _stored(bench, unit)
        if kept is None or not kept.still_counts(entries[unit]):
            kept = told.fleet(new_shop, entries[unit])
            fresh[unit] = kept.to_text()
        fleet[unit] = kept
        found |= _uses_of(told, kept)
    if fresh:
        with bench.database.writing(by=bench.by, at=bench.now(), what="Forecast") as records:
            for unit, text in fresh.items():
                records.store_fit(f"use|{unit}", text, state.data_version)
    return _Uses(state.data_version, found, fleet)


def _stored(bench: Bench, unit: str) -> _FleetUse | None:
    with bench.database.reading() as records:
        stored = records.stored_fit(f"use|{unit}")
    return None if stored is None else _FleetUse.from_text(stored[0])


def _entries(state: FleetState) -> dict[str, int]:
    """Return how many meter entries there are on vehicles of each use unit."""
    units = dict(zip(state.vehicles, state.vehicles.column("meter_unit"), strict=True))
    by_meter = dict.fromkeys(map(str, MeterUnit), 0)
    for vehicle_id, number in state.entries_of.counts():
        by_meter[units[vehicle_id]] += number
    return {unit: sum(by_meter[meter] for meter in MeterUnit if meter.use_unit == unit) for unit in _NEW_SHOP}


@dataclass(frozen=True, slots=True)
class _Columns:
    """All meter entries as arrays, in the order of vehicle, day and number; vehicles with a changed meter."""

    vehicle: NDArray[np.int64]
    day: NDArray[np.int64]
    value: NDArray[np.float64]
    special: frozenset[int]

    @classmethod
    def of(cls, state: FleetState) -> "_Columns":
        of, on, events = (state.entries.column(name) for name in ("vehicle_id", "on", "event"))
        vehicle = np.array(of, dtype=np.int64)
        day = np.array([_ordinal(one) for one in on], dtype=np.int64)
        value = np.array(state.entries.column("value"), dtype=np.float64)
        order = np.lexsort((day, vehicle))
        read = MeterEvent.READ.value
        special = frozenset(one for one, event in zip(of, events, strict=True) if event != read)
        return cls(vehicle[order], day[order], value[order], special)


def _ordinal(day: str | date) -> int:
    return (date.fromisoformat(day) if isinstance(day, str) else day).toordinal()


@dataclass(frozen=True, slots=True)
class _MeterTold:
    """What the meters of some vehicles told: intervals between entries, where each stands, its lay-ups."""

    vehicles: list[int]
    intervals: MeterIntervals
    last: dict[int, tuple[int, float]]
    lay_ups: dict[int, tuple[tuple[int, int], ...]]

    @classmethod
    def of_all(cls, state: FleetState, vehicles: list[int], whole: _Columns, today: date) -> "_MeterTold":
        """Return what the meters of all vehicles of a use unit told."""
        special = [number for number in vehicles if number in whole.special]
        plain = np.setdiff1d(np.array(vehicles, dtype=np.int64), np.array(special, dtype=np.int64))
        rows = np.flatnonzero(np.isin(whole.vehicle, plain))
        of, day, value = whole.vehicle[rows], whole.day[rows], whole.value[rows]
        is_last = np.append(of[1:] != of[:-1], True)[: of.size]
        last = {
            number: (on, use)
            for number, on, use in zip(
                of[is_last].tolist(), day[is_last].tolist(), value[is_last].tolist(), strict=True
            )
        }
        told = cls.of_some(state, special, today)
        broken = np.zeros(of.size, dtype=np.bool_)
        own = MeterIntervals.from_entries(of, day, value, broken)
        return cls(vehicles, _joined(own, told.intervals), last | told.last, _lay_ups(state, vehicles, today))

    @classmethod
    def of_some(cls, state: FleetState, vehicles: list[int], today: date) -> "_MeterTold":
        """Return what the meters of a few vehicles told."""
        points = [(number, point) for number in vehicles for point in state.histories[number].points]
        intervals = MeterIntervals.from_entries(
            [number for number, _point in points],
            [point.on.toordinal() for _number, point in points],
            [point.total_use for _number, point in points],
            [point.is_after_gap for _number, point in points],
        )
        last = {number: (point.on.toordinal(), point.total_use) for number, point in points}
        for number in vehicles:
            last.setdefault(number, (_first_day(state, number), 0.0))
        return cls(vehicles, intervals, last, _lay_ups(state, vehicles, today))

    def fleet(self, new_shop: UsagePrior, entries: int) -> _FleetUse:
        """Return what these vehicles say of season and of vehicles in general."""
        intervals = self.intervals
        factors: tuple[float, ...] = ()
        out = None
        if len(intervals):
            clocks = {number: OperationalDays(lay_ups) for number, lay_ups in self.lay_ups.items()}
            factors = season_factors(
                intervals.vehicle, intervals.first_day, intervals.last_day, intervals.distance, clocks
            )
            out = self.operational_days(factors)
        return _FleetUse(factors, fit_usage_prior(intervals, new_shop, out), entries)

    def clock(self, vehicle_id: int, factors: tuple[float, ...]) -> OperationalDays:
        """Return the clock of a vehicle."""
        return OperationalDays(self.lay_ups.get(vehicle_id, ()), factors)

    def operational_days(self, factors: tuple[float, ...]) -> NDArray[np.float64]:
        """Return the days in use of each interval."""
        intervals = self.intervals
        out = OperationalDays((), factors).between(intervals.first_day, intervals.last_day)
        for number in self.lay_ups:
            rows = np.flatnonzero(intervals.vehicle == number)
            clock = self.clock(number, factors)
            out[rows] = clock.between(intervals.first_day[rows], intervals.last_day[rows])
        return out


def _joined(one: MeterIntervals, other: MeterIntervals) -> MeterIntervals:
    return MeterIntervals(
        *(
            np.concatenate([getattr(one, name), getattr(other, name)])
            for name in ("vehicle", "first_day", "last_day", "distance")
        )
    )


def _lay_ups(
    state: FleetState, vehicles: Collection[int], today: date
) -> dict[int, tuple[tuple[int, int], ...]]:
    """Return first day off and first day back of the lay-ups of some vehicles.

    Where nobody knows when a vehicle will be back it counts as back tomorrow, so that nothing is put off.
    """
    found: dict[int, list[tuple[int, int]]] = {}
    wanted = set(vehicles)
    for one in state.lay_ups:
        if one.vehicle_id in wanted:
            back = today.toordinal() + 1 if one.until_on is None else one.until_on.toordinal()
            if back > one.from_on.toordinal():
                found.setdefault(one.vehicle_id, []).append((one.from_on.toordinal(), back))
    return {number: tuple(sorted(days)) for number, days in found.items()}


def _uses_of(told: _MeterTold, fleet: _FleetUse) -> dict[int, VehicleUse]:
    """Return the use of each vehicle: the fleet's word and its own entries, the older the less they count."""
    prior, intervals = fleet.prior, told.intervals
    begin = 1.0 / prior.cv**2
    numbers = np.array(told.vehicles, dtype=np.int64)
    order = np.argsort(numbers)
    place = order[np.searchsorted(numbers[order], intervals.vehicle)] if numbers.size else intervals.vehicle
    ends = np.array([told.last.get(number, (1, 0.0))[0] for number in told.vehicles], dtype=np.float64)
    age = ends[place] - 0.5 * (intervals.first_day + intervals.last_day)
    weight = 0.5 ** (np.maximum(age, 0.0) / prior.half_life) / prior.clumpiness
    out = told.operational_days(fleet.factors) if len(intervals) else np.zeros(0)
    shape = begin + np.bincount(place, weight * intervals.distance, minlength=numbers.size)
    days = begin / prior.rate + np.bincount(place, weight * out, minlength=numbers.size)
    usual = OperationalDays((), fleet.factors)
    return {
        number: VehicleUse(
            Usage(own_shape, own_days, prior.clumpiness, prior.drift),
            told.clock(number, fleet.factors) if number in told.lay_ups else usual,
            *told.last.get(number, (1, 0.0)),
        )
        for number, own_shape, own_days in zip(told.vehicles, shape.tolist(), days.tolist(), strict=True)
    }


def _first_day(state: FleetState, vehicle_id: int) -> int:
    days = [
        one.fitted_on.toordinal()
        for stage in state.stages_of.get(vehicle_id, ())
        for one in state.installed_on.get(stage.id, ())
    ]
    since = state.vehicles[vehicle_id].in_service_since
    return min(days, default=since.toordinal() if since else 1)
