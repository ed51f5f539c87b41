"""How long work takes in the bay, and how often it comes round. Common practice, no source."""

from wearlog.fleet.parts import PartKind
from wearlog.fleet.service import Task
from wearlog.workshop.due_snapshot import Action, DueLine
from wearlog.workshop.fleet_state import FleetState

#: Minutes to replace a part on one stage, [min].
REPLACE_MINUTES = {PartKind.CHAIN: 25, PartKind.SPROCKET: 25, PartKind.BELT: 40, PartKind.PULLEY: 40}
#: Minutes of other work on one stage, [min].
ACTION_MINUTES = {Action.MEASURE: 8, Action.ADJUST: 12, Action.RECHECK: 8, Action.TASK: 8}
TASK_MINUTES = {
    Task.CLEANED: 10,
    Task.LUBRICATED: 5,
    Task.TENSION_SET: 12,
    Task.LINKS_REMOVED: 25,
    Task.TORQUE_CHECKED: 8,
    Task.INSPECTED: 6,
    Task.MEASURED: 8,
}
#: Interval against which being early counts where a line has none in days, [d]; assumption.
USUAL_INTERVAL_DAYS = 90.0


def minutes_of(state: FleetState, line: DueLine) -> int:
    """Return the bay time of a line of the due list, [min]."""
    if line.action is Action.REPLACE and line.installation_id is not None:
        return REPLACE_MINUTES[state.part_type_of(state.installations[line.installation_id]).kind]
    if line.task is not None and line.task in TASK_MINUTES:
        return TASK_MINUTES[line.task]
    return ACTION_MINUTES.get(line.action, 10)


def interval_days(line: DueLine) -> float:
    """Return how often the work of a line comes round, [d]."""
    if line.reason.every_days:
        return float(line.reason.every_days)
    if line.reason.every_use and line.reason.use_per_day:
        return max(line.reason.every_use / line.reason.use_per_day, 1.0)
    return USUAL_INTERVAL_DAYS
