"""The rate of each part integrated out on a small grid that finds its own place."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wearlog.forecast.columns import ReadingColumns, ThetaRows, joined_columns
from wearlog.forecast.filter import filter_columns
from wearlog.forecast.law import RatePrior, WearLaw
from wearlog.forecast.readings import Bools, Floats, Ints, ReadingTable

#: Parts worked on at a time, so that the arrays stay in the cache.
BLOCK_PARTS = 2000
#: Nodes and half width (in standard deviations) while fitting and for what is shown. Nine nodes a little more
#: than one standard deviation apart leave 1e-5 of a normal peak out, most of it beyond the ends.
FITTING_NODES, FITTING_SPAN = 9, 4.2
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


@dataclass(frozen=True, slots=True)
class PartBlocks:
    """Readings of parts cut into blocks of parts read about as often, ready for one pass after the other.

    Attributes
    ----------
    count : ndarray of int, shape (n_parts,)
        Readings of each part, [-].
    rows : tuple of ndarray of int
        Which parts each block holds, [-].
    columns : tuple of ReadingColumns
        Readings of each block.
    """

    count: Ints
    rows: tuple[Ints, ...]
    columns: tuple[ReadingColumns, ...]

    @classmethod
    def of(
        cls,
        tables: Sequence[ReadingTable],
        laws: Sequence[WearLaw],
        share: Floats | None = None,
        block: int = BLOCK_PARTS,
    ) -> "PartBlocks":
        """Return the blocks of one set of parts, or of the same parts straightened in several ways.

        Parameters
        ----------
        tables : sequence of ReadingTable
            Readings of the same n parts, each on its straightened scale; parts count on from one to the next.
        laws : sequence of WearLaw
            Path, bedding-in and gross errors of each; theta does not matter.
        share : ndarray of float, shape (n_parts, n_readings), optional
            Share of gross errors of each reading where it differs from the law's, [-].
        block : int
            Parts worked on at a time, [-].
        """
        n = len(tables[0])
        order = np.argsort(tables[0].count, kind="stable") if n > block else np.arange(n)
        pieces = [order[start : start + block] for start in range(0, n, block)]
        rows, columns = [], []
        for k, (table, law) in enumerate(zip(tables, laws, strict=True)):
            for piece in pieces:
                taken = table if piece.size == n and n <= block else table.take(piece)
                own = None if share is None else share[piece, : taken.x.shape[1]]
                rows.append(piece + k * n)
                columns.append(ReadingColumns.of(taken, law, own))
        if len(pieces) == 1:
            rows, columns = _merged(rows, columns, max(block // n, 1))
        return cls(np.tile(tables[0].count, len(tables)), tuple(rows), tuple(columns))


def _merged(
    rows: list[Ints], columns: list[ReadingColumns], at_once: int
) -> tuple[list[Ints], list[ReadingColumns]]:
    begins = range(0, len(rows), at_once)
    return (
        [np.concatenate(rows[begin : begin + at_once]) for begin in begins],
        [joined_columns(columns[begin : begin + at_once]) for begin in begins],
    )


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
    parts = PartBlocks.of([table], [law], share, block)
    theta = ThetaRows.of([law.theta], len(table))
    t = np.linspace(-span, span, nodes)
    return integrate_blocks(parts, theta, prior, law, place, t, passes)


def integrate_blocks(
    parts: PartBlocks,
    theta: ThetaRows,
    prior: RatePrior,
    law: WearLaw,
    place: GridPlace | None,
    t: Floats,
    passes: int,
) -> RateGrid:
    """Return rate and wear of each part, where readings are laid out already and theta differs by part.

    Parameters
    ----------
    parts : PartBlocks
        Readings of n parts.
    theta : ThetaRows
        Theta of each part.
    prior : RatePrior
        Belief about ln rate before them.
    law : WearLaw
        Gross errors and scale of the rate; its theta does not matter.
    place : GridPlace, optional
        Where the grid sat the last time; without it a coarse pass finds a place.
    t : ndarray of float, shape (n_nodes,)
        Nodes around the centre, evenly spaced, [standard deviations].
    passes : int
        Greatest number of passes over parts whose grid sits badly, [-].
    """
    n, k = parts.count.size, t.size
    whole = RateGrid(
        log_evidence=np.zeros(n),
        place=GridPlace(np.empty(n), np.empty(n)),
        node=np.empty((k, n)).T,
        weight=np.empty((k, n)).T,
        mean=np.empty((k, n)).T,
        variance=np.empty((k, n)).T,
        node_mean=np.empty(n),
        node_variance=np.empty(n),
    )
    for rows, columns in zip(parts.rows, parts.columns, strict=True):
        block = _Block(columns, theta.take(rows), prior.take(rows), parts.count[rows], law)
        _integrate_block(block, whole, rows, None if place is None else place.take(rows), t, passes)
    return whole


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


@dataclass(frozen=True, slots=True)
class _Block:
    """Parts worked on at a time: their readings, theta and prior."""

    columns: ReadingColumns
    theta: ThetaRows
    prior: RatePrior
    count: Ints
    law: WearLaw

    def take(self, rows: Ints) -> "_Block":
        return _Block(
            self.columns.take(rows), self.theta.take(rows), self.prior.take(rows), self.count[rows], self.law
        )


def _integrate_block(
    block: _Block, whole: RateGrid, rows: Ints, place: GridPlace | None, t: Floats, passes: int
) -> None:
    if place is None:
        coarse = _grid_pass(
            block,
            GridPlace(block.prior.mean, block.prior.sd),
            np.linspace(-COARSE_SPAN, COARSE_SPAN, COARSE_NODES),
        )
        sd = np.sqrt(np.maximum(coarse.node_variance, 1e-12))
        place = GridPlace(coarse.node_mean, np.maximum(sd, 0.25 * block.prior.sd))
    for _ in range(passes):
        grid = _grid_pass(block, place, t)
        _write_rows(whole, rows, grid)
        again, place = _better_place(grid, block.prior)
        if not again.size:
            break
        block, rows = block.take(again), rows[again]


def _grid_pass(block: _Block, place: GridPlace, t: Floats) -> RateGrid:
    """Return rate and wear of each part on a grid that stays where it is put."""
    prior = block.prior
    node = place.centre + place.scale * t[:, None]
    logs, mean, variance = filter_columns(
        block.columns, block.theta, node_rates(node, block.law), block.law.gross
    )
    logs -= 0.5 * ((node - prior.mean) / prior.sd) ** 2
    greatest = logs.max(axis=0)
    weight = np.exp(logs - greatest)
    weight[[0, -1]] *= 0.5
    total = weight.sum(axis=0)
    log_evidence = greatest + np.log(total * (t[1] - t[0]) * place.scale / prior.sd) - 0.5 * LOG_2_PI
    # Without readings there is no evidence; the rule itself misses a part in 100,000 outside its ends.
    log_evidence[block.count == 0] = 0.0
    weight /= total
    node_mean = (weight * node).sum(axis=0)
    node_variance = (weight * (node - node_mean) ** 2).sum(axis=0)
    return RateGrid(log_evidence, place, node.T, weight.T, mean.T, variance.T, node_mean, node_variance)


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


def _write_rows(whole: RateGrid, rows: Ints, grid: RateGrid) -> None:
    whole.place.centre[rows] = grid.place.centre
    whole.place.scale[rows] = grid.place.scale
    for name in ("log_evidence", "node_mean", "node_variance"):
        getattr(whole, name)[rows] = getattr(grid, name)
    for name in ("node", "weight", "mean", "variance"):
        getattr(whole, name).T[:, rows] = getattr(grid, name).T
