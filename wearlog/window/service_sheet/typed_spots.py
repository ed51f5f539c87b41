"""What was typed for one reading, understood spot by spot."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from gettext import gettext as _

from wearlog import units
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.fleet.quantity import Quantity, ShownUnits, Typed
from wearlog.fleet.reading import Instrument, Measurand, Method, Spot

#: Grades by eye: 0 as new, 1 polished, 2 visible thinning, 3 to be changed. Common practice, no source.
GRADES = (0, 1, 2, 3)

_READ_AT_A_SPOT: dict[Method, Quantity] = {
    Method.PIN_TO_PIN: Quantity.LENGTH,
    Method.OVER_ROLLERS: Quantity.LENGTH,
    Method.INSIDE_AND_OUTSIDE: Quantity.LENGTH,
    Method.BETWEEN_ROLLERS: Quantity.LENGTH,
    Method.TAPE: Quantity.LENGTH,
    Method.WHOLE_CHAIN: Quantity.LENGTH,
    Method.GAUGE: Quantity.ELONGATION,
    Method.ELONGATION_READ: Quantity.ELONGATION,
    Method.SPAN_FREQUENCY: Quantity.FREQUENCY,
    Method.DEFLECTION_FORCE: Quantity.FORCE,
    Method.GRADE: Quantity.GRADE,
}

_PAIR = re.compile(r"\s*/\s*")
_PLACE_BREAK = re.compile(r"\s*;\s*|(?<=[\w%])\s+(?=[-+]?\d)|\s*,\s+")
_STAMP = re.compile(r"(?P<stamp>\d+(?:[.,]\d+)?)\s*%?\s*(?P<way>in|out)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class TypedSpots:
    """The spots of one reading as far as they could be understood, or the problem with the text."""

    spots: tuple[Spot, ...] = ()
    deflection_mm: float | None = None
    problem: Problem | None = None


def quantity_read(method: Method, measurand: Measurand) -> Quantity:
    """Return what is read at a spot: a length, a frequency, a share."""
    return _READ_AT_A_SPOT.get(method, measurand.quantity)


def unit_read(method: Method, measurand: Measurand, shown: ShownUnits) -> str:
    """Return the unit that a bare number stands in."""
    return shown.unit_of(quantity_read(method, measurand))


def method_typed(text: str, methods: Sequence[Method], chosen: Method) -> Method:
    """Return the method that the text itself tells: a percentage was read off, a stamp stays out.

    Examples
    --------
    >>> method_typed("0.75 %", [Method.PIN_TO_PIN, Method.ELONGATION_READ], Method.PIN_TO_PIN).name
    'ELONGATION_READ'
    """
    if re.search(r"\bout\b", text, re.IGNORECASE) and Method.GAUGE in methods:
        return Method.GAUGE
    says_percent = "%" in text and chosen is not Method.GAUGE
    if says_percent and Method.ELONGATION_READ in methods:
        return Method.ELONGATION_READ
    return chosen


def read_spots(
    text: str, method: Method, measurand: Measurand, instrument: Instrument | None, shown: ShownUnits
) -> TypedSpots:
    """Return the spots that a text holds.

    Parameters
    ----------
    text
        One or several spots: ``"257.1 257.4 257.0"``, pairs inside/outside ``"119.76/136.78"``, a force with
        its deflection ``"42/12"``, gauge stamps ``"0.5 in 0.75 out"`` or shorter ``"0.5/0.75"``.
    method
        How the reading is taken; says what a spot is.
    measurand
        What is measured.
    instrument
        What it is taken with; a gauge's stamps are looked up in it.
    shown
        The units of this seat; a bare number stands in them.

    Examples
    --------
    >>> read = read_spots("257,1 257,4", Method.PIN_TO_PIN, Measurand.CHAIN_ELONGATION, None, ShownUnits())
    >>> [spot.value for spot in read.spots]
    [257.1, 257.4]
    """
    if not text.strip():
        return TypedSpots()
    try:
        if method is Method.GAUGE:
            return TypedSpots(_stamps(text, instrument))
        unit = unit_read(method, measurand, shown)
        quantity = quantity_read(method, measurand)
        if method is Method.INSIDE_AND_OUTSIDE:
            return TypedSpots(_inside_and_outside(text, unit))
        if method is Method.DEFLECTION_FORCE:
            spots = _forces(text, unit, shown.length)
            return TypedSpots(spots, spots[0].second)
        spots = tuple(_spot(typed) for typed in units.parse_several(text, quantity, unit))
        if quantity is Quantity.GRADE:
            _check_grades(spots)
        return TypedSpots(spots)
    except WearlogError as error:
        return TypedSpots(problem=error.problems[0])


def _spot(typed: Typed, second: float | None = None, text: str = "") -> Spot:
    return Spot(typed=text or typed.text, value=typed.value, second=second, resolution=typed.resolution)


def _pairs(text: str) -> list[tuple[str, str]]:
    """Return the halves of pairs parted by a stroke, place by place."""
    joined = _PAIR.sub("/", text.strip())
    places = [place for place in _PLACE_BREAK.split(joined) if place]
    return [(first, second) for first, _stroke, second in (place.partition("/") for place in places)]


def _inside_and_outside(text: str, unit: str) -> tuple[Spot, ...]:
    spots = []
    for inside, outside in _pairs(text):
        if not inside or not outside:
            raise WearlogError(
                Problem(
                    _("“{text}” is one length; this method takes two.").format(text=text.strip()),
                    "",
                    _("Type inside and outside with a stroke between, for example 119.76/136.78."),
                )
            )
        far = units.parse(outside, Quantity.LENGTH, unit)
        near = units.parse(inside, Quantity.LENGTH, far.unit)
        if near.value > far.value:
            raise WearlogError(
                Problem(
                    _("The inside length {inside} is more than the outside length {outside}.").format(
                        inside=inside, outside=outside
                    ),
                    "",
                    _("Type the inside length first."),
                )
            )
        spots.append(_spot(near, far.value, f"{inside}/{outside}"))
    return tuple(spots)


def _forces(text: str, force_unit: str, length_unit: str) -> tuple[Spot, ...]:
    spots = []
    for force, deflection in _pairs(text):
        if not deflection:
            raise WearlogError(
                Problem(
                    _("“{text}” is a force without its deflection.").format(text=force),
                    "",
                    _("Type force and deflection with a stroke between, for example 42/12."),
                )
            )
        bent = units.parse(deflection, Quantity.LENGTH, length_unit)
        pressed = units.parse(force, Quantity.FORCE, force_unit)
        spots.append(_spot(pressed, bent.value, f"{force}/{deflection}"))
    return tuple(spots)


def _check_grades(spots: Sequence[Spot]) -> None:
    for spot in spots:
        if spot.value not in GRADES:
            raise WearlogError(
                Problem(
                    _("{typed} is not a grade.").format(typed=spot.typed),
                    "",
                    _("Type 0 as new, 1 polished, 2 visible thinning or 3 to be changed."),
                )
            )


# --- gauge stamps ----------------------------------------------------------------------------------------


def _stamps(text: str, instrument: Instrument | None) -> tuple[Spot, ...]:
    if instrument is None or not instrument.stamps:
        raise WearlogError(
            Problem(
                _("No gauge with known stamps is chosen."),
                "",
                _("Choose the gauge; what each stamp means is kept with the instruments."),
            )
        )
    places = [place for place in re.split(r"\s*;\s*", text.strip()) if place]
    return tuple(spot for place in places for spot in _stamps_at_a_place(place, instrument))


def _stamps_at_a_place(place: str, instrument: Instrument) -> list[Spot]:
    tried = _stamps_in_words(place) if "/" not in place else _stamps_by_stroke(place)
    spots = [
        Spot(typed=f"{stamp} {way}", value=_meaning(stamp, instrument), second=1.0 if way == "in" else 0.0)
        for stamp, way in tried
    ]
    goes_in = [spot.value for spot in spots if spot.second]
    stays_out = [spot.value for spot in spots if not spot.second]
    if goes_in and stays_out and max(goes_in) >= min(stays_out):
        raise WearlogError(
            Problem(
                _("“{text}”: a stamp goes in although a smaller one stays out.").format(text=place),
                "",
                _("Try the gauge again, or type the stamp that goes in first."),
            )
        )
    return spots


def _stamps_by_stroke(place: str) -> list[tuple[str, str]]:
    """Return the stamps of the short form, goes in / stays out; one side may be empty."""
    goes_in, _stroke, stays_out = (half.strip() for half in place.partition("/"))
    return [(stamp, way) for stamp, way in ((goes_in, "in"), (stays_out, "out")) if stamp]


def _stamps_in_words(place: str) -> list[tuple[str, str]]:
    matches = list(_STAMP.finditer(place))
    left = re.sub(r"[\s,]|\band\b", "", _STAMP.sub("", place))
    if left or not matches or any(not match["way"] for match in matches):
        raise WearlogError(
            Problem(
                _("“{text}” does not say which stamp goes in and which stays out.").format(text=place),
                "",
                _("Type for example 0.5 in 0.75 out, or 0.5/0.75."),
            )
        )
    return [(match["stamp"], match["way"].lower()) for match in matches]


def _meaning(stamp: str, instrument: Instrument) -> float:
    wanted = stamp.replace(",", ".")
    for name, elongation in instrument.stamps:
        if name.strip() == wanted or _same_number(name, wanted):
            return elongation
    names = ", ".join(name for name, _elongation in instrument.stamps)
    raise WearlogError(
        Problem(
            _("{gauge} has no stamp {stamp}.").format(gauge=instrument.name, stamp=stamp),
            "",
            _("Its stamps are {names}.").format(names=names),
        )
    )


def _same_number(one: str, other: str) -> bool:
    try:
        return float(one.replace(",", ".")) == float(other)
    except ValueError:
        return False


# --- meter and task values -------------------------------------------------------------------------------


def read_meter(text: str, meter_unit: str) -> Typed:
    """Return what a meter shows, canonical (km or h).

    A meter face counts in thousands, so a comma before three digits parts thousands here.

    Raises
    ------
    WearlogError
        If the text is not one number with a unit of distance (of time on hour meters).

    Examples
    --------
    >>> round(read_meter("7,681 mi", "km").value)
    12361
    >>> read_meter("12 362", "km").value
    12362.0
    """
    quantity = Quantity.RUNNING_TIME if meter_unit == "h" else Quantity.DISTANCE
    plain = re.sub(r"(?<=\d),(?=\d{3}(?!\d))", "", text)
    typed = units.parse(plain, quantity, meter_unit)
    return Typed(typed.value, quantity, text, typed.unit, typed.resolution)


def read_set_value(text: str, quantity_unit: str) -> Typed:
    """Return a value that was set: slack in mm, tension in N, torque in N.m.

    Raises
    ------
    WearlogError
        If the text is not one number with a unit of that kind.
    """
    quantity = {"N": Quantity.FORCE, "N.m": Quantity.TORQUE}.get(quantity_unit, Quantity.LENGTH)
    return units.parse(text, quantity, quantity_unit or None)
