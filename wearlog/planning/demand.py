"""How many pieces will be wanted: the sum of installations, each with its own chance of coming due.

References
----------
Y. Hong, On computing the distribution function for the Poisson binomial distribution, Computational
Statistics & Data Analysis 59, 2013, 41-51 (the law of such a sum; from memory).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

Floats = NDArray[np.float64]

#: Share of the present spread of a date that is left after the next reading. Assumption.
SPREAD_LEFT = 0.5
#: A chance this near to 0 or 1 is not told from it.
NEAREST = 1e-12
#: Sums longer than this are folded by Fourier transform.
FOLD_DIRECTLY = 256


@dataclass(frozen=True, slots=True)
class Demand:
    """How many pieces will be wanted in all by the end of each week, as a distribution.

    Attributes
    ----------
    chance : ndarray of float, shape (n_weeks, n_counts)
        Chance that exactly 0, 1, 2, ... pieces are wanted by then, [-].
    """

    chance: Floats

    @property
    def weeks(self) -> int:
        """How many weeks are looked ahead, [-]."""
        return int(self.chance.shape[0])

    @property
    def mean(self) -> Floats:
        """Expected number of pieces by the end of each week, shape (n_weeks,), [-]."""
        return np.asarray(self.chance @ np.arange(self.chance.shape[1]), dtype=np.float64)

    @property
    def sd(self) -> Floats:
        """Standard deviation of that number, shape (n_weeks,), [-]."""
        counts = np.arange(self.chance.shape[1], dtype=np.float64)
        away = counts[None, :] - self.mean[:, None]
        return np.asarray(np.sqrt((self.chance * away**2).sum(axis=1)), dtype=np.float64)

    def at_most(self, count: int) -> Floats:
        """Return the chance that no more than `count` pieces are wanted, shape (n_weeks,), [-].

        Parameters
        ----------
        count : int
            Pieces, [-].
        """
        if count < 0:
            return np.zeros(self.weeks)
        return np.asarray(np.minimum(self.chance[:, : count + 1].sum(axis=1), 1.0), dtype=np.float64)

    def quantile(self, level: float) -> NDArray[np.int64]:
        """Return the least number of pieces that is enough with a chance, shape (n_weeks,), [-].

        Parameters
        ----------
        level : float
            Chance that it is enough, [-].
        """
        below = np.cumsum(self.chance, axis=1) < level - 1e-12
        return np.asarray(np.minimum(below.sum(axis=1), self.chance.shape[1] - 1), dtype=np.int64)


def demand_ahead(chances: ArrayLike) -> Demand:
    """Return how many pieces will be wanted by the end of each week.

    The law of the sum of independent installations is exact: their chances are folded, not fitted by a normal
    or Poisson law.

    Parameters
    ----------
    chances : array_like of float, shape (n_installations, n_weeks)
        Chance that each installation has come due by the end of each week, never falling along a row, [-].

    Returns
    -------
    Demand
        Distribution by week.

    Raises
    ------
    ValueError
        If a chance is not between 0 and 1, or falls from one week to the next.

    Examples
    --------
    >>> demand = demand_ahead([[0.1, 0.5], [0.0, 0.5]])
    >>> demand.chance.round(3).tolist()
    [[0.9, 0.1, 0.0], [0.25, 0.5, 0.25]]
    >>> demand.quantile(0.9).tolist()
    [0, 2]
    """
    p = np.atleast_2d(np.asarray(chances, dtype=np.float64))
    if not bool(((p >= 0.0) & (p <= 1.0)).all()):
        raise ValueError("column chances: holds a number that is not between 0 and 1")
    if bool((np.diff(p, axis=1) < -1e-9).any()):
        row = int(np.argmax((np.diff(p, axis=1) < -1e-9).any(axis=1)))
        raise ValueError(f"row {row}, column chances: falls from one week to the next")
    return Demand(_folded(p))


def _folded(p: Floats) -> Floats:
    """Return the law of the number of successes per column, halves folded with each other."""
    n, weeks = p.shape
    if n <= 32:
        law = np.zeros((weeks, n + 1))
        law[:, 0] = 1.0
        for row in range(n):
            hit = law[:, : row + 1] * p[row][:, None]
            law[:, : row + 1] *= (1.0 - p[row])[:, None]
            law[:, 1 : row + 2] += hit
        return law
    first, second = _folded(p[: n // 2]), _folded(p[n // 2 :])
    if first.shape[1] + second.shape[1] > FOLD_DIRECTLY:
        size = n + 1
        law = np.fft.irfft(
            np.fft.rfft(first, 2 * size, axis=1) * np.fft.rfft(second, 2 * size, axis=1), 2 * size, axis=1
        )
        return np.asarray(np.maximum(law[:, :size], 0.0), dtype=np.float64)
    return np.array([np.convolve(a, b) for a, b in zip(first, second, strict=True)])


def chance_of_replacing(past: ArrayLike, level: float, spread_left: ArrayLike = SPREAD_LEFT) -> Floats:
    """Return the chance that a part will have been replaced by a day, if the due list is followed.

    The list calls a part in when the chance of being past its limit reaches the caution level. Until then it
    will be read again, which narrows the spread of its date and moves the date itself, mostly to later. On
    normal deviates z of the chance of being past the limit, with a share r of the spread left after the
    reading, the chance of having been called in is Phi((z - r z_level) / sqrt(1 - r^2)). With r = 0 the part
    runs to its limit; with r = 1 nothing is learnt and it is called in on the due date of today's list.

    Parameters
    ----------
    past : array_like of float
        Chance of being past the limit by the day, [-].
    level : float
        Caution level, [-].
    spread_left : array_like of float
        Share of the present spread left after the next reading, from 0 to 1, [-].

    Returns
    -------
    ndarray of float
        Chance, in the shape of `past`, [-].

    Raises
    ------
    ValueError
        If the caution level is not above 0 and below 1, or the share not from 0 to 1.

    Examples
    --------
    >>> chance_of_replacing([0.01, 0.1, 0.5], 0.1).round(3).tolist()
    [0.026, 0.23, 0.77]
    >>> chance_of_replacing([0.01, 0.1, 0.5], 0.1, spread_left=1.0).tolist()
    [0.0, 1.0, 1.0]
    """
    if not 0.0 < level < 1.0:
        raise ValueError(f"level: {level} is not above 0 and below 1")
    left = np.asarray(spread_left, dtype=np.float64)
    if not bool(((left >= 0.0) & (left <= 1.0)).all()):
        raise ValueError("spread_left: holds a number that is not from 0 to 1")
    given = np.asarray(past, dtype=np.float64)
    z = ndtri(np.clip(given, NEAREST, 1.0 - NEAREST))
    told = np.sqrt(np.maximum(1.0 - left**2, NEAREST))
    narrowed = np.where(left == 1.0, given >= level, ndtr((z - left * ndtri(level)) / told))
    # No part is called in that cannot be past its limit, and none stays that certainly is.
    return np.asarray(
        np.where(given <= NEAREST, 0.0, np.where(given >= 1.0, 1.0, narrowed)), dtype=np.float64
    )


def spread_after_reading(sd: ArrayLike, u_reading: float) -> Floats:
    """Return the share of the present spread of wear that is left after one more reading.

    Parameters
    ----------
    sd : array_like of float
        Standard deviation of the allowance used as it is known now, [-].
    u_reading : float
        Standard uncertainty of a reading, as a share of the allowance, [-].

    Examples
    --------
    >>> spread_after_reading([0.1, 0.4], 0.1).round(2).tolist()
    [0.71, 0.24]
    """
    now = np.asarray(sd, dtype=np.float64)
    return np.asarray(u_reading / np.sqrt(now**2 + u_reading**2), dtype=np.float64)


def chance_with_set(own: ArrayLike, leader: ArrayLike, goes_along: ArrayLike) -> Floats:
    """Return the chance that a part is replaced for its own wear or along with another one.

    Parameters
    ----------
    own : array_like of float
        Chance that its own wear has it replaced by the day, [-].
    leader : array_like of float
        Chance that the part it belongs to, the chain of a sprocket for example, is replaced by the day, [-].
    goes_along : array_like of float
        Chance that it goes along then, [-].

    Returns
    -------
    ndarray of float
        Chance, [-].

    Examples
    --------
    >>> float(chance_with_set(0.2, 0.5, 0.6).round(3))
    0.44
    """
    stays = (1.0 - np.asarray(own, dtype=np.float64)) * (
        1.0 - np.asarray(leader, dtype=np.float64) * np.asarray(goes_along, dtype=np.float64)
    )
    return np.asarray(1.0 - stays, dtype=np.float64)
