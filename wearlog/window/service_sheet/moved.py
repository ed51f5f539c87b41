"""A typed sheet moved to another vehicle: what was measured goes to the same places there."""

from dataclasses import replace

from wearlog.fleet.fitting import Position
from wearlog.fleet.reading import Measurand
from wearlog.fleet.service import Task
from wearlog.workshop.sheet import AskedReading, SheetDraft, SheetSnapshot

_ReadingPlace = tuple[int, Position | None, Measurand]


def draft_moved(draft: SheetDraft, before: SheetSnapshot, after: SheetSnapshot) -> SheetDraft:
    """Return a draft for another vehicle with the entries that have a place there.

    Stages are matched by their order from the motor. What finds no place is not lost: it stands in the notes.
    """
    places = dict(_reading_places(after))
    entries = {}
    homeless = []
    for place, asked in _reading_places(before):
        entry = draft.entries.get(asked.key)
        if entry is None or entry.is_empty:
            continue
        there = places.get(place)
        if there is None:
            homeless.append(f"{asked.part_text or asked.measurand.value}: {entry.text or entry.not_measured}")
        else:
            entries[there.key] = entry
    task_places = dict(_task_places(after))
    tasks = {}
    for place_of_task, key in _task_places(before):
        task = draft.tasks.get(key)
        if task is not None and place_of_task in task_places:
            tasks[task_places[place_of_task]] = task
        elif task is not None and task.done:
            homeless.append(f"{place_of_task[1].value} {task.before_text} {task.after_text}".strip())
    return SheetDraft(
        after.vehicle_id,
        draft.on,
        meter_text=draft.meter_text,
        meter_value=draft.meter_value,
        by=draft.by,
        notes="; ".join(part for part in (draft.notes, *homeless) if part),
        entries=entries,
        tasks=tasks,
    )


def draft_fitted(draft: SheetDraft, snapshot: SheetSnapshot) -> SheetDraft:
    """Return a kept draft for the sheet as it is asked now.

    A part may have been replaced since: what was typed for it has no field any more and goes to the notes.
    """
    asked = {reading.key for block in snapshot.blocks for reading in block.readings}
    lost = {key: entry for key, entry in draft.entries.items() if key not in asked}
    if not lost:
        return draft
    texts = [entry.text or entry.not_measured for entry in lost.values() if not entry.is_empty]
    return replace(
        draft,
        entries={key: entry for key, entry in draft.entries.items() if key in asked},
        notes="; ".join(part for part in (draft.notes, *texts) if part),
    )


def _reading_places(snapshot: SheetSnapshot) -> list[tuple[_ReadingPlace, AskedReading]]:
    return [
        ((order, asked.position, asked.measurand), asked)
        for order, block in enumerate(snapshot.blocks)
        for asked in block.readings
    ]


def _task_places(snapshot: SheetSnapshot) -> list[tuple[tuple[int, Task], str]]:
    return [
        ((order, task.task), task.key) for order, block in enumerate(snapshot.blocks) for task in block.tasks
    ]
