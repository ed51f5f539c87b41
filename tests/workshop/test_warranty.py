"""The evidence on one part: all that is on record, and whether anybody altered it."""

import pytest
from sqlalchemy import text

from tests.makers.bench import add_motorcycle
from tests.makers.torque import motorcycle_with_sheet, tighten
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.reading import Reading
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.measure import void_reading
from wearlog.workshop.warranty import installation_named, warranty_record


def record_of(bench, tag, word):
    vehicle_id = fleet_state(bench).vehicle_tagged(tag).id
    return warranty_record(bench, installation_named(bench, vehicle_id, word))


def test_every_reading_visit_and_instrument_of_the_part_is_in(sample):
    record = record_of(sample, "LR-009", "final")
    one = record.installation
    with sample.database.reading() as records:
        own = records.all(Reading, installation_id=one.id)
    assert {reading.id for reading in own} <= {reading.id for reading in record.readings}
    assert all(one.fitted_on <= reading.on for reading in record.readings)
    assert {r.instrument_id for r in own} - {None} <= set(record.instruments)
    assert record.visits
    assert all(one.fitted_on <= visit.on for visit in record.visits)
    told = {(entry.entry.record, entry.entry.record_id) for entry in record.trail}
    assert {("Reading", reading.id) for reading in record.readings} <= told
    assert ("Installation", one.id) in told


def test_a_voided_reading_stays_in_the_evidence_with_its_reason(sample):
    record = record_of(sample, "LR-009", "final")
    wrong = next(reading for reading in record.readings if reading.installation_id is not None)
    void_reading(sample, wrong.id, "read on a dirty chain")
    again = record_of(sample, "LR-009", "final")
    [kept] = [reading for reading in again.readings if reading.id == wrong.id]
    assert kept.void_reason == "read on a dirty chain"
    assert len([e for e in again.trail if e.entry.record_id == wrong.id and e.entry.record == "Reading"]) == 2


def test_torques_of_the_stage_come_with_their_fasteners(bench):
    chain = motorcycle_with_sheet(bench)
    tighten(bench, chain.vehicle_id, rear_axle=52.0)
    record = warranty_record(bench, chain.id)
    assert [record.fasteners[one.fastener_id].name for one in record.torques] == ["rear axle"]
    assert record.torques[0].applied_nm == (52.0,)


def test_an_untouched_trail_is_whole_and_an_altered_entry_is_found(sample):
    record = record_of(sample, "LR-009", "final")
    assert record.is_whole
    assert record.trail_count > 6000
    altered = record.trail[5].entry
    with sample.database.reading() as records:
        records.connection.execute(
            text("UPDATE audit SET \"by\" = 'somebody else' WHERE id = :id"), {"id": altered.id}
        )
        records.connection.commit()
    assert record_of(sample, "LR-009", "final").broken_at == altered.id


def test_a_part_that_came_off_ends_its_evidence_there(sample):
    state = fleet_state(sample)
    past = next(
        one for one in state.installations.values() if one.removed_on is not None and not one.void_reason
    )
    record = warranty_record(sample, past.id)
    days = [*(r.on for r in record.readings), *(v.on for v in record.visits)]
    assert all(past.fitted_on <= day <= past.removed_on for day in days)


def test_a_word_that_fits_nothing_names_what_there_is(bench):
    chain = add_motorcycle(bench)
    tag = fleet_state(bench).vehicles[chain.vehicle_id].tag
    with pytest.raises(WearlogError, match="has no part gearbox") as refused:
        record_of(bench, tag, "gearbox")
    assert "final" in refused.value.problems[0].todo
