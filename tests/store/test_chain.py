"""Nobody alters the trail unseen, and yet a person's data can be erased from it."""

import hashlib
import json
from dataclasses import replace

import pytest
from sqlalchemy import text, update

from tests.store.kept import NOW, one_of_each, vehicle
from wearlog.fleet.audit import AuditEntry, chain_after, personal_digest
from wearlog.fleet.problem import AlreadySaved
from wearlog.fleet.vehicle import Vehicle
from wearlog.store.tables import AuditRow
from wearlog.store.taking_back import take_back
from wearlog.store.verify import Verified, verify_database


def writing(database, what="measure"):
    return database.writing(by="Robin", at=NOW, what=what)


def looked_through(database):
    found = Verified()
    assert verify_database(database, found, lambda _done, _total, _what: None)
    return found


def whats(found):
    return [finding.what for finding in found.findings]


# -- the chain ---------------------------------------------------------------------------------------------


def test_each_entry_is_chained_to_the_one_before(database):
    """Worked out here with `hashlib` from the text that the docstring of `chain_after` describes."""
    for tag in ("LR-001", "LR-002"):
        with writing(database) as records:
            records.add(vehicle(tag))
            records.set_setting("caution", tag)
    with database.reading() as records:
        trail = records.all(AuditEntry)
    chain = ""
    for entry in trail:
        told = [
            chain,
            "2026-05-03T14:10:05.250000+00:00",
            *("Robin", "measure", entry.record, entry.record_id, entry.vehicle_id),
            *(entry.before, entry.after, entry.change_id),
        ]
        chain = hashlib.sha256(json.dumps(told, separators=(",", ":")).encode()).hexdigest()
        assert entry.chain == chain
    assert len(trail) == 4


def test_many_rows_at_once_are_chained_one_by_one(database):
    with writing(database) as records:
        records.add_all([vehicle(f"V-{n}") for n in range(300)])
    with writing(database) as records:
        records.add(vehicle())
    found = looked_through(database)
    assert (found.findings, found.entries, found.rows) == ([], 301, 301)


@pytest.fixture
def kept(database):
    with writing(database) as records:
        return one_of_each(records)


def test_nothing_is_found_where_nothing_was_altered(database, kept):
    found = looked_through(database)
    assert (found.findings, found.notes, found.rows) == ([], [], len(kept))


@pytest.mark.parametrize(
    ("altered", "value"),
    [("by", "Sasha"), ("after", "{}"), ("what", "edit"), ("record_id", 7), ("chain", "")],
)
def test_an_altered_entry_shows(database, kept, altered, value):
    with database._engine.begin() as connection:
        connection.execute(update(AuditRow).where(AuditRow.id == 3).values({altered: value}))
    found = looked_through(database)
    assert "The trail was altered, or entries were taken out of it." in whats(found)
    assert any("trail entry 3 " in finding.where for finding in found.findings)


def test_an_entry_that_was_taken_out_shows(database, kept):
    with database._engine.begin() as connection:
        connection.execute(text("DELETE FROM audit WHERE id = 4"))
    assert "The trail was altered, or entries were taken out of it." in whats(looked_through(database))


def test_the_last_entries_cut_off_show_by_their_rows(database, kept):
    """The chain of what is left is whole; the rows tell."""
    with database._engine.begin() as connection:
        connection.execute(text("DELETE FROM audit WHERE record IN ('PlannedVisit')"))
    found = looked_through(database)
    assert whats(found) == ["The trail does not know this row."]
    assert found.findings[0].where == "PlannedVisit 1"


@pytest.mark.parametrize(
    ("statement", "what", "where"),
    [
        (
            "UPDATE reading SET value = 0.001 WHERE id = 1",
            "A row is not what the trail says.",
            "Reading 1: value",
        ),
        ("UPDATE visit SET tasks = '[]'", "A row is not what the trail says.", "Visit 1: tasks"),
        (
            "UPDATE vehicle SET owner_contact = 'me'",
            "A row is not what the trail says.",
            "Vehicle 1: owner_contact",
        ),
        ("UPDATE vehicle SET version = 9", "A row is not what the trail says.", "Vehicle 1: version"),
        ("DELETE FROM torque_record", "A row that the trail knows is gone.", "TorqueRecord 1"),
        ("INSERT INTO setting VALUES ('caution level', '0.4')", "A setting is not what the trail says.", ""),
    ],
)
def test_what_was_changed_behind_the_programs_back_shows(database, kept, statement, what, where):
    with database._engine.begin() as connection:
        connection.execute(text(statement))
    found = looked_through(database)
    assert whats(found) == [what]
    assert where in found.findings[0].where
    assert found.findings[0].todo


def test_two_entries_that_changed_places_show(database, kept):
    with database._engine.begin() as connection:
        for number, other in ((2, 1002), (3, 2), (1002, 3)):
            connection.execute(update(AuditRow).where(AuditRow.id == number).values(id=other))
    assert "The trail was altered, or entries were taken out of it." in whats(looked_through(database))


def test_the_chain_depends_on_all_that_came_before():
    entry = AuditEntry(at=NOW, by="R", what="x", record="Vehicle", record_id=1, vehicle_id=1)
    assert chain_after("", entry) != chain_after("0", entry)
    assert chain_after("", entry) == chain_after("", replace(entry, id=5, chain="kept"))


# -- personal data -----------------------------------------------------------------------------------------

CONTACT = "Robin Fell, ext. 4711"


@pytest.fixture
def owned(database):
    with writing(database) as records:
        bike = records.add(vehicle(owner_contact="gate house"))
    with writing(database) as records:
        return records.replace(replace(bike, owner_contact=CONTACT))


def test_the_trail_holds_a_digest_of_personal_data_and_can_show_what_it_was(database, owned):
    with database.reading() as records:
        changed, added = records.audit()
        for entry in (changed, added):
            assert CONTACT not in entry.before + entry.after
            assert json.loads(entry.after)["owner_contact"].startswith("personal:")
        assert json.loads(records.told(changed).before) == {"owner_contact": "gate house"}
        assert json.loads(records.told(changed).after) == {"owner_contact": CONTACT}
    assert looked_through(database).findings == []


def test_equal_contacts_have_different_digests():
    assert personal_digest("a", CONTACT) != personal_digest("b", CONTACT)


def test_an_erased_contact_is_gone_and_the_chain_holds(database, owned):
    with writing(database, "erase") as records:
        erased = records.erase_contact(owned.id)
    assert erased == replace(owned, owner_contact="", version=3)
    with database.reading() as records:
        trail = records.audit(vehicle_id=owned.id)
        assert [json.loads(records.told(one).after)["owner_contact"] for one in trail] == ["", "", ""]
        assert records.connection.execute(text("SELECT count(*) FROM personal")).scalar_one() == 0
    found = looked_through(database)
    assert (found.findings, found.entries) == ([], 3)


def test_an_erased_contact_is_nowhere_in_the_file(tmp_path, open_database):
    path = tmp_path / "workshop.sqlite"
    database = open_database(path)
    with writing(database) as records:
        bike = records.add(vehicle(owner_contact=CONTACT))
    with writing(database) as records:
        records.erase_contact(bike.id)
    database.close()
    assert [one.name for one in tmp_path.iterdir()] == ["workshop.sqlite"]
    assert CONTACT.encode() not in path.read_bytes()


def test_only_the_contact_of_one_vehicle_is_erased(database, owned):
    with writing(database) as records:
        other = records.add(vehicle("LR-018", owner_contact="yard office"))
        records.erase_contact(owned.id)
    with database.reading() as records:
        assert records.get(Vehicle, other.id).owner_contact == "yard office"
        (entry,) = records.audit(vehicle_id=other.id)
        assert json.loads(records.told(entry).after)["owner_contact"] == "yard office"


def test_a_changed_contact_can_be_taken_back(database, owned):
    with writing(database) as records:
        records.replace(replace(owned, owner_contact="third", depot="South"))
        change_id = records.change_id
    with writing(database, "undo") as records:
        take_back(records, change_id, "undone")
    with database.reading() as records:
        bike = records.get(Vehicle, owned.id)
    assert (bike.owner_contact, bike.depot) == (CONTACT, "North")
    assert looked_through(database).findings == []


def test_what_was_erased_does_not_come_back(database, owned):
    with writing(database, "erase") as records:
        records.erase_contact(owned.id)
        change_id = records.change_id
    with writing(database, "undo") as records:
        take_back(records, change_id, "undone")
    with database.reading() as records:
        assert records.get(Vehicle, owned.id).owner_contact == ""


# -- a save that is tried again ----------------------------------------------------------------------------


def save(database, key, tag):
    with database.writing(by="Robin", at=NOW, what="measure", key=key) as records:
        records.add(vehicle(tag))
        return records.change_id


def test_a_save_that_is_tried_again_is_done_once(database):
    first = save(database, "sheet-1", "LR-001")
    with pytest.raises(AlreadySaved) as raised:
        save(database, "sheet-1", "LR-001")
    assert raised.value.change_id == first
    save(database, "sheet-2", "LR-002")
    assert database.data_version() == 2
    with database.reading() as records:
        assert len(records.audit(change_id=first)) == 1


def test_a_save_that_failed_is_done_when_it_is_tried_again(database):
    def break_off(records):
        records.add(vehicle("LR-001"))
        raise LookupError

    with (
        pytest.raises(LookupError),
        database.writing(by="Robin", at=NOW, what="measure", key="sheet-1") as records,
    ):
        break_off(records)
    save(database, "sheet-1", "LR-001")
    with database.reading() as records:
        assert [one.tag for one in records.all(Vehicle)] == ["LR-001"]


def test_saves_without_a_key_are_never_the_same(database):
    assert save(database, "", "LR-001") != save(database, "", "LR-002")
