"""The fleet's own record: what forecasts were worth, how fast parts wear and how long they last."""

from dataclasses import dataclass
from gettext import gettext as _

import numpy as np
from numpy.typing import NDArray

from wearlog.fleet.progress import Progress, Silent
from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.learn import Family, learned
from wearlog.workshop.record_backtest import (
    FamilyChecks,
    family_checks,
    joined,
    reliability_of_distances,
    reliability_of_readings,
)
from wearlog.workshop.record_levels import Lubrications, care_levels, plain_levels
from wearlog.workshop.record_lives import Life, lives, survival
from wearlog.workshop.record_rates import comparisons, kind_rate
from wearlog.workshop.record_snapshot import Factor, KindRecord, RecordSnapshot

#: Steps that progress counts for each family.
_STEPS = 100


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A stretch of a longer way: one family of several."""

    whole: Progress
    number: int
    of: int

    def step(self, done: int, total: int, what: str) -> None:
        at = _STEPS * self.number + _STEPS * done // max(total, 1)
        self.whole.step(at, _STEPS * self.of, what)


def record_snapshot(
    bench: Bench, *, is_honest: bool = True, progress: Progress | None = None
) -> RecordSnapshot:
    """Return the fleet's own record; worked out again only if something changed.

    Parameters
    ----------
    bench
        Whose.
    is_honest
        Whether each forecast may know only what was known in its day; slower, since the fleet is learnt anew
        for several days of the past.
    progress
        Told how far the work is; may stop it.

    Raises
    ------
    Cancelled
        If the person asked to stop.
    """
    told = progress or Silent()
    known = learned(bench, told)
    state, today = fleet_state(bench), bench.today()
    place = f"record {'honest' if is_honest else 'quick'}"
    mark = (known.data_version, today)
    kept = bench.remembered.get(place)
    if kept is not None and kept[0] == mark and isinstance(kept[1], RecordSnapshot):
        return kept[1]
    lubrications = Lubrications.of(state)
    kinds: list[KindRecord] = []
    checked: list[FamilyChecks] = []
    families = [family for family in known.families.values() if family.items]
    for n, family in enumerate(families):
        checks = family_checks(family, is_honest, _Stretch(told, n, len(families)))
        checked.append(checks.by_part(family))
        kinds += _kinds(state, family, checks, lubrications, lives(state, family, today))
    told.step(_STEPS * len(families), _STEPS * max(len(families), 1), _("Comparing wear rates"))
    everything = joined(checked)
    snapshot = RecordSnapshot(
        today=today,
        is_honest=is_honest,
        kinds=tuple(sorted(kinds, key=lambda kind: (-kind.n_readings, kind.key))),
        readings=reliability_of_readings(everything.readings),
        distances=reliability_of_distances(everything.distances),
        data_version=known.data_version,
        n_vehicles=len(state.vehicles),
    )
    bench.remembered[place] = (mark, snapshot)
    return snapshot


def _kinds(
    state: FleetState,
    family: Family,
    checks: FamilyChecks,
    lubrications: Lubrications,
    found: dict[int, Life],
) -> list[KindRecord]:
    """Return the records of a family, one for each unit of use: km and hours don't compare."""
    unit_of = np.array([item.use_unit for item in family.items])
    made = []
    for unit in sorted(set(unit_of.tolist()), reverse=True):
        is_own = unit_of == unit
        rows = np.flatnonzero(is_own)
        parts = list(dict.fromkeys(family.items[row].installation.part_id for row in rows.tolist()))
        levels_of = _levels(state, parts, lubrications)
        own = checks.of(is_own).by_part(family)
        own_lives = [found[part] for part in parts if part in found]
        whole, by = survival(own_lives, [levels_of[life.installation.part_id] for life in own_lives])
        levels = [levels_of[family.items[row].installation.part_id] for row in rows.tolist()]
        types = [state.part_type_of(family.items[row].installation) for row in rows.tolist()]
        made.append(
            KindRecord(
                measurand=family.key[0],
                wear_class=family.key[1],
                use_unit=unit,
                n_parts=len(parts),
                n_readings=_n_readings(family, rows),
                readings=reliability_of_readings(own.readings),
                distances=reliability_of_distances(own.distances),
                rate=kind_rate(family, rows),
                comparisons=comparisons(
                    family, rows, levels, [one.chain or one.designation for one in types]
                ),
                survival=whole,
                survival_by=by,
                is_straight=family.fit.law.shape.is_straight,
            )
        )
    return made


def _n_readings(family: Family, rows: NDArray[np.int64]) -> int:
    table = family.readings
    number = table.row[rows][table.is_reading[rows]]
    return int((family.read.ids[number] > 0).sum())


def _levels(state: FleetState, parts: list[int], lubrications: Lubrications) -> dict[int, dict[Factor, str]]:
    cares = care_levels([lubrications.of_part(state, state.installations_of_part[part]) for part in parts])
    return {
        part: {**plain_levels(state, state.installations_of_part[part][-1]), **care}
        for part, care in zip(parts, cares, strict=True)
    }
