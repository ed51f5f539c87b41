"""What the fleet's readings have taught: every family of parts, fitted and kept."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from weakref import ReferenceType, ref

import numpy as np
from numpy.typing import NDArray

from wearlog.fleet.parts import WearClass
from wearlog.fleet.progress import Progress, Silent
from wearlog.fleet.reading import Measurand
from wearlog.forecast.family import FamilyData, FamilyFit, fit_family
from wearlog.forecast.posterior import Posterior
from wearlog.forecast.prior import FamilyPrior
from wearlog.forecast.readings import ReadingTable
from wearlog.forecast.suspect import caution_posterior, suspect_probability
from wearlog.store.columns import ReadingColumns, reading_columns
from wearlog.workshop.bench import Bench
from wearlog.workshop.duty_use import weighed_by_duty
from wearlog.workshop.exposed_use import ChainSetups
from wearlog.workshop.fleet_state import WEAR_MEASURAND, FleetState, fleet_state
from wearlog.workshop.kept_fit import KeptFit, PartKey, part_key, spliced, spliced_fit, spliced_table
from wearlog.workshop.wear_cells import cells_of, wear_priors
from wearlog.workshop.wear_items import FamilyKey, WearItem, wear_items
from wearlog.workshop.wear_readings import WearReadings, wear_readings

__all__ = [
    "REFIT_SHARE",
    "Family",
    "Home",
    "Learned",
    "family_data",
    "family_key",
    "family_name",
    "family_told",
    "last_read",
    "learned",
    "wear_priors",
]

#: Theta and spreads are fitted anew when this share of the readings has changed.
REFIT_SHARE = 0.01
#: The path is chosen anew when this share of the readings has changed; it is the slowest step.
RESHAPE_SHARE = 0.10
#: A reading more suspect than this makes due dates cautious until somebody has looked at it.
CAUTION_FROM = 0.2


class Home:
    """Where the newest state of a family is found; its rows stay where they are while only some change."""

    def __init__(self) -> None:
        self.family: Family | None = None


@dataclass(frozen=True, slots=True)
class Family:
    """One fitted family.

    Attributes
    ----------
    items
        The n parts, in the order of the arrays.
    cells
        Name of each cell.
    kept
        The last full fit.
    fit
        What it says of the n parts after their readings.
    read
        Their readings, and the records behind them.
    suspect
        Chance that a reading is a gross error, shape (n, n_readings).
    is_questioned
        Which parts have a questioned reading, shape (n,).
    place
        Row of each part.
    known_home
        Where the newest state of this family is found, as long as anybody holds it: a family and its home
        would else keep each other alive.
    """

    key: FamilyKey
    items: tuple[WearItem, ...]
    cells: tuple[str, ...]
    data: FamilyData
    kept: KeptFit
    fit: FamilyFit
    read: WearReadings
    suspect: NDArray[np.float64]
    is_questioned: NDArray[np.bool_]
    place: Mapping[PartKey, int]
    known_home: "ReferenceType[Home]"

    @property
    def home(self) -> Home:
        """Where the newest state of this family is found."""
        found = self.known_home()
        if found is None:
            found = Home()
            found.family = self
        return found

    @property
    def readings(self) -> ReadingTable:
        """The readings of all parts."""
        return self.data.readings

    def doubted(self, row: int) -> list[tuple[int, int]]:
        """Return number and ordinal day of the questioned readings of one part."""
        chances = self.suspect[row, : self.readings.count[row]]
        return [one for one, chance in zip(self.read.of(row), chances, strict=True) if chance > CAUTION_FROM]

    def caution(self, rows: NDArray[np.int64]) -> Posterior:
        """Return what would be known of some parts if their questioned readings were right."""
        readings = self.readings.take(rows)
        return caution_posterior(
            readings,
            self.fit.rate_prior(rows),
            self.fit.law,
            self.suspect[rows, : readings.x.shape[1]],
            self.data.limits()[rows],
        )

    def similar(self, rows: Sequence[int]) -> NDArray[np.int64]:
        """Return from how many parts of the fit some parts borrow: of their cell, or of the family."""
        fit = self.kept.fit
        is_read = np.append(fit.messages.is_informative, False)
        in_fit = np.append(fit.layout.cell, -1)
        of_cell = np.bincount(in_fit[is_read], minlength=len(self.cells))
        place = np.array([self.kept.place.get(part_key(self.items[row]), -1) for row in rows], dtype=np.int64)
        cell = self.data.cell[list(rows)]
        beside = of_cell[cell] - (is_read[place] & (in_fit[place] == cell))
        return np.where(beside > 0, beside, int(is_read.sum()) - is_read[place]).astype(np.int64)


@dataclass(frozen=True, slots=True)
class Learned:
    """All families, and where to find a part in them.

    `read_stages` holds total use and ordinal day of the latest reading taken on each stage, of whatever kind;
    `setups` what the chains of each family ran on, `homes` where the newest state of each is found.
    """

    data_version: int
    families: dict[FamilyKey, Family]
    where: dict[tuple[int, Measurand], tuple[FamilyKey, int]]
    read_stages: dict[int, tuple[float, int]]
    setups: dict[FamilyKey, ChainSetups]
    homes: dict[FamilyKey, Home]

    def find(self, installation_id: int, measurand: Measurand) -> tuple[Family, int] | None:
        """Return the family of an installed part and its row there, or None."""
        place = self.where.get((installation_id, measurand))
        return None if place is None else (self.families[place[0]], place[1])


def learned(bench: Bench, progress: Progress | None = None) -> Learned:
    """Return what the fleet's readings have taught; worked out again only if something changed."""
    with bench.learning:
        state = fleet_state(bench)
        known = bench.remembered.get("learned")
        before = known[1] if known is not None and isinstance(known[1], Learned) else None
        if before is not None and before.data_version == state.data_version:
            return before
        result = None if before is None else _with_changes(bench, state, before)
        if result is None:
            result = _learned_anew(bench, state, before, progress or Silent())
        bench.remembered["learned"] = (state.data_version, result)
        return result


def _learned_anew(bench: Bench, state: FleetState, before: Learned | None, told: Progress) -> Learned:
    told.step(0, 1, "Reading the fleet's measurements")
    with bench.database.reading() as records:
        columns = reading_columns(records)
        stored = {key: records.stored_fit(family_name(key)) for key in _family_keys(state)}
    families: dict[FamilyKey, Family] = {}
    fresh: dict[FamilyKey, str] = {}
    homes: dict[FamilyKey, Home] = {}
    grouped, setups = wear_items(state)
    priors = wear_priors()
    for n, (key, plain) in enumerate(grouped.items()):
        told.step(n, len(grouped), "Learning from the fleet")
        items = weighed_by_duty(state, priors, plain)
        kept = before.families[key].kept if before is not None and key in before.families else None
        written = stored.get(key)
        if kept is None and written is not None:
            kept = KeptFit.from_text(written[0])
        homes[key] = Home()
        families[key] = family = _family(key, items, state, columns, kept, homes[key], told)
        homes[key].family = family
        if family.kept is not kept:
            fresh[key] = family.kept.to_text()
    result = Learned(
        state.data_version,
        families,
        {
            (installation_id, key[0]): (key, row)
            for key, family in families.items()
            for row, item in enumerate(family.items)
            for installation_id in item.offsets
        },
        last_read(columns),
        setups,
        homes,
    )
    if fresh:
        with bench.database.writing(by=bench.by, at=bench.now(), what="Forecast") as records:
            for key, payload in fresh.items():
                records.store_fit(family_name(key), payload, state.data_version)
    return result


def _with_changes(bench: Bench, state: FleetState, before: Learned) -> Learned | None:
    """Return the families with the parts of changed vehicles worked out again; None if that is not enough."""
    changed = state.changed_since(before.data_version)
    if changed is None:
        return None
    if not changed:
        return replace(before, data_version=state.data_version)
    stages = {stage.id for vehicle_id in changed for stage in state.stages_of.get(vehicle_id, ())}
    parts = {one.part_id for stage_id in stages for one in state.installed_on.get(stage_id, ())}
    grouped, setups = wear_items(state, parts, before.setups)
    priors = wear_priors()
    if any(key not in before.families for key in grouped) or any(
        chains.usual != before.setups[key].usual for key, chains in setups.items() if key in before.setups
    ):
        return None
    with bench.database.reading() as records:
        columns = reading_columns(records, changed)
    families, where = dict(before.families), dict(before.where)
    for key, family in before.families.items():
        items = weighed_by_duty(state, priors, grouped.get(key, []))
        here = {part_key(item) for item in items}
        # Places are kept in the order of the rows.
        keys = list(family.place)
        rows = np.flatnonzero(np.isin(_given(family.data.vehicle), list(changed))).tolist()
        if any(keys[row] not in here for row in rows):
            return None
        if not items:
            continue
        joined = _joined(family, items, state, columns)
        if joined is None:
            return None
        families[key] = joined
        for item in items:
            row = joined.place[part_key(item)]
            where |= {(installation_id, key[0]): (key, row) for installation_id in item.offsets}
    read_stages = {number: read for number, read in before.read_stages.items() if number not in stages}
    # Only once all is well: whoever holds a row of a family finds its newest state there.
    for key, family in families.items():
        before.homes[key].family = family
    return Learned(
        state.data_version, families, where, read_stages | last_read(columns), setups, before.homes
    )


def _joined(
    family: Family, items: list[WearItem], state: FleetState, columns: ReadingColumns
) -> Family | None:
    """Return a family with some parts as they are now, "everything else kept"; None if it is to be fitted."""
    read = wear_readings(family.key[0], items, state, columns)
    _prior, cell, cells, engineering = cells_of(
        family.key, items, state, family.cells, family.data.engineering_mean
    )
    place = dict(family.place)
    for item in items:
        place.setdefault(part_key(item), len(place))
    rows = np.array([place[part_key(item)] for item in items], dtype=np.int64)
    some = family_data(items, read.table, cell, engineering)
    table = spliced_table(family.readings, read.table, rows, family.read.ids.size)
    if _has_changed(int(table.count.sum()), family.kept.at_fit, REFIT_SHARE):
        return None
    before = family.data
    data = FamilyData(
        readings=table,
        cell=spliced(before.cell, some.cell, rows),
        engineering_mean=engineering,
        vehicle=spliced(_given(before.vehicle), _given(some.vehicle), rows),
        limit=spliced(before.limits(), some.limits(), rows),
    )
    fit = family.kept.said_of(items, some)
    suspect = suspect_probability(read.table, fit.rate_prior(), fit.law)
    is_questioned = np.asarray(((suspect > CAUTION_FROM) & read.table.is_reading).any(axis=1))
    every = list(family.items) + [items[0]] * (len(place) - len(family.items))
    for row, item in zip(rows.tolist(), items, strict=True):
        every[row] = item
    return Family(
        key=family.key,
        items=tuple(every),
        cells=cells,
        data=data,
        kept=family.kept,
        fit=spliced_fit(family.fit, fit, rows, data, family.kept),
        read=WearReadings(
            table,
            np.concatenate([family.read.ids, read.ids]),
            np.concatenate([family.read.days, read.days]),
        ),
        suspect=spliced(family.suspect, suspect, rows, 0.0),
        is_questioned=spliced(family.is_questioned, is_questioned, rows),
        place=place,
        known_home=family.known_home,
    )


def _given(vehicle: NDArray[np.int64] | None) -> NDArray[np.int64]:
    return np.zeros(0, dtype=np.int64) if vehicle is None else vehicle


def last_read(columns: ReadingColumns) -> dict[int, tuple[float, int]]:
    """Return total use and ordinal day of the latest of some readings on each stage."""
    order = np.argsort(columns.day, kind="stable")
    rows = zip(
        columns.stage_id[order].tolist(),
        columns.total_use[order].tolist(),
        columns.day[order].tolist(),
        strict=True,
    )
    return {stage_id: (use, day) for stage_id, use, day in rows}


def family_name(key: FamilyKey) -> str:
    """Return under which name the fit of a family is kept."""
    return f"{key[0].value}|{key[1].value}"


def family_key(name: str) -> FamilyKey:
    """Return the family of a name."""
    measurand, wear_class = name.split("|")
    return Measurand(measurand), WearClass(wear_class)


def _family_keys(state: FleetState) -> set[FamilyKey]:
    return {
        (WEAR_MEASURAND[part_type.kind], part_type.wear_class)
        for part_type in state.part_types.values()
        if part_type.kind in WEAR_MEASURAND
    }


def _family(
    key: FamilyKey,
    items: list[WearItem],
    state: FleetState,
    columns: ReadingColumns,
    kept: KeptFit | None,
    home: Home,
    progress: Progress,
) -> Family:
    read = wear_readings(key[0], items, state, columns)
    old = ((), np.zeros(0)) if kept is None else (kept.cells, kept.fit.layout.engineering_mean)
    prior, cell, cells, engineering = cells_of(key, items, state, *old)
    data = family_data(items, read.table, cell, engineering)
    n = int(data.readings.count.sum())
    span = float(np.median([abs(item.span) for item in items]))
    place = {part_key(item): row for row, item in enumerate(items)}
    if kept is not None and _still_counts(kept, prior, span, n):
        fit = kept.said_of(items, data)
    else:
        prior, cell, cells, engineering = cells_of(key, items, state, (), np.zeros(0))
        data = replace(data, cell=cell, engineering_mean=engineering)
        made, at_shape = _fitted(data, prior, span, kept, progress)
        fresh = KeptFit(replace(made, shown=None), place, cells, n, at_shape, span)
        # As it will be read again, so that a new start of the program changes nothing.
        kept = KeptFit.from_text(fresh.to_text()) or fresh
        fit = kept.said_of(items, data)
    return family_told(key, items, cells, data, kept, fit, read, home)


def family_told(
    key: FamilyKey,
    items: Sequence[WearItem],
    cells: tuple[str, ...],
    data: FamilyData,
    kept: KeptFit,
    fit: FamilyFit,
    read: WearReadings,
    home: Home,
) -> Family:
    """Return a family of which it is known what its fit says, with its questioned readings."""
    suspect = suspect_probability(read.table, fit.rate_prior(), fit.law)
    is_questioned = np.asarray(((suspect > CAUTION_FROM) & read.table.is_reading).any(axis=1))
    place = {part_key(item): row for row, item in enumerate(items)}
    return Family(key, tuple(items), cells, data, kept, fit, read, suspect, is_questioned, place, ref(home))


def family_data(
    items: list[WearItem], table: ReadingTable, cell: NDArray[np.int64], engineering: NDArray[np.float64]
) -> FamilyData:
    """Return what the forecast is told of some parts."""
    return FamilyData(
        readings=table,
        cell=cell,
        engineering_mean=engineering,
        vehicle=np.array([item.installation.vehicle_id for item in items], dtype=np.int64),
        limit=np.array([item.own_limit for item in items]),
    )


def _still_counts(kept: KeptFit, prior: FamilyPrior, span: float, readings: int) -> bool:
    """Whether a kept fit is still what the fleet says, but for the parts that changed."""
    is_alike = kept.fit.prior == prior and abs(kept.span / span - 1.0) <= REFIT_SHARE
    return is_alike and not _has_changed(readings, kept.at_fit, REFIT_SHARE)


def _fitted(
    data: FamilyData, prior: FamilyPrior, span: float, kept: KeptFit | None, progress: Progress
) -> tuple[FamilyFit, int]:
    """Return the full fit of a family, and how many readings its path was chosen from."""
    n = int(data.readings.count.sum())
    if kept is None or kept.fit.prior != prior or abs(kept.span / span - 1.0) > REFIT_SHARE:
        return fit_family(data, prior, None, progress), n
    if _has_changed(n, kept.at_shape, RESHAPE_SHARE):
        return fit_family(data, prior, kept.fit, progress), n
    return fit_family(data, prior, kept.fit, progress, kept.fit.law.shape), kept.at_shape


def _has_changed(readings: int, before: int, share: float) -> bool:
    return abs(readings - before) > share * max(before, 1)
