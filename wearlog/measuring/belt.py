"""Static belt tension from the frequency of a span or from a deflection force, and belt condition."""

from collections.abc import Sequence
from gettext import gettext as _

from wearlog.drive.belt import tension_of_deflection, tension_of_frequency
from wearlog.drive.demands import refusal
from wearlog.fleet.reading import Spot
from wearlog.measuring import defaults
from wearlog.measuring.elongation import SpotValues
from wearlog.measuring.uncertainty import combined, combined_relative, pooled_deviation, u_of_resolution


def tension_with_u(
    frequency_hz: float,
    span_mm: float,
    mass_kg_per_m: float,
    u_frequency_hz: float,
    u_span_mm: float,
    u_mass_kg_per_m: float,
) -> tuple[float, float]:
    """Return the static belt tension and its standard uncertainty from a span's frequency.

    Parameters
    ----------
    frequency_hz : float
        Frequency of the plucked span, [Hz].
    span_mm : float
        Free length of the span, [mm].
    mass_kg_per_m : float
        Mass per length of the belt, [kg/m].
    u_frequency_hz : float
        Standard uncertainty of the frequency, [Hz].
    u_span_mm : float
        Standard uncertainty of the span, [mm].
    u_mass_kg_per_m : float
        Standard uncertainty of the mass per length, [kg/m].

    Returns
    -------
    tension, u_tension : float
        Both in [N].

    References
    ----------
    JCGM 100:2008, 5.1.6, equation (12): exponents 2, 2 and 1.

    Examples
    --------
    >>> tension, u = tension_with_u(32.0, 472.88, 0.0735, 2.0, 0.0, 0.0)
    >>> round(u / tension, 3)
    0.125
    """
    tension_n = tension_of_frequency(frequency_hz, span_mm, mass_kg_per_m)
    relative = combined_relative(
        (2.0, u_frequency_hz / frequency_hz),
        (2.0, u_span_mm / span_mm),
        (1.0, u_mass_kg_per_m / mass_kg_per_m),
    )
    return tension_n, tension_n * relative


def tension_of_plucks(
    spots: Sequence[Spot],
    span_mm: float | None,
    mass_kg_per_m: float | None,
    *,
    u_span_mm: float | None = None,
    instrument_resolution_hz: float = 0.0,
    u_instrument_hz: float = 0.0,
    bias_hz: float = 0.0,
) -> SpotValues:
    """Return the tension at each pluck, [N], and the standard uncertainty of the greatest.

    Parameters
    ----------
    spots : sequence of Spot
        Frequencies at several positions of the wheel, [Hz].
    span_mm : float or None
        Free length of the span, [mm].
    mass_kg_per_m : float or None
        Mass per length of the belt, [kg/m].
    u_span_mm : float or None
        Standard uncertainty of the span, [mm]; a usual one if None.
    instrument_resolution_hz : float
        Resolution of the meter, [Hz].
    u_instrument_hz : float
        Standard uncertainty of the meter, [Hz].
    bias_hz : float
        What the meter reads too much, [Hz].

    Raises
    ------
    WearlogError
        If span or mass is not known.
    """
    if span_mm is None:
        raise refusal(
            _("A frequency says nothing without the free length of the belt span."),
            _("Measure the span and enter it with the stage, in mm."),
        )
    if mass_kg_per_m is None:
        raise refusal(
            _("A frequency says nothing without the mass per metre of the belt."),
            _("Weigh the belt and enter its mass per metre with the belt type, in kg/m."),
        )
    frequencies = [spot.value - bias_hz for spot in spots]
    tensions = tuple(tension_of_frequency(hz, span_mm, mass_kg_per_m) for hz in frequencies)
    greatest = max(range(len(tensions)), key=tensions.__getitem__)
    scatter_hz = pooled_deviation(frequencies, defaults.SCATTER_HZ) / len(frequencies) ** 0.5
    resolution_hz = max(spots[greatest].resolution, instrument_resolution_hz)
    _tension, u_tension = tension_with_u(
        frequencies[greatest],
        span_mm,
        mass_kg_per_m,
        combined(scatter_hz, u_of_resolution(resolution_hz), u_instrument_hz),
        defaults.U_SPAN_MM if u_span_mm is None else u_span_mm,
        defaults.U_MASS_SHARE * mass_kg_per_m,
    )
    return SpotValues(tensions, u_tension)


def tension_of_pushes(
    spots: Sequence[Spot],
    span_mm: float | None,
    deflection_mm: float | None,
    *,
    u_span_mm: float | None = None,
    instrument_resolution_n: float = 0.0,
    u_instrument_n: float = 0.0,
    bias_n: float = 0.0,
) -> SpotValues:
    """Return the tension at each push on the span, [N], and the standard uncertainty of the greatest.

    Parameters
    ----------
    spots : sequence of Spot
        Force at mid-span, [N]; `second` is the deflection there, [mm], if it differs from spot to spot.
    span_mm : float or None
        Free length of the span, [mm].
    deflection_mm : float or None
        Deflection at which the force was read, [mm].
    u_span_mm : float or None
        Standard uncertainty of the span, [mm]; a usual one if None.
    instrument_resolution_n : float
        Resolution of the force gauge, [N].
    u_instrument_n : float
        Standard uncertainty of the force gauge, [N].
    bias_n : float
        What the force gauge reads too much, [N].

    Raises
    ------
    WearlogError
        If span or deflection is not known.
    """
    if span_mm is None:
        raise refusal(
            _("A deflection force says nothing without the free length of the belt span."),
            _("Measure the span and enter it with the stage, in mm."),
        )
    tensions: list[float] = []
    relatives: list[float] = []
    forces = [spot.value - bias_n for spot in spots]
    for spot, force_n in zip(spots, forces, strict=True):
        at_mm = spot.second if spot.second is not None else deflection_mm
        if at_mm is None:
            raise refusal(
                _("A deflection force says nothing without the deflection."),
                _("Enter how far the belt was pushed at mid-span, in mm."),
            )
        tensions.append(tension_of_deflection(force_n, span_mm, at_mm))
        u_force = combined(u_of_resolution(max(spot.resolution, instrument_resolution_n)), u_instrument_n)
        relatives.append(
            combined_relative(
                (1.0, u_force / force_n),
                (1.0, (defaults.U_SPAN_MM if u_span_mm is None else u_span_mm) / span_mm),
                (1.0, defaults.U_DEFLECTION_MM / at_mm),
            )
        )
    greatest = max(range(len(tensions)), key=tensions.__getitem__)
    usual = defaults.SCATTER_FORCE * tensions[greatest]
    scatter = pooled_deviation(tensions, usual) / len(tensions) ** 0.5
    return SpotValues(tuple(tensions), combined(relatives[greatest] * tensions[greatest], scatter))


def grades() -> tuple[str, ...]:
    """Return what the condition grades 0 to 3 of a belt mean.

    References
    ----------
    Failure signs: Zero MX 2012 manual p. 5-10; Victory 2000 manual; Gates maintenance list. The scale itself
    is common practice, no source.
    """
    return (
        _("as new"),
        _("polished, fuzzy edge fibres"),
        _("small cracks, stone holes or worn tooth faces: watch"),
        _("teeth missing or worn through, cords visible, cracks at a tooth, frayed or oil-swollen: change"),
    )
