"""Holds the forecast against the known truth: `python -m tests.benchmarks.bench_sample_truth 1 2 3`.

Each number is a seed of the sample fleet's generator, whose wear laws are its own. Printed are the shares of
true values inside the 50, 80 and 95 % intervals: allowance used on the last day, and distance at the limit.
"""

import csv
import sys
import tempfile
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from sample_fleet.generate import write
from tests.makers.bench import SAMPLE_DAY, empty_bench
from wearlog.exchange.csv_folder import read_import
from wearlog.fleet.reading import Measurand
from wearlog.workshop.bring_in import bring_in
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.outlook import outlooks

#: Places of the ends of the 50, 80 and 95 % intervals among the levels.
ENDS = ((2, 4), (1, 5), (0, 6))


def held(seed: int) -> NDArray[np.float64]:
    """Return a row a chain: inside the intervals now, error now, inside those at the limit, ln error."""
    with tempfile.TemporaryDirectory() as folder:
        write(Path(folder), seed)
        bench = empty_bench(Path(folder) / "fleet.sqlite", SAMPLE_DAY)
        bring_in(bench, read_import([Path(folder) / "csv"]))
        with (Path(folder) / "truth" / "installations.csv").open(encoding="utf-8", newline="") as file:
            truth = {
                (row["vehicle"], row["stage"], row["position"], row["fitted on"]): row
                for row in csv.DictReader(file)
            }
        state = fleet_state(bench)
        rows = []
        for (installation_id, measurand), outlook in outlooks(bench).items():
            if measurand is not Measurand.CHAIN_ELONGATION or not outlook.readings:
                continue
            installation = state.installations[installation_id]
            known = truth[
                state.vehicles[installation.vehicle_id].tag,
                state.stages[installation.stage_id].name,
                installation.position.value,
                installation.fitted_on.isoformat(),
            ]
            share, limit = float(known["share now"]), float(known["distance at limit"] or "nan")
            use = outlook.item.use_of(outlook.limit_x)
            rows.append(
                [outlook.allowance[low] <= share <= outlook.allowance[high] for low, high in ENDS]
                + [abs(outlook.allowance[3] - share)]
                + [use[low] <= limit <= use[high] for low, high in ENDS]
                + [abs(np.log(use[3] / limit))]
            )
        bench.database.close()
        return np.array(rows, dtype=np.float64)


def main() -> None:
    """Print a line a seed, and one for all."""
    seeds = [int(text) for text in sys.argv[1:]] or [1, 2, 3]
    found = {str(seed): held(seed) for seed in seeds}
    found["all"] = np.concatenate(list(found.values()))
    print("seed chains | now: 50 80 95 %, median error | limit: 50 80 95 %, median |ln error|")  # noqa: T201
    for name, rows in found.items():
        shares = np.nanmean(rows, axis=0)
        middle = np.nanmedian(rows, axis=0)
        print(  # noqa: T201
            f"{name:>4} {len(rows):6d} | {shares[0]:.2f} {shares[1]:.2f} {shares[2]:.2f}, {middle[3]:.3f} |"
            f" {shares[4]:.2f} {shares[5]:.2f} {shares[6]:.2f}, {middle[7]:.3f}"
        )


if __name__ == "__main__":
    main()
