"""Visits planned under bay time, held against trying every plan."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from wearlog.planning import scheduling
from wearlog.planning.scheduling import PlanProblem, Schedule, VisitPolicy, schedule


def _problem(seed: int, n: int = 5, days: int = 4, room: float = 90.0) -> PlanProblem:
    rng = np.random.default_rng(seed)
    vehicle = np.sort(rng.integers(0, 3, size=n))
    due = rng.integers(0, days, size=n)
    at = np.arange(days)
    early, late = rng.uniform(1.0, 6.0, size=n), rng.uniform(5.0, 20.0, size=n)
    gap = at[None, :] - due[:, None]
    cost = np.where(gap <= 0, -gap * early[:, None], gap * late[:, None])
    capacity = np.full((1, days), room)
    capacity[0, int(rng.integers(0, days))] = 0.0
    return PlanProblem(
        days=np.arange(100, 100 + days),
        vehicle=vehicle,
        group=vehicle,
        due_day=100 + due,
        minutes=rng.choice([10.0, 20.0, 30.0], size=n),
        cost=cost,
        depot=np.zeros(3, dtype=np.int64),
        capacity=capacity,
        visit_minutes=15.0,
        visit_cost=12.0,
    )


def _every_plan(problem: PlanProblem):
    for columns in product(range(problem.days.size), repeat=len(problem)):
        plan = Schedule(np.array(columns), 0.0)
        if (plan.used_minutes(problem) <= problem.capacity + 1e-9).all():
            yield plan


def _late(problem: PlanProblem, plan: Schedule) -> int:
    """Return how much is late; what is overdue on the first day has some days of grace."""
    return int((problem.days_late()[np.arange(len(problem)), plan.column] > 0.0).sum())


@pytest.mark.parametrize("seed", range(8))
def test_no_plan_costs_less_than_the_least_cost_plan(seed):
    problem = _problem(seed)
    plan = schedule(problem, VisitPolicy.LEAST_COST)
    best = min(one.cost(problem) for one in _every_plan(problem))
    assert (plan.used_minutes(problem) <= problem.capacity + 1e-9).all()
    assert plan.cost(problem) <= best * (1.0 + scheduling.GAP) + 1e-9


@pytest.mark.parametrize("seed", range(8))
def test_no_plan_in_good_time_has_fewer_visits_than_the_fewest(seed):
    problem = _problem(seed)
    plan = schedule(problem, VisitPolicy.FEWEST_VISITS)
    least_late = min(_late(problem, one) for one in _every_plan(problem))
    fewest = min(
        len(one.visits(problem)) for one in _every_plan(problem) if _late(problem, one) == least_late
    )
    if _late(problem, plan) == least_late:
        assert len(plan.visits(problem)) == fewest
    else:
        # A late piece of work weighs as three visits: it must have saved at least that many.
        assert fewest - len(plan.visits(problem)) >= scheduling.LATE_IN_VISITS


@pytest.mark.parametrize("seed", range(8))
def test_the_plan_made_step_by_step_keeps_to_the_room_and_comes_near(seed, monkeypatch):
    problem = _problem(seed)
    best = schedule(problem, VisitPolicy.LEAST_COST).cost(problem)
    monkeypatch.setattr(scheduling, "MOST_CHOICES", 0)
    plan = schedule(problem, VisitPolicy.LEAST_COST)
    assert (plan.used_minutes(problem) <= problem.capacity + 1e-9).all()
    if (plan.column >= 0).all():
        assert plan.cost(problem) <= 1.6 * best
        assert np.isnan(plan.gap)


def test_nothing_is_planned_on_a_closed_day():
    problem = _problem(1)
    closed = problem.capacity[0] == 0.0
    for policy in VisitPolicy:
        assert not closed[schedule(problem, policy).column].any()


def test_as_listed_keeps_the_visits_of_the_list_whole_and_in_good_time():
    problem = replace(
        _problem(2, n=4),
        vehicle=np.array([0, 0, 1, 1]),
        group=np.array([1, 1, 2, 2]),
        due_day=np.array([102, 103, 101, 102]),
        capacity=np.array([[200.0, 200.0, 0.0, 200.0]]),
    )
    assert schedule(problem, VisitPolicy.AS_LISTED).column.tolist() == [1, 1, 1, 1]


def test_a_full_day_pushes_the_second_visit_of_the_list_forward():
    problem = replace(
        _problem(2, n=2),
        vehicle=np.array([0, 1]),
        group=np.array([1, 2]),
        due_day=np.array([102, 102]),
        minutes=np.array([60.0, 60.0]),
        capacity=np.full((1, 4), 80.0),
    )
    assert schedule(problem, VisitPolicy.AS_LISTED).column.tolist() == [2, 1]


def test_what_no_day_has_room_for_is_left_out_and_said():
    problem = replace(_problem(3, n=3), minutes=np.array([20.0, 500.0, 20.0]))
    for policy in (VisitPolicy.LEAST_COST, VisitPolicy.FEWEST_VISITS):
        assert schedule(problem, policy).column.tolist().count(-1) == 1


def test_each_depot_has_its_own_bays():
    problem = replace(
        _problem(4, n=4),
        vehicle=np.array([0, 1, 2, 0]),
        depot=np.array([0, 1, 1]),
        capacity=np.array([[0.0, 300.0, 0.0, 0.0], [0.0, 0.0, 0.0, 300.0]]),
    )
    assert schedule(problem, VisitPolicy.LEAST_COST).column.tolist() == [1, 3, 3, 1]


def test_what_is_overdue_has_some_days_of_grace_and_the_rest_has_none():
    problem = replace(
        _problem(1, n=2, days=9), vehicle=np.array([0, 1]), due_day=np.array([98, 103]), cost=np.zeros((2, 9))
    )
    assert problem.days_late().tolist() == [[0.0] * 7 + [1.0, 2.0], [0.0] * 4 + [1.0, 2.0, 3.0, 4.0, 5.0]]
