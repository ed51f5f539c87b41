"""When a part reaches its limit: the distribution of the crossing distance.

The chance of being past the limit is the level probability of wear, right for wear that cannot heal.

References
----------
Z. W. Birnbaum, S. C. Saunders, A new family of life distributions, J. Applied Probability 6, 1969, 319-327
(the crossing law for a given rate; from memory).
"""

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, ndtri

from wearlog.forecast.mixture import MOST_ROUNDS, SQRT_2_PI, checked_chances
from wearlog.forecast.posterior import Posterior, distances
from wearlog.forecast.readings import Floats, Ints

#: Chances at which the crossing is given.
CROSSING_LEVELS = (0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95)
#: Relative step below which a crossing counts as found; the step after it is the square of this.
TOLERANCE = 1e-5
#: Rows (parts times levels) worked on at a time.
BLOCK_ROWS = 2000
#: More chances than this are found from where a few of them are reached.
MANY_LEVELS, FEW_LEVELS = 20, 11
#: How far below and above where it was told to be a crossing is looked for, ln distance; distances of a part
#: almost past its limit go down to next to nothing.
NEAR_BELOW, NEAR_ABOVE = 20.0, 3.0
#: Step below which such a crossing counts as found.
NEAR_TOLERANCE = 2e-4


def crossing_cdf(posterior: Posterior, x: ArrayLike) -> Floats:
    """Return the chance that the limit is passed by a distance.

    Parameters
    ----------
    posterior : Posterior
        n parts after their readings.
    x : array_like of float, shape (n_x,) or (n_parts, n_x)
        Distances, rising; before the last reading counts as at the last reading, [1000 km or 100 h].

    Returns
    -------
    ndarray of float, shape (n_parts, n_x)
        Chance, never falling along `x`, [-].
    """
    mean, variance = posterior.components(distances(x, len(posterior)))
    z = (mean - posterior.straight_limit[:, None, None]) / np.sqrt(np.maximum(variance, 1e-12))
    chance = np.minimum((posterior.weight[:, None, :] * ndtr(z)).sum(axis=2), 1.0)
    return np.maximum.accumulate(chance, axis=1)


def past_probability(posterior: Posterior) -> Floats:
    """Return the chance that the limit was passed at the last reading, shape (n_parts,), [-].

    Parameters
    ----------
    posterior : Posterior
        n parts after their readings.
    """
    return crossing_cdf(posterior, posterior.x_last[:, None])[:, 0]


def crossing_quantiles(posterior: Posterior, p: ArrayLike = CROSSING_LEVELS) -> Floats:
    """Return the distances by which the limit is passed with the given chances.

    Parameters
    ----------
    posterior : Posterior
        n parts after their readings.
    p : array_like of float, shape (n_p,)
        Chances, [-].

    Returns
    -------
    ndarray of float, shape (n_parts, n_p)
        Distance on the part; that of the last reading where the chance is reached already,
        [1000 km or 100 h].
    """
    shape = posterior.law.shape
    start = shape.straight_x(posterior.x_last)[:, None]
    ahead = _straight_remaining(posterior, checked_chances(p))
    return np.where(ahead > 0.0, shape.true_x(start + ahead), posterior.x_last[:, None])


def remaining_quantiles(posterior: Posterior, p: ArrayLike = CROSSING_LEVELS) -> Floats:
    """Return the distances still to go from the last reading, 0 where the chance is reached already.

    Parameters
    ----------
    posterior : Posterior
        n parts after their readings.
    p : array_like of float, shape (n_p,)
        Chances of having passed the limit by then, [-].

    Returns
    -------
    ndarray of float, shape (n_parts, n_p)
        Distance, [1000 km or 100 h].
    """
    if posterior.law.shape.power == 1.0:
        return _straight_remaining(posterior, checked_chances(p))
    return crossing_quantiles(posterior, p) - posterior.x_last[:, None]


def equally_likely_crossings(posterior: Posterior, count: int = 50) -> Floats:
    """Return distances that stand for the crossing with the same weight each.

    Parameters
    ----------
    posterior : Posterior
        n parts after their readings.
    count : int
        How many, [-].

    Returns
    -------
    ndarray of float, shape (n_parts, count)
        Distance on the part at the middles of `count` equal chances, [1000 km or 100 h].
    """
    return crossing_quantiles(posterior, (np.arange(count) + 0.5) / count)


def _straight_remaining(posterior: Posterior, p: Floats) -> Floats:
    """Return the distance to go on the straightened scale, shape (n_parts, n_p)."""
    n_parts = len(posterior)
    near: Floats | None = None
    if p.size > MANY_LEVELS:
        near = _interpolated(posterior, p).ravel()
    parts = np.repeat(np.arange(n_parts), p.size)
    chances = np.tile(p, n_parts)
    remaining = np.zeros(parts.size)
    for start in range(0, parts.size, BLOCK_ROWS):
        rows = slice(start, start + BLOCK_ROWS)
        remaining[rows] = _remaining_rows(
            posterior, parts[rows], chances[rows], None if near is None else near[rows]
        )
    return remaining.reshape(n_parts, p.size)


def _interpolated(posterior: Posterior, p: Floats) -> Floats:
    """Return about where many chances are reached, told by a few: ln distance, NaN where they cannot."""
    few = np.linspace(p.min(), p.max(), FEW_LEVELS)
    z, z_few = ndtri(p), ndtri(few)
    known = _straight_remaining(posterior, few)
    log_known = np.log(np.where(known > 0.0, known, np.nan))
    after = np.clip(np.searchsorted(few, p, side="left"), 1, FEW_LEVELS - 1)
    share = (z - z_few[after - 1]) / (z_few[after] - z_few[after - 1])
    return np.asarray(log_known[:, after - 1] * (1.0 - share) + log_known[:, after] * share)


def _remaining_rows(posterior: Posterior, parts: Ints, chance: Floats, near: Floats | None) -> Floats:
    to_go = posterior.straight_limit[parts, None] - posterior.mean[parts]
    variance = np.maximum(posterior.variance[parts], 1e-12)
    past = (posterior.weight[parts] * ndtr(-to_go / np.sqrt(variance))).sum(axis=1)
    remaining = np.zeros(parts.size)
    ahead = np.flatnonzero(past < chance)
    if not ahead.size:
        return remaining
    is_told = np.zeros(ahead.size, dtype=np.bool_) if near is None else ~np.isnan(near[ahead])
    for rows, start in ((ahead[~is_told], None), (ahead[is_told], near)):
        if rows.size:
            weight, rate = posterior.weight[parts[rows]], posterior.rate[parts[rows]]
            remaining[rows] = _solve(
                chance[rows],
                weight,
                rate,
                to_go[rows],
                variance[rows],
                posterior.law.theta.process * rate,
                None if start is None else start[rows],
            )
    return remaining


def _node_quantile(z: Floats, rate: Floats, to_go: Floats, variance: Floats, process: Floats) -> Floats:
    """Return where each rate alone passes the limit with chance Phi(z): the root with the sign of z."""
    half = rate * to_go + 0.5 * z * z * process
    root = z * np.sqrt(
        np.maximum(rate * to_go * process + 0.25 * z * z * process * process + rate * rate * variance, 0.0)
    )
    return np.asarray(
        np.where(to_go + z * np.sqrt(variance) <= 0.0, 0.0, (half + root) / (rate * rate)), dtype=np.float64
    )


def _bracket(
    chance: Floats, weight: Floats, rate: Floats, to_go: Floats, variance: Floats, process: Floats
) -> tuple[Floats, Floats, Floats]:
    """Return ln distance to start from, and between which two the root lies."""
    z = ndtri(chance)[:, None]
    each = np.maximum(_node_quantile(z, rate, to_go, variance, process), 0.0)
    middle = np.maximum(_node_quantile(np.zeros_like(z), rate, to_go, variance, process), 0.0)
    highest = each.max(axis=1)
    least = 1e-9 * highest
    low = np.log(np.maximum(each.min(axis=1), least))
    high = np.log(highest)
    log_each, log_middle = (
        np.log(np.maximum(each, least[:, None])),
        np.log(np.maximum(middle, least[:, None])),
    )
    centre = (weight * log_middle).sum(axis=1)
    between = (weight * (log_middle - centre[:, None]) ** 2).sum(axis=1) * z[:, 0] ** 2
    within = (weight * (log_each - log_middle)).sum(axis=1)
    return np.clip(centre + np.sign(z[:, 0]) * np.sqrt(between + within**2), low, high), low, high


def _solve(
    chance: Floats,
    weight: Floats,
    rate: Floats,
    to_go: Floats,
    variance: Floats,
    process: Floats,
    near: Floats | None,
) -> Floats:
    if near is None:
        log_d, low, high = _bracket(chance, weight, rate, to_go, variance, process)
        tolerance = TOLERANCE
    else:
        log_d, low, high = near.copy(), near - NEAR_BELOW, near + NEAR_ABOVE
        tolerance = NEAR_TOLERANCE
    active = np.arange(chance.size)
    for _ in range(MOST_ROUNDS):
        w, b, q = weight[active], rate[active], process[active]
        d = np.exp(log_d[active])[:, None]
        total = variance[active] + q * d
        sd = np.sqrt(total)
        level = b * d - to_go[active]
        score = level / sd
        miss = (w * ndtr(score)).sum(axis=1) - chance[active]
        slope = (w * np.exp(-0.5 * score * score) * (b - 0.5 * q * level / total) / sd).sum(axis=1)
        slope *= d[:, 0] / SQRT_2_PI
        high[active] = np.where(miss >= 0.0, log_d[active], high[active])
        low[active] = np.where(miss <= 0.0, log_d[active], low[active])
        step = log_d[active] - miss / np.where(np.abs(slope) > 1e-300, slope, 1e-300)
        is_outside = ~((step >= low[active]) & (step <= high[active]))
        step = np.where(is_outside, 0.5 * (low[active] + high[active]), step)
        moved = np.abs(step - log_d[active])
        log_d[active] = step
        active = active[moved > tolerance]
        if not active.size:
            break
    return np.asarray(np.exp(log_d), dtype=np.float64)
