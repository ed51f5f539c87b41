"""How hard one set-up is on its chain or wheels against another: Archard's law, taken apart into factors."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from gettext import gettext as _

from wearlog.drive import motion
from wearlog.drive.demands import demand_not_negative, demand_positive, refusal
from wearlog.drive.setup import DriveSetup, Wheel

#: Distance per turn of the driven wheel where one of two set-ups does not know it, [mm]: any value does, it
#: cancels between the pull and how often the chain comes round.
_COMMON_TURN_MM = 1000.0


class Cause(StrEnum):
    """Why one set-up wears faster than another."""

    LOAD = "load"
    TENSION = "tension"
    SLIDING = "sliding"
    TURNS = "turns"
    LINKS = "links"
    AREA = "bearing area"
    PITCH = "pitch"
    CONTACTS = "contacts"


@dataclass(frozen=True, slots=True)
class Factor:
    """One cause and by how much it changes the wear rate.

    Attributes
    ----------
    cause
        The cause.
    value
        Factor on the wear rate against the reference, [-]; above 1 wears faster.
    why
        What it is, a full sentence.
    """

    cause: Cause
    value: float
    why: str


@dataclass(frozen=True, slots=True)
class Exposure:
    """The relative wear exposure of a set-up, and what it is made of.

    Attributes
    ----------
    factors
        Their product is the exposure.
    unknown
        What was taken as equal because it is not known for both, in sentences.
    """

    factors: tuple[Factor, ...] = ()
    unknown: tuple[str, ...] = ()

    @property
    def ratio(self) -> float:
        """Wear rate against the reference's, [-]; 1 where the geometry is not known."""
        return math.prod((factor.value for factor in self.factors), start=1.0)

    @property
    def life_factor(self) -> float:
        """Life against the reference's, [-]."""
        return 1.0 / self.ratio


def exposure_of(
    setup: DriveSetup | None, reference: DriveSetup | None, wheel_pull_ratio: float = 1.0
) -> Exposure:
    """Return the wear exposure of a chain on one set-up against another, factor by factor.

    Parameters
    ----------
    setup : DriveSetup or None
        The stage asked about; None if its geometry is not known.
    reference : DriveSetup or None
        The stage that counts as 1; None if its geometry is not known.
    wheel_pull_ratio : float
        Pull at the road wheel against the reference's, [-]; 1 for the same duty.

    Returns
    -------
    Exposure
        Factors whose product is the exposure. A figure that one of the two lacks counts as equal.

    Raises
    ------
    WearlogError
        If one is a chain and the other a belt.

    Notes
    -----
    The elongation rate goes with pull x sliding per km / (bearing area x pitch). At the same pull at the road
    wheel the pull in the chain goes with distance per turn / (driven teeth x pitch), and so how large the
    wheel is cancels; so does the pin diameter, which is in both the sliding and the area. What is left is
    (1/z1 + 1/z2) / (bush length x pitch^2 x links).

    Exposures multiply along a row of set-ups only where the same figures are known for all: to pool parts,
    compare each with one and the same reference. For belts no such law is known; their exposure is 1.

    References
    ----------
    J. F. Archard, Contact and rubbing of flat surfaces, J. Appl. Phys. 24 (1953) 981, from memory.

    Examples
    --------
    >>> from wearlog.fleet.parts import DriveKind
    >>> small = DriveSetup(
    ...     drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=12, driven_teeth=42, links=116
    ... )
    >>> large = DriveSetup(
    ...     drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=15, driven_teeth=42, links=116
    ... )
    >>> round(exposure_of(small, large).ratio, 4)
    1.1842
    """
    demand_positive(wheel_pull_ratio, _("ratio of pulls at the wheel"))
    if setup is None or reference is None:
        return Exposure((), (_("The geometry is not known for both; they are taken to wear alike."),))
    _demand_same_kind(setup, reference)
    if not setup.is_chain:
        return Exposure((), (_("For belts no law of wear is known; they are taken to wear alike."),))
    factors: list[Factor] = []
    unknown: list[str] = []
    turn, reference_turn = _turns_mm(setup, reference, unknown)
    if wheel_pull_ratio != 1.0:
        factors.append(_factor(Cause.LOAD, wheel_pull_ratio, _("Pull at the road wheel: {times:.3f} times.")))
    factors += [
        _factor(
            Cause.TENSION,
            _pull_share(setup, turn) / _pull_share(reference, reference_turn),
            _("Pull in the chain for the same pull at the road wheel: {times:.3f} times."),
        ),
        _factor(
            Cause.SLIDING,
            _sliding_per_turn(setup, reference) / _sliding_per_turn(reference, setup),
            _("Sliding of each joint in one turn of the chain, by teeth and pin: {times:.3f} times."),
        ),
        _factor(
            Cause.TURNS,
            (setup.driven_teeth / turn) / (reference.driven_teeth / reference_turn),
            _("Links that run over the driven sprocket on a kilometre: {times:.3f} times."),
        ),
    ]
    if setup.links is not None and reference.links is not None:
        why = _("How often each link comes round, the fewer the more often: {times:.3f} times.")
        factors.append(_factor(Cause.LINKS, reference.links / setup.links, why))
    else:
        unknown.append(_("The number of links is not known for both; it is taken as equal."))
    factors += [
        _factor(
            Cause.AREA,
            _area(reference, setup, unknown) / _area(setup, reference, []),
            _("Bearing area of the joints, a smaller one wears faster: {times:.3f} times."),
        ),
        _factor(
            Cause.PITCH,
            reference.pitch_mm / setup.pitch_mm,
            _("Pitch, on which the same wear of a joint tells less if it is longer: {times:.3f} times."),
        ),
    ]
    return Exposure(tuple(factors), tuple(unknown))


def relative_exposure(
    setup: DriveSetup | None, reference: DriveSetup | None, wheel_pull_ratio: float = 1.0
) -> float:
    """Return the wear rate of a chain on one set-up against another, [-].

    Parameters
    ----------
    setup : DriveSetup or None
        The stage asked about; None if its geometry is not known.
    reference : DriveSetup or None
        The stage that counts as 1; None if its geometry is not known.
    wheel_pull_ratio : float
        Pull at the road wheel against the reference's, [-]; 1 for the same duty.

    Returns
    -------
    float
        1 where the geometry is not known; see `exposure_of` for how it comes about.

    Examples
    --------
    >>> relative_exposure(None, None)
    1.0
    """
    return exposure_of(setup, reference, wheel_pull_ratio).ratio


def wheel_exposure_of(
    setup: DriveSetup | None,
    wheel: Wheel,
    reference: DriveSetup | None,
    reference_wheel: Wheel | None = None,
    wheel_pull_ratio: float = 1.0,
) -> Exposure:
    """Return the wear exposure of a sprocket's or pulley's teeth against another's, factor by factor.

    Parameters
    ----------
    setup : DriveSetup or None
        The stage asked about; None if its geometry is not known.
    wheel : Wheel
        Which of its wheels.
    reference : DriveSetup or None
        The stage that counts as 1; None if its geometry is not known.
    reference_wheel : Wheel or None
        Which of the reference's wheels; None for the same one.
    wheel_pull_ratio : float
        Pull at the road wheel against the reference's, [-]; 1 for the same duty.

    Raises
    ------
    WearlogError
        If one is a chain and the other a belt.

    Notes
    -----
    Contacts of each tooth on a kilometre x pull in the chain or belt. The distance per turn cancels here too,
    which leaves 1 / (teeth x pitch). Width and hardness of the teeth are left out.

    Examples
    --------
    >>> from wearlog.fleet.parts import DriveKind
    >>> stage = DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=14, driven_teeth=42)
    >>> round(wheel_exposure_of(stage, Wheel.DRIVER, stage, Wheel.DRIVEN).ratio, 9)
    3.0
    """
    demand_positive(wheel_pull_ratio, _("ratio of pulls at the wheel"))
    if setup is None or reference is None:
        return Exposure((), (_("The geometry is not known for both; they are taken to wear alike."),))
    _demand_same_kind(setup, reference)
    unknown: list[str] = []
    turn, reference_turn = _turns_mm(setup, reference, unknown)
    other = wheel if reference_wheel is None else reference_wheel
    contacts = motion.tooth_contacts_per_km(setup.teeth(wheel), setup.driven_teeth, turn)
    reference_contacts = motion.tooth_contacts_per_km(
        reference.teeth(other), reference.driven_teeth, reference_turn
    )
    factors = [
        _factor(
            Cause.CONTACTS,
            contacts / reference_contacts,
            _("Contacts of each tooth on a kilometre: {times:.3f} times."),
        ),
        _factor(
            Cause.TENSION,
            _pull_share(setup, turn) / _pull_share(reference, reference_turn),
            _("Pull for the same pull at the road wheel: {times:.3f} times."),
        ),
    ]
    if wheel_pull_ratio != 1.0:
        why = _("Pull at the road wheel: {times:.3f} times.")
        factors.insert(0, _factor(Cause.LOAD, wheel_pull_ratio, why))
    return Exposure(tuple(factors), tuple(unknown))


def exposed_distance(
    stretches: Iterable[tuple[float, DriveSetup | None]], reference: DriveSetup | None
) -> float:
    """Return the distance on the reference that wears a chain as much as what it ran, [km].

    Parameters
    ----------
    stretches : iterable of (float, DriveSetup or None)
        Distance and the set-up it was run on, one pair for each time a sprocket changed, [km].
    reference : DriveSetup or None
        The stage that counts as 1.

    Raises
    ------
    WearlogError
        If a distance is negative.

    Examples
    --------
    >>> from wearlog.fleet.parts import DriveKind
    >>> small = DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=12, driven_teeth=42)
    >>> large = DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=15, driven_teeth=42)
    >>> round(exposed_distance([(1000.0, large), (1000.0, small)], large), 1)
    2184.2
    """
    total_km = 0.0
    for distance_km, setup in stretches:
        demand_not_negative(distance_km, _("distance"), "km")
        total_km += distance_km * relative_exposure(setup, reference)
    return total_km


def _demand_same_kind(setup: DriveSetup, reference: DriveSetup) -> None:
    if setup.drive is not reference.drive:
        raise refusal(
            _("The wear of a chain and that of a belt have no common measure."),
            _("Compare chains with chains and belts with belts."),
        )


def _factor(cause: Cause, value: float, why: str) -> Factor:
    return Factor(cause, value, why.format(times=value))


def _turns_mm(setup: DriveSetup, reference: DriveSetup, unknown: list[str]) -> tuple[float, float]:
    """Return the distance per turn of each driven wheel, or the same for both if one lacks it, [mm]."""
    if setup.turn_mm is not None and reference.turn_mm is not None:
        return setup.turn_mm, reference.turn_mm
    unknown.append(
        _("The wheel circumference is not known for both; it changes the factors, not their product.")
    )
    return _COMMON_TURN_MM, _COMMON_TURN_MM


def _pull_share(setup: DriveSetup, turn_mm: float) -> float:
    """Return the pull in the chain or belt for each newton of pull at the road wheel, [-]."""
    return turn_mm / (setup.driven_teeth * setup.pitch_mm)


def _sliding_per_turn(setup: DriveSetup, other: DriveSetup) -> float:
    """Return how far a joint slides under load in one turn of the chain, [mm]; [1] without known pins."""
    pin_mm = setup.pin_diameter_mm
    if pin_mm is None or other.pin_diameter_mm is None:
        pin_mm = 2.0
    return sum(motion.sliding_per_pass(setup.teeth(wheel), pin_mm) for wheel in Wheel)


def _area(setup: DriveSetup, other: DriveSetup, unknown: list[str]) -> float:
    """Return the bearing area of a joint in what both set-ups know of it."""
    area = 1.0
    if setup.pin_diameter_mm is not None and other.pin_diameter_mm is not None:
        area *= setup.pin_diameter_mm
    else:
        unknown.append(_("The pin diameter is not known for both; it cancels between sliding and area."))
    if setup.bearing_width_mm is not None and other.bearing_width_mm is not None:
        area *= setup.bearing_width_mm
    else:
        unknown.append(_("The length of the bush is not known for both; it is taken as equal."))
    return area
