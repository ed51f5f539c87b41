"""What a predicted date rests on, in words; the same beside the chart, in the due list and on paper."""

import math
from dataclasses import dataclass
from datetime import date
from gettext import gettext as _
from gettext import ngettext

from wearlog.drawing.number_words import (
    interval_text,
    part_noun,
    rate_text,
    rate_unit_text,
    share_text,
    use_quantity,
    use_text,
    value_text,
)
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.vehicle import Duty
from wearlog.units import THIN_SPACE, factor
from wearlog.wording import day_text, days_text, month_text
from wearlog.workshop.explain_snapshot import (
    Aside,
    Cause,
    Contribution,
    DateWidth,
    ExplainedReading,
    Explanation,
    RateEvidence,
    UsageEvidence,
)

#: Readings left aside that are told one by one; of more only the number is told.
MOST_ASIDE = 4
#: A set-up or a season that differs by less is not worth a line.
LEAST_EXPOSURE, LEAST_SEASON = 0.005, 0.03
#: Spells at rest that are told, the latest.
MOST_STILL = 2


@dataclass(frozen=True, slots=True)
class ShareBar:
    """One cause of the width of a date: its share (all make 1), in per cent (all make 100), and alone."""

    cause: Cause
    label: str
    share: float
    percent: int
    alone: str


@dataclass(frozen=True, slots=True)
class ExplainBlock:
    """One thing a date rests on: what it is, the figure, lines that tell more; `bars` for the width only."""

    key: str
    label: str
    figure: str
    lines: tuple[str, ...] = ()
    bars: tuple[ShareBar, ...] = ()


def explain_blocks(explanation: Explanation, shown: ShownUnits) -> tuple[ExplainBlock, ...]:
    """Return what a predicted date rests on, block by block.

    Parameters
    ----------
    explanation : Explanation
        What it rests on.
    shown : ShownUnits
        The units of this seat.
    """
    blocks = [
        _readings_block(explanation, shown),
        _rate_block(explanation, shown),
        _limit_block(explanation, shown),
        _usage_block(explanation, shown),
        _duty_block(explanation),
    ]
    if explanation.width is not None:
        blocks.append(_width_block(explanation.width))
    return tuple(blocks)


def explain_lines(explanation: Explanation, shown: ShownUnits) -> tuple[str, ...]:
    """Return the same as plain lines, for a list, a terminal or a screen reader.

    Parameters
    ----------
    explanation : Explanation
        What it rests on.
    shown : ShownUnits
        The units of this seat.
    """
    lines = []
    for block in explain_blocks(explanation, shown):
        lines.append(_("{what}: {figure}").format(what=block.label, figure=block.figure))
        lines += [f"  {line}" for line in block.lines]
        lines += [f"  {bar_text(bar)}" for bar in block.bars]
    return tuple(lines)


def bar_text(bar: ShareBar) -> str:
    """Return one cause of the width in words."""
    return _("{cause}: {percent}{space}%, alone {days}").format(
        cause=bar.label, percent=bar.percent, space=THIN_SPACE, days=bar.alone
    )


def whole_percents(shares: tuple[float, ...]) -> tuple[int, ...]:
    """Return shares as whole percentages that make 100 together: the largest remainders are rounded up.

    Examples
    --------
    >>> whole_percents((0.335, 0.333, 0.332))
    (34, 33, 33)
    >>> whole_percents((0.61, 0.395, -0.005))
    (61, 39, 0)
    """
    held = [max(share, 0.0) for share in shares]
    total = sum(held)
    if total <= 0.0:
        return (0,) * len(shares)
    exact = [100.0 * share / total for share in held]
    found = [math.floor(one) for one in exact]
    order = sorted(range(len(exact)), key=lambda n: (found[n] - exact[n], n))
    for n in order[: 100 - sum(found)]:
        found[n] += 1
    return tuple(found)


def _readings_block(explanation: Explanation, shown: ShownUnits) -> ExplainBlock:
    used = [reading for reading in explanation.readings if reading.weight > 0.0]
    aside = [reading for reading in explanation.readings if reading.aside is not None]
    figure = ngettext("{n} reading", "{n} readings", len(used)).format(n=len(used)) if used else _("none yet")
    lines = [_aside_text(reading, explanation, shown) for reading in aside[-MOST_ASIDE:]]
    if len(aside) > MOST_ASIDE:
        lines.insert(0, _("{n} more that count less or not").format(n=len(aside) - MOST_ASIDE))
    return ExplainBlock("readings", _("Readings used"), figure, tuple(lines))


def _aside_text(reading: ExplainedReading, explanation: Explanation, shown: ShownUnits) -> str:
    value = (
        interval_text(explanation.measurand, reading.low, reading.high, shown)
        if reading.value is None
        else value_text(explanation.measurand, reading.value, None, shown)
    )
    which = _("{value} of {day}").format(value=value, day=day_text(reading.on))
    if reading.aside is Aside.VOIDED:
        return _("left aside: {which}, voided: {reason}").format(
            which=which, reason=reading.reason or _("no reason given")
        )
    if reading.aside is Aside.QUESTIONED:
        return _("{which} is questioned and counts {share}").format(
            which=which, share=share_text(reading.weight)
        )
    return _("{which} counts little: the part was bedding in").format(which=which)


def _rate_block(explanation: Explanation, shown: ShownUnits) -> ExplainBlock:
    rate = explanation.rate
    noun = part_noun(explanation.measurand, rate.similar_parts)
    unit = rate_unit_text(explanation.measurand, explanation.use_unit, shown)
    figure = _rate_text(rate.together, explanation, shown, unit=unit)
    lines = []
    expected = _rate_text(rate.fleet, explanation, shown)
    if rate.similar_parts:
        fleet = _("from {n} similar {nouns}, which lead to expect {rate}")
    else:
        fleet = _("from the engineering estimate, which is {rate}")
    source = fleet.format(n=rate.similar_parts, nouns=noun, rate=expected)
    lines.append(_("{share} {source}").format(share=_percent(_fleet_percent(rate)), source=source))
    if rate.cell_parts and rate.cell_parts < rate.similar_parts:
        lines.append(_("{n} of them on the same stage and duty").format(n=rate.cell_parts))
    own = _percent(100 - _fleet_percent(rate))
    if rate.own is not None:
        lines.append(
            _("{share} from its own readings, which say {rate} by themselves").format(
                share=own, rate=_rate_text(rate.own, explanation, shown)
            )
        )
    elif any(reading.weight > 0.0 for reading in explanation.readings):
        lines.append(_("{share} from its own readings").format(share=own))
    if not rate.is_straight:
        lines.append(_("as new; the path is not straight"))
    return ExplainBlock("rate", _("Rate of wear"), figure, tuple(lines))


def _fleet_percent(rate: RateEvidence) -> int:
    return min(max(round(100.0 * rate.fleet_share), 0), 100)


def _percent(percent: int) -> str:
    return f"{percent}{THIN_SPACE}%"


def _rate_text(
    rate: tuple[float, float, float], explanation: Explanation, shown: ShownUnits, unit: str = ""
) -> str:
    low, middle, high = (
        rate_text(explanation.measurand, one, explanation.use_unit, shown) for one in sorted(rate, key=abs)
    )
    if unit:
        return _("{likely} (8 in 10: {low} to {high})").format(
            likely=f"{middle}{THIN_SPACE}{unit}", low=low, high=high
        )
    return _("{likely} ({low} to {high})").format(likely=middle, low=low, high=high)


def _limit_block(explanation: Explanation, shown: ShownUnits) -> ExplainBlock:
    limit = explanation.limit
    figure = value_text(explanation.measurand, limit.service_limit, None, shown)
    source = limit.source or _("no source recorded")
    if limit.why:
        why = (
            limit.why
            if source in limit.why
            else _("{why} (source: {source})").format(why=limit.why.rstrip("."), source=source)
        )
        lines = [_("what governs: {why}").format(why=why)]
    else:
        lines = [
            _("the limit of its class governs"),
            _("source: {source}").format(source=source),
        ]
    if limit.days_per_tenth is not None:
        lines.append(
            _("agreed, so it adds no width; a tenth more would move the likely date by {days}").format(
                days=days_text(round(limit.days_per_tenth))
            )
        )
    return ExplainBlock("limit", _("Limit"), figure, tuple(lines))


def _usage_block(explanation: Explanation, shown: ShownUnits) -> ExplainBlock:
    usage, unit = explanation.usage, explanation.use_unit

    def weekly(use: float) -> str:
        return _("{use} a week").format(use=use_text(_rounded(use, unit, shown), unit, shown))

    lines = []
    if usage.season and abs(usage.per_week_ahead / usage.per_week - 1.0) >= LEAST_SEASON:
        lines.append(_("until the date {use}, with its season").format(use=weekly(usage.per_week_ahead)))
    lines += [*_season_lines(usage), *_entry_lines(usage)]
    lines += [
        _("laid up {first} to {last}").format(first=day_text(off), last=day_text(back))
        for off, back in usage.lay_ups
    ]
    lines += [
        _("hardly moved {first} to {last}; counts as use").format(first=day_text(first), last=day_text(last))
        for first, last in usage.still[-MOST_STILL:]
    ]
    return ExplainBlock("usage", _("Usage"), weekly(usage.per_week), tuple(lines))


def _rounded(use: float, use_unit: str, shown: ShownUnits) -> float:
    """Return a use with two significant digits as shown: no usage is known better."""
    if use <= 0.0:
        return 0.0
    size = factor(shown.unit_of(use_quantity(use_unit)), use_quantity(use_unit))
    step = size * 10.0 ** (math.floor(math.log10(use / size)) - 1)
    return round(use / step) * step


def _season_lines(usage: UsageEvidence) -> list[str]:
    if not usage.season or max(usage.season) - min(usage.season) < 2.0 * LEAST_SEASON:
        return []
    months = range(len(usage.season))
    most, least = max(months, key=lambda n: usage.season[n]), min(months, key=lambda n: usage.season[n])
    return [
        _("season: {most} {high:.2f} of the average month, {least} {low:.2f}").format(
            most=_month(most), high=usage.season[most], least=_month(least), low=usage.season[least]
        )
    ]


def _month(number: int) -> str:
    return month_text(date(2000, number + 1, 1))


def _entry_lines(usage: UsageEvidence) -> list[str]:
    if not usage.entries or usage.first_on is None or usage.last_on is None:
        return [_("no meter entry yet: as vehicles of a new workshop go")]
    entries = ngettext("{n} meter entry", "{n} meter entries", usage.entries).format(n=usage.entries)
    if usage.entries == 1:
        return [
            _("from {entries} of {day}, and the fleet").format(entries=entries, day=day_text(usage.last_on))
        ]
    return [
        _("from {entries}, {first} to {last}; one {age} old counts half").format(
            entries=entries,
            first=day_text(usage.first_on),
            last=day_text(usage.last_on),
            age=days_text(round(usage.half_life_days)),
        )
    ]


def _duty_block(explanation: Explanation) -> ExplainBlock:
    duty = {
        Duty.ROAD: _("road"),
        Duty.MIXED: _("mixed"),
        Duty.OFF_ROAD: _("off-road"),
        Duty.UNKNOWN: _("not known"),
    }[explanation.duty]
    lines = []
    if abs(explanation.exposure - 1.0) >= LEAST_EXPOSURE:
        lines.append(
            _("its teeth and links wear it {times:.2f} times as fast as the usual set-up").format(
                times=explanation.exposure
            )
        )
    else:
        lines.append(_("wears it like the usual set-up"))
    figure = _("{stage}, duty {duty}").format(stage=explanation.stage_name, duty=duty)
    return ExplainBlock("duty", _("Set-up and duty"), figure, tuple(lines))


def cause_text(cause: Cause) -> str:
    """Return what makes a date uncertain, in a few words."""
    return {
        Cause.READINGS: _("where it stands"),
        Cause.RATE: _("how fast it wears"),
        Cause.PROCESS: _("uneven wear ahead"),
        Cause.USAGE: _("use ahead"),
    }[cause]


def _width_block(width: DateWidth) -> ExplainBlock:
    percents = whole_percents(tuple(part.share for part in width.contributions))
    bars = tuple(
        ShareBar(part.cause, cause_text(part.cause), max(part.share, 0.0), percent, _alone(part))
        for part, percent in zip(width.contributions, percents, strict=True)
    )
    days = days_text(round(width.days))
    if width.is_early_half:
        figure = _("{days} from {early} to {likely}").format(
            days=days, early=day_text(width.early_on), likely=day_text(width.likely_on)
        )
        lines = [_("early to likely date; the late one is out of sight")]
    else:
        figure = _("{days} from {early} to {late}").format(
            days=days, early=day_text(width.early_on), late=day_text(width.late_on)
        )
        lines = [_("8 in 10 dates lie between")]
    lines.append(_("shares of the squared width; they make the whole"))
    return ExplainBlock("width", _("How sure the date is"), figure, tuple(lines), bars)


def _alone(part: Contribution) -> str:
    return days_text(max(round(part.days_alone), 0))
