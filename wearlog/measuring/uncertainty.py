"""Standard uncertainties by JCGM 100: from resolution, from repeated spots, and their combination."""

import math
from collections.abc import Sequence
from gettext import gettext as _

from wearlog.drive.demands import demand_not_negative, refusal


def u_of_resolution(resolution: float) -> float:
    """Return the standard uncertainty that a resolution leaves, in the unit of `resolution`.

    Parameters
    ----------
    resolution : float
        The smallest step that can be told apart, [any unit].

    Raises
    ------
    WearlogError
        If `resolution` is negative.

    References
    ----------
    JCGM 100:2008, F.2.2.1: a rectangular distribution of full width `resolution`; clause 4.3.7.

    Examples
    --------
    >>> round(u_of_resolution(0.5), 4)
    0.1443
    """
    demand_not_negative(resolution, _("resolution"))
    return resolution / math.sqrt(12.0)


def u_of_half_width(half_width: float) -> float:
    """Return the standard uncertainty of a value known to lie within plus or minus `half_width`.

    Parameters
    ----------
    half_width : float
        Half the width of the bounds, [any unit].

    References
    ----------
    JCGM 100:2008, 4.3.7, equation (7).

    Examples
    --------
    >>> round(u_of_half_width(2.0), 4)
    1.1547
    """
    demand_not_negative(half_width, _("half width"))
    return half_width / math.sqrt(3.0)


def mean_of(values: Sequence[float]) -> float:
    """Return the arithmetic mean, in the unit of `values`.

    Parameters
    ----------
    values : sequence of float
        At least one value, [any unit].

    Raises
    ------
    WearlogError
        If there is none.

    References
    ----------
    JCGM 100:2008, 4.2.1, equation (3).
    """
    if not values:
        raise refusal(_("There is no value to take the mean of."), _("Enter at least one spot."))
    return math.fsum(values) / len(values)


def experimental_deviation(values: Sequence[float]) -> float:
    """Return the experimental standard deviation of repeated values, in their unit; 0 for a single one.

    Parameters
    ----------
    values : sequence of float
        Repeated values, [any unit].

    References
    ----------
    JCGM 100:2008, 4.2.2, equation (4).

    Examples
    --------
    >>> round(experimental_deviation([5.007, 4.994, 5.005, 4.990, 4.999]), 6)
    0.007176
    """
    if len(values) < 2:
        return 0.0
    mean = mean_of(values)
    return math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1))


def u_of_mean(values: Sequence[float]) -> float:
    """Return the type A standard uncertainty of the mean of repeated values, in their unit.

    Parameters
    ----------
    values : sequence of float
        Repeated values, [any unit].

    References
    ----------
    JCGM 100:2008, 4.2.3, equation (5).

    Examples
    --------
    >>> round(u_of_mean([5.007, 4.994, 5.005, 4.990, 4.999]), 4)
    0.0032
    """
    return experimental_deviation(values) / math.sqrt(max(len(values), 1))


def pooled_deviation(values: Sequence[float], usual: float, usual_freedom: float = 4.0) -> float:
    """Return the scatter of a few values, leaning on the usual scatter while they are few.

    Parameters
    ----------
    values : sequence of float
        Repeated values, [any unit].
    usual : float
        The usual standard deviation, [unit of `values`].
    usual_freedom : float
        How many degrees of freedom the usual scatter counts for, [-]. Assumption of this program.

    References
    ----------
    JCGM 100:2008, 4.2.4 and H.3.6: pooled estimate of variance from well-characterised earlier values.

    Examples
    --------
    >>> round(pooled_deviation([1.0], usual=0.2), 3), round(pooled_deviation([1.0, 1.6], usual=0.2), 3)
    (0.2, 0.261)
    """
    freedom = max(len(values) - 1, 0)
    own = experimental_deviation(values)
    return math.sqrt((usual_freedom * usual**2 + freedom * own**2) / (usual_freedom + freedom))


def combined(*parts: float) -> float:
    """Return the combined standard uncertainty of independent parts, in their common unit.

    Parameters
    ----------
    parts : float
        Standard uncertainties times their sensitivity coefficients, [one unit].

    References
    ----------
    JCGM 100:2008, 5.1.2, equation (10).

    Examples
    --------
    >>> combined(0.03, 0.04)
    0.05
    """
    return math.hypot(*parts)


def combined_relative(*terms: tuple[float, float]) -> float:
    """Return the relative combined standard uncertainty of a product of powers, [-].

    Parameters
    ----------
    terms : tuple of float
        Each the exponent, [-], and the relative standard uncertainty, [-], of one factor.

    References
    ----------
    JCGM 100:2008, 5.1.6, equation (12).

    Examples
    --------
    >>> round(combined_relative((2.0, 0.01), (1.0, 0.02)), 6)
    0.028284
    """
    return math.hypot(*(exponent * relative for exponent, relative in terms))
