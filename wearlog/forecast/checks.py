"""Forecasts held against what came: how often intervals were right, and how far off the middle was.

References
----------
E. B. Wilson, Probable inference, the law of succession, and statistical inference, J. American Statistical
Association 22, 1927, 209-212 (interval of a share).
"""

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from wearlog.forecast.readings import Bools, Floats, Ints


@dataclass(frozen=True, slots=True)
class Coverage:
    """How often the truth lay inside an interval.

    Attributes
    ----------
    width : float
        Share that the interval promises, [-].
    share : float
        Share it held; NaN without checks, [-].
    low, high : float
        Wilson's 95 % interval of that share, [-].
    n : int
        Number of checks, [-].
    """

    width: float
    share: float
    low: float
    high: float
    n: int


def wilson_interval(hits: int, n: int, width: float = 0.95) -> tuple[float, float]:
    """Return Wilson's interval of a share.

    Parameters
    ----------
    hits : int
        Cases that came true, [-].
    n : int
        Cases in all; none at all leaves everything possible, [-].
    width : float
        Share of the times the interval is to hold, [-].

    Examples
    --------
    >>> [round(end, 4) for end in wilson_interval(81, 263)]
    [0.2553, 0.3662]
    """
    if n == 0:
        return 0.0, 1.0
    z = float(ndtri(0.5 + 0.5 * width))
    share = hits / n
    middle = share + z * z / (2 * n)
    half = z * math.sqrt(share * (1.0 - share) / n + z * z / (4.0 * n * n))
    whole = 1.0 + z * z / n
    return max((middle - half) / whole, 0.0), min((middle + half) / whole, 1.0)


@dataclass(frozen=True, slots=True)
class Checks:
    """Forecasts of one kind with what came true of them.

    Attributes
    ----------
    part : ndarray of int, shape (n_checks,)
        The part, [-].
    n_before : ndarray of int, shape (n_checks,)
        Readings of the part that the forecast was made from, [-].
    level : ndarray of float, shape (n_checks,)
        Chance that the forecast gave to a value up to what came; evenly spread where they are right, [-].
    truth, median, line : ndarray of float, shape (n_checks,)
        What came, the middle of the forecast, and what the straight line through the part's readings says;
        NaN where there is none, [-] for readings, [1000 km or 100 h] for distances.
    """

    part: Ints
    n_before: Ints
    level: Floats
    truth: Floats
    median: Floats
    line: Floats

    def __len__(self) -> int:
        """Return the number of checks."""
        return int(self.part.size)

    def take(self, chosen: Bools | Ints) -> "Checks":
        """Return some of the checks.

        Parameters
        ----------
        chosen : ndarray of bool or int
            Which, [-].
        """
        return Checks(
            self.part[chosen],
            self.n_before[chosen],
            self.level[chosen],
            self.truth[chosen],
            self.median[chosen],
            self.line[chosen],
        )

    def coverage(self, width: float) -> Coverage:
        """Return how often the middle interval of a width held what came.

        Parameters
        ----------
        width : float
            Share that the interval promises, [-].
        """
        hits, n = int((np.abs(self.level - 0.5) <= 0.5 * width).sum()), len(self)
        low, high = wilson_interval(hits, n)
        return Coverage(width, hits / n if n else math.nan, low, high, n)

    def median_error(self, by_line: bool = False, is_relative: bool = False) -> float:
        """Return the median of how far off the middle was, NaN without checks.

        Only checks that both the forecast and the line can answer count, so that the two compare fairly; a
        line that never gets there is infinitely far off.

        Parameters
        ----------
        by_line : bool
            Whether the straight line is asked rather than the forecast.
        is_relative : bool
            Whether the error is a share of what came, as for distances.
        """
        said = self.line if by_line else self.median
        both = ~np.isnan(self.line) & ~np.isnan(self.median) & ~np.isnan(self.truth)
        if not both.any():
            return math.nan
        miss = np.abs(said[both] - self.truth[both])
        if is_relative:
            miss = miss / np.maximum(np.abs(self.truth[both]), 1e-9)
        return float(np.median(miss))


def joined_checks(pieces: list[Checks]) -> Checks:
    """Return several sets of checks as one.

    Parameters
    ----------
    pieces : list of Checks
        The sets.
    """
    none = np.zeros(0)
    empty = Checks(none.astype(np.int64), none.astype(np.int64), none, none, none, none)
    whole = [empty, *pieces]
    return Checks(
        np.concatenate([piece.part for piece in whole]),
        np.concatenate([piece.n_before for piece in whole]),
        np.concatenate([piece.level for piece in whole]),
        np.concatenate([piece.truth for piece in whole]),
        np.concatenate([piece.median for piece in whole]),
        np.concatenate([piece.line for piece in whole]),
    )
