"""Visits that are planned: which vehicle comes when, and what is done to it then."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

#: Before the number of a planned visit.
NUMBER_PREFIX = "V-"


class PlannedState(StrEnum):
    """How far a planned visit has come."""

    PLANNED = "planned"
    BOOKED = "booked"
    DONE = "done"
    CALLED_OFF = "called off"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedItem:
    """One piece of work of a planned visit.

    `work` is the due list's own word for it. `is_with` is work that is not due yet, done along with the rest.
    """

    work: str
    stage_id: int | None = None
    installation_id: int | None = None
    part_type_id: int | None = None
    why: str = ""
    due_on: date | None = None
    is_with: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedVisit:
    """One visit to come, with the number of its job card.

    `number` is unique, for example ``"V-0042"``. `visit_id` is the visit it became. `bay_minutes` is how long
    it takes in the bay.
    """

    number: str
    vehicle_id: int
    depot: str
    on: date
    state: PlannedState = PlannedState.PLANNED
    items: tuple[PlannedItem, ...] = ()
    visit_id: int | None = None
    bay_minutes: int | None = None
    note: str = ""
    void_reason: str = ""
    id: int = 0
    version: int = 0

    @property
    def is_open(self) -> bool:
        """Whether it is still to come."""
        return self.state in {PlannedState.PLANNED, PlannedState.BOOKED} and not self.void_reason


def next_number(numbers: Iterable[str]) -> str:
    """Return the number after the greatest one given so far; numbers of another form do not count.

    Examples
    --------
    >>> next_number([]), next_number(["V-0009", "V-0041", "by phone"])
    ('V-0001', 'V-0042')
    """
    counts = [int(tail) for tail in _tails(numbers) if tail.isascii() and tail.isdigit()]
    return f"{NUMBER_PREFIX}{max(counts, default=0) + 1:04d}"


def _tails(numbers: Iterable[str]) -> Iterable[str]:
    return (one.removeprefix(NUMBER_PREFIX) for one in numbers if one.startswith(NUMBER_PREFIX))
