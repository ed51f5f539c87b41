"""What a predicted date rests on: readings, fleet, limit, usage, and where its width comes from."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from wearlog.fleet.reading import Measurand
from wearlog.fleet.vehicle import Duty


class Cause(StrEnum):
    """What makes a predicted date uncertain."""

    READINGS = "readings"
    RATE = "rate"
    PROCESS = "process"
    USAGE = "usage"


class Aside(StrEnum):
    """Why a reading does not count in full."""

    VOIDED = "voided"
    QUESTIONED = "questioned"
    BEDDING_IN = "bedding in"


@dataclass(frozen=True, slots=True)
class ExplainedReading:
    """One reading and how far it counts.

    Use in km (h) on the part, values in the canonical unit; `weight` is the chance that it is right, 0
    where it was voided, [-].
    """

    reading_id: int
    on: date
    use_on_part: float
    value: float | None
    low: float | None
    high: float | None
    u_value: float
    weight: float
    aside: Aside | None = None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class RateEvidence:
    """Where the estimate of the rate comes from.

    Attributes
    ----------
    fleet_share
        Precision that the fleet brings over the precision of the estimate, [-]; the rest comes from the
        part's own readings, so that the two shares make 1.
    fleet, own, together
        10, 50 and 90 % quantiles of the rate, canonical unit per 1000 km (100 h) on the present set-up:
        what the fleet leads to expect, what the readings say by themselves (None if next to nothing), and
        both together.
    is_straight
        Whether the rate is the same over the whole life; else it holds for the part as new.
    similar_parts, cell_parts
        Read parts of the family that stand behind it, and those of the same stage and duty.
    odds
        How many standard deviations own readings and fleet lie apart, above zero if the part wears faster,
        [-].
    """

    fleet_share: float
    fleet: tuple[float, float, float]
    own: tuple[float, float, float] | None
    together: tuple[float, float, float]
    is_straight: bool
    similar_parts: int
    cell_parts: int
    odds: float

    @property
    def own_share(self) -> float:
        """What the part's own readings bring, [-]."""
        return 1.0 - self.fleet_share


@dataclass(frozen=True, slots=True)
class LimitEvidence:
    """Which limit governs, where it comes from, and what it does to the date.

    `service_limit` and `as_new` in the canonical unit; `days_per_tenth` is by how many days the likely date
    moves if the limit allows a tenth more, None beyond reach.
    """

    service_limit: float
    as_new: float
    source: str
    why: str
    days_per_tenth: float | None


@dataclass(frozen=True, slots=True)
class UsageEvidence:
    """How the vehicle is taken to be used.

    Attributes
    ----------
    per_week, per_week_ahead
        Average use, and the use from the last meter entry to the likely date with its season, km (h) a week.
    entries, first_on, last_on
        Meter entries that stand behind it.
    half_life_days
        An entry this old counts half.
    season
        Factors of January to December, mean 1; empty where none could be told.
    lay_ups
        Declared lay-ups, first day off and first day back.
    still
        Spells between entries in which it hardly moved; they count as use like any other.
    """

    per_week: float
    per_week_ahead: float
    entries: int
    first_on: date | None
    last_on: date | None
    half_life_days: float
    season: tuple[float, ...] = ()
    lay_ups: tuple[tuple[date, date], ...] = ()
    still: tuple[tuple[date, date], ...] = ()


@dataclass(frozen=True, slots=True)
class Contribution:
    """What one cause adds to the width of the date.

    `days_alone` is the width if only this were uncertain, `days_without` if everything but this were;
    `share` is its part of the squared width, and the shares of all causes make 1, [-].
    """

    cause: Cause
    days_alone: float
    days_without: float
    share: float


@dataclass(frozen=True, slots=True)
class DateWidth:
    """How wide the date is and why.

    Attributes
    ----------
    early_on, likely_on, late_on
        10, 50 and 90 % dates; None beyond reach.
    days
        From the early to the late date; to the likely one where `is_early_half`, as the late one is out of
        sight.
    contributions
        By cause, the greatest share first.
    """

    early_on: date | None
    likely_on: date | None
    late_on: date | None
    days: float
    is_early_half: bool
    contributions: tuple[Contribution, ...]


@dataclass(frozen=True, slots=True)
class Explanation:
    """All that a predicted date rests on.

    `exposure` is how fast the present set-up wears the part against the family's usual one, [-]; `width` is
    None where no date is in sight, or it is behind.
    """

    installation_id: int
    measurand: Measurand
    use_unit: str
    readings: tuple[ExplainedReading, ...]
    rate: RateEvidence
    limit: LimitEvidence
    usage: UsageEvidence
    duty: Duty
    stage_name: str
    exposure: float
    width: DateWidth | None
