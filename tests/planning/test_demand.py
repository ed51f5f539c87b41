"""How many pieces will be wanted, held against brute force, scipy and a simulation of the workshop."""

from itertools import product

import numpy as np
import pytest
from scipy.special import ndtr, ndtri
from scipy.stats import binom, poisson_binom

from wearlog.planning.demand import chance_of_replacing, chance_with_set, demand_ahead


def _by_brute_force(chances: list[float]) -> np.ndarray:
    law = np.zeros(len(chances) + 1)
    for hits in product((0, 1), repeat=len(chances)):
        law[sum(hits)] += np.prod([p if hit else 1.0 - p for p, hit in zip(chances, hits, strict=True)])
    return law


def test_the_sum_of_few_installations_is_every_way_it_can_come_about():
    chances = [0.02, 0.1, 0.35, 0.5, 0.77, 0.9, 1.0, 0.0]
    law = demand_ahead([[p] for p in chances]).chance[0]
    assert law == pytest.approx(_by_brute_force(chances), abs=1e-14)


@pytest.mark.parametrize("n", [1, 5, 33, 150, 700])
def test_the_law_of_the_sum_is_that_of_scipy(n):
    # scipy.stats.poisson_binom, scipy 1.15 and later.
    rng = np.random.default_rng(n)
    chances = rng.beta(0.4, 1.5, size=n)
    law = demand_ahead(chances[:, None]).chance[0]
    assert law == pytest.approx(poisson_binom.pmf(np.arange(n + 1), chances), abs=1e-12)
    assert law.sum() == pytest.approx(1.0, abs=1e-12)


def test_installations_that_are_all_alike_give_the_binomial_law():
    law = demand_ahead(np.full((40, 1), 0.3)).chance[0]
    assert law == pytest.approx(binom.pmf(np.arange(41), 40, 0.3), abs=1e-13)


def test_mean_and_spread_are_sums_over_the_installations():
    rng = np.random.default_rng(5)
    chances = np.sort(rng.uniform(size=(60, 4)), axis=1)
    demand = demand_ahead(chances)
    assert demand.mean == pytest.approx(chances.sum(axis=0))
    assert demand.sd**2 == pytest.approx((chances * (1.0 - chances)).sum(axis=0))


def test_more_is_wanted_from_week_to_week():
    rng = np.random.default_rng(6)
    demand = demand_ahead(np.sort(rng.uniform(size=(25, 8)), axis=1))
    for level in (0.5, 0.8, 0.9, 0.95, 0.99):
        assert (np.diff(demand.quantile(level)) >= 0).all()
        enough = demand.quantile(level)
        for week in range(8):
            assert demand.at_most(int(enough[week]))[week] >= level - 1e-12
            assert demand.at_most(int(enough[week]) - 1)[week] < level


def test_no_installation_means_no_demand():
    demand = demand_ahead(np.zeros((0, 3)))
    assert demand.chance.tolist() == [[1.0], [1.0], [1.0]]
    assert demand.quantile(0.99).tolist() == [0, 0, 0]


def test_chances_that_fall_or_are_none_are_refused():
    with pytest.raises(ValueError, match="between 0 and 1"):
        demand_ahead([[0.2, 1.2]])
    with pytest.raises(ValueError, match="row 1"):
        demand_ahead([[0.2, 0.3], [0.5, 0.4]])


@pytest.mark.parametrize("left", [0.2, 0.5, 0.8])
def test_a_workshop_that_reads_again_replaces_as_often_as_foretold(left):
    # Simulated: the date at the limit is normal, a reading tells part of it, and the part is called in on the
    # day that is then the caution level's quantile. Expected from the simulation, not from the formula.
    rng = np.random.default_rng(8)
    n, mean, sd, level = 400_000, 50.0, 20.0, 0.1
    told = rng.normal(mean, sd * np.sqrt(1.0 - left**2), size=n)
    called_in = told + ndtri(level) * left * sd
    for day in (10.0, 30.0, 50.0, 70.0):
        foretold = float(chance_of_replacing(ndtr((day - mean) / sd), level, left))
        assert foretold == pytest.approx(float((called_in <= day).mean()), abs=4.0 * 0.5 / np.sqrt(n))


def test_a_part_that_runs_to_its_limit_is_replaced_when_it_reaches_it():
    past = np.array([0.0, 0.05, 0.4, 1.0])
    assert chance_of_replacing(past, 0.1, spread_left=0.0) == pytest.approx(past)


def test_a_sprocket_goes_along_with_its_chain_or_on_its_own():
    rng = np.random.default_rng(9)
    own, chain, along = 0.15, 0.6, 0.4
    draws = rng.uniform(size=(3, 300_000))
    simulated = ((draws[0] < own) | ((draws[1] < chain) & (draws[2] < along))).mean()
    assert float(chance_with_set(own, chain, along)) == pytest.approx(simulated, abs=0.004)
