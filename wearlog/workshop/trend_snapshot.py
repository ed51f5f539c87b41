"""What the wear trend of one part shows; also drawn on paper and written to files."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from wearlog.fleet.fitting import Position
from wearlog.fleet.limit import Limit
from wearlog.fleet.reading import Measurand, Method, Spot
from wearlog.fleet.state import State
from wearlog.workshop.explain_snapshot import Explanation
from wearlog.workshop.fleet_snapshot import WearRuleValue

FloatArray: TypeAlias = NDArray[np.float64]

#: Probabilities of all bands and crossings; 50, 80 and 95 % intervals and the median.
LEVELS: tuple[float, ...] = (0.025, 0.1, 0.25, 0.5, 0.75, 0.9, 0.975)
MEDIAN = 3


class Basis(StrEnum):
    """What an estimate rests on."""

    OWN_READINGS = "own readings"
    FLEET = "similar parts"
    ENGINEERING = "engineering estimate"


class ReadingMark(StrEnum):
    """How a reading stands in the trend."""

    GOOD = "good"
    DOUBTFUL = "doubtful"
    SUSPECT = "suspect"
    VOIDED = "voided"


@dataclass(frozen=True, slots=True)
class TrendReading:
    """One reading in the trend.

    `use_on_part` in km or h on the part; `value`, `low`, `high`, `u_value` in the measurand's canonical unit;
    `suspect_probability` is the chance that it is a gross error, [-]; `rate` is the wear since the last
    good reading in canonical units per 1000 km (100 h), None for the first.
    """

    reading_id: int
    on: date
    total_use: float
    use_on_part: float
    value: float | None
    low: float | None
    high: float | None
    u_value: float
    method: Method
    spots: tuple[Spot, ...]
    pitches: int | None
    spread: float | None
    mark: ReadingMark
    suspect_probability: float
    rate: float | None = None
    void_reason: str = ""
    was_cleaned: bool | None = None
    is_zero_reading: bool = False
    instrument: str = ""
    by: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class TrendEvent:
    """Something done to the stage while the part was on it; `text` in plain words."""

    on: date
    use_on_part: float
    text: str


@dataclass(frozen=True, slots=True)
class EarlierPart:
    """The readings of an earlier part in the same place, for comparison; values canonical.

    `meter_offset` is what must be added to the use on it to get the vehicle's total use, km (h).
    """

    text: str
    use_on_part: FloatArray
    value: FloatArray
    meter_offset: float = 0.0


@dataclass(frozen=True, slots=True)
class TrendChoice:
    """Another trend of the same vehicle that can be chosen."""

    installation_id: int
    measurand: Measurand
    stage_name: str
    position: Position
    part_text: str
    rule: WearRuleValue
    is_current: bool = True


@dataclass(frozen=True, slots=True)
class Questioned:
    """What the questioned readings change: the crossing with them taken as right and as the model leans.

    `replace_by_if_right` and `replace_by_as_leaning` are dates at the caution level; the earlier one counts.
    """

    reading_ids: tuple[int, ...]
    replace_by_if_right: date | None
    replace_by_as_leaning: date | None


@dataclass(frozen=True, slots=True)
class Possibility:
    """How a part stands if one of two things holds: 10, 50, 90 % of its allowance used, and its dates."""

    allowance: tuple[float, float, float]
    replace_by: date | None
    likely_on: date | None


class InDoubt(StrEnum):
    """What makes two possibilities of one part."""

    READING = "reading"
    PART = "part"


@dataclass(frozen=True, slots=True)
class TwoWays:
    """Two possibilities of a part that its readings and its fleet do not agree on.

    Attributes
    ----------
    in_doubt
        One reading (right or wrong), or the part as a whole (as its readings say, or as similar parts wear).
    own, fleet
        If its readings are right; if they are not, or it wears as similar parts do.
    own_share
        How far the forecast leans to its own readings, 0 to 1, [-].
    times
        How fast it wears by its own readings against similar parts; None if they say too little, [-].
    """

    in_doubt: InDoubt
    own: Possibility
    fleet: Possibility
    own_share: float
    times: float | None


@dataclass(frozen=True, slots=True)
class TrendSnapshot:
    """The wear trend of one installation and measurand.

    Attributes
    ----------
    use_unit
        ``"km"`` or ``"h"``: the unit of every `use` here.
    limit
        Service limit, as-new value, plan share and stop-use limit with their source; canonical unit.
    limit_why
        Why this limit governs, in words.
    today, use_now, use_expected
        The day; use on the part at the last meter entry (or reading) and its median today.
    curve_use, curve_value
        Use on the part, shape (n,), and quantiles of the value at `LEVELS`, shape (n, 7).
    use_known
        Up to this use on the part the curve is smoothed through readings; beyond it is forecast.
    fleet_use, fleet_value
        The fleet's expectation for a part like this: shape (m,) and (m, 3) at 10, 50, 90 %.
    limit_use, limit_days
        Use on the part and date (ordinal day, inf where beyond reach) at the limit at `LEVELS`.
    days_by_wear, days_by_use
        Days from the early to the late date if only wear, or only use, were uncertain; inf if out of sight.
    exposure
        How fast this set-up wears the part against the fleet's usual one, [-].
    axis_use, axis_day
        Pairs of use on the part and ordinal day, both ascending, to write dates along the distance axis.
    meter_offset
        What must be added to the use on the part to get the total use of the vehicle, km (h).
    explanation
        What the predicted date rests on; None for a part that came off.
    two_ways
        Both possibilities where the part's readings and its fleet do not agree.
    """

    vehicle_id: int
    tag: str
    vehicle_text: str
    depot: str
    stage_id: int
    stage_name: str
    installation_id: int
    part_text: str
    position: Position
    measurand: Measurand
    use_unit: str
    fitted_on: date
    fitted_use: float
    removed_on: date | None
    limit: Limit
    limit_why: str
    readings: tuple[TrendReading, ...]
    events: tuple[TrendEvent, ...]
    earlier: tuple[EarlierPart, ...]
    choices: tuple[TrendChoice, ...]
    today: date
    use_now: float
    use_expected: float
    curve_use: FloatArray
    curve_value: FloatArray
    use_known: float
    fleet_use: FloatArray
    fleet_value: FloatArray
    limit_use: FloatArray
    limit_days: FloatArray
    axis_use: FloatArray
    axis_day: FloatArray
    rule: WearRuleValue
    allowance_mean: float
    allowance_sd: float
    past_probability: float
    past_since_use: float | None
    replace_by: date | None
    order_by: date | None
    lead_time_days: int
    caution_level: float
    use_per_day: float
    days_by_wear: float
    days_by_use: float
    basis: Basis
    similar_parts: int
    questioned: Questioned | None = None
    shape_text: str = ""
    exposure: float = 1.0
    advice: str = ""
    data_version: int = 0
    meter_offset: float = 0.0
    explanation: Explanation | None = None
    two_ways: TwoWays | None = None

    @property
    def state(self) -> State:
        """The state of the part."""
        return self.rule.state
