"""When to replace, held against age-replacement theory, closed forms and a simulated workshop."""

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import gamma, gammainc
from scipy.stats import weibull_min

from wearlog.planning.plan_costs import SPROCKET_PER_CHAIN, LateChains
from wearlog.planning.policy import ChainCosts, WearRates, age_replacement_rate, best_age, chain_policy


def _weibull(shape: float, scale: float):
    return lambda t: np.exp(-((np.asarray(t) / scale) ** shape))


def test_the_best_age_of_the_handbook_example():
    # Weibull shape 2.5, scale 1000 h, planned 1, failure 5: best at 493 h. System Analysis Reference,
    # chapter on preventive maintenance, example "optimum replacement time" (493.0470 h, from memory); the
    # documentation of the open library `reliability` gives 493.19 h and 0.0035 for the same (from memory).
    age, rate = best_age(_weibull(2.5, 1000.0), 1.0, 5.0, 3000.0)
    assert age == pytest.approx(493.05, abs=0.3)
    assert rate == pytest.approx(0.00346, abs=1e-5)


@pytest.mark.parametrize(("shape", "failure"), [(1.5, 4.0), (2.0, 10.0), (3.0, 3.0), (2.5, 5.0)])
def test_the_best_age_solves_barlow_and_proschans_equation(shape, failure):
    # Barlow and Proschan 1965, chapter 4: h(T) * integral of R - F(T) = c_p / (c_f - c_p), one root if the
    # hazard rises. Integral of a Weibull R by the incomplete gamma function.
    def miss(t):
        area = gamma(1.0 + 1.0 / shape) * gammainc(1.0 / shape, t**shape)
        hazard = shape * t ** (shape - 1.0)
        return hazard * area - (1.0 - math.exp(-(t**shape))) - 1.0 / (failure - 1.0)

    age, rate = best_age(_weibull(shape, 1.0), 1.0, failure, 4.0)
    root = brentq(miss, 1e-6, 50.0)
    assert age == pytest.approx(root, rel=1e-3)
    # At the best age the cost rate is (c_f - c_p) times the hazard.
    assert rate == pytest.approx((failure - 1.0) * shape * root ** (shape - 1.0), rel=1e-4)


def test_without_ageing_running_to_failure_is_best():
    # Exponential life: no age is worth replacing at (Barlow and Proschan 1965, chapter 4).
    age, rate = best_age(_weibull(1.0, 1.0), 1.0, 5.0, 30.0)
    assert age == 30.0
    assert rate == pytest.approx(5.0, rel=1e-3)


def test_the_cost_rate_is_the_ratio_of_the_two_integrals():
    law = weibull_min(2.2, scale=8.0)
    for age in (2.0, 5.0, 12.0):
        area = quad(law.sf, 0.0, age)[0]
        expected = (3.0 * law.sf(age) + 20.0 * law.cdf(age)) / area
        assert float(age_replacement_rate(age, law.sf, 3.0, 20.0)) == pytest.approx(expected, rel=1e-6)


def _simulated(share: float, rates: WearRates, costs: ChainCosts, check: float, law: LateChains) -> float:
    """Return the cost for one unit of distance of many chain lives on end, looked at on a fixed beat."""
    rng = np.random.default_rng(12)
    money = distance = 0.0
    for rate in np.exp(rng.normal(rates.ln_rate, rates.spread, size=20_000)):
        phase = rng.uniform(0.0, check)
        gone = phase
        while gone * rate < share:
            gone += check
        u = gone * rate
        # Step by step along the life, unlike the closed form under test.
        path = np.linspace(0.0, u, 200)
        worn = SPROCKET_PER_CHAIN * float(np.trapezoid(law.relative_rate(path), path))
        money += costs.chain + costs.fitting + costs.sprockets * worn
        money += costs.failure * costs.failures_per_past * max(u - 1.0, 0.0)
        distance += gone
    return money / distance


@pytest.mark.parametrize("share", [0.6, 1.0, 1.4])
def test_the_long_run_cost_is_that_of_chain_lives_on_end(share):
    rates = WearRates(math.log(0.12), 0.35, 0.0)
    costs = ChainCosts(62.0, 24.0, 95.0, failure=400.0)
    law = LateChains()
    curve = chain_policy([share], rates, costs, 0.7, law)
    assert curve.cost[0] == pytest.approx(_simulated(share, rates, costs, 0.7, law), rel=0.01)


def test_chains_that_cost_no_sprockets_are_best_run_on():
    shares = np.linspace(0.4, 1.6, 13)
    curve = chain_policy(shares, WearRates(-2.0, 0.3, 0.1), ChainCosts(60.0, 20.0, 0.0), 0.1)
    assert curve.best_share == shares[-1]
    assert (np.diff(curve.cost) < 0.0).all()


def test_dearer_sprockets_are_spared_by_earlier_chains():
    shares = np.linspace(0.3, 2.0, 69)
    best = [
        chain_policy(shares, WearRates(-2.0, 0.3, 0.1), ChainCosts(40.0, 15.0, price), 0.1).best_share
        for price in (60.0, 120.0, 400.0)
    ]
    assert best[0] > best[1] > best[2]


def test_the_best_share_without_spread_is_where_the_last_bit_pays_no_more():
    # One rate, looked at all the time: cost(a) = (c + s W(a)) r / a is least where c / s = a w(a) - W(a);
    # with w = 1 + k (a - b) beyond b and the sprockets' 0.4 that is k (a^2 - b^2) / 2 = c / (0.4 s).
    law = LateChains(begin=0.75, steepness=4.0)
    costs = ChainCosts(40.0, 20.0, 150.0)
    expected = math.sqrt(0.75**2 + 2.0 * 60.0 / (0.4 * 150.0) / 4.0)
    shares = np.linspace(0.8, 1.6, 801)
    curve = chain_policy(shares, WearRates(math.log(0.1), 1e-9, 0.0), costs, 1e-3, law)
    assert curve.best_share == pytest.approx(expected, abs=0.01)


def test_the_band_holds_the_curve_and_narrows_with_knowledge():
    shares = np.linspace(0.5, 1.5, 11)
    costs = ChainCosts(60.0, 20.0, 100.0)
    vague = chain_policy(shares, WearRates(-2.0, 0.3, 0.4), costs, 0.5)
    known = chain_policy(shares, WearRates(-2.0, 0.3, 0.05), costs, 0.5)
    assert ((vague.low < vague.cost) & (vague.cost < vague.high)).all()
    assert (known.high - known.low < vague.high - vague.low).all()
    assert vague.best_low <= vague.best_share <= vague.best_high


def test_a_fast_chain_looked_at_seldom_is_found_past_its_limit():
    curve = chain_policy([0.9], WearRates(math.log(0.5), 0.01, 0.0), ChainCosts(60.0, 20.0, 100.0), 1.0)
    assert curve.past_chance[0] > 0.5
    with pytest.raises(ValueError, match="above 0"):
        chain_policy([0.0], WearRates(-2.0, 0.3, 0.1), ChainCosts(60.0, 20.0, 100.0), 1.0)
