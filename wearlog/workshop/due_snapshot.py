"""What the due list shows; also written to files and printed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from wearlog.fleet.reading import Measurand
from wearlog.fleet.service import Task
from wearlog.fleet.state import State
from wearlog.workshop.fleet_snapshot import WearRuleValue


class Action(StrEnum):
    """What is due."""

    REPLACE = "replace"
    ADJUST = "adjust"
    MEASURE = "measure"
    TASK = "task"
    RECHECK = "re-check"


class DueCause(StrEnum):
    """Why a line stands in the list; with its numbers it becomes a sentence."""

    LIMIT_FORECAST = "limit forecast"
    PAST_LIMIT = "past limit"
    CONDITION_GRADE = "condition grade"
    SLACK_FORECAST = "slack forecast"
    ADJUSTER_FORECAST = "adjuster forecast"
    TENSION_FORECAST = "tension forecast"
    NO_READING = "no reading"
    NO_ZERO_READING = "no zero reading"
    READING_HELPS = "reading helps"
    READING_DECIDES = "reading decides"
    QUESTIONED_READING = "questioned reading"
    INTERVAL = "interval"
    AFTER_FITTING = "after fitting"


@dataclass(frozen=True, slots=True)
class DueReason:
    """The numbers behind a line; which are set depends on the cause.

    Use in km (h on hour meters), shares as fractions, values in the measurand's canonical unit.
    """

    cause: DueCause
    readings: int = 0
    similar_parts: int = 0
    allowance: float | None = None
    chance_past: float | None = None
    caution_level: float | None = None
    every_use: float | None = None
    every_days: int | None = None
    last_use: float | None = None
    last_on: date | None = None
    after_use: float | None = None
    after_days: int | None = None
    use_per_day: float | None = None
    questioned_on: date | None = None
    grade: int | None = None
    last_value: float | None = None
    limit_value: float | None = None
    limit_source: str = ""
    rule_source: str = ""
    advice: str = ""
    advice_source: str = ""


@dataclass(frozen=True, slots=True)
class DueLine:
    """One line of the due list.

    `early`, `likely`, `late` are the ends and the middle of the 80 % interval: use in km (h) on the
    vehicle's total, and date; None where beyond the horizon of the forecast. `due_on` is the date that
    counts: the day at which the chance of being past the limit reaches the caution level, or the end of
    the interval between services.
    `unused_share` is the share of the wear allowance given away if the part is replaced with its group.
    """

    vehicle_id: int
    tag: str
    depot: str
    stage_id: int
    stage_name: str
    installation_id: int | None
    part_text: str
    action: Action
    task: Task | None
    measurand: Measurand | None
    use_unit: str
    due_on: date
    early_use: float | None
    likely_use: float | None
    late_use: float | None
    early_on: date | None
    likely_on: date | None
    late_on: date | None
    order_by: date | None
    past_probability: float | None
    state: State
    reason: DueReason
    rule: WearRuleValue | None = None
    use_now: float = 0.0
    group: int = 0
    group_on: date | None = None
    unused_share: float | None = None

    @property
    def key(self) -> str:
        """What tells this line from the others; stays the same when dates move."""
        numbers = f"{self.vehicle_id}|{self.stage_id}|{self.installation_id}"
        return "|".join((numbers, self.action, self.task or "", self.measurand or ""))


@dataclass(frozen=True, slots=True)
class VisitGroup:
    """Lines of one vehicle that come in together."""

    number: int
    vehicle_id: int
    tag: str
    depot: str
    on: date
    lines: tuple[DueLine, ...]


@dataclass(frozen=True, slots=True)
class DueSnapshot:
    """The due list on a day, sorted by date; `groups` holds the same lines by visit.

    Of a large fleet both are made when they are looked at.
    """

    today: date
    within_days: int | None
    caution_level: float
    window_days: int
    lines: Sequence[DueLine]
    groups: Sequence[VisitGroup]
    vehicles: int = 0
    depots: tuple[str, ...] = ()
    data_version: int = 0
