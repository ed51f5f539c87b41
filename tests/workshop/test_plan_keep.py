"""A plan that is kept: numbered, replaced by the next one, taken back."""

from collections import Counter

import pytest

from wearlog.fleet.planned import PlannedState, PlannedVisit
from wearlog.fleet.problem import WearlogError
from wearlog.planning.scheduling import VisitPolicy
from wearlog.workshop.plan_keep import keep_plan
from wearlog.workshop.plan_visits import plan_visits
from wearlog.workshop.undo import undo


def kept(bench):
    with bench.database.reading() as records:
        return records.all(PlannedVisit, live=True)


def test_a_kept_plan_gives_way_to_the_next_and_comes_back_by_undo(sample):
    plan = plan_visits(sample, 2, VisitPolicy.AS_LISTED)
    keep_plan(sample, plan)
    first = kept(sample)
    assert [visit.number for visit in first] == [f"V-{n:04d}" for n in range(1, len(plan.stops) + 1)]
    assert sum(len(visit.items) for visit in first) == len(plan.works)
    again = keep_plan(sample, plan_visits(sample, 2, VisitPolicy.AS_LISTED))
    states = Counter(visit.state for visit in kept(sample))
    assert states == {PlannedState.CALLED_OFF: len(first), PlannedState.PLANNED: len(first)}
    assert len({visit.number for visit in kept(sample)}) == 2 * len(first)
    undo(sample, again)
    assert {visit.state for visit in kept(sample)} == {PlannedState.PLANNED}
    assert [visit.number for visit in kept(sample)] == [visit.number for visit in first]


def test_a_plan_without_visits_is_not_kept(bench):
    with pytest.raises(WearlogError, match="no visits"):
        keep_plan(bench, plan_visits(bench, 2))


def test_an_accepted_plan_is_booked_and_stays_when_it_is_planned_again(sample):
    plan = plan_visits(sample, 2, VisitPolicy.AS_LISTED)
    assert keep_plan(sample, plan, PlannedState.BOOKED).what == f"{len(plan.stops)} visits booked"
    again = plan_visits(sample, 2, VisitPolicy.AS_LISTED)
    assert {(stop.tag, stop.on) for stop in again.stops} >= {(stop.tag, stop.on) for stop in plan.stops}
    keep_plan(sample, again)
    assert Counter(visit.state for visit in kept(sample))[PlannedState.BOOKED] == len(plan.stops)
