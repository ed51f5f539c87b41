"""The trends of one vehicle that can be chosen: what runs, and what came off."""

import numpy as np

from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.progress import Progress
from wearlog.fleet.reading import Measurand
from wearlog.fleet.state import State
from wearlog.forecast.posterior import wear_quantiles
from wearlog.workshop.bench import Bench
from wearlog.workshop.conditions import conditions
from wearlog.workshop.fleet_snapshot import WearRuleValue
from wearlog.workshop.fleet_state import FleetState
from wearlog.workshop.judge import with_condition
from wearlog.workshop.learn import Family, learned
from wearlog.workshop.outlook import MOST_SHOWN, Outlook, outlooks
from wearlog.workshop.trend_snapshot import TrendChoice

#: So many parts that came off are offered, the latest first.
MOST_REMOVED = 12
_PLACES = {Position.RUN: 0, Position.DRIVER: 1, Position.DRIVEN: 2}


def place_of(state: FleetState, installation: Installation) -> tuple[int, int, int]:
    """Return what sorts parts from the motor to the wheel: the chain or belt of a stage first."""
    return state.stages[installation.stage_id].order, _PLACES[installation.position], installation.id


def running_parts(
    bench: Bench, vehicle_id: int, progress: Progress | None = None
) -> dict[tuple[int, Measurand], Outlook]:
    """Return the outlook of every running part of a vehicle."""
    found = outlooks(bench, progress)
    known = bench.remembered.get("running parts")
    by_vehicle: dict[int, list[tuple[int, Measurand]]]
    if known is not None and known[0] is found and isinstance(known[1], dict):
        by_vehicle = known[1]
    else:
        by_vehicle = {}
        for key, outlook in found.items():
            by_vehicle.setdefault(outlook.item.installation.vehicle_id, []).append(key)
        bench.remembered["running parts"] = (found, by_vehicle)
    return {key: found[key] for key in by_vehicle.get(vehicle_id, ())}


def _removed_parts(bench: Bench, vehicle_id: int) -> list[tuple[Family, int]]:
    """Return the parts of a vehicle that came off, each with its row in its family."""
    lessons = learned(bench)
    known = bench.remembered.get("removed parts")
    by_vehicle: dict[int, list[tuple[Family, int]]]
    if known is not None and known[0] is lessons and isinstance(known[1], dict):
        by_vehicle = known[1]
    else:
        by_vehicle = {}
        for family in lessons.families.values():
            for row, item in enumerate(family.items):
                installation = item.installation
                if installation.removed_on is not None and item.until_use is None:
                    by_vehicle.setdefault(installation.vehicle_id, []).append((family, row))
        bench.remembered["removed parts"] = (lessons, by_vehicle)
    return by_vehicle.get(vehicle_id, [])


def trend_choices(
    bench: Bench, state: FleetState, running: dict[tuple[int, Measurand], Outlook], vehicle_id: int
) -> tuple[TrendChoice, ...]:
    """Return the running parts of a vehicle from motor to wheel, then those that came off, latest first."""
    graded = conditions(bench)
    current = [
        _choice(
            state, outlook.item.installation, key[1], with_condition(outlook.rule, graded.get(key[0])), True
        )
        for key, outlook in sorted(
            running.items(), key=lambda pair: place_of(state, pair[1].item.installation)
        )
    ]
    removed = sorted(
        _removed_parts(bench, vehicle_id),
        key=lambda one: (_removed_day(one), one[0].items[one[1]].installation.id),
        reverse=True,
    )
    return (
        *current,
        *(
            _choice(
                state,
                family.items[row].installation,
                family.items[row].measurand,
                _rule_at_removal(family, row),
                False,
            )
            for family, row in removed[:MOST_REMOVED]
        ),
    )


def _removed_day(part: tuple[Family, int]) -> int:
    removed_on = part[0].items[part[1]].installation.removed_on
    return 0 if removed_on is None else removed_on.toordinal()


def _choice(
    state: FleetState, installation: Installation, measurand: Measurand, rule: WearRuleValue, is_current: bool
) -> TrendChoice:
    return TrendChoice(
        installation_id=installation.id,
        measurand=measurand,
        stage_name=state.stages[installation.stage_id].name,
        position=installation.position,
        part_text=state.part_text(installation),
        rule=rule,
        is_current=is_current,
    )


def _rule_at_removal(family: Family, row: int) -> WearRuleValue:
    """Return how worn a part was when it came off."""
    item = family.items[row]
    removed = item.installation.removed_use
    x = item.x_at(item.installation.fitted_use if removed is None else removed)
    posterior = family.fit.posterior.take([row])
    x = max(x, float(posterior.x_last[0]))
    low, median, high = np.minimum(
        wear_quantiles(posterior, [x], [0.1, 0.5, 0.9])[0, 0] / item.own_limit, MOST_SHOWN
    ).tolist()
    has_reading = bool(posterior.count[0])
    state = State.PAST_LIMIT if median >= 1.0 else State.WITHIN_LIMIT
    return WearRuleValue(
        median, low, high, item.limit.plan_share, state if has_reading else State.NO_READING, has_reading
    )
