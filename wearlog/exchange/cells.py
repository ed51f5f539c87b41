"""Cells of an import: text to canonical values, and a kind sentence for what can't be read."""

import difflib
import re
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from enum import StrEnum
from functools import lru_cache
from gettext import gettext as _
from typing import Any, TypeAlias, TypeVar

from wearlog import units
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.quantity import Quantity, Typed
from wearlog.workshop.import_rows import Amount

E = TypeVar("E", bound=StrEnum)

#: Reads a cell: its text (stripped, not empty), the unit its header names, and the row read so far.
Reader: TypeAlias = Callable[[str, str, Mapping[str, Any]], object]

LONGEST_NAME = 200
LONGEST_TEXT = 4000

_PLAIN_NUMBER = re.compile(r"-?\d{1,15}(?:\.(\d{1,15}))?")
_ISO_DAY = re.compile(r"\d{4}-\d\d-\d\d")
_OTHER_DAY = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4})")
_LETTER = re.compile(r"[^\W\d]|[%\"'″′]")


class BadCell(Exception):
    """A cell that can't be read; `what` is wrong and `todo` says the way out."""

    def __init__(self, what: str, todo: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.todo = todo


def nearest(word: str, known: Iterable[str]) -> str:
    """Return the known word most like a mistyped one, or nothing.

    Examples
    --------
    >>> nearest("discription", ["description", "depot"])
    'description'
    """
    by_lower = {name.lower(): name for name in known}
    found = difflib.get_close_matches(word.lower(), by_lower, n=1, cutoff=0.6)
    return by_lower[found[0]] if found else ""


def shortened(text: str, longest: int = 60) -> str:
    """Return a text short enough for a sentence."""
    return text if len(text) <= longest else text[: longest - 1] + "…"


def suggestion(word: str, known: Iterable[str]) -> str:
    """Return the sentence that lists what may stand in a place, the most likely first."""
    words = list(known)
    listed = _("Known here: {words}.").format(words=", ".join(words[:25]))
    near = nearest(word, words)
    return _("Did you mean “{near}”? {listed}").format(near=near, listed=listed) if near else listed


def name(text: str, _unit: str, _row: Mapping[str, Any]) -> str:
    """Read a name."""
    if len(text) > LONGEST_NAME:
        raise BadCell(
            _("“{text}” is longer than {n} letters.").format(text=shortened(text), n=LONGEST_NAME),
            _("Shorten it."),
        )
    return text


def words(text: str, _unit: str, _row: Mapping[str, Any]) -> str:
    """Read free text."""
    if len(text) > LONGEST_TEXT:
        raise BadCell(
            _("The text has {length} letters; {n} are the most.").format(length=len(text), n=LONGEST_TEXT),
            _("Shorten it; a missing quote mark can also make a cell swallow what follows."),
        )
    return text


def one_of(kinds: type[E], *, without: Iterable[E] = ()) -> Reader:
    """Return the reader of a cell that holds one word of a list."""
    left_out = set(without)
    known = {kind.value.lower(): kind for kind in kinds if kind not in left_out}

    def read(text: str, _unit: str, _row: Mapping[str, Any]) -> E:
        found = known.get(text) or known.get(" ".join(text.lower().split()))
        if found is None:
            raise BadCell(
                _("“{text}” is not known here.").format(text=shortened(text)),
                suggestion(text, (kind.value for kind in known.values())),
            )
        return found

    return read


@lru_cache(maxsize=20_000)
def _day(text: str) -> date:
    if _ISO_DAY.fullmatch(text):
        try:
            return date.fromisoformat(text)
        except ValueError:
            raise BadCell(
                _("{text} is not a day of the calendar.").format(text=text),
                _("Write year-month-day, for example 2026-03-14."),
            ) from None
    todo = _("Write year-month-day, for example 2026-03-14.")
    other = _OTHER_DAY.fullmatch(text)
    if other and (int(other[1]) > 12) != (int(other[2]) > 12):
        first, second = int(other[1]), int(other[2])
        day, month = (first, second) if first > 12 else (second, first)
        todo = _("Write it as {iso}.").format(iso=f"{other[3]}-{month:02}-{day:02}")
    elif other:
        todo = _("It can be read in two ways: write year-month-day, for example 2026-03-14.")
    raise BadCell(_("“{text}” is not a date as wanted here.").format(text=shortened(text)), todo)


def day(text: str, _unit: str, _row: Mapping[str, Any]) -> date:
    """Read a date, ISO 8601."""
    return _day(text)


def yes_no(text: str, _unit: str, _row: Mapping[str, Any]) -> bool:
    """Read yes or no."""
    answer = {"yes": True, "no": False}.get(text.lower())
    if answer is None:
        raise BadCell(
            _("“{text}” is neither yes nor no.").format(text=shortened(text)),
            _("Write yes or no, or leave the cell empty if nobody knows."),
        )
    return answer


@lru_cache(maxsize=200)
def _takes(unit: str, quantity: Quantity) -> bool:
    """Whether a unit is one of a quantity."""
    try:
        units.factor(unit, quantity)
    except WearlogError:
        return False
    return True


@lru_cache(maxsize=200)
def _line(unit: str, quantity: Quantity) -> tuple[float, float]:
    """Return a and b of canonical = a * value + b."""
    return units.factor(unit, quantity), units.from_unit(0.0, quantity, unit)


#: Quantities that are bare numbers; a missing unit can't be mistaken there.
_BARE = {Quantity.COUNT, Quantity.GRADE}


def has_own_unit(text: str) -> bool:
    """Whether a cell names a unit behind its number."""
    return bool(_LETTER.search(text)) and not _PLAIN_NUMBER.fullmatch(text)


def typed(text: str, quantity: Quantity, unit: str) -> Typed:
    """Return a cell's value; a bare number is in the unit of the header, or of none for counts and grades.

    Whole columns of bare numbers are converted by one factor, because a general parser takes far longer.
    """
    if unit and not _takes(unit, quantity):
        unit = ""
    unit = unit or ("1" if quantity in _BARE else "")
    plain = _PLAIN_NUMBER.fullmatch(text)
    if plain and unit:
        size, offset = _line(unit, quantity)
        step = size * 10.0 ** -len(plain[1] or "")
        number = float(text)
        value = number / 100.0 if unit == "%" else number * size + offset
        return Typed(value, quantity, text, unit, step)
    if not unit and not has_own_unit(text):
        raise BadCell(
            _("“{text}” has no unit.").format(text=shortened(text)),
            _("Write it in the cell or in the header, for example [{unit}].").format(
                unit="%" if quantity is Quantity.ELONGATION else units.units_for(quantity)[0]
            ),
        )
    try:
        return units.parse(text, quantity, unit or None)
    except WearlogError as error:
        problem = error.problems[0]
        raise BadCell(problem.what, problem.todo) from None


def in_range(value: float, text: str, above: float | None, least: float | None, most: float | None) -> float:
    """Return a value, or say that it can't be."""
    if above is not None and value <= above:
        raise BadCell(
            _("“{text}” must be more than {above:g}.").format(text=text, above=above), _("Check the value.")
        )
    if least is not None and value < least:
        raise BadCell(
            _("“{text}” is less than {least:g}.").format(text=text, least=least), _("Check the value.")
        )
    if most is not None and value > most:
        raise BadCell(
            _("“{text}” is more than {most:g}.").format(text=text, most=most), _("Check the value.")
        )
    return value


def quantity(
    kind: Quantity,
    *,
    above: float | None = None,
    least: float | None = None,
    most: float | None = None,
    default: str = "",
) -> Reader:
    """Return the reader of a quantity; bounds in the canonical unit."""

    def read(text: str, unit: str, _row: Mapping[str, Any]) -> float:
        return in_range(typed(text, kind, unit or default).value, text, above, least, most)

    return read


def quantity_by(choose: Callable[[Mapping[str, Any]], Quantity | None]) -> Reader:
    """Return the reader of a quantity whose kind follows from cells read before."""

    def read(text: str, unit: str, row: Mapping[str, Any]) -> float | None:
        kind = choose(row)
        return None if kind is None else typed(text, kind, unit).value

    return read


def whole(*, least: int = 0, most: int = 1_000_000) -> Reader:
    """Return the reader of a whole number."""

    def read(text: str, _unit: str, _row: Mapping[str, Any]) -> int:
        if not re.fullmatch(r"-?\d{1,9}", text):
            raise BadCell(
                _("“{text}” is not a whole number.").format(text=shortened(text)), _("Write digits only.")
            )
        return int(in_range(int(text), text, None, least, most))

    return read


def number(text: str, _unit: str, _row: Mapping[str, Any]) -> float:
    """Read a plain number that is not negative, such as a price."""
    if not _PLAIN_NUMBER.fullmatch(text):
        raise BadCell(
            _("“{text}” is not a number.").format(text=shortened(text)),
            _("Write digits with a decimal point, without a currency or thousands marks."),
        )
    return in_range(float(text), text, None, 0.0, None)


def amount(text: str, unit: str, _row: Mapping[str, Any]) -> Amount:
    """Read a meter value or an amount of use; bare ones are in the vehicle's own meter unit."""
    if _PLAIN_NUMBER.fullmatch(text) and not unit:
        return Amount(in_range(float(text), text, None, 0.0, None), "", text)
    is_hours = bool(unit) and _takes(unit, Quantity.RUNNING_TIME)
    if has_own_unit(text):
        rest = re.sub(r"^[\d\s.,'+-]+", "", text)
        is_hours = _takes(rest, Quantity.RUNNING_TIME) and not _takes(rest, Quantity.DISTANCE)
        unit = "h" if is_hours else "km"
    kind = Quantity.RUNNING_TIME if is_hours else Quantity.DISTANCE
    if not unit:
        # A number with thousands marks; the factor is for the vehicle to say.
        return Amount(in_range(typed(text, kind, "km").value, text, None, 0.0, None), "", text)
    value = typed(text, kind, unit).value
    return Amount(in_range(value, text, None, 0.0, None), "h" if is_hours else "km", text)
