"""Interval rules agreed on: what comes round, how often, for which stages; changed, added, taken out."""

from collections import Counter
from dataclasses import replace
from gettext import gettext as _

from wearlog.drive.defaults import default_intervals
from wearlog.fleet.parts import DriveKind
from wearlog.fleet.problem import Doubt, DoubtKind, Findings, Offer, Problem, WearlogError
from wearlog.fleet.service import IntervalRule, Task
from wearlog.fleet.vehicle import Stage, Vehicle, VehicleKind
from wearlog.planning.intervals import narrowest
from wearlog.store.records import Records
from wearlog.workshop.agree_snapshot import RuleLine
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.fleet_state import FleetState, fleet_state

#: Tasks that can come round; parts are fitted and links removed when wear says so.
TASKS = (Task.CLEANED, Task.LUBRICATED, Task.TENSION_SET, Task.TORQUE_CHECKED, Task.INSPECTED, Task.MEASURED)
#: Beyond these an interval is asked about; slips of digits. Assumption.
MOST_KM, MOST_H, MOST_DAYS = 50_000.0, 2_000.0, 1_500


def intervals_in_force(bench: Bench) -> tuple[RuleLine, ...]:
    """Return the interval rules in force, by task, the widest scope first."""
    return rule_lines(fleet_state(bench))


def rule_lines(state: FleetState) -> tuple[RuleLine, ...]:
    """Return the interval rules in force of a fleet, by task, the widest scope first."""
    plain = {_plain(rule) for rule in default_intervals()}
    start = {_scope(rule): rule for rule in default_intervals()}
    governs = _governed(state)
    kinds = [None, *VehicleKind]
    ordered = sorted(
        state.rules,
        key=lambda one: (
            not one.is_after_fitting,
            list(Task).index(one.task),
            one.drive or "",
            kinds.index(one.vehicle_kind),
            one.stage_name,
            one.id,
        ),
    )
    return tuple(
        RuleLine(
            rule,
            is_default=_plain(rule) in plain,
            default=start.get(_scope(rule)),
            governs=governs[rule.id],
            vehicle_tag=_tag(state, rule.vehicle_id),
        )
        for rule in ordered
    )


def _plain(rule: IntervalRule) -> IntervalRule:
    return replace(rule, id=0, version=0)


def _scope(rule: IntervalRule) -> tuple[object, ...]:
    return (
        rule.task,
        rule.is_after_fitting,
        rule.vehicle_kind,
        rule.vehicle_id,
        rule.stage_name,
        rule.drive,
    )


def _tag(state: FleetState, vehicle_id: int | None) -> str:
    vehicle = state.vehicles.get(vehicle_id or 0)
    return vehicle.tag if vehicle is not None else ""


def _fits(rule: IntervalRule, vehicle: Vehicle, stage: Stage) -> bool:
    return (
        rule.vehicle_kind in {None, vehicle.kind}
        and rule.vehicle_id in {None, vehicle.id}
        and rule.stage_name in {"", stage.name}
        and rule.drive in {None, stage.drive}
    )


def _governed(state: FleetState) -> Counter[int]:
    """Return of how many stages in use each rule asks its task; the narrowest of a task counts."""
    single = {rule.vehicle_id for rule in state.rules if rule.vehicle_id is not None}
    known: dict[tuple[VehicleKind, str, DriveKind, int | None], tuple[int, ...]] = {}
    governs: Counter[int] = Counter()
    for stage in state.stages.values():
        vehicle = state.vehicles[stage.vehicle_id]
        if vehicle.retired_on is not None or not state.current_on(stage.id):
            continue
        own = vehicle.id if vehicle.id in single else None
        key = (vehicle.kind, stage.name, stage.drive, own)
        if key not in known:
            fitting = [rule for rule in state.rules if _fits(rule, vehicle, stage)]
            known[key] = tuple(rule.id for rule in narrowest(fitting))
        governs.update(known[key])
    return governs


def look_at_rule(rule: IntervalRule) -> None:
    """Refuse an interval rule that can't be.

    Raises
    ------
    WearlogError
        All that is wrong with it.
    """
    findings = Findings()
    where = _(rule.task.value)
    every = (rule.every_km, rule.every_h, rule.every_days)
    first = (rule.first_km, rule.first_h, rule.first_days)
    if rule.task not in TASKS:
        findings.add(_("“{task}” does not come round.").format(task=where), where, _("Choose another task."))
    if any(value is not None and value <= 0 for value in (*every, *first)):
        findings.add(
            _("An interval of nothing would be due for ever."),
            where,
            _("Give a value above 0, or leave the field empty."),
        )
    if rule.is_after_fitting and not any(first):
        findings.add(
            _("The rule does not say how long after fitting it is due."),
            where,
            _("Fill in one of the fields after “first”."),
        )
    elif not any((*first, *every)):
        findings.add(
            _("The rule does not say when it is due."), where, _("Fill in kilometres, hours or days.")
        )
    if not rule.source.strip():
        findings.add(
            _("Nobody says where this interval comes from."),
            where,
            _("Name the source, for example the maker’s manual and page, or workshop rule."),
        )
    findings.raise_if_any()


def doubts_about_rule(bench: Bench, rule: IntervalRule) -> tuple[Doubt, ...]:
    """Return what is odd about an interval rule and may be right.

    Raises
    ------
    WearlogError
        All that can't be.
    """
    look_at_rule(rule)
    state = fleet_state(bench)
    questions = []
    pairs = ((rule.every_km, rule.first_km), (rule.every_h, rule.first_h), (rule.every_days, rule.first_days))
    for (every, first), most in zip(pairs, (MOST_KM, MOST_H, MOST_DAYS), strict=True):
        if max(every or 0.0, first or 0.0) > most:
            questions.append(_("That is longer than a drive lives. Are the digits and the unit right?"))
            break
    stages = [stage for stage in state.stages.values() if state.current_on(stage.id)]
    fitting = [s for s in stages if _fits(rule, state.vehicles[s.vehicle_id], s)]
    if not fitting:
        questions.append(_("No stage in use is of this kind and scope. Keep the rule for later?"))
    elif _misses_meters(state, rule, fitting):
        questions.append(
            _("Some of these vehicles count hours, others kilometres; for some the rule never comes round.")
        )
    offers = (Offer(_("It is right"), "keep"),)
    return tuple(Doubt(DoubtKind.UNUSUAL, question, _(rule.task.value), offers) for question in questions)


def _misses_meters(state: FleetState, rule: IntervalRule, stages: list[Stage]) -> bool:
    if rule.every_days or rule.first_days:
        return False
    units = {state.vehicles[stage.vehicle_id].meter_unit.use_unit for stage in stages}
    return ("km" in units and not (rule.every_km or rule.first_km)) or (
        "h" in units and not (rule.every_h or rule.first_h)
    )


def change_rule(bench: Bench, rule: IntervalRule) -> Changes:
    """Put a changed interval rule in the place of the one with its number; the trail keeps both.

    Raises
    ------
    EditConflict
        If somebody else changed it since it was read.
    WearlogError
        All that can't be; or another rule asks the same of the same stages.
    """
    look_at_rule(rule)
    what = _("Interval changed: {task}").format(task=rule_name(rule))
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        _refuse_same_scope(records, rule)
        records.replace(rule)
        change_id = records.change_id
    return Changes(what, change_id)


def add_rule(bench: Bench, rule: IntervalRule) -> Changes:
    """Agree on one more interval rule; of each task the narrowest that fits a stage counts.

    Raises
    ------
    WearlogError
        All that can't be; or another rule asks the same of the same stages.
    """
    look_at_rule(rule)
    what = _("Interval added: {task}").format(task=rule_name(rule))
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        _refuse_same_scope(records, rule)
        records.add(replace(rule, id=0, version=0, void_reason=""))
        change_id = records.change_id
    return Changes(what, change_id)


def take_rule_out(bench: Bench, rule: IntervalRule, reason: str) -> Changes:
    """Take an interval rule out of force; it stays in the records with the reason.

    Raises
    ------
    WearlogError
        If no reason is given, or somebody changed the rule since.
    """
    what = _("Interval taken out of force: {task}").format(task=rule_name(rule))
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        records.void(rule, reason)
        change_id = records.change_id
    return Changes(what, change_id)


def rule_name(rule: IntervalRule) -> str:
    """Return what a rule is called in a sentence, for example ``"lubricate, moped chain"``."""
    kind = _(rule.vehicle_kind.value) if rule.vehicle_kind is not None else ""
    drive = _(rule.drive.value) if rule.drive is not None else ""
    scope = " ".join(filter(None, (kind, rule.stage_name, drive)))
    return f"{_(rule.task.value)}, {scope}" if scope else _(rule.task.value)


def _refuse_same_scope(records: Records, rule: IntervalRule) -> None:
    same = records.all(IntervalRule, live=True, task=rule.task, is_after_fitting=rule.is_after_fitting)
    if any(other.id != rule.id and _scope(other) == _scope(rule) for other in same):
        what = _("There is a rule for the same task and stages already.")
        raise WearlogError(Problem(what, rule_name(rule), _("Change that one, or narrow this one.")))
