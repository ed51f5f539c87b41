"""The filter against closed forms: a dense normal law, and wear followed on a fine grid."""

import numpy as np
import pytest
from scipy.special import ndtr

from tests.forecast.worlds import INF, ONE_PART, PLAIN_LAW, PLAIN_PRIOR
from wearlog.forecast.crossing import remaining_quantiles
from wearlog.forecast.filter import filter_wear
from wearlog.forecast.law import GrossErrors, RatePrior, Theta, WearLaw
from wearlog.forecast.posterior import part_posterior
from wearlog.forecast.readings import one_part
from wearlog.forecast.smoothing import smoothed_mean_sd

NO_GROSS = WearLaw(theta=PLAIN_LAW.theta, gross=GrossErrors(share=0.0), bedding_distance=0.0)
RATE = np.array([[0.16]])


def dense_normal(x, y, r, b, theta, at):
    """Log density of readings and moments of wear at `at`, by one covariance matrix; plain linear algebra."""
    covariance = theta.offset_sd**2 + theta.process * b * np.minimum.outer(x, x)
    total = covariance + np.diag((theta.error_factor * r) ** 2)
    miss = y - theta.offset - b * x
    log_density = -0.5 * (
        miss @ np.linalg.solve(total, miss) + np.linalg.slogdet(total)[1] + x.size * np.log(2 * np.pi)
    )
    across = theta.offset_sd**2 + theta.process * b * np.minimum.outer(at, x)
    gain = np.linalg.solve(total, across.T).T
    mean = theta.offset + b * at + gain @ miss
    variance = theta.offset_sd**2 + theta.process * b * at - np.sum(gain * across, axis=1)
    return log_density, mean, variance


def test_three_steady_readings_at_a_known_rate():
    # Values worked out from the dense normal law (numpy), stated to 1e-6.
    filtered = filter_wear(ONE_PART["three steady"], RATE, NO_GROSS)
    assert filtered.log_likelihood[0, 0] == pytest.approx(4.205319, abs=1e-6)
    assert filtered.mean[0, 0] == pytest.approx(0.703273, abs=1e-6)
    assert filtered.variance[0, 0] == pytest.approx(0.002225, abs=1e-6)


def test_wear_between_readings_leans_on_the_later_ones():
    # The rate is all but known, so that the dense normal law gives the same.
    after = part_posterior(ONE_PART["three steady"], RatePrior.of(np.log(0.16), 1e-7), NO_GROSS)
    mean, sd = smoothed_mean_sd(after, ONE_PART["three steady"], [1.0, 1.75, 2.5])
    assert mean[0] == pytest.approx([0.216364, 0.336455, 0.456545], abs=1e-6)
    assert sd[0] ** 2 == pytest.approx([0.001636, 0.002062, 0.001702], abs=1e-6)


@pytest.mark.parametrize("seed", range(12))
def test_filter_and_smoother_agree_with_the_dense_normal_law(seed):
    rng = np.random.default_rng(seed)
    n = int(rng.integers(2, 9))
    x = np.sort(rng.uniform(0.0, 9.0, n))
    y = 0.05 + 0.15 * x + rng.normal(0, 0.08, n)
    r = rng.uniform(0.02, 0.2, n)
    theta = Theta(0.04, 0.07, 0.02, 1.3)
    b = float(rng.uniform(0.05, 0.4))
    law = WearLaw(theta=theta, gross=GrossErrors(share=0.0), bedding_distance=0.0)
    readings = one_part(x, r, y=y)
    at = np.array([0.0, 0.5 * x[0], x[0], 0.5 * (x[0] + x[-1]), x[-1]])
    log_density, mean, variance = dense_normal(x, y, r, b, theta, at)
    filtered = filter_wear(readings, np.array([[b]]), law)
    assert filtered.log_likelihood[0, 0] == pytest.approx(log_density, abs=1e-9)
    assert filtered.mean[0, 0] == pytest.approx(mean[-1], abs=1e-10)
    assert filtered.variance[0, 0] == pytest.approx(variance[-1], abs=1e-10)
    after = part_posterior(readings, RatePrior.of(np.log(b), 1e-8), law)
    smooth_mean, smooth_sd = smoothed_mean_sd(after, readings, at)
    assert smooth_mean[0] == pytest.approx(mean, abs=1e-6)
    assert smooth_sd[0] ** 2 == pytest.approx(variance, abs=1e-6)


def test_a_gauge_reading_weighs_by_the_chance_of_its_interval():
    gauge = one_part([2.0], 0.05, lo=[0.5], hi=[0.75])
    spread = np.sqrt(0.06**2 + 0.015 * 0.32 + 0.05**2)
    chance = ndtr((0.75 - 0.37) / spread) - ndtr((0.5 - 0.37) / spread)
    expected = np.log(0.98 * chance + 0.02 * 0.4)
    assert filter_wear(gauge, RATE, PLAIN_LAW).log_likelihood[0, 0] == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(("lo", "hi"), [(0.5, 0.75), (-INF, 0.3), (0.6, INF), (0.9, 1.0), (-INF, -0.1)])
def test_a_gauge_moves_wear_as_a_truncated_normal_law_does(lo, hi):
    # By direct integration over u on a fine grid.
    u = np.linspace(-1.5, 2.5, 400_001)
    prior_variance = 0.06**2 + 0.015 * 0.32
    density = np.exp(-0.5 * (u - 0.37) ** 2 / prior_variance) * (
        ndtr((hi - u) / 0.05) - ndtr((lo - u) / 0.05)
    )
    density /= density.sum()
    mean = (density * u).sum()
    variance = (density * (u - mean) ** 2).sum()
    filtered = filter_wear(one_part([2.0], 0.05, lo=[lo], hi=[hi]), RATE, NO_GROSS)
    assert filtered.mean[0, 0] == pytest.approx(mean, abs=1e-6)
    assert filtered.variance[0, 0] == pytest.approx(variance, abs=1e-6)


def test_a_gauge_far_from_what_was_expected_moves_wear_to_its_nearer_end():
    # More than six standard deviations off: the truncated law sits a little inside the interval's end.
    filtered = filter_wear(one_part([2.0], 0.05, lo=[-INF], hi=[-0.4]), RATE, NO_GROSS)
    assert filtered.mean[0, 0] == pytest.approx(-0.234, abs=0.02)


def wear_on_a_grid(readings, law, rates, u):
    """Return log likelihood and density of wear for each rate, followed on a grid without any collapse."""
    du = u[1] - u[0]
    theta, gross = law.theta, law.gross
    width = np.arange(-u.size + 1, u.size) * du
    logs, densities = [], []
    for b in rates:
        p = np.exp(-0.5 * ((u - theta.offset) / theta.offset_sd) ** 2)
        p /= p.sum()
        log_likelihood, before = 0.0, 0.0
        for j in range(int(readings.count[0])):
            d = readings.x[0, j] - before
            before = readings.x[0, j]
            if d > 0.0:
                sd = np.sqrt(theta.process * b * d)
                # Chance of each step on the grid, whole cells, so that narrow steps are kept too.
                kernel = ndtr((width + 0.5 * du - b * d) / sd) - ndtr((width - 0.5 * du - b * d) / sd)
                p = np.convolve(p, kernel, mode="full")[u.size - 1 : 2 * u.size - 1]
            s = readings.r[0, j]
            if np.isnan(readings.y[0, j]):
                lo, hi = readings.lo[0, j], readings.hi[0, j]
                like = (1 - gross.share) * (ndtr((hi - u) / s) - ndtr((lo - u) / s)) + gross.share * 0.4
            else:
                e = readings.y[0, j] - u
                wide = np.hypot(s, gross.sd)
                like = (1 - gross.share) * np.exp(-0.5 * (e / s) ** 2) / (s * np.sqrt(2 * np.pi))
                like = like + gross.share * np.exp(-0.5 * (e / wide) ** 2) / (wide * np.sqrt(2 * np.pi))
            p = p * like
            log_likelihood += np.log(p.sum())
            p /= p.sum()
        logs.append(log_likelihood)
        densities.append(p)
    return np.array(logs), np.array(densities)


@pytest.mark.parametrize(
    ("case", "exact"),
    [
        ("three steady", (1.122, 1.893, 3.071)),
        ("three falling", (2.943, 4.956, 8.204)),
        ("all at one distance", (3.198, 4.921, 7.932)),
        ("three gauges", (1.467, 2.765, 4.922)),
        ("caliper and gauge", (1.378, 2.564, 4.501)),
        ("contradictory gauges", (1.467, 2.765, 4.922)),
    ],
)
def test_collapsing_good_and_wrong_costs_little_of_the_remaining_distance(case, exact):
    u = np.linspace(-0.6, 2.0, 651)
    t = np.linspace(-4.5, 4.5, 61)
    rates = np.exp(np.log(0.16) + 0.6 * t)
    logs, density = wear_on_a_grid(ONE_PART[case], PLAIN_LAW, rates, u)
    weight = np.exp(logs - logs.max() - 0.5 * t * t)
    weight /= weight.sum()
    d = np.geomspace(0.2, 40.0, 600)
    gained = rates[:, None] * d
    chance = np.zeros(d.size)
    for k in range(rates.size):
        z = (u[:, None] + gained[k] - 1.0) / np.sqrt(0.015 * gained[k])
        chance += weight[k] * (density[k] @ ndtr(z))
    by_grid = np.interp([0.1, 0.5, 0.9], chance, d)
    assert by_grid == pytest.approx(exact, rel=2e-3)
    collapsed = remaining_quantiles(part_posterior(ONE_PART[case], PLAIN_PRIOR, PLAIN_LAW), [0.1, 0.5, 0.9])
    # Three falling readings are the worst case: two accounts of one part are melted into one.
    assert collapsed[0] == pytest.approx(by_grid, rel=0.035 if case == "three falling" else 0.008)


def test_before_bedding_in_a_reading_at_zero_says_nothing_of_the_mean_offset():
    law = WearLaw(theta=Theta(0.05, 0.06, 0.015, 1.0), bedding_distance=0.3)
    more = WearLaw(theta=Theta(0.12, 0.06, 0.015, 1.0), bedding_distance=0.3)
    at_zero = one_part([0.0], 0.03, y=[0.01])
    logs = [filter_wear(at_zero, RATE, one).log_likelihood[0, 0] for one in (law, more)]
    assert logs[0] == pytest.approx(logs[1], abs=1e-12)


def test_bedding_in_is_over_after_some_thousand_kilometres():
    bedded = WearLaw(theta=PLAIN_LAW.theta, bedding_distance=0.3)
    late = one_part([9.0], 0.06, y=[1.2])
    assert filter_wear(late, RATE, bedded).mean == pytest.approx(
        filter_wear(late, RATE, PLAIN_LAW).mean, abs=1e-12
    )


def test_a_used_part_has_worn_on_its_way_before_it_was_fitted():
    unread = part_posterior(
        one_part([], 0.06, y=[], x_start=3.0), RatePrior.of(np.log(0.16), 1e-6), PLAIN_LAW
    )
    assert unread.x_last[0] == 3.0
    assert unread.mean[0] == pytest.approx(0.05 + 0.16 * 3.0, abs=1e-4)
    assert unread.variance[0] == pytest.approx(0.06**2 + 0.015 * 0.48, abs=1e-5)


def test_a_part_of_unknown_history_may_be_anywhere():
    unread = part_posterior(one_part([], 0.06, y=[], has_unknown_history=True), PLAIN_PRIOR, PLAIN_LAW)
    assert unread.mean[0] == pytest.approx(0.35)
    assert unread.variance[0] == pytest.approx(0.35**2)
    read = one_part([0.0], 0.05, y=[0.6], has_unknown_history=True)
    bedded = WearLaw(theta=PLAIN_LAW.theta, bedding_distance=0.3, gross=GrossErrors(share=0.0))
    after = part_posterior(read, PLAIN_PRIOR, bedded)
    # Weighted mean of 0.35 (sd 0.35) and 0.6 (sd 0.05); it bedded in long ago.
    assert after.mean[0] == pytest.approx(
        (0.35 / 0.35**2 + 0.6 / 0.05**2) / (1 / 0.35**2 + 1 / 0.05**2), abs=1e-9
    )


def test_a_reading_may_be_certainly_right_or_certainly_wrong():
    wild = one_part([1.0, 2.0], 0.05, y=[0.2, 9.0])
    right = filter_wear(wild, RATE, PLAIN_LAW, share=np.zeros((1, 2)))
    wrong = filter_wear(wild, RATE, PLAIN_LAW, share=np.ones((1, 2)))
    # 9.0 against about 0.35 at a spread of 0.1: some 3700 below the top of the normal law, no underflow.
    assert right.log_likelihood[0, 0] < -3000.0
    assert wrong.log_likelihood[0, 0] == pytest.approx(-0.5 * (8.64 / 0.71) ** 2, rel=0.1)
    assert wrong.mean[0, 0] < 1.0
