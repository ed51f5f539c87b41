"""Toothed belt drives: pulleys, belt length, centre distance, span, and static tension."""

import math
from gettext import gettext as _

from wearlog.drive.demands import demand_not_negative, demand_pitch, demand_positive, demand_teeth, refusal
from wearlog.drive.loop import centre_distance_of_loop, loop_length, tangent_angle


def pulley_pitch_diameter(pitch_mm: float, teeth: int) -> float:
    """Return the pitch diameter of a pulley, [mm].

    Parameters
    ----------
    pitch_mm : float
        Belt pitch, [mm].
    teeth : int
        Number of teeth, [-].

    References
    ----------
    bs-wiki.de, worked timing-belt example (method of Roloff/Matek).

    Examples
    --------
    >>> round(pulley_pitch_diameter(5.0, 38), 2)
    60.48
    """
    demand_pitch(pitch_mm)
    demand_teeth(teeth)
    return teeth * pitch_mm / math.pi


def pulley_outside_diameter(pitch_mm: float, teeth: int, pitch_differential_mm: float) -> float:
    """Return the outside diameter of a pulley, [mm].

    Parameters
    ----------
    pitch_mm : float
        Belt pitch, [mm].
    teeth : int
        Number of teeth, [-].
    pitch_differential_mm : float
        How far the belt's pitch line lies outside the pulley, on the radius, [mm].

    References
    ----------
    ISO 13050, from memory; differentials at transbelting.com, HTD page.

    Examples
    --------
    >>> round(pulley_pitch_diameter(8, 34) - pulley_outside_diameter(8, 34, 0.686), 3)
    1.372
    """
    demand_not_negative(pitch_differential_mm, _("pitch differential"), "mm")
    return pulley_pitch_diameter(pitch_mm, teeth) - 2.0 * pitch_differential_mm


def belt_length(centre_distance_mm: float, pitch_mm: float, teeth_1: int, teeth_2: int) -> float:
    """Return the exact pitch length of a belt round two pulleys, [mm].

    Parameters
    ----------
    centre_distance_mm : float
        Centre distance, [mm].
    pitch_mm : float
        Belt pitch, [mm].
    teeth_1, teeth_2 : int
        Teeth of the pulleys, in either order, [-].

    Raises
    ------
    WearlogError
        If the pulleys would touch.

    Examples
    --------
    >>> round(belt_length(100.0, 2.0, 20, 60) / 2.0, 9)
    140.811669872
    """
    radius_1, radius_2 = _radii(pitch_mm, teeth_1, teeth_2)
    return loop_length(centre_distance_mm, radius_1, radius_2, teeth_1 * pitch_mm, teeth_2 * pitch_mm)


def belt_centre_distance(belt_teeth: float, pitch_mm: float, teeth_1: int, teeth_2: int) -> float:
    """Return the exact centre distance at which a belt is just taut, [mm].

    Parameters
    ----------
    belt_teeth : float
        Teeth of the belt, [-].
    pitch_mm : float
        Belt pitch, [mm].
    teeth_1, teeth_2 : int
        Teeth of the pulleys, in either order, [-].

    Raises
    ------
    WearlogError
        If the belt is too short to close round the pulleys.

    Examples
    --------
    >>> round(belt_centre_distance(140, 2.0, 20, 60), 4)
    99.1816
    """
    demand_positive(belt_teeth, _("number of belt teeth"))
    radius_1, radius_2 = _radii(pitch_mm, teeth_1, teeth_2)
    found = centre_distance_of_loop(
        belt_teeth * pitch_mm, radius_1, radius_2, teeth_1 * pitch_mm, teeth_2 * pitch_mm
    )
    if found is None:
        raise refusal(
            _("A belt with {belt:g} teeth is too short to close round pulleys of {a} and {b} teeth.").format(
                belt=belt_teeth, a=teeth_1, b=teeth_2
            ),
            _("Check the teeth of the belt and of the pulleys."),
        )
    return found


def belt_wraps(centre_distance_mm: float, pitch_mm: float, teeth_1: int, teeth_2: int) -> tuple[float, float]:
    """Return the angles over which the belt lies on each pulley, [rad].

    Parameters
    ----------
    centre_distance_mm : float
        Centre distance, [mm].
    pitch_mm : float
        Belt pitch, [mm].
    teeth_1, teeth_2 : int
        Teeth of the pulleys, [-].

    Examples
    --------
    >>> round(math.degrees(belt_wraps(299.0, 5.0, 38, 114)[0]), 2)
    156.66
    """
    lean = tangent_angle(centre_distance_mm, *_radii(pitch_mm, teeth_1, teeth_2))
    return math.pi - 2.0 * lean, math.pi + 2.0 * lean


def belt_span(centre_distance_mm: float, pitch_mm: float, teeth_1: int, teeth_2: int) -> float:
    """Return the free length of either run of a belt, [mm].

    Parameters
    ----------
    centre_distance_mm : float
        Centre distance, [mm].
    pitch_mm : float
        Belt pitch, [mm].
    teeth_1, teeth_2 : int
        Teeth of the pulleys, [-].

    References
    ----------
    SDP/SI handbook D790, equation (1-3).

    Examples
    --------
    >>> round(belt_span(299.0, 5.0, 38, 114), 2)
    292.82
    """
    return centre_distance_mm * math.cos(
        tangent_angle(centre_distance_mm, *_radii(pitch_mm, teeth_1, teeth_2))
    )


def tensioning_travel(belt_length_mm: float) -> float:
    """Return the travel to leave for tensioning a toothed belt, [mm].

    Parameters
    ----------
    belt_length_mm : float
        Pitch length of the belt, [mm].

    References
    ----------
    bs-wiki.de, worked timing-belt example (method of Roloff/Matek): 0.005 of the length.

    Examples
    --------
    >>> tensioning_travel(990.0)
    4.95
    """
    demand_positive(belt_length_mm, _("belt length"), "mm")
    return 0.005 * belt_length_mm


def tension_of_frequency(frequency_hz: float, span_mm: float, mass_kg_per_m: float) -> float:
    """Return the static tension of a belt whose free span rings at a frequency, [N].

    Parameters
    ----------
    frequency_hz : float
        Frequency of the plucked span, motor off, [Hz].
    span_mm : float
        Free length of the span, [mm].
    mass_kg_per_m : float
        Mass per length of the belt at its full width, [kg/m].

    Notes
    -----
    The string equation. A stiff, short, slack span rings higher than its tension says.

    References
    ----------
    Gates 508C manual p. 10 (metre form); worked example at rad-forum.de, thread 1270810.

    Examples
    --------
    >>> round(tension_of_frequency(30.0, 472.88, 0.0735), 3)
    59.169
    """
    demand_positive(frequency_hz, _("frequency"), "Hz")
    demand_positive(span_mm, _("belt span"), "mm")
    demand_positive(mass_kg_per_m, _("mass per metre of the belt"), "kg/m")
    return 4.0 * mass_kg_per_m * (1e-3 * span_mm * frequency_hz) ** 2


def frequency_of_tension(tension_n: float, span_mm: float, mass_kg_per_m: float) -> float:
    """Return the frequency at which a free belt span rings under a tension, [Hz].

    Parameters
    ----------
    tension_n : float
        Static tension, [N].
    span_mm : float
        Free length of the span, [mm].
    mass_kg_per_m : float
        Mass per length of the belt at its full width, [kg/m].

    Examples
    --------
    >>> round(frequency_of_tension(59.1687, 472.88, 0.0735), 3)
    30.0
    """
    demand_positive(tension_n, _("belt tension"), "N")
    demand_positive(span_mm, _("belt span"), "mm")
    demand_positive(mass_kg_per_m, _("mass per metre of the belt"), "kg/m")
    return math.sqrt(tension_n / mass_kg_per_m) / (2e-3 * span_mm)


def tension_of_deflection(force_n: float, span_mm: float, deflection_mm: float) -> float:
    """Return the static tension of a belt that a force deflects at mid-span, [N].

    Parameters
    ----------
    force_n : float
        Force square to the span at its middle, [N].
    span_mm : float
        Free length of the span, [mm].
    deflection_mm : float
        Deflection there, [mm].

    Notes
    -----
    Statics of the taut string; the belt's own stretch by the deflection is left out.

    References
    ----------
    SDP/SI handbook D790 p. T-3, equations (1-4) and (1-5): the same with a deflection of 1/64 of the span.

    Examples
    --------
    >>> round(tension_of_deflection(0.0624695, 64.0, 1.0), 4)
    1.0
    """
    demand_positive(force_n, _("deflection force"), "N")
    return force_n / _force_per_tension(span_mm, deflection_mm)


def deflection_force(tension_n: float, span_mm: float, deflection_mm: float) -> float:
    """Return the force that deflects a belt span at its middle, [N].

    Parameters
    ----------
    tension_n : float
        Static tension, [N].
    span_mm : float
        Free length of the span, [mm].
    deflection_mm : float
        Deflection wanted, [mm].

    References
    ----------
    SDP/SI handbook D790 p. T-3, equation (1-4), without the belt's stretch.

    Examples
    --------
    >>> round(deflection_force(100.0, 640.0, 10.0), 3)
    6.247
    """
    demand_positive(tension_n, _("belt tension"), "N")
    return tension_n * _force_per_tension(span_mm, deflection_mm)


def handbook_deflection(span_mm: float) -> float:
    """Return the deflection at which handbooks have the force read, 1/64 of the span, [mm].

    Parameters
    ----------
    span_mm : float
        Free length of the span, [mm].

    References
    ----------
    SDP/SI handbook D790 p. T-3.

    Examples
    --------
    >>> handbook_deflection(640.0)
    10.0
    """
    demand_positive(span_mm, _("belt span"), "mm")
    return span_mm / 64.0


def _force_per_tension(span_mm: float, deflection_mm: float) -> float:
    demand_positive(span_mm, _("belt span"), "mm")
    demand_positive(deflection_mm, _("deflection"), "mm")
    return 2.0 * math.sin(math.atan(2.0 * deflection_mm / span_mm))


def _radii(pitch_mm: float, teeth_1: int, teeth_2: int) -> tuple[float, float]:
    return 0.5 * pulley_pitch_diameter(pitch_mm, teeth_1), 0.5 * pulley_pitch_diameter(pitch_mm, teeth_2)
