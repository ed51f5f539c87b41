"""Tasks that come round, and re-checks after fitting."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.reading import Measurand
from wearlog.fleet.service import IntervalRule, Task, Visit
from wearlog.fleet.state import State
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.planning.intervals import Moment, NextTime, narrowest, next_time
from wearlog.workshop.due_snapshot import Action, DueCause, DueLine, DueReason
from wearlog.workshop.fleet_state import WEAR_MEASURAND, FleetState
from wearlog.workshop.outlook import Outlook
from wearlog.workshop.vehicle_use import Asking, Days, DaysAsked, VehicleUse, answered
from wearlog.workshop.when import day_of

#: A re-check overdue by more than so many times its interval has been overtaken by later visits.
OVERTAKEN = 4.0


@dataclass(frozen=True, slots=True)
class _Seen:
    """What is known of the work done on a stage since its chain or belt was fitted.

    `done` is when each task was last done at a visit. `wear_read_at` is the total use at the last reading of
    its chain's or belt's wear; `stage_read_at` total use and ordinal day of the last reading of any kind.
    """

    done: dict[Task, Moment]
    wear_read_at: float | None
    stage_read_at: tuple[float, int] | None


def task_lines(
    state: FleetState,
    read_stages: Mapping[int, tuple[float, int]],
    uses: Mapping[int, VehicleUse],
    found: Mapping[tuple[int, Measurand], Outlook],
    today: date,
    stages: Iterable[Stage],
) -> list[DueLine]:
    """Return a line for every task that a rule asks for on some stages, as far as they are in use.

    Parameters
    ----------
    read_stages
        Total use and ordinal day of the latest reading taken on each stage.
    """
    rules = _Rules(state.rules)
    asking = []
    for stage in stages:
        vehicle = state.vehicles[stage.vehicle_id]
        run = next((i for i in state.current_on(stage.id) if i.position is Position.RUN), None)
        if vehicle.retired_on is not None or run is None:
            continue
        measurand = WEAR_MEASURAND.get(state.part_type_of(run).kind)
        outlook = None if measurand is None else found.get((run.id, measurand))
        seen = _Seen(
            _last_done(state.visits_of.get(vehicle.id, ()), stage, run),
            None if outlook is None else _read_at(outlook),
            read_stages.get(stage.id),
        )
        asking += [
            _line(state, vehicle, stage, run, rule, uses[vehicle.id], seen, today)
            for rule in rules.of(vehicle, stage)
        ]
    return [line for line in answered(asking) if line is not None]


def _read_at(outlook: Outlook) -> float | None:
    """Return the total use at the last reading of a part, if it was read."""
    if not outlook.readings:
        return None
    return outlook.item.total_use_at(float(outlook.family.readings.x_last[outlook.row]))


class _Rules:
    """The rules that count on a stage, found once for all stages alike."""

    def __init__(self, rules: Iterable[IntervalRule]) -> None:
        self._rules = tuple(rules)
        self._own = {rule.vehicle_id for rule in self._rules}
        self._known: dict[object, tuple[IntervalRule, ...]] = {}

    def of(self, vehicle: Vehicle, stage: Stage) -> tuple[IntervalRule, ...]:
        alike = (vehicle.kind, stage.name, stage.drive, vehicle.id if vehicle.id in self._own else None)
        if alike not in self._known:
            self._known[alike] = narrowest(rule for rule in self._rules if _fits(rule, vehicle, stage))
        return self._known[alike]


def _fits(rule: IntervalRule, vehicle: Vehicle, stage: Stage) -> bool:
    return (
        rule.vehicle_kind in {None, vehicle.kind}
        and rule.vehicle_id in {None, vehicle.id}
        and rule.stage_name in {"", stage.name}
        and rule.drive in {None, stage.drive}
    )


def _line(
    state: FleetState,
    vehicle: Vehicle,
    stage: Stage,
    run: Installation,
    rule: IntervalRule,
    use: VehicleUse,
    seen: _Seen,
    today: date,
) -> Asking[DueLine | None]:
    fitted = Moment(run.fitted_use, run.fitted_on.toordinal())
    last = _last_time(state, vehicle, run, rule.task, seen)
    unit = vehicle.meter_unit.use_unit
    following = next_time(rule, fitted, last, unit)
    if following is None or (rule.is_after_fitting and _is_overtaken(state, vehicle, following, fitted, use)):
        return None
    early, likely, late = yield from _days_to_next(state, vehicle, following, use)
    due_on = day_of(likely)
    if due_on is None:
        return None
    recheck, is_measuring = rule.is_after_fitting, rule.task is Task.MEASURED
    is_late = due_on <= today
    return DueLine(
        vehicle_id=vehicle.id,
        tag=vehicle.tag,
        depot=vehicle.depot,
        stage_id=stage.id,
        stage_name=stage.name,
        installation_id=run.id,
        part_text=state.part_text(run),
        action=Action.MEASURE if is_measuring else Action.RECHECK if recheck else Action.TASK,
        task=rule.task,
        measurand=WEAR_MEASURAND.get(state.part_type_of(run).kind) if is_measuring else None,
        use_unit=unit,
        due_on=due_on,
        early_use=following.use,
        likely_use=following.use,
        late_use=following.use,
        early_on=day_of(early),
        likely_on=due_on,
        late_on=day_of(late),
        order_by=None,
        past_probability=None,
        state=State.DUE if is_late else State.WITHIN_LIMIT,
        reason=DueReason(
            DueCause.AFTER_FITTING if recheck else DueCause.INTERVAL,
            every_use=None if recheck else following.every_use,
            every_days=None if recheck else following.every_days,
            after_use=following.every_use if recheck else None,
            after_days=following.every_days if recheck else None,
            last_use=None if last is None else last.use,
            last_on=run.fitted_on if last is None else date.fromordinal(last.day),
            use_per_day=use.usage.rate,
            rule_source=rule.source,
        ),
        use_now=use.last_use,
    )


def days_to_next(state: FleetState, vehicle: Vehicle, following: NextTime, use: VehicleUse) -> Days:
    """Return early, likely and late ordinal day: by use or by the calendar, whichever comes first."""
    return answered([_days_to_next(state, vehicle, following, use)])[0]


def _days_to_next(state: FleetState, vehicle: Vehicle, following: NextTime, use: VehicleUse) -> Asking[Days]:
    days: Days = (math.inf, math.inf, math.inf)
    if following.use is not None and following.use <= use.last_use:
        days = (float(_day_of_use(state, vehicle, following.use)),) * 3
    elif following.use is not None:
        days = yield DaysAsked(use, following.use)
    if following.day is None:
        return days
    early, likely, late = (min(day, float(following.day)) for day in days)
    return early, likely, late


def _last_time(
    state: FleetState, vehicle: Vehicle, run: Installation, task: Task, seen: _Seen
) -> Moment | None:
    if task is Task.MEASURED and seen.wear_read_at is not None:
        return Moment(seen.wear_read_at, _day_of_use(state, vehicle, seen.wear_read_at))
    done = seen.done.get(task)
    # Who measures a stage looks at it.
    if task is Task.INSPECTED and seen.stage_read_at is not None:
        use, day = seen.stage_read_at
        if use >= run.fitted_use and day >= run.fitted_on.toordinal() and (done is None or day > done.day):
            return Moment(use, day)
    return done


def _last_done(visits: Iterable[Visit], stage: Stage, run: Installation) -> dict[Task, Moment]:
    """Return when each task was last done on a stage after its chain or belt was fitted."""
    last: dict[Task, Moment] = {}
    for visit in visits:
        if visit.on < run.fitted_on or visit.total_use <= run.fitted_use:
            continue
        day = visit.on.toordinal()
        for done in visit.tasks:
            known = last.get(done.task)
            if (done.stage_id is None or done.stage_id == stage.id) and (known is None or day > known.day):
                last[done.task] = Moment(visit.total_use, day)
    return last


def _day_of_use(state: FleetState, vehicle: Vehicle, total_use: float) -> int:
    points = state.histories[vehicle.id].points
    for before, after in pairwise(points):
        if before.total_use <= total_use <= after.total_use:
            gone = after.total_use - before.total_use
            share = (total_use - before.total_use) / gone if gone > 0.0 else 0.0
            return round(before.on.toordinal() + share * (after.on - before.on).days)
    return points[-1].on.toordinal() if points else 1


def _is_overtaken(
    state: FleetState, vehicle: Vehicle, following: NextTime, fitted: Moment, use: VehicleUse
) -> bool:
    """Whether a re-check was forgotten so long ago that later visits have taken its place."""
    if following.every_use is None or following.use is None:
        return False
    is_long_gone = use.last_use - fitted.use > OVERTAKEN * following.every_use
    later = [v for v in state.visits_of.get(vehicle.id, ()) if v.total_use > following.use]
    return is_long_gone and bool(later)
