"""What is kept comes back, in one piece or not at all."""

import math
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from itertools import pairwise

import numpy as np
import pytest
from sqlalchemy import event, insert, text
from sqlalchemy.exc import IntegrityError

from tests.store.kept import NOW, chain_reading, keep_small_fleet, one_of_each, part_type, vehicle
from wearlog.fleet.audit import AuditEntry
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.parts import Part, PartKind, PartType
from wearlog.fleet.problem import Cancelled, EditConflict, ProblemKind, WearlogError
from wearlog.fleet.reading import Instrument, InstrumentKind, Reading
from wearlog.fleet.vehicle import Stage, Vehicle, VehicleKind
from wearlog.store.rows import TABLES, shape_of


def writing(database, by="Robin", what="measure", at=NOW):
    return database.writing(by=by, at=at, what=what)


def test_every_field_of_every_record_comes_back_as_it_was_kept(database):
    with writing(database) as records:
        kept = one_of_each(records)
    assert {type(record) for record in kept} == set(TABLES) - {AuditEntry}
    with database.reading() as records:
        for record in kept:
            again = records.get(type(record), record.id)
            assert again == record
            assert [type(getattr(again, name)) for name in shape_of(type(record)).names] == [
                type(getattr(record, name)) for name in shape_of(type(record)).names
            ]


def test_a_new_record_gets_a_number_and_version_1(database):
    with writing(database) as records:
        kept = records.add(vehicle())
    assert kept == replace(vehicle(), id=kept.id, version=1)
    assert kept.id > 0


def test_numbers_without_an_end_survive(database, fleet):
    with writing(database) as records:
        kept = records.add(chain_reading(fleet, value=None, low=-math.inf, high=math.inf))
    with database.reading() as records:
        again = records.get(Reading, kept.id)
    assert (again.low, again.high) == (-math.inf, math.inf)


def test_a_value_that_is_no_number_is_refused_instead_of_lost(database, fleet):
    with pytest.raises(ValueError, match="not a number"), writing(database) as records:
        records.add(chain_reading(fleet, value=math.nan))


def test_numbers_of_numpy_are_kept_as_plain_numbers(database, fleet):
    with writing(database) as records:
        kept = records.add(
            chain_reading(fleet, value=np.float64(0.25), pitches=np.int64(12), is_zero_reading=np.bool_(True))
        )
    with database.reading() as records:
        again = records.get(Reading, kept.id)
        assert records.all(Reading, pitches=np.int64(12)) == (again,)
    assert (type(again.value), type(again.pitches), type(again.is_zero_reading)) == (float, int, bool)


def test_an_exception_leaves_nothing_behind(database, fleet):
    before = database.data_version()

    def break_off(records):
        records.add(vehicle("LR-018"))
        records.replace(replace(fleet.vehicle, notes="changed"))
        records.set_setting("caution", "0.9")
        records.keep_draft("sheet", "half done")
        records.remember_row_keys({"a": "readings.csv row 1"})
        raise Cancelled

    with pytest.raises(Cancelled), writing(database) as records:
        break_off(records)
    with database.reading() as records:
        assert records.all(Vehicle) == (fleet.vehicle,)
        assert records.setting("caution") is None
        assert records.drafts() == {}
        assert records.known_row_keys({"a"}) == set()
    assert database.data_version() == before


def test_one_state_is_seen_to_the_end_of_a_reading(database, fleet):
    with database.reading() as records:
        first = records.all(Vehicle)
        with writing(database) as other:
            other.add(vehicle("LR-018"))
        assert records.all(Vehicle) == first
        assert records.data_version() == database.data_version() - 1


def test_what_is_only_read_cannot_be_changed(database, fleet):
    with database.reading() as records:
        with pytest.raises(RuntimeError, match="only for reading"):
            records.add(vehicle("LR-018"))
        with pytest.raises(RuntimeError, match="only for reading"):
            records.replace(replace(fleet.vehicle, notes="changed"))
        with pytest.raises(RuntimeError, match="only for reading"):
            records.keep_draft("a", "b")


def test_records_are_found_by_their_fields(database):
    with writing(database) as records:
        mopeds = [records.add(vehicle(f"M-{n}", kind=VehicleKind.MOPED)) for n in range(3)]
        bike = records.add(vehicle("B-1", retired_on=date(2026, 1, 1)))
    with database.reading() as records:
        assert records.all(Vehicle, kind=VehicleKind.MOPED) == tuple(mopeds)
        assert records.all(Vehicle, kind=VehicleKind.MOPED, tag="M-1") == (mopeds[1],)
        assert records.all(Vehicle, tag=["M-2", "M-0", "B-1"]) == (mopeds[0], mopeds[2], bike)
        assert records.all(Vehicle, tag=()) == ()
        assert records.all(Vehicle, retired_on=None) == tuple(mopeds)
        assert records.all(Vehicle, retired_on={None, date(2026, 1, 1)}) == (*mopeds, bike)
        assert records.first(Vehicle, kind=VehicleKind.MOPED) == mopeds[0]
        assert records.first(Vehicle, tag="M-9") is None
        with pytest.raises(TypeError, match="no field 'colour'"):
            records.all(Vehicle, colour="red")


def test_a_long_list_of_wanted_numbers_is_asked_for_in_portions(database, fleet):
    with writing(database) as records:
        kept = records.add_all([chain_reading(fleet, float(n)) for n in range(30)])
    wanted = [*range(100_000, 140_000), *(record.id for record in reversed(kept))]
    with database.reading() as records:
        assert records.all(Reading, id=wanted) == tuple(kept)
        assert records.first(Reading, id=wanted) == kept[0]


def test_an_unknown_number_is_not_found(database):
    with database.reading() as records, pytest.raises(WearlogError) as raised:
        records.get(Vehicle, 99)
    (problem,) = raised.value.problems
    assert problem.kind is ProblemKind.NOT_FOUND
    assert problem.what == "There is no vehicle number 99."


def test_twenty_thousand_readings_keep_their_order_and_leave_a_trail_each(database, fleet):
    readings = [chain_reading(fleet, float(n % 7), value=n / 1e6) for n in range(20_000)]
    with writing(database, what="bring in") as records:
        kept = records.add_all(readings)
        change_id = records.change_id
    assert [record.value for record in kept] == [record.value for record in readings]
    assert all(a.id < b.id for a, b in pairwise(kept))
    with database.reading() as records:
        assert records.all(Reading) == tuple(kept)
        trail = records.audit(change_id=change_id)
    assert [entry.record_id for entry in reversed(trail)] == [record.id for record in kept]


def test_only_new_records_of_one_kind_are_added_at_once(database, fleet):
    with pytest.raises(ValueError, match="one kind"), writing(database) as records:
        records.add_all([vehicle("A"), Part(part_type_id=fleet.part_type.id)])
    with pytest.raises(ValueError, match="only new records"), writing(database) as records:
        records.add(fleet.vehicle)
    with writing(database) as records:
        assert records.add_all([]) == []


# -- two people at once ------------------------------------------------------------------------------------


def test_a_change_counts_the_version_up(database, fleet):
    with writing(database) as records:
        once = records.replace(replace(fleet.vehicle, notes="one"))
        twice = records.replace(replace(once, notes="two"))
    assert (once.version, twice.version) == (2, 3)
    with database.reading() as records:
        assert records.get(Vehicle, fleet.vehicle.id) == twice


def test_two_people_who_change_the_same_record_see_both_versions(database, fleet):
    with writing(database, by="Sasha") as records:
        theirs = records.replace(replace(fleet.vehicle, depot="South"))
    mine = replace(fleet.vehicle, depot="West")
    with pytest.raises(EditConflict) as raised, writing(database) as records:
        records.replace(mine)
    assert (raised.value.versions.mine, raised.value.versions.theirs) == (mine, theirs)
    (problem,) = raised.value.problems
    assert problem.kind is ProblemKind.CONFLICT
    assert problem.where == "LR-017"
    assert problem.what == "Sasha changed it on 2026-05-03 14:10 UTC, while it was open here."
    with database.reading() as records:
        assert records.get(Vehicle, fleet.vehicle.id) == theirs


def test_a_reading_that_somebody_changed_is_not_voided_unseen(database, fleet):
    with writing(database) as records:
        reading = records.add(chain_reading(fleet))
        theirs = records.replace(replace(reading, note="measured twice"))
    with pytest.raises(EditConflict) as raised, writing(database) as records:
        records.void(reading, "misread")
    assert raised.value.versions.theirs == theirs
    assert raised.value.problems[0].where == "LR-017"


def test_a_record_saved_without_a_change_stays_as_it_is(database, fleet):
    before = database.data_version()
    with writing(database) as records:
        assert records.replace(fleet.vehicle) == fleet.vehicle
    assert database.data_version() == before


# -- nothing is deleted ------------------------------------------------------------------------------------


def test_a_voided_reading_stays_with_its_reason(database, fleet):
    with writing(database) as records:
        wrong, right = records.add_all([chain_reading(fleet, 1.0), chain_reading(fleet, 2.0)])
        void = records.void(wrong, "  wrong vehicle ")
    assert void == replace(wrong, void_reason="wrong vehicle", version=2)
    with database.reading() as records:
        assert records.all(Reading) == (void, right)
        assert records.all(Reading, live=True) == (right,)
        assert records.first(Reading, live=True) == right
        assert records.all(Vehicle, live=True) == (fleet.vehicle,)


def test_nothing_is_voided_without_a_reason(database, fleet):
    with pytest.raises(WearlogError, match="without a reason"), writing(database) as records:
        records.void(fleet.installation, "  ")
    with pytest.raises(TypeError, match="cannot be voided"), writing(database) as records:
        records.void(records.add(part_type(name="other")), "sold")


def test_only_drafts_are_ever_deleted(database, fleet):
    statements = []

    def note(connection, cursor, statement, parameters, context, executemany):
        statements.append(statement)

    event.listen(database._engine, "before_cursor_execute", note)
    with writing(database) as records:
        one_of_each(records)
        reading = records.add(chain_reading(fleet))
        records.void(reading, "misread")
        records.set_setting("caution", "0.9")
        records.set_setting("caution", "0.8")
        records.store_fit("chains", "{}", 1)
        records.store_fit("chains", "{}", 2)
        records.remember_row_keys({"a": "readings.csv row 1"})
        records.keep_draft("sheet", "half done")
        records.drop_draft("sheet")
    deletions = [statement for statement in statements if statement.lstrip().upper().startswith("DELETE")]
    assert len(statements) > 20
    assert len(deletions) == 1
    assert deletions[0].startswith("DELETE FROM draft ")


def test_the_database_itself_refuses_to_lose_what_others_refer_to(database, fleet):
    with pytest.raises(IntegrityError), database._engine.begin() as connection:
        connection.execute(text("DELETE FROM vehicle"))


def test_a_reading_of_an_unknown_installation_is_refused(database, fleet):
    with pytest.raises(IntegrityError), writing(database) as records:
        records.add(chain_reading(fleet, installation_id=fleet.installation.id + 1))


# -- names that tell things apart --------------------------------------------------------------------------


def test_a_tag_is_given_once(database, fleet):
    with pytest.raises(WearlogError) as raised, writing(database) as records:
        records.add(vehicle("LR-017"))
    (problem,) = raised.value.problems
    assert problem.kind is ProblemKind.INPUT
    assert problem.what == "There is another vehicle with the tag LR-017."


def test_a_tag_can_be_changed_but_not_to_one_that_is_taken(database, fleet):
    with writing(database) as records:
        other = records.add(vehicle("LR-018"))
        other = records.replace(replace(other, tag="LR-019"))
    with pytest.raises(WearlogError, match="tag LR-017"), writing(database) as records:
        records.replace(replace(other, tag="LR-017"))


def test_all_taken_tags_of_a_list_are_told(database, fleet):
    with pytest.raises(WearlogError) as raised, writing(database) as records:
        records.add_all([vehicle("LR-017"), vehicle("A"), vehicle("B"), vehicle("A")])
    assert [problem.where for problem in raised.value.problems] == ["LR-017", "A"]


def test_part_labels_part_types_and_instruments_have_names_of_their_own(database, fleet):
    with writing(database) as records:
        records.add(Instrument(name="caliper 1", kind=InstrumentKind.CALIPER))
        records.add_all([Part(part_type_id=fleet.part_type.id), Part(part_type_id=fleet.part_type.id)])
    for again, sentence in (
        (Part(part_type_id=fleet.part_type.id, label="LR-017 chain"), "part with the label LR-017 chain"),
        (part_type("428 sealed", kind=PartKind.SPROCKET), "part type with the name 428 sealed"),
        (Instrument(name="caliper 1", kind=InstrumentKind.RULE), "instrument with the name caliper 1"),
    ):
        with pytest.raises(WearlogError, match=sentence), writing(database) as records:
            records.add(again)


def test_the_database_itself_refuses_a_second_tag_with_a_sentence(database, fleet):
    shape = shape_of(Vehicle)
    twin = shape.row(replace(fleet.vehicle, id=fleet.vehicle.id + 1))
    with pytest.raises(WearlogError) as raised, database._engine.begin() as connection:
        connection.execute(insert(shape.table), [twin])
    (problem,) = raised.value.problems
    assert problem.kind is ProblemKind.INPUT
    assert problem.what == "There is already something with this tag, label or name."


# -- small things ------------------------------------------------------------------------------------------


def test_the_data_version_grows_with_each_change_of_any_seat(address, database, open_database):
    other_seat = open_database(address)
    seen = [database.data_version()]
    for seat, tag in ((database, "A"), (other_seat, "B"), (database, "C")):
        with writing(seat) as records:
            records.add(vehicle(tag))
        seen.append(database.data_version())
        assert other_seat.data_version() == seen[-1]
    assert seen == sorted(set(seen))


def test_drafts_and_fits_do_not_move_the_data_version(database, fleet):
    before = database.data_version()
    with writing(database) as records:
        records.keep_draft("sheet", "x")
        records.store_fit("chains", "{}", before)
        records.remember_row_keys({"a": "readings.csv row 1"})
    assert database.data_version() == before


def test_a_draft_survives_until_it_is_dropped(address, open_database):
    first = open_database(address)
    with writing(first) as records:
        records.keep_draft("sheet LR-017", '{"length": "153,"}')
        records.keep_draft("sheet LR-017", '{"length": "153,2 mm"}')
        records.keep_draft("sheet LR-018", "{}")
    first.close()
    again = open_database(address)
    with again.reading() as records:
        assert records.draft("sheet LR-017") == '{"length": "153,2 mm"}'
        assert records.drafts() == {"sheet LR-017": '{"length": "153,2 mm"}', "sheet LR-018": "{}"}
    with writing(again) as records:
        records.drop_draft("sheet LR-017")
        records.drop_draft("never kept")
    with again.reading() as records:
        assert records.draft("sheet LR-017") is None
        assert records.audit() == ()


def test_the_latest_fit_is_kept_with_its_data_version(database):
    with writing(database) as records:
        records.store_fit("chains", '{"rate": 1}', 3)
        records.store_fit("chains", '{"rate": 2}', 4)
        records.store_fit("belts", "{}", 4)
    with database.reading() as records:
        assert records.stored_fit("chains") == ('{"rate": 2}', 4)
        assert records.stored_fit("pulleys") is None


def test_rows_that_were_brought_in_are_known_again(database):
    keys = {f"key {n}": f"readings.csv row {n}" for n in range(12_000)}
    with writing(database) as records:
        records.remember_row_keys(keys)
        records.remember_row_keys({"key 7": "copy.csv row 9", "new": "copy.csv row 10"})
    with database.reading() as records:
        assert records.known_row_keys({*keys, "new", "other"}) == {*keys, "new"}


def test_instants_come_back_in_utc(database, fleet):
    summer = timezone(timedelta(hours=2))
    with writing(database, at=datetime(2026, 5, 3, 16, 10, tzinfo=summer)) as records:
        records.add(vehicle("LR-018"))
    with database.reading() as records:
        (entry,) = records.audit(limit=1)
    assert entry.at == datetime(2026, 5, 3, 14, 10, tzinfo=UTC)
    assert entry.at.tzinfo is UTC


def test_a_change_without_a_time_zone_is_refused(database):
    naive = NOW.replace(tzinfo=None)
    with pytest.raises(ValueError, match="time zone"), writing(database, at=naive):
        pass


def test_fleets_can_be_kept_side_by_side(database):
    with writing(database) as records:
        fleets = [keep_small_fleet(records, tag) for tag in ("A-1", "A-2")]
    with database.reading() as records:
        assert records.all(Stage, vehicle_id=fleets[1].vehicle.id) == (fleets[1].stage,)
        assert records.all(PartType) == (fleets[0].part_type,)
        assert records.all(MeterEntry) == ()
