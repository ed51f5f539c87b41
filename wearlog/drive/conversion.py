"""A stage or a whole drive line before and after a change, side by side."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from gettext import gettext as _

from wearlog.drive.cautions import cautions_on
from wearlog.drive.demands import refusal
from wearlog.drive.describing import describe
from wearlog.drive.exposure import Exposure, exposure_of
from wearlog.drive.figures import SetupFigures
from wearlog.drive.line import DriveLine, in_series, overall
from wearlog.drive.remarks import Remark
from wearlog.drive.setup import DriveSetup, Wheel, centre_in_use
from wearlog.drive.upkeep import UpkeepChange, rechecks_after_fitting, upkeep_changes
from wearlog.fleet.quantity import CANONICAL_UNIT, Quantity
from wearlog.fleet.service import IntervalRule
from wearlog.fleet.vehicle import VehicleKind


class Compared(StrEnum):
    """A figure that is compared before and after."""

    RATIO = "ratio"
    OVERALL_RATIO = "overall ratio"
    ROAD_SPEED = "road speed"
    LOOP_SPEED = "chain or belt speed"
    PULL = "pull"
    WHEEL_PULL = "pull at the wheel"
    LENGTH_NEEDED = "pitches needed"
    LENGTH_CHOSEN = "pitches chosen"
    CENTRE_DISTANCE = "centre distance"
    SPAN = "span"
    ADJUSTER_USED = "adjuster travel used"
    ADJUSTER_LEFT = "adjuster travel left"
    SLACK = "slack to set"
    SLACK_SHOCK = "slack to set, rough or reversing"
    TENSION = "tension to set"
    FREQUENCY = "span frequency to set"
    ARTICULATIONS = "articulations of each joint"
    SLIDING = "sliding of each joint under load"
    DRIVER_VARIATION = "speed variation at the driver"
    DRIVEN_VARIATION = "speed variation at the driven wheel"
    DRIVER_IN_MESH = "teeth in mesh at the driver"
    DRIVEN_IN_MESH = "teeth in mesh at the driven wheel"


@dataclass(frozen=True, slots=True)
class ComparedRow:
    """One figure before and after.

    Attributes
    ----------
    what
        Which figure.
    before, after
        In `unit`; None where not known or without meaning for that kind of drive.
    unit
        Unit of both.
    quantity
        The quantity it is shown as; None if the unit has no choice.
    """

    what: Compared
    before: float | None
    after: float | None
    unit: str
    quantity: Quantity | None = None

    @property
    def change(self) -> float | None:
        """After less before, in `unit`."""
        return None if self.before is None or self.after is None else self.after - self.before

    @property
    def times(self) -> float | None:
        """After over before, [-]."""
        return None if not self.before or self.after is None else self.after / self.before


@dataclass(frozen=True, slots=True, kw_only=True)
class Conversion:
    """One stage before and after a change.

    Attributes
    ----------
    before, after
        All figures of both.
    rows
        The figures side by side.
    exposure
        Wear exposure of the chain after against before, by cause; None between chain and belt.
    life_factor
        Expected life of the chain after against before, [-]; None where nothing can be said.
    life_note
        What the factor rests on, or why there is none, in a sentence.
    upkeep
        Recurring tasks added or dropped.
    rechecks
        What is due once after the fitting; empty if nothing is fitted.
    cautions
        What to mind; empty if nothing is fitted.
    """

    before: SetupFigures
    after: SetupFigures
    rows: tuple[ComparedRow, ...]
    exposure: Exposure | None
    life_factor: float | None
    life_note: str
    upkeep: tuple[UpkeepChange, ...] = ()
    rechecks: tuple[UpkeepChange, ...] = ()
    cautions: tuple[Remark, ...] = ()

    def row(self, what: Compared) -> ComparedRow:
        """Return one figure before and after."""
        return next(row for row in self.rows if row.what is what)


@dataclass(frozen=True, slots=True, kw_only=True)
class LineConversion:
    """A whole drive line before and after a change.

    Attributes
    ----------
    before, after
        The line as one.
    rows
        Overall ratio, road speed and pull at the wheel side by side.
    stages
        Each stage, from the motor to the road wheel.
    """

    before: DriveLine
    after: DriveLine
    rows: tuple[ComparedRow, ...]
    stages: tuple[Conversion, ...]


def compare(
    before: DriveSetup,
    after: DriveSetup,
    rules: Iterable[IntervalRule] = (),
    vehicle_kind: VehicleKind | None = None,
    kept: Collection[Wheel] = (),
) -> Conversion:
    """Return a stage before and after a change: figures, wear, upkeep and cautions.

    Parameters
    ----------
    before, after : DriveSetup
        The stage as it is and as it is planned. A plan with neither centre distance nor adjuster stands
        where the stage does; the same goes for its wheel and the motor's rating.
    rules : iterable of IntervalRule
        The workshop's interval rules.
    vehicle_kind : VehicleKind or None
        Kind of the vehicle, for the rules; None takes rules of any kind.
    kept : collection of Wheel
        Which wheels stay on.

    Raises
    ------
    WearlogError
        If one of the two cannot be built, or a wheel kept cannot run with the new chain or belt.

    Examples
    --------
    >>> from wearlog.fleet.parts import DriveKind
    >>> was = DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=14, driven_teeth=42, links=116)
    >>> plan = DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=12, driven_teeth=42, links=116)
    >>> converted = compare(was, plan)
    >>> round(converted.life_factor, 4), converted.row(Compared.RATIO).after
    (0.8889, 3.5)
    """
    after = _in_place_of(before, after)
    figures = describe(before), describe(after)
    rules = tuple(rules)
    exposure, life_factor, life_note = _wear(before, after)
    is_fitted = _is_fitted(before, after)
    return Conversion(
        before=figures[0],
        after=figures[1],
        rows=_rows(*figures),
        exposure=exposure,
        life_factor=life_factor,
        life_note=life_note,
        upkeep=upkeep_changes(before.drive, after.drive, rules, vehicle_kind),
        rechecks=rechecks_after_fitting(after.drive, rules, vehicle_kind) if is_fitted else (),
        cautions=cautions_on(before, after, kept) if is_fitted else (),
    )


def compare_lines(
    before: Sequence[DriveSetup],
    after: Sequence[DriveSetup],
    rules: Iterable[IntervalRule] = (),
    vehicle_kind: VehicleKind | None = None,
    kept: Sequence[Collection[Wheel]] = (),
) -> LineConversion:
    """Return a whole drive line before and after a change of one or more stages.

    Parameters
    ----------
    before, after : sequence of DriveSetup
        The stages from the motor to the road wheel, as they are and as they are planned.
    rules : iterable of IntervalRule
        The workshop's interval rules.
    vehicle_kind : VehicleKind or None
        Kind of the vehicle, for the rules; None takes rules of any kind.
    kept : sequence of collection of Wheel
        For each stage which of its wheels stay on; empty if none does.

    Raises
    ------
    WearlogError
        If the two do not have the same number of stages, or a stage cannot be built.

    Examples
    --------
    >>> from wearlog.fleet.parts import DriveKind
    >>> primary = DriveSetup(drive=DriveKind.BELT, pitch_mm=8.0, driver_teeth=24, driven_teeth=60)
    >>> chain = DriveSetup(drive=DriveKind.CHAIN, pitch_mm=9.525, driver_teeth=15, driven_teeth=38)
    >>> final = DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=14, driven_teeth=42)
    >>> [round(row.after, 3) for row in compare_lines([primary, final], [chain, final]).rows[:1]]
    [7.6]
    """
    if len(before) != len(after):
        raise refusal(
            _("The drive line has {n} stages and the plan {m}.").format(n=len(before), m=len(after)),
            _("Plan the same stages; change their wheels, chain or belt."),
        )
    was, plan = overall(before), overall(after)
    rules = tuple(rules)
    stages = zip(in_series(before), in_series(after), kept or [()] * len(before), strict=True)
    return LineConversion(
        before=was,
        after=plan,
        rows=(
            ComparedRow(Compared.OVERALL_RATIO, was.ratio, plan.ratio, "1"),
            _row(Compared.ROAD_SPEED, was.road_speed_km_per_h, plan.road_speed_km_per_h, Quantity.SPEED),
            _row(Compared.WHEEL_PULL, was.wheel_pull_n, plan.wheel_pull_n, Quantity.FORCE),
        ),
        stages=tuple(compare(old, new, rules, vehicle_kind, stay) for old, new, stay in stages),
    )


def _in_place_of(before: DriveSetup, after: DriveSetup) -> DriveSetup:
    """Return the plan in the vehicle and between the centres of the stage as it is, where it names none."""
    if after.wheel_circumference_mm is None:
        after = replace(
            after, wheel_circumference_mm=before.wheel_circumference_mm, ratio_behind=before.ratio_behind
        )
    if after.rated_input_rpm is None and after.rated_power_kw is None:
        after = replace(after, rated_input_rpm=before.rated_input_rpm, rated_power_kw=before.rated_power_kw)
    own = (after.centre_distance_mm, after.adjuster_front_mm, after.adjuster_rear_mm)
    if any(end is not None for end in own):
        return after
    return replace(
        after,
        centre_distance_mm=centre_in_use(before),
        adjuster_front_mm=before.adjuster_front_mm,
        adjuster_rear_mm=before.adjuster_rear_mm,
    )


def _wear(before: DriveSetup, after: DriveSetup) -> tuple[Exposure | None, float | None, str]:
    if before.drive is not after.drive:
        note = _(
            "Chain and belt wear in different ways: how long the new one lasts comes from this fleet’s own "
            "readings of its kind."
        )
        return None, None, note
    if not after.is_chain:
        return None, None, _("For belts no law of wear is known that tells one set-up from another.")
    exposure = exposure_of(after, before)
    note = _("By Archard’s law at the same pull at the road wheel; dirt and care can outweigh it.")
    return exposure, exposure.life_factor, " ".join((note, *exposure.unknown))


def _is_fitted(before: DriveSetup, after: DriveSetup) -> bool:
    """Return whether a wheel, a chain or a belt is exchanged."""

    def parts(setup: DriveSetup) -> tuple[object, ...]:
        return (
            setup.drive,
            setup.pitch_mm,
            setup.driver_teeth,
            setup.driven_teeth,
            setup.loop_pitches,
            setup.roller_diameter_mm,
            setup.belt_width_mm,
        )

    return parts(before) != parts(after)


def _row(what: Compared, before: float | None, after: float | None, quantity: Quantity) -> ComparedRow:
    return ComparedRow(what, before, after, CANONICAL_UNIT[quantity], quantity)


def _rows(before: SetupFigures, after: SetupFigures) -> tuple[ComparedRow, ...]:
    motion, then = before.motion, after.motion
    loop, loop_then = before.loop, after.loop
    target, target_then = before.target, after.target
    place, place_then = loop.adjuster, loop_then.adjuster
    used = None if place is None else place.from_front_mm
    left = None if place is None else place.left_mm
    used_then = None if place_then is None else place_then.from_front_mm
    left_then = None if place_then is None else place_then.left_mm
    chosen, chosen_then = before.setup.loop_pitches, after.setup.loop_pitches
    length, force, count = Quantity.LENGTH, Quantity.FORCE, Quantity.COUNT
    driver, driver_then = before.driver, after.driver
    driven, driven_then = before.driven, after.driven
    return (
        ComparedRow(Compared.RATIO, motion.ratio, then.ratio, "1"),
        ComparedRow(Compared.OVERALL_RATIO, motion.overall_ratio, then.overall_ratio, "1"),
        _row(Compared.ROAD_SPEED, motion.road_speed_km_per_h, then.road_speed_km_per_h, Quantity.SPEED),
        ComparedRow(Compared.LOOP_SPEED, motion.loop_speed_m_per_s, then.loop_speed_m_per_s, "m/s"),
        _row(Compared.PULL, motion.pull_n, then.pull_n, force),
        _row(Compared.WHEEL_PULL, motion.wheel_pull_n, then.wheel_pull_n, force),
        _row(Compared.LENGTH_NEEDED, loop.needed_exact, loop_then.needed_exact, count),
        _row(Compared.LENGTH_CHOSEN, chosen, chosen_then, count),
        _row(Compared.CENTRE_DISTANCE, loop.centre_distance_mm, loop_then.centre_distance_mm, length),
        _row(Compared.SPAN, loop.span_mm, loop_then.span_mm, length),
        _row(Compared.ADJUSTER_USED, used, used_then, length),
        _row(Compared.ADJUSTER_LEFT, left, left_then, length),
        _row(Compared.SLACK, target.slack_mm, target_then.slack_mm, length),
        _row(Compared.SLACK_SHOCK, target.slack_shock_mm, target_then.slack_shock_mm, length),
        _row(Compared.TENSION, target.tension_n, target_then.tension_n, force),
        _row(Compared.FREQUENCY, target.frequency_hz, target_then.frequency_hz, Quantity.FREQUENCY),
        ComparedRow(Compared.ARTICULATIONS, motion.articulations_per_km, then.articulations_per_km, "1/km"),
        ComparedRow(
            Compared.SLIDING, motion.sliding_under_load_m_per_km, then.sliding_under_load_m_per_km, "m/km"
        ),
        _row(
            Compared.DRIVER_VARIATION,
            driver.chordal_variation,
            driver_then.chordal_variation,
            Quantity.SHARE,
        ),
        _row(
            Compared.DRIVEN_VARIATION,
            driven.chordal_variation,
            driven_then.chordal_variation,
            Quantity.SHARE,
        ),
        _row(Compared.DRIVER_IN_MESH, driver.teeth_in_mesh, driver_then.teeth_in_mesh, count),
        _row(Compared.DRIVEN_IN_MESH, driven.teeth_in_mesh, driven_then.teeth_in_mesh, count),
    )
