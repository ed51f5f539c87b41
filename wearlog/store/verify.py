"""Looks for what cannot be right in a database: damage, broken chains, rows that the trail does not know."""

import json
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from gettext import gettext as _
from typing import Any

from sqlalchemy import Connection, select
from sqlalchemy import Table as SqlTable

from wearlog.fleet.audit import PERSONAL_MARK, AuditEntry, chain_after, personal_digest
from wearlog.fleet.problem import Problem, ProblemKind
from wearlog.store import backup, errors
from wearlog.store.audit import SETTING
from wearlog.store.database import Database
from wearlog.store.rows import TABLES, Shape, shape_of
from wearlog.store.tables import AuditRow
from wearlog.store.tables_small import PersonalRow, SettingRow

#: Of findings alike so many are told one by one; the rest is counted.
MOST_ALIKE = 20
#: Rows fetched at once.
_PORTION = 2000

Told = Callable[[int, int, str], None]


@dataclass(slots=True)
class Verified:
    """What a look through the database brought.

    Attributes
    ----------
    findings
        What cannot be right; each says where and what to do.
    notes
        What is odd and may be right.
    entries
        How many entries the trail has.
    rows
        How many kept rows were held against it.
    """

    findings: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    entries: int = 0
    rows: int = 0
    _alike: dict[str, int] = field(default_factory=dict)

    def add(self, what: str, where: str, todo: str) -> None:
        """Take a finding; of many alike the first are kept and the rest counted."""
        count = self._alike[what] = self._alike.get(what, 0) + 1
        if count <= MOST_ALIKE:
            self.findings.append(Problem(what, where, todo, kind=ProblemKind.DATABASE))

    def close(self) -> None:
        """Tell how many findings alike were left out."""
        for what, count in self._alike.items():
            if count > MOST_ALIKE:
                more = _("{count} more of: {what}").format(count=count - MOST_ALIKE, what=what)
                todo = _("Mend those that are listed, then verify again.")
                self.findings.append(Problem(more, "", todo, kind=ProblemKind.DATABASE))
        self._alike.clear()


def verify_database(database: Database, found: Verified, told: Told) -> bool:
    """Look at the file, the trail and the rows; return whether what it keeps can be read at all.

    Parameters
    ----------
    database
        An open database; nothing is changed.
    found
        Takes the findings.
    told
        Called with steps done, steps in all, and what is looked at; may raise to stop.
    """
    kinds = [kind for kind in TABLES if kind is not AuditEntry]
    steps = 3 + len(kinds)
    told(0, steps, _("Looking at the file"))
    if not _is_file_sound(database, found):
        return False
    try:
        with database.reading() as records:
            told(1, steps, _("Following the trail"))
            _verify_chain(records.connection, found)
            told(2, steps, _("Looking at the settings"))
            _verify_settings(records.connection, found)
            for n, kind in enumerate(kinds):
                shape = shape_of(kind)
                told(3 + n, steps, _("Holding rows against the trail"))
                _verify_rows(records.connection, shape, found)
    except errors.Damaged as error:
        found.findings.extend(error.problems)
        return False
    return True


def _is_file_sound(database: Database, found: Verified) -> bool:
    if database.path is None:
        return True
    faults = backup.file_faults(database.path)
    if not faults:
        return True
    offer = backup.offering_backup(
        errors.Damaged(errors.problem("damaged", database.address)), database.path
    ).problems[0]
    for fault in faults:
        # SQLite tells several faults in the lines of one row.
        for line in fault.splitlines():
            found.add(_("The database is damaged."), f"{database.address}: {line}", offer.todo)
    return False


# -- the trail ---------------------------------------------------------------------------------------------


def _verify_chain(connection: Connection, found: Verified) -> None:
    shape = shape_of(AuditEntry)
    chain, before = "", None
    backwards: list[AuditEntry] = []
    for entry in _stream(connection, shape):
        found.entries += 1
        if chain_after(chain, entry) != entry.chain:
            found.add(
                _("The trail was altered, or entries were taken out of it."),
                _("trail entry {number} ({when} UTC, {person}, {work})").format(
                    number=entry.id, when=f"{entry.at:%Y-%m-%d %H:%M}", person=entry.by, work=entry.what
                ),
                _("Compare with a backup from before, and find out who can write to the database."),
            )
        chain = entry.chain
        if before is not None and entry.at < before.at:
            backwards.append(entry)
        before = entry
    if backwards:
        first = backwards[0]
        found.notes.append(
            _(
                "The clock of a seat was set back: entry {number} of the trail ({when} UTC) and {more} others"
                " are earlier than the one before. Nothing is lost; the order of the entries counts."
            ).format(number=first.id, when=f"{first.at:%Y-%m-%d %H:%M}", more=len(backwards) - 1)
        )


def _verify_settings(connection: Connection, found: Verified) -> None:
    told: dict[str, Any] = {}
    query = select(AuditRow.after).where(AuditRow.record == SETTING).order_by(AuditRow.id)
    for (after,) in connection.execute(query):
        with suppress(ValueError):  # the chain has told that it was altered
            told.update(json.loads(after))
    kept = {row.name: row.value for row in connection.execute(select(SettingRow.name, SettingRow.value))}
    for name in sorted(told.keys() | kept.keys()):
        if told.get(name) != kept.get(name):
            found.add(
                _("A setting is not what the trail says."),
                name,
                _("Set it again to what it should be, and find out who can write to the database."),
            )


# -- rows held against the trail ---------------------------------------------------------------------------


def _verify_rows(connection: Connection, shape: Shape[Any], found: Verified) -> None:
    """Replay what the trail says of each row, and compare."""
    name = shape.kind.__name__
    personal = _Personal(connection)
    rows = _stream(connection, shape)
    row = next(rows, None)
    for number, entries in _entries_by_row(connection, name):
        while row is not None and row.id < number:
            found.add(_("The trail does not know this row."), f"{name} {row.id}", _todo())
            row = next(rows, None)
        if row is None or row.id != number:
            found.add(_("A row that the trail knows is gone."), f"{name} {number}", _todo())
            continue
        found.rows += 1
        fields = _differing(shape, row, entries, personal)
        if fields:
            where = f"{name} {number}: {', '.join(fields)}"
            found.add(_("A row is not what the trail says."), where, _todo())
        row = next(rows, None)
    while row is not None:
        found.add(_("The trail does not know this row."), f"{name} {row.id}", _todo())
        row = next(rows, None)


def _todo() -> str:
    return _("Compare with a backup from before, correct it, and find out who can write to the database.")


def _entries_by_row(connection: Connection, record: str) -> Iterator[tuple[int, list[str]]]:
    """Yield what was written of each row of a kind, row by row, in the order of the changes."""
    query = (
        select(AuditRow.record_id, AuditRow.after)
        .where(AuditRow.record == record)
        .order_by(AuditRow.record_id, AuditRow.id)
        .execution_options(yield_per=_PORTION)
    )
    number, texts = 0, list[str]()
    for record_id, after in connection.execute(query):
        if record_id != number and texts:
            yield number, texts
            texts = []
        number = record_id
        texts.append(after)
    if texts:
        yield number, texts


def _differing(shape: Shape[Any], row: Any, entries: list[str], personal: "_Personal") -> list[str]:
    """Return the fields in which a row is not what its entries make of it."""
    told: dict[str, Any] = {}
    try:
        for after in entries:
            told |= shape.values_from_json(after)
    except (ValueError, KeyError, TypeError, AttributeError):
        return [_("what the trail says cannot be read")]
    values = shape.fields_of(row)
    defaults = shape.defaults()
    differing = []
    for name, value in values.items():
        if name == "id":
            continue
        if name == "version":
            is_same = value == len(entries)
        elif name in told:
            is_same = personal.is_same(told[name], value)
        else:
            # What said nothing was left out of the trail, and older programs did not know every field.
            is_same = value is None or value in ("", ()) or value == defaults.get(name)
        if not is_same:
            differing.append(name)
    return differing


class _Personal:
    """Knows what stands for the digests in the trail."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def is_same(self, told: object, value: object) -> bool:
        """Whether a value is what the trail says of it."""
        if not (isinstance(told, str) and told.startswith(PERSONAL_MARK)):
            return bool(told == value)
        query = select(PersonalRow.salt).where(PersonalRow.digest == told)
        salt = self._connection.execute(query).scalar_one_or_none()
        return salt is not None and personal_digest(salt, str(value)) == told


def _stream(connection: Connection, shape: Shape[Any]) -> Iterator[Any]:
    """Yield all records of a kind in the order of their numbers, without having all of them at once."""
    last = 0
    columns = shape.table.c
    while True:
        query = select(*shape.columns).where(columns.id > last).order_by(columns.id).limit(_PORTION)
        rows = shape.rows(connection, query)
        if not rows:
            return
        records = [shape.record(tuple(row)) for row in rows]
        last = records[-1].id
        yield from records


# -- rows that still count though what they belong to does not ---------------------------------------------


def counting_below_void(connection: Connection) -> Iterator[tuple[str, int, str, int]]:
    """Yield rows that count though a row they refer to is voided: table, number, the other table and number.

    A planned visit is no part of the visit it became, and a fastener none of its sheet's history.
    """
    for child in _voidable_tables():
        for key in child.foreign_keys:
            parent = key.column.table
            if "void_reason" not in parent.c or child.name in {"planned_visit", "fastener"}:
                continue
            theirs = parent.alias()
            query = (
                select(child.c.id, theirs.c.id)
                .join_from(child, theirs, key.parent == theirs.c.id)
                .where(child.c.void_reason == "", theirs.c.void_reason != "")
                .order_by(child.c.id)
            )
            for number, other in connection.execute(query):
                yield child.name, number, parent.name, other


def _voidable_tables() -> list[SqlTable]:
    shapes = [shape_of(kind) for kind in TABLES if kind is not AuditEntry]
    return [shape.table for shape in shapes if shape.has("void_reason")]
