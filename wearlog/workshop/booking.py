"""Visits agreed with the people who ride: booked from the due list, moved, called off, entered."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from gettext import gettext as _

from wearlog.fleet.planned import PlannedItem, PlannedState, PlannedVisit, next_number
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.service import Task
from wearlog.store.records import Records
from wearlog.wording import day_text
from wearlog.workshop.ask import open_sheet
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.due_snapshot import Action, DueLine
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.measure import keep_draft, kept_draft
from wearlog.workshop.sheet import AskedTask, SheetDraft, TaskDraft

#: What tells one piece of work from the others: vehicle, work, stage, installation.
_Key = tuple[int, str, int | None, int | None]


def open_visits(bench: Bench) -> tuple[PlannedVisit, ...]:
    """Return the visits that are planned or booked and still to come, by day."""
    with bench.database.reading() as records:
        known = [
            visit
            for state in (PlannedState.PLANNED, PlannedState.BOOKED)
            for visit in records.all(PlannedVisit, live=True, state=state)
        ]
    return tuple(sorted(known, key=lambda visit: (visit.on, visit.number)))


def visits_by_line(visits: Iterable[PlannedVisit], lines: Iterable[DueLine]) -> dict[str, PlannedVisit]:
    """Return the visit of each line of the due list that has one, by the key of the line."""
    of = {key: visit for visit in visits for key in _keys(visit)}
    return {line.key: visit for line in lines if (visit := of.get(_key(line))) is not None}


def book_lines(bench: Bench, lines: Sequence[DueLine], on: date) -> Changes:
    """Book work of one vehicle for a day; work that was planned for another day moves there.

    Raises
    ------
    WearlogError
        If the day is past, or the lines are of several vehicles or none.
    """
    if len({line.vehicle_id for line in lines}) != 1:
        raise WearlogError(Problem(_("A visit is booked for one vehicle."), todo=_("Choose its lines.")))
    _check_day(bench, on, lines[0].tag)
    first, state = lines[0], fleet_state(bench)
    items = tuple(item_of(state, line, on) for line in lines)
    with bench.database.writing(by=bench.by, at=bench.now(), what=_("Visit booked")) as records:
        known = records.all(PlannedVisit, live=True)
        _take_out(records, known, {_key(line) for line in lines}, on)
        there = next(
            (one for one in known if one.is_open and (one.vehicle_id, one.on) == (first.vehicle_id, on)), None
        )
        if there is None:
            visit = records.add(
                PlannedVisit(
                    number=next_number(visit.number for visit in records.all(PlannedVisit)),
                    vehicle_id=first.vehicle_id,
                    depot=first.depot,
                    on=on,
                    state=PlannedState.BOOKED,
                    items=items,
                )
            )
        else:
            wanted = {_item_key(first.vehicle_id, item) for item in items}
            rest = tuple(one for one in there.items if _item_key(there.vehicle_id, one) not in wanted)
            visit = records.replace(replace(there, state=PlannedState.BOOKED, items=(*rest, *items)))
        change_id = records.change_id
    what = _("{tag} booked for {day}, job card {number}").format(
        tag=first.tag, day=day_text(on), number=visit.number
    )
    return Changes(what, change_id, frozenset({first.vehicle_id}))


def move_visit(bench: Bench, number: str, on: date) -> Changes:
    """Move a visit that is still to come to another day.

    Raises
    ------
    WearlogError
        If the day is past, or the visit is not to come any more.
    """
    _check_day(bench, on, number)
    what = _("Visit {number} moved to {day}").format(number=number, day=day_text(on))
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        visit = records.replace(replace(_to_come(records, number), on=on))
        change_id = records.change_id
    return Changes(what, change_id, frozenset({visit.vehicle_id}))


def call_off(bench: Bench, number: str) -> Changes:
    """Call a visit off; its work stays on the due list.

    Raises
    ------
    WearlogError
        If the visit is not to come any more.
    """
    what = _("Visit {number} called off").format(number=number)
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        visit = records.replace(replace(_to_come(records, number), state=PlannedState.CALLED_OFF))
        change_id = records.change_id
    return Changes(what, change_id, frozenset({visit.vehicle_id}))


def fill_sheet(bench: Bench, lines: Sequence[DueLine]) -> Changes:
    """Keep a service sheet with the work of some lines ticked, to be checked, completed and saved.

    What was typed on the vehicle's sheet before stays. A sheet of booked work carries the number of its
    visit, so that saving it marks the visit as done. Nothing but the sheet changes.

    Raises
    ------
    WearlogError
        If the lines are of several vehicles or none.
    """
    if len({line.vehicle_id for line in lines}) != 1:
        raise WearlogError(Problem(_("A sheet is that of one vehicle."), todo=_("Choose its lines.")))
    vehicle_id = lines[0].vehicle_id
    sheet = open_sheet(bench, vehicle_id)
    draft = kept_draft(bench, vehicle_id) or SheetDraft(vehicle_id, bench.today(), by=bench.by)
    ticked = {
        asked.key: TaskDraft(done=True)
        for block in sheet.blocks
        for asked in block.tasks
        if any(_is_done_by(line, asked) for line in lines)
    }
    visits = visits_by_line(open_visits(bench), lines).values()
    number = next((visit.number for visit in visits), draft.planned_number)
    draft = replace(draft, tasks={**ticked, **draft.tasks}, planned_number=number)
    keep_draft(bench, draft)
    what = _("Sheet of {tag} filled in").format(tag=lines[0].tag)
    return Changes(
        what, "", frozenset({vehicle_id}), can_undo=False, reopens=vehicle_id, reopened_key="sheet:filled"
    )


def _is_done_by(line: DueLine, asked: AskedTask) -> bool:
    """Whether ticking a task is what a line asks for."""
    if asked.stage_id != line.stage_id:
        return False
    if asked.task is Task.PART_FITTED:
        return line.action is Action.REPLACE and asked.key.endswith(f":{line.installation_id}")
    if line.action is Action.ADJUST:
        return asked.task is (line.task or Task.TENSION_SET)
    return line.task is not None and asked.task is line.task


def work_of(line: DueLine) -> str:
    """Return the due list's own word for a line, as a planned visit keeps it."""
    return line.task.value if line.task is not None else line.action.value


def item_of(state: FleetState, line: DueLine, on: date) -> PlannedItem:
    """Return a line as a planned visit keeps it."""
    installation = None if line.installation_id is None else state.installations.get(line.installation_id)
    is_replaced = installation is not None and line.action is Action.REPLACE
    return PlannedItem(
        work=work_of(line),
        stage_id=line.stage_id,
        installation_id=line.installation_id,
        part_type_id=state.part_type_of(installation).id if installation and is_replaced else None,
        why=line.reason.cause.value,
        due_on=line.due_on,
        is_with=line.due_on > on,
    )


def _key(line: DueLine) -> _Key:
    return line.vehicle_id, work_of(line), line.stage_id, line.installation_id


def _keys(visit: PlannedVisit) -> tuple[_Key, ...]:
    return tuple(_item_key(visit.vehicle_id, item) for item in visit.items)


def _item_key(vehicle_id: int, item: PlannedItem) -> _Key:
    return vehicle_id, item.work, item.stage_id, item.installation_id


def _take_out(records: Records, known: Iterable[PlannedVisit], wanted: set[_Key], on: date) -> None:
    """Take work out of the other visits that had it; one that is left without work is called off."""
    for visit in known:
        if not visit.is_open or visit.on == on:
            continue
        rest = tuple(item for item in visit.items if _item_key(visit.vehicle_id, item) not in wanted)
        if len(rest) == len(visit.items):
            continue
        if rest:
            records.replace(replace(visit, items=rest))
        else:
            records.replace(replace(visit, state=PlannedState.CALLED_OFF))


def _check_day(bench: Bench, on: date, where: str) -> None:
    if on < bench.today():
        raise WearlogError(
            Problem(
                _("{day} is past.").format(day=day_text(on)), where, _("Give today or a day that is to come.")
            )
        )


def _to_come(records: Records, number: str) -> PlannedVisit:
    visit = records.first(PlannedVisit, live=True, number=number)
    if visit is None or not visit.is_open:
        raise WearlogError(
            Problem(
                _("Visit {number} is not to come any more.").format(number=number),
                todo=_("Read the list again."),
                kind=ProblemKind.CONFLICT,
            )
        )
    return visit
