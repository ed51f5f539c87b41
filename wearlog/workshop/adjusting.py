"""When slack must be taken up and when the adjuster ends: elongation turned into growth of slack."""

import math
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from gettext import gettext as _

import numpy as np
from numpy.typing import NDArray

from wearlog.drive.readjusting import elongation_for_adjuster, pair_removal
from wearlog.drive.slack import excess_length_for_lift, excess_length_for_total_movement
from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.limit import Limit, limit_for
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.reading import Measurand
from wearlog.fleet.service import Task
from wearlog.fleet.state import State
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.forecast.crossing import crossing_quantiles, equally_likely_crossings
from wearlog.forecast.posterior import Posterior
from wearlog.store.lazily import reading_cells
from wearlog.workshop.bench import Bench
from wearlog.workshop.due_snapshot import Action, DueCause, DueLine, DueReason
from wearlog.workshop.fleet_state import FleetState
from wearlog.workshop.outlook import Outlook
from wearlog.workshop.setups import setup_of
from wearlog.workshop.trend_snapshot import MEDIAN
from wearlog.workshop.vehicle_use import EARLY_LIKELY_LATE, VehicleUse, dates_of
from wearlog.workshop.when import day_of

#: Crossings that stand for all there can be.
EVEN_CROSSINGS = 50


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
    uses: Mapping[int, VehicleUse],
    found: Mapping[tuple[int, Measurand], Outlook],
    today: date,
    stages: Collection[Stage],
) -> list[DueLine]:
    """Return a line for every chain of some stages whose slack was measured and has a limit."""
    latest = _latest_slack(bench, state, stages)
    jobs = []
    for stage in stages:
        slack = latest.get(stage.id)
        chain = None if slack is None else _running_chain(state, stage, found)
        if slack is None or chain is None or slack.total_use < chain[0].fitted_use:
            continue
        run, outlook = chain
        limit = _limit(state, state.vehicles[stage.vehicle_id], stage, run)
        growth = None if limit is None else _slack_growth(state, stage, run, slack, limit)
        if growth is not None:
            jobs.append(_Job(stage, run, growth, outlook, uses[stage.vehicle_id]))
    return _lines(state, jobs, today)


def _running_chain(
    state: FleetState, stage: Stage, found: Mapping[tuple[int, Measurand], Outlook]
) -> tuple[Installation, Outlook] | None:
    """Return the chain that runs on a stage in use, with its outlook."""
    run = next((i for i in state.current_on(stage.id) if i.position is Position.RUN), None)
    outlook = None if run is None else found.get((run.id, Measurand.CHAIN_ELONGATION))
    if run is None or outlook is None or state.vehicles[stage.vehicle_id].retired_on is not None:
        return None
    return run, outlook


def _latest_slack(bench: Bench, state: FleetState, stages: Collection[Stage]) -> dict[int, _Slack]:
    """Return the slack last measured, or set since, on each of some stages."""
    names = ("stage_id", "total_use", "on", "value", "definition")
    latest: dict[int, _Slack] = {}
    wanted = {stage.id: stage for stage in stages}
    vehicles = {stage.vehicle_id for stage in stages}
    with bench.database.reading() as records:
        cells = reading_cells(records, names, (Measurand.SLACK,), vehicles)
    for stage_id, total_use, day, value, definition in cells:
        if stage_id not in wanted or value is None:
            continue
        how = (definition or wanted[stage_id].slack_definition).casefold()
        # A gap to the swing-arm is no movement; nothing follows from it without the geometry of the arm.
        if "gap" not in how:
            one_way = "one way" in how or "one-way" in how
            latest[stage_id] = _Slack(value, total_use, date.fromordinal(day), one_way)
    for vehicle_id in {wanted[stage_id].vehicle_id for stage_id in latest}:
        for visit in state.visits_of.get(vehicle_id, ()):
            for done in visit.tasks:
                if done.task is not Task.TENSION_SET or done.after is None or done.quantity_unit != "mm":
                    continue
                before = latest.get(done.stage_id or 0)
                if before is not None and visit.on >= before.on:
                    latest[done.stage_id or 0] = replace(
                        before, movement_mm=done.after, total_use=visit.total_use, on=visit.on
                    )
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


@dataclass(frozen=True, slots=True)
class _Job:
    """A chain, and the growth of which it is asked when it will have come."""

    stage: Stage
    run: Installation
    growth: _Growth
    outlook: Outlook
    use: VehicleUse


@dataclass(frozen=True, slots=True)
class _When:
    """Distance (forecast's unit) and ordinal days at which a growth will have come; chance that it has."""

    x: NDArray[np.float64]
    due: float
    days: list[float]
    past: float


def _lines(state: FleetState, jobs: Sequence[_Job], today: date) -> list[DueLine]:
    """Return the lines of all jobs, the numbers worked out for a family at a time."""
    if not jobs:
        return []
    x, even = _crossings(jobs)
    ahead = [job.outlook.item.ahead_of(job.use.last_use, row) for job, row in zip(jobs, even, strict=True)]
    dates = dates_of([job.use for job in jobs], np.array(ahead))
    last_day = dates.last_entry_day
    due = last_day + dates.days_at([state.policy.caution_level])[:, 0]
    days = last_day[:, None] + dates.days_at(EARLY_LIKELY_LATE)
    past = dates.cdf(np.maximum(today.toordinal() - last_day, 0).astype(np.float64))
    whens = (_When(x[n], float(due[n]), days[n].tolist(), float(past[n])) for n in range(len(jobs)))
    lines = (_line(state, job, when, today) for job, when in zip(jobs, whens, strict=True))
    return [line for line in lines if line is not None]


def _crossings(jobs: Sequence[_Job]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return early, likely and late distance of each growth, and equally likely ones."""
    x = np.empty((len(jobs), len(EARLY_LIKELY_LATE)))
    evens: dict[int, NDArray[np.float64]] = {}
    by_family: dict[int, list[int]] = defaultdict(list)
    for n, job in enumerate(jobs):
        item, growth = job.outlook.item, job.growth
        if growth.elongation > 0.0:
            by_family[id(job.outlook.family)].append(n)
            continue
        now = item.x_at(job.use.last_use)
        x[n] = min(item.x_at(growth.total_use), now)
        evens[n] = np.full(EVEN_CROSSINGS, now)
    for rows in by_family.values():
        posterior = _growth([jobs[n] for n in rows])
        x[rows] = crossing_quantiles(posterior, EARLY_LIKELY_LATE)
        evens |= dict(zip(rows, equally_likely_crossings(posterior, EVEN_CROSSINGS), strict=True))
    return x, np.array([evens[n] for n in range(len(jobs))])


def _line(state: FleetState, job: _Job, when: _When, today: date) -> DueLine | None:
    stage, run, growth, outlook, use = job.stage, job.run, job.growth, job.outlook, job.use
    item = outlook.item
    level = state.policy.caution_level
    due_on = day_of(when.due)
    if due_on is None:
        return None
    days, past = when.days, when.past
    vehicle = state.vehicles[stage.vehicle_id]
    reach = [one if math.isfinite(one) else None for one in (item.use_of(when.x) - item.offset).tolist()]
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
        early_on=day_of(days[0]),
        likely_on=day_of(days[1]),
        late_on=day_of(days[2]),
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
    if span_mm is None or links is None or slack.movement_mm < 0.0:
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
    uses: Mapping[int, VehicleUse],
    found: Mapping[tuple[int, Measurand], Outlook],
    today: date,
    stages: Collection[Stage],
) -> list[DueLine]:
    """Return a line for every chain of some stages whose adjuster will end before the chain is worn."""
    latest = _latest_adjuster(bench, stages)
    jobs = []
    for stage in stages:
        reading = latest.get(stage.id)
        chain = None if reading is None else _running_chain(state, stage, found)
        if reading is None or chain is None:
            continue
        run, outlook = chain
        growth = _adjuster_growth(state, stage, run, reading, outlook)
        if growth is not None:
            jobs.append(_Job(stage, run, growth, outlook, uses[stage.vehicle_id]))
    # An adjuster that outlasts the chain is nobody's worry.
    worn = {job.stage.id: job.outlook.due_day for job in jobs}
    return [line for line in _lines(state, jobs, today) if line.due_on.toordinal() < worn[line.stage_id]]


@dataclass(frozen=True, slots=True)
class _Adjuster:
    """Where an adjuster stood, mm, at a total use (km or h), on a day."""

    position_mm: float
    total_use: float
    on: date


def _latest_adjuster(bench: Bench, stages: Collection[Stage]) -> dict[int, _Adjuster]:
    """Return the adjuster position last read on each of some stages."""
    names = ("stage_id", "value", "total_use", "on")
    vehicles = {stage.vehicle_id for stage in stages}
    with bench.database.reading() as records:
        cells = reading_cells(records, names, (Measurand.ADJUSTER_POSITION,), vehicles)
    return {
        stage_id: _Adjuster(value, total_use, date.fromordinal(day))
        for stage_id, value, total_use, day in cells
        if value is not None
    }


def _adjuster_growth(
    state: FleetState, stage: Stage, run: Installation, reading: _Adjuster, outlook: Outlook
) -> _Growth | None:
    range_mm = stage.adjuster_range_mm
    if range_mm is None or reading.total_use < run.fitted_use:
        return None
    left_mm = max(range_mm - reading.position_mm, 0.0)
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
            last_value=reading.position_mm,
            limit_value=range_mm,
            limit_source=_("geometry of this drive, the chain not climbing the teeth"),
            advice=f"{removal.text} {removal.warning}",
            advice_source=removal.source,
        ),
    )


def _growth(jobs: Sequence[_Job]) -> Posterior:
    """Return the wear of chains of a family from when it was last adjusted, its limit the growth needed."""
    family = jobs[0].outlook.family
    posterior = family.fit.posterior.take([job.outlook.row for job in jobs])
    return replace(
        posterior,
        mean=np.zeros_like(posterior.mean),
        variance=np.full_like(posterior.variance, 1e-12),
        x_last=np.array([job.outlook.item.x_at(job.growth.total_use) for job in jobs]),
        limit=np.array([job.growth.elongation / job.outlook.item.span for job in jobs]),
    )
