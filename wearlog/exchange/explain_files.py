"""What a predicted date rests on, as plain data; canonical numbers with the unit in the field name."""

import math
from datetime import date
from typing import Any

from wearlog.fleet.quantity import CANONICAL_UNIT, Quantity
from wearlog.workshop.explain_snapshot import DateWidth, Explanation, RateEvidence, UsageEvidence


def explanation_data(explanation: Explanation) -> dict[str, Any]:
    """Return what a predicted date rests on as plain data.

    The shares of fleet and own readings make 1, and so do the shares of the squared width of the date.

    Parameters
    ----------
    explanation : Explanation
        What it rests on.
    """
    value = _unit_ending(explanation)
    use = "running_time_h" if explanation.use_unit == "h" else "distance_km"
    limit = explanation.limit
    return {
        "readings": [
            {
                "on": reading.on.isoformat(),
                f"on_part_{use}": _number(reading.use_on_part),
                f"value{value}": _number(reading.value),
                f"low{value}": _number(reading.low),
                f"high{value}": _number(reading.high),
                f"standard_uncertainty{value}": _number(reading.u_value),
                "weight": _number(reading.weight),
                "why_less": None if reading.aside is None else reading.aside.value,
                "void_reason": reading.reason or None,
            }
            for reading in explanation.readings
        ],
        "rate": _rate_data(explanation.rate, value, explanation.use_unit),
        "limit": {
            f"service_limit{value}": _number(limit.service_limit),
            "source": limit.source,
            "governs": limit.why,
            "adds_days": 0.0,
            "days_for_a_tenth_more": _number(limit.days_per_tenth),
        },
        "usage": _usage_data(explanation.usage, explanation.use_unit),
        "duty": explanation.duty.value,
        "set_up_exposure": _number(explanation.exposure),
        "date_width": None if explanation.width is None else _width_data(explanation.width),
    }


def _unit_ending(explanation: Explanation) -> str:
    quantity = explanation.measurand.quantity
    if quantity is Quantity.GRADE:
        return ""
    unit = CANONICAL_UNIT[quantity]
    return "_fraction" if unit == "1" else f"_{unit.lower()}"


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(f"{value:.9g}")


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _rate_data(rate: RateEvidence, value: str, use_unit: str) -> dict[str, Any]:
    per = "per_100_h" if use_unit == "h" else "per_1000_km"

    def quantiles(rates: tuple[float, float, float] | None) -> list[float | None] | None:
        return None if rates is None else [_number(one) for one in rates]

    return {
        "probabilities": [0.1, 0.5, 0.9],
        f"estimate{value}_{per}": quantiles(rate.together),
        f"similar_parts{value}_{per}": quantiles(rate.fleet),
        f"own_readings{value}_{per}": quantiles(rate.own),
        "fleet_share": _number(rate.fleet_share),
        "own_share": _number(1.0 - float(f"{rate.fleet_share:.9g}")),
        "similar_parts": rate.similar_parts,
        "same_stage_and_duty": rate.cell_parts,
        "standard_deviations_apart": _number(rate.odds),
        "is_straight": rate.is_straight,
    }


def _usage_data(usage: UsageEvidence, use_unit: str) -> dict[str, Any]:
    unit = "h" if use_unit == "h" else "km"
    return {
        f"per_week_{unit}": _number(usage.per_week),
        f"per_week_until_the_date_{unit}": _number(usage.per_week_ahead),
        "meter_entries": usage.entries,
        "first_entry": _day(usage.first_on),
        "last_entry": _day(usage.last_on),
        "half_life_days": _number(usage.half_life_days),
        "season_january_to_december": [_number(factor) for factor in usage.season],
        "lay_ups": [[_day(off), _day(back)] for off, back in usage.lay_ups],
        "at_rest": [[_day(first), _day(last)] for first, last in usage.still],
    }


def _width_data(width: DateWidth) -> dict[str, Any]:
    return {
        "early": _day(width.early_on),
        "likely": _day(width.likely_on),
        "late": _day(width.late_on),
        "from": "early",
        "to": "likely" if width.is_early_half else "late",
        "days": _number(width.days),
        "causes": [
            {
                "cause": part.cause.value,
                "days_alone": _number(part.days_alone),
                "days_without": _number(part.days_without),
                "share_of_squared_width": _number(part.share),
            }
            for part in width.contributions
        ],
    }
