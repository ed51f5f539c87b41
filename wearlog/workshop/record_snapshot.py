"""What the fleet record shows: what forecasts were worth, how fast parts wear, how long they last."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from wearlog.fleet.parts import WearClass
from wearlog.fleet.reading import Measurand
from wearlog.forecast.checks import Coverage

Floats = NDArray[np.float64]

#: Intervals that are judged.
WIDTHS = (0.50, 0.80, 0.95)
#: Fewer checks than this are too few to judge intervals by.
TELLING_CHECKS = 20
#: Levels with fewer parts that have been read are shown, but nothing is concluded from them.
TELLING_PARTS = 3


class Factor(StrEnum):
    """What wear rates and lives are compared by."""

    STAGE = "stage"
    DUTY = "duty"
    PART_TYPE = "part type"
    LOT = "lot"
    CARE = "care product"
    CARE_INTERVAL = "care interval"


@dataclass(frozen=True, slots=True)
class Reliability:
    """How intervals and middles of forecasts fared.

    Attributes
    ----------
    told
        For 50, 80 and 95 %: share of the intervals that held what came, with its 95 % interval.
    curve
        The same at many widths, for the chart.
    median_error
        Median of how far off the middle was: share of the allowance for readings, share of what came for
        distances; NaN without checks.
    line_error
        The same of a straight line through the part's own readings.
    n_checks, n_parts
        Forecasts checked, and parts they were made for.
    """

    told: tuple[Coverage, ...]
    curve: tuple[Coverage, ...]
    median_error: float
    line_error: float
    n_checks: int
    n_parts: int

    def held(self, width: float) -> Coverage:
        """Return how the intervals of one width fared."""
        return next(one for one in self.told if one.width == width)

    @property
    def is_telling(self) -> bool:
        """Whether enough was checked to judge."""
        return self.n_checks >= TELLING_CHECKS


@dataclass(frozen=True, slots=True)
class Rate:
    """The wear rate of some parts.

    Attributes
    ----------
    level
        What they have in common; empty for all of a kind.
    n_parts, n_read
        Parts, and those whose readings say something of their rate.
    rate, low, high
        Median and 95 % interval of the mean rate of such parts, allowances per 1000 km (100 h).
    """

    level: str
    n_parts: int
    n_read: int
    rate: float
    low: float
    high: float

    @property
    def is_telling(self) -> bool:
        """Whether enough parts were read to conclude anything."""
        return self.n_read >= TELLING_PARTS


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the data say of a difference.

    Attributes
    ----------
    is_told
        Whether equal rates lie outside the 95 % region.
    faster, slower
        The two levels that differ most surely; where nothing is told, the two with most parts.
    ratio, low, high
        Rate of the first over that of the second: median and 95 % interval.
    """

    is_told: bool
    faster: str
    slower: str
    ratio: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Comparison:
    """Rates by one factor, like compared with like, fast ones first.

    `verdict` is None where fewer than two levels have parts enough.
    """

    factor: Factor
    rates: tuple[Rate, ...]
    verdict: Verdict | None


@dataclass(frozen=True, slots=True)
class Survival:
    """How long some parts lasted, in use on the part, km (h).

    Attributes
    ----------
    level
        What they have in common; empty for all of a kind.
    use, share, low, high, at_risk
        After each step: use, share that went farther with its 95 % interval, and parts followed just before.
    ended_early
        Use at which parts were followed for the last time, not worn.
    median, median_low, median_high
        Use that half of them reach, and its 95 % interval; infinite where out of sight.
    n_parts, n_worn, n_running
        Parts followed, those that reached their limit or came off worn, and those still running.
    n_unknown
        Parts left out because nobody knows what was on them.
    use_last
        Greatest use that was followed.
    """

    level: str
    use: Floats
    share: Floats
    low: Floats
    high: Floats
    at_risk: NDArray[np.int64]
    ended_early: Floats
    median: float
    median_low: float
    median_high: float
    n_parts: int
    n_worn: int
    n_running: int
    n_unknown: int
    use_last: float


@dataclass(frozen=True, slots=True)
class KindRecord:
    """The record of one kind of part, in one unit of use.

    `readings` and `distances` are the back-test of the family, which units of use share. `is_straight` says
    whether wear takes a straight path; else rates are those of its straightened scale.
    """

    measurand: Measurand
    wear_class: WearClass
    use_unit: str
    n_parts: int
    n_readings: int
    readings: Reliability
    distances: Reliability
    rate: Rate | None
    comparisons: Mapping[Factor, Comparison]
    survival: Survival | None
    survival_by: Mapping[Factor, tuple[Survival, ...]]
    is_straight: bool = True

    @property
    def key(self) -> str:
        """What tells it from the others."""
        return f"{self.measurand.value}|{self.wear_class.value}|{self.use_unit}"


@dataclass(frozen=True, slots=True)
class RecordSnapshot:
    """The fleet's own record.

    Attributes
    ----------
    today
        The day on which it stands.
    is_honest
        Whether each forecast was made with what was known in its day; else with what the fleet has taught
        since.
    kinds
        By kind of part, those with most readings first.
    readings, distances
        The back-test of all kinds together.
    """

    today: date
    is_honest: bool
    kinds: tuple[KindRecord, ...]
    readings: Reliability
    distances: Reliability
    data_version: int = 0
    n_vehicles: int = 0

    def kind(self, key: str) -> KindRecord | None:
        """Return the record of one kind, or None."""
        return next((kind for kind in self.kinds if kind.key == key), None)
