"""What lies on the shelf of each depot, how it moves, and what is on order."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class StockMoveKind(StrEnum):
    """Why pieces came to the shelf or left it."""

    RECEIVED = "received"
    USED = "used"
    COUNTED = "counted"
    RETURNED = "returned"
    SCRAPPED = "scrapped"


@dataclass(frozen=True, slots=True, kw_only=True)
class StockLine:
    """One part type on the shelf of one depot; there is one line for each pair.

    `on_hand` counts pieces; for chains `spare_links` are single links kept for lengthening, `joining_links`
    are counted apart. `lead_days` and `price` are this depot's own, None where the part type's count.
    `least` is how many should always lie there.
    """

    part_type_id: int
    depot: str
    on_hand: int = 0
    lead_days: int | None = None
    price: float | None = None
    least: int | None = None
    spare_links: int = 0
    joining_links: int = 0
    note: str = ""
    id: int = 0
    version: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class StockMove:
    """Pieces that came to the shelf (`count` above 0) or left it (below 0).

    A `COUNTED` move is the difference that a count of the shelf brought to light.
    """

    part_type_id: int
    depot: str
    on: date
    count: int
    kind: StockMoveKind
    visit_id: int | None = None
    installation_id: int | None = None
    order_id: int | None = None
    by: str = ""
    note: str = ""
    void_reason: str = ""
    id: int = 0
    version: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class PartOrder:
    """Pieces of one part type ordered for one depot; open until `closed_on`. `price` is for one piece."""

    part_type_id: int
    depot: str
    ordered_on: date
    count: int
    expected_on: date | None = None
    received_count: int = 0
    closed_on: date | None = None
    price: float | None = None
    note: str = ""
    void_reason: str = ""
    id: int = 0
    version: int = 0

    @property
    def open_count(self) -> int:
        """How many pieces are still to come."""
        is_over = self.closed_on is not None or bool(self.void_reason)
        return 0 if is_over else max(0, self.count - self.received_count)
