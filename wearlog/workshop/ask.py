"""What the service sheet of a vehicle asks for: just the quantities and tasks that are due, in order."""

from dataclasses import dataclass
from datetime import date
from gettext import gettext as _

from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.parts import DriveKind, PartKind
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.reading import Instrument, InstrumentKind, Measurand, Method, Reading
from wearlog.fleet.service import Task
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.measuring.how_to import general_cautions, how_to, methods_for
from wearlog.workshop.bench import Bench
from wearlog.workshop.due import due_lines_of_vehicle
from wearlog.workshop.due_snapshot import Action, DueLine
from wearlog.workshop.fleet_snapshot import WearRuleValue
from wearlog.workshop.fleet_state import WEAR_MEASURAND, ZERO_READING_WITHIN, FleetState, fleet_state
from wearlog.workshop.judge import rules_of_vehicle
from wearlog.workshop.sheet import AskedReading, AskedTask, SheetBlock, SheetSnapshot
from wearlog.workshop.usage import vehicle_uses

#: Sprocket teeth are measured again after this use; common practice, no source.
SPROCKET_EVERY = {"km": 3000.0, "h": 300.0}
#: What falls due within so many days is done at this visit.
DUE_WITHIN_DAYS = 30

#: Instruments that suit a method.
SUITS: dict[Method, tuple[InstrumentKind, ...]] = {
    Method.PIN_TO_PIN: (InstrumentKind.RULE, InstrumentKind.CALIPER, InstrumentKind.TAPE),
    Method.OVER_ROLLERS: (InstrumentKind.CALIPER, InstrumentKind.RULE),
    Method.INSIDE_AND_OUTSIDE: (InstrumentKind.CALIPER,),
    Method.BETWEEN_ROLLERS: (InstrumentKind.CALIPER,),
    Method.TAPE: (InstrumentKind.TAPE, InstrumentKind.RULE),
    Method.WHOLE_CHAIN: (InstrumentKind.RULE, InstrumentKind.TAPE),
    Method.GAUGE: (InstrumentKind.GAUGE_TWO_PRONG, InstrumentKind.GAUGE_ONE_SIDE),
    Method.DIRECT: (InstrumentKind.CALIPER, InstrumentKind.RULE),
    Method.SPAN_FREQUENCY: (InstrumentKind.FREQUENCY_METER,),
    Method.DEFLECTION_FORCE: (InstrumentKind.FORCE_GAUGE,),
}


def cautions() -> tuple[str, ...]:
    """Return the usual cautions for work on a drive, those for measuring first."""
    return (
        *general_cautions(),
        _("Wear eye protection when a chain is driven apart. A chain that fails can lock the wheel."),
        _("Limits and torques here never override the vehicle maker’s manual or local rules."),
    )


def reading_key(stage_id: int, installation_id: int | None, measurand: Measurand) -> str:
    """Return what names an asked reading in a draft."""
    return f"{stage_id}:{installation_id or 0}:{measurand.name}"


def open_sheet(bench: Bench, vehicle_id: int) -> SheetSnapshot:
    """Return the service sheet of a vehicle as it stands before anything is typed.

    Raises
    ------
    WearlogError
        If the vehicle does not exist.
    """
    return sheet_and_readings(bench, vehicle_id)[0]


def sheet_to_save(bench: Bench, vehicle_id: int) -> SheetSnapshot:
    """Return the service sheet of a vehicle without what is due: a save needs no forecast, and soon ends.

    Raises
    ------
    WearlogError
        If the vehicle does not exist.
    """
    return sheet_and_readings(bench, vehicle_id, looks_ahead=False)[0]


def sheet_and_readings(
    bench: Bench, vehicle_id: int, *, looks_ahead: bool = True
) -> tuple[SheetSnapshot, tuple[Reading, ...]]:
    """Return the service sheet of a vehicle and all its readings so far.

    Parameters
    ----------
    bench : Bench
        An open store.
    vehicle_id : int
        The vehicle.
    looks_ahead : bool
        Whether it says what is due, and how worn the parts are by now.

    Raises
    ------
    WearlogError
        If the vehicle does not exist.
    """
    state = fleet_state(bench)
    vehicle = state.vehicles.get(vehicle_id)
    if vehicle is None:
        raise WearlogError(
            Problem(
                _("This vehicle is no longer kept."),
                todo=_("Choose another one."),
                kind=ProblemKind.NOT_FOUND,
            )
        )
    history = state.histories[vehicle_id]
    lines = due_lines_of_vehicle(bench, vehicle_id) if looks_ahead else ()
    rules = rules_of_vehicle(bench, vehicle_id) if looks_ahead else {}
    with bench.database.reading() as records:
        readings = records.all(Reading, vehicle_id=vehicle_id, live=True)
    known = _Known(state, vehicle, readings, lines, rules, bench.today())
    blocks = tuple(_block(known, stage) for stage in state.stages_in_service(vehicle_id))
    sheet = SheetSnapshot(
        vehicle_id=vehicle_id,
        tag=vehicle.tag,
        vehicle_text=vehicle.description,
        depot=vehicle.depot,
        meter_unit=vehicle.meter_unit.value,
        use_unit=vehicle.meter_unit.use_unit,
        today=bench.today(),
        last_meter=None if history.last is None else history.last.total_use - history.offset,
        last_meter_on=None if history.last is None else history.last.on,
        use_per_day=vehicle_uses(bench)[vehicle_id].usage.rate if looks_ahead else 0.0,
        blocks=blocks,
        people=tuple(sorted({by for by in state.all_visits.column("by") if by})),
        cautions=cautions(),
    )
    return sheet, readings


@dataclass(frozen=True, slots=True)
class _Known:
    """What the questions are made from."""

    state: FleetState
    vehicle: Vehicle
    readings: tuple[Reading, ...]
    lines: tuple[DueLine, ...]
    rules: dict[tuple[int, Measurand], WearRuleValue]
    today: date

    def latest(self, stage: Stage, measurand: Measurand, installation: Installation | None) -> Reading | None:
        """Return the latest reading of a part, or of the stage where `installation` is None."""
        fitting = [
            r
            for r in self.readings
            if r.stage_id == stage.id
            and r.measurand is measurand
            and (installation is None or r.installation_id == installation.id)
        ]
        return max(fitting, key=lambda r: (r.on, r.id), default=None)


def _block(known: _Known, stage: Stage) -> SheetBlock:
    state = known.state
    current = state.current_on(stage.id)
    asked = [
        _asked(known, stage, installation, measurand)
        for installation in current
        for measurand in _measurands(state.part_type_of(installation).kind)
    ]
    if any(i.position is Position.RUN and state.part_type_of(i).kind is PartKind.CHAIN for i in current):
        asked += [_asked(known, stage, None, m) for m in (Measurand.SLACK, Measurand.ADJUSTER_POSITION)]
    asked.sort(key=lambda a: (_ORDER.index(a.measurand), a.position is Position.DRIVEN))
    return SheetBlock(
        stage_id=stage.id,
        stage_name=stage.name,
        drive_text=next((state.part_text(i) for i in current if i.position is Position.RUN), ""),
        readings=tuple(asked),
        tasks=_tasks(state, stage, current, known.lines),
    )


#: The order of the hand at one stage.
_ORDER = (
    Measurand.CHAIN_ELONGATION,
    Measurand.BELT_TENSION,
    Measurand.BELT_CONDITION,
    Measurand.SLACK,
    Measurand.ADJUSTER_POSITION,
    Measurand.SPROCKET_TOOTH_THICKNESS,
    Measurand.SPROCKET_CONDITION,
    Measurand.CHAIN_LIFT,
)


def _measurands(kind: PartKind) -> tuple[Measurand, ...]:
    return {
        PartKind.CHAIN: (Measurand.CHAIN_ELONGATION,),
        PartKind.BELT: (Measurand.BELT_TENSION, Measurand.BELT_CONDITION),
        PartKind.SPROCKET: (Measurand.SPROCKET_TOOTH_THICKNESS, Measurand.SPROCKET_CONDITION),
        PartKind.PULLEY: (Measurand.SPROCKET_CONDITION,),
    }[kind]


def _asked(
    known: _Known, stage: Stage, installation: Installation | None, measurand: Measurand
) -> AskedReading:
    state, vehicle, rules = known.state, known.vehicle, known.rules
    previous = known.latest(stage, measurand, installation)
    unit = vehicle.meter_unit.use_unit
    last = state.histories[vehicle.id].last
    part_type = None if installation is None else state.part_type_of(installation)
    use_on_part = (
        0.0 if installation is None or last is None else state.use_on_part(installation, last.total_use)
    )
    wants_zero = (
        installation is not None
        and part_type is not None
        and measurand is WEAR_MEASURAND.get(part_type.kind)
        and previous is None
        and use_on_part <= ZERO_READING_WITHIN[unit]
    )
    methods = methods_for(measurand)
    method = previous.method if previous is not None and previous.method in methods else methods[0]
    instruments = tuple(
        i for i in state.instruments.values() if i.retired_on is None and i.kind in SUITS.get(method, ())
    )
    limit = None if installation is None else state.limit_of(installation, measurand)
    is_due, why = _is_due(known, measurand, installation, previous)
    pitches = None
    if measurand is Measurand.CHAIN_ELONGATION and method not in (Method.GAUGE, Method.ELONGATION_READ):
        pitches = (
            previous.pitches
            if previous is not None and previous.pitches
            else how_to(measurand, method).suggested_pitches
        )
    return AskedReading(
        key=reading_key(stage.id, installation.id if installation else None, measurand),
        stage_id=stage.id,
        installation_id=installation.id if installation else None,
        position=installation.position if installation else None,
        measurand=measurand,
        part_text=state.part_text(installation) if installation else "",
        method=method,
        methods=methods,
        instrument_id=_instrument(previous, instruments),
        instruments=tuple(i for i in state.instruments.values() if i.retired_on is None),
        pitches=pitches,
        pitch_mm=part_type.pitch_mm if part_type else None,
        roller_diameter_mm=part_type.roller_diameter_mm if part_type else None,
        span_mm=state.span_mm(stage),
        mass_kg_per_m=part_type.mass_kg_per_m if part_type else None,
        definition=(previous.definition if previous and previous.definition else stage.slack_definition)
        if measurand is Measurand.SLACK
        else "",
        previous=previous,
        limit=limit[0] if limit else None,
        rule=rules.get((installation.id, measurand)) if installation else None,
        is_due=is_due or wants_zero,
        why_due=_("new part: its zero reading") if wants_zero else why,
        wants_zero=wants_zero,
        has_zero_reading=any(
            r.is_zero_reading and r.measurand is measurand and r.method is method
            for r in known.readings
            if installation is not None and r.installation_id == installation.id
        ),
    )


def _instrument(previous: Reading | None, instruments: tuple[Instrument, ...]) -> int | None:
    if previous is not None and previous.instrument_id is not None:
        return previous.instrument_id
    return instruments[0].id if instruments else None


#: What is read at every service.
_ALWAYS = (
    Measurand.CHAIN_ELONGATION,
    Measurand.SLACK,
    Measurand.BELT_TENSION,
    Measurand.BELT_CONDITION,
)


def _is_due(
    known: _Known, measurand: Measurand, installation: Installation | None, previous: Reading | None
) -> tuple[bool, str]:
    if measurand in _ALWAYS:
        return True, ""
    if measurand is not Measurand.SPROCKET_TOOTH_THICKNESS or installation is None:
        return False, ""
    if previous is None:
        return True, _("never measured")
    last = known.state.histories[known.vehicle.id].last
    gone = (last.total_use if last else 0.0) - previous.total_use
    if gone >= SPROCKET_EVERY[known.vehicle.meter_unit.use_unit]:
        return True, _("not measured for a while")
    is_asked = any(
        line.installation_id == installation.id
        and line.action in {Action.MEASURE, Action.REPLACE}
        and (line.due_on - known.today).days <= DUE_WITHIN_DAYS
        for line in known.lines
    )
    return is_asked, ""


def _tasks(
    state: FleetState, stage: Stage, current: tuple[Installation, ...], lines: tuple[DueLine, ...]
) -> tuple[AskedTask, ...]:
    due = {line.task for line in lines if line.stage_id == stage.id and line.task is not None}
    is_belt = stage.drive is DriveKind.BELT
    offered = [Task.CLEANED] if is_belt else [Task.CLEANED, Task.LUBRICATED]
    offered += [Task.TENSION_SET, Task.TORQUE_CHECKED, Task.INSPECTED]
    words = {
        Task.CLEANED: _("cleaned"),
        Task.LUBRICATED: _("lubricated"),
        Task.TENSION_SET: _("belt tension set") if is_belt else _("slack set"),
        Task.TORQUE_CHECKED: _("torque checked"),
        Task.INSPECTED: _("inspected"),
    }
    unit = ("N" if is_belt else "mm") if current else ""
    tasks = [
        AskedTask(
            key=f"{stage.id}:{task.name}",
            stage_id=stage.id,
            task=task,
            text=words[task],
            is_due=task in due,
            takes_values=task is Task.TENSION_SET,
            quantity_unit=unit if task is Task.TENSION_SET else "",
        )
        for task in offered
    ]
    tasks += [
        AskedTask(
            key=f"{stage.id}:{Task.PART_FITTED.name}:{installation.id}",
            stage_id=stage.id,
            task=Task.PART_FITTED,
            text=_("new {part} fitted").format(part=state.part_text(installation)),
            is_due=False,
        )
        for installation in current
    ]
    return tuple(sorted(tasks, key=lambda task: not task.is_due))
