"""One part with a known prior: the reference table, and what a mechanic would expect of it.

The table was worked out on a fine grid of 201 rates by an implementation of its own; K = 17 is what is shown.
"""

import numpy as np
import pytest

from tests.forecast.worlds import NAN, ONE_PART, PLAIN_LAW, PLAIN_PRIOR, fleet
from wearlog.forecast.crossing import (
    crossing_cdf,
    crossing_quantiles,
    equally_likely_crossings,
    past_probability,
    remaining_quantiles,
)
from wearlog.forecast.law import RatePrior
from wearlog.forecast.posterior import part_posterior, wear_mean_sd, wear_quantiles
from wearlog.forecast.readings import one_part
from wearlog.forecast.smoothing import past_crossing
from wearlog.forecast.suspect import suspect_probability

# case: ln Z, mean and sd of ln rate, mean and sd of wear, chance past the limit, remaining at 10/50/90 %
TABLE = {
    "none": (0.0, -1.8326, 0.6000, 0.0500, 0.0600, 0.0, (2.690, 5.926, 13.053)),
    "one": (0.5402, -1.8395, 0.3049, 0.3914, 0.0604, 0.0001, (2.326, 3.763, 6.360)),
    "three steady": (2.9915, -1.8488, 0.1902, 0.7006, 0.0543, 0.0, (1.121, 1.893, 3.071)),
    "three falling": (-4.2943, -2.1776, 0.2918, 0.4353, 0.0774, 0.0013, (3.036, 5.017, 8.205)),
    "past the limit": (1.4078, -1.4839, 0.1324, 1.2513, 0.0563, 1.0, (0.0, 0.0, 0.0)),
    "all at one distance": (3.6370, -2.0105, 0.3020, 0.3286, 0.0342, 0.0, (3.217, 4.931, 7.941)),
    "three gauges": (-1.3751, -1.9790, 0.2415, 0.6138, 0.0897, 0.0003, (1.469, 2.762, 4.916)),
    "caliper and gauge": (1.0622, -1.8748, 0.2426, 0.6040, 0.0832, 0.0001, (1.382, 2.563, 4.502)),
    "one far too high": (-0.7189, -1.9182, 0.1678, 0.8007, 0.0498, 0.0, (0.715, 1.354, 2.315)),
    "last far too low": (-0.2747, -1.9359, 0.1963, 0.7915, 0.0820, 0.0080, (0.544, 1.452, 2.831)),
    "lone high on a fresh part": (-5.1760, -1.8210, 0.6034, 0.0759, 0.0635, 0.0, (2.527, 5.721, 12.766)),
    "contradictory gauges": (-6.1911, -1.9788, 0.2419, 0.6138, 0.0899, 0.0003, (1.468, 2.761, 4.916)),
}
SUSPECT = {
    "none": (),
    "one": (0.006,),
    "three steady": (0.002, 0.002, 0.004),
    "three falling": (0.757, 0.013, 0.052),
    "past the limit": (0.005, 0.003, 0.005),
    "all at one distance": (0.002, 0.003, 0.002),
    "three gauges": (0.008, 0.008, 0.021),
    "caliper and gauge": (0.003, 0.005, 0.017),
    "one far too high": (0.002, 0.002, 1.000, 0.002, 0.003),
    "last far too low": (0.002, 0.002, 0.002, 0.003, 1.000),
    "lone high on a fresh part": (1.000,),
    "contradictory gauges": (1.000, 0.009, 0.022),
}


def numbers(after):
    mean, sd = wear_mean_sd(after, after.x_last[:, None])
    return (
        float(after.log_evidence[0]),
        float(after.log_rate_mean[0]),
        float(after.log_rate_sd[0]),
        float(mean[0, 0]),
        float(sd[0, 0]),
        float(past_probability(after)[0]),
        remaining_quantiles(after, [0.1, 0.5, 0.9])[0],
    )


@pytest.mark.parametrize("case", TABLE)
def test_the_reference_table_on_a_fine_grid(case):
    # The fine grid reaches five standard deviations to either side.
    after = part_posterior(ONE_PART[case], PLAIN_PRIOR, PLAIN_LAW, nodes=201, span=5.0)
    log_z, rate, rate_sd, wear, wear_sd, past, remaining = numbers(after)
    expected = TABLE[case]
    assert log_z == pytest.approx(expected[0], abs=1e-3)
    assert (rate, rate_sd) == pytest.approx(expected[1:3], rel=1e-3)
    # Four printed digits leave 0.0002 of a spread of 0.06.
    assert (wear, wear_sd) == pytest.approx(expected[3:5], rel=1e-3, abs=6e-5)
    assert past == pytest.approx(expected[5], abs=1e-4)
    assert remaining == pytest.approx(expected[6], rel=1e-3)


@pytest.mark.parametrize("case", TABLE)
def test_seventeen_rates_are_enough_for_what_is_shown(case):
    after = part_posterior(ONE_PART[case], PLAIN_PRIOR, PLAIN_LAW)
    log_z, rate, rate_sd, wear, wear_sd, past, remaining = numbers(after)
    expected = TABLE[case]
    assert log_z == pytest.approx(expected[0], abs=1e-3)
    assert (rate, rate_sd) == pytest.approx(expected[1:3], rel=5e-3)
    assert wear == pytest.approx(expected[3], rel=5e-3)
    # Where one reading is as likely wrong as right the far ends of the grid carry part of the spread.
    assert wear_sd == pytest.approx(
        expected[4], rel=0.012 if case in {"three falling", "contradictory gauges"} else 5e-3
    )
    assert past == pytest.approx(expected[5], abs=3e-4)
    assert remaining == pytest.approx(expected[6], rel=5e-3)


@pytest.mark.parametrize("case", SUSPECT)
def test_the_chance_of_each_reading_to_be_wrong(case):
    chance = suspect_probability(ONE_PART[case], PLAIN_PRIOR, PLAIN_LAW)
    assert chance[0, : len(SUSPECT[case])] == pytest.approx(SUSPECT[case], abs=1.5e-3)


def test_other_units_of_distance_give_the_same_forecast():
    # 1 mile is 1.609344 km exactly (international yard and pound agreement, 1959).
    mile = 1.609344
    metric = one_part(
        [1.0, 2.5, 4.0], [0.06, 0.05, 0.1], y=[0.22, NAN, 0.71], lo=[NAN, 0.4, NAN], hi=[NAN, 0.6, NAN]
    )
    imperial = one_part(
        metric.x[0] / mile, [0.06, 0.05, 0.1], y=[0.22, NAN, 0.71], lo=[NAN, 0.4, NAN], hi=[NAN, 0.6, NAN]
    )
    in_miles = RatePrior.of(np.log(0.16) + np.log(mile), 0.6)
    a = crossing_quantiles(part_posterior(metric, PLAIN_PRIOR, PLAIN_LAW))
    b = crossing_quantiles(part_posterior(imperial, in_miles, PLAIN_LAW))
    assert b * mile == pytest.approx(a, rel=1e-9)


def test_crossing_quantiles_invert_the_crossing_chance():
    after = part_posterior(ONE_PART["three steady"], PLAIN_PRIOR, PLAIN_LAW)
    p = np.array([0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95])
    assert crossing_cdf(after, crossing_quantiles(after, p))[0] == pytest.approx(p, abs=1e-8)


def test_wear_quantiles_at_the_crossing_are_the_limit():
    after = part_posterior(ONE_PART["three gauges"], PLAIN_PRIOR, PLAIN_LAW)
    at = crossing_quantiles(after, [0.25])
    assert wear_quantiles(after, at, [0.75])[0, 0, 0] == pytest.approx(1.0, abs=1e-6)


def test_a_lower_limit_is_reached_earlier_from_the_same_fit():
    ordinary = part_posterior(ONE_PART["three steady"], PLAIN_PRIOR, PLAIN_LAW)
    strict = part_posterior(ONE_PART["three steady"], PLAIN_PRIOR, PLAIN_LAW, limit=0.8)
    assert strict.weight == pytest.approx(ordinary.weight, abs=0.0)
    assert np.all(remaining_quantiles(strict) < remaining_quantiles(ordinary))


def test_a_part_past_its_limit_has_nothing_left_and_says_since_when():
    after = part_posterior(ONE_PART["past the limit"], PLAIN_PRIOR, PLAIN_LAW)
    assert remaining_quantiles(after)[0] == pytest.approx(np.zeros(7), abs=0.0)
    # 0.8 at 3 and 1.25 at 5: a straight line between them reaches 1.0 at 3.89.
    assert past_crossing(after, ONE_PART["past the limit"])[0] == pytest.approx(3.89, abs=0.15)


def test_a_part_below_its_limit_has_not_passed_it():
    after = part_posterior(ONE_PART["three steady"], PLAIN_PRIOR, PLAIN_LAW)
    assert np.isnan(past_crossing(after, ONE_PART["three steady"])[0])


def test_equally_likely_crossings_have_the_median_in_their_middle():
    after = part_posterior(ONE_PART["one"], PLAIN_PRIOR, PLAIN_LAW)
    likely = equally_likely_crossings(after, 50)[0]
    median = crossing_quantiles(after, [0.5])[0, 0]
    assert likely[24] < median < likely[25]


def test_the_crossing_of_an_unread_part_agrees_with_drawing_from_its_law():
    rng = np.random.default_rng(3)
    n = 200_000
    rate = np.exp(rng.normal(np.log(0.16), 0.6, n))
    after = part_posterior(ONE_PART["none"], PLAIN_PRIOR, PLAIN_LAW)
    for x in (2.0, 5.0, 10.0):
        wear = rng.normal(0.05, 0.06, n) + rate * x + rng.normal(0, 1, n) * np.sqrt(0.015 * rate * x)
        # Five standard errors of a share over 200 000 draws.
        assert crossing_cdf(after, [x])[0, 0] == pytest.approx((wear >= 1.0).mean(), abs=0.0056)


def test_a_limit_that_is_not_positive_is_refused():
    with pytest.raises(ValueError, match="row 0, column limit"):
        part_posterior(ONE_PART["one"], PLAIN_PRIOR, PLAIN_LAW, limit=0.0)


def test_as_many_priors_as_parts_are_needed():
    with pytest.raises(ValueError, match="column prior"):
        part_posterior(ONE_PART["one"], RatePrior.of([0.0, 0.0], 0.5), PLAIN_LAW)


def test_many_chances_are_found_from_a_few_as_well_as_one_by_one():
    made = fleet(np.random.default_rng(12), 300, readings=(0, 8), gross=0.03)
    after = part_posterior(made.data.readings, RatePrior.of(np.full(300, np.log(0.16)), 0.5), PLAIN_LAW)
    together = equally_likely_crossings(after, 50)
    by_tens = np.concatenate(
        [crossing_quantiles(after, (np.arange(begin, begin + 10) + 0.5) / 50) for begin in range(0, 50, 10)],
        axis=1,
    )
    error = np.abs(np.log(together / by_tens))
    assert error.max() < 2e-3
    assert np.quantile(error, 0.99) < 1e-5
