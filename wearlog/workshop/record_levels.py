"""What parts have in common: stage, duty, type, lot, and how they were cared for."""

import math
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.service import Task
from wearlog.workshop.fleet_state import FleetState
from wearlog.workshop.record_snapshot import Factor

#: Lubrications from which on the interval between them says something.
TELLING_LUBRICATIONS = 2


@dataclass(frozen=True, slots=True)
class CareOfPart:
    """How a part was lubricated while it ran.

    Attributes
    ----------
    product
        The lubricant that was noted most often; empty if none was.
    times
        How often it was lubricated.
    use
        Use in which that was, km (h).
    """

    product: str
    times: int
    use: float

    @property
    def every(self) -> float | None:
        """Mean use between lubrications; None if there were too few to tell."""
        return self.use / self.times if self.times >= TELLING_LUBRICATIONS else None


@dataclass(frozen=True, slots=True)
class Lubrications:
    """When each stage was lubricated: total use of the vehicle and the product noted, in order."""

    of_stage: dict[int, list[tuple[float, str]]]

    @classmethod
    def of(cls, state: FleetState) -> "Lubrications":
        """Read them off the visits; a visit that names no stage counts for all of its vehicle."""
        found: dict[int, list[tuple[float, str]]] = defaultdict(list)
        spelt: dict[str, str] = {}
        for vehicle_id, visits in state.visits_of.items():
            stages = [stage.id for stage in state.stages_of.get(vehicle_id, ())]
            for visit in visits:
                for done in visit.tasks:
                    if done.task is Task.LUBRICATED:
                        word = done.care.strip()
                        # One product, however its capitals were typed.
                        product = spelt.setdefault(word.casefold(), word)
                        for stage_id in stages if done.stage_id is None else [done.stage_id]:
                            found[stage_id].append((visit.total_use, product))
        return cls(dict(found))

    def of_part(self, state: FleetState, installations: Iterable[Installation]) -> CareOfPart:
        """Return how one part was cared for, over all places it ran in."""
        products: Counter[str] = Counter()
        times, use = 0, 0.0
        for installation in installations:
            end = end_of_use(state, installation)
            use += max(end - installation.fitted_use, 0.0)
            for total_use, product in self.of_stage.get(installation.stage_id, ()):
                # What is done on the day a part comes off is done for the next one.
                if installation.fitted_use <= total_use < end or (
                    installation.is_current and total_use == end
                ):
                    times += 1
                    if product:
                        products[product] += 1
        most = max(products, key=lambda word: (products[word], word), default="")
        return CareOfPart(most, times, use)


def end_of_use(state: FleetState, installation: Installation) -> float:
    """Return the vehicle's total use at which a part came off, or that of the last meter entry."""
    if installation.removed_use is not None:
        return installation.removed_use
    last = state.histories[installation.vehicle_id].last
    return installation.fitted_use if last is None else max(last.total_use, installation.fitted_use)


def place_level(state: FleetState, installation: Installation) -> str:
    """Return stage and position, as one level."""
    stage = state.stages[installation.stage_id].name
    position = "" if installation.position is Position.RUN else installation.position.value
    return f"{stage}|{position}"


def plain_levels(state: FleetState, installation: Installation) -> dict[Factor, str]:
    """Return stage, duty, type and lot of a part; what nobody noted is left out."""
    vehicle = state.vehicles[installation.vehicle_id]
    lot = state.parts[installation.part_id].lot.strip()
    levels = {
        Factor.STAGE: place_level(state, installation),
        Factor.DUTY: vehicle.duty.value,
        Factor.PART_TYPE: state.part_type_of(installation).name,
    }
    return {**levels, Factor.LOT: lot} if lot else levels


def care_levels(cares: list[CareOfPart]) -> list[dict[Factor, str]]:
    """Return product and interval of each part of one kind; the interval is halved at its median.

    The interval's level is ``"<"`` or ``">"`` with the use that parts the two; parts that ran too short to
    tell are left out.
    """
    told = sorted(care.every for care in cares if care.every is not None)
    middle = _rounded(told[len(told) // 2]) if told else math.inf
    levels = []
    for care in cares:
        level: dict[Factor, str] = {}
        if care.product:
            level[Factor.CARE] = care.product
        every = care.every
        if every is None and care.use > TELLING_LUBRICATIONS * middle:
            every = math.inf
        if every is not None:
            level[Factor.CARE_INTERVAL] = f"{'<' if every <= middle else '>'}{middle:g}"
        levels.append(level)
    return levels


def _rounded(use: float) -> float:
    """Return a use with two digits, as a workshop would say it."""
    step = 10.0 ** (math.floor(math.log10(max(use, 1e-6))) - 1)
    return round(use / step) * step
