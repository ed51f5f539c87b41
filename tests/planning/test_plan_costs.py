"""What early and late replacements cost."""

import numpy as np
import pytest
from scipy.integrate import quad

from wearlog.planning.plan_costs import SPROCKET_PER_CHAIN, LateChains, early_or_late, sprockets_worn_late


def test_distance_left_and_distance_past_differ_by_the_distance_to_the_limit():
    rng = np.random.default_rng(1)
    ahead = rng.normal(800.0, 500.0, size=(4, 50))
    there = np.sort(rng.uniform(0.0, 2000.0, size=(4, 6)), axis=1)
    found = early_or_late(ahead, np.full(4, 5000.0), there, np.zeros((4, 6)))
    assert found.unused_km - found.past_km == pytest.approx(ahead.mean(axis=1)[:, None] - there)
    assert (np.diff(found.unused_km, axis=1) <= 0.0).all()
    assert (np.diff(found.past_km, axis=1) >= 0.0).all()


def test_the_expected_distance_left_is_that_of_the_normal_law():
    # E max(X - c, 0) of a normal law: sd (phi(z) - z (1 - Phi(z))), the loss function of stock-keeping
    # textbooks; its table gives 0.3989 at z = 0 and 0.0833 at z = 1.
    ahead = np.quantile(np.random.default_rng(2).normal(size=400_000), (np.arange(2000) + 0.5) / 2000)
    found = early_or_late(ahead[None, :] + 10.0, [0.0], [[10.0, 11.0]], [[0.5, 0.84]])
    assert found.unused_km[0] == pytest.approx([0.3989, 0.0833], abs=0.003)


def test_a_stretched_chain_wears_its_sprockets_by_the_area_under_the_rate():
    law = LateChains(begin=0.6, steepness=3.0)
    for end in (0.4, 0.8, 1.4):
        area = quad(lambda u: float(law.relative_rate(u)), 0.0, end, points=[0.6])[0]
        assert float(law.worn_by(end)) == pytest.approx(area)


def test_a_chain_in_good_time_wears_nothing_extra():
    assert float(sprockets_worn_late(0.0, 8000.0)) == 0.0
    assert float(sprockets_worn_late(800.0, 8000.0, LateChains(steepness=0.0))) == pytest.approx(0.0)


def test_extra_wear_of_a_late_chain_is_the_area_beyond_the_limit():
    law = LateChains()
    area = quad(lambda u: float(law.relative_rate(u)) - 1.0, 1.0, 1.2)[0]
    assert float(sprockets_worn_late(1600.0, 8000.0)) == pytest.approx(SPROCKET_PER_CHAIN * area)
