"""At which wear to replace: long-run cost for 1000 km against the share of the allowance used.

A chain life is a cycle; by the renewal-reward theorem the long-run cost is the expected cost of a cycle over
its expected length. Replacing early gives life away; replacing late wears the sprockets faster and risks a
failure.

References
----------
R. E. Barlow, F. Proschan, Mathematical Theory of Reliability, Wiley 1965, chapter 4, section 2 (age
replacement; section from memory).
S. M. Ross, Stochastic Processes, 2nd ed., Wiley 1996, theorem 3.6.1 (renewal-reward; number from memory).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.polynomial.hermite_e import hermegauss
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import minimize_scalar

from wearlog.planning.plan_costs import SPROCKET_PER_CHAIN, LateChains

Floats = NDArray[np.float64]

#: Steps of the integral of the survival function, and of the curve's first look for its least.
AGE_STEPS = 4000
#: Nodes over the spread between parts.
RATE_NODES = 21
#: Places of the first look at a chain within the distance between two looks, [-].
PHASES = (np.arange(8) + 0.5) / 8.0
#: Chances of the band around the curve.
BAND = (0.1, 0.9)
#: Draws of what is not known for certain.
DRAWS = 200


def age_replacement_rate(
    age: ArrayLike, survival: Callable[[Floats], Floats], planned: float, failure: float
) -> Floats:
    """Return the long-run cost rate of replacing at an age or at failure, whichever comes first.

    C(T) = (c_p R(T) + c_f F(T)) / integral of R from 0 to T.

    Parameters
    ----------
    age : array_like of float
        Ages at which to replace, above 0, [same unit as in `survival`].
    survival : callable
        Share of parts that survive an array of ages, [-].
    planned : float
        Cost of a planned replacement, [money].
    failure : float
        Cost of a replacement after failure, [money].

    Returns
    -------
    ndarray of float
        Cost for one unit of age, [money / unit of age].

    References
    ----------
    R. E. Barlow, F. Proschan, Mathematical Theory of Reliability, Wiley 1965, chapter 4.

    Examples
    --------
    >>> rate = age_replacement_rate([493.0], lambda t: np.exp(-((t / 1000.0) ** 2.5)), 1.0, 5.0)
    >>> rate.round(6).tolist()
    [0.003462]
    """
    ages = np.asarray(age, dtype=np.float64)
    rates = []
    for end in np.ravel(ages):
        steps = np.linspace(0.0, float(end), AGE_STEPS + 1)
        alive = survival(steps)
        rates.append((planned * alive[-1] + failure * (1.0 - alive[-1])) / float(np.trapezoid(alive, steps)))
    return np.reshape(np.array(rates), ages.shape)


def best_age(
    survival: Callable[[Floats], Floats], planned: float, failure: float, longest: float
) -> tuple[float, float]:
    """Return the age at which replacing costs least in the long run, and the cost rate there.

    Parameters
    ----------
    survival : callable
        Share of parts that survive an array of ages, [-].
    planned : float
        Cost of a planned replacement, [money].
    failure : float
        Cost of a replacement after failure, [money].
    longest : float
        Greatest age looked at; returned if running on always pays, [unit of age].

    Returns
    -------
    age, rate : float
        Age and cost rate, [unit of age] and [money / unit of age].
    """
    looked = np.linspace(longest / 100.0, longest, 100)
    rates = age_replacement_rate(looked, survival, planned, failure)
    least = int(np.argmin(rates))
    if least == looked.size - 1:
        return longest, float(rates[-1])
    low = looked[max(least - 1, 0)]
    answer = minimize_scalar(
        lambda t: float(age_replacement_rate(t, survival, planned, failure)),
        bounds=(float(low), float(looked[least + 1])),
        method="bounded",
        options={"xatol": longest * 1e-7},
    )
    return float(answer.x), float(answer.fun)


@dataclass(frozen=True, slots=True)
class ChainCosts:
    """What a chain life costs.

    Attributes
    ----------
    chain : float
        Price of a chain, its joining link included, [money].
    fitting : float
        Labour of replacing it, [money].
    sprockets : float
        Price of both sprockets and the labour that comes on top when they are changed along, [money].
    failure : float
        What it costs if a chain jumps, breaks or comes off: recovery, damage, idle time, [money].
    failures_per_past : float
        Failures to expect while a chain goes from its limit to twice its allowance, [-]; assumption.
    """

    chain: float
    fitting: float
    sprockets: float
    failure: float = 0.0
    failures_per_past: float = 0.05


@dataclass(frozen=True, slots=True)
class WearRates:
    """How fast chains of a family wear.

    Attributes
    ----------
    ln_rate : float
        Mean of the logarithm of the rate, share of the allowance for 1000 km (or 100 h), [-].
    spread : float
        Standard deviation of the logarithm between parts, [-].
    u_ln_rate : float
        Standard uncertainty of `ln_rate`, [-].
    """

    ln_rate: float
    spread: float
    u_ln_rate: float


@dataclass(frozen=True, slots=True)
class PolicyCurve:
    """Long-run cost against the share of the allowance at which chains are replaced.

    Attributes
    ----------
    share : ndarray of float, shape (n,)
        Share of the allowance at which a chain is replaced, [-].
    cost : ndarray of float, shape (n,)
        Long-run cost for 1000 km (or 100 h), [money].
    low, high : ndarray of float, shape (n,)
        Ends of the 80 % interval of the cost, [money].
    parts : ndarray of float, shape (n, 4)
        The cost split: chains, labour, sprockets, failures, [money].
    life : ndarray of float, shape (n,)
        Expected distance on a chain when it is replaced, [1000 km or 100 h].
    past_chance : ndarray of float, shape (n,)
        Share of the chains that are past their limit when replaced, [-].
    best_share : float
        Share at which the cost is least, [-].
    best_low, best_high : float
        Ends of the 80 % interval of that share, [-].
    """

    share: Floats
    cost: Floats
    low: Floats
    high: Floats
    parts: Floats
    life: Floats
    past_chance: Floats
    best_share: float
    best_low: float
    best_high: float


@dataclass(frozen=True, slots=True)
class _Cycle:
    """Expectations over chain lives, each of shape (n,)."""

    life: Floats
    worn_sprockets: Floats
    failures: Floats
    past: Floats


def chain_policy(
    share: ArrayLike,
    rates: WearRates,
    costs: ChainCosts,
    check_every: float,
    late: LateChains | None = None,
    seed: int = 1,
) -> PolicyCurve:
    """Return the long-run cost against the share of the allowance at which chains are replaced.

    A chain is looked at every so many km and replaced the first time its wear has reached the share; how far
    it overshoots depends on its rate. Sprockets wear along, faster under a stretched chain, and are paid for
    by the share that each chain wears off them. The band comes from what is not known for certain: the
    fleet's typical rate, and how much faster sprockets wear under a stretched chain.

    Parameters
    ----------
    share : array_like of float, shape (n,)
        Shares at which to replace, above 0, [-].
    rates : WearRates
        How fast the fleet's chains wear.
    costs : ChainCosts
        What a chain life costs.
    check_every : float
        Distance between two looks at a chain, [1000 km or 100 h].
    late : LateChains, optional
        How much faster sprockets wear under a stretched chain.
    seed : int
        Seed of the draws, [-].

    Returns
    -------
    PolicyCurve
        Costs, their band, and the share at which they are least.

    Raises
    ------
    ValueError
        If a share, or the distance between two looks, is not above 0.

    Examples
    --------
    >>> curve = chain_policy(
    ...     np.linspace(0.4, 1.6, 25), WearRates(np.log(0.1), 0.3, 0.1), ChainCosts(60.0, 25.0, 90.0), 0.5
    ... )
    >>> bool(curve.cost[0] > curve.cost.min() < curve.cost[-1])
    True
    """
    shares = np.atleast_1d(np.asarray(share, dtype=np.float64))
    if not bool((shares > 0.0).all()) or not check_every > 0.0:
        raise ValueError("column share: shares and the distance between two looks must be above 0")
    law = late or LateChains()
    at_best_guess = _cycle(shares, rates.ln_rate, rates.spread, check_every, law)
    parts = _parts(at_best_guess, costs)
    rng = np.random.default_rng(seed)
    drawn = np.empty((DRAWS, shares.size))
    for n, (z_rate, z_late) in enumerate(rng.standard_normal((DRAWS, 2))):
        steeper = LateChains(law.begin, law.steepness * np.exp(law.u_ln_steepness * z_late), 0.0)
        cycle = _cycle(shares, rates.ln_rate + rates.u_ln_rate * z_rate, rates.spread, check_every, steeper)
        drawn[n] = _parts(cycle, costs).sum(axis=1)
    low, high = np.quantile(drawn, BAND, axis=0)
    best = shares[np.argmin(drawn, axis=1)]
    best_low, best_high = np.quantile(best, BAND)
    cost = parts.sum(axis=1)
    return PolicyCurve(
        share=shares,
        cost=cost,
        low=low,
        high=high,
        parts=parts,
        life=at_best_guess.life,
        past_chance=at_best_guess.past,
        best_share=float(shares[np.argmin(cost)]),
        best_low=float(best_low),
        best_high=float(best_high),
    )


def _cycle(shares: Floats, ln_rate: float, spread: float, check_every: float, law: LateChains) -> _Cycle:
    node, weight = hermegauss(RATE_NODES)
    chance = weight / weight.sum()
    rate = np.exp(ln_rate + spread * node)[:, None]
    life, end = _overshoot(shares[None, :], rate, check_every)
    worn = SPROCKET_PER_CHAIN * law.worn_by(end)
    past = np.maximum(end - 1.0, 0.0)
    return _Cycle(
        life=chance @ life.mean(axis=2),
        worn_sprockets=chance @ worn.mean(axis=2),
        failures=chance @ past.mean(axis=2),
        past=chance @ (end > 1.0).mean(axis=2),
    )


def _overshoot(shares: Floats, rate: Floats, check_every: float) -> tuple[Floats, Floats]:
    """Return distance and wear when a chain is replaced, shape (n_rates, n, n_phases)."""
    reached = (shares / rate)[:, :, None]
    first = PHASES * check_every
    looks = np.ceil(np.maximum(reached - first, 0.0) / check_every - 1e-12)
    life = first + looks * check_every
    return life, life * rate[:, :, None]


def _parts(cycle: _Cycle, costs: ChainCosts) -> Floats:
    each = np.stack(
        [
            np.full(cycle.life.shape, costs.chain),
            np.full(cycle.life.shape, costs.fitting),
            costs.sprockets * cycle.worn_sprockets,
            costs.failure * costs.failures_per_past * cycle.failures,
        ],
        axis=1,
    )
    return np.asarray(each / cycle.life[:, None], dtype=np.float64)
