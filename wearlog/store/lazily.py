"""Many records by their numbers, each made when it is first asked for; and what has changed since.

A fleet of ten thousand vehicles has some hundred thousand meter entries and visits. Nobody looks at all of
them, and fetching rows takes a tenth of the time that making records of them does.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Generic

from sqlalchemy import func, select

from wearlog.fleet.reading import Measurand
from wearlog.store.columns import ordinal
from wearlog.store.records import Records
from wearlog.store.rows import R, Shape, shape_of
from wearlog.store.tables import AuditRow, ReadingRow, TorqueRecordRow
from wearlog.store.tables_small import StoredFitRow


class LazyRecords(Mapping[int, R], Generic[R]):
    """Records of one kind by their numbers, in the order of the numbers.

    It may be read from any thread: that a record is made twice does no harm.
    """

    def __init__(self, shape: Shape[R], cells: dict[int, Any]) -> None:
        self._shape = shape
        # Either the cells of a row, as the driver handed them out, or the record made of them.
        self._cells = cells

    def __getitem__(self, number: int) -> R:
        found = self._cells[number]
        if type(found) is tuple:
            found = self._cells[number] = self._shape.record_of_raw(found)
        record: R = found
        return record

    def __iter__(self) -> Iterator[int]:
        return iter(self._cells)

    def __len__(self) -> int:
        return len(self._cells)

    def __contains__(self, number: object) -> bool:
        return number in self._cells

    def column(self, name: str) -> list[Any]:
        """Return one field of all records, in their order, as the database's driver hands it out."""
        place = self._shape.names.index(name)
        return [cell[place] if type(cell) is tuple else getattr(cell, name) for cell in self._cells.values()]

    def cell(self, number: int, name: str) -> Any:
        """Return one field of a record, as the database's driver hands it out."""
        found = self._cells[number]
        return found[self._shape.names.index(name)] if type(found) is tuple else getattr(found, name)

    def changed(self, records: Iterable[R], gone: Iterable[int] = ()) -> "LazyRecords[R]":
        """Return the same with some records put in place of what was there, and some left out."""
        cells = self._cells | {record.id: record for record in records}
        for number in gone:
            cells.pop(number, None)
        return LazyRecords(self._shape, cells)


def lazy_records(records: Records, kind: type[R], *, live: bool = False) -> LazyRecords[R]:
    """Return all records of a kind by their numbers.

    Parameters
    ----------
    kind
        Which records.
    live
        Leave out voided ones.
    """
    shape = shape_of(kind)
    query = select(*shape.columns).order_by(shape.table.c.id)
    if live and shape.has("void_reason"):
        query = query.where(shape.table.c.void_reason == "")
    connection = records.connection
    text = query.compile(dialect=connection.dialect, compile_kwargs={"literal_binds": True})
    cursor: Any = connection.exec_driver_sql(str(text).replace("%", "%%")).cursor
    place = shape.names.index("id")
    return LazyRecords(shape, {row[place]: row for row in cursor.fetchall()})


def reading_cells(
    records: Records,
    names: Sequence[str],
    measurands: Collection[Measurand],
    vehicles: Collection[int] | None = None,
) -> list[tuple[Any, ...]]:
    """Return some fields of the readings that count, oldest first, as the database keeps them but for days.

    Parameters
    ----------
    names
        The fields; ``"on"`` comes as an ordinal.
    measurands
        What was measured.
    vehicles
        Of which vehicles; all if None.
    """
    columns = ReadingRow.__table__.c
    fields = [ordinal(columns[name]) if name == "on" else columns[name] for name in names]
    words = [str(measurand) for measurand in measurands]
    query = select(*fields).where(columns.void_reason == "", columns.measurand.in_(words))
    if vehicles is not None:
        query = query.where(columns.vehicle_id.in_(list(vehicles)))
    return [tuple(row) for row in records.connection.execute(query.order_by(columns.on, columns.id))]


@dataclass(frozen=True, slots=True)
class Trodden:
    """What the trail tells of the time since a place in it.

    Attributes
    ----------
    last
        The newest place.
    records
        Numbers of the records that were changed, by the name of their kind.
    vehicles
        Vehicles that changes stand under.
    """

    last: int
    records: dict[str, set[int]]
    vehicles: set[int]


def last_of_trail(records: Records) -> int:
    """Return the number of the newest entry of the trail, 0 if there is none."""
    return int(records.connection.execute(select(func.coalesce(func.max(AuditRow.id), 0))).scalar_one())


def trodden_since(records: Records, last: int, at_most: int) -> Trodden | None:
    """Return what was changed since an entry of the trail; None if it is more than `at_most` records."""
    query = (
        select(AuditRow.id, AuditRow.record, AuditRow.record_id, AuditRow.vehicle_id)
        .where(AuditRow.id > last)
        .order_by(AuditRow.id)
        .limit(at_most + 1)
    )
    rows = records.connection.execute(query).all()
    if len(rows) > at_most:
        return None
    found = Trodden(rows[-1][0] if rows else last, {}, set())
    for _id, kind, number, vehicle_id in rows:
        found.records.setdefault(kind, set()).add(number)
        if vehicle_id is not None:
            found.vehicles.add(vehicle_id)
    return found


def records_numbered(records: Records, kind: type[R], numbers: Collection[int]) -> tuple[list[R], set[int]]:
    """Return the records with some numbers that count, and the numbers of those that do not."""
    found = [one for one in records.all(kind, id=list(numbers)) if not getattr(one, "void_reason", "")]
    return found, set(numbers) - {one.id for one in found}


def tightened_vehicles(records: Records) -> set[int]:
    """Return the vehicles on which fasteners were tightened or checked."""
    query = select(TorqueRecordRow.vehicle_id).where(TorqueRecordRow.void_reason == "").distinct()
    return set(records.connection.execute(query).scalars())


def fit_versions(records: Records) -> dict[str, int]:
    """Return the data version that each kept fit was made from."""
    query = select(StoredFitRow.family, StoredFitRow.data_version)
    return {row.family: row.data_version for row in records.connection.execute(query)}
