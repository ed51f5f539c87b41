"""When slack will have to be taken up: the chain's elongation rate turned into growth of slack."""

import math
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from wearlog.drive.slack import excess_length_for_lift, excess_length_for_total_movement
from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.limit import Limit, limit_for
from wearlog.fleet.reading import Measurand, Reading
from wearlog.fleet.service import Task
from wearlog.fleet.state import State
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.forecast.crossing import crossing_quantiles, equally_likely_crossings
from wearlog.forecast.posterior import Posterior
from wearlog.workshop.bench import Bench
from wearlog.workshop.due_snapshot import Action, DueCause, DueLine, DueReason
from wearlog.workshop.fleet_state import FleetState
from wearlog.workshop.outlook import Outlook
from wearlog.workshop.usage import VehicleUse
from wearlog.workshop.when import day_of

EARLY_LIKELY_LATE = (0.1, 0.5, 0.9)


@dataclass(frozen=True, slots=True)
class _Slack:
    """Slack last known: mm of movement at a total use (km or h), on a day."""

    movement_mm: float
    total_use: float
    on: date
    is_one_way: bool


def slack_lines(
    bench: Bench,
    state: FleetState,
    uses: dict[int, VehicleUse],
    found: dict[tuple[int, Measurand], Outlook],
    today: date,
) -> list[DueLine]:
    """Return a line for every chain whose slack was measured and has a limit."""
    latest = _latest_slack(bench, state)
    lines = []
    for stage in state.stages.values():
        vehicle = state.vehicles[stage.vehicle_id]
        slack = latest.get(stage.id)
        run = next((i for i in state.current_on(stage.id) if i.position is Position.RUN), None)
        if vehicle.retired_on is not None or slack is None or run is None:
            continue
        outlook = found.get((run.id, Measurand.CHAIN_ELONGATION))
        limit = _limit(state, vehicle, stage, run)
        if outlook is None or limit is None or slack.total_use < run.fitted_use:
            continue
        line = _line(state, stage, run, slack, limit, outlook, uses[vehicle.id], today)
        if line is not None:
            lines.append(line)
    return lines


def _latest_slack(bench: Bench, state: FleetState) -> dict[int, _Slack]:
    """Return the slack last measured, or set since, on each stage."""
    known = bench.remembered.get("slack")
    if known is not None and known[0] == state.data_version and isinstance(known[1], dict):
        return known[1]
    with bench.database.reading() as records:
        readings = records.all(Reading, live=True, measurand=Measurand.SLACK)
    latest: dict[int, _Slack] = {}
    for reading in sorted(readings, key=lambda r: (r.on, r.id)):
        definition = (reading.definition or state.stages[reading.stage_id].slack_definition).casefold()
        # A gap to the swing-arm is no movement; nothing follows from it without the geometry of the arm.
        if reading.value is not None and "gap" not in definition:
            one_way = "one way" in definition or "one-way" in definition
            latest[reading.stage_id] = _Slack(reading.value, reading.total_use, reading.on, one_way)
    for visit in sorted(state.visits, key=lambda v: (v.on, v.id)):
        for done in visit.tasks:
            before = latest.get(done.stage_id or 0)
            is_set = done.task is Task.TENSION_SET and done.after is not None and done.quantity_unit == "mm"
            if is_set and before is not None and done.after is not None and visit.on >= before.on:
                latest[done.stage_id or 0] = replace(
                    before, movement_mm=done.after, total_use=visit.total_use, on=visit.on
                )
    bench.remembered["slack"] = (state.data_version, latest)
    return latest


def _limit(state: FleetState, vehicle: Vehicle, stage: Stage, run: Installation) -> Limit | None:
    part_type = state.part_type_of(run)
    return limit_for(
        state.limits_of.get(Measurand.SLACK, ()),
        Measurand.SLACK,
        part_type.wear_class,
        {part_type.designation},
        vehicle.model,
        stage.name,
        vehicle.id,
    )


def _line(
    state: FleetState,
    stage: Stage,
    run: Installation,
    slack: _Slack,
    limit: Limit,
    outlook: Outlook,
    use: VehicleUse,
    today: date,
) -> DueLine | None:
    span_mm = state.span_mm(stage)
    part_type = state.part_type_of(run)
    links = run.links or part_type.links
    if span_mm is None or links is None:
        return None
    excess = excess_length_for_lift if slack.is_one_way else excess_length_for_total_movement
    growth_mm = excess(limit.service_limit, span_mm) - excess(slack.movement_mm, span_mm)
    item = outlook.item
    needed = growth_mm / (links * part_type.pitch_mm) / item.span
    x_set = item.x_at(slack.total_use)
    x_now = item.x_at(use.last_use)
    if needed <= 0.0:
        x = np.full(3, min(x_set, x_now))
        even = np.full(2, x_now)
    else:
        growth = _growth(outlook, needed, x_set)
        x = crossing_quantiles(growth, EARLY_LIKELY_LATE)[0]
        even = equally_likely_crossings(growth)[0]
    dates = use.dates(item.ahead_of(use.last_use, even))
    level = state.policy.caution_level
    due_on = day_of(use.last_day + float(dates.days_at([level])[0]))
    if due_on is None:
        return None
    days = use.last_day + dates.days_at(EARLY_LIKELY_LATE)
    past = float(dates.cdf([today.toordinal() - use.last_day])[0])
    is_due = due_on <= today
    vehicle = state.vehicles[stage.vehicle_id]
    reach = [item.total_use_at(float(one)) if math.isfinite(one) else None for one in x]
    return DueLine(
        vehicle_id=vehicle.id,
        tag=vehicle.tag,
        depot=vehicle.depot,
        stage_id=stage.id,
        stage_name=stage.name,
        installation_id=run.id,
        part_text=state.part_text(run),
        action=Action.ADJUST,
        task=None,
        measurand=Measurand.SLACK,
        use_unit=item.use_unit,
        due_on=max(due_on, today),
        early_use=reach[0],
        likely_use=reach[1],
        late_use=reach[2],
        early_on=day_of(float(days[0])),
        likely_on=day_of(float(days[1])),
        late_on=day_of(float(days[2])),
        order_by=None,
        past_probability=past,
        state=State.PAST_LIMIT if past >= 0.5 else State.DUE if is_due else State.WITHIN_LIMIT,
        reason=DueReason(
            DueCause.SLACK_FORECAST,
            readings=outlook.readings,
            similar_parts=outlook.similar_parts,
            chance_past=past,
            caution_level=level,
            last_use=slack.total_use,
            last_on=slack.on,
            use_per_day=use.usage.rate,
            last_value=slack.movement_mm,
            limit_value=limit.service_limit,
            limit_source=limit.source,
        ),
        use_now=use.last_use,
    )


def _growth(outlook: Outlook, needed: float, x_set: float) -> Posterior:
    """Return the chain's wear counted from the last adjustment, with the growth needed as its limit."""
    posterior = outlook.family.fit.posterior.take([outlook.row])
    return replace(
        posterior,
        mean=np.zeros_like(posterior.mean),
        variance=np.full_like(posterior.variance, 1e-12),
        x_last=np.array([x_set]),
        limit=np.array([needed]),
    )
