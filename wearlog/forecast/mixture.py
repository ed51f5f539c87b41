"""Mixtures of normal laws, one mixture per row: distribution function and quantiles."""

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, ndtri

from wearlog.forecast.readings import Floats

#: Rounds of Newton steps guarded by bisection; the guard alone halves the bracket 60 times.
MOST_ROUNDS = 60
TOLERANCE = 1e-9
SQRT_2_PI = float(np.sqrt(2.0 * np.pi))


def mixture_cdf(value: Floats, mean: Floats, sd: Floats, weight: Floats) -> Floats:
    """Return the chance of lying at or below a value.

    Parameters
    ----------
    value : ndarray of float, shape (...)
        Value, may be infinite, [-].
    mean, sd : ndarray of float, shape (..., n_components)
        Moments of the components, [-].
    weight : ndarray of float, shape (..., n_components)
        Weights that sum to 1, [-].

    Returns
    -------
    ndarray of float, shape (...)
        Chance, [-].
    """
    # The weights sum to 1 only to rounding.
    chance = np.minimum((weight * ndtr((value[..., None] - mean) / sd)).sum(axis=-1), 1.0)
    return np.asarray(chance, dtype=np.float64)


def mixture_quantiles(p: ArrayLike, mean: Floats, sd: Floats, weight: Floats) -> Floats:
    """Return the values below which the mixture lies with the given chances.

    Parameters
    ----------
    p : array_like of float, shape (n_p,)
        Chances strictly between 0 and 1, [-].
    mean, sd : ndarray of float, shape (..., n_components)
        Moments of the components, [-].
    weight : ndarray of float, shape (..., n_components)
        Weights that sum to 1, [-].

    Returns
    -------
    ndarray of float, shape (..., n_p)
        Quantiles, rising with `p`, [-].

    Raises
    ------
    ValueError
        If a chance is not strictly between 0 and 1.
    """
    chances = checked_chances(p)
    lead, n_components = mean.shape[:-1], mean.shape[-1]
    flat_mean = np.repeat(mean.reshape(-1, n_components), chances.size, axis=0)
    flat_sd = np.repeat(np.broadcast_to(sd, mean.shape).reshape(-1, n_components), chances.size, axis=0)
    flat_weight = np.repeat(
        np.broadcast_to(weight, mean.shape).reshape(-1, n_components), chances.size, axis=0
    )
    target = np.tile(chances, flat_mean.shape[0] // chances.size)
    each = flat_mean + ndtri(target)[:, None] * flat_sd
    low, high = each.min(axis=1), each.max(axis=1)
    value = np.clip((flat_weight * each).sum(axis=1), low, high)
    active = np.arange(value.size)
    for _ in range(MOST_ROUNDS):
        z = (value[active, None] - flat_mean[active]) / flat_sd[active]
        miss = (flat_weight[active] * ndtr(z)).sum(axis=1) - target[active]
        density = (flat_weight[active] * np.exp(-0.5 * z * z) / (SQRT_2_PI * flat_sd[active])).sum(axis=1)
        high[active] = np.where(miss >= 0.0, value[active], high[active])
        low[active] = np.where(miss <= 0.0, value[active], low[active])
        step = value[active] - miss / np.maximum(density, 1e-300)
        is_outside = ~((step > low[active]) & (step < high[active]))
        step = np.where(is_outside, 0.5 * (low[active] + high[active]), step)
        moved = np.abs(step - value[active])
        value[active] = step
        active = active[moved > TOLERANCE * (1.0 + np.abs(step))]
        if not active.size:
            break
    return np.asarray(value.reshape(*lead, chances.size), dtype=np.float64)


def checked_chances(p: ArrayLike) -> Floats:
    """Return chances as an array.

    Parameters
    ----------
    p : array_like of float
        Chances, [-].

    Raises
    ------
    ValueError
        If a chance is not strictly between 0 and 1.
    """
    chances = np.atleast_1d(np.asarray(p, dtype=np.float64))
    is_good = (chances > 0.0) & (chances < 1.0)
    if not is_good.all():
        raise ValueError(f"row {int(np.argmin(is_good))}, column p: is not between 0 and 1")
    return chances
