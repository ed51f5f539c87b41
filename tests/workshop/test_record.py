"""The fleet's own record, on the sample fleet and on fleets whose differences are known."""

import math
import shutil

import numpy as np
import pytest
from scipy.stats import binomtest

from tests.makers.bench import SAMPLE_DAY, add_motorcycle, add_types
from tests.makers.record import USUAL_RATE, add_cared_for
from wearlog.fleet.problem import Cancelled
from wearlog.fleet.reading import Measurand
from wearlog.forecast.checks import Checks
from wearlog.store.database import Database
from wearlog.workshop.bench import Bench, FixedClock
from wearlog.workshop.learn import learned
from wearlog.workshop.record import record_snapshot
from wearlog.workshop.record_backtest import (
    reliability_of_distances,
    reliability_of_readings,
)
from wearlog.workshop.record_snapshot import Factor


def chains(snapshot):
    return next(kind for kind in snapshot.kinds if kind.measurand is Measurand.CHAIN_ELONGATION)


def checks(levels, parts):
    n = len(levels)
    other = np.zeros(n)
    return Checks(np.array(parts), np.zeros(n, dtype=np.int64), np.array(levels), other, other, other)


# --- what forecasts were worth ----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def records(sample_file, tmp_path_factory):
    """The careful and the quick record of the sample fleet, and how many readings it has."""
    copy = tmp_path_factory.mktemp("record") / "sample.sqlite"
    shutil.copy(sample_file, copy)
    clock = FixedClock(SAMPLE_DAY)
    database = Database.open(copy, now=clock.now())
    bench = Bench(database, "Tilda", clock)
    read = sum(int((family.read.ids > 0).sum()) for family in learned(bench).families.values())
    yield record_snapshot(bench), record_snapshot(bench, is_honest=False), read
    database.close()


def test_every_reading_of_the_sample_fleet_is_predicted_again(records):
    *both, read = records
    for snapshot in both:
        assert snapshot.readings.n_checks == read == sum(kind.n_readings for kind in snapshot.kinds)
        assert snapshot.today == SAMPLE_DAY
    assert [snapshot.is_honest for snapshot in both] == [True, False]


def test_intervals_of_the_sample_fleet_are_not_far_from_their_promise(records):
    told = records[0].readings.told
    # One seed of a fleet whose laws are not the model's: only a gross failure shows here.
    assert [one.share for one in told] == pytest.approx([one.width for one in told], abs=0.12)


def test_the_forecast_of_chains_misses_by_less_than_a_line_through_the_readings(records):
    judged = chains(records[0]).readings
    assert judged.median_error < judged.line_error


def test_km_and_running_hours_have_records_of_their_own(records):
    keys = [kind.key for kind in records[0].kinds]
    assert len(keys) == len(set(keys))
    assert {kind.use_unit for kind in records[0].kinds} == {"km", "h"}
    hours = [kind for kind in records[0].kinds if kind.use_unit == "h"]
    assert all(kind.n_parts < 20 for kind in hours)


def test_the_uncertainty_of_a_share_is_that_of_the_binomial_law():
    rng = np.random.default_rng(1)
    judged = reliability_of_readings(checks(rng.random(150), rng.integers(0, 30, 150)))
    for one in judged.told:
        hits = round(one.share * one.n)
        wilson = binomtest(hits, one.n).proportion_ci(method="wilson")
        exact = binomtest(hits, one.n).proportion_ci(method="exact")
        assert (one.low, one.high) == pytest.approx((wilson.low, wilson.high))
        # C. J. Clopper, E. S. Pearson, Biometrika 26, 1934, 404-413: never too narrow, so a little wider.
        assert exact.low - 0.02 <= one.low
        assert one.high <= exact.high + 0.02


def test_many_forecasts_of_one_distance_count_as_one_part():
    levels = np.tile([0.5, 0.5, 0.5, 0.97], 10)
    judged = reliability_of_distances(checks(levels, np.repeat(np.arange(8), 5)))
    eighty = judged.held(0.80)
    parts = binomtest(6, 8).proportion_ci(method="wilson")
    assert eighty.share == 0.75
    assert (eighty.low, eighty.high) == pytest.approx((parts.low, parts.high))
    assert (judged.n_checks, judged.n_parts) == (40, 8)


def test_spells_of_one_belt_are_one_part(records):
    snapshot = records[1]
    assert snapshot.readings.n_parts == sum(kind.readings.n_parts for kind in snapshot.kinds)
    belts = next(kind for kind in snapshot.kinds if kind.measurand is Measurand.BELT_TENSION)
    assert belts.rate.n_parts > belts.n_parts >= belts.readings.n_parts


def test_a_record_is_worked_out_once_for_each_change(bench):
    types = add_types(bench)
    add_motorcycle(bench, "LR-001", [(1000.0, 0.001)], types=types)
    first = record_snapshot(bench)
    assert record_snapshot(bench) is first
    add_motorcycle(bench, "LR-002", [(1000.0, 0.001)], types=types)
    assert record_snapshot(bench) is not first


def test_the_work_can_be_stopped(bench):
    add_motorcycle(bench, "LR-001", [(1000.0, 0.001), (2000.0, 0.003)])

    class Stop:
        def step(self, done, total, _what):
            if done > total // 2:
                raise Cancelled

    with pytest.raises(Cancelled):
        record_snapshot(bench, progress=Stop())


def test_progress_goes_forward_to_its_end(bench):
    add_motorcycle(bench, "LR-001", [(1000.0, 0.001), (2000.0, 0.003)])
    told = []

    class Listen:
        def step(self, done, total, what):
            told.append((done / total, what))

    learned(bench)
    record_snapshot(bench, progress=Listen())
    shares = [share for share, _what in told]
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert all(what for _share, what in told)


# --- small fleets -----------------------------------------------------------------------------------------


def test_an_empty_workshop_has_an_empty_record(bench):
    snapshot = record_snapshot(bench)
    assert snapshot.kinds == ()
    assert snapshot.readings.n_checks == 0
    assert math.isnan(snapshot.readings.held(0.8).share)


def test_one_vehicle_says_little_and_claims_nothing(bench):
    add_motorcycle(bench, "LR-001", [(1000.0, 0.002), (2500.0, 0.005), (3900.0, 0.007)])
    snapshot = record_snapshot(bench)
    chain = chains(snapshot)
    assert not chain.readings.is_telling
    assert chain.comparisons == {}
    assert not chain.rate.is_telling
    assert chain.survival.n_worn == 0
    assert math.isinf(chain.survival.median)


# --- lubricants and care ----------------------------------------------------------------------------------


def test_a_lubricant_that_halves_the_wear_is_found(bench):
    add_cared_for(bench, 2.0)
    compared = chains(record_snapshot(bench, is_honest=False)).comparisons[Factor.CARE]
    assert [rate.level for rate in compared.rates] == ["oil", "wax"]
    assert compared.verdict.is_told
    assert (compared.verdict.faster, compared.verdict.slower) == ("oil", "wax")
    assert compared.verdict.low < 2.0 < compared.verdict.high


def test_lubricants_that_do_the_same_are_not_told_apart(bench):
    add_cared_for(bench, 1.0)
    compared = chains(record_snapshot(bench, is_honest=False)).comparisons[Factor.CARE]
    assert not compared.verdict.is_told
    assert compared.verdict.low < 1.0 < compared.verdict.high


def test_the_lubricant_used_most_counts_whatever_its_capitals(bench):
    add_cared_for(bench, 1.5, each=4, products=("Wax", "wax"))
    assert Factor.CARE not in chains(record_snapshot(bench, is_honest=False)).comparisons


def test_chains_that_are_lubricated_more_often_are_told_from_the_others(bench):
    add_cared_for(bench, 2.0, products=("wax", "wax"), km_between=(400.0, 1200.0))
    chain = chains(record_snapshot(bench, is_honest=False))
    assert Factor.CARE not in chain.comparisons
    verdict = chain.comparisons[Factor.CARE_INTERVAL].verdict
    assert verdict.is_told
    assert verdict.faster.startswith(">")


def test_where_nothing_was_noted_nothing_is_compared(bench):
    add_motorcycle(bench, "LR-001", [(1000.0, 0.002)])
    factors = chains(record_snapshot(bench)).comparisons
    assert not {Factor.CARE, Factor.CARE_INTERVAL, Factor.LOT} & set(factors)


def test_rates_are_near_the_true_ones(bench):
    add_cared_for(bench, 1.0)
    rate = chains(record_snapshot(bench, is_honest=False)).rate
    family = next(f for key, f in learned(bench).families.items() if key[0] is Measurand.CHAIN_ELONGATION)
    true = USUAL_RATE / family.items[0].span
    assert rate.low < true < rate.high
    assert rate.rate == pytest.approx(true, rel=0.15)


def test_what_came_later_makes_forecasts_look_better_than_they_were(bench):
    """With the rest of the fleet known to this day, first readings are foretold more closely."""
    add_cared_for(bench, 1.0)
    honest, quick = record_snapshot(bench), record_snapshot(bench, is_honest=False)
    assert quick.readings.n_checks == honest.readings.n_checks
    assert quick.readings.median_error < honest.readings.median_error
