"""Visits of a plan moved to other days by hand, the costs worked out anew."""

from datetime import date
from gettext import gettext as _

import numpy as np

from wearlog.fleet.problem import Problem, WearlogError
from wearlog.planning.scheduling import Schedule
from wearlog.workshop.bench import Bench
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
