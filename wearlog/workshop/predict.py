"""The wear trend of one part, and the forecasts of all parts."""

from dataclasses import dataclass
from datetime import date
from gettext import gettext as _

import numpy as np

from wearlog.fleet.limit import Limit
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.progress import Progress
from wearlog.fleet.reading import Measurand
from wearlog.forecast.crossing import equally_likely_crossings
from wearlog.forecast.dates import date_spread
from wearlog.forecast.smoothing import past_crossing
from wearlog.workshop.advising import advice_on
from wearlog.workshop.bench import Bench
from wearlog.workshop.conditions import conditions
from wearlog.workshop.explain import explanations
from wearlog.workshop.explain_snapshot import Explanation
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.judge import governing, with_condition
from wearlog.workshop.learn import learned
from wearlog.workshop.outlook import Outlook, family_outlooks, outlooks
from wearlog.workshop.trend_choices import place_of, running_parts, trend_choices
from wearlog.workshop.trend_curves import date_axis, fleet_band, shape_text, wear_curve
from wearlog.workshop.trend_history import earlier_parts, trend_events, trend_readings
from wearlog.workshop.trend_snapshot import Questioned, TrendSnapshot
from wearlog.workshop.trend_two_ways import two_ways
from wearlog.workshop.usage import vehicle_uses
from wearlog.workshop.when import day_of


def trend_snapshot(
    bench: Bench,
    vehicle_id: int,
    installation_id: int | None = None,
    measurand: Measurand | None = None,
    progress: Progress | None = None,
) -> TrendSnapshot:
    """Return the wear trend of one part of a vehicle.

    Parameters
    ----------
    installation_id
        Which part; the most urgent one that runs if None.
    measurand
        Which measurand; the part's only one if None.

    Raises
    ------
    WearlogError
        If there is no such vehicle, or nothing on it whose wear is followed.
    """
    state = fleet_state(bench)
    if vehicle_id not in state.vehicles:
        raise WearlogError(
            Problem(
                _("This vehicle is not kept here."), todo=_("Choose another one."), kind=ProblemKind.NOT_FOUND
            )
        )
    own = running_parts(bench, vehicle_id, progress)
    outlook = _chosen(bench, state, own, vehicle_id, installation_id, measurand)
    return _snapshot(bench, state, outlook, own)


def _chosen(
    bench: Bench,
    state: FleetState,
    own: dict[tuple[int, Measurand], Outlook],
    vehicle_id: int,
    installation_id: int | None,
    measurand: Measurand | None,
) -> Outlook:
    if installation_id is None:
        if own:
            return governing(list(own.values()), conditions(bench))
        raise WearlogError(
            Problem(
                _("Nothing on this vehicle is followed by its wear yet."),
                state.vehicles[vehicle_id].tag,
                _("Fit a chain or belt with a service limit first."),
                kind=ProblemKind.NOT_FOUND,
            )
        )
    for (fitted, measured), outlook in own.items():
        if fitted == installation_id and measurand in {None, measured}:
            return outlook
    lessons = learned(bench)
    for key in lessons.families:
        found = lessons.find(installation_id, key[0])
        if found is not None and measurand in {None, key[0]}:
            family, row = found
            posterior = family.fit.posterior.take([row])
            today = bench.today().toordinal()
            return family_outlooks(state, vehicle_uses(bench), family, [row], posterior, today)[0]
    raise WearlogError(
        Problem(
            _("The wear of this part is not followed."),
            state.vehicles[vehicle_id].tag,
            _("Choose a chain, sprocket or belt that has a service limit."),
            kind=ProblemKind.NOT_FOUND,
        )
    )


def _snapshot(
    bench: Bench, state: FleetState, outlook: Outlook, own: dict[tuple[int, Measurand], Outlook]
) -> TrendSnapshot:
    item, family, row = outlook.item, outlook.family, outlook.row
    installation = item.installation
    vehicle = state.vehicles[installation.vehicle_id]
    stage = state.stages[installation.stage_id]
    graded = conditions(bench)
    x, value = wear_curve(outlook)
    fleet_x, fleet_value = fleet_band(outlook, x)
    axis_use, axis_day = date_axis(state, outlook, float(x[-1]))
    today = bench.today()
    due = day_of(outlook.due_day)
    lead = state.part_type_of(installation).lead_time_days
    past = float(past_crossing(family.fit.posterior.take([row]), family.readings.take([row]))[0])
    advice = advice_on(state, own, outlook)
    spread = date_spread(
        item.ahead_of(outlook.use.last_use, equally_likely_crossings(family.fit.posterior.take([row]))[0]),
        outlook.use.usage,
        outlook.use.clock,
        outlook.use.last_day,
    )
    x_known = float(family.readings.x_last[row]) if outlook.readings else float(family.readings.x_start[row])
    return TrendSnapshot(
        vehicle_id=vehicle.id,
        tag=vehicle.tag,
        vehicle_text=vehicle.description,
        depot=vehicle.depot,
        stage_id=stage.id,
        stage_name=stage.name,
        installation_id=installation.id,
        part_text=state.part_text(installation),
        position=installation.position,
        measurand=item.measurand,
        use_unit=item.use_unit,
        fitted_on=installation.fitted_on,
        fitted_use=installation.fitted_use,
        removed_on=installation.removed_on,
        limit=item.limit,
        limit_why=item.limit_why,
        readings=trend_readings(bench, state, outlook),
        events=trend_events(state, outlook),
        earlier=earlier_parts(bench, state, outlook),
        choices=trend_choices(bench, state, own, vehicle.id),
        today=today,
        use_now=float(item.use_of(max(item.x_at(outlook.use.last_use), x_known))),
        use_expected=outlook.use.use_at(today.toordinal()) + item.offset,
        curve_use=item.use_of(x),
        curve_value=value,
        use_known=float(item.use_of(x_known)),
        fleet_use=item.use_of(fleet_x),
        fleet_value=fleet_value,
        limit_use=item.use_of(outlook.limit_x),
        limit_days=outlook.limit_day,
        axis_use=axis_use,
        axis_day=axis_day,
        rule=with_condition(outlook.rule, graded.get(installation.id)),
        allowance_mean=outlook.allowance_mean,
        allowance_sd=outlook.allowance_sd,
        past_probability=outlook.past_probability,
        past_since_use=float(item.use_of(past)) if np.isfinite(past) else None,
        replace_by=None if due is None else max(due, today),
        order_by=None if due is None else date.fromordinal(max(due, today).toordinal() - lead),
        lead_time_days=lead,
        caution_level=state.policy.caution_level,
        use_per_day=outlook.use.usage.rate,
        days_by_wear=spread.by_wear,
        days_by_use=spread.by_usage,
        exposure=item.exposed.now,
        advice=advice.text if advice else "",
        basis=outlook.basis,
        similar_parts=outlook.similar_parts,
        questioned=_questioned(outlook, today),
        shape_text=shape_text(outlook),
        data_version=state.data_version,
        meter_offset=-item.offset,
        explanation=explanations(bench, [outlook])[0] if item.is_current else None,
        two_ways=two_ways(bench, outlook) if item.is_current else None,
    )


def _questioned(outlook: Outlook, today: date) -> Questioned | None:
    if not outlook.is_questioned:
        return None
    if_right, leaning = day_of(outlook.due_day), day_of(outlook.due_day_leaning)
    return Questioned(
        reading_ids=tuple(number for number, _day in outlook.family.doubted(outlook.row) if number),
        replace_by_if_right=None if if_right is None else max(if_right, today),
        replace_by_as_leaning=None if leaning is None else max(leaning, today),
    )


@dataclass(frozen=True, slots=True)
class PartForecast:
    """The forecast of one running part, for files.

    Use in km (h) on the part, allowances as shares, dates None beyond reach; lists follow `LEVELS`;
    `explanation` is what the dates rest on.
    """

    vehicle: str
    depot: str
    stage: str
    part: str
    position: str
    measurand: Measurand
    use_unit: str
    use_on_part: float
    allowance_mean: float
    allowance_sd: float
    allowance_quantiles: tuple[float, ...]
    limit: Limit
    limit_why: str
    limit_use: tuple[float | None, ...]
    limit_on: tuple[date | None, ...]
    past_probability: float
    readings: int
    questioned: tuple[date, ...]
    explanation: Explanation | None = None


def forecasts(
    bench: Bench, vehicle_id: int | None = None, progress: Progress | None = None
) -> tuple[PartForecast, ...]:
    """Return the forecast of every running part, of one vehicle or of all, sorted by vehicle and stage."""
    state = fleet_state(bench)
    chosen = [
        outlook
        for outlook in outlooks(bench, progress).values()
        if vehicle_id in {None, outlook.item.installation.vehicle_id}
    ]
    chosen.sort(
        key=lambda o: (
            state.vehicles[o.item.installation.vehicle_id].tag,
            *place_of(state, o.item.installation),
        )
    )
    told = explanations(bench, chosen)
    return tuple(_forecast(state, outlook, why) for outlook, why in zip(chosen, told, strict=True))


def _forecast(state: FleetState, outlook: Outlook, explanation: Explanation) -> PartForecast:
    item = outlook.item
    installation = item.installation
    vehicle = state.vehicles[installation.vehicle_id]
    doubted = outlook.family.doubted(outlook.row)
    return PartForecast(
        vehicle=vehicle.tag,
        depot=vehicle.depot,
        stage=state.stages[installation.stage_id].name,
        part=state.part_text(installation),
        position=installation.position.value,
        measurand=item.measurand,
        use_unit=item.use_unit,
        use_on_part=outlook.use.last_use + item.offset,
        allowance_mean=outlook.allowance_mean,
        allowance_sd=outlook.allowance_sd,
        allowance_quantiles=tuple(float(q) for q in outlook.allowance),
        limit=item.limit,
        limit_why=item.limit_why,
        limit_use=tuple(float(use) if np.isfinite(use) else None for use in item.use_of(outlook.limit_x)),
        limit_on=tuple(day_of(float(day)) for day in outlook.limit_day),
        past_probability=outlook.past_probability,
        readings=outlook.readings,
        questioned=tuple(date.fromordinal(day) for _number, day in doubted if day),
        explanation=explanation,
    )
