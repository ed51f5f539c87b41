"""What the owner of a vehicle is told: what was measured and done, what is advised and why."""

from dataclasses import dataclass
from datetime import date

from wearlog.fleet.limit import Limit
from wearlog.fleet.reading import Reading
from wearlog.fleet.service import Visit
from wearlog.fleet.state import State
from wearlog.workshop.due_snapshot import DueLine
from wearlog.workshop.fleet_snapshot import WearRuleValue
from wearlog.workshop.trend_snapshot import TrendSnapshot


@dataclass(frozen=True, slots=True)
class ReportReading:
    """The latest reading of one measurand on one part, beside the one before it.

    `rule` is how much of the allowance is used today; None where wear is not followed.
    """

    stage_name: str
    part_text: str
    latest: Reading
    before: Reading | None
    meter_value: float
    limit: Limit | None
    limit_why: str = ""
    rule: WearRuleValue | None = None


@dataclass(frozen=True, slots=True)
class ReportVisit:
    """A service visit: `fitted` names the parts that came on at it."""

    visit: Visit
    meter_value: float
    stages: dict[int, str]
    fitted: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OwnerReport:
    """The report on one vehicle.

    Attributes
    ----------
    meter_unit, use_unit, last_meter, last_meter_on
        What the meter showed last, and in which units.
    state
        The most urgent state of its parts.
    trends
        The trend of the part that governs each stage, the most urgent first.
    readings
        In the order of the stages.
    visits
        The latest first.
    advice
        What is due ahead, by date, until `until`.
    """

    vehicle_id: int
    tag: str
    vehicle_text: str
    depot: str
    meter_unit: str
    use_unit: str
    today: date
    until: date
    last_meter: float | None
    last_meter_on: date | None
    use_per_day: float
    state: State
    trends: tuple[TrendSnapshot, ...]
    readings: tuple[ReportReading, ...]
    visits: tuple[ReportVisit, ...]
    advice: tuple[DueLine, ...]
