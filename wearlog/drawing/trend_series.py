"""A wear trend in the units of one seat, ready to draw."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wearlog.drawing.number_words import use_quantity
from wearlog.drawing.trend_view import PLAIN_VIEW, TrendView
from wearlog.drawing.trend_words import allowance_title, axis_text, use_axis_text
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.state import State
from wearlog.units import factor
from wearlog.workshop.trend_overlay_snapshot import OverlayLine
from wearlog.workshop.trend_snapshot import FloatArray, ReadingMark, TrendSnapshot

#: Whiskers of readings reach this many standard uncertainties to either side; JCGM 100:2008, 6.2.1.
COVERAGE_FACTOR = 2.0


#: The axis of the allowance used counts per cent.
_PERCENT = 0.01


@dataclass(frozen=True, slots=True)
class OtherSeries:
    """The median of the same stage on another vehicle, as the axes count; forecast beyond `known`."""

    name: str
    state: State
    use: FloatArray
    value: FloatArray
    known: float


@dataclass(frozen=True, slots=True)
class TrendSeries:
    """Numbers of a trend in shown units.

    Attributes
    ----------
    view, value_title, use_title
        What the axes count, and in words.
    use_size, use_from, value_size, value_from
        shown = (canonical - from) / size; a negative size turns a falling value round.
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
    others
        The same stage of other vehicles.
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
    view: TrendView = PLAIN_VIEW
    value_title: str = ""
    use_title: str = ""
    use_from: float = 0.0
    value_from: float = 0.0
    others: tuple[OtherSeries, ...] = ()

    def shown_use(self, use: ArrayLike) -> FloatArray:
        """Return a use on the part (km or h) as the axis counts it."""
        return np.asarray((np.asarray(use, dtype=float) - self.use_from) / self.use_size)

    def shown_value(self, value: ArrayLike) -> FloatArray:
        """Return a value in its canonical unit as the axis counts it."""
        return np.asarray((np.asarray(value, dtype=float) - self.value_from) / self.value_size)

    def use_on_part(self, shown: float) -> float:
        """Return the use on the part, km (h), at a place of the axis."""
        return shown * self.use_size + self.use_from

    def value_of(self, shown: float) -> float:
        """Return the value in its canonical unit at a place of the axis."""
        return shown * self.value_size + self.value_from

    @property
    def crossing(self) -> tuple[float, float, float]:
        """Where the limit is reached: early, most likely and late use, the ends of the 80 % interval.

        Of a part that is past its limit already only the most likely use is known.
        """
        early, likely, late = (float(self.limit_use[n]) for n in (1, 3, 5))
        past = self.snapshot.past_since_use
        if past is not None and late - early < 1e-6 * max(late, 1.0):
            return (float(self.shown_use(past)),) * 3
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
        fitted = float(self.shown_use(0.0))
        last = max(self.now, float(np.max(self.reading_use, initial=-np.inf)), fitted + 1e-6) - fitted
        late = self.crossing[2] - fitted
        end = float(self.curve_use[-1]) - fitted if len(self.curve_use) else last * 1.5
        if np.isfinite(late):
            # The late end of the crossing with some air behind it, even where the curve runs much further.
            end = min(end, max(late * 1.15, last * 1.25))
        end = max(end, last * 1.08)
        start = fitted
        if self.view.is_vehicle and self.snapshot.earlier:
            # On the vehicle's own axis the part before stands before this one.
            before = self.snapshot.earlier[0]
            first = float(
                self.shown_use(before.use_on_part[0] + before.meter_offset - self.snapshot.meter_offset)
            )
            start = max(first, fitted - end)
        for other in self.others:
            # As far as the others have come, within reason: the own line stays the subject.
            known = min(other.known - fitted, 3.0 * end)
            end = max(end, known * 1.08)
            if self.view.is_vehicle and len(other.use):
                start = min(start, max(float(other.use[0]), start - 2.0 * end))
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
        return (start, fitted + end), (low, high)

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


def trend_series(
    snapshot: TrendSnapshot,
    shown: ShownUnits,
    view: TrendView | None = None,
    others: tuple[OverlayLine, ...] = (),
) -> TrendSeries:
    """Return a trend in the units of a seat.

    Parameters
    ----------
    snapshot : TrendSnapshot
        The trend of one part.
    shown : ShownUnits
        The units of this seat.
    view : TrendView, optional
        What the axes count; value and use on the part if not given.
    others : tuple of OverlayLine
        The same stage of other vehicles.
    """
    chosen = view or PLAIN_VIEW
    limit = snapshot.limit
    use_kind = use_quantity(snapshot.use_unit)
    use_size = factor(shown.unit_of(use_kind), use_kind)
    use_from = -snapshot.meter_offset if chosen.is_vehicle else 0.0
    value_kind = snapshot.measurand.quantity
    value_size, value_from = factor(shown.unit_of(value_kind), value_kind), 0.0
    if chosen.is_allowance:
        value_size, value_from = _PERCENT * (limit.service_limit - limit.as_new), limit.as_new

    def use_of(use: ArrayLike) -> FloatArray:
        return np.asarray((np.asarray(use, dtype=float) - use_from) / use_size)

    def value_of(value: ArrayLike) -> FloatArray:
        return np.asarray((np.asarray(value, dtype=float) - value_from) / value_size)

    readings = snapshot.readings
    value = np.array([np.nan if r.value is None else r.value for r in readings], dtype=float)
    u = np.array([r.u_value for r in readings], dtype=float)
    is_gauge = np.isnan(value)
    low = np.array([-np.inf if r.low is None else r.low for r in readings], dtype=float)
    high = np.array([np.inf if r.high is None else r.high for r in readings], dtype=float)
    ends = [
        value_of(np.where(is_gauge, low, value - COVERAGE_FACTOR * u)),
        value_of(np.where(is_gauge, high, value + COVERAGE_FACTOR * u)),
    ]
    stop = limit.stop_use_limit
    return TrendSeries(
        snapshot=snapshot,
        shown=shown,
        use_size=use_size,
        value_size=value_size,
        curve_use=use_of(snapshot.curve_use),
        curve_value=value_of(snapshot.curve_value),
        fleet_use=use_of(snapshot.fleet_use),
        fleet_value=value_of(snapshot.fleet_value),
        limit_use=use_of(snapshot.limit_use),
        axis_use=use_of(snapshot.axis_use),
        axis_day=snapshot.axis_day,
        reading_use=use_of([r.use_on_part for r in readings]),
        reading_value=value_of(value),
        reading_low=np.minimum(*ends),
        reading_high=np.maximum(*ends),
        is_gauge=is_gauge,
        is_voided=np.array([r.mark is ReadingMark.VOIDED for r in readings], dtype=bool),
        is_questioned=np.array(
            [r.mark in {ReadingMark.DOUBTFUL, ReadingMark.SUSPECT} for r in readings], dtype=bool
        ),
        as_new=float(value_of(limit.as_new)),
        limit=float(value_of(limit.service_limit)),
        plan=float(value_of(limit.value_at(limit.plan_share))),
        stop=float("nan") if stop is None else float(value_of(stop)),
        now=float(use_of(snapshot.use_expected)),
        known=float(use_of(snapshot.use_known)),
        view=chosen,
        value_title=allowance_title() if chosen.is_allowance else axis_text(snapshot, shown),
        use_title=use_axis_text(snapshot, shown, is_vehicle=chosen.is_vehicle),
        use_from=use_from,
        value_from=value_from,
        others=tuple(_other(line, chosen, use_size, value_size) for line in others),
    )


def _other(line: OverlayLine, view: TrendView, use_size: float, value_size: float) -> OtherSeries:
    offset = line.meter_offset if view.is_vehicle else 0.0
    value = line.value / value_size
    if view.is_allowance:
        # Each vehicle by its own limit: that is what the share means.
        value = (line.value - line.as_new) / (_PERCENT * (line.service_limit - line.as_new))
    return OtherSeries(
        name=line.tag,
        state=line.state,
        use=np.asarray((line.use_on_part + offset) / use_size),
        value=np.asarray(value),
        known=(line.use_known + offset) / use_size,
    )
