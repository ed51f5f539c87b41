"""The warranty record: all that is on record about one part in one place, and that nobody altered it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from gettext import gettext as _

from wearlog.fleet.audit import AuditEntry, chain_after
from wearlog.fleet.fitting import Installation
from wearlog.fleet.parts import Part
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.reading import Instrument, Measurand, Reading
from wearlog.fleet.service import Visit
from wearlog.fleet.torque import Fastener, TorqueRecord
from wearlog.store.records import Records
from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.history import trail_names
from wearlog.workshop.warranty_snapshot import ChainedEntry, WarrantyLimit, WarrantyRecord


def warranty_record(bench: Bench, installation_id: int) -> WarrantyRecord:
    """Return the evidence on one installation, current or past.

    Raises
    ------
    WearlogError
        If there is no such installation.
    """
    state = fleet_state(bench)
    installation = state.installations.get(installation_id)
    if installation is None:
        what = _("This part is not on record.")
        raise WearlogError(Problem(what, todo=_("Choose another one."), kind=ProblemKind.NOT_FOUND))
    vehicle = state.vehicles[installation.vehicle_id]
    stage = state.stages[installation.stage_id]
    part = state.parts[installation.part_id]
    history = state.histories[vehicle.id]
    until = installation.removed_on or bench.today()
    last_use = installation.removed_use
    if last_use is None:
        last_use = max(history.last.total_use if history.last else 0.0, installation.fitted_use)
    with bench.database.reading() as records:
        readings = _readings(records, installation, until)
        visits = _visits(records, installation, until)
        torques, fasteners = _torques(records, installation, until, stage.name)
        numbers = [*(one.instrument_id for one in readings), *(one.instrument_id for one in torques)]
        used = {number for number in numbers if number is not None}
        instruments = {one.id: one for one in records.all(Instrument, id=used)} if used else {}
        everything = tuple(reversed(records.audit()))
        about = _About.of(part, installation, readings, visits, torques, fasteners, instruments.values())
        trail, broken_at = _chained(everything, about)
        names = trail_names(records, state, [one.entry for one in trail])
    told = [
        (installation.fitted_use, installation.fitted_on),
        (last_use, until),
        *((one.total_use, one.on) for one in readings),
        *((one.total_use, one.on) for one in visits),
        *((one.total_use, one.on) for one in torques),
    ]
    return WarrantyRecord(
        vehicle_id=vehicle.id,
        tag=vehicle.tag,
        vehicle_text=vehicle.description,
        model=vehicle.model,
        depot=vehicle.depot,
        use_unit=vehicle.meter_unit.use_unit,
        meter_unit=vehicle.meter_unit.value,
        today=bench.today(),
        stage_name=stage.name,
        part_text=state.part_text(installation),
        part=part,
        part_type=state.part_type_of(installation),
        installation=installation,
        use_at_fitting=state.use_on_part(installation, installation.fitted_use),
        use_on_part=state.use_on_part(installation, last_use),
        earlier=_earlier(state, installation),
        limits=_limits(state, installation, readings),
        readings=readings,
        visits=visits,
        torques=torques,
        fasteners=fasteners,
        instruments=instruments,
        meters={use: use - history.total_for(0.0, on) for use, on in told},
        trail=trail,
        names=names,
        trail_count=len(everything),
        trail_head=everything[-1].chain if everything else "",
        broken_at=broken_at,
    )


def installation_named(bench: Bench, vehicle_id: int, word: str) -> int:
    """Return the installation of a vehicle whose stage, part, label or lot holds a word.

    One that still runs goes first, then the one that came off last.

    Raises
    ------
    WearlogError
        If there is none; those that there are, are named.
    """
    state = fleet_state(bench)
    found = []
    for stage in state.stages_of.get(vehicle_id, ()):
        for one in state.installed_on.get(stage.id, ()):
            if not one.void_reason:
                part = state.parts[one.part_id]
                text = f"{stage.name}, {state.part_text(one)} {part.label} {part.lot}".strip()
                found.append((text, one))
    fitting = [one for text, one in found if word.casefold() in text.casefold()]
    if not fitting:
        current = dict.fromkeys(text for text, one in found if one.is_current)
        raise WearlogError(
            Problem(
                _("{vehicle} has no part {part}.").format(
                    vehicle=state.vehicles[vehicle_id].tag, part=word or "–"
                ),
                todo=_("There are: {parts}.").format(parts="; ".join(current)),
                kind=ProblemKind.NOT_FOUND,
            )
        )
    return max(
        fitting, key=lambda one: (one.is_current, one.removed_on or date.max, _is_run(state, one), one.id)
    ).id


def _is_run(state: FleetState, installation: Installation) -> bool:
    """Whether it is the chain or belt itself, which a word such as the stage's name means first."""
    return state.part_type_of(installation).teeth is None


# --- what is gathered ---------------------------------------------------------------------------------


def _readings(records: Records, installation: Installation, until: date) -> tuple[Reading, ...]:
    own = records.all(Reading, installation_id=installation.id)
    of_stage = [
        one
        for one in records.all(Reading, stage_id=installation.stage_id, installation_id=None)
        if installation.fitted_on <= one.on <= until
    ]
    return tuple(sorted((*own, *of_stage), key=lambda one: (one.on, one.id)))


def _visits(records: Records, installation: Installation, until: date) -> tuple[Visit, ...]:
    """Return the visits while the part was on at which something was done to its stage, or to no stage."""
    return tuple(
        one
        for one in records.all(Visit, vehicle_id=installation.vehicle_id)
        if installation.fitted_on <= one.on <= until
        and (not one.tasks or any(task.stage_id in {None, installation.stage_id} for task in one.tasks))
    )


def _torques(
    records: Records, installation: Installation, until: date, stage_name: str
) -> tuple[tuple[TorqueRecord, ...], dict[int, Fastener]]:
    """Return what was tightened while the part was on: on the stage, or on none in particular."""
    done = [
        one
        for one in records.all(TorqueRecord, vehicle_id=installation.vehicle_id)
        if installation.fitted_on <= one.on <= until
    ]
    named = {one.fastener_id for one in done}
    fasteners = {
        one.id: one
        for one in (records.all(Fastener, id=named) if named else ())
        if one.stage_name in {"", stage_name}
    }
    kept = [one for one in done if one.fastener_id in fasteners]
    return tuple(sorted(kept, key=lambda one: (one.on, one.id))), fasteners


def _earlier(state: FleetState, installation: Installation) -> tuple[tuple[str, Installation], ...]:
    return tuple(
        (f"{state.vehicles[one.vehicle_id].tag}, {state.stages[one.stage_id].name}", one)
        for one in state.installations_of_part[installation.part_id]
        if not one.void_reason and (one.fitted_on, one.id) < (installation.fitted_on, installation.id)
    )


def _limits(
    state: FleetState, installation: Installation, readings: Iterable[Reading]
) -> tuple[WarrantyLimit, ...]:
    measured = dict.fromkeys(one.measurand for one in readings if one.installation_id is not None)
    wanted = measured or dict.fromkeys((Measurand.CHAIN_ELONGATION, Measurand.SPROCKET_TOOTH_THICKNESS))
    found = (state.limit_of(installation, measurand) for measurand in wanted)
    return tuple(WarrantyLimit(*one) for one in found if one is not None)


# --- the trail ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _About:
    """Which records the evidence is about, by kind and number."""

    records: frozenset[tuple[str, int]]

    @classmethod
    def of(
        cls,
        part: Part,
        installation: Installation,
        readings: Iterable[Reading],
        visits: Iterable[Visit],
        torques: Iterable[TorqueRecord],
        fasteners: dict[int, Fastener],
        instruments: Iterable[Instrument],
    ) -> "_About":
        """Name the records of the evidence."""
        return cls(
            frozenset(
                {
                    ("Part", part.id),
                    ("PartType", part.part_type_id),
                    ("Installation", installation.id),
                    *(("Reading", one.id) for one in readings),
                    *(("Visit", one.id) for one in visits),
                    *(("TorqueRecord", one.id) for one in torques),
                    *(("Fastener", number) for number in fasteners),
                    *(("Instrument", one.id) for one in instruments),
                }
            )
        )


def _chained(entries: tuple[AuditEntry, ...], about: _About) -> tuple[tuple[ChainedEntry, ...], int | None]:
    """Return the entries about some records, and the first of all entries whose chain does not fit."""
    found = []
    before = ""
    broken_at: int | None = None
    for entry in entries:
        if broken_at is None and entry.chain != chain_after(before, entry):
            broken_at = entry.id
        if (entry.record, entry.record_id) in about.records:
            found.append(ChainedEntry(entry, before))
        before = entry.chain
    return tuple(found), broken_at
