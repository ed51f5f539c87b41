"""What a workshop would expect of a forecast where the life of a part is not smooth, each with its reason."""

import numpy as np
import pytest

from tests.forecast.worlds import NAN, PLAIN_LAW, PLAIN_PRIOR, SHOP_PRIOR, fleet
from wearlog.forecast.crossing import crossing_quantiles, past_probability, remaining_quantiles
from wearlog.forecast.dates import HOURS_PER_X, KM_PER_X, date_distribution, distance_ahead
from wearlog.forecast.family import FamilyData, FamilyFit, fit_family, refresh_family, update_part
from wearlog.forecast.law import RatePrior, Theta, WearLaw
from wearlog.forecast.next_reading import next_reading_cdf
from wearlog.forecast.posterior import part_posterior, wear_mean_sd, wear_quantiles
from wearlog.forecast.prior import FamilyPrior
from wearlog.forecast.readings import ReadingTable, one_part
from wearlog.forecast.season import OperationalDays
from wearlog.forecast.shape import STRAIGHT
from wearlog.forecast.suspect import suspect_probability
from wearlog.forecast.usage import NEW_SHOP_HOURS, NEW_SHOP_KM, MeterIntervals, fit_usage

X = np.arange(1.0, 9.0)
#: Five thousand km on the road at 0.08 a thousand, then three in sand at twice that.
TO_SAND = 0.05 + 0.08 * X + 0.08 * np.maximum(X - 5.0, 0.0)
#: Five thousand km with dry chain at 0.12 a thousand, then three well greased at half that.
TO_GREASE = 0.05 + 0.12 * X - 0.06 * np.maximum(X - 5.0, 0.0)


def median_left(y, n) -> float:
    after = part_posterior(one_part(X[:n], 0.04, y=y[:n]), PLAIN_PRIOR, PLAIN_LAW)
    return float(remaining_quantiles(after, [0.5])[0, 0])


def test_a_part_nobody_has_read_lasts_as_its_like_do_and_nobody_knows_better():
    # The fleet's own chains say how long; that they differ by a factor of four says how sure.
    made = fleet(np.random.default_rng(12), 200, readings=(4, 8), n_cells=1, gauges=0.0)
    fit = fit_family(made.data, SHOP_PRIOR, shape=STRAIGHT)
    unread = part_posterior(one_part([], 0.06, y=[]), fit.new_part_prior(0), fit.law)
    low, median, high = crossing_quantiles(unread, [0.1, 0.5, 0.9])[0]
    lives = (1.0 - made.offset) / made.rate
    assert (low, median, high) == pytest.approx(np.quantile(lives, [0.1, 0.5, 0.9]), rel=0.15)
    # A shop without any readings believes the engineering range, which is wider.
    nobody = fit_family(
        FamilyData(one_part([], 0.06, y=[]), np.zeros(1, int), np.array([SHOP_PRIOR.log_rate])), SHOP_PRIOR
    )
    guessed = crossing_quantiles(nobody.posterior, [0.1, 0.5, 0.9])[0]
    assert guessed[1] == pytest.approx((1.0 - 0.05) / 0.16, rel=0.05)
    assert guessed[2] / guessed[0] > high / low


def test_readings_that_fall_do_not_heal_the_part():
    # 0.5, then 0.35: the first was too high or the second too low, but nothing has grown back.
    readings = one_part([1.0, 3.0], 0.06, y=[0.5, 0.35])
    falling = part_posterior(readings, PLAIN_PRIOR, PLAIN_LAW)
    wear, _ = wear_mean_sd(falling, [3.0, 5.0])
    assert wear[0, 0] > 0.35
    assert wear[0, 1] > wear[0, 0] + 0.05
    # If the first is right the part is past its limit, and that is said; two that agree leave no doubt.
    agreeing = part_posterior(one_part([1.0, 3.0], 0.06, y=[0.2, 0.45]), PLAIN_PRIOR, PLAIN_LAW)
    assert 0.05 < past_probability(falling)[0] < 0.2
    assert past_probability(agreeing)[0] < 1e-3
    assert suspect_probability(readings, PLAIN_PRIOR, PLAIN_LAW).max() > 0.5


def test_one_misreading_among_five_hardly_moves_the_date():
    # A digit slipped: 1.2 for 0.5. It is leaned on by next to nothing, and asked about.
    x, good = X[:5], np.array([0.18, 0.34, 0.50, 0.66, 0.82])
    bad = np.where(np.arange(5) == 2, 1.2, good)
    clean, spoilt = (
        crossing_quantiles(part_posterior(one_part(x, 0.04, y=y), PLAIN_PRIOR, PLAIN_LAW), [0.1, 0.5, 0.9])[0]
        for y in (good, bad)
    )
    assert spoilt == pytest.approx(clean, rel=0.03)
    assert suspect_probability(one_part(x, 0.04, y=bad), PLAIN_PRIOR, PLAIN_LAW)[0, 2] > 0.9


def test_a_harder_duty_in_mid_life_brings_the_date_forward_reading_by_reading():
    # One rate per part: the forecast cannot know of the change, but each reading under it tells more.
    crossing = np.array([n + median_left(TO_SAND, n) for n in (5, 6, 7, 8)])
    assert np.all(np.diff(crossing) < -0.5)
    # Straight on from the last reading in sand the limit is reached at 8 + (1 - 0.93) / 0.16; it comes late.
    truth = 8.0 + (1.0 - TO_SAND[7]) / 0.16
    assert crossing[0] > 1.35 * truth
    assert truth < crossing[3] < 1.07 * truth


def test_a_harder_duty_is_not_taken_for_misreadings():
    # Whoever reads right must not be told to read again.
    assert suspect_probability(one_part(X, 0.04, y=TO_SAND), PLAIN_PRIOR, PLAIN_LAW).max() < 0.2


def test_a_change_of_duty_that_is_known_is_told_by_weighing_the_distance():
    # A thousand km in sand count as two on the road, and the path is straight again.
    weighed = X + np.maximum(X - 5.0, 0.0)
    after = part_posterior(one_part(weighed[:6], 0.04, y=TO_SAND[:6]), PLAIN_PRIOR, PLAIN_LAW)
    low, median, high = crossing_quantiles(after, [0.1, 0.5, 0.9])[0]
    truth = weighed[7] + (1.0 - TO_SAND[7]) / 0.08
    assert low < truth < high
    assert median == pytest.approx(truth, rel=0.06)


def test_a_better_lubricant_puts_the_date_off_by_less_than_it_will():
    # Good news is believed slowly: a date too early costs a look, one too late a chain.
    left = median_left(TO_GREASE, 8)
    at_old_pace, at_new_pace = (1.0 - TO_GREASE[7]) / 0.12, (1.0 - TO_GREASE[7]) / 0.06
    assert at_old_pace < left < at_new_pace


def test_a_shop_that_replaces_early_learns_the_same_rates():
    # Parts taken off at 0.6 by what was read have said what they know: nothing is missing, nothing is biased.
    rates = []
    for off_at in (0.6, np.inf):
        made = fleet(np.random.default_rng(3), 600, readings=(8, 8), off_at=off_at, gauges=0.0)
        fit = fit_family(made.data, SHOP_PRIOR, shape=STRAIGHT)
        rates.append(np.array([fit.new_part_prior(cell).mean[0] for cell in range(6)]))
        # A hundred parts a cell with spread 0.45: standard error 0.045 and what the readings leave open.
        assert rates[-1] == pytest.approx(made.cell_mean, abs=0.16)
        assert fit.tau == pytest.approx(0.45, abs=0.06)
    assert rates[0] == pytest.approx(rates[1], abs=0.08)


def test_parts_that_came_off_early_at_random_are_no_evidence_of_short_lives():
    made = fleet(np.random.default_rng(4), 500, readings=(8, 8), gauges=0.0)
    keep = np.random.default_rng(5).integers(1, 9, 500)
    early = FamilyData(made.data.readings.until(keep), made.data.cell, made.data.engineering_mean)
    whole = fit_family(made.data, SHOP_PRIOR, shape=STRAIGHT)
    part = fit_family(early, SHOP_PRIOR, shape=STRAIGHT)
    for cell in range(6):
        assert part.new_part_prior(cell).mean[0] == pytest.approx(
            whole.new_part_prior(cell).mean[0], abs=0.12
        )


@pytest.fixture(scope="module")
def lone() -> FamilyFit:
    """A shop with one chain, well read, that wears at half the pace of the engineering range."""
    y = 0.05 + 0.08 * X
    return fit_family(
        FamilyData(one_part(X, 0.04, y=y), np.zeros(1, dtype=int), np.array([SHOP_PRIOR.log_rate])),
        SHOP_PRIOR,
    )


def test_one_part_moves_the_belief_about_the_next_but_does_not_settle_it(lone):
    told = lone.new_part_prior(0)
    engineering = SHOP_PRIOR.log_rate
    assert np.log(0.08) < told.mean[0] < engineering
    # The next chain may differ as chains do, by a factor of some 1.5 either way at least.
    assert told.sd[0] > 0.45


def test_one_parts_own_forecast_rests_on_its_own_readings(lone):
    # What it is worth: 1 is reached at (1 - 0.05) / 0.08.
    assert crossing_quantiles(lone.posterior, [0.5])[0, 0] == pytest.approx(11.9, rel=0.06)


def test_one_reading_of_a_part_of_unknown_history_says_nothing_of_its_pace():
    # 0.6 may be old wear as well as new: only the next reading tells them apart.
    one = part_posterior(one_part([1.0], 0.04, y=[0.6], has_unknown_history=True), PLAIN_PRIOR, PLAIN_LAW)
    two = part_posterior(
        one_part([1.0, 4.0], 0.04, y=[0.6, 0.75], has_unknown_history=True), PLAIN_PRIOR, PLAIN_LAW
    )
    fresh = part_posterior(one_part([1.0], 0.04, y=[0.6]), PLAIN_PRIOR, PLAIN_LAW)
    assert one.log_rate_sd[0] > 0.9 * PLAIN_PRIOR.sd[0]
    assert two.log_rate_sd[0] < 0.7 * PLAIN_PRIOR.sd[0]
    # On a part known to be new, the same reading means a very fast one or a wrong one.
    assert fresh.log_rate_mean[0] > one.log_rate_mean[0] + 0.1
    assert wear_mean_sd(one, [1.0])[0][0, 0] == pytest.approx(0.6, abs=0.03)


def test_hours_and_kilometres_give_the_same_date():
    # The same vehicle at a steady 30 km/h, once with an hour meter: 100 h are 3000 km.
    km, hours = [1.0, 2.5, 4.0], np.array([1.0, 2.5, 4.0]) / 3.0
    y = [0.22, 0.45, 0.71]
    by_km = part_posterior(one_part(km, 0.06, y=y), PLAIN_PRIOR, PLAIN_LAW)
    by_hours = part_posterior(
        one_part(hours, 0.06, y=y), RatePrior.of(PLAIN_PRIOR.mean + np.log(3.0), PLAIN_PRIOR.sd), PLAIN_LAW
    )
    days = np.arange(0, 210, 30)
    use_km = fit_usage(MeterIntervals.from_entries([1] * 7, days, 20.0 * days), NEW_SHOP_KM)
    use_hours = fit_usage(MeterIntervals.from_entries([1] * 7, days, 20.0 / 30.0 * days), NEW_SHOP_HOURS)
    levels = [0.1, 0.5, 0.9]
    p = (np.arange(50) + 0.5) / 50
    date_km = date_distribution(distance_ahead(crossing_quantiles(by_km, p)[0], 4.0, KM_PER_X), use_km)
    date_hours = date_distribution(
        distance_ahead(crossing_quantiles(by_hours, p)[0], 4.0 / 3.0, HOURS_PER_X), use_hours
    )
    # The two starting beliefs about use differ by their rounding, 7 h for 200 km.
    assert date_hours.days_at(levels) == pytest.approx(date_km.days_at(levels), rel=0.02)


def test_a_vehicle_that_stood_still_has_not_worn():
    # Two readings a year apart at one distance are two looks at the same wear, and the second sharpens it.
    once = part_posterior(one_part([1.0, 3.0], 0.08, y=[0.2, 0.5]), PLAIN_PRIOR, PLAIN_LAW)
    again = part_posterior(one_part([1.0, 3.0, 3.0], 0.08, y=[0.2, 0.5, 0.5]), PLAIN_PRIOR, PLAIN_LAW)
    (mean_once, sd_once), (mean_again, sd_again) = wear_mean_sd(once, [3.0]), wear_mean_sd(again, [3.0])
    assert mean_again[0, 0] == pytest.approx(mean_once[0, 0], abs=0.03)
    assert sd_again[0, 0] < sd_once[0, 0]
    assert again.x_last[0] == 3.0


def test_a_year_without_use_moves_the_date_and_not_the_distance():
    days = np.array([0, 60, 120, 180, 545])
    moving = fit_usage(MeterIntervals.from_entries([1] * 4, days[:4], 20.0 * days[:4]))
    stood = fit_usage(MeterIntervals.from_entries([1] * 5, days, 20.0 * np.minimum(days, 180)))
    declared = fit_usage(
        MeterIntervals.from_entries([1] * 5, days, 20.0 * np.minimum(days, 180)),
        clock=OperationalDays(lay_ups=((180, 545),)),
    )
    ahead = np.linspace(800.0, 1600.0, 50)
    due = [float(date_distribution(ahead, use).days_at([0.5])[0]) for use in (moving, stood, declared)]
    # Undeclared, the standstill is part of how it is used; declared, it is not.
    assert due[1] > 1.3 * due[0]
    assert due[2] < 0.8 * due[1]


def test_a_reading_past_the_limit_is_due_now_and_stays_so():
    after = part_posterior(one_part([2.0, 6.0], 0.05, y=[0.4, 1.25]), PLAIN_PRIOR, PLAIN_LAW)
    assert past_probability(after)[0] > 0.98
    use = fit_usage(MeterIntervals.from_entries([1, 1, 1], [0, 50, 100], [0.0, 1000.0, 2000.0]))
    dates = date_distribution(distance_ahead(crossing_quantiles(after, [0.1, 0.5, 0.9])[0], 6.0), use)
    assert dates.due_day(0.1, last_entry_day=500, today=530) == 530


def test_a_worn_chain_replaced_is_a_new_part_and_not_a_chain_that_healed():
    # Entered as one part the fall is called suspect; as two parts there is nothing to ask.
    x, y = [2.0, 4.0, 6.0, 7.0, 8.0], [0.3, 0.55, 0.8, 0.1, 0.2]
    as_one = suspect_probability(one_part(x, 0.04, y=y), PLAIN_PRIOR, PLAIN_LAW)
    assert as_one[0, 3:].min() > 0.5
    two = ReadingTable.from_columns(2, [0, 0, 0, 1, 1], [2.0, 4.0, 6.0, 1.0, 2.0], np.full(5, 0.04), y=y)
    prior = RatePrior.of(np.full(2, PLAIN_PRIOR.mean[0]), 0.6)
    assert suspect_probability(two, prior, PLAIN_LAW).max() < 0.2


def test_a_reading_voided_leaves_as_if_it_had_never_been():
    made = fleet(np.random.default_rng(8), 40, readings=(3, 6), gauges=0.0)
    fit = fit_family(made.data, SHOP_PRIOR, shape=STRAIGHT)
    readings = made.data.readings
    clean = readings.take([0])
    n = int(clean.count[0])
    wild = one_part(
        np.append(clean.x[0, :n], clean.x[0, n - 1] + 0.2),
        np.append(clean.r[0, :n], 0.05),
        y=np.append(clean.y[0, :n], 2.5),
    )
    with_it, without = (crossing_quantiles(update_part(fit, one, part=0)) for one in (wild, clean))
    # While it stands it hardly counts; once voided, not at all.
    assert with_it[0, 3] == pytest.approx(without[0, 3], rel=0.05)
    again = refresh_family(fit, made.data)
    assert crossing_quantiles(again.posterior)[0] == pytest.approx(without[0], rel=0.01)


def test_a_gauge_that_has_always_passed_tells_that_the_part_is_not_worn():
    passed = one_part(X[:5], 0.05, y=[NAN] * 5, lo=[-np.inf] * 5, hi=[0.5] * 5)
    after = part_posterior(passed, PLAIN_PRIOR, PLAIN_LAW)
    nothing = part_posterior(one_part([], 0.05, y=[]), PLAIN_PRIOR, PLAIN_LAW)
    assert crossing_quantiles(after, [0.1])[0, 0] > crossing_quantiles(nothing, [0.1])[0, 0] + 2.0
    # How slow it is nobody knows: slow rates stay as likely as they were to one another.
    assert after.log_rate_sd[0] > 0.3


def test_a_family_prior_far_off_is_outvoted_by_the_shop():
    # Off by a factor of three: about one well-read part in weight, so that thirty settle it.
    made = fleet(np.random.default_rng(9), 30, readings=(4, 6), n_cells=1, gauges=0.0)
    far = FamilyPrior(log_rate=float(np.log(0.16 * 3.0)), family_sd=0.6, bedding_distance=0.0)
    data = FamilyData(made.data.readings, made.data.cell, np.array([far.log_rate]))
    found = fit_family(data, far, shape=STRAIGHT).new_part_prior(0).mean[0]
    assert found == pytest.approx(np.log(made.rate).mean(), abs=0.15)


def test_a_new_chain_is_not_told_to_have_bedded_in_already():
    """Bedding-in stretches a chain within its first few hundred km; common practice, no source."""
    law = WearLaw(theta=Theta(0.10, 0.03, 0.015, 1.0), bedding_distance=0.3)
    after = part_posterior(one_part([], 0.06, y=[]), RatePrior.of(np.log(0.16), 0.3), law)
    new, later, bedded = wear_quantiles(after, [0.0, 0.3, 3.0], [0.5])[0, :, 0]
    assert new == pytest.approx(0.0, abs=1e-3)
    # By hand: 0.10 less a share of 1/e, and 0.16 * 0.3 worn.
    assert later == pytest.approx(0.10 * (1.0 - np.exp(-1.0)) + 0.048, abs=0.004)
    assert bedded == pytest.approx(0.10 + 0.48, abs=0.01)
    # What it shows is what an exact reading would find.
    for x, shown in ((0.0, new), (0.3, later), (3.0, bedded)):
        assert next_reading_cdf(after, x, shown, 1e-6)[0] == pytest.approx(0.5, abs=0.005)
    # Tolerance and bedding-in are not told apart, so the spread of both counts at a new chain.
    assert wear_mean_sd(after, [0.0])[1][0, 0] == pytest.approx(0.03 * np.sqrt(2.0), abs=1e-6)
