"""What the workshop agreed on, all in one place: limits, intervals, instruments, caution, database.

Every change is one transaction with its audit rows and returns the `Changes` that undo takes back.
"""

from collections import defaultdict

from wearlog.fleet.parts import PartKind, WearClass
from wearlog.fleet.reading import Instrument
from wearlog.workshop.agree_instruments import (
    add_instrument,
    bias_on_new_chain,
    change_instrument,
    instrument_lines,
    instruments_kept,
    keep_check,
    look_at_instrument,
    retire_instrument,
)
from wearlog.workshop.agree_intervals import (
    add_rule,
    change_rule,
    doubts_about_rule,
    intervals_in_force,
    look_at_rule,
    rule_lines,
    take_rule_out,
)
from wearlog.workshop.agree_limits import (
    add_limit,
    change_limit,
    doubts_about_limit,
    limit_lines,
    limits_in_force,
    look_at_limit,
    take_limit_out,
)
from wearlog.workshop.agree_snapshot import AgreedSnapshot, Choices
from wearlog.workshop.agree_workshop import (
    back_up_database,
    change_policy,
    database_facts,
    facts_of,
    look_at_policy,
)
from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.people import people

__all__ = [
    "add_instrument",
    "add_limit",
    "add_rule",
    "agreed",
    "back_up_database",
    "bias_on_new_chain",
    "change_instrument",
    "change_limit",
    "change_policy",
    "change_rule",
    "database_facts",
    "doubts_about_limit",
    "doubts_about_rule",
    "instruments_kept",
    "intervals_in_force",
    "keep_check",
    "limits_in_force",
    "look_at_instrument",
    "look_at_limit",
    "look_at_policy",
    "look_at_rule",
    "retire_instrument",
    "take_limit_out",
    "take_rule_out",
]


def agreed(bench: Bench) -> AgreedSnapshot:
    """Return all that the workshop agreed on, as it is kept now."""
    state = fleet_state(bench)
    with bench.database.reading() as records:
        instruments = instrument_lines(records, records.all(Instrument), bench.today())
        facts = facts_of(bench, records)
    return AgreedSnapshot(
        today=bench.today(),
        limits=limit_lines(state),
        rules=rule_lines(state),
        instruments=instruments,
        policy=state.policy,
        people=people(bench),
        choices=_choices(state),
        database=facts,
    )


def _choices(state: FleetState) -> Choices:
    designations: dict[WearClass, set[str]] = defaultdict(set)
    pitches: dict[str, float] = {}
    for part_type in state.part_types.values():
        designations[part_type.wear_class] |= {part_type.designation, part_type.chain} - {""}
        if part_type.kind is PartKind.CHAIN:
            pitches[part_type.designation] = part_type.pitch_mm
    for limit in state.limits:
        designations[limit.wear_class] |= {limit.designation} - {""}
    in_service = [vehicle for vehicle in state.vehicles.values() if vehicle.retired_on is None]
    return Choices(
        designations=tuple((key, tuple(sorted(names))) for key, names in designations.items()),
        models=tuple(sorted({vehicle.model for vehicle in in_service if vehicle.model})),
        stages=tuple(sorted({stage.name for stage in state.stages.values()})),
        vehicles=tuple(sorted((vehicle.tag, vehicle.id) for vehicle in in_service)),
        pitches=tuple(sorted(pitches.items())),
    )
