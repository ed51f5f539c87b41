"""A database copied to a server and back: the same rows, the same chain, whole or not at all."""

from dataclasses import replace

import pytest

from tests.store.kept import NOW, keep_small_fleet, one_of_each, vehicle
from wearlog.fleet.audit import AuditEntry
from wearlog.fleet.problem import Cancelled, ProblemKind, WearlogError
from wearlog.fleet.vehicle import Vehicle
from wearlog.store.copying import copy_database
from wearlog.store.verify import Verified, verify_database


def silent(_done, _total, _what):
    """Take no notice."""


def fill(database) -> None:
    """Keep one of each record, changes of some of them, and the small things beside them."""
    with database.writing(by="Robin", at=NOW, what="set up", key="the first save") as records:
        one_of_each(records)
        records.set_setting("caution level", "0.05")
        records.keep_draft("sheet:1", '{"notes": "Kette läuft – 27 °C"}')
        records.store_fit("chain", "[1.5]", 1)
        records.remember_row_keys({"b": "readings.csv row 2", "B": "readings.csv row 3", "ä": "row 4"})
    with database.writing(by="Sasha", at=NOW, what="correct") as records:
        kept = records.first(Vehicle)
        records.replace(replace(kept, owner_contact="owner@example.org", notes="x\n\ty"))


def all_of(database) -> tuple[object, ...]:
    with database.reading() as records:
        return (
            records.audit(),
            records.all(Vehicle),
            records.drafts(),
            records.stored_fit("chain"),
            records.known_row_keys({"b", "B", "ä"}),
            records.saved_by("the first save"),
            records.data_version(),
            tuple(records.told(entry) for entry in records.audit()),
        )


def is_verified(database) -> bool:
    found = Verified()
    verify_database(database, found, silent)
    return not found.findings


@pytest.fixture
def elsewhere(request, tmp_path):
    """The other kind of place: a file for what is on a server, a server for what is in a file."""

    def place(address):
        if address.startswith("postgresql"):
            return str(tmp_path / "copy" / "fleet.sqlite")
        return request.getfixturevalue("postgresql")

    return place


def test_a_copy_on_the_other_kind_of_database_is_the_same_and_its_chain_holds(
    address, database, elsewhere, open_database
):
    fill(database)
    _shown, tables = copy_database(database, elsewhere(address), now=NOW, told=silent)
    copy = open_database(elsewhere(address))
    assert all_of(copy) == all_of(database)
    assert is_verified(copy)
    counts = {table.name: table.rows for table in tables}
    with database.reading() as records:
        assert counts["vehicle"] == records.count(Vehicle)
        assert counts["audit"] == records.count(AuditEntry)


def test_there_and_back_the_checksums_are_the_same(database, postgresql, tmp_path, open_database):
    fill(database)
    file = tmp_path / "there.sqlite"
    _shown, there = copy_database(database, file, now=NOW, told=silent)
    _shown, back = copy_database(open_database(file), tmp_path / "back.sqlite", now=NOW, told=silent)
    assert [table.checksum for table in there] == [table.checksum for table in back]


def test_work_goes_on_in_a_copy_with_the_next_numbers(address, database, elsewhere, open_database):
    fill(database)
    copy_database(database, elsewhere(address), now=NOW, told=silent)
    copy = open_database(elsewhere(address))
    with copy.reading() as records:
        last = records.all(Vehicle)[-1].id
    with copy.writing(by="Robin", at=NOW, what="set up") as records:
        assert records.add(vehicle("LR-900")).id > last
        keep_small_fleet(records, "LR-901")
    assert is_verified(copy)


def test_a_database_with_something_in_it_is_refused_and_stays(address, database, elsewhere, open_database):
    fill(database)
    other = open_database(elsewhere(address))
    with other.writing(by="Robin", at=NOW, what="set up") as records:
        records.add(vehicle("LR-777"))
    before = all_of(other)
    with pytest.raises(WearlogError, match="something already") as refused:
        copy_database(database, elsewhere(address), now=NOW, told=silent)
    assert refused.value.problems[0].kind is ProblemKind.CONFLICT
    assert all_of(other) == before


def test_a_database_is_not_copied_onto_itself(address, database):
    fill(database)
    with pytest.raises(WearlogError, match="something already"):
        copy_database(database, address, now=NOW, told=silent)


@pytest.mark.parametrize("share", [0.0, 0.3, 0.6, 0.9])
def test_a_copy_that_is_stopped_leaves_nothing_and_can_be_made_again(
    share, address, database, elsewhere, open_database, tmp_path
):
    fill(database)

    def stop(done, total, _what):
        if done >= share * total:
            raise Cancelled

    with pytest.raises(Cancelled):
        copy_database(database, elsewhere(address), now=NOW, told=stop)
    assert not list((tmp_path / "copy").glob("*"))
    copy_database(database, elsewhere(address), now=NOW, told=silent)
    assert all_of(open_database(elsewhere(address))) == all_of(database)


def test_progress_goes_up_to_the_end(database, tmp_path):
    fill(database)
    told = []
    copy_database(database, tmp_path / "copy.sqlite", now=NOW, told=lambda *step: told.append(step[:2]))
    assert [done for done, _total in told] == sorted(done for done, _total in told)
    assert told[-1][0] == told[-1][1]


def test_a_text_that_no_server_keeps_is_named_before_anything_is_copied(open_database, tmp_path, postgresql):
    """PostgreSQL manual, "Character Types": the character with code zero cannot be stored."""
    file = open_database(tmp_path / "fleet.sqlite")
    with file.writing(by="Robin", at=NOW, what="set up") as records:
        records.add(vehicle("LR-1", notes="a\0b"))
    with pytest.raises(WearlogError, match="NUL") as refused:
        copy_database(file, postgresql, now=NOW, told=silent)
    assert "1" in refused.value.problems[0].where
    with open_database(postgresql).reading() as records:
        assert records.count(Vehicle) == 0


def test_the_address_of_a_copy_is_told_without_its_password(open_database, tmp_path, postgresql):
    file = open_database(tmp_path / "fleet.sqlite")
    address = postgresql.replace("postgres:@", "postgres:zqxj@")
    shown, _tables = copy_database(file, address, now=NOW, told=silent)
    assert "zqxj" not in shown
