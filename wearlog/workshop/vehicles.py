"""Vehicles: opened, added, changed, retired and brought back; the owner's contact erased."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from gettext import gettext as _

from wearlog.fleet.fitting import Position
from wearlog.fleet.meter import UseHistory
from wearlog.fleet.problem import Findings, Problem, ProblemKind, WearlogError
from wearlog.fleet.reading import Reading
from wearlog.fleet.spells import DutySpell, LayUp
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.store.records import Records
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.people import people
from wearlog.workshop.setups import run_choices
from wearlog.workshop.vehicles_checks import check_draft
from wearlog.workshop.vehicles_draft import (
    POSITIONS,
    STAGE_FIELDS,
    VEHICLE_FIELDS,
    FittedRecords,
    LayUpDraft,
    PartDraft,
    StageDraft,
    VehicleDraft,
)
from wearlog.workshop.vehicles_parts import count_of
from wearlog.workshop.vehicles_saving import write_vehicle
from wearlog.workshop.vehicles_snapshot import VehicleSnapshot
from wearlog.workshop.vehicles_templates import draft_like, templates_of, usual_templates

# --- opening


def vehicle_snapshot(bench: Bench, vehicle_id: int | None) -> VehicleSnapshot:
    """Return a vehicle as it is kept; for None a new one after the first template.

    Raises
    ------
    WearlogError
        If there is no such vehicle.
    """
    state = fleet_state(bench)
    vehicle = None if vehicle_id is None else state.vehicles.get(vehicle_id)
    if vehicle_id is not None and vehicle is None:
        raise WearlogError(_gone())
    with bench.database.reading() as records:
        templates = templates_of(records)
        draft = VehicleDraft() if vehicle is None else _draft(state, records, vehicle)
    choices = run_choices(state)
    in_service = [one for one in state.vehicles.values() if one.retired_on is None]
    depots = _common(one.depot for one in in_service)
    if vehicle is None:
        draft = draft_like(usual_templates()[0], choices, replace(draft, depot=depots[0] if depots else ""))
    history = None if vehicle is None else state.histories[vehicle.id]
    last = None if history is None else history.last
    return VehicleSnapshot(
        draft=draft,
        choices=choices,
        templates=templates,
        depots=depots,
        models=_common(one.model for one in in_service),
        people=people(bench),
        today=bench.today(),
        last_meter=None if history is None or last is None else last.total_use - history.offset,
        last_meter_on=None if last is None else last.on,
        gone_stages=tuple(
            stage.name
            for stage in state.stages.values()
            if vehicle is not None and stage.vehicle_id == vehicle.id and stage.retired_on is not None
        ),
    )


def _gone() -> Problem:
    return Problem(
        _("This vehicle is no longer kept."), todo=_("Choose another one."), kind=ProblemKind.NOT_FOUND
    )


def _common(names: Iterable[str]) -> tuple[str, ...]:
    """Return each name once, the most common first."""
    counted = Counter(name for name in names if name)
    return tuple(sorted(counted, key=lambda name: (-counted[name], name.casefold())))


def _draft(state: FleetState, records: Records, vehicle: Vehicle) -> VehicleDraft:
    stages = state.stages_in_service(vehicle.id)
    spells = records.all(DutySpell, live=True, vehicle_id=vehicle.id)
    lay_ups = sorted(records.all(LayUp, live=True, vehicle_id=vehicle.id), key=lambda one: one.from_on)
    first = 1 + len(stages)
    return VehicleDraft(
        **{name: getattr(vehicle, name) for name in VEHICLE_FIELDS},
        stages=tuple(_stage_draft(state, stage, key) for key, stage in enumerate(stages, start=1)),
        lay_ups=tuple(
            LayUpDraft(key=key, from_on=one.from_on, until_on=one.until_on, reason=one.reason, lay_up=one)
            for key, one in enumerate(lay_ups, start=first)
        ),
        spells=tuple(sorted(spells, key=lambda spell: (spell.from_on, spell.id))),
        vehicle=vehicle,
    )


def _stage_draft(state: FleetState, stage: Stage, key: int) -> StageDraft:
    installed = {i.position: i for i in state.current_on(stage.id)}
    parts = []
    for position in POSITIONS:
        installation = installed.get(position)
        if installation is None:
            parts.append(PartDraft(position=position))
            continue
        part = state.parts[installation.part_id]
        part_type = state.part_types[part.part_type_id]
        parts.append(
            PartDraft(
                position=position,
                count=count_of(part_type, installation.links),
                fitted_on=installation.fitted_on,
                use_before=part.use_before,
                is_history_known=part.is_history_known,
                lot=part.lot,
                fitted=FittedRecords(installation, part, part_type),
            )
        )
    run = parts[POSITIONS.index(Position.RUN)].fitted
    values = {name: getattr(stage, name) for name in STAGE_FIELDS}
    return StageDraft(
        key=key, run=None if run is None else run.part_type, parts=tuple(parts), stage=stage, **values
    )


# --- saving


def save_vehicle(bench: Bench, draft: VehicleDraft) -> Changes:
    """Add or change a vehicle with all that was entered of it, in one transaction.

    Raises
    ------
    EditConflict
        If somebody else changed one of its records meanwhile; nothing was saved.
    WearlogError
        All problems at once, `Problem.where` naming the field; nothing was saved.
    """
    state = fleet_state(bench)
    today = bench.today()
    vehicle_id = 0 if draft.vehicle is None else draft.vehicle.id
    known = state.histories.get(vehicle_id)
    with bench.database.reading() as records:
        readings = records.all(Reading, live=True, vehicle_id=vehicle_id) if vehicle_id else ()
    history = known if known is not None else UseHistory(())
    others = [one for one in state.vehicles.values() if one.id != vehicle_id]
    check_draft(draft, others, history, readings, today).raise_if_any()
    what = _("Vehicle {tag} added") if draft.is_new else _("Vehicle {tag} changed")
    what = what.format(tag=draft.tag.strip())
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        vehicle, touched = write_vehicle(records, draft, bench.by, today, history)
        change_id = records.change_id
    return Changes(what, change_id, frozenset({vehicle.id}), touched)


# --- retiring


def retire_vehicle(bench: Bench, vehicle: Vehicle, on: date, reason: str) -> Changes:
    """Take a vehicle out of service; its history stays and it can come back.

    Parameters
    ----------
    vehicle
        As it was read.
    on, reason
        The day, and why.

    Raises
    ------
    EditConflict
        If somebody else changed it meanwhile.
    WearlogError
        If the reason is missing, or the day lies ahead or before its last meter entry.
    """
    findings = Findings()
    if not reason.strip():
        findings.add(_("The reason is missing."), "reason", _("Say in a few words why it goes."))
    if on > bench.today():
        findings.add(_("The day lies ahead."), "on", _("Give the day on which it went out of service."))
    last = fleet_state(bench).histories[vehicle.id].last
    if last is not None and on < last.on:
        findings.add(
            _("Its meter was read on {day}.").format(day=last.on.isoformat()),
            "on",
            _("Give a day from then on."),
        )
    findings.raise_if_any()
    what = _("Vehicle {tag} retired: {reason}").format(tag=vehicle.tag, reason=reason.strip())
    return _replace(bench, replace(vehicle, retired_on=on, retired_reason=reason.strip()), what)


def bring_back(bench: Bench, vehicle: Vehicle) -> Changes:
    """Take a retired vehicle into service again.

    Raises
    ------
    EditConflict
        If somebody else changed it meanwhile.
    """
    what = _("Vehicle {tag} back in service").format(tag=vehicle.tag)
    return _replace(bench, replace(vehicle, retired_on=None, retired_reason=""), what)


def _replace(bench: Bench, vehicle: Vehicle, what: str) -> Changes:
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        records.replace(vehicle)
        change_id = records.change_id
    return Changes(what, change_id, frozenset({vehicle.id}))


def erase_contact(bench: Bench, vehicle: Vehicle) -> Changes:
    """Erase the owner's contact of a vehicle, in the trail too; its history stays. There is no way back.

    Raises
    ------
    WearlogError
        If the vehicle is not kept.
    """
    what = _("Owner’s contact of {tag} erased").format(tag=vehicle.tag)
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        records.erase_contact(vehicle.id)
        change_id = records.change_id
    return Changes(what, change_id, frozenset({vehicle.id}), can_undo=False)
