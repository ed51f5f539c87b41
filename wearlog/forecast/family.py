"""A family fitted as a whole, then kept, refreshed, and asked part by part."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from wearlog.fleet.progress import Progress, Silent
from wearlog.forecast.family_data import FamilyData
from wearlog.forecast.fleet_step import FleetLayout, FleetStep, Messages, fleet_step, new_part_prior
from wearlog.forecast.law import GrossErrors, RatePrior, Theta, WearLaw
from wearlog.forecast.path_choice import chosen_shape
from wearlog.forecast.posterior import Posterior, part_posterior, posterior_of_grid
from wearlog.forecast.prior import FamilyPrior, ThetaPrior
from wearlog.forecast.rate_grid import integrate_rate
from wearlog.forecast.readings import ReadingTable
from wearlog.forecast.rounds import SEED, THETA_ROUNDS, Rounds, fit_rounds
from wearlog.forecast.shape import PathShape

__all__ = ["FamilyData", "FamilyFit", "chosen_shape", "fit_family", "refresh_family", "update_part"]


@dataclass(frozen=True, slots=True)
class FamilyFit:
    """What the shop has learnt of a family.

    Attributes
    ----------
    prior : FamilyPrior
        What was believed before.
    law : WearLaw
        Fitted numbers and path.
    layout : FleetLayout
        Cells and vehicles of the parts.
    messages : Messages
        What each part says by itself.
    step : FleetStep
        Spreads, effects, and the prior of each part.
    shown : Posterior or None
        Rate and wear of all parts; None on a fit brought back without its readings.
    """

    prior: FamilyPrior
    law: WearLaw
    layout: FleetLayout
    messages: Messages
    step: FleetStep
    shown: Posterior | None = None

    @property
    def posterior(self) -> Posterior:
        """Rate and wear of all parts.

        Raises
        ------
        ValueError
            On a fit that was brought back without its readings.
        """
        if self.shown is None:
            raise ValueError("the fit was brought back without readings: give them to from_numbers")
        return self.shown

    @property
    def tau(self) -> float:
        """Spread of ln rate between parts of a cell, [-]."""
        return self.step.tau

    @property
    def tau_vehicle(self) -> float:
        """Spread of ln rate between vehicles, [-]."""
        return self.step.tau_vehicle

    @property
    def n_read_parts(self) -> int:
        """Number of parts whose readings said something about their rate, [-]."""
        return int(self.messages.is_informative.sum())

    def similar_parts(self, cell: int | None = None) -> int:
        """Return the number of read parts in a cell, or in the family, [-].

        Parameters
        ----------
        cell : int, optional
            The cell; all cells if not given, [-].
        """
        is_read = self.messages.is_informative
        return int((is_read if cell is None else is_read & (self.layout.cell == cell)).sum())

    def rate_prior(self, parts: ArrayLike | None = None) -> RatePrior:
        """Return the belief about parts of the fleet without their own readings.

        Parameters
        ----------
        parts : array_like of int, optional
            Their indices; all if not given, [-].
        """
        return self.step.prior if parts is None else self.step.prior.take(np.atleast_1d(np.asarray(parts)))

    def new_part_prior(
        self, cell: int | None, vehicle: int | None = None, engineering_mean: float | None = None
    ) -> RatePrior:
        """Return the belief about a part that was not in the fleet when the family was fitted.

        Parameters
        ----------
        cell : int or None
            Its cell; None for one that was not there, [-].
        vehicle : int, optional
            The caller's number of its vehicle, [-].
        engineering_mean : float, optional
            Mean of ln rate before the shop's readings; that of the cell, or of the family, if not given, [-].
        """
        if engineering_mean is None:
            known = self.prior.log_rate if cell is None else float(self.layout.engineering_mean[cell])
        else:
            known = engineering_mean
        number = None if vehicle is None else self.layout.vehicle_number(vehicle)
        return new_part_prior(self.step, known, cell, self.prior.cell_sd, number)

    def to_numbers(self) -> dict[str, Any]:
        """Return the fit as plain numbers and lists, to be kept; the rest is worked out again from them."""
        return {
            "prior": asdict(self.prior),
            "theta": asdict(self.law.theta),
            "shape": asdict(self.law.shape),
            "tau": self.tau,
            "tau_vehicle": self.tau_vehicle,
            "beta": self.step.beta.tolist(),
            "covariance": self.step.covariance.tolist(),
            "engineering_mean": self.layout.engineering_mean.tolist(),
            "cell": self.layout.cell.tolist(),
            "vehicle": self.layout.vehicle_key[self.layout.vehicle].tolist(),
            "value": self.messages.value.tolist(),
            "variance": self.messages.variance.tolist(),
        }

    @classmethod
    def from_numbers(cls, numbers: Mapping[str, Any], data: FamilyData | None = None) -> "FamilyFit":
        """Return a fit from its numbers.

        Parameters
        ----------
        numbers : mapping
            What `to_numbers` gave.
        data : FamilyData, optional
            The readings it was made from, if the posteriors of all parts are wanted.

        Raises
        ------
        ValueError
            If `data` holds other parts than the fit.
        """
        kept = dict(numbers["prior"])
        prior = FamilyPrior(
            **{**kept, "theta": ThetaPrior(**kept["theta"]), "gross": GrossErrors(**kept["gross"])}
        )
        layout = FleetLayout.of(
            np.array(numbers["cell"], dtype=np.int64),
            np.array(numbers["vehicle"], dtype=np.int64),
            np.array(numbers["engineering_mean"], dtype=np.float64),
        )
        messages = Messages(
            np.array(numbers["value"], dtype=np.float64), np.array(numbers["variance"], dtype=np.float64)
        )
        step = fleet_step(
            messages, layout, prior, tau=float(numbers["tau"]), tau_vehicle=float(numbers["tau_vehicle"])
        )
        law = prior.law(Theta(**numbers["theta"]), PathShape(**numbers["shape"]))
        fit = cls(prior=prior, law=law, layout=layout, messages=messages, step=step)
        if data is None:
            return fit
        if len(data.readings) != layout.cell.size:
            raise ValueError(f"column readings: {len(data.readings)} parts, the fit has {layout.cell.size}")
        return replace(fit, shown=part_posterior(data.readings, step.prior, law, data.limits()))


def fit_family(
    data: FamilyData,
    prior: FamilyPrior,
    previous: FamilyFit | None = None,
    progress: Progress | None = None,
    shape: PathShape | None = None,
    seed: int = SEED,
) -> FamilyFit:
    """Return the full fit of a family: path, theta, spreads, and the posterior of every part.

    Parameters
    ----------
    data : FamilyData
        Readings of n parts, and where they run.
    prior : FamilyPrior
        What is believed before.
    previous : FamilyFit, optional
        An earlier fit whose theta is a good start.
    progress : Progress, optional
        Told how far the work is; may stop it.
    shape : PathShape, optional
        Path to keep; chosen from the menu if not given.
    seed : int
        Seed of the samples that theta and path are fitted to, [-].

    Returns
    -------
    FamilyFit
        What the shop has learnt.

    Raises
    ------
    Cancelled
        If the person asked to stop.
    """
    told = progress or Silent()
    path = chosen_shape(data, prior, told, seed) if shape is None else shape
    start = prior.law(None if previous is None else previous.law.theta, path)
    rounds = fit_rounds(data, prior, start, told, seed, THETA_ROUNDS)
    return _finished(data, prior, rounds)


def refresh_family(fit: FamilyFit, data: FamilyData, progress: Progress | None = None) -> FamilyFit:
    """Return the fit brought up to date with theta and path kept: for when a share of the parts has changed.

    Parameters
    ----------
    fit : FamilyFit
        The fit so far.
    data : FamilyData
        Readings as they are now; parts may have come and gone.
    progress : Progress, optional
        Told how far the work is; may stop it.
    """
    return _finished(data, fit.prior, fit_rounds(data, fit.prior, fit.law, progress or Silent(), SEED, 0))


def update_part(
    fit: FamilyFit,
    readings: ReadingTable,
    part: int | None = None,
    prior: RatePrior | None = None,
    limit: ArrayLike = 1.0,
) -> Posterior:
    """Return what is known of one part after a new reading, everything else kept.

    Parameters
    ----------
    fit : FamilyFit
        What the shop has learnt.
    readings : ReadingTable
        All readings of the part, one row.
    part : int, optional
        Its index in the fit, [-].
    prior : RatePrior, optional
        Belief about its rate, for a part that is not in the fit.
    limit : array_like of float
        Its own limit over the family's reference limit, [-].

    Raises
    ------
    ValueError
        If neither or both of `part` and `prior` are given.
    """
    if (part is None) == (prior is None):
        raise ValueError("column part: give the part's index in the fit or its prior, not both")
    belief = prior if prior is not None else fit.rate_prior(part)
    return part_posterior(readings, belief, fit.law, limit)


def _finished(data: FamilyData, prior: FamilyPrior, rounds: Rounds) -> FamilyFit:
    # From a fresh place, so that what is shown of a part does not depend on how the rounds went.
    grid = integrate_rate(rounds.straight, rounds.step.prior, rounds.law)
    return FamilyFit(
        prior=prior,
        law=rounds.law,
        layout=rounds.layout,
        messages=rounds.messages,
        step=rounds.step,
        shown=posterior_of_grid(data.readings, grid, rounds.law, data.limits()),
    )
