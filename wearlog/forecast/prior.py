"""What is believed of the wear of a class of parts before the workshop's own readings."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from wearlog.forecast.law import GrossErrors, Theta, WearLaw
from wearlog.forecast.readings import Floats
from wearlog.forecast.shape import PathShape

#: Width of a 5 % to 95 % range in standard deviations of a normal law.
RANGE_WIDTH_SD = 3.29
#: The spread of a class is never believed smaller than this (sd of ln rate); assumption.
LEAST_CLASS_SD = 0.5
#: As-new tolerance of chains is not believed smaller than this share of the allowance; assumption.
LEAST_CHAIN_OFFSET_SD = 0.02


@dataclass(frozen=True, slots=True)
class ThetaPrior:
    """Normal laws of theta on the scale on which it is fitted.

    Attributes
    ----------
    offset_mean, offset_mean_sd : float
        Mean wear after bedding-in, and how well it is known, [-].
    offset_sd : float
        Median of the standard deviation of the offset, [-].
    process : float
        Median of the process variance per unit of wear, [-].
    error_factor : float
        Median of the factor on stated uncertainties, [-].
    log_offset_sd_sd, log_process_sd, log_error_factor_sd : float
        Standard deviations of the logarithms, [-].
    """

    offset_mean: float = 0.05
    offset_mean_sd: float = 0.07
    offset_sd: float = 0.06
    process: float = 0.015
    error_factor: float = 1.0
    log_offset_sd_sd: float = 0.5
    log_process_sd: float = 0.8
    log_error_factor_sd: float = 0.25

    def centre(self) -> Theta:
        """Return theta as it is believed before any reading."""
        return Theta(self.offset_mean, self.offset_sd, self.process, self.error_factor)

    def variances(self) -> Floats:
        """Return the variances of theta on the scale on which it is fitted, shape (4,), [-]."""
        return np.square(
            [self.offset_mean_sd, self.log_offset_sd_sd, self.log_process_sd, self.log_error_factor_sd]
        )

    def log_density(self, free: Floats) -> float:
        """Return the log density, up to a constant.

        Parameters
        ----------
        free : ndarray of float, shape (4,)
            Theta on the scale on which it is fitted, [-].
        """
        return float(self.log_densities(free))

    def log_densities(self, free: Floats) -> Floats:
        """Return the log density of many guesses, up to a constant, shape (...), [-].

        Parameters
        ----------
        free : ndarray of float, shape (..., 4)
            Theta on the scale on which it is fitted, [-].
        """
        mean = self.centre().to_free()
        sd = np.array(
            [self.offset_mean_sd, self.log_offset_sd_sd, self.log_process_sd, self.log_error_factor_sd]
        )
        return np.asarray(-0.5 * (((free - mean) / sd) ** 2).sum(axis=-1), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class FamilyPrior:
    """What is believed of a family before the workshop's own readings.

    Attributes
    ----------
    log_rate : float
        Engineering mean of ln rate, rate in allowances per 1000 km (or 100 h), [-].
    family_sd : float
        How well it is known (sd of ln rate), [-].
    cell_sd : float
        How much stages and duties differ (sd of ln rate), [-].
    theta : ThetaPrior
        Belief about offset, process noise and uncertainty factor.
    tau, log_tau_sd : float
        Median spread of ln rate between parts of a cell, and the sd of its logarithm, [-].
    tau_vehicle_sd : float
        Scale of the half-normal law of the spread between vehicles, [-].
    gross : GrossErrors
        Share and size of wrong readings.
    bedding_distance : float
        Distance over which a new part beds in, [1000 km or 100 h].
    pivot : float
        Distance that bent paths leave where it is, [1000 km or 100 h].
    """

    log_rate: float
    family_sd: float
    cell_sd: float = 0.35
    theta: ThetaPrior = field(default_factory=ThetaPrior)
    tau: float = 0.45
    log_tau_sd: float = 0.4
    tau_vehicle_sd: float = 0.25
    gross: GrossErrors = field(default_factory=GrossErrors)
    bedding_distance: float = 0.3
    pivot: float = 5.0

    def law(self, theta: Theta | None = None, shape: PathShape | None = None) -> WearLaw:
        """Return the wear law of this prior.

        Parameters
        ----------
        theta : Theta, optional
            Fitted numbers; without them what is believed before any reading.
        shape : PathShape, optional
            Path that wear takes, straight if not given.
        """
        return WearLaw(
            theta=theta or self.theta.centre(),
            gross=self.gross,
            bedding_distance=self.bedding_distance,
            shape=shape or PathShape(pivot=self.pivot),
        )


@dataclass(frozen=True, slots=True)
class ClassRange:
    """Engineering range of wear rates of one class of parts, as it stands in the file.

    Attributes
    ----------
    wear_class : str
        The class, [-].
    low, high : float
        5 % and 95 % of the rate, in the unit of `per`.
    per : str
        ``"percent"`` elongation, ``"allowance"``, or ``"chain"``: a factor on the rate of its chain (belt).
    is_chain : bool
        Whether the class bears a limit in per cent elongation, so that offsets follow from it.
    least_sd : float
        The spread is never believed smaller than this (sd of ln rate), [-].
    source : str
        Where it comes from.
    mark : str
        ``"assumption"``, ``"found"``, ``"common practice"`` or ``"from memory"``.
    """

    wear_class: str
    low: float
    high: float
    per: str
    is_chain: bool
    least_sd: float
    source: str
    mark: str


@dataclass(frozen=True, slots=True)
class WearPriors:
    """The engineering priors of all classes.

    Attributes
    ----------
    classes : dict of str to ClassRange
        Range of each wear class.
    duty_shift : dict of str to float
        What a duty adds to ln rate, [-].
    typical_limit_percent : dict of str to float
        Limit that stands in where a class in per cent has none of its own, [%].
    """

    classes: Mapping[str, ClassRange]
    duty_shift: Mapping[str, float]
    typical_limit_percent: Mapping[str, float]

    def family_prior(
        self, wear_class: str, limit_percent: float | None = None, chain: FamilyPrior | None = None
    ) -> FamilyPrior:
        """Return the prior of a family.

        Parameters
        ----------
        wear_class : str
            Class of the parts; one that is not in the file counts as ``"unknown"``, [-].
        limit_percent : float, optional
            Reference limit of the family in per cent elongation, for classes in per cent, [%].
        chain : FamilyPrior, optional
            Prior of the chain that runs on a sprocket (of the belt on a pulley).

        Raises
        ------
        ValueError
            If `limit_percent` is not positive.

        Examples
        --------
        >>> chain = ClassRange("open", 0.08, 0.6, "percent", True, 0.5, "", "assumption")
        >>> priors = WearPriors({"open": chain}, {"road": 0.0}, {"open": 2.0})
        >>> prior = priors.family_prior("open", limit_percent=2.0)
        >>> round(math.exp(prior.log_rate), 4), round(prior.family_sd, 3)
        (0.1095, 0.612)
        """
        known = self.classes.get(wear_class, self.classes.get("unknown"))
        if known is None:
            raise ValueError(f"class {wear_class}: the priors have neither this class nor one called unknown")
        sd = max(math.log(known.high / known.low) / RANGE_WIDTH_SD, known.least_sd)
        log_middle = 0.5 * math.log(known.low * known.high)
        if known.per == "chain":
            base = chain if chain is not None else self.family_prior("unknown")
            return FamilyPrior(log_rate=base.log_rate + log_middle, family_sd=sd)
        if known.per == "allowance":
            return FamilyPrior(log_rate=log_middle, family_sd=sd)
        limit = self.typical_limit_percent[known.wear_class] if limit_percent is None else limit_percent
        if not limit > 0.0:
            raise ValueError(f"column limit_percent: {limit} is not positive")
        theta = ThetaPrior()
        if known.is_chain:
            # Bedding-in and tolerance are lengths of chain: the tighter the limit, the more they matter.
            theta = replace(
                theta,
                offset_mean=0.06 / limit,
                offset_mean_sd=0.07 / limit,
                offset_sd=max(0.05 / limit, LEAST_CHAIN_OFFSET_SD),
            )
        return FamilyPrior(log_rate=log_middle - math.log(limit), family_sd=sd, theta=theta)

    def cell_mean(self, prior: FamilyPrior, duty: str) -> float:
        """Return the engineering mean of ln rate of a cell.

        Parameters
        ----------
        prior : FamilyPrior
            Prior of the family.
        duty : str
            Duty of the cell; one that is not in the file moves nothing, [-].
        """
        return prior.log_rate + self.duty_shift.get(duty, 0.0)


def read_wear_priors(table: Mapping[str, Any]) -> WearPriors:
    """Return the engineering priors from the parsed file ``limits/wear_priors.toml``.

    Parameters
    ----------
    table : mapping
        The file as parsed: tables ``class`` and ``duty``, each row with its source.

    Raises
    ------
    ValueError
        Naming row and column of the first value that cannot be used.
    """
    classes: dict[str, ClassRange] = {}
    limits: dict[str, float] = {}
    for name, row in table.get("class", {}).items():
        low, high = _number(row, name, "low"), _number(row, name, "high")
        if not 0.0 < low <= high:
            raise ValueError(f"row {name}, column low: is not between 0 and high")
        per = _word(row, name, "per")
        if per not in {"percent", "allowance", "chain"}:
            raise ValueError(f"row {name}, column per: {per} is not percent, allowance or chain")
        classes[name] = ClassRange(
            wear_class=name,
            low=low,
            high=high,
            per=per,
            is_chain=bool(row.get("is_chain", False)),
            least_sd=float(row.get("least_sd", LEAST_CLASS_SD)),
            source=_word(row, name, "source"),
            mark=_word(row, name, "mark"),
        )
        if per == "percent":
            limits[name] = _number(row, name, "typical_limit")
    if "unknown" not in classes:
        raise ValueError("row unknown, column low: the class for parts that are not known is missing")
    shifts = {name: _number(row, name, "shift") for name, row in table.get("duty", {}).items()}
    return WearPriors(classes=classes, duty_shift=shifts, typical_limit_percent=limits)


def _number(row: Mapping[str, Any], name: str, column: str) -> float:
    value = row.get(column)
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ValueError(f"row {name}, column {column}: {value!r} is not a number")
    return float(value)


def _word(row: Mapping[str, Any], name: str, column: str) -> str:
    value = row.get(column)
    if not isinstance(value, str) or not value:
        raise ValueError(f"row {name}, column {column}: is missing")
    return value
