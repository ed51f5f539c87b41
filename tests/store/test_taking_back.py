"""A change is taken back as a whole, or not at all; it and its end both stay in the trail."""

import math
from dataclasses import replace
from datetime import date

import pytest

from tests.store.kept import DAY, NOW, chain_reading, vehicle
from wearlog.fleet.fitting import Installation, RemovalReason
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.parts import DriveKind, Part
from wearlog.fleet.problem import EditConflict, ProblemKind, WearlogError
from wearlog.fleet.reading import Reading, Spot
from wearlog.fleet.service import Task, TaskDone, Visit
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.store.taking_back import take_back


def writing(database, by="Robin"):
    return database.writing(by=by, at=NOW, what="service")


@pytest.fixture
def service(database, fleet):
    """A visit with a reading, at which the chain came off; returns the change and what it touched."""
    with writing(database) as records:
        visit = records.add(
            Visit(vehicle_id=fleet.vehicle.id, on=DAY, total_use=1500.0, tasks=(TaskDone(task=Task.CLEANED),))
        )
        reading = records.add(
            chain_reading(fleet, visit_id=visit.id, high=math.inf, spots=(Spot(typed="1", value=0.01),))
        )
        off = records.replace(
            replace(
                fleet.installation,
                removed_on=date(2026, 5, 3),
                removed_use=1500.0,
                removal_reason=RemovalReason.WORN,
            )
        )
        records.add(Part(part_type_id=fleet.part_type.id, label="new chain"))
        records.remember_row_keys({"a1": "readings.csv row 1"})
        return records.change_id, visit, reading, off


def test_what_was_added_no_longer_counts_and_what_was_replaced_is_back(database, fleet, service):
    change_id, visit, reading, off = service
    with writing(database) as records:
        take_back(records, change_id, "undone")
        undone = records.change_id
    with database.reading() as records:
        assert records.get(Visit, visit.id) == replace(visit, void_reason="undone", version=2)
        assert records.get(Reading, reading.id) == replace(reading, void_reason="undone", version=2)
        assert records.get(Installation, off.id) == replace(fleet.installation, version=3)
        assert [entry.record for entry in records.audit(change_id=change_id)] == [
            "Part",
            "Installation",
            "Reading",
            "Visit",
        ]
        assert [entry.record for entry in records.audit(change_id=undone)] == [
            "Visit",
            "Reading",
            "Installation",
        ]


def test_a_part_that_was_added_lies_on_the_shelf(database, fleet, service):
    with writing(database) as records:
        take_back(records, service[0], "undone")
        assert records.first(Part, label="new chain") is not None


def test_taking_back_can_itself_be_taken_back(database, service):
    change_id, visit, reading, off = service
    with writing(database) as records:
        take_back(records, change_id, "undone")
        undone = records.change_id
    with writing(database) as records:
        take_back(records, undone, "done again")
    with database.reading() as records:
        assert records.get(Visit, visit.id) == replace(visit, version=3)
        assert records.get(Reading, reading.id) == replace(reading, version=3)
        assert records.get(Installation, off.id) == replace(off, version=4)


def test_file_rows_that_were_taken_back_may_come_again(database, service):
    with writing(database) as records:
        assert records.known_row_keys({"a1"}) == {"a1"}
        take_back(records, service[0], "undone")
        assert records.known_row_keys({"a1"}) == set()
        records.remember_row_keys({"a1": "readings.csv row 1", "a2": "readings.csv row 2"})
        assert records.known_row_keys({"a1", "a2"}) == {"a1", "a2"}


def test_what_somebody_changed_since_is_not_taken_back(database, service):
    change_id, visit, reading, _off = service
    with writing(database, by="Sasha") as records:
        theirs = records.replace(replace(reading, note="seen twice"))
    with pytest.raises(EditConflict) as raised, writing(database) as records:
        take_back(records, change_id, "undone")
    assert raised.value.versions.theirs == theirs
    assert raised.value.problems[0].kind is ProblemKind.CONFLICT
    assert raised.value.problems[0].where == "LR-017"
    with database.reading() as records:
        assert records.get(Visit, visit.id) == visit


def test_a_field_that_somebody_changed_since_is_not_put_back(database, service):
    change_id, _visit, _reading, off = service
    with writing(database, by="Sasha") as records:
        theirs = records.replace(replace(off, removal_reason=RemovalReason.DAMAGED))
    with pytest.raises(EditConflict) as raised, writing(database) as records:
        take_back(records, change_id, "undone")
    assert raised.value.versions.theirs == theirs


def test_other_fields_that_somebody_changed_since_are_kept(database, fleet, service):
    change_id, _visit, _reading, off = service
    with writing(database, by="Sasha") as records:
        records.replace(replace(off, notes="master link kept"))
    with writing(database) as records:
        take_back(records, change_id, "undone")
        assert records.get(Installation, off.id) == replace(
            fleet.installation, notes="master link kept", version=4
        )


def test_a_setting_goes_back_to_what_it_was(database):
    for value in ("0.9", "0.8"):
        with writing(database) as records:
            records.set_setting("caution", value)
            change_id = records.change_id
    with writing(database) as records:
        take_back(records, change_id, "undone")
        assert records.setting("caution") == "0.9"


@pytest.mark.parametrize("since", [False, True])
def test_a_setting_that_cannot_go_back_is_told(database, since):
    with writing(database) as records:
        records.set_setting("caution", "0.9")
        change_id = records.change_id
    if since:
        with writing(database) as records:
            records.set_setting("caution", "0.8")
            change_id = records.change_id
        with writing(database) as records:
            records.set_setting("caution", "0.7")
    with pytest.raises(WearlogError) as raised, writing(database) as records:
        take_back(records, change_id, "undone")
    assert raised.value.problems[0].where == "caution"


def test_a_vehicle_added_by_mistake_no_longer_counts_and_its_tag_is_free(database):
    with writing(database) as records:
        kept = records.add(vehicle())
        records.add(Stage(vehicle_id=kept.id, order=1, name="final drive", drive=DriveKind.CHAIN))
        change_id = records.change_id
    with writing(database) as records:
        take_back(records, change_id, "undone")
    with writing(database) as records:
        assert records.all(Vehicle, live=True) == records.all(Stage, live=True) == ()
        assert [one.void_reason for one in records.all(Stage)] == ["undone"]
        assert records.add(vehicle()).tag == kept.tag


def test_a_vehicle_in_use_since_stays(database):
    with writing(database) as records:
        kept = records.add(vehicle())
        change_id = records.change_id
    with writing(database) as records:
        records.add(MeterEntry(vehicle_id=kept.id, on=DAY, value=20.0))
    with pytest.raises(WearlogError, match="entered for it since"), writing(database) as records:
        take_back(records, change_id, "undone")
    with database.reading() as records:
        assert records.all(Vehicle) == (kept,)


def test_an_unknown_change_is_not_found(database):
    with pytest.raises(WearlogError) as raised, writing(database) as records:
        take_back(records, "none", "undone")
    assert raised.value.problems[0].kind is ProblemKind.NOT_FOUND
