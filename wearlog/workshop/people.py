"""Who works here, as the records know them."""

from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_state import fleet_state


def people(bench: Bench) -> tuple[str, ...]:
    """Return the names that stand on visits, and who sits here, sorted."""
    names = {visit.by for visit in fleet_state(bench).visits if visit.by}
    if bench.by:
        names.add(bench.by)
    return tuple(sorted(names, key=str.casefold))
