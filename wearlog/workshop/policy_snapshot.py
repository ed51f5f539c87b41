"""What the replacement policy shows: long-run cost against the wear at which chains come off."""

from dataclasses import dataclass

from wearlog.fleet.parts import WearClass


@dataclass(frozen=True, slots=True)
class PolicyOf:
    """The policy of one class of chains.

    Money in the workshop's own currency, distances in 1000 km (100 h where the meter counts hours).

    Attributes
    ----------
    chains, read_parts
        How many run, and from how many parts' readings the rates come.
    chain_price, sprocket_price, fitting_cost
        What a chain, a pair of sprockets and fitting a chain cost here.
    check_every
        Distance between two looks at a chain.
    shares
        Shares of the allowance at which a chain is replaced.
    cost, low, high
        Long-run cost for one unit of distance, and the ends of its 80 % interval.
    chain_cost, labour_cost, sprocket_cost, failure_cost
        The cost split.
    life
        Expected distance on a chain when it is replaced.
    past_chance
        Share of the chains that are past their limit when replaced.
    best, best_low, best_high
        Share at which the cost is least, and its 80 % interval.
    """

    wear_class: WearClass
    use_unit: str
    chains: int
    read_parts: int
    chain_price: float
    sprocket_price: float
    fitting_cost: float
    check_every: float
    shares: tuple[float, ...]
    cost: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    chain_cost: tuple[float, ...]
    labour_cost: tuple[float, ...]
    sprocket_cost: tuple[float, ...]
    failure_cost: tuple[float, ...]
    life: tuple[float, ...]
    past_chance: tuple[float, ...]
    best: float
    best_low: float
    best_high: float

    def cost_at(self, share: float) -> float:
        """Return the cost at the nearest share that was worked out."""
        return self.cost[self._nearest(share)]

    def past_at(self, share: float) -> float:
        """Return the share of chains past their limit at the nearest share."""
        return self.past_chance[self._nearest(share)]

    def life_at(self, share: float) -> float:
        """Return the distance on a chain at the nearest share."""
        return self.life[self._nearest(share)]

    def _nearest(self, share: float) -> int:
        return min(range(len(self.shares)), key=lambda n: abs(self.shares[n] - share))


@dataclass(frozen=True, slots=True)
class PolicySnapshot:
    """The policies of all classes of chains that run in the fleet; `unpriced` lacks a price."""

    policies: tuple[PolicyOf, ...]
    unpriced: tuple[WearClass, ...] = ()
    data_version: int = 0
