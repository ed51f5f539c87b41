"""The owner's report in plain words: nothing that only a mechanic or a statistician would understand."""

from datetime import date
from gettext import gettext as _

from wearlog.drawing.due_words import action_text, reason_text
from wearlog.drawing.number_words import daily_use_text, part_noun, share_text, state_text
from wearlog.drawing.trend_words import SentenceKind, trend_sentences
from wearlog.fleet.limit import Limit
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.state import URGENCY, State
from wearlog.wording import day_text
from wearlog.workshop.due_snapshot import Action, DueLine
from wearlog.workshop.owner_report_snapshot import OwnerReport
from wearlog.workshop.trend_snapshot import TrendSnapshot


def short_sentences(report: OwnerReport) -> list[str]:
    """Return the report in a few sentences: how each stage stands, and what comes first."""
    told = [_standing(trend) for trend in report.trends]
    if not told:
        told.append(_("Nothing on this vehicle is followed by its wear yet."))
    replaced = [line for line in report.advice if line.action is Action.REPLACE]
    worst_first = [trend.installation_id for trend in report.trends]
    governed = [line for number in worst_first for line in replaced if line.installation_id == number]
    first = (governed or replaced or list(report.advice))[:1]
    for line in first:
        text = action_text(line)
        when = _("now") if line.due_on <= report.today else _("by {day}").format(day=day_text(line.due_on))
        told.append(
            _("What matters most: {what} of the {stage} {when}.").format(
                what=text, stage=line.stage_name, when=when
            )
            if line.action is Action.REPLACE
            else _("What comes first: {what} at the {stage} {when}.").format(
                what=text, stage=line.stage_name, when=when
            )
        )
    if not report.advice:
        told.append(
            _("Nothing needs doing until {day} as far as can be seen today.").format(
                day=day_text(report.until)
            )
        )
    return told


def _standing(trend: TrendSnapshot) -> str:
    noun, rule = part_noun(trend.measurand), trend.rule
    if not rule.has_reading:
        text = _(
            "The {noun} of the {stage} was not measured yet; similar ones would have used about {share} of "
            "what they may wear."
        )
    elif rule.state is State.PAST_LIMIT:
        text = _("The {noun} of the {stage} is worn past its limit: about {share} of what it may wear.")
    else:
        text = _("The {noun} of the {stage} has used about {share} of what it may wear: {state}.")
    meant = {
        State.WITHIN_LIMIT: _("that is within its limit"),
        State.PLAN: _("time to plan its replacement"),
        State.DUE: _("its replacement is due"),
    }
    return text.format(
        noun=noun,
        stage=trend.stage_name,
        share=share_text(max(rule.median, 0.0)),
        state=meant.get(rule.state, state_text(rule.state)),
    )


def chart_sentences(trend: TrendSnapshot, shown: ShownUnits) -> list[str]:
    """Return what a chart means: the forecast, questioned readings, what it rests on."""
    wanted = (SentenceKind.FORECAST, SentenceKind.QUESTIONED, SentenceKind.BASIS)
    return [one.text for one in trend_sentences(trend, shown) if one.kind in wanted]


def advice_text(line: DueLine) -> str:
    """Return what is advised, with a capital."""
    text = action_text(line)
    return text[:1].upper() + text[1:]


def advice_why_text(line: DueLine, shown: ShownUnits) -> str:
    """Return why it is advised."""
    return reason_text(line, shown)


def when_text(line: DueLine, today: date) -> str:
    """Return by when; what lies behind is now."""
    return _("now") if line.due_on <= today else day_text(line.due_on)


def source_text(limit: Limit, why: str) -> str:
    """Return where a limit comes from."""
    return "; ".join(dict.fromkeys(part.rstrip(".") for part in (why, limit.source) if part)) or _(
        "agreed in this workshop"
    )


def not_checked_text() -> str:
    """Return what a report on paper can't say."""
    return _(
        "The limits are those agreed in this workshop on the day of this report; a vehicle maker's own limit "
        "goes before them."
    )


def about_numbers(report: OwnerReport, shown: ShownUnits) -> tuple[str, ...]:
    """Return how the numbers are meant, and what the report is not."""
    worst = max((trend.rule.state for trend in report.trends), key=URGENCY.index, default=State.NO_READING)
    told = [
        _(
            "After ± stands the standard uncertainty of a reading: in about 2 of 3 cases the true value lies "
            "that close (JCGM 100). “8 in 10” is a range that holds the truth in 8 of 10 cases."
        ),
        _(
            "On a wear scale 0 is as new and the firm line is the service limit; the bar is the best "
            "estimate for today, the lighter end its range."
        ),
        _(
            "Forecasts rest on the readings above, on similar parts in this workshop's records, and on a use "
            "of {use}. Harder use, weather or neglect make parts wear sooner."
        ).format(use=daily_use_text(report.use_per_day, report.use_unit, shown)),
        _(
            "This report tells what was measured and what follows from it. It is no certificate of "
            "roadworthiness and does not replace an inspection. If something sounds, feels or looks wrong, "
            "stop and have it looked at, whatever stands here."
        ),
    ]
    if worst is State.PAST_LIMIT:
        told.append(
            _("A worn chain can break or come off and lock the wheel: do not ride on past the limit.")
        )
    return tuple(told)
