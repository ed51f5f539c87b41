"""Columns hold the same as the records, without making a record for each row."""

import math
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from tests.store.kept import NOW, chain_reading, keep_small_fleet
from wearlog.fleet.fitting import Installation, Position, RemovalReason
from wearlog.fleet.meter import MeterEntry, MeterEvent
from wearlog.fleet.parts import Part
from wearlog.fleet.reading import Measurand, Method, Reading
from wearlog.store import columns
from wearlog.store.columns import (
    MEASURANDS,
    METER_EVENTS,
    POSITIONS,
    REMOVAL_REASONS,
    installation_columns,
    meter_columns,
    reading_columns,
)


def number(value):
    return math.nan if value is None else value


@pytest.fixture
def mixed(database):
    """Two vehicles with readings of all measurands, intervals, voided ones and leap days."""
    with database.writing(by="Robin", at=NOW, what="set up") as records:
        fleets = [keep_small_fleet(records, tag) for tag in ("LR-001", "LR-002")]
        odd = records.add(
            replace(
                fleets[1].installation,
                id=0,
                version=0,
                position=Position.DRIVEN,
                part_id=records.add(
                    Part(part_type_id=fleets[0].part_type.id, use_before=250.5, is_history_known=False)
                ).id,
                removed_on=date(2028, 2, 29),
                removed_use=5000.5,
                removal_reason=RemovalReason.MOVED,
            )
        )
        readings = []
        for n, measurand in enumerate(Measurand):
            fleet = fleets[n % 2]
            readings += [
                chain_reading(fleet, 1000.0 - n, measurand=measurand, on=date(2024, 2, 29) + timedelta(n)),
                chain_reading(fleet, 900.0, value=None, low=-math.inf, high=0.005, is_zero_reading=True),
                chain_reading(fleet, 950.0, installation_id=None, measurand=Measurand.SLACK, value=31.5),
                chain_reading(
                    fleet, 960.0, installation_id=odd.id, method=Method.GAUGE, on=date(1999, 12, 31)
                ),
            ]
        kept = records.add_all(readings)
        records.void(kept[1], "misread")
        records.add_all(
            [
                MeterEntry(vehicle_id=fleets[1].vehicle.id, on=date(2026, 1, 2), value=12.5),
                MeterEntry(
                    vehicle_id=fleets[0].vehicle.id,
                    on=date(2026, 1, 1),
                    value=0.0,
                    event=MeterEvent.REPLACED,
                    old_value=900.25,
                ),
                MeterEntry(vehicle_id=fleets[0].vehicle.id, on=date(2025, 1, 1), value=1.0),
                MeterEntry(
                    vehicle_id=fleets[0].vehicle.id, on=date(2025, 6, 1), value=9.0, void_reason="slip"
                ),
            ]
        )
    return odd


def test_reading_columns_are_the_readings_that_count(database, mixed):
    with database.reading() as records:
        installations = {one.id: one for one in records.all(Installation)}
        got = reading_columns(records)
        expected = sorted(
            records.all(Reading, live=True),
            key=lambda one: (
                installations[one.installation_id].part_id if one.installation_id else 0,
                one.total_use,
                one.id,
            ),
        )
    assert len(got) == len(expected) == 31
    for n, reading in enumerate(expected):
        part_id = installations[reading.installation_id].part_id if reading.installation_id else 0
        assert (got.id[n], got.part_id[n], got.installation_id[n]) == (
            reading.id,
            part_id,
            reading.installation_id or 0,
        )
        assert (got.vehicle_id[n], got.stage_id[n]) == (reading.vehicle_id, reading.stage_id)
        assert date.fromordinal(int(got.day[n])) == reading.on
        assert got.total_use[n] == reading.total_use
        np.testing.assert_array_equal(
            [got.value[n], got.low[n], got.high[n], got.u_value[n]],
            [number(reading.value), number(reading.low), number(reading.high), reading.u_value],
        )
        assert MEASURANDS[got.measurand[n]] is reading.measurand
        assert got.is_zero[n] == reading.is_zero_reading


def test_readings_of_a_voided_installation_do_not_count(database, mixed):
    with database.writing(by="Robin", at=NOW, what="void") as records:
        records.void(mixed, "never fitted")
    with database.reading() as records:
        readings, installations = reading_columns(records), installation_columns(records)
    assert mixed.id not in readings.installation_id
    assert mixed.id not in installations.id
    assert len(readings) == 23


def test_installation_columns_are_the_installations_with_their_parts(database, mixed):
    with database.reading() as records:
        parts = {one.id: one for one in records.all(Part)}
        expected = records.all(Installation)
        got = installation_columns(records)
    assert len(got) == len(expected) == 3
    for n, one in enumerate(expected):
        part = parts[one.part_id]
        assert (got.id[n], got.part_id[n], got.vehicle_id[n], got.stage_id[n], got.part_type_id[n]) == (
            one.id,
            one.part_id,
            one.vehicle_id,
            one.stage_id,
            part.part_type_id,
        )
        np.testing.assert_array_equal(
            [got.fitted_use[n], got.removed_use[n], got.use_before[n]],
            [one.fitted_use, number(one.removed_use), part.use_before],
        )
        assert date.fromordinal(int(got.fitted_day[n])) == one.fitted_on
        assert got.removed_day[n] == (one.removed_on.toordinal() if one.removed_on else 0)
        assert POSITIONS[got.position[n]] is one.position
        assert got.removal_reason[n] == (
            REMOVAL_REASONS.index(one.removal_reason) if one.removal_reason else -1
        )
        assert got.is_history_known[n] == part.is_history_known


def test_meter_columns_are_the_entries_that_count(database, mixed):
    with database.reading() as records:
        got = meter_columns(records)
        expected = sorted(
            records.all(MeterEntry, live=True), key=lambda one: (one.vehicle_id, one.on, one.id)
        )
    assert list(got.id) == [one.id for one in expected]
    assert list(got.vehicle_id) == [one.vehicle_id for one in expected]
    assert list(got.day) == [one.on.toordinal() for one in expected]
    assert list(got.value) == [one.value for one in expected]
    np.testing.assert_array_equal(got.old_value, [number(one.old_value) for one in expected])
    assert [METER_EVENTS[code] for code in got.event] == [one.event for one in expected]


def test_an_empty_database_gives_empty_columns(database):
    with database.reading() as records:
        for made in (reading_columns(records), installation_columns(records), meter_columns(records)):
            assert len(made) == 0
            assert {getattr(made, name).dtype for name in ("id", "vehicle_id")} == {np.dtype(np.int64)}


@pytest.mark.parametrize("day", [date.min, date(1900, 2, 28), date(2000, 2, 29), date(2026, 5, 3), date.max])
def test_every_day_has_its_own_number(database, fleet, day):
    with database.writing(by="Robin", at=NOW, what="measure") as records:
        records.add(chain_reading(fleet, on=day))
    with database.reading() as records:
        assert reading_columns(records).day.tolist() == [day.toordinal()]


def test_codes_point_to_words():
    words = (columns.MEASURANDS, columns.POSITIONS, columns.REMOVAL_REASONS, columns.METER_EVENTS)
    assert [len(set(one)) for one in words] == [
        len(Measurand),
        len(Position),
        len(RemovalReason),
        len(MeterEvent),
    ]
