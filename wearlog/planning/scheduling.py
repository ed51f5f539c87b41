"""Due work as visits on open days: as listed, with the fewest visits, or at the least cost.

The last two are mixed-integer programmes, one for each depot: which day each piece of work is done on, and on
which days a vehicle is in. Solved with HiGHS in bounded time; what is too large or not solved in time falls
back on a plan made step by step.

References
----------
Q. Huangfu, J. A. J. Hall, Parallelizing the dual revised simplex method, Mathematical Programming Computation
10, 2018, 119-142 (HiGHS, as called by scipy.optimize.milp).
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from wearlog.fleet.progress import Progress, Silent

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: Time for one depot, [s].
SECONDS = 10.0
#: A plan that is proven to be within this share of the best one is good enough.
GAP = 0.005
#: More choices than this are not handed to the solver.
MOST_CHOICES = 40_000
#: With the fewest visits, a piece of work that is late weighs as much as so many visits.
LATE_IN_VISITS = 3.0
#: The same for work that nobody is endangered by, such as a reading a few days late; and again for each week.
SLIGHTLY_LATE_IN_VISITS = 0.25
#: Work that is overdue on the first day is not late again within so many days: not all fits in at once, [d].
GRACE_DAYS = 6
#: Work is not done earlier than so long before it is due unless it is the first day, [d].
EARLIEST_DAYS = 56
#: Work that is left out weighs as much as so many visits.
LEFT_OUT_IN_VISITS = 1000.0
#: Against a tie the money decides, weighed so that all of it together is less than one visit.
TIE_SHARE = 0.4


class VisitPolicy(StrEnum):
    """How due work is put into visits."""

    AS_LISTED = "as the list says"
    FEWEST_VISITS = "fewest visits"
    LEAST_COST = "least cost"


@dataclass(frozen=True, slots=True)
class PlanProblem:
    """Due work, and the days on which it may be done.

    Attributes
    ----------
    days : ndarray of int, shape (n_days,)
        Ordinal days looked ahead, rising; closed ones have no capacity, [d].
    vehicle : ndarray of int, shape (n,)
        Vehicle of each piece of work, from 0, [-].
    group : ndarray of int, shape (n,)
        Visit of the due list that each piece of work belongs to, [-].
    due_day : ndarray of int, shape (n,)
        Ordinal day on which each is due; the first day if it is overdue, [d].
    minutes : ndarray of float, shape (n,)
        Time each takes in the bay, [min].
    cost : ndarray of float, shape (n, n_days)
        What it costs to do it on each day: life given away and running late, [money]; infinite where it is
        not allowed.
    depot : ndarray of int, shape (n_vehicles,)
        Depot of each vehicle, from 0, [-].
    capacity : ndarray of float, shape (n_depots, n_days)
        Bay time of each depot on each day, 0 where it is closed, [min].
    visit_minutes : float
        Time each visit takes besides the work, [min].
    visit_cost : float
        What each visit costs besides the work, its minutes included, [money].
    penalty : ndarray of float, shape (n, n_days), optional
        Weighs against a day while planning for the least cost, though nobody pays it, [money].
    """

    days: Ints
    vehicle: Ints
    group: Ints
    due_day: Ints
    minutes: Floats
    cost: Floats
    depot: Ints
    capacity: Floats
    visit_minutes: float
    visit_cost: float
    penalty: Floats | None = None

    def __len__(self) -> int:
        """Return the number of pieces of work."""
        return int(self.vehicle.size)

    def days_late(self) -> Floats:
        """Return how late each piece of work is on each day, shape (n, n_days), [d].

        What is overdue on the first day has `GRACE_DAYS`.
        """
        is_overdue = self.due_day <= self.days[0]
        due = np.where(is_overdue, self.days[0] + GRACE_DAYS, self.due_day)
        return np.maximum(self.days[None, :] - due[:, None], 0).astype(np.float64)


@dataclass(frozen=True, slots=True)
class Schedule:
    """On which day each piece of work is done.

    Attributes
    ----------
    column : ndarray of int, shape (n,)
        Number of the day of each piece of work, -1 if no day has room for it, [-].
    gap : float
        How far it may be from the best plan, as a share; NaN where no proof was sought, [-].
    """

    column: Ints
    gap: float

    def visits(self, problem: PlanProblem) -> list[tuple[int, int]]:
        """Return vehicle and number of the day of each visit, by day.

        Parameters
        ----------
        problem : PlanProblem
            What was planned.
        """
        placed = self.column >= 0
        found = set(zip(problem.vehicle[placed].tolist(), self.column[placed].tolist(), strict=True))
        return sorted(found, key=lambda one: (one[1], one[0]))

    def used_minutes(self, problem: PlanProblem) -> Floats:
        """Return the bay time used, shape (n_depots, n_days), [min].

        Parameters
        ----------
        problem : PlanProblem
            What was planned.
        """
        used = np.zeros_like(problem.capacity)
        for place, column in enumerate(self.column.tolist()):
            if column >= 0:
                used[problem.depot[problem.vehicle[place]], column] += problem.minutes[place]
        for vehicle, column in self.visits(problem):
            used[problem.depot[vehicle], column] += problem.visit_minutes
        return used

    def cost(self, problem: PlanProblem) -> float:
        """Return what the plan costs: visits, life given away, running late, [money].

        Parameters
        ----------
        problem : PlanProblem
            What was planned.
        """
        placed = np.flatnonzero(self.column >= 0)
        work = float(problem.cost[placed, self.column[placed]].sum())
        return work + problem.visit_cost * len(self.visits(problem))


def schedule(
    problem: PlanProblem,
    policy: VisitPolicy,
    seconds: float = SECONDS,
    progress: Progress | None = None,
) -> Schedule:
    """Return on which day each piece of work is done.

    Parameters
    ----------
    problem : PlanProblem
        Due work and open days.
    policy : VisitPolicy
        As listed: the visits of the due list stay whole, each on the last open day with room on which none of
        it is late. Fewest visits, then fewest late, then least cost; or least cost alone.
    seconds : float
        Time for each depot, [s].
    progress : Progress, optional
        Is told how far it is, depot by depot.

    Returns
    -------
    Schedule
        Days by number.
    """
    told = progress or Silent()
    if policy is VisitPolicy.AS_LISTED or not len(problem):
        return Schedule(_as_listed(problem), float("nan"))
    weight = _weights(problem, policy)
    column = np.full(len(problem), -1, dtype=np.int64)
    gaps: list[float] = []
    depots = np.unique(problem.depot[problem.vehicle])
    for number, depot in enumerate(depots.tolist()):
        told.step(number, len(depots), "Planning visits")
        rows = np.flatnonzero(problem.depot[problem.vehicle] == depot)
        column[rows], gap = _one_depot(problem, rows, depot, weight, seconds, told)
        gaps.append(gap)
    return Schedule(column, float("nan") if any(np.isnan(gaps)) else max(gaps))


@dataclass(frozen=True, slots=True)
class _Weights:
    """What the solver is to make small: `work` shape (n, n_days), and `visit` for each visit."""

    work: Floats
    visit: float


def _weights(problem: PlanProblem, policy: VisitPolicy) -> _Weights:
    too_early = problem.days[None, :] < np.minimum(problem.due_day, problem.days[-1])[:, None] - EARLIEST_DAYS
    allowed = np.isfinite(problem.cost)
    # What is booked early all the same keeps its day.
    too_early &= (allowed & ~too_early).any(axis=1, keepdims=True)
    allowed &= ~too_early
    if policy is VisitPolicy.LEAST_COST:
        weight = problem.cost if problem.penalty is None else problem.cost + problem.penalty
        return _Weights(np.where(allowed, weight, np.inf), problem.visit_cost)
    spread = np.where(allowed, problem.cost, -np.inf).max(axis=1, initial=0.0).sum()
    money = np.where(allowed, problem.cost, 0.0) * (TIE_SHARE / max(float(spread), 1e-9))
    days_late = problem.days_late()
    is_grave = np.ones_like(money, dtype=np.bool_) if problem.penalty is None else problem.penalty > 0.0
    late = np.where(
        is_grave, LATE_IN_VISITS + 0.1 * days_late, SLIGHTLY_LATE_IN_VISITS * (1.0 + days_late / 7.0)
    )
    work = money + np.where(days_late > 0.0, late, 0.0)
    return _Weights(np.where(allowed, work, np.inf), 1.0)


def _one_depot(
    problem: PlanProblem, rows: Ints, depot: int, weight: _Weights, seconds: float, told: Progress
) -> tuple[Ints, float]:
    """Return the day of each piece of work of one depot, and how far from the best that may be."""
    open_days = np.flatnonzero(problem.capacity[depot] > 0.0)
    allowed = np.isfinite(weight.work[np.ix_(rows, open_days)])
    by_steps = _step_by_step(problem, rows, open_days, depot, weight, told)
    if rows.size and allowed.sum() <= MOST_CHOICES and bool(allowed.any(axis=1).all()):
        found = _solved(problem, rows, open_days, depot, weight, seconds)
        if found is not None and (
            found[1] <= GAP
            or _total(problem, rows, found[0], weight) <= _total(problem, rows, by_steps, weight)
        ):
            return found
    return by_steps, float("nan")


def _total(problem: PlanProblem, rows: Ints, column: Ints, weight: _Weights) -> float:
    """Return what a plan of one depot weighs; work that is left out weighs most."""
    placed = np.flatnonzero(column >= 0)
    visits = set(zip(problem.vehicle[rows[placed]].tolist(), column[placed].tolist(), strict=True))
    left_out = rows.size - placed.size
    work = float(weight.work[rows[placed], column[placed]].sum())
    return work + weight.visit * len(visits) + left_out * LEFT_OUT_IN_VISITS * weight.visit


def _solved(
    problem: PlanProblem, rows: Ints, open_days: Ints, depot: int, weight: _Weights, seconds: float
) -> tuple[Ints, float] | None:
    work = weight.work[np.ix_(rows, open_days)]
    item, day = np.nonzero(np.isfinite(work))
    _vehicles, vehicle_of = np.unique(problem.vehicle[rows], return_inverse=True)
    pair, pair_of = np.unique(vehicle_of[item] * open_days.size + day, return_inverse=True)
    n_work, n_visits = item.size, pair.size
    weights = np.concatenate([work[item, day], np.full(n_visits, weight.visit)])
    once = coo_array((np.ones(n_work), (item, np.arange(n_work))), shape=(rows.size, n_work + n_visits))
    # Work on a day asks for its vehicle to be in on that day.
    link = coo_array(
        (
            np.concatenate([np.ones(n_work), -np.ones(n_work)]),
            (np.tile(np.arange(n_work), 2), np.concatenate([np.arange(n_work), n_work + pair_of])),
        ),
        shape=(n_work, n_work + n_visits),
    )
    room = coo_array(
        (
            np.concatenate([problem.minutes[rows][item], np.full(n_visits, problem.visit_minutes)]),
            (np.concatenate([day, pair % open_days.size]), np.arange(n_work + n_visits)),
        ),
        shape=(open_days.size, n_work + n_visits),
    )
    answer = milp(
        weights,
        integrality=np.ones(n_work + n_visits),
        bounds=Bounds(0.0, 1.0),
        constraints=[
            LinearConstraint(once, 1.0, 1.0),
            LinearConstraint(link, -np.inf, 0.0),
            LinearConstraint(room, -np.inf, problem.capacity[depot, open_days]),
        ],
        options={"time_limit": seconds, "mip_rel_gap": GAP, "disp": False},
    )
    values: Floats | None = answer.x
    if values is None:
        return None
    chosen = np.flatnonzero(values[:n_work] > 0.5)
    column = np.full(rows.size, -1, dtype=np.int64)
    column[item[chosen]] = open_days[day[chosen]]
    return column, float(answer.mip_gap or 0.0)


@dataclass(slots=True)
class _Steps:
    """A plan for one depot while it is made step by step.

    `work` has shape (n_rows, n_days); `least` is what each piece of work costs on its best open day.
    """

    minutes: Floats
    work: Floats
    least: Floats
    open_days: list[int]
    left: Floats
    column: Ints
    visit: float
    visit_minutes: float

    def place(self, waiting: list[int]) -> None:
        """Give the work of one vehicle its days: open one visit after another, the best first."""
        opened: set[int] = set()
        while waiting:
            best: tuple[float, int, list[int]] | None = None
            for day in self.open_days:
                taken = [] if day in opened else self._fitting(waiting, day)
                if not taken:
                    continue
                rest = sum(float(self.least[n]) + self.visit for n in waiting if n not in taken)
                total = self.visit + float(self.work[taken, day].sum()) + rest
                if best is None or total < best[0] - 1e-12:
                    best = (total, day, taken)
            if best is None:
                return
            _total, day, taken = best
            opened.add(day)
            self.left[day] -= self.visit_minutes + float(self.minutes[taken].sum())
            self.column[taken] = day
            waiting = [n for n in waiting if n not in taken]

    def _fitting(self, waiting: list[int], day: int) -> list[int]:
        """Return the work that is no dearer on a day than at a visit of its own, as far as there is room."""
        room = float(self.left[day]) - self.visit_minutes
        taken = []
        for n in waiting:
            pays = self.work[n, day] <= self.least[n] + self.visit
            if np.isfinite(self.work[n, day]) and pays and self.minutes[n] <= room:
                taken.append(n)
                room -= float(self.minutes[n])
        return taken or self._most_pressing(waiting, day)

    def _most_pressing(self, waiting: list[int], day: int) -> list[int]:
        """Return one piece of work that a day has room for, though it would be dear; late is not never."""
        room = float(self.left[day]) - self.visit_minutes
        for n in waiting:
            if np.isfinite(self.work[n, day]) and self.minutes[n] <= room:
                return [n]
        return []


def _step_by_step(
    problem: PlanProblem, rows: Ints, open_days: Ints, depot: int, weight: _Weights, told: Progress
) -> Ints:
    """Return days found vehicle by vehicle: the most pressing first, each on its best days with room."""
    work = weight.work[rows]
    steps = _Steps(
        minutes=problem.minutes[rows],
        work=work,
        least=work[:, open_days].min(axis=1, initial=np.inf),
        open_days=open_days.tolist(),
        left=problem.capacity[depot].copy(),
        column=np.full(rows.size, -1, dtype=np.int64),
        visit=weight.visit,
        visit_minutes=problem.visit_minutes,
    )
    vehicles, due = problem.vehicle[rows], problem.due_day[rows]
    ordered = sorted(np.unique(vehicles).tolist(), key=lambda one: int(due[vehicles == one].min()))
    for number, vehicle in enumerate(ordered):
        told.step(number, len(ordered), "Planning visits")
        own = np.flatnonzero(vehicles == vehicle)
        steps.place(own[np.argsort(due[own], kind="stable")].tolist())
    return steps.column


def _as_listed(problem: PlanProblem) -> Ints:
    """Return days for the visits of the due list, each kept whole where a day has room for all of it."""
    left = problem.capacity.copy()
    column = np.full(len(problem), -1, dtype=np.int64)
    groups = sorted(
        np.unique(problem.group).tolist(),
        key=lambda one: (int(problem.due_day[problem.group == one].min()), one),
    )
    for group in groups:
        rows = np.flatnonzero(problem.group == group)
        depot = int(problem.depot[problem.vehicle[rows[0]]])
        due = int(problem.due_day[rows].min())
        needed = problem.visit_minutes + float(problem.minutes[rows].sum())
        # A visit that is longer than any day has the emptiest day for itself.
        needed = min(needed, float(problem.capacity[depot].max(initial=0.0)))
        allowed = np.isfinite(problem.cost[rows]).all(axis=0)
        days = np.flatnonzero((left[depot] >= needed - 1e-9) & (problem.capacity[depot] > 0.0) & allowed)
        if not days.size:
            continue
        before, after = days[problem.days[days] <= due], days[problem.days[days] > due]
        day = int(before[-1]) if before.size else int(after[0])
        column[rows] = day
        left[depot, day] -= needed
    return column
