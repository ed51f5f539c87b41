"""What the fleet list shows."""

from dataclasses import dataclass
from datetime import date

from wearlog.fleet.fitting import Position
from wearlog.fleet.reading import Measurand
from wearlog.fleet.state import State
from wearlog.fleet.vehicle import VehicleKind


@dataclass(frozen=True, slots=True)
class WearRuleValue:
    """What one wear rule shows: shares of the wear allowance, 0 as new, 1 at the service limit.

    Attributes
    ----------
    median, low, high
        Estimate today with the ends of its 80 % interval, [-]; without any reading the fleet's expectation.
    plan_share
        Where to plan ahead, [-].
    state
        In words.
    has_reading
        False draws the scale dashed, with the expectation only.
    limit_share
        Where this part's own limit lies on the scale, [-]; nearly always 1.
    """

    median: float
    low: float
    high: float
    plan_share: float
    state: State
    has_reading: bool = True
    limit_share: float = 1.0


@dataclass(frozen=True, slots=True)
class StageRule:
    """The wear rule of one part of a stage; `installation_id` and `measurand` lead to its trend."""

    stage_id: int
    stage_name: str
    installation_id: int
    position: Position
    measurand: Measurand
    part_text: str
    rule: WearRuleValue


@dataclass(frozen=True, slots=True)
class FleetRow:
    """One vehicle of the fleet list; `rules` has one entry a stage, the part that governs it."""

    vehicle_id: int
    tag: str
    description: str
    kind: VehicleKind
    depot: str
    state: State
    rules: tuple[StageRule, ...]
    is_retired: bool = False
    search_text: str = ""


@dataclass(frozen=True, slots=True)
class FleetSnapshot:
    """The fleet on a day, sorted by depot and tag; without wear rules while `is_judged` is False."""

    today: date
    rows: tuple[FleetRow, ...]
    drafts_kept: int = 0
    data_version: int = 0
    is_judged: bool = True

    def count(self, state: State) -> int:
        """Return how many vehicles are in a state."""
        return sum(1 for row in self.rows if row.state is state and not row.is_retired)
