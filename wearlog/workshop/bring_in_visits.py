"""Visits of an import, and those that readings without one imply."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from gettext import gettext as _

from wearlog.fleet.service import TaskDone, Visit
from wearlog.fleet.vehicle import Vehicle
from wearlog.workshop.bring_in_context import Import
from wearlog.workshop.import_rows import ReadingRow, TaskRow, VisitRow, Where


def bring_visits(work: Import, rows: Sequence[VisitRow], readings: Sequence[ReadingRow]) -> None:
    """Add the visits, and those that readings without one imply."""
    tags = {row.vehicle for row in rows} | {reading.vehicle for reading in readings}
    wanted = {v.id for tag in tags if (v := work.vehicles.get(tag))}
    for visit in work.records.all(Visit, live=True, vehicle_id=list(wanted)) if wanted else ():
        work.visits.setdefault((visit.vehicle_id, visit.on), visit)
    new: list[Visit] = []
    own: set[tuple[int, date]] = set()
    for row in rows:
        vehicle = work.vehicles.get(row.vehicle)
        meter = work.meters.get(vehicle.id) if vehicle else None
        value = work.canonical(row.meter, vehicle, row.where, "meter") if vehicle and meter else None
        if vehicle is None or meter is None or value is None:
            continue
        visit = Visit(
            vehicle_id=vehicle.id,
            on=row.on,
            total_use=meter.total_use(value, row.on),
            by=row.by,
            tasks=tuple(t for task in row.tasks if (t := _task(work, vehicle, task, row.where)) is not None),
            notes=row.notes,
            cost=row.cost,
        )
        before = work.visits.get((vehicle.id, row.on))
        if before is not None and before.id and not (before.tasks or before.notes or before.cost):
            work.visits[vehicle.id, row.on] = work.records.replace(
                replace(
                    before, by=visit.by or before.by, tasks=visit.tasks, notes=visit.notes, cost=visit.cost
                )
            )
        elif before is not None and before.id:
            work.findings.add(
                _("A visit of {vehicle} on {day} is kept already.").format(
                    vehicle=vehicle.tag, day=row.on.isoformat()
                ),
                str(row.where),
                _("Nothing kept is overwritten: change it in wearlog, or take the row out."),
            )
        elif (vehicle.id, row.on) in own:
            work.findings.add(
                _("{vehicle} has two visits on {day}.").format(vehicle=vehicle.tag, day=row.on.isoformat()),
                str(row.where),
                _("Put both in one row."),
            )
        else:
            own.add((vehicle.id, row.on))
            new.append(visit)
    work.count("visits", added=len(rows))
    bare = _implied_visits(work, readings, own)
    work.count("visits implied", added=len(bare))
    for visit in work.add_all([*new, *bare], _("Saving visits")):
        work.visits[visit.vehicle_id, visit.on] = visit


def _implied_visits(work: Import, readings: Sequence[ReadingRow], own: set[tuple[int, date]]) -> list[Visit]:
    bare: dict[tuple[int, date], Visit] = {}
    for reading in readings:
        vehicle = work.vehicles.get(reading.vehicle)
        meter = work.meters.get(vehicle.id) if vehicle else None
        if vehicle is None or meter is None:
            continue
        key = (vehicle.id, reading.on)
        if key in work.visits or key in own or key in bare:
            continue
        value = work.canonical(reading.meter, vehicle, reading.where, "meter")
        if value is not None:
            bare[key] = Visit(
                vehicle_id=vehicle.id,
                on=reading.on,
                total_use=meter.total_use(value, reading.on),
                by=reading.by,
            )
    return list(bare.values())


def _task(work: Import, vehicle: Vehicle, task: TaskRow, where: Where) -> TaskDone | None:
    stage_id = None
    if task.stage:
        stage = work.stage(vehicle, task.stage, where, "tasks")
        if stage is None:
            return None
        stage_id = stage.id
    return TaskDone(
        task=task.task,
        stage_id=stage_id,
        before=task.before,
        after=task.after,
        quantity_unit=task.quantity_unit,
        care=task.care,
    )
