"""Roller chains round two sprockets: length, centre distance, wrap and span."""

import math
from gettext import gettext as _

from wearlog.drive.demands import demand_pitch, demand_positive, demand_teeth, refusal
from wearlog.drive.loop import centre_distance_of_loop, loop_length, tangent_angle
from wearlog.drive.sprocket import pitch_diameter


def chain_length(centre_distance_mm: float, pitch_mm: float, teeth_1: int, teeth_2: int) -> float:
    """Return the exact length of a taut chain round two sprockets, [pitches].

    Parameters
    ----------
    centre_distance_mm : float
        Centre distance, [mm].
    pitch_mm : float
        Chain pitch, [mm].
    teeth_1, teeth_2 : int
        Numbers of teeth, in either order, [-].

    Notes
    -----
    The wrapped chain is a polygon of chords: its radius is p / (2 sin(pi/z)) while a turn carries z pitches.
    Where along a tooth the wrap begins is left out; it moves real tension by a fraction of a millimetre.

    Raises
    ------
    WearlogError
        If the sprockets would touch.

    Examples
    --------
    >>> round(chain_length(555.9167, 12.7, 14, 42), 4)
    116.0
    """
    radius_1, radius_2 = _radii(pitch_mm, teeth_1, teeth_2)
    return (
        loop_length(centre_distance_mm, radius_1, radius_2, teeth_1 * pitch_mm, teeth_2 * pitch_mm) / pitch_mm
    )


def centre_distance(
    pitches: float, pitch_mm: float, teeth_1: int, teeth_2: int, elongation: float = 0.0
) -> float:
    """Return the exact centre distance at which a chain is just taut, [mm].

    Parameters
    ----------
    pitches : float
        Length of the chain, [pitches].
    pitch_mm : float
        Nominal chain pitch, [mm].
    teeth_1, teeth_2 : int
        Numbers of teeth, in either order, [-].
    elongation : float
        Elongation of a chain that seats low in the teeth all the same, [-].

    Raises
    ------
    WearlogError
        If the chain is too short to close round the sprockets.

    Examples
    --------
    >>> round(centre_distance(116, 12.7, 14, 42), 4)
    555.9167
    """
    demand_positive(pitches, _("number of pitches"))
    radius_1, radius_2 = _radii(pitch_mm, teeth_1, teeth_2)
    length_mm = pitches * pitch_mm * (1.0 + elongation)
    found = centre_distance_of_loop(length_mm, radius_1, radius_2, teeth_1 * pitch_mm, teeth_2 * pitch_mm)
    if found is None:
        raise refusal(
            _("A chain of {pitches:g} pitches is too short to close round {a} and {b} teeth.").format(
                pitches=pitches, a=teeth_1, b=teeth_2
            ),
            _("Check the number of links and the numbers of teeth."),
        )
    return found


def handbook_chain_length(centre_distance_mm: float, pitch_mm: float, teeth_1: int, teeth_2: int) -> float:
    """Return the chain length by the usual handbook approximation, [pitches].

    Parameters
    ----------
    centre_distance_mm : float
        Centre distance, [mm].
    pitch_mm : float
        Chain pitch, [mm].
    teeth_1, teeth_2 : int
        Numbers of teeth, [-].

    References
    ----------
    FOSSEE Scilab textbook companion 764, chapter 14; ramseychain.com.

    Examples
    --------
    >>> round(handbook_chain_length(500.0, 12.7, 21, 63), 6)
    121.875097
    """
    demand_pitch(pitch_mm)
    demand_positive(centre_distance_mm, _("centre distance"), "mm")
    demand_teeth(min(teeth_1, teeth_2))
    centre_pitches = centre_distance_mm / pitch_mm
    difference = (teeth_2 - teeth_1) / (2.0 * math.pi)
    return 2.0 * centre_pitches + 0.5 * (teeth_1 + teeth_2) + difference**2 / centre_pitches


def handbook_centre_distance(pitches: float, pitch_mm: float, teeth_1: int, teeth_2: int) -> float:
    """Return the centre distance by the inverse of the handbook approximation, [mm].

    Parameters
    ----------
    pitches : float
        Length of the chain, [pitches].
    pitch_mm : float
        Chain pitch, [mm].
    teeth_1, teeth_2 : int
        Numbers of teeth, [-].

    Raises
    ------
    WearlogError
        If the chain is too short to close.

    References
    ----------
    FOSSEE Scilab textbook companion 764, chapter 14.

    Examples
    --------
    >>> round(handbook_centre_distance(122, 12.7, 21, 63), 6)
    500.804717
    """
    demand_pitch(pitch_mm)
    demand_teeth(min(teeth_1, teeth_2))
    left = pitches - 0.5 * (teeth_1 + teeth_2)
    under_root = left**2 - 8.0 * ((teeth_2 - teeth_1) / (2.0 * math.pi)) ** 2
    if left <= 0 or under_root < 0:
        raise refusal(
            _("A chain of {pitches:g} pitches is too short to close round {a} and {b} teeth.").format(
                pitches=pitches, a=teeth_1, b=teeth_2
            ),
            _("Check the number of links and the numbers of teeth."),
        )
    return 0.25 * pitch_mm * (left + math.sqrt(under_root))


def links_to_fit(length_pitches: float) -> int:
    """Return the number of links to order for a length: the next even number, [-].

    Parameters
    ----------
    length_pitches : float
        Computed chain length, [pitches].

    Notes
    -----
    An odd number would need a cranked link, which is weaker; on motorcycles none is fitted.

    References
    ----------
    machinecalc.pages.dev, chain length; ramseychain.com. For motorcycles: common practice, no source.

    Examples
    --------
    >>> links_to_fit(109.3), links_to_fit(116.0)
    (110, 116)
    """
    demand_positive(length_pitches, _("chain length"))
    return 2 * math.ceil(length_pitches / 2.0 - 1e-9)


def is_cranked_link_needed(links: int) -> bool:
    """Return whether a number of links can only be closed with a cranked link.

    Parameters
    ----------
    links : int
        Number of links, [-].
    """
    return links % 2 == 1


def wraps(centre_distance_mm: float, pitch_mm: float, teeth_1: int, teeth_2: int) -> tuple[float, float]:
    """Return the angles over which the chain lies on each sprocket, [rad].

    Parameters
    ----------
    centre_distance_mm : float
        Centre distance, [mm].
    pitch_mm : float
        Chain pitch, [mm].
    teeth_1, teeth_2 : int
        Numbers of teeth, [-].

    Examples
    --------
    >>> [round(math.degrees(angle), 2) for angle in wraps(555.9167, 12.7, 14, 42)]
    [168.35, 191.65]
    """
    lean = tangent_angle(centre_distance_mm, *_radii(pitch_mm, teeth_1, teeth_2))
    return math.pi - 2.0 * lean, math.pi + 2.0 * lean


def span(centre_distance_mm: float, pitch_mm: float, teeth_1: int, teeth_2: int) -> float:
    """Return the free length of either run, [mm].

    Parameters
    ----------
    centre_distance_mm : float
        Centre distance, [mm].
    pitch_mm : float
        Chain pitch, [mm].
    teeth_1, teeth_2 : int
        Numbers of teeth, [-].

    Examples
    --------
    >>> round(span(555.9167, 12.7, 14, 42), 2)
    553.04
    """
    return centre_distance_mm * math.cos(
        tangent_angle(centre_distance_mm, *_radii(pitch_mm, teeth_1, teeth_2))
    )


def folded_length(links: int, pitch_mm: float, plate_height_mm: float) -> float:
    """Return the length of an endless chain laid flat in two, over its ends, [mm].

    Parameters
    ----------
    links : int
        Number of links, [-].
    pitch_mm : float
        Chain pitch, [mm].
    plate_height_mm : float
        Height of the plates, [mm].

    References
    ----------
    karting.co.uk notice 515717, 219 chain measured doubled.

    Examples
    --------
    >>> round(folded_length(104, 7.774, 6.5), 3)
    402.974
    """
    demand_pitch(pitch_mm)
    demand_positive(links, _("number of links"))
    return (links / 2 - 1) * pitch_mm + plate_height_mm


def _radii(pitch_mm: float, teeth_1: int, teeth_2: int) -> tuple[float, float]:
    return 0.5 * pitch_diameter(pitch_mm, teeth_1), 0.5 * pitch_diameter(pitch_mm, teeth_2)
