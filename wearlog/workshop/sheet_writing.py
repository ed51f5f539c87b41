"""A service sheet as the records that are kept."""

from dataclasses import replace
from datetime import date

from wearlog.fleet.fitting import Installation, Position, RemovalReason
from wearlog.fleet.meter import MeterEntry, MeterEvent
from wearlog.fleet.parts import Part, PartKind
from wearlog.fleet.reading import Measurand, Reading
from wearlog.fleet.service import Task, TaskDone, Visit
from wearlog.measuring.evaluated import Evaluated
from wearlog.store.records import Records
from wearlog.workshop.fleet_state import FleetState
from wearlog.workshop.sheet import SheetDraft, SheetSnapshot
from wearlog.workshop.sheet_entries import JudgedEntry, instrument_of
from wearlog.workshop.stock_use import take_from_shelf, take_joining_links

#: A reading entered more than so many days after it was taken is marked as entered later.
LATE_AFTER_DAYS = 7
#: A chain that had used this share of its allowance came off worn rather than early.
WORN_FROM = 0.9


def write_meter(records: Records, state: FleetState, draft: SheetDraft, visit: Visit, by: str) -> None:
    """Keep what the meter showed, unless that day's value is known already."""
    value = draft.meter_value if draft.meter_value is not None else 0.0
    is_known = not draft.meter_was_replaced and any(
        entry.on == draft.on and abs(entry.value - value) < 1e-9 and entry.event is MeterEvent.READ
        for entry in state.entries_of.get(draft.vehicle_id, ())
    )
    if is_known:
        return
    records.add(
        MeterEntry(
            vehicle_id=draft.vehicle_id,
            on=draft.on,
            value=value,
            typed=draft.meter_text,
            event=MeterEvent.REPLACED if draft.meter_was_replaced else MeterEvent.READ,
            old_value=draft.old_meter_value if draft.meter_was_replaced else None,
            visit_id=visit.id,
            by=by,
        )
    )


def tasks_done(sheet: SheetSnapshot, draft: SheetDraft) -> tuple[TaskDone, ...]:
    """Return the ticked tasks of a sheet."""
    done = []
    for block in sheet.blocks:
        for asked in block.tasks:
            task = draft.tasks.get(asked.key)
            if task is not None and task.done:
                done.append(
                    TaskDone(
                        task=asked.task,
                        stage_id=asked.stage_id,
                        before=task.before,
                        after=task.after,
                        quantity_unit=asked.quantity_unit,
                        note=task.note or (asked.text if asked.task is Task.PART_FITTED else ""),
                    )
                )
    return tuple(done)


def reading_of(
    one: JudgedEntry, result: Evaluated, draft: SheetDraft, visit: Visit, state: FleetState, today: date
) -> Reading:
    """Return the reading that an entry becomes, as typed and canonical."""
    asked, entry = one.asked, one.entry
    instrument = instrument_of(one, state)
    has_pitches = asked.measurand is Measurand.CHAIN_ELONGATION
    return Reading(
        vehicle_id=draft.vehicle_id,
        stage_id=asked.stage_id,
        installation_id=asked.installation_id,
        visit_id=visit.id,
        on=draft.on,
        total_use=visit.total_use,
        measurand=asked.measurand,
        method=entry.method or asked.method,
        spots=entry.spots,
        value=result.value,
        low=result.low,
        high=result.high,
        u_value=result.u_value,
        mean=result.mean,
        spread=result.spread,
        pitches=(entry.pitches or asked.pitches) if has_pitches else None,
        instrument_id=None if instrument is None else instrument.id,
        was_cleaned=entry.was_cleaned,
        is_zero_reading=asked.wants_zero or entry.is_zero,
        definition=entry.definition or asked.definition,
        note=entry.note,
        by=visit.by,
        is_late_entry=(today - draft.on).days > LATE_AFTER_DAYS,
    )


def write_fitted(records: Records, state: FleetState, draft: SheetDraft, visit: Visit) -> list[int]:
    """Close the old installations and open new ones of the same type, for each part ticked as new."""
    touched: list[int] = []
    for key, task in draft.tasks.items():
        name, _sep, number = key.partition(f":{Task.PART_FITTED.name}:")
        if not (task.done and number and name):
            continue
        old = state.installations.get(int(number))
        if old is None or not old.is_current:
            continue
        new = replace_part(records, state, old, visit)
        touched += [old.id, new.id]
    take_joining_links(records, state, visit)
    return touched


def replace_part(records: Records, state: FleetState, old: Installation, visit: Visit) -> Installation:
    """Take a part off and fit a new one of the same type in its place; return the new installation.

    The new part comes off the shelf of the vehicle's depot if such parts are kept there.
    """
    used = state.limit_of(old, Measurand.CHAIN_ELONGATION)
    part_type = state.part_type_of(old)
    reason = RemovalReason.EARLY
    if used is not None and part_type.kind is PartKind.CHAIN and old.position is Position.RUN:
        latest = max(
            records.all(Reading, live=True, installation_id=old.id, measurand=Measurand.CHAIN_ELONGATION),
            key=lambda reading: (reading.on, reading.id),
            default=None,
        )
        if (
            latest is not None
            and latest.value is not None
            and used[0].allowance_used(latest.value) >= WORN_FROM
        ):
            reason = RemovalReason.WORN
    records.replace(_closed(old, visit, reason))
    part = records.add(Part(part_type_id=part_type.id))
    new = records.add(
        Installation(
            part_id=part.id,
            vehicle_id=old.vehicle_id,
            stage_id=old.stage_id,
            position=old.position,
            fitted_on=visit.on,
            fitted_use=visit.total_use,
            links=old.links,
        )
    )
    take_from_shelf(records, new, part_type.id, state.vehicles[old.vehicle_id].depot, visit)
    return new


def _closed(old: Installation, visit: Visit, reason: RemovalReason) -> Installation:

    return replace(
        old, removed_on=visit.on, removed_use=max(visit.total_use, old.fitted_use), removal_reason=reason
    )
