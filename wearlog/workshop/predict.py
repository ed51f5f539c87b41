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
from wearlog.forecast.posterior import FARTHEST_WEAR, part_posterior, wear_quantiles
from wearlog.forecast.readings import ReadingTable
from wearlog.forecast.smoothing import past_crossing, smoothed_band
from wearlog.workshop.advising import advice_on
from wearlog.workshop.bench import Bench
from wearlog.workshop.conditions import conditions
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.judge import governing, with_condition
from wearlog.workshop.learn import learned
from wearlog.workshop.outlook import HIGH, Outlook, family_outlooks, outlooks
from wearlog.workshop.trend_choices import place_of, trend_choices
from wearlog.workshop.trend_history import earlier_parts, trend_events, trend_readings
from wearlog.workshop.trend_snapshot import (
    LEVELS,
    MEDIAN,
    FloatArray,
    Questioned,
    TrendSnapshot,
)
from wearlog.workshop.usage import vehicle_uses
from wearlog.workshop.when import day_of

#: Points of a curve; enough for a smooth line at any size on screen.
CURVE_POINTS = 121
FLEET_LEVELS = (0.1, 0.5, 0.9)


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
    own = {
        key: outlook
        for key, outlook in outlooks(bench, progress).items()
        if outlook.item.installation.vehicle_id == vehicle_id
    }
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
    x, value = _curve(outlook)
    fleet_x, fleet_value = _fleet_band(outlook, x)
    axis_use, axis_day = _date_axis(state, outlook, float(x[-1]))
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
        shape_text=_shape_text(outlook),
        data_version=state.data_version,
    )


def _curve(outlook: Outlook) -> tuple[FloatArray, FloatArray]:
    """Return distances and quantiles of the value: through the readings, then ahead."""
    item, family, row = outlook.item, outlook.family, outlook.row
    posterior, readings = family.fit.posterior.take([row]), family.readings.take([row])
    start, last = float(readings.x_start[0]), float(readings.x_last[0])
    end = max(_farthest(outlook), last + 0.05 * max(last - start, 1.0))
    if outlook.item.is_current:
        end = max(end, item.x_at(outlook.use.use_at(outlook.use.last_day)) * 1.05)
    read = np.unique(readings.x[0, : readings.count[0]])
    behind = np.unique(np.concatenate([np.linspace(start, last, CURVE_POINTS // 2), read]))
    ahead = np.linspace(last, end, CURVE_POINTS // 2 + 1)
    wear_ahead = wear_quantiles(posterior, ahead, LEVELS)[0]
    if readings.count[0] and last > start:
        wear_behind = smoothed_band(posterior, readings, behind, LEVELS)[0]
        x = np.concatenate([behind, ahead[1:]])
        wear = np.concatenate([wear_behind, wear_ahead[1:]])
    else:
        x, wear = ahead, wear_ahead
    # Beyond 1.2 of the allowance nothing was ever seen, so nothing is drawn.
    is_shown = wear[:, MEDIAN] <= FARTHEST_WEAR * item.own_limit
    is_shown |= x <= last
    return x[is_shown], np.asarray(item.as_new + wear[is_shown] * item.span)


def _farthest(outlook: Outlook) -> float:
    """Return the distance to draw to: where the limit is probably passed, as far as that is in sight."""
    item = outlook.item
    x_now = max(item.x_at(outlook.use.last_use), float(outlook.family.readings.x_last[outlook.row]))
    late, median = float(outlook.limit_x[HIGH]), float(outlook.limit_x[MEDIAN])
    return min(max(late * 1.05, x_now * 1.1), max(median, x_now) * 1.8)


def _fleet_band(outlook: Outlook, x: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return what the fleet would expect of this part without its own readings."""
    item, family, row = outlook.item, outlook.family, outlook.row
    start = family.readings.x_start[row]
    none = np.zeros(0)
    empty = ReadingTable.from_columns(
        1,
        none.astype(np.int64),
        none,
        none,
        x_start=[start],
        has_unknown_history=[bool(family.readings.has_unknown_history[row])],
    )
    prior = family.fit.rate_prior([row])
    expected = part_posterior(empty, prior, family.fit.law, item.own_limit)
    far = np.linspace(float(start), float(x[-1]), 41)
    return far, np.asarray(item.as_new + wear_quantiles(expected, far, FLEET_LEVELS)[0] * item.span)


def _date_axis(state: FleetState, outlook: Outlook, x_end: float) -> tuple[FloatArray, FloatArray]:
    """Return pairs of use on the part and ordinal day: past by the meter, future by the expected use."""
    item = outlook.item
    pairs: list[tuple[float, float]] = []
    for installation_id, offset in item.offsets.items():
        installation = state.installations[installation_id]
        end = np.inf if installation.removed_use is None else installation.removed_use
        start = installation.fitted_use if item.since_use is None else item.since_use
        pairs.append((start + offset, float(installation.fitted_on.toordinal())))
        if item.since_use is not None:
            pairs.pop()
        pairs += [
            (point.total_use + offset, float(point.on.toordinal()))
            for point in state.histories[installation.vehicle_id].points
            if start <= point.total_use <= end
        ]
    if item.is_current:
        rate = outlook.use.usage.rate
        ahead = max(float(item.ahead_of(outlook.use.last_use, x_end)), 0.0)
        most = min(ahead / max(rate, 1e-6), 6000.0)
        for ahead_days in np.linspace(0.0, most, 25)[1:]:
            later = outlook.use.last_day + round(float(ahead_days))
            pairs.append((outlook.use.use_at(later) + item.offset, float(later)))
    axis: list[tuple[float, float]] = []
    for use, day in sorted(pairs):
        if not axis or (use > axis[-1][0] and day >= axis[-1][1]):
            axis.append((use, day))
    return np.array([use for use, _day in axis]), np.array([day for _use, day in axis])


def _questioned(outlook: Outlook, today: date) -> Questioned | None:
    if not outlook.is_questioned:
        return None
    if_right, leaning = day_of(outlook.due_day), day_of(outlook.due_day_leaning)
    return Questioned(
        reading_ids=tuple(number for number, _day in outlook.family.doubted(outlook.row) if number),
        replace_by_if_right=None if if_right is None else max(if_right, today),
        replace_by_as_leaning=None if leaning is None else max(leaning, today),
    )


def _shape_text(outlook: Outlook) -> str:
    shape = outlook.family.fit.law.shape
    if shape.acceleration > 0.0:
        return _("Wear of such parts quickens with use in this fleet; the path allows for it.")
    if shape.power != 1.0:
        return _("Wear of such parts slows down with use in this fleet; the path allows for it.")
    return _("Assumes steady wear.")


@dataclass(frozen=True, slots=True)
class PartForecast:
    """The forecast of one running part, for files.

    Use in km (h) on the part, allowances as shares, dates None beyond reach; lists follow `LEVELS`.
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
    return tuple(_forecast(state, outlook) for outlook in chosen)


def _forecast(state: FleetState, outlook: Outlook) -> PartForecast:
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
    )
