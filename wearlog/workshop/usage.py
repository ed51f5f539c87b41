"""How far each vehicle goes, from its own meter entries and the fleet's."""

from dataclasses import dataclass

import numpy as np

from wearlog.forecast.dates import DateDistribution, date_distribution
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
        ahead = np.array([max(day - self.last_day, 0)], dtype=np.float64)
        return self.last_use + self.usage.rate * float(self.clock.ahead(self.last_day, ahead)[0])

    def day_at(self, total_use: float) -> float:
        """Return the ordinal day on which a total use is expected, inf if it is out of sight."""
        if total_use <= self.last_use:
            return float(self.last_day)
        days = self.dates([total_use - self.last_use]).days_at([0.5])
        return float(self.last_day + days[0])

    def dates(
        self, distance_ahead: list[float] | np.ndarray[tuple[int], np.dtype[np.float64]]
    ) -> DateDistribution:
        """Return by which day equally likely distances from the last entry (km or h) will have been gone."""
        return date_distribution(distance_ahead, self.usage, self.clock, self.last_day)

    def days_to(self, total_use: float) -> tuple[float, float, float]:
        """Return the early, likely and late ordinal day of a total use."""
        days = self.dates([total_use - self.last_use]).days_at(EARLY_LIKELY_LATE)
        early, likely, late = (self.last_day + days).tolist()
        return early, likely, late


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
