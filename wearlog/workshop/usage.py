"""How far each vehicle goes, from its own meter entries and the fleet's."""

from collections.abc import Callable, Generator, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from wearlog.forecast.date_table import DateDistributions, date_distributions
from wearlog.forecast.season import ALWAYS_OUT, OperationalDays, season_factors
from wearlog.forecast.usage import (
    NEW_SHOP_HOURS,
    NEW_SHOP_KM,
    MeterIntervals,
    Usage,
    UsagePrior,
    fit_usage,
    fit_usage_prior,
)
from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_state import FleetState, fleet_state

#: Chances at the ends and the middle of an 80 % interval.
EARLY_LIKELY_LATE = (0.1, 0.5, 0.9)
#: Stands for a distance without end, of which no date is in sight, km (h).
ENDLESS = 1e12
#: Days that a clock's table begins and ends on; tables of many vehicles are then the same.
TABLE_DAYS = 1024

T = TypeVar("T")
#: Early, likely and late ordinal day.
Days = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class VehicleUse:
    """The use of one vehicle and where it stands.

    Attributes
    ----------
    usage, clock
        Its use, and its operational days.
    last_day, last_use
        Ordinal day and total use (km or h) at the last meter entry; without any entry the first fitting.
    """

    usage: Usage
    clock: OperationalDays
    last_day: int
    last_use: float

    def use_at(self, day: int) -> float:
        """Return the expected total use on a day at or after the last entry, km (h)."""
        if day <= self.last_day:
            return self.last_use
        begin = self.last_day - self.last_day % TABLE_DAYS
        gone = _gone(self.clock, begin, -(-(day - begin) // TABLE_DAYS) * TABLE_DAYS)
        return self.last_use + self.usage.rate * float(gone[day - begin] - gone[self.last_day - begin])

    def day_at(self, total_use: float) -> float:
        """Return the ordinal day on which a total use is expected, inf if it is out of sight."""
        return self.days_to(total_use)[1]

    def days_to(self, total_use: float) -> Days:
        """Return the early, likely and late ordinal day of a total use."""
        return days_to([DaysAsked(self, total_use)])[0]


@lru_cache(maxsize=256)
def _gone(clock: OperationalDays, begin: int, length: int) -> NDArray[np.float64]:
    """Return the operational days gone from a day to each of the days after it."""
    return clock.between(np.full(length + 1, begin), begin + np.arange(length + 1))


@dataclass(frozen=True, slots=True)
class DaysAsked:
    """The question by which day a vehicle will have gone to a total use, km (h)."""

    use: VehicleUse
    total_use: float


#: Work that asks for days on its way and is sent them; so the questions of many can be answered at once.
Asking = Generator[DaysAsked, Days, T]


def answered(asking: Iterable[Asking[T]], progress: Callable[[], None] | None = None) -> list[T]:
    """Return what comes out of some work, the days it asks for worked out for all of it at once.

    Parameters
    ----------
    asking
        Work that yields questions.
    progress
        Called now and then; may raise to stop.
    """
    results: dict[int, T] = {}
    waiting: list[tuple[int, Asking[T], DaysAsked]] = []
    count = 0
    for number, one in enumerate(asking):
        count += 1
        _go_on(number, one, None, waiting, results)
    while waiting:
        if progress is not None:
            progress()
        now, waiting = waiting, []
        for (number, one, _asked), days in zip(now, days_to([asked for *_, asked in now]), strict=True):
            _go_on(number, one, days, waiting, results)
    return [results[number] for number in range(count)]


def _go_on(
    number: int,
    one: Asking[T],
    days: Days | None,
    waiting: list[tuple[int, Asking[T], DaysAsked]],
    results: dict[int, T],
) -> None:
    try:
        asked = next(one) if days is None else one.send(days)
    except StopIteration as ended:
        results[number] = ended.value
    else:
        waiting.append((number, one, asked))


def days_to(asked: Sequence[DaysAsked]) -> list[Days]:
    """Return the early, likely and late ordinal day of each total use."""
    if not asked:
        return []
    ahead = np.minimum(np.array([one.total_use - one.use.last_use for one in asked]), ENDLESS)
    dates = dates_of([one.use for one in asked], ahead[:, None])
    days = dates.last_entry_day[:, None] + dates.days_at(EARLY_LIKELY_LATE)
    return [(early, likely, late) for early, likely, late in days.tolist()]


def dates_of(uses: Sequence[VehicleUse], distances_ahead: NDArray[np.float64]) -> DateDistributions:
    """Return by which day each of n vehicles will have gone its distances.

    Parameters
    ----------
    uses
        Use of n vehicles.
    distances_ahead
        Equally likely distances from the last meter entry, rising along each row, shape (n, n_distances).
    """
    return date_distributions(
        distances_ahead,
        [use.usage for use in uses],
        [use.clock for use in uses],
        [use.last_day for use in uses],
    )


def vehicle_uses(bench: Bench) -> dict[int, VehicleUse]:
    """Return the use of every vehicle; worked out again only if something changed."""
    state = fleet_state(bench)
    known = bench.remembered.get("uses")
    if known is not None and known[0] == state.data_version and isinstance(known[1], dict):
        return known[1]
    uses: dict[int, VehicleUse] = {}
    for unit, new_shop in (("km", NEW_SHOP_KM), ("h", NEW_SHOP_HOURS)):
        uses.update(_uses_of_kind(state, unit, new_shop))
    bench.remembered["uses"] = (state.data_version, uses)
    return uses


def _uses_of_kind(state: FleetState, use_unit: str, new_shop: UsagePrior) -> dict[int, VehicleUse]:
    chosen = [v.id for v in state.vehicles.values() if v.meter_unit.use_unit == use_unit]
    points = [(vehicle_id, point) for vehicle_id in chosen for point in state.histories[vehicle_id].points]
    intervals = MeterIntervals.from_entries(
        [vehicle_id for vehicle_id, _point in points],
        [point.on.toordinal() for _vehicle, point in points],
        [point.total_use for _vehicle, point in points],
        [point.is_after_gap for _vehicle, point in points],
    )
    clock = ALWAYS_OUT
    if len(intervals):
        clock = OperationalDays(
            factors=season_factors(
                intervals.vehicle, intervals.first_day, intervals.last_day, intervals.distance
            )
        )
    out = clock.between(intervals.first_day, intervals.last_day) if len(intervals) else None
    prior = fit_usage_prior(intervals, new_shop, out)
    uses = {}
    for vehicle_id in chosen:
        last = state.histories[vehicle_id].last
        own = intervals.take(intervals.vehicle == vehicle_id)
        last_day = last.on.toordinal() if last else _first_day(state, vehicle_id)
        usage = fit_usage(own, prior, last_day, clock)
        uses[vehicle_id] = VehicleUse(usage, clock, last_day, last.total_use if last else 0.0)
    return uses


def _first_day(state: FleetState, vehicle_id: int) -> int:
    days = [i.fitted_on.toordinal() for i in state.installations.values() if i.vehicle_id == vehicle_id]
    since = state.vehicles[vehicle_id].in_service_since
    return min(days, default=since.toordinal() if since else 1)
