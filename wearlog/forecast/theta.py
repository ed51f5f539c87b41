"""Offset, process noise and uncertainty factor of a family, fitted to all its parts at once."""

from collections.abc import Callable

import numpy as np

from wearlog.forecast.law import RatePrior, Theta, WearLaw
from wearlog.forecast.prior import ThetaPrior
from wearlog.forecast.rate_grid import FITTING_NODES, FITTING_SPAN, GridPlace, grid_pass
from wearlog.forecast.readings import Floats, Ints, ReadingTable

#: Difference steps of offset, ln offset sd, ln process, ln factor.
DIFFERENCE = np.array([0.02, 0.15, 0.25, 0.06])
#: A step goes no farther than this many difference steps.
FARTHEST_STEP = 5.0
#: Curvature below this is not believed.
LEAST_CURVATURE = 1.0
NEWTON_STEPS = 2
MOST_SHORTENINGS = 8
MOST_PARTS = 1500


def theta_sample(count: Ints, rng: np.random.Generator, most: int = MOST_PARTS) -> Ints:
    """Return the parts that theta is fitted to: with two readings or more if there are any.

    Parameters
    ----------
    count : ndarray of int, shape (n_parts,)
        Readings of each part, [-].
    rng : numpy.random.Generator
        Draws the sample where there are more than `most`.
    most : int
        Greatest number of parts, [-].
    """
    chosen = np.flatnonzero(count >= 2)
    if not chosen.size:
        chosen = np.flatnonzero(count >= 1)
    if chosen.size > most:
        chosen = np.sort(rng.choice(chosen, most, replace=False))
    return chosen


def fitted_theta(
    table: ReadingTable, prior: RatePrior, place: GridPlace, law: WearLaw, belief: ThetaPrior
) -> Theta:
    """Return theta after two Newton steps towards the greatest evidence, priors and grids held.

    Parameters
    ----------
    table : ReadingTable
        Readings of the sampled parts, straightened scale.
    prior : RatePrior
        Belief about the rate of each of them.
    place : GridPlace
        Where their grids sit.
    law : WearLaw
        Where theta starts from.
    belief : ThetaPrior
        Belief about theta.

    Returns
    -------
    Theta
        Never less likely than where it started.
    """
    t = np.linspace(-FITTING_SPAN, FITTING_SPAN, FITTING_NODES)

    def worth(free: Floats) -> float:
        grid = grid_pass(table, prior, law.with_theta(Theta.from_free(free)), place, t)
        return float(grid.log_evidence.sum()) + belief.log_density(free)

    free = law.theta.to_free()
    now = worth(free)
    for _ in range(NEWTON_STEPS):
        gradient, curvature = _differences(worth, free, now)
        value, vector = np.linalg.eigh(-curvature)
        step = vector @ ((vector.T @ gradient) / np.maximum(value, LEAST_CURVATURE))
        step *= min(1.0, FARTHEST_STEP / max(float(np.abs(step / DIFFERENCE).max()), 1e-12))
        for _ in range(MOST_SHORTENINGS):
            then = worth(free + step)
            if then >= now:
                free, now = free + step, then
                break
            step = 0.4 * step
    return Theta.from_free(free)


def _differences(worth: Callable[[Floats], float], free: Floats, now: float) -> tuple[Floats, Floats]:
    n = free.size
    unit = np.diag(DIFFERENCE)
    up = np.array([worth(free + unit[i]) for i in range(n)])
    down = np.array([worth(free - unit[i]) for i in range(n)])
    gradient = (up - down) / (2.0 * DIFFERENCE)
    curvature = np.diag((up - 2.0 * now + down) / DIFFERENCE**2)
    for i in range(n):
        for j in range(i):
            both = worth(free + unit[i] + unit[j]) + worth(free - unit[i] - unit[j])
            mixed = both - up[i] - up[j] - down[i] - down[j] + 2.0 * now
            curvature[i, j] = curvature[j, i] = mixed / (2.0 * DIFFERENCE[i] * DIFFERENCE[j])
    return gradient, curvature
