"""One drive stage as it is or as it is planned, and its geometry whether chain or belt."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum
from gettext import gettext as _

from wearlog.drive import belt, chain, motion
from wearlog.drive.demands import demand_not_negative, demand_pitch, demand_positive, demand_teeth
from wearlog.drive.sprocket import pitch_diameter
from wearlog.fleet.parts import DriveKind
from wearlog.fleet.problem import Findings, WearlogError


class Wheel(StrEnum):
    """The two wheels of a stage: sprockets under a chain, pulleys under a belt."""

    DRIVER = "driver"
    DRIVEN = "driven"


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveSetup:
    """What one stage is made of; None where it is not known.

    Made only of figures that can be: what cannot is refused when the record is made.

    Attributes
    ----------
    drive
        Chain or belt.
    pitch_mm
        Nominal pitch.
    driver_teeth, driven_teeth
        Teeth of the wheel that drives and of the one that is driven.
    links
        Pitches of the chain that is chosen; only for a chain.
    belt_teeth
        Teeth of the belt that is chosen; only for a belt.
    centre_distance_mm
        Centre distance as measured or drawn.
    adjuster_front_mm, adjuster_rear_mm
        Centre distance with the adjuster at its front (shortest) and at its rear (longest) end.
    roller_diameter_mm, pin_diameter_mm, bearing_width_mm
        Roller, pin, and length of the bush on the pin of the chain. The inner width may stand for the
        bush's length where it does so on every set-up compared.
    belt_width_mm, mass_kg_per_m, pitch_differential_mm
        Width and mass of the belt; how far its pitch line lies outside the pulley, on the radius.
    tension_n
        Static belt tension that the vehicle's or the belt's maker gives.
    wheel_circumference_mm
        Rolling circumference of the road wheel.
    ratio_behind
        Product of the ratios of all stages between this one and the road wheel.
    rated_input_rpm, rated_power_kw
        Speed of the driver and power at which the motor is rated.

    Raises
    ------
    WearlogError
        With every figure that cannot be, each named by its field in `Problem.where`.
    """

    drive: DriveKind
    pitch_mm: float
    driver_teeth: int
    driven_teeth: int
    links: int | None = None
    belt_teeth: int | None = None
    centre_distance_mm: float | None = None
    adjuster_front_mm: float | None = None
    adjuster_rear_mm: float | None = None
    roller_diameter_mm: float | None = None
    pin_diameter_mm: float | None = None
    bearing_width_mm: float | None = None
    belt_width_mm: float | None = None
    mass_kg_per_m: float | None = None
    pitch_differential_mm: float | None = None
    tension_n: float | None = None
    wheel_circumference_mm: float | None = None
    ratio_behind: float = 1.0
    rated_input_rpm: float | None = None
    rated_power_kw: float | None = None

    def __post_init__(self) -> None:
        """Refuse what cannot be, all of it at once."""
        findings = Findings()
        self._check_numbers(findings)
        self._check_kind(findings)
        front, rear = self.adjuster_front_mm, self.adjuster_rear_mm
        if front is not None and rear is not None and front > rear:
            findings.add(
                _("The adjuster's front end at {front:g} mm lies behind its rear end at {rear:g} mm.").format(
                    front=front, rear=rear
                ),
                _("adjuster"),
                _("Give the centre distance at the front end, then at the rear end."),
            )
        if self.roller_diameter_mm is not None and 0 < self.pitch_mm <= self.roller_diameter_mm:
            findings.add(
                _("Rollers of {roller:g} mm leave no tooth at a pitch of {pitch:g} mm.").format(
                    roller=self.roller_diameter_mm, pitch=self.pitch_mm
                ),
                _("roller diameter"),
                _("Check pitch and roller diameter of the chain."),
            )
        findings.raise_if_any()

    @property
    def is_chain(self) -> bool:
        """Whether a chain carries the power."""
        return self.drive is DriveKind.CHAIN

    @property
    def ratio(self) -> float:
        """By how much this stage slows down, [-]."""
        return motion.ratio(self.driver_teeth, self.driven_teeth)

    @property
    def loop_pitches(self) -> int | None:
        """Pitches of the chain or belt that is chosen."""
        return self.links if self.is_chain else self.belt_teeth

    @property
    def turn_mm(self) -> float | None:
        """Distance covered with one turn of the driven wheel of this stage."""
        if self.wheel_circumference_mm is None:
            return None
        return self.wheel_circumference_mm / self.ratio_behind

    def teeth(self, wheel: Wheel) -> int:
        """Return the teeth of one wheel."""
        return self.driver_teeth if wheel is Wheel.DRIVER else self.driven_teeth

    def _check_numbers(self, findings: Findings) -> None:
        named = (
            (_("number of links"), "", self.links),
            (_("number of belt teeth"), "", self.belt_teeth),
            (_("centre distance"), "mm", self.centre_distance_mm),
            (_("front end of the adjuster"), "mm", self.adjuster_front_mm),
            (_("rear end of the adjuster"), "mm", self.adjuster_rear_mm),
            (_("roller diameter"), "mm", self.roller_diameter_mm),
            (_("pin diameter"), "mm", self.pin_diameter_mm),
            (_("bearing width"), "mm", self.bearing_width_mm),
            (_("belt width"), "mm", self.belt_width_mm),
            (_("mass per metre of the belt"), "kg/m", self.mass_kg_per_m),
            (_("belt tension"), "N", self.tension_n),
            (_("wheel circumference"), "mm", self.wheel_circumference_mm),
            (_("ratio behind this stage"), "", self.ratio_behind),
            (_("rated speed"), "1/min", self.rated_input_rpm),
        )
        for name, unit, value in named:
            if value is not None:
                _try(findings, name, demand_positive, value, name, unit)
        _try(findings, _("pitch"), demand_pitch, self.pitch_mm)
        _try(findings, _("teeth of the driver"), demand_teeth, self.driver_teeth)
        _try(findings, _("teeth of the driven wheel"), demand_teeth, self.driven_teeth)
        for name, unit, value in (
            (_("pitch differential"), "mm", self.pitch_differential_mm),
            (_("rated power"), "kW", self.rated_power_kw),
        ):
            if value is not None:
                _try(findings, name, demand_not_negative, value, name, unit)

    def _check_kind(self, findings: Findings) -> None:
        if self.is_chain and self.belt_teeth is not None:
            findings.add(
                _("A chain has links; {teeth} belt teeth were given.").format(teeth=self.belt_teeth),
                _("number of belt teeth"),
                _("Give the number of links, or choose a belt."),
            )
        if not self.is_chain and self.links is not None:
            findings.add(
                _("A belt has teeth; {links} links were given.").format(links=self.links),
                _("number of links"),
                _("Give the teeth of the belt, or choose a chain."),
            )


def _try(findings: Findings, where: str, demand: Callable[..., None], *values: float | str) -> None:
    """Collect what a demand refuses, with the field that it is about."""
    try:
        demand(*values)
    except WearlogError as error:
        findings.problems += [replace(problem, where=where) for problem in error.problems]


def wheel_pitch_diameter(setup: DriveSetup, wheel: Wheel) -> float:
    """Return the pitch diameter of one wheel, [mm].

    Parameters
    ----------
    setup : DriveSetup
        The stage.
    wheel : Wheel
        Driver or driven.

    Examples
    --------
    >>> stage = DriveSetup(drive=DriveKind.BELT, pitch_mm=5.0, driver_teeth=38, driven_teeth=114)
    >>> round(wheel_pitch_diameter(stage, Wheel.DRIVER), 2)
    60.48
    """
    of = pitch_diameter if setup.is_chain else belt.pulley_pitch_diameter
    return of(setup.pitch_mm, setup.teeth(wheel))


def pitches_at(setup: DriveSetup, centre_distance_mm: float) -> float:
    """Return the exact length of the taut chain or belt at a centre distance, [pitches].

    Parameters
    ----------
    setup : DriveSetup
        The stage.
    centre_distance_mm : float
        Centre distance, [mm].

    Raises
    ------
    WearlogError
        If the wheels would touch.

    Examples
    --------
    >>> stage = DriveSetup(drive=DriveKind.BELT, pitch_mm=2.0, driver_teeth=20, driven_teeth=60)
    >>> round(pitches_at(stage, 100.0), 9)
    140.811669872
    """
    if setup.is_chain:
        return chain.chain_length(centre_distance_mm, setup.pitch_mm, setup.driver_teeth, setup.driven_teeth)
    length_mm = belt.belt_length(centre_distance_mm, setup.pitch_mm, setup.driver_teeth, setup.driven_teeth)
    return length_mm / setup.pitch_mm


def centre_for_pitches(setup: DriveSetup, pitches: float) -> float:
    """Return the exact centre distance at which a chain or belt is just taut, [mm].

    Parameters
    ----------
    setup : DriveSetup
        The stage.
    pitches : float
        Length of the chain or belt, [pitches].

    Raises
    ------
    WearlogError
        If it is too short to close round the wheels.

    Examples
    --------
    >>> stage = DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=14, driven_teeth=42)
    >>> round(centre_for_pitches(stage, 116), 4)
    555.9167
    """
    of = chain.centre_distance if setup.is_chain else belt.belt_centre_distance
    return of(pitches, setup.pitch_mm, setup.driver_teeth, setup.driven_teeth)


def span_at(setup: DriveSetup, centre_distance_mm: float) -> float:
    """Return the free length of either run, [mm].

    Parameters
    ----------
    setup : DriveSetup
        The stage.
    centre_distance_mm : float
        Centre distance, [mm].
    """
    of = chain.span if setup.is_chain else belt.belt_span
    return of(centre_distance_mm, setup.pitch_mm, setup.driver_teeth, setup.driven_teeth)


def wraps_at(setup: DriveSetup, centre_distance_mm: float) -> tuple[float, float]:
    """Return the angles over which chain or belt lies on the driver and on the driven wheel, [rad].

    Parameters
    ----------
    setup : DriveSetup
        The stage.
    centre_distance_mm : float
        Centre distance, [mm].
    """
    of = chain.wraps if setup.is_chain else belt.belt_wraps
    return of(centre_distance_mm, setup.pitch_mm, setup.driver_teeth, setup.driven_teeth)


def centre_in_use(setup: DriveSetup) -> float | None:
    """Return the centre distance that this set-up runs at, [mm]; None where nothing says.

    Parameters
    ----------
    setup : DriveSetup
        The stage.

    Notes
    -----
    Between the ends of an adjuster the chain or belt that is chosen decides; if it closes at neither, the
    end nearest to it counts. Without an adjuster the entered distance stands, and without that the chain
    or belt decides. With nothing but an adjuster its middle is taken.

    Examples
    --------
    >>> stage = DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=14, driven_teeth=42, links=116)
    >>> round(centre_in_use(stage), 1)
    555.9
    """
    taut_mm = None if setup.loop_pitches is None else centre_for_pitches(setup, setup.loop_pitches)
    front_mm, rear_mm = setup.adjuster_front_mm, setup.adjuster_rear_mm
    if front_mm is None or rear_mm is None:
        return taut_mm if setup.centre_distance_mm is None else setup.centre_distance_mm
    if taut_mm is not None:
        return min(max(taut_mm, front_mm), rear_mm)
    return 0.5 * (front_mm + rear_mm) if setup.centre_distance_mm is None else setup.centre_distance_mm
