"""A loop around two circles: what chains and belts have in common."""

import math
from collections.abc import Callable
from gettext import gettext as _

from wearlog.drive.demands import demand_positive, refusal


def tangent_angle(centre_distance_mm: float, radius_1_mm: float, radius_2_mm: float) -> float:
    """Return by how much either run leans against the line of centres, [rad]; negative if wheel 2 is smaller.

    Parameters
    ----------
    centre_distance_mm : float
        Centre distance, [mm].
    radius_1_mm : float
        Pitch radius of one wheel, [mm].
    radius_2_mm : float
        Pitch radius of the other wheel, [mm].

    Raises
    ------
    WearlogError
        If the wheels would touch at this centre distance.

    Examples
    --------
    >>> round(tangent_angle(500.0, 50.0, 150.0), 6)
    0.201358
    """
    if not 0.0 < centre_distance_mm < math.inf:
        # Solvers ask thousands of times: words are looked up only where they are needed.
        demand_positive(centre_distance_mm, _("centre distance"), "mm")
    if centre_distance_mm <= radius_1_mm + radius_2_mm:
        raise refusal(
            _(
                "Wheels of {a:.1f} and {b:.1f} mm pitch radius touch at {centre:.1f} mm between centres."
            ).format(centre=centre_distance_mm, a=radius_1_mm, b=radius_2_mm),
            _("Check the centre distance and the numbers of teeth."),
        )
    return math.asin((radius_2_mm - radius_1_mm) / centre_distance_mm)


def loop_length(
    centre_distance_mm: float, radius_1_mm: float, radius_2_mm: float, round_1_mm: float, round_2_mm: float
) -> float:
    """Return the length of a loop around two wheels, [mm].

    Parameters
    ----------
    centre_distance_mm : float
        Centre distance, [mm].
    radius_1_mm, radius_2_mm : float
        Pitch radii of the wheels, [mm].
    round_1_mm, round_2_mm : float
        What one full turn of each wheel carries: number of teeth times pitch, [mm].

    Raises
    ------
    WearlogError
        If the wheels would touch.
    """
    lean = tangent_angle(centre_distance_mm, radius_1_mm, radius_2_mm)
    runs = 2.0 * centre_distance_mm * math.cos(lean)
    wraps = round_1_mm * (math.pi - 2.0 * lean) + round_2_mm * (math.pi + 2.0 * lean)
    return runs + wraps / (2.0 * math.pi)


def solve_rising(function: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """Return where a rising function takes a value, by bisection down to the last digits.

    Parameters
    ----------
    function : callable
        Rises from `low` to `high`.
    wanted : float
        The value wanted, [unit of the function].
    low, high : float
        Ends of the bracket, [unit of the argument].

    Examples
    --------
    >>> round(solve_rising(lambda x: x * x, 2.0, 0.0, 2.0), 12)
    1.414213562373
    """
    while high - low > 1e-13 * max(abs(low), abs(high), 1e-300):
        middle = 0.5 * (low + high)
        if middle in {low, high}:
            break
        if function(middle) < wanted:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def centre_distance_of_loop(
    length_mm: float, radius_1_mm: float, radius_2_mm: float, round_1_mm: float, round_2_mm: float
) -> float | None:
    """Return the centre distance at which a loop of a length closes, [mm]; None if it is too short.

    Parameters
    ----------
    length_mm : float
        Length of the loop, [mm].
    radius_1_mm, radius_2_mm : float
        Pitch radii of the wheels, [mm].
    round_1_mm, round_2_mm : float
        What one full turn of each wheel carries, [mm].
    """
    nearest = (radius_1_mm + radius_2_mm) * (1.0 + 1e-9)

    def length_at(centre_distance_mm: float) -> float:
        return loop_length(centre_distance_mm, radius_1_mm, radius_2_mm, round_1_mm, round_2_mm)

    if length_mm < length_at(nearest):
        return None
    return solve_rising(length_at, length_mm, nearest, nearest + 0.5 * length_mm)
