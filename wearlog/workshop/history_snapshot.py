"""What the history page shows: all that happened to a vehicle, and the trail of every change."""

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from wearlog.fleet.audit import AuditEntry
from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.reading import Instrument, Measurand, Reading
from wearlog.fleet.service import Visit
from wearlog.fleet.torque import Fastener, TorqueRecord
from wearlog.fleet.vehicle import MeterUnit
from wearlog.measuring.evaluated import Evaluated

#: What a line of the history may be about.
HistoryRecord = Visit | Reading | MeterEntry | Installation | TorqueRecord | AuditEntry
#: What can be voided and restored.
Voidable = Visit | Reading | MeterEntry | TorqueRecord


class HistoryKind(StrEnum):
    """What happened."""

    VISIT = "visit"
    READING = "reading"
    METER = "meter"
    FITTED = "fitted"
    REMOVED = "removed"
    TORQUE = "torque"
    SETUP = "set-up"


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryLine:
    """One thing that happened to a vehicle.

    `total_use` in km (h on hour meters), `meter_value` what the meter showed then; None where not known.
    `fastener` and `instrument` are those of the record, `part_use` is the use on a part that came off.
    """

    key: str
    kind: HistoryKind
    on: date
    record: HistoryRecord
    total_use: float | None = None
    meter_value: float | None = None
    stage_name: str = ""
    part_text: str = ""
    position: Position | None = None
    instrument: Instrument | None = None
    fastener: Fastener | None = None
    part_use: float | None = None

    @property
    def void_reason(self) -> str:
        """Why it no longer counts; empty while it does."""
        return getattr(self.record, "void_reason", "")

    @property
    def by(self) -> str:
        """Who did it, as far as it was said."""
        return getattr(self.record, "by", "")


@dataclass(frozen=True, slots=True)
class TrailNames:
    """What the numbers in the trail stand for.

    `use_units` says what each vehicle counts, ``"km"`` or ``"h"``; `measurands` what a reading measured.
    """

    vehicles: dict[int, str] = field(default_factory=dict)
    stages: dict[int, str] = field(default_factory=dict)
    parts: dict[int, str] = field(default_factory=dict)
    part_types: dict[int, str] = field(default_factory=dict)
    instruments: dict[int, str] = field(default_factory=dict)
    fasteners: dict[int, str] = field(default_factory=dict)
    use_units: dict[int, str] = field(default_factory=dict)
    measurands: dict[int, Measurand] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class TrailSnapshot:
    """The trail, the latest first, and the names in it."""

    entries: tuple[AuditEntry, ...] = ()
    names: TrailNames = field(default_factory=TrailNames)


@dataclass(frozen=True, slots=True)
class HistorySnapshot:
    """All that happened to a vehicle, the latest first; `last_meter` is what the meter showed last."""

    vehicle_id: int
    tag: str
    vehicle_text: str
    depot: str
    meter_unit: MeterUnit
    today: date
    lines: tuple[HistoryLine, ...] = ()
    trail: TrailSnapshot = field(default_factory=TrailSnapshot)
    instruments: tuple[Instrument, ...] = ()
    last_meter: float | None = None
    data_version: int = 0

    @property
    def use_unit(self) -> str:
        """``"km"`` or ``"h"``."""
        return self.meter_unit.use_unit


@dataclass(frozen=True, slots=True)
class Place:
    """Where a part may go: a stage of a vehicle; `sits_there` is what is fitted there now.

    `meter_unit` is what the meter of that vehicle shows.
    """

    vehicle_id: int
    tag: str
    stage_id: int
    stage_name: str
    position: Position
    meter_unit: MeterUnit
    sits_there: str = ""


@dataclass(frozen=True, slots=True)
class ReadingLook:
    """What a corrected reading comes to, before it is kept; None where it can't be worked out."""

    reading: Reading | None
    result: Evaluated | None
    questions: tuple[str, ...] = ()
