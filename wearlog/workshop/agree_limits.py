"""Service limits agreed on: those in force and for how many parts; changed, narrowed, taken out of force."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from gettext import gettext as _

from wearlog.drive.defaults import default_limits
from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.limit import Limit, limit_for, scope_of
from wearlog.fleet.parts import PartKind, WearClass
from wearlog.fleet.problem import Doubt, DoubtKind, Findings, Offer, Problem, WearlogError
from wearlog.fleet.reading import Measurand
from wearlog.store.records import Records
from wearlog.workshop.agree_snapshot import LimitLine
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.fleet_state import FleetState, fleet_state

#: These fall with wear; all others rise.
FALLING = frozenset({Measurand.SPROCKET_TOOTH_THICKNESS, Measurand.BELT_TENSION})

_CHAINS = (
    WearClass.SEALED_MOTORCYCLE_CHAIN,
    WearClass.OPEN_MOTORCYCLE_CHAIN,
    WearClass.PRIMARY_ROLLER_CHAIN,
    WearClass.DERAILLEUR_CYCLE_CHAIN,
    WearClass.HUB_GEAR_CYCLE_CHAIN,
    WearClass.UNKNOWN,
)
#: Which parts a measurand is read on.
CLASSES: dict[Measurand, tuple[WearClass, ...]] = {
    Measurand.CHAIN_ELONGATION: _CHAINS,
    Measurand.SLACK: _CHAINS,
    Measurand.SPROCKET_TOOTH_THICKNESS: (WearClass.SPROCKET,),
    Measurand.CHAIN_LIFT: (WearClass.SPROCKET,),
    Measurand.SPROCKET_CONDITION: (WearClass.SPROCKET, WearClass.PULLEY),
    Measurand.BELT_TENSION: (WearClass.TOOTHED_BELT,),
    Measurand.BELT_CONDITION: (WearClass.TOOTHED_BELT,),
}
_READ_ON: dict[PartKind, tuple[Measurand, ...]] = {
    PartKind.CHAIN: (Measurand.CHAIN_ELONGATION, Measurand.SLACK),
    PartKind.SPROCKET: (
        Measurand.SPROCKET_TOOTH_THICKNESS,
        Measurand.SPROCKET_CONDITION,
        Measurand.CHAIN_LIFT,
    ),
    PartKind.BELT: (Measurand.BELT_TENSION, Measurand.BELT_CONDITION),
    PartKind.PULLEY: (Measurand.SPROCKET_CONDITION,),
}
#: Beyond this a limit is asked about: the largest limit any maker prints for a chain is 2 %, [-].
MOST_ELONGATION = 0.03
#: Below this a new chain may already be past it: makers' own range for new chains ends at 0.22 %, [-].
LEAST_ELONGATION = 0.003
#: From this grade on a part is changed, [-].
WORST_GRADE = 3.0


# --- what is in force -------------------------------------------------------------------------------------


def limits_in_force(bench: Bench) -> tuple[LimitLine, ...]:
    """Return the limits in force, by measurand and class, the widest scope first."""
    return limit_lines(fleet_state(bench))


def limit_lines(state: FleetState) -> tuple[LimitLine, ...]:
    """Return the limits in force of a fleet, by measurand and class, the widest scope first."""
    governs, tightened = _governed(state)
    plain = {_plain(limit) for limit in default_limits()}
    start = {_scope(limit): limit for limit in default_limits()}
    measurands, classes = list(Measurand), list(WearClass)
    ordered = sorted(
        state.limits,
        key=lambda one: (
            measurands.index(one.measurand),
            classes.index(one.wear_class),
            scope_of(one),
            one.designation,
            one.model,
            one.stage_name,
            one.id,
        ),
    )
    return tuple(
        LimitLine(
            limit,
            is_default=_plain(limit) in plain,
            default=start.get(_scope(limit)),
            governs=governs[limit.id],
            tightened=tightened[limit.id],
            vehicle_tag=_tag(state, limit.vehicle_id),
        )
        for limit in ordered
    )


def _plain(limit: Limit) -> Limit:
    return replace(limit, id=0, version=0)


def _scope(limit: Limit) -> tuple[object, ...]:
    return (
        limit.measurand,
        limit.wear_class,
        limit.designation,
        limit.model,
        limit.stage_name,
        limit.vehicle_id,
    )


def _tag(state: FleetState, vehicle_id: int | None) -> str:
    vehicle = state.vehicles.get(vehicle_id or 0)
    return vehicle.tag if vehicle is not None else ""


def _running(state: FleetState) -> Iterable[Installation]:
    for installation in state.installations.values():
        if installation.is_current and state.vehicles[installation.vehicle_id].retired_on is None:
            yield installation


def _governed(state: FleetState) -> tuple[Counter[int], Counter[int]]:
    """Return how many running parts each limit governs, and on how many a sprocket sets a tighter one."""
    single = {limit.vehicle_id for limit in state.limits if limit.vehicle_id is not None}
    known: dict[tuple[object, ...], Limit | None] = {}
    is_tighter: dict[tuple[int, int], bool] = {}
    governs: Counter[int] = Counter()
    tightened: Counter[int] = Counter()
    for installation in _running(state):
        part_type = state.part_type_of(installation)
        vehicle, stage = state.vehicles[installation.vehicle_id], state.stages[installation.stage_id]
        for measurand in _READ_ON[part_type.kind]:
            names = frozenset(name for name in (part_type.designation, part_type.chain) if name)
            own = vehicle.id if vehicle.id in single else None
            key = (measurand, part_type.wear_class, names, vehicle.model, stage.name, own)
            if key not in known:
                limits = state.limits_of.get(measurand, ())
                known[key] = limit_for(
                    limits, measurand, part_type.wear_class, names, vehicle.model, stage.name, vehicle.id
                )
            limit = known[key]
            if limit is None:
                continue
            governs[limit.id] += 1
            if measurand is Measurand.CHAIN_ELONGATION and installation.position is Position.RUN:
                pair = (limit.id, _most_teeth(state, installation))
                if pair not in is_tighter:
                    reached = state.limit_of(installation, measurand)
                    is_tighter[pair] = reached is not None and bool(reached[1])
                tightened[limit.id] += is_tighter[pair]
    return governs, tightened


def _most_teeth(state: FleetState, chain: Installation) -> int:
    others = map(state.part_type_of, state.current_on(chain.stage_id))
    return max((one.teeth or 0 for one in others if one.kind is PartKind.SPROCKET), default=0)


# --- what can't be, and what is asked about ---------------------------------------------------------------


def look_at_limit(limit: Limit) -> None:
    """Refuse a limit that can't be.

    Raises
    ------
    WearlogError
        All that is wrong with it.
    """
    findings = Findings()
    where = _(limit.measurand.value)
    falls = limit.measurand in FALLING
    if limit.wear_class not in CLASSES.get(limit.measurand, ()):
        findings.add(
            _("{what} is not read on a {part}.").format(
                what=where[:1].upper() + where[1:], part=_(limit.wear_class.value)
            ),
            where,
            _("Choose another kind of part."),
        )
    if limit.service_limit == limit.as_new:
        findings.add(
            _("The service limit is the value as new: nothing would be left to wear."),
            where,
            _("Leave an allowance between them."),
        )
    elif (limit.service_limit < limit.as_new) is not falls:
        findings.add(
            _("The service limit is on the wrong side of the value as new: {what} falls with wear.").format(
                what=where
            )
            if falls
            else _(
                "The service limit is on the wrong side of the value as new: {what} rises with wear."
            ).format(what=where),
            where,
            _("Give a service limit below the value as new.")
            if falls
            else _("Give a service limit above the value as new."),
        )
    elif limit.stop_use_limit is not None and limit.allowance_used(limit.stop_use_limit) < 1.0 - 1e-9:
        findings.add(
            _("Stop use lies inside the service limit: the part would be stopped before it is due."),
            where,
            _("Give a stop-use limit beyond the service limit, or none."),
        )
    if not 0.0 < limit.plan_share < 1.0:
        findings.add(
            _("Planning ahead from {share:.4g} % of the wear allowance can’t be.").format(
                share=100 * limit.plan_share
            ),
            where,
            _("Give a share between 0 and 100 %, for example 75 %."),
        )
    _look_at_values(limit, findings, where)
    if not limit.source.strip():
        findings.add(
            _("Nobody says where this limit comes from."),
            where,
            _("Name the source, for example the maker’s manual and page, or workshop rule."),
        )
    findings.raise_if_any()


def _look_at_values(limit: Limit, findings: Findings, where: str) -> None:
    values = [limit.as_new, limit.service_limit]
    values += [] if limit.stop_use_limit is None else [limit.stop_use_limit]
    if min(values) < 0.0:
        findings.add(_("A limit below zero can’t be measured."), where, _("Check the sign."))
    is_grade = limit.measurand in {Measurand.BELT_CONDITION, Measurand.SPROCKET_CONDITION}
    if is_grade and max(values) > WORST_GRADE:
        findings.add(
            _("Condition grades end at 3 (change)."), where, _("Give grades between 0 (as new) and 3.")
        )
    if limit.measurand is Measurand.CHAIN_ELONGATION and max(values) >= 0.2:
        findings.add(
            _("No chain gets {value:.4g} % longer than new.").format(value=100 * max(values)),
            where,
            _("Check the digits and the unit; 1.7 % is written 1.7 % or 0.017."),
        )


def doubts_about_limit(bench: Bench, limit: Limit) -> tuple[Doubt, ...]:
    """Return what is odd about a limit and may be right.

    Raises
    ------
    WearlogError
        All that can't be.
    """
    look_at_limit(limit)
    state = fleet_state(bench)
    where = _(limit.measurand.value)
    questions = []
    if limit.measurand is Measurand.CHAIN_ELONGATION and limit.service_limit > MOST_ELONGATION:
        questions.append(
            _("A service limit of {value:.3g} % is more than any maker prints. Is it right?").format(
                value=100 * limit.service_limit
            )
        )
    if limit.measurand is Measurand.CHAIN_ELONGATION and limit.service_limit < LEAST_ELONGATION:
        questions.append(
            _("A new chain may already read {new:.3g} %. Is a limit of {value:.3g} % right?").format(
                new=0.22, value=100 * limit.service_limit
            )
        )
    if limit.plan_share < 0.4:
        questions.append(
            _("From {share:.0f} % of the allowance on the part would stand as plan. Is that meant?").format(
                share=100 * limit.plan_share
            )
        )
    wider = _next_wider(state, limit)
    if wider is not None and wider.allowance_used(limit.service_limit) > 1.0 + 1e-9:
        questions.append(
            _("This is looser than the limit it stands in for ({source}). Is it right?").format(
                source=wider.source
            )
        )
    if not _reaches_any(state, limit):
        questions.append(_("No part in use is of this kind and scope. Keep the limit for later?"))
    offers = (Offer(_("It is right"), "keep"),)
    return tuple(Doubt(DoubtKind.UNUSUAL, question, where, offers) for question in questions)


def _next_wider(state: FleetState, limit: Limit) -> Limit | None:
    others = [one for one in state.limits if one.id != limit.id and scope_of(one) < scope_of(limit)]
    if not scope_of(limit):
        return None
    return limit_for(
        others,
        limit.measurand,
        limit.wear_class,
        {limit.designation} - {""},
        limit.model,
        limit.stage_name,
        limit.vehicle_id,
    )


def _reaches_any(state: FleetState, limit: Limit) -> bool:
    for installation in _running(state):
        part_type = state.part_type_of(installation)
        vehicle, stage = state.vehicles[installation.vehicle_id], state.stages[installation.stage_id]
        if (
            part_type.wear_class is limit.wear_class
            and limit.measurand in _READ_ON[part_type.kind]
            and limit.designation in {"", part_type.designation, part_type.chain}
            and limit.model in {"", vehicle.model}
            and limit.stage_name in {"", stage.name}
            and limit.vehicle_id in {None, vehicle.id}
        ):
            return True
    return False


# --- changing ---------------------------------------------------------------------------------------------


def change_limit(bench: Bench, limit: Limit) -> Changes:
    """Put a changed limit in the place of the one with its number; the trail keeps before and after.

    Raises
    ------
    EditConflict
        If somebody else changed it since it was read.
    WearlogError
        All that can't be; or another limit has the same scope.
    """
    look_at_limit(limit)
    what = _("Limit changed: {what}").format(what=limit_name(limit))
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        _refuse_same_scope(records, limit)
        records.replace(limit)
        change_id = records.change_id
    return Changes(what, change_id)


def add_limit(bench: Bench, limit: Limit) -> Changes:
    """Agree on one more limit, as a rule for a narrower scope; the narrowest that fits a part counts.

    Raises
    ------
    WearlogError
        All that can't be; or another limit has the same scope.
    """
    look_at_limit(limit)
    what = _("Limit added: {what}").format(what=limit_name(limit))
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        _refuse_same_scope(records, limit)
        records.add(replace(limit, id=0, version=0, void_reason=""))
        change_id = records.change_id
    return Changes(what, change_id)


def take_limit_out(bench: Bench, limit: Limit, reason: str) -> Changes:
    """Take a limit out of force; it stays in the records with the reason.

    Raises
    ------
    WearlogError
        If no reason is given, or somebody changed the limit since.
    """
    what = _("Limit taken out of force: {what}").format(what=limit_name(limit))
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        records.void(limit, reason)
        change_id = records.change_id
    return Changes(what, change_id)


def limit_name(limit: Limit) -> str:
    """Return what a limit is called in a sentence, for example ``"slack, open motorcycle chain TM-5"``."""
    scope = [limit.designation, limit.model, limit.stage_name]
    return f"{_(limit.measurand.value)}, {_(limit.wear_class.value)} {' '.join(filter(None, scope))}".strip()


def _refuse_same_scope(records: Records, limit: Limit) -> None:
    same = records.all(
        Limit, live=True, measurand=limit.measurand, wear_class=limit.wear_class, vehicle_id=limit.vehicle_id
    )
    if any(other.id != limit.id and _scope(other) == _scope(limit) for other in same):
        what = _("There is a limit for the same measurand and parts already.")
        raise WearlogError(Problem(what, limit_name(limit), _("Change that one, or narrow this one.")))
