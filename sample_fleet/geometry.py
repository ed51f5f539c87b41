"""Exact lengths of chain and belt loops, so that the invented drives close."""

from math import asin, cos, pi, sin, sqrt


def chain_links(centre_mm: float, pitch_mm: float, driver_teeth: int, driven_teeth: int) -> float:
    """Return the number of links of a taut chain, its wraps taken as polygons of chords.

    Examples
    --------
    >>> round(chain_links(500.7871, 12.7, 21, 63), 4)
    122.0
    """
    small, large = sorted((driver_teeth, driven_teeth))
    lean = asin((_chord_radius(pitch_mm, large) - _chord_radius(pitch_mm, small)) / centre_mm)
    wraps = small * (pi - 2 * lean) / (2 * pi) + large * (pi + 2 * lean) / (2 * pi)
    return 2 * centre_mm * cos(lean) / pitch_mm + wraps


def chain_centre_mm(links: int, pitch_mm: float, driver_teeth: int, driven_teeth: int) -> float:
    """Return the centre distance at which a chain of `links` is taut."""
    low = abs(_chord_radius(pitch_mm, driven_teeth) - _chord_radius(pitch_mm, driver_teeth)) * 1.001
    high = links * pitch_mm
    for _ in range(80):
        middle = (low + high) / 2
        if chain_links(middle, pitch_mm, driver_teeth, driven_teeth) < links:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def belt_length_mm(centre_mm: float, pitch_mm: float, driver_teeth: int, driven_teeth: int) -> float:
    """Return the pitch length of a toothed belt over two pulleys.

    Examples
    --------
    >>> round(belt_length_mm(100.0, 2.0, 20, 60) / 2.0, 6)
    140.81167
    """
    small, large = sorted((driver_teeth * pitch_mm / (2 * pi), driven_teeth * pitch_mm / (2 * pi)))
    lean = asin((large - small) / centre_mm)
    return 2 * centre_mm * cos(lean) + small * (pi - 2 * lean) + large * (pi + 2 * lean)


def belt_centre_mm(belt_teeth: int, pitch_mm: float, driver_teeth: int, driven_teeth: int) -> float:
    """Return the centre distance at which a belt of `belt_teeth` is just straight."""
    low = abs(driven_teeth - driver_teeth) * pitch_mm / (2 * pi) * 1.001
    high = belt_teeth * pitch_mm
    for _ in range(80):
        middle = (low + high) / 2
        if belt_length_mm(middle, pitch_mm, driver_teeth, driven_teeth) < belt_teeth * pitch_mm:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def chain_span_mm(centre_mm: float, pitch_mm: float, driver_teeth: int, driven_teeth: int) -> float:
    """Return the free span of a chain between its tangent points."""
    difference = _chord_radius(pitch_mm, driven_teeth) - _chord_radius(pitch_mm, driver_teeth)
    return sqrt(centre_mm**2 - difference**2)


def belt_span_mm(centre_mm: float, pitch_mm: float, driver_teeth: int, driven_teeth: int) -> float:
    """Return the free span of a belt between its tangent points."""
    return sqrt(centre_mm**2 - ((driven_teeth - driver_teeth) * pitch_mm / (2 * pi)) ** 2)


def _chord_radius(pitch_mm: float, teeth: int) -> float:
    return pitch_mm / (2 * sin(pi / teeth))
