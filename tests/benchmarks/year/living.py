"""A year of the workshop: every week it asks for its plan and does what the plan says for that week."""

from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path

from sample_fleet.generate import SEED
from sample_fleet.roads import AS_OF
from sample_fleet.roster import ROSTER
from sample_fleet.scenario import VehiclePlan
from sample_fleet.vehicle import KM_PER_MILE
from tests.benchmarks.year.forecasts import Foretold, Score, foretold_today, score
from tests.benchmarks.year.hands import serve
from tests.benchmarks.year.ledger import Ledger
from tests.benchmarks.year.world import World
from tests.makers.bench import empty_bench
from wearlog.exchange.csv_folder import read_import
from wearlog.fleet.meter import MeterEntry
from wearlog.planning.scheduling import VisitPolicy
from wearlog.workshop.bench import Bench, FixedClock
from wearlog.workshop.bring_in import bring_in
from wearlog.workshop.correct_meter import keep_meter
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.plan_snapshot import VisitPlan
from wearlog.workshop.plan_visits import plan_visits
from wearlog.workshop.stock import receive

#: Seed of roads, weather, new parts and reading errors of the year.
YEAR_SEED = 52
#: Weeks that a plan looks ahead.
LOOK_AHEAD_WEEKS = 8
#: Weeks between two roll calls, at which meters are read and forecasts are kept to be judged.
ROLL_CALL_WEEKS = 4
#: Of every part so many lie on the shelf: no visit waits for parts.
ON_SHELF = 99


@dataclass(slots=True)
class Year:
    """One policy's year: the program's database, the true fleet, and what came of both."""

    policy: VisitPolicy
    bench: Bench
    world: World
    foretold: list[Foretold]
    weeks: int = 0
    overdue: dict[str, int] = field(default_factory=dict)

    @property
    def ledger(self) -> Ledger:
        """What was counted from the true wear."""
        return self.world.ledger

    def score(self, kind: str) -> Score:
        """Return how the forecasts of the year did for chains or for sprockets."""
        return score(self.world, [one for one in self.foretold if one.part.part_type.kind == kind])

    def note_overdue(self, plan: VisitPlan) -> None:
        """Note how long lines have been due already."""
        lines = [*(work.line for work in plan.works), *plan.unplaced]
        due = {line.key for line in lines if line.due_on <= plan.today}
        self.overdue = {key: self.overdue.get(key, self.weeks) for key in due}
        longest = max((self.weeks - since for since in self.overdue.values()), default=0)
        self.ledger.overdue_weeks = max(self.ledger.overdue_weeks, longest)


def begin(
    folder: Path,
    policy: VisitPolicy,
    *,
    plans: tuple[VehiclePlan, ...] = ROSTER,
    fleet_seed: int = SEED,
    seed: int = YEAR_SEED,
) -> Year:
    """Return the fleet on the last day of its records, and the workshop's database with those records."""
    world = World.after_records(fleet_seed, seed, plans)
    tags = {"", *(plan.tag for plan in plans)}
    for agreed in ("interval_rules", "limits"):
        rows = world.books.records[agreed]
        rows[:] = [row for row in rows if row.get("vehicle", "") in tags]
    world.books.write(folder)
    bench = empty_bench(folder / "fleet.sqlite", AS_OF)
    bring_in(bench, read_import([folder / "csv"]))
    state = fleet_state(bench)
    for depot in sorted({vehicle.depot for vehicle in state.vehicles.values()}):
        for part_type_id in state.part_types:
            receive(bench, part_type_id, depot, ON_SHELF)
    return Year(policy, bench, world, [])


def live_week(year: Year, seconds: float) -> VisitPlan:
    """Make the plan of a Monday from what the database knows, then do the visits of that week."""
    bench, world = year.bench, year.world
    monday = AS_OF + timedelta(weeks=year.weeks)
    world.ride_until(monday)
    bench.clock = FixedClock(monday)
    if year.weeks % ROLL_CALL_WEEKS == 0:
        _read_meters(bench, world, monday)
        year.foretold += foretold_today(bench, world)
    plan = plan_visits(bench, LOOK_AHEAD_WEEKS, year.policy, seconds=seconds)
    year.note_overdue(plan)
    world.ledger.unplaced += len(plan.unplaced)
    # The sheets of a week are typed in at its end, each with its own day.
    bench.clock = FixedClock(monday + timedelta(days=6))
    for stop in plan.stops:
        if stop.on < monday + timedelta(weeks=1) and stop.tag in world.vehicles:
            serve(bench, world, stop)
            for work in stop.works:
                year.overdue.pop(work.line.key, None)
    year.weeks += 1
    return plan


def end(year: Year) -> None:
    """Let the last days be ridden, and note where every running part will be at its limit."""
    year.world.ride_until(AS_OF + timedelta(weeks=year.weeks))
    year.world.close()


def _read_meters(bench: Bench, world: World, today: date) -> None:
    state = fleet_state(bench)
    for vehicle in state.vehicles.values():
        last = state.histories[vehicle.id].last
        if vehicle.tag not in world.vehicles or (last is not None and (today - last.on).days < 14):
            continue
        true = world.vehicles[vehicle.tag]
        text = true.meter_text()
        value = float(text) * (KM_PER_MILE if true.plan.meter_unit == "mi" else 1.0)
        keep_meter(bench, MeterEntry(vehicle_id=vehicle.id, on=today, value=value, typed=text))
