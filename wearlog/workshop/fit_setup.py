"""A plan turned into what is fitted: old parts closed, new ones opened, the visit and the meter, at once."""

from dataclasses import dataclass, replace
from datetime import date
from gettext import gettext as _

from wearlog.drive.demands import demand_not_negative, demand_positive
from wearlog.drive.setup import Wheel
from wearlog.fleet.fitting import Installation, Position, RemovalReason
from wearlog.fleet.meter import MeterEntry, MeterEvent, check_meter_value
from wearlog.fleet.parts import DriveKind, Part, PartKind, PartType
from wearlog.fleet.problem import Findings, Problem, WearlogError
from wearlog.fleet.service import Task, TaskDone, Visit
from wearlog.fleet.vehicle import Stage
from wearlog.store.records import Records
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.compare_limits import closes
from wearlog.workshop.compare_part_types import wheel_type
from wearlog.workshop.compare_setups import plan, setup_snapshot
from wearlog.workshop.compare_snapshot import (
    ComparisonSnapshot,
    PlanField,
    SetupDraft,
    SetupSnapshot,
    StageSetup,
    run_key,
)
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.stock_use import take_from_shelf

#: Why old parts come off where a plan is fitted; a part that moves on is taken off elsewhere.
REASONS = (
    RemovalReason.CONVERSION,
    RemovalReason.WORN,
    RemovalReason.EARLY,
    RemovalReason.DAMAGED,
    RemovalReason.OTHER,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitting:
    """How a plan was fitted, beside date, meter and person.

    Attributes
    ----------
    reason
        Why the old parts came off.
    meter_text
        The meter as it was typed.
    set_to
        Slack of the chain (mm) or tension of the belt (N) that was set; None if not said.
    notes
        Of the visit.
    """

    reason: RemovalReason = RemovalReason.CONVERSION
    meter_text: str = ""
    set_to: float | None = None
    notes: str = ""


def fit_setup(
    bench: Bench,
    draft: SetupDraft,
    on: date,
    meter_value: float | None,
    by: str = "",
    fitting: Fitting | None = None,
) -> Changes:
    """Fit what is planned: visit, meter, old parts off, new ones on, the stage itself, in one transaction.

    Parameters
    ----------
    draft
        The plan.
    on, meter_value, by
        The day, what the meter showed in km (h on hour meters), and who did it.
    fitting
        The rest of what is said about it.

    Raises
    ------
    WearlogError
        All problems at once; then nothing was saved.
    """
    how = fitting or Fitting()
    state = fleet_state(bench)
    snapshot = setup_snapshot(bench, draft.vehicle_id)
    one = snapshot.stage(draft.stage_id)
    findings = Findings()
    compared: ComparisonSnapshot | None = None
    try:
        compared = plan(snapshot, draft)
        findings.problems.extend(plan_problems(snapshot, compared))
    except WearlogError as error:
        findings.problems.extend(error.problems)
    total_use = _total_use(findings, state, snapshot, on, meter_value, how)
    _check_times(findings, snapshot, one, compared, on, total_use)
    _check_set(findings, draft, how)
    findings.raise_if_any()
    if compared is None or one is None or total_use is None or meter_value is None:
        # Every way here has left a problem behind.
        message = "a plan without problems has everything"
        raise ValueError(message)
    visit = Visit(
        vehicle_id=draft.vehicle_id,
        on=on,
        total_use=total_use,
        by=by or bench.by,
        tasks=_tasks(one, compared, how),
        notes=how.notes,
    )
    return _write(bench, state, one, compared, visit, meter_value, how)


# --- checking


def plan_problems(snapshot: SetupSnapshot, compared: ComparisonSnapshot) -> tuple[Problem, ...]:
    """Return why a plan that can be worked out can still not be fitted; empty if it can."""
    findings = Findings()
    figures, draft = compared.conversion.after, compared.draft
    if not compared.is_changed:
        findings.add(
            _("The plan is what is fitted now."),
            snapshot.vehicle.tag,
            _("Change teeth, chain or belt, or tick what goes on new."),
        )
    if draft.pitches is None:
        what = (
            _("The number of links is missing.")
            if draft.drive is DriveKind.CHAIN
            else _("The number of belt teeth is missing.")
        )
        findings.add(what, PlanField.PITCHES, _("Say how long the one is that goes on."))
    if not closes(figures):
        remark = next((r.text for r in figures.remarks if r.kind.value == "does not close"), "")
        findings.add(
            remark, PlanField.PITCHES, _("Choose another length, or correct centre distance and adjuster.")
        )
    return tuple(findings.problems)


def _total_use(
    findings: Findings,
    state: FleetState,
    snapshot: SetupSnapshot,
    on: date,
    meter_value: float | None,
    how: Fitting,
) -> float | None:
    tag, history = snapshot.vehicle.tag, state.histories[snapshot.vehicle.id]
    if on > snapshot.today:
        findings.add(_("The date lies ahead."), tag, _("Give the day on which it was fitted."))
    if meter_value is None:
        findings.add(_("The meter value is missing."), tag, _("Read the meter and type what it shows."))
        return None
    try:
        unit = snapshot.meter_unit.use_unit
        check_meter_value(tag, history, meter_value, on, unit, how.meter_text)
    except WearlogError as error:
        findings.problems.extend(error.problems)
        return None
    return history.total_for(meter_value, on)


def _check_times(
    findings: Findings,
    snapshot: SetupSnapshot,
    one: StageSetup | None,
    compared: ComparisonSnapshot | None,
    on: date,
    total_use: float | None,
) -> None:
    """Refuse to take a part off before it came on."""
    if one is None or compared is None:
        return
    for part in one.installed:
        is_early = on < part.installation.fitted_on or (
            total_use is not None and total_use < part.installation.fitted_use
        )
        if part.position in compared.fitted and is_early:
            what = _("{part} came on only on {day}.").format(
                part=part.text, day=part.installation.fitted_on.isoformat()
            )
            findings.add(what, snapshot.vehicle.tag, _("Check the date and the meter value."))


def _check_set(findings: Findings, draft: SetupDraft, how: Fitting) -> None:
    if how.set_to is None:
        return
    try:
        if draft.drive is DriveKind.CHAIN:
            demand_not_negative(how.set_to, _("slack"), "mm")
        else:
            demand_positive(how.set_to, _("belt tension"), "N")
    except WearlogError as error:
        findings.problems.extend(replace(problem, where=PlanField.TENSION) for problem in error.problems)


# --- writing


def _tasks(one: StageSetup, compared: ComparisonSnapshot, how: Fitting) -> tuple[TaskDone, ...]:
    stage_id = one.stage.id
    done = [
        TaskDone(task=Task.PART_REMOVED, stage_id=stage_id, note=part.text)
        for part in one.installed
        if part.position in compared.fitted
    ]
    for position in _in_order(compared.fitted):
        text = fitted_text(compared.draft, position)
        done.append(TaskDone(task=Task.PART_FITTED, stage_id=stage_id, note=text))
    links = _links_taken_out(one, compared)
    if links is not None:
        note = _("from {before} to {after} links").format(before=links[0], after=links[1])
        done.append(TaskDone(task=Task.LINKS_REMOVED, stage_id=stage_id, note=note))
    if how.set_to is not None:
        unit = "mm" if compared.after.is_chain else "N"
        done.append(TaskDone(task=Task.TENSION_SET, stage_id=stage_id, after=how.set_to, quantity_unit=unit))
    return tuple(done)


def _in_order(positions: frozenset[Position]) -> list[Position]:
    order = (Position.RUN, Position.DRIVER, Position.DRIVEN)
    return [position for position in order if position in positions]


def fitted_text(draft: SetupDraft, position: Position) -> str:
    """Return what a plan puts on at a position, in a few words."""
    run = draft.run
    designation = "" if run is None else run.designation
    is_chain = draft.drive is DriveKind.CHAIN
    if position is Position.RUN:
        text = _("{designation} chain, {n} links") if is_chain else _("{designation} belt, {n} teeth")
        return text.format(designation=designation, n=draft.pitches)
    place = _("driver") if position is Position.DRIVER else _("driven")
    noun = _("sprocket") if is_chain else _("pulley")
    return _("{place} {noun} {designation}, {n} teeth").format(
        place=place, noun=noun, designation=designation, n=draft.teeth(position)
    )


def _links_taken_out(one: StageSetup, compared: ComparisonSnapshot) -> tuple[int, int] | None:
    """Return links before and after where the chain that is on stays and gets shorter."""
    before = None if one.setup is None else one.setup.links
    after = compared.draft.pitches
    if Position.RUN in compared.fitted or not compared.after.is_chain or before is None or after is None:
        return None
    return (before, after) if after < before else None


def _write(
    bench: Bench,
    state: FleetState,
    one: StageSetup,
    compared: ComparisonSnapshot,
    visit: Visit,
    meter_value: float,
    how: Fitting,
) -> Changes:
    vehicle = state.vehicles[visit.vehicle_id]
    what = _("Set-up of {tag}, {stage} fitted").format(tag=vehicle.tag, stage=one.stage.name)
    touched: set[int] = set()
    with bench.database.writing(by=visit.by, at=bench.now(), what=what) as records:
        kept = records.add(visit)
        _write_meter(records, state, kept, meter_value, how.meter_text)
        for part in one.installed:
            if part.position in compared.fitted:
                records.replace(_closed(part.installation, kept, how.reason))
                touched.add(part.installation.id)
        for position in _in_order(compared.fitted):
            touched.add(_fit_new(records, compared.draft, position, kept, vehicle.depot).id)
        links = _links_taken_out(one, compared)
        run = one.part(Position.RUN)
        if links is not None and run is not None:
            records.replace(replace(run.installation, links=links[1]))
            touched.add(run.installation.id)
        records.replace(_stage_after(one.stage, compared))
        change_id = records.change_id
    return Changes(what, change_id, frozenset({vehicle.id}), frozenset(touched))


def _write_meter(
    records: Records, state: FleetState, visit: Visit, meter_value: float, meter_text: str
) -> None:
    """Keep what the meter showed, unless that day's value is known already."""
    is_known = any(
        entry.on == visit.on and entry.event is MeterEvent.READ and abs(entry.value - meter_value) < 1e-9
        for entry in state.entries_of.get(visit.vehicle_id, ())
    )
    if not is_known:
        records.add(
            MeterEntry(
                vehicle_id=visit.vehicle_id,
                on=visit.on,
                value=meter_value,
                typed=meter_text,
                visit_id=visit.id,
                by=visit.by,
            )
        )


def _closed(old: Installation, visit: Visit, reason: RemovalReason) -> Installation:
    return replace(old, removed_on=visit.on, removed_use=visit.total_use, removal_reason=reason)


def _fit_new(
    records: Records, draft: SetupDraft, position: Position, visit: Visit, depot: str
) -> Installation:
    part_type = _run_type(records, draft) if position is Position.RUN else _wheel(records, draft, position)
    part = records.add(Part(part_type_id=part_type.id, cost=part_type.price))
    is_chain = position is Position.RUN and draft.drive is DriveKind.CHAIN
    new = records.add(
        Installation(
            part_id=part.id,
            vehicle_id=draft.vehicle_id,
            stage_id=draft.stage_id,
            position=position,
            fitted_on=visit.on,
            fitted_use=visit.total_use,
            links=draft.pitches if is_chain else None,
        )
    )
    take_from_shelf(records, new, part_type.id, depot, visit)
    return new


def _run_type(records: Records, draft: SetupDraft) -> PartType:
    """Return the type of the chain or belt; made from the one chosen if the workshop has none so long."""
    run = _demanded(draft)
    is_chain = run.kind is PartKind.CHAIN
    same = [
        one
        for one in records.all(PartType, designation=run.designation, wear_class=run.wear_class)
        if run_key(one) == run_key(run) and (one.links if is_chain else one.teeth) == draft.pitches
    ]
    if same:
        return same[0]
    text = _("{name}, {n} links") if is_chain else _("{name}, {n} teeth")
    return records.add(
        replace(
            run,
            id=0,
            version=0,
            name=_free_name(records, text.format(name=_kind_text(run), n=draft.pitches)),
            links=draft.pitches if is_chain else None,
            teeth=None if is_chain else draft.pitches,
            price=None,
        )
    )


def _wheel(records: Records, draft: SetupDraft, position: Position) -> PartType:
    """Return the type of a sprocket or pulley; made for the chain or belt if the workshop has none."""
    run, teeth = _demanded(draft), draft.teeth(position)
    wanted = wheel_type(run, teeth)
    same = [
        one
        for one in records.all(PartType, kind=wanted.kind, teeth=teeth)
        if run.designation in {one.chain, one.designation} and abs(one.pitch_mm - run.pitch_mm) < 1e-6
    ]
    if same:
        return same[0]
    noun = _("Sprocket") if wanted.kind is PartKind.SPROCKET else _("Pulley")
    name = _("{noun} {designation}, {teeth} teeth").format(
        noun=noun, designation=run.designation, teeth=teeth
    )
    return records.add(replace(wanted, name=_free_name(records, name)))


def _demanded(draft: SetupDraft) -> PartType:
    if draft.run is None:
        raise WearlogError(*draft.missing)
    return draft.run


def _kind_text(run: PartType) -> str:
    """Return what sort of chain or belt it is: all chains of a designation but for their length."""
    if run.kind is PartKind.BELT:
        width = "" if run.width_mm is None else _(", {mm:g} mm wide").format(mm=run.width_mm)
        return _("Belt {designation}{width}").format(designation=run.designation, width=width)
    return _("Chain {designation}, {kind}").format(designation=run.designation, kind=run.wear_class.value)


def _free_name(records: Records, name: str) -> str:
    """Return a name that no other part type has."""
    taken = {one.name for one in records.all(PartType)}
    names = (name, *(f"{name} ({n})" for n in range(2, len(taken) + 3)))
    return next(one for one in names if one not in taken)


def _stage_after(stage: Stage, compared: ComparisonSnapshot) -> Stage:
    """Return the stage as it is once the plan is fitted."""
    draft, before = compared.draft, compared.before
    is_same_geometry = all(
        (
            before.drive is draft.drive,
            before.pitch_mm == compared.after.pitch_mm,
            *(before.teeth(wheel) == compared.after.teeth(wheel) for wheel in Wheel),
            stage.centre_distance_mm == draft.centre_distance_mm,
        )
    )
    definition = stage.slack_definition
    if draft.drive is DriveKind.CHAIN and not definition:
        # Slack readings compare only where it is said what was measured.
        definition = _("slack run, total")
    return replace(
        stage,
        drive=draft.drive,
        centre_distance_mm=draft.centre_distance_mm,
        adjuster_range_mm=draft.adjuster_range_mm,
        span_mm=stage.span_mm if is_same_geometry else None,
        slack_definition=definition,
    )
