"""Why a line stands in the due list, in words."""

from gettext import gettext as _
from gettext import ngettext

from wearlog.drawing.number_words import (
    basis_text,
    chance_text,
    measurand_text,
    part_noun,
    share_text,
    task_text,
    use_text,
)
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.reading import Measurand
from wearlog.fleet.service import Task
from wearlog.units import show
from wearlog.wording import day_text, days_text
from wearlog.workshop.due_snapshot import Action, DueCause, DueLine, DueReason


def action_text(line: DueLine) -> str:
    """Return what is to be done, for example ``"replace chain"``."""
    task = task_text(line.task) if line.task is not None else _("service")
    return {
        Action.REPLACE: _("replace {noun}").format(noun=part_noun(line.measurand)),
        Action.ADJUST: _adjust_text(line),
        Action.MEASURE: _measure_text(line),
        Action.RECHECK: {
            Task.TORQUE_CHECKED: _("re-check torque"),
            Task.TENSION_SET: _("re-check tension"),
        }.get(line.task or Task.MEASURED, _("re-check after fitting")),
        Action.TASK: task,
    }[line.action]


def _adjust_text(line: DueLine) -> str:
    return {
        Measurand.BELT_TENSION: _("set belt tension"),
        Measurand.ADJUSTER_POSITION: _("adjuster runs out"),
    }.get(line.measurand or Measurand.SLACK, _("set slack"))


def _measure_text(line: DueLine) -> str:
    if line.measurand is None:
        return _("measure")
    again = line.reason.cause is DueCause.QUESTIONED_READING
    template = _("measure {what} again") if again else _("measure {what}")
    return template.format(what=measurand_text(line.measurand))


def _past(reason: DueReason) -> str:
    if reason.chance_past is None:
        return ""
    return _("the chance of being past the limit already is {chance}").format(
        chance=chance_text(reason.chance_past)
    )


def _used(reason: DueReason) -> str:
    if reason.allowance is None:
        return ""
    return _("{share} of the wear allowance used").format(share=share_text(max(reason.allowance, 0.0)))


def _forecast(line: DueLine, _shown: ShownUnits) -> tuple[str, ...]:
    reason = line.reason
    basis = basis_text(reason.readings, reason.similar_parts, line.measurand)
    level = ""
    if reason.caution_level is not None:
        level = _("by {day} the chance of being past the limit is {chance}").format(
            day=day_text(line.due_on), chance=chance_text(reason.caution_level)
        )
    return (_used(reason), basis, level)


def _past_limit(line: DueLine, _shown: ShownUnits) -> tuple[str, ...]:
    reason = line.reason
    return (_used(reason), _past(reason), basis_text(reason.readings, reason.similar_parts, line.measurand))


def _grade(line: DueLine, _shown: ShownUnits) -> tuple[str, ...]:
    reason = line.reason
    if reason.grade is None:
        return (_("condition judged by eye"),)
    if reason.last_on is None:
        return (_("condition graded {grade}").format(grade=reason.grade),)
    return (_("condition graded {grade} on {day}").format(grade=reason.grade, day=day_text(reason.last_on)),)


def _slack(line: DueLine, shown: ShownUnits) -> tuple[str, ...]:
    reason = line.reason
    found = ""
    if reason.last_on is not None and reason.last_value is not None:
        found = _("slack was {slack} on {day}").format(
            slack=show(reason.last_value, Quantity.LENGTH, shown, decimals=0), day=day_text(reason.last_on)
        )
        if reason.last_use is not None:
            found += _(" at {use}").format(use=use_text(reason.last_use, line.use_unit, shown))
    limit = ""
    if reason.limit_value is not None:
        limit = _("limit {limit}").format(limit=show(reason.limit_value, Quantity.LENGTH, shown, decimals=0))
    return (found or _("elongation takes up the slack range"), limit)


def _adjuster(line: DueLine, shown: ShownUnits) -> tuple[str, ...]:
    reason = line.reason
    if reason.last_value is None or reason.limit_value is None:
        return (_("the adjuster comes to its end before the chain is worn"),)
    left = show(max(reason.limit_value - reason.last_value, 0.0), Quantity.LENGTH, shown, decimals=0)
    return (
        _("the adjuster comes to its end before the chain is worn"),
        _("{left} of it were left on {day}").format(left=left, day=day_text(reason.last_on)),
    )


def _tension(line: DueLine, _shown: ShownUnits) -> tuple[str, ...]:
    reason = line.reason
    since = _("last set on {day}").format(day=day_text(reason.last_on)) if reason.last_on is not None else ""
    return (_("static tension falls out of its range"), since)


def _no_reading(line: DueLine, _shown: ShownUnits) -> tuple[str, ...]:
    reason = line.reason
    if reason.similar_parts:
        similar = ngettext("{n} similar {noun}", "{n} similar {noun}", reason.similar_parts).format(
            n=reason.similar_parts, noun=part_noun(line.measurand, reason.similar_parts)
        )
        return (_("no reading yet; forecast from {similar}").format(similar=similar),)
    return (_("no reading yet, and no history of its kind"),)


def _no_zero(line: DueLine, _shown: ShownUnits) -> tuple[str, ...]:
    fitted = line.reason.last_on
    if fitted is None:
        return (_("fitted without a reading when new"),)
    return (_("fitted on {day} without a reading when new").format(day=day_text(fitted)),)


def _helps(line: DueLine, _shown: ShownUnits) -> tuple[str, ...]:
    reason = line.reason
    last = (
        _("last measured on {day}").format(day=day_text(reason.last_on)) if reason.last_on is not None else ""
    )
    return (_used(reason), last, _("a reading now narrows the forecast"))


def _decides(line: DueLine, _shown: ShownUnits) -> tuple[str, ...]:
    reason = line.reason
    return (
        _used(reason),
        basis_text(reason.readings, reason.similar_parts, line.measurand),
        _("too little is known to order a new one: most such parts turn out to have longer to go"),
        _past(reason),
    )


def _questioned(line: DueLine, _shown: ShownUnits) -> tuple[str, ...]:
    day = line.reason.questioned_on
    if day is None:
        return (_("a reading is questioned"),)
    return (
        _("the reading of {day} is questioned; until it is settled the earlier date counts").format(
            day=day_text(day)
        ),
    )


def _interval(line: DueLine, shown: ShownUnits) -> tuple[str, ...]:
    reason = line.reason
    every = [
        *([use_text(reason.every_use, line.use_unit, shown)] if reason.every_use is not None else []),
        *([days_text(reason.every_days)] if reason.every_days is not None else []),
    ]
    rule = _("every {interval}").format(interval=_(" or ").join(every)) if every else ""
    if reason.last_on is None:
        last = _("not recorded as done yet")
    elif reason.last_use is None:
        last = _("last done on {day}").format(day=day_text(reason.last_on))
    else:
        last = _("last done on {day} at {use}").format(
            day=day_text(reason.last_on), use=use_text(reason.last_use, line.use_unit, shown)
        )
    return (rule, last)


def _after_fitting(line: DueLine, shown: ShownUnits) -> tuple[str, ...]:
    reason = line.reason
    after = [
        *([use_text(reason.after_use, line.use_unit, shown)] if reason.after_use is not None else []),
        *([days_text(reason.after_days)] if reason.after_days is not None else []),
    ]
    if line.task is Task.TORQUE_CHECKED and line.installation_id is None:
        return _after_tightening(reason, after)
    once = (
        _("once, {after} after fitting").format(after=_(" or ").join(after))
        if after
        else _("once after fitting")
    )
    fitted = _("fitted on {day}").format(day=day_text(reason.last_on)) if reason.last_on is not None else ""
    return (once, fitted)


def _after_tightening(reason: DueReason, after: list[str]) -> tuple[str, ...]:
    once = _("once, {after} after tightening").format(after=_(" or ").join(after)) if after else ""
    if reason.last_on is None:
        return (once,)
    return (once, _("tightened on {day}").format(day=day_text(reason.last_on)))


_WORDS = {
    DueCause.LIMIT_FORECAST: _forecast,
    DueCause.PAST_LIMIT: _past_limit,
    DueCause.CONDITION_GRADE: _grade,
    DueCause.SLACK_FORECAST: _slack,
    DueCause.ADJUSTER_FORECAST: _adjuster,
    DueCause.TENSION_FORECAST: _tension,
    DueCause.NO_READING: _no_reading,
    DueCause.NO_ZERO_READING: _no_zero,
    DueCause.READING_HELPS: _helps,
    DueCause.READING_DECIDES: _decides,
    DueCause.QUESTIONED_READING: _questioned,
    DueCause.INTERVAL: _interval,
    DueCause.AFTER_FITTING: _after_fitting,
}


def reason_text(line: DueLine, shown: ShownUnits) -> str:
    """Return why a line stands in the due list, as one sentence with its numbers.

    Parameters
    ----------
    line : DueLine
        A line of the due list.
    shown : ShownUnits
        The units of this seat.
    """
    pieces = [piece for piece in _WORDS[line.reason.cause](line, shown) if piece]
    if not pieces:
        return ""
    text = "; ".join(pieces)
    questioned = line.reason.questioned_on
    if questioned is not None and line.reason.cause is not DueCause.QUESTIONED_READING:
        text = _("{text}; the reading of {day} is questioned, the earlier date counts").format(
            text=text, day=day_text(questioned)
        )
    sentence = text[0].upper() + text[1:] + "."
    return f"{sentence} {line.reason.advice}".strip()


def due_interval_text(line: DueLine) -> str:
    """Return the dates between which a line comes due, 8 in 10; empty where only one date is known."""
    if line.early_on is None or line.early_on == line.late_on:
        return ""
    if line.late_on is None:
        return _("{early} or later").format(early=day_text(line.early_on))
    return _("{early} to {late}").format(early=day_text(line.early_on), late=day_text(line.late_on))
