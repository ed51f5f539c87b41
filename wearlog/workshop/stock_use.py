"""What a visit takes off the shelf, in the visit's own transaction; given back when that is undone."""

from dataclasses import replace

from wearlog.fleet.fitting import Installation
from wearlog.fleet.service import Task, Visit
from wearlog.fleet.stock import StockLine, StockMove, StockMoveKind
from wearlog.store.records import Records
from wearlog.workshop.fleet_state import FleetState


def take_from_shelf(
    records: Records, installation: Installation, part_type_id: int, depot: str, visit: Visit
) -> StockMove | None:
    """Take a part that is fitted off the shelf of its depot.

    None is taken where nobody keeps count of such parts, or none is there: then it came from elsewhere, and
    the next count of the shelf tells.
    """
    line = records.first(StockLine, part_type_id=part_type_id, depot=depot)
    if line is None or line.on_hand < 1:
        return None
    records.replace(replace(line, on_hand=line.on_hand - 1))
    return records.add(
        StockMove(
            part_type_id=part_type_id,
            depot=depot,
            on=visit.on,
            count=-1,
            kind=StockMoveKind.USED,
            visit_id=visit.id,
            installation_id=installation.id,
            by=visit.by,
        )
    )


def take_joining_links(records: Records, state: FleetState, visit: Visit) -> int:
    """Take a joining link for every chain that had links taken out; return how many were there to take."""
    taken = 0
    for done in visit.tasks:
        if done.task is not Task.LINKS_REMOVED or done.stage_id is None:
            continue
        chain = next(iter(state.current_on(done.stage_id)), None)
        if chain is None:
            continue
        depot = state.vehicles[visit.vehicle_id].depot
        line = records.first(StockLine, part_type_id=state.part_type_of(chain).id, depot=depot)
        if line is not None and line.joining_links > 0:
            records.replace(replace(line, joining_links=line.joining_links - 1))
            taken += 1
    return taken
