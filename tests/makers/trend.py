"""Wear trends as the workshop makes them, from a plain law of wear and without a database.

The law is straight wear with an error that grows with distance; it stands for a forecast wherever only its
shape matters. Tags and figures are invented.
"""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from wearlog.fleet.fitting import Position
from wearlog.fleet.limit import Limit
from wearlog.fleet.parts import WearClass
from wearlog.fleet.reading import Measurand, Method, Spot
from wearlog.fleet.state import State
from wearlog.workshop.fleet_snapshot import WearRuleValue
from wearlog.workshop.trend_snapshot import (
    LEVELS,
    Basis,
    EarlierPart,
    Questioned,
    ReadingMark,
    TrendChoice,
    TrendEvent,
    TrendReading,
    TrendSnapshot,
)

TODAY = date(2026, 11, 25)
FITTED = date(2026, 3, 14)
KM_PER_DAY = 16.2
#: Standard normal quantiles at LEVELS.
Z = np.array([-1.959964, -1.281552, -0.674490, 0.0, 0.674490, 1.281552, 1.959964])


def chain_limit() -> Limit:
    return Limit(
        measurand=Measurand.CHAIN_ELONGATION,
        wear_class=WearClass.SEALED_MOTORCYCLE_CHAIN,
        service_limit=0.017,
        plan_share=0.8,
        stop_use_limit=0.02,
        source="workshop default, larger sprockets",
    )


def state_at(median: float, high: float) -> State:
    if median >= 1.0:
        return State.PAST_LIMIT
    if high >= 0.97:
        return State.DUE
    return State.PLAN if median >= 0.8 else State.WITHIN_LIMIT


def reading(
    number: int,
    use: float,
    value: float | None,
    *,
    low: float | None = None,
    high: float | None = None,
    u: float = 0.0005,
    mark: ReadingMark = ReadingMark.GOOD,
    chance: float = 0.01,
    **more: object,
) -> TrendReading:
    spots = (
        tuple(
            Spot(typed=f"{254.0 * (1 + value) - d:.2f}", value=254.0 * (1 + value) - d)
            for d in (0.0, 0.1, 0.28)
        )
        if value is not None
        else (Spot(typed="0.75 in", value=0.0075),)
    )
    fields = {
        "reading_id": number,
        "on": FITTED + timedelta(days=round(use / KM_PER_DAY)),
        "total_use": 8212.0 + use,
        "use_on_part": use,
        "value": value,
        "low": low,
        "high": high,
        "u_value": u,
        "method": Method.OVER_ROLLERS if value is not None else Method.GAUGE,
        "spots": spots,
        "pitches": 20 if value is not None else None,
        "spread": 0.0011 if value is not None else None,
        "mark": mark,
        "suspect_probability": chance,
        "rate": 0.0033 if value is not None else None,
        "instrument": "caliper" if value is not None else "two-prong gauge",
        "by": "M. Brook",
    }
    return TrendReading(**(fields | more))  # type: ignore[arg-type]


def _quantiles(use: np.ndarray, rate: float, known: float, spread: float) -> np.ndarray:
    ahead = np.maximum(use - known, 0.0)
    sd = np.where(use <= known, 0.0004, np.hypot(0.0004, spread * rate * ahead))
    return np.asarray((rate * use)[:, None] + sd[:, None] * Z[None, :])


def chain_at(
    allowance: float = 0.85,
    *,
    use_now: float = 4150.0,
    is_questioned: bool = True,
    has_gauge: bool = True,
    has_voided: bool = True,
    has_earlier: bool = True,
) -> TrendSnapshot:
    """A final drive chain with this share of its allowance used today."""
    limit = chain_limit()
    rate = limit.value_at(allowance) / use_now
    horizon = max(1.35 * limit.service_limit / rate, use_now * 1.15)
    use = np.linspace(0.0, horizon, 180)
    value = _quantiles(use, rate, use_now, 0.2)
    shares = np.array([0.1, 0.28, 0.46, 0.75, 1.0])
    wobble = np.array([0.00013, -0.0002, 0.0003, -0.0001, 0.0])
    readings = [
        reading(n + 1, use_now * s, rate * use_now * s + w)
        for n, (s, w) in enumerate(zip(shares, wobble, strict=True))
    ]
    readings[0] = replace(readings[0], rate=None)
    if has_gauge:
        at = 0.87 * use_now
        readings.append(reading(6, at, None, low=0.8 * rate * at, high=1.2 * rate * at, u=0.0003, rate=None))
    if is_questioned:
        at = 0.6 * use_now
        readings.append(
            reading(
                7, at, 0.57 * rate * at, mark=ReadingMark.SUSPECT, chance=0.93, was_cleaned=False, rate=None
            )
        )
    if has_voided:
        at = 0.36 * use_now
        readings.append(
            reading(8, at, 1.6 * rate * at, mark=ReadingMark.VOIDED, void_reason="other vehicle", rate=None)
        )
    readings.sort(key=lambda r: r.use_on_part)
    limit_use = _crossing(use, value, limit.service_limit)
    days = TODAY.toordinal() + (limit_use - use_now) / KM_PER_DAY
    low, high = (limit.allowance_used(rate * use_now + 0.0004 * z) for z in (-1.2816, 1.2816))
    rule = WearRuleValue(allowance, low, high, 0.8, state_at(allowance, high))
    past = float(np.mean(limit_use <= use_now))
    replace_by = date.fromordinal(int(days[1])) if np.isfinite(days[1]) else None
    ghost = np.linspace(0.0, 0.82 * use_now, 9)
    fleet = np.linspace(0.0, horizon, 40)
    return TrendSnapshot(
        vehicle_id=17,
        tag="LR-017",
        vehicle_text="electric patrol motorcycle, chain primary",
        depot="Upper depot",
        stage_id=171,
        stage_name="final drive",
        installation_id=1711,
        part_text="chain, 420, 118 links",
        position=Position.RUN,
        measurand=Measurand.CHAIN_ELONGATION,
        use_unit="km",
        fitted_on=FITTED,
        fitted_use=8212.0,
        removed_on=None,
        limit=limit,
        limit_why="the class limit is the tightest: the tooth count would allow 2.1 %, the adjuster 2.4 %",
        readings=tuple(readings),
        events=(
            TrendEvent(FITTED + timedelta(days=77), 0.3 * use_now, "lubricated"),
            TrendEvent(FITTED + timedelta(days=186), 0.74 * use_now, "tension set"),
        ),
        earlier=(
            (EarlierPart("chain before", ghost, 0.00175 * (ghost / 1000) ** 1.25 * 1.9),)
            if has_earlier
            else ()
        ),
        choices=choices(rule),
        today=TODAY,
        use_now=use_now,
        use_expected=use_now,
        curve_use=use,
        curve_value=value,
        use_known=use_now,
        fleet_use=fleet,
        fleet_value=np.stack([0.0030 * fleet / 1000, 0.0039 * fleet / 1000, 0.0052 * fleet / 1000], axis=1),
        limit_use=limit_use,
        limit_days=days,
        axis_use=np.array([0.0, use_now * 0.5, use_now, horizon]),
        axis_day=np.array(
            [
                FITTED.toordinal(),
                FITTED.toordinal() + 150.0,
                TODAY.toordinal(),
                TODAY.toordinal() + (horizon - use_now) / KM_PER_DAY,
            ]
        ),
        rule=rule,
        allowance_mean=allowance,
        allowance_sd=0.0004 / limit.service_limit,
        past_probability=min(max(past, 0.0004), 0.9996),
        past_since_use=float(limit_use[3]) if limit_use[3] < use_now else None,
        replace_by=max(replace_by, TODAY) if replace_by else None,
        order_by=replace_by - timedelta(days=14) if replace_by else None,
        lead_time_days=14,
        caution_level=0.1,
        use_per_day=KM_PER_DAY,
        days_by_wear=42.0,
        days_by_use=35.0,
        basis=Basis.OWN_READINGS,
        similar_parts=31,
        questioned=(
            Questioned((7,), replace_by, replace_by + timedelta(days=19))
            if is_questioned and replace_by
            else None
        ),
        shape_text="Assumes steady wear.",
    )


def _crossing(use: np.ndarray, value: np.ndarray, limit: float) -> np.ndarray:
    """The use at which the curve of each level crosses the limit; inf beyond its end."""
    found = np.full(len(LEVELS), np.inf)
    for n in range(len(LEVELS)):
        curve = value[:, len(LEVELS) - 1 - n]
        past = np.flatnonzero(curve >= limit)
        if past.size:
            found[n] = np.interp(limit, curve[: past[0] + 1], use[: past[0] + 1])
    return found


def chain_without_readings() -> TrendSnapshot:
    """A new chain: only what its fleet leads to expect."""
    plain = chain_at(0.35, use_now=900.0, is_questioned=False, has_gauge=False, has_voided=False)
    use = np.linspace(0.0, 6500.0, 120)
    value = _quantiles(use, 0.0039 / 1000, 0.0, 0.35)
    limit_use = _crossing(use, value, plain.limit.service_limit)
    limit_days = TODAY.toordinal() + (limit_use - 900.0) / KM_PER_DAY
    return replace(
        plain,
        tag="LR-018",
        vehicle_id=18,
        readings=(),
        events=(),
        curve_use=use,
        curve_value=value,
        use_known=0.0,
        limit_use=limit_use,
        limit_days=limit_days,
        axis_use=np.array([0.0, 900.0, 6500.0]),
        axis_day=np.array([TODAY.toordinal() - 55.0, TODAY.toordinal(), TODAY.toordinal() + 345.0]),
        rule=WearRuleValue(0.21, 0.12, 0.36, 0.8, State.NO_READING, has_reading=False),
        allowance_mean=0.21,
        allowance_sd=0.09,
        basis=Basis.FLEET,
        past_since_use=None,
        past_probability=0.0001,
        replace_by=date.fromordinal(int(limit_days[1])),
        order_by=date.fromordinal(int(limit_days[1]) - 14),
        fitted_on=TODAY - timedelta(days=55),
    )


def sprocket_wearing_down() -> TrendSnapshot:
    """A driven sprocket: its teeth get thinner, so the limit lies below."""
    plain = chain_at(0.55, is_questioned=False, has_gauge=False, has_voided=False, has_earlier=False)
    limit = Limit(
        measurand=Measurand.SPROCKET_TOOTH_THICKNESS,
        wear_class=WearClass.SPROCKET,
        service_limit=5.2,
        as_new=6.0,
        plan_share=0.75,
        source="workshop default",
    )

    def as_mm(share: float) -> float:
        return limit.value_at(share / 0.017)

    readings = tuple(
        replace(
            r,
            value=as_mm(r.value),
            u_value=0.04,
            rate=-0.11,
            spread=None,
            spots=(Spot(typed=f"{as_mm(r.value):.2f}", value=as_mm(r.value)),),
            method=Method.DIRECT,
            pitches=None,
        )
        for r in plain.readings
        if r.value is not None
    )
    return replace(
        plain,
        part_text="sprocket, 45 teeth",
        position=Position.DRIVEN,
        measurand=Measurand.SPROCKET_TOOTH_THICKNESS,
        limit=limit,
        limit_why="the class limit",
        readings=readings,
        curve_value=np.vectorize(as_mm)(plain.curve_value)[:, ::-1],
        fleet_value=np.vectorize(as_mm)(plain.fleet_value)[:, ::-1],
        rule=replace(plain.rule, plan_share=0.75),
    )


def choices(rule: WearRuleValue) -> tuple[TrendChoice, ...]:
    """What else can be shown of the same vehicle."""
    calm = WearRuleValue(0.31, 0.24, 0.4, 0.8, State.WITHIN_LIMIT)
    none = WearRuleValue(0.4, 0.2, 0.6, 0.75, State.NO_READING, has_reading=False)
    elongation, teeth = Measurand.CHAIN_ELONGATION, Measurand.SPROCKET_TOOTH_THICKNESS
    return (
        TrendChoice(1711, elongation, "final drive", Position.RUN, "chain, 420, 118 links", rule),
        TrendChoice(1713, teeth, "final drive", Position.DRIVEN, "sprocket, 45 teeth", none),
        TrendChoice(1701, elongation, "primary drive", Position.RUN, "chain, 219, 96 links", calm),
        TrendChoice(
            1702, elongation, "final drive", Position.RUN, "chain, 420, 118 links", calm, is_current=False
        ),
    )
