"""Readings of many parts as padded arrays, checked once so that the arithmetic need not ask again."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

#: Readings are never taken as better than this share of the allowance; assumption.
LEAST_UNCERTAINTY = 0.005
#: Standard uncertainty of a go/no-go gauge on the wear scale where nothing else is known; assumption.
GAUGE_UNCERTAINTY = 0.05
#: A part that came off "worn out" without a reading counts as a gauge reading above this share; assumption.
WORN_OUT_FROM = 0.8
WORN_OUT_UNCERTAINTY = 0.1


@dataclass(frozen=True, slots=True)
class ReadingTable:
    """Readings of n parts in order of distance, padded to the same number.

    Attributes
    ----------
    x : ndarray of float, shape (n_parts, n_readings)
        Distance on the part at the reading; padding repeats the last one, [1000 km or 100 h].
    y : ndarray of float, shape (n_parts, n_readings)
        Share of the allowance used; NaN for gauge readings and padding, [-].
    lo, hi : ndarray of float, shape (n_parts, n_readings)
        Ends of a gauge reading, may be infinite; NaN for point readings and padding, [-].
    r : ndarray of float, shape (n_parts, n_readings)
        Standard uncertainty; 1 in the padding, [-].
    count : ndarray of int, shape (n_parts,)
        Readings of each part, [-].
    x_start : ndarray of float, shape (n_parts,)
        Distance already on the part when it was fitted, [1000 km or 100 h].
    has_unknown_history : ndarray of bool, shape (n_parts,)
        Whether nobody knows what was on the part when it was fitted.
    row : ndarray of int, shape (n_parts, n_readings)
        Which row of the given columns the reading came from; -1 in the padding, [-].
    """

    x: Floats
    y: Floats
    lo: Floats
    hi: Floats
    r: Floats
    count: Ints
    x_start: Floats
    has_unknown_history: Bools
    row: Ints

    @classmethod
    def from_columns(
        cls,
        n_parts: int,
        part: ArrayLike,
        x: ArrayLike,
        r: ArrayLike,
        y: ArrayLike | None = None,
        lo: ArrayLike | None = None,
        hi: ArrayLike | None = None,
        x_start: ArrayLike | None = None,
        has_unknown_history: ArrayLike | None = None,
    ) -> "ReadingTable":
        """Return the table of readings given one below the other, in any order.

        Parameters
        ----------
        n_parts : int
            Number of parts, with or without readings, [-].
        part : array_like of int, shape (n_rows,)
            Which part each reading belongs to, 0 to n_parts - 1, [-].
        x : array_like of float, shape (n_rows,)
            Distance on the part, [1000 km or 100 h].
        r : array_like of float, shape (n_rows,)
            Standard uncertainty; smaller values count as 0.005, [-].
        y : array_like of float, shape (n_rows,), optional
            Share of the allowance used; NaN where the reading is a gauge's, [-].
        lo, hi : array_like of float, shape (n_rows,), optional
            Ends of a gauge reading, ``lo < wear <= hi``; NaN where the reading is a point, [-].
        x_start : array_like of float, shape (n_parts,), optional
            Distance already on the part when it was fitted, [1000 km or 100 h].
        has_unknown_history : array_like of bool, shape (n_parts,), optional
            Whether nobody knows what was on the part; its distance starts at 0, [-].

        Returns
        -------
        ReadingTable
            Readings of each part in order of distance; equal distances keep the given order.

        Raises
        ------
        ValueError
            Naming row and column of the first value that cannot be a reading.

        Examples
        --------
        >>> table = ReadingTable.from_columns(
        ...     2, part=[0, 1, 0], x=[2.0, 1.0, 1.0], y=[0.4, 0.2, 0.3], r=[0.06, 0.06, 0.06]
        ... )
        >>> table.count.tolist(), table.x[0].tolist(), table.y[0].tolist()
        ([2, 1], [1.0, 2.0], [0.3, 0.4])
        """
        part_of = np.asarray(part, dtype=np.int64)
        n_rows = part_of.size
        columns = {
            "x": _column(x, n_rows, "x"),
            "r": _column(r, n_rows, "r"),
            "y": _column(y, n_rows, "y"),
            "lo": _column(lo, n_rows, "lo"),
            "hi": _column(hi, n_rows, "hi"),
        }
        start = np.zeros(n_parts) if x_start is None else _column(x_start, n_parts, "x_start")
        unknown = (
            np.zeros(n_parts, dtype=np.bool_)
            if has_unknown_history is None
            else np.asarray(has_unknown_history, dtype=np.bool_)
        )
        _refuse(~((part_of >= 0) & (part_of < n_parts)), "part", "is not one of the parts")
        _refuse(~np.isfinite(start) | (start < 0.0), "x_start", "is not a distance")
        _refuse(unknown & (start > 0.0), "x_start", "is not 0 although the history is unknown")
        _check_rows(columns, start[part_of])

        order = np.lexsort((columns["x"], part_of))
        count = np.bincount(part_of, minlength=n_parts).astype(np.int64)
        width = max(int(count.max(initial=0)), 1)
        column = np.arange(n_rows) - np.repeat(np.cumsum(count) - count, count)
        where = (part_of[order], column)

        def padded(values: Floats, padding: float) -> Floats:
            array = np.full((n_parts, width), padding)
            array[where] = values[order]
            return array

        x_padded = np.repeat(start[:, None], width, axis=1)
        x_padded[where] = columns["x"][order]
        row = np.full((n_parts, width), -1, dtype=np.int64)
        row[where] = order
        return cls(
            x=np.maximum.accumulate(x_padded, axis=1),
            y=padded(columns["y"], np.nan),
            lo=padded(columns["lo"], np.nan),
            hi=padded(columns["hi"], np.nan),
            r=np.maximum(padded(columns["r"], 1.0), LEAST_UNCERTAINTY),
            count=count,
            x_start=start,
            has_unknown_history=unknown,
            row=row,
        )

    def __len__(self) -> int:
        """Return the number of parts."""
        return int(self.x.shape[0])

    @property
    def is_reading(self) -> Bools:
        """Where there is a reading rather than padding, shape (n_parts, n_readings)."""
        return self.row >= 0

    @property
    def is_gauge(self) -> Bools:
        """Where the reading is a gauge's, shape (n_parts, n_readings)."""
        return self.is_reading & np.isnan(self.y)

    @property
    def x_last(self) -> Floats:
        """Distance at the last reading, or at the start, shape (n_parts,), [1000 km or 100 h]."""
        return self.x[:, -1]

    def take(self, parts: ArrayLike) -> "ReadingTable":
        """Return the table of some of the parts, in that order; a part may come more than once.

        Parameters
        ----------
        parts : array_like of int or bool
            Indices of the parts, [-].
        """
        chosen = np.asarray(parts)
        width = max(int(self.count[chosen].max(initial=0)), 1)
        return ReadingTable(
            x=self.x[chosen, :width],
            y=self.y[chosen, :width],
            lo=self.lo[chosen, :width],
            hi=self.hi[chosen, :width],
            r=self.r[chosen, :width],
            count=self.count[chosen],
            x_start=self.x_start[chosen],
            has_unknown_history=self.has_unknown_history[chosen],
            row=self.row[chosen, :width],
        )

    def until(self, n_readings: ArrayLike) -> "ReadingTable":
        """Return the table with only the first so many readings of each part, as it stood at that moment.

        Parameters
        ----------
        n_readings : array_like of int, shape (n_parts,)
            Readings to keep of each part, [-].
        """
        count = np.minimum(self.count, np.asarray(n_readings, dtype=np.int64))
        kept = np.flatnonzero(
            self.is_reading & (np.arange(self.x.shape[1]) < np.broadcast_to(count, self.count.shape)[:, None])
        )
        part = kept // self.x.shape[1]
        earlier = ReadingTable.from_columns(
            len(self),
            part,
            self.x.ravel()[kept],
            self.r.ravel()[kept],
            y=self.y.ravel()[kept],
            lo=self.lo.ravel()[kept],
            hi=self.hi.ravel()[kept],
            x_start=self.x_start,
            has_unknown_history=self.has_unknown_history,
        )
        given = np.append(self.row.ravel()[kept], -1)
        return replace(earlier, row=given[earlier.row])


def one_part(
    x: Sequence[float] | Floats,
    r: Sequence[float] | Floats | float,
    y: Sequence[float] | Floats | None = None,
    lo: Sequence[float] | Floats | None = None,
    hi: Sequence[float] | Floats | None = None,
    x_start: float = 0.0,
    has_unknown_history: bool = False,
) -> ReadingTable:
    """Return the readings of one part as a table of one row.

    Parameters
    ----------
    x : sequence of float
        Distance on the part, [1000 km or 100 h].
    r : sequence of float or float
        Standard uncertainty, one for all or one each, [-].
    y : sequence of float, optional
        Share of the allowance used; NaN for gauge readings, [-].
    lo, hi : sequence of float, optional
        Ends of gauge readings; NaN for point readings, [-].
    x_start : float
        Distance already on the part when it was fitted, [1000 km or 100 h].
    has_unknown_history : bool
        Whether nobody knows what was on the part, [-].

    Examples
    --------
    >>> one_part([1.0, 2.5], 0.06, y=[0.22, 0.45]).count.tolist()
    [2]
    """
    x_column = np.asarray(x, dtype=np.float64)
    return ReadingTable.from_columns(
        1,
        np.zeros(x_column.size, dtype=np.int64),
        x_column,
        np.broadcast_to(np.asarray(r, dtype=np.float64), x_column.shape),
        y=y,
        lo=lo,
        hi=hi,
        x_start=[x_start],
        has_unknown_history=[has_unknown_history],
    )


def worn_out_reading() -> tuple[float, float, float]:
    """Return lo, hi and r that stand for "came off worn out" where nobody read the part, [-]."""
    return WORN_OUT_FROM, np.inf, WORN_OUT_UNCERTAINTY


def _column(values: ArrayLike | None, n_rows: int, name: str) -> Floats:
    if values is None:
        return np.full(n_rows, np.nan)
    column = np.asarray(values, dtype=np.float64)
    if column.shape != (n_rows,):
        raise ValueError(f"column {name}: {column.shape} values for {n_rows} rows")
    return column


def _refuse(is_wrong: Bools, column: str, why: str) -> None:
    if is_wrong.any():
        raise ValueError(f"row {int(np.argmax(is_wrong))}, column {column}: {why}")


def _check_rows(columns: dict[str, Floats], x_start: Floats) -> None:
    x, r, y, lo, hi = columns["x"], columns["r"], columns["y"], columns["lo"], columns["hi"]
    _refuse(~np.isfinite(x), "x", "is not a number")
    _refuse(x < 0.0, "x", "is negative")
    _refuse(x < x_start, "x", "lies before the part was fitted")
    _refuse(~np.isfinite(r) | (r <= 0.0), "r", "is not a positive uncertainty")
    _refuse(np.isinf(y), "y", "is infinite")
    is_gauge = np.isnan(y)
    _refuse(is_gauge & np.isnan(lo), "lo", "neither a value nor the ends of a gauge are given")
    _refuse(is_gauge & np.isnan(hi), "hi", "neither a value nor the ends of a gauge are given")
    _refuse(~is_gauge & ~np.isnan(lo), "lo", "a value and the end of a gauge are both given")
    _refuse(~is_gauge & ~np.isnan(hi), "hi", "a value and the end of a gauge are both given")
    _refuse(is_gauge & ~(lo < hi), "lo", "is not below hi")
    _refuse(is_gauge & np.isposinf(lo), "lo", "is infinite upwards")
    _refuse(is_gauge & np.isneginf(hi), "hi", "is infinite downwards")
    _refuse(is_gauge & np.isinf(lo) & np.isinf(hi), "lo", "the gauge says nothing, both ends are infinite")
