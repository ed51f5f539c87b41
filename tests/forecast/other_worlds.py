"""Fleets that wear by eight laws: the model's own and seven others; true paths, readings, removals.

None of them knows the forecast: wear is followed in small steps of the part's usual wear, whatever the law.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from wearlog.forecast.family import FamilyData
from wearlog.forecast.readings import ReadingTable

#: Parts with a finished or running history by cell, and parts to be forecast in each cell.
HISTORY = (1, 3, 10, 30, 60, 100)
EACH = 30
STEP = 0.01
N_STEPS = 400
VISITS = 60
NAN, INF = np.nan, np.inf
EDGES = np.array([-INF, 0.5, 0.75, 1.0, INF])


@dataclass(frozen=True)
class World:
    """A law of wear, and how well it is read."""

    name: str
    path: Callable[[np.random.Generator, np.ndarray], tuple[np.ndarray, np.ndarray]]
    is_normal: bool = False
    riders: float = 0.0
    gross: float = 0.01
    gauges: float = 0.10
    degrees: float = INF


def _steps(
    rng: np.random.Generator, rate: np.ndarray, pace: np.ndarray, process: float
) -> tuple[np.ndarray, np.ndarray]:
    """Return distance and wear at each step, where `pace` is the speed of wear against the usual."""
    gained = STEP * pace
    noise = rng.normal(0.0, 1.0, gained.shape) * np.sqrt(process * gained)
    wear = rng.normal(0.05, 0.06, rate.size)[:, None] + _from_zero(gained + noise)
    return _from_zero(np.broadcast_to((STEP / rate)[:, None], gained.shape)), wear


def _from_zero(steps: np.ndarray) -> np.ndarray:
    return np.concatenate([np.zeros((steps.shape[0], 1)), np.cumsum(steps, axis=1)], axis=1)


def own(rng, rate):
    return _steps(rng, rate, np.ones((rate.size, N_STEPS)), 0.015)


def straight(rng, rate):
    return _steps(rng, rate, np.ones((rate.size, N_STEPS)), 0.0)


def gamma(rng, rate):
    x, _ = _steps(rng, rate, np.ones((rate.size, N_STEPS)), 0.0)
    gained = rng.gamma(STEP / 0.015, 0.015, (rate.size, N_STEPS))
    return x, rng.normal(0.05, 0.06, rate.size)[:, None] + _from_zero(gained)


def seasons(rng, rate):
    """Twenty km a day: a year is 7300 km. Lubrication wanders, and the chain beds in over 500 km."""
    x = _from_zero(np.broadcast_to((STEP / rate)[:, None], (rate.size, N_STEPS)))
    season = 1.0 + 0.5 * np.sin(2.0 * np.pi * (x[:, :-1] / 7.3 + rng.random(rate.size)[:, None]))
    wander = np.empty((rate.size, N_STEPS))
    wander[:, 0] = rng.normal(0.0, 0.3, rate.size)
    keep = np.exp(-STEP / 0.3)
    for k in range(1, N_STEPS):
        wander[:, k] = keep * wander[:, k - 1] + 0.3 * np.sqrt(1.0 - keep**2) * rng.normal(0, 1, rate.size)
    x, wear = _steps(rng, rate, season * np.exp(wander - 0.045), 0.003)
    return x, wear - 0.05 * np.exp(-x / 0.5)


def changes(rng, rate):
    is_change = rng.random((rate.size, N_STEPS)) < 0.7 * STEP
    factor = np.where(is_change, rng.normal(0.0, 0.45, is_change.shape), 0.0)
    return _steps(rng, rate, np.exp(np.cumsum(factor, axis=1)), 0.005)


def acceleration(rng, rate):
    x, wear = _steps(rng, rate, np.ones((rate.size, N_STEPS)), 0.01)
    above = np.maximum(wear - 0.5, 0.0)
    # du/ds = 1 + 1.8 (u - 0.5) past one half, solved: an exponential from there on.
    return x, np.where(wear > 0.5, 0.5 + np.expm1(np.minimum(1.8 * above, 20.0)) / 1.8, wear)


def concave(rng, rate):
    x, wear = _steps(rng, rate, np.ones((rate.size, N_STEPS)), 0.01)
    return 5.0 * (x / 5.0) ** (1.0 / 0.75), wear


WORLDS = (
    World("own law", own),
    World("straight, normal rates", straight, is_normal=True),
    World("gamma process", gamma),
    World("seasons", seasons),
    World("sudden changes", changes),
    World("acceleration", acceleration),
    World("gross errors, gauges", gamma, riders=0.4, gross=0.04, gauges=0.25, degrees=4.0),
    World("concave", concave),
)


@dataclass(frozen=True)
class Parts:
    """Parts to be forecast: all readings of their lives, how many are seen, and how many before removal."""

    cell: np.ndarray
    full: ReadingTable
    seen: np.ndarray
    off: np.ndarray
    crossing: np.ndarray


@dataclass(frozen=True)
class Made:
    """A shop's history, parts met in service at a moment, and new parts to be followed from the first day."""

    history: FamilyData
    met: Parts
    new: Parts


def make(world: World, seed: int) -> Made:
    """Return a shop's history, parts in service at a moment that knows nothing of wear, and new parts.

    The parts met at a moment are no fair sample of all parts, long lives are met more often; hence they are
    kept out of the history that the shop learns from.
    """
    rng = np.random.default_rng(seed)
    cell_mean = np.log(0.16) + rng.normal(0.0, 0.35, len(HISTORY))
    candidates = 6 * EACH
    cell = np.repeat(np.arange(len(HISTORY)), np.array(HISTORY) + candidates)
    is_candidate = np.concatenate([np.arange(n + candidates) >= n for n in HISTORY])
    n = cell.size
    spread = rng.normal(0.0, 1.0, n)
    if world.is_normal:
        rate = np.exp(cell_mean[cell]) * np.maximum(1.0 + 0.35 * spread, 0.15)
    else:
        rate = np.exp(cell_mean[cell] + 0.45 * spread + world.riders * rng.choice([-1.0, 1.0], n))
    path_x, wear = world.path(rng, rate)
    crossing = _crossing(path_x, wear)

    visit = np.cumsum(0.1 + np.abs(rng.normal(1.0, 0.4, (n, VISITS))), axis=1)
    is_read = (rng.random(visit.shape) > 0.15) & (visit < path_x[:, -1:])
    true = np.array([np.interp(visit[k], path_x[k], wear[k]) for k in range(n)])
    r = rng.uniform(0.04, 0.20, visit.shape)
    error = rng.normal(0, 1, r.shape)
    if world.degrees < INF:
        error = rng.standard_t(world.degrees, r.shape) / np.sqrt(world.degrees / (world.degrees - 2.0))
    y = true + r * error + np.where(rng.random(r.shape) < world.gross, rng.normal(0, 0.7, r.shape), 0.0)
    is_gauge = rng.random(r.shape) < world.gauges
    step = np.digitize(true + 0.05 * rng.normal(0, 1, r.shape), EDGES[1:-1])
    is_over = is_read & (np.where(is_gauge, EDGES[step], y) >= 1.0)
    off = np.where(is_over.any(axis=1), np.argmax(is_over, axis=1), VISITS - 1)
    early = rng.integers(0, np.maximum(off, 1))
    off = np.where(rng.random(n) < 0.4, np.minimum(early, off), off)
    off_x = visit[np.arange(n), off]

    # At a moment a part is the more likely to be met the longer it runs.
    met, new = [], []
    for one in range(len(HISTORY)):
        of = np.flatnonzero(is_candidate & (cell == one))
        new.append(rng.choice(of, EACH, replace=False))
        met.append(rng.choice(of, EACH, replace=False, p=off_x[of] / off_x[of].sum()))
    part = np.repeat(np.arange(n), VISITS).reshape(-1, VISITS)
    full = ReadingTable.from_columns(
        n,
        part[is_read],
        visit[is_read],
        np.where(is_gauge, 0.05, r)[is_read],
        y=np.where(is_gauge, NAN, y)[is_read],
        lo=np.where(is_gauge, EDGES[step], NAN)[is_read],
        hi=np.where(is_gauge, EDGES[step + 1], NAN)[is_read],
    )
    seen = (full.is_reading & (full.x <= (off_x * rng.random(n))[:, None])).sum(axis=1)
    in_life = (full.is_reading & (full.x <= off_x[:, None])).sum(axis=1)

    def parts(chosen: np.ndarray) -> Parts:
        return Parts(cell[chosen], full.take(chosen), seen[chosen], in_life[chosen], crossing[chosen])

    old = np.flatnonzero(~is_candidate)
    known = full.take(old).until(in_life[old])
    history = FamilyData(known, cell[old], np.full(len(HISTORY), np.log(0.16)))
    return Made(history, parts(np.concatenate(met)), parts(np.concatenate(new)))


def _crossing(x: np.ndarray, wear: np.ndarray) -> np.ndarray:
    highest = np.maximum.accumulate(wear, axis=1)
    k = np.argmax(highest >= 1.0, axis=1)
    k = np.where(highest[:, -1] >= 1.0, np.maximum(k, 1), x.shape[1] - 1)
    row = np.arange(x.shape[0])
    low, high = highest[row, k - 1], highest[row, k]
    share = np.clip((1.0 - low) / np.maximum(high - low, 1e-12), 0.0, 1.0)
    return x[row, k - 1] + share * (x[row, k] - x[row, k - 1])
