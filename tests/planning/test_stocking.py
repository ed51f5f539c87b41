"""What to have on the shelf and what to order."""

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment
from scipy.stats import poisson

from wearlog.planning.demand import demand_ahead
from wearlog.planning.stocking import Supply, chains_to_cut, joining_links_wanted, stock_advice


def _weeks(*counts: int):
    """Return a demand in which so many pieces are wanted for certain by the end of each week."""
    n = max(counts)
    return demand_ahead([[1.0 if piece < count else 0.0 for count in counts] for piece in range(n)])


def test_enough_on_the_shelf_needs_no_order():
    advice = stock_advice(_weeks(0, 1, 2), Supply(on_hand=2, lead_days=10), 0.95)
    assert (advice.wanted, advice.short, advice.order_now, advice.order_in_days) == (2, 0, 0, None)
    assert advice.chance_enough == 1.0


def test_an_order_leaves_its_lead_time_before_the_week_it_is_needed_in():
    advice = stock_advice(_weeks(0, 0, 0, 0, 0, 1), Supply(on_hand=0, lead_days=14), 0.95)
    assert advice.order_in_days == 5 * 7 - 14
    assert (advice.short, advice.order_now) == (1, 0)


def test_what_is_needed_before_an_order_can_come_is_ordered_now_and_late():
    advice = stock_advice(_weeks(1, 1), Supply(on_hand=0, lead_days=10), 0.9)
    assert (advice.order_now, advice.order_in_days, advice.short_from_days) == (1, -10, 0)


def test_what_is_on_order_is_not_ordered_again_even_if_it_comes_late():
    advice = stock_advice(_weeks(1, 1, 1), Supply(on_hand=0, arriving=((1, 12),), lead_days=14), 0.9)
    assert (advice.short, advice.order_now, advice.order_in_days) == (0, 0, None)
    assert advice.short_from_days == 0


def test_the_least_stock_stays_on_the_shelf():
    assert stock_advice(_weeks(1), Supply(on_hand=1, least=2), 0.9).order_now == 2


def test_many_rare_demands_need_the_stock_of_the_poisson_table():
    # Le Cam 1960: the sum is Poisson to within the sum of squared chances; at mean 4 and chance 95 % the
    # cumulative Poisson table gives 8 pieces (4.0: F(7) = 0.949, F(8) = 0.979).
    demand = demand_ahead(np.full((4000, 1), 0.001))
    assert stock_advice(demand, Supply(on_hand=0), 0.95).wanted == 8 == int(poisson.ppf(0.95, 4.0))


@pytest.mark.parametrize("level", [0.8, 0.9, 0.95, 0.99])
def test_the_stock_kept_is_enough_as_often_as_promised(level):
    rng = np.random.default_rng(3)
    chances = rng.uniform(0.02, 0.6, size=30)
    advice = stock_advice(demand_ahead(chances[:, None]), Supply(on_hand=0), level)
    used = (rng.uniform(size=(200_000, 30)) < chances).sum(axis=1)
    assert (used <= advice.wanted).mean() >= level - 0.005
    assert (used <= advice.wanted - 1).mean() < level + 0.005


def test_a_long_chain_is_cut_to_length():
    cuts = chains_to_cut([110], {120: 1})
    assert (cuts[0].stock_links, cuts[0].links_to_cut) == (120, 10)


def test_a_chain_that_is_too_short_is_not_lengthened():
    assert chains_to_cut([116], {114: 3})[0].links_to_cut is None


@pytest.mark.parametrize("seed", range(12))
def test_no_other_choice_of_chains_serves_more_drives_or_wastes_fewer_links(seed):
    # Against the assignment problem solved by scipy.optimize.linear_sum_assignment.
    rng = np.random.default_rng(seed)
    wanted = rng.choice([104, 108, 110, 112, 116, 118], size=6).tolist()
    shelf = rng.choice([106, 110, 112, 116, 120], size=5)
    stock = {int(links): int((shelf == links).sum()) for links in set(shelf.tolist())}
    penalty = 10_000
    cost = np.array([[links - need if links >= need else penalty for links in shelf] for need in wanted])
    rows, columns = linear_sum_assignment(cost)
    best = cost[rows, columns]
    cuts = [one.links_to_cut for one in chains_to_cut(wanted, stock)]
    served = [cut for cut in cuts if cut is not None]
    assert len(served) == int((best < penalty).sum())
    # Serving as many drives leaves a choice of which; the longest first costs no more than the assignment
    # of the very drives that were served.
    mine = [need for need, cut in zip(wanted, cuts, strict=True) if cut is not None]
    again = np.array([[links - need if links >= need else penalty for links in shelf] for need in mine])
    rows, columns = linear_sum_assignment(again)
    assert sum(served) == int(again[rows, columns].sum())


def test_each_new_chain_and_each_chain_shortened_takes_a_joining_link():
    assert joining_links_wanted(_weeks(2, 3), links_removed=1.2) == 5
