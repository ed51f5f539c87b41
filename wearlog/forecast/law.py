"""The numbers that turn a rate of wear into readings, and the belief about rates."""

import math
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from wearlog.forecast.readings import Floats
from wearlog.forecast.shape import STRAIGHT, PathShape


@dataclass(frozen=True, slots=True)
class Theta:
    """The numbers that all parts of a family share.

    Attributes
    ----------
    offset : float
        Mean wear of a new part after bedding-in, [-].
    offset_sd : float
        Its standard deviation from part to part: as-new tolerance and zero error, [-].
    process : float
        Variance gained per unit of wear gained, [-].
    error_factor : float
        Factor on all stated uncertainties, [-].
    """

    offset: float = 0.05
    offset_sd: float = 0.06
    process: float = 0.015
    error_factor: float = 1.0

    def to_free(self) -> Floats:
        """Return (offset, ln sd, ln process, ln factor), the scale on which they are fitted, shape (4,)."""
        return np.array(
            [self.offset, math.log(self.offset_sd), math.log(self.process), math.log(self.error_factor)]
        )

    @classmethod
    def from_free(cls, free: Floats) -> "Theta":
        """Return theta from the scale on which it is fitted.

        Parameters
        ----------
        free : ndarray of float, shape (4,)
            Offset, ln sd, ln process, ln factor, [-].
        """
        offset, log_sd, log_process, log_factor = (float(value) for value in free)
        return cls(offset, math.exp(log_sd), math.exp(log_process), math.exp(log_factor))


@dataclass(frozen=True, slots=True)
class GrossErrors:
    """How often a reading is simply wrong, and by how much; fixed, results hardly depend on it.

    Attributes
    ----------
    share : float
        Share of wrong readings, [-].
    sd : float
        Extra standard deviation of a wrong reading, [-].
    gauge_chance : float
        Chance that a wrong gauge reading says what it says, [-].
    """

    share: float = 0.02
    sd: float = 0.7
    gauge_chance: float = 0.4


@dataclass(frozen=True, slots=True)
class WearLaw:
    """All that turns a rate into readings; what a family's fit hands to every prediction.

    Attributes
    ----------
    theta : Theta
        Fitted numbers of the family.
    gross : GrossErrors
        Share and size of wrong readings.
    bedding_distance : float
        Distance over which a new part beds in, 0 for none, [1000 km or 100 h].
    shape : PathShape
        Path that wear takes.
    used_offset, used_offset_sd : float
        Wear already on a part of unknown history, mean and standard deviation; assumption, [-].
    rate_scale : {"log", "plain"}
        Whether the grid runs over ln rate or over the rate itself; the latter is for comparison with
        Gaussian models.
    """

    theta: Theta = field(default_factory=Theta)
    gross: GrossErrors = field(default_factory=GrossErrors)
    bedding_distance: float = 0.3
    shape: PathShape = STRAIGHT
    used_offset: float = 0.35
    used_offset_sd: float = 0.35
    rate_scale: Literal["log", "plain"] = "log"

    def with_theta(self, theta: Theta) -> "WearLaw":
        """Return the law with other fitted numbers.

        Parameters
        ----------
        theta : Theta
            Numbers to use instead.
        """
        return replace(self, theta=theta)


@dataclass(frozen=True, slots=True)
class RatePrior:
    """Normal law of ln rate of n parts before their own readings.

    Attributes
    ----------
    mean : ndarray of float, shape (n_parts,)
        Mean of ln rate, rate in allowances per 1000 km (or 100 h), [-].
    sd : ndarray of float, shape (n_parts,)
        Standard deviation, [-].
    """

    mean: Floats
    sd: Floats

    @classmethod
    def of(cls, mean: ArrayLike, sd: ArrayLike) -> "RatePrior":
        """Return the prior from numbers or sequences.

        Parameters
        ----------
        mean : array_like of float
            Mean of ln rate, [-].
        sd : array_like of float
            Standard deviation, [-].

        Raises
        ------
        ValueError
            If a mean is not finite or a standard deviation not positive.
        """
        means = np.atleast_1d(np.asarray(mean, dtype=np.float64))
        sds = np.broadcast_to(np.asarray(sd, dtype=np.float64), means.shape)
        if not np.isfinite(means).all():
            raise ValueError(f"row {int(np.argmin(np.isfinite(means)))}, column mean: is not finite")
        if not (np.isfinite(sds) & (sds > 0.0)).all():
            raise ValueError(f"row {int(np.argmin(sds > 0.0))}, column sd: is not positive")
        return cls(means, sds)

    def __len__(self) -> int:
        """Return the number of parts."""
        return int(self.mean.shape[0])

    def take(self, parts: ArrayLike) -> "RatePrior":
        """Return the prior of some of the parts.

        Parameters
        ----------
        parts : array_like of int or bool
            Indices of the parts, [-].
        """
        chosen = np.asarray(parts)
        return RatePrior(self.mean[chosen], self.sd[chosen])
