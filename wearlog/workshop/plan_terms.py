"""What the workshop agreed on for planning visits, kept as one setting."""

import json
from dataclasses import asdict
from datetime import date
from gettext import gettext as _
from typing import Any

from wearlog.fleet.problem import Findings
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.plan_snapshot import DepotHours, PlanTerms

SETTING = "visit plan"


def plan_terms(bench: Bench) -> PlanTerms:
    """Return what was agreed on, the defaults where nothing was."""
    with bench.database.reading() as records:
        text = records.setting(SETTING)
    return PlanTerms() if text is None else _terms(json.loads(text))


def agree_plan_terms(bench: Bench, terms: PlanTerms) -> Changes:
    """Keep opening days, bay time, and what labour, visits and failures cost.

    Raises
    ------
    WearlogError
        If a number is out of range.
    """
    findings = Findings()
    for where, hours in ((_("usual hours"), terms.usual_hours), *terms.hours.items()):
        if not 0 <= hours.bay_minutes <= 20 * 24 * 60 or not set(hours.weekdays) <= set(range(7)):
            findings.add(
                _("The bay time is out of range."),
                where,
                _("Give minutes of all bays together on an open day."),
            )
    amounts = (terms.labour_per_hour, terms.visit_cost, terms.late_per_day, terms.failure_cost)
    if any(not 0.0 <= amount < 1e6 for amount in amounts):
        findings.add(_("A cost is out of range."), _("costs"), _("Give amounts from 0 on."))
    if not 0 <= terms.visit_minutes <= 480:
        findings.add(_("The time of a visit is out of range."), _("visit"), _("Give 0 to 480 minutes."))
    if not 0.0 <= terms.failures_per_past <= 10.0:
        findings.add(_("The number of failures is out of range."), _("failures"), _("Give 0 to 10."))
    findings.raise_if_any()
    what = _("Terms of the visit plan")
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        is_first = records.setting(SETTING) is None
        records.set_setting(SETTING, json.dumps(asdict(terms), default=date.isoformat, sort_keys=True))
        change_id = records.change_id
    return Changes(what, change_id, can_undo=not is_first)


def _terms(kept: dict[str, Any]) -> PlanTerms:
    plain = PlanTerms()
    numbers = {
        name: kept.get(name, getattr(plain, name))
        for name in (
            "labour_per_hour",
            "visit_minutes",
            "visit_cost",
            "late_per_day",
            "failure_cost",
            "failures_per_past",
        )
    }
    return PlanTerms(
        hours={depot: _hours(hours) for depot, hours in kept.get("hours", {}).items()},
        usual_hours=_hours(kept["usual_hours"]) if "usual_hours" in kept else plain.usual_hours,
        closed_on=tuple(date.fromisoformat(day) for day in kept.get("closed_on", ())),
        **numbers,
    )


def _hours(kept: dict[str, Any]) -> DepotHours:
    return DepotHours(tuple(kept["weekdays"]), int(kept["bay_minutes"]))
