"""From distance to date: use of a vehicle, lay-ups, season, and the day a part is due."""

import datetime as dt

import numpy as np
import pytest

from wearlog.forecast.dates import DateDistribution, date_distribution, date_spread, distance_ahead
from wearlog.forecast.season import OperationalDays, month_of, season_factors
from wearlog.forecast.usage import (
    NEW_SHOP_HOURS,
    NEW_SHOP_KM,
    MeterIntervals,
    Usage,
    UsagePrior,
    fit_usage,
    fit_usage_prior,
)

SIX_ENTRIES = MeterIntervals.from_entries(
    [1] * 6, [0, 30, 75, 120, 200, 230], [0, 420, 1100, 1500, 1500, 1900]
)
KNOWN = UsagePrior(rate=12.0, cv=0.8, clumpiness=250.0, half_life=180.0, drift=0.001)
REFERENCE = fit_usage(SIX_ENTRIES, KNOWN)


def test_six_entries_of_one_vehicle():
    # Reference values of an independent implementation, to 1e-3.
    assert REFERENCE.shape == pytest.approx(6.1405, abs=1e-4)
    assert REFERENCE.days == pytest.approx(0.73923, abs=1e-5)
    assert REFERENCE.rate == pytest.approx(8.3066, abs=1e-3)
    mean, variance = REFERENCE.mean_variance(np.array([60.0]))
    assert mean[0] == pytest.approx(498.40, abs=0.01)
    assert np.sqrt(variance[0]) == pytest.approx(412.33, abs=0.02)
    assert REFERENCE.cdf(np.array([500.0]), np.array([60.0]))[0] == pytest.approx(0.6113, abs=1e-4)


def test_five_equally_likely_crossings_become_a_date():
    dates = date_distribution([300.0, 600.0, 900.0, 1200.0, 1500.0], REFERENCE)
    assert dates.cdf([30.0, 60.0, 120.0]) == pytest.approx([0.0888, 0.2316, 0.5075], abs=1e-3)


def test_dates_agree_with_drawing_use_and_wear():
    rng = np.random.default_rng(1)
    n = 200_000
    crossing = rng.lognormal(np.log(1200.0), 0.4, n)
    quantiles = np.quantile(crossing, (np.arange(50) + 0.5) / 50)
    usage = Usage(shape=8.0, days=0.8, clumpiness=250.0, drift=0.0)
    dates = date_distribution(quantiles, usage)
    rate = rng.gamma(8.0, 1 / 0.8, n)
    for days in (40.0, 90.0, 150.0, 300.0):
        # Distance given the rate comes in clumps of 250 km: gamma with variance 250 times its mean.
        gone = rng.gamma(rate * days / 250.0, 250.0)
        # The mixture over rates has the model's mean and variance; the shapes differ a little.
        assert dates.cdf(days) == pytest.approx((gone >= crossing).mean(), abs=0.02)


def test_the_gamma_law_of_distance_agrees_with_drawing_it():
    rng = np.random.default_rng(2)
    mean, variance = REFERENCE.mean_variance(np.array([90.0]))
    gone = rng.gamma(mean[0] ** 2 / variance[0], variance[0] / mean[0], 200_000)
    for far in (200.0, 700.0, 1500.0):
        assert REFERENCE.cdf(np.array([far]), np.array([90.0]))[0] == pytest.approx(
            (gone <= far).mean(), abs=0.006
        )


def test_a_part_past_its_limit_is_due_now():
    dates = date_distribution(distance_ahead(np.array([3.0, 3.5]), 4.0), REFERENCE)
    assert dates.days_at([0.1, 0.9]).tolist() == [0.0, 0.0]
    assert dates.due_day(0.1, last_entry_day=1000, today=1020) == 1020


def test_the_due_day_is_the_first_at_the_caution_level():
    dates = DateDistribution(np.array([0.0, 10.0, 20.0, 30.0]), np.array([0.0, 0.05, 0.15, 0.15]))
    assert dates.days_at([0.10])[0] == pytest.approx(15.0)
    assert dates.due_day(0.10, last_entry_day=100, today=90) == 115
    assert dates.due_day(0.10, last_entry_day=100, today=130) == 130
    assert dates.due_day(0.15, last_entry_day=100, today=90) == 120
    assert dates.due_day(0.5, last_entry_day=100, today=90) is None


def test_a_vehicle_that_stands_still_is_not_due():
    still = fit_usage(MeterIntervals.from_entries([1, 1], [0, 400], [50.0, 50.0]), KNOWN)
    assert still.rate < 4.0
    dates = date_distribution([50_000.0], Usage(shape=200.0, days=2000.0, clumpiness=200.0, drift=0.0))
    assert dates.due_day(0.1, 0, 0) is None


def test_a_planned_lay_up_stops_the_clock():
    ahead = [600.0]
    without = date_distribution(ahead, REFERENCE, last_entry_day=100)
    laid_up = OperationalDays(lay_ups=((110, 200),))
    within = date_distribution(ahead, REFERENCE, laid_up, last_entry_day=100)
    assert within.cdf(100.0) == pytest.approx(within.cdf(10.0), abs=1e-3)
    assert within.days_at([0.5])[0] == pytest.approx(without.days_at([0.5])[0] + 90.0, abs=1.0)


def test_declared_idle_days_do_not_count_as_use():
    entries = MeterIntervals.from_entries([1, 1, 1], [0, 100, 200], [0.0, 1000.0, 1000.0])
    parked = OperationalDays(lay_ups=((100, 200),))
    assert fit_usage(entries, KNOWN, clock=parked).rate > fit_usage(entries, KNOWN).rate


def test_lay_ups_that_overlap_count_once():
    clock = OperationalDays(lay_ups=((10, 20), (15, 30)))
    assert clock.between([0], [40])[0] == 20.0
    assert clock.ahead(0, np.array([5.0, 12.0, 40.0])).tolist() == [5.0, 10.0, 20.0]
    assert clock.between([], []).size == 0


def test_old_entries_are_forgotten_by_half_lives():
    early = MeterIntervals.from_entries([1] * 3, [0, 360, 390], [0.0, 7200.0, 7350.0])
    # 20 km a day a year ago, 5 a day now: with forgetting nearer to the present.
    assert fit_usage(early, KNOWN).rate < fit_usage(early, UsagePrior(12.0, 0.8, 250.0, 1e9, 0.0)).rate


def test_without_entries_the_shop_is_believed():
    none = MeterIntervals.from_entries([], [], [])
    assert fit_usage(none, NEW_SHOP_KM).rate == pytest.approx(15.0)
    assert fit_usage(none, NEW_SHOP_HOURS).rate == pytest.approx(0.5)
    assert fit_usage_prior(none) == NEW_SHOP_KM


def test_an_interval_over_a_lost_meter_counts_neither_way_nor_days():
    intervals = MeterIntervals.from_entries(
        [1] * 4, [0, 30, 60, 90], [0.0, 300.0, 300.0, 700.0], is_broken=[False, False, True, False]
    )
    assert intervals.distance.tolist() == [300.0, 400.0]
    assert intervals.first_day.tolist() == [0, 60]


def test_two_entries_of_a_day_count_as_the_later():
    intervals = MeterIntervals.from_entries([1] * 4, [0, 30, 30, 60], [0.0, 290.0, 300.0, 500.0])
    assert intervals.distance.tolist() == [300.0, 200.0]


def test_a_total_that_runs_backwards_is_refused():
    with pytest.raises(ValueError, match="row 2, column total"):
        MeterIntervals.from_entries([1, 1, 1], [0, 10, 20], [0.0, 100.0, 90.0])
    with pytest.raises(ValueError, match="row 1, column total"):
        MeterIntervals.from_entries([1, 1], [0, 10], [0.0, np.nan])


def simulated_use(rng, n_vehicles, rate_sd, clump, n_intervals=10, days=45):
    vehicle = np.repeat(np.arange(n_vehicles), n_intervals + 1)
    rate = np.exp(rng.normal(np.log(20.0), rate_sd, n_vehicles))
    gone = rng.gamma(rate[:, None] * days / clump, clump, (n_vehicles, n_intervals))
    total = np.concatenate([np.zeros((n_vehicles, 1)), np.cumsum(gone, axis=1)], axis=1)
    day = np.tile(np.arange(n_intervals + 1) * days, n_vehicles)
    return MeterIntervals.from_entries(vehicle, day, total.ravel()), rate


def test_the_fleet_tells_mean_spread_and_clumpiness_of_use():
    intervals, rate = simulated_use(np.random.default_rng(4), 300, 0.5, 150.0)
    prior = fit_usage_prior(intervals)
    # MEAN_FACTOR times the geometric mean of 20; sd of the estimate is 3 %.
    assert prior.rate == pytest.approx(22.0, rel=0.1)
    assert prior.cv == pytest.approx(np.sqrt(np.expm1(0.25)), rel=0.2)
    assert prior.clumpiness == pytest.approx(150.0, rel=0.1)
    fitted = [fit_usage(intervals.take(intervals.vehicle == one), prior).rate for one in range(300)]
    assert np.corrcoef(np.log(fitted), np.log(rate))[0, 1] > 0.9


def test_four_vehicles_do_not_make_a_fleet():
    intervals, _ = simulated_use(np.random.default_rng(4), 4, 0.5, 150.0)
    prior = fit_usage_prior(intervals)
    assert (prior.rate, prior.cv) == (NEW_SHOP_KM.rate, NEW_SHOP_KM.cv)
    assert prior.clumpiness != NEW_SHOP_KM.clumpiness


def test_distance_ahead_holds_what_it_promises():
    # 80 % intervals of the distance in the next 90 days, for vehicles of the model's own kind.
    rng = np.random.default_rng(8)
    intervals, rate = simulated_use(rng, 400, 0.5, 200.0)
    prior = fit_usage_prior(intervals)
    inside = 0
    for one in range(400):
        usage = fit_usage(intervals.take(intervals.vehicle == one), prior)
        gone = rng.gamma(rate[one] * 90.0 / 200.0, 200.0)
        inside += 0.1 <= usage.cdf(np.array([gone]), np.array([90.0]))[0] <= 0.9
    # Drift and forgetting make it a little wide for vehicles that do not drift; 0.8 +- 3 errors, and up.
    assert 0.74 <= inside / 400 <= 0.90


@pytest.mark.parametrize(
    ("date", "month"), [("2024-02-29", 1), ("2023-12-31", 11), ("2000-01-01", 0), ("1900-03-01", 2)]
)
def test_months_follow_the_gregorian_calendar(date, month):
    assert month_of(np.array([dt.date.fromisoformat(date).toordinal()]))[0] == month


def seasonal_fleet(n_vehicles, months=24):
    start = dt.date(2023, 1, 1).toordinal()
    true = np.array([0.3, 0.4, 0.8, 1.1, 1.4, 1.5, 1.5, 1.4, 1.2, 1.0, 0.8, 0.6])
    each = true[month_of(np.arange(start, start + months * 31))]
    gone = np.concatenate([[0.0], np.cumsum(each)])
    days = np.arange(0, months * 30, 20)
    vehicle = np.repeat(np.arange(n_vehicles), days.size)
    total = (np.linspace(10.0, 30.0, n_vehicles)[:, None] * gone[days]).ravel()
    entries = MeterIntervals.from_entries(vehicle, np.tile(start + days, n_vehicles), total)
    return entries, true / true.mean()


def test_the_season_of_a_fleet_is_found():
    entries, true = seasonal_fleet(12)
    factors = season_factors(entries.vehicle, entries.first_day, entries.last_day, entries.distance)
    assert np.mean(factors) == pytest.approx(1.0)
    # Intervals of 20 days blur neighbouring months, and each is pulled to the average by a tenth.
    assert factors == pytest.approx(true, abs=0.15)


@pytest.mark.parametrize(("n_vehicles", "months"), [(9, 24), (12, 9)])
def test_few_vehicles_or_months_show_no_season(n_vehicles, months):
    entries, _ = seasonal_fleet(n_vehicles, months)
    assert season_factors(entries.vehicle, entries.first_day, entries.last_day, entries.distance) == ()


def test_in_season_a_part_is_due_sooner():
    _, true = seasonal_fleet(12)
    clock = OperationalDays(factors=tuple(true))
    june, december = dt.date(2025, 6, 1).toordinal(), dt.date(2025, 12, 1).toordinal()
    usage = Usage(shape=50.0, days=2.5, clumpiness=100.0, drift=0.001)
    summer = date_distribution([1000.0], usage, clock, june).days_at([0.5])[0]
    winter = date_distribution([1000.0], usage, clock, december).days_at([0.5])[0]
    assert summer < 50.0 < winter
    assert clock.between([june], [june + 30])[0] == pytest.approx(30 * true[5])


def test_lay_ups_do_not_look_like_a_season():
    # Steady use, but every vehicle stands through January and February, and says so.
    start = dt.date(2023, 1, 1).toordinal()
    winters = tuple(
        (dt.date(year, 1, 1).toordinal(), dt.date(year, 3, 1).toordinal()) for year in (2023, 2024)
    )
    clock = OperationalDays(lay_ups=winters)
    days = np.arange(0, 720, 20)
    gone = clock.ahead(start, days.astype(float))
    total = (np.linspace(10.0, 30.0, 12)[:, None] * gone).ravel()
    entries = MeterIntervals.from_entries(
        np.repeat(np.arange(12), days.size), np.tile(start + days, 12), total
    )
    columns = entries.vehicle, entries.first_day, entries.last_day, entries.distance
    declared = season_factors(*columns, dict.fromkeys(range(12), clock))
    undeclared = season_factors(*columns)
    assert declared == pytest.approx([1.0] * 12, abs=0.02)
    assert undeclared[0] < 0.4


def test_the_spread_of_a_date_is_told_apart():
    sharp_wear = date_spread(np.full(50, 900.0), REFERENCE)
    assert sharp_wear.by_wear == 0.0
    assert sharp_wear.by_usage > 50.0
    wide_wear = date_spread(np.linspace(300.0, 2500.0, 50), REFERENCE)
    assert wide_wear.by_wear > sharp_wear.by_wear
    assert np.isinf(date_spread([1e9], REFERENCE).by_wear)


def test_a_crossing_that_is_no_number_is_refused():
    with pytest.raises(ValueError, match="column distance"):
        date_distribution([np.nan], REFERENCE)
    with pytest.raises(ValueError, match="column distance"):
        date_distribution([], REFERENCE)
