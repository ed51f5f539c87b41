"""Small things that leave no trail: drafts, stored fits, and which file rows and saves are done."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import datetime
from itertools import islice
from typing import Any, TypeVar

from sqlalchemy import Connection, delete, insert, select, update
from sqlalchemy.orm import InstrumentedAttribute

from wearlog.fleet.problem import AlreadySaved
from wearlog.store.tables_base import Table
from wearlog.store.tables_small import DraftRow, RowKeyRow, SavedKeyRow, StoredFitRow

#: Values in one IN list; databases allow some ten thousand bound values in a statement.
CHUNK = 5000

T = TypeVar("T")


def chunks(values: Collection[T]) -> Iterator[Sequence[T]]:
    """Yield values in portions that one statement can hold."""
    rest = iter(values)
    while portion := list(islice(rest, CHUNK)):
        yield portion


def keep(
    connection: Connection, table: type[Table], key: InstrumentedAttribute[str], values: Mapping[str, Any]
) -> None:
    """Insert a row or replace the one with the same key; writers take turns, so nothing comes between."""
    changed = connection.execute(update(table).where(key == values[key.key]).values(values))
    if not changed.rowcount:
        connection.execute(insert(table).values(values))


def keep_draft(connection: Connection, key: str, text: str) -> None:
    """Keep an unfinished entry."""
    keep(connection, DraftRow, DraftRow.key, {"key": key, "text": text})


def drafts(connection: Connection) -> dict[str, str]:
    """Return all unfinished entries by key."""
    rows = connection.execute(select(DraftRow.key, DraftRow.text).order_by(DraftRow.key))
    return {row.key: row.text for row in rows}


def draft(connection: Connection, key: str) -> str | None:
    """Return an unfinished entry."""
    return connection.execute(select(DraftRow.text).where(DraftRow.key == key)).scalar_one_or_none()


def drop_draft(connection: Connection, key: str) -> None:
    """Forget an unfinished entry; drafts are the only rows that are ever deleted."""
    connection.execute(delete(DraftRow).where(DraftRow.key == key))


def keep_saved_key(connection: Connection, key: str, change_id: str, at: datetime) -> None:
    """Keep the key of a save that begins; it stays if the save is committed.

    Raises
    ------
    AlreadySaved
        If a save with this key was committed.
    """
    if not key:
        return
    done = saved_by(connection, key)
    if done is not None:
        raise AlreadySaved(done)
    connection.execute(insert(SavedKeyRow), {"key": key, "change_id": change_id, "at": at})


def saved_by(connection: Connection, key: str) -> str | None:
    """Return the change by which a save with a key was done, or None."""
    query = select(SavedKeyRow.change_id).where(SavedKeyRow.key == key)
    return connection.execute(query).scalar_one_or_none()


def store_fit(connection: Connection, family: str, payload: str, data_version: int) -> None:
    """Keep the latest fit of a family in place of the one before."""
    values = {"family": family, "payload": payload, "data_version": data_version}
    keep(connection, StoredFitRow, StoredFitRow.family, values)


def stored_fit(connection: Connection, family: str) -> tuple[str, int] | None:
    """Return the latest fit of a family and the data version it was made from."""
    query = select(StoredFitRow.payload, StoredFitRow.data_version).where(StoredFitRow.family == family)
    row = connection.execute(query).one_or_none()
    return None if row is None else (row[0], row[1])


def known_row_keys(connection: Connection, keys: Collection[str]) -> set[str]:
    """Return those of some row keys that were remembered and not taken back."""
    return {key for key, counts in _row_keys(connection, keys).items() if counts}


def remember_row_keys(connection: Connection, keys: Mapping[str, str], change_id: str) -> None:
    """Remember row keys and where they came from; the first place stays."""
    known = _row_keys(connection, keys.keys())
    rows = [
        {"key": key, "source": source, "change_id": change_id, "counts": True}
        for key, source in keys.items()
        if not known.get(key, False)
    ]
    new = [row for row in rows if row["key"] not in known]
    if new:
        connection.execute(insert(RowKeyRow), new)
    for row in rows:
        if row["key"] in known:
            connection.execute(update(RowKeyRow).where(RowKeyRow.key == row["key"]).values(row))


def forget_row_keys(connection: Connection, change_id: str) -> None:
    """Let the row keys of a change no longer count, so that its file may be brought in again."""
    connection.execute(update(RowKeyRow).where(RowKeyRow.change_id == change_id).values(counts=False))


def _row_keys(connection: Connection, keys: Collection[str]) -> dict[str, bool]:
    known: dict[str, bool] = {}
    for portion in chunks(keys):
        query = select(RowKeyRow.key, RowKeyRow.counts).where(RowKeyRow.key.in_(portion))
        known.update((row.key, row.counts) for row in connection.execute(query))
    return known
