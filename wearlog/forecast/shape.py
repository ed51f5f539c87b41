"""The path wear takes: straight, bent in distance, or accelerating past an onset."""

from dataclasses import dataclass, replace

import numpy as np

from wearlog.forecast.readings import LEAST_UNCERTAINTY, Floats, ReadingTable

#: Distance that bending leaves where it is, about half a life, [1000 km or 100 h].
PIVOT = 5.0
#: Outside this the slope of the acceleration is not followed: a wild reading must keep its size.
SLOPE_RANGE = (-1.0, 1.6)
#: Keeps the way back from the straightened scale finite.
GREATEST_EXPONENT = 60.0


@dataclass(frozen=True, slots=True)
class PathShape:
    """How the straight line of the model maps to the path that readings follow.

    Attributes
    ----------
    power : float
        Wear goes with distance to this power, 1 is straight, [-].
    onset : float
        Wear from which it accelerates, [-].
    acceleration : float
        Relative gain in rate per allowance past the onset, 0 is none, [-].
    pivot : float
        Distance that the power leaves where it is, [1000 km or 100 h].
    """

    power: float = 1.0
    onset: float = 0.0
    acceleration: float = 0.0
    pivot: float = PIVOT

    @property
    def is_straight(self) -> bool:
        """Whether readings follow the straight line itself."""
        return self.power == 1.0 and self.acceleration == 0.0

    def straight_x(self, x: Floats) -> Floats:
        """Return distance on the straightened scale.

        Parameters
        ----------
        x : ndarray of float
            Distance, [1000 km or 100 h].
        """
        if self.power == 1.0:
            return x
        return np.asarray(self.pivot * (np.maximum(x, 0.0) / self.pivot) ** self.power, dtype=np.float64)

    def true_x(self, straight: Floats) -> Floats:
        """Return distance from the straightened scale; the inverse of `straight_x`.

        Parameters
        ----------
        straight : ndarray of float
            Straightened distance, [1000 km or 100 h].
        """
        if self.power == 1.0:
            return straight
        return np.asarray(
            self.pivot * (np.maximum(straight, 0.0) / self.pivot) ** (1.0 / self.power), dtype=np.float64
        )

    def straight_wear(self, u: Floats) -> Floats:
        """Return wear on the straightened scale.

        Parameters
        ----------
        u : ndarray of float
            Share of the allowance, may be infinite or NaN, [-].
        """
        if self.acceleration == 0.0:
            return u
        above = np.maximum(u - self.onset, 0.0)
        return np.where(
            u > self.onset, self.onset + np.log1p(self.acceleration * above) / self.acceleration, u
        )

    def true_wear(self, straight: Floats) -> Floats:
        """Return wear from the straightened scale; the inverse of `straight_wear`.

        Parameters
        ----------
        straight : ndarray of float
            Straightened wear, [-].
        """
        if self.acceleration == 0.0:
            return straight
        above = np.clip(self.acceleration * (straight - self.onset), 0.0, GREATEST_EXPONENT)
        return np.where(straight > self.onset, self.onset + np.expm1(above) / self.acceleration, straight)

    def slope(self, u: Floats) -> Floats:
        """Return the slope of straightened over true wear.

        Parameters
        ----------
        u : ndarray of float
            Share of the allowance; NaN gives 1, [-].
        """
        if self.acceleration == 0.0:
            return np.ones_like(u)
        followed = np.clip(np.nan_to_num(u, nan=self.onset), *SLOPE_RANGE)
        return 1.0 / (1.0 + self.acceleration * np.maximum(followed - self.onset, 0.0))

    def straighten(self, table: ReadingTable) -> ReadingTable:
        """Return the readings on the straightened scale; uncertainty shrinks with the slope.

        Parameters
        ----------
        table : ReadingTable
            Readings as they were taken, [-].
        """
        if self.is_straight:
            return table
        return replace(
            table,
            x=self.straight_x(table.x),
            x_start=self.straight_x(table.x_start),
            y=self.straight_wear(table.y),
            lo=self.straight_wear(table.lo),
            hi=self.straight_wear(table.hi),
            r=np.maximum(table.r * self.slope(reading_middle(table)), LEAST_UNCERTAINTY / 10.0),
        )

    def log_jacobian(self, table: ReadingTable) -> Floats:
        """Return what straightening adds to the log evidence of each part, shape (n_parts,), [-].

        Parameters
        ----------
        table : ReadingTable
            Readings as they were taken, [-].
        """
        return np.asarray(np.log(self.slope(table.y)).sum(axis=1), dtype=np.float64)


#: The straight line.
STRAIGHT = PathShape()


def shape_menu(pivot: float = PIVOT) -> tuple[PathShape, ...]:
    """Return the shapes that a family is tried with, the straight line first.

    Parameters
    ----------
    pivot : float
        Distance that bending leaves where it is, [1000 km or 100 h].
    """
    bent = [PathShape(power=power, pivot=pivot) for power in (0.5, 0.7, 0.85, 1.15, 1.3)]
    late = [PathShape(onset=0.6, acceleration=value, pivot=pivot) for value in (0.75, 1.5, 3.0)]
    early = [PathShape(onset=0.0, acceleration=value, pivot=pivot) for value in (0.5, 1.0, 2.0, 4.0)]
    return (PathShape(pivot=pivot), *bent, *late, *early)


def reading_middle(table: ReadingTable) -> Floats:
    """Return where each reading lies: its value, the middle of its gauge, or the gauge's finite end.

    Parameters
    ----------
    table : ReadingTable
        Readings of n parts, [-].
    """
    lo = np.where(np.isfinite(table.lo), table.lo, table.hi)
    hi = np.where(np.isfinite(table.hi), table.hi, table.lo)
    return np.where(np.isnan(table.y), 0.5 * (lo + hi), table.y)
