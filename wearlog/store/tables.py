"""The rows that are kept: one table for each record, and a few small ones beside them.

Columns bear the names of the records' fields, so that a record and its row translate by name. Enums are
kept as their words, days as DATE, instants as UTC, lists inside a record as JSON text. A kept row is never
deleted, so every foreign key restricts.
"""

from datetime import date, datetime

from sqlalchemy import Index, text
from sqlalchemy.orm import Mapped, mapped_column

from wearlog.store.tables_base import KeptRow, Table, VoidableRow, refers


class VehicleRow(KeptRow, Table):
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
    retired_reason: Mapped[str] = mapped_column(server_default=text("''"))
    void_reason: Mapped[str] = mapped_column(server_default=text("''"))


class StageRow(KeptRow, Table):
    """Drive stages."""

    __tablename__ = "stage"

    vehicle_id: Mapped[int] = mapped_column(refers("vehicle"), index=True)
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
    retired_on: Mapped[date | None]
    void_reason: Mapped[str] = mapped_column(server_default=text("''"))


class PartTypeRow(KeptRow, Table):
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


class PartRow(KeptRow, Table):
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

    part_type_id: Mapped[int] = mapped_column(refers("part_type"), index=True)
    label: Mapped[str]
    lot: Mapped[str]
    use_before: Mapped[float]
    is_history_known: Mapped[bool]
    cost: Mapped[float | None]
    notes: Mapped[str]


class InstallationRow(VoidableRow, Table):
    """Which part sat where, from when to when."""

    __tablename__ = "installation"

    part_id: Mapped[int] = mapped_column(refers("part"), index=True)
    vehicle_id: Mapped[int] = mapped_column(refers("vehicle"), index=True)
    stage_id: Mapped[int] = mapped_column(refers("stage"), index=True)
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


class VisitRow(VoidableRow, Table):
    """Service visits; `tasks` is a JSON list."""

    __tablename__ = "visit"

    vehicle_id: Mapped[int] = mapped_column(refers("vehicle"), index=True)
    on: Mapped[date]
    total_use: Mapped[float]
    by: Mapped[str]
    tasks: Mapped[str]
    notes: Mapped[str]
    cost: Mapped[float | None]
    planned_number: Mapped[str] = mapped_column(server_default=text("''"))


class MeterEntryRow(VoidableRow, Table):
    """What meters showed."""

    __tablename__ = "meter_entry"
    __table_args__ = (Index(None, "vehicle_id", "on"),)

    vehicle_id: Mapped[int] = mapped_column(refers("vehicle"))
    on: Mapped[date]
    value: Mapped[float]
    typed: Mapped[str]
    event: Mapped[str]
    old_value: Mapped[float | None]
    visit_id: Mapped[int | None] = mapped_column(refers("visit"), index=True)
    by: Mapped[str]
    note: Mapped[str]


class InstrumentRow(KeptRow, Table):
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


class ReadingRow(VoidableRow, Table):
    """Readings; `spots` is a JSON list. `low` and `high` may be infinite."""

    __tablename__ = "reading"

    vehicle_id: Mapped[int] = mapped_column(refers("vehicle"), index=True)
    stage_id: Mapped[int] = mapped_column(refers("stage"), index=True)
    installation_id: Mapped[int | None] = mapped_column(refers("installation"), index=True)
    visit_id: Mapped[int | None] = mapped_column(refers("visit"), index=True)
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
    instrument_id: Mapped[int | None] = mapped_column(refers("instrument"))
    temperature_degc: Mapped[float | None]
    load_n: Mapped[float | None]
    was_cleaned: Mapped[bool | None]
    is_zero_reading: Mapped[bool]
    definition: Mapped[str]
    note: Mapped[str]
    by: Mapped[str]
    is_late_entry: Mapped[bool]


class IntervalRuleRow(VoidableRow, Table):
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
    vehicle_id: Mapped[int | None] = mapped_column(refers("vehicle"))
    stage_name: Mapped[str]
    drive: Mapped[str | None]
    note: Mapped[str]
    source: Mapped[str]


class LimitRow(VoidableRow, Table):
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
    vehicle_id: Mapped[int | None] = mapped_column(refers("vehicle"))
    source: Mapped[str]
    note: Mapped[str]


class TorqueSheetRow(VoidableRow, Table):
    """Torque sheets of vehicle models."""

    __tablename__ = "torque_sheet"

    name: Mapped[str]
    model: Mapped[str]
    vehicle_id: Mapped[int | None] = mapped_column(refers("vehicle"))
    note: Mapped[str]
    source: Mapped[str]


class FastenerRow(VoidableRow, Table):
    """Fasteners of torque sheets."""

    __tablename__ = "fastener"

    torque_sheet_id: Mapped[int] = mapped_column(refers("torque_sheet"), index=True)
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


class TorqueRecordRow(VoidableRow, Table):
    """What was applied; `applied_nm` is a JSON list."""

    __tablename__ = "torque_record"

    vehicle_id: Mapped[int] = mapped_column(refers("vehicle"), index=True)
    fastener_id: Mapped[int] = mapped_column(refers("fastener"), index=True)
    on: Mapped[date]
    total_use: Mapped[float]
    work: Mapped[str]
    applied_nm: Mapped[str]
    typed: Mapped[str]
    visit_id: Mapped[int | None] = mapped_column(refers("visit"), index=True)
    instrument_id: Mapped[int | None] = mapped_column(refers("instrument"))
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
    chain: Mapped[str] = mapped_column(server_default=text("''"))
