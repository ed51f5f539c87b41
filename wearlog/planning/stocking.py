"""What to have on the shelf and what to order, from the demand ahead; chains cut to length."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from wearlog.planning.demand import Demand

#: Chances of having enough that a workshop may choose from, [-].
SERVICE_LEVELS = (0.80, 0.90, 0.95, 0.99)
#: An order that would have to go out within so many days goes out now: orders are looked at once a week.
LOOK_AGAIN_DAYS = 7


@dataclass(frozen=True, slots=True)
class Supply:
    """What is there and what is coming of one part type at one depot.

    Attributes
    ----------
    on_hand : int
        Pieces on the shelf, [-].
    arriving : tuple of (int, int)
        Pieces on order and after how many days from today they are expected, [-] and [d].
    lead_days : int
        How long an order takes, [d].
    least : int
        Pieces that should always lie there, [-].
    """

    on_hand: int
    arriving: tuple[tuple[int, int], ...] = ()
    lead_days: int = 0
    least: int = 0

    @property
    def on_order(self) -> int:
        """Pieces on order, [-]."""
        return sum(count for count, _days in self.arriving)

    def by_day(self, days: int) -> int:
        """Return how many pieces will have been there by a day if none are used, [-].

        Parameters
        ----------
        days : int
            Days from today, [d].
        """
        return self.on_hand + sum(count for count, after in self.arriving if after <= days)


@dataclass(frozen=True, slots=True)
class StockAdvice:
    """What to have and what to order.

    Attributes
    ----------
    wanted : int
        Pieces that are enough over the weeks looked ahead with the chance wanted, [-].
    short : int
        Pieces still to be ordered for it, on top of what is there and on order, [-].
    order_now : int
        Pieces to order today, [-].
    order_in_days : int or None
        Days from today by which they must be ordered to come in time; below 0 if that has gone by, None if
        what is there and on order is enough, [d].
    short_from_days : int or None
        Days from today after which what is there and on order is no longer enough, None if it is, [d].
    chance_enough : float
        Chance that what is there and on order is enough to the end, [-].
    """

    wanted: int
    short: int
    order_now: int
    order_in_days: int | None
    short_from_days: int | None
    chance_enough: float


def stock_advice(demand: Demand, supply: Supply, level: float) -> StockAdvice:
    """Return what to have on the shelf and what to order by when.

    In the first week in which the supply is not enough with the chance wanted, the new pieces must be there
    by the beginning of that week. If the order for them has to leave before orders are looked at again it is
    an order for today, and it covers all the weeks looked ahead.

    Parameters
    ----------
    demand : Demand
        Pieces wanted by the end of each week.
    supply : Supply
        What is there and on order, lead time in days.
    level : float
        Chance of having enough, [-].

    Returns
    -------
    StockAdvice
        Pieces and days.

    Raises
    ------
    ValueError
        If the level is not above 0 and below 1.

    Examples
    --------
    >>> from wearlog.planning.demand import demand_ahead
    >>> demand = demand_ahead([[0.0, 0.3, 0.9], [0.0, 0.0, 0.9]])
    >>> advice = stock_advice(demand, Supply(on_hand=0, lead_days=5), 0.95)
    >>> advice.wanted, advice.order_now, advice.order_in_days
    (2, 2, 2)
    """
    if not 0.0 < level < 1.0:
        raise ValueError(f"level: {level} is not above 0 and below 1")
    wanted_by = demand.quantile(level) + supply.least
    wanted = int(wanted_by[-1])
    at_end = supply.on_hand + supply.on_order
    short = max(wanted - at_end, 0)
    short_from = None
    for week, needed in enumerate(wanted_by.tolist()):
        if needed > supply.by_day(7 * week):
            short_from = 7 * week
            break
    chance = float(demand.at_most(at_end)[-1])
    if not short:
        return StockAdvice(wanted, 0, 0, None, short_from, chance)
    # What is on order may come too late for the first weeks; ordering more does not mend that.
    first_short = next(week for week, needed in enumerate(wanted_by.tolist()) if needed > at_end)
    order_in = 7 * first_short - supply.lead_days
    order_now = short if order_in <= LOOK_AGAIN_DAYS else 0
    return StockAdvice(wanted, short, order_now, order_in, short_from, chance)


@dataclass(frozen=True, slots=True)
class ChainCut:
    """One chain for one drive.

    Attributes
    ----------
    wanted_links : int
        Links the drive needs, [-].
    stock_links : int or None
        Links of the chain on the shelf that is taken for it; None if none is long enough, [-].
    """

    wanted_links: int
    stock_links: int | None

    @property
    def links_to_cut(self) -> int | None:
        """Links to take off, None without a chain, [-]."""
        return None if self.stock_links is None else self.stock_links - self.wanted_links


def chains_to_cut(wanted_links: Sequence[int], on_hand: Mapping[int, int]) -> list[ChainCut]:
    """Return which chain on the shelf is taken for each drive, with the fewest links cut off.

    The longest need is served first, each with the shortest chain that is long enough; that serves as many
    drives as can be served. Chains are never made up from pieces: a drive chain is closed at one place only.

    Parameters
    ----------
    wanted_links : sequence of int, shape (n,)
        Links that each drive needs, [-].
    on_hand : mapping of int to int
        How many chains of each length lie on the shelf, by links, [-].

    Returns
    -------
    list of ChainCut, length n
        In the order of the drives.

    Examples
    --------
    >>> [(one.stock_links, one.links_to_cut) for one in chains_to_cut([110, 118, 120], {120: 2, 114: 1})]
    [(114, 4), (120, 2), (120, 0)]
    """
    left = {links: count for links, count in on_hand.items() if count > 0}
    taken: dict[int, int | None] = {}
    for place in sorted(range(len(wanted_links)), key=lambda n: -wanted_links[n]):
        enough = [links for links, count in left.items() if count > 0 and links >= wanted_links[place]]
        chosen = min(enough, default=None)
        if chosen is not None:
            left[chosen] -= 1
        taken[place] = chosen
    return [ChainCut(links, taken[place]) for place, links in enumerate(wanted_links)]


def joining_links_wanted(chains: Demand, links_removed: float = 0.0, level: float = 0.95) -> int:
    """Return how many joining links are enough: one for each new chain and for each chain shortened.

    Parameters
    ----------
    chains : Demand
        Chains wanted by the end of each week.
    links_removed : float
        Expected number of chains shortened or opened in the same time, [-].
    level : float
        Chance of having enough, [-].

    Examples
    --------
    >>> from wearlog.planning.demand import demand_ahead
    >>> joining_links_wanted(demand_ahead([[0.5], [0.5], [0.5]]), level=0.9)
    3
    """
    return int(chains.quantile(level)[-1]) + int(np.ceil(links_removed))


def ordered_together(advice: Sequence[StockAdvice], sets: Sequence[Sequence[int]]) -> list[StockAdvice]:
    """Return the advice with sets ordered together: what belongs to an order of today is ordered today.

    Parameters
    ----------
    advice : sequence of StockAdvice, length n
        Of each part type at each depot.
    sets : sequence of sequence of int
        Part types, by their place in `advice`, that will be replaced together, [-].

    Returns
    -------
    list of StockAdvice, length n
        In the same order; where one of a set is ordered now, what is short of the others is too.

    Examples
    --------
    >>> chain, sprocket = StockAdvice(2, 2, 2, 3, 7, 0.4), StockAdvice(1, 1, 0, 30, 42, 0.8)
    >>> [one.order_now for one in ordered_together([chain, sprocket], [(0, 1)])]
    [2, 1]
    """
    result = list(advice)
    for together in sets:
        days = [result[n].order_in_days for n in together if result[n].order_now]
        known = [day for day in days if day is not None]
        if not known:
            continue
        for n in together:
            one = result[n]
            if one.short and not one.order_now:
                result[n] = replace(one, order_now=one.short, order_in_days=max(min(known), 0))
    return result
