"""Odd readings and odd fleets: never an error, never a warning, and sensible all the same."""

import numpy as np
import pytest

from tests.forecast.worlds import INF, NAN, ONE_PART, PLAIN_LAW, PLAIN_PRIOR, SHOP_PRIOR, fleet
from wearlog.forecast.crossing import crossing_cdf, crossing_quantiles, past_probability, remaining_quantiles
from wearlog.forecast.family import FamilyData, fit_family
from wearlog.forecast.law import GrossErrors, RatePrior, WearLaw
from wearlog.forecast.next_reading import next_reading_cdf, next_reading_quantiles, reading_tail
from wearlog.forecast.posterior import part_posterior, wear_mean_sd, wear_quantiles
from wearlog.forecast.readings import ReadingTable, one_part, worn_out_reading
from wearlog.forecast.shape import STRAIGHT, shape_menu
from wearlog.forecast.smoothing import past_crossing, smoothed_band
from wearlog.forecast.suspect import suspect_probability


def everything(readings, prior=PLAIN_PRIOR, law=PLAIN_LAW):
    """Ask all there is to ask of parts, with any overflow, division or invalid operation as an error."""
    with np.errstate(over="raise", divide="raise", invalid="raise"):
        after = part_posterior(readings, prior, law)
        last = after.x_last[:, None]
        told = [
            after.log_evidence,
            *wear_mean_sd(after, last + np.array([0.0, 1.0, 100.0])),
            wear_quantiles(after, last + np.array([0.0, 5.0]), [0.01, 0.5, 0.99]),
            crossing_cdf(after, last + np.array([0.0, 1.0, 1e4])),
            crossing_quantiles(after),
            remaining_quantiles(after, [0.001, 0.5, 0.999]),
            next_reading_cdf(after, after.x_last + 1.0, 0.7, 0.05),
            next_reading_quantiles(after, after.x_last + 1.0, [0.1, 0.9], 0.05),
            reading_tail(after, after.x_last, 0.05, lo=0.5, hi=INF),
            smoothed_band(after, readings, np.linspace(0.0, 6.0, 7), [0.1, 0.9]),
            suspect_probability(readings, prior, law),
        ]
        past_crossing(after, readings)
    for numbers in told:
        assert np.isfinite(numbers).all()
    return after


@pytest.mark.parametrize("case", ONE_PART)
@pytest.mark.parametrize("shape", shape_menu(), ids=lambda one: f"{one.power}-{one.onset}-{one.acceleration}")
def test_no_case_of_the_table_overflows_on_any_path(case, shape):
    everything(ONE_PART[case], law=WearLaw(shape=shape))


@pytest.mark.parametrize(
    "readings",
    [
        one_part([0.0], 0.05, y=[0.0]),
        one_part([0.0, 0.0, 5.0], 0.05, y=[-0.5, 3.0, 0.1]),
        one_part([1, 2, 3, 4], 0.001, y=[0.9, 0.6, 0.3, -0.2]),
        one_part([1, 2], 0.005, y=[50.0, -50.0]),
        one_part([1, 2], 0.005, y=[1e4, 1e4]),
        one_part([1000.0], 0.05, y=[0.1]),
        one_part([1e-6], 0.05, y=[1.1]),
        one_part([1, 2, 3], 0.005, lo=[5.0, -INF, 0.9], hi=[INF, -3.0, 0.900001]),
        one_part([1.0], 0.05, lo=[80.0], hi=[90.0]),
        one_part([2.0] * 40, 0.05, y=[0.3] * 40),
        one_part(np.arange(1, 61) * 0.1, 0.02, y=np.arange(1, 61) * 0.016),
        one_part([4.0], 0.1, lo=[0.8], hi=[INF], x_start=2.0),
    ],
)
def test_no_reading_is_too_odd(readings):
    everything(readings)
    everything(readings, law=WearLaw(gross=GrossErrors(share=0.0)))
    everything(readings, law=WearLaw(shape=shape_menu()[-1]))


def test_many_readings_at_one_distance_average():
    few = part_posterior(one_part([2.0] * 2, 0.06, y=[0.3, 0.3]), PLAIN_PRIOR, PLAIN_LAW)
    many = part_posterior(one_part([2.0] * 16, 0.06, y=[0.3] * 16), PLAIN_PRIOR, PLAIN_LAW)
    assert wear_mean_sd(many, [2.0])[1][0, 0] < wear_mean_sd(few, [2.0])[1][0, 0]
    # The offset stays unknown, and so the rate cannot be better than offset sd over wear.
    assert many.log_rate_sd[0] > 0.15


def test_falling_readings_leave_a_positive_rate_and_a_wide_forecast():
    after = everything(ONE_PART["three falling"])
    assert np.all(after.rate > 0.0)
    low, high = remaining_quantiles(after, [0.1, 0.9])[0]
    assert high > 2.5 * low


def test_negative_readings_are_readings():
    after = everything(one_part([1.0, 2.0], 0.06, y=[-0.05, -0.02]))
    assert after.log_rate_mean[0] < np.log(0.16)


def test_contradictory_gauges_make_one_of_them_suspect():
    chance = suspect_probability(ONE_PART["contradictory gauges"], PLAIN_PRIOR, PLAIN_LAW)[0]
    assert (chance > 0.5).tolist() == [True, False, False]


def test_a_part_far_past_its_limit_has_nothing_left():
    after = everything(ONE_PART["past the limit"])
    assert past_probability(after)[0] > 0.999
    assert remaining_quantiles(after)[0].tolist() == [0.0] * 7


def test_a_part_that_came_off_worn_out_without_a_reading_wore_fast():
    lo, hi, r = worn_out_reading()
    after = everything(one_part([3.0], r, lo=[lo], hi=[hi]))
    assert after.log_rate_mean[0] > np.log(0.16) + 0.3


def fleet_of(readings, cells=1):
    n = len(readings)
    return FamilyData(readings, np.zeros(n, int), np.full(cells, SHOP_PRIOR.log_rate))


def nobody():
    return ReadingTable.from_columns(0, [], [], [], y=[])


def test_a_fleet_of_no_parts_knows_the_engineering_range():
    with np.errstate(over="raise", divide="raise", invalid="raise"):
        fit = fit_family(fleet_of(nobody(), cells=2), SHOP_PRIOR)
    assert len(fit.posterior) == 0
    assert fit.n_read_parts == 0
    # By hand: the mean of a log-normal square with median 0.06^2 and log sd 2 x 0.5, and with 0.015 and 0.8.
    theta = fit.law.theta
    assert (theta.offset, theta.error_factor) == pytest.approx((0.05, 1.0))
    assert (theta.offset_sd, theta.process) == pytest.approx((0.06 * np.exp(0.25), 0.015 * np.exp(0.32)))
    assert fit.new_part_prior(1).mean[0] == pytest.approx(SHOP_PRIOR.log_rate, abs=1e-9)


def test_a_fleet_of_one_part_stays_near_what_was_believed():
    with np.errstate(over="raise", divide="raise", invalid="raise"):
        fit = fit_family(fleet_of(ONE_PART["three steady"]), SHOP_PRIOR)
    assert fit.tau == pytest.approx(0.5, abs=0.06)
    assert fit.n_read_parts == 1


def test_a_fleet_that_nobody_has_read_yet_says_so():
    unread = ReadingTable.from_columns(5, [], [], [], y=[])
    fit = fit_family(fleet_of(unread), SHOP_PRIOR)
    assert fit.n_read_parts == 0
    assert fit.posterior.log_evidence.tolist() == [0.0] * 5
    assert np.unique(np.round(crossing_quantiles(fit.posterior)[:, 3], 9)).size == 1


def test_a_fleet_of_gauges_alone_is_an_ordinary_fleet():
    made = fleet(np.random.default_rng(6), 200, gauges=1.0)
    after = fit_family(made.data, SHOP_PRIOR, shape=STRAIGHT).posterior
    z = (after.log_rate_mean - np.log(made.rate)) / after.log_rate_sd
    # 200 parts in six cells: mean and spread of z within about four standard errors.
    assert abs(z.mean()) < 0.3
    assert z.std() == pytest.approx(1.0, abs=0.2)


@pytest.mark.parametrize(
    ("x", "r", "y", "lo", "hi", "named"),
    [
        ([1.0, -1.0], [0.1, 0.1], [0.1, 0.1], None, None, "row 1, column x"),
        ([1.0, NAN], [0.1, 0.1], [0.1, 0.1], None, None, "row 1, column x"),
        ([1.0, 2.0], [0.0, 0.1], [0.1, 0.1], None, None, "row 0, column r"),
        ([1.0, 2.0], [0.1, NAN], [0.1, 0.1], None, None, "row 1, column r"),
        ([1.0, 2.0], [0.1, 0.1], [0.1, INF], None, None, "row 1, column y"),
        ([1.0, 2.0], [0.1, 0.1], [0.1, NAN], None, None, "row 1, column lo"),
        ([1.0], [0.1], [NAN], [0.2], [NAN], "row 0, column hi"),
        ([1.0], [0.1], [NAN], [0.5], [0.5], "row 0, column lo"),
        ([1.0], [0.1], [NAN], [-INF], [INF], "row 0, column lo"),
        ([1.0], [0.1], [0.3], [0.2], [NAN], "row 0, column lo"),
        ([1.0], [0.1], [NAN], [INF], [INF], "row 0, column lo"),
    ],
)
def test_what_cannot_be_a_reading_is_refused_by_row_and_column(x, r, y, lo, hi, named):
    with pytest.raises(ValueError, match=named):
        one_part(x, r, y=y, lo=lo, hi=hi)


def test_a_reading_before_the_part_was_fitted_is_refused():
    with pytest.raises(ValueError, match="row 0, column x"):
        one_part([1.0], 0.05, y=[0.3], x_start=2.0)


def test_a_reading_of_a_part_that_does_not_exist_is_refused():
    with pytest.raises(ValueError, match="row 1, column part"):
        ReadingTable.from_columns(2, [0, 2], [1.0, 1.0], [0.1, 0.1], y=[0.1, 0.1])


def test_a_table_as_it_stood_earlier_has_only_its_first_readings():
    table = ReadingTable.from_columns(
        2, [0, 0, 0, 1], [3.0, 1.0, 2.0, 1.0], np.full(4, 0.1), y=[0.3, 0.1, 0.2, 0.5]
    )
    early = table.until([2, 0])
    assert early.count.tolist() == [2, 0]
    assert early.y[0].tolist() == [0.1, 0.2]
    assert early.x_last.tolist() == [2.0, 0.0]
    assert early.row.tolist() == [[1, 2], [-1, -1]]


def test_nothing_is_believed_better_than_half_a_percent_of_the_allowance():
    assert one_part([1.0], 1e-5, y=[0.2]).r[0, 0] == 0.005


def test_distances_and_chances_that_make_no_sense_are_refused():
    after = part_posterior(ONE_PART["one"], PLAIN_PRIOR, PLAIN_LAW)
    with pytest.raises(ValueError, match="column x"):
        crossing_cdf(after, [np.nan])
    with pytest.raises(ValueError, match="column x"):
        crossing_cdf(after, np.zeros((2, 3)))
    with pytest.raises(ValueError, match="column p"):
        crossing_quantiles(after, [0.0])
    with pytest.raises(ValueError, match="column r"):
        next_reading_cdf(after, 3.0, 0.5, 0.0)
    with pytest.raises(ValueError, match="column y"):
        reading_tail(after, 3.0, 0.05, lo=0.5)


def test_a_very_sharp_prior_is_no_trouble():
    everything(ONE_PART["three steady"], prior=RatePrior.of(np.log(0.16), 1e-4))
