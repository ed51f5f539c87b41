"""The few figures beside a wear trend, and what unfolds under "Why?"."""

import math
from dataclasses import dataclass
from gettext import gettext as _
from gettext import ngettext

from wearlog.drawing.explain_words import LEAST_EXPOSURE, ShareBar, explain_blocks
from wearlog.drawing.number_words import (
    chance_text,
    daily_use_text,
    day_at,
    measurand_text,
    part_noun,
    rough_use_text,
    use_interval_text,
    use_text,
)
from wearlog.drawing.trend_doubt_words import two_ways_lines
from wearlog.drawing.trend_words import good_readings, is_past, limit_text, replace_text
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Measurand
from wearlog.fleet.state import State
from wearlog.units import show_parts
from wearlog.wording import day_text, days_text
from wearlog.workshop.trend_snapshot import MEDIAN, ReadingMark, TrendSnapshot

_LOW, _HIGH = 1, 5


@dataclass(frozen=True, slots=True)
class Fact:
    """One figure of the panel beside the chart: what it is, the figure, and its uncertainty or reason.

    `bars` are the shares of the width of a date.
    """

    key: str
    label: str
    figure: str
    note: str = ""
    bars: tuple[ShareBar, ...] = ()


@dataclass(frozen=True, slots=True)
class BigFigure:
    """The estimate today, large: number, what it counts, uncertainty, when."""

    number: str
    unit: str
    note: str


@dataclass(frozen=True, slots=True)
class _Remaining:
    low: float
    middle: float
    high: float


def _remaining(snapshot: TrendSnapshot) -> _Remaining:
    left = [max(float(use) - snapshot.use_expected, 0.0) for use in snapshot.limit_use]
    return _Remaining(left[_LOW], left[MEDIAN], left[_HIGH])


def value_now(snapshot: TrendSnapshot) -> tuple[float, float, float]:
    """Return the 10 %, 50 % and 90 % quantiles of the value today, in the canonical unit."""
    values = sorted(snapshot.limit.value_at(a) for a in (snapshot.rule.low, snapshot.rule.high))
    return values[0], snapshot.limit.value_at(snapshot.rule.median), values[1]


def u_now(snapshot: TrendSnapshot) -> float:
    """Return the standard uncertainty of the value today, in the canonical unit."""
    return abs(snapshot.allowance_sd * (snapshot.limit.service_limit - snapshot.limit.as_new))


def big_figure(snapshot: TrendSnapshot, shown: ShownUnits) -> BigFigure:
    """Return the estimate today for the large figure."""
    quantity = snapshot.measurand.quantity
    middle = value_now(snapshot)[1]
    u = u_now(snapshot)
    number, unit = show_parts(middle, quantity, shown, u=u, with_u=False)
    what = measurand_text(snapshot.measurand)
    label = f"{unit} {what}".strip()
    at = use_text(snapshot.use_expected, snapshot.use_unit, shown)
    spread = show_parts(middle, quantity, shown, u=u)[0].partition(" ")[2]
    if not snapshot.rule.has_reading:
        return BigFigure(number, label, _("{spread}  ·  expected, no reading").format(spread=spread))
    return BigFigure(number, label, _("{spread}  ·  today, {use} on it").format(spread=spread, use=at))


def _limit_fact(snapshot: TrendSnapshot, shown: ShownUnits) -> Fact:
    unit = snapshot.use_unit
    left = _remaining(snapshot)
    if is_past(snapshot):
        since = ""
        if snapshot.past_since_use is not None:
            ago = max(snapshot.use_expected - snapshot.past_since_use, 0.0)
            since = _("most likely {use} ago").format(use=rough_use_text(ago, max(ago, 1.0), unit, shown))
        if not since:
            return Fact("limit", _("Reaches its limit"), _("about now"), _past_note(snapshot))
        return Fact("limit", _("Reached its limit"), since, _past_note(snapshot))
    label = _("Reaches its limit after")
    if not math.isfinite(left.middle):
        early = ""
        if math.isfinite(left.low):
            early = _("not before {use}").format(use=rough_use_text(left.low, left.low, unit, shown))
        return Fact("limit", label, _("beyond the forecast"), early)
    width = left.high - left.low if math.isfinite(left.high) else left.middle
    figure = _("another {use}").format(use=rough_use_text(left.middle, width, unit, shown))
    span = use_interval_text(left.low, left.high, unit, shown)
    return Fact("limit", label, figure, _("8 in 10: {span}").format(span=span))


def _past_note(snapshot: TrendSnapshot) -> str:
    return _("{chance} chance to be past it").format(chance=chance_text(snapshot.past_probability))


def trend_facts(snapshot: TrendSnapshot, shown: ShownUnits) -> tuple[Fact, ...]:
    """Return the figures of the panel: limit, replace by, order by.

    Parameters
    ----------
    snapshot : TrendSnapshot
        The trend of one part.
    shown : ShownUnits
        The units of this seat.
    """
    facts = [_limit_fact(snapshot, shown)]
    if snapshot.removed_on is not None:
        return (*facts, Fact("removed", _("Came off"), day_text(snapshot.removed_on)))
    note = _replace_note(snapshot)
    by = replace_text(snapshot.replace_by, snapshot.today)
    if snapshot.measurand is Measurand.BELT_TENSION:
        # A slack belt is set, not replaced.
        return (*facts, Fact("replace", _("Set tension by"), by, note), *_ways_facts(snapshot))
    facts.append(Fact("replace", _("Replace by"), by, note))
    lead = _("{days} lead time").format(days=_lead_text(snapshot.lead_time_days))
    facts.append(Fact("order", _("Order by"), replace_text(snapshot.order_by, snapshot.today), lead))
    facts += _ways_facts(snapshot)
    if snapshot.advice and snapshot.state in {State.DUE, State.PAST_LIMIT}:
        facts.append(Fact("advice", _("Advice"), "", snapshot.advice))
    return tuple(facts)


def _ways_facts(snapshot: TrendSnapshot) -> list[Fact]:
    lines = two_ways_lines(snapshot)
    return [Fact("ways", _("Two possibilities"), "", "\n".join(lines))] if lines else []


def _replace_note(snapshot: TrendSnapshot) -> str:
    if _has_two_dates(snapshot):
        return _("the earlier of two dates: a reading is questioned")
    if snapshot.replace_by is not None and snapshot.replace_by <= snapshot.today:
        # The figure above has told the chance already once it is past.
        return "" if is_past(snapshot) else _past_note(snapshot)
    return _("{chance} chance to be past it").format(chance=chance_text(snapshot.caution_level))


def _lead_text(days: int) -> str:
    return ngettext("{n} day", "{n} days", days).format(n=days)


def why_facts(snapshot: TrendSnapshot, shown: ShownUnits) -> tuple[Fact, ...]:
    """Return what unfolds under "Why?": readings used, the fleet's share, the limit's source, the usage.

    Parameters
    ----------
    snapshot : TrendSnapshot
        The trend of one part.
    shown : ShownUnits
        The units of this seat.
    """
    if snapshot.explanation is not None:
        shape = (snapshot.shape_text or _("Assumes steady wear")).rstrip(".")
        return (
            *(
                Fact(block.key, block.label, block.figure, "\n".join(block.lines), block.bars)
                for block in explain_blocks(snapshot.explanation, shown)
            ),
            Fact("shape", _("Shape"), "", shape),
            *_questioned_facts(snapshot),
        )
    readings = good_readings(snapshot)
    voided = len(snapshot.readings) - readings
    used = ngettext("{n} reading", "{n} readings", readings).format(n=readings) if readings else _("none yet")
    kept = ngettext("{n} voided, not used", "{n} voided, not used", voided).format(n=voided) if voided else ""
    fleet = (
        _("{n} similar {nouns}").format(
            n=snapshot.similar_parts, nouns=part_noun(snapshot.measurand, snapshot.similar_parts)
        )
        if snapshot.similar_parts
        else _("none yet: engineering estimate")
    )
    source = snapshot.limit.source or _("no source recorded")
    limit_note = snapshot.limit_why or source
    if source not in limit_note:
        limit_note = _("{why} (source: {source})").format(why=limit_note.rstrip("."), source=source)
    usage = daily_use_text(snapshot.use_per_day, snapshot.use_unit, shown)
    facts = [
        Fact("readings", _("Readings used"), used, kept),
        Fact("fleet", _("Borrowed from the fleet"), fleet, ""),
        Fact("limit", _("Limit"), limit_text(snapshot, shown), limit_note),
        Fact("usage", _("Usage"), usage, _usage_note(snapshot)),
        Fact("shape", _("Shape"), (snapshot.shape_text or _("Assumes steady wear")).rstrip("."), ""),
    ]
    if abs(snapshot.exposure - 1.0) >= LEAST_EXPOSURE:
        times = _("{factor:.2f} times").format(factor=snapshot.exposure)
        note = _("this fast teeth and links wear it, against the fleet’s usual set-up (Archard’s law)")
        facts.append(Fact("exposure", _("Set-up"), times, note))
    return (*facts, *_questioned_facts(snapshot))


def _questioned_facts(snapshot: TrendSnapshot) -> list[Fact]:
    facts = [
        Fact(
            "questioned",
            _("Questioned"),
            _("reading of {day}").format(day=day_text(reading.on)),
            _("the chance that it is wrong is {chance}").format(
                chance=chance_text(reading.suspect_probability)
            ),
        )
        for reading in snapshot.readings
        if reading.mark in {ReadingMark.DOUBTFUL, ReadingMark.SUSPECT}
    ]
    if snapshot.two_ways is None and _has_two_dates(snapshot) and snapshot.questioned is not None:
        right, leaning = snapshot.questioned.replace_by_if_right, snapshot.questioned.replace_by_as_leaning
        facts.append(
            Fact(
                "two dates",
                _("Replace by, if it is right"),
                replace_text(right, snapshot.today),
                _("if it is wrong: {day}; the earlier date counts").format(
                    day=replace_text(leaning, snapshot.today)
                ),
            )
        )
    return facts


def _has_two_dates(snapshot: TrendSnapshot) -> bool:
    """Whether questioned readings make two dates to replace by."""
    questioned = snapshot.questioned
    return questioned is not None and questioned.replace_by_if_right != questioned.replace_by_as_leaning


def _usage_note(snapshot: TrendSnapshot) -> str:
    early, late = (day_at(float(snapshot.limit_days[n])) for n in (_LOW, _HIGH))
    if early is None or late is None:
        return ""
    together = _("{days} between the early and the late date").format(days=days_text((late - early).days))
    by_wear, by_use = snapshot.days_by_wear, snapshot.days_by_use
    if not (math.isfinite(by_wear) and math.isfinite(by_use)) or late <= snapshot.today:
        return together
    return _("{together}; wear alone would leave {wear}, usage alone {use}").format(
        together=together, wear=days_text(round(by_wear)), use=days_text(round(by_use))
    )
