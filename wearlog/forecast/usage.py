"""How far a vehicle goes in a day, learnt from its meter entries, and how far it will have gone by a day.

The rate of use is gamma distributed; distance comes in clumps, and the rate itself drifts slowly.

References
----------
A. Gelman et al., Bayesian Data Analysis, 3rd ed., CRC 2013, section 2.6 (gamma law conjugate to counts in
time); section from memory. The forgetting by half-lives is an assumption, tuned on simulated fleets.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import gammainc

from wearlog.forecast.readings import Bools, Floats, Ints
from wearlog.forecast.season import ALWAYS_OUT, OperationalDays

#: Clumpiness is believed as if this many intervals had been seen.
CLUMPINESS_WEIGHT = 5.0
#: A vehicle tells about clumpiness from this many intervals.
LEAST_INTERVALS = 3
#: The shop's own mean and spread of use count from this many vehicles; assumption.
LEAST_VEHICLES = 5
#: The fleet's arithmetic mean lies above the geometric one by about this factor.
MEAN_FACTOR = 1.1
GREATEST_CV, LEAST_CV = 1.0, 0.1


@dataclass(frozen=True, slots=True)
class UsagePrior:
    """What is believed of a vehicle's use before its own entries; "distance" is hours on hour meters.

    Attributes
    ----------
    rate : float
        Mean distance per operational day, [km/d or h/d].
    cv : float
        Standard deviation of the rate between vehicles over its mean, [-].
    clumpiness : float
        Variance of distance per distance: the size of an outing, [km or h].
    half_life : float
        Days after which an entry counts half, [d].
    drift : float
        Relative variance of the rate gained per day ahead, times 3, [1/d].
    """

    rate: float = 15.0
    cv: float = 1.0
    clumpiness: float = 200.0
    half_life: float = 180.0
    drift: float = 0.001


#: New shop, vehicles with distance meters; assumption.
NEW_SHOP_KM = UsagePrior()
#: New shop, vehicles with hour meters: the same at 30 km/h; assumption.
NEW_SHOP_HOURS = UsagePrior(rate=0.5, clumpiness=7.0)


@dataclass(frozen=True, slots=True)
class MeterIntervals:
    """Distances between meter entries, one row per interval.

    Attributes
    ----------
    vehicle : ndarray of int, shape (n_intervals,)
        The caller's number of the vehicle, [-].
    first_day, last_day : ndarray of int, shape (n_intervals,)
        Days of the two entries, counted from any day, the same for all (with seasons: proleptic Gregorian
        ordinals), [d].
    distance : ndarray of float, shape (n_intervals,)
        Distance between them, [km or h].
    """

    vehicle: Ints
    first_day: Ints
    last_day: Ints
    distance: Floats

    @classmethod
    def from_entries(
        cls, vehicle: ArrayLike, day: ArrayLike, total: ArrayLike, is_broken: ArrayLike | None = None
    ) -> "MeterIntervals":
        """Return the intervals between entries given one below the other, in any order.

        Parameters
        ----------
        vehicle : array_like of int, shape (n_entries,)
            The caller's number of the vehicle, [-].
        day : array_like of int, shape (n_entries,)
            Day of the entry, [d].
        total : array_like of float, shape (n_entries,)
            Total distance, continuous over meter replacements, [km or h].
        is_broken : array_like of bool, shape (n_entries,), optional
            Whether the distance since the entry before is not known, as after a replacement whose end
            nobody wrote down; such an interval counts neither distance nor days, [-].

        Returns
        -------
        MeterIntervals
            By vehicle and day; of several entries of a day the last counts.

        Raises
        ------
        ValueError
            If a total is not finite or runs backwards, naming the row.

        Examples
        --------
        >>> intervals = MeterIntervals.from_entries([7, 7, 7], [0, 30, 75], [0.0, 420.0, 1100.0])
        >>> intervals.distance.tolist()
        [420.0, 680.0]
        """
        of, days = np.asarray(vehicle, dtype=np.int64), np.asarray(day, dtype=np.int64)
        totals = np.asarray(total, dtype=np.float64)
        broken = np.zeros(of.size, np.bool_) if is_broken is None else np.asarray(is_broken, dtype=np.bool_)
        is_number = np.isfinite(totals)
        if not is_number.all():
            raise ValueError(f"row {int(np.argmin(is_number))}, column total: is not a number")
        order = np.lexsort((totals, days, of))
        of, days, totals, broken = of[order], days[order], totals[order], broken[order]
        is_same = of[1:] == of[:-1]
        is_backwards = is_same & (np.diff(totals) < 0.0) & ~broken[1:]
        if is_backwards.any():
            row = int(order[1:][int(np.argmax(is_backwards))])
            raise ValueError(f"row {row}, column total: lies below the entry before it")
        group = np.concatenate([[0], np.cumsum(~(is_same & (days[1:] == days[:-1])))])[: of.size]
        last = np.flatnonzero(np.concatenate([group[1:] != group[:-1], [True]])[: of.size])
        was_broken = np.bincount(group, broken, minlength=last.size) > 0
        of, days, totals = of[last], days[last], totals[last]
        kept = (of[1:] == of[:-1]) & ~was_broken[1:]
        return cls(of[1:][kept], days[:-1][kept], days[1:][kept], np.diff(totals)[kept])

    def __len__(self) -> int:
        """Return the number of intervals."""
        return self.vehicle.size

    def take(self, chosen: Bools | Ints) -> "MeterIntervals":
        """Return some of the intervals.

        Parameters
        ----------
        chosen : ndarray of bool or int
            Which, [-].
        """
        return MeterIntervals(
            self.vehicle[chosen], self.first_day[chosen], self.last_day[chosen], self.distance[chosen]
        )


@dataclass(frozen=True, slots=True)
class Usage:
    """A vehicle's use: a gamma law of the rate, and how distance spreads around it.

    Attributes
    ----------
    shape, days : float
        Parameters of the gamma law; the mean rate is shape / days, [-] and [d per km or h].
    clumpiness : float
        Variance of distance per distance, [km or h].
    drift : float
        Relative variance of the rate gained per day ahead, times 3, [1/d].
    """

    shape: float
    days: float
    clumpiness: float
    drift: float

    @property
    def rate(self) -> float:
        """Mean distance per operational day, [km/d or h/d]."""
        return self.shape / self.days

    def mean_variance(self, operational_days: Floats) -> tuple[Floats, Floats]:
        """Return mean and variance of the distance gone after some operational days, [km or h], squared.

        Parameters
        ----------
        operational_days : ndarray of float
            Days in use, [d].
        """
        mean = self.rate * operational_days
        relative = 1.0 / self.shape + self.drift * operational_days / 3.0
        return mean, self.clumpiness * mean + mean**2 * relative

    def cdf(self, distance: Floats, operational_days: Floats) -> Floats:
        """Return the chance of having gone no farther than a distance.

        Parameters
        ----------
        distance : ndarray of float
            Distance ahead, [km or h].
        operational_days : ndarray of float
            Days in use, broadcast against `distance`, [d].
        """
        mean, variance = self.mean_variance(np.maximum(operational_days, 1e-9))
        chance = gammainc(mean**2 / variance, np.maximum(distance, 0.0) * mean / variance)
        return np.where(operational_days > 0.0, np.where(distance > 0.0, chance, 0.0), distance >= 0.0)


def fit_usage(
    intervals: MeterIntervals,
    prior: UsagePrior = NEW_SHOP_KM,
    last_day: int | None = None,
    clock: OperationalDays = ALWAYS_OUT,
) -> Usage:
    """Return a vehicle's use from its meter entries.

    Parameters
    ----------
    intervals : MeterIntervals
        Intervals of one vehicle; none at all leaves the prior.
    prior : UsagePrior
        What is believed before.
    last_day : int, optional
        Day of the last meter entry, from which age counts; the end of the last interval if not given, [d].
    clock : OperationalDays
        The vehicle's lay-ups, and the season if in use.

    Examples
    --------
    >>> entries = MeterIntervals.from_entries(
    ...     [1] * 6, [0, 30, 75, 120, 200, 230], [0, 420, 1100, 1500, 1500, 1900]
    ... )
    >>> usage = fit_usage(entries, UsagePrior(rate=12.0, cv=0.8, clumpiness=250.0))
    >>> round(usage.shape, 4), round(usage.days, 5), round(usage.rate, 4)
    (6.1405, 0.73923, 8.3066)
    """
    shape = 1.0 / prior.cv**2
    days = shape / prior.rate
    if len(intervals):
        end = int(intervals.last_day.max()) if last_day is None else last_day
        age = end - 0.5 * (intervals.first_day + intervals.last_day)
        weight = 0.5 ** (np.maximum(age, 0.0) / prior.half_life)
        out = clock.between(intervals.first_day, intervals.last_day)
        shape += float((weight * intervals.distance).sum()) / prior.clumpiness
        days += float((weight * out).sum()) / prior.clumpiness
    return Usage(shape, days, prior.clumpiness, prior.drift)


def fit_usage_prior(
    intervals: MeterIntervals, before: UsagePrior = NEW_SHOP_KM, operational_days: Floats | None = None
) -> UsagePrior:
    """Return what the fleet says about a vehicle's use before its own entries.

    Parameters
    ----------
    intervals : MeterIntervals
        Intervals of all vehicles.
    before : UsagePrior
        What is believed of a new shop.
    operational_days : ndarray of float, shape (n_intervals,), optional
        Days in use of each interval; calendar days if not given, [d].
    """
    if not len(intervals):
        return before
    days = (intervals.last_day - intervals.first_day).astype(np.float64)
    out = days if operational_days is None else operational_days
    _, number = np.unique(intervals.vehicle, return_inverse=True)
    count = np.bincount(number)
    gone, spent = np.bincount(number, intervals.distance), np.bincount(number, out)
    is_used = (gone > 0.0) & (spent > 0.0)
    rate = np.where(is_used, gone, 1.0) / np.where(is_used, spent, 1.0)

    expected = rate[number] * out
    counts = is_used[number] & (count[number] >= LEAST_INTERVALS) & (expected > 0.0)
    excess = (intervals.distance[counts] - expected[counts]) ** 2 / expected[counts]
    told = np.maximum(np.bincount(number[counts], minlength=count.size) - 1, 0)
    clumpiness = (before.clumpiness * CLUMPINESS_WEIGHT + float(excess.sum())) / (
        CLUMPINESS_WEIGHT + float(told.sum())
    )
    mean, cv = before.rate, before.cv
    if int(is_used.sum()) >= LEAST_VEHICLES:
        log_rate = np.log(rate[is_used])
        mean = MEAN_FACTOR * float(np.exp(log_rate.mean()))
        spread = float(np.sqrt(np.expm1(min(float(log_rate.var(ddof=1)), 2.0))))
        cv = min(GREATEST_CV, max(spread, LEAST_CV))
    return UsagePrior(mean, cv, clumpiness, before.half_life, before.drift)
