"""Forecasts of the past made again, as each part stood at each of its readings."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from wearlog.fleet.progress import Progress
from wearlog.forecast.backtest import honest_backtest, quick_backtest
from wearlog.forecast.checks import Checks, Coverage, joined_checks, wilson_interval
from wearlog.workshop.learn import Family
from wearlog.workshop.record_snapshot import WIDTHS, Reliability

#: Widths of the intervals on the chart.
CURVE_WIDTHS = tuple(round(0.05 * n, 2) for n in range(1, 20))


@dataclass(frozen=True, slots=True)
class FamilyChecks:
    """Checks of one family: next readings, and distances at the limit; parts are its rows."""

    readings: Checks
    distances: Checks

    def of(self, is_wanted: NDArray[np.bool_]) -> "FamilyChecks":
        """Return the checks of some of the parts."""
        return FamilyChecks(
            self.readings.take(is_wanted[self.readings.part]),
            self.distances.take(is_wanted[self.distances.part]),
        )

    def by_part(self, family: Family) -> "FamilyChecks":
        """Return the checks with the numbers of the parts, which spells of one belt share."""
        ids = np.array([item.installation.part_id for item in family.items], dtype=np.int64)
        return FamilyChecks(
            replace(self.readings, part=ids[self.readings.part]),
            replace(self.distances, part=ids[self.distances.part]),
        )


def family_checks(family: Family, is_honest: bool, progress: Progress) -> FamilyChecks:
    """Return what forecasts of a family were worth.

    Parameters
    ----------
    family
        A fitted family.
    is_honest
        Whether each forecast may know only what was known in its day.
    progress
        Told how far the work is; may stop it.
    """
    fit, data = family.fit, family.data
    if is_honest:
        made = honest_backtest(data, _days(family), fit.prior, fit.law.shape, progress=progress)
    else:
        made = quick_backtest(fit, data, progress=progress)
    # "Came off worn" stands among the readings for the fit; nobody read anything there.
    is_read = _ids(family)[made.readings.part, made.readings.n_before] > 0
    return FamilyChecks(made.readings.take(is_read), made.crossings)


def joined(checks: list[FamilyChecks]) -> FamilyChecks:
    """Return the checks of several families, counted by part, as one."""
    return FamilyChecks(
        joined_checks([one.readings for one in checks]), joined_checks([one.distances for one in checks])
    )


def reliability_of_readings(checks: Checks) -> Reliability:
    """Return how forecasts of next readings fared; each stands for itself."""
    return Reliability(
        told=tuple(checks.coverage(width) for width in WIDTHS),
        curve=tuple(checks.coverage(width) for width in CURVE_WIDTHS),
        median_error=checks.median_error(),
        line_error=checks.median_error(by_line=True),
        n_checks=len(checks),
        n_parts=int(np.unique(checks.part).size),
    )


def reliability_of_distances(checks: Checks) -> Reliability:
    """Return how forecasts of the distance at the limit fared.

    All forecasts of a part are right or wrong about the same distance, so that their number says little: the
    interval of the share is that of as many independent checks as there are parts.
    """
    n_parts = int(np.unique(checks.part).size)

    def held(width: float) -> Coverage:
        plain = checks.coverage(width)
        if not n_parts:
            return plain
        low, high = wilson_interval(round(plain.share * n_parts), n_parts)
        return replace(plain, low=min(low, plain.share), high=max(high, plain.share))

    return Reliability(
        told=tuple(held(width) for width in WIDTHS),
        curve=tuple(held(width) for width in CURVE_WIDTHS),
        median_error=checks.median_error(is_relative=True),
        line_error=checks.median_error(by_line=True, is_relative=True),
        n_checks=len(checks),
        n_parts=n_parts,
    )


def _ids(family: Family) -> NDArray[np.int64]:
    """Return the number of the record behind each reading, 0 for none, in the shape of the table."""
    row = family.readings.row
    ids = np.concatenate([family.read.ids, [0]])
    return np.asarray(ids[np.where(family.readings.is_reading, row, -1)], dtype=np.int64)


def _days(family: Family) -> NDArray[np.int64]:
    """Return the day of each reading; a part that came off worn says so on the day it came off."""
    row = np.where(family.readings.is_reading, family.readings.row, -1)
    days = np.concatenate([family.read.days, [0]])[row]
    removed = np.array(
        [
            0 if item.installation.removed_on is None else item.installation.removed_on.toordinal()
            for item in family.items
        ],
        dtype=np.int64,
    )
    return np.where(family.readings.is_reading & (_ids(family) == 0), removed[:, None], days)
