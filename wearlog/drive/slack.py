"""Excess length, slack, sag, and the axle travel that takes them up."""

import math
from dataclasses import dataclass
from gettext import gettext as _

from wearlog.drive.chain import centre_distance
from wearlog.drive.demands import demand_not_negative, demand_pitch, demand_positive
from wearlog.drive.loop import tangent_angle
from wearlog.drive.sprocket import pitch_diameter


def lift_for_excess_length(excess_mm: float, span_mm: float) -> float:
    """Return how far a run can be lifted at its middle from the straight line, one way, [mm].

    Parameters
    ----------
    excess_mm : float
        By how much the run is longer than its span, [mm].
    span_mm : float
        Free length of the span, [mm].

    Notes
    -----
    Exact for a run pulled to a triangle by hand, the other run held taut.

    Examples
    --------
    >>> round(lift_for_excess_length(5.0, 560.0), 3)
    37.5
    """
    demand_not_negative(excess_mm, _("excess length"), "mm")
    demand_positive(span_mm, _("span"), "mm")
    return 0.5 * math.sqrt(excess_mm * (2.0 * span_mm + excess_mm))


def excess_length_for_lift(lift_mm: float, span_mm: float) -> float:
    """Return the excess length of a run that can be lifted so far at its middle, one way, [mm].

    Parameters
    ----------
    lift_mm : float
        Lift from the straight line, one way, [mm].
    span_mm : float
        Free length of the span, [mm].

    Examples
    --------
    >>> round(excess_length_for_lift(37.5, 560.0), 3)
    5.0
    """
    demand_not_negative(lift_mm, _("slack"), "mm")
    demand_positive(span_mm, _("span"), "mm")
    # The difference of two nearly equal lengths, written without it.
    return 4.0 * lift_mm**2 / (math.hypot(span_mm, 2.0 * lift_mm) + span_mm)


def total_movement_for_excess_length(excess_mm: float, span_mm: float) -> float:
    """Return the total movement of a run at its middle, up and down, [mm].

    Parameters
    ----------
    excess_mm : float
        By how much the run is longer than its span, [mm].
    span_mm : float
        Free length of the span, [mm].

    Examples
    --------
    >>> round(total_movement_for_excess_length(5.0, 560.0), 2)
    75.0
    """
    return 2.0 * lift_for_excess_length(excess_mm, span_mm)


def excess_length_for_total_movement(movement_mm: float, span_mm: float) -> float:
    """Return the excess length of a run that moves so far in all at its middle, [mm].

    Parameters
    ----------
    movement_mm : float
        Total movement, up and down, [mm].
    span_mm : float
        Free length of the span, [mm].

    Examples
    --------
    >>> round(excess_length_for_total_movement(75.0, 560.0), 2)
    5.0
    """
    return excess_length_for_lift(0.5 * movement_mm, span_mm)


def sag_for_excess_length(excess_mm: float, span_mm: float) -> float:
    """Return the sag of a run at rest under its own weight, [mm].

    Parameters
    ----------
    excess_mm : float
        By how much the run is longer than its span, [mm].
    span_mm : float
        Free length of the span, [mm].

    Notes
    -----
    Parabola; 0.3 % below the catenary at an excess of 0.9 % of the span.

    Examples
    --------
    >>> round(sag_for_excess_length(5.0, 560.0), 3)
    32.404
    """
    demand_not_negative(excess_mm, _("excess length"), "mm")
    demand_positive(span_mm, _("span"), "mm")
    return math.sqrt(0.375 * span_mm * excess_mm)


def excess_length_for_sag(sag_mm: float, span_mm: float) -> float:
    """Return the excess length of a run that sags so far at rest, [mm].

    Parameters
    ----------
    sag_mm : float
        Sag at the middle, [mm].
    span_mm : float
        Free length of the span, [mm].

    Examples
    --------
    >>> round(excess_length_for_sag(32.404, 560.0), 3)
    5.0
    """
    demand_not_negative(sag_mm, _("sag"), "mm")
    demand_positive(span_mm, _("span"), "mm")
    return sag_mm**2 / (0.375 * span_mm)


def handbook_slack(centre_distance_mm: float, is_shock_drive: bool = False) -> float:
    """Return the total movement at mid-span that a catalogue advises, [mm].

    Parameters
    ----------
    centre_distance_mm : float
        Centre distance of a level drive, [mm].
    is_shock_drive : bool
        Whether the drive is rough or reverses.

    References
    ----------
    Renold Jeffrey chain catalogue p. 229, as quoted at chiefdelphi.com: C/25 smooth, C/50 shock.

    Examples
    --------
    >>> handbook_slack(1000.0), handbook_slack(1000.0, is_shock_drive=True)
    (40.0, 20.0)
    """
    demand_positive(centre_distance_mm, _("centre distance"), "mm")
    return centre_distance_mm / (50.0 if is_shock_drive else 25.0)


@dataclass(frozen=True, slots=True)
class Bounds:
    """Between which two values something lies.

    Attributes
    ----------
    low, high
        The least and the greatest it can be.
    """

    low: float
    high: float


def length_per_axle_travel(centre_distance_mm: float, pitch_mm: float, teeth_1: int, teeth_2: int) -> float:
    """Return how much loop length each millimetre of axle travel takes up, [mm/mm].

    Parameters
    ----------
    centre_distance_mm : float
        Centre distance, [mm].
    pitch_mm : float
        Chain pitch, [mm].
    teeth_1, teeth_2 : int
        Numbers of teeth, [-].

    Notes
    -----
    2 cos(beta): exact for a belt. The radii of a chain are those of polygons: 3e-5 off on usual drives, 0.1 %
    on very short ones.

    Examples
    --------
    >>> round(length_per_axle_travel(555.9167, 12.7, 14, 42), 5)
    1.98967
    """
    radius_1, radius_2 = 0.5 * pitch_diameter(pitch_mm, teeth_1), 0.5 * pitch_diameter(pitch_mm, teeth_2)
    return 2.0 * math.cos(tangent_angle(centre_distance_mm, radius_1, radius_2))


def axle_travel_for_elongation(
    elongation: float, pitches: int, pitch_mm: float, teeth_1: int, teeth_2: int
) -> Bounds:
    """Return the axle travel that an elongation takes up, as bounds, [mm].

    Parameters
    ----------
    elongation : float
        Elongation of the whole chain, [-].
    pitches : int
        Number of pitches of the chain, [-].
    pitch_mm : float
        Nominal pitch, [mm].
    teeth_1, teeth_2 : int
        Numbers of teeth, [-].

    Returns
    -------
    Bounds
        Low if the chain climbs the teeth so that the whole loop grows alike, high if it does not climb at
        all and the growth of the wrapped links comes out of the sprockets too, [mm].

    Examples
    --------
    >>> travel = axle_travel_for_elongation(0.01, 116, 12.7, 14, 42)
    >>> round(travel.low, 3), round(travel.high, 3)
    (5.559, 7.404)
    """
    demand_not_negative(elongation, _("elongation"))
    new_mm = centre_distance(pitches, pitch_mm, teeth_1, teeth_2)
    per_mm = length_per_axle_travel(new_mm, pitch_mm, teeth_1, teeth_2)
    return Bounds(elongation * new_mm, elongation * pitches * pitch_mm / per_mm)


def axle_travel_for_links_removed(
    links: int, pitches: int, pitch_mm: float, teeth_1: int, teeth_2: int
) -> float:
    """Return how far the axle moves forward when links are taken out, [mm].

    Parameters
    ----------
    links : int
        Links taken out, [-].
    pitches : int
        Number of pitches before, [-].
    pitch_mm : float
        Nominal pitch, [mm].
    teeth_1, teeth_2 : int
        Numbers of teeth, [-].

    Notes
    -----
    Taking links out does not mend a worn chain: its elongation stays what it is.

    Examples
    --------
    >>> round(axle_travel_for_links_removed(2, 116, 12.7, 14, 42), 2)
    12.77
    """
    before_mm = centre_distance(pitches, pitch_mm, teeth_1, teeth_2)
    return before_mm - centre_distance(pitches - links, pitch_mm, teeth_1, teeth_2)


def slack_after_elongation(
    movement_mm: float, elongation_growth: float, span_mm: float, pitches: int, pitch_mm: float
) -> Bounds:
    """Return the total movement at mid-span after a chain has grown by so much, [mm].

    Parameters
    ----------
    movement_mm : float
        Total movement now, up and down, [mm].
    elongation_growth : float
        Elongation from now on, [-].
    span_mm : float
        Free length of the run, [mm].
    pitches : int
        Number of pitches of the chain, [-].
    pitch_mm : float
        Nominal pitch, [mm].

    Returns
    -------
    Bounds
        Low if the wrapped links climb and only the two runs show their growth, high if the whole loop's
        growth shows in the slack run, [mm].

    Examples
    --------
    >>> grown = slack_after_elongation(30.0, 0.001, 553.0, 116, 12.7)
    >>> round(grown.low, 1), round(grown.high, 1)
    (46.1, 50.3)
    """
    demand_not_negative(elongation_growth, _("growth of the elongation"))
    demand_pitch(pitch_mm)
    excess_mm = excess_length_for_total_movement(movement_mm, span_mm)
    least, most = sorted((2.0 * elongation_growth * span_mm, elongation_growth * pitches * pitch_mm))
    return Bounds(
        total_movement_for_excess_length(excess_mm + least, span_mm),
        total_movement_for_excess_length(excess_mm + most, span_mm),
    )


def elongation_growth_for_slack(
    movement_mm: float, wanted_mm: float, span_mm: float, pitches: int, pitch_mm: float
) -> Bounds:
    """Return the elongation still to come until slack has grown to a value, [-].

    Parameters
    ----------
    movement_mm : float
        Total movement now, up and down, [mm].
    wanted_mm : float
        Total movement at which to adjust, [mm].
    span_mm : float
        Free length of the run, [mm].
    pitches : int
        Number of pitches of the chain, [-].
    pitch_mm : float
        Nominal pitch, [mm].

    Returns
    -------
    Bounds
        Low if the whole loop's growth shows as slack, high if only the runs' does, [-]; zero if slack is
        there already.

    Examples
    --------
    >>> growth = elongation_growth_for_slack(30.0, 50.331, 553.0, 116, 12.7)
    >>> round(growth.low, 5)
    0.001
    """
    demand_pitch(pitch_mm)
    demand_positive(pitches, _("number of pitches"))
    missing_mm = max(
        excess_length_for_total_movement(wanted_mm, span_mm)
        - excess_length_for_total_movement(movement_mm, span_mm),
        0.0,
    )
    low, high = sorted((missing_mm / (pitches * pitch_mm), missing_mm / (2.0 * span_mm)))
    return Bounds(low, high)
