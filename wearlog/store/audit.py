"""The trail: every change leaves a row that says who, when, what, from what and to what."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, insert, select

from wearlog.fleet.audit import AuditEntry, chain_after
from wearlog.store import personal
from wearlog.store.rows import R, Shape, json_text, shape_of
from wearlog.store.tables import AuditRow

#: The name under which changed settings stand in the trail.
SETTING = "Setting"


@dataclass(frozen=True, slots=True)
class Change:
    """Who changes something, when and at what work; all of it is one transaction.

    Attributes
    ----------
    by
        The person.
    at
        When, with its time zone.
    what
        The work, for example ``"measure"``.
    change_id
        Shared by all rows of the transaction.
    """

    by: str
    at: datetime
    what: str
    change_id: str


class Trail:
    """Writes the audit rows of one transaction."""

    def __init__(self, connection: Connection, change: Change) -> None:
        self.change = change
        self.is_empty = True
        self._connection = connection
        self._chain: str | None = None
        self._personal: list[dict[str, Any]] = []

    def added(self, shape: Shape[R], records: Iterable[R]) -> None:
        """Note that records were added; values that say nothing are left out."""
        rows = []
        for record in records:
            values = shape.fields_of(record)
            told = {
                name: value
                for name, value in values.items()
                if name not in {"id", "version"} and value is not None and value not in ("", ())
            }
            personal.hidden(shape.kind.__name__, told, values["id"], self._personal)
            rows.append(self._row(shape, values, "", json_text(told)))
        self._keep(rows)

    def replaced(self, shape: Shape[R], before: R, after: R) -> None:
        """Note that a record was replaced, with the values that differ."""
        old = shape.fields_of(before)
        new = shape.fields_of(after)
        names = [name for name in shape.names if name not in {"id", "version"} and old[name] != new[name]]
        sides = []
        for values in (old, new):
            told = {name: values[name] for name in names}
            personal.hidden(shape.kind.__name__, told, new["id"], self._personal)
            sides.append(json_text(told))
        self._keep([self._row(shape, new, *sides)])

    def setting_changed(self, name: str, before: str | None, after: str) -> None:
        """Note that a setting was changed."""
        told_before = "" if before is None else json_text({name: before})
        self._keep([self._cells(SETTING, 0, None, told_before, json_text({name: after}))])

    def _row(self, shape: Shape[R], values: Mapping[str, Any], before: str, after: str) -> dict[str, Any]:
        vehicle_id = values["id"] if shape.kind.__name__ == "Vehicle" else values.get("vehicle_id")
        return self._cells(shape.kind.__name__, values["id"], vehicle_id, before, after)

    def _cells(
        self, record: str, record_id: int, vehicle_id: int | None, before: str, after: str
    ) -> dict[str, Any]:
        return {
            "at": self.change.at,
            "by": self.change.by,
            "what": self.change.what,
            "record": record,
            "record_id": record_id,
            "vehicle_id": vehicle_id,
            "before": before,
            "after": after,
            "change_id": self.change.change_id,
        }

    def _keep(self, rows: Sequence[dict[str, Any]]) -> None:
        """Write rows in order, chained to the last one; the only place where the trail grows.

        Writers take turns, so nobody writes another last one meanwhile.
        """
        self.is_empty = False
        chain = self._last_chain() if self._chain is None else self._chain
        for row in rows:
            row["chain"] = chain = chain_after(chain, AuditEntry(**row))
        self._chain = chain
        personal.keep(self._connection, self._personal)
        self._personal = []
        self._connection.execute(insert(AuditRow), rows)

    def _last_chain(self) -> str:
        query = select(AuditRow.chain).order_by(AuditRow.id.desc()).limit(1)
        return self._connection.execute(query).scalar_one_or_none() or ""


def entries(
    connection: Connection, *, vehicle_id: int | None, change_id: str | None, limit: int | None
) -> tuple[AuditEntry, ...]:
    """Return entries of the trail, the latest first."""
    shape = shape_of(AuditEntry)
    query = select(*shape.columns).order_by(AuditRow.id.desc()).limit(limit)
    if vehicle_id is not None:
        query = query.where(AuditRow.vehicle_id == vehicle_id)
    if change_id is not None:
        query = query.where(AuditRow.change_id == change_id)
    return tuple(shape.record(tuple(row)) for row in connection.execute(query))


def last_entry(connection: Connection, shape: Shape[R], record_id: int) -> AuditEntry | None:
    """Return the latest entry about one record."""
    trail = shape_of(AuditEntry)
    query = (
        select(*trail.columns)
        .where(AuditRow.record == shape.kind.__name__, AuditRow.record_id == record_id)
        .order_by(AuditRow.id.desc())
        .limit(1)
    )
    row = connection.execute(query).one_or_none()
    return None if row is None else trail.record(tuple(row))
