"""The latest condition grade by eye of every running part."""

from dataclasses import dataclass
from datetime import date

from wearlog.fleet.reading import Measurand
from wearlog.fleet.state import State
from wearlog.planning.states import state_of_grade
from wearlog.store.lazily import reading_cells
from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_state import fleet_state

GRADED = (Measurand.BELT_CONDITION, Measurand.SPROCKET_CONDITION)


@dataclass(frozen=True, slots=True)
class Condition:
    """A grade by eye: 0 as new, 1 polished, 2 visible wear, 3 change."""

    grade: int
    on: date
    measurand: Measurand
    state: State


def conditions(bench: Bench) -> dict[int, Condition]:
    """Return the latest condition grade of each installation that has one."""
    state = fleet_state(bench)
    known = bench.remembered.get("conditions")
    found: dict[int, Condition] = {}
    vehicles: frozenset[int] | None = None
    if known is not None and isinstance(known[0], int) and isinstance(known[1], dict):
        vehicles = state.changed_since(known[0])
        if vehicles is not None:
            found = {
                number: one
                for number, one in known[1].items()
                if number in state.installations and state.installations[number].vehicle_id not in vehicles
            }
    if vehicles is None or vehicles:
        names = ("installation_id", "value", "on", "measurand")
        with bench.database.reading() as records:
            cells = reading_cells(records, names, GRADED, vehicles)
        for installation_id, value, day, word in cells:
            if installation_id is not None and value is not None:
                grade = round(value)
                on = date.fromordinal(day)
                found[installation_id] = Condition(grade, on, Measurand(word), state_of_grade(grade))
    bench.remembered["conditions"] = (state.data_version, found)
    return found
