"""The words of the service sheet: what one entry means, how it is taken, what was said about it."""

import re
from dataclasses import dataclass
from datetime import date
from gettext import gettext as _

from wearlog import units
from wearlog.drawing.words import (
    interval_text,
    measurand_text,
    method_text,
    use_quantity,
    use_text,
    value_text,
)
from wearlog.fleet.problem import Doubt, Problem
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.reading import Instrument, Measurand, Method
from wearlog.measuring.how_to import how_to
from wearlog.window.service_sheet.typed_spots import unit_read
from wearlog.wording import day_text, month_text
from wearlog.workshop.ask import SUITS
from wearlog.workshop.fleet_snapshot import WearRuleValue
from wearlog.workshop.sheet import AskedReading, AskedTask, EntryDraft, EntryPreview, SheetSnapshot

#: Methods that span a counted number of pitches.
COUNTED = frozenset(
    {
        Method.PIN_TO_PIN,
        Method.OVER_ROLLERS,
        Method.INSIDE_AND_OUTSIDE,
        Method.BETWEEN_ROLLERS,
        Method.TAPE,
        Method.WHOLE_CHAIN,
    }
)

#: What a grade by eye means, for sprockets and belts alike. Common practice, no source.
GRADE_WORDS = {0: _("as new"), 1: _("polished"), 2: _("visibly worn"), 3: _("change")}

#: Why a reading may be missing; each is a legal answer.
REASONS = (
    _("not accessible"),
    _("instrument not at hand"),
    _("no time"),
    _("not needed now"),
    _("part is being replaced"),
)


@dataclass(frozen=True, slots=True)
class Way:
    """One way of taking a reading: method and instrument."""

    method: Method
    instrument: Instrument | None

    @property
    def text(self) -> str:
        """Return it in words."""
        if self.instrument is None:
            return method_text(self.method)
        if self.method in {Method.DIRECT, Method.GAUGE}:
            return self.instrument.name
        return f"{method_text(self.method)}, {self.instrument.name}"


def ways(asked: AskedReading) -> tuple[Way, ...]:
    """Return all ways in which a reading may be taken with the instruments there are."""
    found: list[Way] = []
    for method in asked.methods:
        kinds = SUITS.get(method, ())
        fitting = [instrument for instrument in asked.instruments if instrument.kind in kinds]
        found += [Way(method, instrument) for instrument in fitting]
        if not fitting:
            found.append(Way(method, None))
    return tuple(found)


def way_of(asked: AskedReading, entry: EntryDraft) -> Way:
    """Return the way in which an entry is taken."""
    method = entry.method or asked.method
    is_default = entry.method is None
    wanted = asked.instrument_id if is_default else entry.instrument_id
    known = {instrument.id: instrument for instrument in asked.instruments}
    return Way(method, known.get(wanted) if wanted is not None else None)


def entry_title(asked: AskedReading) -> str:
    """Return what is measured and where, for labels and accessible names."""
    what = measurand_text(asked.measurand)
    return f"{asked.part_text}: {what}" if asked.part_text else what


def field_hint(asked: AskedReading, way: Way, shown: ShownUnits) -> str:
    """Return the hint that stands in an empty field: the unit, or the form."""
    if asked.unit_hint:
        return asked.unit_hint
    unit = unit_read(way.method, asked.measurand, shown)
    places = how_to(asked.measurand, way.method).spots
    several = _("{unit}, {n} places").format(unit=unit, n=places)
    hints = {
        Method.GAUGE: _("in/out, as 0.5/0.75"),
        Method.INSIDE_AND_OUTSIDE: _("inside/outside, {unit}").format(unit=unit),
        Method.DEFLECTION_FORCE: _("{force}/{length}").format(force=unit, length=shown.length),
        Method.GRADE: _("0 … 3"),
    }
    return hints.get(way.method, several if places > 1 else unit)


def how_text(asked: AskedReading, method: Method) -> str:
    """Return how it is done and what to mind, line by line."""
    told = how_to(asked.measurand, method)
    return "\n".join((told.how, *told.cautions))


def usual_pitches(asked: AskedReading, method: Method) -> int | None:
    """Return over how many pitches a reading is usually taken."""
    if method is asked.method and asked.pitches:
        return asked.pitches
    return how_to(asked.measurand, method).suggested_pitches or asked.pitches


def pitches_text(asked: AskedReading, pitches: int | None, shown: ShownUnits) -> str:
    """Return pins, pitches and the length when new, so that nobody counts pins for pitches.

    Examples
    --------
    "pin 1 to pin 21 = 20 pitches = 254.0 mm new".
    """
    if not pitches or not asked.pitch_mm:
        return ""
    new = units.show(pitches * asked.pitch_mm, Quantity.LENGTH, shown, decimals=1)
    return _("pin 1 to pin {last} = {n} pitches = {new} new").format(last=pitches + 1, n=pitches, new=new)


@dataclass(frozen=True, slots=True)
class EntryWords:
    """What stands beside one field.

    `value` and `unit` with the uncertainty; `details` is the line below: change, limit, spread;
    `forecast` says what the reading does to the date.
    """

    value: str = ""
    details: str = ""
    forecast: str = ""
    limit: str = ""
    rule: WearRuleValue | None = None
    doubts: tuple[Doubt, ...] = ()
    problems: tuple[Problem, ...] = ()


def entry_words(
    asked: AskedReading,
    entry: EntryDraft,
    preview: EntryPreview | None,
    problem: Problem | None,
    shown: ShownUnits,
    today: date,
) -> EntryWords:
    """Return what stands beside a field: before anything is typed, the last reading and the limit."""
    limit = limit_text(asked, shown)
    if entry.not_measured:
        said = _("not measured: {reason}").format(reason=entry.not_measured)
        return EntryWords(said, limit=limit, rule=asked.rule)
    if problem is not None:
        return EntryWords(limit=limit, problems=(problem,))
    if not entry.text.strip() or preview is None:
        details = _joined(last_text(asked, shown, today), limit)
        why = asked.why_due if asked.is_due else ""
        return EntryWords("", details, why, limit, asked.rule)
    has_value = preview.value is not None
    if preview.value is not None:
        value = measured_text(asked.measurand, preview.value, preview.u_value, shown)
    elif preview.low is not None or preview.high is not None:
        value = interval_text(asked.measurand, preview.low, preview.high, shown)
    else:
        value = ""
    spread = ""
    if len(entry.spots) > 1 and preview.spread is not None and has_value:
        spread = _("spread {spread}").format(spread=plain_text(asked.measurand, preview.spread, shown))
    return EntryWords(
        value,
        _joined(change_text(asked, preview, shown, today), limit, spread),
        forecast_text(asked, preview),
        limit,
        preview.rule,
        preview.doubts,
        preview.problems,
    )


def _joined(*parts: str) -> str:
    return " · ".join(part for part in parts if part)


def measured_text(measurand: Measurand, value: float, u_value: float, shown: ShownUnits) -> str:
    """Return a value with its uncertainty; a grade is a plain number."""
    if measurand.quantity is Quantity.GRADE:
        return f"{value:g} {GRADE_WORDS.get(round(value), '')}".strip()
    if u_value <= 0:
        return plain_text(measurand, value, shown)
    return value_text(measurand, value, u_value, shown)


def plain_text(measurand: Measurand, value: float, shown: ShownUnits) -> str:
    """Return a value without uncertainty and without idle noughts behind the point."""
    quantity = measurand.quantity
    if quantity is Quantity.ELONGATION:
        return units.show(value, quantity, shown)
    number = round(units.in_unit(value, quantity, shown.unit_of(quantity)), 2)
    places = next(n for n in range(3) if round(number, n) == number)
    return units.show(value, quantity, shown, decimals=places)


def near_day_text(day: date, today: date) -> str:
    """Return a past day, without its year if that is this year.

    Examples
    --------
    >>> near_day_text(date(2026, 10, 2), date(2026, 11, 25))
    '2 Oct'
    """
    return f"{day.day} {month_text(day)}" if day.year == today.year else day_text(day)


def limit_text(asked: AskedReading, shown: ShownUnits) -> str:
    """Return the limit in words."""
    if asked.limit is None:
        return ""
    value = plain_text(asked.measurand, asked.limit.service_limit, shown)
    return _("limit {limit}").format(limit=value)


def last_text(asked: AskedReading, shown: ShownUnits, today: date) -> str:
    """Return the reading before."""
    if asked.wants_zero:
        return "" if asked.why_due else _("new part: its zero reading")
    if asked.previous is None:
        return _("first reading")
    before = asked.previous
    if before.value is None:
        value = interval_text(asked.measurand, before.low, before.high, shown)
    else:
        value = measured_text(asked.measurand, before.value, before.u_value, shown)
    return _("last {value}, {day}").format(value=value, day=near_day_text(before.on, today))


def change_text(asked: AskedReading, preview: EntryPreview, shown: ShownUnits, today: date) -> str:
    """Return the change since the reading before."""
    if preview.change is None or asked.previous is None:
        return _("zero reading") if asked.wants_zero else ""
    quantity, day = asked.measurand.quantity, near_day_text(asked.previous.on, today)
    u = max(preview.u_value, asked.previous.u_value) or None
    value = units.show(
        preview.change, quantity, shown, u=None if quantity is Quantity.GRADE else u, with_u=False
    )
    if not re.search(r"[1-9]", value):
        return _("as on {day}").format(day=day)
    sign = "+" if preview.change > 0 else ""
    return _("{sign}{change} since {day}").format(sign=sign, change=value, day=day)


def forecast_text(asked: AskedReading, preview: EntryPreview) -> str:
    """Return what this reading does to the date, before -> with it."""
    before, after = preview.replace_by_before, preview.replace_by
    if before is None and after is None:
        return ""
    verb = {
        Measurand.SLACK: _("adjust by {day}"),
        Measurand.ADJUSTER_POSITION: _("used up by {day}"),
        Measurand.BELT_TENSION: _("re-tension by {day}"),
    }.get(asked.measurand, _("replace by {day}"))
    if before == after or before is None:
        return verb.format(day=day_text(after))
    return verb.format(day=f"{day_text(before)} → {day_text(after, none=_('beyond reach'))}")


def meter_label(snapshot: SheetSnapshot) -> str:
    """Return the label of the meter field: its own unit and what it showed last."""
    unit = snapshot.meter_unit
    if snapshot.last_meter is None:
        return _("Meter, {unit}").format(unit=unit)
    quantity = use_quantity(snapshot.use_unit)
    face = ShownUnits(distance=unit) if quantity is Quantity.DISTANCE else ShownUnits()
    last = units.show(snapshot.last_meter, quantity, face, unit=False, decimals=0)
    return _("Meter, {unit} · last {last}").format(unit=unit, last=last)


def task_last_text(asked: AskedTask, snapshot: SheetSnapshot, shown: ShownUnits) -> str:
    """Return when a task was done last."""
    if asked.last_on is None:
        return _("never noted")
    if asked.last_use is None:
        return _("last on {day}").format(day=day_text(asked.last_on))
    return _("last on {day} at {use}").format(
        day=day_text(asked.last_on), use=use_text(asked.last_use, snapshot.use_unit, shown)
    )
