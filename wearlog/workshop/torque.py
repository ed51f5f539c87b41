"""Torque sheets: what a vehicle's fasteners want, what was applied, and what is odd about it."""

from collections.abc import Iterable
from dataclasses import replace
from gettext import gettext as _

from wearlog.drive.tightening import steps_by_place
from wearlog.fleet.meter import MeterEntry, MeterEvent, UseHistory, check_meter_value
from wearlog.fleet.problem import Doubt, Findings, Problem, ProblemKind, WearlogError
from wearlog.fleet.reading import Instrument, InstrumentKind
from wearlog.fleet.service import Task, TaskDone, Visit
from wearlog.fleet.torque import Fastener, TorqueRecord, TorqueWork
from wearlog.fleet.vehicle import Vehicle
from wearlog.store.records import Records
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.people import people
from wearlog.workshop.torque_doubts import check_torques
from wearlog.workshop.torque_rechecks import (
    TorqueState,
    last_tightened,
    open_recheck,
    stage_named,
    torque_state,
)
from wearlog.workshop.torque_sheets import fitting_templates, start_sheet
from wearlog.workshop.torque_snapshot import FastenerLine, TorqueDraft, TorqueEntry, TorqueSnapshot
from wearlog.workshop.usage import vehicle_uses

__all__ = [
    "check_torques",
    "drop_torques",
    "keep_torques",
    "kept_torques",
    "save_torques",
    "start_sheet",
    "torque_snapshot",
    "void_torque",
]


def _draft_key(vehicle_id: int) -> str:
    return f"torque:{vehicle_id}"


def keep_torques(bench: Bench, draft: TorqueDraft) -> None:
    """Keep a half-filled torque sheet, so that a power cut loses nothing; an empty one is forgotten."""
    with bench.database.writing(by=bench.by, at=bench.now(), what="Draft") as records:
        if draft.is_empty:
            records.drop_draft(_draft_key(draft.vehicle_id))
        else:
            records.keep_draft(_draft_key(draft.vehicle_id), draft.to_text())


def kept_torques(bench: Bench, vehicle_id: int) -> TorqueDraft | None:
    """Return the half-filled torque sheet of a vehicle, or None."""
    with bench.database.reading() as records:
        text = records.draft(_draft_key(vehicle_id))
    return None if text is None else TorqueDraft.from_text(text)


def drop_torques(bench: Bench, vehicle_id: int) -> None:
    """Forget the half-filled torque sheet of a vehicle."""
    with bench.database.writing(by=bench.by, at=bench.now(), what="Draft") as records:
        records.drop_draft(_draft_key(vehicle_id))


# --- what the page shows ---------------------------------------------------------------------------------


def torque_snapshot(bench: Bench, vehicle_id: int) -> TorqueSnapshot:
    """Return the torque sheet of a vehicle: ranges, what was applied last, and the re-checks to come.

    Raises
    ------
    WearlogError
        If there is no such vehicle.
    """
    state, torque = fleet_state(bench), torque_state(bench)
    vehicle = _vehicle(state, vehicle_id)
    history = state.histories[vehicle_id]
    last = history.last
    sheet = torque.sheet_of(vehicle)
    shared = 1
    if sheet is not None and sheet.vehicle_id is None:
        others = (v for v in state.vehicles.values() if v.model == vehicle.model and v.retired_on is None)
        shared = sum(1 for other in others if torque.sheet_of(other) == sheet)
    lines = _lines(bench, state, torque, vehicle) if sheet is not None else ()
    wrenches = tuple(
        instrument
        for instrument in state.instruments.values()
        if instrument.kind is InstrumentKind.TORQUE_WRENCH and instrument.retired_on is None
    )
    return TorqueSnapshot(
        vehicle_id=vehicle_id,
        tag=vehicle.tag,
        vehicle_text=vehicle.description,
        depot=vehicle.depot,
        model=vehicle.model,
        meter_unit=vehicle.meter_unit,
        today=bench.today(),
        use_now=last.total_use if last else 0.0,
        last_meter=None if last is None else last.total_use - history.offset,
        last_meter_on=None if last is None else last.on,
        sheet=sheet,
        lines=lines,
        wrenches=wrenches,
        last_wrench_id=_last_wrench(torque, vehicle_id, wrenches),
        people=people(bench),
        stages=tuple(stage.name for stage in state.stages_in_service(vehicle_id)),
        templates=fitting_templates(vehicle.kind),
        vehicles=shared,
        data_version=state.data_version,
    )


def _vehicle(state: FleetState, vehicle_id: int) -> Vehicle:
    vehicle = state.vehicles.get(vehicle_id)
    if vehicle is None:
        what = _("This vehicle is not in the fleet.")
        raise WearlogError(Problem(what, todo=_("Choose another one."), kind=ProblemKind.NOT_FOUND))
    return vehicle


def _lines(
    bench: Bench, state: FleetState, torque: TorqueState, vehicle: Vehicle
) -> tuple[FastenerLine, ...]:
    sheet = torque.sheet_of(vehicle)
    lines = []
    for fastener in torque.fasteners.get(sheet.id if sheet else 0, ()):
        done = torque.done(vehicle.id, fastener.id)
        wrench = state.instruments.get(done[-1].instrument_id or 0) if done else None
        recheck = None
        if done:
            use = vehicle_uses(bench)[vehicle.id]
            recheck = open_recheck(state, vehicle, fastener, done, use, bench.today())
        lines.append(
            FastenerLine(
                fastener=fastener,
                steps=steps_by_place(fastener.bolts),
                last=done[-1] if done else None,
                tightened=last_tightened(done),
                last_wrench=wrench.name if wrench else "",
                recheck=recheck,
                earlier=done[-2::-1] if len(done) > 1 else (),
            )
        )
    return tuple(lines)


def _last_wrench(torque: TorqueState, vehicle_id: int, wrenches: tuple[Instrument, ...]) -> int | None:
    """Return the wrench of the latest record on the vehicle, else on any; else the only one there is."""
    known = {wrench.id for wrench in wrenches}
    own = torque.records.get(vehicle_id, {})
    for many in (own, *(torque.records[n] for n in torque.records)):
        records = [r for done in many.values() for r in done if r.instrument_id in known]
        if records:
            return max(records, key=lambda record: (record.on, record.id)).instrument_id
    return wrenches[0].id if len(wrenches) == 1 else None


# --- saving ----------------------------------------------------------------------------------------------


def save_torques(bench: Bench, draft: TorqueDraft) -> Changes:
    """Save what was applied: a record for each fastener, the visit, and the meter entry if one was typed.

    Questions that were not answered stand in the note of the record.

    Raises
    ------
    WearlogError
        All problems at once; then nothing was saved.
    """
    state, torque = fleet_state(bench), torque_state(bench)
    vehicle = _vehicle(state, draft.vehicle_id)
    sheet = torque.sheet_of(vehicle)
    fasteners = {f.id: f for f in torque.fasteners.get(sheet.id if sheet else 0, ())}
    findings = Findings()
    entries = {number: entry for number, entry in draft.entries.items() if not entry.is_empty}
    _look_for_problems(findings, vehicle, fasteners, entries)
    if draft.on > bench.today():
        findings.add(_("The date lies ahead."), vehicle.tag, _("Give the day on which it was tightened."))
    history = state.histories[vehicle.id]
    total_use = 0.0
    try:
        total_use = _total_use(vehicle, history, draft)
    except WearlogError as error:
        findings.problems.extend(error.problems)
    findings.raise_if_any()
    by = draft.by or bench.by
    what = _("Torques of {tag} saved").format(tag=vehicle.tag)
    wrench = state.instruments.get(draft.instrument_id or 0)
    with bench.database.writing(by=by, at=bench.now(), what=what) as records:
        checked = _checked_stages(state, vehicle, fasteners, entries)
        visit = _visit(records, state, draft, by, total_use, checked)
        _write_meter(records, state, draft, visit, by)
        for number, entry in entries.items():
            doubts = check_torques(fasteners[number], entry, wrench, draft.on)
            records.add(
                TorqueRecord(
                    vehicle_id=vehicle.id,
                    fastener_id=number,
                    on=draft.on,
                    total_use=total_use,
                    work=entry.work,
                    applied_nm=entry.values_nm,
                    typed=entry.text,
                    visit_id=visit.id,
                    instrument_id=draft.instrument_id if entry.values_nm else None,
                    by=by,
                    note=_note(doubts, entry),
                )
            )
        records.drop_draft(_draft_key(vehicle.id))
        change_id = records.change_id
    typed = (_draft_key(vehicle.id), draft.to_text())
    return Changes(what, change_id, frozenset({vehicle.id}), draft=typed)


def _look_for_problems(
    findings: Findings, vehicle: Vehicle, fasteners: dict[int, Fastener], entries: dict[int, TorqueEntry]
) -> None:
    if not entries:
        findings.add(
            _("Nothing was typed."), vehicle.tag, _("Type what was applied to at least one fastener.")
        )
    for number, entry in entries.items():
        fastener = fasteners.get(number)
        if fastener is None:
            findings.add(
                _("A fastener is no longer on the torque sheet."), vehicle.tag, _("Open the sheet again.")
            )
        elif entry.work is not TorqueWork.MARKER_SEEN and not entry.values_nm:
            what = _("“{text}” can’t be understood.").format(text=entry.text)
            findings.add(what, fastener.name, _("Type a torque, with its unit if it is another one."))
        elif any(not 0.0 < value < 10_000.0 for value in entry.values_nm):
            what = _("“{text}” is no torque to tighten to.").format(text=entry.text)
            findings.add(what, fastener.name, _("Type a torque above 0 N·m."))


def _total_use(vehicle: Vehicle, history: UseHistory, draft: TorqueDraft) -> float:
    if draft.meter_value is None:
        if draft.meter_text.strip():
            what = _("“{text}” is no meter value.").format(text=draft.meter_text)
            raise WearlogError(Problem(what, vehicle.tag, _("Type what the meter shows, or nothing.")))
        known = history.use_on(draft.on)
        if known is None:
            return history.points[0].total_use if history.points else 0.0
        return known
    unit = vehicle.meter_unit.use_unit
    check_meter_value(vehicle.tag, history, draft.meter_value, draft.on, unit, draft.meter_text)
    return history.total_for(draft.meter_value, draft.on)


def _checked_stages(
    state: FleetState, vehicle: Vehicle, fasteners: dict[int, Fastener], entries: Iterable[int]
) -> list[int]:
    """Return the stages all of whose fasteners were seen to: their torque counts as checked."""
    seen = set(entries)
    by_stage: dict[int, set[int]] = {}
    for fastener in fasteners.values():
        stage = stage_named(state, vehicle, fastener.stage_name)
        if stage is not None:
            by_stage.setdefault(stage.id, set()).add(fastener.id)
    return [stage_id for stage_id, numbers in by_stage.items() if numbers <= seen]


def _visit(
    records: Records,
    state: FleetState,
    draft: TorqueDraft,
    by: str,
    total_use: float,
    checked: list[int],
) -> Visit:
    """Return the visit of that day with the check of torque on it; a new one where there is none."""
    done = tuple(TaskDone(task=Task.TORQUE_CHECKED, stage_id=stage_id) for stage_id in checked)
    for visit in reversed(state.visits_of.get(draft.vehicle_id, ())):
        if visit.on == draft.on and abs(visit.total_use - total_use) < 0.5:
            known = {(task.task, task.stage_id) for task in visit.tasks}
            new = tuple(task for task in done if (task.task, task.stage_id) not in known)
            return records.replace(replace(visit, tasks=visit.tasks + new)) if new else visit
    return records.add(
        Visit(
            vehicle_id=draft.vehicle_id,
            on=draft.on,
            total_use=total_use,
            by=by,
            tasks=done,
            notes="" if done else _("Torque"),
        )
    )


def _write_meter(records: Records, state: FleetState, draft: TorqueDraft, visit: Visit, by: str) -> None:
    value = draft.meter_value
    if value is None or any(
        entry.on == draft.on and abs(entry.value - value) < 1e-9
        for entry in state.entries_of.get(draft.vehicle_id, ())
        if entry.event is MeterEvent.READ
    ):
        return
    records.add(
        MeterEntry(
            vehicle_id=draft.vehicle_id,
            on=draft.on,
            value=value,
            typed=draft.meter_text,
            visit_id=visit.id,
            by=by,
        )
    )


def _note(doubts: tuple[Doubt, ...], entry: TorqueEntry) -> str:
    said = [
        _("{question} Kept.").format(question=doubt.question)
        if doubt.kind.value in entry.kept
        else doubt.question
        for doubt in doubts
    ]
    return " ".join(said)


def void_torque(bench: Bench, record_id: int, reason: str) -> Changes:
    """Let a record no longer count; it stays, with the reason.

    Raises
    ------
    WearlogError
        If no reason is given, the record is not there, or it is voided already.
    """
    what = _("Torque voided")
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        record = records.get(TorqueRecord, record_id)
        if record.void_reason:
            raise WearlogError(Problem(_("This torque is voided already."), todo=record.void_reason))
        records.void(record, reason)
        change_id = records.change_id
    return Changes(what, change_id, frozenset({record.vehicle_id}))
