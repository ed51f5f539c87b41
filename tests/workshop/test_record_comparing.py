"""Rates compared like with like, held against generalised least squares of a reference library."""

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.stats import norm

from wearlog.forecast.fleet_step import FleetLayout, Messages, fleet_step
from wearlog.forecast.prior import FamilyPrior
from wearlog.workshop.record_comparing import Spreads, compare_groups

SPREADS = Spreads(part=0.25, vehicle=0.2, group=0.35, family=0.6)
BELIEVED = -2.5


def parts(n=60, seed=9):
    """Return ln rate, its variance, group, circumstance and vehicle of parts; the seed is arbitrary."""
    rng = np.random.default_rng(seed)
    group, circumstance = rng.integers(0, 3, n), rng.integers(0, 2, n)
    vehicle = rng.integers(100, 125, n)
    variance = rng.uniform(0.01, 0.2, n)
    value = BELIEVED + 0.3 * group - 0.4 * circumstance + rng.normal(0.0, 0.3, n)
    return value, variance, group, circumstance, vehicle


def least_squares(value, variance, group, circumstance, vehicle):
    """Return effects and their covariance by statsmodels, the priors as observations of their own."""
    n = value.size
    design = np.zeros((n, 6))
    design[:, 0] = 1.0
    design[np.arange(n), 1 + circumstance] = 1.0
    design[np.arange(n), 3 + group] = 1.0
    noise = np.diag(SPREADS.part**2 + variance) + SPREADS.vehicle**2 * (vehicle[:, None] == vehicle)
    prior = np.diag([SPREADS.family**2, *[SPREADS.group**2] * 5])
    whole = np.block([[noise, np.zeros((n, 6))], [np.zeros((6, n)), prior]])
    fitted = sm.GLS(
        np.concatenate([value - BELIEVED, np.zeros(6)]), np.vstack([design, np.eye(6)]), sigma=whole
    ).fit()
    return fitted.params, fitted.normalized_cov_params


def test_effects_are_those_of_generalised_least_squares():
    given = parts()
    made = compare_groups(*given[:2], *given[2:4], given[4], BELIEVED, SPREADS)
    effect, covariance = least_squares(*given)
    assert made.effect == pytest.approx(effect[3:], abs=1e-9)
    assert made.effect_covariance == pytest.approx(covariance[3:, 3:], abs=1e-9)
    mix = np.bincount(given[3]) / given[3].size
    rows = np.hstack([np.ones((3, 1)), np.tile(mix, (3, 1)), np.eye(3)])
    assert made.mean == pytest.approx(BELIEVED + rows @ effect, abs=1e-9)
    assert made.covariance == pytest.approx(rows @ covariance @ rows.T, abs=1e-9)


def test_without_circumstances_groups_are_the_cells_of_the_forecast():
    value, variance, group, _circumstance, vehicle = parts()
    made = compare_groups(value, variance, group, np.zeros_like(group), vehicle, BELIEVED, SPREADS)
    layout = FleetLayout.of(group, vehicle, np.full(3, BELIEVED))
    prior = FamilyPrior(log_rate=BELIEVED, family_sd=SPREADS.family, cell_sd=SPREADS.group)
    step = fleet_step(Messages(value, variance), layout, prior, tau=SPREADS.part, tau_vehicle=SPREADS.vehicle)
    assert made.mean == pytest.approx(BELIEVED + step.beta[0] + step.beta[1:], abs=1e-6)


def test_a_difference_that_is_all_duty_is_not_blamed_on_the_lubricant():
    n = 40
    circumstance = np.repeat([0, 1], n)
    group = np.concatenate([np.arange(n) < 4, np.arange(n) >= 4]).astype(np.int64)
    value = BELIEVED + 0.8 * circumstance + np.random.default_rng(2).normal(0.0, 0.1, 2 * n)
    given = value, np.full(2 * n, 0.01), group
    vehicle = np.arange(2 * n)
    alike = compare_groups(*given, circumstance, vehicle, BELIEVED, SPREADS)
    mixed_up = compare_groups(*given, np.zeros_like(group), vehicle, BELIEVED, SPREADS)
    assert alike.ratio(1, 0)[1] < 1.0 < alike.ratio(1, 0)[2]
    assert mixed_up.ratio(1, 0)[1] > 1.3


def test_two_groups_differ_as_by_the_normal_law():
    value, variance, group, circumstance, vehicle = parts()
    made = compare_groups(value, variance, np.minimum(group, 1), circumstance, vehicle, BELIEVED, SPREADS)
    way, sd = made.difference(1, 0)
    assert made.equal_chance(np.array([0, 1])) == pytest.approx(2.0 * norm.sf(abs(way) / sd))
    middle, low, high = made.ratio(1, 0)
    assert (middle, low, high) == pytest.approx(np.exp([way, way - 1.96 * sd, way + 1.96 * sd]), rel=1e-4)


def test_a_group_with_one_part_stays_near_the_others():
    value, variance, group, circumstance, vehicle = parts()
    group = np.where(np.arange(group.size) == 0, 3, group)
    value = np.where(np.arange(value.size) == 0, BELIEVED + 3.0, value)
    made = compare_groups(value, variance, group, circumstance, vehicle, BELIEVED, SPREADS)
    assert made.effect[3] < 1.5
    assert made.effect_covariance[3, 3] > made.effect_covariance[0, 0]
