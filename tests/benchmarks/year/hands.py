"""The hands of the workshop: they do what the plan says, read with errors, fill in the sheet.

What the plan wants off is measured first, as any mechanic does; it stays on if the sheet, with that reading
in it, puts its day beyond the weeks that plans look ahead.
"""

from dataclasses import dataclass
from datetime import timedelta

from sample_fleet import bench as tools
from sample_fleet.books import Row
from sample_fleet.fitted import Fitted, StageState
from sample_fleet.laws import BeltWear, ChainWear, SprocketWear
from sample_fleet.roads import stream
from sample_fleet.vehicle import KM_PER_MILE, VehicleState
from sample_fleet.visit import Visit
from tests.benchmarks.year.world import World
from wearlog.exchange.measured_cells import spots
from wearlog.fleet.fitting import Position
from wearlog.fleet.reading import Instrument, Measurand, Method, Spot
from wearlog.fleet.service import Task
from wearlog.workshop.ask import open_sheet, reading_key
from wearlog.workshop.bench import Bench
from wearlog.workshop.due_snapshot import Action, DueLine
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.import_rows import GaugeSpot
from wearlog.workshop.measure import preview, save
from wearlog.workshop.plan_snapshot import PlannedStop, PlannedWork
from wearlog.workshop.plan_times import ACTION_MINUTES
from wearlog.workshop.sheet import AskedReading, EntryDraft, SheetDraft, SheetSnapshot, TaskDraft

#: A part whose day is further ahead than so after it was read stays on, [d].
STAYS_ON_DAYS = 56
#: Shares of the allowance at which the teeth look worn, worse, and done for.
GRADES = (0.2, 0.55, 0.95)
#: What the sheet foretells a day for.
FORETOLD = (Measurand.CHAIN_ELONGATION, Measurand.SPROCKET_TOOTH_THICKNESS)
_UNIT = {Method.SPAN_FREQUENCY: "Hz", Method.ELONGATION_READ: "%", Method.GRADE: "1"}


@dataclass(slots=True)
class _AtWork:
    """A vehicle in the bay: the sheet as asked, and what is typed into it so far."""

    bench: Bench
    world: World
    vehicle: VehicleState
    visit: Visit
    sheet: SheetSnapshot
    draft: SheetDraft

    def asked(self, stage: str, measurand: Measurand, position: str) -> AskedReading | None:
        for block in self.sheet.blocks:
            for one in block.readings:
                is_there = one.position is None or one.position.value == position
                if block.stage_name == stage and one.measurand is measurand and is_there:
                    return one
        return None

    def enter(self, stage: StageState, measurand: Measurand, position: str, row: Row) -> None:
        """Type what was written down into the sheet."""
        asked = self.asked(stage.set_up.stage, measurand, position)
        if asked is None:
            raise LookupError(f"{self.sheet.tag}: {stage.set_up.stage} is not asked for {measurand}")
        instrument = next((i for i in asked.instruments if i.name == row["instrument"]), None)
        entry = EntryDraft(
            text=row["spots [mm]"],
            spots=_spots_of(row, measurand, instrument),
            method=Method(row["method"]),
            instrument_id=None if instrument is None else instrument.id,
            pitches=int(row["pitches"]) if row["pitches"] else None,
            was_cleaned={"yes": True, "no": False}.get(row["cleaned"]),
            definition=row["definition"],
        )
        self.draft = self.draft.with_entry(asked.key, entry)
        self.world.ledger.readings += 1

    def has(self, stage: StageState, measurand: Measurand, position: str) -> bool:
        asked = self.asked(stage.set_up.stage, measurand, position)
        return asked is not None and asked.key in self.draft.entries

    def written(self) -> Row:
        """Return what the generator's mechanic wrote down last."""
        return self.vehicle.books.records["readings"][-1]

    def tick(self, key: str, task: TaskDraft) -> None:
        self.draft = self.draft.with_task(key, task)


def serve(bench: Bench, world: World, stop: PlannedStop) -> None:
    """Do one visit of a plan on its day and keep it through the service sheet."""
    world.ride_until(stop.on)
    vehicle = world.vehicles[stop.tag]
    work = _begin(bench, world, vehicle, stop.vehicle_id, "visit")
    wanted: list[tuple[PlannedWork, StageState, str]] = []
    for planned in stop.works:
        line = planned.line
        stage = vehicle.stage(line.stage_name)
        if line.action is Action.REPLACE:
            position = _position(bench, line)
            _read_part(work, stage, position)
            wanted.append((planned, stage, position))
        elif line.action is Action.MEASURE:
            _read_part(work, stage, _position(bench, line))
        elif line.action is Action.ADJUST or line.task is Task.TENSION_SET:
            _adjust(work, stage, line.stage_id)
        elif line.task is not None:
            _do_task(work, stage, line.stage_id, line.task)
    _look_at_belts(work)
    staying = _staying_on(work, [planned.line for planned, _stage, _position in wanted])
    renewed: list[tuple[StageState, str]] = []
    minutes = stop.minutes
    for planned, stage, position in wanted:
        line = planned.line
        if line.key in staying:
            minutes += ACTION_MINUTES[Action.MEASURE] - planned.minutes
            world.ledger.kept_on += 1
            continue
        work.tick(f"{line.stage_id}:{Task.PART_FITTED.name}:{line.installation_id}", TaskDraft(done=True))
        renewed.append((stage, position))
    save(bench, work.draft)
    world.ledger.visits += 1
    world.ledger.minutes += minutes
    for stage, position in renewed:
        world.renew(vehicle, stage, position)
    new_chains = [stage for stage, position in renewed if position == "run" and stage.chain is not None]
    if new_chains:
        _read_new(bench, world, vehicle, stop.vehicle_id, new_chains)


def _staying_on(work: _AtWork, lines: list[DueLine]) -> set[str]:
    """Return which parts stay on, by what the sheet foretells with the readings that are typed in."""
    if not any(line.measurand in FORETOLD for line in lines):
        return set()
    told = {entry.key: entry.replace_by for entry in preview(work.bench, work.draft).entries}
    last = work.world.day + timedelta(days=STAYS_ON_DAYS)
    staying = set()
    for line in lines:
        if line.measurand in FORETOLD:
            day = told.get(reading_key(line.stage_id, line.installation_id, line.measurand))
            if day is not None and day > last:
                staying.add(line.key)
    return staying


def _begin(bench: Bench, world: World, vehicle: VehicleState, vehicle_id: int, name: str) -> _AtWork:
    vehicle.rng = stream(world.seed, vehicle.plan.tag, world.day.isoformat(), name)
    visit = Visit(vehicle, world.day)
    text = vehicle.meter_text()
    value = float(text) * (KM_PER_MILE if vehicle.plan.meter_unit == "mi" else 1.0)
    draft = SheetDraft(vehicle_id, world.day, meter_text=text, meter_value=value, by=visit.by)
    return _AtWork(bench, world, vehicle, visit, open_sheet(bench, vehicle_id), draft)


def _position(bench: Bench, line: DueLine) -> str:
    if line.installation_id is None:
        return Position.RUN.value
    return fleet_state(bench).installations[line.installation_id].position.value


def _read_new(
    bench: Bench, world: World, vehicle: VehicleState, vehicle_id: int, stages: list[StageState]
) -> None:
    """Measure new chains before they run: on a sheet of its own, since they were not there on the first."""
    work = _begin(bench, world, vehicle, vehicle_id, "new")
    for stage in stages:
        work.visit.measure_chain(stage, stage.parts["run"], is_zero=True)
        work.enter(stage, Measurand.CHAIN_ELONGATION, "run", work.written())
        world.ledger.minutes += ACTION_MINUTES[Action.MEASURE]
    save(bench, work.draft)


def _read_part(work: _AtWork, stage: StageState, position: str) -> None:
    part = stage.parts[position]
    if isinstance(part.wear, ChainWear):
        if not work.has(stage, Measurand.CHAIN_ELONGATION, position):
            work.visit.measure_chain(stage, part)
            work.enter(stage, Measurand.CHAIN_ELONGATION, position, work.written())
    elif isinstance(part.wear, BeltWear):
        if not work.has(stage, Measurand.BELT_TENSION, position):
            _read_tension(work, stage, part)
    elif part.part_type.kind == "sprocket":
        if not work.has(stage, Measurand.SPROCKET_TOOTH_THICKNESS, position):
            _read_teeth(work, stage, part, part.wear)
    elif not work.has(stage, Measurand.SPROCKET_CONDITION, position):
        _grade(work, stage, part, sum(part.wear.share >= step for step in GRADES))


def _read_teeth(work: _AtWork, stage: StageState, part: Fitted, wear: SprocketWear) -> None:
    visit = work.visit
    thickest = wear.thickness_mm + float(visit.rng.uniform(0.0, 0.08))
    caliper = "Upper caliper 200" if visit.is_upper else "Harbour caliper 200"
    taken = tools.by_hand(visit.rng, (wear.thickness_mm, thickest), tools.U_TOOTH_MM, 0.05, caliper)
    visit.keep(stage, "sprocket tooth thickness", taken, wear.thickness_mm, part=part)
    work.enter(stage, Measurand.SPROCKET_TOOTH_THICKNESS, part.position, work.written())


def _grade(work: _AtWork, stage: StageState, part: Fitted, grade: int) -> None:
    is_belt = isinstance(part.wear, BeltWear)
    measurand = Measurand.BELT_CONDITION if is_belt else Measurand.SPROCKET_CONDITION
    work.visit.keep(stage, measurand.value, tools.by_eye(grade), float(grade), part=part)
    work.enter(stage, measurand, part.position, work.written())


def _read_tension(work: _AtWork, stage: StageState, part: Fitted) -> float:
    belt = part.wear
    if not isinstance(belt, BeltWear):
        raise TypeError(part.part_type.name)
    mass = part.part_type.mass_kg_per_m or 0.0
    taken = tools.by_frequency(work.visit.rng, belt.tension_n, stage.set_up.span_mm, mass)
    work.visit.keep(stage, "static belt tension", taken, belt.tension_n, part=part)
    work.enter(stage, Measurand.BELT_TENSION, "run", work.written())
    return taken.found


def _adjust(work: _AtWork, stage: StageState, stage_id: int) -> None:
    """Measure slack or tension, set it, and note both values."""
    key, set_up, rng = f"{stage_id}:{Task.TENSION_SET.name}", stage.set_up, work.visit.rng
    if stage.belt is not None:
        before = _read_tension(work, stage, stage.parts["run"])
        stage.belt.tension_n = set_up.tension_n * (1 + float(rng.normal(0.0, 0.03)))
        work.tick(key, _set(before, stage.belt.tension_n))
        return
    if set_up.has_tensioner:
        work.tick(key, TaskDraft(done=True))
        return
    tight = stage.slack_mm()
    u = tools.U_SLACK_MM * set_up.slack_mm / 34.0
    taken = tools.by_hand(rng, (tight, tight + stage.looser_mm), u, 1.0)
    work.visit.keep(stage, "slack", taken, tight)
    work.enter(stage, Measurand.SLACK, "run", work.written())
    stage.set_tension(set_up.slack_mm * (1 + float(rng.normal(0.0, 0.04))))
    work.tick(key, _set(taken.found, stage.slack_mm()))


def _set(before: float, after: float) -> TaskDraft:
    return TaskDraft(True, f"{before:.0f}", f"{after:.0f}", float(round(before)), float(round(after)))


def _do_task(work: _AtWork, stage: StageState, stage_id: int, task: Task) -> None:
    work.tick(f"{stage_id}:{task.name}", TaskDraft(done=True))
    if task is Task.LUBRICATED:
        stage.km_since_lubricated = 0.0


def _look_at_belts(work: _AtWork) -> None:
    """Grade belts and pulleys by eye, which the sheet asks for at every visit and takes no time."""
    for stage in work.vehicle.stages:
        for part in stage.parts.values():
            if isinstance(part.wear, BeltWear):
                _grade(work, stage, part, part.wear.grade)
            elif part.part_type.kind == "pulley" and not work.has(
                stage, Measurand.SPROCKET_CONDITION, part.position
            ):
                _grade(work, stage, part, sum(part.wear.share >= step for step in GRADES))


def _spots_of(row: Row, measurand: Measurand, instrument: Instrument | None) -> tuple[Spot, ...]:
    """Return the spots as an import reads them; a gauge's stamps mean what the instrument says."""
    method = Method(row["method"])
    read = spots(row["spots [mm]"], _UNIT.get(method, "mm"), {"method": method, "measurand": measurand})
    found: list[Spot] = []
    for one in read:
        if isinstance(one, Spot):
            found.append(one)
        elif isinstance(one, GaugeSpot) and instrument is not None:
            meaning = dict(instrument.stamps)
            if one.goes_in:
                found.append(Spot(typed=f"{one.goes_in} in", value=meaning[one.goes_in], second=1.0))
            if one.stays_out:
                found.append(Spot(typed=f"{one.stays_out} out", value=meaning[one.stays_out], second=0.0))
    return tuple(found)
