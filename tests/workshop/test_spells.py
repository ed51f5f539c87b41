"""Duty changed in mid-life, and times in which a vehicle stood."""

import math
from dataclasses import replace
from datetime import timedelta

import pytest

from tests.makers.bench import KM_A_DAY, TODAY, add_motorcycle
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.reading import Measurand
from wearlog.fleet.spells import DutySpell, LayUp
from wearlog.fleet.vehicle import Duty, Vehicle
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.outlook import outlooks
from wearlog.workshop.trend_snapshot import MEDIAN
from wearlog.workshop.usage import vehicle_uses

STEADY = [(500, 0.0012), (1500, 0.0026), (2500, 0.0040), (3500, 0.0054)]
#: How much faster off the road is expected to be; assumption of the shipped priors, from no published source.
OFF_ROAD_TIMES = math.exp(0.7)


def outlook_of(bench, chain):
    return outlooks(bench)[chain.id, Measurand.CHAIN_ELONGATION]


def note_duty(bench, vehicle_id, *spells):
    """Note spells as pairs of days ago and duty; the last one is the duty now."""
    with bench.database.writing(by="Tilda", at=bench.now(), what="duty") as records:
        for days_ago, duty in spells:
            records.add(DutySpell(vehicle_id=vehicle_id, from_on=TODAY - timedelta(days=days_ago), duty=duty))
        records.replace(replace(records.get(Vehicle, vehicle_id), duty=spells[-1][1]))


def lay_up(bench, vehicle_id, days_ago, until_days_ago=None):
    until = None if until_days_ago is None else TODAY - timedelta(days=until_days_ago)
    with bench.database.writing(by="Tilda", at=bench.now(), what="lay-up") as records:
        records.add(LayUp(vehicle_id=vehicle_id, from_on=TODAY - timedelta(days=days_ago), until_on=until))


def test_sand_before_the_road_counts_twice(bench):
    chain = add_motorcycle(bench, readings=STEADY, km_on_chain=4000.0)
    # 200 days at 20 km: off the road for the first 2000 km, on the road since.
    note_duty(bench, chain.vehicle_id, (300, Duty.OFF_ROAD), (100, Duty.ROAD))
    exposed = outlook_of(bench, chain).item.exposed
    assert exposed.now == pytest.approx(1.0)
    assert float(exposed.exposed(3000.0)) == pytest.approx(2000.0 * OFF_ROAD_TIMES + 1000.0)


def test_a_duty_that_never_changed_counts_as_it_is(bench):
    chain = add_motorcycle(bench, readings=STEADY)
    note_duty(bench, chain.vehicle_id, (900, Duty.MIXED))
    assert outlook_of(bench, chain).item.exposed.is_usual


def test_a_change_that_was_noted_after_the_chain_came_does_not_touch_what_was_before_the_chain(bench):
    chain = add_motorcycle(bench, readings=STEADY, km_on_chain=4000.0)
    # The chain is 200 days old: the change lies before it.
    note_duty(bench, chain.vehicle_id, (600, Duty.OFF_ROAD), (300, Duty.ROAD))
    assert outlook_of(bench, chain).item.exposed.is_usual


def test_a_vehicle_that_goes_off_the_road_now_comes_to_its_limit_sooner(bench):
    stays = add_motorcycle(bench, "LR-001", STEADY, km_on_chain=4000.0)
    goes = add_motorcycle(bench, "LR-002", STEADY, km_on_chain=4000.0, types=types_of(bench))
    before = outlook_of(bench, goes)
    left_before = before.item.ahead_of(before.use.last_use, before.limit_x[MEDIAN])
    note_duty(bench, goes.vehicle_id, (300, Duty.ROAD), (0, Duty.OFF_ROAD))
    after = outlook_of(bench, goes)
    left_after = after.item.ahead_of(after.use.last_use, after.limit_x[MEDIAN])
    # The same wear so far, from here twice as fast; what the four readings say of this chain stays.
    assert float(left_after) == pytest.approx(float(left_before) / OFF_ROAD_TIMES, rel=0.1)
    assert outlook_of(bench, stays).item.exposed.is_usual


def types_of(bench):
    from wearlog.fleet.parts import PartType

    with bench.database.reading() as records:
        known = {one.name: one for one in records.all(PartType)}
    return {
        "chain": known["428 chain"],
        "driver": known["428 sprocket 14"],
        "driven": known["428 sprocket 42"],
    }


def test_days_laid_up_do_not_slow_a_vehicle_down(bench):
    chain = add_motorcycle(bench, readings=STEADY, km_on_chain=4000.0)
    vehicle_id = chain.vehicle_id
    total = fleet_state(bench).histories[vehicle_id].last.total_use
    with bench.database.writing(by="Tilda", at=bench.now(), what="meter") as records:
        # Another 90 days of which it stood 60: 600 km in the 30 that are left.
        records.add(
            MeterEntry(vehicle_id=vehicle_id, on=TODAY + timedelta(days=90), value=total + 30 * KM_A_DAY)
        )
    slow = vehicle_uses(bench)[vehicle_id].usage.rate
    with bench.database.writing(by="Tilda", at=bench.now(), what="lay-up") as records:
        records.add(
            LayUp(
                vehicle_id=vehicle_id,
                from_on=TODAY + timedelta(days=10),
                until_on=TODAY + timedelta(days=70),
            )
        )
    known = vehicle_uses(bench)[vehicle_id].usage.rate
    assert slow < 0.9 * known
    assert known == pytest.approx(KM_A_DAY, rel=0.1)


def test_a_planned_lay_up_puts_the_date_off_by_as_long(bench):
    chain = add_motorcycle(bench, readings=STEADY, km_on_chain=4000.0)
    before = outlook_of(bench, chain).limit_day[MEDIAN]
    with bench.database.writing(by="Tilda", at=bench.now(), what="lay-up") as records:
        records.add(
            LayUp(
                vehicle_id=chain.vehicle_id,
                from_on=TODAY + timedelta(days=1),
                until_on=TODAY + timedelta(days=61),
            )
        )
    after = outlook_of(bench, chain).limit_day[MEDIAN]
    assert after - before == pytest.approx(60.0, abs=3.0)


def test_a_lay_up_without_an_end_puts_nothing_off(bench):
    chain = add_motorcycle(bench, readings=STEADY, km_on_chain=4000.0)
    before = outlook_of(bench, chain).limit_day[MEDIAN]
    lay_up(bench, chain.vehicle_id, 0)
    after = outlook_of(bench, chain).limit_day[MEDIAN]
    assert after - before == pytest.approx(1.0, abs=1.0)
