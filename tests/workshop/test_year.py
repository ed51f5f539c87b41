"""Six weeks of the workshop with four vehicles: plan, visits, sheets and shelves fit together."""

from datetime import timedelta
from itertools import pairwise

import pytest

from sample_fleet.generate import SEED
from sample_fleet.laws import ChainWear, SprocketWear
from sample_fleet.roads import AS_OF
from sample_fleet.roster import ROSTER
from sample_fleet.vehicle import VehicleState
from tests.benchmarks.year.living import ON_SHELF, Year, begin, end, live_week
from tests.benchmarks.year.world import World
from wearlog.fleet.fitting import Installation
from wearlog.fleet.service import Task, Visit
from wearlog.fleet.stock import StockLine, StockMove, StockMoveKind
from wearlog.planning.scheduling import VisitPolicy
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.plan_visits import plan_visits

#: A motorcycle with two chain stages, one with a belt, a bicycle, one that counts hours.
FEW = ("LR-009", "LR-006", "LB-01", "LT-07")
PLANS = tuple(plan for plan in ROSTER if plan.tag in FEW)
TWO = tuple(plan for plan in PLANS if plan.tag in ("LR-009", "LT-07"))
WEEKS = 6


@pytest.fixture(scope="module", params=list(VisitPolicy), ids=lambda policy: policy.name)
def year(request, tmp_path_factory):
    """Six weeks under one policy."""
    made = begin(tmp_path_factory.mktemp("year"), request.param, plans=PLANS)
    for _week in range(WEEKS):
        live_week(made, seconds=1.0)
    end(made)
    yield made
    made.bench.database.close()


def visits_since(year: Year) -> list[Visit]:
    with year.bench.database.reading() as records:
        return [visit for visit in records.all(Visit, live=True) if visit.on >= AS_OF]


def test_a_week_of_road_is_the_sum_of_its_days(year: Year) -> None:
    last = AS_OF + timedelta(weeks=WEEKS)
    ridden = sum(
        ahead.km
        for by_day in year.world.ahead.values()
        for day, ahead in by_day.items()
        if year.world.begin_day < day <= last
    )
    on_meters = sum(
        vehicle.total_km - year.world.begin_km[tag] for tag, vehicle in year.world.vehicles.items()
    )
    assert year.ledger.km == pytest.approx(ridden) == pytest.approx(on_meters)
    assert year.ledger.km > 1000.0


def test_the_distance_on_successive_parts_is_the_distance_of_the_vehicle(year: Year) -> None:
    state = fleet_state(year.bench)
    for stage in state.stages.values():
        fitted = sorted(state.installed_on.get(stage.id, ()), key=lambda one: (one.fitted_on, one.id))
        for position in {one.position for one in fitted}:
            here = [one for one in fitted if one.position is position]
            for before, after in pairwise(here):
                assert before.removed_use == pytest.approx(after.fitted_use, abs=2.0)


def test_every_part_fitted_came_off_the_shelf(year: Year) -> None:
    with year.bench.database.reading() as records:
        fitted = [one for one in records.all(Installation, live=True) if one.fitted_on >= AS_OF]
        used = [one for one in records.all(StockMove, live=True) if one.kind is StockMoveKind.USED]
        shelves = records.all(StockLine)
    assert len(fitted) == -sum(move.count for move in used) == year.ledger.replacements > 0
    assert {one.id for one in fitted} == {move.installation_id for move in used}
    state = fleet_state(year.bench)
    prices = sum(state.part_type_of(one).price or 0.0 for one in fitted)
    assert year.ledger.bought == pytest.approx(prices)
    taken = sum(ON_SHELF + _at_first(year, line) - line.on_hand for line in shelves)
    assert taken == len(fitted)


def _at_first(year: Year, line: StockLine) -> int:
    name = fleet_state(year.bench).part_types[line.part_type_id].name
    rows = year.world.books.records["stock"]
    return sum(int(row["on hand"]) for row in rows if (row["part type"], row["depot"]) == (name, line.depot))


def test_every_visit_is_in_the_database_with_its_meter(year: Year) -> None:
    kept = visits_since(year)
    assert len({(visit.vehicle_id, visit.on) for visit in kept}) == year.ledger.visits > 0
    parts = sum(done.task is Task.PART_FITTED for visit in kept for done in visit.tasks)
    assert parts == year.ledger.replacements
    state = fleet_state(year.bench)
    for tag, vehicle in year.world.vehicles.items():
        own = [visit for visit in kept if state.vehicles[visit.vehicle_id].tag == tag]
        if own:
            since = vehicle.use(vehicle.total_km - year.world.begin_km[tag])
            assert 0.0 <= own[-1].total_use - min(visit.total_use for visit in own) <= since + 2.0


def test_what_runs_in_the_true_fleet_is_what_the_database_says(year: Year) -> None:
    state = fleet_state(year.bench)
    for tag, vehicle in year.world.vehicles.items():
        kept = {
            (state.stages[one.stage_id].name, one.position.value): one
            for stage in state.stages_of[state.vehicle_tagged(tag).id]
            for one in state.current_on(stage.id)
        }
        for stage in vehicle.stages:
            for position, part in stage.parts.items():
                one = kept[stage.set_up.stage, position]
                assert (state.part_type_of(one).name, one.fitted_on) == (part.part_type.name, part.fitted_on)


def test_the_true_fleet_begins_as_the_truth_of_the_sample_says() -> None:
    world = World.after_records(SEED, 1, PLANS)
    rows = {
        (row["vehicle"], row["stage"], row["position"], row["fitted on"]): row
        for row in world.books.truth["installations"]
    }
    for vehicle in world.vehicles.values():
        for stage in vehicle.stages:
            for part in stage.parts.values():
                key = (vehicle.plan.tag, stage.set_up.stage, part.position, part.row["fitted on"])
                assert part.wear.share == pytest.approx(float(rows[key]["share now"]), abs=1e-4)


def worn_out(vehicle: VehicleState) -> None:
    """Let everything be at its end in truth, though nobody has seen it."""
    for stage in vehicle.stages:
        for part in stage.parts.values():
            if isinstance(part.wear, ChainWear):
                part.wear.worn += 2.0 * part.wear.law.limit
            elif isinstance(part.wear, SprocketWear):
                part.wear.share = 2.0


@pytest.mark.parametrize("policy", list(VisitPolicy))
def test_no_plan_knows_what_was_not_read(policy: VisitPolicy, tmp_path) -> None:
    plans = []
    for name, spoil in (("as it is", False), ("worn out", True)):
        year = begin(tmp_path / name, policy, plans=PLANS)
        if spoil:
            for vehicle in year.world.vehicles.values():
                worn_out(vehicle)
        year.world.ride_until(AS_OF)
        plans.append(plan_visits(year.bench, 4, policy, seconds=5.0).stops)
        year.bench.database.close()
    assert plans[0] == plans[1]
    assert plans[0]


def test_a_year_can_be_lived_again(tmp_path) -> None:
    found = []
    for name in ("once", "again"):
        year = begin(tmp_path / name, VisitPolicy.AS_LISTED, plans=TWO)
        live_week(year, seconds=1.0)
        end(year)
        found.append((year.ledger.km, year.ledger.visits, year.ledger.minutes, year.ledger.worn))
        year.bench.database.close()
    assert found[0] == found[1]
