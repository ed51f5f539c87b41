"""A family fitted as a whole, kept, refreshed and asked part by part."""

import json

import numpy as np
import pytest

from tests.forecast.worlds import SHOP_PRIOR, Fleet, fleet
from wearlog.fleet.problem import Cancelled
from wearlog.forecast.crossing import crossing_quantiles
from wearlog.forecast.family import FamilyData, FamilyFit, fit_family, refresh_family, update_part
from wearlog.forecast.law import RatePrior, Theta
from wearlog.forecast.prior import FamilyPrior
from wearlog.forecast.rate_grid import integrate_rate
from wearlog.forecast.readings import ReadingTable
from wearlog.forecast.shape import STRAIGHT, PathShape


@pytest.fixture(scope="module")
def made() -> Fleet:
    return fleet(np.random.default_rng(42), 400, readings=(0, 8))


@pytest.fixture(scope="module")
def fit(made: Fleet) -> FamilyFit:
    return fit_family(made.data, SHOP_PRIOR, shape=STRAIGHT)


def test_the_rates_of_the_fleet_are_found(made, fit):
    error = fit.posterior.log_rate_mean - np.log(made.rate)
    z = error / fit.posterior.log_rate_sd
    # 400 parts: the mean of z lies within 4 standard errors, its spread within 15 %.
    assert abs(z.mean()) < 0.2
    assert z.std() == pytest.approx(1.0, abs=0.15)


def test_the_numbers_of_the_family_are_found():
    theta = Theta(0.08, 0.05, 0.02, 1.3)
    made = fleet(np.random.default_rng(7), 1500, theta=theta)
    found = fit_family(made.data, SHOP_PRIOR, shape=STRAIGHT)
    # About four standard errors at 1500 parts, the prior's pull included.
    assert found.law.theta.offset == pytest.approx(0.08, abs=0.02)
    assert found.law.theta.offset_sd == pytest.approx(0.05, rel=0.35)
    assert found.law.theta.process == pytest.approx(0.02, rel=0.35)
    assert found.law.theta.error_factor == pytest.approx(1.3, rel=0.06)
    assert found.tau == pytest.approx(0.45, rel=0.08)
    assert found.n_read_parts == 1500


def test_readings_twice_as_bad_as_stated_are_noticed():
    made = fleet(np.random.default_rng(9), 600, theta=Theta(0.05, 0.06, 0.015, 2.0), gauges=0.0)
    assert fit_family(made.data, SHOP_PRIOR, shape=STRAIGHT).law.theta.error_factor == pytest.approx(
        2.0, rel=0.12
    )


def test_with_a_few_parts_the_beliefs_decide():
    made = fleet(np.random.default_rng(1), 3, readings=(4, 4), gauges=0.0, gross=0.0)
    theta = fit_family(made.data, SHOP_PRIOR).law.theta
    believed = SHOP_PRIOR.theta.centre()
    assert theta.offset == pytest.approx(believed.offset, abs=0.10)
    assert 0.5 < theta.offset_sd / believed.offset_sd < 2.0
    assert 0.4 < theta.process / believed.process < 2.5
    assert 0.7 < theta.error_factor / believed.error_factor < 1.4


def test_yesterdays_theta_leads_to_the_same_fit(made, fit):
    again = fit_family(made.data, SHOP_PRIOR, previous=fit, shape=STRAIGHT)
    a, b = crossing_quantiles(fit.posterior, [0.5]), crossing_quantiles(again.posterior, [0.5])
    assert b == pytest.approx(a, rel=0.02)


def test_one_new_reading_needs_no_refit(made, fit):
    part = int(np.flatnonzero(made.data.readings.count == 4)[0])
    one = update_part(fit, made.data.readings.take([part]), part=part)
    assert crossing_quantiles(one)[0] == pytest.approx(crossing_quantiles(fit.posterior)[part], rel=1e-9)


def test_a_part_not_in_the_fit_brings_its_own_prior(made, fit):
    part = int(np.flatnonzero(made.data.readings.count == 4)[0])
    prior = fit.new_part_prior(int(made.data.cell[part]))
    after = update_part(fit, made.data.readings.take([part]), prior=prior)
    assert len(after) == 1
    with pytest.raises(ValueError, match="column part"):
        update_part(fit, made.data.readings.take([part]))


def test_a_fit_comes_back_from_its_numbers(made, fit):
    numbers = json.loads(json.dumps(fit.to_numbers()))
    back = FamilyFit.from_numbers(numbers, made.data)
    assert back.law == fit.law
    assert back.prior == fit.prior
    assert back.rate_prior().mean == pytest.approx(fit.rate_prior().mean, abs=1e-12)
    assert back.step.covariance == pytest.approx(np.array(numbers["covariance"]), abs=1e-12)
    assert crossing_quantiles(back.posterior) == pytest.approx(crossing_quantiles(fit.posterior), rel=1e-9)
    bare = FamilyFit.from_numbers(numbers)
    assert bare.new_part_prior(2).mean[0] == pytest.approx(fit.new_part_prior(2).mean[0], abs=1e-12)
    with pytest.raises(ValueError, match="brought back"):
        _ = bare.posterior
    with pytest.raises(ValueError, match="parts"):
        FamilyFit.from_numbers(
            numbers, FamilyData(made.data.readings.take([0]), made.data.cell[:1], np.zeros(6))
        )


def test_a_refresh_keeps_theta_and_takes_in_new_parts(made, fit):
    kept = np.arange(350)
    data = FamilyData(made.data.readings.take(kept), made.data.cell[kept], made.data.engineering_mean)
    fresh = refresh_family(fit, data)
    assert fresh.law == fit.law
    assert len(fresh.posterior) == 350
    assert fresh.tau == pytest.approx(fit.tau, rel=0.1)


def test_a_new_part_is_believed_to_wear_like_its_cell(made, fit):
    for cell in range(6):
        prior = fit.new_part_prior(cell)
        # Some 60 parts per cell: the mean is known to about 0.07, 4 standard errors.
        assert prior.mean[0] == pytest.approx(made.cell_mean[cell], abs=0.3)
        assert 0.4 < prior.sd[0] < 0.6
    assert fit.new_part_prior(None).sd[0] > fit.new_part_prior(0).sd[0]
    assert fit.similar_parts() == fit.n_read_parts
    assert sum(fit.similar_parts(cell) for cell in range(6)) == fit.n_read_parts


def test_a_known_vehicle_says_something_of_its_next_chain():
    made = fleet(np.random.default_rng(3), 900, n_vehicles=180, tau_vehicle=0.4, n_cells=2)
    found = fit_family(made.data, SHOP_PRIOR, shape=STRAIGHT)
    assert found.tau_vehicle == pytest.approx(0.4, abs=0.08)
    priors = [found.new_part_prior(0, vehicle=number).mean[0] for number in range(180)]
    assert np.corrcoef(priors, made.vehicle_effect)[0, 1] > 0.75
    assert found.new_part_prior(0, vehicle=5).sd[0] < found.new_part_prior(0).sd[0]
    assert found.new_part_prior(0, vehicle=9999).mean[0] == pytest.approx(found.new_part_prior(0).mean[0])


def test_the_order_of_the_parts_does_not_matter(made, fit):
    order = np.random.default_rng(0).permutation(400)
    data = FamilyData(made.data.readings.take(order), made.data.cell[order], made.data.engineering_mean)
    turned = fit_family(data, SHOP_PRIOR, shape=STRAIGHT)
    assert crossing_quantiles(turned.posterior) == pytest.approx(
        crossing_quantiles(fit.posterior)[order], rel=1e-8
    )


def test_blocks_and_padding_do_not_matter(made, fit):
    readings = made.data.readings
    law, prior = fit.law, fit.rate_prior()
    whole = integrate_rate(readings, prior, law)
    for block in (7, 133):
        pieces = integrate_rate(readings, prior, law, block=block)
        assert pieces.log_evidence == pytest.approx(whole.log_evidence, abs=1e-10)
        assert pieces.mean == pytest.approx(whole.mean, abs=1e-10)
        assert pieces.weight == pytest.approx(whole.weight, abs=1e-10)
    shorter = readings.take(np.flatnonzero(readings.count <= 3))
    assert shorter.x.shape[1] == 3
    alone = integrate_rate(shorter, prior.take(readings.count <= 3), law)
    assert alone.log_evidence == pytest.approx(whole.log_evidence[readings.count <= 3], abs=1e-10)


def test_units_of_distance_do_not_matter_to_a_whole_fleet(made):
    mile = 1.609344
    data = made.data
    in_miles = ReadingTable(
        x=data.readings.x / mile,
        y=data.readings.y,
        lo=data.readings.lo,
        hi=data.readings.hi,
        r=data.readings.r,
        count=data.readings.count,
        x_start=data.readings.x_start / mile,
        has_unknown_history=data.readings.has_unknown_history,
        row=data.readings.row,
    )
    km_prior = FamilyPrior(log_rate=float(np.log(0.16)), family_sd=0.6, bedding_distance=0.3)
    mile_prior = FamilyPrior(
        log_rate=float(np.log(0.16 * mile)), family_sd=0.6, bedding_distance=0.3 / mile, pivot=5.0 / mile
    )
    bent = PathShape(power=0.85), PathShape(power=0.85, pivot=5.0 / mile)
    a = fit_family(data, km_prior, shape=bent[0])
    b = fit_family(
        FamilyData(in_miles, data.cell, data.engineering_mean + np.log(mile)), mile_prior, shape=bent[1]
    )
    assert crossing_quantiles(b.posterior) * mile == pytest.approx(crossing_quantiles(a.posterior), rel=1e-6)


def test_the_same_readings_give_the_same_fit(made, fit):
    again = fit_family(made.data, SHOP_PRIOR, shape=STRAIGHT)
    assert np.array_equal(again.posterior.weight, fit.posterior.weight)


def test_parts_of_unknown_history_do_not_move_the_offset(made):
    data = made.data
    used = ReadingTable.from_columns(
        40,
        np.repeat(np.arange(40), 3),
        np.tile([1.0, 2.0, 3.0], 40),
        np.full(120, 0.05),
        y=np.tile([0.9, 1.06, 1.22], 40),
        has_unknown_history=np.ones(40, bool),
    )
    family = FamilyData(used, np.zeros(40, int), data.engineering_mean)
    assert fit_family(family, SHOP_PRIOR, shape=STRAIGHT).law.theta.offset == pytest.approx(0.05, abs=1e-3)


class StopsAtOnce:
    def step(self, done: int, total: int, what: str) -> None:
        raise Cancelled(done, total, what)


class Notes:
    def __init__(self) -> None:
        self.steps: list[tuple[int, int, str]] = []

    def step(self, done: int, total: int, what: str) -> None:
        self.steps.append((done, total, what))


def test_the_person_may_stop_a_refit(made):
    with pytest.raises(Cancelled):
        fit_family(made.data, SHOP_PRIOR, progress=StopsAtOnce())


def test_a_refit_says_how_far_it_is(made):
    notes = Notes()
    fit_family(made.data, SHOP_PRIOR, progress=notes, shape=STRAIGHT)
    assert all(done < total and what for done, total, what in notes.steps)
    assert [done for done, _, _ in notes.steps] == sorted(done for done, _, _ in notes.steps)


def test_columns_that_do_not_fit_are_named(made):
    readings = made.data.readings.take([0, 1])
    with pytest.raises(ValueError, match="row 1, column cell"):
        FamilyData(readings, np.array([0, 3]), np.zeros(2))
    with pytest.raises(ValueError, match="column vehicle"):
        FamilyData(readings, np.array([0, 1]), np.zeros(2), vehicle=np.array([1]))
    with pytest.raises(ValueError, match="row 0, column limit"):
        FamilyData(readings, np.array([0, 1]), np.zeros(2), limit=np.array([np.nan, 1.0]))
    with pytest.raises(ValueError, match="row 1, column engineering_mean"):
        FamilyData(readings, np.array([0, 1]), np.array([0.0, np.inf]))
    with pytest.raises(ValueError, match="row 0, column sd"):
        RatePrior.of(0.0, 0.0)
    with pytest.raises(ValueError, match="row 1, column mean"):
        RatePrior.of([0.0, np.nan], 0.5)
