"""All that happened to one vehicle, and the trail of every change."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from gettext import gettext as _

from wearlog.fleet.audit import AuditEntry
from wearlog.fleet.fitting import Installation
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.reading import Reading
from wearlog.fleet.service import Visit
from wearlog.fleet.torque import Fastener, TorqueRecord
from wearlog.fleet.vehicle import Vehicle
from wearlog.store.records import Records
from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.history_snapshot import (
    HistoryKind,
    HistoryLine,
    HistorySnapshot,
    TrailNames,
    TrailSnapshot,
)

#: The order of what happened on one day.
_ORDER = tuple(HistoryKind)
#: Records whose changes are changes of set-up.
_SETUP = {"Vehicle", "Stage"}


def history_snapshot(bench: Bench, vehicle_id: int) -> HistorySnapshot:
    """Return all that happened to a vehicle, the latest first, voided records too.

    Raises
    ------
    WearlogError
        If there is no such vehicle.
    """
    state = fleet_state(bench)
    vehicle = state.vehicles.get(vehicle_id)
    if vehicle is None:
        what = _("This vehicle is not in the fleet.")
        raise WearlogError(Problem(what, todo=_("Choose another one."), kind=ProblemKind.NOT_FOUND))
    with bench.database.reading() as records:
        maker = _Lines(state, vehicle, {one.id: one for one in records.all(Fastener)})
        entries = records.audit(vehicle_id=vehicle_id)
        lines = [
            *map(maker.visit, records.all(Visit, vehicle_id=vehicle_id)),
            *map(maker.reading, records.all(Reading, vehicle_id=vehicle_id)),
            *map(maker.meter, records.all(MeterEntry, vehicle_id=vehicle_id)),
            *(
                line
                for one in records.all(Installation, vehicle_id=vehicle_id)
                for line in maker.installation(one)
            ),
            *map(maker.torque, records.all(TorqueRecord, vehicle_id=vehicle_id)),
            *map(maker.setup, _setups(entries)),
        ]
        trail = TrailSnapshot(entries, trail_names(records, state, entries))
    lines.sort(key=_place)
    history = state.histories[vehicle_id]
    return HistorySnapshot(
        vehicle_id=vehicle_id,
        tag=vehicle.tag,
        vehicle_text=vehicle.description,
        depot=vehicle.depot,
        meter_unit=vehicle.meter_unit,
        today=bench.today(),
        lines=tuple(lines),
        trail=trail,
        instruments=tuple(state.instruments.values()),
        last_meter=None if history.last is None else history.last.total_use - history.offset,
        data_version=state.data_version,
    )


def _place(line: HistoryLine) -> tuple[int, int, int]:
    """Return what sorts lines: the latest day first, in it readings in the order of the hand."""
    number = line.record.id if line.kind is HistoryKind.READING else -line.record.id
    return (-line.on.toordinal(), _ORDER.index(line.kind), number)


def trail_snapshot(bench: Bench, vehicle_id: int | None = None, limit: int | None = None) -> TrailSnapshot:
    """Return the trail of one vehicle, or of everything, the latest first."""
    state = fleet_state(bench)
    with bench.database.reading() as records:
        entries = records.audit(vehicle_id=vehicle_id, limit=limit)
        return TrailSnapshot(entries, trail_names(records, state, entries))


def _setups(entries: Iterable[AuditEntry]) -> Iterator[AuditEntry]:
    """Yield the changes of the vehicle and its stages; when they were typed in is no change of set-up."""
    for entry in entries:
        if entry.record in _SETUP and entry.before:
            yield entry


def trail_names(records: Records, state: FleetState, entries: Iterable[AuditEntry]) -> TrailNames:
    """Return what the numbers in entries of the trail stand for."""
    changed = {entry.record_id for entry in entries if entry.record == "Reading" and entry.before}
    readings = records.all(Reading, id=changed) if changed else ()
    parts = {}
    for part in state.parts.values():
        name = state.part_types[part.part_type_id].name
        parts[part.id] = f"{name} {part.label}".strip()
    return TrailNames(
        vehicles={one.id: one.tag for one in state.vehicles.values()},
        stages={one.id: one.name for one in state.stages.values()},
        parts=parts,
        part_types={one.id: one.name for one in state.part_types.values()},
        instruments={one.id: one.name for one in state.instruments.values()},
        fasteners={one.id: one.name for one in records.all(Fastener)},
        use_units={one.id: one.meter_unit.use_unit for one in state.vehicles.values()},
        measurands={one.id: one.measurand for one in readings},
    )


@dataclass(frozen=True, slots=True)
class _Lines:
    """Makes the lines of one vehicle."""

    state: FleetState
    vehicle: Vehicle
    fasteners: dict[int, Fastener]

    def _meter(self, record: Visit | Reading | TorqueRecord) -> float:
        """Return what the meter showed at a total use, on the meter fitted that day."""
        history = self.state.histories[self.vehicle.id]
        return record.total_use - history.total_for(0.0, record.on)

    def _stage(self, stage_id: int | None) -> str:
        stage = self.state.stages.get(stage_id or 0)
        return stage.name if stage is not None else ""

    def _key(self, kind: HistoryKind, number: int) -> str:
        return f"{kind.value} {number}"

    def visit(self, visit: Visit) -> HistoryLine:
        stages = {task.stage_id for task in visit.tasks}
        stage = self._stage(next(iter(stages))) if len(stages) == 1 else ""
        return HistoryLine(
            key=self._key(HistoryKind.VISIT, visit.id),
            kind=HistoryKind.VISIT,
            on=visit.on,
            record=visit,
            total_use=visit.total_use,
            meter_value=self._meter(visit),
            stage_name=stage,
        )

    def reading(self, reading: Reading) -> HistoryLine:
        installation = self.state.installations.get(reading.installation_id or 0)
        return HistoryLine(
            key=self._key(HistoryKind.READING, reading.id),
            kind=HistoryKind.READING,
            on=reading.on,
            record=reading,
            total_use=reading.total_use,
            meter_value=self._meter(reading),
            stage_name=self._stage(reading.stage_id),
            part_text="" if installation is None else self.state.part_text(installation),
            position=None if installation is None else installation.position,
            instrument=self.state.instruments.get(reading.instrument_id or 0),
        )

    def meter(self, entry: MeterEntry) -> HistoryLine:
        return HistoryLine(
            key=self._key(HistoryKind.METER, entry.id),
            kind=HistoryKind.METER,
            on=entry.on,
            record=entry,
            meter_value=entry.value,
        )

    def installation(self, installation: Installation) -> Iterator[HistoryLine]:
        state = self.state
        text, stage = state.part_text(installation), self._stage(installation.stage_id)
        ends = [(HistoryKind.FITTED, installation.fitted_on, installation.fitted_use)]
        if installation.removed_on is not None:
            ends.append((HistoryKind.REMOVED, installation.removed_on, installation.removed_use or 0.0))
        for kind, on, use in ends:
            part_use = None if installation.void_reason else state.use_on_part(installation, use)
            yield HistoryLine(
                key=self._key(kind, installation.id),
                kind=kind,
                on=on,
                record=installation,
                total_use=use,
                meter_value=use - state.histories[self.vehicle.id].total_for(0.0, on),
                stage_name=stage,
                part_text=text,
                position=installation.position,
                part_use=part_use,
            )

    def torque(self, record: TorqueRecord) -> HistoryLine:
        fastener = self.fasteners.get(record.fastener_id)
        return HistoryLine(
            key=self._key(HistoryKind.TORQUE, record.id),
            kind=HistoryKind.TORQUE,
            on=record.on,
            record=record,
            total_use=record.total_use,
            meter_value=self._meter(record),
            stage_name=fastener.stage_name if fastener is not None else "",
            fastener=fastener,
            instrument=self.state.instruments.get(record.instrument_id or 0),
        )

    def setup(self, entry: AuditEntry) -> HistoryLine:
        return HistoryLine(
            key=self._key(HistoryKind.SETUP, entry.id),
            kind=HistoryKind.SETUP,
            on=entry.at.astimezone().date(),
            record=entry,
            stage_name=self._stage(entry.record_id) if entry.record == "Stage" else "",
        )
