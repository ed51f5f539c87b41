"""What the chains of the sample fleet were lubricated with, and what that did to their wear."""

import csv
from math import exp, log
from pathlib import Path

import numpy as np
import pytest

from sample_fleet.laws import CARE_FACTOR, care_of

SAMPLE = Path(__file__).parents[2] / "sample_fleet"


def test_chains_wear_with_a_product_as_its_factor_says():
    rng = np.random.default_rng(7)
    spread = 0.22
    own = np.exp(rng.normal(0.0, spread, 20_000))
    used = np.array([care_of(rng, float(one), spread) for one in own])
    for product, factor in CARE_FACTOR.items():
        logs = np.log(own[used == product])
        # Four standard errors of the mean.
        assert np.mean(logs) == pytest.approx(log(factor), abs=4 * spread / len(logs) ** 0.5)
    assert np.mean(used == "wax W") == pytest.approx(0.5, abs=0.02)


def test_the_products_are_written_down_at_most_lubrications():
    rows = list(csv.DictReader((SAMPLE / "csv" / "visits.csv").read_text(encoding="utf-8").splitlines()))
    done = [task for row in rows for task in row["tasks"].split("; ") if task.startswith("lubricate")]
    named = [task for task in done if " = " in task]
    assert {task.partition(" = ")[2] for task in named} == set(CARE_FACTOR)
    assert 0.85 < len(named) / len(done) < 0.95


def test_the_shipped_fleet_shows_the_difference():
    rows = csv.DictReader((SAMPLE / "truth" / "installations.csv").read_text(encoding="utf-8").splitlines())
    factors = {product: [] for product in CARE_FACTOR}
    for row in rows:
        if row["care"]:
            factors[row["care"]].append(log(float(row["part factor"])))
    means = {product: sum(logs) / len(logs) for product, logs in factors.items()}
    # The factors hold vehicle and lot as well, which blurs the stated ratio of 0.78.
    assert exp(means["wax W"] - means["oil O"]) == pytest.approx(0.885 / 1.13, abs=0.12)
