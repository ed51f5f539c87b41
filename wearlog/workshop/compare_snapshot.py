"""What the drive set-up page shows, and what is planned on it before it is fitted."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from gettext import gettext as _

from wearlog.drive.conversion import Compared, ComparedRow, Conversion, LineConversion
from wearlog.drive.figures import SetupFigures
from wearlog.drive.governing import Governing
from wearlog.drive.replacing import Advice
from wearlog.drive.setup import DriveSetup, Wheel
from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.limit import Limit
from wearlog.fleet.parts import DriveKind, PartKind, PartType, WearClass
from wearlog.fleet.problem import Problem
from wearlog.fleet.reading import Measurand
from wearlog.fleet.service import IntervalRule
from wearlog.fleet.vehicle import MeterUnit, Stage, Vehicle
from wearlog.workshop.trend_snapshot import Basis


class PlanField(StrEnum):
    """What is planned, field by field; problems name the one they are about."""

    DRIVE = "drive"
    RUN = "run"
    DRIVER = "driver teeth"
    DRIVEN = "driven teeth"
    PITCHES = "pitches"
    CENTRE = "centre distance"
    ADJUSTER = "adjuster"
    TENSION = "tension"


@dataclass(frozen=True, slots=True)
class FittedPart:
    """One part of a stage as it is now, in words and as it is kept."""

    installation: Installation
    part_type: PartType
    text: str

    @property
    def position(self) -> Position:
        """Where it sits."""
        return self.installation.position


@dataclass(frozen=True, slots=True)
class RunChoice:
    """A chain or belt to choose: what of it, not how long.

    Attributes
    ----------
    part_type
        The workshop's own, else the standard's; its number of links or teeth does not count.
    is_own
        Whether the workshop has had such a one.
    """

    part_type: PartType
    is_own: bool

    @property
    def key(self) -> tuple[str, WearClass, float | None]:
        """What tells it from the others."""
        return run_key(self.part_type)


def run_key(part_type: PartType) -> tuple[str, WearClass, float | None]:
    """Return what tells one chain or belt from another, whatever its length."""
    width = part_type.width_mm if part_type.kind is PartKind.BELT else None
    return part_type.designation, part_type.wear_class, width


@dataclass(frozen=True, slots=True)
class StageSetup:
    """One stage as it is now.

    Attributes
    ----------
    setup, figures
        What it is made of and all its figures; None where that is not known.
    missing
        Why it is not known, and what to do.
    """

    stage: Stage
    installed: tuple[FittedPart, ...]
    setup: DriveSetup | None
    figures: SetupFigures | None
    missing: Problem | None = None

    def part(self, position: Position) -> FittedPart | None:
        """Return what is fitted at a position."""
        return next((part for part in self.installed if part.position is position), None)


@dataclass(frozen=True, slots=True)
class SetupSnapshot:
    """The drive of one vehicle, and what it could be made of.

    `last_meter` is what the meter showed at the last entry, in km (h on hour meters).
    """

    vehicle: Vehicle
    stages: tuple[StageSetup, ...]
    choices: tuple[RunChoice, ...]
    rules: tuple[IntervalRule, ...]
    limits: tuple[Limit, ...]
    people: tuple[str, ...]
    today: date
    last_meter: float | None = None
    last_meter_on: date | None = None

    @property
    def meter_unit(self) -> MeterUnit:
        """What the vehicle's meter counts."""
        return self.vehicle.meter_unit

    def stage(self, stage_id: int) -> StageSetup | None:
        """Return one stage."""
        return next((one for one in self.stages if one.stage.id == stage_id), None)

    def choices_for(self, drive: DriveKind) -> tuple[RunChoice, ...]:
        """Return the chains, or the belts."""
        kind = PartKind.CHAIN if drive is DriveKind.CHAIN else PartKind.BELT
        return tuple(choice for choice in self.choices if choice.part_type.kind is kind)


@dataclass(frozen=True, slots=True, kw_only=True)
class SetupDraft:
    """A plan for one stage; None where nothing is said yet.

    Attributes
    ----------
    run
        Which chain or belt; how long it is says `pitches`.
    pitches
        Links of the chain or teeth of the belt.
    centre_distance_mm
        Centre distance, of an adjustable stage with the adjuster at its front end.
    adjuster_range_mm
        How far the adjuster travels to the rear.
    tension_n
        Static tension that the maker of the vehicle or of the belt gives.
    renewed
        Parts that are changed although the same kind goes on again.
    """

    vehicle_id: int
    stage_id: int
    drive: DriveKind
    run: PartType | None = None
    pitches: int | None = None
    driver_teeth: int | None = None
    driven_teeth: int | None = None
    centre_distance_mm: float | None = None
    adjuster_range_mm: float | None = None
    tension_n: float | None = None
    renewed: frozenset[Position] = frozenset()

    def teeth(self, position: Position) -> int | None:
        """Return the teeth of one wheel."""
        return self.driver_teeth if position is Position.DRIVER else self.driven_teeth

    @property
    def missing(self) -> tuple[Problem, ...]:
        """What must be said before anything can be worked out."""
        asked = (
            (PlanField.RUN, self.run, _("The chain or belt is missing."), _("Choose one from the list.")),
            (
                PlanField.DRIVER,
                self.driver_teeth,
                _("The teeth of the driver are missing."),
                _("Count them, or choose how many there are to be."),
            ),
            (
                PlanField.DRIVEN,
                self.driven_teeth,
                _("The teeth of the driven wheel are missing."),
                _("Count them, or choose how many there are to be."),
            ),
        )
        return tuple(Problem(what, field, todo) for field, value, what, todo in asked if value is None)


@dataclass(frozen=True, slots=True)
class LifeEstimate:
    """How far a new part goes at this fleet's rates.

    Attributes
    ----------
    low, likely, high
        Use by which one, five and nine in ten such parts are at the limit, km (h); inf beyond reach.
    use_unit
        ``"km"`` or ``"h"``.
    similar_parts, basis
        What the rate rests on.
    exposure
        Wear on this set-up against that on the fleet's usual one, [-].
    note
        What the exposure rests on, in a sentence.
    """

    low: float
    likely: float
    high: float
    use_unit: str
    similar_parts: int
    basis: Basis
    exposure: float = 1.0
    note: str = ""


@dataclass(frozen=True, slots=True)
class PartLife:
    """The life of a new part in one place, on the stage as it is and as it is planned."""

    position: Position
    before: LifeEstimate | None
    after: LifeEstimate | None
    measurand_before: Measurand | None = None
    measurand_after: Measurand | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparisonSnapshot:
    """A stage as it is beside what is planned.

    Attributes
    ----------
    draft
        What was compared.
    conversion, line
        The stage before and after; the whole drive line if every stage of it is known.
    fitted
        Where a new part goes on; the others stay.
    governing_before, governing_after
        Limits of a new chain, the tightest first; None for a belt.
    lives, advice
        Life at this fleet's rates and what to renew with it; empty until `is_estimated`.
    """

    draft: SetupDraft
    conversion: Conversion
    line: LineConversion | None
    fitted: frozenset[Position]
    governing_before: Governing | None = None
    governing_after: Governing | None = None
    lives: tuple[PartLife, ...] = ()
    advice: Advice | None = None
    is_estimated: bool = False

    @property
    def before(self) -> DriveSetup:
        """The stage as it is."""
        return self.conversion.before.setup

    @property
    def after(self) -> DriveSetup:
        """The stage as it is planned."""
        return self.conversion.after.setup

    @property
    def is_changed(self) -> bool:
        """Whether the plan differs from what is fitted."""
        return bool(self.fitted) or _figures_of(self.before) != _figures_of(self.after)

    @property
    def stays(self) -> tuple[Wheel, ...]:
        """Wheels that stay on."""
        return tuple(wheel for wheel in Wheel if Position(wheel.value) not in self.fitted)

    @property
    def rows(self) -> tuple[ComparedRow, ...]:
        """The figures side by side; what is of the whole line where that is known."""
        whole: dict[Compared, ComparedRow] = {} if self.line is None else {r.what: r for r in self.line.rows}
        return tuple(whole.get(row.what, row) for row in self.conversion.rows)


def _figures_of(setup: DriveSetup) -> tuple[object, ...]:
    return (
        setup.loop_pitches,
        setup.centre_distance_mm,
        setup.adjuster_front_mm,
        setup.adjuster_rear_mm,
        setup.tension_n,
    )
