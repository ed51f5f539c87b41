"""The parts whose wear is followed, each with its limit and its own distance scale."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wearlog.fleet.fitting import Installation
from wearlog.fleet.limit import Limit, limit_for
from wearlog.fleet.parts import PartKind, PartType, WearClass
from wearlog.fleet.reading import Measurand
from wearlog.fleet.service import Task
from wearlog.workshop.exposed_use import USUAL, ChainSetups, ExposedUse
from wearlog.workshop.fleet_state import WEAR_MEASURAND, FleetState

#: Use that counts as one unit of distance in the forecast.
USE_SCALE = {"km": 1000.0, "h": 100.0}

FamilyKey = tuple[Measurand, WearClass]


@dataclass(frozen=True, slots=True)
class WearItem:
    """One part (or one spell between tensionings of a belt) whose wear is followed.

    Attributes
    ----------
    installation
        Where it is, or was last.
    measurand
        What is measured on it.
    limit, limit_why
        Its own limit, and why that one governs.
    use_unit
        ``"km"`` or ``"h"``.
    as_new, span
        value = as_new + u x span turns the forecast's share of the reference allowance into the measurand's
        canonical unit.
    since_use
        Total use at which a belt was last tensioned; None for parts that wear from new.
    offsets
        By installation: what must be added to the vehicle's total use to get the use on the part.
    exposed
        How use on the part counts: the forecast's distance is on the family's usual set-up.
    """

    installation: Installation
    measurand: Measurand
    limit: Limit
    limit_why: str
    use_unit: str
    as_new: float
    span: float
    since_use: float | None
    until_use: float | None
    offsets: Mapping[int, float]
    exposed: ExposedUse = USUAL

    @property
    def scale(self) -> float:
        """Use in one unit of the forecast's distance, km (h)."""
        return USE_SCALE[self.use_unit]

    @property
    def own_limit(self) -> float:
        """The own limit over the family's reference limit, [-]."""
        return (self.limit.service_limit - self.as_new) / self.span

    @property
    def offset(self) -> float:
        """What must be added to the vehicle's total use to get the use on the part, where it is now."""
        return self.offsets[self.installation.id]

    @property
    def is_current(self) -> bool:
        """Whether the part (or the spell) is still running."""
        return self.installation.is_current and self.until_use is None

    def has_at(self, total_use: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Whether readings at these total uses belong to it.

        What is read at a tensioning is the tension found, so it ends the spell before it.
        """
        if self.since_use is None:
            return np.ones(total_use.shape, dtype=np.bool_)
        is_first = self.since_use == self.installation.fitted_use
        end = np.inf if self.until_use is None else self.until_use
        return ((total_use > self.since_use) | is_first) & (total_use <= end)

    def x_of(self, use: ArrayLike) -> NDArray[np.float64]:
        """Return the forecast's distance at a use on the part, km (h)."""
        return self.exposed.exposed(use) / self.scale

    def use_of(self, x: ArrayLike) -> NDArray[np.float64]:
        """Return the use on the part at the forecast's distance x, km (h)."""
        return self.exposed.use(np.asarray(x, dtype=np.float64) * self.scale)

    def x_at(self, total_use: float) -> float:
        """Return the forecast's distance at a total use of the vehicle it is on."""
        return float(self.x_of(total_use + self.offset))

    def total_use_at(self, x: float) -> float:
        """Return the vehicle's total use at the forecast's distance x."""
        return float(self.use_of(x)) - self.offset

    def ahead_of(self, total_use: float, x: ArrayLike) -> NDArray[np.float64]:
        """Return the use from a total use of the vehicle to the forecast's distance x, km (h)."""
        return self.use_of(x) - (total_use + self.offset)

    def value_of(self, u: float) -> float:
        """Return the measurand's value at a share u of the reference allowance."""
        return self.as_new + u * self.span

    def share_of(self, u: float) -> float:
        """Return the share of the part's own allowance at a share u of the reference allowance."""
        return u / self.own_limit


def wear_items(
    state: FleetState,
    part_ids: Collection[int] | None = None,
    setups: Mapping[FamilyKey, ChainSetups] | None = None,
) -> tuple[dict[FamilyKey, list[WearItem]], dict[FamilyKey, ChainSetups]]:
    """Return parts whose wear is followed, by family, and what their chains run on.

    Parameters
    ----------
    part_ids
        Which parts; all if None.
    setups
        What the chains of the fleet are known to run on, if only some parts are wanted.
    """
    grouped: dict[FamilyKey, list[WearItem]] = defaultdict(list)
    chains: dict[FamilyKey, dict[int, tuple[Installation, ...]]] = defaultdict(dict)
    limits = _Limits(state)
    for part_id in sorted(state.installations_of_part if part_ids is None else part_ids):
        installations = state.installations_of_part.get(part_id, ())
        if not installations:
            continue
        part_type = state.part_types[state.parts[part_id].part_type_id]
        measurand = WEAR_MEASURAND.get(part_type.kind)
        limited = None if measurand is None else limits.of(installations[-1], measurand)
        if measurand is None or limited is None:
            continue
        key = (measurand, part_type.wear_class)
        if part_type.kind is PartKind.BELT:
            for installation in installations:
                grouped[key].extend(_tension_spells(state, installation, *limited))
        else:
            grouped[key].append(_part_item(state, installations, measurand, *limited))
            if part_type.kind is PartKind.CHAIN:
                chains[key][part_id] = installations
    known = dict(setups or {})
    for key, lives in chains.items():
        known[key] = known.get(key, ChainSetups({}, {})).changed(state, lives)
        grouped[key] = [
            item
            if (exposed := known[key].exposed(item.installation.part_id)).is_usual
            else replace(item, exposed=exposed)
            for item in grouped[key]
        ]
    return dict(grouped), known


class _Limits:
    """The limit of each part, found once for all parts alike."""

    def __init__(self, state: FleetState) -> None:
        self._state = state
        self._own = {limit.vehicle_id for limit in state.limits}
        self._known: dict[object, tuple[Limit, str] | None] = {}

    def of(self, installation: Installation, measurand: Measurand) -> tuple[Limit, str] | None:
        state = self._state
        vehicle_id = installation.vehicle_id
        alike = (
            measurand,
            state.parts[installation.part_id].part_type_id,
            state.vehicles[vehicle_id].model,
            state.stages[installation.stage_id].name,
            vehicle_id if vehicle_id in self._own else None,
            max((n.teeth or 0 for n in self._sprockets(installation)), default=0),
        )
        if alike not in self._known:
            self._known[alike] = state.limit_of(installation, measurand)
        return self._known[alike]

    def _sprockets(self, installation: Installation) -> list[PartType]:
        types = (self._state.part_type_of(one) for one in self._state.current_on(installation.stage_id))
        return [one for one in types if one.kind is PartKind.SPROCKET]


def _part_item(
    state: FleetState,
    installations: tuple[Installation, ...],
    measurand: Measurand,
    limit: Limit,
    why: str,
) -> WearItem:
    last = installations[-1]
    offsets = {i.id: state.use_on_part(i, i.fitted_use) - i.fitted_use for i in installations}
    reference = limit
    if measurand is Measurand.CHAIN_ELONGATION:
        # All chains of a class share one scale, so that a vehicle's own limit never touches the fit.
        wear_class = state.part_type_of(last).wear_class
        reference = limit_for(state.limits_of[measurand], measurand, wear_class) or limit
    return WearItem(
        installation=last,
        measurand=measurand,
        limit=limit,
        limit_why=why,
        use_unit=state.vehicles[last.vehicle_id].meter_unit.use_unit,
        as_new=limit.as_new,
        span=reference.service_limit - limit.as_new,
        since_use=None,
        until_use=None,
        offsets=offsets,
    )


def _tension_spells(state: FleetState, belt: Installation, limit: Limit, why: str) -> Iterable[WearItem]:
    """Yield the spells of a belt between tensionings: setting the tension starts its fall anew."""
    end = np.inf if belt.removed_use is None else belt.removed_use
    starts = [belt.fitted_use]
    starts += [
        visit.total_use
        for visit in state.visits_of.get(belt.vehicle_id, ())
        for done in visit.tasks
        if done.task is Task.TENSION_SET
        and done.stage_id == belt.stage_id
        and belt.fitted_use < visit.total_use < end
    ]
    starts = sorted(set(starts))
    for start, following in zip(starts, [*starts[1:], None], strict=True):
        yield WearItem(
            installation=belt,
            measurand=Measurand.BELT_TENSION,
            limit=limit,
            limit_why=why,
            use_unit=state.vehicles[belt.vehicle_id].meter_unit.use_unit,
            as_new=limit.as_new,
            span=limit.service_limit - limit.as_new,
            since_use=start,
            until_use=following,
            offsets={belt.id: -start},
        )
