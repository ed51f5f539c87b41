"""What the parts page shows; also written to files and printed."""

from dataclasses import dataclass
from datetime import date

from wearlog.fleet.parts import PartKind

#: More pieces than this at once are a slip of the hand.
MOST_PIECES = 10_000


@dataclass(frozen=True, slots=True)
class ComingDue:
    """One installation behind the demand, and its chance of being replaced within the weeks looked ahead.

    `is_called_in` says that the due list asks for it already; `is_with_set` that it mostly goes along with
    another part of its stage.
    """

    vehicle_id: int
    installation_id: int
    tag: str
    stage_name: str
    chance: float
    is_called_in: bool = False
    is_with_set: bool = False


@dataclass(frozen=True, slots=True)
class WeekDemand:
    """How many pieces will have been wanted by the end of a week.

    `few` and `many` hold 8 in 10; `enough` is enough with the chosen chance.
    """

    until: date
    mean: float
    few: int
    many: int
    enough: int


@dataclass(frozen=True, slots=True)
class PartsLine:
    """One part type at one depot.

    Attributes
    ----------
    line_id, line_version
        Of the stock line; 0 if nobody has set up a shelf for it yet.
    lead_days, price
        As ordered for this depot.
    running
        How many are fitted to vehicles of the depot.
    is_followed
        Whether readings tell its wear; of others only what was graded "change" is known.
    weeks
        Demand by week, cumulative.
    chances
        Chance that exactly 0, 1, 2, ... pieces are wanted by the end.
    wanted, short, order_now
        Pieces to have over the weeks looked ahead, still to be ordered, and to be ordered today.
    order_by
        Last day of the order; None if nothing is short.
    chance_enough
        Chance that what is there and on order is enough, [-].
    coming
        The installations behind it, the likeliest first.
    """

    part_type_id: int
    name: str
    kind: PartKind
    designation: str
    links: int | None
    joining_link: str
    depot: str
    line_id: int
    line_version: int
    on_hand: int
    on_order: int
    next_arrival: date | None
    lead_days: int
    price: float | None
    least: int
    joining_links: int
    running: int
    is_followed: bool
    weeks: tuple[WeekDemand, ...]
    chances: tuple[float, ...]
    wanted: int
    short: int
    order_now: int
    order_by: date | None
    short_from: date | None
    chance_enough: float
    coming: tuple[ComingDue, ...] = ()
    set_with: tuple[str, ...] = ()

    @property
    def key(self) -> tuple[int, str]:
        """What tells this line from the others."""
        return self.part_type_id, self.depot

    @property
    def mean(self) -> float:
        """Expected number of pieces by the end."""
        return self.weeks[-1].mean if self.weeks else 0.0

    @property
    def is_urgent(self) -> bool:
        """Whether something is to be ordered today."""
        return self.order_now > 0

    @property
    def order_cost(self) -> float | None:
        """What the order of today costs."""
        return None if self.price is None or not self.order_now else self.price * self.order_now


@dataclass(frozen=True, slots=True)
class SetAhead:
    """A chain and its sprockets that will most likely be replaced together."""

    vehicle_id: int
    tag: str
    depot: str
    stage_name: str
    part_type_ids: tuple[int, ...]
    names: tuple[str, ...]
    chance: float
    chance_together: float
    due_on: date | None


@dataclass(frozen=True, slots=True)
class CutAhead:
    """A chain on the shelf that will be cut to length for a drive."""

    tag: str
    depot: str
    stage_name: str
    designation: str
    links: int
    from_links: int

    @property
    def links_off(self) -> int:
        """Links to take off."""
        return self.from_links - self.links


@dataclass(frozen=True, slots=True)
class JoiningLinks:
    """Joining links of one kind: on hand, and enough for the new chains and the chains to be shortened."""

    depot: str
    designation: str
    kind: str
    on_hand: int
    for_chains: int
    for_shortening: int

    @property
    def short(self) -> int:
        """How many are missing."""
        return max(self.for_chains + self.for_shortening - self.on_hand, 0)


@dataclass(frozen=True, slots=True)
class OpenOrder:
    """An order that is still to come."""

    order_id: int
    part_type_id: int
    name: str
    depot: str
    count: int
    received: int
    ordered_on: date
    expected_on: date | None

    @property
    def open_count(self) -> int:
        """Pieces still to come."""
        return max(self.count - self.received, 0)


@dataclass(frozen=True, slots=True)
class PartsSnapshot:
    """The shelf, the demand ahead and what to order, on a day."""

    today: date
    weeks: int
    level: float
    lines: tuple[PartsLine, ...]
    sets: tuple[SetAhead, ...] = ()
    cuts: tuple[CutAhead, ...] = ()
    joining_links: tuple[JoiningLinks, ...] = ()
    orders: tuple[OpenOrder, ...] = ()
    depots: tuple[str, ...] = ()
    vehicles: int = 0
    data_version: int = 0

    @property
    def to_order(self) -> tuple[PartsLine, ...]:
        """The lines with something to order today."""
        return tuple(line for line in self.lines if line.order_now)

    @property
    def order_cost(self) -> float:
        """What all orders of today cost, as far as prices are known."""
        return sum(line.order_cost or 0.0 for line in self.lines)


@dataclass(frozen=True, slots=True)
class Wanted:
    """Pieces of one part type to be ordered for one depot."""

    part_type_id: int
    depot: str
    count: int


@dataclass(frozen=True, slots=True)
class ShelfTerms:
    """What a depot agreed on for a part type; None where the part type's own counts."""

    lead_days: int | None = None
    price: float | None = None
    least: int | None = None
    joining_links: int = 0
