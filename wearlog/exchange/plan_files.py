"""A plan of visits as a file: CSV, JSON, calendar; and as text for the terminal."""

import csv
import io
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, replace
from datetime import date
from gettext import gettext as _
from pathlib import Path
from typing import Any, BinaryIO

from wearlog import __version__, units
from wearlog.drawing.due_words import action_text
from wearlog.drawing.plan_words import (
    cost_rows,
    early_or_late_text,
    plan_day_text,
    policy_text,
    proof_text,
    summary_text,
    time_text,
    work_text,
)
from wearlog.exchange.files import harmless, write_whole
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.fleet.quantity import ShownUnits
from wearlog.wording import day_text
from wearlog.workshop.plan_snapshot import PlannedStop, PlannedWork, VisitPlan

Cell = str | int | float | date | None
#: Columns of the table, with the unit in the name.
HEADERS = (
    "visit on",
    "depot",
    "vehicle",
    "visit minutes",
    "work",
    "stage",
    "part",
    "due on",
    "days early",
    "minutes",
    "unused use",
    "use unit",
    "unused share [%]",
    "unused cost",
    "chance past limit [%]",
    "sprocket cost",
    "failure cost",
)


def _write_csv(plan: VisitPlan, stream: BinaryIO, _shown: ShownUnits) -> None:
    text = io.TextIOWrapper(stream, encoding="utf-8", newline="", write_through=True)
    try:
        writer = csv.writer(text)
        writer.writerow(HEADERS)
        for stop in plan.stops:
            for work in stop.works:
                writer.writerow([_csv_cell(cell) for cell in _cells(stop, work)])
    finally:
        text.detach()


def _cells(stop: PlannedStop, work: PlannedWork) -> tuple[Cell, ...]:
    line = work.line
    return (
        stop.on,
        stop.depot,
        stop.tag,
        stop.minutes,
        action_text(line),
        line.stage_name,
        line.part_text,
        line.due_on,
        (line.due_on - stop.on).days,
        work.minutes,
        _rounded(work.unused_use, 1),
        line.use_unit,
        _rounded(work.unused_share, 3, 100.0),
        round(work.unused_cost, 2),
        _rounded(work.past_chance, 3, 100.0),
        round(work.sprocket_cost, 2),
        round(work.failure_cost, 2),
    )


def _rounded(value: float | None, digits: int, times: float = 1.0) -> float | None:
    return None if value is None else round(times * value, digits)


def _csv_cell(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return harmless(cell)
    return cell.isoformat() if isinstance(cell, date) else f"{cell:.10g}"


def _write_json(plan: VisitPlan, stream: BinaryIO, _shown: ShownUnits) -> None:
    text = json.dumps(plan_data(plan), ensure_ascii=False, indent=2, allow_nan=False)
    stream.write(text.encode() + b"\n")


def _write_ics(plan: VisitPlan, stream: BinaryIO, shown: ShownUnits) -> None:
    from wearlog.exchange.plan_calendar import plan_calendar  # noqa: PLC0415 - only when asked for

    stream.write(plan_calendar(plan, shown))


_WRITERS: Mapping[str, Callable[[VisitPlan, BinaryIO, ShownUnits], None]] = {
    "csv": _write_csv,
    "json": _write_json,
    "ics": _write_ics,
}

#: Formats that `write_plan` knows.
PLAN_FORMATS = tuple(_WRITERS)


def write_plan(plan: VisitPlan, file: Path | BinaryIO, format: str, shown: ShownUnits) -> None:  # noqa: A002
    """Write a plan of visits to a file, whole or not at all.

    Parameters
    ----------
    plan : VisitPlan
        The plan.
    file : Path or BinaryIO
        Where to. A CSV file begins with a byte order mark, by which spreadsheet programs know UTF-8.
    format : str
        One of `PLAN_FORMATS`.
    shown : ShownUnits
        The units of this seat; CSV and JSON keep the canonical ones, which stand beside the numbers.

    Raises
    ------
    WearlogError
        If the format is not known or the file can't be written.
    """
    writer = _WRITERS.get(format)
    if writer is None:
        raise WearlogError(
            Problem(
                _("The format {format} is not known.").format(format=format),
                "",
                _("Use one of {formats}.").format(formats=", ".join(PLAN_FORMATS)),
            )
        )

    def write(stream: BinaryIO) -> None:
        if format == "csv" and isinstance(file, Path):
            stream.write(b"\xef\xbb\xbf")
        writer(plan, stream, shown)

    write_whole(file, write)


def of_depot(plan: VisitPlan, depot: str) -> VisitPlan:
    """Return the visits of one depot, whatever its capitals; the costs stay those of the fleet.

    Raises
    ------
    WearlogError
        If the plan knows no such depot.
    """
    known = dict.fromkeys(load.depot for load in plan.loads)
    name = {one.casefold(): one for one in known}.get(depot.strip().casefold())
    if name is None:
        raise WearlogError(
            Problem(
                _("Nothing is due at a depot “{depot}”.").format(depot=depot),
                "",
                _("There are {depots}.").format(depots=", ".join(known) or "–"),
            )
        )
    return replace(
        plan,
        stops=tuple(stop for stop in plan.stops if stop.depot == name),
        unplaced=tuple(line for line in plan.unplaced if line.depot == name),
        loads=tuple(load for load in plan.loads if load.depot == name),
    )


# --- for programs ----------------------------------------------------------------------------------------


def plan_data(plan: VisitPlan) -> dict[str, Any]:
    """Return a plan as plain data: numbers with the unit in the field name, ISO dates."""
    cost = {name: round(amount, 4) for name, amount in asdict(plan.cost).items()}
    return {
        "program": f"wearlog {__version__}",
        "as_of": plan.today.isoformat(),
        "weeks": plan.weeks,
        "policy": plan.policy.value,
        "gap": plan.gap,
        "cost": cost | {"total": round(plan.cost.total, 4), "per_1000_km": round(plan.cost.per_1000_km, 4)},
        "visits": [
            {
                "on": stop.on.isoformat(),
                "vehicle": stop.tag,
                "depot": stop.depot,
                "minutes": stop.minutes,
                "work": [_work_data(stop, work) for work in stop.works],
            }
            for stop in plan.stops
        ],
        "without_bay_time": [
            {
                "vehicle": line.tag,
                "depot": line.depot,
                "work": action_text(line),
                "stage": line.stage_name,
                "due_on": line.due_on.isoformat(),
            }
            for line in plan.unplaced
        ],
        "days": [
            {
                "depot": load.depot,
                "on": load.on.isoformat(),
                "used_minutes": load.used_minutes,
                "bay_minutes": load.bay_minutes,
            }
            for load in plan.loads
            if load.bay_minutes
        ],
    }


def _work_data(stop: PlannedStop, work: PlannedWork) -> dict[str, Any]:
    line = work.line
    return {
        "work": action_text(line),
        "action": line.action.value,
        "stage": line.stage_name,
        "part": line.part_text,
        "due_on": line.due_on.isoformat(),
        "days_early": (line.due_on - stop.on).days,
        "minutes": work.minutes,
        f"unused_{line.use_unit}": _rounded(work.unused_use, 3),
        "unused_share": _rounded(work.unused_share, 6),
        "unused_cost": round(work.unused_cost, 4),
        "chance_past_limit": _rounded(work.past_chance, 6),
        "sprocket_cost": round(work.sprocket_cost, 4),
        "failure_cost": round(work.failure_cost, 4),
    }


# --- for the terminal ------------------------------------------------------------------------------------


def plan_table_text(plan: VisitPlan, shown: ShownUnits) -> str:
    """Return a plan as lines of text for a terminal: day, vehicle, time, work and what its day means."""
    out = [
        _("Visit plan on {day}, {policy}: {summary}").format(
            day=day_text(plan.today), policy=plan.policy.value, summary=summary_text(plan)
        )
    ]
    if proof := proof_text(plan):
        out.append(proof.capitalize() + ".")
    rows = [[_("DAY"), _("VEHICLE"), _("DEPOT"), _("TIME"), _("WORK"), ""]]
    for stop in plan.stops:
        head = [plan_day_text(stop.on, plan.today), stop.tag, stop.depot, time_text(stop.minutes)]
        for work in stop.works:
            rows.append([*head, work_text(work), early_or_late_text(work, stop.on, shown)])
            head = ["", "", "", ""]
    if plan.stops:
        out += ["", *_aligned(rows)]
    if plan.unplaced:
        out += ["", _("NO BAY TIME FOR")]
        out += [f"  {line.tag}: {action_text(line)}, {line.stage_name}" for line in plan.unplaced]
    return _plain("\n".join(out)) + "\n"


def comparison_text(plans: Sequence[VisitPlan]) -> str:
    """Return plans of one due list side by side."""
    rows = [["", *(policy_text(plan.policy).upper() for plan in plans)]]
    rows += [[row.label, *row.amounts] for row in cost_rows(plans)]
    rows.append(["", *(proof_text(plan) for plan in plans)])
    return _plain("\n".join(_aligned(rows))) + "\n"


def _aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    wide = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    return ["  ".join(cell.ljust(wide[n]) for n, cell in enumerate(row)).rstrip() for row in rows]


def _plain(text: str) -> str:
    """Return text with ordinary spaces, which every terminal can show."""
    return text.replace(units.THIN_SPACE, " ").replace(units.NARROW_NO_BREAK_SPACE, " ")
