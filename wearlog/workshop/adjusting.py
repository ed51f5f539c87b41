"""When slack must be taken up and when the adjuster ends: elongation turned into growth of slack."""

import math
from dataclasses import dataclass, replace
from datetime import date
from gettext import gettext as _

import numpy as np

from wearlog.drive.readjusting import elongation_for_adjuster, pair_removal
from wearlog.drive.slack import excess_length_for_lift, excess_length_for_total_movement
from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.limit import Limit, limit_for
from wearlog.fleet.problem import WearlogError
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
from wearlog.workshop.setups import setup_of
from wearlog.workshop.trend_snapshot import MEDIAN
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
        growth = _slack_growth(state, stage, run, slack, limit)
        line = None if growth is None else _line(state, stage, run, growth, outlook, uses[vehicle.id], today)
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


@dataclass(frozen=True, slots=True)
class _Growth:
    """What elongation still has to gain, counted from a total use (km or h), until something is reached."""

    measurand: Measurand
    elongation: float
    total_use: float
    reason: DueReason


def _line(
    state: FleetState,
    stage: Stage,
    run: Installation,
    growth: _Growth,
    outlook: Outlook,
    use: VehicleUse,
    today: date,
) -> DueLine | None:
    """Return the line for what a growth of the chain's elongation brings about."""
    item = outlook.item
    x_from, x_now = item.x_at(growth.total_use), item.x_at(use.last_use)
    if growth.elongation <= 0.0:
        x = np.full(3, min(x_from, x_now))
        even = np.full(2, x_now)
    else:
        posterior = _growth(outlook, growth.elongation / item.span, x_from)
        x = crossing_quantiles(posterior, EARLY_LIKELY_LATE)[0]
        even = equally_likely_crossings(posterior)[0]
    dates = use.dates(item.ahead_of(use.last_use, even))
    level = state.policy.caution_level
    due_on = day_of(use.last_day + float(dates.days_at([level])[0]))
    if due_on is None:
        return None
    days = use.last_day + dates.days_at(EARLY_LIKELY_LATE)
    past = float(dates.cdf([today.toordinal() - use.last_day])[0])
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
        measurand=growth.measurand,
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
        state=State.PAST_LIMIT if past >= 0.5 else State.DUE if due_on <= today else State.WITHIN_LIMIT,
        reason=replace(
            growth.reason,
            readings=outlook.readings,
            similar_parts=outlook.similar_parts,
            chance_past=past,
            caution_level=level,
            use_per_day=use.usage.rate,
        ),
        use_now=use.last_use,
    )


def _slack_growth(
    state: FleetState, stage: Stage, run: Installation, slack: _Slack, limit: Limit
) -> _Growth | None:
    span_mm = state.span_mm(stage)
    part_type = state.part_type_of(run)
    links = run.links or part_type.links
    if span_mm is None or links is None:
        return None
    excess = excess_length_for_lift if slack.is_one_way else excess_length_for_total_movement
    growth_mm = excess(limit.service_limit, span_mm) - excess(slack.movement_mm, span_mm)
    return _Growth(
        Measurand.SLACK,
        growth_mm / (links * part_type.pitch_mm),
        slack.total_use,
        DueReason(
            DueCause.SLACK_FORECAST,
            last_use=slack.total_use,
            last_on=slack.on,
            last_value=slack.movement_mm,
            limit_value=limit.service_limit,
            limit_source=limit.source,
        ),
    )


def adjuster_lines(
    bench: Bench,
    state: FleetState,
    uses: dict[int, VehicleUse],
    found: dict[tuple[int, Measurand], Outlook],
    today: date,
) -> list[DueLine]:
    """Return a line for every chain whose adjuster will come to its end before the chain is worn."""
    latest = _latest_adjuster(bench, state)
    lines = []
    for stage in state.stages.values():
        vehicle = state.vehicles[stage.vehicle_id]
        reading = latest.get(stage.id)
        run = next((i for i in state.current_on(stage.id) if i.position is Position.RUN), None)
        outlook = None if run is None else found.get((run.id, Measurand.CHAIN_ELONGATION))
        if vehicle.retired_on is not None or reading is None or run is None or outlook is None:
            continue
        growth = _adjuster_growth(state, stage, run, reading, outlook)
        line = None if growth is None else _line(state, stage, run, growth, outlook, uses[vehicle.id], today)
        # An adjuster that outlasts the chain is nobody's worry.
        if line is not None and line.due_on.toordinal() < outlook.due_day:
            lines.append(line)
    return lines


def _latest_adjuster(bench: Bench, state: FleetState) -> dict[int, Reading]:
    """Return the adjuster position last read on each stage."""
    known = bench.remembered.get("adjusters")
    if known is not None and known[0] == state.data_version and isinstance(known[1], dict):
        return known[1]
    with bench.database.reading() as records:
        readings = records.all(Reading, live=True, measurand=Measurand.ADJUSTER_POSITION)
    latest = {r.stage_id: r for r in sorted(readings, key=lambda r: (r.on, r.id)) if r.value is not None}
    bench.remembered["adjusters"] = (state.data_version, latest)
    return latest


def _adjuster_growth(
    state: FleetState, stage: Stage, run: Installation, reading: Reading, outlook: Outlook
) -> _Growth | None:
    range_mm = stage.adjuster_range_mm
    if range_mm is None or reading.value is None or reading.total_use < run.fitted_use:
        return None
    left_mm = max(range_mm - reading.value, 0.0)
    limit = outlook.item.limit
    now = max(limit.value_at(float(outlook.allowance[MEDIAN])), 0.0)
    try:
        setup = setup_of(state, stage)
        growth = elongation_for_adjuster(setup, left_mm)
        removal = pair_removal(setup, left_mm, now, limit.service_limit)
    except WearlogError:
        # Without teeth and links nothing follows from the adjuster.
        return None
    return _Growth(
        Measurand.ADJUSTER_POSITION,
        growth.low,
        reading.total_use,
        DueReason(
            DueCause.ADJUSTER_FORECAST,
            last_use=reading.total_use,
            last_on=reading.on,
            last_value=reading.value,
            limit_value=range_mm,
            limit_source=_("geometry of this drive, the chain not climbing the teeth"),
            advice=f"{removal.text} {removal.warning}",
            advice_source=removal.source,
        ),
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
