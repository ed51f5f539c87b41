"""Offset, process noise and uncertainty factor of a family, fitted to all its parts at once."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from wearlog.forecast.columns import ReadingColumns, ThetaRows
from wearlog.forecast.filter import filter_columns
from wearlog.forecast.law import RatePrior, Theta, WearLaw
from wearlog.forecast.prior import ThetaPrior
from wearlog.forecast.rate_grid import (
    BLOCK_PARTS,
    FITTING_NODES,
    FITTING_SPAN,
    GridPlace,
    PartBlocks,
    node_rates,
)
from wearlog.forecast.readings import Floats, Ints, ReadingTable

#: Difference steps of offset, ln offset sd, ln process, ln factor.
DIFFERENCE = np.array([0.02, 0.15, 0.25, 0.06])
#: A step goes no farther than this many difference steps.
FARTHEST_STEP = 5.0
#: Where no step goes farther than this many, the next one would go next to nowhere.
NEAR_STEP = 0.5
#: Curvature below this is not believed.
LEAST_CURVATURE = 1.0
MOST_SHORTENINGS = 8
MOST_PARTS = 1500


def theta_sample(count: Ints, rng: np.random.Generator, most: int = MOST_PARTS) -> Ints:
    """Return the parts that theta is fitted to: with two readings or more if there are any.

    Parameters
    ----------
    count : ndarray of int, shape (n_parts,)
        Readings of each part, [-].
    rng : numpy.random.Generator
        Draws the sample where there are more than `most`.
    most : int
        Greatest number of parts, [-].
    """
    chosen = np.flatnonzero(count >= 2)
    if not chosen.size:
        chosen = np.flatnonzero(count >= 1)
    if chosen.size > most:
        chosen = np.sort(rng.choice(chosen, most, replace=False))
    return chosen


@dataclass(slots=True)
class ThetaFit:
    """Theta of a family, or of one on several paths, climbing towards the greatest evidence.

    Attributes
    ----------
    free : ndarray of float, shape (n_groups, 4)
        Where theta of each group stands, on the scale on which it is fitted, [-].
    curvature : ndarray of float, shape (n_groups, 4, 4)
        Second differences where they were last taken, [-].
    """

    free: Floats
    curvature: Floats

    @classmethod
    def at(cls, thetas: Sequence[Theta]) -> "ThetaFit":
        """Return the fit at its start.

        Parameters
        ----------
        thetas : sequence of Theta
            Theta of each group.
        """
        return cls(np.stack([theta.to_free() for theta in thetas]), np.zeros((len(thetas), 4, 4)))

    def thetas(self) -> list[Theta]:
        """Return theta of each group."""
        return [Theta.from_free(free) for free in self.free]

    def expected(self, belief: ThetaPrior) -> list[Theta]:
        """Return theta of each group as a forecast should use it: expected variances, not the likeliest.

        The variances of offset and process enter a forecast as they are, and what is known of them leans to
        the right: the likeliest value understates them, the more so the less the readings tell.

        Parameters
        ----------
        belief : ThetaPrior
            Belief about theta; where nothing was fitted it is all that is known.
        """
        sd = np.sqrt(belief.variances())
        found = []
        for free, curvature in zip(self.free, self.curvature, strict=True):
            # Readings make nobody less sure than before: against the belief the curvature is 1 at least.
            value, vector = np.linalg.eigh(-curvature * np.outer(sd, sd))
            variance = sd**2 * ((vector**2) / np.maximum(value, 1.0)).sum(axis=1)
            found.append(Theta.from_free(free + np.array([0.0, variance[1], 0.5 * variance[2], 0.0])))
        return found

    def keep(self, groups: Ints) -> None:
        """Go on with some of the groups only.

        Parameters
        ----------
        groups : ndarray of int
            Which, [-].
        """
        self.free, self.curvature = self.free[groups], self.curvature[groups]

    def climb(self, worth: "ThetaEvidence", steps: int, curvature: Floats | None = None) -> None:
        """Take Newton steps; theta never becomes less likely than it was.

        Parameters
        ----------
        worth : ThetaEvidence
            Evidence of theta, priors and grids held.
        steps : int
            At most so many; no more once all groups have come near, [-].
        curvature : ndarray of float, shape (4, 4), optional
            Second differences to make do with, as of the same parts on another path; worked out for each
            group and step if not given, [-].
        """
        for _ in range(steps):
            design = _DESIGN if curvature is None else _DESIGN[:_N_SLOPE]
            values = worth.at(self.free + design[:, None, :] * DIFFERENCE)
            now, up, down = values[0], values[1:5].T, values[5:9].T
            gradient = (up - down) / (2.0 * DIFFERENCE)
            if curvature is None:
                self.curvature = _curvature(now, up, down, values[9:].T)
            else:
                self.curvature = np.broadcast_to(curvature, self.curvature.shape)
            value, vector = np.linalg.eigh(-self.curvature)
            inner = np.einsum("gij,gi->gj", vector, gradient) / np.maximum(value, LEAST_CURVATURE)
            step = np.einsum("gij,gj->gi", vector, inner)
            farthest = np.abs(step / DIFFERENCE).max(axis=1)
            step *= np.minimum(1.0, FARTHEST_STEP / np.maximum(farthest, 1e-12))[:, None]
            self._advance(worth, step, now)
            if float(farthest.max()) < NEAR_STEP:
                break

    def _advance(self, worth: "ThetaEvidence", step: Floats, now: Floats) -> None:
        is_open = np.ones(now.size, dtype=np.bool_)
        for _ in range(MOST_SHORTENINGS):
            then = worth.at((self.free + np.where(is_open[:, None], step, 0.0))[None])[0]
            is_better = is_open & (then >= now)
            self.free = np.where(is_better[:, None], self.free + step, self.free)
            is_open &= ~is_better
            if not is_open.any():
                break
            step = 0.4 * step


def _design() -> Floats:
    """Return where differences are taken, in difference steps: here, up, down, then pairs both ways."""
    unit = np.eye(4)
    pairs = [unit[i] + unit[j] for i in range(4) for j in range(i)]
    return np.concatenate([np.zeros((1, 4)), unit, -unit, pairs, np.negative(pairs)])


_DESIGN = _design()
_N_SLOPE = 9


def _curvature(now: Floats, up: Floats, down: Floats, both: Floats) -> Floats:
    """Return second differences, shape (n_groups, 4, 4), from values at the design."""
    curvature = np.empty((now.size, 4, 4))
    pairs = [(i, j) for i in range(4) for j in range(i)]
    for i in range(4):
        curvature[:, i, i] = (up[:, i] - 2.0 * now + down[:, i]) / DIFFERENCE[i] ** 2
    for k, (i, j) in enumerate(pairs):
        mixed = (
            both[:, k] + both[:, k + len(pairs)] - up[:, i] - up[:, j] - down[:, i] - down[:, j] + 2.0 * now
        )
        curvature[:, i, j] = curvature[:, j, i] = mixed / (2.0 * DIFFERENCE[i] * DIFFERENCE[j])
    return curvature


@dataclass(frozen=True, slots=True)
class ThetaEvidence:
    """Summed log evidence of groups of parts as a function of theta, priors and grids held.

    Attributes
    ----------
    parts : PartBlocks
        Readings of the sampled parts, group after group, as many in each.
    place : GridPlace
        Where their grids sit.
    prior : RatePrior
        Belief about the rate of each of them.
    law : WearLaw
        Gross errors and scale of the rate.
    belief : ThetaPrior
        Belief about theta.
    n_groups : int
        Number of groups, [-].
    """

    parts: PartBlocks
    place: GridPlace
    prior: RatePrior
    law: WearLaw
    belief: ThetaPrior
    n_groups: int
    repeated: dict[tuple[int, int], ReadingColumns] = field(default_factory=dict)

    def at(self, points: Floats) -> Floats:
        """Return the sums at several guesses, shape (n_guesses, n_groups), up to a constant of each group.

        Parameters
        ----------
        points : ndarray of float, shape (n_guesses, n_groups, 4)
            Guesses on the scale on which theta is fitted, [-].
        """
        sums = self.belief.log_densities(points)
        each = self.parts.count.size // self.n_groups
        for number, (rows, columns) in enumerate(zip(self.parts.rows, self.parts.columns, strict=True)):
            group = rows // each
            at_once = max(BLOCK_PARTS // rows.size, 1)
            for begin in range(0, points.shape[0], at_once):
                guesses = points[begin : begin + at_once]
                times = guesses.shape[0]
                # Small families: many guesses go through the filter as one set of rows.
                stacked = self.repeated.setdefault((number, times), columns.repeated(times))
                evidence = self._rows(stacked, rows, guesses[:, group].reshape(-1, 4), times)
                index = (np.arange(times)[:, None] * self.n_groups + group).ravel()
                total = np.bincount(index, evidence, minlength=times * self.n_groups)
                sums[begin : begin + times] += total.reshape(times, self.n_groups)
        return sums

    def _rows(self, columns: ReadingColumns, rows: Ints, free: Floats, times: int) -> Floats:
        place, prior = self.place.take(rows), self.prior.take(rows)
        node = place.centre + place.scale * _FITTING_T[:, None]
        held = -0.5 * ((node - prior.mean) / prior.sd) ** 2
        rate = node_rates(node, self.law)
        theta = ThetaRows(
            offset=free[:, 0].copy(),
            offset_variance=np.exp(2.0 * free[:, 1]),
            process=np.exp(free[:, 2]),
            error_square=np.exp(2.0 * free[:, 3]),
        )
        logs, _, _ = filter_columns(columns, theta, np.tile(rate, times), self.law.gross)
        logs += np.tile(held, times)
        greatest = logs.max(axis=0)
        logs -= greatest
        weight = np.exp(logs, out=logs)
        weight[[0, -1]] *= 0.5
        return np.asarray(greatest + np.log(weight.sum(axis=0)), dtype=np.float64)


_FITTING_T = np.linspace(-FITTING_SPAN, FITTING_SPAN, FITTING_NODES)


def fitted_theta(
    table: ReadingTable, prior: RatePrior, place: GridPlace, law: WearLaw, belief: ThetaPrior
) -> Theta:
    """Return theta after two Newton steps towards the greatest evidence, priors and grids held.

    Parameters
    ----------
    table : ReadingTable
        Readings of the sampled parts, straightened scale.
    prior : RatePrior
        Belief about the rate of each of them.
    place : GridPlace
        Where their grids sit.
    law : WearLaw
        Where theta starts from.
    belief : ThetaPrior
        Belief about theta.

    Returns
    -------
    Theta
        Never less likely than where it started.
    """
    fit = ThetaFit.at([law.theta])
    fit.climb(ThetaEvidence(PartBlocks.of([table], [law]), place, prior, law, belief, 1), 2)
    return fit.thetas()[0]
