"""The outlook of the parts of some vehicles, without learning anew what the rest of the fleet says.

What is known of a part depends on its own readings and the kept fit alone, so a few vehicles can be told of
without the other ten thousand; as long as nothing has changed that would have the fleet say something else.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from wearlog.fleet.reading import Measurand
from wearlog.store.columns import reading_columns
from wearlog.store.lazily import trodden_since
from wearlog.workshop.bench import Bench
from wearlog.workshop.due_kept import Basis, fits_are
from wearlog.workshop.duty_use import weighed_by_duty
from wearlog.workshop.fleet_state import MOST_CHANGES, FleetState
from wearlog.workshop.kept_fit import KeptFit
from wearlog.workshop.learn import (
    REFIT_SHARE,
    Family,
    Home,
    family_data,
    family_key,
    family_name,
    family_told,
    last_read,
)
from wearlog.workshop.outlook import Outlook, family_outlooks
from wearlog.workshop.usage import vehicle_uses
from wearlog.workshop.wear_cells import cells_of, wear_priors
from wearlog.workshop.wear_items import FamilyKey, WearItem, wear_items
from wearlog.workshop.wear_readings import WearReadings, wear_readings


@dataclass(frozen=True, slots=True)
class SomeOutlooks:
    """Outlooks of the running parts of some vehicles; the latest reading taken on each of their stages."""

    outlooks: dict[tuple[int, Measurand], Outlook]
    read_stages: dict[int, tuple[float, int]]


def outlooks_of_some(
    bench: Bench, state: FleetState, basis: Basis, vehicles: Collection[int]
) -> SomeOutlooks | None:
    """Return the outlook of the parts of some vehicles; None if the fleet may say something else by now.

    Parameters
    ----------
    basis
        What was known of the whole fleet when it was last looked at.
    """
    if not fits_are(bench, basis):
        return None
    stages = {stage.id for number in vehicles for stage in state.stages_of.get(number, ())}
    parts = {one.part_id for stage_id in stages for one in state.installed_on.get(stage_id, ())}
    setups = {family_key(name): chains for name, chains in basis.setups.items()}
    grouped, _setups = wear_items(state, parts, setups)
    with bench.database.reading() as records:
        columns = reading_columns(records, vehicles)
        trodden = trodden_since(records, basis.trail, MOST_CHANGES)
    uses = vehicle_uses(bench)
    fits = _kept_fits(bench, basis)
    if trodden is None or not fits_are(bench, basis):
        return None
    found: dict[tuple[int, Measurand], Outlook] = {}
    for key, plain in grouped.items():
        kept, name = fits.get(key), family_name(key)
        if kept is None or not still_holds(kept, basis, name, trodden.records):
            return None
        items = weighed_by_duty(state, wear_priors(), plain)
        home = Home()
        read = wear_readings(key[0], items, state, columns)
        home.family = family = _family(key, items, state, kept, home, read)
        rows = [
            row
            for row, item in enumerate(items)
            if item.is_current and state.vehicles[item.installation.vehicle_id].retired_on is None
        ]
        if rows:
            posterior = family.fit.posterior.take(rows)
            for one in family_outlooks(state, uses, family, rows, posterior, bench.today().toordinal()):
                found[one.item.installation.id, one.item.measurand] = one
    return SomeOutlooks(found, last_read(columns))


def still_holds(kept: KeptFit, basis: Basis, name: str, changes: Mapping[str, Collection[int]]) -> bool:
    """Return whether a fit, and the set-up that distances are counted on, hold after some changes.

    Each change is counted as if it had brought or taken a reading, each of a fitting as if it had put two
    stretches of a chain's life on another set-up.

    Parameters
    ----------
    name
        Name of the family.
    changes
        Numbers of the records that were changed, by kind.
    """
    if name not in basis.readings:
        return False
    count = {kind: len(changes.get(kind, ())) for kind in ("Reading", "Visit", "Installation", "Part")}
    moved = abs(basis.readings[name] - kept.at_fit) + sum(count.values())
    refitted = 2 * (count["Installation"] + count["Part"])
    is_usual = refitted == 0 or not basis.setups[name].usual or refitted < basis.leads[name]
    return is_usual and moved <= REFIT_SHARE * max(kept.at_fit, 1)


def _family(
    key: FamilyKey, items: list[WearItem], state: FleetState, kept: KeptFit, home: Home, read: WearReadings
) -> Family:
    known = kept.fit.layout.engineering_mean
    _prior, cell, cells, engineering = cells_of(key, items, state, kept.cells, known)
    data = family_data(items, read.table, cell, engineering)
    return family_told(key, items, cells, data, kept, kept.said_of(items, data), read, home)


def _kept_fits(bench: Bench, basis: Basis) -> dict[FamilyKey, KeptFit]:
    """Return the fits that are kept, read once."""
    known = bench.remembered.get("kept fits")
    if known is not None and known[0] == basis.fits and isinstance(known[1], dict):
        return known[1]
    found: dict[FamilyKey, KeptFit] = {}
    with bench.database.reading() as records:
        for name in basis.readings:
            stored = records.stored_fit(name)
            kept = None if stored is None else KeptFit.from_text(stored[0])
            if kept is not None:
                found[family_key(name)] = kept
    bench.remembered["kept fits"] = (basis.fits, found)
    return found
