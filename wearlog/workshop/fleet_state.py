"""The whole fleet as it is kept, read once and shared by every question; after a change only that is read."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property, lru_cache
from gettext import gettext as _

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
from wearlog.fleet.spells import DutySpell, LayUp
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.planning.states import Policy
from wearlog.store.lazily import (
    LazyRecords,
    last_of_trail,
    lazy_records,
    records_numbered,
    tightened_vehicles,
    trodden_since,
)
from wearlog.store.records import Records
from wearlog.store.rows import R
from wearlog.workshop.bench import Bench, policy_of
from wearlog.workshop.lazy import LazyGroups, LazyValues

#: A new part that has gone no farther than this is to get its zero reading; common practice, no source.
ZERO_READING_WITHIN = {"km": 50.0, "h": 5.0}
#: More changes than this are not followed one by one: the fleet is read anew.
MOST_CHANGES = 2000
#: Data versions of which it is known whom they concerned.
VERSIONS_KNOWN = 64
#: Records that concern no vehicle in particular, so that everything may be different.
FLEET_WIDE = frozenset({"IntervalRule", "Limit", "PartType", "Setting"})
#: Records that concern every vehicle on which something was tightened.
FASTENING = frozenset({"TorqueSheet", "Fastener"})
#: What is measured on a part to follow its wear.
WEAR_MEASURAND = {
    PartKind.CHAIN: Measurand.CHAIN_ELONGATION,
    PartKind.SPROCKET: Measurand.SPROCKET_TOOTH_THICKNESS,
    PartKind.BELT: Measurand.BELT_TENSION,
}


@dataclass(frozen=True)
class FleetState:
    """All records but readings, by their numbers.

    `trail` is the place in the audit trail up to which it was read; `concerned` tells, for each of the last
    data versions, which vehicles the change to it concerned, None if it may be any.
    """

    data_version: int
    vehicles: LazyRecords[Vehicle]
    stages: LazyRecords[Stage]
    part_types: LazyRecords[PartType]
    parts: LazyRecords[Part]
    installations: LazyRecords[Installation]
    instruments: LazyRecords[Instrument]
    entries: LazyRecords[MeterEntry]
    all_visits: LazyRecords[Visit]
    spells: tuple[DutySpell, ...]
    lay_ups: tuple[LayUp, ...]
    rules: tuple[IntervalRule, ...]
    limits: tuple[Limit, ...]
    policy: Policy
    trail: int = 0
    concerned: tuple[tuple[int, frozenset[int] | None], ...] = ()

    @property
    def meter_entries(self) -> tuple[MeterEntry, ...]:
        """All meter entries; of one vehicle `entries_of` has them at once."""
        return tuple(self.entries.values())

    @property
    def visits(self) -> tuple[Visit, ...]:
        """All visits; of one vehicle `visits_of` has them at once."""
        return tuple(self.all_visits.values())

    def changed_since(self, data_version: int) -> frozenset[int] | None:
        """Return the vehicles concerned by changes since a data version; None if it may be any."""
        if data_version == self.data_version:
            return frozenset()
        if data_version not in {version for version, _vehicles in self.concerned}:
            return None
        found: set[int] = set()
        for version, vehicles in self.concerned:
            if version >= data_version:
                if vehicles is None:
                    return None
                found |= vehicles
        return frozenset(found)

    @cached_property
    def entries_of(self) -> LazyGroups[MeterEntry]:
        """Meter entries of each vehicle, oldest first."""
        return LazyGroups.by(self.entries, "vehicle_id", lambda entry: (entry.on, entry.id))

    @cached_property
    def visits_of(self) -> LazyGroups[Visit]:
        """Visits of each vehicle, oldest first."""
        return LazyGroups.by(self.all_visits, "vehicle_id", lambda visit: (visit.on, visit.id))

    @cached_property
    def stages_of(self) -> LazyGroups[Stage]:
        """Stages of each vehicle, in order from the motor."""
        return LazyGroups.by(self.stages, "vehicle_id", lambda stage: stage.order)

    def stages_in_service(self, vehicle_id: int) -> tuple[Stage, ...]:
        """Return the stages of a vehicle that were not taken off service."""
        return tuple(stage for stage in self.stages_of.get(vehicle_id, ()) if stage.retired_on is None)

    @cached_property
    def installed_on(self) -> LazyGroups[Installation]:
        """Installations of each stage, current and past, oldest first."""
        return LazyGroups.by(self.installations, "stage_id", _by_fitting)

    @cached_property
    def installations_of_part(self) -> LazyGroups[Installation]:
        """Installations of each part, oldest first."""
        return LazyGroups.by(self.installations, "part_id", _by_fitting)

    @cached_property
    def histories(self) -> LazyValues[UseHistory]:
        """Total use of each vehicle over time."""
        return _histories(self.vehicles, self.entries_of, {})

    @cached_property
    def spells_of(self) -> dict[int, tuple[DutySpell, ...]]:
        """Spells of duty of each vehicle that has any, in the order of their days."""
        found: dict[int, list[DutySpell]] = defaultdict(list)
        for spell in sorted(self.spells, key=lambda spell: (spell.from_on, spell.id)):
            found[spell.vehicle_id].append(spell)
        return {key: tuple(spells) for key, spells in found.items()}

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
        return _part_text(
            part_type.kind,
            part_type.designation,
            installation.links or part_type.links,
            part_type.teeth,
            installation.position,
        )

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


@lru_cache(maxsize=4096)
def _part_text(
    kind: PartKind, designation: str, links: int | None, teeth: int | None, position: Position
) -> str:
    if kind is PartKind.CHAIN:
        text = _("{designation} chain").format(designation=designation)
        return text if links is None else _("{chain}, {n} links").format(chain=text, n=links)
    if kind is PartKind.BELT:
        text = _("{designation} belt").format(designation=designation)
        return text if teeth is None else _("{belt}, {n} teeth").format(belt=text, n=teeth)
    place = _("driver") if position is Position.DRIVER else _("driven")
    noun = _("sprocket") if kind is PartKind.SPROCKET else _("pulley")
    teeth_text = "" if teeth is None else _(", {n} teeth").format(n=teeth)
    return _("{place} {noun}").format(place=place, noun=noun) + teeth_text


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


def _histories(
    vehicles: LazyRecords[Vehicle], entries: LazyGroups[MeterEntry], made: dict[int, UseHistory]
) -> LazyValues[UseHistory]:
    return LazyValues(vehicles, lambda vehicle_id: use_history(entries.get(vehicle_id, ())), made)


def _by_fitting(installation: Installation) -> tuple[date, float, int]:
    return installation.fitted_on, installation.fitted_use, installation.id


def fleet_state(bench: Bench) -> FleetState:
    """Return the fleet as it is kept now; what changed is read again, by this seat or by others."""
    version = bench.data_version()
    known = bench.remembered.get("fleet state")
    before = known[1] if known is not None and isinstance(known[1], FleetState) else None
    if before is not None and before.data_version == version:
        return before
    with bench.database.reading() as records:
        state = None if before is None else _brought_up_to_date(records, before)
        if state is None:
            state = _read(records, before)
    bench.remembered["fleet state"] = (state.data_version, state)
    return state


def _read(records: Records, before: FleetState | None) -> FleetState:
    state = FleetState(
        data_version=records.data_version(),
        vehicles=lazy_records(records, Vehicle, live=True),
        stages=lazy_records(records, Stage, live=True),
        part_types=lazy_records(records, PartType),
        parts=lazy_records(records, Part),
        installations=lazy_records(records, Installation, live=True),
        instruments=lazy_records(records, Instrument),
        entries=lazy_records(records, MeterEntry, live=True),
        all_visits=lazy_records(records, Visit, live=True),
        spells=records.all(DutySpell, live=True),
        lay_ups=records.all(LayUp, live=True),
        rules=records.all(IntervalRule, live=True),
        limits=records.all(Limit, live=True),
        policy=policy_of(records),
        trail=last_of_trail(records),
    )
    if before is None:
        return state
    return replace(state, concerned=_concerned(before, None))


def _concerned(
    before: FleetState, vehicles: frozenset[int] | None
) -> tuple[tuple[int, frozenset[int] | None], ...]:
    return (*before.concerned, (before.data_version, vehicles))[-VERSIONS_KNOWN:]


def _brought_up_to_date(records: Records, before: FleetState) -> FleetState | None:
    """Return the fleet with what the trail says was changed read again; None if that is much."""
    trodden = trodden_since(records, before.trail, MOST_CHANGES)
    if trodden is None:
        return None
    numbers = trodden.records

    def changed(kept: LazyRecords[R], kind: type[R]) -> LazyRecords[R]:
        if kind.__name__ not in numbers:
            return kept
        return kept.changed(*records_numbered(records, kind, numbers[kind.__name__]))

    state = replace(
        before,
        data_version=records.data_version(),
        vehicles=changed(before.vehicles, Vehicle),
        stages=changed(before.stages, Stage),
        part_types=changed(before.part_types, PartType),
        parts=changed(before.parts, Part),
        installations=changed(before.installations, Installation),
        instruments=changed(before.instruments, Instrument),
        entries=changed(before.entries, MeterEntry),
        all_visits=changed(before.all_visits, Visit),
        trail=trodden.last,
    )
    if "DutySpell" in numbers or "LayUp" in numbers:
        spells, lay_ups = records.all(DutySpell, live=True), records.all(LayUp, live=True)
        state = replace(state, spells=spells, lay_ups=lay_ups)
    if not FLEET_WIDE.isdisjoint(numbers):
        rules, limits = records.all(IntervalRule, live=True), records.all(Limit, live=True)
        state = replace(state, rules=rules, limits=limits, policy=policy_of(records))
        return replace(state, concerned=_concerned(before, None))
    _take_over_groups(before, state, numbers)
    if not FASTENING.isdisjoint(numbers):
        trodden.vehicles.update(tightened_vehicles(records))
    vehicles = _vehicles_of(before, state, trodden.vehicles, numbers.get("Part", set()))
    result = replace(state, concerned=_concerned(before, vehicles))
    _take_over_groups(before, result, numbers)
    made = before.histories.made_but_for(vehicles)
    result.__dict__["histories"] = _histories(result.vehicles, result.entries_of, made)
    return result


def vehicles_changed(records: Records, state: FleetState, trail: int) -> frozenset[int] | None:
    """Return the vehicles concerned by what was changed after a place in the trail; None if it may be any."""
    trodden = trodden_since(records, trail, MOST_CHANGES)
    if trodden is None or not FLEET_WIDE.isdisjoint(trodden.records):
        return None
    parts = set(trodden.records.get("Part", ()))
    # Where a part was before is told by what was voided since.
    installations = trodden.records.get("Installation", set())
    if installations:
        parts |= {one.part_id for one in records.all(Installation, id=list(installations))}
    if not FASTENING.isdisjoint(trodden.records):
        trodden.vehicles.update(tightened_vehicles(records))
    return _vehicles_of(state, state, trodden.vehicles, parts)


def _take_over_groups(before: FleetState, state: FleetState, numbers: Mapping[str, set[int]]) -> None:
    """Let a state have the groups of the one before it, with what changed put right."""
    for name, kept, kind in (
        ("entries_of", state.entries, MeterEntry),
        ("visits_of", state.all_visits, Visit),
        ("stages_of", state.stages, Stage),
        ("installed_on", state.installations, Installation),
        ("installations_of_part", state.installations, Installation),
    ):
        groups = getattr(before, name)
        # cached_property looks here first.
        state.__dict__[name] = groups.changed(kept, numbers.get(kind.__name__, set()))


def _vehicles_of(before: FleetState, now: FleetState, vehicles: set[int], parts: set[int]) -> frozenset[int]:
    """Return the vehicles that a change concerns: those it was made on, and those that share a part."""
    found, shared = set(vehicles), set(parts)
    for state in (before, now):
        for vehicle_id in vehicles:
            for stage in state.stages_of.get(vehicle_id, ()):
                shared |= {one.part_id for one in state.installed_on.get(stage.id, ())}
    for state in (before, now):
        for part_id in shared:
            found |= {one.vehicle_id for one in state.installations_of_part.get(part_id, ())}
    return frozenset(found)
