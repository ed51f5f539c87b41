"""The rounds in which parts, fleet and theta come to agree, on one path of wear or on several at once."""

from collections.abc import Sequence
from dataclasses import dataclass
from gettext import gettext as _

import numpy as np

from wearlog.fleet.progress import Progress
from wearlog.forecast.columns import ThetaRows
from wearlog.forecast.family_data import FamilyData
from wearlog.forecast.fleet_step import (
    FleetLayout,
    FleetStep,
    Messages,
    fleet_step,
    nothing_learnt,
    part_messages,
)
from wearlog.forecast.law import RatePrior, Theta, WearLaw
from wearlog.forecast.prior import FamilyPrior
from wearlog.forecast.rate_grid import (
    FITTING_NODES,
    FITTING_SPAN,
    GridPlace,
    PartBlocks,
    RateGrid,
    integrate_blocks,
)
from wearlog.forecast.readings import Floats, Ints, ReadingTable
from wearlog.forecast.theta import DIFFERENCE, ThetaEvidence, ThetaFit, theta_sample

ROUNDS = 6
THETA_ROUNDS = 3
#: Rounds in which the spread between vehicles is sought anew; what parts say by themselves settles early.
VEHICLE_ROUNDS = 3
#: Most Newton steps for theta in each round.
NEWTON_STEPS = (4, 2, 2, 2, 2, 2)
#: The first round only has to come near: so many parts do.
FIRST_PARTS = 400
#: Rounds end when no prior mean moves more than this, and tau by no more than this share.
SETTLED = 1e-3
#: Seed of the samples; any number does, it only has to stay the same.
SEED = 20250917

_FITTING_T = np.linspace(-FITTING_SPAN, FITTING_SPAN, FITTING_NODES)


@dataclass(frozen=True, slots=True)
class Rounds:
    """Where the rounds ended.

    Attributes
    ----------
    law : WearLaw
        Fitted numbers and path.
    layout : FleetLayout
        Cells and vehicles of the parts.
    straight : ReadingTable
        Readings on the straightened scale.
    messages : Messages
        What each part says by itself.
    step : FleetStep
        Spreads, effects, and the prior of each part.
    grid : RateGrid
        Rate and wear of each part, made with the priors before the last fleet step.
    """

    law: WearLaw
    layout: FleetLayout
    straight: ReadingTable
    messages: Messages
    step: FleetStep
    grid: RateGrid


def fit_rounds(
    data: FamilyData, prior: FamilyPrior, law: WearLaw, progress: Progress, seed: int, theta_rounds: int
) -> Rounds:
    """Return where parts and fleet have come to agree, after at most six rounds.

    Parameters
    ----------
    data : FamilyData
        Readings of n parts.
    prior : FamilyPrior
        What is believed before.
    law : WearLaw
        Where theta starts from, and the path to keep.
    progress : Progress
        Told how far the work is; may stop it.
    seed : int
        Seed of the sample that theta is fitted to, [-].
    theta_rounds : int
        Rounds in which theta is fitted too, 0 to keep it, [-].
    """
    race = Race(data, prior, [law], seed)
    for number in range(ROUNDS):
        progress.step(number, ROUNDS + 1, _("Learning wear rates from the fleet"))
        if race.run(NEWTON_STEPS[number] if number < theta_rounds else 0):
            break
    if theta_rounds:
        race.expect()
        race.run(0)
    return race.result()


class Race:
    """The rounds of one family on one path or on several at once, all parts of all paths as one set of rows.

    Attributes
    ----------
    runners : ndarray of int
        Which of the given laws are still being fitted, [-].
    """

    def __init__(
        self,
        data: FamilyData,
        prior: FamilyPrior,
        laws: Sequence[WearLaw],
        seed: int,
        first_parts: int = FIRST_PARTS,
    ) -> None:
        """Line up at the start.

        Parameters
        ----------
        data : FamilyData
            Readings of n parts.
        prior : FamilyPrior
            What is believed before.
        laws : sequence of WearLaw
            Where theta starts from, and the path to keep, of each runner.
        seed : int
            Seed of the sample that theta is fitted to, [-].
        first_parts : int
            Size of the sample in the first round, which only has to come near, [-].
        """
        self._first_parts = first_parts
        self._prior = prior
        self._layout = data.layout()
        self._n = len(data.readings)
        self._laws = list(laws)
        self._tables = [law.shape.straighten(data.readings) for law in laws]
        sample = theta_sample(data.readings.count, np.random.default_rng(seed))
        self._sample = sample[np.argsort(data.readings.count[sample], kind="stable")]
        self._theta = ThetaFit.at([law.theta for law in laws])
        step = fleet_step(nothing_learnt(self._n), self._layout, prior)
        self._steps = [step] * len(laws)
        self._messages: list[Messages] = []
        self._place: GridPlace | None = None
        self._grid: RateGrid | None = None
        self._round = 0
        self.runners: Ints = np.arange(len(laws))
        self._lay_out()

    def _lay_out(self) -> None:
        self._parts = PartBlocks.of(self._tables, self._laws)
        self._sampled = self._sample_blocks(self._sample)

    def _sample_blocks(self, sample: Ints) -> PartBlocks:
        return PartBlocks.of([table.take(sample) for table in self._tables], self._laws)

    @property
    def curvature(self) -> Floats:
        """Curvature of the evidence of the first runner's theta, shape (4, 4), [-]."""
        return np.asarray(self._theta.curvature[0], dtype=np.float64)

    @property
    def tau_vehicle(self) -> float:
        """Spread of ln rate between vehicles on the first runner's path, [-]."""
        return self._steps[0].tau_vehicle

    @property
    def thetas(self) -> list[Theta]:
        """Theta of each runner."""
        return self._theta.thetas()

    def run(
        self, theta_steps: int, curvature: Floats | None = None, tau_vehicle: float | None = None
    ) -> bool:
        """Go one round; return whether parts, fleet and theta have come to agree.

        Parameters
        ----------
        theta_steps : int
            Most steps for theta; 0 to keep it, [-].
        curvature : ndarray of float, shape (4, 4), optional
            Curvature of the evidence of theta to make do with, of the same parts on another path, [-].
        tau_vehicle : float, optional
            Spread between vehicles to keep; found from the messages if not given, [-].
        """
        n, n_groups = self._n, len(self._laws)
        prior = _joined_prior([step.prior for step in self._steps])
        self._grid = integrate_blocks(
            self._parts,
            ThetaRows.of([law.theta for law in self._laws], n),
            prior,
            self._laws[0],
            self._place,
            _FITTING_T,
            6 if self._place is None else 2,
        )
        self._place = self._grid.place
        told = part_messages(self._grid.node_mean, self._grid.node_variance, prior, self._parts.count > 0)
        self._messages = [
            Messages(told.value[begin : begin + n], told.variance[begin : begin + n])
            for begin in (n * k for k in range(n_groups))
        ]
        moved = 0.0
        if theta_steps and self._sample.size:
            moved = self._fit_theta(prior, self._grid.place, theta_steps, curvature)
        before = self._steps
        self._steps = self._fleet_steps(tau_vehicle)
        self._round += 1
        return moved < 0.1 and all(
            float(np.abs(now.prior.mean - then.prior.mean).max(initial=0.0)) < SETTLED
            and abs(now.tau - then.tau) < SETTLED * now.tau
            for now, then in zip(self._steps, before, strict=True)
        )

    def expect(self) -> None:
        """Go on with theta as a forecast should use it: the expected instead of the likeliest."""
        thetas = self._theta.expected(self._prior.theta)
        self._laws = [law.with_theta(theta) for law, theta in zip(self._laws, thetas, strict=True)]

    def evidence(self) -> Floats:
        """Return the log evidence of each runner in the last round, shape (n_runners,), [-]."""
        if self._grid is None:
            return np.zeros(len(self._laws))
        return np.asarray(self._grid.log_evidence.reshape(len(self._laws), -1).sum(axis=1), dtype=np.float64)

    def keep(self, runners: Ints) -> None:
        """Go on with some of the runners only.

        Parameters
        ----------
        runners : ndarray of int
            Which of those that are still being fitted, [-].
        """
        if runners.size == self.runners.size:
            return
        self.runners = self.runners[runners]
        self._laws = [self._laws[k] for k in runners]
        self._tables = [self._tables[k] for k in runners]
        self._steps = [self._steps[k] for k in runners]
        self._theta.keep(runners)
        if self._place is not None:
            rows = (runners[:, None] * self._n + np.arange(self._n)).ravel()
            self._place = self._place.take(rows)
        self._lay_out()

    def result(self) -> Rounds:
        """Return where the first runner stands.

        Raises
        ------
        ValueError
            If no round has been run, or other runners are left.
        """
        if self._grid is None or len(self._laws) != 1:
            raise ValueError("one path fitted at least once has a result")
        return Rounds(
            self._laws[0], self._layout, self._tables[0], self._messages[0], self._steps[0], self._grid
        )

    def _fit_theta(self, prior: RatePrior, place: GridPlace, steps: int, curvature: Floats | None) -> float:
        """Move theta of each runner; return by how much, in difference steps."""
        sample, blocks = self._sample, self._sampled
        if self._round == 0 and sample.size > self._first_parts:
            sample = sample[:: -(-sample.size // self._first_parts)]
            blocks = self._sample_blocks(sample)
        rows = (np.arange(len(self._laws))[:, None] * self._n + sample).ravel()
        worth = ThetaEvidence(
            blocks, place.take(rows), prior.take(rows), self._laws[0], self._prior.theta, len(self._laws)
        )
        before = self._theta.free
        self._theta.climb(worth, steps, curvature)
        self._laws = [
            law.with_theta(theta) for law, theta in zip(self._laws, self._theta.thetas(), strict=True)
        ]
        return float((np.abs(self._theta.free - before) / DIFFERENCE).max())

    def _fleet_steps(self, tau_vehicle: float | None) -> list[FleetStep]:
        between = tau_vehicle
        if between is None and self._round >= VEHICLE_ROUNDS:
            between = self.tau_vehicle
        return [
            fleet_step(messages, self._layout, self._prior, tau_vehicle=between)
            for messages in self._messages
        ]


def _joined_prior(priors: Sequence[RatePrior]) -> RatePrior:
    if len(priors) == 1:
        return priors[0]
    return RatePrior(
        np.concatenate([prior.mean for prior in priors]), np.concatenate([prior.sd for prior in priors])
    )
