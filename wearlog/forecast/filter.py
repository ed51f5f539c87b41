"""One part's wear followed through its readings, for many parts and many assumed rates at once.

Given the rate, wear is a straight line with a normal offset and independent normal increments, so that a
scalar Kalman filter is exact; only the guard against gross errors is approximated, by collapsing the two
cases "good" and "wrong" to their common mean and variance after each reading.

References
----------
R. E. Kalman, A new approach to linear filtering and prediction problems, J. Basic Eng. 82, 1960, 35-45.
Y. Bar-Shalom, X. R. Li, T. Kirubarajan, Estimation with Applications to Tracking and Navigation, Wiley 2001,
section 3.4 (probabilistic data association: moments of the collapsed mixture); section from memory.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from wearlog.forecast.columns import NO_READING_LOG, SQRT_2_PI, GaugeVisit, ReadingColumns, ThetaRows
from wearlog.forecast.law import GrossErrors, WearLaw
from wearlog.forecast.readings import Bools, Floats, ReadingTable

#: Beyond this an exponent is carried apart from the exponential: "wrong" is certain to all digits there, and
#: six readings in a row overflow nothing.
GREATEST_EXPONENT = 50.0
#: Readings whose factors are multiplied before a logarithm is taken.
READINGS_PER_LOG = 6
#: Where the interval begins farther above the expected wear, the upper tail is used, [standard deviations].
FAR_SIDE_SD = 3.0
#: Chance of a gauge's interval below which the truncated moments are lost to rounding.
LEAST_INTERVAL_CHANCE = 1e-9


@dataclass(frozen=True, slots=True)
class Filtered:
    """Wear after the last reading for each part and assumed rate.

    Attributes
    ----------
    log_likelihood : ndarray of float, shape (n_parts, n_rates)
        Log likelihood of the part's readings, [-].
    mean, variance : ndarray of float, shape (n_parts, n_rates)
        Moments of wear at the last reading, or at the start without one, [-].
    mean_path, variance_path : ndarray of float, shape (n_readings, n_parts, n_rates) or (0, ...)
        The same after each reading, if asked for, [-].
    """

    log_likelihood: Floats
    mean: Floats
    variance: Floats
    mean_path: Floats
    variance_path: Floats


def filter_wear(
    table: ReadingTable,
    rate: Floats,
    law: WearLaw,
    share: Floats | None = None,
    has_path: bool = False,
) -> Filtered:
    """Return what the readings say about wear, for each part and assumed rate.

    Parameters
    ----------
    table : ReadingTable
        Readings on the straightened scale, n_parts rows.
    rate : ndarray of float, shape (n_parts, n_rates)
        Assumed rates, [allowance per 1000 km or 100 h].
    law : WearLaw
        The family's numbers; its shape is taken as already applied.
    share : ndarray of float, shape (n_parts, n_readings), optional
        Share of gross errors of each reading where it differs from the law's, [-].
    has_path : bool
        Whether the moments after each reading are wanted too.

    Returns
    -------
    Filtered
        Log likelihood and moments.
    """
    columns = ReadingColumns.of(table, law, share)
    path = np.empty((table.x.shape[1] if has_path else 0, 2, rate.shape[1], rate.shape[0]))
    log_likelihood, mean, variance = filter_columns(
        columns,
        ThetaRows.of([law.theta], len(table)),
        np.ascontiguousarray(rate.T),
        law.gross,
        path if has_path else None,
    )
    by_part = path.transpose(1, 0, 3, 2)
    return Filtered(log_likelihood.T, mean.T, variance.T, by_part[0], by_part[1])


def filter_columns(
    columns: ReadingColumns,
    theta: ThetaRows,
    rate: Floats,
    gross: GrossErrors,
    path: Floats | None = None,
) -> tuple[Floats, Floats, Floats]:
    """Return log likelihood, mean and variance of wear at the last reading, three of (n_rates, n_rows), [-].

    Parameters
    ----------
    columns : ReadingColumns
        Readings of n rows.
    theta : ThetaRows
        Theta of each row.
    rate : ndarray of float, shape (n_rates, n_rows)
        Assumed rates, [allowance per 1000 km or 100 h].
    gross : GrossErrors
        Share and size of wrong readings.
    path : ndarray of float, shape (n_readings, 2, n_rates, n_rows), optional
        Takes mean and variance after each reading, [-].
    """
    state = _State.at(*columns.start(theta), rate.shape)
    process = rate * theta.process
    np.abs(process, out=process)
    gained = np.empty_like(rate)
    for j in range(columns.value.shape[0]):
        gained_x = columns.gained_x[j]
        np.multiply(rate, gained_x, out=gained)
        state.mean += gained
        np.multiply(process, gained_x, out=gained)
        state.variance += gained
        error = theta.error_square * columns.square[j]
        shift: Floats | float = 0.0
        if columns.left is not None:
            left = columns.left[j]
            shift = theta.offset * left
            error += theta.offset_variance * left * left
        if columns.has_points[j]:
            _read_points(state, columns.value[j] + shift, error + columns.silent[j], columns.odds[j], gross)
        else:
            # Without that step nothing is left out for `constant` to put back.
            state.log_likelihood -= NO_READING_LOG
        gauges = columns.gauges[j]
        if gauges.rows.size:
            moved = shift if isinstance(shift, float) else shift[gauges.rows]
            _read_gauges(state, gauges, gauges.ends + moved, error[gauges.rows], gross)
        if path is not None:
            path[j, 0], path[j, 1] = state.mean, state.variance
    state.take_logs()
    state.log_likelihood += columns.constant
    return state.log_likelihood, state.mean, state.variance


@dataclass(slots=True)
class _State:
    """Moments and log likelihood, changed in place, and room to work in, shapes (n_rates, n_rows)."""

    mean: Floats
    variance: Floats
    log_likelihood: Floats
    plus: Floats
    precision: Floats
    n_factors: int
    room: tuple[Floats, ...]

    @classmethod
    def at(cls, mean: Floats, variance: Floats, shape: tuple[int, ...]) -> "_State":
        return cls(
            mean=np.array(np.broadcast_to(mean, shape)),
            variance=np.array(np.broadcast_to(variance, shape)),
            log_likelihood=np.zeros(shape),
            plus=np.ones(shape),
            precision=np.ones(shape),
            n_factors=0,
            room=tuple(np.empty(shape) for _ in range(6)),
        )

    def take_logs(self) -> None:
        """Move the factors gathered so far into the log likelihood."""
        if not self.n_factors:
            return
        self.plus *= np.sqrt(self.precision, out=self.precision)
        self.log_likelihood += np.log(self.plus, out=self.plus)
        self.plus[...] = 1.0
        self.precision[...] = 1.0
        self.n_factors = 0


def _read_points(state: _State, value: Floats, error: Floats, odds: Floats, gross: GrossErrors) -> None:
    """Take in one reading of each row; where the error variance is boundless nothing changes."""
    inverse, between, miss, square, weight, room = state.room
    mean, variance = state.mean, state.variance
    np.add(variance, error, out=inverse)
    # Gain if wrong = gain (1 - between), between = G^2 / (S + G^2).
    np.add(inverse, gross.sd**2, out=between)
    np.divide(gross.sd**2, between, out=between)
    np.divide(1.0, inverse, out=inverse)
    np.subtract(value, mean, out=miss)
    np.multiply(miss, miss, out=square)
    np.multiply(square, inverse, out=weight)
    np.multiply(weight, 0.5, out=room)
    state.log_likelihood -= room
    # The odds of "wrong" h/g; what exceeds the exponent goes to the log likelihood directly.
    weight *= between
    if weight.max(initial=0.0) > 2.0 * GREATEST_EXPONENT:
        excess = np.maximum(0.5 * weight - GREATEST_EXPONENT, 0.0)
        state.log_likelihood += np.where(odds > 0.0, excess, 0.0)
        np.minimum(weight, 2.0 * GREATEST_EXPONENT, out=weight)
    np.exp(weight, out=weight)
    np.subtract(1.0, between, out=room)
    weight *= room
    np.sqrt(weight, out=weight)
    weight *= odds
    np.add(weight, 1.0, out=room)
    state.plus *= room
    state.precision *= inverse
    weight /= room
    weight *= between
    inverse *= variance
    # The two cases lie apart: wrong (1 - wrong) (gain between miss)^2.
    square *= inverse
    square *= inverse
    between -= weight
    square *= between
    square *= weight
    np.subtract(1.0, weight, out=weight)
    inverse *= weight
    miss *= inverse
    mean += miss
    np.subtract(1.0, inverse, out=inverse)
    variance *= inverse
    variance += square
    state.n_factors += 1
    if state.n_factors == READINGS_PER_LOG:
        state.take_logs()


def _read_gauges(
    state: _State, gauges: GaugeVisit, ends: Floats, error_variance: Floats, gross: GrossErrors
) -> None:
    rows = gauges.rows
    mean, variance = state.mean.take(rows, axis=1), state.variance.take(rows, axis=1)
    precision = 1.0 / np.sqrt(variance + error_variance)
    a, b = ends[0] - mean, ends[1] - mean
    a *= precision
    b *= precision
    is_flipped: Bools | None = None
    if a.max(initial=0.0) > FAR_SIDE_SD:
        # Far below the interval the difference of two chances near 1 is rounded away: use the other tail.
        is_flipped = a > 0.0
        a, b = np.where(is_flipped, -b, a), np.where(is_flipped, -a, b)
    z = ndtr(b)
    z -= ndtr(a)
    divisor = np.maximum(z, 1e-12)
    inverse = 1.0 / (SQRT_2_PI * divisor)
    density_a, density_b = np.exp(-0.5 * a * a), np.exp(-0.5 * b * b)
    density_a *= inverse
    density_b *= inverse
    t = density_a - density_b
    density_a *= a
    density_b *= b
    # Share of the variance that the interval takes away.
    less = t * t
    less -= density_a
    less += density_b
    if z.min(initial=1.0) < LEAST_INTERVAL_CHANCE:
        is_lost = z < LEAST_INTERVAL_CHANCE
        t = np.where(is_lost, np.where(np.abs(a) < np.abs(b), a, b), t)
        less = np.where(is_lost, 0.95, less)
    if is_flipped is not None:
        np.negative(t, out=t, where=is_flipped)
    np.maximum(less, 0.0, out=less)
    np.minimum(less, 1.0 - 1e-4, out=less)

    divisor *= 1.0 - gauges.share
    bad = gauges.share * gross.gauge_chance
    divisor += bad
    wrong = bad / divisor
    right = 1.0 - wrong
    state.log_likelihood[:, rows] += np.log(divisor, out=divisor)
    # Two cases: moved by `step` with less variance, or as before.
    precision *= variance
    step = precision * t
    precision *= precision
    precision *= less
    wrong *= step
    wrong *= step
    precision -= wrong
    precision *= right
    step *= right
    mean += step
    variance -= precision
    state.mean[:, rows] = mean
    state.variance[:, rows] = variance


def starting_wear(table: ReadingTable, law: WearLaw) -> tuple[Floats, Floats]:
    """Return mean and variance of wear at distance 0 after bedding-in, two of shape (n_parts,), [-].

    Parameters
    ----------
    table : ReadingTable
        Readings of n parts; only whether their history is known matters here.
    law : WearLaw
        The family's numbers.
    """
    used = np.array([law.used_offset])
    used_sd = law.used_offset_sd * float(law.shape.slope(used)[0])
    used_mean = float(law.shape.straight_wear(used)[0])
    unknown = table.has_unknown_history
    return (
        np.where(unknown, used_mean, law.theta.offset),
        np.where(unknown, used_sd**2, law.theta.offset_sd**2),
    )
