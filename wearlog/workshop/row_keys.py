"""Tells rows that were brought in before from new ones, and from old ones that were changed."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field, fields
from datetime import date
from gettext import gettext as _
from hashlib import sha256
from typing import Any, TypeVar

from wearlog.fleet.problem import Findings
from wearlog.fleet.reading import Spot
from wearlog.store.records import Records
from wearlog.workshop.import_rows import Amount, GaugeSpot, ImportRow, TaskRow

R = TypeVar("R", bound=ImportRow)

#: What was typed may differ while the value is the same.
_NOT_COMPARED = {"where", "typed", "resolution"}


@dataclass(slots=True)
class NewRows:
    """What is left of a list of rows after those that are known; `keys` are to be remembered."""

    already: int = 0
    keys: dict[str, str] = field(default_factory=dict)


_fields: dict[Any, tuple[tuple[str, object], ...]] = {}


def _compared(kind: Any) -> tuple[tuple[str, object], ...]:
    """Return the names and defaults of the fields that count; looked up once for each kind of row."""
    known = _fields.get(kind)
    if known is None:
        known = tuple((f.name, f.default) for f in fields(kind) if f.name not in _NOT_COMPARED)
        _fields[kind] = known
    return known


def normalised(value: object) -> str:
    """Return a value as a text that is the same for the same content, however it was typed.

    Examples
    --------
    >>> normalised(25.4 * 12.7), normalised(322.58), normalised(None)
    ('322.58', '322.58', '')
    """
    if value is None:
        return ""
    if isinstance(value, bool | str):
        return str(value)
    if isinstance(value, int | float):
        return f"{value:.9g}"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        return "(" + ";".join(normalised(one) for one in value) + ")"
    if isinstance(value, Amount | GaugeSpot | TaskRow | Spot):
        later = {f.name for f in fields(value) if "later" in f.metadata}
        said = [
            normalised(given)
            for name, plain in _compared(type(value))
            if (given := getattr(value, name)) != plain or name not in later
        ]
        return "(" + ";".join(said) + ")"
    message = f"{type(value).__name__} has no normal form"
    raise TypeError(message)


def content_of(row: ImportRow) -> str:
    """Return what a row says, without the fields at their default, so that a new field changes no key."""
    kind = type(row)
    said = [
        f"{name}={normalised(value)}"
        for name, plain in _compared(kind)
        if (value := getattr(row, name)) != plain and value is not None
    ]
    return f"{kind.__name__}|" + "|".join(said)


def _key(text: str) -> str:
    return sha256(text.encode()).hexdigest()


def new_rows(
    records: Records, rows: Sequence[R], findings: Findings, *, checked: bool
) -> tuple[list[R], NewRows]:
    """Return the rows that are not kept yet, and what is to be remembered of them.

    A row is known by its content; the same content twice in one file is two rows. With `checked`, a row
    whose natural key is known but whose content is not is a problem: somebody changed the file.
    """
    told = NewRows()
    seen: Counter[str] = Counter()
    contents: list[str] = []
    for row in rows:
        content = content_of(row)
        seen[content] += 1
        contents.append(_key(f"{content}#{seen[content]}"))
    known = records.known_row_keys(set(contents))
    fresh: list[tuple[R, str]] = []
    matched: Counter[str] = Counter()
    by_natural: dict[str, list[int]] = defaultdict(list)
    for row, key in zip(rows, contents, strict=True):
        natural = f"{type(row).__name__}*{normalised(row.natural_key)}"
        if key in known:
            told.already += 1
            matched[natural] += 1
        else:
            by_natural[natural].append(len(fresh))
            fresh.append((row, key))
    # The n-th row of a natural key is remembered as number n: is there one more than this file repeats?
    numbered = {natural: _key(f"{natural}#{matched[natural] + 1}") for natural in by_natural}
    taken = records.known_row_keys(set(numbered.values())) if checked else set()
    changed: set[int] = set()
    for natural, places in by_natural.items():
        for count, place in enumerate(places, start=1):
            row, key = fresh[place]
            if numbered[natural] in taken:
                changed.add(place)
                findings.add(
                    _("This row was brought in before with other content."),
                    str(row.where),
                    _("Nothing kept is overwritten: correct it in wearlog, or undo the change in the file."),
                )
                continue
            came_from = f"{row.where.file} row {row.where.row}"
            told.keys[key] = came_from
            told.keys[_key(f"{natural}#{matched[natural] + count}")] = came_from
    return [row for place, (row, _content) in enumerate(fresh) if place not in changed], told
