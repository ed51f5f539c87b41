"""Intervals hold where wear goes by the model's own law, and nearly so where it goes by another.

A reduced, seeded run; the whole table comes from ``python -m tests.benchmarks.bench_calibration``.
"""

import numpy as np
import pytest

from tests.forecast.judging import fitted, judge
from tests.forecast.other_worlds import WORLDS, make

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("world", WORLDS, ids=lambda world: world.name)
def test_intervals_hold_whatever_the_law(world):
    rng = np.random.default_rng(0)
    rows = []
    for seed in range(2):
        made = make(world, 500 + seed)
        fit = fitted(made)
        rows.append((*judge(made.met, fit, rng).coverage(), *judge(made.new, fit, rng, 2).coverage()))
    met, new = np.mean(rows, axis=0).reshape(2, 6)
    # 360 parts in two shops: three standard errors of a share of 0.8 are about 0.07, of 0.5 about 0.11.
    for shares in (met, new):
        assert 0.39 <= shares[0] <= 0.61
        assert 0.71 <= shares[1] <= 0.88
        assert shares[2] >= 0.88
        assert 0.38 <= shares[3] <= 0.60
        assert 0.71 <= shares[4] <= 0.88
        assert shares[5] >= 0.87


def test_the_middle_is_neither_early_nor_late_in_the_models_own_world():
    rng = np.random.default_rng(1)
    off = []
    for seed in range(3):
        made = make(WORLDS[0], 700 + seed)
        off.extend(np.log(judge(made.new, fitted(made), rng, 2).error))
    assert abs(np.median(off)) < 0.05


PATHS = [("acceleration", True), ("own law", False), ("gamma process", False)]


@pytest.mark.parametrize(("world", "is_bent"), PATHS)
def test_the_path_bends_only_where_wear_does(world, is_bent):
    chosen = next(one for one in WORLDS if one.name == world)
    fits = [fitted(make(chosen, 900 + seed)) for seed in range(2)]
    assert [not fit.law.shape.is_straight for fit in fits] == [is_bent, is_bent]
