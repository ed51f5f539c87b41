"""A part moved to another vehicle or stage; its distance and readings go along."""

from dataclasses import dataclass, replace
from datetime import date
from gettext import gettext as _

from wearlog.fleet.fitting import Installation, Position, RemovalReason
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.parts import DriveKind, PartKind
from wearlog.fleet.problem import Doubt, DoubtKind, Offer, Problem, ProblemKind, WearlogError
from wearlog.fleet.vehicle import Stage
from wearlog.store.records import Records
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.correct_fitting import (
    SAME_USE,
    refuse_impossible_days,
    refuse_overlap,
    refuse_readings_outside,
    use_on_day,
)
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.history_snapshot import Place

#: Which parts belong to which kind of drive.
_DRIVE_OF = {
    PartKind.CHAIN: DriveKind.CHAIN,
    PartKind.SPROCKET: DriveKind.CHAIN,
    PartKind.BELT: DriveKind.BELT,
    PartKind.PULLEY: DriveKind.BELT,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PartMove:
    """A part on its way to another place.

    `installation` is where it sits (or sat last), as it was read. Meter values are canonical, of the vehicle
    it leaves and of the one it goes to; None where the use between the entries will do. `takes_off` lets what
    sits in the new place come off on that day.
    """

    installation: Installation
    stage_id: int
    position: Position
    on: date
    meter_from: float | None = None
    meter_to: float | None = None
    typed_from: str = ""
    typed_to: str = ""
    takes_off: bool = False


@dataclass(frozen=True, slots=True)
class MoveLook:
    """What a move comes to before it is made.

    `part_use` is the use on the part at the move; `comes_off` what has to come off there, in words.
    """

    part_use: float
    comes_off: str
    doubts: tuple[Doubt, ...]


def places_for(bench: Bench, installation: Installation) -> tuple[Place, ...]:
    """Return where a part may go: stages of its kind of drive on vehicles that count alike, by their tags."""
    state = fleet_state(bench)
    kind = state.part_type_of(installation).kind
    unit = state.vehicles[installation.vehicle_id].meter_unit.use_unit
    found = []
    for stage in state.stages.values():
        vehicle = state.vehicles[stage.vehicle_id]
        if stage.drive is not _DRIVE_OF[kind] or vehicle.retired_on is not None:
            continue
        if vehicle.meter_unit.use_unit != unit:
            continue
        for position in _positions(kind):
            if installation.is_current and (stage.id, position) == (
                installation.stage_id,
                installation.position,
            ):
                continue
            sits = next((i for i in state.current_on(stage.id) if i.position is position), None)
            text = "" if sits is None else state.part_text(sits)
            found.append(
                Place(vehicle.id, vehicle.tag, stage.id, stage.name, position, vehicle.meter_unit, text)
            )
    order = {stage.id: stage.order for stage in state.stages.values()}
    return tuple(sorted(found, key=lambda p: (p.tag.casefold(), order[p.stage_id], p.position.value)))


def _positions(kind: PartKind) -> tuple[Position, ...]:
    if kind in {PartKind.CHAIN, PartKind.BELT}:
        return (Position.RUN,)
    return (Position.DRIVER, Position.DRIVEN)


def look_at_move(bench: Bench, move: PartMove) -> MoveLook:
    """Return what a move comes to. Nothing is saved.

    Raises
    ------
    WearlogError
        If the part can't go there, or not on that day.
    """
    state = fleet_state(bench)
    with bench.database.reading() as records:
        plan = _plan(bench, state, records, move)
    off = "" if plan.taken_off is None else state.part_text(plan.taken_off)
    return MoveLook(plan.part_use, off, _doubts(state, move, plan.stage))


def move_part(bench: Bench, move: PartMove) -> Changes:
    """Move a part: it comes off where it sits and is fitted in the other place on the same day.

    Raises
    ------
    EditConflict
        If somebody else changed its fitting meanwhile.
    WearlogError
        If the part can't go there, or not on that day; with the offer to take off what sits there.
    """
    state = fleet_state(bench)
    source = state.vehicles[move.installation.vehicle_id]
    target = state.vehicles[state.stages[move.stage_id].vehicle_id]
    what = _("{part} moved from {source} to {target}").format(
        part=state.part_text(move.installation), source=source.tag, target=target.tag
    )
    what = what[:1].upper() + what[1:]
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        plan = _plan(bench, state, records, move)
        if plan.taken_off is not None and not move.takes_off:
            raise WearlogError(_is_taken(state, plan.taken_off, move.on))
        touched = [records.replace(plan.closed).id]
        if plan.taken_off is not None:
            touched.append(records.replace(plan.taken_off).id)
        touched.append(records.add(plan.fitted).id)
        for vehicle_id, value, typed in (
            (source.id, move.meter_from, move.typed_from),
            (target.id, move.meter_to, move.typed_to),
        ):
            _keep_meter(records, vehicle_id, move.on, value, typed, bench.by)
        change_id = records.change_id
    return Changes(what, change_id, frozenset({source.id, target.id}), frozenset(touched))


@dataclass(frozen=True, slots=True)
class _Plan:
    """What a move writes."""

    stage: Stage
    closed: Installation
    fitted: Installation
    taken_off: Installation | None
    part_use: float


def _plan(bench: Bench, state: FleetState, records: Records, move: PartMove) -> _Plan:
    now = move.installation
    part_type = state.part_type_of(now)
    stage = state.stages[move.stage_id]
    source, target = state.vehicles[now.vehicle_id], state.vehicles[stage.vehicle_id]
    if stage.drive is not _DRIVE_OF[part_type.kind] or move.position not in _positions(part_type.kind):
        what = _("A {part} does not go on the {stage} of {tag}.").format(
            part=state.part_text(now), stage=stage.name, tag=target.tag
        )
        raise WearlogError(Problem(what, target.tag, _("Choose a place for such a part.")))
    if source.meter_unit.use_unit != target.meter_unit.use_unit:
        what = _("{source} and {target} do not count alike: one in km, the other in hours.").format(
            source=source.tag, target=target.tag
        )
        raise WearlogError(Problem(what, target.tag, _("Fit it there as a used part of unknown history.")))
    if (now.stage_id, now.position) == (stage.id, move.position) and now.is_current:
        raise WearlogError(Problem(_("The part sits there already."), target.tag, _("Choose another place.")))
    closed = now
    if now.removed_on is None:
        left_at = use_on_day(state, source.id, move.on, move.meter_from, move.typed_from)
        closed = replace(now, removed_on=move.on, removed_use=left_at, removal_reason=RemovalReason.MOVED)
    refuse_impossible_days(bench, source.tag, closed)
    refuse_readings_outside(records, source.tag, closed)
    fitted = Installation(
        part_id=now.part_id,
        vehicle_id=target.id,
        stage_id=stage.id,
        position=move.position,
        fitted_on=move.on,
        fitted_use=use_on_day(state, target.id, move.on, move.meter_to, move.typed_to),
        links=now.links,
    )
    refuse_impossible_days(bench, target.tag, fitted)
    for other in records.all(Installation, live=True, part_id=now.part_id):
        refuse_overlap(state, fitted, closed if other.id == now.id else other, is_same_part=True)
    off = None
    for other in records.all(Installation, live=True, stage_id=stage.id, position=move.position):
        left = closed if other.id == now.id else other
        if left.removed_on is None and left.fitted_on <= move.on:
            off = replace(
                left,
                removed_on=move.on,
                removed_use=max(fitted.fitted_use, left.fitted_use),
                removal_reason=RemovalReason.OTHER,
            )
            refuse_readings_outside(records, target.tag, off)
        else:
            refuse_overlap(state, fitted, left, is_same_part=False)
    use = state.use_on_part(now, closed.removed_use if closed.removed_use is not None else now.fitted_use)
    return _Plan(stage, closed, fitted, off, use)


def _is_taken(state: FleetState, sits_there: Installation, on: date) -> Problem:
    tag = state.vehicles[sits_there.vehicle_id].tag
    what = _("The {part} sits there since {day}.").format(
        part=state.part_text(sits_there), day=sits_there.fitted_on.isoformat()
    )
    label = _("Take it off on {day}").format(day=on.isoformat())
    return Problem(
        what,
        tag,
        _("Let it come off the same day, or choose another place."),
        (Offer(label, "take off"), Offer(_("Choose another place"), "other place")),
        kind=ProblemKind.CONFLICT,
    )


def _doubts(state: FleetState, move: PartMove, stage: Stage) -> tuple[Doubt, ...]:
    """Return what is odd: another chain or profile than the rest of that stage."""
    mine = state.part_type_of(move.installation)
    names = {name for name in (mine.designation, mine.chain) if name}
    for other in state.current_on(stage.id):
        theirs = state.part_type_of(other)
        if other.position is move.position or other.id == move.installation.id:
            continue
        if not names & {theirs.designation, theirs.chain} or abs(theirs.pitch_mm - mine.pitch_mm) > 1e-6:
            question = _("The {other} there is for {theirs}, this part is for {mine}. Does it fit?").format(
                other=state.part_text(other),
                theirs=theirs.chain or theirs.designation,
                mine=mine.chain or mine.designation,
            )
            return (Doubt(DoubtKind.OTHER, question),)
    return ()


def _keep_meter(
    records: Records, vehicle_id: int, on: date, value: float | None, typed: str, by: str
) -> None:
    if value is None:
        return
    known = records.all(MeterEntry, live=True, vehicle_id=vehicle_id, on=on)
    if not any(abs(entry.value - value) < SAME_USE for entry in known):
        records.add(MeterEntry(vehicle_id=vehicle_id, on=on, value=value, typed=typed, by=by))
