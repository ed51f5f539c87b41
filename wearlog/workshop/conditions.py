"""The latest condition grade by eye of every running part."""

from dataclasses import dataclass
from datetime import date

from wearlog.fleet.reading import Measurand, Reading
from wearlog.fleet.state import State
from wearlog.planning.states import state_of_grade
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
    """Return the latest condition grade of each installation that has one; read once per data version."""
    state = fleet_state(bench)
    known = bench.remembered.get("conditions")
    if known is not None and known[0] == state.data_version and isinstance(known[1], dict):
        return known[1]
    with bench.database.reading() as records:
        readings = records.all(Reading, live=True, measurand=GRADED)
    found: dict[int, Condition] = {}
    for reading in sorted(readings, key=lambda r: (r.on, r.id)):
        if reading.installation_id is not None and reading.value is not None:
            grade = round(reading.value)
            found[reading.installation_id] = Condition(
                grade, reading.on, reading.measurand, state_of_grade(grade)
            )
    bench.remembered["conditions"] = (state.data_version, found)
    return found
