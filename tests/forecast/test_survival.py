"""Survival by distance, against the examples of the papers it comes from."""

import math

import numpy as np
import pytest

from wearlog.forecast.survival import kaplan_meier

# Weeks in remission of 21 patients on 6-MP; E. J. Freireich et al., Blood 21, 1963, 699-716, as used by
# E. A. Gehan, Biometrika 52, 1965, 203-223, and in every text book since. Data and values from memory.
SIX_MP = (6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35)
RELAPSED = (1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0)


def test_the_eight_items_of_kaplan_and_meier():
    # J. American Statistical Association 53, 1958, section 1: deaths at 0.8, 3.1, 5.4, 9.2; losses between.
    curve = kaplan_meier([0.8, 1.0, 2.7, 3.1, 5.4, 7.0, 9.2, 12.1], [1, 0, 0, 1, 1, 0, 1, 0])
    assert curve.x.tolist() == [0.8, 3.1, 5.4, 9.2]
    assert curve.at_risk.tolist() == [8, 5, 4, 2]
    assert curve.survival == pytest.approx([0.875, 0.70, 0.525, 0.2625])


def test_remission_on_six_mercaptopurine():
    # J. P. Klein, M. L. Moeschberger, Survival Analysis, 2nd ed. 2003, table 4.1B; from memory.
    curve = kaplan_meier(SIX_MP, RELAPSED)
    assert curve.x.tolist() == [6, 7, 10, 13, 16, 22, 23]
    assert curve.at_risk.tolist() == [21, 17, 15, 12, 11, 7, 6]
    assert curve.failed.tolist() == [3, 1, 1, 1, 1, 1, 1]
    assert curve.survival == pytest.approx([0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448], abs=6e-4)
    assert curve.u_survival == pytest.approx(
        [0.0764, 0.0869, 0.0963, 0.1068, 0.1141, 0.1282, 0.1346], abs=6e-5
    )
    assert curve.quantile(0.5) == 23.0
    assert (curve.n_parts, curve.n_failed, curve.x_last) == (21, 9, 35.0)


def test_intervals_of_the_remission_example():
    # lifelines 0.30.3, KaplanMeierFitter, intervals on the ln(-ln) scale; worked out once.
    low, high = kaplan_meier(SIX_MP, RELAPSED).interval(0.95)
    assert low == pytest.approx(
        [0.619718, 0.563147, 0.503200, 0.431610, 0.367511, 0.267779, 0.188052], abs=1e-6
    )
    assert high == pytest.approx(
        [0.951552, 0.922809, 0.889362, 0.849066, 0.804912, 0.746791, 0.680143], abs=1e-6
    )


def worn_and_removed() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return distance, whether worn out, and distance when it came; rounded, and the farthest runs on."""
    rng = np.random.default_rng(60)
    life = np.round(rng.weibull(2.0, 500) * 20.0, 1) + 0.1
    removal = np.round(rng.uniform(1.0, 40.0, 500), 1)
    entry = np.round(np.where(rng.random(500) < 0.3, rng.uniform(0.0, 8.0, 500), 0.0), 2)
    x = np.minimum(life, removal)
    seen = x > entry
    return np.append(x[seen], 60.0), np.append((life <= removal)[seen], False), np.append(entry[seen], 0.0)


@pytest.mark.slow
@pytest.mark.parametrize("is_used", [False, True], ids=["all new", "some bought used"])
def test_five_hundred_parts_agree_with_another_library(is_used):
    # statsmodels, SurvfuncRight; lifelines 0.30.3 gave the same to 5e-15, intervals too, when it was tried.
    from statsmodels.duration.survfunc import SurvfuncRight

    x, is_worn, entry = worn_and_removed()
    start = entry if is_used else None
    curve = kaplan_meier(x, is_worn, start)
    other = SurvfuncRight(x, is_worn.astype(int), entry=start)
    assert curve.x == pytest.approx(other.surv_times, abs=1e-12)
    assert curve.at_risk == pytest.approx(other.n_risk)
    assert curve.survival == pytest.approx(other.surv_prob, abs=1e-12)
    assert curve.u_survival == pytest.approx(other.surv_prob_se, abs=1e-12)
    assert curve.quantile(0.5) == pytest.approx(other.quantile(0.5))
    assert curve.quantile_interval(0.5) == pytest.approx(other.quantile_ci(0.5))


def test_the_median_has_an_end_out_of_sight_while_few_have_failed():
    low, high = kaplan_meier(SIX_MP, RELAPSED).quantile_interval(0.5)
    assert low == 13.0
    assert math.isinf(high)


def test_without_early_removals_the_curve_is_the_share_still_good():
    x = np.random.default_rng(1).weibull(2.0, 200)
    curve = kaplan_meier(x, np.ones(200, dtype=bool))
    at = np.quantile(x, [0.1, 0.5, 0.8])
    share = np.array([(x > one).mean() for one in at])
    assert curve.at(at) == pytest.approx(share, abs=1e-12)
    # Greenwood's uncertainty is then that of a plain share.
    steps = np.searchsorted(curve.x, at, side="right") - 1
    assert curve.u_survival[steps] == pytest.approx(np.sqrt(share * (1 - share) / 200), abs=1e-12)


def test_parts_taken_off_early_do_not_shorten_the_lives_of_the_others():
    rng = np.random.default_rng(2)
    life, removal = rng.weibull(2.0, 4000), rng.uniform(0.0, 2.0, 4000)
    curve = kaplan_meier(np.minimum(life, removal), life <= removal)
    at = np.array([0.3, 0.7, 1.2])
    # 4000 parts, about half of them followed to the end: standard errors about 0.01.
    assert curve.at(at) == pytest.approx(np.exp(-(at**2)), abs=0.04)


def test_parts_bought_used_are_at_risk_from_then_on():
    rng = np.random.default_rng(3)
    life, entry = rng.weibull(2.0, 20000), rng.uniform(0.0, 1.0, 20000)
    seen = life > entry
    naive = kaplan_meier(life[seen], np.ones(int(seen.sum()), dtype=bool)).at([0.5])[0]
    fair = kaplan_meier(life[seen], np.ones(int(seen.sum()), dtype=bool), entry[seen]).at([0.5])[0]
    assert fair == pytest.approx(np.exp(-0.25), abs=0.02)
    assert naive > fair + 0.05


def test_beyond_what_was_followed_nothing_is_claimed():
    curve = kaplan_meier([1.0, 2.0, 3.0], [1, 0, 0])
    assert np.isnan(curve.at([4.0])[0])
    assert curve.at([0.5, 1.0, 3.0]) == pytest.approx([1.0, 2 / 3, 2 / 3])
    assert math.isinf(curve.quantile(0.5))
    all_worn = kaplan_meier([1.0, 2.0], [1, 1])
    assert all_worn.at([9.0])[0] == 0.0
    assert all_worn.interval()[0][-1] == 0.0


def test_when_the_last_part_is_worn_nobody_becomes_certain():
    curve = kaplan_meier([1.0, 2.0, 3.0, 4.0], [1, 1, 1, 1])
    low, high = curve.interval()
    assert curve.survival[-1] == low[-1] == 0.0
    # The share that goes farther never rises: what bounds it after the third part bounds it after the last.
    assert high[-1] == high[-2] > 0.5
    # Half of four parts may well go beyond the fourth: there is no upper end of the median in sight.
    assert curve.quantile_interval(0.5) == (1.0 if low[0] <= 0.5 else 2.0, math.inf)


@pytest.mark.parametrize(("n", "upper"), [(1, 0.975), (10, 0.3085), (20, 0.1684)])
def test_all_worn_at_once_is_none_of_so_many(n, upper):
    # Exact 95 % limits of 0 of n, as in tables of the binomial: 0.3085 for 10, 0.1684 for 20; from memory.
    low, high = kaplan_meier(np.full(n, 5.0), np.ones(n, dtype=bool)).interval()
    assert low[-1] == 0.0
    assert high[-1] == pytest.approx(upper, abs=6e-5)


def test_the_interval_of_the_median_holds_where_all_parts_are_worn():
    # Twelve parts, all followed to the end; 95 % intervals hold in 95 of 100, 2000 drawings: within 0.015.
    rng = np.random.default_rng(12)
    half = math.log(2.0) ** 0.5
    held = []
    for _ in range(2000):
        low, high = kaplan_meier(rng.weibull(2.0, 12), np.ones(12, dtype=bool)).quantile_interval(0.5)
        held.append(low <= half <= high)
    assert np.mean(held) > 0.93


def test_no_parts_have_no_curve():
    curve = kaplan_meier([], [])
    assert curve.survival.size == 0
    assert math.isinf(curve.quantile(0.5))


def test_distances_that_cannot_be_are_named():
    with pytest.raises(ValueError, match="row 1, column x"):
        kaplan_meier([1.0, np.nan], [1, 0])
    with pytest.raises(ValueError, match="row 0, column x"):
        kaplan_meier([1.0], [1], [2.0])
    with pytest.raises(ValueError, match="column is_failed"):
        kaplan_meier([1.0, 2.0], [1])
