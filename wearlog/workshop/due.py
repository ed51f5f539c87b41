"""What is due, by when and why, grouped into visits.

Lines are kept by vehicle: nothing on the line of one vehicle depends on another, so that after a change those
of the vehicles concerned are made anew and the others stay.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Collection
from dataclasses import dataclass, fields, replace
from datetime import date, timedelta
from operator import attrgetter, itemgetter
from typing import Any

from wearlog.fleet.progress import Progress, Silent
from wearlog.fleet.reading import Measurand
from wearlog.planning.visits import group_into_visits
from wearlog.workshop.adjusting import adjuster_lines, slack_lines
from wearlog.workshop.advising import advise
from wearlog.workshop.bench import Bench
from wearlog.workshop.conditions import conditions
from wearlog.workshop.due_parts import graded_lines, part_lines, unused_share
from wearlog.workshop.due_snapshot import Action, DueCause, DueLine, DueSnapshot, VisitGroup
from wearlog.workshop.fleet_state import WEAR_MEASURAND, FleetState, fleet_state
from wearlog.workshop.outlook import Outlook, outlooks, vehicles_with_another
from wearlog.workshop.rounds import task_lines
from wearlog.workshop.torque_rechecks import with_torque_rechecks
from wearlog.workshop.usage import VehicleUse, vehicle_uses
from wearlog.workshop.vehicle_use import answered

#: Lines of more vehicles than this are rather sorted anew than put in one by one.
MOST_PUT_IN = 500
#: Vehicles whose lines are made at a time, between two looks at whether the work is still wanted.
BLOCK_VEHICLES = 2000

#: The fields of a line. `dataclasses.replace` takes as long again to look at them one by one.
_FIELDS = tuple(field.name for field in fields(DueLine))
_VALUES = attrgetter(*_FIELDS)
#: What lines are sorted by, and the line.
_Placed = tuple[date, str, str, int, DueLine]


@dataclass(frozen=True, slots=True)
class _DueLines:
    """Every line within the forecast's reach: by vehicle, and sorted."""

    by_vehicle: dict[int, tuple[DueLine, ...]]
    placed: list[_Placed]
    lines: tuple[DueLine, ...]
    outlooks: dict[tuple[int, Measurand], Outlook]
    uses: dict[int, VehicleUse]


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
    return DueSnapshot(
        today=today,
        within_days=within_days,
        caution_level=state.policy.caution_level,
        window_days=state.policy.window_days,
        lines=found.lines[: bisect_right(found.placed, last, key=itemgetter(0))],
        groups=_groups(bench, found, last),
        vehicles=sum(1 for vehicle in state.vehicles.values() if vehicle.retired_on is None),
        depots=tuple(sorted({v.depot for v in state.vehicles.values()}, key=str.casefold)),
        data_version=state.data_version,
    )


def _groups(bench: Bench, found: _DueLines, last: date) -> tuple[VisitGroup, ...]:
    """Return the visits until a day; those of a vehicle whose lines stayed are kept."""
    known = bench.remembered.get("visit groups")
    kept: dict[int, tuple[tuple[DueLine, ...], tuple[VisitGroup, ...]]] = {}
    if known is not None and known[0] == last and isinstance(known[1], dict):
        kept = known[1]
    now: dict[int, tuple[tuple[DueLine, ...], tuple[VisitGroup, ...]]] = {}
    groups: list[VisitGroup] = []
    for vehicle_id, lines in found.by_vehicle.items():
        before = kept.get(vehicle_id)
        if before is None or before[0] is not lines:
            before = (lines, _visits([line for line in lines if line.due_on <= last]))
        now[vehicle_id] = before
        groups += before[1]
    bench.remembered["visit groups"] = (last, now)
    return tuple(sorted(groups, key=lambda group: (group.on, group.vehicle_id)))


def _visits(lines: list[DueLine]) -> tuple[VisitGroup, ...]:
    groups: dict[int, list[DueLine]] = {}
    for line in lines:
        groups.setdefault(line.group, []).append(line)
    return tuple(
        VisitGroup(
            number,
            inside[0].vehicle_id,
            inside[0].tag,
            inside[0].depot,
            inside[0].group_on or inside[0].due_on,
            tuple(inside),
        )
        for number, inside in groups.items()
    )


def due_lines_of_vehicle(bench: Bench, vehicle_id: int) -> tuple[DueLine, ...]:
    """Return the lines of one vehicle, sorted by date."""
    return _due_lines(bench, None).by_vehicle.get(vehicle_id, ())


def all_lines(bench: Bench, progress: Progress | None = None) -> tuple[DueLine, ...]:
    """Return every line within the forecast's reach, sorted by date and grouped into visits."""
    return _due_lines(bench, progress).lines


def _due_lines(bench: Bench, progress: Progress | None) -> _DueLines:
    told = progress or Silent()
    state = fleet_state(bench)
    today = bench.today()
    found = outlooks(bench, told)
    uses = vehicle_uses(bench)
    mark = (state.data_version, today)
    known = bench.remembered.get("due lines")
    if known is not None and isinstance(known[1], _DueLines) and isinstance(known[0], tuple):
        if known[0] == mark:
            return known[1]
        changed = state.changed_since(known[0][0]) if known[0][1] == today else None
        if changed is not None:
            # What the fleet says may have been learnt anew, too.
            changed |= vehicles_with_another(known[1].outlooks, found)
            changed |= {number for number, use in uses.items() if known[1].uses.get(number) is not use}
        if changed is not None and len(changed) <= MOST_PUT_IN:
            made = _lines_of(bench, state, found, changed, today)
            result = _with_vehicles(known[1], made, changed, found, uses)
            bench.remembered["due lines"] = (mark, result)
            return result
    by_vehicle: dict[int, tuple[DueLine, ...]] = {}
    vehicles = list(state.vehicles)
    for begin in range(0, len(vehicles), BLOCK_VEHICLES):
        told.step(begin, len(vehicles), "Looking what is due")
        by_vehicle |= _lines_of(bench, state, found, vehicles[begin : begin + BLOCK_VEHICLES], today)
    placed = sorted(_place(line) for lines in by_vehicle.values() for line in lines)
    result = _DueLines(by_vehicle, placed, tuple(one[-1] for one in placed), found, uses)
    bench.remembered["due lines"] = (mark, result)
    return result


def _place(line: DueLine) -> _Placed:
    # The number tells apart what even the key does not, before lines themselves would be compared.
    return line.due_on, line.tag, line.key, id(line), line


def _with_vehicles(
    before: _DueLines,
    made: dict[int, tuple[DueLine, ...]],
    changed: Collection[int],
    found: dict[tuple[int, Measurand], Outlook],
    uses: dict[int, VehicleUse],
) -> _DueLines:
    """Return the lines with those of some vehicles in place of what they had."""
    by_vehicle = before.by_vehicle | made
    placed, lines = list(before.placed), list(before.lines)
    for vehicle_id in changed:
        for line in before.by_vehicle.get(vehicle_id, ()):
            at = bisect_left(placed, _place(line))
            del placed[at], lines[at]
    for own in made.values():
        for line in own:
            at = bisect_left(placed, _place(line))
            placed.insert(at, _place(line))
            lines.insert(at, line)
    return _DueLines(by_vehicle, placed, tuple(lines), found, uses)


def _lines_of(
    bench: Bench,
    state: FleetState,
    found: dict[tuple[int, Measurand], Outlook],
    vehicles: Collection[int],
    today: date,
) -> dict[int, tuple[DueLine, ...]]:
    """Return the lines of some vehicles, each sorted by date and grouped into visits."""
    graded = conditions(bench)
    uses = vehicle_uses(bench)
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
    tasks = task_lines(bench, state, uses, found, today, stages)
    lines += with_torque_rechecks(bench, uses, tasks, today, vehicles)
    lines += slack_lines(bench, state, uses, found, today, stages)
    lines += adjuster_lines(bench, state, uses, found, today, stages)
    by_vehicle: dict[int, list[DueLine]] = {vehicle_id: [] for vehicle_id in vehicles}
    for line in _earliest_measuring(lines):
        by_vehicle[line.vehicle_id].append(line)
    return {
        vehicle_id: _grouped(sorted(own, key=lambda line: (line.due_on, line.key)), found, state, today)
        for vehicle_id, own in by_vehicle.items()
    }


#: Reasons to measure that say more than that it comes round.
_TELLING = {DueCause.NO_READING, DueCause.NO_ZERO_READING, DueCause.QUESTIONED_READING}


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
    found: dict[tuple[int, Measurand], Outlook],
    state: FleetState,
    today: date,
) -> tuple[DueLine, ...]:
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
    return tuple(result)
