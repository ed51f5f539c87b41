"""The fleet's records in one transaction: rows become records, and every change leaves its trail."""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from gettext import gettext as _
from typing import Any

from sqlalchemy import Connection, Select, func, insert, or_, select, text, update
from sqlalchemy.sql import ColumnElement

from wearlog.fleet.audit import AuditEntry
from wearlog.fleet.parts import Part, PartType
from wearlog.fleet.planned import PlannedVisit
from wearlog.fleet.problem import EditConflict, Problem, ProblemKind, Versions, WearlogError
from wearlog.fleet.reading import Instrument
from wearlog.fleet.vehicle import Vehicle
from wearlog.store import audit, drafts, personal
from wearlog.store.audit import Change, Trail
from wearlog.store.rows import Kept, R, Shape, shape_of
from wearlog.store.tables_small import DataVersionRow, SettingRow


@dataclass(frozen=True, slots=True)
class _Name:
    """A field that tells records apart, and the sentence for a name that is taken."""

    field: str
    taken: str


def _names() -> dict[type[Any], _Name]:
    # Made when asked for, so that the sentences are in the language chosen by then.
    return {
        Vehicle: _Name("tag", _("There is another vehicle with the tag {name}.")),
        Part: _Name("label", _("There is another part with the label {name}.")),
        PartType: _Name("name", _("There is another part type with the name {name}.")),
        Instrument: _Name("name", _("There is another instrument with the name {name}.")),
        PlannedVisit: _Name("number", _("There is another planned visit with the number {name}.")),
    }


class Records:
    """All that is kept, as one transaction sees it; handed out by `Database.reading` and `Database.writing`.

    Attributes
    ----------
    connection
        For the other files of this room.
    change_id
        Shared by the audit rows of this transaction; empty while only reading.
    """

    def __init__(self, connection: Connection, change: Change | None = None) -> None:
        self.connection = connection
        self.change_id = change.change_id if change else ""
        self._trail = Trail(connection, change) if change else None

    # -- records -------------------------------------------------------------------------------------------

    def get(self, kind: type[R], id: int) -> R:  # noqa: A002
        """Return one record.

        Raises
        ------
        WearlogError
            If there is none with this number.
        """
        found = self.first(kind, id=id)
        if found is None:
            raise WearlogError(_not_found(kind, id))
        return found

    def all(self, kind: type[R], /, *, live: bool = False, **equal: object) -> tuple[R, ...]:
        """Return records in the order of their numbers.

        Parameters
        ----------
        kind
            Which records.
        live
            Leave out voided ones.
        **equal
            Fields and the values they must have; a list, tuple or set means any of its values, None means
            unknown.
        """
        shape = shape_of(kind)
        found: list[R] = []
        queries = 0
        for query in _queries(shape, live, equal):
            queries += 1
            found.extend(shape.record(tuple(row)) for row in shape.rows(self.connection, query))
        if queries > 1:
            found.sort(key=lambda record: record.id)
        return tuple(found)

    def first(self, kind: type[R], /, *, live: bool = False, **equal: object) -> R | None:
        """Return the record with the lowest number of those that `all` would return."""
        shape = shape_of(kind)
        found = [
            shape.record(tuple(row))
            for query in _queries(shape, live, equal)
            for row in shape.rows(self.connection, query.limit(1))
        ]
        return min(found, key=lambda record: record.id, default=None)

    def count(self, kind: type[R], /, *, live: bool = False, **equal: object) -> int:
        """Return how many records `all` would return, without reading them."""
        shape = shape_of(kind)
        return sum(
            self.connection.execute(select(func.count()).select_from(query.subquery())).scalar_one()
            for query in _queries(shape, live, equal)
        )

    def add(self, record: R) -> R:
        """Keep a new record and return it with its number and version 1.

        Raises
        ------
        WearlogError
            If its tag, label or name is taken.
        """
        return self.add_all([record])[0]

    def add_all(self, records: Sequence[R]) -> list[R]:
        """Keep new records of one kind and return them, in order, with their numbers and version 1.

        Raises
        ------
        WearlogError
            If a tag, label or name is taken; all of them are told.
        """
        trail = self._open_trail()
        if not records:
            return []
        shape = _editable(type(records[0]))
        if any(type(record) is not shape.kind or record.id for record in records):
            message = "only new records of one kind can be added at once"
            raise ValueError(message)
        self._refuse_taken_names(shape, records)
        ids = self._free_ids(shape, len(records))
        kept = [shape.changed(record, id=id_, version=1) for id_, record in zip(ids, records, strict=True)]
        self.connection.execute(insert(shape.table), [shape.row(record) for record in kept])
        trail.added(shape, kept)
        return kept

    def replace(self, record: R) -> R:
        """Put a changed record in the place of the one with its number; return it with its new version.

        A record that is no different is returned as it is and leaves no trail.

        Raises
        ------
        EditConflict
            If somebody else changed it since it was read.
        WearlogError
            If there is none with this number, or its tag, label or name is taken.
        """
        trail = self._open_trail()
        shape = _editable(type(record))
        before = self.get(shape.kind, record.id)
        version = shape.fields_of(before)["version"]
        if shape.fields_of(record)["version"] != version:
            raise self._conflict(shape, record, before)
        if record == before:
            return record
        self._refuse_taken_names(shape, [record])
        after = shape.changed(record, version=version + 1)
        row = shape.row(after)
        columns = shape.table.c
        done = self.connection.execute(
            update(shape.table).where(columns.id == row.pop("id"), columns.version == version).values(row)
        )
        if done.rowcount != 1:
            raise self._conflict(shape, record, self.get(shape.kind, record.id))
        trail.replaced(shape, before, after)
        return after

    def void(self, record: R, reason: str) -> R:
        """Let a record no longer count; it stays with the reason.

        Raises
        ------
        EditConflict
            If somebody else changed it since it was read.
        WearlogError
            If no reason is given.
        """
        shape = _editable(type(record))
        if not shape.has("void_reason"):
            message = f"{shape.kind.__name__} cannot be voided"
            raise TypeError(message)
        if not reason.strip():
            what = _("Nothing is voided without a reason.")
            raise WearlogError(Problem(what, todo=_("Say in a few words why it should no longer count.")))
        return self.replace(shape.changed(record, void_reason=reason.strip()))

    # -- small things --------------------------------------------------------------------------------------

    def setting(self, name: str) -> str | None:
        """Return what the workshop agreed on, or None."""
        query = select(SettingRow.value).where(SettingRow.name == name)
        return self.connection.execute(query).scalar_one_or_none()

    def set_setting(self, name: str, value: str) -> None:
        """Keep what the workshop agreed on."""
        trail = self._open_trail()
        before = self.setting(name)
        if before == value:
            return
        drafts.keep(self.connection, SettingRow, SettingRow.name, {"name": name, "value": value})
        trail.setting_changed(name, before, value)

    def keep_draft(self, key: str, text: str) -> None:
        """Keep an unfinished entry in place of the one with the same key."""
        self._open_trail()
        drafts.keep_draft(self.connection, key, text)

    def draft(self, key: str) -> str | None:
        """Return an unfinished entry, or None."""
        return drafts.draft(self.connection, key)

    def drafts(self) -> dict[str, str]:
        """Return all unfinished entries by key."""
        return drafts.drafts(self.connection)

    def drop_draft(self, key: str) -> None:
        """Forget an unfinished entry."""
        self._open_trail()
        drafts.drop_draft(self.connection, key)

    def keep_saved_key(self, key: str) -> None:
        """Keep one more key by which this save can be found once it is committed.

        Raises
        ------
        AlreadySaved
            If a save with this key was committed.
        """
        change = self._open_trail().change
        drafts.keep_saved_key(self.connection, key, change.change_id, change.at)

    def saved_by(self, key: str) -> str | None:
        """Return the number of the change that a save with this key made, or None."""
        return drafts.saved_by(self.connection, key)

    def stored_fit(self, family: str) -> tuple[str, int] | None:
        """Return the latest fit of a family, and the data version it was made from."""
        return drafts.stored_fit(self.connection, family)

    def store_fit(self, family: str, payload: str, data_version: int) -> None:
        """Keep the latest fit of a family and the data version it was made from."""
        self._open_trail()
        drafts.store_fit(self.connection, family, payload, data_version)

    def known_row_keys(self, keys: Collection[str]) -> set[str]:
        """Return those of some row keys that were brought in before."""
        return drafts.known_row_keys(self.connection, keys)

    def remember_row_keys(self, keys: Mapping[str, str]) -> None:
        """Remember row keys and where each came from, for example ``"readings.csv row 7"``."""
        self._open_trail()
        drafts.remember_row_keys(self.connection, keys, self.change_id)

    def audit(
        self, *, vehicle_id: int | None = None, change_id: str | None = None, limit: int | None = None
    ) -> tuple[AuditEntry, ...]:
        """Return entries of the trail, the latest first."""
        return audit.entries(self.connection, vehicle_id=vehicle_id, change_id=change_id, limit=limit)

    def erase_contact(self, vehicle_id: int) -> Vehicle:
        """Erase the owner's contact of a vehicle, now and in the trail; its history stays.

        The trail keeps digests whose salt is gone, so its chain holds and nobody can guess back. Copies made
        earlier still hold the contact until they are deleted.

        Raises
        ------
        WearlogError
            If there is no such vehicle.
        """
        vehicle = self.replace(replace(self.get(Vehicle, vehicle_id), owner_contact=""))
        personal.erase(self.connection, vehicle_id)
        return vehicle

    def told(self, entry: AuditEntry) -> AuditEntry:
        """Return an entry of the trail with personal data in clear, as far as it was not erased."""
        before, after = (
            personal.revealed(self.connection, entry.record, side) for side in (entry.before, entry.after)
        )
        return replace(entry, before=before, after=after)

    def data_version(self) -> int:
        """Return the count of committed changes that this transaction sees."""
        return self.connection.execute(select(DataVersionRow.value)).scalar_one()

    def place_of(self, record: Kept) -> str:
        """Return what a person knows a record by: its tag, label or name, or the tag of its vehicle."""
        name = _names().get(type(record))
        if name is not None:
            return str(getattr(record, name.field))
        vehicle = self.first(Vehicle, id=getattr(record, "vehicle_id", None))
        return vehicle.tag if vehicle else ""

    def close(self) -> None:
        """Let the data version grow if anything left a trail; called once before the commit."""
        if self._trail is not None and not self._trail.is_empty:
            self.connection.execute(update(DataVersionRow).values(value=DataVersionRow.value + 1))

    # -- how -----------------------------------------------------------------------------------------------

    def _open_trail(self) -> Trail:
        if self._trail is None:
            message = "these records are only for reading"
            raise RuntimeError(message)
        return self._trail

    def _free_ids(self, shape: Shape[R], count: int) -> Sequence[int]:
        """Return numbers for new rows, ascending; fetched beforehand, because a bulk insert returns none."""
        if self.connection.dialect.name == "sqlite":
            last = self.connection.execute(select(func.coalesce(func.max(shape.table.c.id), 0))).scalar_one()
            return range(last + 1, last + 1 + count)
        query = text("SELECT nextval(pg_get_serial_sequence(:name, 'id')) FROM generate_series(1, :count)")
        return sorted(self.connection.execute(query, {"name": shape.table.name, "count": count}).scalars())

    def _refuse_taken_names(self, shape: Shape[R], records: Sequence[R]) -> None:
        """Refuse names that are taken; writers take turns, so nobody takes one before the insert."""
        name = _names().get(shape.kind)
        if name is None:
            return
        values = [(shape.fields_of(record)[name.field], record.id) for record in records]
        owners: dict[str, int] = {}
        columns = shape.table.c
        for portion in drafts.chunks([value for value, _id in values if value]):
            query = select(columns[name.field], columns.id).where(columns[name.field].in_(portion))
            owners.update((value, owner) for value, owner in self.connection.execute(query))
        count = Counter(value for value, _id in values if value)
        taken = dict.fromkeys(
            value for value, id_ in values if value and (owners.get(value, id_) != id_ or count[value] > 1)
        )
        if taken:
            todo = _("Choose another one.")
            raise WearlogError(*(Problem(name.taken.format(name=value), value, todo) for value in taken))

    def _conflict(self, shape: Shape[R], mine: R, theirs: R) -> EditConflict:
        entry = audit.last_entry(self.connection, shape, mine.id)
        if entry is not None and entry.by:
            what = _("{person} changed it on {when} UTC, while it was open here.").format(
                person=entry.by, when=f"{entry.at:%Y-%m-%d %H:%M}"
            )
        else:
            what = _("Somebody else changed it while it was open here.")
        todo = _("Both versions are kept: choose which one should count.")
        return EditConflict(
            Problem(what, self.place_of(theirs), todo, kind=ProblemKind.CONFLICT), Versions(mine, theirs)
        )


def _editable(kind: type[R]) -> Shape[R]:
    shape = shape_of(kind)
    if not shape.has("version"):
        message = f"{kind.__name__} is written by the trail alone"
        raise TypeError(message)
    return shape


def _not_found(kind: type[Kept], id_: int) -> Problem:
    what = _("There is no {kind} number {number}.").format(kind=_kind_in_words(kind), number=id_)
    return Problem(
        what, todo=_("Read the list again; it may come from another database."), kind=ProblemKind.NOT_FOUND
    )


def _kind_in_words(kind: type[Kept]) -> str:
    words = {
        "Vehicle": _("vehicle"),
        "Stage": _("drive stage"),
        "PartType": _("part type"),
        "Part": _("part"),
        "Installation": _("installation"),
        "Visit": _("visit"),
        "MeterEntry": _("meter entry"),
        "Instrument": _("instrument"),
        "Reading": _("reading"),
        "IntervalRule": _("interval rule"),
        "Limit": _("service limit"),
        "TorqueSheet": _("torque sheet"),
        "Fastener": _("fastener"),
        "TorqueRecord": _("torque record"),
        "DutySpell": _("spell of duty"),
        "LayUp": _("lay-up"),
        "StockLine": _("shelf"),
        "PartOrder": _("order"),
        "StockMove": _("stock move"),
        "PlannedVisit": _("planned visit"),
        "AuditEntry": _("audit entry"),
    }
    return words[kind.__name__]


def _queries(shape: Shape[R], live: bool, equal: Mapping[str, object]) -> Iterator[Select[Any]]:
    """Yield the query, or several if a list of wanted values is too long for one."""
    wanted = dict(equal)
    lists = {
        name: list(dict.fromkeys(shape.cell(name, one) for one in value))
        for name, value in wanted.items()
        if isinstance(value, list | tuple | set | frozenset)
    }
    longest = max(lists, key=lambda name: len(lists[name]), default="")
    portions = list(drafts.chunks(lists[longest])) if longest else [[]]
    for portion in portions:
        query = select(*shape.columns).order_by(shape.table.c.id)
        if live and shape.has("void_reason"):
            query = query.where(shape.table.c.void_reason == "")
        for name, value in wanted.items():
            if name in lists:
                query = query.where(_any_of(shape, name, portion if name == longest else lists[name]))
            else:
                cell = shape.cell(name, value)
                query = query.where(shape.table.c[name] == cell)
        yield query


def _any_of(shape: Shape[R], name: str, cells: Sequence[object]) -> ColumnElement[bool]:
    column = shape.table.c[name]
    among = column.in_([cell for cell in cells if cell is not None])
    return or_(among, column.is_(None)) if None in cells else among
