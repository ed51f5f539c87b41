"""From the distance at which a part is due to the day on which it will have gone that far."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from wearlog.forecast.readings import Floats
from wearlog.forecast.season import ALWAYS_OUT, OperationalDays
from wearlog.forecast.usage import Usage

#: Days looked ahead, and how many of them are worked out; between them is interpolated.
FARTHEST_DAY = 6000.0
DAY_STEPS = 120
#: Distance of one unit of x on vehicles with distance meters and with hour meters, [km] and [h].
KM_PER_X, HOURS_PER_X = 1000.0, 100.0


@dataclass(frozen=True, slots=True)
class DateDistribution:
    """By which day the limit will have been passed, with which chance.

    Attributes
    ----------
    days : ndarray of float, shape (n_days,)
        Calendar days after the last meter entry, rising from 0, [d].
    chance : ndarray of float, shape (n_days,)
        Chance that the limit is passed by then, [-].
    """

    days: Floats
    chance: Floats

    def cdf(self, days: ArrayLike) -> Floats:
        """Return the chance that the limit is passed by so many days after the last meter entry, [-].

        Parameters
        ----------
        days : array_like of float
            Calendar days, [d].
        """
        return np.interp(np.asarray(days, dtype=np.float64), self.days, self.chance, left=0.0)

    def days_at(self, p: ArrayLike) -> Floats:
        """Return after how many days the chance is first reached; infinite where it is not in sight.

        Parameters
        ----------
        p : array_like of float, shape (n_p,)
            Chances, [-].

        Returns
        -------
        ndarray of float, shape (n_p,)
            Calendar days after the last meter entry, [d].
        """
        chances = np.atleast_1d(np.asarray(p, dtype=np.float64))
        after = np.searchsorted(self.chance, chances, side="left")
        days = np.full(chances.size, np.inf)
        for k, (index, chance) in enumerate(zip(after, chances, strict=True)):
            if index == 0:
                days[k] = 0.0
            elif index < self.chance.size:
                low, high = self.chance[index - 1], self.chance[index]
                part = (chance - low) / (high - low)
                days[k] = self.days[index - 1] + part * (self.days[index] - self.days[index - 1])
        return days

    def due_day(self, level: float, last_entry_day: int, today: int) -> int | None:
        """Return the first day with the chance `level`, today if it has gone by; None if out of sight.

        Parameters
        ----------
        level : float
            Caution level, [-].
        last_entry_day, today : int
            Day of the last meter entry, and today, [d].
        """
        days = float(self.days_at(level)[0])
        return None if math.isinf(days) else max(today, last_entry_day + math.ceil(days - 1e-9))


def distance_ahead(crossing: Floats, x_at_entry: float, per_x: float = KM_PER_X) -> Floats:
    """Return distances still to go at the last meter entry; not positive where they are behind.

    Parameters
    ----------
    crossing : ndarray of float, shape (n,)
        Equally likely distances at which the part reaches its limit, [1000 km or 100 h].
    x_at_entry : float
        Distance on the part at the last meter entry of the vehicle, [1000 km or 100 h].
    per_x : float
        Distance of one unit of x, [km or h].
    """
    return per_x * (crossing - x_at_entry)


def date_distribution(
    distance: ArrayLike, usage: Usage, clock: OperationalDays = ALWAYS_OUT, last_entry_day: int = 1
) -> DateDistribution:
    """Return by which day the limit will have been passed.

    Parameters
    ----------
    distance : array_like of float, shape (n,)
        Equally likely distances still to go at the last meter entry, [km or h].
    usage : Usage
        The vehicle's use.
    clock : OperationalDays
        Its planned lay-ups, and the season if in use.
    last_entry_day : int
        Day of the last meter entry, from which days count, [d].

    Returns
    -------
    DateDistribution
        Chance by day.

    Raises
    ------
    ValueError
        If there is no distance, or one is not a number.

    Examples
    --------
    >>> usage = Usage(shape=6.1405, days=0.73923, clumpiness=250.0, drift=0.001)
    >>> dates = date_distribution([300.0, 600.0, 900.0, 1200.0, 1500.0], usage)
    >>> np.round(dates.cdf([30.0, 60.0, 120.0]), 2).tolist()
    [0.09, 0.23, 0.51]
    """
    ahead = np.atleast_1d(np.asarray(distance, dtype=np.float64))
    if not ahead.size or np.isnan(ahead).any():
        raise ValueError("column distance: holds no number to go by")
    days = np.concatenate([[0.0], np.geomspace(1.0, FARTHEST_DAY, DAY_STEPS)])
    out = clock.ahead(last_entry_day, days)
    passed = np.where(ahead[:, None] <= 0.0, 1.0, 1.0 - usage.cdf(ahead[:, None], out[None, :]))
    return DateDistribution(days, np.maximum.accumulate(passed.mean(axis=0)))


@dataclass(frozen=True, slots=True)
class DateSpread:
    """How much of the spread of a date comes from wear and how much from use.

    Attributes
    ----------
    by_wear, by_usage : float
        Days from the 10 % to the 90 % date with the mean use, and with the median crossing; infinite if out
        of sight, [d].
    """

    by_wear: float
    by_usage: float


def date_spread(
    distance: ArrayLike, usage: Usage, clock: OperationalDays = ALWAYS_OUT, last_entry_day: int = 1
) -> DateSpread:
    """Return the spread of the date from wear alone and from use alone.

    Parameters
    ----------
    distance : array_like of float, shape (n,)
        Equally likely distances still to go at the last meter entry, [km or h].
    usage : Usage
        The vehicle's use.
    clock : OperationalDays
        Its planned lay-ups, and the season if in use.
    last_entry_day : int
        Day of the last meter entry, [d].
    """
    ahead = np.asarray(distance, dtype=np.float64)
    by_usage = date_distribution([float(np.median(ahead))], usage, clock, last_entry_day).days_at([0.1, 0.9])
    days = np.arange(FARTHEST_DAY + 1.0)
    gone = usage.rate * clock.ahead(last_entry_day, days)
    needed = np.quantile(ahead, [0.1, 0.9])
    reached = [float(days[np.argmax(gone >= far)]) if gone[-1] >= far else math.inf for far in needed]
    return DateSpread(
        by_wear=math.inf if math.isinf(reached[1]) else reached[1] - reached[0],
        by_usage=math.inf if math.isinf(by_usage[1]) else float(by_usage[1] - by_usage[0]),
    )
