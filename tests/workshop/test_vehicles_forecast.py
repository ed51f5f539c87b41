"""What is entered of a vehicle's life, its duty and the times it stood, reaches the forecast."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from tests.makers.bench import TODAY, add_motorcycle, empty_bench
from wearlog.fleet.reading import Measurand
from wearlog.fleet.vehicle import Duty
from wearlog.workshop.predict import trend_snapshot
from wearlog.workshop.trend_snapshot import MEDIAN
from wearlog.workshop.vehicles import save_vehicle, vehicle_snapshot
from wearlog.workshop.vehicles_draft import LayUpDraft


@pytest.fixture
def bench(tmp_path):
    bench = empty_bench(tmp_path / "bench.sqlite", TODAY)
    yield bench
    bench.database.close()


@pytest.fixture
def chain(bench):
    return add_motorcycle(bench, readings=[(500.0, 0.001), (2000.0, 0.003), (3500.0, 0.005)])


def at_the_limit(bench, chain):
    """Use and day at which the chain reaches its limit, by the median."""
    shown = trend_snapshot(bench, chain.vehicle_id, chain.id, Measurand.CHAIN_ELONGATION)
    return shown.limit_use[MEDIAN], shown.limit_days[MEDIAN]


def entered(bench, chain, **values):
    draft = vehicle_snapshot(bench, chain.vehicle_id).draft
    save_vehicle(bench, replace(draft, **values))


def test_a_harder_duty_from_now_on_brings_the_limit_nearer(bench, chain):
    use, _day = at_the_limit(bench, chain)
    entered(bench, chain, duty=Duty.OFF_ROAD, duty_from=TODAY - timedelta(days=10))
    assert at_the_limit(bench, chain)[0] < use


def test_days_in_which_it_will_stand_put_the_limit_off(bench, chain):
    use, day = at_the_limit(bench, chain)
    stands = LayUpDraft(key=9, from_on=TODAY, until_on=TODAY + timedelta(days=60), reason="winter")
    entered(bench, chain, lay_ups=(stands,))
    later = at_the_limit(bench, chain)
    assert later[0] == pytest.approx(use, rel=0.02)
    assert date.fromordinal(int(later[1])) >= date.fromordinal(int(day)) + timedelta(days=30)
