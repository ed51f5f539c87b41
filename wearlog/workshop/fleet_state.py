"""The whole fleet as it is kept, read once per data version and shared by every question."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from gettext import gettext as _
from itertools import groupby

from wearlog.drive.belt import belt_span
from wearlog.drive.chain import span as chain_span
from wearlog.drive.governing import LimitKind, governing_limit
from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.limit import Limit, limit_for
from wearlog.fleet.meter import MeterEntry, UseHistory, use_history
from wearlog.fleet.parts import DriveKind, Part, PartKind, PartType
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.reading import Instrument, Measurand
from wearlog.fleet.service import IntervalRule, Visit
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.planning.states import Policy
from wearlog.workshop.bench import Bench, policy_of

#: A new part that has gone no farther than this is to get its zero reading; common practice, no source.
ZERO_READING_WITHIN = {"km": 50.0, "h": 5.0}
#: What is measured on a part to follow its wear.
WEAR_MEASURAND = {
    PartKind.CHAIN: Measurand.CHAIN_ELONGATION,
    PartKind.SPROCKET: Measurand.SPROCKET_TOOTH_THICKNESS,
    PartKind.BELT: Measurand.BELT_TENSION,
}


@dataclass(frozen=True)
class FleetState:
    """All records but readings, by their numbers."""

    data_version: int
    vehicles: dict[int, Vehicle]
    stages: dict[int, Stage]
    part_types: dict[int, PartType]
    parts: dict[int, Part]
    installations: dict[int, Installation]
    instruments: dict[int, Instrument]
    meter_entries: tuple[MeterEntry, ...]
    visits: tuple[Visit, ...]
    rules: tuple[IntervalRule, ...]
    limits: tuple[Limit, ...]
    policy: Policy

    def changed_since(self, data_version: int) -> frozenset[int] | None:
        """Return the vehicles concerned by changes since a data version; None if it may be any."""
        return frozenset() if data_version == self.data_version else None

    @cached_property
    def histories(self) -> dict[int, UseHistory]:
        """Total use of each vehicle over time."""
        entries: dict[int, list[MeterEntry]] = defaultdict(list)
        for entry in self.meter_entries:
            entries[entry.vehicle_id].append(entry)
        return {vehicle_id: use_history(entries[vehicle_id]) for vehicle_id in self.vehicles}

    @cached_property
    def stages_of(self) -> dict[int, tuple[Stage, ...]]:
        """Stages of each vehicle, in order from the motor."""
        stages = sorted(self.stages.values(), key=lambda stage: (stage.vehicle_id, stage.order))
        return {key: tuple(group) for key, group in groupby(stages, key=lambda stage: stage.vehicle_id)}

    @cached_property
    def installed_on(self) -> dict[int, tuple[Installation, ...]]:
        """Installations of each stage, current and past, oldest first."""
        return _grouped(self.installations.values(), lambda i: i.stage_id)

    @cached_property
    def installations_of_part(self) -> dict[int, tuple[Installation, ...]]:
        """Installations of each part, oldest first."""
        return _grouped(self.installations.values(), lambda i: i.part_id)

    @cached_property
    def visits_of(self) -> dict[int, tuple[Visit, ...]]:
        """Visits of each vehicle, oldest first."""
        found: dict[int, list[Visit]] = defaultdict(list)
        for visit in sorted(self.visits, key=lambda visit: (visit.on, visit.id)):
            found[visit.vehicle_id].append(visit)
        return {key: tuple(visits) for key, visits in found.items()}

    @cached_property
    def limits_of(self) -> dict[Measurand, tuple[Limit, ...]]:
        """Limits of each measurand."""
        found: dict[Measurand, list[Limit]] = defaultdict(list)
        for limit in self.limits:
            found[limit.measurand].append(limit)
        return {key: tuple(limits) for key, limits in found.items()}

    def vehicle_tagged(self, tag: str) -> Vehicle:
        """Return the vehicle with a tag, whatever its capitals.

        Raises
        ------
        WearlogError
            If there is none.
        """
        wanted = tag.strip().casefold()
        for vehicle in self.vehicles.values():
            if vehicle.tag.casefold() == wanted:
                return vehicle
        raise WearlogError(
            Problem(
                _("There is no vehicle with the tag {tag}.").format(tag=tag.strip() or "–"),
                todo=_("Check the tag, or add the vehicle first."),
                kind=ProblemKind.NOT_FOUND,
            )
        )

    def part_type_of(self, installation: Installation) -> PartType:
        """Return the type of an installed part."""
        return self.part_types[self.parts[installation.part_id].part_type_id]

    def current_on(self, stage_id: int) -> tuple[Installation, ...]:
        """Return what is fitted to a stage now: chain or belt first, then driver and driven."""
        order = {Position.RUN: 0, Position.DRIVER: 1, Position.DRIVEN: 2}
        current = [i for i in self.installed_on.get(stage_id, ()) if i.is_current]
        return tuple(sorted(current, key=lambda i: order[i.position]))

    def use_on_part(self, installation: Installation, total_use: float) -> float:
        """Return the use on a part at a total use of the vehicle it is fitted to, km (h)."""
        part = self.parts[installation.part_id]
        use = part.use_before if part.is_history_known else 0.0
        for earlier in self.installations_of_part[installation.part_id]:
            if earlier.id == installation.id:
                break
            if earlier.removed_use is not None:
                use += max(earlier.removed_use - earlier.fitted_use, 0.0)
        return use + max(total_use - installation.fitted_use, 0.0)

    def span_mm(self, stage: Stage) -> float | None:
        """Return the free span of a stage: as measured, else from centre distance and teeth if known."""
        types = {i.position: self.part_type_of(i) for i in self.current_on(stage.id)}
        return free_span_mm(stage, types.get(Position.DRIVER), types.get(Position.DRIVEN))

    def part_text(self, installation: Installation) -> str:
        """Return what a part is, in a few words."""
        part_type = self.part_type_of(installation)
        if part_type.kind is PartKind.CHAIN:
            links = installation.links or part_type.links
            text = _("{designation} chain").format(designation=part_type.designation)
            return text if links is None else _("{chain}, {n} links").format(chain=text, n=links)
        if part_type.kind is PartKind.BELT:
            teeth = part_type.teeth
            text = _("{designation} belt").format(designation=part_type.designation)
            return text if teeth is None else _("{belt}, {n} teeth").format(belt=text, n=teeth)
        place = _("driver") if installation.position is Position.DRIVER else _("driven")
        noun = _("sprocket") if part_type.kind is PartKind.SPROCKET else _("pulley")
        teeth_text = "" if part_type.teeth is None else _(", {n} teeth").format(n=part_type.teeth)
        return _("{place} {noun}").format(place=place, noun=noun) + teeth_text

    def limit_of(self, installation: Installation, measurand: Measurand) -> tuple[Limit, str] | None:
        """Return the limit that governs a part, and why, or None if there is none.

        The tightest of the agreed limit and, for chains, the one that the largest sprocket sets.
        """
        part_type = self.part_type_of(installation)
        vehicle = self.vehicles[installation.vehicle_id]
        stage = self.stages[installation.stage_id]
        limit = limit_for(
            self.limits_of.get(measurand, ()),
            measurand,
            part_type.wear_class,
            {name for name in (part_type.designation, part_type.chain) if name},
            vehicle.model,
            stage.name,
            vehicle.id,
        )
        if limit is None or measurand is not Measurand.CHAIN_ELONGATION:
            return None if limit is None else (limit, "")
        teeth = [
            other.teeth
            for other in map(self.part_type_of, self.current_on(stage.id))
            if other.kind is PartKind.SPROCKET and other.teeth
        ]
        if not teeth:
            return limit, ""
        reached = governing_limit(limit, large_sprocket_teeth=max(teeth)).governing
        if reached is None or reached.kind is LimitKind.CLASS:
            return limit, ""
        return replace(limit, service_limit=reached.elongation, source=reached.source), reached.why


def free_span_mm(stage: Stage, driver: PartType | None, driven: PartType | None) -> float | None:
    """Return the free span of a stage between two wheels: as measured, else from centre distance and teeth.

    A chain stage whose teeth nobody knows has its centre distance for a span; a belt stage has none then.
    """
    if stage.span_mm is not None or stage.centre_distance_mm is None:
        return stage.span_mm
    if driver is None or driven is None or not driver.teeth or not driven.teeth:
        return stage.centre_distance_mm if stage.drive is DriveKind.CHAIN else None
    span = chain_span if driver.kind is PartKind.SPROCKET else belt_span
    return span(stage.centre_distance_mm, driver.pitch_mm, driver.teeth, driven.teeth)


def _grouped(
    installations: Iterable[Installation], key: Callable[[Installation], int]
) -> dict[int, tuple[Installation, ...]]:
    found: dict[int, list[Installation]] = defaultdict(list)
    for installation in installations:
        if not installation.void_reason:
            found[key(installation)].append(installation)
    return {
        number: tuple(sorted(group, key=lambda i: (i.fitted_on, i.fitted_use, i.id)))
        for number, group in found.items()
    }


def fleet_state(bench: Bench) -> FleetState:
    """Return the fleet as it is kept now; read again only if something changed."""
    version = bench.data_version()
    known = bench.remembered.get("fleet state")
    if known is not None and known[0] == version and isinstance(known[1], FleetState):
        return known[1]
    with bench.database.reading() as records:
        state = FleetState(
            data_version=version,
            vehicles={vehicle.id: vehicle for vehicle in records.all(Vehicle, live=True)},
            stages={stage.id: stage for stage in records.all(Stage, live=True)},
            part_types={part_type.id: part_type for part_type in records.all(PartType)},
            parts={part.id: part for part in records.all(Part)},
            installations={i.id: i for i in records.all(Installation, live=True)},
            instruments={instrument.id: instrument for instrument in records.all(Instrument)},
            meter_entries=records.all(MeterEntry, live=True),
            visits=records.all(Visit, live=True),
            rules=records.all(IntervalRule, live=True),
            limits=records.all(Limit, live=True),
            policy=policy_of(records),
        )
    bench.remembered["fleet state"] = (version, state)
    return state
