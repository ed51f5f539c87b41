"""A copy of the database is whole, checked, and made while work goes on."""

import sqlite3
from contextlib import closing

import pytest

from tests.store.kept import NOW, chain_reading, keep_small_fleet, one_of_each, vehicle
from wearlog.fleet.problem import ProblemKind, WearlogError
from wearlog.fleet.vehicle import Vehicle
from wearlog.store.backup import copy_file, file_faults


@pytest.fixture
def path(tmp_path):
    return tmp_path / "workshop.sqlite"


@pytest.fixture
def filled(path, open_database):
    database = open_database(path)
    with database.writing(by="Robin", at=NOW, what="set up") as records:
        one_of_each(records)
    return database


def test_a_backup_opens_with_all_that_was_kept(filled, tmp_path, open_database):
    target = tmp_path / "backups" / "monday.sqlite"
    assert filled.back_up(target) == target
    with filled.reading() as records, open_database(target).reading() as copied:
        assert copied.all(Vehicle) == records.all(Vehicle)
        assert copied.audit() == records.audit()


def test_a_backup_is_one_single_file(filled, tmp_path):
    filled.back_up(tmp_path / "backups" / "monday.sqlite")
    assert [one.name for one in (tmp_path / "backups").iterdir()] == ["monday.sqlite"]


def test_a_backup_holds_what_is_committed_while_somebody_saves(filled, tmp_path, open_database):
    target = tmp_path / "monday.sqlite"
    with filled.writing(by="Robin", at=NOW, what="set up") as records:
        records.add(vehicle("LR-900"))
        filled.back_up(target)
    with open_database(target).reading() as records:
        assert [one.tag for one in records.all(Vehicle)] == ["LR-001"]


def test_a_backup_never_replaces_a_file(filled, tmp_path):
    target = tmp_path / "monday.sqlite"
    target.write_text("the only copy")
    with pytest.raises(WearlogError) as raised:
        filled.back_up(target)
    assert raised.value.problems[0].kind is ProblemKind.FILE
    assert target.read_text() == "the only copy"


def test_a_backup_into_a_file_in_place_of_a_folder_is_refused(filled, tmp_path):
    (tmp_path / "backups").write_text("a letter")
    with pytest.raises(WearlogError, match="cannot be opened"):
        filled.back_up(tmp_path / "backups" / "monday.sqlite")


def test_a_damaged_file_makes_no_backup(path, open_database, tmp_path):
    database = open_database(path)
    with database.writing(by="Robin", at=NOW, what="bring in") as records:
        fleet = keep_small_fleet(records)
        records.add_all([chain_reading(fleet, float(n)) for n in range(2000)])
    database.close()
    assert file_faults(path) == []
    whole = path.read_bytes()
    with path.open("r+b") as file:
        file.seek(len(whole) // 4 // 4096 * 4096)
        file.write(b"\xa5" * (len(whole) // 2))
    with pytest.raises(WearlogError, match="The database is damaged"):
        copy_file(path, tmp_path / "monday.sqlite")
    assert not list(tmp_path.glob("monday*"))


def test_rows_that_refer_to_nothing_are_found(filled, path):
    with closing(sqlite3.connect(path)) as file:
        file.execute("DELETE FROM instrument")
        file.commit()
    assert sorted(file_faults(path)) == [
        "reading row 1 refers to a missing instrument",
        "torque_record row 1 refers to a missing instrument",
    ]


def test_a_shared_database_is_backed_up_on_its_server(postgresql, open_database, tmp_path):
    with pytest.raises(WearlogError, match="pg_dump"):
        open_database(postgresql).back_up(tmp_path / "monday.sqlite")
