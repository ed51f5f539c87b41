"""What a year came to, counted from the true wear."""

from dataclasses import dataclass, field

from wearlog.workshop.plan_snapshot import PlanTerms


@dataclass(slots=True)
class Ledger:
    """Sums over a year; distances in km, money in the workshop's currency.

    Attributes
    ----------
    chain_past_km, other_past_km
        Distance ridden on chains past their limit, and on sprockets, belts and pulleys.
    parts_past
        Parts that were past their limit at any time.
    worn
        Price of the allowance that parts used up, sprockets worn by late chains left out.
    late_sprockets
        Price of what sprockets lost more than under chains at their limit.
    unused, unused_km
        What was thrown away with parts that came off early: price, and distance they would still have gone.
    failures
        Failures to expect of chains past their limit, at the terms of planning.
    bought
        Price of everything fitted.
    kept_on
        Parts that a plan wanted off and that stayed on after the reading before.
    unplaced
        Lines for which a plan found no day, summed over the plans.
    overdue_weeks
        The longest time that a line stood in the list as due today.
    """

    km: float = 0.0
    visits: int = 0
    minutes: int = 0
    readings: int = 0
    replaced: dict[str, int] = field(default_factory=dict)
    replaced_early: int = 0
    chain_past_km: float = 0.0
    other_past_km: float = 0.0
    parts_past: set[int] = field(default_factory=set)
    worn: float = 0.0
    late_sprockets: float = 0.0
    unused: float = 0.0
    unused_km: float = 0.0
    failures: float = 0.0
    bought: float = 0.0
    kept_on: int = 0
    unplaced: int = 0
    overdue_weeks: int = 0

    @property
    def replacements(self) -> int:
        """All parts fitted."""
        return sum(self.replaced.values())

    def labour(self, terms: PlanTerms) -> float:
        """Return what work in the bay cost, [money]."""
        return self.minutes * terms.labour_per_hour / 60.0

    def failure_cost(self, terms: PlanTerms) -> float:
        """Return what failures to expect cost, [money]."""
        return self.failures * terms.failure_cost

    def total(self, terms: PlanTerms) -> float:
        """Return all of it, [money]."""
        parts = self.worn + self.late_sprockets + self.unused
        return self.visits * terms.visit_cost + self.labour(terms) + parts + self.failure_cost(terms)

    def per_1000_km(self, money: float) -> float:
        """Return an amount for 1000 km ridden by the fleet, [money]."""
        return 1000.0 * money / self.km if self.km > 0.0 else 0.0
