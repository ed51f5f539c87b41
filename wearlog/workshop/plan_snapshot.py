"""A plan of visits: which vehicle comes when, what is done, what early and late cost."""

from dataclasses import dataclass, field
from datetime import date

from wearlog.planning.scheduling import VisitPolicy
from wearlog.workshop.due_snapshot import DueLine


@dataclass(frozen=True, slots=True)
class DepotHours:
    """When a depot works on vehicles.

    Attributes
    ----------
    weekdays
        Days of the week on which it is open, 0 for Monday.
    bay_minutes
        Bay time on an open day, all bays together, [min].
    """

    weekdays: tuple[int, ...] = (0, 1, 2, 3, 4)
    bay_minutes: int = 360


@dataclass(frozen=True, slots=True)
class PlanTerms:
    """What the workshop agreed on for planning; money in its own currency. The defaults are assumptions.

    Attributes
    ----------
    hours, usual_hours
        By depot, and for depots that are not named.
    closed_on
        Days on which no depot works.
    labour_per_hour
        What an hour of work costs, [money].
    visit_minutes
        Bringing in, washing, road test: what each visit takes besides the work, [min].
    visit_cost
        What each visit costs besides labour: fetching, standing idle, [money].
    late_per_day
        What a day costs by which a task or a reading is late, [money].
    failure_cost
        What it costs if a chain breaks or comes off: recovery, damage, idle time, [money].
    failures_per_past
        Failures to expect while a chain goes from its limit to twice its allowance, [-].
    """

    hours: dict[str, DepotHours] = field(default_factory=dict)
    usual_hours: DepotHours = DepotHours()
    closed_on: tuple[date, ...] = ()
    labour_per_hour: float = 48.0
    visit_minutes: int = 20
    visit_cost: float = 15.0
    late_per_day: float = 1.0
    failure_cost: float = 400.0
    failures_per_past: float = 0.05

    def hours_of(self, depot: str) -> DepotHours:
        """Return when a depot works."""
        return self.hours.get(depot, self.usual_hours)

    def minutes_on(self, depot: str, day: date) -> int:
        """Return the bay time of a depot on a day, 0 if it is closed, [min]."""
        hours = self.hours_of(depot)
        is_open = day.weekday() in hours.weekdays and day not in self.closed_on
        return hours.bay_minutes if is_open else 0


@dataclass(frozen=True, slots=True)
class PlannedWork:
    """One line of the due list in a plan.

    Attributes
    ----------
    days_early
        How long before its due date it is done; below 0 if late, [d].
    unused_use, unused_share, unused_cost
        For a replacement: use that the part would still have gone, km (h), as a share of its life, in money.
    past_chance
        For a replacement: chance that the part is past its limit by then.
    sprocket_cost, failure_cost
        What running on until then may cost in sprockets and failures, [money].
    other_cost
        For other work: what being early or late costs, [money].
    """

    line: DueLine
    minutes: int
    days_early: int
    unused_use: float | None = None
    unused_share: float | None = None
    unused_cost: float = 0.0
    past_chance: float | None = None
    sprocket_cost: float = 0.0
    failure_cost: float = 0.0
    other_cost: float = 0.0

    @property
    def is_late(self) -> bool:
        """Whether it is done after its due date."""
        return self.days_early < 0


@dataclass(frozen=True, slots=True)
class PlannedStop:
    """One visit of a plan: the vehicle, the day, the work; `minutes` with bringing in and road test."""

    vehicle_id: int
    tag: str
    depot: str
    on: date
    minutes: int
    works: tuple[PlannedWork, ...]


@dataclass(frozen=True, slots=True)
class DayLoad:
    """Bay time of a depot on a day."""

    depot: str
    on: date
    used_minutes: int
    bay_minutes: int


@dataclass(frozen=True, slots=True)
class PlanCost:
    """What the fleet costs over the weeks of a plan, [money].

    `parts` is what parts wear off in that time whatever the plan; `unused` what is given away on top.
    """

    visits: float
    labour: float
    parts: float
    unused: float
    sprockets: float
    failures: float
    other: float
    distance_km: float

    @property
    def total(self) -> float:
        """All of it, [money]."""
        return (
            self.visits + self.labour + self.parts + self.unused + self.sprockets + self.failures + self.other
        )

    @property
    def per_1000_km(self) -> float:
        """All of it for 1000 km, [money]."""
        return 1000.0 * self.total / self.distance_km if self.distance_km > 0.0 else 0.0


@dataclass(frozen=True, slots=True)
class VisitPlan:
    """A plan.

    Attributes
    ----------
    stops
        The visits, by day and tag.
    unplaced
        Lines for which no open day has room.
    loads
        Bay time of every depot on every day looked ahead.
    gap
        How far the plan may be from the best one, as a share; None where no proof was sought.
    """

    today: date
    weeks: int
    policy: VisitPolicy
    terms: PlanTerms
    stops: tuple[PlannedStop, ...]
    unplaced: tuple[DueLine, ...]
    loads: tuple[DayLoad, ...]
    cost: PlanCost
    gap: float | None
    data_version: int = 0

    @property
    def works(self) -> tuple[PlannedWork, ...]:
        """All work, visit by visit."""
        return tuple(work for stop in self.stops for work in stop.works)

    @property
    def late(self) -> tuple[PlannedWork, ...]:
        """Work that is done after its due date."""
        return tuple(work for work in self.works if work.is_late)

    @property
    def is_proven(self) -> bool:
        """Whether no plan is better by more than the solver's tolerance."""
        return self.gap is not None and self.gap <= 0.01
