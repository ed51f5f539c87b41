"""Odd readings are flagged, never dropped."""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from tests.forecast.worlds import INF, NAN, ONE_PART, PLAIN_LAW, PLAIN_PRIOR, SHOP_PRIOR, fleet
from wearlog.forecast.crossing import crossing_quantiles, remaining_quantiles
from wearlog.forecast.family import fit_family
from wearlog.forecast.law import GrossErrors, RatePrior, Theta, WearLaw
from wearlog.forecast.next_reading import (
    GREATEST_FALL,
    SUSPECT_TAIL,
    UNUSUAL_TAIL,
    fall_ratio,
    next_reading_cdf,
    next_reading_quantiles,
    reading_tail,
)
from wearlog.forecast.posterior import part_posterior
from wearlog.forecast.readings import one_part
from wearlog.forecast.shape import STRAIGHT, PathShape
from wearlog.forecast.suspect import (
    DOUBTFUL,
    SUSPECT,
    caution_posterior,
    earlier_crossing,
    has_suspect_run,
    reading_side,
    suspect_probability,
)

LONE_HIGH = ONE_PART["lone high on a fresh part"]


def test_a_lone_high_reading_on_a_fresh_part_drives_the_due_date():
    suspect = suspect_probability(LONE_HIGH, PLAIN_PRIOR, PLAIN_LAW)
    assert suspect[0, 0] > SUSPECT
    ordinary = part_posterior(LONE_HIGH, PLAIN_PRIOR, PLAIN_LAW)
    caution = caution_posterior(LONE_HIGH, PLAIN_PRIOR, PLAIN_LAW, suspect)
    assert remaining_quantiles(ordinary, [0.1])[0, 0] > 2.0
    # Taken as right it is a part all but worn out.
    assert remaining_quantiles(caution, [0.5])[0, 0] < 0.1
    due = earlier_crossing(ordinary, caution, [0.1])
    assert due.is_by_caution.all()
    assert due.x == pytest.approx(crossing_quantiles(caution, [0.1]))


def test_a_low_reading_in_doubt_does_not_put_the_date_off():
    readings = ONE_PART["last far too low"]
    suspect = suspect_probability(readings, PLAIN_PRIOR, PLAIN_LAW)
    ordinary = part_posterior(readings, PLAIN_PRIOR, PLAIN_LAW)
    caution = caution_posterior(readings, PLAIN_PRIOR, PLAIN_LAW, suspect)
    due = earlier_crossing(ordinary, caution, [0.1, 0.5])
    assert not due.is_by_caution.any()
    assert due.x == pytest.approx(crossing_quantiles(ordinary, [0.1, 0.5]))


def test_without_a_doubt_caution_changes_nothing():
    readings = ONE_PART["three steady"]
    suspect = suspect_probability(readings, PLAIN_PRIOR, PLAIN_LAW)
    assert suspect.max() < DOUBTFUL
    caution = caution_posterior(readings, PLAIN_PRIOR, PLAIN_LAW, suspect)
    assert crossing_quantiles(caution) == pytest.approx(
        crossing_quantiles(part_posterior(readings, PLAIN_PRIOR, PLAIN_LAW)), abs=1e-12
    )


def test_the_forecast_already_leans_away_from_a_wrong_reading():
    with_it = part_posterior(ONE_PART["one far too high"], PLAIN_PRIOR, PLAIN_LAW)
    without = part_posterior(one_part([1, 2, 4, 5], 0.06, y=[0.2, 0.35, 0.66, 0.8]), PLAIN_PRIOR, PLAIN_LAW)
    assert crossing_quantiles(with_it) == pytest.approx(crossing_quantiles(without), rel=0.01)


def test_where_errors_are_ruled_out_no_reading_is_suspect():
    law = WearLaw(gross=GrossErrors(share=0.0))
    assert suspect_probability(ONE_PART["one far too high"], PLAIN_PRIOR, law).max() == 0.0
    assert suspect_probability(ONE_PART["none"], PLAIN_PRIOR, PLAIN_LAW).max() == 0.0


def test_parts_are_judged_each_by_itself():
    made = fleet(np.random.default_rng(2), 30, readings=(0, 5))
    prior = RatePrior.of(np.full(30, np.log(0.16)), 0.6)
    together = suspect_probability(made.data.readings, prior, PLAIN_LAW)
    for part in (0, 7, 29):
        alone = suspect_probability(made.data.readings.take([part]), prior.take([part]), PLAIN_LAW)
        assert together[part, : alone.shape[1]] == pytest.approx(alone[0], abs=1e-9)


def test_one_gross_error_among_five_readings_is_mostly_found():
    rng = np.random.default_rng(12)
    made = fleet(rng, 300, readings=(5, 5), gauges=0.0, gross=0.0)
    fit = fit_family(made.data, SHOP_PRIOR, shape=STRAIGHT)
    wrong = rng.integers(0, 5, 300)
    sign = np.where(rng.random(300) < 0.5, -1.0, 1.0)
    y = made.data.readings.y.copy()
    y[np.arange(300), wrong] += sign * rng.uniform(0.4, 0.9, 300)
    chance = suspect_probability(replace(made.data.readings, y=y), fit.rate_prior(), fit.law)
    is_wrong = np.zeros_like(chance, dtype=bool)
    is_wrong[np.arange(300), wrong] = True
    # Uncertainties reach 0.2 here, so that some of the errors are hardly two of them.
    assert (chance[is_wrong] > SUSPECT).mean() > 0.6
    assert (chance[~is_wrong] > SUSPECT).mean() < 0.01


@pytest.mark.parametrize("shape", [STRAIGHT, PathShape(power=0.7), PathShape(onset=0.6, acceleration=1.5)])
def test_a_good_next_reading_is_as_likely_low_as_high(shape):
    law = WearLaw(theta=PLAIN_LAW.theta, bedding_distance=0.3, shape=shape)
    after = part_posterior(ONE_PART["three steady"], PLAIN_PRIOR, law)
    at = next_reading_quantiles(after, 5.0, [0.1, 0.5, 0.9], 0.06)[0]
    back = [float(next_reading_cdf(after, 5.0, value, 0.06)[0]) for value in at]
    # On a bent path the uncertainty is taken at the expected value going, at the value itself coming back.
    assert back == pytest.approx([0.1, 0.5, 0.9], abs=1e-6 if shape.acceleration == 0.0 else 0.02)


def test_while_typing_a_miscount_is_asked_about():
    after = part_posterior(ONE_PART["three steady"], PLAIN_PRIOR, PLAIN_LAW)
    assert reading_tail(after, 5.0, 0.06, y=0.86)[0] > 0.5
    assert reading_tail(after, 5.0, 0.06, y=1.25)[0] < UNUSUAL_TAIL
    assert reading_tail(after, 5.0, 0.06, y=1.9)[0] < SUSPECT_TAIL
    assert reading_tail(after, 5.0, 0.05, lo=0.75, hi=1.0)[0] > 0.5
    assert reading_tail(after, 5.0, 0.05, lo=-INF, hi=0.5)[0] < SUSPECT_TAIL


def test_the_gauges_of_a_step_share_all_the_chance():
    after = part_posterior(
        ONE_PART["three steady"], PLAIN_PRIOR, WearLaw(shape=PathShape(onset=0.6, acceleration=1.5))
    )
    edges = [-INF, 0.5, 0.75, 1.0, INF]
    shares = [reading_tail(after, 5.0, 0.05, lo=a, hi=b)[0] for a, b in itertools.pairwise(edges)]
    # The uncertainty of a step is taken at its middle, so that the sum is 1 only nearly.
    assert sum(shares) == pytest.approx(1.0, abs=0.05)


def test_one_good_typed_reading_in_a_hundred_is_called_unusual():
    rng = np.random.default_rng(5)
    made = fleet(rng, 4000, readings=(4, 4), gauges=0.0, gross=0.0)
    true_prior = RatePrior.of(made.cell_mean[made.data.cell], 0.45)
    early = made.data.readings.until(3)
    after = part_posterior(early, true_prior, PLAIN_LAW)
    full = made.data.readings
    tail = reading_tail(after, full.x[:, 3], full.r[:, 3], y=full.y[:, 3])
    # 4000 readings: 40 expected, standard deviation 6.3.
    assert 20 <= (tail < UNUSUAL_TAIL).sum() <= 62
    # The tail of a good reading is uniform.
    assert np.quantile(tail, [0.25, 0.5, 0.75]) == pytest.approx([0.25, 0.5, 0.75], abs=0.04)


def test_a_reading_of_a_fresh_chain_may_lie_below_its_bedding_in():
    law = WearLaw(theta=Theta(0.12, 0.02, 0.015, 1.0), bedding_distance=0.3)
    after = part_posterior(ONE_PART["none"], PLAIN_PRIOR, law)
    expected = next_reading_quantiles(after, 0.0, [0.5], 0.01)[0, 0]
    assert expected == pytest.approx(0.0, abs=1e-6)


def test_a_fall_is_counted_in_standard_uncertainties():
    # 0.56 over 0.06 times the square root of two, worked by hand.
    assert float(fall_ratio(0.66, 0.06, 0.10, 0.06, 1.0)) == pytest.approx(0.56 / 0.0848528, rel=1e-5)
    assert float(fall_ratio(0.66, 0.06, 0.60, 0.06, 1.0)) < GREATEST_FALL


def test_two_suspect_readings_on_one_side_may_be_another_part():
    readings = one_part([1, 2, 3, 4, 5, 6], 0.05, y=[0.2, 0.35, 0.5, 0.65, 0.05, 0.08])
    after = part_posterior(readings, PLAIN_PRIOR, PLAIN_LAW)
    suspect = suspect_probability(readings, PLAIN_PRIOR, PLAIN_LAW)
    side = reading_side(after, readings)
    assert suspect[0, 4:].min() > SUSPECT
    assert side[0, 4:].tolist() == [-1, -1]
    assert has_suspect_run(suspect, side).tolist() == [True]
    assert reading_side(after, readings)[0, 0] in {-1, 1}
    gauge = one_part([1.0, 2.0], 0.05, y=[0.2, NAN], lo=[NAN, 0.9], hi=[NAN, INF])
    assert reading_side(part_posterior(gauge, PLAIN_PRIOR, PLAIN_LAW), gauge)[0, 1] == 1
