"""Intervals that hold what they promise, for fleets that wear by a known law; seeded, and slow."""

import numpy as np
import pytest

from tests.forecast.worlds import SHOP_PRIOR, Fleet, crossing_from, fleet
from wearlog.forecast.crossing import crossing_cdf, crossing_quantiles, past_probability
from wearlog.forecast.family import fit_family
from wearlog.forecast.next_reading import next_reading_cdf
from wearlog.forecast.posterior import Posterior, part_posterior
from wearlog.forecast.shape import STRAIGHT

pytestmark = pytest.mark.slow


def crossing_levels(
    rng: np.random.Generator, made: Fleet, after: Posterior, in_service: np.ndarray
) -> np.ndarray:
    """Return the stated chance at each part's true crossing; uniform where the forecast is right."""
    truth = crossing_from(rng, made)
    level = crossing_cdf(after, truth[:, None])[:, 0]
    # Past already: anywhere below the chance of being past.
    is_past = made.wear_last >= 1.0
    level = np.where(is_past, rng.random(level.size) * past_probability(after), level)
    return level[in_service]


def share_inside(level: np.ndarray, width: float) -> float:
    return float((np.abs(level - 0.5) <= 0.5 * width).mean())


@pytest.fixture(scope="module")
def matched() -> tuple[Fleet, Posterior, np.ndarray]:
    """A shop of 3000 parts, each seen at a moment that has nothing to do with its wear."""
    made = fleet(np.random.default_rng(2024), 3000, readings=(0, 9), off_at=1.0)
    after = fit_family(made.data, SHOP_PRIOR, shape=STRAIGHT).posterior
    return made, after, ~made.is_off


def test_intervals_of_the_crossing_hold_what_they_promise(matched):
    made, after, in_service = matched
    level = crossing_levels(np.random.default_rng(1), made, after, in_service)
    assert level.size >= 1500
    assert 0.46 <= share_inside(level, 0.50) <= 0.54
    assert 0.77 <= share_inside(level, 0.80) <= 0.83
    assert 0.93 <= share_inside(level, 0.95) <= 0.97


def test_the_median_crossing_is_neither_early_nor_late(matched):
    made, after, in_service = matched
    truth = crossing_from(np.random.default_rng(2), made)
    ahead = in_service & (made.wear_last < 1.0)
    ratio = np.log(crossing_quantiles(after, [0.5])[ahead, 0] / truth[ahead])
    assert abs(np.median(ratio)) <= 0.03


@pytest.mark.parametrize("n_readings", [0, 1, 3])
def test_intervals_hold_after_any_number_of_readings(matched, n_readings):
    made, after, in_service = matched
    few = in_service & (made.data.readings.count == n_readings)
    level = crossing_levels(np.random.default_rng(3), made, after, few)
    # Some 200 parts each: three standard errors of a share are 0.085.
    assert 0.71 <= share_inside(level, 0.80) <= 0.89


def test_the_next_reading_falls_where_it_is_expected():
    made = fleet(np.random.default_rng(77), 2000, readings=(4, 4), gauges=0.0, gross=0.0)
    fit = fit_family(made.data, SHOP_PRIOR, shape=STRAIGHT)
    full = made.data.readings
    before = part_posterior(full.until(3), fit.rate_prior(), fit.law)
    level = next_reading_cdf(before, full.x[:, 3], full.y[:, 3], full.r[:, 3])
    assert 0.46 <= share_inside(level, 0.50) <= 0.54
    assert 0.77 <= share_inside(level, 0.80) <= 0.83
    assert 0.93 <= share_inside(level, 0.95) <= 0.97


def test_gross_errors_and_gauges_do_not_spoil_the_intervals():
    made = fleet(np.random.default_rng(31), 2500, readings=(1, 8), gauges=0.25, gross=0.03, off_at=1.0)
    after = fit_family(made.data, SHOP_PRIOR, shape=STRAIGHT).posterior
    level = crossing_levels(np.random.default_rng(4), made, after, ~made.is_off)
    assert 0.76 <= share_inside(level, 0.80) <= 0.85
    assert 0.92 <= share_inside(level, 0.95) <= 0.98


def test_small_shops_are_told_honestly_how_little_is_known():
    inside = []
    for seed in range(60):
        made = fleet(np.random.default_rng(1000 + seed), 12, readings=(0, 5), n_cells=3, off_at=1.0)
        after = fit_family(made.data, SHOP_PRIOR, shape=STRAIGHT).posterior
        level = crossing_levels(np.random.default_rng(seed), made, after, ~made.is_off)
        inside.extend(np.abs(level - 0.5) <= 0.4)
    # Hyperparameters are plugged in, so that small fleets come out a little narrow.
    assert 0.74 <= np.mean(inside) <= 0.86
