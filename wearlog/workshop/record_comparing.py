"""Wear rates of groups compared like with like: one linear model of ln rate for a whole kind of part.

References
----------
A. Gelman et al., Bayesian Data Analysis, 3rd ed., CRC 2013, chapter 14 (normal regression, prior as extra
observations) and section 15.1 (varying intercepts); chapter numbers from memory.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import chi2

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: 97.5 % point of the standard normal law.
Z95 = 1.959963984540054


@dataclass(frozen=True, slots=True)
class Spreads:
    """How much ln rate varies.

    Attributes
    ----------
    part, vehicle : float
        Standard deviation between parts that have all else in common, and between vehicles, [-].
    group : float
        How much groups are believed to differ before their readings, [-].
    family : float
        How well the mean of the kind is known before its readings, [-].
    """

    part: float
    vehicle: float
    group: float
    family: float


@dataclass(frozen=True, slots=True)
class Compared:
    """Mean ln rate of groups, as if all ran in the kind's own mix of circumstances.

    Attributes
    ----------
    mean : ndarray of float, shape (n_groups,)
        Mean of ln rate, [-].
    covariance : ndarray of float, shape (n_groups, n_groups)
        Its covariance, [-].
    effect : ndarray of float, shape (n_groups,)
        Deviation of each group, [-].
    effect_covariance : ndarray of float, shape (n_groups, n_groups)
        Its covariance, for differences between groups, [-].
    """

    mean: Floats
    covariance: Floats
    effect: Floats
    effect_covariance: Floats

    def rates(self) -> Floats:
        """Return median and ends of the 95 % interval of each group's rate, shape (n_groups, 3)."""
        sd = np.sqrt(np.diagonal(self.covariance))
        return np.asarray(np.exp(self.mean[:, None] + sd[:, None] * np.array([0.0, -Z95, Z95])))

    def ratio(self, first: int, second: int) -> tuple[float, float, float]:
        """Return the rate of one group over that of another: median and ends of the 95 % interval.

        Parameters
        ----------
        first, second : int
            The two groups, [-].
        """
        way, sd = self.difference(first, second)
        low, middle, high = np.exp([way - Z95 * sd, way, way + Z95 * sd]).tolist()
        return middle, low, high

    def difference(self, first: int, second: int) -> tuple[float, float]:
        """Return the difference in ln rate of two groups and its standard deviation.

        Parameters
        ----------
        first, second : int
            The two groups, [-].
        """
        v = self.effect_covariance
        variance = float(v[first, first] + v[second, second] - 2.0 * v[first, second])
        return float(self.effect[first] - self.effect[second]), max(variance, 0.0) ** 0.5

    def equal_chance(self, groups: Ints) -> float:
        """Return the share of the posterior that is less likely than equal rates; below 0.05 they differ.

        Parameters
        ----------
        groups : ndarray of int
            The groups to compare, two or more, [-].
        """
        effect = self.effect[groups]
        v = self.effect_covariance[np.ix_(groups, groups)]
        steps = np.diff(np.eye(groups.size), axis=0)
        off = steps @ effect
        distance = float(off @ np.linalg.solve(steps @ v @ steps.T, off))
        return float(chi2.sf(distance, groups.size - 1))


def compare_groups(
    value: Floats,
    variance: Floats,
    group: Ints,
    circumstance: Ints,
    vehicle: Ints,
    believed: float,
    spreads: Spreads,
) -> Compared:
    """Return the rates of groups, allowing for what else tells the parts apart.

    ln rate = mean of the kind + circumstance + group + vehicle + part. Circumstances and groups have normal
    priors, so that a group with few parts stays near the others instead of running off.

    Parameters
    ----------
    value, variance : ndarray of float, shape (n_parts,)
        What each part says of its ln rate by itself, [-].
    group : ndarray of int, shape (n_parts,)
        Which group it belongs to, counted from 0, [-].
    circumstance : ndarray of int, shape (n_parts,)
        In which circumstances it runs, counted from 0; all 0 to allow for none, [-].
    vehicle : ndarray of int, shape (n_parts,)
        Its vehicle, any numbers, [-].
    believed : float
        Mean ln rate of the kind before the readings, [-].
    spreads : Spreads
        How much ln rate varies.
    """
    n_groups, n_circumstances = int(group.max(initial=-1)) + 1, int(circumstance.max(initial=-1)) + 1
    p = 1 + n_circumstances + n_groups
    columns = np.stack([np.zeros_like(group), 1 + circumstance, 1 + n_circumstances + group])
    w = 1.0 / (spreads.part**2 + variance)
    y = value - believed
    key, number = np.unique(vehicle, return_inverse=True)
    number = number.ravel()
    weights = np.zeros((key.size, p))
    normal, told = np.zeros((p, p)), np.zeros(p)
    for first in columns:
        np.add.at(weights, (number, first), w)
        np.add.at(told, first, w * y)
        for second in columns:
            np.add.at(normal, (first, second), w)
    # A vehicle's own effect taken out by the Woodbury identity.
    shared = spreads.vehicle**2 / (1.0 + spreads.vehicle**2 * weights[:, 0])
    normal -= weights.T @ (shared[:, None] * weights)
    told -= weights.T @ (shared * np.bincount(number, w * y, minlength=key.size))
    prior = np.full(p, spreads.group)
    prior[0] = spreads.family
    if n_circumstances == 1:
        # One for all says nothing that the mean of the kind does not say.
        prior[1] = 1e-6
    covariance: Floats = np.linalg.inv(normal + np.diag(1.0 / prior**2)).astype(np.float64)
    fitted = covariance @ told
    mix = np.bincount(circumstance, minlength=n_circumstances) / max(circumstance.size, 1)
    rows = np.zeros((n_groups, p))
    rows[:, 0] = 1.0
    rows[:, 1 : 1 + n_circumstances] = mix
    rows[np.arange(n_groups), 1 + n_circumstances + np.arange(n_groups)] = 1.0
    inner = slice(1 + n_circumstances, p)
    return Compared(
        mean=believed + rows @ fitted,
        covariance=rows @ covariance @ rows.T,
        effect=fitted[inner],
        effect_covariance=covariance[inner, inner],
    )
