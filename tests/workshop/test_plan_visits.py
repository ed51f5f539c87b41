"""The due list put into visits on the sample fleet: room, opening days, what early and late cost."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from tests.makers.bench import SAMPLE_DAY
from wearlog.fleet.planned import PlannedState, PlannedVisit
from wearlog.fleet.problem import WearlogError
from wearlog.planning.scheduling import VisitPolicy
from wearlog.store.database import Database
from wearlog.workshop.bench import Bench, FixedClock
from wearlog.workshop.due import due_snapshot
from wearlog.workshop.due_snapshot import Action
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.plan_moves import move_stop
from wearlog.workshop.plan_snapshot import DepotHours, PlanTerms
from wearlog.workshop.plan_terms import agree_plan_terms, plan_terms
from wearlog.workshop.plan_visits import compare_plans, plan_visits, planned_items

WEEKS, FEW_WEEKS = 4, 2
#: Enough for the solver to find its way, not for the proof, [s].
SECONDS = 0.3


@pytest.fixture(scope="module")
def sample(sample_file, tmp_path_factory):
    """A bench on a copy of the sample fleet, shared by the tests of this file that only look."""
    copy = tmp_path_factory.mktemp("plan") / "sample.sqlite"
    copy.write_bytes(sample_file.read_bytes())
    clock = FixedClock(SAMPLE_DAY)
    database = Database.open(copy, now=clock.now())
    yield Bench(database, "Tilda", clock)
    database.close()


@pytest.fixture(scope="module")
def plans(sample):
    return {plan.policy: plan for plan in compare_plans(sample, WEEKS, seconds=SECONDS)}


@pytest.fixture
def changed(sample_file, tmp_path):
    """A bench on a copy of its own."""
    copy = tmp_path / "sample.sqlite"
    copy.write_bytes(sample_file.read_bytes())
    clock = FixedClock(SAMPLE_DAY)
    database = Database.open(copy, now=clock.now())
    yield Bench(database, "Tilda", clock)
    database.close()


def test_every_line_that_is_due_is_in_the_plan_once(sample, plans):
    due = sorted(line.key for line in due_snapshot(sample, 7 * WEEKS - 1).lines)
    for plan in plans.values():
        assert sorted([work.line.key for work in plan.works] + [line.key for line in plan.unplaced]) == due


def test_no_day_takes_more_than_its_bays_and_nothing_is_done_when_closed(plans):
    for plan in plans.values():
        for load in plan.loads:
            assert load.used_minutes <= load.bay_minutes
        assert all(stop.on.weekday() < 5 for stop in plan.stops)
        assert sum(stop.minutes for stop in plan.stops) == sum(load.used_minutes for load in plan.loads)


def test_the_least_cost_is_least_and_the_fewest_visits_are_fewest(plans):
    total = {policy: plan.cost.total for policy, plan in plans.items()}
    visits = {policy: len(plan.stops) for policy, plan in plans.items()}
    assert total[VisitPolicy.LEAST_COST] <= 1.05 * min(total.values())
    assert visits[VisitPolicy.FEWEST_VISITS] <= 1.1 * min(visits.values())
    assert visits[VisitPolicy.AS_LISTED] > visits[VisitPolicy.FEWEST_VISITS]


def test_as_listed_does_the_visits_of_the_list_in_good_time(plans):
    plan = plans[VisitPolicy.AS_LISTED]
    groups = {(work.line.vehicle_id, work.line.group): stop.on for stop in plan.stops for work in stop.works}
    for stop in plan.stops:
        for work in stop.works:
            assert groups[work.line.vehicle_id, work.line.group] == stop.on
            if work.line.due_on >= SAMPLE_DAY + timedelta(days=7):
                assert not work.is_late


def test_replacing_later_gives_less_away_and_risks_more(plans):
    plan = plans[VisitPolicy.FEWEST_VISITS]
    works = [
        work for work in plan.works if work.line.action is Action.REPLACE and work.unused_use is not None
    ]
    assert works
    for work in works:
        assert 0.0 <= work.unused_share <= 1.0
        assert 0.0 <= work.past_chance <= 1.0
        # On its due date a part is past its limit with the caution level's chance.
        if work.days_early > 0 and work.line.due_on > SAMPLE_DAY:
            assert work.past_chance <= 0.1 + 0.01


def test_a_visit_moved_by_hand_takes_its_work_along_and_its_cost(sample, plans):
    plan = plans[VisitPolicy.AS_LISTED]
    stop = next(stop for stop in plan.stops if any(work.unused_use for work in stop.works))
    to = stop.on + timedelta(days=7 if stop.on < SAMPLE_DAY + timedelta(days=7) else -7)
    moved = move_stop(sample, plan, stop, to)
    days = {work.line.key: one.on for one in moved.stops for work in one.works}
    assert {days.pop(work.line.key) for work in stop.works} == {to}
    assert days == {work.line.key: one.on for one in plan.stops if one is not stop for work in one.works}
    before = {work.line.key: work for work in plan.works}
    for work in moved.works:
        if work.line.key in {own.line.key for own in stop.works} and work.unused_use is not None:
            # A week earlier more life is given away, a week later less.
            assert (work.unused_use - before[work.line.key].unused_use) * (stop.on - to).days >= 0.0
    assert move_stop(
        sample, moved, next(one for one in moved.stops if one.on == to and one.tag == stop.tag), stop.on
    )
    with pytest.raises(WearlogError, match="closed"):
        move_stop(sample, plan, stop, SAMPLE_DAY + timedelta(days=5))
    with pytest.raises(WearlogError, match="outside"):
        move_stop(sample, plan, stop, SAMPLE_DAY + timedelta(days=70))


def test_a_visit_that_is_booked_keeps_its_day(changed):
    plan = plan_visits(changed, FEW_WEEKS, VisitPolicy.FEWEST_VISITS, seconds=SECONDS)
    stop = plan.stops[0]
    day = SAMPLE_DAY + timedelta(days=9)
    with changed.database.writing(by="Tilda", at=changed.now(), what="Booked") as records:
        records.add(
            PlannedVisit(
                number="V-0001",
                vehicle_id=stop.vehicle_id,
                depot=stop.depot,
                on=day,
                state=PlannedState.BOOKED,
                items=planned_items(fleet_state(changed), stop),
            )
        )
    for policy in VisitPolicy:
        again = plan_visits(changed, FEW_WEEKS, policy, seconds=SECONDS)
        kept = {work.line.key: one.on for one in again.stops for work in one.works}
        assert {kept[work.line.key] for work in stop.works} == {day}


def test_opening_days_bay_time_and_costs_are_kept_and_used(changed):
    depot = due_snapshot(changed).depots[0]
    terms = PlanTerms(
        hours={depot: DepotHours((1, 3), 480)},
        closed_on=(date(2026, 11, 26),),
        labour_per_hour=60.0,
    )
    agree_plan_terms(changed, terms)
    assert plan_terms(changed) == terms
    plan = plan_visits(changed, FEW_WEEKS, VisitPolicy.FEWEST_VISITS, seconds=SECONDS)
    own = [stop.on for stop in plan.stops if stop.depot == depot]
    assert own
    assert {day.weekday() for day in own} <= {1, 3}
    assert date(2026, 11, 26) not in {stop.on for stop in plan.stops}
    with pytest.raises(WearlogError, match="out of range"):
        agree_plan_terms(changed, replace(terms, visit_minutes=-1))


def test_what_does_not_fit_into_the_bays_is_said(changed):
    agree_plan_terms(changed, PlanTerms(usual_hours=DepotHours((0,), 60)))
    plan = plan_visits(changed, 1, VisitPolicy.LEAST_COST, seconds=SECONDS)
    assert plan.unplaced
    assert all(load.used_minutes <= load.bay_minutes for load in plan.loads)


def test_a_fleet_without_work_has_an_empty_plan(bench):
    plan = plan_visits(bench)
    assert (plan.stops, plan.unplaced, plan.cost.total) == ((), (), 0.0)
