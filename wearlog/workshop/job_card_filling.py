"""A job card filled in again: its number opens the service sheet, and saving that ends the planned visit."""

from dataclasses import replace
from gettext import gettext as _

from wearlog.fleet.planned import PlannedItem, PlannedState, PlannedVisit
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.service import Task, Visit
from wearlog.store.records import Records
from wearlog.wording import day_text
from wearlog.workshop.ask import open_sheet
from wearlog.workshop.bench import Bench
from wearlog.workshop.due_snapshot import Action
from wearlog.workshop.sheet import AskedReading, AskedTask, SheetBlock, SheetSnapshot


def card_on_sheet(bench: Bench, sheet: SheetSnapshot, number: str) -> SheetSnapshot:
    """Return a sheet with what its job card asks for; as it is where the number has no such card to enter."""
    visit = planned_visit(bench, number) if number else None
    if visit is None or visit.vehicle_id != sheet.vehicle_id or visit.state is PlannedState.DONE:
        return sheet
    return with_card(sheet, visit)


def planned_visit(bench: Bench, number: str) -> PlannedVisit | None:
    """Return the planned visit with a number, whatever its capitals; None if there is none."""
    with bench.database.reading() as records:
        return records.first(PlannedVisit, live=True, number=number.strip().upper())


def open_card(bench: Bench, number: str) -> SheetSnapshot:
    """Return the service sheet that a job card asks for.

    A card whose visit was called off may have been printed before, and the work done: it opens all the same.

    Raises
    ------
    WearlogError
        If there is no such number, or its work was entered already.
    """
    visit = planned_visit(bench, number)
    if visit is None:
        raise WearlogError(
            Problem(
                _("There is no job card with the number {number}.").format(number=number.strip() or "–"),
                todo=_("Check the number, or give the tag of the vehicle."),
                kind=ProblemKind.NOT_FOUND,
            )
        )
    if visit.state is PlannedState.DONE:
        raise WearlogError(_entered_already(bench, visit))
    return with_card(open_sheet(bench, visit.vehicle_id), visit)


def _entered_already(bench: Bench, visit: PlannedVisit) -> Problem:
    todo = _("For another service give the tag of the vehicle.")
    if visit.visit_id is None:
        return Problem(_("Job card {number} was entered already.").format(number=visit.number), todo=todo)
    with bench.database.reading() as records:
        became = records.get(Visit, visit.visit_id)
    what = _("Job card {number} was entered already, as the service of {day}.")
    return Problem(what.format(number=visit.number, day=day_text(became.on)), todo=todo)


def with_card(sheet: SheetSnapshot, visit: PlannedVisit) -> SheetSnapshot:
    """Return a sheet that asks for all work of a planned visit, that first. Nothing is ticked beforehand."""
    blocks = tuple(_asking(block, visit.items) for block in sheet.blocks)
    return replace(sheet, blocks=blocks, planned_number=visit.number)


def _asking(block: SheetBlock, items: tuple[PlannedItem, ...]) -> SheetBlock:
    tasks = [replace(task, is_due=task.is_due or _asks_task(task, items)) for task in block.tasks]
    readings = [replace(one, is_due=one.is_due or _asks_reading(one, items)) for one in block.readings]
    return replace(
        block, tasks=tuple(sorted(tasks, key=lambda task: not task.is_due)), readings=tuple(readings)
    )


def _asks_task(asked: AskedTask, items: tuple[PlannedItem, ...]) -> bool:
    for item in items:
        if item.stage_id not in {None, asked.stage_id}:
            continue
        if asked.task is Task.PART_FITTED:
            if item.work == Action.REPLACE and asked.key.endswith(f":{item.installation_id}"):
                return True
        elif item.work == asked.task or (item.work == Action.ADJUST and asked.task is Task.TENSION_SET):
            return True
    return False


def _asks_reading(asked: AskedReading, items: tuple[PlannedItem, ...]) -> bool:
    wanted = {Action.MEASURE.value, Action.REPLACE.value}
    return any(
        item.work in wanted
        and item.installation_id is not None
        and item.installation_id == asked.installation_id
        for item in items
    )


def planned_to_end(records: Records, number: str, vehicle_id: int) -> PlannedVisit | None:
    """Return the planned visit that a sheet with this number ends; None without one.

    A number that belongs to another vehicle, as after moving a sheet, or that was entered meanwhile, ends
    nothing.
    """
    planned = records.first(PlannedVisit, live=True, number=number) if number else None
    if planned is None or planned.vehicle_id != vehicle_id or planned.state is PlannedState.DONE:
        return None
    return planned


def end_planned(records: Records, planned: PlannedVisit | None, visit: Visit) -> None:
    """Mark a planned visit as done by a visit, in the transaction that saves it."""
    if planned is not None:
        records.replace(replace(planned, state=PlannedState.DONE, visit_id=visit.id))
