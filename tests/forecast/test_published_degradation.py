"""Published degradation data: lasers, metal wear, cracks. Sources in data/README.md."""

import numpy as np
import pytest

from tests.forecast.worlds import laser_readings, published
from wearlog.fleet.progress import Silent
from wearlog.forecast.crossing import crossing_quantiles
from wearlog.forecast.family import FamilyData, chosen_shape, fit_family
from wearlog.forecast.law import GrossErrors, RatePrior, Theta, WearLaw
from wearlog.forecast.posterior import Posterior, part_posterior
from wearlog.forecast.prior import FamilyPrior, ThetaPrior
from wearlog.forecast.readings import ReadingTable
from wearlog.forecast.shape import STRAIGHT

# statsmodels 0.15.0 MixedLM, ML, independent random intercept and slope; slopes predicted for the 15 units
ML_LOG_LIKELIHOOD = 562.421296
ML_SLOPES = (
    0.27073, 0.23573, 0.16462, 0.15775, 0.19394, 0.28321, 0.16761, 0.15086,
    0.19354, 0.30227, 0.18538, 0.19773, 0.21569, 0.17982, 0.16451,
)  # fmt: skip


def gaussian_law(offset, offset_sd):
    return WearLaw(
        theta=Theta(offset, offset_sd, 0.0, 1.0),
        gross=GrossErrors(share=0.0),
        bedding_distance=0.0,
        rate_scale="plain",
    )


def on_a_wide_grid(residual_sd: float, prior: RatePrior, law: WearLaw) -> Posterior:
    unit, x, u = laser_readings()
    readings = ReadingTable.from_columns(15, unit, x, np.full(x.size, residual_sd), y=u)
    # What the usual grid leaves out beyond 4.5 standard deviations is 1e-5 of each laser's density.
    return part_posterior(readings, prior, law, nodes=41, span=6.0)


def test_lasers_with_normal_rates_weigh_as_the_dense_normal_law_says():
    # A dense multivariate normal density (numpy) over the 15 lasers gives the same 562.420853.
    after = on_a_wide_grid(0.018, RatePrior.of(np.full(15, 0.2042), 0.0464), gaussian_law(0.0012, 0.0198))
    assert after.log_evidence.sum() == pytest.approx(562.420853, abs=1e-4)
    assert after.log_rate_mean[0] == pytest.approx(0.270731, abs=2e-6)
    assert after.log_rate_sd[0] == pytest.approx(0.003604, abs=2e-6)


def test_lasers_with_normal_rates_agree_with_a_linear_mixed_model():
    after = on_a_wide_grid(
        0.018025, RatePrior.of(np.full(15, 0.2042251), 0.046403), gaussian_law(0.0012105, 0.019760)
    )
    assert after.log_evidence.sum() == pytest.approx(ML_LOG_LIKELIHOOD, abs=1e-4)
    assert after.log_rate_mean == pytest.approx(ML_SLOPES, abs=1e-5)


def crossings(unit, x, u, limit):
    """Return where each unit's running maximum first reaches the limit, NaN if it does not."""
    found = np.full(int(unit.max()) + 1, np.nan)
    for one in range(found.size):
        xs, us = x[unit == one], np.maximum.accumulate(u[unit == one])
        if us[-1] >= limit:
            k = int(np.argmax(us >= limit))
            found[one] = xs[k - 1] + (limit - us[k - 1]) / (us[k] - us[k - 1]) * (xs[k] - xs[k - 1])
    return found


def errors_at(
    share: float,
    truth: np.ndarray,
    columns: tuple[np.ndarray, np.ndarray, np.ndarray],
    r: float,
    prior: FamilyPrior,
    is_straight: bool,
) -> tuple[float, np.ndarray]:
    """Predict each unit that crosses from the others and its own readings up to a share of its life."""
    unit, x, u = columns
    n = truth.size
    error, inside = [], []
    for one in np.flatnonzero(np.isfinite(truth)):
        others = unit != one
        number = np.where(unit > one, unit - 1, unit)[others]
        table = ReadingTable.from_columns(n - 1, number, x[others], np.full(number.size, r), y=u[others])
        data = FamilyData(table, np.zeros(n - 1, int), np.array([prior.log_rate]))
        shape = STRAIGHT if is_straight else chosen_shape(data, prior, Silent())
        fit = fit_family(data, prior, shape=shape)
        own = (unit == one) & (x <= share * truth[one])
        seen = ReadingTable.from_columns(1, unit[own] * 0, x[own], np.full(int(own.sum()), r), y=u[own])
        after = part_posterior(seen, fit.new_part_prior(0), fit.law)
        low, median, high = crossing_quantiles(after, [0.1, 0.5, 0.9])[0]
        error.append(abs(median / truth[one] - 1.0))
        inside.append(low <= truth[one] <= high)
    return float(np.median(error)), np.array(inside)


@pytest.mark.parametrize(("share", "most"), [(0.5, 0.08), (0.75, 0.05)])
def test_each_laser_is_forecast_from_the_others(share, most):
    unit, x, increase = laser_readings()
    u = increase * 10.0 / 6.0
    prior = FamilyPrior(log_rate=float(np.log(0.3)), family_sd=1.0, bedding_distance=0.0)
    error, inside = errors_at(share, crossings(unit, x, u, 1.0), (unit, x, u), 0.03, prior, is_straight=True)
    assert error <= most
    # At most four of fifteen outside an 80 % interval: a right forecast has more once in twelve times.
    assert inside.sum() >= 11


def alloy() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    unit, megacycles, crack = published("alloy_a_crack.csv", "specimen", "megacycles", "crack_in")
    later = megacycles > 0.0
    # A hundredth of a million cycles counts as one unit, so that a life is about as long as a chain's.
    return unit[later], megacycles[later] * 100.0, (crack[later] - 0.90) / 0.70


CRACK_PRIOR = FamilyPrior(
    log_rate=float(np.log(0.09)), family_sd=1.0, bedding_distance=0.0, theta=ThetaPrior(offset_mean=0.0)
)


def one_cell(columns: tuple[np.ndarray, np.ndarray, np.ndarray], r: float, log_rate: float) -> FamilyData:
    unit, x, u = columns
    n = int(unit.max()) + 1
    table = ReadingTable.from_columns(n, unit, x, np.full(x.size, r), y=u)
    return FamilyData(table, np.zeros(n, int), np.array([log_rate]))


def test_a_growing_crack_leaves_the_straight_line():
    data = one_cell(alloy(), 0.01, CRACK_PRIOR.log_rate)
    shape = chosen_shape(data, CRACK_PRIOR, Silent())
    assert shape.acceleration > 0.0
    assert shape.onset == 0.0


def test_with_nine_parts_the_path_stays_straight():
    # Nine cracks show it as clearly, but nine chains might owe it to two of them: below ten nobody is asked.
    unit, x, u = alloy()
    nine, ten = (
        one_cell((unit[unit < n], x[unit < n], u[unit < n]), 0.01, CRACK_PRIOR.log_rate) for n in (9, 10)
    )
    assert chosen_shape(nine, CRACK_PRIOR, Silent()).is_straight
    assert chosen_shape(ten, CRACK_PRIOR, Silent()).acceleration > 0.0


@pytest.mark.slow
def test_a_growing_crack_is_forecast_at_half_its_life():
    columns = alloy()
    error, _ = errors_at(0.5, crossings(*columns, 1.0), columns, 0.01, CRACK_PRIOR, is_straight=False)
    straight, _ = errors_at(0.5, crossings(*columns, 1.0), columns, 0.01, CRACK_PRIOR, is_straight=True)
    assert error <= 0.04
    assert straight > 0.25


def test_metal_that_wears_ever_more_slowly_leaves_the_straight_line():
    unit, cycles, wear = published("metal_wear.csv", "unit", "cycles", "wear_um")
    data = one_cell((unit, cycles / 50.0, wear / 50.0), 0.03, float(np.log(0.05)))
    prior = FamilyPrior(log_rate=float(np.log(0.05)), family_sd=1.0, bedding_distance=0.0)
    shape = chosen_shape(data, prior, Silent())
    assert shape.power == 0.5


def test_lasers_stay_straight():
    # The path model of the book is a straight line for each laser.
    unit, x, increase = laser_readings()
    data = one_cell((unit, x, increase), 0.018, float(np.log(0.2)))
    prior = FamilyPrior(log_rate=float(np.log(0.2)), family_sd=1.0, bedding_distance=0.0)
    assert chosen_shape(data, prior, Silent()).is_straight
