"""Re-checks that torque sheets ask for after tightening, and their lines in the due list."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from gettext import gettext as _
from gettext import ngettext

from wearlog.fleet.service import Task, Visit
from wearlog.fleet.state import State
from wearlog.fleet.torque import Fastener, TorqueRecord, TorqueSheet, TorqueWork, sheet_for
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.planning.intervals import NextTime
from wearlog.workshop.bench import Bench
from wearlog.workshop.due_snapshot import Action, DueCause, DueLine, DueReason
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.rounds import days_to_next
from wearlog.workshop.torque_snapshot import Recheck
from wearlog.workshop.usage import VehicleUse
from wearlog.workshop.when import day_of

#: So many fasteners are named in a line of the due list; the others are counted.
MOST_NAMED = 2


@dataclass(frozen=True, slots=True)
class TorqueState:
    """Every torque sheet with its fasteners in order, and what was done, oldest first."""

    sheets: tuple[TorqueSheet, ...]
    fasteners: dict[int, tuple[Fastener, ...]]
    records: dict[int, dict[int, tuple[TorqueRecord, ...]]]

    def sheet_of(self, vehicle: Vehicle) -> TorqueSheet | None:
        """Return the sheet that counts for a vehicle."""
        return sheet_for(self.sheets, vehicle.id, vehicle.model)

    def done(self, vehicle_id: int, fastener_id: int) -> tuple[TorqueRecord, ...]:
        """Return what was done at a fastener of a vehicle, oldest first."""
        return self.records.get(vehicle_id, {}).get(fastener_id, ())


def torque_state(bench: Bench) -> TorqueState:
    """Return the torque sheets as they are kept now; read again only if something changed."""
    version = bench.data_version()
    known = bench.remembered.get("torque")
    if known is not None and known[0] == version and isinstance(known[1], TorqueState):
        return known[1]
    with bench.database.reading() as records:
        sheets = records.all(TorqueSheet, live=True)
        fasteners: dict[int, list[Fastener]] = defaultdict(list)
        for fastener in records.all(Fastener, live=True):
            fasteners[fastener.torque_sheet_id].append(fastener)
        done: dict[int, dict[int, list[TorqueRecord]]] = defaultdict(lambda: defaultdict(list))
        for record in sorted(records.all(TorqueRecord, live=True), key=lambda record: (record.on, record.id)):
            done[record.vehicle_id][record.fastener_id].append(record)
    state = TorqueState(
        sheets,
        {n: tuple(sorted(some, key=lambda one: (one.order, one.id))) for n, some in fasteners.items()},
        {n: {m: tuple(some) for m, some in by_fastener.items()} for n, by_fastener in done.items()},
    )
    bench.remembered["torque"] = (version, state)
    return state


def last_tightened(done: Iterable[TorqueRecord]) -> TorqueRecord | None:
    """Return the last time a fastener was tightened."""
    return next((r for r in reversed(tuple(done)) if r.work is TorqueWork.TIGHTENED), None)


def stage_named(state: FleetState, vehicle: Vehicle, name: str) -> Stage | None:
    """Return the stage of a vehicle that a fastener belongs to."""
    return next((stage for stage in state.stages_of.get(vehicle.id, ()) if name and stage.name == name), None)


def open_recheck(
    state: FleetState,
    vehicle: Vehicle,
    fastener: Fastener,
    done: tuple[TorqueRecord, ...],
    use: VehicleUse,
    today: date,
) -> Recheck | None:
    """Return the re-check that a fastener still waits for, or None.

    It is done by a record of it, or by a later visit at which the torque of its stage was checked.
    """
    tightened = last_tightened(done)
    after = fastener.recheck_after(vehicle.meter_unit.use_unit)
    if tightened is None or after is None:
        return None
    stage = stage_named(state, vehicle, fastener.stage_name)
    if done[-1] is not tightened or any(
        _checks(visit, stage, tightened) for visit in state.visits_of.get(vehicle.id, ())
    ):
        return None
    due_use = tightened.total_use + after
    early, likely, late = days_to_next(state, vehicle, NextTime(due_use, None, after, None), use)
    due_on = day_of(likely)
    return Recheck(
        after_use=after,
        tightened_on=tightened.on,
        due_use=due_use,
        early_on=day_of(early),
        due_on=due_on,
        late_on=day_of(late),
        is_overdue=due_on is not None and due_on <= today,
    )


def _checks(visit: Visit, stage: Stage | None, tightened: TorqueRecord) -> bool:
    """Whether a visit after the tightening checked the torque of a stage."""
    return (
        visit.id != tightened.visit_id
        and visit.on >= tightened.on
        and visit.total_use > tightened.total_use
        and any(
            task.task is Task.TORQUE_CHECKED and task.stage_id in {None, stage.id if stage else None}
            for task in visit.tasks
        )
    )


def with_torque_rechecks(
    bench: Bench,
    uses: Mapping[int, VehicleUse],
    lines: list[DueLine],
    today: date,
    vehicles: Collection[int],
) -> list[DueLine]:
    """Return lines of the due list with the re-checks of torque sheets, one for each stage.

    Where an interval asks for the same re-check of the same stage, one of the two stays: the sheet's if the
    stage was tightened since its chain or belt was fitted, else the earlier one.

    Parameters
    ----------
    vehicles
        Whose lines these are.
    """
    state, torque = fleet_state(bench), torque_state(bench)
    found: dict[tuple[int, int], DueLine] = {}
    settled: set[tuple[int, int]] = set()
    for vehicle_id in vehicles:
        if vehicle_id not in torque.records:
            continue
        vehicle = state.vehicles.get(vehicle_id)
        sheet = torque.sheet_of(vehicle) if vehicle is not None and vehicle.retired_on is None else None
        if vehicle is None or sheet is None:
            continue
        for stage, fasteners in _by_stage(state, vehicle, torque.fasteners.get(sheet.id, ())):
            key = (vehicle.id, stage.id if stage else 0)
            waiting = [
                (recheck, fastener)
                for fastener in fasteners
                if (
                    recheck := open_recheck(
                        state,
                        vehicle,
                        fastener,
                        torque.done(vehicle.id, fastener.id),
                        uses[vehicle.id],
                        today,
                    )
                )
            ]
            if waiting:
                line = _line(vehicle, stage, sheet, waiting, uses[vehicle.id], today)
                if line is not None:
                    found[key] = line
            elif stage is not None and _is_settled(state, stage, torque, fasteners):
                settled.add(key)
    kept = []
    for line in lines:
        key = (line.vehicle_id, line.stage_id)
        if line.action is Action.RECHECK and line.task is Task.TORQUE_CHECKED:
            if key in settled:
                continue
            own = found.get(key)
            if own is not None and _is_better(own, line):
                continue
            found.pop(key, None)
        kept.append(line)
    return [*kept, *found.values()]


def _by_stage(
    state: FleetState, vehicle: Vehicle, fasteners: Iterable[Fastener]
) -> list[tuple[Stage | None, list[Fastener]]]:
    """Return the fasteners by the stage they belong to, those of none under None."""
    found: dict[int, tuple[Stage | None, list[Fastener]]] = {}
    for fastener in fasteners:
        stage = stage_named(state, vehicle, fastener.stage_name)
        found.setdefault(stage.id if stage else 0, (stage, []))[1].append(fastener)
    return list(found.values())


def _is_settled(state: FleetState, stage: Stage, torque: TorqueState, fasteners: Iterable[Fastener]) -> bool:
    """Whether every fastener of a stage was looked at since its chain or belt was fitted and had run."""
    fitted = max((i.fitted_use for i in state.current_on(stage.id)), default=None)
    if fitted is None:
        return False
    last = [torque.done(stage.vehicle_id, fastener.id)[-1:] for fastener in fasteners]
    return all(done and done[0].total_use > fitted for done in last)


def _is_better(own: DueLine, other: DueLine) -> bool:
    """Whether the line of the sheet stays rather than that of the interval."""
    tightened, fitted = own.reason.last_on, other.reason.last_on
    is_since = tightened is not None and fitted is not None and tightened >= fitted
    return is_since or own.due_on <= other.due_on


def _line(
    vehicle: Vehicle,
    stage: Stage | None,
    sheet: TorqueSheet,
    waiting: list[tuple[Recheck, Fastener]],
    use: VehicleUse,
    today: date,
) -> DueLine | None:
    first = min((recheck for recheck, _fastener in waiting), key=lambda recheck: recheck.due_on or date.max)
    if first.due_on is None:
        return None
    return DueLine(
        vehicle_id=vehicle.id,
        tag=vehicle.tag,
        depot=vehicle.depot,
        stage_id=stage.id if stage else 0,
        stage_name=stage.name if stage else "",
        installation_id=None,
        part_text=_names([fastener.name for _recheck, fastener in waiting]),
        action=Action.RECHECK,
        task=Task.TORQUE_CHECKED,
        measurand=None,
        use_unit=vehicle.meter_unit.use_unit,
        due_on=first.due_on,
        early_use=first.due_use,
        likely_use=first.due_use,
        late_use=first.due_use,
        early_on=first.early_on,
        likely_on=first.due_on,
        late_on=first.late_on,
        order_by=None,
        past_probability=None,
        state=State.DUE if first.due_on <= today else State.WITHIN_LIMIT,
        reason=DueReason(
            DueCause.AFTER_FITTING,
            after_use=first.after_use,
            last_on=first.tightened_on,
            use_per_day=use.usage.rate,
            rule_source=_("torque sheet {name}").format(name=sheet.name),
        ),
        use_now=use.last_use,
    )


def _names(names: list[str]) -> str:
    text = ", ".join(names[:MOST_NAMED])
    more = len(names) - MOST_NAMED
    if more <= 0:
        return text
    return ngettext("{names} and {n} more", "{names} and {n} more", more).format(names=text, n=more)
