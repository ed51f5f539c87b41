"""The warranty record as data: every value as it is kept, and what is needed to check the trail."""

import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import asdict
from datetime import date, datetime
from enum import Enum
from typing import Any

from wearlog.fleet.quantity import CANONICAL_UNIT
from wearlog.fleet.reading import Reading
from wearlog.workshop.warranty_snapshot import ChainedEntry, WarrantyRecord

#: The form of the file; changed only with its meaning.
FORM = "wearlog warranty record 1"
#: How anybody can check the trail without wearlog; the words stand in the file.
HOW_TO_CHECK = (
    "chain = SHA-256 (NIST FIPS 180-4), in hexadecimal digits, of the ASCII text of the JSON list "
    "[chain_before, at, by, work, record, record_number, vehicle_number, before, after, change] without "
    'spaces between its items, all other characters escaped; "at" in UTC with six digits after the second. '
    "digest = SHA-256 of the JSON of this file without its digest, keys sorted, no spaces, other characters "
    "escaped."
)
#: Fields that say nothing to anybody outside.
_LEFT_OUT = {"version"}


def warranty_data(record: WarrantyRecord) -> dict[str, Any]:
    """Return the record as it is written to a JSON file, its digest last.

    Lengths in mm, forces in N, torques in N.m, elongation as a fraction, use in km (h on hour meters), dates
    as ISO 8601.
    """
    data: dict[str, Any] = {
        "form": FORM,
        "made_on": record.today.isoformat(),
        "vehicle": {
            "number": record.vehicle_id,
            "tag": record.tag,
            "description": record.vehicle_text,
            "model": record.model,
            "depot": record.depot,
            "use_unit": record.use_unit,
            "meter_unit": record.meter_unit,
        },
        "stage": record.stage_name,
        "part_text": record.part_text,
        "part": _plain(asdict(record.part)),
        "part_type": _plain(asdict(record.part_type)),
        "installation": _plain(asdict(record.installation)),
        "use_at_fitting": record.use_at_fitting,
        "use_on_part": record.use_on_part,
        "earlier_places": [{"place": place, **_plain(asdict(one))} for place, one in record.earlier],
        "limits": [{**_plain(asdict(one.limit)), "why": one.why} for one in record.limits],
        "readings": [_reading(record, one) for one in record.readings],
        "instruments": [_plain(asdict(one)) for one in record.instruments.values()],
        "visits": [
            {**_plain(asdict(one)), "meter_value": record.meters.get(one.total_use)} for one in record.visits
        ],
        "fasteners": [_plain(asdict(one)) for one in record.fasteners.values()],
        "torques": [
            {**_plain(asdict(one)), "meter_value": record.meters.get(one.total_use)} for one in record.torques
        ],
        "trail": {
            "how_to_check": HOW_TO_CHECK,
            "is_whole": record.is_whole,
            "first_misfit": record.broken_at,
            "count": record.trail_count,
            "last_chain": record.trail_head,
            "entries": [_entry(one) for one in record.trail],
        },
    }
    data["digest"] = digest_of(data)
    return data


def digest_of(data: Mapping[str, Any]) -> str:
    """Return the digest of a record's data; what stands under ``"digest"`` does not count.

    References
    ----------
    NIST FIPS 180-4, "Secure Hash Standard" (2015).
    """
    told = {key: value for key, value in data.items() if key != "digest"}
    text = json.dumps(told, ensure_ascii=True, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def _reading(record: WarrantyRecord, reading: Reading) -> dict[str, Any]:
    told: dict[str, Any] = _plain(asdict(reading))
    told["unit"] = CANONICAL_UNIT[reading.measurand.quantity]
    told["typed"] = [spot.typed for spot in reading.spots]
    told["meter_value"] = record.meters.get(reading.total_use)
    return told


def _entry(one: ChainedEntry) -> dict[str, Any]:
    entry = one.entry
    return {
        "number": entry.id,
        "at": entry.at.isoformat(timespec="microseconds"),
        "by": entry.by,
        "work": entry.what,
        "record": entry.record,
        "record_number": entry.record_id,
        "vehicle_number": entry.vehicle_id,
        "before": entry.before,
        "after": entry.after,
        "change": entry.change_id,
        "chain_before": one.chain_before,
        "chain": entry.chain,
    }


def _plain(value: Any) -> Any:
    """Return a value as JSON knows it; an open end of an interval is null."""
    if isinstance(value, Mapping):
        return {key: _plain(one) for key, one in value.items() if key not in _LEFT_OUT}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, date | datetime):
        return value.isoformat()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
