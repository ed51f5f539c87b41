"""Wear between the readings, seen from all of them, and since when a part has been past its limit.

References
----------
H. E. Rauch, F. Tung, C. T. Striebel, Maximum likelihood estimates of linear dynamic systems, AIAA Journal 3,
1965, 1445-1450.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr

from wearlog.forecast.filter import filter_wear, starting_wear
from wearlog.forecast.mixture import checked_chances, mixture_quantiles
from wearlog.forecast.posterior import Posterior, distances, true_moments
from wearlog.forecast.readings import Floats, ReadingTable

#: Distances at which a past crossing is looked for.
CROSSING_STEPS = 240
LEAST_VARIANCE = 1e-12


def smoothed_components(posterior: Posterior, readings: ReadingTable, x: Floats) -> tuple[Floats, Floats]:
    """Return mean and variance of wear at any distance, seen from all readings, for each rate.

    Parameters
    ----------
    posterior : Posterior
        n parts after their readings.
    readings : ReadingTable
        The very readings it was made from.
    x : ndarray of float, shape (n_parts, n_x)
        Distances from 0 on; after the last reading the forecast is returned, [1000 km or 100 h].

    Returns
    -------
    mean, variance : ndarray of float, shape (n_parts, n_x, n_nodes)
        Moments on the straightened scale, [-].
    """
    law = posterior.law
    path = _smoothed_path(posterior, law.shape.straighten(readings))
    at = law.shape.straight_x(np.maximum(x, 0.0))
    left = (path.x[:, None, :] <= at[:, :, None]).sum(axis=2) - 1
    left = np.maximum(left, 0)
    right = np.minimum(left + 1, path.x.shape[1] - 1)
    part = np.arange(len(posterior))[:, None]
    rate = posterior.rate[:, None, :]
    from_left = rate * np.maximum(at - path.x[part, left], 0.0)[:, :, None]
    mean = path.filtered_mean[part, left] + from_left
    variance = path.filtered_variance[part, left] + law.theta.process * from_left
    to_right = rate * np.maximum(path.x[part, right] - at, 0.0)[:, :, None]
    is_between = (right > left)[:, :, None]
    gain = variance / np.maximum(variance + law.theta.process * to_right, LEAST_VARIANCE)
    corrected = mean + gain * (path.mean[part, right] - mean - to_right)
    less = variance + law.theta.process * to_right - path.variance[part, right]
    return (
        np.where(is_between, corrected, mean),
        np.maximum(np.where(is_between, variance - gain**2 * less, variance), LEAST_VARIANCE),
    )


def smoothed_mean_sd(posterior: Posterior, readings: ReadingTable, x: ArrayLike) -> tuple[Floats, Floats]:
    """Return mean and standard deviation of wear seen from all readings, two of shape (n_parts, n_x), [-].

    Parameters
    ----------
    posterior : Posterior
        n parts after their readings.
    readings : ReadingTable
        The very readings it was made from.
    x : array_like of float, shape (n_x,) or (n_parts, n_x)
        Distances, [1000 km or 100 h].
    """
    mean, variance = smoothed_components(posterior, readings, distances(x, len(posterior)))
    return true_moments(posterior.law, mean, variance, posterior.weight[:, None, :])


def smoothed_band(posterior: Posterior, readings: ReadingTable, x: ArrayLike, p: ArrayLike) -> Floats:
    """Return quantiles of wear seen from all readings.

    Parameters
    ----------
    posterior : Posterior
        n parts after their readings.
    readings : ReadingTable
        The very readings it was made from.
    x : array_like of float, shape (n_x,) or (n_parts, n_x)
        Distances, rising; between readings or after them, [1000 km or 100 h].
    p : array_like of float, shape (n_p,)
        Chances, [-].

    Returns
    -------
    ndarray of float, shape (n_parts, n_x, n_p)
        Share of the allowance, [-].
    """
    chances = checked_chances(p)
    mean, variance = smoothed_components(posterior, readings, distances(x, len(posterior)))
    straight = mixture_quantiles(chances, mean, np.sqrt(variance), posterior.weight[:, None, :])
    return posterior.law.shape.true_wear(straight)


def past_crossing(posterior: Posterior, readings: ReadingTable) -> Floats:
    """Return since what distance a part has been past its limit: the median of the smoothed crossing.

    Parameters
    ----------
    posterior : Posterior
        n parts after their readings.
    readings : ReadingTable
        The very readings it was made from.

    Returns
    -------
    ndarray of float, shape (n_parts,)
        Distance on the part; NaN where it has more likely not passed the limit, [1000 km or 100 h].
    """
    share = np.linspace(0.0, 1.0, CROSSING_STEPS)
    x = posterior.x_last[:, None] * share
    mean, variance = smoothed_components(posterior, readings, x)
    z = (mean - posterior.straight_limit[:, None, None]) / np.sqrt(variance)
    chance = np.maximum.accumulate((posterior.weight[:, None, :] * ndtr(z)).sum(axis=2), axis=1)
    since = np.full(len(posterior), np.nan)
    for part in np.flatnonzero(chance[:, -1] >= 0.5):
        since[part] = np.interp(0.5, chance[part], x[part])
    return since


@dataclass(frozen=True, slots=True)
class _Path:
    """Wear at distance 0 and at each reading; x (n, J + 1), moments (n, J + 1, K)."""

    x: Floats
    filtered_mean: Floats
    filtered_variance: Floats
    mean: Floats
    variance: Floats


def _smoothed_path(posterior: Posterior, straight: ReadingTable) -> _Path:
    law = posterior.law
    filtered = filter_wear(straight, posterior.rate, law, has_path=True)
    first, first_variance = starting_wear(straight, law)
    n, n_nodes = posterior.rate.shape
    start = np.broadcast_to(first[:, None, None], (n, 1, n_nodes))
    start_variance = np.broadcast_to(first_variance[:, None, None], (n, 1, n_nodes))
    x = np.concatenate([np.zeros((n, 1)), straight.x], axis=1)
    filtered_mean = np.concatenate([start, filtered.mean_path.transpose(1, 0, 2)], axis=1)
    filtered_variance = np.concatenate([start_variance, filtered.variance_path.transpose(1, 0, 2)], axis=1)
    mean, variance = filtered_mean.copy(), filtered_variance.copy()
    for j in range(x.shape[1] - 2, -1, -1):
        gained = posterior.rate * (x[:, j + 1] - x[:, j])[:, None]
        ahead = filtered_variance[:, j] + law.theta.process * gained
        gain = filtered_variance[:, j] / np.maximum(ahead, LEAST_VARIANCE)
        mean[:, j] += gain * (mean[:, j + 1] - mean[:, j] - gained)
        variance[:, j] += gain**2 * (variance[:, j + 1] - ahead)
    return _Path(x, filtered_mean, filtered_variance, mean, np.maximum(variance, LEAST_VARIANCE))
