"""Due lists as the page shows them, without a database: Larkfell Ranger Service, all invented."""

import random
from dataclasses import replace
from datetime import date, timedelta

from tests.makers.fleet import TODAY, UPPER, fleet_of, rule_at
from wearlog.fleet.reading import Measurand
from wearlog.fleet.service import Task
from wearlog.fleet.state import State
from wearlog.workshop.due_snapshot import (
    Action,
    DueCause,
    DueLine,
    DueReason,
    DueSnapshot,
    VisitGroup,
)


def due_line(
    vehicle_id: int = 1,
    due_on: date = date(2026, 12, 15),
    action: Action = Action.REPLACE,
    *,
    tag: str = "",
    depot: str = UPPER,
    stage: str = "final drive",
    half_width_days: int | None = 12,
    allowance: float = 0.86,
    state: State = State.PLAN,
    cause: DueCause | None = None,
    task: Task | None = None,
    group: int = 0,
    group_on: date | None = None,
    readings: int = 5,
) -> DueLine:
    """One line; a chain of the final drive to be replaced unless said otherwise."""
    is_wear = action in {Action.REPLACE, Action.MEASURE}
    if task is None and action is Action.TASK:
        task = Task.LUBRICATED
    if task is None and action is Action.RECHECK:
        task = Task.TORQUE_CHECKED
    causes = {
        Action.REPLACE: DueCause.LIMIT_FORECAST,
        Action.ADJUST: DueCause.SLACK_FORECAST,
        Action.MEASURE: DueCause.READING_HELPS,
        Action.TASK: DueCause.INTERVAL,
        Action.RECHECK: DueCause.AFTER_FITTING,
    }
    reason = DueReason(
        cause or causes[action],
        readings=readings,
        similar_parts=31,
        allowance=allowance if is_wear else None,
        chance_past=0.04 if is_wear else None,
        caution_level=0.1 if is_wear else None,
        every_use=1000.0 if action is Action.TASK else None,
        every_days=90 if action is Action.TASK else None,
        last_use=11_310.0 if action in {Action.TASK, Action.ADJUST} else None,
        last_on=date(2026, 10, 2),
        after_use=300.0 if action is Action.RECHECK else None,
        use_per_day=24.0,
        limit_source="workshop default",
        rule_source="common practice",
    )
    width = timedelta(days=half_width_days) if half_width_days is not None else None
    return DueLine(
        vehicle_id=vehicle_id,
        tag=tag or f"LR-{vehicle_id:03d}",
        depot=depot,
        stage_id=vehicle_id * 10 + 1,
        stage_name=stage,
        installation_id=vehicle_id * 100 + 1 if is_wear else None,
        part_text="chain 428, 118 links" if is_wear else "",
        action=action,
        task=task,
        measurand=Measurand.CHAIN_ELONGATION
        if is_wear
        else Measurand.SLACK
        if action is Action.ADJUST
        else None,
        use_unit="km",
        due_on=due_on,
        early_use=12_770.0 if width else None,
        likely_use=13_140.0 if width else None,
        late_use=13_630.0 if width else None,
        early_on=due_on - width / 3 if width else None,
        likely_on=due_on + width if width else None,
        late_on=due_on + 2 * width if width else None,
        order_by=due_on - timedelta(days=14) if action is Action.REPLACE else None,
        past_probability=0.04 if is_wear else None,
        state=state,
        reason=reason,
        rule=rule_at(allowance) if is_wear else None,
        use_now=12_362.0,
        group=group,
        group_on=group_on or due_on,
        unused_share=0.06 if action is Action.REPLACE else None,
    )


def due_list(*lines: DueLine, within_days: int | None = None, vehicles: int = 0) -> DueSnapshot:
    """A due list of given lines, sorted and grouped as they say."""
    ordered = tuple(sorted(lines, key=lambda line: (line.due_on, line.tag)))
    numbers: dict[tuple[int, int], list[DueLine]] = {}
    for line in ordered:
        numbers.setdefault((line.vehicle_id, line.group), []).append(line)
    groups = tuple(
        VisitGroup(own[0].group, own[0].vehicle_id, own[0].tag, own[0].depot, own[0].group_on, tuple(own))
        for own in numbers.values()
    )
    depots = tuple(sorted({line.depot for line in lines}))
    return DueSnapshot(TODAY, within_days, 0.1, 14, ordered, groups, vehicles or len(groups), depots, 1)


def due_of(vehicles: int, *, seed: int = 11) -> DueSnapshot:
    """A due list with a few lines for every vehicle, grouped into visits, some of them overdue."""
    chance = random.Random(seed)  # noqa: S311 - invented dates
    lines = []
    group = 0
    for row in fleet_of(vehicles).rows:
        vehicle_id, depot = row.vehicle_id, row.depot
        for _visit in range(chance.choice((1, 1, 2))):
            group += 1
            first = TODAY + timedelta(days=chance.randint(-9, 170))
            for action in chance.sample(list(Action), k=chance.choice((1, 2, 2, 3))):
                allowance = (
                    chance.uniform(0.55, 1.04) if action is Action.REPLACE else chance.uniform(0.2, 0.7)
                )
                line = due_line(
                    vehicle_id,
                    first + timedelta(days=chance.randint(0, 13)),
                    action,
                    tag=row.tag,
                    depot=depot,
                    allowance=allowance,
                    half_width_days=chance.choice((6, 12, 30, 70)) if action is not Action.TASK else 5,
                    group=group,
                    group_on=first,
                )
                state = line.rule.state if line.rule else State.WITHIN_LIMIT
                late = State.DUE if line.due_on < TODAY else state
                state = late if state is not State.PAST_LIMIT else state
                rule = replace(line.rule, state=state) if line.rule else None
                lines.append(replace(line, state=state, rule=rule))
    return due_list(*lines, vehicles=vehicles)
