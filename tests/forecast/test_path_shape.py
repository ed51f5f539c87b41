"""The path wear takes: there and back, and when the readings insist on another than the straight line."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.forecast.worlds import INF, NAN, ONE_PART, PLAIN_LAW, PLAIN_PRIOR, SHOP_PRIOR, fleet
from wearlog.fleet.progress import Silent
from wearlog.forecast.crossing import crossing_cdf, crossing_quantiles, remaining_quantiles
from wearlog.forecast.family import FamilyData, chosen_shape, fit_family
from wearlog.forecast.law import WearLaw
from wearlog.forecast.path_choice import SHAPE_THRESHOLD, shape_evidence
from wearlog.forecast.posterior import part_posterior, wear_mean_sd, wear_quantiles
from wearlog.forecast.readings import ReadingTable, one_part, worn_out_reading
from wearlog.forecast.shape import STRAIGHT, PathShape, reading_middle, shape_menu

MENU = shape_menu()


def test_the_menu_begins_with_the_straight_line():
    assert MENU[0].is_straight
    assert not any(shape.is_straight for shape in MENU[1:])
    assert len(MENU) == 13


@given(u=st.floats(-1.0, 3.0), x=st.floats(0.0, 50.0), k=st.integers(0, 12))
def test_there_and_back_is_where_one_was(u, x, k):
    shape = MENU[k]
    assert shape.true_wear(shape.straight_wear(np.array([u])))[0] == pytest.approx(u, abs=1e-9)
    assert shape.true_x(shape.straight_x(np.array([x])))[0] == pytest.approx(x, abs=1e-9)


@pytest.mark.parametrize("shape", MENU)
def test_the_slope_is_that_of_the_straightened_wear(shape):
    u = np.array([-0.5, 0.2, 0.59, 0.7, 1.0, 1.5])
    step = 1e-6
    numeric = (shape.straight_wear(u + step) - shape.straight_wear(u - step)) / (2 * step)
    assert shape.slope(u) == pytest.approx(numeric, rel=1e-6)


def test_wear_that_accelerates_is_straightened_past_its_onset_only():
    shape = PathShape(onset=0.6, acceleration=1.5)
    # By hand: 0.6 + ln(1 + 1.5 * 0.4) / 1.5.
    assert shape.straight_wear(np.array([0.3, 0.6, 1.0])) == pytest.approx(
        [0.3, 0.6, 0.6 + np.log(1.6) / 1.5]
    )


def test_a_gauge_keeps_its_open_end():
    gauge = one_part([1.0], 0.05, lo=[0.75], hi=[INF])
    straight = PathShape(onset=0.6, acceleration=3.0).straighten(gauge)
    assert straight.hi[0, 0] == INF
    assert straight.lo[0, 0] < 0.75
    assert reading_middle(gauge)[0, 0] == 0.75
    assert straight.r[0, 0] < gauge.r[0, 0]


@pytest.mark.parametrize("shape", MENU[1:])
def test_what_is_shown_is_on_the_true_scale(shape):
    law = WearLaw(theta=PLAIN_LAW.theta, bedding_distance=0.0, shape=shape)
    readings = ONE_PART["three steady"]
    after = part_posterior(readings, PLAIN_PRIOR, law)
    mean, _ = wear_mean_sd(after, [4.0])
    assert mean[0, 0] == pytest.approx(0.70, abs=0.06)
    at = crossing_quantiles(after, [0.1, 0.5, 0.9])
    assert crossing_cdf(after, at)[0] == pytest.approx([0.1, 0.5, 0.9], abs=1e-6)
    assert remaining_quantiles(after, [0.5])[0, 0] == pytest.approx(at[0, 1] - 4.0, abs=1e-9)
    assert wear_quantiles(after, at[:, 1:2], [0.5])[0, 0, 0] == pytest.approx(1.0, abs=1e-6)


def test_mean_and_spread_on_a_bent_scale_agree_with_drawing():
    law = WearLaw(bedding_distance=0.0, shape=PathShape(onset=0.0, acceleration=2.0))
    after = part_posterior(ONE_PART["three steady"], PLAIN_PRIOR, law)
    rng = np.random.default_rng(1)
    node = rng.choice(after.weight.shape[1], 200_000, p=after.weight[0])
    straight = rng.normal(after.mean[0, node], np.sqrt(after.variance[0, node]))
    drawn = law.shape.true_wear(straight)
    mean, sd = wear_mean_sd(after, [4.0])
    assert mean[0, 0] == pytest.approx(drawn.mean(), abs=0.002)
    assert sd[0, 0] == pytest.approx(drawn.std(), rel=0.01)


def bent(data: FamilyData, shape: PathShape) -> FamilyData:
    """Return a straight fleet's readings as they would be on a bent path."""
    old = data.readings
    y = shape.true_wear(old.y)
    table = ReadingTable(
        x=shape.true_x(old.x),
        y=y,
        lo=shape.true_wear(old.lo),
        hi=np.where(old.hi == INF, INF, shape.true_wear(np.where(old.hi == INF, NAN, old.hi))),
        r=old.r / shape.slope(reading_middle(old)),
        count=old.count,
        x_start=old.x_start,
        has_unknown_history=old.has_unknown_history,
        row=old.row,
    )
    return FamilyData(table, data.cell, data.engineering_mean)


@pytest.mark.slow
def test_a_strongly_bent_path_is_noticed_and_a_straight_one_left_alone():
    rng = np.random.default_rng(21)
    straight = fleet(rng, 200, readings=(4, 8), gauges=0.0, gross=0.005).data
    assert chosen_shape(straight, SHOP_PRIOR, Silent()).is_straight
    assert chosen_shape(bent(straight, PathShape(power=0.5)), SHOP_PRIOR, Silent()).power < 0.8
    # A power above one and an early acceleration look alike over half a life.
    speeding = chosen_shape(bent(straight, PathShape(power=1.3)), SHOP_PRIOR, Silent())
    assert speeding.power > 1.0 or speeding.acceleration > 0.0


def test_a_fit_keeps_the_path_it_is_given():
    data = fleet(np.random.default_rng(2), 40, readings=(3, 3)).data
    shape = PathShape(power=0.85)
    fit = fit_family(data, SHOP_PRIOR, shape=shape)
    assert fit.law.shape == shape
    assert fit_family(data, SHOP_PRIOR, shape=STRAIGHT).law.shape.is_straight


def test_parts_that_only_came_off_worn_do_not_bend_the_path():
    """Two readings low down and "worn" ask for wear that quickens; three values are needed to see a path."""
    lo, hi, r = worn_out_reading()
    rate = np.exp(np.random.default_rng(7).normal(np.log(0.1), 0.2, 30))
    part = np.repeat(np.arange(30), 3)
    x = np.tile([1.0, 2.0, 3.5], 30)
    is_worn = x == 3.5
    table = ReadingTable.from_columns(
        30,
        part,
        x,
        np.where(is_worn, r, 0.03),
        np.where(is_worn, NAN, rate[part] * x),
        np.where(is_worn, lo, NAN),
        np.where(is_worn, hi, NAN),
    )
    data = FamilyData(table, np.zeros(30, dtype=np.int64), np.array([np.log(0.16)]))
    evidence = shape_evidence(data, SHOP_PRIOR, MENU, Silent())
    assert evidence.max() > evidence[0] + SHAPE_THRESHOLD
    assert chosen_shape(data, SHOP_PRIOR, Silent()).is_straight
