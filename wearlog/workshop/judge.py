"""How worn is the fleet: one wear rule for the part that governs each stage."""

from wearlog.fleet.fitting import Position
from wearlog.fleet.progress import Progress, Silent
from wearlog.fleet.reading import Measurand
from wearlog.fleet.state import URGENCY, State, worst
from wearlog.fleet.vehicle import Vehicle
from wearlog.workshop.bench import Bench
from wearlog.workshop.conditions import Condition, conditions
from wearlog.workshop.fleet_snapshot import FleetRow, FleetSnapshot, StageRule, WearRuleValue
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.outlook import Outlook, outlooks


def fleet_snapshot(bench: Bench, progress: Progress | None = None) -> FleetSnapshot:
    """Return the fleet as the list shows it, sorted by depot and tag."""
    told = progress or Silent()
    state = fleet_state(bench)
    by_stage = _by_stage(outlooks(bench, told))
    graded = conditions(bench)
    rows = []
    for vehicle in _sorted(state):
        rules = tuple(
            _stage_rule(state, by_stage[stage.id], graded)
            for stage in state.stages_of.get(vehicle.id, ())
            if stage.id in by_stage
        )
        rows.append(_row(state, vehicle, rules))
    return FleetSnapshot(bench.today(), tuple(rows), _drafts(bench), state.data_version)


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


def _by_stage(found: dict[tuple[int, Measurand], Outlook]) -> dict[int, list[Outlook]]:
    by_stage: dict[int, list[Outlook]] = {}
    for outlook in found.values():
        by_stage.setdefault(outlook.item.installation.stage_id, []).append(outlook)
    return by_stage


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
