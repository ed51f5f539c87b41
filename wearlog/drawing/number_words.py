"""Words for numbers, states and parts."""

import math
from datetime import date
from gettext import gettext as _
from gettext import ngettext

from wearlog.fleet.fitting import Position
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.reading import Measurand, Method
from wearlog.fleet.service import Task
from wearlog.fleet.state import State
from wearlog.units import THIN_SPACE, factor, show, show_parts
from wearlog.workshop.fleet_snapshot import WearRuleValue

_PLAIN = ShownUnits()


def state_text(state: State) -> str:
    """Return the word of a state.

    Examples
    --------
    >>> state_text(State.PAST_LIMIT)
    'past limit'
    """
    return {
        State.WITHIN_LIMIT: _("within limit"),
        State.PLAN: _("plan"),
        State.DUE: _("due"),
        State.PAST_LIMIT: _("past limit"),
        State.NO_READING: _("no reading"),
    }[state]


def measurand_text(measurand: Measurand) -> str:
    """Return what is measured, short enough for an axis or a column.

    Examples
    --------
    >>> measurand_text(Measurand.CHAIN_ELONGATION)
    'elongation'
    """
    return {
        Measurand.CHAIN_ELONGATION: _("elongation"),
        Measurand.SPROCKET_TOOTH_THICKNESS: _("tooth thickness"),
        Measurand.CHAIN_LIFT: _("lift-off"),
        Measurand.SLACK: _("slack"),
        Measurand.ADJUSTER_POSITION: _("adjuster position"),
        Measurand.BELT_TENSION: _("static tension"),
        Measurand.BELT_CONDITION: _("belt condition"),
        Measurand.SPROCKET_CONDITION: _("sprocket condition"),
    }[measurand]


def part_noun(measurand: Measurand | None, count: int = 1) -> str:
    """Return what kind of part a measurand belongs to.

    Parameters
    ----------
    measurand : Measurand or None
        None for a part of any kind.
    count : int
        How many, for the plural, [-].

    Examples
    --------
    >>> part_noun(Measurand.CHAIN_ELONGATION), part_noun(Measurand.CHAIN_ELONGATION, 31)
    ('chain', 'chains')
    """
    if measurand in {Measurand.CHAIN_ELONGATION, Measurand.SLACK, Measurand.ADJUSTER_POSITION}:
        return ngettext("chain", "chains", count)
    if measurand in {Measurand.SPROCKET_TOOTH_THICKNESS, Measurand.SPROCKET_CONDITION, Measurand.CHAIN_LIFT}:
        return ngettext("sprocket", "sprockets", count)
    if measurand in {Measurand.BELT_TENSION, Measurand.BELT_CONDITION}:
        return ngettext("belt", "belts", count)
    return ngettext("part", "parts", count)


def place_text(stage_name: str, position: Position | None = None) -> str:
    """Return where a part sits, for example ``"final drive, driven"``."""
    where = {
        Position.DRIVER: _("{stage}, driver"),
        Position.DRIVEN: _("{stage}, driven"),
    }
    template = where.get(position) if position is not None else None
    return template.format(stage=stage_name) if template else stage_name


def task_text(task: Task) -> str:
    """Return what a task asks for."""
    return {
        Task.CLEANED: _("clean"),
        Task.LUBRICATED: _("lubricate"),
        Task.TENSION_SET: _("set tension"),
        Task.LINKS_REMOVED: _("remove links"),
        Task.PART_FITTED: _("fit part"),
        Task.PART_REMOVED: _("remove part"),
        Task.TORQUE_CHECKED: _("check torque"),
        Task.INSPECTED: _("inspect"),
        Task.MEASURED: _("measure"),
    }[task]


def method_text(method: Method) -> str:
    """Return how a reading was taken."""
    return {
        Method.PIN_TO_PIN: _("pin to pin"),
        Method.OVER_ROLLERS: _("over rollers"),
        Method.INSIDE_AND_OUTSIDE: _("inside and outside"),
        Method.BETWEEN_ROLLERS: _("between rollers"),
        Method.TAPE: _("tape under load"),
        Method.WHOLE_CHAIN: _("whole chain"),
        Method.GAUGE: _("gauge"),
        Method.ELONGATION_READ: _("read off"),
        Method.DIRECT: _("direct"),
        Method.SPAN_FREQUENCY: _("span frequency"),
        Method.DEFLECTION_FORCE: _("deflection force"),
        Method.GRADE: _("grade by eye"),
    }[method]


# --- numbers ---------------------------------------------------------------------------------------------


def use_quantity(use_unit: str) -> Quantity:
    """Return what use is counted in: distance for ``"km"``, running time for ``"h"``."""
    return Quantity.RUNNING_TIME if use_unit == "h" else Quantity.DISTANCE


def use_unit_text(use_unit: str, shown: ShownUnits) -> str:
    """Return the unit in which this seat reads use."""
    return show_parts(0.0, use_quantity(use_unit), shown)[1]


def use_text(value: float, use_unit: str, shown: ShownUnits, *, unit: bool = True) -> str:
    r"""Return an exact use, as off a meter.

    Parameters
    ----------
    value : float
        Use in `use_unit`, [km or h].
    use_unit : str
        ``"km"`` or ``"h"``.
    shown : ShownUnits
        The units of this seat.
    unit : bool
        Whether the unit is written.

    Examples
    --------
    >>> use_text(12362.0, "km", ShownUnits())
    '12\u202f362\u2009km'
    """
    return show(value, use_quantity(use_unit), shown, unit=unit, decimals=0)


def daily_use_text(per_day: float, use_unit: str, shown: ShownUnits) -> str:
    """Return how much a vehicle is used, a day or, where that is little, a week.

    Parameters
    ----------
    per_day : float
        Use a day, [km or h].
    use_unit : str
        ``"km"`` or ``"h"``.
    shown : ShownUnits
        The units of this seat.

    Examples
    --------
    >>> daily_use_text(0.6, "h", ShownUnits()).replace(THIN_SPACE, " ")
    '4 h a week'
    """
    if per_day / factor(shown.unit_of(use_quantity(use_unit)), use_quantity(use_unit)) < 3.0:
        return _("{use} a week").format(use=use_text(7.0 * per_day, use_unit, shown))
    return _("{use} a day").format(use=use_text(per_day, use_unit, shown))


def _step(width: float) -> float:
    """Return the decimal step that a number within an interval of this width deserves."""
    return 10.0 ** math.floor(math.log10(max(width, 1e-9) / 16.0))


def rough_use_text(value: float, width: float, use_unit: str, shown: ShownUnits, *, unit: bool = True) -> str:
    """Return a predicted use with no more digits than the width of its interval supports.

    Parameters
    ----------
    value : float
        Use in `use_unit`, [km or h].
    width : float
        Width of its 80 % interval, [km or h].
    use_unit : str
        ``"km"`` or ``"h"``.
    shown : ShownUnits
        The units of this seat.
    unit : bool
        Whether the unit is written.

    Examples
    --------
    >>> rough_use_text(783.4, 860.0, "km", ShownUnits(), unit=False)
    '780'
    """
    quantity = use_quantity(use_unit)
    if not math.isfinite(value):
        return show(value, quantity, shown, unit=unit)
    size = factor(shown.unit_of(quantity), quantity)
    width = width if math.isfinite(width) else abs(value)
    step = max(_step(width / size), 1.0) * size
    return show(round(value / step) * step, quantity, shown, unit=unit, decimals=0)


def use_interval_text(low: float, high: float, use_unit: str, shown: ShownUnits) -> str:
    """Return an interval of predicted use, for example ``"410 to 1270 km"``."""
    if not math.isfinite(high):
        return _("{low} or more").format(low=rough_use_text(low, low, use_unit, shown))
    width = high - low
    return _("{low} to {high}").format(
        low=rough_use_text(low, width, use_unit, shown, unit=False),
        high=rough_use_text(high, width, use_unit, shown),
    )


def value_text(
    measurand: Measurand, value: float, u: float | None, shown: ShownUnits, *, unit: bool = True
) -> str:
    r"""Return a value of a measurand with its standard uncertainty.

    Parameters
    ----------
    measurand : Measurand
        What was measured.
    value : float
        In its canonical unit.
    u : float or None
        Standard uncertainty in the same unit.
    shown : ShownUnits
        The units of this seat.
    unit : bool
        Whether the unit is written.

    Examples
    --------
    >>> value_text(Measurand.CHAIN_ELONGATION, 0.0145, 0.0005, ShownUnits())
    '1.45 ± 0.05\u2009%'
    """
    return show(value, measurand.quantity, shown, u=u, unit=unit)


def unit_text(measurand: Measurand, shown: ShownUnits) -> str:
    """Return the unit in which this seat reads a measurand; empty for grades."""
    return show_parts(0.0, measurand.quantity, shown)[1]


def interval_text(
    measurand: Measurand, low: float | None, high: float | None, shown: ShownUnits, *, unit: bool = True
) -> str:
    r"""Return the interval that a gauge leaves, either end of which may be open.

    Parameters
    ----------
    measurand : Measurand
        What was measured.
    low : float or None
        Lower end in its canonical unit; None or infinite if open.
    high : float or None
        Upper end.
    shown : ShownUnits
        The units of this seat.
    unit : bool
        Whether the unit is written.

    Examples
    --------
    >>> interval_text(Measurand.CHAIN_ELONGATION, 0.005, 0.0075, ShownUnits())
    '0.50 to 0.75\u2009%'
    >>> interval_text(Measurand.CHAIN_ELONGATION, None, 0.005, ShownUnits())
    'under 0.50\u2009%'
    """
    has_low = low is not None and math.isfinite(low)
    has_high = high is not None and math.isfinite(high)
    quantity = measurand.quantity
    lower = show(low, quantity, shown, unit=unit and not has_high) if low is not None and has_low else ""
    upper = show(high, quantity, shown, unit=unit) if high is not None and has_high else ""
    if lower and upper:
        return _("{low} to {high}").format(low=lower, high=upper)
    if upper:
        return _("under {high}").format(high=upper)
    if lower:
        return _("over {low}").format(low=lower)
    return "–"


def share_text(share: float) -> str:
    r"""Return a share of the wear allowance.

    Examples
    --------
    >>> share_text(0.823)
    '82\u2009%'
    """
    return show(share, Quantity.SHARE, _PLAIN)


def rate_text(measurand: Measurand, rate: float | None, use_unit: str, shown: ShownUnits) -> str:
    """Return a rate of wear without its unit, which `rate_unit_text` gives.

    Parameters
    ----------
    measurand : Measurand
        What wears.
    rate : float or None
        Canonical units per 1000 km, or per 100 h on hour meters.
    use_unit : str
        ``"km"`` or ``"h"``.
    shown : ShownUnits
        The units of this seat.
    """
    if rate is None or not math.isfinite(rate):
        return "–"
    per = factor(shown.unit_of(use_quantity(use_unit)), use_quantity(use_unit))
    return show(rate * per, measurand.quantity, shown, unit=False)


def rate_unit_text(measurand: Measurand, use_unit: str, shown: ShownUnits) -> str:
    """Return what a rate of wear is counted in, for example ``"% per 1000 km"``."""
    every = "100" if use_unit == "h" else "1000"
    return _("{unit} per {every}{space}{use}").format(
        unit=unit_text(measurand, shown), every=every, space=THIN_SPACE, use=use_unit_text(use_unit, shown)
    )


def chance_text(chance: float) -> str:
    """Return a probability as a natural frequency.

    Examples
    --------
    >>> chance_text(0.1), chance_text(0.02), chance_text(0.83), chance_text(0.0001)
    ('1 in 10', '1 in 50', '8 in 10', 'less than 1 in 100')
    """
    if chance < 0.0095:
        return _("less than 1 in 100")
    if chance > 0.9905:
        return _("more than 99 in 100")
    if chance < 0.095:
        return _("1 in {n}").format(n=_round_to_two(1.0 / chance))
    if chance > 0.905:
        return _("{n} in 100").format(n=round(100.0 * chance))
    return _("{n} in 10").format(n=round(10.0 * chance))


def _round_to_two(number: float) -> int:
    step = 1 if number < 20 else 5 if number < 60 else 10
    return round(number / step) * step


def day_at(ordinal: float) -> date | None:
    """Return the date of an ordinal day; None where it lies beyond reach."""
    if not math.isfinite(ordinal) or not 1 <= ordinal < date.max.toordinal():
        return None
    return date.fromordinal(math.floor(ordinal))


def rule_text(value: WearRuleValue) -> str:
    r"""Return what a wear rule shows, for tool tips and screen readers.

    Examples
    --------
    >>> rule_text(WearRuleValue(0.82, 0.75, 0.9, 0.8, State.PLAN))
    'plan: 82\u2009% of the wear allowance used (8 in 10: 75 to 90\u2009%)'
    """
    span = _("{low} to {high}").format(
        low=share_text(max(value.low, 0.0)).removesuffix(f"{THIN_SPACE}%"),
        high=share_text(max(value.high, 0.0)),
    )
    if not value.has_reading:
        return _("no reading: similar parts have used {span} of the wear allowance by now").format(span=span)
    return _("{state}: {median} of the wear allowance used (8 in 10: {span})").format(
        state=state_text(value.state), median=share_text(max(value.median, 0.0)), span=span
    )


def basis_text(readings: int, similar_parts: int, measurand: Measurand | None) -> str:
    """Return what an estimate rests on.

    Parameters
    ----------
    readings : int
        Readings of the part itself, [-].
    similar_parts : int
        Parts of its kind in this fleet with readings, [-].
    measurand : Measurand or None
        What was measured.

    Examples
    --------
    >>> basis_text(3, 42, Measurand.CHAIN_ELONGATION)
    'from 3 readings of this chain and 42 similar ones'
    >>> basis_text(0, 42, Measurand.CHAIN_ELONGATION)
    'no reading yet: from 42 similar chains'
    >>> basis_text(0, 0, None)
    'engineering estimate, no history'
    """
    noun = part_noun(measurand)
    own = ngettext("{n} reading", "{n} readings", readings).format(n=readings)
    if readings and similar_parts:
        return ngettext(
            "from {own} of this {noun} and {n} similar one",
            "from {own} of this {noun} and {n} similar ones",
            similar_parts,
        ).format(own=own, noun=noun, n=similar_parts)
    if readings:
        return _("from {own} of this {noun}").format(own=own, noun=noun)
    if similar_parts:
        return _("no reading yet: from {n} similar {nouns}").format(
            n=similar_parts, nouns=part_noun(measurand, similar_parts)
        )
    return _("engineering estimate, no history")
