"""Every change leaves a row that says who, when, what, from what and to what."""

import json
import math
from dataclasses import fields, replace
from datetime import timedelta

import pytest

from tests.store.kept import DAY, NOW, chain_reading, one_of_each, vehicle
from wearlog.fleet.audit import AuditEntry
from wearlog.fleet.reading import Spot
from wearlog.store.rows import TABLES


def test_what_is_added_leaves_its_values(database, fleet):
    with database.writing(by="Robin", at=NOW, what="measure") as records:
        reading = records.add(
            chain_reading(
                fleet, value=None, low=0.005, high=math.inf, spots=(Spot(typed="0.5", value=0.005),)
            )
        )
        change_id = records.change_id
    with database.reading() as records:
        (entry,) = records.audit(change_id=change_id)
    assert (entry.by, entry.at, entry.what) == ("Robin", NOW, "measure")
    assert (entry.record, entry.record_id, entry.vehicle_id) == ("Reading", reading.id, fleet.vehicle.id)
    assert entry.before == ""
    assert json.loads(entry.after) == {
        "vehicle_id": fleet.vehicle.id,
        "stage_id": fleet.stage.id,
        "installation_id": fleet.installation.id,
        "on": DAY.isoformat(),
        "total_use": 1000.0,
        "measurand": "chain elongation",
        "method": "same side of two rollers",
        "spots": [{"typed": "0.5", "value": 0.005, "resolution": 0.0}],
        "low": 0.005,
        "high": "inf",
        "u_value": 0.0003,
        "is_zero_reading": False,
        "is_late_entry": False,
    }


def test_what_is_changed_leaves_only_what_differs(database, fleet):
    with database.writing(by="Sasha", at=NOW, what="edit") as records:
        records.replace(replace(fleet.vehicle, depot="South", retired_on=DAY))
        change_id = records.change_id
    with database.reading() as records:
        (entry,) = records.audit(change_id=change_id)
    assert entry.vehicle_id == fleet.vehicle.id
    assert json.loads(entry.before) == {"depot": "North", "retired_on": None}
    assert json.loads(entry.after) == {"depot": "South", "retired_on": "2026-05-03"}


def test_what_is_voided_leaves_the_reason(database, fleet):
    with database.writing(by="Sasha", at=NOW, what="void") as records:
        records.void(fleet.installation, "fitted to another vehicle")
        change_id = records.change_id
    with database.reading() as records:
        (entry,) = records.audit(change_id=change_id)
    assert entry.record == "Installation"
    assert json.loads(entry.before) == {"void_reason": ""}
    assert json.loads(entry.after) == {"void_reason": "fitted to another vehicle"}


def test_a_changed_setting_leaves_both_values(database):
    for value in ("0.9", "0.95", "0.95"):
        with database.writing(by="Sasha", at=NOW, what="settings") as records:
            records.set_setting("caution", value)
    with database.reading() as records:
        assert records.setting("caution") == "0.95"
        last, first = records.audit()
    assert (first.record, first.record_id, first.vehicle_id) == ("Setting", 0, None)
    assert (first.before, json.loads(first.after)) == ("", {"caution": "0.9"})
    assert (json.loads(last.before), json.loads(last.after)) == ({"caution": "0.9"}, {"caution": "0.95"})


def test_every_kind_of_record_leaves_a_trail_of_its_own_vehicle(database):
    with database.writing(by="Robin", at=NOW, what="set up") as records:
        kept = one_of_each(records)
        change_id = records.change_id
    with database.reading() as records:
        trail = tuple(reversed(records.audit(change_id=change_id)))
    assert [(entry.record, entry.record_id) for entry in trail] == [
        (type(record).__name__, record.id) for record in kept
    ]
    bike = kept[0].id
    without = {"PartType", "Part", "Instrument", "Fastener", "StockLine", "StockMove", "PartOrder"}
    assert {entry.record: entry.vehicle_id for entry in trail} == {
        type(record).__name__: None if type(record).__name__ in without else bike for record in kept
    }


def test_the_latest_entry_comes_first_and_a_vehicle_has_its_own(database, fleet):
    with database.writing(by="Robin", at=NOW + timedelta(days=1), what="set up") as records:
        other = records.add(vehicle("LR-018"))
        records.replace(replace(other, depot="South"))
    with database.reading() as records:
        whole = records.audit()
        assert [entry.id for entry in whole] == sorted((entry.id for entry in whole), reverse=True)
        assert records.audit(limit=2) == whole[:2]
        assert records.audit(vehicle_id=other.id) == whole[:2]
        assert {entry.record for entry in records.audit(vehicle_id=fleet.vehicle.id)} == {
            "Vehicle",
            "Stage",
            "Installation",
        }
        assert records.all(AuditEntry, record="Vehicle", record_id=other.id) == whole[1::-1]


def test_all_changes_of_one_transaction_share_their_change_id(database):
    ids = []
    for tag in ("A", "B"):
        with database.writing(by="Robin", at=NOW, what="set up") as records:
            records.add_all([vehicle(f"{tag}-{n}") for n in range(3)])
            ids.append(records.change_id)
    with database.reading() as records:
        assert records.change_id == ""
        assert [len(records.audit(change_id=one)) for one in ids] == [3, 3]
    assert ids[0] != ids[1]


def test_nobody_writes_the_trail_by_hand(database, fleet):
    with database.reading() as records:
        entry = records.audit(limit=1)[0]
    with pytest.raises(TypeError, match="trail alone"), database.writing(by="", at=NOW, what="") as records:
        records.add(replace(entry, id=0))
    with pytest.raises(TypeError, match="trail alone"), database.writing(by="", at=NOW, what="") as records:
        records.replace(replace(entry, by="nobody"))


def test_each_record_has_a_column_for_each_field_and_no_other():
    for kind, table in TABLES.items():
        assert {column.name for column in table.__table__.columns} == {field.name for field in fields(kind)}
