"""Which saved readings are probably wrong, and the forecast for the case that they are right after all."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from wearlog.forecast.crossing import crossing_quantiles
from wearlog.forecast.law import RatePrior, WearLaw
from wearlog.forecast.posterior import Posterior, part_posterior
from wearlog.forecast.rate_grid import GridPlace, integrate_rate
from wearlog.forecast.readings import Bools, Floats, Ints, ReadingTable
from wearlog.forecast.shape import reading_middle
from wearlog.forecast.smoothing import smoothed_mean_sd

#: Chance of being wrong above which a reading is doubtful, and above which it is suspect.
DOUBTFUL = 0.2
SUSPECT = 0.5
#: Readings judged at a time, and rates to distinguish while judging.
BLOCK_READINGS = 10_000
JUDGING_NODES = 13


def suspect_probability(readings: ReadingTable, prior: RatePrior, law: WearLaw) -> Floats:
    """Return the chance of each reading that it is simply wrong.

    Parameters
    ----------
    readings : ReadingTable
        Readings of n parts.
    prior : RatePrior
        Belief about ln rate of each part before them.
    law : WearLaw
        The family's numbers and path.

    Returns
    -------
    ndarray of float, shape (n_parts, n_readings)
        Chance; 0 in the padding, above 0.2 doubtful, above 0.5 suspect, [-].

    Examples
    --------
    >>> from wearlog.forecast.readings import one_part
    >>> chain = one_part([1, 2, 3, 4, 5], 0.06, y=[0.2, 0.35, 1.3, 0.66, 0.8])
    >>> law = WearLaw(bedding_distance=0.0)
    >>> np.round(suspect_probability(chain, RatePrior.of(np.log(0.16), 0.6), law)[0], 2).tolist()
    [0.0, 0.0, 1.0, 0.0, 0.0]
    """
    part, column = np.nonzero(readings.is_reading)
    chance = np.zeros_like(readings.x)
    if not part.size or law.gross.share <= 0.0:
        return chance
    straight = law.shape.straighten(readings)
    # The grid of the part as it is mostly serves with a reading more or less, too.
    place = integrate_rate(straight, prior, law).place
    for begin in range(0, part.size, BLOCK_READINGS):
        chosen = slice(begin, begin + BLOCK_READINGS)
        at = part[chosen], column[chosen]
        chance[at] = _suspect_rows(straight, prior, law, place, *at)
    return chance


def _suspect_rows(
    straight: ReadingTable, prior: RatePrior, law: WearLaw, place: GridPlace, part: Ints, column: Ints
) -> Floats:
    # Each reading is taken as wrong in one row and as right in another, the others staying as they are.
    rows = np.concatenate([part, part])
    share = np.full((rows.size, straight.x.shape[1]), law.gross.share)
    share[np.arange(part.size), column] = 1.0
    share[np.arange(part.size, rows.size), column] = 0.0
    grid = integrate_rate(
        straight.take(rows), prior.take(rows), law, place.take(rows), nodes=JUDGING_NODES, share=share
    )
    wrong, right = grid.log_evidence[: part.size], grid.log_evidence[part.size :]
    prior_odds = law.gross.share / (1.0 - law.gross.share)
    return np.asarray(1.0 / (1.0 + np.exp(np.clip(right - wrong, -600.0, 600.0)) / prior_odds))


def caution_posterior(
    readings: ReadingTable, prior: RatePrior, law: WearLaw, suspect: Floats, limit: ArrayLike = 1.0
) -> Posterior:
    """Return what would be known of parts if their doubtful readings were right.

    Parameters
    ----------
    readings : ReadingTable
        Readings of n parts.
    prior : RatePrior
        Belief about ln rate of each part before them.
    law : WearLaw
        The family's numbers and path.
    suspect : ndarray of float, shape (n_parts, n_readings)
        Chance of each reading that it is wrong; those above 0.2 are taken as right, [-].
    limit : array_like of float, shape (n_parts,) or ()
        The part's own limit over the family's reference limit, [-].
    """
    share = np.where(suspect > DOUBTFUL, 0.0, law.gross.share)
    return part_posterior(readings, prior, law, limit, share=share)


@dataclass(frozen=True, slots=True)
class CautiousCrossing:
    """The crossing that due dates go by while readings are in doubt.

    Attributes
    ----------
    x : ndarray of float, shape (n_parts, n_p)
        The earlier of the two crossings, [1000 km or 100 h].
    is_by_caution : ndarray of bool, shape (n_parts, n_p)
        Whether it is the one that takes the doubtful readings as right.
    """

    x: Floats
    is_by_caution: Bools


def earlier_crossing(posterior: Posterior, caution: Posterior, p: ArrayLike) -> CautiousCrossing:
    """Return the earlier of two crossings, and which of the two it is.

    Parameters
    ----------
    posterior : Posterior
        n parts after their readings.
    caution : Posterior
        The same parts with doubtful readings taken as right.
    p : array_like of float, shape (n_p,)
        Chances of having passed the limit, [-].
    """
    ordinary, careful = crossing_quantiles(posterior, p), crossing_quantiles(caution, p)
    return CautiousCrossing(np.minimum(ordinary, careful), careful < ordinary)


def reading_side(posterior: Posterior, readings: ReadingTable) -> Ints:
    """Return on which side of the fitted wear each reading lies: 1 above, -1 below, 0 in the padding.

    Parameters
    ----------
    posterior : Posterior
        n parts after their readings.
    readings : ReadingTable
        The very readings it was made from.

    Returns
    -------
    ndarray of int, shape (n_parts, n_readings)
        Side, [-].
    """
    fitted, _ = smoothed_mean_sd(posterior, readings, readings.x)
    side = np.where(reading_middle(readings) >= fitted, 1, -1)
    return np.where(readings.is_reading, side, 0)


def has_suspect_run(suspect: Floats, side: Ints) -> Bools:
    """Return which parts have two suspect readings in a row on the same side.

    It may be another part, fitted without record, or a wrong limit or as-new value.

    Parameters
    ----------
    suspect : ndarray of float, shape (n_parts, n_readings)
        Chance of each reading that it is wrong, [-].
    side : ndarray of int, shape (n_parts, n_readings)
        On which side of the fitted wear it lies, [-].

    Examples
    --------
    >>> chance = np.array([[0.0, 0.9, 0.8], [0.9, 0.0, 0.9]])
    >>> has_suspect_run(chance, np.ones((2, 3), dtype=int)).tolist()
    [True, False]
    """
    is_suspect = suspect > SUSPECT
    in_a_row = is_suspect[:, 1:] & is_suspect[:, :-1] & (side[:, 1:] == side[:, :-1])
    return np.asarray(in_a_row.any(axis=1), dtype=np.bool_)
