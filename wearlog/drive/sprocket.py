"""Sprocket geometry: pitch, root, tip and caliper diameters, and how far a worn chain climbs."""

import math
from gettext import gettext as _

from wearlog.drive.demands import demand_pitch, demand_positive, demand_teeth


def pitch_diameter(pitch_mm: float, teeth: int) -> float:
    """Return the pitch diameter of a sprocket, [mm].

    Parameters
    ----------
    pitch_mm : float
        Chain pitch, [mm].
    teeth : int
        Number of teeth, [-].

    Raises
    ------
    WearlogError
        If there are fewer than three teeth or no pitch.

    References
    ----------
    ANSI/ASME B29.1-2011, sprocket formulas, as quoted at amesweb.info.

    Examples
    --------
    >>> round(pitch_diameter(25.4, 17), 2)
    138.23
    """
    demand_pitch(pitch_mm)
    demand_teeth(teeth)
    return pitch_mm / math.sin(math.pi / teeth)


def root_diameter(pitch_mm: float, teeth: int, roller_diameter_mm: float) -> float:
    """Return the root diameter of a sprocket, [mm].

    Parameters
    ----------
    pitch_mm : float
        Chain pitch, [mm].
    teeth : int
        Number of teeth, [-].
    roller_diameter_mm : float
        Roller diameter of the new chain, [mm].

    References
    ----------
    ANSI/ASME B29.1-2011, sprocket formulas, as quoted at amesweb.info.

    Examples
    --------
    >>> round(root_diameter(12.7, 34, 8.51), 2)
    129.13
    """
    demand_positive(roller_diameter_mm, _("roller diameter"), "mm")
    return pitch_diameter(pitch_mm, teeth) - roller_diameter_mm


def caliper_diameter(pitch_mm: float, teeth: int, roller_diameter_mm: float) -> float:
    """Return what a caliper reads across the tooth gaps of a new sprocket, [mm].

    Parameters
    ----------
    pitch_mm : float
        Chain pitch, [mm].
    teeth : int
        Number of teeth, [-]. With an odd number no two gaps face each other.
    roller_diameter_mm : float
        Roller diameter of the new chain, [mm].

    References
    ----------
    ANSI/ASME B29.1-2011, sprocket formulas, as quoted at amesweb.info.

    Examples
    --------
    >>> round(caliper_diameter(12.7, 17, 7.92), 3)
    60.901
    """
    demand_positive(roller_diameter_mm, _("roller diameter"), "mm")
    return _across(pitch_mm, teeth) - roller_diameter_mm


def over_pin_measure(pitch_mm: float, teeth: int, pin_diameter_mm: float) -> float:
    """Return the measure over two pins laid into a new sprocket, [mm].

    Parameters
    ----------
    pitch_mm : float
        Chain pitch, [mm].
    teeth : int
        Number of teeth, [-].
    pin_diameter_mm : float
        Diameter of the measuring pins, the new roller's, [mm].

    References
    ----------
    ISO 606, sprockets, measurement over pins, from memory.

    Examples
    --------
    >>> round(over_pin_measure(12.7, 15, 8.51), 3)
    69.259
    """
    demand_positive(pin_diameter_mm, _("pin diameter"), "mm")
    return _across(pitch_mm, teeth) + pin_diameter_mm


def _across(pitch_mm: float, teeth: int) -> float:
    diameter = pitch_diameter(pitch_mm, teeth)
    return diameter if teeth % 2 == 0 else diameter * math.cos(0.5 * math.pi / teeth)


def tip_diameter_max(pitch_mm: float, teeth: int, roller_diameter_mm: float) -> float:
    """Return the largest tip diameter of a sprocket, [mm].

    Parameters
    ----------
    pitch_mm : float
        Chain pitch, [mm].
    teeth : int
        Number of teeth, [-].
    roller_diameter_mm : float
        Roller diameter, [mm].

    References
    ----------
    ISO 606, sprockets, from memory; formula also at jiansujichilun.com/article-579.

    Examples
    --------
    >>> round(tip_diameter_max(12.7, 17, 7.92), 4)
    77.0708
    """
    return pitch_diameter(pitch_mm, teeth) + 1.25 * pitch_mm - roller_diameter_mm


def tip_diameter_min(pitch_mm: float, teeth: int, roller_diameter_mm: float) -> float:
    """Return the smallest tip diameter of a sprocket, [mm].

    Parameters
    ----------
    pitch_mm : float
        Chain pitch, [mm].
    teeth : int
        Number of teeth, [-].
    roller_diameter_mm : float
        Roller diameter, [mm].

    References
    ----------
    ISO 606, sprockets, from memory.

    Examples
    --------
    >>> round(tip_diameter_min(12.7, 17, 7.92), 4)
    72.7005
    """
    return pitch_diameter(pitch_mm, teeth) + pitch_mm * (1.0 - 1.6 / teeth) - roller_diameter_mm


def tip_diameter_us(pitch_mm: float, teeth: int) -> float:
    """Return the tip diameter of US practice, [mm].

    Parameters
    ----------
    pitch_mm : float
        Chain pitch, [mm].
    teeth : int
        Number of teeth, [-].

    References
    ----------
    ANSI/ASME B29.1-2011, as quoted at amesweb.info.

    Examples
    --------
    >>> round(tip_diameter_us(38.1, 25), 2)
    324.45
    """
    demand_pitch(pitch_mm)
    demand_teeth(teeth)
    return pitch_mm * (0.6 + 1.0 / math.tan(math.pi / teeth))


def pitch_circle_growth(pitch_growth_mm: float, teeth: int) -> float:
    """Return by how much a worn chain climbs on a sprocket, as growth of the pitch diameter, [mm].

    Parameters
    ----------
    pitch_growth_mm : float
        Growth of the pitch, [mm].
    teeth : int
        Number of teeth, [-].

    References
    ----------
    inggo.com/teachnet, lesson on chain elongation and tooth numbers.

    Examples
    --------
    >>> round(pitch_circle_growth(0.127, 42), 3)
    1.699
    """
    demand_teeth(teeth)
    return pitch_growth_mm / math.sin(math.pi / teeth)


def elongation_at_tip(pitch_mm: float, teeth: int, roller_diameter_mm: float) -> float:
    """Return the elongation at which the rollers' centres reach the largest tip circle, [-].

    Parameters
    ----------
    pitch_mm : float
        Chain pitch, [mm].
    teeth : int
        Number of teeth, [-].
    roller_diameter_mm : float
        Roller diameter, [mm].

    Notes
    -----
    From d (1 + elongation) = da_max. Close to 2.00 / teeth for rollers of 0.62 pitch.

    Examples
    --------
    >>> round(100 * elongation_at_tip(12.7, 60, 7.92), 4)
    3.2782
    """
    largest = tip_diameter_max(pitch_mm, teeth, roller_diameter_mm)
    return largest / pitch_diameter(pitch_mm, teeth) - 1.0
