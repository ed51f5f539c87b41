"""A plan of visits in words: who comes when, what early gives away, what late risks, what it all costs."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from gettext import gettext as _
from gettext import ngettext

from wearlog.drawing.due_words import action_text
from wearlog.drawing.number_words import chance_text, use_text
from wearlog.drawing.parts_words import money_text
from wearlog.fleet.planned import PlannedState
from wearlog.fleet.quantity import ShownUnits
from wearlog.planning.scheduling import VisitPolicy
from wearlog.units import THIN_SPACE
from wearlog.wording import days_text, month_text
from wearlog.workshop.plan_snapshot import PlanCost, PlannedStop, PlannedWork, VisitPlan

_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
#: Money that is given away or risked below this is not worth a word.
LEAST_MONEY = 0.005


def weekday_text(number: int) -> str:
    """Return the short name of a day of the week, 0 for Monday.

    Examples
    --------
    >>> weekday_text(0), weekday_text(6)
    ('Mon', 'Sun')
    """
    return _(_WEEKDAYS[number])


def plan_day_text(day: date, today: date) -> str:
    """Return a day as people plan, with its day of the week.

    Examples
    --------
    >>> plan_day_text(date(2026, 11, 26), date(2026, 11, 23))
    'Thu 26 Nov'
    """
    text = f"{weekday_text(day.weekday())} {day.day} {month_text(day)}"
    return text if abs((day - today).days) < 300 else f"{text} {day.year}"


def time_text(minutes: int) -> str:
    r"""Return a time in the bay.

    Examples
    --------
    >>> time_text(45), time_text(80), time_text(120)
    ('45\u2009min', '1\u2009h 20\u2009min', '2\u2009h')
    """
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest}{THIN_SPACE}min"
    return f"{hours}{THIN_SPACE}h {rest}{THIN_SPACE}min" if rest else f"{hours}{THIN_SPACE}h"


def policy_text(policy: VisitPolicy) -> str:
    """Return how a plan was made, for a heading."""
    return {
        VisitPolicy.AS_LISTED: _("As the list says"),
        VisitPolicy.FEWEST_VISITS: _("Fewest visits"),
        VisitPolicy.LEAST_COST: _("Least cost"),
    }[policy]


def policy_meaning(policy: VisitPolicy) -> str:
    """Return what a way of planning does, in one sentence."""
    return {
        VisitPolicy.AS_LISTED: _("Each visit of the due list on the last open day before anything is late."),
        VisitPolicy.FEWEST_VISITS: _(
            "Work done together wherever it can be; late only where that is slight."
        ),
        VisitPolicy.LEAST_COST: _(
            "Early work weighed against another visit, in money; late parts weigh most."
        ),
    }[policy]


def booked_text(state: PlannedState, number: str, day: date, today: date) -> str:
    """Return how far a planned visit has come.

    Examples
    --------
    >>> booked_text(PlannedState.BOOKED, "V-0042", date(2026, 12, 3), date(2026, 11, 23))
    'booked Thu 3 Dec, V-0042'
    """
    words = {
        PlannedState.PLANNED: _("planned {day}, {number}"),
        PlannedState.BOOKED: _("booked {day}, {number}"),
        PlannedState.DONE: _("done {day}, {number}"),
        PlannedState.CALLED_OFF: _("called off {day}, {number}"),
    }
    return words[state].format(day=plan_day_text(day, today), number=number)


def booked_short(state: PlannedState, number: str) -> str:
    """Return the same without the day, for a card that stands on it.

    Examples
    --------
    >>> booked_short(PlannedState.BOOKED, "V-0042")
    'booked, V-0042'
    """
    return f"{_(state.value)}, {number}"


def work_text(work: PlannedWork) -> str:
    """Return what is done and where, for example ``"replace chain, final drive"``."""
    what = action_text(work.line)
    return f"{what}, {work.line.stage_name}" if work.line.stage_name else what


def early_or_late_text(work: PlannedWork, on: date, shown: ShownUnits) -> str:
    """Return what doing some work on its day of the plan means.

    Early replacements say what life is given away, in use and money; late ones the chance of being past the
    limit.

    Parameters
    ----------
    work : PlannedWork
        One line of the due list in a plan.
    on : date
        The day of its visit.
    shown : ShownUnits
        The units of this seat.
    """
    days = (work.line.due_on - on).days
    if days == 0:
        said = [_("on its day")]
    elif days > 0:
        said = [_("{time} early").format(time=days_text(days))]
    else:
        said = [_("{time} late").format(time=days_text(-days))]
    if work.unused_use is not None and work.unused_use >= 1.0 and days >= 0:
        said.append(
            _("gives away {use}").format(use=_use(work.unused_use, work, shown))
            + (f" ({money_text(work.unused_cost)})" if work.unused_cost >= LEAST_MONEY else "")
        )
    if work.past_chance is not None and (days < 0 or work.past_chance >= 0.1):
        said.append(_("{chance} chance of being past the limit").format(chance=chance_text(work.past_chance)))
    risk = work.sprocket_cost + work.failure_cost
    if risk >= LEAST_MONEY and days < 0:
        said.append(_("may cost {money} in sprockets and failures").format(money=money_text(risk)))
    return ", ".join(said)


def _use(value: float, work: PlannedWork, shown: ShownUnits) -> str:
    # No forecast knows it better than to two digits.
    step = 10.0 ** max(len(str(int(value))) - 2, 0)
    return use_text(round(value / step) * step, work.line.use_unit, shown)


def stop_text(stop: PlannedStop) -> str:
    """Return what a visit is for, briefly: each job once."""
    return ", ".join(dict.fromkeys(action_text(work.line) for work in stop.works))


def summary_text(plan: VisitPlan) -> str:
    """Return a plan in one sentence.

    For example ``"43 visits with 222 jobs in 8 weeks, 3 late; 75.12 for 1000 km"``.
    """
    visits = ngettext("{n} visit", "{n} visits", len(plan.stops)).format(n=len(plan.stops))
    jobs = ngettext("{n} job", "{n} jobs", len(plan.works)).format(n=len(plan.works))
    weeks = ngettext("{n} week", "{n} weeks", plan.weeks).format(n=plan.weeks)
    text = _("{visits} with {jobs} in {weeks}, {late} late; {money} for 1000 km").format(
        visits=visits, jobs=jobs, weeks=weeks, late=len(plan.late), money=money_text(plan.cost.per_1000_km)
    )
    if plan.unplaced:
        text += "; " + ngettext(
            "no bay time for {n} job", "no bay time for {n} jobs", len(plan.unplaced)
        ).format(n=len(plan.unplaced))
    return text


def proof_text(plan: VisitPlan) -> str:
    """Return how sure it is that no better plan exists; empty where none was sought."""
    if plan.policy is VisitPolicy.AS_LISTED:
        return ""
    if plan.gap is None:
        return _("made step by step, not proven best")
    if plan.is_proven:
        return _("proven best")
    share = max(round(100.0 * plan.gap), 1)
    return _("within {n}{space}% of the best").format(n=share, space=THIN_SPACE)


@dataclass(frozen=True, slots=True)
class CostRow:
    """One line of the comparison: what it is, and its amount for each plan as text."""

    label: str
    amounts: tuple[str, ...]
    is_total: bool = False


def cost_rows(plans: Sequence[VisitPlan]) -> tuple[CostRow, ...]:
    """Return plans side by side: visits, late work, and what 1000 km cost by cause.

    Parameters
    ----------
    plans : sequence of VisitPlan
        Plans of one due list.
    """

    def money(label: str, of: str, *, is_total: bool = False) -> CostRow:
        return CostRow(
            label, tuple(money_text(_per_1000_km(plan.cost, of)) for plan in plans), is_total=is_total
        )

    return (
        CostRow(_("visits"), tuple(str(len(plan.stops)) for plan in plans)),
        CostRow(_("jobs done late"), tuple(str(len(plan.late)) for plan in plans)),
        CostRow(_("jobs without bay time"), tuple(str(len(plan.unplaced)) for plan in plans)),
        money(_("money for 1000 km"), "total", is_total=True),
        money(_("coming in"), "visits"),
        money(_("labour"), "labour"),
        money(_("parts worn"), "parts"),
        money(_("unused life"), "unused"),
        money(_("sprockets worn by late chains"), "sprockets"),
        money(_("failures"), "failures"),
        money(_("tasks early or late"), "other"),
    )


def _per_1000_km(cost: PlanCost, of: str) -> float:
    amount = float(getattr(cost, of))
    return 1000.0 * amount / cost.distance_km if cost.distance_km > 0.0 else 0.0


def load_text(used_minutes: int, bay_minutes: int) -> str:
    """Return how full a day is; what is over the bay time is said."""
    if not bay_minutes and not used_minutes:
        return _("closed")
    if used_minutes > bay_minutes:
        return _("{time} over {bay}").format(
            time=time_text(used_minutes - bay_minutes), bay=time_text(bay_minutes)
        )
    return _("{used} of {bay}").format(used=time_text(used_minutes), bay=time_text(bay_minutes))


def spoken_stop(stop: PlannedStop, today: date, shown: ShownUnits, booked: str = "") -> str:
    """Return a whole visit for a screen reader."""
    works = (f"{work_text(work)}: {early_or_late_text(work, stop.on, shown)}" for work in stop.works)
    head = (stop.tag, stop.depot, plan_day_text(stop.on, today), time_text(stop.minutes), booked)
    return "; ".join(part for part in (*head, *works) if part)
