"""Vehicles and their drive stages."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from wearlog.fleet.parts import DriveKind


class VehicleKind(StrEnum):
    """What sort of light two-wheeler it is."""

    ELECTRIC_MOTORCYCLE = "electric motorcycle"
    PETROL_MOTORCYCLE = "petrol motorcycle"
    MOPED = "moped"
    CARGO_EBIKE = "cargo e-bike"
    EBIKE = "e-bike"
    BICYCLE = "bicycle"


class MeterUnit(StrEnum):
    """What the vehicle's meter counts, as its face shows it."""

    KM = "km"
    MILES = "mi"
    HOURS = "h"

    @property
    def use_unit(self) -> str:
        """The canonical unit of use on this vehicle: ``"km"`` or ``"h"``."""
        return "h" if self is MeterUnit.HOURS else "km"


class Duty(StrEnum):
    """How the vehicle is used; moves the expected wear rate."""

    ROAD = "road"
    MIXED = "mixed"
    OFF_ROAD = "off-road"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Vehicle:
    """One vehicle of the fleet.

    `tag` is what the workshop calls it and scans; it is unique. `void_reason` stands where adding it was
    taken back.
    """

    tag: str
    description: str
    kind: VehicleKind
    depot: str
    meter_unit: MeterUnit
    duty: Duty = Duty.UNKNOWN
    model: str = ""
    owner_contact: str = ""
    in_service_since: date | None = None
    notes: str = ""
    retired_on: date | None = None
    retired_reason: str = ""
    void_reason: str = ""
    id: int = 0
    version: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One drive stage of a vehicle, counted from the motor: primary, final.

    `drive` is what is fitted now; the past follows from the installations.
    Lengths in mm, speed in 1/min, power in kW; None where not known.
    `span_mm` is the free belt span if it was measured rather than computed.
    `slack_definition` says how slack is measured on this stage: run, place, total, one-way or gap, stance.
    `retired_on` is the day on which the stage was taken off service with all that was on it.
    """

    vehicle_id: int
    order: int
    name: str
    drive: DriveKind
    centre_distance_mm: float | None = None
    adjuster_range_mm: float | None = None
    span_mm: float | None = None
    rated_input_rpm: float | None = None
    rated_power_kw: float | None = None
    wheel_circumference_mm: float | None = None
    slack_definition: str = ""
    retired_on: date | None = None
    void_reason: str = ""
    id: int = 0
    version: int = 0
