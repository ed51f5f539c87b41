"""Fleets as the list at the left shows them, without a database: Larkfell Ranger Service, all invented."""

import random
from dataclasses import replace
from datetime import date

from wearlog.fleet.fitting import Position
from wearlog.fleet.reading import Measurand
from wearlog.fleet.state import State, worst
from wearlog.fleet.vehicle import VehicleKind
from wearlog.workshop.fleet_snapshot import FleetRow, FleetSnapshot, StageRule, WearRuleValue

TODAY = date(2026, 11, 25)
UPPER, HARBOUR = "Upper depot", "Harbour depot"


def rule_at(median: float, *, half_width: float = 0.08, has_reading: bool = True) -> WearRuleValue:
    """A wear rule at a share of the allowance, in the state that goes with it."""
    if not has_reading:
        state = State.NO_READING
    elif median >= 1.0:
        state = State.PAST_LIMIT
    elif median >= 0.92:
        state = State.DUE
    else:
        state = State.PLAN if median >= 0.75 else State.WITHIN_LIMIT
    return WearRuleValue(median, max(median - half_width, 0.0), median + half_width, 0.75, state, has_reading)


def stage_rule(
    vehicle_id: int, order: int, rule: WearRuleValue, *, name: str = "final drive", part: str = "chain 428"
) -> StageRule:
    is_belt = part.startswith("belt")
    return StageRule(
        stage_id=vehicle_id * 10 + order,
        stage_name=name,
        installation_id=vehicle_id * 100 + order,
        position=Position.RUN,
        measurand=Measurand.BELT_TENSION if is_belt else Measurand.CHAIN_ELONGATION,
        part_text=part,
        rule=rule,
    )


def fleet_row(
    vehicle_id: int = 1,
    tag: str = "",
    *rules: WearRuleValue,
    depot: str = UPPER,
    description: str = "e-moto, chain primary",
    kind: VehicleKind = VehicleKind.ELECTRIC_MOTORCYCLE,
    is_retired: bool = False,
) -> FleetRow:
    """One vehicle; as many stages as rules, a final drive at 0.4 if none is given."""
    rules = rules or (rule_at(0.4),)
    names = ("final drive",) if len(rules) == 1 else ("primary", "final drive", "third stage")
    primary = "belt H8M" if "belt" in description else "chain 219"
    parts = ("chain 428",) if len(rules) == 1 else (primary, "chain 428", "chain 428")
    stages = tuple(
        stage_rule(vehicle_id, n + 1, rule, name=names[n], part=parts[n]) for n, rule in enumerate(rules)
    )
    tag = tag or f"LR-{vehicle_id:03d}"
    text = " ".join((tag, description, depot, kind.value, *(stage.part_text for stage in stages))).casefold()
    return FleetRow(
        vehicle_id=vehicle_id,
        tag=tag,
        description=description,
        kind=kind,
        depot=depot,
        state=worst([rule.state for rule in rules]),
        rules=stages,
        is_retired=is_retired,
        search_text=text,
    )


_SORTS = (
    ("LR", "e-moto, belt primary", VehicleKind.ELECTRIC_MOTORCYCLE, 2),
    ("LR", "e-moto, chain primary", VehicleKind.ELECTRIC_MOTORCYCLE, 2),
    ("LC", "cargo e-bike, hub gear", VehicleKind.CARGO_EBIKE, 1),
    ("LT", "trail bike, 520 chain", VehicleKind.PETROL_MOTORCYCLE, 1),
)


def fleet_of(count: int, *, seed: int = 7, depots: tuple[str, ...] = (HARBOUR, UPPER)) -> FleetSnapshot:
    """A fleet of any size with every sort of vehicle and state in it; a few are retired."""
    chance = random.Random(seed)  # noqa: S311 - invented vehicles
    rows = []
    for vehicle_id in range(1, count + 1):
        sort, description, kind, stages = _SORTS[chance.choice((0, 0, 1, 1, 1, 2, 2, 3))]
        rules = [
            rule_at(chance.betavariate(1.6, 2.2) * 1.12, half_width=chance.uniform(0.03, 0.12))
            if chance.random() > 0.06
            else rule_at(chance.uniform(0.1, 0.5), half_width=0.2, has_reading=False)
            for _stage in range(stages)
        ]
        rows.append(
            fleet_row(
                vehicle_id,
                f"{sort}-{vehicle_id:03d}" if count < 1000 else f"{sort}-{vehicle_id:05d}",
                *rules,
                depot=depots[vehicle_id % len(depots)],
                description=description,
                kind=kind,
                is_retired=count > 10 and vehicle_id % 20 == 13,
            )
        )
    return fleet(*rows)


def fleet(*rows: FleetRow, drafts_kept: int = 0) -> FleetSnapshot:
    """A fleet of given vehicles, sorted as the workshop sorts it."""
    ordered = tuple(sorted(rows, key=lambda row: (row.depot, row.tag)))
    return FleetSnapshot(TODAY, ordered, drafts_kept, data_version=1)


def with_row(snapshot: FleetSnapshot, row: FleetRow) -> FleetSnapshot:
    """The same fleet with one vehicle replaced."""
    rows = tuple(row if old.vehicle_id == row.vehicle_id else old for old in snapshot.rows)
    return replace(snapshot, rows=rows)
