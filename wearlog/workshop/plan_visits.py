"""Which vehicle comes when: the due list put into visits under bay time, opening days and costs."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from wearlog.fleet.planned import PlannedItem, PlannedState, PlannedVisit
from wearlog.fleet.progress import Progress, Silent
from wearlog.planning.scheduling import SECONDS, PlanProblem, Schedule, VisitPolicy, schedule
from wearlog.workshop.bench import Bench
from wearlog.workshop.booking import item_of, work_of
from wearlog.workshop.due import all_lines
from wearlog.workshop.due_snapshot import Action, DueLine
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.parts_ahead import REPLACED_BY, parts_ahead
from wearlog.workshop.plan_replacements import Replacement, replacements
from wearlog.workshop.plan_snapshot import DayLoad, PlanCost, PlannedStop, PlannedWork, PlanTerms, VisitPlan
from wearlog.workshop.plan_terms import plan_terms
from wearlog.workshop.plan_times import interval_days, minutes_of
from wearlog.workshop.usage import vehicle_uses
from wearlog.workshop.wear_items import USE_SCALE

#: While planning for the least cost a replacement after its due date weighs as much as so many visits, and so
#: many more for every week: the caution level is an agreement, not a price.
LATE_REPLACEMENT_IN_VISITS = 3.0
MORE_PER_WEEK = 1.0


@dataclass(frozen=True, slots=True)
class PlanBook:
    """What is planned: the lines of the due list, the problem in numbers, and what each day costs."""

    lines: tuple[DueLine, ...]
    problem: PlanProblem
    vehicles: tuple[int, ...]
    depots: tuple[str, ...]
    found: dict[str, Replacement]
    other: dict[str, np.ndarray[tuple[int, ...], np.dtype[np.float64]]]
    weeks: int
    terms: PlanTerms
    shared: "SharedCosts"


def plan_visits(
    bench: Bench,
    weeks: int = 8,
    policy: VisitPolicy = VisitPolicy.LEAST_COST,
    progress: Progress | None = None,
    *,
    seconds: float = SECONDS,
) -> VisitPlan:
    """Return a plan of visits for what is due in the coming weeks.

    Visits that are booked already keep their day and take their bay time first.

    Parameters
    ----------
    weeks
        How many weeks are looked ahead.
    policy
        As the due list says, fewest visits, or least cost.
    seconds
        Time for the solver and each depot, [s].
    """
    return _planned(bench, weeks, (policy,), progress, seconds)[0]


def compare_plans(
    bench: Bench, weeks: int = 8, progress: Progress | None = None, *, seconds: float = SECONDS
) -> tuple[VisitPlan, ...]:
    """Return the plans of all three policies for the same due list."""
    return _planned(bench, weeks, tuple(VisitPolicy), progress, seconds)


def _planned(
    bench: Bench, weeks: int, policies: Sequence[VisitPolicy], progress: Progress | None, seconds: float
) -> tuple[VisitPlan, ...]:
    told = progress or Silent()
    book = plan_book(bench, weeks, told)
    found = {policy: schedule(book.problem, policy, seconds, told) for policy in policies}
    if VisitPolicy.LEAST_COST in found:
        # In little time the way to fewest visits may have found the cheaper plan, too.
        cheapest = min(found.values(), key=lambda one: _weight(book.problem, one))
        found[VisitPolicy.LEAST_COST] = min(
            found[VisitPolicy.LEAST_COST], cheapest, key=lambda one: _weight(book.problem, one)
        )
    return tuple(plan_of(bench, book, policy, chosen) for policy, chosen in found.items())


def _weight(problem: PlanProblem, chosen: Schedule) -> tuple[int, float]:
    """Return how much work a schedule leaves out, and what the rest weighs in money."""
    placed = np.flatnonzero(chosen.column >= 0)
    penalty = 0.0 if problem.penalty is None else float(problem.penalty[placed, chosen.column[placed]].sum())
    return len(problem) - placed.size, chosen.cost(problem) + penalty


def plan_book(bench: Bench, weeks: int, progress: Progress | None = None) -> PlanBook:
    """Return what there is to plan; known again while nothing changed."""
    told = progress or Silent()
    state, terms = fleet_state(bench), plan_terms(bench)
    mark = (state.data_version, bench.today(), weeks)
    known = bench.remembered.get("plan book")
    if known is not None and known[0] == mark and isinstance(known[1], PlanBook):
        return known[1]
    made = _book(bench, state, terms, weeks, told)
    bench.remembered["plan book"] = (mark, made)
    return made


def _book(bench: Bench, state: FleetState, terms: PlanTerms, weeks: int, told: Progress) -> PlanBook:
    today = bench.today()
    days = [today + timedelta(days=n) for n in range(7 * weeks)]
    lines = tuple(line for line in all_lines(bench, told) if line.due_on <= days[-1])
    vehicles = tuple(dict.fromkeys(line.vehicle_id for line in lines))
    depots = tuple(sorted({state.vehicles[one].depot for one in vehicles}))
    place = {vehicle_id: n for n, vehicle_id in enumerate(vehicles)}
    listed = dict.fromkeys((line.vehicle_id, line.group) for line in lines)
    groups = {key: n for n, key in enumerate(listed)}
    capacity = np.array([[float(terms.minutes_on(depot, day)) for day in days] for depot in depots])
    found = replacements(bench, state, terms, lines, days)
    minutes = [minutes_of(state, line) for line in lines]
    due = np.array([max(line.due_on, today).toordinal() for line in lines], dtype=np.int64)
    other = {
        line.key: _other_cost(line, minute, days, terms)
        for line, minute in zip(lines, minutes, strict=True)
        if line.key not in found
    }
    cost = np.array([found[k].cost if (k := line.key) in found else other[k] for line in lines])
    cost = cost.reshape(len(lines), len(days))
    cost = _kept_on_booked_days(bench, lines, days, cost)
    problem = PlanProblem(
        days=np.array([day.toordinal() for day in days], dtype=np.int64),
        vehicle=np.array([place[line.vehicle_id] for line in lines], dtype=np.int64),
        group=np.array([groups[line.vehicle_id, line.group] for line in lines], dtype=np.int64),
        due_day=due,
        minutes=np.array(minutes, dtype=np.float64),
        cost=cost,
        depot=np.array([depots.index(state.vehicles[one].depot) for one in vehicles], dtype=np.int64),
        capacity=capacity.reshape(len(depots), len(days)),
        visit_minutes=float(terms.visit_minutes),
        visit_cost=terms.visit_cost + terms.visit_minutes * terms.labour_per_hour / 60.0,
    )
    problem = replace(problem, penalty=_late_replacements(lines, problem))
    shared = shared_costs(bench, state, weeks, told)
    return PlanBook(lines, problem, vehicles, depots, found, other, weeks, terms, shared)


def _late_replacements(
    lines: Sequence[DueLine], problem: PlanProblem
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Return what weighs against replacing parts after their due date, by day."""
    late = problem.days_late()
    is_replacement = np.array([line.action is Action.REPLACE for line in lines], dtype=np.bool_)
    weight = problem.visit_cost * (LATE_REPLACEMENT_IN_VISITS + MORE_PER_WEEK * late / 7.0)
    return np.where(is_replacement[:, None] & (late > 0.0), weight, 0.0)


def _other_cost(
    line: DueLine, minutes: int, days: Sequence[date], terms: PlanTerms
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Return what work that uses up no part costs early, as a share of its interval, and late, by day."""
    gap = np.array([(max(line.due_on, days[0]) - day).days for day in days], dtype=np.float64)
    early = np.maximum(gap, 0.0) / interval_days(line) * minutes * terms.labour_per_hour / 60.0
    return np.asarray(early + np.maximum(-gap, 0.0) * terms.late_per_day, dtype=np.float64)


def _kept_on_booked_days(
    bench: Bench,
    lines: Sequence[DueLine],
    days: Sequence[date],
    cost: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Return the costs with every other day ruled out for work that is booked on one."""
    with bench.database.reading() as records:
        booked = records.all(PlannedVisit, live=True, state=PlannedState.BOOKED)
    on = {
        (visit.vehicle_id, item.work, item.stage_id, item.installation_id): visit.on
        for visit in booked
        for item in visit.items
        if visit.on in days
    }
    kept = cost.copy()
    for n, line in enumerate(lines):
        day = on.get((line.vehicle_id, work_of(line), line.stage_id, line.installation_id))
        if day is not None:
            is_other = np.array([each != day for each in days])
            kept[n, is_other] = np.inf
    return kept


@dataclass(frozen=True, slots=True)
class SharedCosts:
    """What a plan does not change: distance of the fleet, and parts worn off over it, [km] and [money]."""

    distance_km: float
    parts: float


def shared_costs(bench: Bench, state: FleetState, weeks: int, told: Progress) -> SharedCosts:
    """Return what the fleet wears off and how far it goes, whatever the plan."""
    today = bench.today().toordinal()
    uses = vehicle_uses(bench)
    ahead = {
        vehicle.id: uses[vehicle.id].use_at(today + 7 * weeks) - uses[vehicle.id].use_at(today)
        for vehicle in state.vehicles.values()
        if vehicle.retired_on is None
    }
    # An hour counts as the forecast counts it: 100 h as 1000 km.
    km = sum(
        use * (USE_SCALE["km"] / USE_SCALE[state.vehicles[one].meter_unit.use_unit])
        for one, use in ahead.items()
    )
    parts = 0.0
    for one in parts_ahead(bench, weeks, told):
        part_type = state.part_types[one.part_type_id]
        if one.outlook is None or part_type.price is None or part_type.kind not in REPLACED_BY:
            continue
        life = float(one.outlook.item.use_of(one.outlook.limit_x[3]))
        if np.isfinite(life) and life > 0.0:
            parts += part_type.price * ahead.get(one.installation.vehicle_id, 0.0) / life
    return SharedCosts(km, parts)


def plan_of(bench: Bench, plan: PlanBook, policy: VisitPolicy, chosen: Schedule) -> VisitPlan:
    """Return the plan that a schedule makes."""
    state, terms, weeks = fleet_state(bench), plan.terms, plan.weeks
    today = bench.today()
    works: dict[tuple[int, int], list[PlannedWork]] = defaultdict(list)
    unplaced = []
    for n, line in enumerate(plan.lines):
        column = int(chosen.column[n])
        if column < 0:
            unplaced.append(line)
        else:
            works[int(plan.problem.vehicle[n]), column].append(_work(plan, n, column, today))
    stops = []
    for vehicle, column in chosen.visits(plan.problem):
        inside = tuple(works[vehicle, column])
        one = state.vehicles[plan.vehicles[vehicle]]
        stops.append(
            PlannedStop(
                vehicle_id=one.id,
                tag=one.tag,
                depot=one.depot,
                on=today + timedelta(days=column),
                minutes=terms.visit_minutes + sum(work.minutes for work in inside),
                works=inside,
            )
        )
    used = chosen.used_minutes(plan.problem)
    loads = tuple(
        DayLoad(depot, today + timedelta(days=day), round(used[n, day]), round(plan.problem.capacity[n, day]))
        for n, depot in enumerate(plan.depots)
        for day in range(7 * weeks)
    )
    return VisitPlan(
        today=today,
        weeks=weeks,
        policy=policy,
        terms=terms,
        stops=tuple(sorted(stops, key=lambda stop: (stop.on, stop.tag))),
        unplaced=tuple(unplaced),
        loads=loads,
        cost=_cost(terms, stops, plan.shared),
        gap=None if np.isnan(chosen.gap) else chosen.gap,
        data_version=state.data_version,
    )


def _work(plan: PlanBook, place: int, column: int, today: date) -> PlannedWork:
    line = plan.lines[place]
    days_early = (max(line.due_on, today) - today).days - column
    minutes = round(plan.problem.minutes[place])
    one = plan.found.get(line.key)
    if one is None:
        return PlannedWork(line, minutes, days_early, other_cost=float(plan.other[line.key][column]))
    return PlannedWork(
        line=line,
        minutes=minutes,
        days_early=days_early,
        unused_use=float(one.risk.unused_km[column]),
        unused_share=float(one.risk.unused_share[column]),
        unused_cost=float(one.unused_cost[column]),
        past_chance=float(one.risk.past_chance[column]),
        sprocket_cost=float(one.sprocket_cost[column]),
        failure_cost=float(one.failure_cost[column]),
    )


def _cost(terms: PlanTerms, stops: Sequence[PlannedStop], shared: SharedCosts) -> PlanCost:
    works = [work for stop in stops for work in stop.works]
    return PlanCost(
        visits=terms.visit_cost * len(stops),
        labour=sum(stop.minutes for stop in stops) * terms.labour_per_hour / 60.0,
        parts=shared.parts,
        unused=sum(work.unused_cost for work in works),
        sprockets=sum(work.sprocket_cost for work in works),
        failures=sum(work.failure_cost for work in works),
        other=sum(work.other_cost for work in works),
        distance_km=shared.distance_km,
    )


def planned_items(state: FleetState, stop: PlannedStop) -> tuple[PlannedItem, ...]:
    """Return the work of a visit as a planned visit keeps it."""
    return tuple(item_of(state, work.line, stop.on) for work in stop.works)
