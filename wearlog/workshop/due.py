"""What is due, by when and why, grouped into visits.

Lines are kept by vehicle, as columns: nothing on the line of one vehicle depends on another, so that after a
change those of the vehicles concerned are made anew and the others stay. Those of a large fleet are kept in
the database for the rest of the day, too.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date, timedelta
from operator import attrgetter
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wearlog.fleet.progress import Progress, Silent
from wearlog.fleet.reading import Measurand
from wearlog.planning.visits import group_into_visits
from wearlog.workshop.adjusting import adjuster_lines, slack_lines
from wearlog.workshop.advising import advise
from wearlog.workshop.bench import Bench
from wearlog.workshop.conditions import conditions
from wearlog.workshop.due_columns import LazyLines, LazyVisits, LineColumns, joined
from wearlog.workshop.due_kept import KeptLines, fits_are, keep_lines, kept_lines
from wearlog.workshop.due_parts import graded_lines, part_lines, unused_share
from wearlog.workshop.due_snapshot import Action, DueCause, DueLine, DueSnapshot
from wearlog.workshop.fleet_state import WEAR_MEASURAND, FleetState, fleet_state
from wearlog.workshop.learn import learned
from wearlog.workshop.outlook import Outlook, outlooks, vehicles_with_another
from wearlog.workshop.outlook_some import outlooks_of_some
from wearlog.workshop.rounds import task_lines
from wearlog.workshop.torque_rechecks import with_torque_rechecks
from wearlog.workshop.usage import VehicleUse, vehicle_uses
from wearlog.workshop.vehicle_use import answered

#: Lines of more vehicles than this are rather made anew together.
MOST_PUT_IN = 500
#: Vehicles whose lines are made at a time, between two looks at whether the work is still wanted.
BLOCK_VEHICLES = 2000

#: The fields of a line. `dataclasses.replace` takes as long again to look at them one by one.
_FIELDS = tuple(field.name for field in fields(DueLine))
_VALUES = attrgetter(*_FIELDS)

Outlooks = Mapping[tuple[int, Measurand], Outlook]


@dataclass(frozen=True, slots=True)
class _DueLines:
    """Every line within the forecast's reach, and in which order.

    Outlooks and uses that they were made from are None as long as only those of some vehicles were needed.
    """

    columns: LineColumns
    order: NDArray[np.int64]
    kept: KeptLines | None
    outlooks: Outlooks | None
    uses: Mapping[int, VehicleUse] | None


@dataclass(frozen=True, slots=True)
class _Known:
    """What lines are made from."""

    outlooks: Outlooks
    uses: Mapping[int, VehicleUse]
    read_stages: Mapping[int, tuple[float, int]]


def due_snapshot(
    bench: Bench, within_days: int | None = None, progress: Progress | None = None
) -> DueSnapshot:
    """Return the due list.

    Parameters
    ----------
    within_days
        Leave out what is due later than so many days from today; the workshop's horizon if None.
    """
    state = fleet_state(bench)
    today = bench.today()
    last = today + timedelta(days=state.policy.horizon_days if within_days is None else within_days)
    found = _due_lines(bench, progress)
    end = np.searchsorted(found.columns.due_on[found.order], last.toordinal(), side="right")
    return DueSnapshot(
        today=today,
        within_days=within_days,
        caution_level=state.policy.caution_level,
        window_days=state.policy.window_days,
        lines=LazyLines(found.columns, found.order[:end]),
        groups=LazyVisits(found.columns, last.toordinal()),
        vehicles=sum(day is None for day in state.vehicles.column("retired_on")),
        depots=tuple(sorted(set(state.vehicles.column("depot")), key=str.casefold)),
        data_version=state.data_version,
    )


def due_lines_of_vehicle(bench: Bench, vehicle_id: int) -> tuple[DueLine, ...]:
    """Return the lines of one vehicle, sorted by date."""
    columns = _due_lines(bench, None).columns
    return tuple(columns.records(np.flatnonzero(columns.vehicle_id == vehicle_id)))


def all_lines(bench: Bench, progress: Progress | None = None) -> Sequence[DueLine]:
    """Return every line within the forecast's reach, sorted by date and grouped into visits."""
    found = _due_lines(bench, progress)
    return LazyLines(found.columns, found.order)


def _due_lines(bench: Bench, progress: Progress | None) -> _DueLines:
    state, today = fleet_state(bench), bench.today()
    mark = (state.data_version, today)
    known = bench.remembered.get("due lines")
    before: _DueLines | None = None
    changed: frozenset[int] | None = None
    if known is not None and isinstance(known[1], _DueLines) and isinstance(known[0], tuple):
        if known[0] == mark:
            return known[1]
        if known[0][1] == today:
            before, changed = known[1], state.changed_since(known[0][0])
    elif (kept := kept_lines(bench, state, today)) is not None:
        before, changed = _DueLines(kept.columns, kept.columns.order(), kept, None, None), kept.changed
    result = (
        None if before is None or changed is None else _with_changes(bench, state, before, changed, today)
    )
    result = result or _anew(bench, state, today, progress or Silent())
    bench.remembered["due lines"] = (mark, result)
    return result


def _with_changes(
    bench: Bench, state: FleetState, before: _DueLines, changed: frozenset[int], today: date
) -> _DueLines | None:
    """Return the lines with those of changed vehicles made anew; None if it is not enough."""
    if len(changed) > MOST_PUT_IN:
        return None
    kept = before.kept
    if kept is not None and "outlooks" not in bench.remembered:
        some = outlooks_of_some(bench, state, kept.basis, changed) if changed else None
        if some is not None:
            seen = _Known(some.outlooks, vehicle_uses(bench), some.read_stages)
            return _with_vehicles(before, _lines_of(bench, state, seen, changed, today), changed, seen, kept)
        return None if changed else before
    seen = _Known(outlooks(bench), vehicle_uses(bench), learned(bench).read_stages)
    every = set(changed)
    if before.outlooks is not None and before.uses is not None:
        # What the fleet says may have been learnt anew, too.
        every |= vehicles_with_another(before.outlooks, seen.outlooks)
        every |= {number for number, use in seen.uses.items() if before.uses.get(number) is not use}
    elif kept is None or not fits_are(bench, kept.basis):
        return None
    if len(every) > MOST_PUT_IN:
        return None
    return _with_vehicles(before, _lines_of(bench, state, seen, every, today), every, seen, None)


def _with_vehicles(
    before: _DueLines, made: LineColumns, changed: Collection[int], seen: _Known, kept: KeptLines | None
) -> _DueLines:
    """Return the lines with those of some vehicles in place of what they had."""
    columns = before.columns.with_vehicles(changed, made)
    if kept is not None:
        return _DueLines(columns, columns.order(), kept, None, None)
    return _DueLines(columns, columns.order(), None, seen.outlooks, seen.uses)


def _anew(bench: Bench, state: FleetState, today: date, told: Progress) -> _DueLines:
    seen = _Known(outlooks(bench, told), vehicle_uses(bench), learned(bench).read_stages)
    blocks = []
    vehicles = list(state.vehicles)
    for begin in range(0, max(len(vehicles), 1), BLOCK_VEHICLES):
        told.step(begin, len(vehicles), "Looking what is due")
        blocks.append(_lines_of(bench, state, seen, vehicles[begin : begin + BLOCK_VEHICLES], today))
    columns = joined(blocks)
    keep_lines(bench, state, today, columns)
    return _DueLines(columns, columns.order(), None, seen.outlooks, seen.uses)


def _lines_of(
    bench: Bench, state: FleetState, seen: _Known, vehicles: Collection[int], today: date
) -> LineColumns:
    """Return the lines of some vehicles, each sorted by date and grouped into visits."""
    found, uses = seen.outlooks, seen.uses
    graded = conditions(bench)
    stages = [stage for vehicle_id in vehicles for stage in state.stages_of.get(vehicle_id, ())]
    fitted = [one for stage in stages for one in state.current_on(stage.id)]
    running = [
        outlook
        for one in fitted
        for measurand in WEAR_MEASURAND.values()
        if (outlook := found.get((one.id, measurand))) is not None
    ]
    asked = [part_lines(state, one, graded.get(one.item.installation.id), today) for one in running]
    lines = [
        advise(state, found, outlook, line)
        for outlook, own in zip(running, answered(asked), strict=True)
        for line in own
    ]
    followed = {one.item.installation.id for one in running}
    lines += graded_lines(
        state, [(one.id, graded[one.id]) for one in fitted if one.id in graded], followed, today
    )
    tasks = task_lines(state, seen.read_stages, uses, found, today, stages)
    lines += with_torque_rechecks(bench, uses, tasks, today, vehicles)
    lines += slack_lines(bench, state, uses, found, today, stages)
    lines += adjuster_lines(bench, state, uses, found, today, stages)
    by_vehicle: dict[int, list[DueLine]] = {vehicle_id: [] for vehicle_id in vehicles}
    for line in _earliest_measuring(lines):
        by_vehicle[line.vehicle_id].append(line)
    return LineColumns.of(
        [
            line
            for own in by_vehicle.values()
            for line in _grouped(sorted(own, key=lambda line: (line.due_on, line.key)), found, state, today)
        ]
    )


#: Reasons to measure that say more than that it comes round.
_TELLING = {
    DueCause.NO_READING,
    DueCause.NO_ZERO_READING,
    DueCause.QUESTIONED_READING,
    DueCause.READING_DECIDES,
}


def _earliest_measuring(lines: list[DueLine]) -> list[DueLine]:
    """Return the lines with one reading of each part: on the earliest day, for the most telling reason."""
    first: dict[tuple[int | None, Measurand | None], DueLine] = {}
    for line in lines:
        if line.action is not Action.MEASURE:
            continue
        key = (line.installation_id, line.measurand)
        known = first.get(key)
        if known is None:
            first[key] = line
            continue
        earlier, later = sorted((known, line), key=lambda one: one.due_on)
        if later.reason.cause in _TELLING and earlier.reason.cause not in _TELLING:
            later = replace(
                later, due_on=earlier.due_on, early_on=earlier.early_on, likely_on=earlier.likely_on
            )
            earlier = replace(later, likely_use=earlier.likely_use)
        first[key] = earlier
    return [line for line in lines if line.action is not Action.MEASURE] + list(first.values())


def _grouped(
    lines: list[DueLine],
    found: Outlooks,
    state: FleetState,
    today: date,
) -> list[DueLine]:
    """Return the lines of a vehicle with the visit that each belongs to."""
    placed = group_into_visits(
        [line.vehicle_id for line in lines],
        [line.due_on.toordinal() for line in lines],
        state.policy.window_days,
        today.toordinal(),
    )
    days = {place.day: date.fromordinal(place.day) for place in placed}
    result = []
    for line, place in zip(lines, placed, strict=True):
        unused = None
        if line.action is Action.REPLACE and line.installation_id and line.measurand:
            outlook = found.get((line.installation_id, line.measurand))
            unused = None if outlook is None else unused_share(outlook, place.day, today)
        values: dict[str, Any] = dict(zip(_FIELDS, _VALUES(line), strict=True))
        values |= {"group": place.visit, "group_on": days[place.day], "unused_share": unused}
        result.append(DueLine(**values))
    return result
