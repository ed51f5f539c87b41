"""A plan of visits kept: each visit gets the number of its job card; the plan before gives way."""

from dataclasses import replace
from datetime import timedelta
from gettext import gettext as _
from gettext import ngettext

from wearlog.fleet.planned import PlannedState, PlannedVisit, next_number
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.plan_snapshot import VisitPlan
from wearlog.workshop.plan_visits import planned_items


def keep_plan(bench: Bench, plan: VisitPlan, state: PlannedState = PlannedState.PLANNED) -> Changes:
    """Keep the visits of a plan, in one transaction that can be undone.

    Visits that were planned and not booked for the same weeks are called off; booked ones stay as they are.

    Parameters
    ----------
    state
        Booked if the plan is accepted as it is.

    Raises
    ------
    WearlogError
        If the plan has no visits.
    """
    if not plan.stops:
        raise WearlogError(Problem(_("The plan has no visits."), todo=_("Look further ahead.")))
    fleet = fleet_state(bench)
    last = plan.today + timedelta(days=7 * plan.weeks - 1)
    n = len(plan.stops)
    if state is PlannedState.BOOKED:
        what = ngettext("{n} visit booked", "{n} visits booked", n).format(n=n)
    else:
        what = ngettext("{n} visit planned", "{n} visits planned", n).format(n=n)
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        known = records.all(PlannedVisit)
        booked = {
            (visit.vehicle_id, visit.on)
            for visit in known
            if visit.state is PlannedState.BOOKED and not visit.void_reason
        }
        for visit in known:
            is_open = visit.state is PlannedState.PLANNED and not visit.void_reason
            if is_open and plan.today <= visit.on <= last:
                records.replace(replace(visit, state=PlannedState.CALLED_OFF))
        numbers = [visit.number for visit in known]
        for stop in plan.stops:
            if (stop.vehicle_id, stop.on) in booked:
                continue
            numbers.append(next_number(numbers))
            records.add(
                PlannedVisit(
                    number=numbers[-1],
                    vehicle_id=stop.vehicle_id,
                    depot=stop.depot,
                    on=stop.on,
                    state=state,
                    items=planned_items(fleet, stop),
                    bay_minutes=stop.minutes,
                )
            )
        change_id = records.change_id
    return Changes(what, change_id, frozenset(stop.vehicle_id for stop in plan.stops))
