"""The trail that every change leaves."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditEntry:
    """Who changed what, when, from what to what; `before` and `after` are JSON texts, empty for none."""

    at: datetime
    by: str
    what: str
    record: str
    record_id: int
    vehicle_id: int | None
    before: str = ""
    after: str = ""
    change_id: str = ""
    id: int = 0
