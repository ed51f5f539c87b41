"""The use of one vehicle ahead of its last meter entry, and the days by which it gets somewhere."""

from collections.abc import Callable, Generator, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from wearlog.forecast.date_table import DateDistributions, date_distributions
from wearlog.forecast.season import OperationalDays
from wearlog.forecast.usage import (
    Usage,
)

#: Chances at the ends and the middle of an 80 % interval.
EARLY_LIKELY_LATE = (0.1, 0.5, 0.9)
#: Stands for a distance without end, of which no date is in sight, km (h).
ENDLESS = 1e12
#: Days that a clock's table begins and ends on; tables of many vehicles are then the same.
TABLE_DAYS = 1024

T = TypeVar("T")
#: Early, likely and late ordinal day.
Days = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class VehicleUse:
    """The use of one vehicle and where it stands.

    Attributes
    ----------
    usage, clock
        Its use, and its operational days.
    last_day, last_use
        Ordinal day and total use (km or h) at the last meter entry; without any entry the first fitting.
    """

    usage: Usage
    clock: OperationalDays
    last_day: int
    last_use: float

    def use_at(self, day: int) -> float:
        """Return the expected total use on a day at or after the last entry, km (h)."""
        if day <= self.last_day:
            return self.last_use
        begin = self.last_day - self.last_day % TABLE_DAYS
        gone = _gone(self.clock, begin, -(-(day - begin) // TABLE_DAYS) * TABLE_DAYS)
        return self.last_use + self.usage.rate * float(gone[day - begin] - gone[self.last_day - begin])

    def day_at(self, total_use: float) -> float:
        """Return the ordinal day on which a total use is expected, inf if it is out of sight."""
        return self.days_to(total_use)[1]

    def days_to(self, total_use: float) -> Days:
        """Return the early, likely and late ordinal day of a total use."""
        return days_to([DaysAsked(self, total_use)])[0]


@lru_cache(maxsize=256)
def _gone(clock: OperationalDays, begin: int, length: int) -> NDArray[np.float64]:
    """Return the operational days gone from a day to each of the days after it."""
    return clock.between(np.full(length + 1, begin), begin + np.arange(length + 1))


@dataclass(frozen=True, slots=True)
class DaysAsked:
    """The question by which day a vehicle will have gone to a total use, km (h)."""

    use: VehicleUse
    total_use: float


#: Work that asks for days on its way and is sent them; so the questions of many can be answered at once.
Asking = Generator[DaysAsked, Days, T]


def answered(asking: Iterable[Asking[T]], progress: Callable[[], None] | None = None) -> list[T]:
    """Return what comes out of some work, the days it asks for worked out for all of it at once.

    Parameters
    ----------
    asking
        Work that yields questions.
    progress
        Called now and then; may raise to stop.
    """
    results: dict[int, T] = {}
    waiting: list[tuple[int, Asking[T], DaysAsked]] = []
    count = 0
    for number, one in enumerate(asking):
        count += 1
        _go_on(number, one, None, waiting, results)
    while waiting:
        if progress is not None:
            progress()
        now, waiting = waiting, []
        for (number, one, _asked), days in zip(now, days_to([asked for *_, asked in now]), strict=True):
            _go_on(number, one, days, waiting, results)
    return [results[number] for number in range(count)]


def _go_on(
    number: int,
    one: Asking[T],
    days: Days | None,
    waiting: list[tuple[int, Asking[T], DaysAsked]],
    results: dict[int, T],
) -> None:
    try:
        asked = next(one) if days is None else one.send(days)
    except StopIteration as ended:
        results[number] = ended.value
    else:
        waiting.append((number, one, asked))


def days_to(asked: Sequence[DaysAsked]) -> list[Days]:
    """Return the early, likely and late ordinal day of each total use."""
    if not asked:
        return []
    ahead = np.minimum(np.array([one.total_use - one.use.last_use for one in asked]), ENDLESS)
    dates = dates_of([one.use for one in asked], ahead[:, None])
    days = dates.last_entry_day[:, None] + dates.days_at(EARLY_LIKELY_LATE)
    return [(early, likely, late) for early, likely, late in days.tolist()]


def dates_of(uses: Sequence[VehicleUse], distances_ahead: NDArray[np.float64]) -> DateDistributions:
    """Return by which day each of n vehicles will have gone its distances.

    Parameters
    ----------
    uses
        Use of n vehicles.
    distances_ahead
        Equally likely distances from the last meter entry, rising along each row, shape (n, n_distances).
    """
    return date_distributions(
        distances_ahead,
        [use.usage for use in uses],
        [use.clock for use in uses],
        [use.last_day for use in uses],
    )
