"""Personal data: a digest of it stands in the trail, what it was stands here and can be erased."""

import json
import secrets
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, delete, insert, select

from wearlog.fleet.audit import PERSONAL_FIELDS, PERSONAL_MARK, personal_digest
from wearlog.store.drafts import chunks
from wearlog.store.tables_small import PersonalRow


def hidden(record: str, values: dict[str, Any], vehicle_id: int, kept: list[dict[str, Any]]) -> None:
    """Put a digest in the place of each personal value.

    Parameters
    ----------
    record
        The kind of the record.
    values
        Some of its values by name; changed in place.
    vehicle_id
        Whose data it is.
    kept
        Gathers the rows that `keep` writes.
    """
    for name in PERSONAL_FIELDS.get(record, ()):
        text = values.get(name)
        if text:
            salt = secrets.token_hex(16)
            values[name] = personal_digest(salt, text)
            kept.append({"digest": values[name], "vehicle_id": vehicle_id, "salt": salt, "text": text})


def keep(connection: Connection, kept: list[dict[str, Any]]) -> None:
    """Write what `hidden` gathered."""
    if kept:
        connection.execute(insert(PersonalRow), kept)


def revealed(connection: Connection, record: str, told: str) -> str:
    """Return one side of an entry of the trail with personal data as it was; empty where it was erased."""
    if PERSONAL_MARK not in told:
        return told
    values: Mapping[str, Any] = json.loads(told)
    digests = {name: values[name] for name in PERSONAL_FIELDS.get(record, ()) if _is_digest(values.get(name))}
    texts: dict[str, str] = {}
    for portion in chunks(set(digests.values())):
        query = select(PersonalRow.digest, PersonalRow.text).where(PersonalRow.digest.in_(portion))
        texts.update((row.digest, row.text) for row in connection.execute(query))
    shown = {name: texts.get(digest, "") for name, digest in digests.items()}
    return json.dumps({**values, **shown}, ensure_ascii=False, separators=(",", ":"))


def erase(connection: Connection, vehicle_id: int) -> int:
    """Erase what stood in the trail about one vehicle's people; return how many values are gone."""
    return connection.execute(delete(PersonalRow).where(PersonalRow.vehicle_id == vehicle_id)).rowcount


def _is_digest(value: object) -> bool:
    return isinstance(value, str) and value.startswith(PERSONAL_MARK)
