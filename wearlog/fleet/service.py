"""Service visits, what was done at them, and the intervals at which things are to be done."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from wearlog.fleet.parts import DriveKind
from wearlog.fleet.vehicle import VehicleKind


class Task(StrEnum):
    """What is done to a drive at a visit."""

    CLEANED = "clean"
    LUBRICATED = "lubricate"
    TENSION_SET = "set tension"
    LINKS_REMOVED = "remove links"
    PART_FITTED = "fit part"
    PART_REMOVED = "remove part"
    TORQUE_CHECKED = "check torque"
    INSPECTED = "inspect"
    MEASURED = "measure"


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskDone:
    """One task of a visit.

    `before` and `after` are what was set, in `quantity_unit`: ``"mm"``, ``"N"`` or ``"N.m"``. `care` is the
    workshop's own word for the lubricant or cleaner used.
    """

    task: Task
    stage_id: int | None = None
    before: float | None = None
    after: float | None = None
    quantity_unit: str = ""
    note: str = ""
    care: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One service visit of one vehicle; `total_use` in km (h on hour meters).

    `planned_number` is that of the planned visit it was, empty for none.
    """

    vehicle_id: int
    on: date
    total_use: float
    by: str = ""
    tasks: tuple[TaskDone, ...] = ()
    notes: str = ""
    cost: float | None = None
    planned_number: str = ""
    void_reason: str = ""
    id: int = 0
    version: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalRule:
    """A task that comes round: every so many km, hours or days, whichever comes first.

    `is_after_fitting` rules are due once, `first_km` (or hours, or days) after the chain or belt was fitted;
    others come round, their first time after `first_km` if given. None and empty mean "any".
    """

    task: Task
    every_km: float | None = None
    every_h: float | None = None
    every_days: int | None = None
    first_km: float | None = None
    first_h: float | None = None
    first_days: int | None = None
    is_after_fitting: bool = False
    vehicle_kind: VehicleKind | None = None
    vehicle_id: int | None = None
    stage_name: str = ""
    drive: DriveKind | None = None
    note: str = ""
    source: str = ""
    void_reason: str = ""
    id: int = 0
    version: int = 0
