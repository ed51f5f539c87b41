"""Copies of the database file, made while others go on working."""

import sqlite3
from contextlib import closing
from gettext import gettext as _
from pathlib import Path

from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.store import errors

#: Pages copied at once; others may write in between, then SQLite starts over.
_PAGES = 4096


def copy_file(source: Path, target: Path) -> Path:
    """Copy a SQLite database in use, check the copy, and return where it is.

    Parameters
    ----------
    source
        The database file.
    target
        The new file; it must not exist yet. It appears under this name only when it is complete and sound.

    Raises
    ------
    WearlogError
        If the target exists, or either file cannot be read or written, or the copy is damaged.
    """
    if target.exists():
        what = _("There is a file of this name already.")
        raise WearlogError(Problem(what, str(target), _("Choose another name."), kind=ProblemKind.FILE))
    partial = target.with_name(target.name + ".partial")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        partial.unlink(missing_ok=True)
        with (
            closing(sqlite3.connect(f"{source.absolute().as_uri()}?mode=ro", uri=True)) as old,
            closing(sqlite3.connect(partial)) as new,
        ):
            old.backup(new, pages=_PAGES)
            # Without a log beside it the copy is one file that can be carried away.
            new.execute("PRAGMA journal_mode=DELETE")
        faults = file_faults(partial)
        if not faults:
            partial.replace(target)
    except sqlite3.Error as error:
        partial.unlink(missing_ok=True)
        found = errors.sorted_error(error, str(source))
        if found is None:
            raise
        raise found from error
    except OSError as error:
        raise errors.sorted_os_error(error, str(target)) from error
    if faults:
        partial.unlink(missing_ok=True)
        raise WearlogError(errors.problem("damaged", str(source)))
    return target


def file_faults(path: Path) -> list[str]:
    """Return what SQLite finds wrong in a database file; empty if it is sound.

    Parameters
    ----------
    path
        The database file; it is only read.
    """
    with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as file:
        found = [str(row[0]) for row in file.execute("PRAGMA integrity_check")]
        found += [
            f"{table} row {row} refers to a missing {target}"
            for table, row, target, _key in file.execute("PRAGMA foreign_key_check")
        ]
    return [fault for fault in found if fault != "ok"]
