"""The figures of one stage: wheels, length, adjuster, motion, and what slack or tension to set."""

from dataclasses import dataclass

from wearlog.drive.remarks import Remark
from wearlog.drive.setup import DriveSetup


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelFigures:
    """One sprocket or pulley; None where a figure is not known or has no meaning for a belt.

    Attributes
    ----------
    teeth
        Number of teeth.
    pitch_diameter_mm
        Pitch diameter.
    root_diameter_mm, caliper_diameter_mm, over_pins_mm
        New sprocket: root, across opposite gaps, and over two pins of roller diameter.
    tip_diameter_min_mm, tip_diameter_max_mm
        Tip of a sprocket, least and greatest; both the outside diameter of a pulley.
    wrap_rad, teeth_in_mesh
        Where chain or belt lies on the wheel.
    chordal_variation
        Speed variation of the chain, (greatest - least) / greatest, [-].
    contacts_per_km
        How often each tooth meets the chain or belt.
    sliding_m_per_km, sliding_under_load_m_per_km
        How far each pin slides in its bush on this sprocket: on and off, and on the loaded side alone.
    """

    teeth: int
    pitch_diameter_mm: float
    root_diameter_mm: float | None = None
    caliper_diameter_mm: float | None = None
    over_pins_mm: float | None = None
    tip_diameter_min_mm: float | None = None
    tip_diameter_max_mm: float | None = None
    wrap_rad: float | None = None
    teeth_in_mesh: float | None = None
    chordal_variation: float | None = None
    contacts_per_km: float | None = None
    sliding_m_per_km: float | None = None
    sliding_under_load_m_per_km: float | None = None


@dataclass(frozen=True, slots=True)
class AdjusterPlace:
    """Where the adjuster stands with the chain or belt just taut.

    Attributes
    ----------
    from_front_mm
        Travel used, from the front end; negative if the loop is too short for it.
    left_mm
        Travel left to the rear end; negative if the loop is too long.
    """

    from_front_mm: float
    left_mm: float

    @property
    def share(self) -> float:
        """Share of the travel used: 0 at the front end, 1 at the rear end, [-]; 0 without travel."""
        travel_mm = self.from_front_mm + self.left_mm
        return self.from_front_mm / travel_mm if travel_mm else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopFigures:
    """How long the chain or belt is to be, and how it lies; None where not known.

    Attributes
    ----------
    needed_exact, needed_handbook
        Pitches at the entered centre distance (or at the middle of the adjuster).
    to_order
        Whole number to order: the next even number of links, the next whole number of belt teeth.
    closing
        Numbers of pitches that close between the ends of the adjuster: even ones for a chain.
    taut_centre_mm, taut_centre_handbook_mm
        Centre distance at which the chosen chain or belt is just taut.
    centre_distance_mm
        Centre distance that the figures of this stage are for.
    span_mm
        Free length of either run.
    adjuster
        Where the adjuster stands with the chosen chain or belt.
    is_closing
        Whether the chosen one closes between the ends of the adjuster.
    is_cranked_link_needed
        Whether the chosen number of links is odd.
    slack_mm
        Total movement that the chosen chain has at the entered centre distance; None if it is too short.
    """

    needed_exact: float | None = None
    needed_handbook: float | None = None
    to_order: int | None = None
    closing: tuple[int, ...] = ()
    taut_centre_mm: float | None = None
    taut_centre_handbook_mm: float | None = None
    centre_distance_mm: float | None = None
    span_mm: float | None = None
    adjuster: AdjusterPlace | None = None
    is_closing: bool | None = None
    is_cranked_link_needed: bool | None = None
    slack_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MotionFigures:
    """How the stage moves at the motor's rating, and on each kilometre; None where not known.

    Attributes
    ----------
    ratio, overall_ratio
        Of this stage, and from its driver to the road wheel, [-].
    loop_speed_m_per_s, road_speed_km_per_h
        Of chain or belt and of the vehicle at rated speed.
    pull_n, wheel_pull_n
        In the tight run and at the road wheel at rated power and speed, losses left out.
    turns_per_km, articulations_per_km
        How often the whole loop goes round, and how often each joint bends or straightens.
    sliding_m_per_km, sliding_under_load_m_per_km
        How far each pin slides in its bush: everywhere, and beside the tight run alone.
    """

    ratio: float
    overall_ratio: float
    loop_speed_m_per_s: float | None = None
    road_speed_km_per_h: float | None = None
    pull_n: float | None = None
    wheel_pull_n: float | None = None
    turns_per_km: float | None = None
    articulations_per_km: float | None = None
    sliding_m_per_km: float | None = None
    sliding_under_load_m_per_km: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """The slack or tension to set; the vehicle maker's figure goes before all of them.

    Attributes
    ----------
    slack_mm, slack_shock_mm
        Total movement at mid-span of a chain: smooth drives, and rough or reversing ones.
    tensioning_travel_mm
        Travel to leave for tensioning a belt.
    tension_n, frequency_hz
        The tension entered for a belt, and at which frequency its span then rings.
    deflection_mm, deflection_force_n
        Deflection at mid-span to read a force at, and the force at that tension.
    source
        Where the figures come from.
    """

    slack_mm: float | None = None
    slack_shock_mm: float | None = None
    tensioning_travel_mm: float | None = None
    tension_n: float | None = None
    frequency_hz: float | None = None
    deflection_mm: float | None = None
    deflection_force_n: float | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SetupFigures:
    """All figures of one stage, and what is odd about it."""

    setup: DriveSetup
    driver: WheelFigures
    driven: WheelFigures
    loop: LoopFigures
    motion: MotionFigures
    target: Target
    remarks: tuple[Remark, ...] = ()
