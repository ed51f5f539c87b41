"""The rows that are kept: one table for each record, and a few small ones beside them.

Columns bear the names of the records' fields, so that a record and its row translate by name. Enums are
kept as their words, days as DATE, instants as UTC, lists inside a record as JSON text. A kept row is never
deleted, so every foreign key restricts.
"""

from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import (
    Date,
    DateTime,
    Dialect,
    Double,
    ForeignKey,
    Index,
    MetaData,
    String,
    Text,
    TypeDecorator,
    text,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column
from sqlalchemy.types import TypeEngine

#: SQLite has no type for instants; its text form sorts by time because every instant is kept in UTC.
INSTANT_TEXT_LENGTH = 32


class Instant(TypeDecorator[datetime]):
    """An instant: aware in, UTC out; ISO 8601 text in SQLite, TIMESTAMP WITH TIME ZONE elsewhere."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """Return the type that the database itself has for it."""
        if dialect.name == "sqlite":
            return dialect.type_descriptor(String(INSTANT_TEXT_LENGTH))
        return dialect.type_descriptor(DateTime(timezone=True))

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> object:
        """Return what goes into the database."""
        if value is None:
            return None
        if value.tzinfo is None:
            message = "an instant must say its time zone"
            raise ValueError(message)
        utc = value.astimezone(UTC)
        return utc.isoformat(timespec="microseconds") if dialect.name == "sqlite" else utc

    def process_result_value(self, value: object, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """Return the instant that was kept."""
        if isinstance(value, str):
            return datetime.fromisoformat(value)
        return value.astimezone(UTC) if isinstance(value, datetime) else None


class Table(DeclarativeBase):
    """What all tables have in common."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {str: Text(), float: Double(), date: Date(), datetime: Instant()}  # noqa: RUF012


def _refers(target: str) -> ForeignKey:
    return ForeignKey(f"{target}.id", ondelete="RESTRICT", onupdate="RESTRICT")


class _Kept:
    """A numbered row whose version counts its changes."""

    id: Mapped[int] = mapped_column(primary_key=True, sort_order=-1)
    version: Mapped[int] = mapped_column(sort_order=2)


class _Voidable(_Kept):
    """A row that is voided with a reason instead of being deleted; empty while it counts."""

    void_reason: Mapped[str] = mapped_column(sort_order=1)


class VehicleRow(_Kept, Table):
    """Vehicles."""

    __tablename__ = "vehicle"

    tag: Mapped[str] = mapped_column(unique=True)
    description: Mapped[str]
    kind: Mapped[str]
    depot: Mapped[str]
    meter_unit: Mapped[str]
    duty: Mapped[str]
    model: Mapped[str]
    owner_contact: Mapped[str]
    in_service_since: Mapped[date | None]
    notes: Mapped[str]
    retired_on: Mapped[date | None]


class StageRow(_Kept, Table):
    """Drive stages."""

    __tablename__ = "stage"

    vehicle_id: Mapped[int] = mapped_column(_refers("vehicle"), index=True)
    order: Mapped[int]
    name: Mapped[str]
    drive: Mapped[str]
    centre_distance_mm: Mapped[float | None]
    adjuster_range_mm: Mapped[float | None]
    span_mm: Mapped[float | None]
    rated_input_rpm: Mapped[float | None]
    rated_power_kw: Mapped[float | None]
    wheel_circumference_mm: Mapped[float | None]
    slack_definition: Mapped[str]


class PartTypeRow(_Kept, Table):
    """Part types as they are ordered."""

    __tablename__ = "part_type"

    kind: Mapped[str]
    name: Mapped[str] = mapped_column(unique=True)
    designation: Mapped[str]
    wear_class: Mapped[str]
    pitch_mm: Mapped[float]
    roller_diameter_mm: Mapped[float | None]
    inner_width_mm: Mapped[float | None]
    links: Mapped[int | None]
    joining_link: Mapped[str]
    teeth: Mapped[int | None]
    chain: Mapped[str]
    width_mm: Mapped[float | None]
    mass_kg_per_m: Mapped[float | None]
    lead_time_days: Mapped[int]
    price: Mapped[float | None]
    source: Mapped[str]


class PartRow(_Kept, Table):
    """Single parts."""

    __tablename__ = "part"
    __table_args__ = (
        Index(
            "uq_part_label",
            "label",
            unique=True,
            sqlite_where=text("label <> ''"),
            postgresql_where=text("label <> ''"),
        ),
    )

    part_type_id: Mapped[int] = mapped_column(_refers("part_type"), index=True)
    label: Mapped[str]
    lot: Mapped[str]
    use_before: Mapped[float]
    is_history_known: Mapped[bool]
    cost: Mapped[float | None]
    notes: Mapped[str]


class InstallationRow(_Voidable, Table):
    """Which part sat where, from when to when."""

    __tablename__ = "installation"

    part_id: Mapped[int] = mapped_column(_refers("part"), index=True)
    vehicle_id: Mapped[int] = mapped_column(_refers("vehicle"), index=True)
    stage_id: Mapped[int] = mapped_column(_refers("stage"), index=True)
    position: Mapped[str]
    fitted_on: Mapped[date]
    fitted_use: Mapped[float]
    removed_on: Mapped[date | None]
    removed_use: Mapped[float | None]
    removal_reason: Mapped[str | None]
    links: Mapped[int | None]
    thread_lock: Mapped[bool | None]
    cost: Mapped[float | None]
    notes: Mapped[str]


class VisitRow(_Voidable, Table):
    """Service visits; `tasks` is a JSON list."""

    __tablename__ = "visit"

    vehicle_id: Mapped[int] = mapped_column(_refers("vehicle"), index=True)
    on: Mapped[date]
    total_use: Mapped[float]
    by: Mapped[str]
    tasks: Mapped[str]
    notes: Mapped[str]
    cost: Mapped[float | None]


class MeterEntryRow(_Voidable, Table):
    """What meters showed."""

    __tablename__ = "meter_entry"
    __table_args__ = (Index(None, "vehicle_id", "on"),)

    vehicle_id: Mapped[int] = mapped_column(_refers("vehicle"))
    on: Mapped[date]
    value: Mapped[float]
    typed: Mapped[str]
    event: Mapped[str]
    old_value: Mapped[float | None]
    visit_id: Mapped[int | None] = mapped_column(_refers("visit"), index=True)
    by: Mapped[str]
    note: Mapped[str]


class InstrumentRow(_Kept, Table):
    """Instruments; `stamps` is a JSON list."""

    __tablename__ = "instrument"

    name: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[str]
    resolution: Mapped[float]
    u_instrument: Mapped[float]
    bias: Mapped[float]
    stamps: Mapped[str]
    calibration_due: Mapped[date | None]
    notes: Mapped[str]
    retired_on: Mapped[date | None]


class ReadingRow(_Voidable, Table):
    """Readings; `spots` is a JSON list. `low` and `high` may be infinite."""

    __tablename__ = "reading"

    vehicle_id: Mapped[int] = mapped_column(_refers("vehicle"), index=True)
    stage_id: Mapped[int] = mapped_column(_refers("stage"), index=True)
    installation_id: Mapped[int | None] = mapped_column(_refers("installation"), index=True)
    visit_id: Mapped[int | None] = mapped_column(_refers("visit"), index=True)
    on: Mapped[date]
    total_use: Mapped[float]
    measurand: Mapped[str]
    method: Mapped[str]
    spots: Mapped[str]
    value: Mapped[float | None]
    low: Mapped[float | None]
    high: Mapped[float | None]
    u_value: Mapped[float]
    mean: Mapped[float | None]
    spread: Mapped[float | None]
    pitches: Mapped[int | None]
    instrument_id: Mapped[int | None] = mapped_column(_refers("instrument"))
    temperature_degc: Mapped[float | None]
    load_n: Mapped[float | None]
    was_cleaned: Mapped[bool | None]
    is_zero_reading: Mapped[bool]
    definition: Mapped[str]
    note: Mapped[str]
    by: Mapped[str]
    is_late_entry: Mapped[bool]


class IntervalRuleRow(_Voidable, Table):
    """Tasks that come round."""

    __tablename__ = "interval_rule"

    task: Mapped[str]
    every_km: Mapped[float | None]
    every_h: Mapped[float | None]
    every_days: Mapped[int | None]
    first_km: Mapped[float | None]
    first_h: Mapped[float | None]
    first_days: Mapped[int | None]
    is_after_fitting: Mapped[bool]
    vehicle_kind: Mapped[str | None]
    vehicle_id: Mapped[int | None] = mapped_column(_refers("vehicle"))
    stage_name: Mapped[str]
    drive: Mapped[str | None]
    note: Mapped[str]
    source: Mapped[str]


class LimitRow(_Voidable, Table):
    """Service limits; LIMIT itself is a word of SQL."""

    __tablename__ = "service_limit"

    measurand: Mapped[str]
    wear_class: Mapped[str]
    service_limit: Mapped[float]
    as_new: Mapped[float]
    plan_share: Mapped[float]
    stop_use_limit: Mapped[float | None]
    designation: Mapped[str]
    model: Mapped[str]
    stage_name: Mapped[str]
    vehicle_id: Mapped[int | None] = mapped_column(_refers("vehicle"))
    source: Mapped[str]
    note: Mapped[str]


class TorqueSheetRow(_Voidable, Table):
    """Torque sheets of vehicle models."""

    __tablename__ = "torque_sheet"

    name: Mapped[str]
    model: Mapped[str]
    vehicle_id: Mapped[int | None] = mapped_column(_refers("vehicle"))
    note: Mapped[str]
    source: Mapped[str]


class FastenerRow(_Voidable, Table):
    """Fasteners of torque sheets."""

    __tablename__ = "fastener"

    torque_sheet_id: Mapped[int] = mapped_column(_refers("torque_sheet"), index=True)
    order: Mapped[int]
    name: Mapped[str]
    low_nm: Mapped[float]
    high_nm: Mapped[float]
    stage_name: Mapped[str]
    size: Mapped[str]
    treatment: Mapped[str]
    bolts: Mapped[int]
    is_opposing: Mapped[bool]
    recheck_km: Mapped[float | None]
    recheck_h: Mapped[float | None]
    source: Mapped[str]
    note: Mapped[str]


class TorqueRecordRow(_Voidable, Table):
    """What was applied; `applied_nm` is a JSON list."""

    __tablename__ = "torque_record"

    vehicle_id: Mapped[int] = mapped_column(_refers("vehicle"), index=True)
    fastener_id: Mapped[int] = mapped_column(_refers("fastener"), index=True)
    on: Mapped[date]
    total_use: Mapped[float]
    work: Mapped[str]
    applied_nm: Mapped[str]
    typed: Mapped[str]
    visit_id: Mapped[int | None] = mapped_column(_refers("visit"), index=True)
    instrument_id: Mapped[int | None] = mapped_column(_refers("instrument"))
    by: Mapped[str]
    note: Mapped[str]


class AuditRow(Table):
    """The trail: one row for each change, in the order of the changes, never changed itself."""

    __tablename__ = "audit"
    __table_args__ = (Index(None, "record", "record_id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime]
    by: Mapped[str]
    what: Mapped[str]
    record: Mapped[str]
    record_id: Mapped[int]
    vehicle_id: Mapped[int | None] = mapped_column(index=True)
    before: Mapped[str]
    after: Mapped[str]
    change_id: Mapped[str] = mapped_column(index=True)


class SettingRow(Table):
    """What the workshop agrees on, by name."""

    __tablename__ = "setting"

    name: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[str]


class DraftRow(Table):
    """Entries that are not finished, by a key of the page's own choosing."""

    __tablename__ = "draft"

    key: Mapped[str] = mapped_column(primary_key=True)
    text: Mapped[str]


class StoredFitRow(Table):
    """The latest fit of each family of parts, and the data version it was made from."""

    __tablename__ = "stored_fit"

    family: Mapped[str] = mapped_column(primary_key=True)
    payload: Mapped[str]
    data_version: Mapped[int]


class RowKeyRow(Table):
    """Which rows of which files have been brought in already; none counts whose change was taken back."""

    __tablename__ = "row_key"

    key: Mapped[str] = mapped_column(primary_key=True)
    source: Mapped[str]
    change_id: Mapped[str] = mapped_column(index=True)
    counts: Mapped[bool]


class DataVersionRow(Table):
    """One row only: it counts the committed changes and, on a server, is the baton that writers pass on."""

    __tablename__ = "data_version"

    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    value: Mapped[int]
