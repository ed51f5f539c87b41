"""What an import of somebody's own sheet needs to know of the workshop, and the matches it remembers."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from gettext import gettext as _

from wearlog.fleet.fitting import Position
from wearlog.fleet.parts import PartKind, PartType
from wearlog.fleet.vehicle import MeterUnit
from wearlog.store.records import Records
from wearlog.workshop.bench import Bench
from wearlog.workshop.compare_part_types import wheel_type
from wearlog.workshop.compare_snapshot import RunChoice
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.people import people
from wearlog.workshop.setups import run_choices
from wearlog.workshop.vehicles_draft import POSITIONS, StageDraft
from wearlog.workshop.vehicles_parts import run_name, wheel_name
from wearlog.workshop.vehicles_templates import Template, stage_like, templates_of

#: The setting that keeps the matches, by the fingerprint of a header row; so many are kept.
MATCHES = "import matches"
MOST_MATCHES = 40


@dataclass(frozen=True, slots=True)
class KnownVehicle:
    """A vehicle that is kept: its meter, and of each stage in service the chain or belt on it, if any."""

    meter_unit: MeterUnit
    runs: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class KnownForImport:
    """What the workshop has, for matching a sheet.

    Attributes
    ----------
    vehicles
        By tag.
    stages, depots, instruments, people
        Names, for choice; the most common first.
    part_types
        By name.
    templates
        What a new vehicle may be made like.
    choices
        Chains and belts to make them of.
    today
        No row is later.
    matches
        Remembered ones, by fingerprint.
    """

    vehicles: Mapping[str, KnownVehicle]
    stages: tuple[str, ...]
    depots: tuple[str, ...]
    instruments: tuple[str, ...]
    people: tuple[str, ...]
    part_types: Mapping[str, PartType]
    templates: tuple[Template, ...]
    choices: tuple[RunChoice, ...]
    today: date
    matches: Mapping[str, str] = field(default_factory=dict)

    def template(self, name: str) -> Template | None:
        """Return a template by its name, or by what people read."""
        return next((one for one in self.templates if name in {one.name, one.text}), None)

    def stages_like(self, template: Template) -> tuple[StageDraft, ...]:
        """Return the stages of a new vehicle made like a template."""
        return tuple(
            stage_like(stage, self.choices, key) for key, stage in enumerate(template.stages, start=1)
        )

    def part_types_like(self, stage: StageDraft) -> dict[Position, PartType]:
        """Return the part types on a new stage: the workshop's own where it has such a one."""
        if stage.run is None:
            return {}
        found: dict[Position, PartType] = {}
        for position in POSITIONS:
            count = stage.part(position).count
            if position is Position.RUN:
                is_chain = stage.run.kind is PartKind.CHAIN
                wanted = replace(
                    stage.run,
                    id=0,
                    version=0,
                    name=run_name(stage.run, count),
                    links=count if is_chain else None,
                    teeth=None if is_chain else count,
                    price=None,
                )
            else:
                wanted = replace(wheel_type(stage.run, count), name=wheel_name(stage.run, count))
            found[position] = self._own(wanted)
        return found

    def _own(self, wanted: PartType) -> PartType:
        """Return the workshop's own type of the same kind and size, or the wanted one under a free name."""
        for one in self.part_types.values():
            is_same = (
                one.kind is wanted.kind
                and one.designation == wanted.designation
                and one.wear_class is wanted.wear_class
                and abs(one.pitch_mm - wanted.pitch_mm) < 1e-6
                and (one.links, one.teeth) == (wanted.links, wanted.teeth)
            )
            if is_same:
                return one
        names = (f"{wanted.name} ({n})" for n in range(2, len(self.part_types) + 3))
        free = (name for name in (wanted.name, *names) if name not in self.part_types)
        return replace(wanted, name=next(free))


def known_for_import(bench: Bench) -> KnownForImport:
    """Return what the workshop has, as far as an import of a sheet needs to know."""
    state = fleet_state(bench)
    with bench.database.reading() as records:
        templates = templates_of(records)
        matches = _matches(records)
    vehicles = {
        vehicle.tag: KnownVehicle(vehicle.meter_unit, _runs(state, vehicle.id))
        for vehicle in state.vehicles.values()
    }
    return KnownForImport(
        vehicles=vehicles,
        stages=_common([name for vehicle in vehicles.values() for name in vehicle.runs]),
        depots=_common([vehicle.depot for vehicle in state.vehicles.values()]),
        instruments=tuple(sorted(one.name for one in state.instruments.values() if one.retired_on is None)),
        people=people(bench),
        part_types={one.name: one for one in state.part_types.values()},
        templates=templates,
        choices=run_choices(state),
        today=bench.today(),
        matches={key: text for key, (text, _title) in matches.items()},
    )


def _runs(state: FleetState, vehicle_id: int) -> dict[str, str]:
    return {
        stage.name: next(
            (
                state.part_type_of(installation).name
                for installation in state.current_on(stage.id)
                if installation.position is Position.RUN
            ),
            "",
        )
        for stage in state.stages_in_service(vehicle_id)
    }


def _common(names: list[str]) -> tuple[str, ...]:
    return tuple(sorted(set(names) - {""}, key=lambda name: (-names.count(name), name)))


# --- remembered matches


def _matches(records: Records) -> dict[str, tuple[str, str]]:
    kept = json.loads(records.setting(MATCHES) or "{}")
    return {str(key): (str(one["match"]), str(one["title"])) for key, one in kept.items()}


def remember_match(bench: Bench, fingerprint: str, match: str, title: str) -> None:
    """Keep how a sheet was understood, for the next one with the same headers.

    Parameters
    ----------
    bench : Bench
        Where to.
    fingerprint : str
        Of the header row.
    match : str
        As `wearlog.exchange.matching` writes it.
    title : str
        What people know the sheet by: the name of its file.
    """
    _write(bench, _("Match of {file} remembered").format(file=title), fingerprint, (match, title))


def forget_match(bench: Bench, fingerprint: str) -> None:
    """Forget how a sheet was understood."""
    _write(bench, _("Match of a sheet forgotten"), fingerprint, None)


def _write(bench: Bench, what: str, fingerprint: str, kept: tuple[str, str] | None) -> None:
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        before = _matches(records)
        others = {key: one for key, one in before.items() if key != fingerprint}
        after = others if kept is None else {**others, fingerprint: kept}
        while len(after) > MOST_MATCHES:
            after.pop(next(iter(after)))
        if after != before:
            plain = {key: {"match": text, "title": title} for key, (text, title) in after.items()}
            records.set_setting(MATCHES, json.dumps(plain, ensure_ascii=False))
