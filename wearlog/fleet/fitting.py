"""Installations: one part in one place, from when it was fitted to when it came off."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class Position(StrEnum):
    """Where in a stage a part sits."""

    DRIVER = "driver"
    RUN = "run"
    DRIVEN = "driven"


class RemovalReason(StrEnum):
    """Why a part came off."""

    WORN = "worn"
    EARLY = "replaced early"
    DAMAGED = "damaged"
    MOVED = "moved"
    CONVERSION = "conversion"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class Installation:
    """One part in one place.

    `fitted_use` and `removed_use` are the vehicle's total use (km, or h on hour meters; continuous over
    replaced meters). `RUN` is the chain or belt itself.
    """

    part_id: int
    vehicle_id: int
    stage_id: int
    position: Position
    fitted_on: date
    fitted_use: float
    removed_on: date | None = None
    removed_use: float | None = None
    removal_reason: RemovalReason | None = None
    links: int | None = None
    thread_lock: bool | None = None
    cost: float | None = None
    notes: str = ""
    void_reason: str = ""
    id: int = 0
    version: int = 0

    @property
    def is_current(self) -> bool:
        """Whether the part is still there."""
        return self.removed_on is None and not self.void_reason
