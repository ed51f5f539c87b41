"""Readings entered after a service: a sheet is kept while typed, judged, and saved whole."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from gettext import gettext as _

from wearlog.fleet.fitting import Installation, Position, RemovalReason
from wearlog.fleet.meter import MeterEntry, MeterEvent, UseHistory, check_meter_value
from wearlog.fleet.parts import Part, PartKind
from wearlog.fleet.problem import Doubt, Findings, Problem, ProblemKind, WearlogError
from wearlog.fleet.reading import Instrument, Measurand, Reading
from wearlog.fleet.service import Task, TaskDone, Visit
from wearlog.measuring.elongation import pins_text
from wearlog.measuring.evaluate import evaluate
from wearlog.measuring.evaluated import Evaluated
from wearlog.measuring.history import history_doubts, instrument_doubts
from wearlog.store.records import Records
from wearlog.workshop.ask import open_sheet, sheet_and_readings
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.foresee import Foreseen, foresee
from wearlog.workshop.sheet import (
    AskedReading,
    EntryDraft,
    EntryPreview,
    SheetDraft,
    SheetPreview,
    SheetSnapshot,
)

__all__ = ["drop_draft", "keep_draft", "kept_draft", "open_sheet", "preview", "save", "void_reading"]


#: A reading entered more than so many days after it was taken is marked as entered later.
LATE_AFTER_DAYS = 7


def _draft_key(vehicle_id: int) -> str:
    return f"sheet:{vehicle_id}"


def keep_draft(bench: Bench, draft: SheetDraft) -> None:
    """Keep a half-filled sheet, so that a power cut loses nothing; an empty one is forgotten."""
    with bench.database.writing(by=bench.by, at=bench.now(), what="Draft") as records:
        if draft.is_empty:
            records.drop_draft(_draft_key(draft.vehicle_id))
        else:
            records.keep_draft(_draft_key(draft.vehicle_id), draft.to_text())


def kept_draft(bench: Bench, vehicle_id: int) -> SheetDraft | None:
    """Return the half-filled sheet of a vehicle, or None."""
    with bench.database.reading() as records:
        text = records.draft(_draft_key(vehicle_id))
    return None if text is None else SheetDraft.from_text(text)


def drop_draft(bench: Bench, vehicle_id: int) -> None:
    """Forget the half-filled sheet of a vehicle."""
    with bench.database.writing(by=bench.by, at=bench.now(), what="Draft") as records:
        records.drop_draft(_draft_key(vehicle_id))


@dataclass(frozen=True, slots=True)
class _Judged:
    """One entry, evaluated."""

    asked: AskedReading
    entry: EntryDraft
    result: Evaluated | None
    problems: tuple[Problem, ...] = ()


def preview(bench: Bench, draft: SheetDraft) -> SheetPreview:
    """Return what a sheet means so far: wear, doubts, and the forecast with it. Nothing is saved."""
    sheet, readings = sheet_and_readings(bench, draft.vehicle_id)
    state = fleet_state(bench)
    history = state.histories[draft.vehicle_id]
    meter_problems: tuple[Problem, ...] = ()
    total_use: float | None = None
    if draft.meter_value is not None:
        try:
            total_use = _total_use(sheet, history, draft)
        except WearlogError as error:
            meter_problems = error.problems
    judged = _judge(sheet, state, draft)
    entries = tuple(
        _preview_entry(bench, state, draft, one, total_use, readings)
        for one in judged
        if not one.entry.is_empty
    )
    return SheetPreview(
        entries=entries,
        meter_problems=meter_problems,
        total_use=total_use,
        can_save=total_use is not None
        and not any(entry.problems for entry in entries)
        and not draft.is_empty,
    )


def _total_use(sheet: SheetSnapshot, history: UseHistory, draft: SheetDraft) -> float:
    value = draft.meter_value
    if value is None:
        raise WearlogError(
            Problem(_("The meter value is missing."), sheet.tag, _("Read the meter and type what it shows."))
        )
    if draft.meter_was_replaced:
        reached = draft.old_meter_value
        last = history.last.total_use if history.last else 0.0
        return last if reached is None else reached + history.offset
    check_meter_value(sheet.tag, history, value, draft.on, sheet.use_unit, draft.meter_text)
    return history.total_for(value, draft.on)


def _judge(sheet: SheetSnapshot, state: FleetState, draft: SheetDraft) -> list[_Judged]:
    judged = []
    for block in sheet.blocks:
        for asked in block.readings:
            entry = draft.entries.get(asked.key)
            if entry is None:
                continue
            where = f"{block.stage_name}, {asked.measurand.value}"
            if entry.not_measured or not entry.text:
                judged.append(_Judged(asked, entry, None))
            elif not entry.spots:
                what = _("“{text}” can’t be understood.").format(text=entry.text)
                problem = Problem(what, where, _("Type a number, with its unit if it is another one."))
                judged.append(_Judged(asked, entry, None, (problem,)))
            else:
                judged.append(_judged(asked, entry, state, where))
    return judged


def _judged(asked: AskedReading, entry: EntryDraft, state: FleetState, where: str) -> _Judged:
    try:
        result = evaluate(
            asked.measurand,
            entry.method or asked.method,
            entry.spots,
            pitches=entry.pitches or asked.pitches,
            pitch_mm=asked.pitch_mm,
            roller_diameter_mm=asked.roller_diameter_mm,
            instrument=_instrument(_Judged(asked, entry, None), state),
            was_cleaned=entry.was_cleaned,
            span_mm=asked.span_mm,
            mass_kg_per_m=asked.mass_kg_per_m,
            deflection_mm=entry.deflection_mm,
            definition=entry.definition or asked.definition,
            has_zero_reading=asked.has_zero_reading,
        )
    except WearlogError as error:
        problems = tuple(Problem(p.what, p.where or where, p.todo, p.offers, p.kind) for p in error.problems)
        return _Judged(asked, entry, None, problems)
    return _Judged(asked, entry, result)


def _preview_entry(
    bench: Bench,
    state: FleetState,
    draft: SheetDraft,
    judged: _Judged,
    total_use: float | None,
    readings: tuple[Reading, ...],
) -> EntryPreview:
    asked, entry, result = judged.asked, judged.entry, judged.result
    method = entry.method or asked.method
    pitches = entry.pitches or asked.pitches
    text = ""
    if asked.measurand is Measurand.CHAIN_ELONGATION and pitches and asked.pitch_mm:
        text = pins_text(pitches, asked.pitch_mm)
    if result is None:
        return EntryPreview(asked.key, problems=judged.problems, pitches_text=text)
    previous = asked.previous
    change = None
    if previous is not None and previous.value is not None and result.value is not None:
        change = result.value - previous.value
    instrument = _instrument(judged, state)
    doubts = [
        *result.doubts,
        *instrument_doubts(instrument, draft.on),
        *history_doubts(
            asked.measurand,
            method,
            result,
            [r for r in readings if _is_same(r, asked)],
            instrument=instrument,
            is_zero_reading=asked.wants_zero,
        ),
    ]
    foreseen: Foreseen | None = None
    last = state.histories[draft.vehicle_id].last
    if total_use is None and last is not None:
        total_use = last.total_use
    if asked.installation_id is not None and total_use is not None:
        foreseen = foresee(bench, asked.installation_id, asked.measurand, total_use, draft.on, result)
    if foreseen is not None:
        doubts += foreseen.doubts
    allowance = None
    if asked.limit is not None and result.value is not None:
        allowance = asked.limit.allowance_used(result.value)
    return EntryPreview(
        key=asked.key,
        value=result.value,
        low=result.low,
        high=result.high,
        u_value=result.u_value,
        mean=result.mean,
        spread=result.spread,
        allowance=allowance,
        change=change,
        rule=foreseen.rule if foreseen else None,
        doubts=_without_repeats(doubts),
        problems=judged.problems,
        replace_by=foreseen.replace_by if foreseen else None,
        replace_by_before=foreseen.replace_by_before if foreseen else None,
        pitches_text=text,
    )


def _is_same(reading: Reading, asked: AskedReading) -> bool:
    return (
        reading.stage_id == asked.stage_id
        and reading.measurand is asked.measurand
        and reading.installation_id == asked.installation_id
    )


def _instrument(judged: _Judged, state: FleetState) -> Instrument | None:
    number = judged.entry.instrument_id
    if number is None and (judged.entry.method or judged.asked.method) is judged.asked.method:
        number = judged.asked.instrument_id
    return None if number is None else state.instruments.get(number)


def _without_repeats(doubts: Iterable[Doubt]) -> tuple[Doubt, ...]:
    seen: dict[str, Doubt] = {}
    for doubt in doubts:
        seen.setdefault(doubt.kind, doubt)
    return tuple(seen.values())


def save(bench: Bench, draft: SheetDraft) -> Changes:
    """Save a sheet: meter entry, visit, readings and parts fitted, in one transaction.

    Raises
    ------
    WearlogError
        All problems at once; then nothing was saved.
    """
    sheet = open_sheet(bench, draft.vehicle_id)
    state = fleet_state(bench)
    history = state.histories[draft.vehicle_id]
    findings = Findings()
    total_use = 0.0
    if draft.is_empty:
        findings.add(_("The sheet is empty."), sheet.tag, _("Type the meter value and what was measured."))
    if draft.on > bench.today():
        findings.add(_("The date lies ahead."), sheet.tag, _("Give the day of the service."))
    try:
        total_use = _total_use(sheet, history, draft)
    except WearlogError as error:
        findings.problems.extend(error.problems)
    judged = _judge(sheet, state, draft)
    for one in judged:
        findings.problems.extend(one.problems)
    findings.raise_if_any()
    return _write(bench, sheet, state, draft, judged, total_use)


def _write(
    bench: Bench,
    sheet: SheetSnapshot,
    state: FleetState,
    draft: SheetDraft,
    judged: list[_Judged],
    total_use: float,
) -> Changes:
    by = draft.by or bench.by
    what = _("Service of {tag} saved").format(tag=sheet.tag)
    fitted: list[int] = []
    with bench.database.writing(by=by, at=bench.now(), what=what) as records:
        visit = records.add(
            Visit(
                vehicle_id=draft.vehicle_id,
                on=draft.on,
                total_use=total_use,
                by=by,
                tasks=_tasks_done(sheet, draft),
                notes=draft.notes,
            )
        )
        _write_meter(records, state, draft, visit, by)
        for one in judged:
            if one.result is not None:
                records.add(_reading(one, one.result, draft, visit, state, bench.today()))
        fitted = _write_fitted(records, state, draft, visit)
        records.drop_draft(_draft_key(draft.vehicle_id))
        change_id = records.change_id
    touched = {one.asked.installation_id for one in judged if one.asked.installation_id is not None}
    return Changes(what, change_id, frozenset({draft.vehicle_id}), frozenset({*touched, *fitted}))


def _write_meter(records: Records, state: FleetState, draft: SheetDraft, visit: Visit, by: str) -> None:
    value = draft.meter_value if draft.meter_value is not None else 0.0
    is_known = not draft.meter_was_replaced and any(
        entry.on == draft.on and abs(entry.value - value) < 1e-9 and entry.event is MeterEvent.READ
        for entry in state.meter_entries
        if entry.vehicle_id == draft.vehicle_id
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


def _tasks_done(sheet: SheetSnapshot, draft: SheetDraft) -> tuple[TaskDone, ...]:
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


def _reading(
    one: _Judged, result: Evaluated, draft: SheetDraft, visit: Visit, state: FleetState, today: date
) -> Reading:
    asked, entry = one.asked, one.entry
    instrument = _instrument(one, state)
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
        is_zero_reading=asked.wants_zero,
        definition=entry.definition or asked.definition,
        note=entry.note,
        by=visit.by,
        is_late_entry=(today - draft.on).days > LATE_AFTER_DAYS,
    )


def _write_fitted(records: Records, state: FleetState, draft: SheetDraft, visit: Visit) -> list[int]:
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
    return touched


def replace_part(records: Records, state: FleetState, old: Installation, visit: Visit) -> Installation:
    """Take a part off and fit a new one of the same type in its place; return the new installation."""
    used = state.limit_of(old, Measurand.CHAIN_ELONGATION)
    part_type = state.part_type_of(old)
    reason = RemovalReason.EARLY
    if used is not None and part_type.kind is PartKind.CHAIN and old.position is Position.RUN:
        latest = max(
            records.all(Reading, live=True, installation_id=old.id, measurand=Measurand.CHAIN_ELONGATION),
            key=lambda reading: (reading.on, reading.id),
            default=None,
        )
        if latest is not None and latest.value is not None and used[0].allowance_used(latest.value) >= 0.9:
            reason = RemovalReason.WORN
    records.replace(_closed(old, visit, reason))
    part = records.add(Part(part_type_id=part_type.id))
    return records.add(
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


def _closed(old: Installation, visit: Visit, reason: RemovalReason) -> Installation:

    return replace(
        old, removed_on=visit.on, removed_use=max(visit.total_use, old.fitted_use), removal_reason=reason
    )


def void_reading(bench: Bench, reading_id: int, reason: str) -> Changes:
    """Let a reading no longer count; it stays, with the reason.

    Raises
    ------
    WearlogError
        If no reason is given or the reading is not there.
    """
    with bench.database.writing(by=bench.by, at=bench.now(), what=_("Reading voided")) as records:
        reading = records.get(Reading, reading_id)
        if reading.void_reason:
            raise WearlogError(
                Problem(
                    _("This reading is voided already."), kind=ProblemKind.INPUT, todo=reading.void_reason
                )
            )
        records.void(reading, reason)
        change_id = records.change_id
    installations = frozenset({reading.installation_id} if reading.installation_id else set())
    return Changes(_("Reading voided"), change_id, frozenset({reading.vehicle_id}), installations)
