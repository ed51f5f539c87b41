"""What was tried against acceleration not seen yet and against the rogue part; prints tables.

Run with ``python -m tests.benchmarks.bench_remedies [shops]``; six shops of each size in each world take some
minutes. The score is the continuous ranked probability score of the logarithm of the distance at the limit:
dividing the plain score by the true distance would reward forecasts that are early.
"""

import sys
import time
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from tests.forecast.other_worlds import N_STEPS, WORLDS, World, _steps, make
from tests.forecast.worlds import SHOP_PRIOR, laser_readings, published
from wearlog.forecast.crossing import crossing_cdf
from wearlog.forecast.family import FamilyData, FamilyFit, fit_family
from wearlog.forecast.law import RatePrior
from wearlog.forecast.posterior import part_posterior
from wearlog.forecast.prior import FamilyPrior, ThetaPrior
from wearlog.forecast.readings import ReadingTable
from wearlog.forecast.shape import STRAIGHT, PathShape

SHAPES = {
    "straight": STRAIGHT,
    "late 0.75": PathShape(onset=0.6, acceleration=0.75),
    "late 1.5": PathShape(onset=0.6, acceleration=1.5),
    "late 3": PathShape(onset=0.6, acceleration=3.0),
    "power 0.5": PathShape(power=0.5),
    "power 0.7": PathShape(power=0.7),
    "power 0.85": PathShape(power=0.85),
    "early 1": PathShape(acceleration=1.0),
    "early 4": PathShape(acceleration=4.0),
}
#: Weights before the readings when paths are averaged; the rest is on the straight line.
BENT = {
    "late 0.75": 0.24,
    "late 1.5": 0.24,
    "late 3": 0.08,
    "power 0.5": 0.05,
    "power 0.7": 0.10,
    "power 0.85": 0.19,
    "early 1": 0.07,
    "early 4": 0.03,
}
METHODS = (
    "straight",
    "bent from 30 parts",
    "bent from 10 parts",
    "averaged, 10 % bent",
    "averaged, 30 % bent",
    "shrunken, 10 % bent",
    "shrunken, 30 % bent",
    "late path always",
    "heavy-tailed rate",
)
LAWS = ("own law", "rogue parts", "seasons", "sudden changes", "acceleration", "concave")
SIZES, COUNTS = (6, 15, 29, 60), (0, 1, 2, 4)
FAR = np.geomspace(1e-3, 1.0, 220) * 80.0
#: Share of parts whose rate is spread twice as wide, in the heavy-tailed law.
HEAVY = 0.1


def rogue(rng: np.random.Generator, rate: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """One part in twenty wears four times as fast as its cell says."""
    fast = rate * np.where(rng.random(rate.size) < 0.05, 4.0, 1.0)
    return _steps(rng, fast, np.ones((rate.size, N_STEPS)), 0.015)


@dataclass(frozen=True)
class Told:
    """Chances of some parts to be past by each distance, and how well the path explains each part."""

    x: np.ndarray
    chance: np.ndarray
    log_evidence: np.ndarray


def told(fit: FamilyFit, table: ReadingTable, prior: RatePrior, heavy: float = 0.0) -> Told:
    """Return the forecasts of parts by a fit, perhaps with a share of the rates spread wider."""
    jacobian = fit.law.shape.log_jacobian(table)
    each = []
    for wider in (1.0, 2.0) if heavy else (1.0,):
        after = part_posterior(table, RatePrior(prior.mean, prior.sd * wider), fit.law)
        x = after.x_last[:, None] + FAR
        each.append(Told(x, crossing_cdf(after, x), after.log_evidence + jacobian))
    return each[0] if not heavy else mixed(each, np.log([1.0 - heavy, heavy]))


def mixed(each: list[Told], log_weight: np.ndarray) -> Told:
    """Return forecasts mixed by weights and by how well each explains the part."""
    log_w = log_weight[:, None] + np.array([one.log_evidence for one in each])
    top = log_w.max(axis=0)
    weight = np.exp(log_w - top)
    total = weight.sum(axis=0)
    chance = np.einsum("kn,knx->nx", weight / total, np.array([one.chance for one in each]))
    return Told(each[0].x, chance, top + np.log(total))


def all_methods(
    fits: Mapping[str, FamilyFit], evidence: Mapping[str, float], n_parts: int, table: ReadingTable, cell
) -> dict[str, Told]:
    """Return the forecasts by each method."""
    by_shape = {}
    for name, fit in fits.items():
        cells = [fit.new_part_prior(one) for one in range(int(cell.max()) + 1)]
        prior = RatePrior(
            *(np.array([getattr(one, what)[0] for one in cells])[cell] for what in ("mean", "sd"))
        )
        by_shape[name] = told(fit, table, prior)
        if name == "straight":
            heavy = told(fit, table, prior, HEAVY)
    best = max(evidence, key=lambda name: evidence[name])

    def switched(least_parts: int) -> Told:
        is_clear = evidence[best] > evidence["straight"] + 10.0
        return by_shape[best if n_parts >= least_parts and is_clear else "straight"]

    def averaged(bent: float) -> Told:
        weight = weights(bent, evidence)
        return mixed([by_shape[name] for name in weight], np.log(np.maximum(list(weight.values()), 1e-300)))

    return {
        "straight": by_shape["straight"],
        "bent from 30 parts": switched(30),
        "bent from 10 parts": switched(10),
        "averaged, 10 % bent": averaged(0.1),
        "averaged, 30 % bent": averaged(0.3),
        "late path always": by_shape["late 0.75"],
        "shrunken, 10 % bent": by_shape["shrunken 0.1" if n_parts >= 10 else "straight"],
        "shrunken, 30 % bent": by_shape["shrunken 0.3" if n_parts >= 10 else "straight"],
        "heavy-tailed rate": heavy,
    }


def weights(bent: float, evidence: Mapping[str, float]) -> dict[str, float]:
    """Return the weight of each path after the readings of the shop."""
    before = {name: bent * BENT[name] if name in BENT else 1.0 - bent for name in SHAPES}
    top = max(evidence.values())
    raw = {name: before[name] * float(np.exp(evidence[name] - top)) for name in SHAPES}
    return {name: one / sum(raw.values()) for name, one in raw.items()}


def shrunken(bent: float, evidence: Mapping[str, float], pivot: float) -> PathShape:
    """Return the mean path: of the likeliest kind, bent as far as the readings and the prior weights say."""
    weight = weights(bent, evidence)
    kinds = {kind: [name for name in SHAPES if name.startswith(kind)] for kind in ("late", "early", "power")}
    kind = max(kinds, key=lambda one: sum(weight[name] for name in kinds[one]))
    if kind == "power":
        power = sum(weight[name] * np.log(SHAPES[name].power) for name in kinds[kind])
        return PathShape(power=float(np.exp(power)), pivot=pivot)
    acceleration = sum(weight[name] * SHAPES[name].acceleration for name in kinds[kind])
    return PathShape(onset=SHAPES[kinds[kind][0]].onset, acceleration=acceleration, pivot=pivot)


def scores(found: Told, truth: np.ndarray) -> np.ndarray:
    """Return a row a part: score, chance given to the truth, ln error of the middle, early tenth passed."""
    ahead = truth > found.x[:, 0]
    x, chance, truth = found.x[ahead], found.chance[ahead], truth[ahead]
    log_x = np.log(x)
    miss = (chance - (x >= truth[:, None])) ** 2
    score = (0.5 * (miss[:, 1:] + miss[:, :-1]) * np.diff(log_x, axis=1)).sum(axis=1)
    rows = range(truth.size)
    level = np.array([np.interp(truth[k], x[k], chance[k]) for k in rows])
    middle, early = (np.array([np.interp(p, chance[k], x[k]) for k in rows]) for p in (0.5, 0.1))
    return np.column_stack([score, level, np.log(middle / truth), truth < early])


def fitted(data: FamilyData, prior: FamilyPrior) -> tuple[dict[str, FamilyFit], dict[str, float]]:
    """Return the fit on each path, and its log evidence."""
    shapes = {
        name: PathShape(one.power, one.onset, one.acceleration, prior.pivot) for name, one in SHAPES.items()
    }
    fits = {name: fit_family(data, prior, shape=shape) for name, shape in shapes.items()}
    evidence = {
        name: float(fit.posterior.log_evidence.sum() + fit.law.shape.log_jacobian(data.readings).sum())
        for name, fit in fits.items()
    }
    for bent in (0.1, 0.3):
        fits[f"shrunken {bent}"] = fit_family(data, prior, shape=shrunken(bent, evidence, prior.pivot))
    return fits, evidence


def shops(world: World, number: int, n_shops: int, rows: dict[tuple[str, int, int, str], list]) -> None:
    """Add the scores of small shops of one world: the parts are new, and read so many times."""
    for seed in range(n_shops):
        made = make(world, 7000 + 100 * number + seed)
        for n in SIZES:
            chosen = np.sort(np.random.default_rng(seed).choice(204, n, replace=False))
            history = made.history
            data = FamilyData(history.readings.take(chosen), history.cell[chosen], history.engineering_mean)
            fits, evidence = fitted(data, SHOP_PRIOR)
            n_read = int((data.readings.count >= 3).sum())
            for k in COUNTS:
                parts = np.flatnonzero(made.new.off >= k)
                table = made.new.full.take(parts).until(np.full(parts.size, k))
                found = all_methods(fits, evidence, n_read, table, made.new.cell[parts])
                for name, one in found.items():
                    rows[world.name, n, k, name].append(scores(one, made.new.crossing[parts]))


def published_sets() -> dict[str, tuple[tuple[np.ndarray, np.ndarray, np.ndarray], float, FamilyPrior]]:
    """Return unit, x and wear of each published set, with the uncertainty of a reading and the prior."""
    unit, x, increase = laser_readings()
    laser = unit, x, increase * 10.0 / 6.0
    unit, cycles, wear = published("metal_wear.csv", "unit", "cycles", "wear_um")
    metal = unit, cycles / 50.0, wear / 20.0
    unit, megacycles, crack = published("alloy_a_crack.csv", "specimen", "megacycles", "crack_in")
    later = megacycles > 0.0
    alloy = unit[later], megacycles[later] * 100.0, (crack[later] - 0.90) / 0.70
    plain = FamilyPrior(log_rate=float(np.log(0.3)), family_sd=1.0, bedding_distance=0.0)
    return {
        "laser, 6 %": (laser, 0.03, plain),
        "metal, 20 um": (metal, 0.05, plain),
        "alloy, 1.6 in": (
            alloy,
            0.01,
            FamilyPrior(
                log_rate=float(np.log(0.09)),
                family_sd=1.0,
                bedding_distance=0.0,
                theta=ThetaPrior(offset_mean=0.0),
            ),
        ),
    }


def set_scores(columns, r: float, prior: FamilyPrior) -> dict[tuple[float, str], np.ndarray]:
    """Return the scores of each unit forecast from the others, at quarters of its life."""
    unit, x, u = columns
    n = int(unit.max()) + 1
    truth = np.full(n, np.nan)
    for one in range(n):
        xs, highest = x[unit == one], np.maximum.accumulate(u[unit == one])
        k = int(np.argmax(highest >= 1.0))
        if highest[-1] >= 1.0 and k > 0:
            step = (1.0 - highest[k - 1]) / (highest[k] - highest[k - 1])
            truth[one] = xs[k - 1] + step * (xs[k] - xs[k - 1])
    rows = defaultdict(list)
    for one in np.flatnonzero(np.isfinite(truth)):
        others = unit != one
        number = np.where(unit > one, unit - 1, unit)[others]
        table = ReadingTable.from_columns(n - 1, number, x[others], np.full(number.size, r), y=u[others])
        fits, evidence = fitted(FamilyData(table, np.zeros(n - 1, int), np.array([prior.log_rate])), prior)
        for share in (0.25, 0.5, 0.75):
            own_rows = (unit == one) & (x <= share * truth[one])
            seen = ReadingTable.from_columns(
                1, unit[own_rows] * 0, x[own_rows], np.full(int(own_rows.sum()), r), y=u[own_rows]
            )
            found = all_methods(fits, evidence, n - 1, seen, np.zeros(1, int))
            for name, told_ in found.items():
                rows[share, name].append(scores(told_, truth[[one]]))
    return {key: np.concatenate(found) for key, found in rows.items()}


def main(n_shops: int) -> None:
    """Print a table for each number of readings, one for the published sets, and the means."""
    start = time.perf_counter()
    rows: dict[tuple[str, int, int, str], list] = defaultdict(list)
    worlds = [one for one in WORLDS if one.name in LAWS] + [World("rogue parts", rogue)]
    for number, world in enumerate(worlds):
        shops(world, number, n_shops, rows)
    for k in COUNTS:
        say(f"\nAfter {k} readings, all sizes: score, 80 % interval holds, ln bias, passed before its 10 %")
        say(f"{'':16}" + "".join(f"{name:>24}" for name in METHODS))
        for world in worlds:
            cells = [
                line(np.concatenate([np.concatenate(rows[world.name, n, k, m]) for n in SIZES]))
                for m in METHODS
            ]
            say(f"{world.name:16}" + "".join(f"{one:>24}" for one in cells))
    say("\nScore by size of shop, mean of 1, 2 and 4 readings")
    for world in worlds:
        for n in SIZES:
            means = [
                np.concatenate([np.concatenate(rows[world.name, n, k, m]) for k in COUNTS[1:]])[:, 0].mean()
                for m in METHODS
            ]
            say(f"{world.name:16}{n:4d}" + "".join(f"{one:24.4f}" for one in means))
    say("\nPublished sets, each unit from the others at 25/50/75 % of life: error, 80 % holds, score")
    for name, (columns, r, prior) in published_sets().items():
        found = set_scores(columns, r, prior)
        for method in METHODS:
            each = [found[share, method] for share in (0.25, 0.5, 0.75)]
            off = "/".join(f"{100 * np.median(np.abs(np.expm1(one[:, 2]))):.1f}" for one in each)
            every = np.concatenate(each)
            holds = (np.abs(every[:, 1] - 0.5) <= 0.4).mean()
            say(f"{name:16}{method:22}{off:>18}{holds:8.2f}{every[:, 0].mean():9.4f}")
    say(f"\n{n_shops} shops of each size in each world, {time.perf_counter() - start:.0f} s")


def line(found: np.ndarray) -> str:
    """Return a cell of the table."""
    holds = (np.abs(found[:, 1] - 0.5) <= 0.4).mean()
    return f"{found[:, 0].mean():.4f} {holds:.2f} {np.median(found[:, 2]):+.2f} {found[:, 3].mean():.2f}"


def say(text: str) -> None:
    """Print a line at once."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 6)
