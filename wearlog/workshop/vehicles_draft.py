"""A vehicle as it is being entered or changed: itself, its stages, their parts, its duty and lay-ups."""

from dataclasses import dataclass, replace
from datetime import date

from wearlog.fleet.fitting import Installation, Position, RemovalReason
from wearlog.fleet.parts import DriveKind, Part, PartKind, PartType
from wearlog.fleet.spells import DutySpell, LayUp
from wearlog.fleet.vehicle import Duty, MeterUnit, Stage, Vehicle, VehicleKind

#: Chain or belt first, then the wheels, as everywhere.
POSITIONS = (Position.RUN, Position.DRIVER, Position.DRIVEN)


@dataclass(frozen=True, slots=True)
class FittedRecords:
    """A part that is fitted, as it was read."""

    installation: Installation
    part: Part
    part_type: PartType


@dataclass(frozen=True, slots=True, kw_only=True)
class PartDraft:
    """One part of a stage.

    Attributes
    ----------
    position
        Where it sits.
    count
        Links of a chain, teeth of a belt or wheel; None where not known. A wheel without teeth is not fitted.
    fitted_on
        Since when it is there; None for the day of the first meter entry.
    use_before
        What was on it when it was fitted, km (h on hour meters).
    is_history_known
        False for a used part whose distance nobody knows.
    lot
        Lot or serial.
    fitted
        The records as they were read; None for a part that is to be fitted.
    """

    position: Position
    count: int | None = None
    fitted_on: date | None = None
    use_before: float = 0.0
    is_history_known: bool = True
    lot: str = ""
    fitted: FittedRecords | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenOff:
    """A stage taken off service with what is on it."""

    on: date
    reason: RemovalReason


@dataclass(frozen=True, slots=True, kw_only=True)
class StageDraft:
    """One stage; lengths in mm, speed in 1/min, power in kW.

    Attributes
    ----------
    key
        Tells it from the others of the draft.
    run
        Which chain or belt, whatever its length; None where nothing is fitted.
    parts
        One for each of `POSITIONS`.
    taken_off
        That it goes off service.
    stage
        The record as it was read; None for a new one.
    """

    key: int
    name: str
    drive: DriveKind
    run: PartType | None = None
    parts: tuple[PartDraft, ...] = tuple(PartDraft(position=position) for position in POSITIONS)
    centre_distance_mm: float | None = None
    adjuster_range_mm: float | None = None
    span_mm: float | None = None
    rated_input_rpm: float | None = None
    rated_power_kw: float | None = None
    wheel_circumference_mm: float | None = None
    slack_definition: str = ""
    taken_off: TakenOff | None = None
    stage: Stage | None = None

    def part(self, position: Position) -> PartDraft:
        """Return the part at a position."""
        return self.parts[POSITIONS.index(position)]

    def with_part(self, part: PartDraft) -> "StageDraft":
        """Return the stage with one part replaced."""
        at = POSITIONS.index(part.position)
        return replace(self, parts=(*self.parts[:at], part, *self.parts[at + 1 :]))

    def is_fitted(self, position: Position) -> bool:
        """Whether a part is, or is to be, at a position."""
        if position is Position.RUN:
            return self.run is not None
        part = self.part(position)
        return self.run is not None and (part.count is not None or part.fitted is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class LayUpDraft:
    """A time in which the vehicle stands; `until_on` is the day it is used again, None while unknown.

    `is_dropped` takes back one that was kept by mistake.
    """

    key: int
    from_on: date | None = None
    until_on: date | None = None
    reason: str = ""
    is_dropped: bool = False
    lay_up: LayUp | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleDraft:
    """A vehicle as it is being entered; every change makes a new one.

    Attributes
    ----------
    meter_value, meter_on
        The first meter entry, km (h on hour meters), and its day; for vehicles that have none yet.
    meter_text
        As it was typed.
    duty, duty_from
        The duty it is on, and since when if that is a change.
    spells
        The duties so far, as they were read.
    vehicle
        The record as it was read; None for a new one.
    """

    tag: str = ""
    description: str = ""
    kind: VehicleKind = VehicleKind.ELECTRIC_MOTORCYCLE
    depot: str = ""
    model: str = ""
    meter_unit: MeterUnit = MeterUnit.KM
    duty: Duty = Duty.UNKNOWN
    duty_from: date | None = None
    owner_contact: str = ""
    in_service_since: date | None = None
    notes: str = ""
    meter_value: float | None = None
    meter_text: str = ""
    meter_on: date | None = None
    stages: tuple[StageDraft, ...] = ()
    lay_ups: tuple[LayUpDraft, ...] = ()
    spells: tuple[DutySpell, ...] = ()
    vehicle: Vehicle | None = None

    @property
    def is_new(self) -> bool:
        """Whether it is not in the fleet yet."""
        return self.vehicle is None

    @property
    def free_key(self) -> int:
        """A key that no stage and no lay-up has."""
        keys = [stage.key for stage in self.stages] + [one.key for one in self.lay_ups]
        return 1 + max(keys, default=0)

    def stage(self, key: int) -> StageDraft | None:
        """Return one stage."""
        return next((stage for stage in self.stages if stage.key == key), None)

    def with_stage(self, stage: StageDraft) -> "VehicleDraft":
        """Return the vehicle with one stage replaced, or added at the end."""
        if self.stage(stage.key) is None:
            return replace(self, stages=(*self.stages, stage))
        return replace(self, stages=tuple(stage if s.key == stage.key else s for s in self.stages))

    def without_stage(self, key: int) -> "VehicleDraft":
        """Return the vehicle without a stage that was never kept."""
        return replace(self, stages=tuple(stage for stage in self.stages if stage.key != key))

    def with_lay_up(self, lay_up: LayUpDraft) -> "VehicleDraft":
        """Return the vehicle with one lay-up replaced, or added at the end."""
        if all(one.key != lay_up.key for one in self.lay_ups):
            return replace(self, lay_ups=(*self.lay_ups, lay_up))
        return replace(self, lay_ups=tuple(lay_up if o.key == lay_up.key else o for o in self.lay_ups))

    def without_lay_up(self, key: int) -> "VehicleDraft":
        """Return the vehicle without a lay-up that was never kept."""
        return replace(self, lay_ups=tuple(one for one in self.lay_ups if one.key != key))


#: Fields that stand in a draft as they stand in its record.
VEHICLE_FIELDS = (
    "tag",
    "description",
    "kind",
    "depot",
    "model",
    "meter_unit",
    "duty",
    "owner_contact",
    "in_service_since",
    "notes",
)
STAGE_FIELDS = (
    "name",
    "drive",
    "centre_distance_mm",
    "adjuster_range_mm",
    "span_mm",
    "rated_input_rpm",
    "rated_power_kw",
    "wheel_circumference_mm",
    "slack_definition",
)


def wheel_kind(drive: DriveKind) -> PartKind:
    """Return what a chain or belt runs on."""
    return PartKind.SPROCKET if drive is DriveKind.CHAIN else PartKind.PULLEY


def field_key(stage: StageDraft | LayUpDraft, name: str, position: Position | None = None) -> str:
    """Return what names a field of a stage, a part or a lay-up; problems stand under it."""
    place = "" if position is None else f":{position.value}"
    return f"{stage.key}{place}:{name}"


def with_records(draft: VehicleDraft, theirs: object, merged: object) -> VehicleDraft:
    """Return a draft based on what somebody else kept meanwhile, showing what was chosen of both.

    Parameters
    ----------
    theirs
        The record as it is kept now.
    merged
        The same with the values that should count.
    """
    if isinstance(theirs, Vehicle) and isinstance(merged, Vehicle):
        values = {name: getattr(merged, name) for name in VEHICLE_FIELDS}
        return replace(draft, vehicle=theirs, **values)
    if isinstance(theirs, LayUp) and isinstance(merged, LayUp):
        return replace(
            draft,
            lay_ups=tuple(
                replace(
                    one,
                    lay_up=theirs,
                    from_on=merged.from_on,
                    until_on=merged.until_on,
                    reason=merged.reason,
                )
                if one.lay_up is not None and one.lay_up.id == theirs.id
                else one
                for one in draft.lay_ups
            ),
        )
    return replace(draft, stages=tuple(_stage_with(stage, theirs, merged) for stage in draft.stages))


def _stage_with(draft: StageDraft, theirs: object, merged: object) -> StageDraft:
    if isinstance(theirs, Stage) and isinstance(merged, Stage):
        if draft.stage is None or draft.stage.id != theirs.id:
            return draft
        return replace(draft, stage=theirs, **{name: getattr(merged, name) for name in STAGE_FIELDS})
    return replace(draft, parts=tuple(_part_with(part, theirs, merged) for part in draft.parts))


def _part_with(draft: PartDraft, theirs: object, merged: object) -> PartDraft:
    fitted = draft.fitted
    if fitted is None:
        return draft
    if (
        isinstance(theirs, Installation)
        and isinstance(merged, Installation)
        and fitted.installation.id == theirs.id
    ):
        return replace(
            draft,
            fitted=replace(fitted, installation=theirs),
            fitted_on=merged.fitted_on,
            count=merged.links if merged.links is not None else draft.count,
        )
    if isinstance(theirs, Part) and isinstance(merged, Part) and fitted.part.id == theirs.id:
        return replace(
            draft,
            fitted=replace(fitted, part=theirs),
            use_before=merged.use_before,
            is_history_known=merged.is_history_known,
            lot=merged.lot,
        )
    return draft
