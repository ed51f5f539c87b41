"""Distance that does not all count alike: known changes of duty or lubricant in the life of a part.

A part wears by distance times rate; a stretch that wears it twice as fast counts as twice as long. Counted
so, the path is one line again, whatever changed on the way, and the forecast needs to know nothing else. It
is the same as an offset on the log rate of each stretch.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from wearlog.forecast.readings import Floats


@dataclass(frozen=True, slots=True)
class Stretches:
    """How the distance on one part counts, stretch by stretch.

    Attributes
    ----------
    since : tuple of float
        Distance on the part from which on each factor counts, rising from 0, [1000 km or 100 h].
    factor : tuple of float
        Wear per distance of that stretch against the duty (lubricant, set-up) that counts once, [-].
    """

    since: tuple[float, ...] = (0.0,)
    factor: tuple[float, ...] = (1.0,)

    @classmethod
    def of(cls, since: Sequence[float], factor: Sequence[float]) -> "Stretches":
        """Return the stretches of a part from where they begin.

        Parameters
        ----------
        since : sequence of float
            Distance on the part from which on each factor counts, rising; what lies before the first counts
            like the first, [1000 km or 100 h].
        factor : sequence of float
            Wear per distance against the duty that counts once, [-].

        Raises
        ------
        ValueError
            Naming row and column of the first value that does not fit.

        Examples
        --------
        Five thousand km on the road, then sand, where a thousand km wear as much as two:

        >>> stretches = Stretches.of([0.0, 5.0], [1.0, 2.0])
        >>> stretches.weighed([4.0, 7.0]).tolist(), stretches.plain([9.0]).tolist()
        ([4.0, 9.0], [7.0])
        """
        begins, factors = tuple(map(float, since)), tuple(map(float, factor))
        if len(begins) != len(factors) or not begins:
            raise ValueError(f"column factor: {len(factors)} factors for {len(begins)} stretches")
        for row, (begin, one) in enumerate(zip(begins, factors, strict=True)):
            if not (math.isfinite(one) and one > 0.0):
                raise ValueError(f"row {row}, column factor: is not positive")
            if not (math.isfinite(begin) and begin >= 0.0 and (row == 0 or begin >= begins[row - 1])):
                raise ValueError(f"row {row}, column since: lies before the stretch above it")
        return cls(*_joined(zip(begins, factors, strict=True)))

    @property
    def now(self) -> float:
        """Factor of the last stretch, which lasts from now on, [-]."""
        return self.factor[-1]

    @property
    def is_plain(self) -> bool:
        """Whether all distance counts once."""
        return self.factor == (1.0,)

    def times(self, other: "Stretches") -> "Stretches":
        """Return stretches that count both changes, as of duty and of sprockets.

        Parameters
        ----------
        other : Stretches
            Another reason why the distance on the same part does not all count alike.

        Examples
        --------
        >>> both = Stretches.of([0.0, 5.0], [1.0, 2.0]).times(Stretches.of([0.0, 3.0], [1.1, 1.0]))
        >>> both.since, both.factor
        ((0.0, 3.0, 5.0), (1.1, 1.0, 2.0))
        """
        begins = sorted({*self.since, *other.since})
        return Stretches(
            *_joined((begin, self.factor_at(begin) * other.factor_at(begin)) for begin in begins)
        )

    def weighed(self, x: ArrayLike) -> Floats:
        """Return distances as they count: the forecast's x.

        Parameters
        ----------
        x : array_like of float
            Distance on the part, [1000 km or 100 h].
        """
        return _walked(np.array(self.since), np.array(self.factor), x)

    def plain(self, weighed: ArrayLike) -> Floats:
        """Return distances on the part from distances as they count; the inverse of `weighed`.

        Parameters
        ----------
        weighed : array_like of float
            Distance as it counts, such as that at the limit, [1000 km or 100 h].
        """
        return _walked(self.weighed(self.since), 1.0 / np.array(self.factor), weighed)

    def factor_at(self, x: float) -> float:
        """Return the factor that counts from a distance on, [-].

        Parameters
        ----------
        x : float
            Distance on the part, [1000 km or 100 h].
        """
        return self.factor[max(int(np.searchsorted(self.since, x, side="right")) - 1, 0)]


#: All distance counts once.
PLAIN = Stretches()


def changed_rate(
    since: Sequence[float], log_rate: Sequence[float], log_rate_now: float | None = None
) -> Stretches:
    """Return how distance counts on a part whose expected rate changed, in distance at its present rate.

    Parameters
    ----------
    since : sequence of float
        Distance on the part from which on each expected rate counts, rising, [1000 km or 100 h].
    log_rate : sequence of float
        Expected ln rate of each stretch, as of the cell of its duty; only differences matter, [-].
    log_rate_now : float, optional
        Expected ln rate that counts once; that of the last stretch if not given, [-].

    Examples
    --------
    >>> sand_then_road = changed_rate([0.0, 5.0], [0.7, 0.0])
    >>> round(sand_then_road.factor[0], 2), sand_then_road.now
    (2.01, 1.0)
    """
    now = log_rate[-1] if log_rate_now is None else log_rate_now
    return Stretches.of(since, [math.exp(one - now) for one in log_rate])


def _joined(stretches: Iterable[tuple[float, float]]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return begins and factors without stretches of no length and changes that change nothing."""
    begins: list[float] = []
    factors: list[float] = []
    for begin, factor in stretches:
        if begins and begin <= begins[-1]:
            begins.pop()
            factors.pop()
        if not factors or factor != factors[-1]:
            begins.append(begin if begins else 0.0)
            factors.append(factor)
    return tuple(begins), tuple(factors)


def _walked(since: Floats, factor: Floats, x: ArrayLike) -> Floats:
    given = np.asarray(x, dtype=np.float64)
    start = np.concatenate([[0.0], np.cumsum(np.diff(since) * factor[:-1])])
    stretch = np.clip(np.searchsorted(since, given, side="right") - 1, 0, None)
    return np.asarray(start[stretch] + (given - since[stretch]) * factor[stretch], dtype=np.float64)
