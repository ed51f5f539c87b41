"""The Gaussian special cases against certified values and against a linear mixed model.

NIST Statistical Reference Datasets, linear regression (itl.nist.gov/div898/strd): data sets Norris, NoInt1
and NoInt2 with their certified values; from memory, and least squares on the data gives the values back.
"""

import warnings

import numpy as np
import pytest

from wearlog.forecast.fleet_step import part_messages
from wearlog.forecast.law import GrossErrors, RatePrior, Theta, WearLaw
from wearlog.forecast.posterior import part_posterior
from wearlog.forecast.readings import ReadingTable, one_part

NORRIS_X = (
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5,
    666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2,
    999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
)  # fmt: skip
NORRIS_Y = (
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1,
    668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0,
    998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
)  # fmt: skip
# slope and its standard deviation, residual standard deviation; intercept and its standard deviation if any
NORRIS = (1.00211681802045, 0.000429796848199937, 0.884796396144373, -0.262323073774029, 0.232818234301152)
NOINT1 = (2.07438016528926, 0.0165289256198347, 3.56753034006338)
NOINT2 = (0.727272727272727, 0.0420827318078432, 0.369274472937998)


def least_squares_law(offset_sd: float) -> WearLaw:
    """No process noise, no gross errors, rate on its own scale: what is left is weighted least squares."""
    return WearLaw(
        theta=Theta(0.0, offset_sd, 0.0, 1.0),
        gross=GrossErrors(share=0.0),
        bedding_distance=0.0,
        rate_scale="plain",
    )


def what_the_readings_say(x, y, r, law, guess):
    """Return rate and standard deviation from the readings alone: the part's message."""
    prior = RatePrior.of(*guess)
    after = part_posterior(one_part(x, r, y=y), prior, law, nodes=61, span=6.5)
    told = part_messages(after.log_rate_mean, after.log_rate_sd**2, prior)
    return told.value[0], np.sqrt(told.variance[0])


def test_norris_is_fitted_to_the_certified_line():
    slope, slope_sd, residual_sd, start, start_sd = NORRIS
    x, y = np.array(NORRIS_X) / 1000.0, np.array(NORRIS_Y)
    found, sd = what_the_readings_say(x, y, residual_sd, least_squares_law(1e4), (1000.0, 5.0))
    assert found == pytest.approx(1000.0 * slope, rel=1e-8)
    assert sd == pytest.approx(1000.0 * slope_sd, rel=1e-5)
    # The wear at distance 0 with a rate known to be the certified one is the certified start.
    known = part_posterior(
        one_part(x, residual_sd, y=y), RatePrior.of(1000.0 * slope, 1e-4), least_squares_law(1e4)
    )
    at_end = float((known.weight * known.mean).sum())
    assert at_end - 1000.0 * slope * x.max() == pytest.approx(start, abs=1e-6)
    # The certified spread of the start holds what the spread of the rate adds.
    mean_x = x.mean()
    alone = residual_sd / np.sqrt(x.size)
    assert np.hypot(alone, mean_x * sd) == pytest.approx(start_sd, rel=1e-5)


@pytest.mark.parametrize(
    ("x", "y", "certified"),
    [
        (np.arange(60.0, 71.0), np.arange(130.0, 141.0), NOINT1),
        (np.array([4.0, 5.0, 6.0]), np.array([3.0, 4.0, 4.0]), NOINT2),
    ],
    ids=["NoInt1", "NoInt2"],
)
def test_a_line_through_the_origin_has_the_certified_slope(x, y, certified):
    slope, slope_sd, residual_sd = certified
    found, sd = what_the_readings_say(x, y, residual_sd, least_squares_law(1e-9), (slope + 0.02, 0.2))
    assert found == pytest.approx(slope, rel=1e-8)
    assert sd == pytest.approx(slope_sd, rel=1e-6)


@pytest.mark.slow
def test_irregular_readings_with_normal_rates_agree_with_a_linear_mixed_model():
    from statsmodels.regression import mixed_linear_model as linear

    rng = np.random.default_rng(40)
    count = rng.integers(2, 9, 40)
    part = np.repeat(np.arange(40), count)
    x = rng.uniform(0.2, 8.0, part.size)
    rate, offset = rng.normal(0.2, 0.06, 40), rng.normal(0.05, 0.05, 40)
    y = offset[part] + rate[part] * x + rng.normal(0.0, 0.06, part.size)
    design = np.column_stack([np.ones(x.size), x])
    free = linear.MixedLMParams.from_components(fe_params=np.ones(2), cov_re=np.eye(2))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fitted = linear.MixedLM(y, design, part, exog_re=design).fit(reml=False, free=free)
        effects = np.array([np.asarray(fitted.random_effects[one])[1] for one in range(40)])
    spread = np.sqrt(np.diag(np.asarray(fitted.cov_re)))
    law = WearLaw(
        theta=Theta(float(fitted.fe_params[0]), float(spread[0]), 0.0, 1.0),
        gross=GrossErrors(share=0.0),
        bedding_distance=0.0,
        rate_scale="plain",
    )
    readings = ReadingTable.from_columns(40, part, x, np.full(x.size, np.sqrt(fitted.scale)), y=y)
    prior = RatePrior.of(np.full(40, fitted.fe_params[1]), spread[1])
    after = part_posterior(readings, prior, law, nodes=61, span=6.5)
    assert after.log_evidence.sum() == pytest.approx(fitted.llf, abs=1e-5)
    assert after.log_rate_mean == pytest.approx(fitted.fe_params[1] + effects, abs=1e-7)
