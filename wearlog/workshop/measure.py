"""Readings entered after a service: a sheet is kept while typed, judged, and saved whole."""

from collections.abc import Iterable
from gettext import gettext as _

from wearlog.fleet.meter import UseHistory, check_meter_value
from wearlog.fleet.problem import AlreadySaved, Doubt, Findings, Problem, ProblemKind, WearlogError
from wearlog.fleet.reading import Measurand, Reading
from wearlog.fleet.service import Visit
from wearlog.measuring.elongation import pins_text
from wearlog.measuring.history import history_doubts, instrument_doubts
from wearlog.workshop.ask import open_sheet, sheet_and_readings, sheet_to_save
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.foresee import Foreseen, foresee
from wearlog.workshop.job_card_filling import end_planned, planned_to_end
from wearlog.workshop.save_once import keep_what_is_saved, saved_before, text_to_reopen
from wearlog.workshop.sheet import AskedReading, EntryPreview, SheetDraft, SheetPreview, SheetSnapshot
from wearlog.workshop.sheet_entries import JudgedEntry, instrument_of, judge_entries
from wearlog.workshop.sheet_writing import reading_of, tasks_done, write_fitted, write_meter

__all__ = ["drop_draft", "keep_draft", "kept_draft", "open_sheet", "preview", "save", "void_reading"]


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
    judged = judge_entries(sheet, state, draft)
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


def _preview_entry(
    bench: Bench,
    state: FleetState,
    draft: SheetDraft,
    judged: JudgedEntry,
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
    instrument = instrument_of(judged, state)
    doubts = [
        *result.doubts,
        *instrument_doubts(instrument, draft.on),
        *history_doubts(
            asked.measurand,
            method,
            result,
            [r for r in readings if _is_same(r, asked)],
            instrument=instrument,
            is_zero_reading=asked.wants_zero or entry.is_zero,
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


def _without_repeats(doubts: Iterable[Doubt]) -> tuple[Doubt, ...]:
    seen: dict[str, Doubt] = {}
    for doubt in doubts:
        seen.setdefault(doubt.kind, doubt)
    return tuple(seen.values())


def save(bench: Bench, draft: SheetDraft) -> Changes:
    """Save a sheet: meter entry, visit, readings and parts fitted, in one transaction.

    A sheet with a `save_key` is saved once, however often that is tried.

    Raises
    ------
    WearlogError
        All problems at once; then nothing was saved.
    """
    done = saved_before(bench, draft, _draft_key(draft.vehicle_id))
    if done is not None:
        return done
    sheet = sheet_to_save(bench, draft.vehicle_id)
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
    judged = judge_entries(sheet, state, draft)
    for one in judged:
        findings.problems.extend(one.problems)
    findings.raise_if_any()
    try:
        return _write(bench, sheet, state, draft, judged, total_use)
    except AlreadySaved:
        # The try before was committed while this one waited for its turn.
        done = saved_before(bench, draft, _draft_key(draft.vehicle_id))
        if done is None:
            raise
        return done


def _write(
    bench: Bench,
    sheet: SheetSnapshot,
    state: FleetState,
    draft: SheetDraft,
    judged: list[JudgedEntry],
    total_use: float,
) -> Changes:
    by = draft.by or bench.by
    what = _("Service of {tag} saved").format(tag=sheet.tag)
    fitted: list[int] = []
    with bench.database.writing(by=by, at=bench.now(), what=what, key=draft.save_key) as records:
        keep_what_is_saved(records, draft)
        planned = planned_to_end(records, draft.planned_number, draft.vehicle_id)
        visit = records.add(
            Visit(
                vehicle_id=draft.vehicle_id,
                on=draft.on,
                total_use=total_use,
                by=by,
                tasks=tasks_done(sheet, draft),
                notes=draft.notes,
                planned_number="" if planned is None else planned.number,
            )
        )
        end_planned(records, planned, visit)
        write_meter(records, state, draft, visit, by)
        for one in judged:
            if one.result is not None:
                records.add(reading_of(one, one.result, draft, visit, state, bench.today()))
        fitted = write_fitted(records, state, draft, visit)
        records.drop_draft(_draft_key(draft.vehicle_id))
        change_id = records.change_id
    touched = {one.asked.installation_id for one in judged if one.asked.installation_id is not None}
    return Changes(
        what,
        change_id,
        frozenset({draft.vehicle_id}),
        frozenset({*touched, *fitted}),
        draft=(_draft_key(draft.vehicle_id), text_to_reopen(draft)),
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
