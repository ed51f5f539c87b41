"""Readings: what was measured, how, with what, every spot as typed, and the value with its uncertainty."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from wearlog.fleet.quantity import Quantity


class Measurand(StrEnum):
    """The quantity intended to be measured (the word of JCGM 200 and JCGM 100)."""

    CHAIN_ELONGATION = "chain elongation"
    SPROCKET_TOOTH_THICKNESS = "sprocket tooth thickness"
    CHAIN_LIFT = "chain lift-off at the driven sprocket"
    SLACK = "slack"
    ADJUSTER_POSITION = "adjuster position"
    BELT_TENSION = "static belt tension"
    BELT_CONDITION = "belt condition grade"
    SPROCKET_CONDITION = "sprocket condition grade"

    @property
    def quantity(self) -> Quantity:
        """The kind of quantity its value is; readings are kept in that canonical unit."""
        return _QUANTITY[self]


_QUANTITY = {
    Measurand.CHAIN_ELONGATION: Quantity.ELONGATION,
    Measurand.SPROCKET_TOOTH_THICKNESS: Quantity.LENGTH,
    Measurand.CHAIN_LIFT: Quantity.LENGTH,
    Measurand.SLACK: Quantity.LENGTH,
    Measurand.ADJUSTER_POSITION: Quantity.LENGTH,
    Measurand.BELT_TENSION: Quantity.FORCE,
    Measurand.BELT_CONDITION: Quantity.GRADE,
    Measurand.SPROCKET_CONDITION: Quantity.GRADE,
}


class Method(StrEnum):
    """How a reading is taken."""

    PIN_TO_PIN = "same edge of two pins"
    OVER_ROLLERS = "same side of two rollers"
    INSIDE_AND_OUTSIDE = "inside and outside"
    BETWEEN_ROLLERS = "between rollers"
    TAPE = "tape under load"
    WHOLE_CHAIN = "whole chain beside a new one"
    GAUGE = "drop-in gauge"
    ELONGATION_READ = "elongation read off"
    DIRECT = "direct"
    SPAN_FREQUENCY = "span frequency"
    DEFLECTION_FORCE = "deflection force"
    GRADE = "grade by eye"


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """One raw entry of a reading.

    `value` and `second` are in the canonical unit of what was read at the spot (mm, Hz, N, fraction, grade);
    `second` is the outside length of the inside-and-outside method, or the deflection that went with a force.
    With a drop-in gauge there is one entry for each stamp tried: `value` is what it means as elongation,
    `second` is 1.0 if it goes in and 0.0 if it stays out. `typed` is what was typed.
    """

    typed: str
    value: float
    second: float | None = None
    resolution: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading of one measurand on one part or stage.

    Either `value` with `u_value`, or an interval `low` to `high` (either end may be infinite) with `u_value`
    as the standard uncertainty of its ends; all in the canonical unit of the measurand.
    `mean` and `spread` are over the spots. `pitches` is the number of pitches spanned.
    `installation_id` is None for readings of the stage (slack, adjuster position).
    `total_use` is the vehicle's total use at the reading, km (h on hour meters).
    """

    vehicle_id: int
    stage_id: int
    installation_id: int | None
    visit_id: int | None
    on: date
    total_use: float
    measurand: Measurand
    method: Method
    spots: tuple[Spot, ...] = ()
    value: float | None = None
    low: float | None = None
    high: float | None = None
    u_value: float = 0.0
    mean: float | None = None
    spread: float | None = None
    pitches: int | None = None
    instrument_id: int | None = None
    temperature_degc: float | None = None
    load_n: float | None = None
    was_cleaned: bool | None = None
    is_zero_reading: bool = False
    definition: str = ""
    note: str = ""
    by: str = ""
    is_late_entry: bool = False
    void_reason: str = ""
    id: int = 0
    version: int = 0

    @property
    def is_interval(self) -> bool:
        """Whether the reading is an interval rather than a value."""
        return self.value is None


class InstrumentKind(StrEnum):
    """What a reading is taken with."""

    CALIPER = "caliper"
    RULE = "rule"
    TAPE = "tape"
    GAUGE_TWO_PRONG = "two-prong gauge"
    GAUGE_ONE_SIDE = "one-side gauge"
    FREQUENCY_METER = "frequency meter"
    FORCE_GAUGE = "force gauge"
    TORQUE_WRENCH = "torque wrench"


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """Something to measure with.

    `resolution` and `u_instrument` are in the unit of what it reads: mm, Hz, N; a fraction for gauges.
    `bias` is what it reads too much on a new part: mm, Hz or N; a fraction for gauges.
    `stamps` are a gauge's marks and what each means as elongation, for example ``(("0.5", 0.005),)``.
    """

    name: str
    kind: InstrumentKind
    resolution: float = 0.0
    u_instrument: float = 0.0
    bias: float = 0.0
    stamps: tuple[tuple[str, float], ...] = ()
    calibration_due: date | None = None
    notes: str = ""
    retired_on: date | None = None
    id: int = 0
    version: int = 0
