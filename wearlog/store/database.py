"""The database: opened once, then one transaction at a time; the errors of its drivers are sorted here.

A reading transaction sees one state of the data to its end, whoever saves meanwhile: SQLite's write-ahead
log gives that by itself, PostgreSQL at REPEATABLE READ, READ ONLY.

Writers take turns, on both databases. SQLite: BEGIN IMMEDIATE. PostgreSQL: READ COMMITTED, and the first
statement locks the one row of `data_version`. A check made inside a transaction (is the meter value above
the last one, is the tag free) therefore still holds at its commit; SERIALIZABLE would promise the same, but
its failures come at the commit, when the work of the `with` block cannot be done again from here. Nobody
waits for a person: transactions are as short as a save. What two people change at once over minutes is
found by the version of each record.

SQLite's transactions are begun by SQLAlchemy's events instead of by the driver, which before Python 3.12
begins none for reading (SQLAlchemy 2.1 documentation, "SQLite", "Transactions with SQLite and the sqlite3
driver").
"""

import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from gettext import gettext as _
from pathlib import Path
from typing import Any
from uuid import uuid4

from alembic.util import CommandError
from sqlalchemy import URL, Connection, Engine, create_engine, event, select, text
from sqlalchemy.engine import ExceptionContext
from sqlalchemy.exc import ArgumentError, NoSuchModuleError
from sqlalchemy.pool import QueuePool

from wearlog.fleet.problem import ConnectionLost, Problem, ProblemKind, WearlogError
from wearlog.store import addresses, backup, drafts, drives, errors, migrations
from wearlog.store.audit import Change
from wearlog.store.records import Records
from wearlog.store.tables_small import DataVersionRow

#: How long a writer waits for its turn, [ms].
BUSY_TIMEOUT_MS = 5000
#: A file of SQLite has one page at least, of 512 bytes at least (its "Database File Format", 1.3), [bytes].
SMALLEST_FILE = 512
#: How long to wait for a server to answer, [s].
CONNECT_TIMEOUT_S = 10
#: How long a thread waits for a connection that other threads of the program hold, [s].
POOL_TIMEOUT_S = 10

#: Execution option: how SQLite begins; empty for what SQLite allows outside transactions only.
_BEGIN = "wearlog_begin"


class Database:
    """An open database.

    Transactions may be opened from any thread, each `with` on a connection of its own; what it hands out
    must stay in that thread. A database in memory has a single connection, for which threads wait.

    Attributes
    ----------
    address
        As given, without any password.
    path
        Of a database file; None in memory or on a server.
    keeps_log
        Whether others can read while somebody saves. A file on another machine cannot keep the log that it
        takes: SQLite's shared memory does not reach there ("Write-Ahead Logging", section 1).
    """

    def __init__(self, engine: Engine, address: str, path: Path | None, *, keeps_log: bool = True) -> None:
        self.address = address
        self.path = path
        self.keeps_log = keeps_log
        self._engine = engine

    @classmethod
    def open(cls, address: str | Path, *, now: datetime) -> "Database":
        """Open a database, make it if it is missing, bring its tables up to date.

        Parameters
        ----------
        address
            The path of a SQLite file, ``sqlite:///path``, ``postgresql+psycopg://...`` or ``":memory:"``.
        now
            For the name of the copy that is kept before the tables of a file are changed.

        Raises
        ------
        WearlogError
            If it cannot be opened, is damaged, belongs to another program or to a newer wearlog.
        """
        url = addresses.url_of(address)
        shown, path = addresses.shown(url), addresses.file_in(url)
        if path is not None:
            _make_folder(path, shown)
            _refuse_lost(path, shown)
        engine = _engine(url, shown)
        try:
            with _offering_backup(path), _told_of_garbled_words(shown):
                keeps_log = _bring_up_to_date(engine, shown, path, now)
        except BaseException:
            engine.dispose()
            raise
        return cls(engine, shown, path, keeps_log=keeps_log)

    @contextmanager
    def reading(self) -> Iterator[Records]:
        """Give the records as they are now, unchanging until the end of the block."""
        with _offering_backup(self.path), self._engine.connect() as connection:
            if not _is_sqlite(connection):
                connection.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
            with connection.begin():
                yield Records(connection)

    @contextmanager
    def writing(self, *, by: str, at: datetime, what: str, key: str = "") -> Iterator[Records]:
        """Give the records for changing; all is committed at the end of the block, on an exception nothing.

        Parameters
        ----------
        by
            Who changes something.
        at
            When, with its time zone.
        what
            The work, a word or two.
        key
            Names this very save, so that it can be tried again after a lost connection without being done
            twice; empty for a save that is not tried again.

        Raises
        ------
        AlreadySaved
            If a save with this key is done; nothing is done again.
        WearlogError
            If somebody else's saving does not end, or the database refuses.
        """
        if at.tzinfo is None:
            message = "`at` must say its time zone"
            raise ValueError(message)
        change = Change(by, at.astimezone(UTC), what, uuid4().hex)
        is_committing = False
        try:
            with _offering_backup(self.path), self._engine.connect() as connection:
                connection.execution_options(**{_BEGIN: "BEGIN IMMEDIATE"})
                with connection.begin():
                    _wait_for_the_turn(connection)
                    drafts.keep_saved_key(connection, key, change.change_id, change.at)
                    records = Records(connection, change)
                    yield records
                    records.close()
                    is_committing = True
        except ConnectionLost as error:
            if is_committing:
                raise errors.answer_lost(self.address, is_named=bool(key)) from error
            raise

    def data_version(self) -> int:
        """Return a count that grows with every committed change, of this seat and of others.

        Drafts, stored fits and remembered file rows do not count.
        """
        with self._engine.connect() as connection:
            return connection.execute(select(DataVersionRow.value)).scalar_one()

    def back_up(self, target: Path, told: backup.Told | None = None) -> Path:
        """Copy the database to a new file while work goes on, check the copy, and return where it is.

        Parameters
        ----------
        target
            The new file.
        told
            Called with the pages done and the pages in all; may raise to stop.

        Raises
        ------
        WearlogError
            If the target exists or cannot be written, or the database is not a file.
        """
        if self.path is None:
            what = _("Only a database file can be copied from here.")
            todo = _("A database on a server is backed up there, for example with pg_dump.")
            raise WearlogError(Problem(what, self.address, todo, kind=ProblemKind.DATABASE))
        return backup.copy_file(self.path, target, told)

    def close(self) -> None:
        """Close all connections."""
        self._engine.dispose()


# -- the file ----------------------------------------------------------------------------------------------


def _make_folder(path: Path, shown: str) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        is_folder = path.is_dir()
    except OSError as error:
        raise errors.sorted_os_error(error, shown) from error
    if is_folder:
        raise WearlogError(errors.problem("cannot open", shown))


def _refuse_lost(path: Path, shown: str) -> None:
    """Refuse to make a new database where an older one was, of which there are copies."""
    try:
        is_there = path.is_file() and path.stat().st_size >= SMALLEST_FILE
    except OSError as error:
        raise errors.sorted_os_error(error, shown) from error
    if not is_there and backup.backups_of(path):
        what = _("The database file is gone or empty, but there are backups of it.")
        lost = errors.Damaged(Problem(what, shown, kind=ProblemKind.DATABASE))
        more = _("To begin anew, move the folder {folder} elsewhere.").format(
            folder=backup.backups_folder(path)
        )
        (problem,) = backup.offering_backup(lost, path).problems
        raise errors.Damaged(replace(problem, todo=f"{problem.todo} {more}"))


# -- the engine --------------------------------------------------------------------------------------------


def _engine(url: URL, shown: str) -> Engine:
    # Parameters may hold what people wrote about people: they stay out of error texts and logs.
    if url.get_backend_name() == "sqlite":
        sizes = {"pool_size": 5, "max_overflow": 10}
        if addresses.file_in(url) is None:
            sizes = {"pool_size": 1, "max_overflow": 0}
        engine = create_engine(
            url,
            poolclass=QueuePool,
            hide_parameters=True,
            pool_timeout=POOL_TIMEOUT_S,
            connect_args={"check_same_thread": False, "isolation_level": None},
            **sizes,
        )
        event.listen(engine, "connect", _set_up_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    else:
        # In the address itself they would be shown with the engine.
        hidden = addresses.secrets_of(url)
        patience = {} if "connect_timeout" in url.query else {"connect_timeout": CONNECT_TIMEOUT_S}
        try:
            engine = create_engine(
                url.difference_update_query(hidden),
                hide_parameters=True,
                pool_timeout=POOL_TIMEOUT_S,
                pool_pre_ping=True,
                isolation_level="READ COMMITTED",
                connect_args=hidden | patience,
            )
        except ArgumentError:
            raise errors.unknown_address() from None
        except (ModuleNotFoundError, NoSuchModuleError):
            raise errors.unknown_address(
                _("A database on a server needs the extra `shared`: pip install 'wearlog[shared]'.")
            ) from None

    def sort(context: ExceptionContext) -> None:
        if context.is_pre_ping:
            return  # A connection that died in the pool is made anew, which nobody needs to know.
        found = errors.sorted_error(context.original_exception, shown)
        if context.is_disconnect and not isinstance(found, ConnectionLost):
            found = errors.connection_lost(shown)
        if found is not None:
            raise found from context.original_exception

    event.listen(engine, "handle_error", sort)
    return engine


def _set_up_sqlite(connection: sqlite3.Connection, _record: object) -> None:
    with closing(connection.cursor()) as cursor:
        cursor.execute(f"PRAGMA busy_timeout={BUSY_TIMEOUT_MS}")
        cursor.execute("PRAGMA synchronous=FULL")
        cursor.execute("PRAGMA foreign_keys=ON")
        # What is erased is overwritten; drafts and personal data are all that ever is.
        cursor.execute("PRAGMA secure_delete=ON")


def _begin_sqlite(connection: Connection) -> None:
    how = connection.get_execution_options().get(_BEGIN, "BEGIN")
    if how:
        connection.exec_driver_sql(how)


def _is_sqlite(connection: Connection) -> bool:
    return connection.dialect.name == "sqlite"


def _wait_for_the_turn(connection: Connection) -> None:
    if _is_sqlite(connection):
        return  # BEGIN IMMEDIATE has waited.
    connection.execute(text(f"SET LOCAL lock_timeout = {BUSY_TIMEOUT_MS}"))
    connection.execute(select(DataVersionRow.value).with_for_update())


# -- the tables --------------------------------------------------------------------------------------------


@contextmanager
def _offering_backup(path: Path | None) -> Iterator[None]:
    """Say in the error of a damaged file which copy is good."""
    try:
        yield
    except errors.Damaged as error:
        if path is None or not path.exists():
            raise
        raise backup.offering_backup(error, path) from error


@contextmanager
def _told_of_garbled_words(shown: str) -> Iterator[None]:
    """Take names of tables, or complaints of SQLite about them, that are no text for signs of damage."""
    try:
        yield
    except UnicodeDecodeError as error:
        raise errors.unreadable(shown, "sqlite_schema") from error


def _bring_up_to_date(engine: Engine, shown: str, path: Path | None, now: datetime) -> bool:
    """Make or change the tables; return whether the database keeps a write-ahead log (or needs none)."""
    newest = migrations.newest_revision()
    with engine.connect() as connection:
        revision = _revision(connection, shown)
        if revision is None and migrations.belongs_to_another_program(connection):
            raise errors.foreign_database(shown)
        if revision is not None and not migrations.is_known(revision):
            raise errors.newer_schema(shown, revision)
    keeps_log = path is None or _write_ahead(engine, is_wanted=not drives.is_on_network(path))
    if revision == newest:
        if path is not None:
            _refuse_other_columns(engine, shown)
        return keeps_log
    if path is not None and revision is not None:
        stamp = f"{now.astimezone(UTC):%Y%m%dT%H%M%SZ}"
        backup.copy_file(path, path.with_name(f"{path.stem}.before-{newest}-{stamp}.sqlite"))
    with engine.connect() as connection:
        connection.execution_options(**{_BEGIN: "BEGIN IMMEDIATE"})
        with _keys_unchecked(connection), connection.begin():
            migrations.migrate(connection)
    return keeps_log


def _revision(connection: Connection, shown: str) -> str | None:
    try:
        revision = migrations.revision_of(connection)
    except CommandError:
        raise errors.unreadable(shown, migrations.VERSION_TABLE) from None
    if revision is not None and not re.fullmatch(r"\d{4}", revision):
        raise errors.unreadable(shown, migrations.VERSION_TABLE)
    return revision


def _refuse_other_columns(engine: Engine, shown: str) -> None:
    """Take missing columns in a file of today's form for damage: its own description of itself is spoilt."""
    with engine.connect() as connection:
        for name, table in migrations.METADATA.tables.items():
            found = {row[1] for row in connection.exec_driver_sql(f"PRAGMA table_info({name})")}
            if not found >= set(table.columns.keys()):
                raise errors.unreadable(shown, name)


def _write_ahead(engine: Engine, *, is_wanted: bool) -> bool:
    """Let a file keep a write-ahead log, or none, and return whether it does.

    A lasting change, so made only once the file is known to be ours. Without the log a file has a rollback
    journal, which needs nothing but locks: readers and the writer then wait for each other.
    """
    with engine.connect() as connection:
        connection.execution_options(**{_BEGIN: ""})
        mode = "WAL" if is_wanted else "DELETE"
        return bool(connection.exec_driver_sql(f"PRAGMA journal_mode={mode}").scalar_one() == "wal")


@contextmanager
def _keys_unchecked(connection: Connection) -> Iterator[None]:
    """Let tables be made anew: SQLite would take the old one's end for the deletion of its rows.

    Only outside a transaction the setting can be changed (SQLite documentation, "PRAGMA foreign_keys").
    """
    if not _is_sqlite(connection):
        yield
        return
    driver: Any = connection.connection.dbapi_connection
    driver.execute("PRAGMA foreign_keys=OFF")
    try:
        yield
    finally:
        driver.execute("PRAGMA foreign_keys=ON")
