"""The words of the due list."""

from datetime import date
from gettext import gettext as _

from wearlog.drawing.words import (
    action_text,
    chance_text,
    reason_text,
    rule_text,
    share_text,
    state_text,
    use_interval_text,
)
from wearlog.fleet.quantity import ShownUnits
from wearlog.wording import day_text, days_text, month_text
from wearlog.workshop.due_snapshot import DueLine

#: An interval wider than this is written in months: the days of its ends say nothing, [d].
MONTHS_FROM_DAYS = 120


def counted(n: int, one: str, many: str) -> str:
    """Return a count with its noun, in words that are already translated."""
    return one if n == 1 else many.format(n=n)


def search_text(line: DueLine) -> str:
    """Return what a search looks into, in lower case."""
    parts = (line.tag, line.depot, line.stage_name, line.part_text, line.state.value)
    return " ".join(parts).casefold() + " " + _action_words(line)


def _action_words(line: DueLine) -> str:
    # There are few kinds of jobs and thousands of lines.
    kind = (line.action, line.task, line.measurand, line.reason.cause)
    if kind not in _ACTION_WORDS:
        _ACTION_WORDS[kind] = action_text(line).casefold()
    return _ACTION_WORDS[kind]


_ACTION_WORDS: dict[tuple[object, ...], str] = {}


def what_text(line: DueLine) -> str:
    """Return what is to be done and where.

    For example ``"replace chain, final drive"``.
    """
    return f"{action_text(line)}, {line.stage_name}" if line.stage_name else action_text(line)


def short_day(day: date, today: date) -> str:
    """Return a day without its year where nobody could mistake it.

    Examples
    --------
    >>> short_day(date(2026, 12, 5), date(2026, 11, 25)), short_day(date(2028, 3, 1), date(2026, 11, 25))
    ('5 Dec', '1 Mar 2028')
    """
    is_near = abs((day - today).days) < 300
    return f"{day.day} {month_text(day)}" if is_near else day_text(day)


def short_month(day: date, today: date) -> str:
    """Return a month without its year where nobody could mistake it."""
    is_near = abs((day - today).days) < 300
    return month_text(day) if is_near else f"{month_text(day)} {day.year}"


def span_text(line: DueLine, today: date) -> str:
    """Return early, likely and late date of a line; the ends hold 8 in 10.

    Wide intervals are written in months: the days of their ends would say more than is known.
    """
    if line.early_on is None:
        return _("fixed by the calendar")
    if line.early_on == line.late_on:
        return _("a fixed day")
    is_wide = line.late_on is None or (line.late_on - line.early_on).days > MONTHS_FROM_DAYS
    days = [line.early_on, line.likely_on, line.late_on]
    if is_wide:
        known = [short_month(day, today) if day else _("later") for day in days]
    else:
        known = [short_day(day, today) if day else _("later") for day in days]
    return " – ".join(known)


def when_text(day: date, today: date) -> str:
    """Return how far a day is away.

    Examples
    --------
    >>> when_text(date(2026, 12, 5), date(2026, 11, 25)), when_text(date(2026, 11, 22), date(2026, 11, 25))
    ('in 10 days', '3 days late')
    """
    days = (day - today).days
    if days == 0:
        return _("today")
    if days < 0:
        return _("{time} late").format(time=days_text(-days))
    return _("in {time}").format(time=days_text(days))


def why_text(line: DueLine, shown: ShownUnits) -> str:
    """Return everything behind a line: its reason, interval of use, source, and the cost of being early."""
    sentences = [reason_text(line, shown)]
    if line.early_use is not None and line.late_use is not None and line.late_use - line.early_use >= 1.0:
        sentences.append(
            _("8 in 10: at {span} on the meter total.").format(
                span=use_interval_text(line.early_use, line.late_use, line.use_unit, shown)
            )
        )
    if line.past_probability is not None and line.reason.chance_past is None:
        sentences.append(
            _("Chance of being past the limit today: {chance}.").format(
                chance=chance_text(line.past_probability)
            )
        )
    if line.unused_share:
        sentences.append(
            _("Replaced at this visit it gives away {share} of its wear allowance.").format(
                share=share_text(line.unused_share)
            )
        )
    if line.reason.limit_source:
        sentences.append(_("Limit: {source}.").format(source=line.reason.limit_source))
    if line.reason.rule_source:
        sentences.append(_("Interval: {source}.").format(source=line.reason.rule_source))
    return " ".join(sentence for sentence in sentences if sentence)


def spoken(line: DueLine, today: date, shown: ShownUnits) -> str:
    """Return a whole line for a screen reader."""
    parts = [
        line.tag,
        what_text(line),
        _("due {day}, {span}").format(day=day_text(line.due_on), span=span_text(line, today)),
        state_text(line.state),
        reason_text(line, shown),
    ]
    if line.rule is not None:
        parts.append(rule_text(line.rule))
    return "; ".join(parts)
