"""The true side of the year: vehicles ride, parts wear by the generator's laws, and nobody is told."""

from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from sample_fleet.books import Books
from sample_fleet.fitted import Fitted, StageState
from sample_fleet.generate import lived
from sample_fleet.laws import (
    DUTY_FACTOR,
    WORN_CHAIN_ON_SPROCKET,
    BeltWear,
    ChainWear,
    SprocketWear,
)
from sample_fleet.roads import RECORDS_UNTIL, days, stream, weather
from sample_fleet.roster import ROSTER
from sample_fleet.scenario import VehiclePlan
from sample_fleet.vehicle import VehicleState
from tests.benchmarks.year.ledger import Ledger
from wearlog.workshop.plan_snapshot import PlanTerms

#: Roads are made for so long, so that a limit reached after the year has a date as well, [d].
ROADS_DAYS = 3 * 365


@dataclass(frozen=True, slots=True)
class Ahead:
    """What is ridden on a day, and how hard; the same whatever the workshop does."""

    km: float
    rider: float


@dataclass(slots=True)
class World:
    """The fleet as it truly is on `day`; only the hands of the workshop touch it."""

    seed: int
    books: Books
    vehicles: dict[str, VehicleState]
    wet: dict[date, float]
    ahead: dict[str, dict[date, Ahead]]
    begin_km: dict[str, float]
    begin_day: date = RECORDS_UNTIL
    day: date = RECORDS_UNTIL
    ledger: Ledger = field(default_factory=Ledger)
    terms: PlanTerms = field(default_factory=PlanTerms)
    ends: dict[int, float] = field(default_factory=dict)
    known: dict[int, Fitted] = field(default_factory=dict)
    fittings: dict[tuple[str, str, str], int] = field(default_factory=dict)

    @classmethod
    def after_records(cls, fleet_seed: int, seed: int, plans: tuple[VehiclePlan, ...] = ROSTER) -> "World":
        """Return the fleet at the end of its records, with roads of its own from there on."""
        books, states = lived(fleet_seed, plans)
        days_ahead = days(RECORDS_UNTIL + timedelta(days=1), RECORDS_UNTIL + timedelta(days=ROADS_DAYS))
        running = {one.plan.tag: one for one in states if one.retired_on is None}
        ahead: dict[str, dict[date, Ahead]] = {}
        for tag, vehicle in running.items():
            vehicle.misread, vehicle.waits_for_parts, vehicle.books = "", False, Books()
            vehicle.riding.rng = stream(seed, tag, "riding")
            ahead[tag] = {day: Ahead(vehicle.riding.km_on(day), vehicle.riding.rider) for day in days_ahead}
        return cls(
            seed=seed,
            books=books,
            vehicles=running,
            wet=weather(seed, days_ahead[0], days_ahead[-1]),
            ahead=ahead,
            begin_km={tag: vehicle.total_km for tag, vehicle in running.items()},
        )

    def ride_until(self, day: date) -> None:
        """Live through the roads of every day up to the morning of a day."""
        while self.day < day:
            self.day += timedelta(days=1)
            for vehicle in self.vehicles.values():
                self._ride(vehicle)

    def _ride(self, vehicle: VehicleState) -> None:
        ahead = self.ahead[vehicle.plan.tag][self.day]
        if ahead.km <= 0.0:
            return
        vehicle.total_km += ahead.km
        self.ledger.km += ahead.km
        factor = DUTY_FACTOR[vehicle.plan.duty] * ahead.rider
        for stage in vehicle.stages:
            # A stream for each day: what one policy renews does not shift the chances of another day.
            rng = stream(self.seed, vehicle.plan.tag, stage.set_up.stage, self.day.isoformat())
            before = {name: part.wear.share for name, part in stage.parts.items()}
            stage.ride(ahead.km, self.wet[self.day], factor, rng)
            self._count(stage, before, ahead.km)

    def _count(self, stage: StageState, before: dict[str, float], km: float) -> None:
        ledger = self.ledger
        chain_share = before["run"] if stage.chain is not None else 0.0
        for name, part in stage.parts.items():
            was, now, price = before[name], part.wear.share, part.part_type.price
            late = 0.0
            if isinstance(part.wear, SprocketWear) and chain_share > 1.0:
                more = WORN_CHAIN_ON_SPROCKET * (min(chain_share, 1.5) ** 2 - 1.0)
                late = price * (now - was) * more / (1.0 + WORN_CHAIN_ON_SPROCKET + more)
            worn = price * (min(now, 1.0) - min(was, 1.0))
            ledger.late_sprockets += min(late, worn)
            ledger.worn += worn - min(late, worn)
            if now < 1.0:
                continue
            ledger.parts_past.add(id(part))
            self.known[id(part)] = part
            if isinstance(part.wear, ChainWear):
                ledger.chain_past_km += km
                ledger.failures += self.terms.failures_per_past * km / (part.wear.crossing.km or part.wear.km)
            else:
                ledger.other_past_km += km

    def renew(self, vehicle: VehicleState, stage: StageState, position: str) -> None:
        """Take a part off and fit a new one of its type; every policy finds the same next part there."""
        old = stage.parts[position]
        left = max(self.end_of(vehicle, stage, old) - vehicle.total_km, 0.0)
        self.ledger.unused_km += left
        self.ledger.unused += old.part_type.price * max(1.0 - old.wear.share, 0.0)
        self.ledger.replaced_early += left > 0.0
        kind = old.part_type.kind
        self.ledger.replaced[kind] = self.ledger.replaced.get(kind, 0) + 1
        self.ledger.bought += old.part_type.price
        place = (vehicle.plan.tag, stage.set_up.stage, position)
        self.fittings[place] = self.fittings.get(place, 0) + 1
        vehicle.rng = stream(self.seed, *place, str(self.fittings[place]))
        vehicle.take_off(stage, position, self.day, "worn")
        vehicle.fit(stage, position, old.part_type.name, self.day)

    def end_of(self, vehicle: VehicleState, stage: StageState, part: Fitted) -> float:
        """Return the vehicle's total at which a part is at its limit, run on as it was if need be, [km]."""
        wear = _copied(part)
        place = (vehicle.plan.tag, stage.set_up.stage, part.position)
        at = wear.km_at_limit(stream(self.seed, *place, part.fitted_on.isoformat(), "end"))
        self.ends[id(part)] = vehicle.total_km + at - part.wear.km
        self.known[id(part)] = part
        return self.ends[id(part)]

    def close(self) -> None:
        """Note where every running part will be at its limit."""
        for vehicle in self.vehicles.values():
            for stage in vehicle.stages:
                for part in stage.parts.values():
                    self.end_of(vehicle, stage, part)

    def day_at(self, tag: str, total_km: float) -> float:
        """Return the ordinal day on which a vehicle comes to a total; inf beyond the roads that were made."""
        at = self.begin_km[tag]
        if total_km <= at:
            return RECORDS_UNTIL.toordinal() - (at - total_km) / self.vehicles[tag].plan.km_per_day
        for day, ahead in self.ahead[tag].items():
            at += ahead.km
            if at >= total_km:
                return float(day.toordinal())
        return float("inf")


def _copied(part: Fitted) -> ChainWear | SprocketWear | BeltWear:
    """Return a copy of the true state that may be run on."""
    wear = part.wear
    crossing = replace(wear.crossing)
    if isinstance(wear, ChainWear):
        return replace(wear, crossing=crossing, conditions_seen=list(wear.conditions_seen))
    return replace(wear, crossing=crossing)
