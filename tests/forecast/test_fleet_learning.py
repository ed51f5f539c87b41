"""What parts learn from one another, against numbers and against a dense mixed model."""

import itertools

import numpy as np
import pytest

from wearlog.forecast.fleet_step import (
    NOTHING_LEARNT,
    FleetLayout,
    Messages,
    fleet_step,
    new_part_prior,
    nothing_learnt,
    part_messages,
)
from wearlog.forecast.law import RatePrior
from wearlog.forecast.prior import FamilyPrior

PRIOR = FamilyPrior(log_rate=float(np.log(0.1)), family_sd=0.6)
TWO_CELLS = FleetLayout.of(np.array([0, 0, 0, 1, 1]), None, np.log([0.10, 0.20]))
FIVE_PARTS = Messages(np.log([0.12, 0.15, 0.09, 0.30, 0.22]), np.array([0.02, 0.05, 0.03, 0.04, 0.5]))


def test_five_parts_in_two_cells():
    # Reference values of an independent implementation, to 1e-3 at least.
    step = fleet_step(FIVE_PARTS, TWO_CELLS, PRIOR)
    assert step.tau == pytest.approx(0.3968, abs=1e-4)
    assert step.tau_vehicle == 0.0
    assert step.prior.mean == pytest.approx([-2.1518, -2.2239, -2.0419, -1.5099, -1.3398], abs=1e-4)
    assert step.prior.sd == pytest.approx([0.4798, 0.4755, 0.4782, 0.5797, 0.5166], abs=1e-4)
    first = new_part_prior(step, float(np.log(0.10)), 0, 0.35, None)
    second = new_part_prior(step, float(np.log(0.20)), 1, 0.35, None)
    assert (first.mean[0], second.mean[0]) == pytest.approx((-2.1426, -1.3647), abs=1e-4)
    assert first.sd[0] ** 2 - step.tau**2 == pytest.approx(0.05159, abs=1e-5)
    assert second.sd[0] ** 2 - step.tau**2 == pytest.approx(0.09376, abs=1e-5)


def dense(messages, cell, vehicle, means, tau, tau_vehicle):
    """Posterior of family and cell effects by one covariance matrix over all parts."""
    n, n_cells = cell.size, means.size
    x = np.zeros((n, 1 + n_cells))
    x[:, 0] = 1.0
    x[np.arange(n), 1 + cell] = 1.0
    s = np.array([0.6] + [0.35] * n_cells)
    noise = np.diag(tau**2 + messages.variance) + tau_vehicle**2 * (vehicle[:, None] == vehicle[None, :])
    y = messages.value - means[cell]
    total = x @ np.diag(s**2) @ x.T + noise
    log_density = -0.5 * (y @ np.linalg.solve(total, y) + np.linalg.slogdet(total)[1] + n * np.log(2 * np.pi))
    covariance = np.linalg.inv(np.diag(1 / s**2) + x.T @ np.linalg.solve(noise, x))
    return covariance @ x.T @ np.linalg.solve(noise, y), covariance, log_density, noise, x, y


@pytest.mark.parametrize("seed", range(5))
def test_cells_and_vehicles_agree_with_a_dense_mixed_model(seed):
    rng = np.random.default_rng(seed)
    n = 40
    cell, vehicle = rng.integers(0, 3, n), rng.integers(0, 12, n)
    means = np.log([0.1, 0.2, 0.15])
    messages = Messages(rng.normal(-1.8, 0.5, n), rng.uniform(0.01, 0.3, n))
    layout = FleetLayout.of(cell, vehicle, means)
    step = fleet_step(messages, layout, PRIOR, tau=0.4, tau_vehicle=0.3)
    beta, covariance, *_ = dense(messages, cell, vehicle, means, 0.4, 0.3)
    assert step.beta == pytest.approx(beta, abs=1e-10)
    assert step.covariance == pytest.approx(covariance, abs=1e-10)


def test_the_spreads_found_are_the_likely_ones_of_the_dense_model():
    rng = np.random.default_rng(11)
    n = 60
    cell, vehicle = rng.integers(0, 2, n), rng.integers(0, 15, n)
    means = np.log([0.1, 0.2])
    messages = Messages(rng.normal(-1.8, 0.5, n), rng.uniform(0.01, 0.1, n))
    taus, betweens = np.geomspace(0.12, 1.3, 25), np.array([0.0, 0.1, 0.15, 0.2, 0.3, 0.4, 0.55])
    logs = np.empty((betweens.size, taus.size))
    for (i, between), (k, tau) in itertools.product(enumerate(betweens), enumerate(taus)):
        logs[i, k] = dense(messages, cell, vehicle, means, tau, between)[2]
        logs[i, k] -= 0.5 * ((np.log(tau) - np.log(0.45)) / 0.4) ** 2
    chance = np.exp(logs - logs.max()).sum(axis=1) * np.exp(-0.5 * (betweens / 0.25) ** 2)
    between = np.sqrt((chance * betweens**2).sum() / chance.sum())
    step = fleet_step(messages, FleetLayout.of(cell, vehicle, means), PRIOR)
    assert step.tau_vehicle == pytest.approx(between, rel=0.02)
    at_it = np.array([dense(messages, cell, vehicle, means, tau, step.tau_vehicle)[2] for tau in taus])
    at_it -= 0.5 * ((np.log(taus) - np.log(0.45)) / 0.4) ** 2
    weight = np.exp(at_it - at_it.max())
    assert step.tau == pytest.approx(np.sqrt((weight * taus**2).sum() / weight.sum()), rel=0.01)


def test_a_part_is_not_told_its_own_message_twice():
    # Without vehicles, leaving the part's message out must equal fitting the fleet without it.
    step = fleet_step(FIVE_PARTS, TWO_CELLS, PRIOR, tau=0.4, tau_vehicle=0.0)
    for part in range(5):
        variance = FIVE_PARTS.variance.copy()
        variance[part] = NOTHING_LEARNT
        without = fleet_step(Messages(FIVE_PARTS.value, variance), TWO_CELLS, PRIOR, tau=0.4, tau_vehicle=0.0)
        assert step.prior.mean[part] == pytest.approx(without.prior.mean[part], abs=1e-5)
        assert step.prior.sd[part] == pytest.approx(without.prior.sd[part], abs=1e-5)


def test_a_message_is_the_posterior_with_the_prior_taken_out():
    prior = RatePrior.of([-2.0, -2.0], [0.5, 0.5])
    own, own_variance = -1.5, 0.04
    precision = 1 / own_variance + 1 / 0.25
    mean = (own / own_variance - 2.0 / 0.25) / precision
    told = part_messages(np.array([mean, -2.0]), np.array([1 / precision, 0.25]), prior)
    assert told.value[0] == pytest.approx(own)
    assert told.variance == pytest.approx([own_variance, NOTHING_LEARNT])
    assert told.is_informative.tolist() == [True, False]


def test_a_fleet_without_readings_believes_the_engineering_range():
    step = fleet_step(nothing_learnt(5), TWO_CELLS, PRIOR)
    assert step.prior.mean == pytest.approx(np.log([0.10, 0.10, 0.10, 0.20, 0.20]), abs=1e-5)
    assert 0.45 < step.tau < 0.60
    assert step.prior.sd == pytest.approx(np.full(5, np.sqrt(step.tau**2 + 0.6**2 + 0.35**2)), abs=1e-4)


def test_a_cell_nobody_has_run_borrows_from_the_family():
    step = fleet_step(FIVE_PARTS, TWO_CELLS, PRIOR)
    unknown = new_part_prior(step, float(np.log(0.10)), None, 0.35, None)
    known = new_part_prior(step, float(np.log(0.10)), 0, 0.35, None)
    assert unknown.mean[0] == pytest.approx(np.log(0.10) + step.beta[0])
    assert unknown.sd[0] > known.sd[0]


def test_the_spread_between_vehicles_is_found_where_there_is_one():
    rng = np.random.default_rng(5)
    n = 1500
    vehicle = np.repeat(np.arange(300), 5)
    effect = rng.normal(0.0, 0.35, 300)
    value = -2.0 + effect[vehicle] + rng.normal(0.0, 0.4, n) + rng.normal(0.0, 0.1, n)
    layout = FleetLayout.of(np.zeros(n, int), vehicle, np.array([-2.0]))
    step = fleet_step(Messages(value, np.full(n, 0.01)), layout, PRIOR)
    # Standard errors of the two spreads are about 0.017 and 0.008.
    assert step.tau_vehicle == pytest.approx(0.35, abs=0.06)
    assert step.tau == pytest.approx(0.40, abs=0.03)
    best = int(np.argmax(effect))
    told = new_part_prior(step, -2.0, 0, 0.35, layout.vehicle_number(best))
    assert told.mean[0] > -2.0 + 0.5 * effect[best]


def test_parts_of_four_vehicles_are_too_few_to_tell_vehicles_apart():
    vehicle = np.repeat(np.arange(4), 3)
    layout = FleetLayout.of(np.zeros(12, int), vehicle, np.array([-2.0]))
    step = fleet_step(Messages(-2.0 + vehicle.astype(float), np.full(12, 0.01)), layout, PRIOR)
    assert step.tau_vehicle == 0.0


def test_vehicles_keep_their_own_numbers():
    layout = FleetLayout.of(np.zeros(4, int), np.array([17, -1, 17, 4]), np.array([-2.0]))
    assert layout.n_vehicles == 3
    assert layout.vehicle_number(17) == layout.vehicle[0] == layout.vehicle[2]
    assert layout.vehicle_number(99) is None


@pytest.mark.parametrize("seed", range(3))
def test_what_the_others_say_of_a_part_is_what_a_dense_model_without_it_says(seed):
    rng = np.random.default_rng(seed)
    n, tau, between = 30, 0.2, 0.5
    # A cell of its own for the last part, which is very well read, on a vehicle that has two more parts.
    cell = np.append(rng.integers(0, 2, n - 1), 2)
    vehicle = np.append(rng.integers(0, 8, n - 1), 0)
    vehicle[:2] = 0
    means = np.log([0.1, 0.2, 0.15])
    variance = np.append(rng.uniform(0.01, 0.3, n - 1), 0.0005)
    messages = Messages(rng.normal(-1.8, 0.5, n), variance)
    step = fleet_step(messages, FleetLayout.of(cell, vehicle, means), PRIOR, tau=tau, tau_vehicle=between)
    _beta, _covariance, _density, noise, x, y = dense(messages, cell, vehicle, means, tau, between)
    total = x @ np.diag(np.array([0.6, 0.35, 0.35, 0.35]) ** 2) @ x.T + noise
    for i in range(n):
        others = np.delete(np.arange(n), i)
        inverse = np.linalg.inv(total[np.ix_(others, others)])
        mean = means[cell[i]] + total[i, others] @ inverse @ y[others]
        spread = total[i, i] - messages.variance[i] - total[i, others] @ inverse @ total[others, i]
        assert step.prior.mean[i] == pytest.approx(mean, abs=1e-8)
        assert step.prior.sd[i] ** 2 == pytest.approx(spread, abs=1e-8)
