"""The shop's own record: every part predicted again as it stood at each of its readings.

Two ways: quick, with what the whole fleet has taught to this day, each part's own readings apart; and honest,
where the fleet too is known only up to a day before the reading that is predicted.
"""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace
from gettext import gettext as _

import numpy as np
from numpy.typing import ArrayLike

from wearlog.fleet.progress import Progress, Silent
from wearlog.forecast.checks import Checks, joined_checks
from wearlog.forecast.crossing import crossing_cdf, crossing_quantiles
from wearlog.forecast.family import FamilyFit, fit_family
from wearlog.forecast.family_data import FamilyData
from wearlog.forecast.law import RatePrior, WearLaw
from wearlog.forecast.next_reading import next_reading_cdf, next_reading_quantiles
from wearlog.forecast.posterior import part_posterior
from wearlog.forecast.prior import FamilyPrior
from wearlog.forecast.readings import Bools, Floats, Ints, ReadingTable
from wearlog.forecast.shape import STRAIGHT, PathShape

#: Intervals that are checked.
WIDTHS = (0.50, 0.80, 0.95)
#: Seed of the points drawn between the ends of gauge readings.
SEED = 20251125
#: Days on which the honest way learns anew.
HONEST_STEPS = 6
#: From so many checks of 80 % intervals a share outside this range is worth a word.
TELLING_CHECKS, TRUSTED_RANGE = 100, (0.70, 0.90)


@dataclass(frozen=True, slots=True)
class Backtest:
    """What forecasts were worth.

    Attributes
    ----------
    readings : Checks
        Next readings: chance, value that came (NaN for gauges), middle of the forecast, and of the line, [-].
    crossings : Checks
        Distances at the limit, where two readings hold it between them, [1000 km or 100 h]. What came is
        itself measured, and the first reading past a limit is more often one read too high than too low, so
        that their intervals hold a little less than they promise even where forecasts are right.
    """

    readings: Checks
    crossings: Checks

    @property
    def is_off(self) -> bool:
        """Whether enough 80 % intervals of next readings were checked to say that they can not be trusted."""
        held = self.readings.coverage(0.80)
        low, high = TRUSTED_RANGE
        return held.n >= TELLING_CHECKS and not low <= held.share <= high


def quick_backtest(
    fit: FamilyFit, data: FamilyData, seed: int = SEED, progress: Progress | None = None
) -> Backtest:
    """Return what forecasts would have been worth with what the fleet has taught to this day.

    Each part's prior leaves its own readings out, but theta, spreads and path have seen them.

    Parameters
    ----------
    fit : FamilyFit
        What the shop has learnt.
    data : FamilyData
        The very readings it was fitted to.
    seed : int
        Seed of the points drawn between the ends of gauge readings, [-].
    progress : Progress, optional
        Told how far the work is; may stop it.

    Raises
    ------
    Cancelled
        If the person asked to stop.
    """
    told, width = progress or Silent(), data.readings.x.shape[1]
    record = _Record.of(data, seed, _line_without_readings(data, data.readings.is_reading))
    prior = fit.rate_prior()
    pieces = []
    for n_before in range(width):
        told.step(n_before, width, _("Predicting past readings again"))
        parts = np.flatnonzero(data.readings.count > n_before)
        pieces.append(record.checks(parts, n_before, prior.take(parts), fit.law))
    return _backtest(pieces)


def honest_backtest(
    data: FamilyData,
    day: ArrayLike,
    prior: FamilyPrior,
    shape: PathShape = STRAIGHT,
    steps: int = HONEST_STEPS,
    seed: int = SEED,
    progress: Progress | None = None,
) -> Backtest:
    """Return what forecasts would have been worth in their day, the future left out.

    The family is fitted anew on a few days, so that each reading is predicted with what the fleet had taught
    by the last of these days before it; the first are predicted by the engineering prior alone.

    Parameters
    ----------
    data : FamilyData
        Readings of n parts.
    day : array_like of int, shape (n_parts, n_readings)
        Day of each reading; the padding does not matter, [d].
    prior : FamilyPrior
        What is believed before.
    shape : PathShape
        Path that wear takes.
    steps : int
        How often the family is fitted anew, [-].
    seed : int
        Seed of the points drawn between the ends of gauge readings, [-].
    progress : Progress, optional
        Told how far the work is; may stop it.

    Raises
    ------
    ValueError
        If there is not a day for each reading.
    Cancelled
        If the person asked to stop.
    """
    told = progress or Silent()
    days = np.asarray(day)
    if days.shape != data.readings.x.shape:
        raise ValueError(f"column day: shape {days.shape} for readings of {data.readings.x.shape}")
    is_reading = data.readings.is_reading
    pieces = []
    for number, (begin, end) in enumerate(_spells(days[is_reading], steps)):
        told.step(number, steps + 1, _("Predicting past readings with what was known then"))
        is_known = is_reading & (days <= begin)
        known = replace(data, readings=_only(data.readings, is_known))
        fit = fit_family(known, prior, shape=shape)
        record = _Record.of(data, seed, _line_without_readings(data, is_known))
        is_next = is_reading & (days > begin) & (days <= end)
        for n_before in np.flatnonzero(is_next.any(axis=0)):
            parts = np.flatnonzero(is_next[:, n_before])
            pieces.append(record.checks(parts, int(n_before), fit.rate_prior(parts), fit.law))
    return _backtest(pieces)


def bracketed_crossing(readings: ReadingTable, limit: Floats) -> tuple[Floats, Ints]:
    """Return where each part passed its limit, between two point readings, and which reading was the second.

    Parameters
    ----------
    readings : ReadingTable
        Readings of n parts, as they were taken.
    limit : ndarray of float, shape (n_parts,)
        The part's own limit over the family's reference limit, [-].

    Returns
    -------
    x : ndarray of float, shape (n_parts,)
        Distance on the straight line between the two; NaN where no two readings hold the limit between them,
        [1000 km or 100 h].
    second : ndarray of int, shape (n_parts,)
        Number of the first reading at or past the limit, counted from 0; -1 without one, [-].

    Examples
    --------
    >>> from wearlog.forecast.readings import one_part
    >>> x, second = bracketed_crossing(one_part([2.0, 5.0, 7.0], 0.05, y=[0.4, 0.8, 1.2]), np.ones(1))
    >>> x.tolist(), second.tolist()
    ([6.0], [2])
    """
    is_past = readings.y >= limit[:, None]
    second = np.argmax(is_past, axis=1)
    row = np.arange(len(readings))
    is_found = is_past.any(axis=1) & (second > 0)
    first = np.maximum(second - 1, 0)
    y0, y1 = readings.y[row, first], readings.y[row, second]
    x0, x1 = readings.x[row, first], readings.x[row, second]
    is_found &= ~np.isnan(y0)
    rise = np.where(is_found, y1 - y0, 1.0)
    x = np.where(is_found, x0 + (limit - y0) / rise * (x1 - x0), np.nan)
    return x, np.where(is_found, second, -1)


def straight_lines(readings: ReadingTable, without: float) -> tuple[Floats, Floats]:
    """Return the weighted straight line through the point readings of each part: start and rate, (n_parts,).

    With one reading it goes through zero; with none it has the rate of the others.

    Parameters
    ----------
    readings : ReadingTable
        Readings of n parts, as they were taken.
    without : float
        Rate of a part without point readings; NaN for no line, [allowance per 1000 km or 100 h].
    """
    is_point = ~np.isnan(readings.y)
    weight = np.where(is_point, 1.0 / readings.r**2, 0.0)
    y = np.where(is_point, readings.y, 0.0)
    total = np.maximum(weight.sum(axis=1), 1e-300)
    x_mean, y_mean = (weight * readings.x).sum(axis=1) / total, (weight * y).sum(axis=1) / total
    off = readings.x - x_mean[:, None]
    spread = (weight * off**2).sum(axis=1)
    has_line = (is_point.sum(axis=1) >= 2) & (spread > 1e-9 * total)
    rate = (weight * off * (y - y_mean[:, None])).sum(axis=1) / np.where(has_line, spread, 1.0)
    start = y_mean - rate * x_mean
    has_one = is_point.any(axis=1) & ~has_line & (x_mean > 0.0)
    rate = np.where(has_line, rate, np.where(has_one, y_mean / np.where(has_one, x_mean, 1.0), without))
    return np.where(has_line, start, 0.0), rate


@dataclass(frozen=True, slots=True)
class _Record:
    """What came true, to hold forecasts against."""

    data: FamilyData
    draw: Floats
    crossing: Floats
    second: Ints
    usual_rate: float

    @classmethod
    def of(cls, data: FamilyData, seed: int, usual_rate: float) -> "_Record":
        draw = np.random.default_rng(seed).random(data.readings.x.shape)
        return cls(data, draw, *bracketed_crossing(data.readings, data.limits()), usual_rate)

    def checks(self, parts: Ints, n_before: int, prior: RatePrior, law: WearLaw) -> tuple[Checks, Checks]:
        """Return the checks of parts predicted from their first readings: next reading, and crossing."""
        table, limit = self.data.readings.take(parts), self.data.limits()[parts]
        before = table.until(n_before)
        after = part_posterior(before, prior, law, limit)
        start, rate = straight_lines(before, self.usual_rate)
        x, r, y = table.x[:, n_before], table.r[:, n_before], table.y[:, n_before]
        is_gauge = np.isnan(y)
        low = next_reading_cdf(after, x, np.where(is_gauge, table.lo[:, n_before], y), r)
        high = next_reading_cdf(after, x, np.where(is_gauge, table.hi[:, n_before], y), r)
        counted = np.full(parts.size, n_before)
        readings = Checks(
            parts,
            counted,
            low + self.draw[parts, n_before] * (high - low),
            y,
            next_reading_quantiles(after, x, [0.5], r)[:, 0],
            start + rate * x,
        )
        ahead = np.flatnonzero((self.second[parts] >= n_before) & (self.crossing[parts] >= after.x_last))
        truth = self.crossing[parts[ahead]]
        soon = after.take(ahead)
        is_rising = rate[ahead] > 0.0
        line = np.where(
            is_rising, (limit[ahead] - start[ahead]) / np.where(is_rising, rate[ahead], 1.0), np.inf
        )
        crossings = Checks(
            parts[ahead],
            counted[ahead],
            crossing_cdf(soon, truth[:, None])[:, 0],
            truth,
            crossing_quantiles(soon, [0.5])[:, 0],
            np.where(np.isnan(rate[ahead]), np.nan, np.maximum(line, soon.x_last)),
        )
        return readings, crossings


def _backtest(pieces: list[tuple[Checks, Checks]]) -> Backtest:
    return Backtest(joined_checks([one for one, _ in pieces]), joined_checks([two for _, two in pieces]))


def _line_without_readings(data: FamilyData, is_known: Bools) -> float:
    """Return the median rate of the parts' own lines, for parts that have none yet."""
    _start, rate = straight_lines(_only(data.readings, is_known), np.nan)
    rising = rate[rate > 0.0]
    return float(np.median(rising)) if rising.size else float("nan")


def _only(readings: ReadingTable, is_kept: Bools) -> ReadingTable:
    part, column = np.nonzero(is_kept)
    at = part, column
    return ReadingTable.from_columns(
        len(readings),
        part,
        readings.x[at],
        readings.r[at],
        y=readings.y[at],
        lo=readings.lo[at],
        hi=readings.hi[at],
        x_start=readings.x_start,
        has_unknown_history=readings.has_unknown_history,
    )


def _spells(day: Ints, steps: int) -> Iterator[tuple[float, float]]:
    """Return spells of days with about as many readings in each; the first begins before all of them."""
    if not day.size:
        return
    cuts = np.unique(np.quantile(day, np.arange(1, steps + 1) / (steps + 1), method="lower"))
    edges = [-np.inf, *cuts.tolist(), float(day.max())]
    yield from ((low, high) for low, high in itertools.pairwise(edges) if high > low)
