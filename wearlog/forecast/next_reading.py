"""The reading to expect at the next visit, and how odd the one just typed is."""

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr

from wearlog.forecast.mixture import mixture_cdf, mixture_quantiles
from wearlog.forecast.posterior import Posterior, distances
from wearlog.forecast.readings import LEAST_UNCERTAINTY, Floats

#: Tail chance of a typed value below which the program asks, and below which it calls it suspect.
UNUSUAL_TAIL = 0.01
SUSPECT_TAIL = 0.001
#: Fall in standard uncertainties beyond which the program asks for another part or vehicle.
GREATEST_FALL = 3.0


def next_reading_cdf(posterior: Posterior, x: ArrayLike, value: ArrayLike, r: ArrayLike) -> Floats:
    """Return the chance that a good reading shows a value or less.

    Parameters
    ----------
    posterior : Posterior
        n parts after their readings.
    x : array_like of float, shape (n_parts,) or ()
        Distance at the reading, at or after the last one, [1000 km or 100 h].
    value : array_like of float, shape (n_parts,) or ()
        Share of the allowance, may be infinite, [-].
    r : array_like of float, shape (n_parts,) or ()
        Standard uncertainty of the reading, [-].

    Returns
    -------
    ndarray of float, shape (n_parts,)
        Chance, [-].
    """
    n = len(posterior)
    values = np.array(np.broadcast_to(np.asarray(value, dtype=np.float64), (n,)))
    shape = posterior.law.shape
    # A reading's error is a length on the true scale; straightening shrinks it with the slope there.
    uncertainty = _uncertainty(r, n) * shape.slope(values)
    mean, variance = _reading_components(posterior, x, uncertainty)
    finite = np.clip(shape.straight_wear(values), -1e6, 1e6)
    return mixture_cdf(finite, mean, np.sqrt(variance), posterior.weight)


def next_reading_quantiles(posterior: Posterior, x: ArrayLike, p: ArrayLike, r: ArrayLike) -> Floats:
    """Return the values below which a good reading lies with the given chances.

    Parameters
    ----------
    posterior : Posterior
        n parts after their readings.
    x : array_like of float, shape (n_parts,) or ()
        Distance at the reading, at or after the last one, [1000 km or 100 h].
    p : array_like of float, shape (n_p,)
        Chances, [-].
    r : array_like of float, shape (n_parts,) or ()
        Standard uncertainty of the reading, [-].

    Returns
    -------
    ndarray of float, shape (n_parts, n_p)
        Share of the allowance, [-].
    """
    n = len(posterior)
    shape = posterior.law.shape
    bare, _ = _reading_components(posterior, x, np.zeros(n))
    expected = shape.true_wear((posterior.weight * bare).sum(axis=1))
    mean, variance = _reading_components(posterior, x, _uncertainty(r, n) * shape.slope(expected))
    return shape.true_wear(mixture_quantiles(p, mean, np.sqrt(variance), posterior.weight))


def reading_tail(
    posterior: Posterior,
    x: ArrayLike,
    r: ArrayLike,
    y: ArrayLike | None = None,
    lo: ArrayLike | None = None,
    hi: ArrayLike | None = None,
) -> Floats:
    """Return how rare a reading is that was just typed: below 0.01 unusual, below 0.001 suspect.

    Parameters
    ----------
    posterior : Posterior
        n parts after the readings before it.
    x : array_like of float, shape (n_parts,) or ()
        Distance at the reading, [1000 km or 100 h].
    r : array_like of float, shape (n_parts,) or ()
        Standard uncertainty, [-].
    y : array_like of float, shape (n_parts,) or (), optional
        Share of the allowance of a point reading, [-].
    lo, hi : array_like of float, shape (n_parts,) or (), optional
        Ends of a gauge reading, may be infinite, [-].

    Returns
    -------
    ndarray of float, shape (n_parts,)
        Twice the smaller tail of the value, or the chance of the gauge's interval, [-].

    Raises
    ------
    ValueError
        If neither a value nor both ends are given.
    """
    if y is not None:
        below = next_reading_cdf(posterior, x, y, r)
        return 2.0 * np.minimum(below, 1.0 - below)
    if lo is None or hi is None:
        raise ValueError("column y: neither a value nor both ends of a gauge are given")
    n = len(posterior)
    shape = posterior.law.shape
    ends = [np.array(np.broadcast_to(np.asarray(end, dtype=np.float64), (n,))) for end in (lo, hi)]
    finite = [np.where(np.isfinite(end), end, other) for end, other in (ends, ends[::-1])]
    middle = 0.5 * (finite[0] + finite[1])
    mean, variance = _reading_components(posterior, x, _uncertainty(r, n) * shape.slope(middle))
    sd = np.sqrt(variance)
    low, high = (np.clip(shape.straight_wear(end), -1e6, 1e6)[:, None] for end in ends)
    chance = ndtr((high - mean) / sd) - ndtr((low - mean) / sd)
    return np.asarray((posterior.weight * chance).sum(axis=1), dtype=np.float64)


def fall_ratio(
    before: ArrayLike, r_before: ArrayLike, y: ArrayLike, r: ArrayLike, error_factor: float
) -> Floats:
    """Return by how many standard uncertainties a reading lies below the one before; above 3 is a fall.

    Parameters
    ----------
    before, r_before : array_like of float
        The reading before and its standard uncertainty, [-].
    y, r : array_like of float
        The reading and its standard uncertainty, [-].
    error_factor : float
        The family's factor on stated uncertainties, [-].

    Examples
    --------
    >>> round(float(fall_ratio(0.66, 0.06, 0.10, 0.06, 1.0)), 1)
    6.6
    """
    fall = np.asarray(before, dtype=np.float64) - np.asarray(y, dtype=np.float64)
    return np.asarray(fall / (error_factor * np.hypot(r, r_before)), dtype=np.float64)


def _uncertainty(r: ArrayLike, n: int) -> Floats:
    given = np.asarray(r, dtype=np.float64)
    if not (np.isfinite(given) & (given > 0.0)).all():
        raise ValueError("column r: is not a positive uncertainty")
    return np.array(np.broadcast_to(np.maximum(given, LEAST_UNCERTAINTY), (n,)))


def _reading_components(posterior: Posterior, x: ArrayLike, uncertainty: Floats) -> tuple[Floats, Floats]:
    """Return mean and variance of a reading for each rate, straightened scale, two of (n_parts, n_nodes)."""
    n, law = len(posterior), posterior.law
    at = distances(np.broadcast_to(np.asarray(x, dtype=np.float64), (n,))[:, None], n)
    mean, variance = posterior.components(at)
    to_come, spread = posterior.bedding_to_come(at)
    error = (law.theta.error_factor * uncertainty[:, None]) ** 2 + spread
    return mean[:, 0] - to_come, np.maximum(variance[:, 0] + error, 1e-12)
