"""How the data are kept safe: looking through them, copies by age, and putting one back."""

from datetime import datetime
from gettext import gettext as _
from pathlib import Path

from wearlog.fleet.progress import Progress, Silent
from wearlog.store import backup
from wearlog.store.addresses import file_of
from wearlog.store.backup import Told
from wearlog.store.errors import Damaged
from wearlog.store.restoring import data_version_of, restore_file
from wearlog.store.verify import Verified, verify_database
from wearlog.workshop.bench import Bench, FixedClock
from wearlog.workshop.keeping_checks import check_records
from wearlog.workshop.keeping_snapshot import KeptBackup, RestoredDatabase, VerifySnapshot

__all__ = [
    "back_up_if_changed",
    "back_up_if_due",
    "back_up_now",
    "kept_backups",
    "remark_about_drive",
    "restore_database",
    "verify",
]


def verify(bench: Bench, progress: Progress | None = None) -> VerifySnapshot:
    """Look through the whole database for what cannot be right; nothing is changed.

    Parameters
    ----------
    bench : Bench
        An open store.
    progress : Progress or None
        Told what is looked at; may stop it.
    """
    said = progress or Silent()
    found = Verified()
    database = bench.database
    remark = remark_about_drive(bench)
    if remark:
        found.notes.append(remark)
    if verify_database(database, found, said.step):
        said.step(0, 1, _("Comparing records"))
        try:
            with database.reading() as records:
                check_records(records, bench.today(), found)
        except Damaged as error:
            found.findings.extend(error.problems)
    found.close()
    return VerifySnapshot(
        database.address, tuple(found.findings), tuple(found.notes), found.entries, found.rows
    )


def remark_about_drive(bench: Bench) -> str:
    """Return what to know about a file on a network drive, in sentences; empty for any other."""
    if bench.database.path is None or bench.database.keeps_log:
        return ""
    return _(
        "The database lies on a network drive or on one that cannot keep a write-ahead log: use it from one"
        " seat at a time. For several seats keep it on a PostgreSQL server."
    )


# -- copies kept by age ------------------------------------------------------------------------------------


def kept_backups(bench: Bench) -> tuple[KeptBackup, ...]:
    """Return the copies that are kept of the database, the newest first; none for a server."""
    path = bench.database.path
    if path is None:
        return ()
    return tuple(KeptBackup(one.path, one.at, one.size_bytes) for one in backup.backups_of(path))


def back_up_now(bench: Bench, progress: Progress | None = None) -> Path | None:
    """Make one more copy and let go of expired ones; None for a database that is no file.

    Raises
    ------
    WearlogError
        If the database is damaged or the copy cannot be written.
    """
    path = bench.database.path
    # A clock that stands still is that of the sample fleet, which is thrown away.
    if path is None or isinstance(bench.clock, FixedClock):
        return None
    return backup.add_backup(path, bench.now(), _told(progress))


def back_up_if_due(bench: Bench, progress: Progress | None = None) -> Path | None:
    """Make a copy if the newest is older than a day and something has changed since; for starting.

    Raises
    ------
    WearlogError
        If the database is damaged or the copy cannot be written.
    """
    path = bench.database.path
    if path is None or not backup.is_backup_wanted(path, bench.now()):
        return None
    return back_up_if_changed(bench, progress)


def back_up_if_changed(bench: Bench, progress: Progress | None = None) -> Path | None:
    """Make a copy if something has changed since the newest one; for closing.

    Raises
    ------
    WearlogError
        If the database is damaged or the copy cannot be written.
    """
    path = bench.database.path
    if path is None or isinstance(bench.clock, FixedClock):
        return None
    newest = next(iter(backup.backups_of(path)), None)
    if newest is not None and data_version_of(newest.path) == bench.data_version():
        return None
    return back_up_now(bench, progress)


def restore_database(
    address: str | Path, source: Path, now: datetime, progress: Progress | None = None
) -> RestoredDatabase:
    """Put a copy in the place of a database that nobody has open; what was there is kept aside.

    Parameters
    ----------
    address : str or Path
        Of the database: the path of a file or ``sqlite:///path``.
    source : Path
        The copy; it is checked first and stays where it is.
    now : datetime
        For the name of what is kept aside.
    progress : Progress or None
        Told how far the copy is; may stop it, then nothing has changed.

    Raises
    ------
    WearlogError
        If the copy is not fit, the database is open somewhere or on a server, or nothing can be written.
    """
    place = file_of(address)
    aside = restore_file(source, place, now, _told(progress))
    return RestoredDatabase(source, place, aside)


def _told(progress: Progress | None) -> Told | None:
    if progress is None:
        return None
    return lambda done, total: progress.step(done, total, _("Copying the database"))
