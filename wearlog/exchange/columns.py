"""The public import format: which files there are, and which columns each has."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from wearlog.exchange import cells, measured_cells
from wearlog.exchange.cells import Reader
from wearlog.fleet.fitting import Position, RemovalReason
from wearlog.fleet.meter import MeterEvent
from wearlog.fleet.parts import DriveKind, PartKind, WearClass
from wearlog.fleet.quantity import Quantity
from wearlog.fleet.reading import InstrumentKind, Measurand, Method
from wearlog.fleet.service import Task
from wearlog.fleet.vehicle import Duty, MeterUnit, VehicleKind
from wearlog.workshop.import_rows import (
    ImportRow,
    InstallationRow,
    InstrumentRow,
    IntervalRuleRow,
    LimitRow,
    MeterRow,
    PartTypeRow,
    ReadingRow,
    StageRow,
    StockRow,
    VehicleRow,
    VisitRow,
)


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a file.

    Attributes
    ----------
    header
        Its name, without the unit.
    field
        The field of the row it fills.
    read
        Reads one of its cells.
    is_required
        Whether every row must have it.
    unit
        The unit shown in documents and templates; empty where none belongs.
    quantities
        Kinds of quantity whose units may stand in the header; empty where no unit may.
    days
        Whether the unit is days, which are counted rather than measured.
    """

    header: str
    field: str
    read: Reader
    is_required: bool = False
    unit: str = ""
    quantities: tuple[Quantity, ...] = ()
    days: bool = False

    @property
    def title(self) -> str:
        """The header as documents show it."""
        return f"{self.header} [{self.unit}]" if self.unit else self.header


@dataclass(frozen=True, slots=True)
class FileForm:
    """One file of the format: its name, the list it fills, its columns in reading order."""

    name: str
    rows: str
    make: Callable[..., ImportRow]
    columns: tuple[Column, ...]


def _text(header: str, field: str = "", *, required: bool = False, long: bool = False) -> Column:
    read = cells.words if long else cells.name
    return Column(header, field or header.replace(" ", "_"), read, required)


def _kind(header: str, field: str, read: Reader, *, required: bool = False) -> Column:
    return Column(header, field, read, required)


def _day(header: str, field: str, *, required: bool = False) -> Column:
    return Column(header, field, cells.day, required)


def _use(header: str, field: str, *, required: bool = False) -> Column:
    kinds = (Quantity.DISTANCE, Quantity.RUNNING_TIME)
    return Column(header, field, cells.amount, required, "", kinds)


def _measure(
    header: str,
    field: str,
    kind: Quantity,
    unit: str,
    *,
    required: bool = False,
    above: float | None = 0.0,
    least: float | None = None,
) -> Column:
    read = cells.quantity(kind, above=above, least=least)
    return Column(header, field, read, required, unit, (kind,))


def _days(header: str, field: str) -> Column:
    return Column(header, field, cells.whole(most=36_500), unit="d", days=True)


_VEHICLE = _text("vehicle", required=True)
_STAGE = _text("stage", required=True)
_ANY_VALUE = (Quantity.ELONGATION, Quantity.LENGTH, Quantity.FORCE, Quantity.FREQUENCY, Quantity.TORQUE)

_VEHICLES = (
    _text("tag", required=True),
    _text("description", required=True),
    _kind("kind", "kind", cells.one_of(VehicleKind), required=True),
    _text("depot", required=True),
    _kind("meter unit", "meter_unit", cells.one_of(MeterUnit), required=True),
    _kind("duty", "duty", cells.one_of(Duty)),
    _text("model"),
    _day("in service since", "in_service_since"),
    _day("retired on", "retired_on"),
    _text("owner contact"),
    _text("notes", long=True),
)

_STAGES = (
    _VEHICLE,
    _STAGE,
    Column("order", "order", cells.whole(least=1, most=9), is_required=True),
    _kind("drive", "drive", cells.one_of(DriveKind), required=True),
    _measure("centre distance", "centre_distance_mm", Quantity.LENGTH, "mm"),
    _measure("adjuster range", "adjuster_range_mm", Quantity.LENGTH, "mm", above=None, least=0.0),
    _measure("belt span", "span_mm", Quantity.LENGTH, "mm"),
    _measure("rated speed", "rated_input_rpm", Quantity.ROTATIONAL_SPEED, "1/min"),
    _measure("rated power", "rated_power_kw", Quantity.POWER, "kW"),
    _measure("wheel circumference", "wheel_circumference_mm", Quantity.LENGTH, "mm"),
    _text("slack definition", long=True),
)

_PART_TYPES = (
    _text("name", required=True),
    _kind("kind", "kind", cells.one_of(PartKind), required=True),
    _text("designation", required=True),
    _kind("wear class", "wear_class", cells.one_of(WearClass), required=True),
    _measure("pitch", "pitch_mm", Quantity.LENGTH, "mm", required=True),
    _measure("roller diameter", "roller_diameter_mm", Quantity.LENGTH, "mm"),
    _measure("inner width", "inner_width_mm", Quantity.LENGTH, "mm"),
    Column("links", "links", cells.whole(least=1, most=10_000)),
    _text("joining link"),
    Column("teeth", "teeth", cells.whole(least=1, most=1000)),
    _text("chain"),
    _measure("width", "width_mm", Quantity.LENGTH, "mm"),
    _measure("mass per length", "mass_kg_per_m", Quantity.LINEAR_DENSITY, "kg/m"),
    _days("lead time", "lead_time_days"),
    Column("price", "price", cells.number),
    _text("source", long=True),
)

_STOCK = (
    _text("part type", required=True),
    _text("depot", required=True),
    Column("on hand", "on_hand", cells.whole(least=0, most=10_000), is_required=True),
    Column("least", "least", cells.whole(least=0, most=10_000)),
    _days("lead time", "lead_days"),
    Column("price", "price", cells.number),
    Column("joining links", "joining_links", cells.whole(least=0, most=10_000)),
    Column("spare links", "spare_links", cells.whole(least=0, most=10_000)),
    _text("note", long=True),
)

_INSTRUMENTS = (
    _text("name", required=True),
    _kind("kind", "kind", cells.one_of(InstrumentKind), required=True),
    Column(
        "resolution",
        "resolution",
        cells.quantity_by(measured_cells.instrument_quantity),
        quantities=_ANY_VALUE,
    ),
    Column(
        "standard uncertainty",
        "u_instrument",
        cells.quantity_by(measured_cells.instrument_quantity),
        quantities=_ANY_VALUE,
    ),
    Column("bias", "bias", cells.quantity_by(measured_cells.instrument_quantity), quantities=_ANY_VALUE),
    Column("stamps", "stamps", measured_cells.stamps, quantities=(Quantity.ELONGATION,)),
    _day("calibration due", "calibration_due"),
    _text("notes", long=True),
)

_METER = (
    _VEHICLE,
    _day("date", "on", required=True),
    _use("meter", "meter", required=True),
    _kind("event", "event", cells.one_of(MeterEvent)),
    _use("old meter", "old_meter"),
    _text("by"),
    _text("note", long=True),
)

_INSTALLATIONS = (
    _VEHICLE,
    _STAGE,
    _kind("position", "position", cells.one_of(Position), required=True),
    _text("part type", required=True),
    _day("fitted on", "fitted_on", required=True),
    _use("fitted at", "fitted_at", required=True),
    _text("part"),
    _text("lot"),
    _use("use before", "use_before"),
    _kind("history known", "is_history_known", cells.yes_no),
    _day("removed on", "removed_on"),
    _use("removed at", "removed_at"),
    _kind("reason", "reason", cells.one_of(RemovalReason)),
    Column("links", "links", cells.whole(least=1, most=10_000)),
    _kind("thread lock", "thread_lock", cells.yes_no),
    Column("cost", "cost", cells.number),
    _text("notes", long=True),
)

_VISITS = (
    _VEHICLE,
    _day("date", "on", required=True),
    _use("meter", "meter", required=True),
    _text("by"),
    Column("tasks", "tasks", measured_cells.tasks),
    _text("notes", long=True),
    Column("cost", "cost", cells.number),
)

_READINGS = (
    _VEHICLE,
    _STAGE,
    _day("date", "on", required=True),
    _use("meter", "meter", required=True),
    _kind("measurand", "measurand", cells.one_of(Measurand), required=True),
    _kind("method", "method", cells.one_of(Method), required=True),
    Column("spots", "spots", measured_cells.spots, is_required=True, quantities=_ANY_VALUE),
    _kind("position", "position", cells.one_of(Position)),
    Column("pitches", "pitches", cells.whole(least=1, most=10_000)),
    _text("instrument"),
    _kind("cleaned", "was_cleaned", cells.yes_no),
    _kind("zero reading", "is_zero_reading", cells.yes_no),
    _measure("temperature", "temperature_degc", Quantity.TEMPERATURE, "degC", above=None, least=-60.0),
    _text("definition", long=True),
    _text("by"),
    _text("note", long=True),
    _text("void reason", long=True),
)

_INTERVAL_RULES = (
    _kind("task", "task", cells.one_of(Task), required=True),
    _measure("every", "every_km", Quantity.DISTANCE, "km"),
    _measure("every", "every_h", Quantity.RUNNING_TIME, "h"),
    _days("every", "every_days"),
    _measure("first", "first_km", Quantity.DISTANCE, "km"),
    _measure("first", "first_h", Quantity.RUNNING_TIME, "h"),
    _days("first", "first_days"),
    _kind("after fitting", "is_after_fitting", cells.yes_no),
    _kind("vehicle kind", "vehicle_kind", cells.one_of(VehicleKind)),
    _text("vehicle"),
    _text("stage"),
    _kind("drive", "drive", cells.one_of(DriveKind)),
    _text("note", long=True),
    _text("source", long=True),
)

_LIMIT_VALUE = cells.quantity_by(measured_cells.measurand_quantity)
_LIMITS = (
    _kind("measurand", "measurand", cells.one_of(Measurand), required=True),
    _kind("wear class", "wear_class", cells.one_of(WearClass), required=True),
    Column("service limit", "service_limit", _LIMIT_VALUE, is_required=True, quantities=_ANY_VALUE),
    Column("as new", "as_new", _LIMIT_VALUE, quantities=_ANY_VALUE),
    Column(
        "plan share",
        "plan_share",
        cells.quantity(Quantity.SHARE, above=0.0, most=1.0, default="1"),
        quantities=(Quantity.SHARE,),
    ),
    Column("stop-use limit", "stop_use_limit", _LIMIT_VALUE, quantities=_ANY_VALUE),
    _text("designation"),
    _text("model"),
    _text("vehicle"),
    _text("stage"),
    _text("source", long=True),
    _text("note", long=True),
)


def _reading(**values: Any) -> ReadingRow:
    if values["method"] is Method.GAUGE:
        values["gauge_spots"] = values.pop("spots")
    return ReadingRow(**values)


#: Every file of the format, in the order in which they build on each other.
FORMS: Mapping[str, FileForm] = {
    form.name: form
    for form in (
        FileForm("vehicles.csv", "vehicles", VehicleRow, _VEHICLES),
        FileForm("stages.csv", "stages", StageRow, _STAGES),
        FileForm("part_types.csv", "part_types", PartTypeRow, _PART_TYPES),
        FileForm("instruments.csv", "instruments", InstrumentRow, _INSTRUMENTS),
        FileForm("meter.csv", "meter", MeterRow, _METER),
        FileForm("installations.csv", "installations", InstallationRow, _INSTALLATIONS),
        FileForm("visits.csv", "visits", VisitRow, _VISITS),
        FileForm("readings.csv", "readings", _reading, _READINGS),
        FileForm("interval_rules.csv", "interval_rules", IntervalRuleRow, _INTERVAL_RULES),
        FileForm("limits.csv", "limits", LimitRow, _LIMITS),
        FileForm("stock.csv", "stock", StockRow, _STOCK),
    )
}
