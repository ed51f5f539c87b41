"""A stage beside what is planned for it: figures at once, life at this fleet's rates on request."""

import math
from collections.abc import Callable
from dataclasses import replace
from gettext import gettext as _

from wearlog.drive.catalogue import pin_diameters_mm, pitch_differentials_mm
from wearlog.drive.conversion import Conversion, LineConversion, compare_lines
from wearlog.drive.conversion import compare as compare_stages
from wearlog.drive.demands import demand_positive, demand_teeth
from wearlog.drive.describing import describe
from wearlog.drive.setup import DriveSetup, Wheel, centre_for_pitches, pitches_at
from wearlog.fleet.fitting import Position
from wearlog.fleet.parts import DriveKind, PartKind, PartType
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.progress import Progress
from wearlog.fleet.vehicle import Stage
from wearlog.workshop.bench import Bench
from wearlog.workshop.compare_limits import governing_of
from wearlog.workshop.compare_snapshot import (
    ComparisonSnapshot,
    FittedPart,
    PlanField,
    SetupDraft,
    SetupSnapshot,
    StageSetup,
    run_key,
)
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.people import people
from wearlog.workshop.setups import run_choices, setup_of

#: The chain or belt of a stage can't be measured for longer; anything above is a slip of the keys.
MOST_PITCHES = 1000
MOST_TEETH = 400
#: Rollers this close run on the same teeth, [mm].
SAME_ROLLER_MM = 0.05


def setup_snapshot(bench: Bench, vehicle_id: int) -> SetupSnapshot:
    """Return the drive of a vehicle stage by stage, and the chains and belts to choose from.

    Raises
    ------
    WearlogError
        If there is no such vehicle.
    """
    state = fleet_state(bench)
    vehicle = state.vehicles.get(vehicle_id)
    if vehicle is None:
        raise WearlogError(
            Problem(
                _("This vehicle is not in the fleet."),
                todo=_("Choose another one."),
                kind=ProblemKind.NOT_FOUND,
            )
        )
    history = state.histories[vehicle_id]
    return SetupSnapshot(
        vehicle=vehicle,
        stages=tuple(_stage_setup(state, stage) for stage in state.stages_in_service(vehicle_id)),
        choices=run_choices(state),
        rules=state.rules,
        limits=state.limits,
        people=people(bench),
        today=bench.today(),
        last_meter=None if history.last is None else history.last.total_use - history.offset,
        last_meter_on=None if history.last is None else history.last.on,
    )


def _stage_setup(state: FleetState, stage: Stage) -> StageSetup:
    installed = tuple(
        FittedPart(i, state.part_type_of(i), state.part_text(i)) for i in state.current_on(stage.id)
    )
    try:
        setup = setup_of(state, stage)
        return StageSetup(stage, installed, setup, describe(setup))
    except WearlogError as error:
        return StageSetup(stage, installed, None, None, _missing(installed, error.problems[0]))


def _missing(installed: tuple[FittedPart, ...], problem: Problem) -> Problem:
    """Name the parts that nobody entered, where that is why a stage is not known."""
    if problem.kind is not ProblemKind.NOT_FOUND:
        return problem
    known = {part.position: part for part in installed}
    words = {
        Position.RUN: _("the chain or belt"),
        Position.DRIVER: _("the driver"),
        Position.DRIVEN: _("the driven wheel"),
    }
    gone = [text for position, text in words.items() if position not in known]
    gone += [
        _("the teeth of {part}").format(part=words[position])
        for position in (Position.DRIVER, Position.DRIVEN)
        if position in known and not known[position].part_type.teeth
    ]
    return replace(problem, what=_("Not known of this stage: {parts}.").format(parts=", ".join(gone)))


def draft_of(snapshot: SetupSnapshot, stage_id: int) -> SetupDraft | None:
    """Return the plan that changes nothing; None for a stage whose parts are not known."""
    one = snapshot.stage(stage_id)
    run = None if one is None else one.part(Position.RUN)
    if one is None or one.setup is None or run is None:
        return None
    return SetupDraft(
        vehicle_id=snapshot.vehicle.id,
        stage_id=stage_id,
        drive=one.setup.drive,
        run=run.part_type,
        pitches=one.setup.loop_pitches,
        driver_teeth=one.setup.driver_teeth,
        driven_teeth=one.setup.driven_teeth,
        centre_distance_mm=one.stage.centre_distance_mm,
        adjuster_range_mm=one.stage.adjuster_range_mm,
    )


def planned_setup(one: StageSetup, draft: SetupDraft) -> DriveSetup:
    """Return the stage as it is planned.

    Raises
    ------
    WearlogError
        With all that is missing or can't be; `Problem.where` is the `PlanField`.
    """
    problems = [*draft.missing, *_slips(draft)]
    if draft.run is None or draft.driver_teeth is None or draft.driven_teeth is None or problems:
        raise WearlogError(*problems)
    front = draft.centre_distance_mm
    rear = None if front is None or draft.adjuster_range_mm is None else front + draft.adjuster_range_mm
    is_chain = draft.drive is DriveKind.CHAIN
    run, now = draft.run, one.setup
    try:
        setup = DriveSetup(
            drive=draft.drive,
            pitch_mm=run.pitch_mm,
            driver_teeth=draft.driver_teeth,
            driven_teeth=draft.driven_teeth,
            links=draft.pitches if is_chain else None,
            belt_teeth=None if is_chain else draft.pitches,
            centre_distance_mm=front,
            adjuster_front_mm=front if rear is not None else None,
            adjuster_rear_mm=rear,
            roller_diameter_mm=run.roller_diameter_mm if is_chain else None,
            pin_diameter_mm=pin_diameters_mm().get(run.designation) if is_chain else None,
            bearing_width_mm=run.inner_width_mm if is_chain else None,
            belt_width_mm=None if is_chain else run.width_mm,
            mass_kg_per_m=run.mass_kg_per_m,
            pitch_differential_mm=None if is_chain else pitch_differentials_mm().get(run.designation),
            tension_n=None if is_chain else draft.tension_n,
            wheel_circumference_mm=None if now is None else now.wheel_circumference_mm,
            ratio_behind=1.0 if now is None else now.ratio_behind,
            rated_input_rpm=one.stage.rated_input_rpm,
            rated_power_kw=one.stage.rated_power_kw,
        )
    except WearlogError as error:
        raise WearlogError(*(replace(p, where=_field_of(p.where)) for p in error.problems)) from error
    _demand_it_goes_together(setup)
    return setup


def _slips(draft: SetupDraft) -> list[Problem]:
    """Return counts that nobody means."""
    asked = (
        (PlanField.DRIVER, draft.driver_teeth, MOST_TEETH),
        (PlanField.DRIVEN, draft.driven_teeth, MOST_TEETH),
        (PlanField.PITCHES, draft.pitches, MOST_PITCHES),
    )
    found = [
        Problem(
            _("{n} are more than any drive of this kind has.").format(n=value),
            field,
            _("Check the digits; up to {most} are taken.").format(most=most),
        )
        for field, value, most in asked
        if value is not None and value > most
    ]
    found += _not_above_zero(draft)
    if draft.adjuster_range_mm is not None and draft.adjuster_range_mm < 0.0:
        what = _("The adjuster cannot travel {mm:g} mm.").format(mm=draft.adjuster_range_mm)
        found.append(Problem(what, PlanField.ADJUSTER, _("Give its travel to the rear, or nothing.")))
    if draft.adjuster_range_mm is not None and draft.centre_distance_mm is None:
        what = _("The adjuster’s travel counts from a centre distance, which is missing.")
        found.append(Problem(what, PlanField.CENTRE, _("Give the centre distance at its front end.")))
    return found


def _not_above_zero(draft: SetupDraft) -> list[Problem]:
    """Return figures that can't be by themselves, whatever the others are."""
    asked: tuple[tuple[PlanField, str, float | None, str], ...] = (
        (PlanField.PITCHES, _("number of links or belt teeth"), draft.pitches, ""),
        (PlanField.CENTRE, _("centre distance"), draft.centre_distance_mm, "mm"),
        (PlanField.TENSION, _("belt tension"), draft.tension_n, "N"),
    )
    found: list[Problem] = []
    for field, teeth in ((PlanField.DRIVER, draft.driver_teeth), (PlanField.DRIVEN, draft.driven_teeth)):
        if teeth is not None:
            found += _refused(field, demand_teeth, teeth)
    for field, name, value, unit in asked:
        if value is not None:
            found += _refused(field, demand_positive, value, name, unit)
    return found


def _refused(field: PlanField, demand: Callable[..., object], *given: object) -> list[Problem]:
    """Return what a demand or an equation refuses, with the field that it is about."""
    try:
        demand(*given)
    except WearlogError as error:
        return [replace(problem, where=field) for problem in error.problems]
    return []


def _field_of(where: str) -> PlanField:
    """Return the field that a refused figure was typed in."""
    return {
        _("teeth of the driver"): PlanField.DRIVER,
        _("teeth of the driven wheel"): PlanField.DRIVEN,
        _("number of links"): PlanField.PITCHES,
        _("number of belt teeth"): PlanField.PITCHES,
        _("centre distance"): PlanField.CENTRE,
        _("front end of the adjuster"): PlanField.CENTRE,
        _("rear end of the adjuster"): PlanField.ADJUSTER,
        _("adjuster"): PlanField.ADJUSTER,
        _("belt tension"): PlanField.TENSION,
    }.get(where, PlanField.RUN)


def _demand_it_goes_together(setup: DriveSetup) -> None:
    """Refuse wheels that touch and a chain or belt that does not go round, each at its own field."""
    problems: list[Problem] = []
    if setup.centre_distance_mm is not None:
        problems += _refused(PlanField.CENTRE, pitches_at, setup, setup.centre_distance_mm)
    if setup.loop_pitches is not None:
        problems += _refused(PlanField.PITCHES, centre_for_pitches, setup, setup.loop_pitches)
    if problems:
        raise WearlogError(*problems)


def parts_fitted(one: StageSetup, draft: SetupDraft) -> frozenset[Position]:
    """Return where a new part goes on; a shorter chain of the same kind is the old one with links out."""
    run = one.part(Position.RUN)
    found = set(draft.renewed)
    if draft.run is not None and (run is None or _is_other_run(run.part_type, one, draft)):
        found.add(Position.RUN)
    for position in (Position.DRIVER, Position.DRIVEN):
        part = one.part(position)
        if part is None or _is_other_wheel(part.part_type, position, draft):
            found.add(position)
    return frozenset(found)


def _is_other_run(now: PartType, one: StageSetup, draft: SetupDraft) -> bool:
    if draft.run is None or run_key(now) != run_key(draft.run):
        return True
    known = None if one.setup is None else one.setup.loop_pitches
    if draft.pitches is None or known is None:
        return False
    return draft.pitches > known or (draft.drive is DriveKind.BELT and draft.pitches != known)


def _is_other_wheel(now: PartType, position: Position, draft: SetupDraft) -> bool:
    kind = PartKind.SPROCKET if draft.drive is DriveKind.CHAIN else PartKind.PULLEY
    if now.kind is not kind or draft.run is None or now.teeth != draft.teeth(position):
        return True
    rollers = (now.roller_diameter_mm, draft.run.roller_diameter_mm)
    is_same_roller = None in rollers or math.isclose(
        rollers[0] or 0.0, rollers[1] or 0.0, abs_tol=SAME_ROLLER_MM
    )
    return not (math.isclose(now.pitch_mm, draft.run.pitch_mm, abs_tol=1e-6) and is_same_roller)


def plan(snapshot: SetupSnapshot, draft: SetupDraft) -> ComparisonSnapshot:
    """Return a stage beside a plan, without the life at this fleet's rates: a matter of milliseconds.

    Raises
    ------
    WearlogError
        With all that is missing or can't be; `Problem.where` is the `PlanField`.
    """
    one = snapshot.stage(draft.stage_id)
    if one is None or one.setup is None:
        raise WearlogError(_not_known(one))
    after = planned_setup(one, draft)
    fitted = parts_fitted(one, draft)
    kept = [wheel for wheel in Wheel if Position(wheel.value) not in fitted]
    conversion, line = _conversion(snapshot, one, one.setup, after, kept)
    return ComparisonSnapshot(
        draft=draft,
        conversion=conversion,
        line=line,
        fitted=fitted,
        governing_before=governing_of(snapshot, one, conversion.before),
        governing_after=governing_of(snapshot, one, conversion.after, draft.run),
    )


def _not_known(one: StageSetup | None) -> Problem:
    if one is not None and one.missing is not None:
        return one.missing
    return Problem(
        _("This stage is no longer there."), todo=_("Open the page again."), kind=ProblemKind.NOT_FOUND
    )


def _conversion(
    snapshot: SetupSnapshot, one: StageSetup, before: DriveSetup, after: DriveSetup, kept: list[Wheel]
) -> tuple[Conversion, LineConversion | None]:
    kind = snapshot.vehicle.kind
    setups = [stage.setup for stage in snapshot.stages]
    known = [setup for setup in setups if setup is not None]
    if len(known) < len(setups):
        return compare_stages(before, after, snapshot.rules, kind, kept), None
    at = snapshot.stages.index(one)
    plans = [after if n == at else setup for n, setup in enumerate(known)]
    stays = [kept if n == at else list(Wheel) for n in range(len(known))]
    line = compare_lines(known, plans, snapshot.rules, kind, stays)
    return line.stages[at], line


def compare(bench: Bench, draft: SetupDraft, progress: Progress | None = None) -> ComparisonSnapshot:
    """Return a stage beside a plan, with the life of new parts at this fleet's rates and what to renew.

    Raises
    ------
    WearlogError
        With all that is missing or can't be; `Problem.where` is the `PlanField`.
    """
    # The forecast loads scipy, which the figures alone can do without.
    from wearlog.workshop.compare_lives import part_lives, renewal_advice  # noqa: PLC0415

    snapshot = setup_snapshot(bench, draft.vehicle_id)
    compared = plan(snapshot, draft)
    one = snapshot.stage(draft.stage_id)
    if one is None:
        raise WearlogError(_not_known(None))
    return replace(
        compared,
        lives=part_lives(bench, one, compared, progress),
        advice=renewal_advice(bench, one, compared, progress),
        is_estimated=True,
    )
