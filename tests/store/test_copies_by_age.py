"""Copies are made by themselves, kept by age, and put back when the file is damaged."""

import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from tests.store.kept import NOW, chain_reading, keep_small_fleet, vehicle
from wearlog.fleet.problem import Cancelled, WearlogError
from wearlog.fleet.vehicle import Vehicle
from wearlog.store.backup import (
    Backup,
    add_backup,
    backups_folder,
    backups_of,
    expired,
    is_backup_wanted,
    newest_good,
)
from wearlog.store.database import Database
from wearlog.store.restoring import restore_file


@pytest.fixture
def path(tmp_path):
    return tmp_path / "workshop.sqlite"


@pytest.fixture
def filled(path, open_database):
    database = open_database(path)
    add_vehicle(database, "LR-001")
    return database


def add_vehicle(database, tag):
    with database.writing(by="Robin", at=NOW, what="set up") as records:
        records.add(vehicle(tag))


def tags(path, open_database):
    with open_database(path).reading() as records:
        return [one.tag for one in records.all(Vehicle)]


def spoil(path):
    """Overwrite the middle of a file."""
    whole = path.stat().st_size
    with path.open("r+b") as file:
        file.seek(whole // 4 // 4096 * 4096)
        file.write(b"\xa5" * (whole // 2))


# -- which copies stay -------------------------------------------------------------------------------------


def kept_after(days, every):
    """The ages in days of what is left when a copy was made every so often and expired ones let go."""
    kept = []
    at, now = NOW - timedelta(days=days), NOW
    while at <= now:
        kept.append(Backup(Path(f"{at:%Y%m%dT%H%M%SZ}"), at, 1))
        kept = [one for one in kept if one not in expired(kept, at)]
        at += every
    return sorted((now - one.at) / timedelta(days=1) for one in kept)


def test_copies_thin_out_with_age():
    """The agreed numbers: all of 2 days, one a day for 14, one a week for 91 days."""
    ages = kept_after(200, timedelta(hours=6))
    assert len([age for age in ages if age < 2]) == 8
    days = [age for age in ages if 2 <= age < 14]
    assert 12 <= len(days) <= 13
    weeks = [age for age in ages if age >= 14]
    assert 11 <= len(weeks) <= 12
    assert max(ages) < 91
    assert max(b - a for a, b in pairwise(ages)) <= 8


def test_the_newest_copy_stays_however_old_it_is():
    old = [Backup(Path(str(n)), NOW - timedelta(days=400 + n), 1) for n in range(3)]
    assert expired(old, NOW) == old[1:]


def test_copies_from_the_future_stay_when_the_clock_was_set_back():
    ahead = [Backup(Path(str(n)), NOW + timedelta(days=n), 1) for n in range(1, 4)]
    assert expired(ahead, NOW) == []


def test_a_copy_is_wanted_once_a_day(filled, path):
    assert is_backup_wanted(path, NOW)
    add_backup(path, NOW)
    assert not is_backup_wanted(path, NOW + timedelta(hours=23))
    assert is_backup_wanted(path, NOW + timedelta(days=1))
    assert is_backup_wanted(path, NOW - timedelta(days=3))


def test_copies_stand_in_a_folder_beside_the_file_the_newest_first(filled, path):
    for hours in (0, 30, 30, 60):
        add_backup(path, NOW + timedelta(hours=hours))
    (backups_folder(path) / "letter.txt").write_text("not ours")
    assert [one.path.name for one in backups_of(path)] == [
        "workshop-20260506T021005Z.sqlite",
        "workshop-20260504T201005Z.sqlite",
        "workshop-20260504T201005Z-2.sqlite",
        "workshop-20260503T141005Z.sqlite",
    ]
    assert backups_of(path)[-1].at == datetime(2026, 5, 3, 14, 10, 5, tzinfo=UTC)
    assert backups_folder(path).name == "workshop.sqlite-backups"
    add_backup(path, NOW + timedelta(days=100))
    assert [one.at.day for one in backups_of(path)] == [11]
    assert (backups_folder(path) / "letter.txt").read_text() == "not ours"


def test_a_copy_that_was_stopped_leaves_nothing(filled, path):
    def stop(_done, _total):
        raise Cancelled

    with pytest.raises(Cancelled):
        add_backup(path, NOW, stop)
    assert list(backups_folder(path).iterdir()) == []


def test_a_damaged_copy_is_passed_over(filled, path):
    good = add_backup(path, NOW)
    with filled.writing(by="Robin", at=NOW, what="bring in") as records:
        fleet = keep_small_fleet(records)
        records.add_all([chain_reading(fleet, float(n)) for n in range(500)])
    spoil(add_backup(path, NOW + timedelta(hours=1)))
    backups_folder(path).joinpath("workshop-20260503T180000Z.sqlite").write_text("no database at all")
    assert newest_good(path).path == good


# -- a damaged file ----------------------------------------------------------------------------------------


def test_a_damaged_file_names_the_newest_good_copy(path, open_database):
    database = open_database(path)
    with database.writing(by="Robin", at=NOW, what="bring in") as records:
        fleet = keep_small_fleet(records)
        records.add_all([chain_reading(fleet, float(n)) for n in range(2000)])
    copy = add_backup(path, NOW)
    database.close()
    spoil(path)
    again = open_database(path)
    with pytest.raises(WearlogError) as raised, again.reading() as records:
        records.audit()
    (problem,) = raised.value.problems
    assert problem.what == "The database is damaged."
    assert f"wearlog --database {path} restore {copy}" in problem.todo


def test_a_file_whose_head_is_gone_names_the_newest_good_copy(filled, path):
    copy = add_backup(path, NOW)
    filled.close()
    with path.open("r+b") as file:
        file.write(b"\0" * 4096)
    with pytest.raises(WearlogError) as raised:
        Database.open(path, now=NOW)
    assert str(copy) in raised.value.problems[0].todo


def test_a_damaged_file_without_copies_says_so(filled, path):
    filled.close()
    with path.open("r+b") as file:
        file.write(b"\0" * 4096)
    with pytest.raises(WearlogError, match="There is no good backup beside it"):
        Database.open(path, now=NOW)


# -- putting one back --------------------------------------------------------------------------------------


def test_a_copy_is_put_back_and_the_present_file_kept_aside(filled, path, open_database):
    copy = add_backup(path, NOW)
    add_vehicle(filled, "LR-002")
    filled.close()
    aside = restore_file(copy, path, NOW)
    assert aside.name == "workshop.aside-20260503T141005Z.sqlite"
    assert tags(path, open_database) == ["LR-001"]
    assert tags(aside, open_database) == ["LR-001", "LR-002"]
    assert copy.exists()
    assert not list(path.parent.glob("*restoring*"))


def test_a_copy_is_put_where_nothing_is(filled, path, tmp_path, open_database):
    copy = add_backup(path, NOW)
    assert restore_file(copy, tmp_path / "new" / "place.sqlite", NOW) is None
    assert tags(tmp_path / "new" / "place.sqlite", open_database) == ["LR-001"]


def test_a_damaged_file_is_kept_aside_with_its_log(filled, path, open_database):
    copy = add_backup(path, NOW)
    filled.close()
    path.write_bytes(b"\0" * 20_000)
    log = path.with_name(path.name + "-wal")
    log.write_bytes(b"what was in the log")
    aside = restore_file(copy, path, NOW)
    assert aside.read_bytes() == b"\0" * 20_000
    assert not log.exists()
    assert aside.with_name(aside.name + "-wal").read_bytes() == b"what was in the log"
    assert tags(path, open_database) == ["LR-001"]


def test_what_is_only_in_the_log_is_kept_aside_as_well(path, tmp_path, open_database):
    """After a kill the last saves stand in the log beside the file."""
    source = open_database(tmp_path / "copy.sqlite")
    add_vehicle(source, "LR-900")
    source.close()
    script = (
        "import os, sys\nfrom tests.store.kept import NOW, vehicle\n"
        "from wearlog.store.database import Database\n"
        "database = Database.open(sys.argv[1], now=NOW)\n"
        "with database.writing(by='R', at=NOW, what='x') as records:\n    records.add(vehicle('LR-001'))\n"
        "os._exit(9)\n"
    )
    command = [sys.executable, "-c", script, str(path)]
    ended = subprocess.run(command, cwd=Path(__file__).parents[2], check=False)  # noqa: S603 - our own script
    assert ended.returncode == 9
    assert path.with_name(path.name + "-wal").stat().st_size
    aside = restore_file(tmp_path / "copy.sqlite", path, NOW)
    assert tags(path, open_database) == ["LR-900"]
    assert tags(aside, open_database) == ["LR-001"]


def test_nothing_is_put_back_while_somebody_has_the_file_open(filled, path):
    copy = add_backup(path, NOW)
    add_vehicle(filled, "LR-002")
    with filled.reading() as records:
        records.all(Vehicle)
        with pytest.raises(WearlogError, match="The database is open at this moment"):
            restore_file(copy, path, NOW)
    add_vehicle(filled, "LR-003")
    assert not list(path.parent.glob("*aside*"))
    with filled.reading() as records:
        assert len(records.all(Vehicle)) == 3


@pytest.mark.parametrize("case", ["damaged", "letter", "other program", "missing", "newer", "itself"])
def test_what_is_no_good_backup_is_refused_and_nothing_changes(filled, path, tmp_path, case):
    source = add_backup(path, NOW)
    filled.close()
    before = path.read_bytes()
    if case == "damaged":
        with source.open("r+b") as file:
            file.seek(2000)
            file.write(b"\xa5" * 30_000)
    elif case == "letter":
        source.write_text("Dear workshop,\n" * 100)
    elif case == "other program":
        source = tmp_path / "other.sqlite"
        with closing(sqlite3.connect(source)) as other:
            other.execute("CREATE TABLE recipe (name TEXT)")
    elif case == "missing":
        source = tmp_path / "nowhere.sqlite"
    elif case == "newer":
        with closing(sqlite3.connect(source)) as newer:
            newer.execute("UPDATE schema_version SET version_num = '9001'")
            newer.commit()
    else:
        source = path
    with pytest.raises(WearlogError) as raised:
        restore_file(source, path, NOW)
    assert raised.value.problems[0].todo
    assert path.read_bytes() == before
    assert not list(tmp_path.glob("*aside*")) + list(tmp_path.glob("*restoring*"))


def test_an_older_form_can_be_put_back_and_follows(path, tmp_path, open_database):
    old = tmp_path / "old.sqlite"
    dump = Path(__file__).parent.parent / "old_databases" / "0001.sql"
    with closing(sqlite3.connect(old)) as file:
        file.executescript(dump.read_text(encoding="utf-8"))
    restore_file(old, path, NOW)
    assert tags(path, open_database) == ["LR-001"]
