"""Puts a copy in the place of the database file; what was there is kept aside."""

import os
import shutil
import sqlite3
from contextlib import closing, suppress
from datetime import UTC, datetime
from gettext import gettext as _
from pathlib import Path

from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.store import errors, migrations
from wearlog.store.backup import Told, copy_file, file_faults

#: How every file of SQLite begins ("Database File Format", 1.3.1).
_HEAD = b"SQLite format 3\0"
#: What SQLite keeps beside a file in use.
_BESIDE = ("-wal", "-shm", "-journal")


def restore_file(source: Path, place: Path, now: datetime, told: Told | None = None) -> Path | None:
    """Put a copy of a database in a place, and return where what was there is kept now, or None.

    The copy is checked and complete beside the place before anything is moved.

    Parameters
    ----------
    source
        The copy; it stays where it is.
    place
        Where the database belongs.
    now
        For the name of what is kept aside.
    told
        Called with the pages done and the pages in all; may raise to stop, then nothing has changed.

    Raises
    ------
    WearlogError
        If the copy is damaged, no wearlog database or newer than this program, if somebody has the present
        file open, or if the folder cannot be written.
    """
    refuse_unfit(source)
    if place.exists() and source.exists() and place.samefile(source):
        what = _("The backup and the database are the same file.")
        todo = _("Name the backup that is to be put back.")
        raise WearlogError(Problem(what, str(place), todo, kind=ProblemKind.FILE))
    stamp = f"{now.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    ready = _free_name(place, f"restoring-{stamp}")
    copy_file(source, ready, told)
    try:
        return _swap(ready, place, stamp)
    except OSError as error:
        raise errors.sorted_os_error(error, str(place)) from error
    finally:
        ready.unlink(missing_ok=True)


def refuse_unfit(source: Path) -> None:
    """Refuse a file that is no sound database of this or an earlier wearlog; it is only read.

    Raises
    ------
    WearlogError
        Why it cannot be put in place.
    """
    where = str(source)
    if not source.is_file():
        what, todo = _("There is no such file."), _("Check the name.")
        raise WearlogError(Problem(what, where, todo, kind=ProblemKind.FILE))
    try:
        with source.open("rb") as file:
            is_sqlite = file.read(len(_HEAD)) == _HEAD
        faults = file_faults(source) if is_sqlite else []
        revisions = _revisions(source) if is_sqlite and not faults else []
    except OSError as error:
        raise errors.sorted_os_error(error, where) from error
    except sqlite3.Error as error:
        found = errors.sorted_error(error, where)
        if found is None:
            raise
        raise found from error
    if faults:
        told = errors.problem("damaged", where)
        todo = _("Nothing was changed. Choose another backup.")
        raise errors.Damaged(Problem(told.what, where, todo, kind=ProblemKind.DATABASE))
    if len(revisions) != 1:
        told = errors.problem("not a database", where)
        raise WearlogError(Problem(told.what, where, told.todo, kind=ProblemKind.DATABASE))
    if not migrations.is_known(revisions[0]):
        raise errors.newer_schema(where, revisions[0])


def _revisions(source: Path) -> list[str]:
    with closing(sqlite3.connect(f"{source.absolute().as_uri()}?mode=ro", uri=True)) as file:
        query = "SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name = ?"
        if not file.execute(query, (migrations.VERSION_TABLE,)).fetchone()[0]:
            return []
        return [str(row[0]) for row in file.execute(f"SELECT version_num FROM {migrations.VERSION_TABLE}")]  # noqa: S608 - our own name


def data_version_of(source: Path) -> int | None:
    """Return the count of changes that a copy holds; None if it cannot be read."""
    address = f"{source.absolute().as_uri()}?mode=ro"
    with suppress(sqlite3.Error), closing(sqlite3.connect(address, uri=True)) as file:
        row = file.execute("SELECT value FROM data_version").fetchone()
        return int(row[0]) if row else None
    return None


def _swap(ready: Path, place: Path, stamp: str) -> Path | None:
    if not place.exists():
        ready.replace(place)
        return None
    aside = _free_name(place, f"aside-{stamp}")
    log, log_aside = (one.with_name(f"{one.name}-wal") for one in (place, aside))
    if log.exists():
        # SQLite throws away the log of a file that it cannot read.
        shutil.copy2(log, log_aside)
    try:
        is_folded_in = _close_log(place)
    except WearlogError:
        log_aside.unlink(missing_ok=True)
        raise
    if is_folded_in:
        log_aside.unlink(missing_ok=True)
    for tail in _BESIDE:
        # Left from an unclean end; beside another file they would be taken for its own.
        beside, kept = (one.with_name(one.name + tail) for one in (place, aside))
        if kept.exists():
            beside.unlink(missing_ok=True)
        elif beside.exists():
            beside.replace(kept)
    try:
        # The place is never empty: a program that starts meanwhile would make a new database there.
        os.link(place, aside)
    except OSError:
        place.replace(aside)
    ready.replace(place)
    return aside


def _close_log(place: Path) -> bool:
    """Bring the log into the file, which only the last one who has it open can do; return whether it is.

    Raises
    ------
    WearlogError
        If somebody else has it open.
    """
    with suppress(sqlite3.Error), closing(sqlite3.connect(place, timeout=1.0, isolation_level=None)) as file:
        try:
            file.execute("PRAGMA journal_mode=DELETE")
            file.execute("BEGIN EXCLUSIVE")
            file.execute("ROLLBACK")
        except sqlite3.Error as error:
            if errors.case_of(error) == "busy":
                what = _("The database is open at this moment.")
                todo = _("Nothing was changed. Close wearlog on all seats that use the file, then try again.")
                problem = Problem(what, str(place), todo, kind=ProblemKind.DATABASE)
                raise WearlogError(problem) from error
            return False
        return True
    return False


def _free_name(place: Path, what: str) -> Path:
    path, n = place.with_name(f"{place.stem}.{what}.sqlite"), 1
    while path.exists():
        n += 1
        path = place.with_name(f"{place.stem}.{what}-{n}.sqlite")
    return path
