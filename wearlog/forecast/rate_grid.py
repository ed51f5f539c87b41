"""The rate of each part integrated out on a small grid that finds its own place."""

from dataclasses import dataclass

import numpy as np

from wearlog.forecast.filter import filter_wear
from wearlog.forecast.law import RatePrior, WearLaw
from wearlog.forecast.readings import Bools, Floats, Ints, ReadingTable

#: Parts worked on at a time, so that the arrays stay in the cache.
BLOCK_PARTS = 2000
#: Nodes and half width (in standard deviations) while fitting and for what is shown.
FITTING_NODES, FITTING_SPAN = 13, 4.2
SHOWN_NODES, SHOWN_SPAN = 17, 4.5
COARSE_NODES, COARSE_SPAN = 19, 4.5
#: An end node heavier than this means that the grid sits badly.
HEAVIEST_END = 2e-4
LOG_2_PI = float(np.log(2.0 * np.pi))


@dataclass(frozen=True, slots=True)
class GridPlace:
    """Where the grid of each part sits.

    Attributes
    ----------
    centre, scale : ndarray of float, shape (n_parts,)
        Middle and standard deviation that the grid is laid out by, of ln rate, [-].
    """

    centre: Floats
    scale: Floats

    def take(self, parts: Ints | slice) -> "GridPlace":
        """Return the places of some of the parts.

        Parameters
        ----------
        parts : ndarray of int or slice
            Indices of the parts, [-].
        """
        return GridPlace(self.centre[parts], self.scale[parts])


@dataclass(frozen=True, slots=True)
class RateGrid:
    """Rate and wear of n parts after their readings, on K nodes of the rate.

    Attributes
    ----------
    log_evidence : ndarray of float, shape (n_parts,)
        Log of the chance density of the part's readings, [-].
    place : GridPlace
        Where the grid sat.
    node : ndarray of float, shape (n_parts, n_nodes)
        ln rate (or rate, see `WearLaw.rate_scale`), [-].
    weight : ndarray of float, shape (n_parts, n_nodes)
        Posterior weight of the node, sums to 1, [-].
    mean, variance : ndarray of float, shape (n_parts, n_nodes)
        Moments of wear at the last reading given the node, straightened scale, [-].
    node_mean, node_variance : ndarray of float, shape (n_parts,)
        Posterior moments of the node variable, [-].
    """

    log_evidence: Floats
    place: GridPlace
    node: Floats
    weight: Floats
    mean: Floats
    variance: Floats
    node_mean: Floats
    node_variance: Floats


def integrate_rate(
    table: ReadingTable,
    prior: RatePrior,
    law: WearLaw,
    place: GridPlace | None = None,
    nodes: int = SHOWN_NODES,
    span: float = SHOWN_SPAN,
    passes: int = 6,
    share: Floats | None = None,
    block: int = BLOCK_PARTS,
) -> RateGrid:
    """Return rate and wear of each part after its readings.

    Parameters
    ----------
    table : ReadingTable
        Readings on the straightened scale.
    prior : RatePrior
        Belief about ln rate before them.
    law : WearLaw
        The family's numbers.
    place : GridPlace, optional
        Where the grid sat the last time; without it a coarse pass finds a place.
    nodes : int
        Number of nodes, [-].
    span : float
        Half width of the grid, [standard deviations].
    passes : int
        Greatest number of passes over parts whose grid sits badly, [-].
    share : ndarray of float, shape (n_parts, n_readings), optional
        Share of gross errors of each reading where it differs from the law's, [-].
    block : int
        Parts worked on at a time, [-].

    Returns
    -------
    RateGrid
        Weights, nodes and moments.
    """
    n_parts = len(table)
    parts = np.arange(n_parts)
    pieces = [
        _integrate_block(
            table.take(rows) if n_parts > block else table,
            prior.take(rows),
            law,
            None if place is None else place.take(rows),
            np.linspace(-span, span, nodes),
            passes,
            None if share is None else share[rows],
        )
        for rows in (parts[start : start + block] for start in range(0, max(n_parts, 1), block))
    ]
    return pieces[0] if len(pieces) == 1 else _joined(pieces)


def node_rates(node: Floats, law: WearLaw) -> Floats:
    """Return the rates at the nodes, [allowance per 1000 km or 100 h].

    Parameters
    ----------
    node : ndarray of float
        ln rate, or the rate itself where the law says so, [-].
    law : WearLaw
        The family's numbers.
    """
    return np.exp(node) if law.rate_scale == "log" else node


def _integrate_block(
    table: ReadingTable,
    prior: RatePrior,
    law: WearLaw,
    place: GridPlace | None,
    t: Floats,
    passes: int,
    share: Floats | None,
) -> RateGrid:
    if place is None:
        coarse = grid_pass(
            table,
            prior,
            law,
            GridPlace(prior.mean, prior.sd),
            np.linspace(-COARSE_SPAN, COARSE_SPAN, COARSE_NODES),
            share,
        )
        sd = np.sqrt(np.maximum(coarse.node_variance, 1e-12))
        place = GridPlace(coarse.node_mean, np.maximum(sd, 0.25 * prior.sd))
    grid = grid_pass(table, prior, law, place, t, share)
    for _ in range(passes - 1):
        rows, better = _better_place(grid, prior)
        if not rows.size:
            break
        again = grid_pass(
            table.take(rows),
            prior.take(rows),
            law,
            better,
            t,
            None if share is None else share[rows, : max(int(table.count[rows].max(initial=0)), 1)],
        )
        _replace_rows(grid, rows, again)
    return grid


def grid_pass(
    table: ReadingTable,
    prior: RatePrior,
    law: WearLaw,
    place: GridPlace,
    t: Floats,
    share: Floats | None = None,
) -> RateGrid:
    """Return rate and wear of each part on a grid that stays where it is put.

    Parameters
    ----------
    table : ReadingTable
        Readings on the straightened scale.
    prior : RatePrior
        Belief about ln rate before them.
    law : WearLaw
        The family's numbers.
    place : GridPlace
        Where the grid sits.
    t : ndarray of float, shape (n_nodes,)
        Nodes around the centre, evenly spaced, [standard deviations].
    share : ndarray of float, shape (n_parts, n_readings), optional
        Share of gross errors of each reading where it differs from the law's, [-].
    """
    node = place.centre[:, None] + place.scale[:, None] * t
    filtered = filter_wear(table, node_rates(node, law), law, share)
    logs = filtered.log_likelihood - 0.5 * ((node - prior.mean[:, None]) / prior.sd[:, None]) ** 2
    greatest = logs.max(axis=1, keepdims=True)
    weight = np.exp(logs - greatest)
    weight[:, [0, -1]] *= 0.5
    total = weight.sum(axis=1)
    log_evidence = (
        greatest[:, 0] + np.log(total * (t[1] - t[0]) * place.scale) - np.log(prior.sd) - 0.5 * LOG_2_PI
    )
    # Without readings there is no evidence; the rule itself misses a part in 100,000 outside its ends.
    log_evidence[table.count == 0] = 0.0
    weight /= total[:, None]
    node_mean = (weight * node).sum(axis=1)
    node_variance = (weight * (node - node_mean[:, None]) ** 2).sum(axis=1)
    return RateGrid(
        log_evidence, place, node, weight, filtered.mean, filtered.variance, node_mean, node_variance
    )


def _better_place(grid: RateGrid, prior: RatePrior) -> tuple[Ints, GridPlace]:
    """Return the parts whose grid sits badly, and where to lay it next."""
    sd = np.sqrt(np.maximum(grid.node_variance, 1e-12))
    relative = sd / grid.place.scale
    # The trapezoid rule has halved the end weights; what counts is the height of the curve there.
    is_heavy: Bools = 2.0 * np.maximum(grid.weight[:, 0], grid.weight[:, -1]) > HEAVIEST_END
    is_bad = (
        (np.abs(grid.node_mean - grid.place.centre) > 0.4 * sd)
        | (relative < 0.7)
        | (relative > 1.25)
        | is_heavy
    )
    rows = np.flatnonzero(is_bad)
    scale = np.where(is_heavy[rows], 1.3, 1.0) * sd[rows]
    least = np.minimum(0.01, 0.05 * prior.sd[rows])
    return rows, GridPlace(grid.node_mean[rows], np.clip(scale, least, 3.0 * prior.sd[rows]))


def _replace_rows(grid: RateGrid, rows: Ints, again: RateGrid) -> None:
    grid.place.centre[rows] = again.place.centre
    grid.place.scale[rows] = again.place.scale
    for name in ("log_evidence", "node", "weight", "mean", "variance", "node_mean", "node_variance"):
        getattr(grid, name)[rows] = getattr(again, name)


def _joined(pieces: list[RateGrid]) -> RateGrid:
    def join(name: str) -> Floats:
        return np.concatenate([getattr(piece, name) for piece in pieces])

    return RateGrid(
        log_evidence=join("log_evidence"),
        place=GridPlace(
            np.concatenate([piece.place.centre for piece in pieces]),
            np.concatenate([piece.place.scale for piece in pieces]),
        ),
        node=join("node"),
        weight=join("weight"),
        mean=join("mean"),
        variance=join("variance"),
        node_mean=join("node_mean"),
        node_variance=join("node_variance"),
    )
