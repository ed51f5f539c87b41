"""What the fleet's readings have taught: every family of parts, fitted and kept."""

import json
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from wearlog import resources
from wearlog.fleet.fitting import Position
from wearlog.fleet.parts import PartKind
from wearlog.fleet.progress import Progress, Silent
from wearlog.fleet.reading import Measurand
from wearlog.forecast.family import FamilyData, FamilyFit, fit_family, refresh_family
from wearlog.forecast.posterior import Posterior
from wearlog.forecast.prior import FamilyPrior, WearPriors, read_wear_priors
from wearlog.forecast.readings import ReadingTable
from wearlog.forecast.suspect import caution_posterior, suspect_probability
from wearlog.store.columns import ReadingColumns, reading_columns
from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_state import WEAR_MEASURAND, FleetState, fleet_state
from wearlog.workshop.wear_items import FamilyKey, WearItem, wear_items
from wearlog.workshop.wear_readings import WearReadings, wear_readings

#: Theta and spreads are fitted anew when this share of the readings has changed.
REFIT_SHARE = 0.01
#: The path is chosen anew when this share of the readings has changed; it is the slowest step.
RESHAPE_SHARE = 0.10
#: A reading more suspect than this makes due dates cautious until somebody has looked at it.
CAUTION_FROM = 0.2


@dataclass(frozen=True, slots=True)
class Family:
    """One fitted family.

    Attributes
    ----------
    items
        The n parts, in the order of the arrays.
    cells
        Name of each cell.
    read
        Their readings, and the records behind them.
    suspect
        Chance that a reading is a gross error, shape (n, n_readings).
    caution
        The posterior with questioned readings taken as right; None if nothing is questioned.
    is_questioned
        Which parts have a questioned reading, shape (n,).
    """

    key: FamilyKey
    items: tuple[WearItem, ...]
    cells: tuple[str, ...]
    data: FamilyData
    kept: "KeptFit"
    read: WearReadings
    suspect: NDArray[np.float64]
    caution: Posterior | None
    is_questioned: NDArray[np.bool_]

    @property
    def fit(self) -> FamilyFit:
        """What the shop has learnt of the family."""
        return self.kept.fit

    @property
    def readings(self) -> ReadingTable:
        """The readings of all parts."""
        return self.data.readings

    def doubted(self, row: int) -> list[tuple[int, int]]:
        """Return number and ordinal day of the questioned readings of one part."""
        chances = self.suspect[row, : self.readings.count[row]]
        return [one for one, chance in zip(self.read.of(row), chances, strict=True) if chance > CAUTION_FROM]


@dataclass(frozen=True, slots=True)
class Learned:
    """All families, and where to find a part in them.

    `read_stages` holds total use and ordinal day of the latest reading taken on each stage, of whatever kind.
    """

    data_version: int
    families: dict[FamilyKey, Family]
    where: dict[tuple[int, Measurand], tuple[FamilyKey, int]]
    read_stages: dict[int, tuple[float, int]]

    def find(self, installation_id: int, measurand: Measurand) -> tuple[Family, int] | None:
        """Return the family of an installed part and its row there, or None."""
        place = self.where.get((installation_id, measurand))
        return None if place is None else (self.families[place[0]], place[1])


def wear_priors() -> WearPriors:
    """Return the engineering priors that are shipped."""
    return read_wear_priors(resources.toml("limits", "wear_priors.toml"))


def learned(bench: Bench, progress: Progress | None = None) -> Learned:
    """Return what the fleet's readings have taught; worked out again only if something changed."""
    with bench.learning:
        return _learned(bench, progress or Silent())


def _learned(bench: Bench, told: Progress) -> Learned:
    state = fleet_state(bench)
    known = bench.remembered.get("learned")
    if known is not None and known[0] == state.data_version and isinstance(known[1], Learned):
        return known[1]
    before = known[1] if known is not None and isinstance(known[1], Learned) else None
    told.step(0, 1, "Reading the fleet's measurements")
    with bench.database.reading() as records:
        columns = reading_columns(records)
        stored = {
            key: kept
            for key in _family_keys(state)
            if (kept := records.stored_fit(_family_name(key))) is not None
        }
    families: dict[FamilyKey, Family] = {}
    fresh: dict[FamilyKey, str] = {}
    grouped = wear_items(state)
    for n, (key, items) in enumerate(grouped.items()):
        told.step(n, len(grouped), "Learning from the fleet")
        family, is_refitted = _family(
            key, items, state, columns, before.families.get(key) if before else None, stored.get(key), told
        )
        families[key] = family
        if is_refitted:
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
        _read_stages(columns),
    )
    bench.remembered["learned"] = (state.data_version, result)
    if fresh:
        with bench.database.writing(by=bench.by, at=bench.now(), what="Forecast") as records:
            for key, payload in fresh.items():
                records.store_fit(_family_name(key), payload, state.data_version)
    return result


def _read_stages(columns: ReadingColumns) -> dict[int, tuple[float, int]]:
    order = np.argsort(columns.day, kind="stable")
    rows = zip(
        columns.stage_id[order].tolist(),
        columns.total_use[order].tolist(),
        columns.day[order].tolist(),
        strict=True,
    )
    return {stage_id: (use, day) for stage_id, use, day in rows}


def _family_name(key: FamilyKey) -> str:
    return f"{key[0].value}|{key[1].value}"


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
    before: Family | None,
    stored: tuple[str, int] | None,
    progress: Progress,
) -> tuple[Family, bool]:
    read = wear_readings(key[0], items, state, columns)
    table = read.table
    prior, cell_of, cells, engineering = _cells(key, items, state)
    data = FamilyData(
        readings=table,
        cell=cell_of,
        engineering_mean=engineering,
        vehicle=np.array([item.installation.vehicle_id for item in items], dtype=np.int64),
        limit=np.array([item.own_limit for item in items]),
    )
    if before is not None and _is_same(before.data, data) and before.kept.fit.prior == prior:
        # Another family changed; here only dates and places can have.
        return replace(before, items=tuple(items), cells=cells, read=read), False
    kept = before.kept if before is not None else None if stored is None else KeptFit.from_text(stored[0])
    span = float(np.median([abs(item.span) for item in items]))
    made = _fit(data, prior, span, kept, progress)
    rate_prior = made.fit.rate_prior()
    suspect = suspect_probability(table, rate_prior, made.fit.law)
    is_questioned = np.asarray(((suspect > CAUTION_FROM) & table.is_reading).any(axis=1))
    caution = None
    if is_questioned.any():
        caution = caution_posterior(table, rate_prior, made.fit.law, suspect, data.limits())
    family = Family(key, tuple(items), cells, data, made, read, suspect, caution, is_questioned)
    return family, kept is None or made.made_from != kept.made_from


def _is_same(before: FamilyData, now: FamilyData) -> bool:
    if len(before.readings) != len(now.readings):
        return False
    pairs = [
        (getattr(before.readings, name), getattr(now.readings, name)) for name in ("x", "y", "lo", "hi", "r")
    ]
    pairs += [(before.readings.x_start, now.readings.x_start), (before.limits(), now.limits())]
    pairs += [(before.engineering_mean, now.engineering_mean)]
    return (
        all(np.array_equal(one, other, equal_nan=True) for one, other in pairs)
        and np.array_equal(before.cell, now.cell)
        and np.array_equal(before.readings.count, now.readings.count)
    )


@dataclass(frozen=True, slots=True)
class KeptFit:
    """A fit and how many readings it was made from.

    Attributes
    ----------
    fit
        What the shop has learnt of a family.
    at_fit, at_shape
        Readings of the family when theta and the spreads were fitted, and when the path was chosen.
    span
        Median wear allowance of the parts then, canonical unit; another one makes all figures mean something
        else.
    """

    fit: FamilyFit
    at_fit: int
    at_shape: int
    span: float

    @property
    def made_from(self) -> tuple[int, int, float]:
        """What tells one full fit from another."""
        return self.at_fit, self.at_shape, self.span

    def to_text(self) -> str:
        """Return it as JSON text, to be kept."""
        counts = {"at_fit": self.at_fit, "at_shape": self.at_shape, "span": self.span}
        return json.dumps({**counts, "fit": self.fit.to_numbers()})

    @classmethod
    def from_text(cls, text: str) -> "KeptFit":
        """Return a kept one, without the posteriors of its parts."""
        numbers = json.loads(text)
        fit = FamilyFit.from_numbers(numbers["fit"])
        return cls(fit, numbers["at_fit"], numbers["at_shape"], numbers["span"])


def _fit(
    data: FamilyData, prior: FamilyPrior, span: float, kept: KeptFit | None, progress: Progress
) -> KeptFit:
    """Return the fit of a family: brought up to date, or made anew if enough has changed."""
    n = int(data.readings.count.sum())
    if kept is None or kept.fit.prior != prior or abs(kept.span / span - 1.0) > REFIT_SHARE:
        return KeptFit(fit_family(data, prior, None, progress), n, n, span)
    if _has_changed(n, kept.at_shape, RESHAPE_SHARE):
        return KeptFit(fit_family(data, prior, kept.fit, progress), n, n, span)
    if _has_changed(n, kept.at_fit, REFIT_SHARE):
        shape = kept.fit.law.shape
        return replace(kept, fit=fit_family(data, prior, kept.fit, progress, shape), at_fit=n)
    return replace(kept, fit=refresh_family(kept.fit, data, progress))


def _has_changed(readings: int, before: int, share: float) -> bool:
    return abs(readings - before) > share * max(before, 1)


def _cells(
    key: FamilyKey, items: list[WearItem], state: FleetState
) -> tuple[FamilyPrior, NDArray[np.int64], tuple[str, ...], NDArray[np.float64]]:
    priors = wear_priors()
    names: dict[str, int] = {}
    means: list[float] = []
    cell_of = np.zeros(len(items), dtype=np.int64)
    prior = _prior(priors, key, items[0], state)
    for row, item in enumerate(items):
        vehicle = state.vehicles[item.installation.vehicle_id]
        stage = state.stages[item.installation.stage_id]
        position = "" if item.installation.position is Position.RUN else item.installation.position.value
        name = f"{stage.name}|{position}|{vehicle.duty.value}|{item.use_unit}"
        if name not in names:
            names[name] = len(means)
            means.append(priors.cell_mean(_prior(priors, key, item, state), vehicle.duty.value))
        cell_of[row] = names[name]
    return prior, cell_of, tuple(names), np.array(means)


def _prior(priors: WearPriors, key: FamilyKey, item: WearItem, state: FleetState) -> FamilyPrior:
    measurand, wear_class = key
    if measurand is Measurand.CHAIN_ELONGATION:
        return priors.family_prior(wear_class.value, limit_percent=100.0 * item.span)
    if measurand is Measurand.SPROCKET_TOOTH_THICKNESS:
        return priors.family_prior(wear_class.value, chain=_chain_prior(priors, item, state))
    return priors.family_prior(wear_class.value)


def _chain_prior(priors: WearPriors, item: WearItem, state: FleetState) -> FamilyPrior | None:
    """Return the prior of the chain that runs on a sprocket: sprockets wear at a share of its rate."""
    for installation in reversed(state.installed_on.get(item.installation.stage_id, ())):
        part_type = state.part_type_of(installation)
        if part_type.kind is PartKind.CHAIN:
            limited = state.limit_of(installation, Measurand.CHAIN_ELONGATION)
            percent = None if limited is None else 100.0 * limited[0].service_limit
            return priors.family_prior(part_type.wear_class.value, limit_percent=percent)
    return None
