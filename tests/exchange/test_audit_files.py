"""The trail as a file: complete, in words, guarded by its chain, harmless to spreadsheet programs."""

import csv
import io
import json
from dataclasses import replace
from datetime import datetime

import pytest

from tests.makers.bench import add_motorcycle, empty_bench
from wearlog.exchange.audit_files import COLUMNS, trail_text, write_trail
from wearlog.fleet.audit import AuditEntry, chain_after
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Reading
from wearlog.fleet.vehicle import MeterUnit, Vehicle, VehicleKind
from wearlog.workshop.correct import void_record
from wearlog.workshop.history import trail_snapshot

PLAIN = ShownUnits()


@pytest.fixture
def bench():
    made = empty_bench()
    yield made
    made.database.close()


def written(trail, ending, shown=PLAIN) -> str:
    stream = io.BytesIO()
    write_trail(trail, stream, ending, shown)
    return stream.getvalue().decode()


def rows_of(trail, shown=PLAIN):
    return list(csv.DictReader(io.StringIO(written(trail, "csv", shown))))


def voided(bench, reason="misread"):
    chain = add_motorcycle(bench, readings=[(500, 0.001)])
    with bench.database.reading() as records:
        (reading,) = records.all(Reading)
    void_record(bench, reading, reason)
    return chain.vehicle_id


def test_each_change_says_who_when_what_before_and_after(bench):
    trail = trail_snapshot(bench, voided(bench))
    row = rows_of(trail)[0]
    assert tuple(row) == COLUMNS
    assert (row["by"], row["at"], row["vehicle"]) == ("Tilda", "2026-11-23T12:00:00Z", "LR-001")
    assert row["work"] == "Reading of LR-001 voided"
    assert row["what"] == "reading of elongation voided"
    assert (row["before"], row["after"]) == ("voided because: –", "voided because: misread")


def test_values_carry_the_units_of_the_seat(bench):
    trail = trail_snapshot(bench, voided(bench))
    added = next(row for row in rows_of(trail) if row["what"] == "reading of elongation added")
    assert "value: 0.10\u2009%" in added["after"]
    assert "total use: 1500\u2009km" in added["after"]
    in_miles = next(
        row
        for row in rows_of(trail, ShownUnits(distance="mi"))
        if row["what"] == "reading of elongation added"
    )
    # 1500 km are 932.06 international miles (NIST SP 811, appendix B.8: 1 mi = 1.609 344 km).
    assert "total use: 932\u2009mi" in in_miles["after"]


def test_the_chain_can_be_reckoned_anew_from_the_export_alone(bench):
    voided(bench)
    data = json.loads(written(trail_snapshot(bench), "json"))
    chain = ""
    for told in reversed(data):
        entry = AuditEntry(
            at=datetime.fromisoformat(told["at"]),
            by=told["by"],
            what=told["work"],
            record=told["record"],
            record_id=told["record_number"],
            vehicle_id=told["vehicle_number"],
            before=told["before"],
            after=told["after"],
            change_id=told["change"],
        )
        chain = chain_after(chain, entry)
        assert told["chain"] == chain
    assert len(data) > 10


def test_a_reason_that_looks_like_a_formula_is_no_formula_in_the_file(bench):
    trail = trail_snapshot(bench, voided(bench))
    nasty = replace(trail.entries[0], by='=HYPERLINK("x")', what="@SUM(1)")
    row = rows_of(replace(trail, entries=(nasty,)))[0]
    assert row["by"] == '\'=HYPERLINK("x")'
    assert row["work"] == "'@SUM(1)"


def test_one_vehicle_or_everything(bench):
    vehicle_id = voided(bench)
    everything = trail_snapshot(bench)
    of_one = trail_snapshot(bench, vehicle_id)
    assert {entry.vehicle_id for entry in of_one.entries} == {vehicle_id}
    assert len(everything.entries) > len(of_one.entries)
    assert len(trail_snapshot(bench, limit=3).entries) == 3


def test_personal_data_is_not_in_the_file(bench):
    with bench.database.writing(by="Tilda", at=bench.now(), what="owner") as records:
        vehicle = records.get(Vehicle, add_motorcycle_id(records))
        records.replace(replace(vehicle, owner_contact="Ines, 555 0199"))
    text = written(trail_snapshot(bench), "json") + written(trail_snapshot(bench), "csv")
    assert "555 0199" not in text
    assert "kept apart, personal" in text


def add_motorcycle_id(records):
    return records.add(
        Vehicle(
            tag="LR-009",
            description="patrol motorcycle",
            kind=VehicleKind.ELECTRIC_MOTORCYCLE,
            depot="Upper Depot",
            meter_unit=MeterUnit.KM,
        )
    ).id


def test_the_terminal_shows_before_and_after(bench):
    text = trail_text(trail_snapshot(bench, voided(bench)), PLAIN)
    assert text.splitlines()[0].endswith("Tilda  LR-001  reading of elongation voided")
    assert text.splitlines()[2] == "    after:  voided because: misread"


def test_an_unknown_format_is_refused_with_those_that_are_known(bench):
    with pytest.raises(WearlogError, match="Use one of csv, json"):
        write_trail(trail_snapshot(bench), io.BytesIO(), "xml", PLAIN)
