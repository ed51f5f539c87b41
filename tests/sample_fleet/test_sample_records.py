"""The records of the sample fleet are what a workshop could have handed over."""

import csv
import tomllib
from collections import defaultdict
from datetime import date
from itertools import pairwise
from math import pi
from pathlib import Path

import pytest

import sample_fleet
from wearlog.exchange.csv_folder import read_import
from wearlog.fleet.fitting import Position, RemovalReason
from wearlog.fleet.meter import MeterEntry, MeterEvent, UseHistory, check_meter_value, use_history
from wearlog.fleet.parts import DriveKind, PartKind, WearClass
from wearlog.fleet.reading import InstrumentKind, Measurand, Method
from wearlog.fleet.service import Task
from wearlog.fleet.vehicle import Duty, MeterUnit, VehicleKind

FOLDER = Path(sample_fleet.__file__).resolve().parent / "csv"
KM_PER_MILE = 1.609344


def rows(name: str) -> list[dict[str, str]]:
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


VEHICLES = {row["tag"]: row for row in rows("vehicles")}
STAGES = {(row["vehicle"], row["stage"]): row for row in rows("stages")}
PART_TYPES = {row["name"]: row for row in rows("part_types")}
INSTRUMENTS = {row["name"]: row for row in rows("instruments")}

ENUMERATIONS = [
    ("vehicles", "kind", VehicleKind, True),
    ("vehicles", "meter unit", MeterUnit, True),
    ("vehicles", "duty", Duty, False),
    ("stages", "drive", DriveKind, True),
    ("part_types", "kind", PartKind, True),
    ("part_types", "wear class", WearClass, True),
    ("instruments", "kind", InstrumentKind, True),
    ("meter", "event", MeterEvent, False),
    ("installations", "position", Position, True),
    ("installations", "reason", RemovalReason, False),
    ("readings", "measurand", Measurand, True),
    ("readings", "method", Method, True),
    ("readings", "position", Position, False),
    ("interval_rules", "task", Task, True),
    ("interval_rules", "vehicle kind", VehicleKind, False),
    ("interval_rules", "drive", DriveKind, False),
    ("limits", "measurand", Measurand, True),
    ("limits", "wear class", WearClass, True),
]
REQUIRED = {
    "vehicles": ("tag", "description", "kind", "depot", "meter unit"),
    "stages": ("vehicle", "stage", "order", "drive"),
    "part_types": ("name", "kind", "designation", "wear class", "pitch [mm]"),
    "instruments": ("name", "kind"),
    "meter": ("vehicle", "date", "meter"),
    "installations": ("vehicle", "stage", "position", "part type", "fitted on", "fitted at"),
    "visits": ("vehicle", "date", "meter", "tasks"),
    "readings": ("vehicle", "stage", "date", "meter", "measurand", "method", "spots [mm]"),
    "interval_rules": ("task",),
    "limits": ("measurand", "wear class", "service limit"),
    "stock": ("part type", "depot", "on hand"),
}


def in_km_or_h(row: dict[str, str], column: str) -> float:
    text = row[column]
    if text.endswith(" mi"):
        return float(text.removesuffix(" mi")) * KM_PER_MILE
    is_miles = VEHICLES[row["vehicle"]]["meter unit"] == "mi"
    return float(text) * (KM_PER_MILE if is_miles else 1.0)


def history_of(tag: str) -> UseHistory:
    entries = [
        MeterEntry(
            vehicle_id=1,
            on=date.fromisoformat(row["date"]),
            value=in_km_or_h(row, "meter"),
            event=MeterEvent(row["event"]),
            old_value=in_km_or_h(row, "old meter") if row["old meter"] else None,
        )
        for row in rows("meter")
        if row["vehicle"] == tag
    ]
    # Visits read the meter too; without them a replaced meter with a lost old value would lose more.
    entries += [
        MeterEntry(vehicle_id=1, on=date.fromisoformat(row["date"]), value=in_km_or_h(row, "meter"))
        for row in rows("visits")
        if row["vehicle"] == tag
    ]
    return use_history(entries)


@pytest.mark.parametrize(("table", "column", "words", "is_required"), ENUMERATIONS)
def test_every_word_of_a_list_is_one_the_program_knows(table, column, words, is_required):
    used = {row[column] for row in rows(table)}
    if not is_required:
        used.discard("")
    assert used
    assert used <= {str(word) for word in words}


@pytest.mark.parametrize(("table", "columns"), REQUIRED.items())
def test_required_cells_are_filled(table, columns):
    assert all(row[column] for row in rows(table) for column in columns)


def test_tasks_are_tasks_of_the_program_on_stages_of_the_vehicle():
    for row in rows("visits"):
        for cell in row["tasks"].split("; "):
            task, _, rest = cell.partition(": ")
            assert task in {str(word) for word in Task}
            if rest:
                assert any(rest.startswith(stage) for tag, stage in STAGES if tag == row["vehicle"])


def test_rows_name_only_what_is_there():
    for row in rows("installations"):
        assert (row["vehicle"], row["stage"]) in STAGES
        assert row["part type"] in PART_TYPES
    for row in rows("readings"):
        assert (row["vehicle"], row["stage"]) in STAGES
        assert not row["instrument"] or row["instrument"] in INSTRUMENTS
    for table in ("meter", "visits"):
        assert all(row["vehicle"] in VEHICLES for row in rows(table))


def test_the_fleet_has_the_size_it_is_said_to_have():
    scenario = tomllib.loads((FOLDER / "scenario.toml").read_text(encoding="utf-8"))
    assert scenario["as_of"] == date(2026, 11, 23)
    assert str(len(VEHICLES)) in scenario["description"]
    assert {row["depot"] for row in VEHICLES.values()} == {"Upper Depot", "Harbour Depot"}
    readings = rows("readings")
    assert 1_200 <= len(readings) <= 2_500
    assert min(row["date"] for row in readings) >= scenario["records_from"].isoformat()
    assert max(row["date"] for row in readings) <= scenario["records_until"].isoformat()


@pytest.mark.parametrize("tag", VEHICLES)
def test_a_meter_never_runs_backwards_except_where_it_was_replaced(tag):
    history = history_of(tag)
    assert all(later.total_use >= earlier.total_use for earlier, later in pairwise(history.points))
    unit = "h" if VEHICLES[tag]["meter unit"] == "h" else "km"
    seen = [
        (row[day], in_km_or_h(row, meter))
        for table, day, meter in (
            ("visits", "date", "meter"),
            ("readings", "date", "meter"),
            ("installations", "fitted on", "fitted at"),
            ("installations", "removed on", "removed at"),
        )
        for row in rows(table)
        if row["vehicle"] == tag and row[day]
    ]
    totals = []
    for day, value in sorted(seen):
        on = date.fromisoformat(day)
        check_meter_value(tag, history, value, on, unit)
        totals.append(history.total_for(value, on))
    # The rule of thumb for a mile or km meter: it shows whole steps, so a day may be off by one.
    assert all(later >= earlier - 1.0 for earlier, later in pairwise(totals))


def test_one_place_holds_one_part_at_a_time_and_one_part_sits_in_one_place():
    places, parts = defaultdict(list), defaultdict(list)
    for row in rows("installations"):
        span = (row["fitted on"], row["removed on"] or "9999")
        places[row["vehicle"], row["stage"], row["position"]].append(span)
        if row["part"]:
            parts[row["part"]].append(span)
    for spans in (*places.values(), *parts.values()):
        assert all(earlier[1] <= later[0] for earlier, later in pairwise(sorted(spans)))
    assert any(len(spans) == 2 for spans in parts.values())


def test_every_reading_of_a_part_finds_its_part():
    fitted = defaultdict(list)
    for row in rows("installations"):
        fitted[row["vehicle"], row["stage"], row["position"]].append(row)
    for row in rows("readings"):
        if not row["position"]:
            assert row["measurand"] in {"slack", "adjuster position"}
            continue
        is_zero = row["zero reading"] == "yes"
        candidates = [
            part
            for part in fitted[row["vehicle"], row["stage"], row["position"]]
            if (part["fitted on"] == row["date"])
            or (not is_zero and part["fitted on"] <= row["date"] <= (part["removed on"] or "9999"))
        ]
        assert candidates, row


def test_drives_close_with_the_links_and_teeth_that_are_fitted():
    # Handbook approximation of the loop length (textbook companion FOSSEE 764): L = 2C/p + (z1+z2)/2
    # + ((z2-z1)/2pi)^2 p/C; a chain has up to 0.3 % of slack, a belt none (0.1 mm of rounding).
    current = {
        (row["vehicle"], row["stage"], row["position"]): PART_TYPES[row["part type"]]
        for row in rows("installations")
        if not row["removed on"]
    }
    closed = 0
    for (vehicle, stage), row in STAGES.items():
        if not row["centre distance [mm]"] or (vehicle, stage, "run") not in current:
            continue
        small, loop, large = (current[vehicle, stage, place] for place in ("driver", "run", "driven"))
        pitch, centre = (
            float(loop["pitch [mm]"].replace("1/2 in", "12.7")),
            float(row["centre distance [mm]"]),
        )
        z1, z2 = int(small["teeth"]), int(large["teeth"])
        taut = 2 * centre / pitch + (z1 + z2) / 2 + ((z2 - z1) / (2 * pi)) ** 2 * pitch / centre
        fitted = int(loop["links"] or loop["teeth"])
        if row["drive"] == "belt":
            # The approximation is off by up to 0.1 % on these short centres.
            assert taut == pytest.approx(fitted, rel=2e-3)
        else:
            assert 0.0 < fitted - taut < 0.004 * fitted
        closed += 1
    assert closed > 40


def test_an_even_number_of_pitches_is_measured():
    # Over an odd number, pin and bush wear count too much or too little (stason.org bicycles FAQ 8d.2.2).
    assert {int(row["pitches"]) % 2 for row in rows("readings") if row["pitches"]} == {0}


def test_units_are_mixed_as_in_life():
    spots = [row["spots [mm]"] for row in rows("readings")]
    assert any("1/16 in" in cell for cell in spots)
    assert any(cell.endswith(" %") for cell in spots)
    assert any(cell.endswith(" Hz") for cell in spots)
    assert any(" N / " in cell for cell in spots)
    assert any(row["meter"].endswith(" mi") for row in rows("visits"))
    assert {row["meter unit"] for row in VEHICLES.values()} == {"km", "mi", "h"}


def test_the_program_reads_every_file_without_a_problem():
    read = read_import([FOLDER])
    for name in REQUIRED:
        assert len(getattr(read, name)) == len(rows(name)), name
