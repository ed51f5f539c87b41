"""Visits of a plan moved to other days by hand, the costs worked out anew."""

from collections.abc import Iterable
from datetime import date
from gettext import gettext as _

import numpy as np

from wearlog.fleet.planned import PlannedState, PlannedVisit
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.planning.scheduling import Schedule
from wearlog.workshop.bench import Bench
from wearlog.workshop.booking import visits_by_line
from wearlog.workshop.plan_snapshot import PlannedStop, VisitPlan
from wearlog.workshop.plan_visits import plan_book, plan_of


def move_stop(bench: Bench, plan: VisitPlan, stop: PlannedStop, to: date) -> VisitPlan:
    """Return a plan with one visit on another day; on a day the vehicle is in anyway the two become one.

    A day may be given more work than its bays have time for: who moves a visit by hand may know better, and
    the load of the day shows it.

    Raises
    ------
    WearlogError
        If the depot is closed on that day, it lies outside the plan, or the fleet changed since.
    """
    if not plan.today <= to <= plan.loads[-1].on:
        raise WearlogError(Problem(_("This day lies outside the plan."), stop.tag, _("Choose a day of it.")))
    if plan.terms.minutes_on(stop.depot, to) == 0:
        raise WearlogError(
            Problem(
                _("{depot} is closed on this day.").format(depot=stop.depot),
                stop.tag,
                _("Choose an open day, or change the opening days."),
            )
        )
    moved = {work.line.key: to for work in stop.works}
    return _with_days(bench, plan, moved)


def _with_days(bench: Bench, plan: VisitPlan, moved: dict[str, date]) -> VisitPlan:
    book = plan_book(bench, plan.weeks)
    days = {work.line.key: stop.on for stop in plan.stops for work in stop.works} | moved
    if {line.key for line in book.lines} != {*days, *(line.key for line in plan.unplaced)}:
        raise WearlogError(
            Problem(_("Other work is due than when this plan was made."), todo=_("Plan anew."))
        )
    column = np.array([(days[k] - plan.today).days if (k := line.key) in days else -1 for line in book.lines])
    return plan_of(bench, book, plan.policy, Schedule(column.astype(np.int64), float("nan")))


def is_still_right(bench: Bench, plan: VisitPlan, visits: Iterable[PlannedVisit]) -> bool:
    """Whether the same work is due on the same days, under the same terms, and booked as in the plan."""
    book = plan_book(bench, plan.weeks)
    placed = {work.line.key: work.line.due_on for work in plan.works}
    known = placed | {line.key: line.due_on for line in plan.unplaced}
    if plan.today != bench.today() or plan.terms != book.terms:
        return False
    if known != {line.key: line.due_on for line in book.lines}:
        return False
    last = plan.loads[-1].on if plan.loads else plan.today
    booked = [one for one in visits if one.state is PlannedState.BOOKED and plan.today <= one.on <= last]
    on = {work.line.key: stop.on for stop in plan.stops for work in stop.works}
    of = visits_by_line(booked, (work.line for work in plan.works))
    return all(on[key] == visit.on for key, visit in of.items())
