"""All of one database brought into another, empty one: whole and compared, or not at all."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from gettext import gettext as _
from hashlib import sha256
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, String, Table, collate, func, insert, select, text, update
from sqlalchemy.sql import ColumnElement

from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.store import addresses
from wearlog.store.database import Database
from wearlog.store.migrations import METADATA

#: Told rows done, rows in all, and what is being done; may raise to stop.
Told = Callable[[int, int, str], None]
#: Rows that are read and written at once.
PORTION = 1000
#: The one table that is never empty; its row is the baton that writers pass on.
_VERSION = "data_version"


@dataclass(frozen=True, slots=True)
class CopiedTable:
    """A table that is the same on both sides: its rows, counted and summed up (SHA-256, hexadecimal)."""

    name: str
    rows: int
    checksum: str


def copy_database(
    source: Database, address: str | Path, *, now: datetime, told: Told
) -> tuple[str, tuple[CopiedTable, ...]]:
    """Copy everything into an empty database; return its address without any password, and what was copied.

    All is one transaction, which is committed once every table was read back and found the same. A copy into
    a file gets its name then.

    Parameters
    ----------
    source
        What is copied: its state at one moment, whoever saves meanwhile.
    address
        Of a file that is not there yet, or of an empty database on a server.
    now
        The present instant.
    told
        Called with rows done, rows in all and what is done; may raise to stop.

    Raises
    ------
    WearlogError
        If there is something already, or either side cannot be read or written.
    """
    with _opened(address, now) as (target, shown), source.reading() as records:
        rows = _count_all(records.connection)
        with target.writing(by="", at=now, what="Copy") as kept:
            _refuse_filled(kept.connection, shown)
            return shown, _copy_all(records.connection, kept.connection, _steps(told, 2 * rows), shown)


@contextmanager
def _opened(address: str | Path, now: datetime) -> Iterator[tuple[Database, str]]:
    """Open the target; a file under another name until the block has ended well."""
    url = addresses.url_of(address)
    path, shown = addresses.file_in(url), addresses.shown(url)
    if path is None:
        if url.get_backend_name() == "sqlite":
            raise WearlogError(
                Problem(
                    _("A copy in memory would be gone at once."),
                    shown,
                    _("Give a file or a server."),
                    kind=ProblemKind.INPUT,
                )
            )
        target = Database.open(address, now=now)
        try:
            yield target, shown
        finally:
            target.close()
        return
    if path.exists():
        raise _filled(shown)
    part = path.with_name(f"{path.name}.part")
    _remove(part)
    try:
        target = Database.open(part, now=now)
        try:
            yield target, shown
        finally:
            target.close()
        if path.exists():
            raise _filled(shown)
        part.replace(path)
    finally:
        _remove(part)


def _remove(part: Path) -> None:
    for ending in ("", "-wal", "-shm", "-journal"):
        part.with_name(part.name + ending).unlink(missing_ok=True)


def _filled(shown: str) -> WearlogError:
    what = _("There is something already: a copy is made into an empty database only.")
    todo = _("Give a file that is not there yet, or an empty database on a server. Nothing was copied.")
    return WearlogError(Problem(what, shown, todo, kind=ProblemKind.CONFLICT))


def _refuse_filled(connection: Connection, shown: str) -> None:
    for table in METADATA.sorted_tables:
        query = select(table.c.value if table.name == _VERSION else func.count()).select_from(table)
        if connection.execute(query).scalar_one():
            raise _filled(shown)


def _count_all(connection: Connection) -> int:
    return sum(
        connection.execute(select(func.count()).select_from(table)).scalar_one()
        for table in METADATA.sorted_tables
    )


def _steps(told: Told, total: int) -> Callable[[int, str], None]:
    done = 0

    def step(more: int, what: str) -> None:
        nonlocal done
        done += more
        told(done, total, what)

    return step


def _copy_all(
    source: Connection, target: Connection, step: Callable[[int, str], None], shown: str
) -> tuple[CopiedTable, ...]:
    is_server = target.dialect.name != "sqlite"
    copied = []
    for table in METADATA.sorted_tables:

        def put(rows: Sequence[Sequence[Any]], table: Table = table) -> None:
            values = [dict(zip(table.columns.keys(), row, strict=True)) for row in rows]
            if is_server:
                _refuse_nul(table, values)
            if table.name == _VERSION:
                # Other writers wait for this row: it may not go, even for a moment.
                target.execute(update(table).values(values[0]))
            else:
                target.execute(insert(table), values)

        copied.append(_sum_up(source, table, step, _("Copying"), put))
    for before in copied:
        table = METADATA.tables[before.name]
        after = _sum_up(target, table, step, _("Comparing"), lambda _rows: None)
        if after != before:
            what = _("What was copied differs from what was read: {before} rows, {after} rows.")
            raise WearlogError(
                Problem(
                    what.format(before=before.rows, after=after.rows),
                    f"{shown}: {table.name}",
                    _("Nothing was copied. Look through the database that was read: wearlog verify."),
                    kind=ProblemKind.DATABASE,
                )
            )
    if is_server:
        _go_on_counting(target)
    return tuple(copied)


def _sum_up(
    connection: Connection,
    table: Table,
    step: Callable[[int, str], None],
    what: str,
    put: Callable[[Sequence[Sequence[Any]]], None],
) -> CopiedTable:
    """Read a table in the order of its keys, hand on its rows in portions, and sum them up."""
    count, digest = 0, sha256()
    step(0, what)
    keys: list[ColumnElement[Any]] = list(table.primary_key.columns)
    if connection.dialect.name != "sqlite":
        # In the order of their code points, as in SQLite, not in that of the server's language.
        keys = [collate(key, "C") if isinstance(key.type, String) else key for key in keys]
    query = select(table).order_by(*keys)
    with connection.execute(query, execution_options={"yield_per": PORTION}) as result:
        for rows in result.partitions(PORTION):
            plain = [tuple(row) for row in rows]
            for row in plain:
                digest.update(repr(row).encode("utf-8", "surrogatepass"))
            put(plain)
            count += len(plain)
            step(len(plain), what)
    return CopiedTable(table.name, count, digest.hexdigest())


def _refuse_nul(table: Table, values: Sequence[dict[str, Any]]) -> None:
    """Refuse texts with the character NUL, which PostgreSQL keeps in no text."""
    for row in values:
        for name, value in row.items():
            if isinstance(value, str) and "\0" in value:
                where = f"{table.name} {next(iter(row.values()))}: {name}"
                what = _("This text holds the character NUL, which a server cannot keep.")
                raise WearlogError(Problem(what, where, _("Correct the text, then copy again.")))


def _go_on_counting(connection: Connection) -> None:
    """Let the server give the next numbers where those that were copied end."""
    for table in METADATA.sorted_tables:
        if "id" not in table.c:
            continue
        names = {"name": table.name}
        if connection.execute(text("SELECT pg_get_serial_sequence(:name, 'id')"), names).scalar() is None:
            continue
        last = connection.execute(select(func.max(table.c.id))).scalar()
        if last is not None:
            query = text("SELECT setval(pg_get_serial_sequence(:name, 'id'), :last)")
            connection.execute(query, {**names, "last": last})
