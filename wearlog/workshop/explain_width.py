"""How much of the width of a predicted date each cause makes, found by switching causes off.

Four things are uncertain and independent of one another: the rate of wear; where the wear stands given the
rate, which is reading error and offset; how wear wanders from there on; and the use ahead. The square of
the 80 % width of the date is worked out with each of the 16 sets of them switched on, the others held at
their middle, and shared out by the mean of what each adds over all orders of switching on. The shares make
the whole by construction; for small, independent uncertainties they are the squares of JCGM 100:2008,
5.1.2, over their sum.

References
----------
A. B. Owen, Sobol' indices and Shapley value, SIAM/ASA J. Uncertainty Quantification 2, 2014, 245-251; from
memory. JCGM 100:2008, Guide to the expression of uncertainty in measurement, 5.1.2.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import factorial

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from wearlog.forecast.crossing import crossing_quantiles
from wearlog.forecast.date_table import date_distributions
from wearlog.forecast.dates import FARTHEST_DAY
from wearlog.forecast.posterior import Posterior
from wearlog.forecast.season import OperationalDays
from wearlog.workshop.explain_snapshot import Cause
from wearlog.workshop.usage import EARLY_LIKELY_LATE, VehicleUse
from wearlog.workshop.wear_items import WearItem

Floats = NDArray[np.float64]

#: Distances that stand for the crossing of one part, laid over rate and wear at once.
POINTS = 128
#: Parts worked on at a time.
BLOCK_PARTS = 1000
#: Dates nearer together than this are one, [d].
LEAST_WIDTH_DAYS = 1.0
#: Fraction of the golden ratio: its multiples fill an interval evenly.
_GOLDEN = 0.6180339887498949
_WEAR = (Cause.RATE, Cause.READINGS, Cause.PROCESS)
CAUSES = (*_WEAR, Cause.USAGE)
_SETS = tuple(frozenset(chosen) for n in range(len(CAUSES) + 1) for chosen in combinations(CAUSES, n))


@dataclass(frozen=True, slots=True)
class WidthShares:
    """Width of the date of n parts, and what each cause does to it.

    Attributes
    ----------
    days : ndarray of float, shape (n, 3)
        Early, likely and late day after the last meter entry, infinite beyond reach, [d].
    width : ndarray of float, shape (n,)
        Days from early to late, to likely where the late date is out of sight; NaN where that is, too, [d].
    is_early_half : ndarray of bool, shape (n,)
        Where the width ends at the likely date.
    alone, without, share : ndarray of float, shape (n, 4)
        Width with only one cause, and with all the others, by `CAUSES`, [d]; share of the squared width,
        sums to 1.
    """

    days: Floats
    width: Floats
    is_early_half: NDArray[np.bool_]
    alone: Floats
    without: Floats
    share: Floats


def width_shares(posterior: Posterior, items: Sequence[WearItem], used: Sequence[VehicleUse]) -> WidthShares:
    """Return how wide the date of each part is, and what each cause does to it.

    Parameters
    ----------
    posterior
        Of n parts.
    items
        The n parts.
    used
        The use of their vehicles.
    """
    days = {chosen: np.empty((len(items), 3)) for chosen in _SETS}
    for begin in range(0, len(items), BLOCK_PARTS):
        rows = slice(begin, begin + BLOCK_PARTS)
        part = posterior.take(np.arange(len(items))[rows])
        for chosen, found in _days_of_block(part, items[rows], used[rows]).items():
            days[chosen][rows] = found
    return _shared(days)


def days_per_tenth(posterior: Posterior, items: Sequence[WearItem], used: Sequence[VehicleUse]) -> Floats:
    """Return by how many days the likely date moves if each limit allows a tenth more, shape (n,), [d].

    At the average use of the vehicles; NaN where the limit is out of sight or behind.

    Parameters
    ----------
    posterior
        Of n parts.
    items
        The n parts.
    used
        The use of their vehicles.
    """
    further = replace(posterior, limit=1.1 * posterior.limit)
    middles = [crossing_quantiles(one, [0.5])[:, 0] for one in (posterior, further)]
    ahead = np.array(
        [
            item.ahead_of(use.last_use, np.array([near, far]))
            for item, use, near, far in zip(items, used, *middles, strict=True)
        ]
    )
    first, second = np.empty(len(items)), np.empty(len(items))
    for begin in range(0, len(items), BLOCK_PARTS):
        rows = slice(begin, begin + BLOCK_PARTS)
        gone = _calendars(used[rows])
        first[rows], second[rows] = (
            _days_at_mean_use(ahead[rows, n : n + 1], used[rows], gone)[:, 1] for n in (0, 1)
        )
    is_told = (ahead[:, 0] > 0.0) & np.isfinite(first) & np.isfinite(second)
    return np.where(is_told, np.where(is_told, second, 0.0) - np.where(is_told, first, 0.0), np.nan)


def _shared(days: dict[frozenset[Cause], Floats]) -> WidthShares:
    whole = days[frozenset(CAUSES)]
    is_half = ~np.isfinite(whole[:, 2])
    width = {chosen: _width(found, is_half) for chosen, found in days.items()}
    share = np.zeros((len(whole), len(CAUSES)))
    for n, cause in enumerate(CAUSES):
        for before in _SETS:
            if cause in before:
                continue
            orders = factorial(len(before)) * factorial(len(CAUSES) - len(before) - 1)
            gained = width[before | {cause}] ** 2 - width[before] ** 2
            share[:, n] += orders / factorial(len(CAUSES)) * gained
    total = width[frozenset(CAUSES)]
    # A date that is behind already, more likely than not, has no width worth telling.
    is_wide = np.isfinite(total) & (total >= LEAST_WIDTH_DAYS) & (whole[:, 1] > 0.0)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(is_wide[:, None], share / (total**2)[:, None], np.nan)
    return WidthShares(
        days=whole,
        width=np.where(is_wide, total, np.nan),
        is_early_half=is_half,
        alone=np.stack([width[frozenset({cause})] for cause in CAUSES], axis=1),
        without=np.stack([width[frozenset(CAUSES) - {cause}] for cause in CAUSES], axis=1),
        share=share,
    )


def _width(days: Floats, is_half: NDArray[np.bool_]) -> Floats:
    # Beyond the farthest day nothing is told; a single cause may reach there although all together do not.
    held = np.minimum(days, FARTHEST_DAY)
    width = np.where(is_half, held[:, 1], held[:, 2]) - held[:, 0]
    return np.asarray(np.where(np.isfinite(days[:, 1]) | ~is_half, width, np.nan))


def _days_of_block(
    posterior: Posterior, items: Sequence[WearItem], used: Sequence[VehicleUse]
) -> dict[frozenset[Cause], Floats]:
    wear = [chosen for chosen in _SETS if Cause.USAGE not in chosen]
    ahead = [
        np.array(
            [
                item.ahead_of(use.last_use, x)
                for item, use, x in zip(items, used, crossing_points(posterior, chosen), strict=True)
            ]
        )
        for chosen in wear
    ]
    # All sets at once: the dates of many parts cost hardly more than those of one.
    dates = date_distributions(
        np.concatenate(ahead),
        [use.usage for use in used] * len(wear),
        [use.clock for use in used] * len(wear),
        [use.last_day for use in used] * len(wear),
    ).days_at(EARLY_LIKELY_LATE)
    found = {}
    gone = _calendars(used)
    for n, chosen in enumerate(wear):
        found[chosen] = _days_at_mean_use(ahead[n], used, gone)
        found[chosen | {Cause.USAGE}] = dates[n * len(items) : (n + 1) * len(items)]
    return found


def crossing_points(posterior: Posterior, uncertain: frozenset[Cause]) -> Floats:
    """Return equally likely distances at the limit with some causes uncertain, rising, shape (n, POINTS).

    Parameters
    ----------
    posterior
        Of n parts.
    uncertain
        Which causes are switched on; usage has no say here.
    """
    count = np.arange(POINTS) + 0.5
    rate_chance = count / POINTS if Cause.RATE in uncertain else np.full(POINTS, 0.5)
    z = ndtri(np.mod(count * _GOLDEN, 1.0))
    place = _node_places(posterior, ndtri(rate_chance))
    low = np.minimum(place.astype(np.int64), posterior.node.shape[1] - 2)
    share = place - low

    def at(nodes: Floats) -> Floats:
        below, above = (np.take_along_axis(nodes, low + step, axis=1) for step in (0, 1))
        return np.asarray(below + share * (above - below))

    rate = np.exp(at(np.log(posterior.rate)))
    to_go = posterior.straight_limit[:, None] - at(posterior.mean)
    variance = at(posterior.variance) if Cause.READINGS in uncertain else np.zeros_like(rate)
    wander = posterior.law.theta.process * rate if Cause.PROCESS in uncertain else np.zeros_like(rate)
    # Level probability of wear at a distance d: (rate d - to_go) / sqrt(variance + wander d) = z, solved
    # for d.
    inside = rate * to_go * wander + 0.25 * z**2 * wander**2 + rate**2 * variance
    ahead = (rate * to_go + 0.5 * z**2 * wander + z * np.sqrt(np.maximum(inside, 0.0))) / rate**2
    ahead = np.where(to_go + z * np.sqrt(np.maximum(variance, 0.0)) <= 0.0, 0.0, np.maximum(ahead, 0.0))
    shape = posterior.law.shape
    start = shape.straight_x(posterior.x_last)[:, None]
    x = np.where(ahead > 0.0, shape.true_x(start + ahead), posterior.x_last[:, None])
    return np.sort(x, axis=1)


def _node_places(posterior: Posterior, deviate: Floats) -> Floats:
    """Return between which nodes of the rate each normal deviate lies, shape (n, n_deviates)."""
    below = np.cumsum(posterior.weight, axis=1) - 0.5 * posterior.weight
    known = ndtri(np.clip(below, ndtr(-8.0), ndtr(8.0)))
    known = np.maximum.accumulate(known + 1e-9 * np.arange(known.shape[1]), axis=1)
    nodes = np.arange(known.shape[1], dtype=np.float64)
    return np.array([np.interp(deviate, row, nodes) for row in known])


def _calendars(used: Sequence[VehicleUse]) -> list[Floats]:
    """Return the operational days gone by each calendar day ahead; vehicles alike share theirs."""
    calendar = np.arange(FARTHEST_DAY + 1.0)
    known: dict[tuple[OperationalDays, int], Floats] = {}
    for use in used:
        key = (use.clock, use.last_day)
        if key not in known:
            known[key] = use.clock.ahead(use.last_day, calendar)
    return [known[use.clock, use.last_day] for use in used]


def _days_at_mean_use(ahead: Floats, used: Sequence[VehicleUse], gone: Sequence[Floats]) -> Floats:
    """Return early, likely and late day if each vehicle went exactly its average, shape (n, 3)."""
    far = np.quantile(ahead, EARLY_LIKELY_LATE, axis=1).T
    calendar = np.arange(FARTHEST_DAY + 1.0)
    days = np.empty_like(far)
    for row, use in enumerate(used):
        needed = np.maximum(far[row], 0.0) / use.usage.rate
        days[row] = np.interp(needed, gone[row], calendar, right=np.inf)
    return days
