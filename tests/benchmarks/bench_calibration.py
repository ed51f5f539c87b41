"""How far the forecast can be trusted where wear goes by its own law and by seven others; prints a table.

Run with ``python -m tests.benchmarks.bench_calibration [fleets]``; 16 shops in each world take some minutes.
"""

import sys
import time

import numpy as np

from tests.forecast.judging import COUNTS, fitted, judge
from tests.forecast.other_worlds import WORLDS, make


def main(fleets: int) -> None:
    """Print coverage, errors and scores of each world."""
    start = time.perf_counter()
    by_count: dict[int, list[tuple[float, ...]]] = {k: [] for k in COUNTS}
    say("At a moment: coverage of 50/80/95 % intervals, error of the middle, score; bent paths chosen")
    say(f"{'world':24}{'limit':>20}{'next reading':>20}{'bias':>8}{'error':>8}{'CRPS':>8}{'bent':>7}")
    whole = []
    for number, world in enumerate(WORLDS):
        rows, bent = [], 0
        for seed in range(fleets):
            made = make(world, 1000 * number + seed)
            fit = fitted(made)
            bent += not fit.law.shape.is_straight
            rng = np.random.default_rng(seed)
            judged = judge(made.met, fit, rng)
            rows.append((*judged.coverage(), *errors(judged)))
            for k in COUNTS:
                after = judge(made.new, fit, rng, k)
                by_count[k].append((*after.coverage(), *errors(after)))
        mean = np.mean(rows, axis=0)
        whole.append(mean)
        say(line(world.name, mean) + f"{bent:4d}/{fleets}")
    say(line("mean", np.mean(whole, axis=0)))
    say("\nAfter so many readings, mean of the worlds")
    for k in COUNTS:
        say(line(f"{k} readings", np.mean(by_count[k], axis=0)))
    say(f"\n{fleets} shops of 204 parts in each world, 180 parts judged in each")
    say(f"{time.perf_counter() - start:.0f} s")


def say(text: str) -> None:
    """Print a line at once."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def errors(judged) -> tuple[float, float, float]:
    """Return bias (median of ln), median relative error, and score."""
    return (
        float(np.median(np.log(judged.error))),
        float(np.median(np.abs(judged.error - 1.0))),
        float(np.mean(judged.crps)),
    )


def line(name: str, mean: np.ndarray) -> str:
    """Return a row of the table."""
    limit, reading = ("/".join(f"{share:.2f}" for share in mean[k : k + 3]) for k in (0, 3))
    return f"{name:24}{limit:>20}{reading:>20}{mean[6]:8.2f}{100 * mean[7]:7.1f}%{mean[8]:8.3f}"


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 16)
