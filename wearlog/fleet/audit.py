"""The trail that every change leaves, chained so that nobody can alter it unseen."""

import hashlib
import json
from dataclasses import dataclass
from datetime import UTC, datetime

#: What stands in the trail in place of personal data, before the digest.
PERSONAL_MARK = "personal:"
#: Which fields of which records are personal data.
PERSONAL_FIELDS: dict[str, tuple[str, ...]] = {"Vehicle": ("owner_contact",)}


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditEntry:
    """Who changed what, when, from what to what; `before` and `after` are JSON texts, empty for none.

    In them stands a salted digest, ``"personal:..."``, in place of each field that is personal data; what was
    there is kept beside the trail, where it can be erased while the trail stays as it is. `chain` is the
    digest of this entry and, through the chain of the entry before, of all earlier ones.
    """

    at: datetime
    by: str
    what: str
    record: str
    record_id: int
    vehicle_id: int | None
    before: str = ""
    after: str = ""
    change_id: str = ""
    chain: str = ""
    id: int = 0


def chain_after(chain: str, entry: AuditEntry) -> str:
    """Return what an entry's `chain` must be.

    Parameters
    ----------
    chain
        Of the entry before; empty for the first.
    entry
        The entry; its own `chain` and its number do not count.

    Returns
    -------
    str
        SHA-256 in hexadecimal digits.

    References
    ----------
    NIST FIPS 180-4, "Secure Hash Standard" (2015).
    """
    told = [
        chain,
        entry.at.astimezone(UTC).isoformat(timespec="microseconds"),
        entry.by,
        entry.what,
        entry.record,
        entry.record_id,
        entry.vehicle_id,
        entry.before,
        entry.after,
        entry.change_id,
    ]
    text = json.dumps(told, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def personal_digest(salt: str, text: str) -> str:
    """Return what stands in the trail for personal data; without the salt nobody can guess back from it."""
    return PERSONAL_MARK + hashlib.sha256(f"{salt}:{text}".encode()).hexdigest()
