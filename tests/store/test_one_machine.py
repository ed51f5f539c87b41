"""One machine, real processes, real files: a mishap ends in a sentence, and nothing saved is lost."""

import json
import random
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

from tests.store.kept import NOW, chain_reading, keep_small_fleet, one_of_each, vehicle
from wearlog.fleet.problem import ProblemKind, WearlogError
from wearlog.fleet.reading import Reading
from wearlog.fleet.vehicle import Vehicle
from wearlog.store import database as database_file
from wearlog.store import drives
from wearlog.store.backup import add_backup, backups_of
from wearlog.store.database import Database
from wearlog.store.drives import drive_type, is_on_network
from wearlog.store.rows import TABLES
from wearlog.store.verify import Verified, verify_database

ROOT = Path(__file__).parents[2]
#: Nobody's own number on most systems.
NOBODY = 65534


@pytest.fixture
def path(tmp_path):
    return tmp_path / "workshop.sqlite"


def run(script, *arguments, **more):
    """Run a few lines in a process of their own; what goes wrong in them is printed as a sentence."""
    head = """
import resource, os, sys
from tests.store.kept import NOW, chain_reading, keep_small_fleet, vehicle
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.vehicle import Vehicle
from wearlog.store.database import Database
Database.open(":memory:", now=NOW).close()
path = sys.argv[1]
try:
"""
    body = "\n".join(f"    {line}" for line in script.strip().splitlines())
    tail = "\nexcept WearlogError as error:\n    print(error.problems[0])\n    sys.exit(5)\n"
    command = [sys.executable, "-c", head + body + tail, *map(str, arguments)]
    return subprocess.run(  # noqa: S603 - our own script
        command, cwd=ROOT, check=False, capture_output=True, text=True, timeout=60, **more
    )


def tags(path):
    database = Database.open(path, now=NOW)
    try:
        with database.reading() as records:
            return [one.tag for one in records.all(Vehicle)]
    finally:
        database.close()


def is_sound(path):
    with closing(sqlite3.connect(path)) as file:
        return file.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


SAVE = """
database = Database.open(path, now=NOW)
with database.writing(by="Robin", at=NOW, what="set up") as records:
    records.add(vehicle(sys.argv[2]))
"""


# -- kill -9 and power cuts --------------------------------------------------------------------------------


@pytest.mark.slow
def test_a_kill_at_any_moment_loses_nothing_that_was_reported_as_saved(tmp_path):
    command = [sys.executable, "-m", "tests.store.killed", str(tmp_path), "180", "40", "7"]
    ended = subprocess.run(command, cwd=ROOT, check=False, capture_output=True, text=True)  # noqa: S603
    assert ended.returncode == 0, ended.stderr
    came = json.loads(ended.stdout)
    assert came["wrong"] == []
    assert came["saves"] + came["imports"] >= 200
    assert came["kills"] >= 150
    assert came["acknowledged"] > 0
    assert came["torn"] > 0
    assert came["imports_whole"] + came["imports_none"] == came["imports"]


# -- the disk is full --------------------------------------------------------------------------------------


@pytest.fixture
def small_disk():
    """A disk of 2 MiB in a place of its own; None where this process may mount nothing."""
    folder = Path(tempfile.mkdtemp(prefix="wl-disk-"))
    mount = shutil.which("mount")
    options = ["-t", "tmpfs", "-o", "size=2m", "none", str(folder)]
    is_mounted = (
        mount is not None
        and subprocess.run([mount, *options], check=False, capture_output=True).returncode == 0  # noqa: S603
    )
    yield folder if is_mounted else None
    if is_mounted:
        subprocess.run([shutil.which("umount") or "umount", str(folder)], check=True)  # noqa: S603
    folder.rmdir()


FILL = """
if len(sys.argv) > 2:
    resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[2]), int(sys.argv[2])))
database = Database.open(path, now=NOW)
with database.writing(by="Robin", at=NOW, what="set up") as records:
    fleet = keep_small_fleet(records)
print("saved", flush=True)
with database.writing(by="Robin", at=NOW, what="bring in") as records:
    records.add_all([chain_reading(fleet, float(n), note="x" * 200) for n in range(20000)])
"""


def test_a_full_disk_is_told_and_what_was_saved_stays(small_disk, path):
    """On a disk of 2 MiB where one may be mounted; else with a limit on the size of files."""
    target = (small_disk or path.parent) / "workshop.sqlite"
    ended = run(FILL, target, *([] if small_disk else ["1500000"]))
    assert ended.returncode == 5, ended.stderr
    first, told = ended.stdout.splitlines()
    assert first == "saved"
    assert "is full" in told if small_disk else "could not be written" in told
    assert is_sound(target)
    assert tags(target) == ["LR-017"]


def test_a_file_that_may_not_grow_is_told_and_what_was_saved_stays(path):
    """RLIMIT_FSIZE of setrlimit(2): writes beyond it fail with EFBIG."""
    ended = run(FILL, path, "1500000")
    assert (ended.returncode, ended.stdout.splitlines()[0]) == (5, "saved")
    assert "The database could not be written." in ended.stdout
    assert "Nothing was saved. Look whether the disk is full or failing" in ended.stdout
    assert is_sound(path)
    assert tags(path) == ["LR-017"]


def test_no_room_for_a_copy_leaves_no_half_copy_and_no_earlier_one_is_let_go(path):
    database = Database.open(path, now=NOW)
    with database.writing(by="Robin", at=NOW, what="set up") as records:
        keep_small_fleet(records)
    old = add_backup(path, NOW - timedelta(days=300))
    database.close()
    script = """
resource.setrlimit(resource.RLIMIT_FSIZE, (100000, 100000))
from pathlib import Path
from wearlog.store.backup import add_backup
add_backup(Path(path), NOW)
"""
    ended = run(script, path)
    assert ended.returncode == 5, ended.stderr
    assert "could not be written" in ended.stdout
    assert [one.path for one in backups_of(path)] == [old]
    assert [one.name for one in old.parent.iterdir()] == [old.name]


# -- a folder that can only be read ------------------------------------------------------------------------


@pytest.fixture
def public_folder():
    """A folder that others may enter, which those of the tests are not."""
    folder = Path(tempfile.mkdtemp(prefix="wl-read-"))
    folder.chmod(0o755)
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(folder)


#: The administrator may write everywhere, so the process becomes nobody after all is loaded.
BECOME_NOBODY = f"""
if os.geteuid() == 0:
    os.setgroups([])
    os.setgid({NOBODY})
    os.setuid({NOBODY})
"""


def test_a_folder_that_can_only_be_read_is_told(public_folder):
    path = public_folder / "workshop.sqlite"
    assert run(SAVE, path, "LR-001").returncode == 0
    public_folder.chmod(0o555)
    path.chmod(0o444)
    ended = run(BECOME_NOBODY + SAVE, path, "LR-002")
    assert ended.returncode == 5, ended.stderr
    assert str(path) in ended.stdout
    assert "The database can only be read." in ended.stdout
    assert "Allow writing to the file and its folder" in ended.stdout
    public_folder.chmod(0o755)
    path.chmod(0o644)
    assert tags(path) == ["LR-001"]


def test_a_new_database_in_a_folder_that_can_only_be_read_is_told(public_folder):
    public_folder.chmod(0o555)
    ended = run(BECOME_NOBODY + SAVE, public_folder / "new" / "workshop.sqlite", "LR-001")
    assert ended.returncode == 5, ended.stderr
    assert "The database file cannot be opened." in ended.stdout
    assert list(public_folder.iterdir()) == []


# -- a file that another process holds ---------------------------------------------------------------------


def test_a_locked_file_is_told_and_opens_when_it_is_free(path, monkeypatch):
    assert run(SAVE, path, "LR-001").returncode == 0
    script = (
        "import sqlite3, sys\nfile = sqlite3.connect(sys.argv[1], isolation_level=None)\n"
        "file.execute('PRAGMA locking_mode=EXCLUSIVE')\nfile.execute('BEGIN EXCLUSIVE')\n"
        "print('locked', flush=True)\nsys.stdin.read()\n"
    )
    monkeypatch.setattr(database_file, "BUSY_TIMEOUT_MS", 50)
    command = [sys.executable, "-c", script, str(path)]
    with subprocess.Popen(  # noqa: S603 - our own script
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as other:
        assert other.stdout.readline() == "locked\n"
        with pytest.raises(WearlogError) as raised:
            Database.open(path, now=NOW)
        other.communicate("")
    (problem,) = raised.value.problems
    assert problem.what == "The database is busy: somebody else is saving."
    assert problem.todo == "Nothing was saved. Try again in a moment."
    assert tags(path) == ["LR-001"]


# -- a network drive ---------------------------------------------------------------------------------------

MOUNTS = """\
/dev/sda2 / ext4 rw,relatime 0 0
filer:/depots /srv/depots nfs4 rw,vers=4.2 0 0
//filer/office /srv/the\\040office cifs rw 0 0
tmpfs /srv/depots/local tmpfs rw 0 0
robin@filer:/ /srv/robin/far fuse.sshfs rw 0 0
""".splitlines()


@pytest.mark.parametrize(
    ("place", "kind"),
    [
        ("/srv/depots/north/workshop.sqlite", "nfs4"),
        ("/srv/the office/workshop.sqlite", "cifs"),
        ("/srv/depots/local/workshop.sqlite", "tmpfs"),
        ("/srv/robin/far/workshop.sqlite", "fuse.sshfs"),
        ("/srv/robin/farther/workshop.sqlite", "ext4"),
    ],
)
def test_the_drive_of_a_file_is_the_deepest_mount_above_it(place, kind):
    """The form of the lines: Linux manual pages, proc_pid_mounts(5) and fstab(5)."""
    assert drive_type(Path(place), MOUNTS) == kind


def test_a_drive_of_this_machine_is_no_network_drive(path):
    assert not is_on_network(path)


def test_a_file_on_a_network_drive_works_without_a_log_and_says_so(path, monkeypatch):
    """SQLite documentation, "Write-Ahead Logging", section 1: the log does not work over a network."""
    database = Database.open(path, now=NOW)
    assert database.keeps_log
    database.close()
    monkeypatch.setattr(drives, "_mounts", lambda: [f"filer:/depots {path.parent.resolve()} nfs4 rw 0 0"])
    database = Database.open(path, now=NOW)
    assert not database.keeps_log
    with database.writing(by="Robin", at=NOW, what="set up") as records:
        records.add(vehicle("LR-001"))
    with closing(sqlite3.connect(path)) as file:
        assert file.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    database.close()
    assert [one.name for one in path.parent.iterdir()] == ["workshop.sqlite"]
    monkeypatch.undo()
    again = Database.open(path, now=NOW)
    assert again.keeps_log
    again.close()
    assert tags(path) == ["LR-001"]


# -- a damaged file ----------------------------------------------------------------------------------------


def everything(database):
    with database.reading() as records:
        return [records.all(kind) for kind in TABLES]


def opened_or_told(path):
    """Return the database, or None where a sentence says why it cannot be opened."""
    try:
        return Database.open(path, now=NOW)
    except WearlogError as error:
        problem = error.problems[0]
    assert problem.kind is ProblemKind.DATABASE
    assert problem.todo
    return None


@pytest.mark.slow
def test_bytes_overwritten_anywhere_are_told_or_did_no_harm(path):
    """Whatever is overwritten: a sentence, never a fault of ours, and what passes for sound is unchanged."""
    database = Database.open(path, now=NOW)
    with database.writing(by="Robin", at=NOW, what="set up") as records:
        one_of_each(records)
        fleet = keep_small_fleet(records)
        records.add_all([chain_reading(fleet, float(n), note=f"spot {n}") for n in range(40)])
    before = everything(database)
    database.close()
    whole = path.read_bytes()
    chance = random.Random(20261125)  # noqa: S311 - places, not secrets
    told = passed = 0
    for _round in range(300):
        spoilt = bytearray(whole)
        for _place in range(chance.choice([1, 1, 4, 40])):
            at = chance.randrange(len(spoilt))
            length = chance.choice([1, 2, 16, 400, 5000])
            spoilt[at : at + length] = chance.randbytes(len(spoilt[at : at + length]))
        path.write_bytes(spoilt)
        for tail in ("-wal", "-shm"):
            path.with_name(path.name + tail).unlink(missing_ok=True)
        again = opened_or_told(path)
        if again is None:
            told += 1
            continue
        found = Verified()
        verify_database(again, found, lambda _done, _total, _what: None)
        if found.findings:
            told += 1
            assert all(finding.what and finding.todo for finding in found.findings)
        else:
            passed += 1
            assert everything(again) == before
        again.close()
    assert told > 150
    assert told + passed == 300


@pytest.mark.parametrize("length", [1, 50, 100, 1000, 4096, 5000, 40_000])
def test_a_file_cut_short_is_told(path, length):
    database = Database.open(path, now=NOW)
    with database.writing(by="Robin", at=NOW, what="set up") as records:
        one_of_each(records)
    copy = add_backup(path, NOW)
    database.close()
    path.write_bytes(path.read_bytes()[:length])
    with pytest.raises(WearlogError) as raised:
        everything(Database.open(path, now=NOW))
    assert str(copy) in raised.value.problems[0].todo


def test_an_empty_file_with_copies_beside_it_is_not_taken_for_a_new_database(path):
    database = Database.open(path, now=NOW)
    with database.writing(by="Robin", at=NOW, what="set up") as records:
        one_of_each(records)
    copy = add_backup(path, NOW)
    database.close()
    path.write_bytes(b"")
    with pytest.raises(WearlogError) as raised:
        Database.open(path, now=NOW)
    assert str(copy) in raised.value.problems[0].todo
    assert path.stat().st_size == 0


def test_a_file_that_is_gone_is_not_made_anew_while_there_are_copies(path):
    database = Database.open(path, now=NOW)
    add_backup(path, NOW)
    database.close()
    path.unlink()
    with pytest.raises(WearlogError) as raised:
        Database.open(path, now=NOW)
    assert raised.value.problems[0].what == "The database file is gone or empty, but there are backups of it."
    assert not path.exists()


# -- a clock that was set back -----------------------------------------------------------------------------


def test_a_save_with_an_earlier_clock_is_kept_and_noted(database):
    for days in (0, -3, 1):
        with database.writing(by="Robin", at=NOW + timedelta(days=days), what="set up") as records:
            records.add(vehicle(f"LR-{days}"))
    with database.reading() as records:
        assert [one.tag for one in records.all(Vehicle)] == ["LR-0", "LR--3", "LR-1"]
        assert [(NOW - one.at).days for one in records.audit()] == [-1, 3, 0]
    found = Verified()
    assert verify_database(database, found, lambda _done, _total, _what: None)
    assert found.findings == []
    assert len(found.notes) == 1
    assert "The clock of a seat was set back: entry 2 of the trail" in found.notes[0]


def test_readings_of_a_day_that_lies_ahead_are_kept(database, fleet):
    with database.writing(by="Robin", at=NOW - timedelta(days=400), what="measure") as records:
        kept = records.add(chain_reading(fleet))
    with database.reading() as records:
        assert records.get(Reading, kept.id) == kept
