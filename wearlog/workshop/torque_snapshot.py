"""What the torque page shows, and what is typed on it before it is saved."""

import json
from dataclasses import asdict, dataclass, field, replace
from datetime import date
from enum import StrEnum
from typing import Any

from wearlog.fleet.reading import Instrument
from wearlog.fleet.torque import Fastener, TorqueRecord, TorqueSheet, TorqueWork
from wearlog.fleet.vehicle import MeterUnit


@dataclass(frozen=True, slots=True)
class Recheck:
    """The re-check that is still to be done at a fastener.

    Use in km (h on hour meters); the days are the ends and the middle of the 80 % interval, None where beyond
    reach. `is_overdue` once its likely day has come.
    """

    after_use: float
    tightened_on: date
    due_use: float
    early_on: date | None
    due_on: date | None
    late_on: date | None
    is_overdue: bool


class Standing(StrEnum):
    """How a fastener stands."""

    NOT_RECORDED = "not recorded"
    SET = "set"
    RECHECK_OPEN = "re-check to come"
    RECHECK_DUE = "re-check due"
    OUT_OF_RANGE = "out of range"


@dataclass(frozen=True, slots=True)
class FastenerLine:
    """One fastener of the sheet, and what is known of it on this vehicle.

    `steps` says, clockwise, when each bolt's turn comes. `tightened` is the last time it was tightened,
    `last` the last record of any kind, `earlier` all before it, the latest first.
    """

    fastener: Fastener
    steps: tuple[int, ...]
    last: TorqueRecord | None = None
    tightened: TorqueRecord | None = None
    last_wrench: str = ""
    recheck: Recheck | None = None
    earlier: tuple[TorqueRecord, ...] = ()

    @property
    def standing(self) -> Standing:
        """How it stands."""
        if self.last is None:
            return Standing.NOT_RECORDED
        applied = self.tightened or self.last
        if self.recheck is not None and self.recheck.is_overdue:
            return Standing.RECHECK_DUE
        if not all(self.fastener.is_in_range(value) for value in applied.applied_nm):
            return Standing.OUT_OF_RANGE
        return Standing.SET if self.recheck is None else Standing.RECHECK_OPEN

    @property
    def usual_work(self) -> TorqueWork:
        """What is most likely done next."""
        return TorqueWork.TIGHTENED if self.recheck is None else TorqueWork.RECHECKED


@dataclass(frozen=True, slots=True)
class TorqueSnapshot:
    """The torque sheet of a vehicle on a day; `sheet` is None while it has none.

    `use_now` is the total use at the last meter entry, `last_meter` what the meter showed then, both in
    km (h). `templates` are sheets to start from that fit this kind of vehicle: name and words. `vehicles` is
    how many vehicles share the sheet.
    """

    vehicle_id: int
    tag: str
    vehicle_text: str
    depot: str
    model: str
    meter_unit: MeterUnit
    today: date
    use_now: float
    last_meter: float | None
    last_meter_on: date | None
    sheet: TorqueSheet | None
    lines: tuple[FastenerLine, ...] = ()
    wrenches: tuple[Instrument, ...] = ()
    last_wrench_id: int | None = None
    people: tuple[str, ...] = ()
    stages: tuple[str, ...] = ()
    templates: tuple[tuple[str, str], ...] = ()
    vehicles: int = 1
    data_version: int = 0

    @property
    def use_unit(self) -> str:
        """``"km"`` or ``"h"``."""
        return self.meter_unit.use_unit

    def line(self, fastener_id: int) -> FastenerLine | None:
        """Return the line of a fastener."""
        return next((line for line in self.lines if line.fastener.id == fastener_id), None)

    def wrench(self, instrument_id: int | None) -> Instrument | None:
        """Return a wrench by its number."""
        return next((wrench for wrench in self.wrenches if wrench.id == instrument_id), None)


@dataclass(frozen=True, slots=True)
class TorqueEntry:
    """What is typed for one fastener.

    `values_nm` is empty while the text can't be understood; `unit` is the one that was typed or stood for it.
    `kept` are questions that were answered by keeping the value.
    """

    text: str = ""
    values_nm: tuple[float, ...] = ()
    unit: str = "N.m"
    work: TorqueWork = TorqueWork.TIGHTENED
    kept: tuple[str, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to save."""
        return not self.text.strip() and self.work is not TorqueWork.MARKER_SEEN


@dataclass(frozen=True, slots=True)
class TorqueDraft:
    """What is typed on a torque sheet; every change makes a new one.

    `meter_value` is canonical (km or h); None counts as the use known for the day.
    """

    vehicle_id: int
    on: date
    by: str = ""
    instrument_id: int | None = None
    meter_text: str = ""
    meter_value: float | None = None
    entries: dict[int, TorqueEntry] = field(default_factory=dict)

    @property
    def is_empty(self) -> bool:
        """Whether nothing is worth keeping."""
        return not self.meter_text.strip() and all(entry.is_empty for entry in self.entries.values())

    def with_entry(self, fastener_id: int, entry: TorqueEntry) -> "TorqueDraft":
        """Return the draft with one entry replaced."""
        return replace(self, entries={**self.entries, fastener_id: entry})

    def to_text(self) -> str:
        """Return the draft as JSON text, to be kept."""
        return json.dumps(asdict(self), default=str, ensure_ascii=False)

    @classmethod
    def from_text(cls, text: str) -> "TorqueDraft":
        """Return a kept draft."""
        data: dict[str, Any] = json.loads(text)
        entries = {
            int(number): TorqueEntry(
                text=entry["text"],
                values_nm=tuple(entry["values_nm"]),
                unit=entry["unit"],
                work=TorqueWork(entry["work"]),
                kept=tuple(entry["kept"]),
            )
            for number, entry in data.pop("entries").items()
        }
        data["on"] = date.fromisoformat(data["on"])
        return cls(**data, entries=entries)
