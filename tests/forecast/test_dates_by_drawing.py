"""Dates against plain drawing: use in clumps, irregular entries, lay-ups, season, a replaced meter."""

import datetime as dt

import numpy as np
import pytest

from tests.forecast.worlds import PLAIN_LAW, PLAIN_PRIOR
from wearlog.forecast.crossing import crossing_quantiles
from wearlog.forecast.date_table import date_distributions
from wearlog.forecast.dates import date_distribution, distance_ahead
from wearlog.forecast.posterior import part_posterior
from wearlog.forecast.readings import one_part
from wearlog.forecast.season import OperationalDays, month_of
from wearlog.forecast.usage import MeterIntervals, Usage, UsagePrior, fit_usage

N = 60_000
P = (np.arange(50) + 0.5) / 50
#: Without forgetting and drift the rate is gamma distributed and each outing is 250 km on average.
STEADY = UsagePrior(rate=12.0, cv=0.8, clumpiness=250.0, half_life=1e12, drift=0.0)
MONTHLY = (0.3, 0.4, 0.8, 1.1, 1.4, 1.6, 1.6, 1.4, 1.2, 0.9, 0.7, 0.6)


def drawn_days(
    rng: np.random.Generator,
    usage: Usage,
    out: np.ndarray,
    distance: np.ndarray,
    rate: np.ndarray | None = None,
) -> np.ndarray:
    """Return on which day each drawn vehicle has gone its distance, driving day by day; inf if it has not."""
    rates = rng.gamma(usage.shape, 1.0 / usage.days, distance.size) if rate is None else rate
    gone, day = np.zeros(distance.size), np.full(distance.size, np.inf)
    # Ten days at a time are drawn at once: clumps of gamma increments add up exactly.
    for end in range(10, out.size + 1, 10):
        share = out[end - 10 : end].sum()
        if share > 0.0:
            gone += rng.gamma(np.maximum(rates * share / usage.clumpiness, 1e-12), usage.clumpiness)
        day = np.where((gone >= distance) & np.isinf(day), end, day)
    return day


@pytest.mark.slow
def test_with_season_and_lay_up_the_date_agrees_with_driving_day_by_day():
    rng = np.random.default_rng(1)
    start = dt.date(2025, 9, 1).toordinal()
    clock = OperationalDays(lay_ups=((start + 60, start + 120), (start + 400, start + 420)), factors=MONTHLY)
    usage = Usage(shape=9.0, days=0.5, clumpiness=150.0, drift=0.0)
    distance = rng.lognormal(np.log(2500.0), 0.4, N)
    days = np.arange(start, start + 700)
    out = np.array(MONTHLY)[month_of(days)]
    for off, back in clock.lay_ups:
        out[(days >= off) & (days < back)] = 0.0
    drawn = drawn_days(rng, usage, out, distance)
    crossing = np.quantile(distance, P)
    found = date_distribution(crossing, usage, clock, start)
    at = np.array([50.0, 120.0, 180.0, 240.0, 330.0, 450.0])
    expected = np.array([(drawn <= one).mean() for one in at])
    # The mixture over rates has the model's mean and variance; its shape differs a little.
    assert found.cdf(at) == pytest.approx(expected, abs=0.02)
    # While it stands nothing falls due, but for the steps between which days are interpolated.
    assert found.cdf([119.0])[0] == pytest.approx(found.cdf([62.0])[0], abs=4e-3)
    table = date_distributions(np.tile(crossing, (2, 1)), [usage] * 2, [clock] * 2, [start] * 2)
    assert table.cdf(np.tile(at, (2, 1)))[1] == pytest.approx(expected, abs=0.025)


@pytest.mark.slow
def test_irregular_entries_and_a_replaced_meter_agree_with_weighing_drawn_vehicles():
    # Entries after 12, 3, 95 and 40 days, then a new meter whose start nobody wrote down, then 30 days.
    day = [0, 12, 15, 110, 150, 180, 210]
    total = [0.0, 260.0, 260.0, 1500.0, 2100.0, 2100.0, 2600.0]
    entries = MeterIntervals.from_entries([7] * 7, day, total, [False] * 5 + [True, False])
    usage = fit_usage(entries, STEADY)
    rng = np.random.default_rng(2)
    prior_shape = 1.0 / STEADY.cv**2
    rates = rng.gamma(prior_shape, STEADY.rate / prior_shape, 1_000_000)
    # Outings of 250 km come by chance: as many as the distance says in the days between the entries.
    gone, spent = 2600.0 - 0.0, 180.0
    log_weight = gone / 250.0 * np.log(rates) - rates * spent / 250.0
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    assert usage.rate == pytest.approx((weight * rates).sum(), rel=0.01)
    assert 1.0 / usage.shape == pytest.approx((weight * rates**2).sum() / usage.rate**2 - 1.0, rel=0.03)
    chosen = rng.choice(rates, N, p=weight)
    distance = rng.lognormal(np.log(1800.0), 0.3, N)
    drawn = drawn_days(rng, usage, np.ones(600), distance, chosen)
    found = date_distribution(np.quantile(distance, P), usage)
    at = np.array([60.0, 100.0, 150.0, 200.0, 300.0])
    assert found.cdf(at) == pytest.approx([(drawn <= one).mean() for one in at], abs=0.02)


@pytest.mark.slow
def test_from_readings_to_a_date_all_the_way_by_drawing():
    # One chain, three readings; wear and use both drawn, nothing of the quadrature used.
    after = part_posterior(one_part([1.0, 2.5, 4.0], 0.06, y=[0.22, 0.45, 0.71]), PLAIN_PRIOR, PLAIN_LAW)
    rng = np.random.default_rng(3)
    node = rng.choice(after.weight.shape[1], N, p=after.weight[0])
    rate, process = after.rate[0, node], PLAIN_LAW.theta.process
    wear = rng.normal(after.mean[0, node], np.sqrt(after.variance[0, node]))
    x, limit_x = np.full(N, 4.0), np.full(N, np.inf)
    while x.max() < 40.0 and np.isinf(limit_x).any():
        # Steps of a hundredth of the allowance for each chain by itself.
        limit_x = np.where((wear >= 1.0) & np.isinf(limit_x), x, limit_x)
        x = x + 0.01 / rate
        wear = wear + 0.01 + rng.normal(0.0, 1.0, N) * np.sqrt(process * 0.01)
    usage = Usage(shape=20.0, days=1.0, clumpiness=120.0, drift=0.0)
    drawn = drawn_days(rng, usage, np.ones(1500), 1000.0 * (limit_x - 4.2))
    found = date_distribution(distance_ahead(crossing_quantiles(after, P)[0], 4.2), usage)
    at = np.array([30.0, 60.0, 90.0, 130.0, 200.0])
    # Wear that may fall back is counted by its level, drawn wear by its first passage: a percent or two.
    assert found.cdf(at) == pytest.approx([(drawn <= one).mean() for one in at], abs=0.03)
