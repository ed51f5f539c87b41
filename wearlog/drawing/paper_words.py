"""Words that stand on job cards, reports and warranty records."""

from gettext import gettext as _
from gettext import ngettext

from wearlog.drawing.due_words import reason_text
from wearlog.drawing.number_words import (
    interval_text,
    measurand_text,
    method_text,
    part_noun,
    place_text,
    share_text,
    state_text,
    task_text,
    unit_text,
    value_text,
)
from wearlog.fleet.limit import Limit
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Measurand, Method, Reading
from wearlog.fleet.service import Task, TaskDone
from wearlog.units import THIN_SPACE, show
from wearlog.wording import day_text
from wearlog.workshop.due_snapshot import Action
from wearlog.workshop.fleet_snapshot import WearRuleValue
from wearlog.workshop.job_card_snapshot import CardPart, CardTask, JobCard
from wearlog.workshop.sheet import AskedReading

#: Measurands graded by eye or read off the stage, which have no limit of their own in the record.
_GRADES = {Measurand.BELT_CONDITION, Measurand.SPROCKET_CONDITION}
#: Measurands whose limits are whole millimetres or newtons.
_ROUND = {Measurand.SLACK, Measurand.ADJUSTER_POSITION, Measurand.BELT_TENSION}


def card_task_text(task: CardTask) -> str:
    """Return what is to be done, with a capital: ``"Replace chain"``."""
    text = _card_task(task)
    return text[:1].upper() + text[1:]


def _card_task(task: CardTask) -> str:
    if task.action is Action.REPLACE:
        return _("replace {noun}").format(noun=part_noun(task.measurand))
    if task.action is Action.ADJUST:
        return {
            Measurand.BELT_TENSION: _("set belt tension"),
            Measurand.ADJUSTER_POSITION: _("look at the adjuster: it runs out"),
        }.get(task.measurand or Measurand.SLACK, _("set slack"))
    if task.action is Action.MEASURE:
        if task.measurand is None:
            return _("measure")
        return _("measure {what}").format(what=measurand_text(task.measurand))
    if task.action is Action.RECHECK:
        return {
            Task.TORQUE_CHECKED: _("re-check torque"),
            Task.TENSION_SET: _("re-check tension"),
        }.get(task.task or Task.MEASURED, _("re-check after fitting"))
    return task_text(task.task) if task.task is not None else _("service")


def card_place_text(task: CardTask) -> str:
    """Return at which stage and part."""
    return ", ".join(part for part in (task.stage_name, task.part_text) if part)


def card_why_text(task: CardTask, shown: ShownUnits) -> str:
    """Return why it is to be done."""
    pieces = []
    if task.is_with:
        pieces.append(_("Not due yet: done along with the rest."))
    if task.line is not None:
        pieces.append(reason_text(task.line, shown))
    elif not pieces:
        pieces.append(_("Was due when the visit was planned."))
    return " ".join(pieces)


def card_part_text(part: CardPart) -> str:
    """Return a part to take along, how many, and with which joining link."""
    text = _("{n} × {name}").format(n=part.count, name=part.name)
    return (
        _("{text}, joining link {link}").format(text=text, link=part.joining_link)
        if part.joining_link
        else text
    )


def card_shelf_text(part: CardPart) -> str:
    """Return how many lie on the shelf."""
    if part.on_hand is None:
        return _("shelf not counted")
    if part.on_hand == 0:
        return _("none on the shelf")
    if part.on_hand < part.count:
        return _("only {n} on the shelf").format(n=part.on_hand)
    return _("{n} on the shelf").format(n=part.on_hand)


def card_when_text(card: JobCard) -> str:
    """Return for when the visit is planned."""
    if card.on is None:
        return _("not planned; printed {day}").format(day=day_text(card.sheet.today))
    text = _("planned for {day}").format(day=day_text(card.on))
    if card.minutes:
        text = _("{text}, {n} min").format(text=text, n=card.minutes)
    return text


def card_return_text(card: JobCard) -> str:
    """Return how the card is entered afterwards."""
    if card.number:
        return _("To enter it: scan or type {number} where the service sheet asks for the vehicle.").format(
            number=card.number
        )
    return _("To enter it: scan or type the tag {tag} where the service sheet asks for the vehicle.").format(
        tag=card.sheet.tag
    )


# --- readings --------------------------------------------------------------------------------------------


def asked_text(asked: AskedReading) -> str:
    """Return what is measured, with a capital."""
    text = measurand_text(asked.measurand)
    return text[:1].upper() + text[1:]


def asked_how_text(asked: AskedReading) -> str:
    """Return how it is measured: method and pitches, or how slack is meant on this stage."""
    if asked.measurand in _GRADES:
        return _("0 as new to 3 change, by eye")
    pieces = [] if asked.method is Method.DIRECT else [method_text(asked.method)]
    if asked.pitches:
        pieces.append(ngettext("{n} pitch", "{n} pitches", asked.pitches).format(n=asked.pitches))
    if asked.definition:
        pieces.append(asked.definition)
    return ", ".join(pieces)


def asked_place_text(stage_name: str, asked: AskedReading) -> str:
    """Return where it is measured."""
    if not asked.part_text:
        return place_text(stage_name, asked.position)
    return f"{stage_name}, {asked.part_text}"


def allowance_text(rule: WearRuleValue) -> str:
    """Return how much of the wear allowance is used, and the word of the state."""
    if not rule.has_reading:
        return state_text(rule.state)
    return _("{share}, {state}").format(share=share_text(max(rule.median, 0.0)), state=state_text(rule.state))


def asked_unit(asked: AskedReading, shown: ShownUnits) -> str:
    """Return the unit in which the figure is written by hand; empty where more than one is usual."""
    if asked.measurand is Measurand.CHAIN_ELONGATION:
        if asked.method in {Method.ELONGATION_READ, Method.GAUGE}:
            return unit_text(asked.measurand, shown)
        return shown.length
    return {Method.SPAN_FREQUENCY: "Hz", Method.DEFLECTION_FORCE: "N"}.get(
        asked.method, unit_text(asked.measurand, shown)
    )


def asked_spots(asked: AskedReading) -> int:
    """Return how many figures there is room for: a chain is measured at several places."""
    if asked.measurand is Measurand.CHAIN_ELONGATION:
        return 1 if asked.method is Method.GAUGE else 3
    return 3 if asked.measurand is Measurand.SPROCKET_TOOTH_THICKNESS else 1


def reading_text(reading: Reading | None, shown: ShownUnits) -> str:
    """Return the value of a reading with its uncertainty, or its interval; a dash for none."""
    if reading is None:
        return "–"
    if reading.value is None:
        return interval_text(reading.measurand, reading.low, reading.high, shown)
    u = None if reading.measurand in _GRADES else reading.u_value or None
    return value_text(reading.measurand, reading.value, u, shown)


def limit_words(limit: Limit | None, shown: ShownUnits) -> str:
    """Return a service limit; a dash for none."""
    if limit is None:
        return "–"
    if limit.measurand in _ROUND:
        return show(limit.service_limit, limit.measurand.quantity, shown, decimals=0)
    return value_text(limit.measurand, limit.service_limit, None, shown)


# --- visits ----------------------------------------------------------------------------------------------


def done_text(done: TaskDone) -> str:
    """Return what was done, in the past: ``"slack set from 42 to 30 mm"``."""
    text = {
        Task.CLEANED: _("cleaned"),
        Task.LUBRICATED: _("lubricated"),
        Task.TENSION_SET: _("tension or slack set"),
        Task.LINKS_REMOVED: _("links removed"),
        Task.PART_FITTED: _("part fitted"),
        Task.PART_REMOVED: _("part removed"),
        Task.TORQUE_CHECKED: _("torque checked"),
        Task.INSPECTED: _("inspected"),
        Task.MEASURED: _("measured"),
    }[done.task]
    unit = done.quantity_unit.replace("N.m", "N·m")
    if done.before is not None and done.after is not None:
        text = _("{text} from {before:g} to {after:g}{space}{unit}").format(
            text=text, before=done.before, after=done.after, space=THIN_SPACE, unit=unit
        )
    elif done.after is not None:
        text = _("{text} to {after:g}{space}{unit}").format(
            text=text, after=done.after, space=THIN_SPACE, unit=unit
        )
    if done.note:
        return done.note if done.task is Task.PART_FITTED else f"{text} ({done.note})"
    return _("{text} with {care}").format(text=text, care=done.care) if done.care else text
