"""Distance on a chain counted as on the usual set-up: sprockets that wear it faster make it longer."""

import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wearlog.drive.exposure import relative_exposure
from wearlog.drive.setup import DriveSetup
from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.parts import DriveKind, PartKind
from wearlog.workshop.fleet_state import FleetState
from wearlog.workshop.setups import installed_at

#: What of a set-up is known for nearly every vehicle: pitch [mm], teeth of driver and driven wheel, links.
Geometry = tuple[float, int, int, int | None]


@dataclass(frozen=True, slots=True)
class ExposedUse:
    """How use on a part turns into distance on the family's usual set-up.

    Attributes
    ----------
    since
        Use on the part from which on each factor counts, rising from 0, km (h).
    factors
        Wear on the set-up of that stretch against the usual one, [-].
    """

    since: tuple[float, ...] = (0.0,)
    factors: tuple[float, ...] = (1.0,)

    @property
    def now(self) -> float:
        """The factor of the present set-up, [-]."""
        return self.factors[-1]

    @property
    def is_usual(self) -> bool:
        """Whether nothing is to be scaled."""
        return self.factors == (1.0,)

    def _exposed_since(self) -> NDArray[np.float64]:
        lengths = np.diff(np.array(self.since))
        return np.concatenate([[0.0], np.cumsum(lengths * np.array(self.factors[:-1]))])

    def exposed(self, use: ArrayLike) -> NDArray[np.float64]:
        """Return the distance on the usual set-up that wears as much as a use on the part, km (h)."""
        use_ = np.asarray(use, dtype=np.float64)
        if self.is_usual:
            return use_
        since, factors = np.array(self.since), np.array(self.factors)
        stretch = np.clip(np.searchsorted(since, use_, side="right") - 1, 0, None)
        return np.asarray(self._exposed_since()[stretch] + (use_ - since[stretch]) * factors[stretch])

    def use(self, exposed: ArrayLike) -> NDArray[np.float64]:
        """Return the use on the part that wears as much as a distance on the usual set-up, km (h)."""
        exposed_ = np.asarray(exposed, dtype=np.float64)
        if self.is_usual:
            return exposed_
        since, factors, starts = np.array(self.since), np.array(self.factors), self._exposed_since()
        stretch = np.clip(np.searchsorted(starts, exposed_, side="right") - 1, 0, None)
        return np.asarray(since[stretch] + (exposed_ - starts[stretch]) / factors[stretch])


USUAL = ExposedUse()


@dataclass(frozen=True, slots=True)
class Stretch:
    """Use on the part from which on a geometry counts; None where it is not known."""

    since: float
    geometry: Geometry | None


@dataclass(frozen=True, slots=True)
class ChainSetups:
    """What the chains of a family ran on.

    Attributes
    ----------
    stretches
        Of each chain, by the number of the part.
    usual
        The set-up of each pitch that most of them ran on, on which distances are counted.
    is_settled
        Whether the usual set-ups stay as they are, since only some of the chains are known.
    """

    stretches: Mapping[int, tuple[Stretch, ...]]
    usual: Mapping[float, Geometry]
    is_settled: bool = False

    @classmethod
    def of(cls, state: FleetState, chains: Mapping[int, Sequence[Installation]]) -> "ChainSetups":
        """Return what chains ran on.

        Set-ups are compared with the usual one of the same pitch: vehicles that carry another chain pull
        differently too, which the geometry does not tell.

        Parameters
        ----------
        chains
            Installations of each chain by the number of the part, oldest first.
        """
        return cls({}, {}).changed(state, chains)

    def changed(self, state: FleetState, chains: Mapping[int, Sequence[Installation]]) -> "ChainSetups":
        """Return the same after some chains came or changed."""
        stretches = {**self.stretches, **{part: _stretches(state, life) for part, life in chains.items()}}
        usual = {
            pitch: max(known, key=lambda geometry: (known[geometry], str(geometry)))
            for pitch, known in _counted(stretches).items()
        }
        if self.is_settled:
            usual |= self.usual
        return ChainSetups(stretches, usual, self.is_settled)

    def leads(self) -> dict[float, int]:
        """Return by how many stretches the usual set-up of each pitch leads the next one."""
        found = {}
        for pitch, known in _counted(self.stretches).items():
            most = [count for _geometry, count in known.most_common(2)]
            found[pitch] = most[0] - (most[1] if len(most) > 1 else 0)
        return found

    def exposed(self, part_id: int) -> ExposedUse:
        """Return how the use on a chain counts."""
        return _exposed(self.stretches[part_id], self.usual)

    def usual_setup(self, pitch_mm: float) -> DriveSetup | None:
        """Return the set-up of a pitch that distances are counted on; None if no chain of it has run."""
        found = next((self.usual[pitch] for pitch in self.usual if math.isclose(pitch, pitch_mm)), None)
        return None if found is None else _setup(found)


def _counted(stretches: Mapping[int, Sequence[Stretch]]) -> dict[float, Counter[Geometry]]:
    """Return how many stretches each geometry of a pitch was run on."""
    counted: dict[float, Counter[Geometry]] = defaultdict(Counter)
    for life in stretches.values():
        for stretch in life:
            if stretch.geometry is not None:
                counted[stretch.geometry[0]][stretch.geometry] += 1
    return counted


def _exposed(stretches: Sequence[Stretch], usual: Mapping[float, Geometry]) -> ExposedUse:
    since: list[float] = []
    factors: list[float] = []
    for stretch in stretches:
        geometry = stretch.geometry
        factor = 1.0 if geometry is None else _factor(geometry, usual[geometry[0]])
        if factors and abs(factor - factors[-1]) < 1e-12:
            continue
        if since and stretch.since <= since[-1]:
            factors[-1] = factor
            continue
        since.append(stretch.since if since else 0.0)
        factors.append(factor)
    return USUAL if factors in ([], [1.0]) else ExposedUse(tuple(since), tuple(factors))


@lru_cache(maxsize=4096)
def _factor(geometry: Geometry, usual: Geometry) -> float:
    return relative_exposure(_setup(geometry), _setup(usual))


def _setup(geometry: Geometry) -> DriveSetup:
    pitch_mm, driver, driven, links = geometry
    return DriveSetup(
        drive=DriveKind.CHAIN, pitch_mm=pitch_mm, driver_teeth=driver, driven_teeth=driven, links=links
    )


def _stretches(state: FleetState, installations: Sequence[Installation]) -> tuple[Stretch, ...]:
    """Return the stretches of a part's life between changes of what it runs on."""
    found: list[Stretch] = []
    for installation in installations:
        end = float("inf") if installation.removed_use is None else installation.removed_use
        changes = {installation.fitted_use}
        for other in state.installed_on.get(installation.stage_id, ()):
            if installation.fitted_use < other.fitted_use < end:
                changes.add(other.fitted_use)
        for total_use in sorted(changes):
            use = state.use_on_part(installation, total_use)
            found.append(Stretch(use, _geometry(state, installation.stage_id, total_use)))
    return tuple(found)


def _geometry(state: FleetState, stage_id: int, total_use: float) -> Geometry | None:
    fitted = {i.position: i for i in installed_at(state, stage_id, total_use)}
    types = {position: state.part_type_of(i) for position, i in fitted.items()}
    run, driver, driven = (
        types.get(position) for position in (Position.RUN, Position.DRIVER, Position.DRIVEN)
    )
    if run is None or driver is None or driven is None or run.kind is not PartKind.CHAIN:
        return None
    if not driver.teeth or not driven.teeth:
        return None
    return run.pitch_mm, driver.teeth, driven.teeth, fitted[Position.RUN].links or run.links
