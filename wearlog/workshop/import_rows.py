"""What an import brings: the rows of each file with canonical values and the words that link them."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from gettext import gettext as _

from wearlog.fleet.fitting import Position, RemovalReason
from wearlog.fleet.meter import MeterEvent
from wearlog.fleet.parts import DriveKind, PartKind, WearClass
from wearlog.fleet.reading import InstrumentKind, Measurand, Method, Spot
from wearlog.fleet.service import Task
from wearlog.fleet.vehicle import Duty, MeterUnit, VehicleKind

#: Marks a field that the format did not always have: empty, it leaves the keys of rows as they were.
LATER = {"later": True}


@dataclass(frozen=True, slots=True)
class Where:
    """The place a row came from; the header is row 1."""

    file: str
    row: int

    def __str__(self) -> str:
        """Return the place in words."""
        return _("{file} row {row}").format(file=self.file, row=self.row)

    def cell(self, column: str) -> str:
        """Return the place of one of its cells in words."""
        return _("{file} row {row}, {column}").format(file=self.file, row=self.row, column=column)


@dataclass(frozen=True, slots=True)
class Amount:
    """What a meter showed, or an amount of use.

    `unit` is ``"km"`` or ``"h"`` where the file named a unit; empty means as the vehicle's own meter counts,
    which only the vehicle can tell.
    """

    value: float
    unit: str = ""
    typed: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleRow:
    """A row of vehicles.csv."""

    where: Where
    tag: str
    description: str
    kind: VehicleKind
    depot: str
    meter_unit: MeterUnit
    duty: Duty = Duty.UNKNOWN
    model: str = ""
    in_service_since: date | None = None
    retired_on: date | None = None
    owner_contact: str = ""
    notes: str = ""

    @property
    def natural_key(self) -> tuple[object, ...]:
        """What tells this row from the others."""
        return (self.tag,)


@dataclass(frozen=True, slots=True, kw_only=True)
class StageRow:
    """A row of stages.csv; lengths in mm."""

    where: Where
    vehicle: str
    stage: str
    order: int
    drive: DriveKind
    centre_distance_mm: float | None = None
    adjuster_range_mm: float | None = None
    span_mm: float | None = None
    rated_input_rpm: float | None = None
    rated_power_kw: float | None = None
    wheel_circumference_mm: float | None = None
    slack_definition: str = ""

    @property
    def natural_key(self) -> tuple[object, ...]:
        """What tells this row from the others."""
        return (self.vehicle, self.stage)


@dataclass(frozen=True, slots=True, kw_only=True)
class PartTypeRow:
    """A row of part_types.csv."""

    where: Where
    name: str
    kind: PartKind
    designation: str
    wear_class: WearClass
    pitch_mm: float
    roller_diameter_mm: float | None = None
    inner_width_mm: float | None = None
    links: int | None = None
    joining_link: str = ""
    teeth: int | None = None
    chain: str = ""
    width_mm: float | None = None
    mass_kg_per_m: float | None = None
    lead_time_days: int = 0
    price: float | None = None
    source: str = ""

    @property
    def natural_key(self) -> tuple[object, ...]:
        """What tells this row from the others."""
        return (self.name,)


@dataclass(frozen=True, slots=True, kw_only=True)
class InstrumentRow:
    """A row of instruments.csv; numbers in the canonical unit of what the instrument reads."""

    where: Where
    name: str
    kind: InstrumentKind
    resolution: float = 0.0
    u_instrument: float = 0.0
    bias: float = 0.0
    stamps: tuple[tuple[str, float], ...] = ()
    calibration_due: date | None = None
    notes: str = ""

    @property
    def natural_key(self) -> tuple[object, ...]:
        """What tells this row from the others."""
        return (self.name,)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterRow:
    """A row of meter.csv."""

    where: Where
    vehicle: str
    on: date
    meter: Amount
    event: MeterEvent = MeterEvent.READ
    old_meter: Amount | None = None
    by: str = ""
    note: str = ""

    @property
    def natural_key(self) -> tuple[object, ...]:
        """What tells this row from the others."""
        return (self.vehicle, self.on, self.event)


@dataclass(frozen=True, slots=True, kw_only=True)
class InstallationRow:
    """A row of installations.csv.

    `replaces_last`: what was in the place comes off on the day, worn; a book of services says it so.
    """

    where: Where
    vehicle: str
    stage: str
    position: Position
    part_type: str
    fitted_on: date
    fitted_at: Amount
    part: str = ""
    lot: str = ""
    use_before: Amount | None = None
    is_history_known: bool = True
    removed_on: date | None = None
    removed_at: Amount | None = None
    reason: RemovalReason | None = None
    links: int | None = None
    thread_lock: bool | None = None
    cost: float | None = None
    notes: str = ""
    replaces_last: bool = False

    @property
    def natural_key(self) -> tuple[object, ...]:
        """What tells this row from the others."""
        return (self.vehicle, self.stage, self.position, self.fitted_on)


@dataclass(frozen=True, slots=True)
class TaskRow:
    """One task of a visit; `before` and `after` in `quantity_unit` (mm, N, N.m, or empty for counts).

    `care` is the lubricant or cleaner used, in the workshop's own word.
    """

    task: Task
    stage: str = ""
    before: float | None = None
    after: float | None = None
    quantity_unit: str = ""
    care: str = field(default="", metadata=LATER)


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitRow:
    """A row of visits.csv."""

    where: Where
    vehicle: str
    on: date
    meter: Amount
    by: str = ""
    tasks: tuple[TaskRow, ...] = ()
    notes: str = ""
    cost: float | None = None

    @property
    def natural_key(self) -> tuple[object, ...]:
        """What tells this row from the others."""
        return (self.vehicle, self.on)


@dataclass(frozen=True, slots=True)
class GaugeSpot:
    """What a drop-in gauge said at one place: the stamp that went in and the one that did not, as stamped."""

    typed: str
    goes_in: str = ""
    stays_out: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingRow:
    """A row of readings.csv; `gauge_spots` with a drop-in gauge, `spots` with everything else."""

    where: Where
    vehicle: str
    stage: str
    on: date
    meter: Amount
    measurand: Measurand
    method: Method
    spots: tuple[Spot, ...] = ()
    gauge_spots: tuple[GaugeSpot, ...] = ()
    position: Position | None = None
    pitches: int | None = None
    instrument: str = ""
    was_cleaned: bool | None = None
    is_zero_reading: bool = False
    temperature_degc: float | None = None
    definition: str = ""
    by: str = ""
    note: str = ""
    void_reason: str = ""

    @property
    def natural_key(self) -> tuple[object, ...]:
        """What tells this row from the others; a second one with the same key is a repeat reading."""
        return (
            self.vehicle,
            self.stage,
            self.on,
            self.measurand,
            self.method,
            self.position,
            self.instrument,
            self.is_zero_reading,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalRuleRow:
    """A row of interval_rules.csv."""

    where: Where
    task: Task
    every_km: float | None = None
    every_h: float | None = None
    every_days: int | None = None
    first_km: float | None = None
    first_h: float | None = None
    first_days: int | None = None
    is_after_fitting: bool = False
    vehicle_kind: VehicleKind | None = None
    vehicle: str = ""
    stage: str = ""
    drive: DriveKind | None = None
    note: str = ""
    source: str = ""

    @property
    def natural_key(self) -> tuple[object, ...]:
        """What tells this row from the others."""
        return (self.task, self.is_after_fitting, self.vehicle_kind, self.vehicle, self.stage, self.drive)


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitRow:
    """A row of limits.csv; values in the measurand's canonical unit."""

    where: Where
    measurand: Measurand
    wear_class: WearClass
    service_limit: float
    as_new: float = 0.0
    plan_share: float = 0.75
    stop_use_limit: float | None = None
    designation: str = ""
    model: str = ""
    vehicle: str = ""
    stage: str = ""
    source: str = ""
    note: str = ""

    @property
    def natural_key(self) -> tuple[object, ...]:
        """What tells this row from the others."""
        return (self.measurand, self.wear_class, self.designation, self.model, self.vehicle, self.stage)


@dataclass(frozen=True, slots=True, kw_only=True)
class StockRow:
    """A row of stock.csv: what lies on the shelf of a depot; None where the part type's own counts."""

    where: Where
    part_type: str
    depot: str
    on_hand: int
    least: int | None = None
    lead_days: int | None = None
    price: float | None = None
    joining_links: int = 0
    spare_links: int = 0
    note: str = ""

    @property
    def natural_key(self) -> tuple[object, ...]:
        """What tells this row from the others."""
        return (self.part_type, self.depot)


ImportRow = (
    VehicleRow
    | StageRow
    | PartTypeRow
    | InstrumentRow
    | MeterRow
    | InstallationRow
    | VisitRow
    | ReadingRow
    | IntervalRuleRow
    | LimitRow
    | StockRow
)


@dataclass(slots=True)
class ImportRows:
    """All rows of one import, file by file."""

    vehicles: list[VehicleRow] = field(default_factory=list)
    stages: list[StageRow] = field(default_factory=list)
    part_types: list[PartTypeRow] = field(default_factory=list)
    instruments: list[InstrumentRow] = field(default_factory=list)
    meter: list[MeterRow] = field(default_factory=list)
    installations: list[InstallationRow] = field(default_factory=list)
    visits: list[VisitRow] = field(default_factory=list)
    readings: list[ReadingRow] = field(default_factory=list)
    interval_rules: list[IntervalRuleRow] = field(default_factory=list)
    limits: list[LimitRow] = field(default_factory=list)
    stock: list[StockRow] = field(default_factory=list)

    def lists(self) -> dict[str, list[ImportRow]]:
        """Return the rows by the name of their list, in the order in which they build on each other."""
        return {
            "vehicles": [*self.vehicles],
            "stages": [*self.stages],
            "part_types": [*self.part_types],
            "instruments": [*self.instruments],
            "meter": [*self.meter],
            "installations": [*self.installations],
            "visits": [*self.visits],
            "readings": [*self.readings],
            "interval_rules": [*self.interval_rules],
            "limits": [*self.limits],
            "stock": [*self.stock],
        }

    def __len__(self) -> int:
        """Return how many rows there are."""
        return sum(len(rows) for rows in self.lists().values())

    def __iter__(self) -> Iterator[ImportRow]:
        """Go through all rows."""
        for rows in self.lists().values():
            yield from rows
