"""Copies of the database file, made while others go on working; kept by age, and put back."""

import os
import re
import sqlite3
from collections.abc import Callable, Iterable
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from gettext import gettext as _
from pathlib import Path

from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.store import errors

#: Pages copied at once; others may write in between, then SQLite starts over.
_PAGES = 4096
#: All copies stay this long, then one of each day, then one of each week, [days].
KEEP_ALL_DAYS = 2
KEEP_DAILY_DAYS = 14
KEEP_WEEKLY_DAYS = 91
#: A new copy is made when the newest is older than this.
EVERY = timedelta(days=1)
_STAMP = "%Y%m%dT%H%M%SZ"
_STAMPED = re.compile(r"(\d{8}T\d{6}Z)(?:-\d+)?\.sqlite")

Told = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Backup:
    """One of the copies that are kept by age.

    Attributes
    ----------
    path
        Where it is.
    at
        When it was made, by its name.
    size_bytes
        How large it is.
    """

    path: Path
    at: datetime
    size_bytes: int


# -- one copy ----------------------------------------------------------------------------------------------


def copy_file(source: Path, target: Path, told: Told | None = None) -> Path:
    """Copy a SQLite database in use, check the copy, and return where it is.

    Parameters
    ----------
    source
        The database file.
    target
        The new file; it must not exist yet. It appears under this name only when it is complete and sound.
    told
        Called with the pages done and the pages in all; may raise to stop.

    Raises
    ------
    WearlogError
        If the target exists, or either file cannot be read or written, or the copy is damaged.
    """
    if target.exists():
        what = _("There is a file of this name already.")
        raise WearlogError(Problem(what, str(target), _("Choose another name."), kind=ProblemKind.FILE))
    partial = target.with_name(target.name + ".partial")

    def progress(_status: int, remaining: int, total: int) -> None:
        if told is not None:
            told(total - remaining, total)

    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        partial.unlink(missing_ok=True)
        with (
            closing(sqlite3.connect(f"{source.absolute().as_uri()}?mode=ro", uri=True)) as old,
            closing(sqlite3.connect(partial)) as new,
        ):
            old.backup(new, pages=_PAGES, progress=progress)
            # Without a log beside it the copy is one file that can be carried away.
            new.execute("PRAGMA journal_mode=DELETE")
        faults = file_faults(partial)
        if not faults:
            _sync(partial)
            partial.replace(target)
            _sync(target.parent)
    except sqlite3.Error as error:
        partial.unlink(missing_ok=True)
        where = str(target.parent if getattr(error, "sqlite_errorcode", 0) in _OF_THE_TARGET else source)
        found = errors.sorted_error(error, where)
        if found is None:
            raise
        raise found from error
    except OSError as error:
        with suppress(OSError):
            partial.unlink(missing_ok=True)
        raise errors.sorted_os_error(error, str(target)) from error
    except BaseException:
        partial.unlink(missing_ok=True)
        raise
    if faults:
        partial.unlink(missing_ok=True)
        raise errors.Damaged(errors.problem("damaged", str(source)))
    return target


#: The source is only read, so these are about the copy.
_OF_THE_TARGET = {sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR_WRITE, sqlite3.SQLITE_IOERR_FSYNC}


#: What SQLite complains of that says nothing of what the file holds.
_NO_FAULTS_OF_THE_FILE = {"busy", "full", "read-only", "cannot open", "disk", "cannot write"}


def file_faults(path: Path) -> list[str]:
    """Return what SQLite finds wrong in a database file; empty if it is sound.

    Parameters
    ----------
    path
        The database file; it is only read.
    """
    with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as file:
        try:
            found = [str(row[0]) for row in file.execute("PRAGMA integrity_check")]
            found += [
                f"{table} row {row} refers to a missing {target}"
                for table, row, target, _key in file.execute("PRAGMA foreign_key_check")
            ]
        except UnicodeDecodeError as error:
            return [str(error)]
        except sqlite3.Error as error:
            if errors.case_of(error) in _NO_FAULTS_OF_THE_FILE:
                raise
            return [str(error)]
    return [fault for fault in found if fault != "ok"]


def _sync(path: Path) -> None:
    """Let a file, or the names in a folder, outlive a power cut; Windows needs it for files alone."""
    with suppress(OSError):
        number = os.open(path, os.O_RDONLY)
        try:
            os.fsync(number)
        finally:
            os.close(number)


# -- copies kept by age ------------------------------------------------------------------------------------


def backups_folder(path: Path) -> Path:
    """Return where the copies of a database file are kept."""
    return path.with_name(f"{path.name}-backups")


def backups_of(path: Path) -> tuple[Backup, ...]:
    """Return the copies of a database file, the newest first; files of other names are none."""
    found = []
    with suppress(OSError):
        for one in backups_folder(path).iterdir():
            match = _STAMPED.fullmatch(one.name.removeprefix(f"{path.stem}-"))
            if match is not None and one.name.startswith(f"{path.stem}-") and one.is_file():
                at = datetime.strptime(match[1], _STAMP).replace(tzinfo=UTC)
                found.append(Backup(one, at, one.stat().st_size))
    return tuple(sorted(found, key=lambda backup: (backup.at, backup.path.name), reverse=True))


def is_backup_wanted(path: Path, now: datetime) -> bool:
    """Whether the newest copy is too old; one from the future, by a clock set back since, counts as old."""
    newest = next(iter(backups_of(path)), None)
    return newest is None or not timedelta(0) <= now - newest.at < EVERY


def add_backup(path: Path, now: datetime, told: Told | None = None) -> Path:
    """Make one more copy of a database file in its folder, let go of expired ones, and return where it is.

    Raises
    ------
    WearlogError
        If the file is damaged or the copy cannot be written; then no earlier copy is let go.
    """
    stem = f"{path.stem}-{now.astimezone(UTC):{_STAMP}}"
    folder = backups_folder(path)
    target, n = folder / f"{stem}.sqlite", 1
    while target.exists():
        n += 1
        target = folder / f"{stem}-{n}.sqlite"
    copy_file(path, target, told)
    for backup in expired(backups_of(path), now):
        if backup.path != target:
            with suppress(OSError):
                backup.path.unlink()
    return target


def expired(backups: Iterable[Backup], now: datetime) -> list[Backup]:
    """Return the copies that need not be kept any longer.

    All of the last 2 days stay, the newest of each day for 14 days, the newest of each week (ISO 8601) for 91
    days, and always the newest of all. Days are those of UTC.

    Parameters
    ----------
    backups
        In any order. Those from the future, by a clock that was set back since, stay.
    now
        The present instant.
    """
    newest_first = sorted(backups, key=lambda backup: (backup.at, backup.path.name), reverse=True)
    seen: set[tuple[str, object]] = set()
    gone = []
    for n, backup in enumerate(newest_first):
        age = now - backup.at
        day, week = ("day", backup.at.date()), ("week", backup.at.isocalendar()[:2])
        is_first_of_day, is_first_of_week = day not in seen, week not in seen
        seen |= {day, week}
        is_kept = (
            n == 0
            or age < timedelta(days=KEEP_ALL_DAYS)
            or (age < timedelta(days=KEEP_DAILY_DAYS) and is_first_of_day)
            or (age < timedelta(days=KEEP_WEEKLY_DAYS) and is_first_of_week)
        )
        if not is_kept:
            gone.append(backup)
    return gone


def newest_good(path: Path) -> Backup | None:
    """Return the newest copy in which nothing is wrong, or None."""
    for backup in backups_of(path):
        with suppress(sqlite3.Error, OSError):
            if not file_faults(backup.path):
                return backup
    return None


def offering_backup(error: WearlogError, path: Path) -> WearlogError:
    """Return the error of a damaged file with the newest good copy in it, and how it is put back."""
    backup = newest_good(path)
    if backup is None:
        todo = _("Keep the damaged file as it is. There is no good backup beside it; look for one elsewhere.")
    else:
        todo = _(
            "The newest good backup is of {when}. Put it back with: wearlog --database {place} restore {file}"
            " The damaged file is kept aside."
        ).format(
            when=f"{backup.at.astimezone():%Y-%m-%d %H:%M}",
            place=_quoted(path),
            file=_quoted(backup.path),
        )
    told = [
        Problem(problem.what, problem.where, todo, problem.offers, problem.kind) for problem in error.problems
    ]
    return errors.Damaged(*told)


def _quoted(path: Path) -> str:
    text = str(path)
    return text if re.fullmatch(r"[\w@%+=:,./\\-]+", text) else f'"{text}"'
