"""An owner's report for tests, without a database: two stages, readings, visits, advice."""

from datetime import date

from tests.makers.due import due_line
from tests.makers.sheet import elongation_limit, reading_before, rule_at
from tests.makers.trend import chain_at
from wearlog.fleet.reading import Measurand
from wearlog.fleet.service import Task, TaskDone, Visit
from wearlog.fleet.state import State
from wearlog.workshop.due_snapshot import Action
from wearlog.workshop.owner_report_snapshot import OwnerReport, ReportReading, ReportVisit

TODAY = date(2026, 11, 25)
STAGES = {1: "primary drive", 2: "final drive"}


def a_visit(n: int) -> ReportVisit:
    """One service visit of many."""
    on = date(2026, 11 - n % 10, 3 + n)
    done = (
        TaskDone(task=Task.CLEANED, stage_id=2),
        TaskDone(task=Task.TENSION_SET, stage_id=2, before=44.0, after=30.0, quantity_unit="mm"),
    )
    visit = Visit(vehicle_id=17, on=on, total_use=11_312.0 - 400.0 * n, by="M. Fell", tasks=done)
    return ReportVisit(visit, visit.total_use, STAGES, ("chain 420, 118 links",) if n == 3 else ())


def report_made(**says: object) -> OwnerReport:
    """LR-017: its chain is past the limit, lubrication is due later."""
    chain = reading_before(Measurand.CHAIN_ELONGATION, 0.0176, stage_id=2)
    slack = reading_before(Measurand.SLACK, 44.0, stage_id=2)
    earlier = reading_before(Measurand.CHAIN_ELONGATION, 0.0141, stage_id=2, on=date(2026, 7, 8))
    plain: dict[str, object] = {
        "vehicle_id": 17,
        "tag": "LR-017",
        "vehicle_text": "electric patrol motorcycle, belt primary",
        "depot": "Upper Depot",
        "meter_unit": "km",
        "use_unit": "km",
        "today": TODAY,
        "until": date(2027, 5, 24),
        "last_meter": 11_312.0,
        "last_meter_on": date(2026, 10, 2),
        "use_per_day": 24.0,
        "state": State.PAST_LIMIT,
        "trends": (chain_at(1.04), chain_at(0.4, is_questioned=False)),
        "readings": (
            ReportReading(
                "final drive",
                "chain 420, 118 links",
                chain,
                earlier,
                11_312.0,
                elongation_limit(),
                "",
                rule_at(1.04, State.PAST_LIMIT),
            ),
            ReportReading("final drive", "", slack, None, 11_312.0, None),
        ),
        "visits": tuple(a_visit(n) for n in range(9)),
        "advice": (
            due_line(17, date(2026, 11, 20), state=State.PAST_LIMIT, allowance=1.04),
            due_line(17, date(2027, 1, 9), Action.TASK),
        ),
    }
    return OwnerReport(**{**plain, **says})  # type: ignore[arg-type]
