"""One part's wear followed through its readings, for many parts and many assumed rates at once.

Given the rate, wear is a straight line with a normal offset and independent normal increments, so that a
scalar Kalman filter is exact; only the guard against gross errors is approximated, by collapsing the two
cases "good" and "wrong" to their common mean and variance after each reading.

References
----------
R. E. Kalman, A new approach to linear filtering and prediction problems, J. Basic Eng. 82, 1960, 35-45.
Y. Bar-Shalom, X. R. Li, T. Kirubarajan, Estimation with Applications to Tracking and Navigation, Wiley 2001,
section 3.4 (probabilistic data association: moments of the collapsed mixture); section from memory.
"""

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from wearlog.forecast.law import WearLaw
from wearlog.forecast.readings import Floats, Ints, ReadingTable

#: Beyond this an exponent is carried apart from the exponential, so that nothing overflows.
GREATEST_EXPONENT = 600.0
#: Stands for an infinite end of a gauge, in standard deviations: the density there is 0 in double precision.
FAR_END_SD = 50.0
#: Chance of a gauge's interval below which the truncated moments are lost to rounding.
LEAST_INTERVAL_CHANCE = 1e-9
SQRT_2_PI = math.sqrt(2.0 * math.pi)


@dataclass(frozen=True, slots=True)
class Filtered:
    """Wear after the last reading for each part and assumed rate.

    Attributes
    ----------
    log_likelihood : ndarray of float, shape (n_parts, n_rates)
        Log likelihood of the part's readings, [-].
    mean, variance : ndarray of float, shape (n_parts, n_rates)
        Moments of wear at the last reading, or at the start without one, [-].
    mean_path, variance_path : ndarray of float, shape (n_readings, n_parts, n_rates) or (0, ...)
        The same after each reading, if asked for, [-].
    """

    log_likelihood: Floats
    mean: Floats
    variance: Floats
    mean_path: Floats
    variance_path: Floats


def filter_wear(
    table: ReadingTable,
    rate: Floats,
    law: WearLaw,
    share: Floats | None = None,
    has_path: bool = False,
) -> Filtered:
    """Return what the readings say about wear, for each part and assumed rate.

    Parameters
    ----------
    table : ReadingTable
        Readings on the straightened scale, n_parts rows.
    rate : ndarray of float, shape (n_parts, n_rates)
        Assumed rates, [allowance per 1000 km or 100 h].
    law : WearLaw
        The family's numbers; its shape is taken as already applied.
    share : ndarray of float, shape (n_parts, n_readings), optional
        Share of gross errors of each reading where it differs from the law's, [-].
    has_path : bool
        Whether the moments after each reading are wanted too.

    Returns
    -------
    Filtered
        Log likelihood and moments.
    """
    theta = law.theta
    first, first_variance = starting_wear(table, law)
    mean = np.repeat(first[:, None], rate.shape[1], axis=1)
    variance = np.repeat(first_variance[:, None], rate.shape[1], axis=1)
    log_likelihood = np.zeros_like(mean)
    shift, extra = bedding_in(table, law)
    error_variance = (theta.error_factor * table.r) ** 2 + extra
    shares = np.full_like(table.x, law.gross.share) if share is None else share
    is_reading, is_gauge = table.is_reading, table.is_gauge
    n_readings = table.x.shape[1]
    path = np.empty((n_readings if has_path else 0, 2, *mean.shape))
    before = np.zeros(len(table))
    for j in range(n_readings):
        gained = rate * (table.x[:, j] - before)[:, None]
        before = table.x[:, j]
        mean += gained
        variance += theta.process * np.abs(gained)
        state = _State(mean, variance, log_likelihood)
        points = np.flatnonzero(is_reading[:, j] & ~is_gauge[:, j])
        if points.size:
            value = table.y[points, j] + shift[points, j]
            _read_point(state, points, value, error_variance[points, j], shares[points, j], law)
        gauges = np.flatnonzero(is_gauge[:, j])
        if gauges.size:
            ends = np.stack([table.lo[gauges, j], table.hi[gauges, j]]) + shift[gauges, j]
            _read_gauge(state, gauges, ends, error_variance[gauges, j], shares[gauges, j], law)
        if has_path:
            path[j, 0], path[j, 1] = mean, variance
    return Filtered(log_likelihood, mean, variance, path[:, 0], path[:, 1])


def starting_wear(table: ReadingTable, law: WearLaw) -> tuple[Floats, Floats]:
    """Return mean and variance of wear at distance 0 after bedding-in, two of shape (n_parts,), [-].

    Parameters
    ----------
    table : ReadingTable
        Readings of n parts; only whether their history is known matters here.
    law : WearLaw
        The family's numbers.
    """
    used = np.array([law.used_offset])
    used_sd = law.used_offset_sd * float(law.shape.slope(used)[0])
    used_mean = float(law.shape.straight_wear(used)[0])
    unknown = table.has_unknown_history
    return (
        np.where(unknown, used_mean, law.theta.offset),
        np.where(unknown, used_sd**2, law.theta.offset_sd**2),
    )


def bedding_in(table: ReadingTable, law: WearLaw) -> tuple[Floats, Floats]:
    """Return what early readings lack of bedding-in: shift and extra variance, (n_parts, n_readings).

    A part of unknown history has bedded in long ago and is not corrected.

    Parameters
    ----------
    table : ReadingTable
        Readings on the straightened scale.
    law : WearLaw
        The family's numbers, [-].
    """
    if law.bedding_distance <= 0.0:
        return np.zeros_like(table.x), np.zeros_like(table.x)
    left = np.exp(-law.shape.true_x(table.x) / law.bedding_distance)
    left[table.has_unknown_history] = 0.0
    return law.theta.offset * left, (law.theta.offset_sd * left) ** 2


@dataclass(slots=True)
class _State:
    """Moments and log likelihood, changed in place, shapes (n_parts, n_rates)."""

    mean: Floats
    variance: Floats
    log_likelihood: Floats


def _read_point(
    state: _State, rows: Ints, value: Floats, error_variance: Floats, share: Floats, law: WearLaw
) -> None:
    is_all = rows.size == state.mean.shape[0]
    chosen: Ints | slice = slice(None) if is_all else rows
    mean, variance = state.mean[chosen], state.variance[chosen]
    good = np.minimum(share, 1.0 - 1e-15)
    ratio = (good / (1.0 - good))[:, None]

    s = variance + error_variance[:, None]
    s_wrong = s + law.gross.sd**2
    miss = value[:, None] - mean
    square = miss * miss
    gain = variance / s
    gain_wrong = variance / s_wrong
    half = 0.5 * square / s
    # h/g, the odds of "wrong"; what exceeds the exponent goes to the log likelihood directly.
    exponent = half * (law.gross.sd**2) / s_wrong
    excess = np.where(ratio > 0.0, np.maximum(exponent - GREATEST_EXPONENT, 0.0), 0.0)
    odds = ratio * np.exp(np.minimum(exponent, GREATEST_EXPONENT)) * np.sqrt(s / s_wrong)
    plus = 1.0 + odds
    wrong = odds / plus
    less = gain - gain_wrong
    state.log_likelihood[chosen] += (
        np.log(plus * ((1.0 - good) / SQRT_2_PI)[:, None] / np.sqrt(s)) - half + excess
    )
    step = gain - less * wrong
    state.variance[chosen] = variance * (1.0 - step) + wrong * (1.0 - wrong) * less * less * square
    state.mean[chosen] = mean + step * miss


def _read_gauge(
    state: _State, rows: Ints, ends: Floats, error_variance: Floats, share: Floats, law: WearLaw
) -> None:
    mean, variance = state.mean[rows], state.variance[rows]
    s = variance + error_variance[:, None]
    sd = np.sqrt(s)
    is_low, is_high = np.isfinite(ends[0])[:, None], np.isfinite(ends[1])[:, None]
    low = np.where(is_low, (np.where(is_low, ends[0][:, None], 0.0) - mean) / sd, -FAR_END_SD)
    high = np.where(is_high, (np.where(is_high, ends[1][:, None], 0.0) - mean) / sd, FAR_END_SD)
    # Far below the interval the difference of two chances near 1 would be rounded away: use the other tail.
    is_flipped = low > 0.0
    a = np.where(is_flipped, -high, low)
    b = np.where(is_flipped, -low, high)
    z = ndtr(b) - ndtr(a)
    density_a, density_b = np.exp(-0.5 * a * a) / SQRT_2_PI, np.exp(-0.5 * b * b) / SQRT_2_PI
    divisor = np.maximum(z, 1e-12)
    t = (density_a - density_b) / divisor
    v = 1.0 + (a * density_a - b * density_b) / divisor - t * t
    is_lost = z < LEAST_INTERVAL_CHANCE
    t = np.where(is_lost, np.where(np.abs(a) < np.abs(b), a, b), t)
    t = np.where(is_flipped, -t, t)
    v = np.clip(np.where(is_lost, 0.05, v), 1e-4, 1.0)

    good = (1.0 - share)[:, None] * divisor
    bad = (share * law.gross.gauge_chance)[:, None]
    both = good + bad
    wrong = bad / both
    gain = variance / s
    step = gain * sd * t
    within = variance - gain * gain * s * (1.0 - v)
    state.log_likelihood[rows] += np.log(both)
    state.mean[rows] = mean + (1.0 - wrong) * step
    state.variance[rows] = (1.0 - wrong) * within + wrong * variance + wrong * (1.0 - wrong) * step * step
