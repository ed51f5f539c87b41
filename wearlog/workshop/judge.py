"""How worn is the fleet: one wear rule for the part that governs each stage."""

from dataclasses import dataclass

from wearlog.fleet.fitting import Position
from wearlog.fleet.progress import Progress, Silent
from wearlog.fleet.reading import Measurand
from wearlog.fleet.state import URGENCY, State, worst
from wearlog.fleet.vehicle import Vehicle
from wearlog.workshop.bench import Bench
from wearlog.workshop.conditions import Condition, conditions
from wearlog.workshop.fleet_snapshot import FleetRow, FleetSnapshot, StageRule, WearRuleValue
from wearlog.workshop.fleet_state import WEAR_MEASURAND, FleetState, fleet_state
from wearlog.workshop.outlook import Outlook, outlooks, vehicles_with_another


def fleet_snapshot(bench: Bench, progress: Progress | None = None) -> FleetSnapshot:
    """Return the fleet as the list shows it, sorted by depot and tag."""
    told = progress or Silent()
    state = fleet_state(bench)
    found = outlooks(bench, told)
    graded = conditions(bench)
    before = bench.remembered.get("fleet rows")
    kept: dict[int, FleetRow] = {}
    if before is not None and isinstance(before[1], _Rows):
        changed = state.changed_since(before[1].data_version)
        if changed is not None:
            changed |= vehicles_with_another(before[1].outlooks, found)
            kept = {number: row for number, row in before[1].rows.items() if number not in changed}
    rows: dict[int, FleetRow] = {}
    for vehicle in _sorted(state):
        rows[vehicle.id] = kept.get(vehicle.id) or _judged(state, vehicle, found, graded)
    bench.remembered["fleet rows"] = (state.data_version, _Rows(state.data_version, rows, found))
    return FleetSnapshot(bench.today(), tuple(rows.values()), _drafts(bench), state.data_version)


@dataclass(frozen=True, slots=True)
class _Rows:
    """The rows of the fleet list, and the outlooks that they were made from."""

    data_version: int
    rows: dict[int, FleetRow]
    outlooks: dict[tuple[int, Measurand], Outlook]


def _judged(
    state: FleetState,
    vehicle: Vehicle,
    found: dict[tuple[int, Measurand], Outlook],
    graded: dict[int, Condition],
) -> FleetRow:
    rules = []
    for stage in state.stages_of.get(vehicle.id, ()):
        parts = [
            outlook
            for one in state.current_on(stage.id)
            for measurand in WEAR_MEASURAND.values()
            if (outlook := found.get((one.id, measurand))) is not None
        ]
        if parts:
            rules.append(_stage_rule(state, parts, graded))
    return _row(state, vehicle, tuple(rules))


def fleet_directory(bench: Bench) -> FleetSnapshot:
    """Return who is in the fleet, without how worn anything is: a matter of reading, not of learning."""
    state = fleet_state(bench)
    rows = tuple(_row(state, vehicle, ()) for vehicle in _sorted(state))
    return FleetSnapshot(bench.today(), rows, _drafts(bench), state.data_version, is_judged=False)


def _sorted(state: FleetState) -> list[Vehicle]:
    return sorted(state.vehicles.values(), key=lambda v: (v.depot.casefold(), v.tag.casefold()))


def _drafts(bench: Bench) -> int:
    with bench.database.reading() as records:
        return len(records.drafts())


def _row(state: FleetState, vehicle: Vehicle, rules: tuple[StageRule, ...]) -> FleetRow:
    installed = [
        state.part_text(i)
        for stage in state.stages_of.get(vehicle.id, ())
        for i in state.current_on(stage.id)
    ]
    # Whoever owns it is not searched for: the contact stays out of lists.
    words = (
        vehicle.tag,
        vehicle.description,
        vehicle.model,
        vehicle.depot,
        vehicle.kind.value,
        vehicle.notes,
        *installed,
    )
    return FleetRow(
        vehicle_id=vehicle.id,
        tag=vehicle.tag,
        description=vehicle.description,
        kind=vehicle.kind,
        depot=vehicle.depot,
        state=worst([rule.rule.state for rule in rules]),
        rules=rules,
        is_retired=vehicle.retired_on is not None,
        search_text=" ".join(words).casefold(),
    )


def governing(candidates: list[Outlook], graded: dict[int, Condition]) -> Outlook:
    """Return the part that stands for a stage: its chain or belt, unless another is more urgent."""

    def rank(outlook: Outlook) -> tuple[int, bool, float]:
        condition = graded.get(outlook.item.installation.id)
        rule = with_condition(outlook.rule, condition)
        was_seen = outlook.readings > 0 or condition is not None
        is_urgent = was_seen and URGENCY.index(rule.state) > URGENCY.index(State.NO_READING)
        urgency = URGENCY.index(rule.state) if is_urgent else 0
        return urgency, outlook.item.installation.position is Position.RUN, rule.median

    return max(candidates, key=rank)


def _stage_rule(state: FleetState, candidates: list[Outlook], graded: dict[int, Condition]) -> StageRule:
    outlook = governing(candidates, graded)
    installation = outlook.item.installation
    return StageRule(
        stage_id=installation.stage_id,
        stage_name=state.stages[installation.stage_id].name,
        installation_id=installation.id,
        position=installation.position,
        measurand=outlook.item.measurand,
        part_text=state.part_text(installation),
        rule=with_condition(outlook.rule, graded.get(installation.id)),
    )


def with_condition(rule: WearRuleValue, condition: Condition | None) -> WearRuleValue:
    """Return a wear rule whose state also minds the condition grade by eye."""
    if condition is None or URGENCY.index(condition.state) <= URGENCY.index(rule.state):
        return rule
    if condition.state is State.WITHIN_LIMIT:
        return rule
    return WearRuleValue(
        rule.median, rule.low, rule.high, rule.plan_share, condition.state, rule.has_reading, rule.limit_share
    )


def rules_of_vehicle(bench: Bench, vehicle_id: int) -> dict[tuple[int, Measurand], WearRuleValue]:
    """Return the wear rule of every running part of a vehicle."""
    graded = conditions(bench)
    return {
        key: with_condition(outlook.rule, graded.get(key[0]))
        for key, outlook in outlooks(bench).items()
        if outlook.item.installation.vehicle_id == vehicle_id
    }
