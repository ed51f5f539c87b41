"""What must hold for any readings whatever."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.forecast.worlds import NAN
from wearlog.forecast.crossing import crossing_cdf, crossing_quantiles, past_probability
from wearlog.forecast.law import RatePrior, Theta, WearLaw
from wearlog.forecast.posterior import part_posterior, wear_quantiles
from wearlog.forecast.readings import one_part
from wearlog.forecast.shape import shape_menu
from wearlog.forecast.smoothing import smoothed_band
from wearlog.forecast.suspect import suspect_probability

LEVELS = (0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95)
ANY_PART = settings(deadline=None, max_examples=60)


@st.composite
def parts(draw):
    n = draw(st.integers(0, 6))
    x = draw(st.lists(st.floats(0.0, 20.0), min_size=n, max_size=n))
    r = draw(st.lists(st.floats(0.005, 0.3), min_size=n, max_size=n))
    y = draw(st.lists(st.floats(-0.5, 2.0), min_size=n, max_size=n))
    is_gauge = draw(st.lists(st.booleans(), min_size=n, max_size=n))
    width = draw(st.lists(st.sampled_from([0.1, 0.25, np.inf]), min_size=n, max_size=n))
    point = [NAN if gauge else value for value, gauge in zip(y, is_gauge, strict=True)]
    lo = [value if gauge else NAN for value, gauge in zip(y, is_gauge, strict=True)]
    hi = [value + w if gauge else NAN for value, gauge, w in zip(y, is_gauge, width, strict=True)]
    return one_part(x, r, y=point, lo=lo, hi=hi)


@st.composite
def laws(draw):
    theta = Theta(
        draw(st.floats(-0.05, 0.2)),
        draw(st.floats(0.01, 0.2)),
        draw(st.floats(0.001, 0.1)),
        draw(st.floats(0.5, 2.0)),
    )
    shape = draw(st.sampled_from(shape_menu()))
    return WearLaw(theta=theta, bedding_distance=draw(st.sampled_from([0.0, 0.3])), shape=shape)


@st.composite
def priors(draw):
    return RatePrior.of(draw(st.floats(-4.0, -0.5)), draw(st.floats(0.2, 1.2)))


@ANY_PART
@given(readings=parts(), law=laws(), prior=priors(), limit=st.floats(0.5, 1.5))
def test_crossings_rise_with_the_chance_and_never_lie_behind(readings, law, prior, limit):
    after = part_posterior(readings, prior, law, limit=limit)
    at = crossing_quantiles(after, LEVELS)[0]
    assert np.all(np.diff(at) >= 0.0)
    assert np.all(at >= after.x_last[0])
    assert 0.0 <= past_probability(after)[0] <= 1.0


@ANY_PART
@given(readings=parts(), law=laws(), prior=priors())
def test_the_chance_of_being_past_the_limit_never_falls_with_distance(readings, law, prior):
    after = part_posterior(readings, prior, law)
    chance = crossing_cdf(after, after.x_last[0] + np.linspace(0.0, 40.0, 41))[0]
    assert np.all(np.diff(chance) >= 0.0)
    assert 0.0 <= chance[0] <= chance[-1] <= 1.0


@ANY_PART
@given(readings=parts(), law=laws(), prior=priors())
def test_wear_never_shrinks_with_distance_and_its_quantiles_do_not_cross(readings, law, prior):
    after = part_posterior(readings, prior, law)
    wear = wear_quantiles(after, after.x_last[0] + np.linspace(0.0, 20.0, 11), LEVELS)[0]
    assert np.all(np.diff(wear, axis=0) >= 0.0)
    assert np.all(np.diff(wear, axis=1) >= -1e-7)


@ANY_PART
@given(readings=parts(), law=laws(), prior=priors(), factor=st.floats(0.1, 10.0))
def test_any_unit_of_distance_gives_the_same_forecast(readings, law, prior, factor):
    scaled = one_part(
        readings.x[0, : readings.count[0]] / factor,
        readings.r[0, : readings.count[0]],
        y=readings.y[0, : readings.count[0]],
        lo=readings.lo[0, : readings.count[0]],
        hi=readings.hi[0, : readings.count[0]],
    )
    shape = type(law.shape)(
        law.shape.power, law.shape.onset, law.shape.acceleration, pivot=law.shape.pivot / factor
    )
    other = WearLaw(theta=law.theta, bedding_distance=law.bedding_distance / factor, shape=shape)
    a = crossing_quantiles(part_posterior(readings, prior, law))
    b = crossing_quantiles(part_posterior(scaled, RatePrior.of(prior.mean + np.log(factor), prior.sd), other))
    assert b * factor == pytest.approx(a, rel=1e-6, abs=1e-9)


@ANY_PART
@given(readings=parts(), law=laws(), prior=priors())
def test_the_band_between_readings_keeps_its_order(readings, law, prior):
    after = part_posterior(readings, prior, law)
    band = smoothed_band(after, readings, np.linspace(0.0, max(after.x_last[0], 1.0), 9), [0.1, 0.5, 0.9])[0]
    assert np.isfinite(band).all()
    assert np.all(np.diff(band, axis=1) >= -1e-7)


@ANY_PART
@given(readings=parts(), law=laws(), prior=priors())
def test_a_chance_of_being_wrong_is_a_chance(readings, law, prior):
    chance = suspect_probability(readings, prior, law)
    assert np.all((chance >= 0.0) & (chance <= 1.0))
    assert np.all(chance[~readings.is_reading] == 0.0)
