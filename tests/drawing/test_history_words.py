"""The words of history and trail, on real records."""

from dataclasses import replace

import pytest

from tests.makers.bench import TODAY, add_motorcycle, empty_bench
from tests.makers.torque import motorcycle_with_sheet, tighten
from wearlog.drawing.history_words import detail_sentences, summary_text, value_of, what_text, where_text
from wearlog.drawing.trail_words import before_text, entry_title
from wearlog.fleet.fitting import RemovalReason
from wearlog.fleet.meter import MeterEntry, MeterEvent
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Reading
from wearlog.fleet.vehicle import Stage
from wearlog.workshop.correct import void_record
from wearlog.workshop.correct_meter import keep_meter
from wearlog.workshop.history import history_snapshot
from wearlog.workshop.history_snapshot import HistoryKind

SHOWN = ShownUnits()


@pytest.fixture
def bench():
    made = empty_bench()
    yield made
    made.database.close()


def told(bench, vehicle_id, kind):
    """What the lines of a kind say: what, where, value."""
    snapshot = history_snapshot(bench, vehicle_id)
    return [
        (what_text(line, snapshot), where_text(line), plain(value_of(line, snapshot, SHOWN)))
        for line in snapshot.lines
        if line.kind is kind
    ]


def plain(text):
    return text.replace("\u2009", " ").replace("\u202f", " ")


def test_a_reading_says_what_was_typed_and_how(bench):
    chain = add_motorcycle(bench, readings=[(500, 0.001)])
    snapshot = history_snapshot(bench, chain.vehicle_id)
    (line,) = [line for line in snapshot.lines if line.kind is HistoryKind.READING]
    assert told(bench, chain.vehicle_id, HistoryKind.READING) == [
        ("Elongation", "final drive, 428 chain, 116 links", "0.10 ± 0.05 %")
    ]
    assert detail_sentences(line, snapshot, SHOWN)[0] == "Typed: 254.25 mm (over rollers over 20 pitches)."


def test_a_voided_reading_says_why(bench):
    chain = add_motorcycle(bench, readings=[(500, 0.001)])
    with bench.database.reading() as records:
        (reading,) = records.all(Reading)
    void_record(bench, reading, "wrong bike")
    snapshot = history_snapshot(bench, chain.vehicle_id)
    (line,) = [line for line in snapshot.lines if line.kind is HistoryKind.READING]
    assert "Voided: wrong bike." in detail_sentences(line, snapshot, SHOWN)
    assert "1 record voided" in summary_text(snapshot)


def test_a_replaced_meter_shows_both_ends(bench):
    chain = add_motorcycle(bench)
    changed = MeterEvent.REPLACED
    entry = MeterEntry(vehicle_id=chain.vehicle_id, on=TODAY, value=0.0, event=changed, old_value=5010.0)
    keep_meter(bench, entry)
    assert told(bench, chain.vehicle_id, HistoryKind.METER)[0] == (
        "Meter replaced",
        "",
        "old 5010 km, new 0 km",
    )


def test_a_removed_part_says_why_and_after_how_much(bench):
    chain = add_motorcycle(bench)
    off = replace(chain, removed_on=TODAY, removed_use=5000.0, removal_reason=RemovalReason.WORN)
    with bench.database.writing(by="Tilda", at=bench.now(), what="off") as records:
        records.replace(off)
    assert told(bench, chain.vehicle_id, HistoryKind.REMOVED) == [
        ("Part removed", "final drive, 428 chain, 116 links", "worn, after 4000 km")
    ]


def test_a_torque_names_its_fastener(bench):
    chain = motorcycle_with_sheet(bench)
    tighten(bench, chain.vehicle_id, rear_axle=52.0)
    assert told(bench, chain.vehicle_id, HistoryKind.TORQUE) == [("Tightened", "rear axle", "52 N·m")]


def test_a_change_of_set_up_tells_old_and_new_with_units(bench):
    chain = add_motorcycle(bench)
    with bench.database.writing(by="Tilda", at=bench.now(), what="longer") as records:
        records.replace(replace(records.get(Stage, chain.stage_id), centre_distance_mm=560.0))
    assert told(bench, chain.vehicle_id, HistoryKind.SETUP) == [
        ("Drive stage changed", "final drive", "centre distance 556.00 mm → 560.00 mm")
    ]


def test_the_trail_names_what_a_changed_reading_measured(bench):
    chain = add_motorcycle(bench, readings=[(500, 0.001)])
    with bench.database.writing(by="Tilda", at=bench.now(), what="fix") as records:
        (reading,) = records.all(Reading)
        records.replace(replace(reading, value=0.002))
    trail = history_snapshot(bench, chain.vehicle_id).trail
    assert entry_title(trail.entries[0], trail.names) == "reading of elongation changed"
    assert plain(before_text(trail.entries[0], trail.names, SHOWN)) == "value: 0.10 %"
