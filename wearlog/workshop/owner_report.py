"""The owner's report on a vehicle, gathered from its records and forecasts."""

from datetime import date, timedelta
from gettext import gettext as _

from wearlog.fleet.fitting import Installation
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.progress import Progress
from wearlog.fleet.reading import Measurand, Reading
from wearlog.fleet.service import Visit
from wearlog.fleet.state import URGENCY, State, worst
from wearlog.fleet.vehicle import Stage
from wearlog.workshop.bench import Bench
from wearlog.workshop.conditions import conditions
from wearlog.workshop.due import due_lines_of_vehicle
from wearlog.workshop.fleet_snapshot import WearRuleValue
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.judge import governing, rules_of_vehicle
from wearlog.workshop.outlook import Outlook
from wearlog.workshop.owner_report_snapshot import OwnerReport, ReportReading, ReportVisit
from wearlog.workshop.predict import trend_snapshot
from wearlog.workshop.trend_choices import running_parts
from wearlog.workshop.trend_snapshot import TrendSnapshot
from wearlog.workshop.usage import vehicle_uses

#: How far ahead an owner is advised, [d]: half a year, from one season's service to the next. Common
#: practice, no source.
ADVISED_DAYS = 180
_ORDER = tuple(Measurand)


def owner_report(
    bench: Bench, vehicle_id: int, progress: Progress | None = None, *, within_days: int = ADVISED_DAYS
) -> OwnerReport:
    """Return the owner's report on a vehicle.

    Parameters
    ----------
    within_days
        Advice reaches so far ahead, [d].

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
    today = bench.today()
    until = today + timedelta(days=within_days)
    trends = _trends(bench, vehicle_id, progress)
    history = state.histories[vehicle_id]
    with bench.database.reading() as records:
        readings = records.all(Reading, vehicle_id=vehicle_id, live=True)
    return OwnerReport(
        vehicle_id=vehicle_id,
        tag=vehicle.tag,
        vehicle_text=vehicle.description,
        depot=vehicle.depot,
        meter_unit=vehicle.meter_unit.value,
        use_unit=vehicle.meter_unit.use_unit,
        today=today,
        until=until,
        last_meter=None if history.last is None else history.last.total_use - history.offset,
        last_meter_on=None if history.last is None else history.last.on,
        use_per_day=vehicle_uses(bench)[vehicle_id].usage.rate,
        state=worst([trend.rule.state for trend in trends]) if trends else State.NO_READING,
        trends=trends,
        readings=_readings(bench, state, vehicle_id, readings),
        visits=tuple(_visit(state, visit) for visit in reversed(state.visits_of.get(vehicle_id, ()))),
        advice=tuple(line for line in due_lines_of_vehicle(bench, vehicle_id) if line.due_on <= until),
    )


def _trends(bench: Bench, vehicle_id: int, progress: Progress | None) -> tuple[TrendSnapshot, ...]:
    own = running_parts(bench, vehicle_id, progress)
    graded = conditions(bench)
    stages: dict[int, list[Outlook]] = {}
    for outlook in own.values():
        stages.setdefault(outlook.item.installation.stage_id, []).append(outlook)
    chosen = [governing(outlooks, graded) for outlooks in stages.values()]
    trends = [
        trend_snapshot(bench, vehicle_id, one.item.installation.id, one.item.measurand, progress)
        for one in chosen
    ]
    trends.sort(key=lambda trend: (-URGENCY.index(trend.rule.state), -trend.rule.median))
    return tuple(trends)


def _readings(
    bench: Bench, state: FleetState, vehicle_id: int, readings: tuple[Reading, ...]
) -> tuple[ReportReading, ...]:
    """Return the latest reading of everything that is on the vehicle now, stage by stage."""
    rules = rules_of_vehicle(bench, vehicle_id)
    found = []
    for stage in state.stages_in_service(vehicle_id):
        fitted = {one.id: one for one in state.current_on(stage.id)}
        own = [one for one in readings if one.stage_id == stage.id]
        # In the order of the hand: chain or belt first, then what is measured on the stage, then the wheels.
        own.sort(key=lambda one: _ORDER.index(one.measurand))
        kinds = dict.fromkeys((one.installation_id, one.measurand) for one in own)
        for number, measurand in kinds:
            if number is not None and number not in fitted:
                continue
            series = sorted(
                (one for one in own if (one.installation_id, one.measurand) == (number, measurand)),
                key=lambda one: (one.on, one.id),
            )
            installation = None if number is None else fitted[number]
            found.append(_reading(state, stage, installation, series, rules.get((number or 0, measurand))))
    return tuple(found)


def _reading(
    state: FleetState,
    stage: Stage,
    installation: Installation | None,
    series: list[Reading],
    rule: WearRuleValue | None,
) -> ReportReading:
    latest = series[-1]
    limit = None if installation is None else state.limit_of(installation, latest.measurand)
    return ReportReading(
        stage_name=stage.name,
        part_text="" if installation is None else state.part_text(installation),
        latest=latest,
        before=series[-2] if len(series) > 1 else None,
        meter_value=_meter(state, latest.vehicle_id, latest.total_use, latest.on),
        limit=None if limit is None else limit[0],
        limit_why="" if limit is None else limit[1],
        rule=rule,
    )


def _visit(state: FleetState, visit: Visit) -> ReportVisit:
    stages = {stage.id: stage.name for stage in state.stages_of.get(visit.vehicle_id, ())}
    fitted = tuple(
        state.part_text(one)
        for stage_id in stages
        for one in state.installed_on.get(stage_id, ())
        if one.fitted_on == visit.on and not one.void_reason
    )
    return ReportVisit(visit, _meter(state, visit.vehicle_id, visit.total_use, visit.on), stages, fitted)


def _meter(state: FleetState, vehicle_id: int, total_use: float, on: date) -> float:
    """Return what the meter showed at a total use, on the meter fitted that day."""
    return total_use - state.histories[vehicle_id].total_for(0.0, on)
