"""The shop's own record: what forecasts were worth, checked on fleets whose wear is known."""

from dataclasses import replace

import numpy as np
import pytest

from tests.forecast.worlds import INF, NAN, SHOP_PRIOR, fleet
from wearlog.fleet.problem import Cancelled
from wearlog.forecast.backtest import (
    WIDTHS,
    Backtest,
    bracketed_crossing,
    honest_backtest,
    quick_backtest,
    straight_lines,
)
from wearlog.forecast.checks import Checks, wilson_interval
from wearlog.forecast.family import FamilyData, FamilyFit, fit_family
from wearlog.forecast.readings import ReadingTable, one_part
from wearlog.forecast.shape import STRAIGHT


@pytest.fixture(scope="module")
def shop() -> tuple[FamilyData, np.ndarray]:
    """Three hundred parts, read up to nine times, off at the first reading past the limit; with days."""
    data = fleet(np.random.default_rng(5), 300, readings=(3, 9), off_at=1.0).data
    begin = np.random.default_rng(6).integers(0, 900, 300)
    return data, begin[:, None] + (60.0 * data.readings.x).astype(int)


@pytest.fixture(scope="module")
def fit(shop) -> FamilyFit:
    return fit_family(shop[0], SHOP_PRIOR, shape=STRAIGHT)


@pytest.fixture(scope="module")
def quick(shop, fit) -> Backtest:
    return quick_backtest(fit, shop[0])


@pytest.fixture(scope="module")
def honest(shop) -> Backtest:
    return honest_backtest(shop[0], shop[1], SHOP_PRIOR)


def test_every_reading_is_predicted_once(shop, quick, honest):
    for record in (quick, honest):
        assert len(record.readings) == shop[0].readings.count.sum()
        pairs = set(zip(record.readings.part.tolist(), record.readings.n_before.tolist(), strict=True))
        assert len(pairs) == len(record.readings)


def test_intervals_of_next_readings_hold_what_they_promise(quick, honest):
    for record in (quick, honest):
        for width in WIDTHS:
            held = record.readings.coverage(width)
            # Some 1500 checks; readings of a part hang together, so twice Wilson's width, and gross errors.
            assert held.share == pytest.approx(width, abs=0.04)
        assert not record.is_off


def test_chances_of_what_came_are_evenly_spread(quick):
    assert np.quantile(quick.readings.level, [0.1, 0.25, 0.5, 0.75, 0.9]) == pytest.approx(
        [0.1, 0.25, 0.5, 0.75, 0.9], abs=0.05
    )


def test_the_forecast_beats_the_line_through_the_readings(quick, honest):
    for record in (quick, honest):
        assert record.readings.median_error() < 0.8 * record.readings.median_error(by_line=True)
        assert record.crossings.median_error(is_relative=True) < record.crossings.median_error(
            by_line=True, is_relative=True
        )


def test_the_more_readings_the_nearer(quick):
    few, many = (quick.crossings.take(quick.crossings.n_before == k) for k in (0, 4))
    assert many.median_error(is_relative=True) < 0.6 * few.median_error(is_relative=True)


def test_the_future_is_left_out(shop):
    data, day = shop
    whole = honest_backtest(data, day, SHOP_PRIOR)
    # What is read on the last days may change at will: the forecasts made before do not.
    y = np.where(
        day > np.quantile(day[data.readings.is_reading], 0.9), data.readings.y + 0.5, data.readings.y
    )
    changed = honest_backtest(replace(data, readings=replace(data.readings, y=y)), day, SHOP_PRIOR)
    early = day[whole.readings.part, whole.readings.n_before] < np.quantile(
        day[data.readings.is_reading], 0.85
    )
    assert changed.readings.median[early] == pytest.approx(whole.readings.median[early], abs=1e-9)


def test_the_first_readings_of_a_new_shop_rest_on_the_engineering_prior(shop, honest):
    data, day = shop
    first = np.argmin(np.where(data.readings.is_reading, day, 10**9).min(axis=1))
    at = np.flatnonzero((honest.readings.part == first) & (honest.readings.n_before == 0))
    empty = fit_family(
        replace(data, readings=data.readings.until(np.zeros(300, dtype=int))), SHOP_PRIOR, shape=STRAIGHT
    )
    expected = quick_backtest(empty, data).readings
    same = (expected.part == first) & (expected.n_before == 0)
    assert honest.readings.median[at] == pytest.approx(expected.median[same])


def test_readings_much_worse_than_stated_are_found_out(shop):
    data, _ = shop
    rng = np.random.default_rng(9)
    noisy = replace(data.readings, y=data.readings.y + rng.normal(0.0, 0.4, data.readings.y.shape))
    law = fit_family(data, SHOP_PRIOR, shape=STRAIGHT)
    record = quick_backtest(law, replace(data, readings=noisy))
    assert record.readings.coverage(0.80).share < 0.70
    assert record.is_off


def test_a_gauge_reading_is_a_random_point_of_its_interval():
    rng = np.random.default_rng(4)
    data = fleet(rng, 200, readings=(4, 6), gauges=1.0, gross=0.0).data
    record = quick_backtest(fit_family(data, SHOP_PRIOR, shape=STRAIGHT), data)
    assert np.isnan(record.readings.truth).all()
    assert record.readings.coverage(0.80).share == pytest.approx(0.80, abs=0.06)
    again = quick_backtest(fit_family(data, SHOP_PRIOR, shape=STRAIGHT), data)
    assert again.readings.level == pytest.approx(record.readings.level, abs=0.0)


def test_a_crossing_lies_on_the_line_between_its_two_readings():
    table = ReadingTable.from_columns(
        5,
        [0, 0, 0, 1, 1, 2, 2, 3, 4, 4],
        [2.0, 5.0, 7.0, 1.0, 2.0, 1.0, 2.0, 3.0, 1.0, 2.0],
        np.full(10, 0.05),
        y=[0.4, 0.8, 1.2, 0.3, 0.6, NAN, 1.1, 1.3, 0.5, 0.9],
        lo=[NAN] * 5 + [-INF] + [NAN] * 4,
        hi=[NAN] * 5 + [0.75] + [NAN] * 4,
    )
    x, second = bracketed_crossing(table, np.array([1.0, 1.0, 1.0, 1.0, 0.8]))
    # 0.8 to 1.2 between 5 and 7; never; after a gauge; at the first reading; its own lower limit.
    assert second.tolist() == [2, -1, -1, -1, 1]
    assert x[[0, 4]] == pytest.approx([6.0, 1.75])
    assert np.isnan(x[1:4]).all()


def test_the_line_is_the_weighted_least_squares_line():
    # numpy.polyfit with weights 1/r gives the same line.
    x, y, r = (
        np.array([1.0, 2.0, 4.0, 5.0]),
        np.array([0.2, 0.31, 0.7, 0.78]),
        np.array([0.05, 0.1, 0.05, 0.2]),
    )
    slope, start = np.polyfit(x, y, 1, w=1.0 / r)
    found = straight_lines(one_part(x, r, y=y), NAN)
    assert (found[0][0], found[1][0]) == pytest.approx((start, slope))
    assert straight_lines(one_part([2.0], 0.05, y=[0.4]), NAN)[1][0] == pytest.approx(0.2)
    assert straight_lines(one_part([], 0.05, y=[]), 0.13)[1][0] == 0.13


# R. G. Newcombe, Statistics in Medicine 17, 1998, 857-872, table I, method 3; from memory.
@pytest.mark.parametrize(
    ("hits", "n", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_wilsons_interval_of_a_share(hits, n, low, high):
    assert wilson_interval(hits, n) == pytest.approx((low, high), abs=6e-5)


def test_without_checks_nothing_is_claimed():
    none = FamilyData(one_part([], 0.05, y=[]), np.zeros(1, dtype=int), np.log([0.16]))
    record = quick_backtest(fit_family(none, SHOP_PRIOR), none)
    held = record.readings.coverage(0.8)
    assert (held.n, held.low, held.high) == (0, 0.0, 1.0)
    assert np.isnan(held.share)
    assert np.isnan(record.crossings.median_error())
    assert not record.is_off
    assert len(honest_backtest(none, np.zeros((1, 1), dtype=int), SHOP_PRIOR).readings) == 0


def test_a_line_that_never_gets_there_counts_against_the_line():
    checks = Checks(
        np.arange(3),
        np.full(3, 2),
        np.full(3, 0.5),
        np.full(3, 4.0),
        np.full(3, 5.0),
        np.array([4.4, INF, INF]),
    )
    assert checks.median_error(is_relative=True) == pytest.approx(0.25)
    assert np.isinf(checks.median_error(by_line=True, is_relative=True))


class Impatient:
    def step(self, done: int, total: int, what: str) -> None:
        if done >= min(2, total) and what:
            raise Cancelled


def test_the_person_may_stop_it(shop, fit):
    with pytest.raises(Cancelled):
        quick_backtest(fit, shop[0], progress=Impatient())
    with pytest.raises(Cancelled):
        honest_backtest(shop[0], shop[1], SHOP_PRIOR, progress=Impatient())


def test_a_day_is_needed_for_each_reading(shop):
    with pytest.raises(ValueError, match="column day"):
        honest_backtest(shop[0], shop[1][:, :2], SHOP_PRIOR)
