"""A known change of duty or lubricant in the life of a part: its distance counts stretch by stretch."""

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.forecast.worlds import SHOP_PRIOR
from wearlog.forecast.crossing import crossing_cdf, crossing_quantiles
from wearlog.forecast.family import FamilyData, fit_family
from wearlog.forecast.readings import ReadingTable
from wearlog.forecast.shape import STRAIGHT
from wearlog.forecast.stretches import PLAIN, Stretches, changed_rate

ROAD_THEN_SAND = Stretches.of([0.0, 5.0], [1.0, 2.0])


def test_a_thousand_km_in_sand_count_as_two_on_the_road():
    assert ROAD_THEN_SAND.weighed([0.0, 5.0, 5.5, 8.0]).tolist() == [0.0, 5.0, 6.0, 11.0]
    assert ROAD_THEN_SAND.plain([11.0]).tolist() == [8.0]
    assert ROAD_THEN_SAND.now == 2.0


@given(
    lengths=st.lists(st.floats(0.0, 5.0), min_size=1, max_size=5),
    data=st.data(),
    x=st.floats(0.0, 40.0),
)
def test_there_and_back_is_where_one_was(lengths, data, x):
    factor = data.draw(st.lists(st.floats(0.2, 5.0), min_size=len(lengths), max_size=len(lengths)))
    stretches = Stretches.of(np.cumsum(lengths) - lengths[0], factor)
    assert stretches.plain(stretches.weighed([x]))[0] == pytest.approx(x, abs=1e-9)
    # Which of two distances is the farther never changes.
    assert stretches.weighed([x + 0.1])[0] > stretches.weighed([x])[0]


def test_a_change_that_changes_nothing_leaves_the_distance_alone():
    same = Stretches.of([0.0, 3.0, 3.0, 7.0], [1.0, 4.0, 1.0, 1.0])
    assert same.is_plain
    assert same == PLAIN
    assert same.weighed([2.0, 9.0]).tolist() == [2.0, 9.0]


def test_sprockets_and_duty_change_each_at_their_own_distance():
    sprockets = Stretches.of([0.0, 3.0], [1.2, 1.0])
    both = ROAD_THEN_SAND.times(sprockets)
    assert both == sprockets.times(ROAD_THEN_SAND)
    # By hand: 3 at 1.2, 2 at 1, 1 at 2.
    assert both.weighed([6.0])[0] == pytest.approx(3.6 + 2.0 + 2.0)


def test_the_present_duty_counts_once():
    counted = changed_rate([0.0, 4.0], [np.log(0.10), np.log(0.25)])
    assert counted.factor == pytest.approx((0.4, 1.0))
    # Ahead a thousand km are a thousand km, so that what is left needs no way back.
    ahead = counted.plain(counted.weighed([6.0]) + 1.0) - 6.0
    assert ahead[0] == pytest.approx(1.0)
    other = changed_rate([0.0, 4.0], [np.log(0.10), np.log(0.25)], np.log(0.10))
    assert other.factor == pytest.approx((1.0, 2.5))


@pytest.mark.parametrize(
    ("since", "factor", "named"),
    [
        ([0.0, 5.0], [1.0], "column factor: 1 factors for 2"),
        ([], [], "column factor"),
        ([0.0, 5.0], [1.0, 0.0], "row 1, column factor"),
        ([0.0, 5.0], [np.nan, 1.0], "row 0, column factor"),
        ([5.0, 2.0], [1.0, 2.0], "row 1, column since"),
        ([-1.0], [1.0], "row 0, column since"),
    ],
)
def test_stretches_that_cannot_be_are_named(since, factor, named):
    with pytest.raises(ValueError, match=named):
        Stretches.of(since, factor)


#: ln rate of road, mixed and sand against the family: what is believed, and what is so.
BELIEVED, TRUE = np.array([0.0, 0.3, 0.7]), np.array([0.0, 0.45, 0.9])


@dataclass(frozen=True)
class Changed:
    """A shop in which half the parts change their duty in mid-life, met at a moment that knows no wear."""

    duty: np.ndarray
    before: np.ndarray
    since: np.ndarray
    part: np.ndarray
    x: np.ndarray
    y: np.ndarray
    r: np.ndarray
    limit_x: np.ndarray

    def counted(self, log_rate: np.ndarray | None) -> list[Stretches]:
        """Return how distance counts for who knows these rates; nothing is weighed without them."""
        if log_rate is None:
            return [PLAIN] * self.duty.size
        return [
            changed_rate([0.0, self.since[k]], log_rate[[self.before[k], self.duty[k]]])
            for k in range(self.duty.size)
        ]

    def data(self, counted: list[Stretches]) -> FamilyData:
        x = np.array([float(counted[k].weighed(x)) for k, x in zip(self.part, self.x, strict=True)])
        table = ReadingTable.from_columns(self.duty.size, self.part, x, self.r, y=self.y)
        return FamilyData(table, self.duty, SHOP_PRIOR.log_rate + BELIEVED)


def changed_shop(seed: int, n: int = 90) -> Changed:
    """Return parts that wear by the model's own law, at the rate of their duty on each stretch."""
    rng = np.random.default_rng(seed)
    duty = rng.integers(0, 3, n)
    before = np.where(rng.random(n) < 0.5, rng.integers(0, 3, n), duty)
    own = rng.normal(np.log(0.10), 0.4, n)
    since = rng.uniform(1.0, 4.0, n)
    step = 0.02
    at = np.arange(0, 2000) * step
    rate = np.exp(own[:, None] + np.where(at < since[:, None], TRUE[before][:, None], TRUE[duty][:, None]))
    gained = rate * step + rng.normal(0, 1, rate.shape) * np.sqrt(0.015 * rate * step)
    wear = rng.normal(0.05, 0.06, n)[:, None] + np.cumsum(gained, axis=1)
    limit_x = at[np.argmax(np.maximum.accumulate(wear, axis=1) >= 1.0, axis=1)]
    # Read every 1000 km, also after the change.
    seen = np.ceil(since) + rng.uniform(0.0, 3.0, n)
    part, x = np.nonzero(np.arange(1, 41) <= seen[:, None])
    x = x + 1.0
    r = np.full(x.size, 0.06)
    y = wear[part, np.round(x / step).astype(int)] + r * rng.normal(0, 1, x.size)
    return Changed(duty, before, since, part, x, y, r, limit_x)


def judged(shop: Changed, log_rate: np.ndarray | None) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return ln error and stated chance at the true limit of the changed parts, and the learnt ln rates."""
    counted = shop.counted(log_rate)
    fit = fit_family(shop.data(counted), SHOP_PRIOR, shape=STRAIGHT)
    truth = np.array([float(one.weighed(x)) for one, x in zip(counted, shop.limit_x, strict=True)])
    level = crossing_cdf(fit.posterior, truth[:, None])[:, 0]
    # Past already: anywhere below the chance of being past.
    is_past = truth <= fit.posterior.x_last
    level = np.where(is_past, np.random.default_rng(1).random(level.size) * level, level)
    middle = crossing_quantiles(fit.posterior, [0.5])[:, 0]
    found = np.array([float(one.plain(x)) for one, x in zip(counted, middle, strict=True)])
    is_changed = shop.duty != shop.before
    learnt = np.array([fit.new_part_prior(cell).mean[0] for cell in range(3)])
    return np.log(found / shop.limit_x)[is_changed & ~is_past], level[is_changed], learnt


@pytest.mark.slow
def test_a_known_change_of_duty_makes_the_forecast_nearer_and_the_intervals_right():
    ways: dict[str, list[tuple[np.ndarray, np.ndarray]]] = {"left alone": [], "believed": [], "learnt": []}
    for seed in range(8):
        shop = changed_shop(seed)
        for way, rates in (("left alone", None), ("believed", BELIEVED)):
            error, level, learnt = judged(shop, rates)
            ways[way].append((error, level))
        # What the shop has learnt of its duties, weighed by what it believed, is better still.
        ways["learnt"].append(judged(shop, learnt)[:2])
    error = {way: np.abs(np.concatenate([one for one, _ in each])) for way, each in ways.items()}
    holds = {
        way: np.mean(np.abs(np.concatenate([one for _, one in each]) - 0.5) <= 0.4)
        for way, each in ways.items()
    }
    # Some 240 parts: the standard error of a share of 0.8 is 0.026.
    assert holds["left alone"] < 0.72
    assert 0.72 <= holds["believed"] <= 0.88
    assert 0.74 <= holds["learnt"] <= 0.88
    assert np.median(error["believed"]) < 0.8 * np.median(error["left alone"])
    assert np.median(error["learnt"]) <= 1.02 * np.median(error["believed"])
