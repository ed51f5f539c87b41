"""What is due on a part by its wear: to be replaced, set or measured."""

import math
from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta

from wearlog.fleet.reading import Measurand
from wearlog.fleet.state import State
from wearlog.workshop.conditions import Condition
from wearlog.workshop.due_snapshot import Action, DueCause, DueLine, DueReason
from wearlog.workshop.fleet_state import ZERO_READING_WITHIN, FleetState
from wearlog.workshop.outlook import HIGH, LOW, REST_AFTER_READING, Outlook
from wearlog.workshop.trend_snapshot import MEDIAN
from wearlog.workshop.vehicle_use import Asking, DaysAsked
from wearlog.workshop.when import day_of


def part_lines(
    state: FleetState, outlook: Outlook, condition: Condition | None, today: date
) -> Asking[list[DueLine]]:
    """Return what is due on a part by its forecast; asks for days on its way."""
    lines = []
    due_on = day_of(outlook.due_day)
    action = Action.ADJUST if outlook.item.measurand is Measurand.BELT_TENSION else Action.REPLACE
    base = _line(state, outlook, action, max(due_on, today) if due_on else date.max)
    is_worn_by_eye = condition is not None and condition.state is State.PAST_LIMIT
    if is_worn_by_eye and condition is not None:
        lines.append(_by_eye(base, condition, today))
    measure = yield from _measure_line(state, outlook, due_on, today)
    if measure is not None:
        lines.append(measure)
    # What was never measured, or is hardly known, is measured before anybody orders a new one.
    is_measured_first = (
        measure is not None
        and measure.due_on <= base.due_on
        and (outlook.readings == 0 or measure.reason.cause is DueCause.READING_DECIDES)
    )
    if due_on is not None and not is_measured_first and not (is_worn_by_eye and action is Action.REPLACE):
        lines.append(base)
    return lines


def _by_eye(base: DueLine, condition: Condition, today: date) -> DueLine:
    lead = base.order_by and base.due_on - base.order_by
    return replace(
        base,
        action=Action.REPLACE,
        measurand=condition.measurand,
        due_on=today,
        early_on=today,
        likely_on=today,
        late_on=today,
        early_use=base.use_now,
        likely_use=base.use_now,
        late_use=base.use_now,
        order_by=today - lead if lead else today,
        past_probability=None,
        state=State.PAST_LIMIT,
        reason=DueReason(DueCause.CONDITION_GRADE, grade=condition.grade, last_on=condition.on),
    )


def _line(state: FleetState, outlook: Outlook, action: Action, due_on: date) -> DueLine:
    item = outlook.item
    installation = item.installation
    vehicle = state.vehicles[installation.vehicle_id]
    part_type = state.part_type_of(installation)
    use = (item.use_of(outlook.limit_x) - item.offset).tolist()
    days = outlook.limit_day
    is_belt = item.measurand is Measurand.BELT_TENSION
    order_by = None
    if action is Action.REPLACE and due_on != date.max:
        order_by = due_on - timedelta(days=part_type.lead_time_days)
    cause = DueCause.TENSION_FORECAST if is_belt else DueCause.LIMIT_FORECAST
    if outlook.state is State.PAST_LIMIT:
        cause = DueCause.PAST_LIMIT
    is_cautious = outlook.is_questioned and outlook.due_day < outlook.due_day_leaning
    return DueLine(
        vehicle_id=vehicle.id,
        tag=vehicle.tag,
        depot=vehicle.depot,
        stage_id=installation.stage_id,
        stage_name=state.stages[installation.stage_id].name,
        installation_id=installation.id,
        part_text=state.part_text(installation),
        action=action,
        task=None,
        measurand=item.measurand,
        use_unit=item.use_unit,
        due_on=due_on,
        early_use=_reach(use[LOW], days[LOW]),
        likely_use=_reach(use[MEDIAN], days[MEDIAN]),
        late_use=_reach(use[HIGH], days[HIGH]),
        early_on=day_of(float(days[LOW])),
        likely_on=day_of(float(days[MEDIAN])),
        late_on=day_of(float(days[HIGH])),
        order_by=order_by,
        past_probability=outlook.past_probability,
        state=outlook.state,
        reason=DueReason(
            DueCause.QUESTIONED_READING if is_cautious else cause,
            readings=outlook.readings,
            similar_parts=outlook.similar_parts,
            allowance=float(outlook.allowance[MEDIAN]),
            chance_past=outlook.past_probability,
            caution_level=state.policy.caution_level,
            use_per_day=outlook.use.usage.rate,
            limit_source=item.limit.source,
            questioned_on=_questioned_on(outlook) if outlook.is_questioned else None,
        ),
        rule=outlook.rule,
        use_now=outlook.use.last_use,
    )


def _is_decided_by_reading(state: FleetState, outlook: Outlook, due_on: date | None, today: date) -> bool:
    """Return whether a part that is to be ordered soon is to be measured first.

    It is if its day comes from how little is known rather than from how worn it is: on that day the wear to
    be expected is below the share at which to plan ahead, so that most such parts, once read, stay on.
    """
    if due_on is None or not outlook.can_be_measured:
        return False
    lead = state.part_type_of(outlook.item.installation).lead_time_days + state.policy.plan_ahead_days
    if due_on > today + timedelta(days=lead):
        return False
    used = 1.0 - unused_share(outlook, max(due_on, today).toordinal(), today)
    return used < outlook.item.limit.plan_share


def _reach(use: float, day: float) -> float | None:
    return use if math.isfinite(use) and math.isfinite(day) else None


def _questioned_on(outlook: Outlook) -> date | None:
    doubted = outlook.family.doubted(outlook.row)
    return day_of(float(doubted[-1][1])) if doubted else None


def _measure_line(
    state: FleetState, outlook: Outlook, due_on: date | None, today: date
) -> Asking[DueLine | None]:
    item, use = outlook.item, outlook.use
    now = use.last_use + item.offset
    x_last = float(outlook.family.readings.x_last[outlook.row])
    cause = DueCause.READING_HELPS
    if outlook.is_questioned:
        cause, day = DueCause.QUESTIONED_READING, float(today.toordinal())
    elif outlook.readings == 0:
        is_new = item.since_use is None and now <= ZERO_READING_WITHIN[item.use_unit]
        cause = DueCause.NO_ZERO_READING if is_new else DueCause.NO_READING
        day = float(today.toordinal())
        if not is_new:
            _early, day, _late = yield DaysAsked(use, item.total_use_at(outlook.plan_x))
    elif _is_decided_by_reading(state, outlook, due_on, today):
        cause, day = DueCause.READING_DECIDES, float(today.toordinal())
    elif outlook.state in {State.DUE, State.PAST_LIMIT}:
        return None
    elif x_last >= outlook.plan_x and due_on is not None:
        # Already beyond the share at which to look: once more, half-way to the replacement.
        day = (use.last_day + due_on.toordinal()) / 2.0
    else:
        _early, day, _late = yield DaysAsked(use, item.total_use_at(outlook.plan_x))
    if cause is DueCause.READING_HELPS:
        # A part that was just measured tells nothing new yet.
        rested = item.total_use_at(x_last) + REST_AFTER_READING[item.use_unit]
        if rested > use.last_use:
            _early, rested_on, _late = yield DaysAsked(use, rested)
            day = max(day, rested_on)
    measure_on = day_of(day)
    if measure_on is None:
        return None
    if cause is DueCause.READING_HELPS and due_on is not None and measure_on >= due_on:
        return None
    on = max(measure_on, today)
    line = _line(state, outlook, Action.MEASURE, on)
    likely_use = max(use.use_at(on.toordinal()), use.last_use)
    early = late = float(today.toordinal())
    if on > today:
        early, _likely, late = yield DaysAsked(use, likely_use)
    shown_state = State.NO_READING if outlook.readings == 0 else outlook.state
    return replace(
        line,
        early_on=min(day_of(max(early, today.toordinal())) or on, on),
        likely_on=on,
        late_on=max(day_of(late) or on, on),
        early_use=likely_use,
        likely_use=likely_use,
        late_use=likely_use,
        order_by=None,
        state=shown_state,
        reason=replace(line.reason, cause=cause),
    )


def graded_lines(
    state: FleetState, graded: Iterable[tuple[int, Condition]], followed: set[int], today: date
) -> list[DueLine]:
    """Return lines for parts judged by eye alone, such as pulleys."""
    lines = []
    for installation_id, condition in graded:
        installation = state.installations.get(installation_id)
        if installation is None or not installation.is_current or installation_id in followed:
            continue
        vehicle = state.vehicles[installation.vehicle_id]
        if condition.state is not State.PAST_LIMIT or vehicle.retired_on is not None:
            continue
        last = state.histories[vehicle.id].last
        lead = timedelta(days=state.part_type_of(installation).lead_time_days)
        lines.append(
            DueLine(
                vehicle_id=vehicle.id,
                tag=vehicle.tag,
                depot=vehicle.depot,
                stage_id=installation.stage_id,
                stage_name=state.stages[installation.stage_id].name,
                installation_id=installation_id,
                part_text=state.part_text(installation),
                action=Action.REPLACE,
                task=None,
                measurand=condition.measurand,
                use_unit=vehicle.meter_unit.use_unit,
                due_on=today,
                early_use=None,
                likely_use=None,
                late_use=None,
                early_on=today,
                likely_on=today,
                late_on=today,
                order_by=today - lead,
                past_probability=None,
                state=State.PAST_LIMIT,
                reason=DueReason(DueCause.CONDITION_GRADE, grade=condition.grade, last_on=condition.on),
                use_now=last.total_use if last else 0.0,
            )
        )
    return lines


def unused_share(outlook: Outlook, day: int, today: date) -> float:
    """Return the share of the wear allowance given away by replacing on a day, as the median expects."""
    item = outlook.item
    now = float(outlook.allowance[MEDIAN])
    here = item.x_at(outlook.use.use_at(today.toordinal()))
    there = item.x_at(outlook.use.use_at(day))
    end = float(outlook.limit_x[MEDIAN])
    gained = (1.0 - now) * (there - here) / (end - here) if end > here else 0.0
    return min(max(1.0 - now - gained, 0.0), 1.0)
