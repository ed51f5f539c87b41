"""What is known of the wear of parts after their readings, and the wear to expect further on."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from wearlog.forecast.law import RatePrior, WearLaw
from wearlog.forecast.mixture import checked_chances, mixture_quantiles
from wearlog.forecast.rate_grid import (
    SHOWN_NODES,
    SHOWN_SPAN,
    RateGrid,
    integrate_rate,
    node_rates,
)
from wearlog.forecast.readings import Bools, Floats, Ints, ReadingTable

#: Wear beyond this share of the allowance is not forecast: nothing was ever seen there; assumption.
FARTHEST_WEAR = 1.2


@dataclass(frozen=True, slots=True)
class Posterior:
    """Rate and wear of n parts after their readings; every prediction starts here.

    Attributes
    ----------
    law : WearLaw
        The family's numbers and path.
    weight : ndarray of float, shape (n_parts, n_nodes)
        Weight of each rate, sums to 1, [-].
    node : ndarray of float, shape (n_parts, n_nodes)
        ln rate, [-].
    rate : ndarray of float, shape (n_parts, n_nodes)
        Rate on the straightened scale, [allowance per 1000 km or 100 h].
    mean, variance : ndarray of float, shape (n_parts, n_nodes)
        Moments of wear at the last reading for each rate, straightened scale, [-].
    x_last : ndarray of float, shape (n_parts,)
        Distance at the last reading, or at the start, [1000 km or 100 h].
    limit : ndarray of float, shape (n_parts,)
        The part's own limit over the family's reference limit, [-].
    log_evidence : ndarray of float, shape (n_parts,)
        Log of the chance density of the part's readings, [-].
    count : ndarray of int, shape (n_parts,)
        Readings of each part, [-].
    has_unknown_history : ndarray of bool, shape (n_parts,)
        Whether nobody knows what was on the part when it was fitted.
    """

    law: WearLaw
    weight: Floats
    node: Floats
    rate: Floats
    mean: Floats
    variance: Floats
    x_last: Floats
    limit: Floats
    log_evidence: Floats
    count: Ints
    has_unknown_history: Bools

    def __len__(self) -> int:
        """Return the number of parts."""
        return int(self.weight.shape[0])

    @property
    def log_rate_mean(self) -> Floats:
        """Posterior mean of ln rate, shape (n_parts,), [-]."""
        return np.asarray((self.weight * self.node).sum(axis=1), dtype=np.float64)

    @property
    def log_rate_sd(self) -> Floats:
        """Posterior standard deviation of ln rate, shape (n_parts,), [-]."""
        spread = (self.node - self.log_rate_mean[:, None]) ** 2
        return np.asarray(np.sqrt((self.weight * spread).sum(axis=1)), dtype=np.float64)

    @property
    def straight_limit(self) -> Floats:
        """Limit on the straightened scale, shape (n_parts,), [-]."""
        return self.law.shape.straight_wear(self.limit)

    def take(self, parts: ArrayLike) -> "Posterior":
        """Return the posterior of some of the parts.

        Parameters
        ----------
        parts : array_like of int or bool
            Indices of the parts, [-].
        """
        chosen = np.asarray(parts)
        return Posterior(
            law=self.law,
            weight=self.weight[chosen],
            node=self.node[chosen],
            rate=self.rate[chosen],
            mean=self.mean[chosen],
            variance=self.variance[chosen],
            x_last=self.x_last[chosen],
            limit=self.limit[chosen],
            log_evidence=self.log_evidence[chosen],
            count=self.count[chosen],
            has_unknown_history=self.has_unknown_history[chosen],
        )

    def components(self, x: Floats) -> tuple[Floats, Floats]:
        """Return mean and variance of wear at a distance for each rate, straightened scale.

        Parameters
        ----------
        x : ndarray of float, shape (n_parts, n_x)
            Distance; before the last reading counts as at the last reading, [1000 km or 100 h].

        Returns
        -------
        mean, variance : ndarray of float, shape (n_parts, n_x, n_nodes)
            Moments, [-].
        """
        shape = self.law.shape
        ahead = np.maximum(shape.straight_x(x) - shape.straight_x(self.x_last)[:, None], 0.0)
        gained = ahead[:, :, None] * self.rate[:, None, :]
        return self.mean[:, None, :] + gained, self.variance[:, None, :] + self.law.theta.process * gained

    def bedding_to_come(self, x: Floats) -> tuple[Floats, Floats]:
        """Return what bedding-in has still to add at a distance: its mean and variance.

        Wear is followed as it will be once the part has bedded in; a new part shows less, as in the filter.

        Parameters
        ----------
        x : ndarray of float, shape (n_parts, n_x)
            Distance, [1000 km or 100 h].

        Returns
        -------
        mean, variance : ndarray of float, shape (n_parts, n_x)
            Moments on the straightened scale; 0 for a part of unknown history, [-].
        """
        if self.law.bedding_distance <= 0.0:
            return np.zeros_like(x), np.zeros_like(x)
        left = np.exp(-np.maximum(x, 0.0) / self.law.bedding_distance)
        left = np.where(self.has_unknown_history[:, None], 0.0, left)
        return self.law.theta.offset * left, (self.law.theta.offset_sd * left) ** 2

    def shown_components(self, x: Floats) -> tuple[Floats, Floats]:
        """Return mean and variance of the wear that a part shows at a distance, bedding-in as far as it is.

        Parameters
        ----------
        x : ndarray of float, shape (n_parts, n_x)
            Distance; before the last reading counts as at the last reading, [1000 km or 100 h].

        Returns
        -------
        mean, variance : ndarray of float, shape (n_parts, n_x, n_nodes)
            Moments, straightened scale, [-].
        """
        mean, variance = self.components(x)
        to_come, spread = self.bedding_to_come(np.maximum(x, self.x_last[:, None]))
        return mean - to_come[:, :, None], variance + spread[:, :, None]


def part_posterior(
    readings: ReadingTable,
    prior: RatePrior,
    law: WearLaw,
    limit: ArrayLike = 1.0,
    nodes: int = SHOWN_NODES,
    span: float = SHOWN_SPAN,
    share: Floats | None = None,
) -> Posterior:
    """Return what is known of parts after their readings, each with its own prior.

    Parameters
    ----------
    readings : ReadingTable
        Readings of n parts, as they were taken.
    prior : RatePrior
        Belief about ln rate of each part before them.
    law : WearLaw
        The family's numbers and path.
    limit : array_like of float, shape (n_parts,) or ()
        The part's own limit over the family's reference limit, [-].
    nodes : int
        Rates to distinguish, [-].
    span : float
        Half width of the grid of rates, [standard deviations].
    share : ndarray of float, shape (n_parts, n_readings), optional
        Share of gross errors of each reading where it differs from the law's, [-].

    Returns
    -------
    Posterior
        Rate and wear of the n parts.

    Raises
    ------
    ValueError
        If there are not as many priors as parts, or a limit is not positive.

    Examples
    --------
    >>> from wearlog.forecast.readings import one_part
    >>> law = WearLaw(bedding_distance=0.0)
    >>> after = part_posterior(one_part([2.0], 0.06, y=[0.40]), RatePrior.of(np.log(0.16), 0.6), law)
    >>> round(float(after.log_rate_mean[0]), 2)
    -1.84
    """
    if len(prior) != len(readings):
        raise ValueError(f"column prior: {len(prior)} rows for {len(readings)} parts")
    straight = law.shape.straighten(readings)
    grid = integrate_rate(straight, prior, law, nodes=nodes, span=span, share=share)
    return posterior_of_grid(readings, grid, law, limit)


def posterior_of_grid(readings: ReadingTable, grid: RateGrid, law: WearLaw, limit: ArrayLike) -> Posterior:
    """Return the posterior that a finished grid holds.

    Parameters
    ----------
    readings : ReadingTable
        Readings of n parts, as they were taken.
    grid : RateGrid
        Rate and wear of the n parts.
    law : WearLaw
        The family's numbers and path.
    limit : array_like of float, shape (n_parts,) or ()
        The part's own limit over the family's reference limit, [-].

    Raises
    ------
    ValueError
        If a limit is not positive.
    """
    limits = np.array(np.broadcast_to(np.asarray(limit, dtype=np.float64), (len(readings),)))
    is_good = np.isfinite(limits) & (limits > 0.0)
    if not is_good.all():
        raise ValueError(f"row {int(np.argmin(is_good))}, column limit: is not positive")
    return Posterior(
        law=law,
        weight=np.ascontiguousarray(grid.weight),
        node=np.ascontiguousarray(grid.node),
        rate=np.ascontiguousarray(node_rates(grid.node, law)),
        mean=np.ascontiguousarray(grid.mean),
        variance=np.ascontiguousarray(grid.variance),
        x_last=readings.x_last,
        limit=limits,
        log_evidence=grid.log_evidence,
        count=readings.count,
        has_unknown_history=readings.has_unknown_history,
    )


def distances(x: ArrayLike, n_parts: int) -> Floats:
    """Return distances as one row per part.

    Parameters
    ----------
    x : array_like of float, shape (), (n_x,) or (n_parts, n_x)
        Distance; one row serves all parts, [1000 km or 100 h].
    n_parts : int
        Number of parts, [-].

    Raises
    ------
    ValueError
        If a distance is not finite, or the rows are not as many as the parts.
    """
    array = np.atleast_1d(np.asarray(x, dtype=np.float64))
    if array.ndim == 1:
        array = np.broadcast_to(array, (n_parts, array.size))
    if array.ndim != 2 or array.shape[0] != n_parts:
        raise ValueError(f"column x: shape {array.shape} for {n_parts} parts")
    if not np.isfinite(array).all():
        raise ValueError(f"row {int(np.argmin(np.isfinite(array).all(axis=1)))}, column x: is not finite")
    return array


def wear_quantiles(posterior: Posterior, x: ArrayLike, p: ArrayLike) -> Floats:
    """Return the wear below which each part lies with the given chances.

    Parameters
    ----------
    posterior : Posterior
        n parts after their readings.
    x : array_like of float, shape (n_x,) or (n_parts, n_x)
        Distances at or after the last reading, rising, [1000 km or 100 h].
    p : array_like of float, shape (n_p,)
        Chances, [-].

    Returns
    -------
    ndarray of float, shape (n_parts, n_x, n_p)
        Share of the allowance; never falls along `x`, since wear does not heal, [-].
    """
    chances = checked_chances(p)
    mean, variance = posterior.shown_components(distances(x, len(posterior)))
    straight = mixture_quantiles(
        chances, mean, np.sqrt(np.maximum(variance, 1e-12)), posterior.weight[:, None, :]
    )
    return np.maximum.accumulate(posterior.law.shape.true_wear(straight), axis=1)


def wear_mean_sd(posterior: Posterior, x: ArrayLike) -> tuple[Floats, Floats]:
    """Return mean and standard deviation of wear at a distance, two of shape (n_parts, n_x), [-].

    Parameters
    ----------
    posterior : Posterior
        n parts after their readings.
    x : array_like of float, shape (n_x,) or (n_parts, n_x)
        Distances at or after the last reading, [1000 km or 100 h].
    """
    mean, variance = posterior.shown_components(distances(x, len(posterior)))
    return true_moments(posterior.law, mean, variance, posterior.weight[:, None, :])


def true_moments(law: WearLaw, mean: Floats, variance: Floats, weight: Floats) -> tuple[Floats, Floats]:
    """Return mean and standard deviation of wear from mixture moments on the straightened scale.

    Parameters
    ----------
    law : WearLaw
        Holds the path.
    mean, variance, weight : ndarray of float, shape (..., n_nodes)
        Moments and weights of the mixture, [-].
    """
    if law.shape.acceleration == 0.0:
        first = (weight * mean).sum(axis=-1)
        second = (weight * (variance + (mean - first[..., None]) ** 2)).sum(axis=-1)
        return first, np.sqrt(second)
    t, t_weight = np.polynomial.hermite_e.hermegauss(9)
    values = law.shape.true_wear(mean[..., None] + np.sqrt(np.maximum(variance, 0.0))[..., None] * t)
    weights = weight[..., None] * (t_weight / t_weight.sum())
    first = (weights * values).sum(axis=(-2, -1))
    second = (weights * (values - first[..., None, None]) ** 2).sum(axis=(-2, -1))
    return first, np.sqrt(second)
