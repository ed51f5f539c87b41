"""Typed text to a canonical number and back to shown text; the only file that knows pint."""

import locale
import math
import re
from dataclasses import dataclass
from functools import cache
from gettext import gettext as _
from typing import Any

from wearlog import resources
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.fleet.quantity import CANONICAL_UNIT, Quantity, ShownUnits, Typed

THIN_SPACE = "\u2009"
NARROW_NO_BREAK_SPACE = "\u202f"
TRUE_MINUS = "\u2212"
PLUS_MINUS = "\u00b1"


@dataclass(frozen=True, slots=True)
class _Unit:
    """One unit of one quantity.

    Attributes
    ----------
    pint
        Its name in pint; empty where it is canonical or its factor is a matter of definition.
    decimals
        Places shown when no uncertainty is known.
    also
        Other spellings that are accepted, in lower case and without spaces.
    shown
        How it is written for people, if not as it is named here.
    """

    pint: str
    decimals: int
    also: tuple[str, ...] = ()
    shown: str | None = None


@cache
def _table() -> dict[Quantity, tuple[str, dict[str, _Unit]]]:
    """Return, for each quantity, what one may type for example and its units."""
    content = resources.toml("units.toml")
    return {
        quantity: (
            str(content[quantity.value]["example"]),
            {
                name: _Unit(
                    row.get("pint", ""), row["decimals"], tuple(row.get("also", ())), row.get("shown")
                )
                for name, row in content[quantity.value]["units"].items()
            },
        )
        for quantity in Quantity
    }


def _units_of(quantity: Quantity) -> dict[str, _Unit]:
    return _table()[quantity][1]


def _spelling(unit: str) -> str:
    """Return a spelling with spaces and the signs for "times" made alike, in lower case."""
    text = re.sub(r"(?<=\w)\s*(?:[\u00b7*\u22c5.-]|\s)\s*(?=[^\W\d])", ".", unit.strip())
    return text.replace(" ", "").lower()


@cache
def _unit_named(quantity: Quantity, spelling: str) -> str | None:
    """Return the unit of a quantity that a spelling stands for."""
    units = _units_of(quantity)
    if spelling in units:
        return spelling
    wanted = _spelling(spelling)
    for name, unit in units.items():
        if wanted in {_spelling(name), *unit.also}:
            return name
    return None


@cache
def _scale(unit: str, quantity: Quantity) -> tuple[float, float]:
    """Return a and b of canonical = a * value + b for a unit."""
    units = _units_of(quantity)
    if unit == CANONICAL_UNIT[quantity]:
        return 1.0, 0.0
    if unit == "%":
        return 0.01, 0.0
    if unit not in units:
        raise WearlogError(
            Problem(
                _("{unit} is not a unit of {quantity}.").format(unit=unit, quantity=_(quantity.value)),
                "",
                _("Use one of {units}.").format(units=", ".join(units_for(quantity))),
            )
        )
    registry = _registry()
    canonical = units[CANONICAL_UNIT[quantity]].pint or "dimensionless"
    zero = float(registry.Quantity(0.0, units[unit].pint).to(canonical).magnitude)
    many = float(registry.Quantity(1000.0, units[unit].pint).to(canonical).magnitude)
    # Defined factors have few digits; fourteen of them drop the noise of the conversion.
    return float(f"{(many - zero) / 1000.0:.14g}"), float(f"{zero:.14g}")


@cache
def _registry() -> Any:
    """Return pint's registry; loaded when a unit other than the canonical one is first met."""
    import pint  # noqa: PLC0415, TID251 - a third of a second that a start of the program need not pay

    return pint.UnitRegistry()


def units_for(quantity: Quantity) -> tuple[str, ...]:
    """Return the units in which a quantity may be typed and shown, the canonical one first."""
    return tuple(_units_of(quantity))


def factor(unit: str, quantity: Quantity) -> float:
    """Return how many canonical units one `unit` is; of temperatures, the size of a degree.

    Parameters
    ----------
    unit : str
        A unit of the quantity, any accepted spelling.
    quantity : Quantity
        What kind of quantity it is.

    Raises
    ------
    WearlogError
        If `unit` is not a unit of `quantity`.

    Examples
    --------
    >>> round(factor("in", Quantity.LENGTH), 6)
    25.4
    """
    return _scale(_unit_named(quantity, unit) or unit, quantity)[0]


def in_unit(value: float, quantity: Quantity, unit: str) -> float:
    """Return a canonical value in another unit of its quantity.

    Examples
    --------
    >>> round(in_unit(100.0, Quantity.TEMPERATURE, "degF"), 6)
    212.0
    """
    size, offset = _scale(_unit_named(quantity, unit) or unit, quantity)
    return (value - offset) / size


def from_unit(value: float, quantity: Quantity, unit: str) -> float:
    """Return the canonical value of a number that is in `unit`.

    Examples
    --------
    >>> round(from_unit(10.0, Quantity.DISTANCE, "mi"), 5)
    16.09344
    """
    size, offset = _scale(_unit_named(quantity, unit) or unit, quantity)
    return value * size + offset


# --- from typed text -------------------------------------------------------------------------------------

_SPACES = dict.fromkeys(map(ord, "\u00a0\u2007\u2008\u2009\u200a\u202f\u2002\u2003\t"), " ")
_SIGNS = {ord("\u2212"): "-", ord("\u2012"): "-", ord("\u2013"): "-", ord("\u2044"): "/", ord("\u2215"): "/"}
_VULGAR = {
    "\u00bd": " 1/2",
    "\u00bc": " 1/4",
    "\u00be": " 3/4",
    "\u215b": " 1/8",
    "\u215c": " 3/8",
    "\u215d": " 5/8",
    "\u215e": " 7/8",
}
_FRACTION = re.compile(r"(?P<sign>[-+]?)\s*(?:(?P<whole>\d+)(?:\s+|-))?(?P<over>\d+)\s*/\s*(?P<under>\d+)")
_DECIMAL = re.compile(
    r"(?P<sign>[-+]?)\s*(?P<digits>\d{1,3}(?:[ ']\d{3})+(?!\d)(?:[.,]\d+)?|\d[\d.,]*|[.,]\d+)"
    r"(?P<power>[eE][-+]?\d{1,3}(?![\w]))?"
)
#: Quantities that are counted in thousands: there a comma before three digits may mean either.
_COUNTED_IN_THOUSANDS = {Quantity.DISTANCE, Quantity.RUNNING_TIME, Quantity.COUNT, Quantity.ROTATIONAL_SPEED}


def _problem(what: str, quantity: Quantity) -> WearlogError:
    return WearlogError(
        Problem(what, "", _("Type for example {examples}.").format(examples=_table()[quantity][0]))
    )


def _cleaned(text: str) -> str:
    plain = text.translate(_SPACES).translate(_SIGNS)
    for sign, fraction in _VULGAR.items():
        plain = plain.replace(sign, fraction)
    return plain.strip()


def _decimal(digits: str, text: str, quantity: Quantity) -> tuple[float, float]:
    """Return the value of digits with points, commas and thousands spaces, and the step of the last digit."""
    plain = re.sub(r"[ ']", "", digits)
    marks = re.sub(r"\d", "", plain)
    if len(marks) > 1:
        last = marks[-1]
        if len(set(marks)) == 1:
            # 1,234,567: the same mark twice can only part thousands.
            whole, part = plain, ""
        else:
            whole, part = plain.rsplit(last, 1)
        other = marks[0]
        if not re.fullmatch(rf"\d{{1,3}}(?:{re.escape(other)}\d{{3}})+", whole) or (part and other == last):
            raise _problem(_("\u201c{text}\u201d is not a number.").format(text=text.strip()), quantity)
        plain = whole.replace(other, "") + ("." + part if part else "")
    elif re.fullmatch(r"[1-9]\d{0,2},\d{3}", plain) and quantity in _COUNTED_IN_THOUSANDS:
        raise _problem(
            _("\u201c{text}\u201d can be read as {small} or as {large}.").format(
                text=text.strip(), small=plain.replace(",", "."), large=plain.replace(",", "")
            ),
            quantity,
        )
    plain = plain.replace(",", ".")
    places = len(plain.partition(".")[2])
    return float(plain), 10.0**-places


def _number(text: str, typed: str, quantity: Quantity) -> tuple[float, float, str]:
    """Return value, step of the last digit and the rest of a text that starts with a number."""
    fraction = _FRACTION.match(text)
    if fraction and int(fraction["under"]):
        value = int(fraction["whole"] or 0) + int(fraction["over"]) / int(fraction["under"])
        step = 1 / int(fraction["under"])
        found: re.Match[str] = fraction
    else:
        decimal = _DECIMAL.match(text)
        if decimal is None or fraction:
            raise _problem(_("\u201c{text}\u201d is not a number.").format(text=typed.strip()), quantity)
        value, step = _decimal(decimal["digits"], typed, quantity)
        if decimal["power"]:
            power = decimal["power"]
            value, step = value * float(f"1{power}"), step * float(f"1{power}")
        found = decimal
    if found["sign"] == "-":
        value = -value
    if not math.isfinite(value):
        raise _problem(_("\u201c{text}\u201d is too large.").format(text=typed.strip()), quantity)
    return value, step, text[found.end() :].strip()


def _unit_typed(rest: str, typed: str, quantity: Quantity) -> str:
    unit = _unit_named(quantity, rest)
    if unit is not None:
        return unit
    what = _("\u201c{unit}\u201d in \u201c{text}\u201d is not a unit known here.").format(
        unit=rest, text=typed.strip()
    )
    others = [other for other in Quantity if other is not quantity and _unit_named(other, rest)]
    if others:
        what = _("\u201c{text}\u201d gives {other}, but {quantity} is wanted here.").format(
            text=typed.strip(), other=_(others[0].value), quantity=_(quantity.value)
        )
    elif re.search(r"\d", rest):
        what = _("\u201c{text}\u201d holds more than one number.").format(text=typed.strip())
    elif len(words := rest.split()) > 1 and all(any(_unit_named(q, w) for q in Quantity) for w in words):
        what = _("\u201c{text}\u201d holds two units.").format(text=typed.strip())
    raise _problem(what, quantity)


def parse(text: str, quantity: Quantity, default_unit: str | None = None) -> Typed:
    """Return what a person typed as a canonical value, with the text, the unit and the resolution kept.

    Parameters
    ----------
    text : str
        One number with or without a unit: ``"12 3/4 in"``, ``"118,2 mm"``, ``"12 362 km"``.
    quantity : Quantity
        What kind of quantity is wanted.
    default_unit : str or None
        The unit a bare number stands in; the canonical one if None.

    Raises
    ------
    WearlogError
        If the text is empty, not one number, or its unit belongs to another quantity.

    Examples
    --------
    >>> typed = parse("12 3/4 in", Quantity.LENGTH)
    >>> round(typed.value, 3), typed.unit, round(typed.resolution, 3)
    (323.85, 'in', 6.35)
    >>> parse("0,75", Quantity.ELONGATION, "%").value
    0.0075
    """
    plain = _cleaned(text)
    if not plain:
        raise _problem(
            _("Nothing was typed; {quantity} is wanted.").format(quantity=_(quantity.value)), quantity
        )
    value, step, rest = _number(plain, text, quantity)
    unit = _unit_typed(rest, text, quantity) if rest else default_unit or CANONICAL_UNIT[quantity]
    return _typed(value, step, unit, text, quantity)


def _typed(value: float, step: float, unit: str, text: str, quantity: Quantity) -> Typed:
    named = _unit_named(quantity, unit) or unit
    size, offset = _scale(named, quantity)
    canonical = value / 100 if named == "%" else value * size + offset
    if not math.isfinite(canonical):
        raise _problem(_("\u201c{text}\u201d is too large.").format(text=text.strip()), quantity)
    return Typed(canonical, quantity, text, named, step * size)


def parse_several(text: str, quantity: Quantity, default_unit: str | None = None) -> tuple[Typed, ...]:
    """Return the values of several spots typed in one field, parted by spaces or semicolons.

    A unit that follows a number counts for the numbers before it that have none. Thousands are not parted
    by ordinary spaces here.

    Parameters
    ----------
    text : str
        For example ``"254.6 254.9 254.7 mm"``.
    quantity : Quantity
        What kind of quantity is wanted.
    default_unit : str or None
        The unit of numbers after which no unit comes; the canonical one if None.

    Raises
    ------
    WearlogError
        As `parse`.

    Examples
    --------
    >>> [typed.value for typed in parse_several("254.6 254.9; 254.7 mm", Quantity.LENGTH)]
    [254.6, 254.9, 254.7]
    """
    plain = _cleaned(text)
    number = r"[-+]?(?:\d+[ -]\d+/\d+|\d+/\d+|\d[\d.,]*(?:[eE][-+]?\d+)?|[.,]\d+)"
    pieces = re.findall(rf"({number})\s*([^\d;+\-.,][^\d;]*|)(?:;|(?=[-+\d.,])|$)\s*", plain)
    rebuilt = "".join(a + b for a, b in pieces)
    if not pieces or re.sub(r"[\s;]", "", rebuilt) != re.sub(r"[\s;]", "", plain):
        return (parse(text, quantity, default_unit),)
    unit = default_unit or CANONICAL_UNIT[quantity]
    read: list[Typed] = []
    for number_text, unit_text in reversed(pieces):
        if unit_text.strip():
            unit = _unit_typed(unit_text.strip(), text, quantity)
        value, step, _rest = _number(number_text.strip(), number_text, quantity)
        read.append(_typed(value, step, unit, f"{number_text} {unit_text}".strip(), quantity))
    return tuple(reversed(read))


# --- to shown text ---------------------------------------------------------------------------------------


def _decimals_for(u: float) -> int:
    """Return the decimal places that a standard uncertainty supports.

    Two significant digits of it while its leading digits are below 355, else one.

    References
    ----------
    JCGM 100:2008, 7.2.6: at most two significant digits. Particle Data Group, Review of Particle Physics,
    Introduction 5.3 (rounding rule 354), from memory.
    """
    exponent = math.floor(math.log10(u))
    leading = u / 10.0**exponent
    if leading >= 9.495:
        return -exponent
    return 1 - exponent if leading < 3.545 else -exponent


def _written(value: float, decimals: int) -> str:
    rounded = round(value, decimals)
    digits = f"{abs(rounded):.{max(decimals, 0)}f}"
    whole, _point, part = digits.partition(".")
    if len(whole) > 4:
        head = len(whole) % 3
        groups = [whole[:head]] if head else []
        groups += [whole[at : at + 3] for at in range(head, len(whole), 3)]
        whole = NARROW_NO_BREAK_SPACE.join(groups)
    mark = str(locale.localeconv()["decimal_point"]) or "."
    is_negative = rounded < 0
    return (TRUE_MINUS if is_negative else "") + whole + (mark + part if part else "")


def show_parts(
    value: float,
    quantity: Quantity,
    shown: ShownUnits,
    *,
    u: float | None = None,
    decimals: int | None = None,
    with_u: bool = True,
) -> tuple[str, str]:
    """Return the number and the unit of a canonical value as a seat reads it.

    Parameters
    ----------
    value : float
        In the canonical unit.
    quantity : Quantity
        What kind of quantity it is.
    shown : ShownUnits
        The units of this seat.
    u : float or None
        Standard uncertainty in the canonical unit; limits the digits.
    decimals : int or None
        Places wanted; never more than `u` supports.
    with_u : bool
        Whether the uncertainty is written behind the number.

    Examples
    --------
    >>> show_parts(0.0145, Quantity.ELONGATION, ShownUnits(), u=0.0005)
    ('1.45 ± 0.05', '%')
    """
    unit = shown.unit_of(quantity)
    label = _units_of(quantity)[unit].shown
    label = unit if label is None else label
    if math.isnan(value):
        return "\u2013", label
    if math.isinf(value):
        return (TRUE_MINUS if value < 0 else "") + "\u221e", label
    number = in_unit(value, quantity, unit)
    places = _units_of(quantity)[unit].decimals if decimals is None else decimals
    u_shown = u / factor(unit, quantity) if u is not None and math.isfinite(u) and u > 0 else None
    if u_shown is not None:
        supported = _decimals_for(u_shown)
        places = supported if decimals is None else min(decimals, supported)
    text = _written(number, places)
    if u_shown is not None and with_u:
        text = f"{text} {PLUS_MINUS} {_written(u_shown, places)}"
    return text, label


def show(
    value: float,
    quantity: Quantity,
    shown: ShownUnits,
    *,
    u: float | None = None,
    unit: bool = True,
    decimals: int | None = None,
    with_u: bool = True,
) -> str:
    r"""Return a canonical value as text for people: number, thin space, unit.

    Parameters
    ----------
    value : float
        In the canonical unit.
    quantity : Quantity
        What kind of quantity it is.
    shown : ShownUnits
        The units of this seat.
    u : float or None
        Standard uncertainty in the canonical unit; limits the digits and is written unless `with_u` is False.
    unit : bool
        Whether the unit is written.
    decimals : int or None
        Places wanted; never more than `u` supports.
    with_u : bool
        Whether the uncertainty is written.

    Examples
    --------
    >>> show(0.0145, Quantity.ELONGATION, ShownUnits(), u=0.0005)
    '1.45 ± 0.05\u2009%'
    """
    number, label = show_parts(value, quantity, shown, u=u, decimals=decimals, with_u=with_u)
    return f"{number}{THIN_SPACE}{label}" if unit and label else number
