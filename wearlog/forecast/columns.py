"""Readings laid out visit by visit for the filter, for many parts and many guesses of theta at once.

One array holds all rates of all parts, rates first, so that each step of the filter runs along parts that lie
side by side; a guess of theta more is a copy of the parts more, not another call.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wearlog.forecast.law import Theta, WearLaw
from wearlog.forecast.readings import Bools, Floats, Ints, ReadingTable

#: Error variance that stands for "no point reading here": the filter's step does nothing, to the last digit.
NO_READING = 1e20
#: Stands for an infinite end of a gauge, in allowances.
FAR_END = 1e9
#: What such a step takes off the log likelihood all the same.
NO_READING_LOG = 0.5 * float(np.log(NO_READING))
SQRT_2_PI = float(np.sqrt(2.0 * np.pi))


@dataclass(frozen=True, slots=True)
class ThetaRows:
    """Theta of each row, where rows stand for parts under one guess of theta or another.

    Attributes
    ----------
    offset, offset_variance, process, error_square : ndarray of float, shape (n_rows,)
        Mean and variance of the offset, process variance per unit of wear, squared factor on
        uncertainties, [-].
    """

    offset: Floats
    offset_variance: Floats
    process: Floats
    error_square: Floats

    @classmethod
    def of(cls, thetas: Sequence[Theta], each: int) -> "ThetaRows":
        """Return rows for thetas in turn, `each` rows long.

        Parameters
        ----------
        thetas : sequence of Theta
            Guesses.
        each : int
            Rows under each of them, [-].
        """
        table = np.array(
            [
                (one.offset, one.offset_sd**2, one.process, one.error_factor * one.error_factor)
                for one in thetas
            ]
        ).reshape(-1, 4)
        if len(thetas) == 1:
            return cls(*(np.full(each, value) for value in table[0]))
        return cls(*np.repeat(table, each, axis=0).T.copy())

    def take(self, rows: Ints | slice) -> "ThetaRows":
        """Return theta of some of the rows.

        Parameters
        ----------
        rows : ndarray of int or slice
            Which, [-].
        """
        return ThetaRows(
            self.offset[rows], self.offset_variance[rows], self.process[rows], self.error_square[rows]
        )


@dataclass(frozen=True, slots=True)
class GaugeVisit:
    """Gauge readings at one visit.

    Attributes
    ----------
    rows : ndarray of int, shape (n_gauges,)
        Rows that have one, [-].
    ends : ndarray of float, shape (2, n_gauges)
        Ends of the interval, infinite ones as far ones, straightened scale, [-].
    share : ndarray of float, shape (n_gauges,)
        Share of gross errors, [-].
    """

    rows: Ints
    ends: Floats
    share: Floats


@dataclass(frozen=True, slots=True)
class ReadingColumns:
    """Readings of n rows, one array row per visit, ready for the filter whatever theta.

    Attributes
    ----------
    gained_x : ndarray of float, shape (n_readings, n_rows)
        Distance since the visit before, 0 in the padding, straightened scale, [1000 km or 100 h].
    value : ndarray of float, shape (n_readings, n_rows)
        Share of the allowance of point readings, 0 elsewhere, [-].
    square : ndarray of float, shape (n_readings, n_rows)
        Squared stated uncertainty, [-].
    silent : ndarray of float, shape (n_readings, n_rows)
        0 where there is a point reading, `NO_READING` elsewhere, [-].
    left : ndarray of float, shape (n_readings, n_rows), or None
        Share of bedding-in still to come at the reading; None where no part beds in, [-].
    odds : ndarray of float, shape (n_readings, n_rows)
        Odds of a point reading to be wrong before anything is known of it, 0 elsewhere, [-].
    constant : ndarray of float, shape (n_rows,)
        What the filter's products leave out of the log likelihood, [-].
    gauges : tuple of GaugeVisit
        Gauge readings at each visit.
    has_points : tuple of bool
        Whether any row has a point reading at the visit.
    is_used : ndarray of bool, shape (n_rows,)
        Rows of unknown history.
    used_mean, used_variance : ndarray of float, shape (n_rows,)
        Wear on parts of unknown history when they were fitted, straightened scale, [-].
    """

    gained_x: Floats
    value: Floats
    square: Floats
    silent: Floats
    left: Floats | None
    odds: Floats
    constant: Floats
    gauges: tuple[GaugeVisit, ...]
    has_points: tuple[bool, ...]
    is_used: Bools
    used_mean: Floats
    used_variance: Floats

    @classmethod
    def of(cls, table: ReadingTable, law: WearLaw, share: Floats | None = None) -> "ReadingColumns":
        """Return the columns of a table.

        Parameters
        ----------
        table : ReadingTable
            Readings on the straightened scale, n_parts rows.
        law : WearLaw
            Path, bedding-in and gross errors; its theta does not matter.
        share : ndarray of float, shape (n_parts, n_readings), optional
            Share of gross errors of each reading where it differs from the law's, [-].
        """
        is_gauge = table.is_gauge.T
        is_point = table.is_reading.T & ~is_gauge
        given = np.full(is_point.shape, law.gross.share) if share is None else share.T
        wrong = np.minimum(given, 1.0 - 1e-15)
        right = 1.0 - wrong
        left: Floats | None = None
        if law.bedding_distance > 0.0:
            left = np.exp(-law.shape.true_x(table.x.T) / law.bedding_distance)
            left[:, table.has_unknown_history] = 0.0
        x = np.ascontiguousarray(table.x.T)
        gained = np.empty_like(x)
        gained[0] = x[0]
        np.subtract(x[1:], x[:-1], out=gained[1:])
        used = np.array([law.used_offset])
        used_sd = law.used_offset_sd * float(law.shape.slope(used)[0])
        return cls(
            gained_x=gained,
            value=np.where(is_point, table.y.T, 0.0),
            square=table.r.T**2,
            silent=np.where(is_point, 0.0, NO_READING),
            left=left,
            odds=np.where(is_point, wrong / right, 0.0),
            constant=np.where(is_point, np.log(right / SQRT_2_PI), NO_READING_LOG).sum(axis=0),
            gauges=tuple(
                GaugeVisit(rows, _finite_ends(table.lo[rows, j], table.hi[rows, j]), given[j, rows])
                for j, rows in enumerate(np.flatnonzero(row) for row in is_gauge)
            ),
            has_points=tuple(bool(row.any()) for row in is_point),
            is_used=table.has_unknown_history,
            used_mean=np.full(len(table), float(law.shape.straight_wear(used)[0])),
            used_variance=np.full(len(table), used_sd**2),
        )

    def __len__(self) -> int:
        """Return the number of rows."""
        return int(self.is_used.size)

    def start(self, theta: ThetaRows) -> tuple[Floats, Floats]:
        """Return mean and variance of wear at distance 0 after bedding-in, two of shape (n_rows,), [-].

        Parameters
        ----------
        theta : ThetaRows
            Theta of each row.
        """
        return (
            np.where(self.is_used, self.used_mean, theta.offset),
            np.where(self.is_used, self.used_variance, theta.offset_variance),
        )

    def take(self, rows: Ints) -> "ReadingColumns":
        """Return some of the rows, each once.

        Parameters
        ----------
        rows : ndarray of int
            Which, [-].
        """
        place = np.full(len(self), -1, dtype=np.int64)
        place[rows] = np.arange(rows.size)
        gauges = []
        for visit in self.gauges:
            kept = np.flatnonzero(place[visit.rows] >= 0)
            gauges.append(GaugeVisit(place[visit.rows[kept]], visit.ends[:, kept], visit.share[kept]))
        return ReadingColumns(
            gained_x=self.gained_x[:, rows],
            value=self.value[:, rows],
            square=self.square[:, rows],
            silent=self.silent[:, rows],
            left=None if self.left is None else self.left[:, rows],
            odds=self.odds[:, rows],
            constant=self.constant[rows],
            gauges=tuple(gauges),
            has_points=self.has_points,
            is_used=self.is_used[rows],
            used_mean=self.used_mean[rows],
            used_variance=self.used_variance[rows],
        )

    def repeated(self, times: int) -> "ReadingColumns":
        """Return the rows so many times over, one set after the other.

        Parameters
        ----------
        times : int
            How often, [-].
        """
        return self if times == 1 else joined_columns([self] * times)


def joined_columns(pieces: Sequence[ReadingColumns]) -> ReadingColumns:
    """Return the rows of several sets of columns with as many visits each, one set after the other.

    Parameters
    ----------
    pieces : sequence of ReadingColumns
        The sets.
    """
    if len(pieces) == 1:
        return pieces[0]
    begin = np.cumsum([0, *(len(piece) for piece in pieces)])
    n_readings = pieces[0].value.shape[0]
    lefts = [piece.left for piece in pieces]
    return ReadingColumns(
        gained_x=np.concatenate([piece.gained_x for piece in pieces], axis=1),
        value=np.concatenate([piece.value for piece in pieces], axis=1),
        square=np.concatenate([piece.square for piece in pieces], axis=1),
        silent=np.concatenate([piece.silent for piece in pieces], axis=1),
        left=None if lefts[0] is None else np.concatenate([one for one in lefts if one is not None], axis=1),
        odds=np.concatenate([piece.odds for piece in pieces], axis=1),
        constant=np.concatenate([piece.constant for piece in pieces]),
        gauges=tuple(
            GaugeVisit(
                np.concatenate([piece.gauges[j].rows + begin[k] for k, piece in enumerate(pieces)]),
                np.concatenate([piece.gauges[j].ends for piece in pieces], axis=1),
                np.concatenate([piece.gauges[j].share for piece in pieces]),
            )
            for j in range(n_readings)
        ),
        has_points=tuple(any(piece.has_points[j] for piece in pieces) for j in range(n_readings)),
        is_used=np.concatenate([piece.is_used for piece in pieces]),
        used_mean=np.concatenate([piece.used_mean for piece in pieces]),
        used_variance=np.concatenate([piece.used_variance for piece in pieces]),
    )


def _finite_ends(lo: Floats, hi: Floats) -> Floats:
    return np.clip(np.stack([lo, hi]), -FAR_END, FAR_END)
