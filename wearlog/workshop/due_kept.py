"""The lines of a large fleet, kept in the database until the day is over.

Whoever starts the program again on that day, at whatever seat, reads them back and makes only those of the
vehicles anew that the audit trail tells of. They are of use as long as the day, the program, its language and
what the fleet has taught are the same.
"""

import json
from dataclasses import dataclass
from datetime import date
from gettext import gettext as _
from typing import Any

from wearlog import __version__
from wearlog.store.lazily import fit_versions
from wearlog.store.records import Records
from wearlog.workshop.bench import Bench
from wearlog.workshop.due_columns import LineColumns, fields_kept
from wearlog.workshop.exposed_use import ChainSetups, Geometry
from wearlog.workshop.fleet_state import FleetState, vehicles_changed
from wearlog.workshop.learn import family_name, learned

#: Fewer lines than this are made as fast as they are read.
LEAST_KEPT = 2000
#: Under which name they are kept.
NAME = "due list"


@dataclass(frozen=True, slots=True)
class Basis:
    """What was known of the whole fleet when lines were made.

    Attributes
    ----------
    trail
        The place in the audit trail then.
    fits
        The data version of each fit.
    readings
        How many readings each family had, by its name.
    setups
        The usual set-ups of each family, by its name.
    leads
        By how many stretches each of these leads the next one.
    """

    trail: int
    fits: dict[str, int]
    readings: dict[str, int]
    setups: dict[str, ChainSetups]
    leads: dict[str, int]


@dataclass(frozen=True, slots=True)
class KeptLines:
    """Lines that were kept, what they rest on, and which vehicles have changed since."""

    columns: LineColumns
    basis: Basis
    changed: frozenset[int]


def keep_lines(bench: Bench, state: FleetState, today: date, columns: LineColumns) -> None:
    """Keep the lines of a large fleet."""
    if len(columns) < LEAST_KEPT:
        return
    lessons = learned(bench)
    families = {
        family_name(key): {
            "readings": int(family.readings.count.sum()),
            "setups": _setups(lessons.setups.get(key)),
        }
        for key, family in lessons.families.items()
    }
    with bench.database.writing(by=bench.by, at=bench.now(), what="Forecast") as records:
        told = {"mark": _mark(today), "trail": state.trail, "fits": _fits(records), "families": families}
        text = json.dumps(told) + "\n" + columns.to_text()
        records.store_fit(NAME, text, state.data_version)


def kept_lines(bench: Bench, state: FleetState, today: date) -> KeptLines | None:
    """Return the lines that were kept, if they are still of use."""
    with bench.database.reading() as records:
        stored = records.stored_fit(NAME)
        if stored is None:
            return None
        head, _end, columns = stored[0].partition("\n")
        told = json.loads(head)
        if told["mark"] != _mark(today) or told["fits"] != _fits(records):
            return None
        changed = vehicles_changed(records, state, told["trail"])
    if changed is None:
        return None
    families: dict[str, dict[str, Any]] = told["families"]
    setups = {name: _setups_of(family["setups"]) for name, family in families.items()}
    leads = {
        name: min((lead for _pitch, _geometry, lead in family["setups"]), default=0)
        for name, family in families.items()
    }
    readings = {name: family["readings"] for name, family in families.items()}
    basis = Basis(told["trail"], told["fits"], readings, setups, leads)
    return KeptLines(LineColumns.from_text(columns), basis, changed)


def fits_are(bench: Bench, basis: Basis) -> bool:
    """Whether what the fleet has taught is still what lines were made from."""
    with bench.database.reading() as records:
        return _fits(records) == basis.fits


def _fits(records: Records) -> dict[str, int]:
    return {name: version for name, version in fit_versions(records).items() if name != NAME}


def _mark(today: date) -> list[str]:
    # The entry of the empty text tells which translation is used.
    return [today.isoformat(), __version__, _(""), fields_kept()]


def _setups(chains: ChainSetups | None) -> list[tuple[float, Geometry, int]]:
    if chains is None:
        return []
    leads = chains.leads()
    return [(pitch, geometry, leads[pitch]) for pitch, geometry in chains.usual.items()]


def _setups_of(told: list[tuple[float, list[Any], int]]) -> ChainSetups:
    usual: dict[float, Geometry] = {
        pitch: (geometry[0], geometry[1], geometry[2], geometry[3]) for pitch, geometry, _lead in told
    }
    return ChainSetups({}, usual, is_settled=True)
