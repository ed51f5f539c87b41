"""Days that count: lay-ups stop the clock, and a season makes some days longer than others."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from wearlog.forecast.readings import Bools, Floats, Ints

MONTHS = 12
#: A season is looked for from this many months of entries and this many vehicles.
LEAST_MONTHS, LEAST_SEASON_VEHICLES = 12, 10
#: Each month is pulled towards the average by this share of the average month's distance.
PULL = 0.1
DAYS_PER_MONTH = 365.2425 / 12.0


@dataclass(frozen=True, slots=True)
class OperationalDays:
    """A vehicle's clock: calendar days less lay-ups, each as long as its month's factor.

    Attributes
    ----------
    lay_ups : tuple of (int, int)
        First day off and first day back of each lay-up, past or planned, [d].
    factors : tuple of float
        Factor of January to December; empty without a season, when days may count from anywhere; with one
        they are proleptic Gregorian ordinals, [-].
    """

    lay_ups: tuple[tuple[int, int], ...] = ()
    factors: tuple[float, ...] = ()

    def between(self, first_day: ArrayLike, last_day: ArrayLike) -> Floats:
        """Return the operational days between days.

        Parameters
        ----------
        first_day, last_day : array_like of int, shape (n,)
            Days; the first counts, the last does not, [d].

        Examples
        --------
        >>> OperationalDays(lay_ups=((10, 20),)).between([0, 15], [30, 40]).tolist()
        [20.0, 20.0]
        """
        first, last = np.atleast_1d(np.asarray(first_day)), np.atleast_1d(np.asarray(last_day))
        if not first.size:
            return np.zeros(0)
        begin = int(first.min())
        gone = self._gone(begin, max(int(last.max()) - begin, 0))
        return np.asarray(gone[last - begin] - gone[first - begin], dtype=np.float64)

    def ahead(self, from_day: int, days: Floats) -> Floats:
        """Return the operational days that have gone after calendar days, counted from a day.

        Parameters
        ----------
        from_day : int
            Day from which is counted, [d].
        days : ndarray of float, shape (n,)
            Calendar days ahead, not negative, [d].
        """
        length = int(np.ceil(days.max(initial=0.0))) + 1
        return np.interp(days, np.arange(length + 1), self._gone(from_day, length))

    def is_out(self, begin: int, length: int) -> Bools:
        """Return on which of some days in a row the vehicle is not laid up, shape (length,).

        Parameters
        ----------
        begin, length : int
            First day and number of days, [d].
        """
        is_out = np.ones(length, dtype=np.bool_)
        for off, back in self.lay_ups:
            is_out[max(off - begin, 0) : max(back - begin, 0)] = False
        return is_out

    def _gone(self, begin: int, length: int) -> Floats:
        """Return operational days gone by the start of each day, shape (length + 1,)."""
        each = self.is_out(begin, length).astype(np.float64)
        if self.factors:
            each *= np.array(self.factors)[month_of(np.arange(begin, begin + length))]
        return np.concatenate([[0.0], np.cumsum(each)])


#: The clock of a vehicle without lay-ups and season.
ALWAYS_OUT = OperationalDays()


def month_of(day: Ints) -> Ints:
    """Return the month of days, 0 for January.

    Parameters
    ----------
    day : ndarray of int
        Proleptic Gregorian ordinals, day 1 is 1 January of year 1, [d].

    Examples
    --------
    >>> import datetime as dt
    >>> month_of(np.array([dt.date(2024, 2, 29).toordinal(), dt.date(2024, 3, 1).toordinal()])).tolist()
    [1, 2]
    """
    date = np.datetime64("0001-01-01") + (day - 1).astype("timedelta64[D]")
    return np.asarray(date.astype("datetime64[M]").astype(np.int64) % MONTHS, dtype=np.int64)


def season_factors(
    vehicle: ArrayLike,
    first_day: ArrayLike,
    last_day: ArrayLike,
    distance: ArrayLike,
    clocks: dict[int, OperationalDays] | None = None,
) -> tuple[float, ...]:
    """Return how much more or less than on average the fleet goes in each month.

    Parameters
    ----------
    vehicle : array_like of int, shape (n_intervals,)
        The caller's number of the vehicle, [-].
    first_day, last_day : array_like of int, shape (n_intervals,)
        Days of the two entries, proleptic Gregorian ordinals, [d].
    distance : array_like of float, shape (n_intervals,)
        Distance between them, [km or h].
    clocks : dict of int to OperationalDays, optional
        Lay-ups of each vehicle, by the caller's number; days laid up take no share, [-].

    Returns
    -------
    tuple of float
        Factors of January to December with mean 1; empty with fewer than 12 months or 10 vehicles, [-].
    """
    of = np.asarray(vehicle, dtype=np.int64)
    first, last = np.asarray(first_day, dtype=np.int64), np.asarray(last_day, dtype=np.int64)
    gone = np.asarray(distance, dtype=np.float64)
    vehicles = np.unique(of)
    if (
        vehicles.size < LEAST_SEASON_VEHICLES
        or (last.max() - first.min()) < LEAST_MONTHS * DAYS_PER_MONTH - 1.0
    ):
        return ()
    begin = int(first.min())
    months = month_of(np.arange(begin, int(last.max())))
    is_month = months[:, None] == np.arange(MONTHS)
    shared, usual = np.zeros(MONTHS), np.zeros(MONTHS)
    for one in vehicles:
        rows = of == one
        clock = (clocks or {}).get(int(one), ALWAYS_OUT)
        out = clock.is_out(begin, months.size)
        until = np.concatenate([np.zeros((1, MONTHS)), np.cumsum(is_month & out[:, None], axis=0)])
        days = until[last[rows] - begin] - until[first[rows] - begin]
        total = days.sum(axis=1)
        is_open = total > 0.0
        if not is_open.any():
            continue
        shared += (gone[rows][is_open] / total[is_open]) @ days[is_open]
        usual += gone[rows][is_open].sum() / total[is_open].sum() * days[is_open].sum(axis=0)
    pull = PULL * shared.sum() / MONTHS
    if pull <= 0.0:
        return ()
    factor = (shared + pull) / (usual + pull)
    return tuple(float(value) for value in factor / factor.mean())
