"""Sentences about parts: what is there, what will be wanted, what to order by when and why."""

from collections.abc import Iterable
from datetime import date
from gettext import gettext as _
from gettext import ngettext

from wearlog.drawing.number_words import chance_text
from wearlog.fleet.parts import PartKind
from wearlog.wording import day_text, days_text, month_text
from wearlog.workshop.parts_snapshot import (
    ComingDue,
    CutAhead,
    JoiningLinks,
    PartsLine,
    PartsSnapshot,
    SetAhead,
)

#: Installations that a sentence names; the rest is counted.
MOST_NAMED = 4


def level_text(level: float) -> str:
    """Return a service level as people choose it.

    Examples
    --------
    >>> level_text(0.95), level_text(0.975)
    ('95 %', '97.5 %')
    """
    return f"{100.0 * level:g} %"


def near_day(day: date, today: date) -> str:
    """Return a day without its year where nobody could mistake it."""
    return f"{day.day} {month_text(day)}" if abs((day - today).days) < 300 else day_text(day)


def money_text(amount: float | None) -> str:
    r"""Return an amount in the workshop's own currency, which is never named.

    Examples
    --------
    >>> money_text(1234.5), money_text(None)
    ('1\u202f234.50', '–')
    """
    return "–" if amount is None else f"{amount:,.2f}".replace(",", "\u202f")


def shelf_text(line: PartsLine) -> str:
    """Return what is there, for example ``"2"``; a dash where nobody keeps count."""
    return str(line.on_hand) if line.line_id else "–"


def on_order_text(line: PartsLine, today: date) -> str:
    """Return what is on its way, and when the next of it comes."""
    if not line.on_order:
        return ""
    if line.next_arrival is None:
        return str(line.on_order)
    late = line.next_arrival < today
    when = near_day(line.next_arrival, today)
    text = _("{n}, overdue since {day}") if late else _("{n}, {day}")
    return text.format(n=line.on_order, day=when)


def demand_text(line: PartsLine) -> str:
    """Return how many will be wanted; the ends hold 8 in 10.

    Wear of belts and pulleys is judged by eye alone: nothing is foretold of them.
    """
    if not line.weeks or (not line.is_followed and not line.mean):
        return _("judged by eye") if line.running else _("none fitted")
    last = line.weeks[-1]
    return (
        str(last.few) if last.few == last.many else _("{few} to {many}").format(few=last.few, many=last.many)
    )


def order_text(line: PartsLine, today: date) -> str:
    """Return what to order by when, for example ``"3 now"`` or ``"1 by 5 Dec"``."""
    if line.order_now:
        return _("{n} now").format(n=line.order_now)
    if line.short and line.order_by is not None:
        return _("{n} by {day}").format(n=line.short, day=near_day(line.order_by, today))
    return ""


def late_text(line: PartsLine, today: date) -> str:
    """Return how late an order already is, in time for the first need; empty if it is not."""
    if not line.order_now or line.order_by is None or line.order_by >= today:
        return ""
    return _("{time} late").format(time=days_text((today - line.order_by).days))


def kind_text(kind: PartKind) -> str:
    """Return the plural of a kind of part, as a heading."""
    return {
        PartKind.CHAIN: _("chains"),
        PartKind.SPROCKET: _("sprockets"),
        PartKind.BELT: _("belts"),
        PartKind.PULLEY: _("pulleys"),
    }[kind]


def coming_text(one: ComingDue) -> str:
    """Return one reason for the demand: a vehicle, a stage and how likely."""
    where = f"{one.tag}, {one.stage_name}" if one.stage_name else one.tag
    if one.is_called_in:
        return _("{where}: on the due list today").format(where=where)
    chance = _("nearly certain") if one.chance > 0.9905 else chance_text(one.chance)
    if one.is_with_set:
        return _("{where}: {chance}, with its set").format(where=where, chance=chance)
    return f"{where}: {chance}"


def why_text(snapshot: PartsSnapshot, line: PartsLine) -> str:
    """Return what stands behind a line: the demand, the chance of having enough, order, lead time, set."""
    weeks = ngettext("In {n} week", "In {n} weeks", snapshot.weeks).format(n=snapshot.weeks)
    sentences = [_demand_sentence(weeks, line)]
    if line.wanted or line.on_hand or line.on_order:
        sentences.append(
            _(
                "What is there and on order is enough with a chance of {chance}; {n} would be with {level}."
            ).format(chance=_percent(line.chance_enough), n=line.wanted, level=level_text(snapshot.level))
        )
    sentences += _order_sentences(snapshot, line)
    if line.set_with:
        sentences.append(_("Replaced as a set with: {names}.").format(names="; ".join(line.set_with)))
    if line.least:
        sentences.append(_("At least {n} should always lie there.").format(n=line.least))
    return " ".join(sentences)


def _percent(chance: float) -> str:
    if chance >= 0.995:
        return _("more than 99 %")
    return "<1 %" if chance < 0.005 else f"{100.0 * chance:.0f} %"


def _demand_sentence(weeks: str, line: PartsLine) -> str:
    if not line.running:
        return _("None is fitted to a vehicle of this depot.")
    running = ngettext("{n} is fitted", "{n} are fitted", line.running).format(n=line.running)
    if not line.is_followed and not line.mean:
        return _("{running}; their wear is judged by eye, and none was graded “change”.").format(
            running=running
        )
    names = "; ".join(coming_text(one) for one in line.coming[:MOST_NAMED])
    rest = len(line.coming) - MOST_NAMED
    if rest > 0:
        names += "; " + ngettext("{n} more", "{n} more", rest).format(n=rest)
    if not names:
        return _("{running}; none of them is likely to be replaced.").format(running=running)
    return _("{weeks} {demand} of {n} fitted: {names}.").format(
        weeks=weeks, demand=demand_text(line), n=line.running, names=names
    )


def _order_sentences(snapshot: PartsSnapshot, line: PartsLine) -> list[str]:
    if not line.short:
        return []
    lead = days_text(line.lead_days)
    if line.order_by is not None and line.order_by < snapshot.today:
        text = _("With a lead time of {lead} the order comes {late}: order today.")
        return [text.format(lead=lead, late=late_text(line, snapshot.today) or _("late"))]
    if line.order_now:
        return [_("With a lead time of {lead} the order leaves today.").format(lead=lead)]
    return [
        _("With a lead time of {lead} the order leaves by {day}.").format(
            lead=lead, day=day_text(line.order_by)
        )
    ]


def summary_text(snapshot: PartsSnapshot) -> str:
    """Return what is to be ordered in all, in one line."""
    weeks = ngettext("the next week", "the next {n} weeks", snapshot.weeks).format(n=snapshot.weeks)
    ordered = snapshot.to_order
    if not snapshot.lines:
        return _("No parts are fitted and none are on the shelf.")
    if not ordered:
        return _("Enough for {weeks} with {level}.").format(weeks=weeks, level=level_text(snapshot.level))
    pieces = sum(line.order_now for line in ordered)
    unpriced = sum(1 for line in ordered if line.price is None)
    text = _("To order today for {weeks}: {pieces} of {types}, {money} in all").format(
        weeks=weeks,
        pieces=ngettext("{n} part", "{n} parts", pieces).format(n=pieces),
        types=ngettext("{n} type", "{n} types", len(ordered)).format(n=len(ordered)),
        money=money_text(snapshot.order_cost),
    )
    if unpriced:
        text += _(", {n} without a price").format(n=unpriced)
    return text + "."


def set_text(one: SetAhead) -> str:
    """Return a set that will most likely be replaced together."""
    return _("{tag}, {stage}: {names} together ({chance})").format(
        tag=one.tag,
        stage=one.stage_name,
        names=", ".join(one.names),
        chance=_("on the due list") if one.chance_together > 0.9905 else chance_text(one.chance_together),
    )


def cut_text(one: CutAhead) -> str:
    """Return which chain is cut for which drive."""
    return ngettext(
        "{tag}, {stage}: cut {n} link off a {designation} chain of {have} for {links} links",
        "{tag}, {stage}: cut {n} links off a {designation} chain of {have} for {links} links",
        one.links_off,
    ).format(
        tag=one.tag,
        stage=one.stage_name,
        n=one.links_off,
        designation=one.designation,
        have=one.from_links,
        links=one.links,
    )


def joining_text(one: JoiningLinks) -> str:
    """Return how many joining links of a kind are wanted and there."""
    wanted = one.for_chains + one.for_shortening
    return _("{designation} {kind}: {wanted} wanted, {there} there").format(
        designation=one.designation, kind=one.kind, wanted=wanted, there=one.on_hand
    )


def joining_short_text(links: Iterable[JoiningLinks]) -> str:
    """Return how many joining links are missing in all, kind by kind; empty if none is."""
    short: dict[str, int] = {}
    for one in links:
        if one.short:
            kind = f"{one.designation} {one.kind}"
            short[kind] = short.get(kind, 0) + one.short
    return ", ".join(_("{n} × {kind}").format(n=n, kind=kind) for kind, n in short.items())
