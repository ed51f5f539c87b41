"""Survival of parts by distance: what share is still within its limit, early removals counted fairly.

References
----------
E. L. Kaplan, P. Meier, Nonparametric estimation from incomplete observations, J. American Statistical
Association 53, 1958, 457-481 (the estimate, and Greenwood's variance in section 3.1; section from memory).
J. D. Kalbfleisch, R. L. Prentice, The Statistical Analysis of Failure Time Data, Wiley 1980, section 1.3
(intervals on the scale of ln(-ln S); section from memory).
C. J. Clopper, E. S. Pearson, The use of confidence or fiducial limits illustrated in the case of the
binomial, Biometrika 26, 1934, 404-413 (none of n: 1 - (alpha/2)^(1/n); from memory).
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri

from wearlog.forecast.readings import Bools, Floats, Ints


@dataclass(frozen=True, slots=True)
class SurvivalCurve:
    """Share of parts that reach a distance within their limit; falls at each distance where one did not.

    Attributes
    ----------
    x : ndarray of float, shape (n_steps,)
        Distances at which at least one part reached its limit, rising, [1000 km or 100 h].
    at_risk : ndarray of int, shape (n_steps,)
        Parts that were running and followed just before, [-].
    failed : ndarray of int, shape (n_steps,)
        Parts that reached their limit there, [-].
    survival : ndarray of float, shape (n_steps,)
        Share that goes farther, [-].
    u_survival : ndarray of float, shape (n_steps,)
        Standard uncertainty after Greenwood, [-].
    n_parts, n_failed : int
        Parts in all, and those that reached their limit, [-].
    x_last : float
        Greatest distance at which a part was followed; nothing is known beyond, [1000 km or 100 h].
    """

    x: Floats
    at_risk: Ints
    failed: Ints
    survival: Floats
    u_survival: Floats
    n_parts: int
    n_failed: int
    x_last: float

    def at(self, x: ArrayLike) -> Floats:
        """Return the share that goes farther than a distance; NaN beyond what was followed.

        Parameters
        ----------
        x : array_like of float
            Distance, [1000 km or 100 h].
        """
        given = np.asarray(x, dtype=np.float64)
        steps = np.concatenate([[1.0], self.survival])
        share = steps[np.searchsorted(self.x, given, side="right")]
        return np.where((given > self.x_last) & (share > 0.0), np.nan, share)

    def interval(self, width: float = 0.95) -> tuple[Floats, Floats]:
        """Return lower and upper end of the interval of the share after each step, two of (n_steps,), [-].

        Where the last part followed is worn the share is 0 and Greenwood's variance undefined: the interval
        then goes from 0 to the upper end of the step before, or, if there is none, to the exact one of
        Clopper and Pearson for none of those at risk.

        Parameters
        ----------
        width : float
            Share of the cases in which the interval is to hold, [-].

        Examples
        --------
        >>> low, high = kaplan_meier([1.0, 2.0, 3.0, 4.0], [1, 1, 1, 1]).interval()
        >>> low.round(3).tolist(), high.round(3).tolist()
        ([0.128, 0.058, 0.009, 0.0], [0.961, 0.845, 0.665, 0.665])
        """
        z = float(ndtri(0.5 + 0.5 * width))
        is_inner = (self.survival > 0.0) & (self.survival < 1.0)
        share = np.where(is_inner, self.survival, 0.5)
        log = np.log(share)
        # Greenwood's sum, on the scale of ln(-ln S), so that the ends stay between 0 and 1.
        spread = z * self.u_survival / (share * -log)
        low = np.where(is_inner, share ** np.exp(spread), 0.0)
        high = np.where(is_inner, share ** np.exp(-spread), 1.0)
        # Where all at risk failed at once and none before, all that is known is that none of them went on.
        none_left = 1.0 - (0.5 - 0.5 * width) ** (1.0 / np.maximum(self.at_risk, 1))
        first = np.arange(self.survival.size) == 0
        high = np.where(first & ~is_inner, none_left, high)
        # The share never rises, so an upper end holds for all that follows: also where Greenwood is silent.
        return np.minimum.accumulate(low), np.minimum.accumulate(high)

    def quantile(self, p: float) -> float:
        """Return the distance by which a share of the parts has reached its limit; infinite if out of sight.

        Parameters
        ----------
        p : float
            Share, 0.5 for the median, [-].
        """
        return _first_below(self.x, self.survival, 1.0 - p)

    def quantile_interval(self, p: float, width: float = 0.95) -> tuple[float, float]:
        """Return the interval of that distance, [1000 km or 100 h]; an end out of sight is infinite.

        Parameters
        ----------
        p : float
            Share, 0.5 for the median, [-].
        width : float
            Share of the cases in which the interval is to hold, [-].
        """
        low, high = self.interval(width)
        return _first_below(self.x, low, 1.0 - p), _first_below(self.x, high, 1.0 - p)


def kaplan_meier(x: ArrayLike, is_failed: ArrayLike, x_entry: ArrayLike | None = None) -> SurvivalCurve:
    """Return the survival curve of parts by distance at the limit or, if earlier, at removal.

    Parameters
    ----------
    x : array_like of float, shape (n_parts,)
        Distance at which the part reached its limit, or was seen for the last time, [1000 km or 100 h].
    is_failed : array_like of bool, shape (n_parts,)
        Whether it reached its limit there; if not it came off early or is still running, [-].
    x_entry : array_like of float, shape (n_parts,), optional
        Distance from which the part was followed, 0 if not given; parts bought used come in late,
        [1000 km or 100 h].

    Returns
    -------
    SurvivalCurve
        Steps at the distances where parts reached their limit.

    Raises
    ------
    ValueError
        If a distance is not finite or not beyond its entry, naming the row.

    Examples
    --------
    >>> curve = kaplan_meier([0.8, 1.0, 2.7, 3.1, 5.4, 7.0, 9.2, 12.1], [1, 0, 0, 1, 1, 0, 1, 0])
    >>> curve.survival.round(4).tolist()
    [0.875, 0.7, 0.525, 0.2625]
    """
    last = np.atleast_1d(np.asarray(x, dtype=np.float64))
    failed = np.asarray(is_failed, dtype=np.bool_)
    entry = np.zeros(last.size) if x_entry is None else np.asarray(x_entry, dtype=np.float64)
    if failed.shape != last.shape or entry.shape != last.shape:
        raise ValueError(f"column is_failed: {failed.shape} and {entry.shape} values for {last.size} parts")
    is_span: Bools = np.isfinite(last) & np.isfinite(entry) & (entry >= 0.0) & (last >= entry)
    if not is_span.all():
        raise ValueError(f"row {int(np.argmin(is_span))}, column x: is not a distance beyond the entry")
    steps, count = np.unique(last[failed], return_counts=True)
    # At a tie a part that came off counts as running: it had gone that far.
    ended = np.searchsorted(np.sort(last), steps, side="left")
    entered = np.searchsorted(np.sort(entry), steps, side="left")
    # A part that is worn on entry was not at risk before.
    entered += np.searchsorted(np.sort(entry[failed & (entry == last)]), steps, side="right")
    entered -= np.searchsorted(np.sort(entry[failed & (entry == last)]), steps, side="left")
    at_risk = entered - ended
    survival = np.asarray(np.cumprod(1.0 - count / at_risk), dtype=np.float64)
    left = at_risk - count
    greenwood = np.cumsum(count / (at_risk * np.where(left > 0, left, 1.0)))
    return SurvivalCurve(
        x=steps,
        at_risk=at_risk.astype(np.int64),
        failed=count.astype(np.int64),
        survival=survival,
        u_survival=survival * np.sqrt(greenwood),
        n_parts=int(last.size),
        n_failed=int(failed.sum()),
        x_last=float(last.max(initial=0.0)),
    )


def _first_below(x: Floats, share: Floats, level: float) -> float:
    # A step that is on the level to rounding has reached it.
    reached = np.flatnonzero(share <= level + 1e-12)
    return float(x[reached[0]]) if reached.size else math.inf
