"""What a stage is made of: now, and at any time of its past."""

from collections.abc import Sequence
from gettext import gettext as _

from wearlog.drive.catalogue import catalogue, pin_diameters_mm, pitch_differentials_mm
from wearlog.drive.setup import DriveSetup
from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.parts import DriveKind, PartKind, PartType
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.vehicle import Stage
from wearlog.workshop.compare_snapshot import RunChoice, run_key
from wearlog.workshop.fleet_state import FleetState


def setup_of(
    state: FleetState,
    stage: Stage,
    installed: Sequence[Installation] | None = None,
    adjuster_mm: float | None = None,
) -> DriveSetup:
    """Return what a stage is made of.

    Parameters
    ----------
    installed
        The parts that count; what is fitted now if None.
    adjuster_mm
        Where the adjuster stands, counted from its front end; there if not known.

    Raises
    ------
    WearlogError
        If the chain or belt, or the teeth of a wheel, are not known; or the figures can't be.
    """
    parts = state.current_on(stage.id) if installed is None else installed
    types = {i.position: state.part_type_of(i) for i in parts}
    run, driver, driven = (
        types.get(position) for position in (Position.RUN, Position.DRIVER, Position.DRIVEN)
    )
    if run is None or driver is None or driven is None or not driver.teeth or not driven.teeth:
        raise WearlogError(
            Problem(
                _("Not all parts of this stage are known with their teeth."),
                f"{state.vehicles[stage.vehicle_id].tag}, {stage.name}",
                _("Fit a chain or belt and both wheels, each with its number of teeth."),
                kind=ProblemKind.NOT_FOUND,
            )
        )
    fitted = next(i for i in parts if i.position is Position.RUN)
    return _setup(state, stage, run, (driver.teeth, driven.teeth), fitted, adjuster_mm)


def _setup(
    state: FleetState,
    stage: Stage,
    run: PartType,
    teeth: tuple[int, int],
    fitted: Installation,
    adjuster_mm: float | None,
) -> DriveSetup:
    is_chain = run.kind is PartKind.CHAIN
    front = stage.centre_distance_mm
    rear = None if front is None or stage.adjuster_range_mm is None else front + stage.adjuster_range_mm
    circumference, ratio_behind = _behind(state, stage)
    return DriveSetup(
        drive=DriveKind.CHAIN if is_chain else DriveKind.BELT,
        pitch_mm=run.pitch_mm,
        driver_teeth=teeth[0],
        driven_teeth=teeth[1],
        links=(fitted.links or run.links) if is_chain else None,
        belt_teeth=None if is_chain else run.teeth,
        centre_distance_mm=None if front is None else front + (adjuster_mm or 0.0),
        adjuster_front_mm=front if rear is not None else None,
        adjuster_rear_mm=rear,
        roller_diameter_mm=run.roller_diameter_mm,
        # "08B-1" is the single-strand "08B" of the tables.
        pin_diameter_mm=pin_diameters_mm().get(run.designation.removesuffix("-1")) if is_chain else None,
        bearing_width_mm=run.inner_width_mm if is_chain else None,
        belt_width_mm=None if is_chain else run.width_mm,
        mass_kg_per_m=run.mass_kg_per_m,
        pitch_differential_mm=None if is_chain else pitch_differentials_mm().get(run.designation),
        wheel_circumference_mm=circumference,
        ratio_behind=ratio_behind,
        rated_input_rpm=stage.rated_input_rpm,
        rated_power_kw=stage.rated_power_kw,
    )


def _behind(state: FleetState, stage: Stage) -> tuple[float | None, float]:
    """Return the road wheel's circumference, and the ratio between this stage and the wheel."""
    ratio = 1.0
    circumference = stage.wheel_circumference_mm
    for later in state.stages_of.get(stage.vehicle_id, ()):
        if later.order <= stage.order:
            continue
        teeth = {i.position: state.part_type_of(i).teeth for i in state.current_on(later.id)}
        driver, driven = teeth.get(Position.DRIVER), teeth.get(Position.DRIVEN)
        if not driver or not driven:
            return None, 1.0
        ratio *= driven / driver
        circumference = later.wheel_circumference_mm or circumference
    return circumference, ratio


def installed_at(state: FleetState, stage_id: int, total_use: float) -> tuple[Installation, ...]:
    """Return what was fitted to a stage at a total use of its vehicle, one part a position."""
    found: dict[Position, Installation] = {}
    for installation in state.installed_on.get(stage_id, ()):
        end = float("inf") if installation.removed_use is None else installation.removed_use
        if installation.fitted_use <= total_use < end:
            found[installation.position] = installation
    return tuple(found.values())


def run_choices(state: FleetState) -> tuple[RunChoice, ...]:
    """Return each chain and belt once: the workshop's own first, then those of the standards."""
    runs = {PartKind.CHAIN, PartKind.BELT}
    found: dict[object, RunChoice] = {}
    own = [one for one in state.part_types.values() if one.kind in runs]
    for one in sorted(own, key=lambda one: (one.designation, one.wear_class, one.id)):
        found.setdefault(run_key(one), RunChoice(one, is_own=True))
    for one in catalogue():
        if one.kind in runs:
            found.setdefault(run_key(one), RunChoice(one, is_own=False))
    return tuple(found.values())
