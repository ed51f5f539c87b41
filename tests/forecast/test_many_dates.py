"""Dates of many parts at once agree with the dates of each by itself, lay-ups and seasons included."""

import datetime as dt

import numpy as np
import pytest

from wearlog.forecast.date_table import date_distributions
from wearlog.forecast.dates import DateDistribution, date_distribution
from wearlog.forecast.season import ALWAYS_OUT, OperationalDays
from wearlog.forecast.usage import Usage

LEVELS = np.array([0.05, 0.10, 0.25, 0.50, 0.75, 0.90])


def parts(n, seed=3, share_past=0.0):
    """Return equally likely distances ahead and uses, from hardly known commuters to hard-ridden couriers."""
    rng = np.random.default_rng(seed)
    median = np.exp(rng.uniform(np.log(100.0), np.log(8000.0), n))
    spread = rng.uniform(0.15, 0.7, n)
    z = np.sort(rng.normal(0.0, 1.0, (n, 4000)), axis=1)[:, 40::80]
    distance = median[:, None] * np.exp(spread[:, None] * z)
    distance -= np.where(rng.random(n) < share_past, median * rng.uniform(0.2, 1.5, n), 0.0)[:, None]
    shape = np.exp(rng.uniform(np.log(2.0), np.log(40.0), n))
    rate = np.exp(rng.uniform(np.log(5.0), np.log(60.0), n))
    uses = [Usage(a, a / v, c, 0.001) for a, v, c in zip(shape, rate, rng.uniform(50, 400, n), strict=True)]
    return distance, uses


def alone(distance, uses, clock=ALWAYS_OUT, last_entry_day=1) -> list[DateDistribution]:
    return [date_distribution(d, u, clock, last_entry_day) for d, u in zip(distance, uses, strict=True)]


def test_dates_of_many_parts_are_those_of_each():
    distance, uses = parts(300)
    many = date_distributions(distance, uses)
    one_by_one = alone(distance, uses)
    expected = np.array([one.days_at(LEVELS) for one in one_by_one])
    found = many.days_at(LEVELS)
    both = np.isfinite(expected) & np.isfinite(found) & (expected > 1.0)
    assert both.mean() > 0.9
    error = np.abs(np.log(found[both] / expected[both]))
    assert np.median(error) < 0.002
    assert np.quantile(error, 0.95) < 0.01
    at = many.cdf(np.tile([10.0, 60.0, 400.0], (300, 1)))
    assert at == pytest.approx(np.array([one.cdf([10.0, 60.0, 400.0]) for one in one_by_one]), abs=0.01)


def test_a_date_out_of_one_look_is_a_chance_and_the_other_way_round():
    distance, uses = parts(200, seed=4)
    many = date_distributions(distance, uses)
    days = many.days_at(LEVELS)
    back = many.cdf(np.where(np.isfinite(days), days, 1.0))
    seen = np.isfinite(days)
    assert back[seen] == pytest.approx(np.broadcast_to(LEVELS, days.shape)[seen], abs=2e-3)
    assert np.all(np.diff(np.where(seen, days, 1e6), axis=1) >= 0.0)


def test_parts_some_way_past_their_limit_are_due_now_at_the_chances_reached():
    distance, uses = parts(200, seed=5, share_past=1.0)
    many = date_distributions(distance, uses)
    past = (distance <= 0.0).mean(axis=1)
    days = many.days_at(LEVELS)
    assert np.all(days[past[:, None] >= LEVELS] == 0.0)
    assert np.all(days[past[:, None] + 1e-9 < LEVELS] > 0.0)
    assert many.cdf(0.0) == pytest.approx(past, abs=1e-12)
    expected = np.array([one.days_at(LEVELS) for one in alone(distance, uses)])
    # Where a day or more is left; the last few of fifty distances stand for a tail either way.
    ahead = np.isfinite(expected) & np.isfinite(days) & (expected > 1.0)
    chance = np.array([one.cdf(d) for one, d in zip(alone(distance, uses), days, strict=True)])
    assert np.abs(chance - LEVELS)[ahead].max() < 0.02


def test_each_vehicle_keeps_its_own_lay_ups_and_entry_day():
    distance, uses = parts(3, seed=6)
    start = dt.date(2025, 4, 1).toordinal()
    clocks = [ALWAYS_OUT, OperationalDays(lay_ups=((start + 20, start + 140),)), ALWAYS_OUT]
    days = [start, start + 10, start + 30]
    many = date_distributions(distance, uses, clocks, days)
    for row in range(3):
        single = date_distribution(distance[row], uses[row], clocks[row], days[row])
        assert many.days_at([0.25, 0.5])[row] == pytest.approx(single.days_at([0.25, 0.5]), rel=0.02)
        assert many.cdf(90.0)[row] == pytest.approx(single.cdf(90.0), abs=0.01)


def test_in_a_lay_up_no_date_falls():
    distance, uses = parts(40, seed=7)
    clock = OperationalDays(lay_ups=((110, 200),))
    days = date_distributions(distance, uses, clock, 100).days_at(LEVELS)
    assert not ((days > 10.0 + 1e-6) & (days < 100.0 - 1e-6)).any()


def test_a_season_moves_dates_as_it_does_one_by_one():
    factors = tuple(np.array([0.3, 0.4, 0.8, 1.1, 1.4, 1.5, 1.5, 1.4, 1.2, 1.0, 0.8, 0.6]))
    clock = OperationalDays(factors=factors)
    start = dt.date(2025, 10, 1).toordinal()
    distance, uses = parts(30, seed=8)
    many = date_distributions(distance, uses, clock, start).days_at([0.1, 0.5])
    each = np.array([one.days_at([0.1, 0.5]) for one in alone(distance, uses, clock, start)])
    seen = np.isfinite(each) & np.isfinite(many) & (each > 1.0)
    assert np.median(np.abs(np.log(many[seen] / each[seen]))) < 0.005
    assert np.abs(np.log(many[seen] / each[seen])).max() < 0.05


def test_due_days_are_whole_days_and_never_before_today():
    distance, uses = parts(50, seed=9, share_past=0.5)
    many = date_distributions(distance, uses, last_entry_days=1000)
    due = many.due_days(0.1, today=1020)
    for row, one in enumerate(alone(distance, uses)):
        single = one.due_day(0.1, 1000, 1020)
        assert (
            due[row] == np.inf
            if single is None
            else abs(due[row] - single) <= max(1.0, 0.01 * (single - 1000))
        )


def test_the_order_and_number_of_parts_do_not_matter():
    distance, uses = parts(700, seed=10)
    together = date_distributions(distance, uses).days_at(LEVELS)
    last = date_distributions(distance[-5:], uses[-5:]).days_at(LEVELS)
    assert together[-5:] == pytest.approx(last, rel=1e-12)


def test_rows_that_do_not_match_are_refused():
    distance, uses = parts(3)
    with pytest.raises(ValueError, match="column usages"):
        date_distributions(distance, uses[:2])
    with pytest.raises(ValueError, match="column distances"):
        date_distributions(np.full((3, 4), np.nan), uses)


@pytest.mark.parametrize("distance", [1e4, 1e6, 1e8])
def test_a_limit_out_of_reach_has_no_date_and_no_chance(distance):
    """A part whose equal readings make it last a hundred years is answered, alone and among others."""
    well_known = Usage(shape=200.0, days=2000.0, clumpiness=25.0, drift=0.0)
    ahead = distance * np.linspace(1.0, 1.01, 50)
    many = date_distributions([ahead, np.linspace(50.0, 150.0, 50)], [well_known] * 2)
    assert np.all(np.isinf(many.days_at(LEVELS)[0]))
    assert many.cdf(3650.0) == pytest.approx([0.0, 1.0], abs=1e-3)
    assert np.all(np.isinf(date_distribution(ahead, well_known).days_at(LEVELS)))
