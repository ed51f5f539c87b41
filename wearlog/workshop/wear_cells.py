"""Cells of a family: parts of one stage and duty, and what is believed of each before any reading."""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from wearlog import resources
from wearlog.fleet.fitting import Position
from wearlog.fleet.parts import PartKind
from wearlog.fleet.reading import Measurand
from wearlog.forecast.prior import FamilyPrior, WearPriors, read_wear_priors
from wearlog.workshop.fleet_state import FleetState
from wearlog.workshop.wear_items import FamilyKey, WearItem


@cache
def wear_priors() -> WearPriors:
    """Return the engineering priors that are shipped."""
    return read_wear_priors(resources.toml("limits", "wear_priors.toml"))


def cells_of(
    key: FamilyKey,
    items: list[WearItem],
    state: FleetState,
    known: tuple[str, ...],
    known_means: NDArray[np.float64],
) -> tuple[FamilyPrior, NDArray[np.int64], tuple[str, ...], NDArray[np.float64]]:
    """Return prior, cell of each part, names and means of the cells; known cells keep their numbers."""
    priors = wear_priors()
    names: dict[str, int] = {name: number for number, name in enumerate(known)}
    means: list[float] = known_means.tolist()
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
