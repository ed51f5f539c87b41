"""What lies on the shelves of the two depots; invented like everything else of this fleet."""

from dataclasses import dataclass

from sample_fleet.scenario import HARBOUR, UPPER


@dataclass(frozen=True, slots=True)
class Shelf:
    """One part type at one depot; lead time in days and price only where they differ from the part type's."""

    part: str
    depot: str
    on_hand: int
    least: int | None = None
    lead_days: int | None = None
    price: float | None = None
    joining_links: int = 0
    note: str = ""


SHELVES: tuple[Shelf, ...] = (
    Shelf("Chain 428 sealed 118 links", UPPER, 3, least=1, joining_links=4),
    Shelf("Chain 428 sealed 118 links", HARBOUR, 2, joining_links=3, lead_days=12),
    Shelf("Chain 520 112 links", UPPER, 2, joining_links=2),
    Shelf("Chain 520 112 links", HARBOUR, 1, joining_links=2),
    Shelf("Chain 428 126 links", UPPER, 1, joining_links=2),
    Shelf("Chain 428 126 links", HARBOUR, 1, joining_links=1),
    Shelf("Chain 08B-1 66 links", HARBOUR, 1, joining_links=2),
    Shelf("Chain 08B-1 66 links", UPPER, 1, joining_links=1),
    Shelf("Chain 08B-1 70 links", UPPER, 1, joining_links=1),
    Shelf("Chain 1/2 x 3/32 122 links", HARBOUR, 3, joining_links=6, note="cut for the shorter bicycles too"),
    Shelf("Chain 1/2 x 3/32 122 links", UPPER, 2, joining_links=4),
    Shelf("Chain 1/2 x 1/8 108 links", HARBOUR, 1, joining_links=2),
    Shelf("Chain 1/2 x 1/8 108 links", UPPER, 1, joining_links=2),
    Shelf("Sprocket 428 14 t", UPPER, 2, least=1),
    Shelf("Sprocket 428 14 t", HARBOUR, 1),
    Shelf("Sprocket 428 48 t", UPPER, 3),
    Shelf("Sprocket 428 48 t", HARBOUR, 1, lead_days=18, price=48.5),
    Shelf("Sprocket 428 15 t", UPPER, 1),
    Shelf("Sprocket 520 13 t", UPPER, 1),
    Shelf("Sprocket 520 13 t", HARBOUR, 1),
    Shelf("Sprocket 520 50 t", UPPER, 1),
    Shelf("Sprocket 08B-1 17 t", HARBOUR, 1),
    Shelf("Sprocket 08B-1 42 t", HARBOUR, 0, note="long lead time"),
    Shelf("Sprocket 1/2 x 1/8 20 t", HARBOUR, 2),
    Shelf("Sprocket 1/2 x 1/8 42 t", HARBOUR, 1),
    Shelf("Belt H8M 112 t 30 mm", UPPER, 1, least=1),
    Shelf("Belt H8M 112 t 30 mm", HARBOUR, 1, least=1),
    Shelf("Belt H14M 75 t 40 mm", UPPER, 0),
)
