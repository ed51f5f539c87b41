"""A wear trend in the units of one seat, ready to draw."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearlog.drawing.number_words import use_quantity
from wearlog.fleet.quantity import ShownUnits
from wearlog.units import factor
from wearlog.workshop.trend_snapshot import FloatArray, ReadingMark, TrendSnapshot

#: Whiskers of readings reach this many standard uncertainties to either side; JCGM 100:2008, 6.2.1.
COVERAGE_FACTOR = 2.0


@dataclass(frozen=True, slots=True)
class TrendSeries:
    """Numbers of a trend in shown units.

    Attributes
    ----------
    use_size, value_size
        Canonical units in one shown unit.
    curve_use, curve_value, fleet_use, fleet_value, limit_use, axis_use, axis_day
        As in `TrendSnapshot`, in shown units.
    reading_use, reading_value, reading_low, reading_high
        One entry a reading, ends of the whisker or of the interval; open ends are infinite.
    is_gauge, is_voided, is_questioned
        How each reading is drawn.
    as_new, limit, plan, stop
        Levels on the value axis; `stop` is NaN where there is none.
    now, known
        Use expected today; use up to which the curve is smoothed through readings.
    """

    snapshot: TrendSnapshot
    shown: ShownUnits
    use_size: float
    value_size: float
    curve_use: FloatArray
    curve_value: FloatArray
    fleet_use: FloatArray
    fleet_value: FloatArray
    limit_use: FloatArray
    axis_use: FloatArray
    axis_day: FloatArray
    reading_use: FloatArray
    reading_value: FloatArray
    reading_low: FloatArray
    reading_high: FloatArray
    is_gauge: NDArray[np.bool_]
    is_voided: NDArray[np.bool_]
    is_questioned: NDArray[np.bool_]
    as_new: float
    limit: float
    plan: float
    stop: float
    now: float
    known: float

    @property
    def crossing(self) -> tuple[float, float, float]:
        """Where the limit is reached: early, most likely and late use, the ends of the 80 % interval.

        Of a part that is past its limit already only the most likely use is known.
        """
        early, likely, late = (float(self.limit_use[n]) for n in (1, 3, 5))
        past = self.snapshot.past_since_use
        if past is not None and late - early < 1e-6 * max(late, 1.0):
            return (past / self.use_size,) * 3
        return early, likely, late

    @property
    def value_middle(self) -> FloatArray:
        """Where each reading lies: its value, or the middle of its interval as far as that is closed."""
        low = np.where(np.isfinite(self.reading_low), self.reading_low, self.reading_high)
        high = np.where(np.isfinite(self.reading_high), self.reading_high, self.reading_low)
        return np.asarray(np.where(self.is_gauge, 0.5 * (low + high), self.reading_value))

    @property
    def is_falling(self) -> bool:
        """Whether wear makes the value smaller."""
        return self.limit < self.as_new

    def home_range(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Return the ranges of use and value that show the whole story."""
        uses = [self.now, *self.reading_use.tolist(), 1e-6]
        late = self.crossing[2]
        end = float(self.curve_use[-1]) if len(self.curve_use) else max(uses) * 1.5
        if np.isfinite(late):
            # The late end of the crossing with some air behind it, even where the curve runs much further.
            end = min(end, max(late * 1.15, max(uses) * 1.25))
        end = max(end, max(uses) * 1.08)
        beyond = self.as_new + 1.22 * (self.limit - self.as_new)
        solid = ~self.is_voided
        values = [
            *self.reading_value[solid & ~self.is_gauge].tolist(),
            *self.reading_high[solid & np.isfinite(self.reading_high)].tolist(),
            self.as_new,
            beyond,
        ]
        low, high = min(values), max(values)
        if self.is_falling:
            high += 0.04 * (high - low)
        elif low < self.as_new:
            low -= 0.04 * (high - low)
        return (0.0, end), (low, high)

    def day_of(self, use: float) -> float:
        """Return the ordinal day at a use on the part; NaN outside the axis."""
        if len(self.axis_use) < 2:
            return float("nan")
        return float(np.interp(use, self.axis_use, self.axis_day, left=np.nan, right=np.nan))

    def value_at(self, use: float) -> tuple[float, float, float]:
        """Return the 10 %, 50 % and 90 % quantiles at a use on the part; NaN outside the curve."""
        if not len(self.curve_use):
            return (float("nan"),) * 3
        low, middle, high = (
            float(np.interp(use, self.curve_use, self.curve_value[:, n], left=np.nan, right=np.nan))
            for n in (1, 3, 5)
        )
        return low, middle, high


def trend_series(snapshot: TrendSnapshot, shown: ShownUnits) -> TrendSeries:
    """Return a trend in the units of a seat."""
    use_kind = use_quantity(snapshot.use_unit)
    use_size = factor(shown.unit_of(use_kind), use_kind)
    value_kind = snapshot.measurand.quantity
    value_size = factor(shown.unit_of(value_kind), value_kind)
    readings = snapshot.readings
    value = np.array([np.nan if r.value is None else r.value for r in readings], dtype=float)
    u = np.array([r.u_value for r in readings], dtype=float)
    is_gauge = np.isnan(value)
    low = np.array([-np.inf if r.low is None else r.low for r in readings], dtype=float)
    high = np.array([np.inf if r.high is None else r.high for r in readings], dtype=float)
    limit = snapshot.limit
    stop = limit.stop_use_limit
    return TrendSeries(
        snapshot=snapshot,
        shown=shown,
        use_size=use_size,
        value_size=value_size,
        curve_use=snapshot.curve_use / use_size,
        curve_value=snapshot.curve_value / value_size,
        fleet_use=snapshot.fleet_use / use_size,
        fleet_value=snapshot.fleet_value / value_size,
        limit_use=snapshot.limit_use / use_size,
        axis_use=snapshot.axis_use / use_size,
        axis_day=snapshot.axis_day,
        reading_use=np.array([r.use_on_part for r in readings], dtype=float) / use_size,
        reading_value=value / value_size,
        reading_low=np.where(is_gauge, low, value - COVERAGE_FACTOR * u) / value_size,
        reading_high=np.where(is_gauge, high, value + COVERAGE_FACTOR * u) / value_size,
        is_gauge=is_gauge,
        is_voided=np.array([r.mark is ReadingMark.VOIDED for r in readings], dtype=bool),
        is_questioned=np.array(
            [r.mark in {ReadingMark.DOUBTFUL, ReadingMark.SUSPECT} for r in readings], dtype=bool
        ),
        as_new=limit.as_new / value_size,
        limit=limit.service_limit / value_size,
        plan=limit.value_at(limit.plan_share) / value_size,
        stop=float("nan") if stop is None else stop / value_size,
        now=snapshot.use_expected / use_size,
        known=snapshot.use_known / use_size,
    )
