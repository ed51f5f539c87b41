"""Chain elongation from lengths over a number of pitches."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from gettext import gettext as _

from wearlog.drive.demands import demand_not_negative, demand_pitch, demand_positive, refusal
from wearlog.fleet.reading import Method, Spot
from wearlog.measuring import defaults
from wearlog.measuring.uncertainty import combined, pooled_deviation, u_of_half_width, u_of_resolution

#: Methods whose spots are lengths.
LENGTH_METHODS = frozenset(defaults.U_SETTING_MM)


@dataclass(frozen=True, slots=True)
class SpotValues:
    """The elongation at every spot, and the standard uncertainty of the greatest.

    Attributes
    ----------
    values
        Elongation at each spot, [-].
    u_value
        Standard uncertainty of the greatest of them as the elongation of the worst place, [-].
    """

    values: tuple[float, ...]
    u_value: float


def elongation_over_pitches(
    length_mm: float, pitches: int, pitch_mm: float, u_length_mm: float
) -> tuple[float, float]:
    """Return the relative elongation of a chain and its standard uncertainty.

    Parameters
    ----------
    length_mm : float
        Length over `pitches` pitches, same side of the rollers or pins, [mm].
    pitches : int
        Number of pitches spanned, [-].
    pitch_mm : float
        Nominal pitch, [mm].
    u_length_mm : float
        Standard uncertainty of the length, [mm].

    Returns
    -------
    elongation, u_elongation : float
        (length - nominal) / nominal and its standard uncertainty, [-]; 0.0075 is 0.75 %.

    Raises
    ------
    WearlogError
        If the length, `pitches` or `pitch_mm` is not positive.

    References
    ----------
    Kawasaki ZX-10R service manual p. 2-32 (1st to 21st pin); JCGM 100:2008, 5.1.2.

    Examples
    --------
    >>> e, u = elongation_over_pitches(153.2, pitches=12, pitch_mm=12.7, u_length_mm=0.05)
    >>> round(e, 5), round(u, 6)
    (0.00525, 0.000328)
    """
    demand_positive(length_mm, _("length"), "mm")
    demand_not_negative(u_length_mm, _("uncertainty of the length"), "mm")
    nominal_mm = nominal_length(pitches, pitch_mm)
    return (length_mm - nominal_mm) / nominal_mm, u_length_mm / nominal_mm


def nominal_length(pitches: int, pitch_mm: float) -> float:
    """Return the length of a new chain over a number of pitches, [mm].

    Parameters
    ----------
    pitches : int
        Number of pitches spanned, [-].
    pitch_mm : float
        Nominal pitch, [mm].

    Raises
    ------
    WearlogError
        If either is not positive.

    Examples
    --------
    >>> nominal_length(20, 15.875)
    317.5
    """
    demand_pitch(pitch_mm)
    if pitches < 1:
        raise refusal(
            _("A length over {pitches} pitches cannot be measured.").format(pitches=pitches),
            _("Count the pins: pin 1 to pin 21 are 20 pitches."),
        )
    return pitches * pitch_mm


def mean_of_inside_and_outside(inside_mm: float, outside_mm: float) -> float:
    """Return the length over pitches from the inside and outside distance of two rollers, [mm].

    Parameters
    ----------
    inside_mm : float
        Between the rollers, [mm].
    outside_mm : float
        Over the rollers, [mm].

    Notes
    -----
    The roller diameter cancels, whatever it is. The two may come in either order.

    Raises
    ------
    WearlogError
        If both are the same or one is not positive.

    References
    ----------
    Tsubaki, Drive Chains catalogue (yumpu 42826188), p. 168; Yamaha YZ250F service manual p. 4-64.

    Examples
    --------
    >>> mean_of_inside_and_outside(119.760, 136.780)
    128.27
    """
    demand_positive(inside_mm, _("inside length"), "mm")
    demand_positive(outside_mm, _("outside length"), "mm")
    if inside_mm == outside_mm:
        raise refusal(
            _("The inside and the outside length are both {length:g} mm; a roller lies between them.").format(
                length=inside_mm
            ),
            _("Measure inside and over the same two rollers."),
        )
    return 0.5 * (inside_mm + outside_mm)


def length_at(spot: Spot, method: Method, roller_diameter_mm: float | None) -> float:
    """Return the length over the pitches at a spot, whatever the method, [mm].

    Parameters
    ----------
    spot : Spot
        As typed, lengths in [mm].
    method : Method
        How it was measured.
    roller_diameter_mm : float or None
        Roller diameter, [mm]; needed between rollers.

    Raises
    ------
    WearlogError
        If the outside length or the roller diameter is missing.
    """
    if method is Method.INSIDE_AND_OUTSIDE:
        if spot.second is None:
            raise refusal(
                _("The outside length of the spot {typed} is missing.").format(
                    typed=spot.typed or f"{spot.value:g}"
                ),
                _("Enter the length inside and over the same two rollers."),
            )
        return mean_of_inside_and_outside(spot.value, spot.second)
    demand_positive(spot.value, _("length"), "mm")
    if method is Method.BETWEEN_ROLLERS:
        if roller_diameter_mm is None:
            raise refusal(
                _("A length between rollers says nothing without the roller diameter."),
                _("Enter the roller diameter with the chain, or measure inside and outside."),
            )
        demand_positive(roller_diameter_mm, _("roller diameter"), "mm")
        return spot.value + roller_diameter_mm
    return spot.value


def elongation_of_spots(
    method: Method,
    spots: Sequence[Spot],
    pitches: int,
    pitch_mm: float,
    *,
    roller_diameter_mm: float | None = None,
    instrument_resolution_mm: float = 0.0,
    u_instrument_mm: float = 0.0,
    bias_mm: float = 0.0,
    was_cleaned: bool | None = None,
    has_zero_reading: bool = False,
) -> SpotValues:
    """Return the elongation at every spot and the standard uncertainty of the greatest.

    Parameters
    ----------
    method : Method
        How the lengths were measured.
    spots : sequence of Spot
        One for each place, lengths in [mm].
    pitches : int
        Number of pitches spanned, [-].
    pitch_mm : float
        Nominal pitch, [mm].
    roller_diameter_mm : float or None
        Roller diameter, [mm].
    instrument_resolution_mm : float
        Resolution of the instrument, [mm]; what was typed counts if it is coarser.
    u_instrument_mm : float
        Standard uncertainty of the instrument, [mm].
    bias_mm : float
        What the instrument reads too much, [mm].
    was_cleaned : bool or None
        Whether the stretch was cleaned before; None if nobody said.
    has_zero_reading : bool
        Whether this chain was measured new the same way, so that the play of its rollers is known.

    Raises
    ------
    WearlogError
        If there is no spot, or a spot cannot be a length of this kind.

    Notes
    -----
    u^2 = u_setting^2 + u_resolution^2 + u_instrument^2 + (s/sqrt(k))^2 and, where they apply, the odd count,
    the play of the rollers and the dirt. s is the scatter between places, from the k spots and the usual one.

    References
    ----------
    JCGM 100:2008, 4.2, 4.3 and 5.1.2.
    """
    if not spots:
        raise refusal(_("No spot was entered."), _("Enter the length at one place at least."))
    nominal_mm = nominal_length(pitches, pitch_mm)
    lengths = [length_at(spot, method, roller_diameter_mm) - bias_mm for spot in spots]
    values = tuple((length - nominal_mm) / nominal_mm for length in lengths)
    greatest = max(range(len(values)), key=values.__getitem__)
    resolution_mm = max(spots[greatest].resolution, instrument_resolution_mm)
    # Two entries are averaged inside and outside; any other length has its other edge at zero of the scale.
    readings = 2.0 if method is Method.INSIDE_AND_OUTSIDE else 1.0
    u_resolution_mm = u_of_resolution(resolution_mm) / math.sqrt(readings)
    u_length_mm = combined(defaults.U_SETTING_MM[method], u_resolution_mm, u_instrument_mm)
    parts = [u_length_mm / nominal_mm, u_of_places(values, method, pitches)]
    if pitches % 2:
        # Over an odd count one inner or outer link is one too many: up to 1/n of the wear.
        parts.append(u_of_half_width(abs(values[greatest]) / pitches))
    if method is Method.BETWEEN_ROLLERS and not has_zero_reading:
        parts.append(defaults.U_ROLLER_PLAY)
    if was_cleaned is False:
        parts.append(defaults.U_NOT_CLEANED)
    return SpotValues(values, combined(*parts))


def u_of_places(values: Sequence[float], method: Method, pitches: int) -> float:
    """Return the standard uncertainty from the scatter between places, [-].

    Parameters
    ----------
    values : sequence of float
        Elongation at each spot, [-].
    method : Method
        How it was measured; a whole chain has no other place.
    pitches : int
        Number of pitches spanned, [-]; a longer stretch averages the scatter of its links.

    Notes
    -----
    The usual scatter was seen over 11 pitches and falls with the square root of the stretch. Assumption.
    """
    if method is Method.WHOLE_CHAIN:
        return 0.0
    usual = defaults.PLACE_SCATTER * math.sqrt(min(11.0 / pitches, 1.0))
    return pooled_deviation(values, usual) / math.sqrt(len(values))


def pins_text(pitches: int, pitch_mm: float) -> str:
    r"""Return the count in pins and in pitches, with the length of a new chain.

    Parameters
    ----------
    pitches : int
        Number of pitches spanned, [-].
    pitch_mm : float
        Nominal pitch, [mm].

    Examples
    --------
    >>> pins_text(20, 12.7)
    'pin 1 to pin 21 = 20 pitches = 254.0\u2009mm new'
    """
    return _("pin 1 to pin {pin} = {pitches} pitches = {length:.1f}\u2009mm new").format(
        pin=pitches + 1, pitches=pitches, length=nominal_length(pitches, pitch_mm)
    )
