"""The job card of a visit: its work, the parts to take along, and all that is to be written on it."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from datetime import timedelta
from gettext import gettext as _

from wearlog.fleet.parts import PartKind
from wearlog.fleet.planned import PlannedItem, PlannedVisit
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.service import Task
from wearlog.fleet.stock import StockLine
from wearlog.workshop.ask import DUE_WITHIN_DAYS, open_sheet
from wearlog.workshop.bench import Bench
from wearlog.workshop.due import due_lines_of_vehicle
from wearlog.workshop.due_snapshot import Action, DueLine
from wearlog.workshop.fleet_state import WEAR_MEASURAND, FleetState, fleet_state
from wearlog.workshop.job_card_filling import planned_visit, with_card
from wearlog.workshop.job_card_snapshot import CardPart, CardTask, JobCard
from wearlog.workshop.torque import torque_snapshot


def job_card(bench: Bench, name: str) -> JobCard:
    """Return the job card of a planned visit, or of a vehicle that comes without one.

    Parameters
    ----------
    name
        The number of a planned visit, or the tag of a vehicle: its card asks for what is due within a month.

    Raises
    ------
    WearlogError
        If there is neither such a number nor such a tag.
    """
    visit = planned_visit(bench, name)
    if visit is not None:
        return card_of_visit(bench, visit)
    state = fleet_state(bench)
    try:
        vehicle = state.vehicle_tagged(name)
    except WearlogError:
        raise WearlogError(
            Problem(
                _("There is neither a planned visit nor a vehicle called {name}.").format(
                    name=name.strip() or "–"
                ),
                todo=_("Give the number of a planned visit, such as V-0042, or the tag of a vehicle."),
                kind=ProblemKind.NOT_FOUND,
            )
        ) from None
    return card_of_vehicle(bench, vehicle.id)


def card_of_vehicle(bench: Bench, vehicle_id: int) -> JobCard:
    """Return the job card of a vehicle that comes without a planned visit: what is due within a month.

    Raises
    ------
    WearlogError
        If there is no such vehicle.
    """
    state = fleet_state(bench)
    sheet = open_sheet(bench, vehicle_id)
    last = bench.today() + timedelta(days=DUE_WITHIN_DAYS)
    lines = [line for line in due_lines_of_vehicle(bench, vehicle_id) if line.due_on <= last]
    tasks = tuple(_of_line(line, is_with=False) for line in lines)
    return JobCard(
        number="",
        on=None,
        minutes=None,
        note="",
        tasks=tasks,
        parts=_parts(bench, state, sheet.depot, (line.installation_id for line in lines if _replaces(line))),
        sheet=sheet,
        torque=torque_snapshot(bench, vehicle_id),
    )


def next_card(bench: Bench, vehicle_id: int) -> JobCard:
    """Return the card of the next visit that is planned for a vehicle, else the card it gets unplanned.

    Raises
    ------
    WearlogError
        If there is no such vehicle.
    """
    with bench.database.reading() as records:
        visits = [
            visit for visit in records.all(PlannedVisit, live=True, vehicle_id=vehicle_id) if visit.is_open
        ]
    if not visits:
        return card_of_vehicle(bench, vehicle_id)
    return card_of_visit(bench, min(visits, key=lambda visit: (visit.on, visit.number)))


def card_of_visit(bench: Bench, visit: PlannedVisit) -> JobCard:
    """Return the job card of a planned visit."""
    state = fleet_state(bench)
    sheet = with_card(open_sheet(bench, visit.vehicle_id), visit)
    lines: dict[tuple[str, int | None, int | None], list[DueLine]] = defaultdict(list)
    for line in due_lines_of_vehicle(bench, visit.vehicle_id):
        lines[(line.task or line.action).value, line.stage_id, line.installation_id].append(line)
    tasks = []
    for item in visit.items:
        found = lines[item.work, item.stage_id, item.installation_id]
        # Two lines for one part, such as elongation and condition, stand in the plan in the same order.
        tasks.append(_of_line(found.pop(0), is_with=item.is_with) if found else _of_item(state, item))
    replaced = (item.installation_id for item in visit.items if item.work == Action.REPLACE)
    return JobCard(
        number=visit.number,
        on=visit.on,
        minutes=visit.bay_minutes,
        note=visit.note,
        tasks=tuple(tasks),
        parts=_parts(bench, state, visit.depot or sheet.depot, replaced),
        sheet=sheet,
        torque=torque_snapshot(bench, visit.vehicle_id),
    )


def _replaces(line: DueLine) -> bool:
    return line.action is Action.REPLACE


def _of_line(line: DueLine, *, is_with: bool) -> CardTask:
    return CardTask(
        action=line.action,
        task=line.task,
        stage_name=line.stage_name,
        part_text=line.part_text,
        measurand=line.measurand,
        due_on=line.due_on,
        is_with=is_with,
        line=line,
    )


def _of_item(state: FleetState, item: PlannedItem) -> CardTask:
    """Return work that the due list asks for no longer: its reason is gone, the plan still names it."""
    is_action = item.work in {action.value for action in Action}
    stage = state.stages.get(item.stage_id or 0)
    installation = state.installations.get(item.installation_id or 0)
    part_type = None if installation is None else state.part_type_of(installation)
    return CardTask(
        action=Action(item.work) if is_action else Action.TASK,
        task=None if is_action else Task(item.work),
        stage_name="" if stage is None else stage.name,
        part_text="" if installation is None else state.part_text(installation),
        measurand=None if part_type is None else WEAR_MEASURAND.get(part_type.kind),
        due_on=item.due_on,
        is_with=item.is_with,
    )


def _parts(
    bench: Bench, state: FleetState, depot: str, replaced: Iterable[int | None]
) -> tuple[CardPart, ...]:
    """Return the parts that replacements take, with what lies on the shelf of the depot."""
    found = (state.installations.get(number or 0) for number in replaced)
    fitted = [one for one in found if one is not None]
    wanted = Counter(state.part_type_of(one).id for one in fitted)
    with bench.database.reading() as records:
        shelf = {line.part_type_id: line.on_hand for line in records.all(StockLine, depot=depot)}
    parts = []
    for type_id, count in wanted.items():
        part_type = state.part_types[type_id]
        is_chain = part_type.kind is PartKind.CHAIN
        parts.append(
            CardPart(part_type.name, count, shelf.get(type_id), part_type.joining_link if is_chain else "")
        )
    return tuple(parts)
