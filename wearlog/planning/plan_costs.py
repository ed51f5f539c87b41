"""What it costs to replace a part early or late: unused life, worn sprockets, running past the limit.

Money is in the workshop's own currency throughout, written [money].

References
----------
Sprockets wear about 0.4 times as fast as their chain, as shares of the allowance: common practice (two to
three chains to a pair of sprockets), no source. That a stretched chain wears them faster is common practice
as well; how much faster is an assumption, see `LateChains`.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

#: Wear of a pair of sprockets for each share of the chain's allowance, [-]; common practice, no source.
SPROCKET_PER_CHAIN = 0.4


@dataclass(frozen=True, slots=True)
class LateChains:
    """How much faster sprockets wear under a stretched chain: 1 + steepness (u - begin) beyond `begin`.

    Attributes
    ----------
    begin : float
        Share of the chain's allowance from which it tells, [-]; assumption.
    steepness : float
        Rise of the relative wear rate with the chain's share, [-]; assumption: at the limit sprockets wear
        twice as fast as under a new chain.
    u_ln_steepness : float
        Standard uncertainty of its natural logarithm, [-]; assumption: a factor of two either way.
    """

    begin: float = 0.75
    steepness: float = 4.0
    u_ln_steepness: float = 0.7

    def relative_rate(self, share: ArrayLike) -> Floats:
        """Return how fast sprockets wear under a chain, 1 under a new one.

        Parameters
        ----------
        share : array_like of float
            Share of its allowance that the chain has used, [-].
        """
        used = np.asarray(share, dtype=np.float64)
        return np.asarray(1.0 + self.steepness * np.maximum(used - self.begin, 0.0), dtype=np.float64)

    def worn_by(self, share: ArrayLike) -> Floats:
        """Return the sprockets' wear while a chain goes from new to a share, in units of a new chain's.

        The area under `relative_rate`: the share itself while it is small, more beyond `begin`.

        Parameters
        ----------
        share : array_like of float
            Share of its allowance that the chain has used at the end, [-].

        Examples
        --------
        >>> LateChains(begin=0.75, steepness=4.0).worn_by([0.5, 1.25]).tolist()
        [0.5, 1.75]
        """
        used = np.asarray(share, dtype=np.float64)
        return np.asarray(
            used + 0.5 * self.steepness * np.maximum(used - self.begin, 0.0) ** 2, dtype=np.float64
        )


@dataclass(frozen=True, slots=True)
class EarlyOrLate:
    """What is given away and what is risked by replacing parts on given days.

    Attributes
    ----------
    unused_km : ndarray of float, shape (n, n_days)
        Expected distance that a part would still have gone within its limit, [km or h].
    unused_share : ndarray of float, shape (n, n_days)
        The same as a share of its expected life, [-].
    past_km : ndarray of float, shape (n, n_days)
        Expected distance it will have gone past its limit, [km or h].
    past_chance : ndarray of float, shape (n, n_days)
        Chance that it is past its limit by then, [-].
    """

    unused_km: Floats
    unused_share: Floats
    past_km: Floats
    past_chance: Floats


def early_or_late(
    ahead_km: ArrayLike, gone_km: ArrayLike, days_ahead_km: ArrayLike, past_chance: ArrayLike
) -> EarlyOrLate:
    """Return what is given away or risked if parts are replaced on given days.

    Parameters
    ----------
    ahead_km : array_like of float, shape (n, n_crossings)
        Equally likely distances from now to the limit of each part, below 0 if behind, [km or h].
    gone_km : array_like of float, shape (n,)
        Distance on each part now, [km or h].
    days_ahead_km : array_like of float, shape (n, n_days)
        Expected distance from now to each day, [km or h].
    past_chance : array_like of float, shape (n, n_days)
        Chance that the limit is passed by each day, [-].

    Returns
    -------
    EarlyOrLate
        Expectations over the equally likely distances.

    Examples
    --------
    >>> found = early_or_late([[500.0, 1500.0]], [9000.0], [[0.0, 1000.0]], [[0.0, 0.5]])
    >>> found.unused_km.tolist(), found.past_km.tolist()
    ([[1000.0, 250.0]], [[0.0, 250.0]])
    """
    ahead = np.atleast_2d(np.asarray(ahead_km, dtype=np.float64))
    there = np.atleast_2d(np.asarray(days_ahead_km, dtype=np.float64))
    gone = np.asarray(gone_km, dtype=np.float64).reshape(-1, 1)
    left = ahead[:, None, :] - there[:, :, None]
    life = np.maximum(gone + np.maximum(ahead, 0.0).mean(axis=1, keepdims=True), 1e-9)
    unused = np.maximum(left, 0.0).mean(axis=2)
    return EarlyOrLate(
        unused_km=unused,
        unused_share=np.minimum(unused / life, 1.0),
        past_km=np.maximum(-left, 0.0).mean(axis=2),
        past_chance=np.atleast_2d(np.asarray(past_chance, dtype=np.float64)),
    )


def sprockets_worn_late(past_km: ArrayLike, life_km: ArrayLike, law: LateChains | None = None) -> Floats:
    """Return the share of the sprockets' allowance that a chain wears off by running past its limit.

    On top of what a chain in good time would have worn off over the same distance.

    Parameters
    ----------
    past_km : array_like of float
        Expected distance past the limit, [km or h].
    life_km : array_like of float
        Expected distance from new to the limit, [km or h].
    law : LateChains, optional
        How much faster sprockets wear under a stretched chain.

    Returns
    -------
    ndarray of float
        Share, [-].

    Examples
    --------
    >>> round(float(sprockets_worn_late(1000.0, 10_000.0)), 3)
    0.048
    """
    late = law or LateChains()
    beyond = np.asarray(past_km, dtype=np.float64) / np.maximum(np.asarray(life_km, dtype=np.float64), 1e-9)
    extra = late.worn_by(1.0 + beyond) - late.worn_by(1.0) - beyond
    return np.asarray(SPROCKET_PER_CHAIN * extra, dtype=np.float64)
