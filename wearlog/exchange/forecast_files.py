"""The forecasts of all parts as JSON for other programs, and as text for the terminal."""

import json
import math
from collections.abc import Sequence
from datetime import date
from gettext import gettext as _
from pathlib import Path
from typing import Any, BinaryIO

from wearlog import __version__, units
from wearlog.drawing.words import measurand_text, share_text, use_text
from wearlog.exchange.explain_files import explanation_data
from wearlog.exchange.files import write_whole
from wearlog.fleet.quantity import CANONICAL_UNIT, Quantity, ShownUnits
from wearlog.wording import day_text
from wearlog.workshop.predict import PartForecast
from wearlog.workshop.trend_snapshot import LEVELS, MEDIAN

#: The ends of the 80 % interval among the levels.
_LOW, _HIGH = LEVELS.index(0.1), LEVELS.index(0.9)


def write_forecast(forecasts: Sequence[PartForecast], file: Path | BinaryIO, today: date) -> None:
    """Write forecasts as JSON, whole or not at all; canonical numbers with the unit in the field name.

    Parameters
    ----------
    forecasts : sequence of PartForecast
        Of the running parts.
    file : Path or BinaryIO
        Where to.
    today : date
        The day on which they hold.

    Raises
    ------
    WearlogError
        If the file can't be written.
    """
    text = json.dumps(forecast_data(forecasts, today), ensure_ascii=False, indent=2, allow_nan=False)

    def write(stream: BinaryIO) -> None:
        stream.write(text.encode() + b"\n")

    write_whole(file, write)


def forecast_data(forecasts: Sequence[PartForecast], today: date) -> dict[str, Any]:
    """Return forecasts as plain data."""
    return {
        "program": f"wearlog {__version__}",
        "as_of": today.isoformat(),
        "probabilities": list(LEVELS),
        "installations": [_forecast_data(forecast) for forecast in forecasts],
    }


def _use_field(name: str, use_unit: str) -> str:
    return f"{name}_running_time_h" if use_unit == "h" else f"{name}_distance_km"


def _limit_field(name: str, unit: str) -> str:
    return f"{name}_fraction" if unit == "1" else f"{name}_{unit.lower()}"


def _finite(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(f"{value:.9g}")


def _forecast_data(forecast: PartForecast) -> dict[str, Any]:
    kind = forecast.measurand.quantity
    unit = CANONICAL_UNIT[kind]
    grade = kind is Quantity.GRADE
    limit = forecast.limit
    return {
        "vehicle": forecast.vehicle,
        "depot": forecast.depot,
        "stage": forecast.stage,
        "part": forecast.part,
        "position": forecast.position,
        "measurand": forecast.measurand.value,
        _use_field("on_part_now", forecast.use_unit): _finite(forecast.use_on_part),
        "allowance_used_mean": _finite(forecast.allowance_mean),
        "allowance_used_sd": _finite(forecast.allowance_sd),
        "allowance_used_quantiles": [_finite(value) for value in forecast.allowance_quantiles],
        ("service_limit" if grade else _limit_field("service_limit", unit)): _finite(limit.service_limit),
        ("as_new" if grade else _limit_field("as_new", unit)): _finite(limit.as_new),
        "service_limit_source": limit.source,
        "service_limit_why": forecast.limit_why,
        _use_field("on_part_at_limit", forecast.use_unit): [_finite(use) for use in forecast.limit_use],
        "on_at_limit": [day.isoformat() if day else None for day in forecast.limit_on],
        "probability_past_limit_now": _finite(forecast.past_probability),
        "readings": forecast.readings,
        "questioned_readings": [day.isoformat() for day in forecast.questioned],
        "explanation": None if forecast.explanation is None else explanation_data(forecast.explanation),
    }


def forecast_table_text(forecasts: Sequence[PartForecast], shown: ShownUnits) -> str:
    """Return forecasts as lines of text for a terminal, 80 % intervals in brackets.

    Parameters
    ----------
    forecasts : sequence of PartForecast
        Of the running parts.
    shown : ShownUnits
        The units of this seat.
    """
    if not forecasts:
        return _("No part is followed by its wear yet.") + "\n"
    rows = [
        [
            _("VEHICLE"),
            _("STAGE"),
            _("PART"),
            _("MEASURAND"),
            _("READINGS"),
            _("ON PART"),
            _("USED"),
            _("LIMIT AT"),
            _("LIMIT ON"),
            _("BETWEEN"),
        ]
    ]
    for forecast in forecasts:
        uses, days = forecast.limit_use, forecast.limit_on
        low, high = forecast.allowance_quantiles[_LOW], forecast.allowance_quantiles[_HIGH]
        middle = uses[MEDIAN]
        rows.append(
            [
                forecast.vehicle,
                forecast.stage,
                forecast.part,
                measurand_text(forecast.measurand),
                str(forecast.readings) + ("?" if forecast.questioned else ""),
                use_text(forecast.use_on_part, forecast.use_unit, shown),
                f"{share_text(forecast.allowance_mean)} ({share_text(low)}–{share_text(high)})",
                "–" if middle is None else use_text(middle, forecast.use_unit, shown),
                day_text(days[MEDIAN]),
                _("{early} to {late}").format(early=day_text(days[_LOW]), late=day_text(days[_HIGH])),
            ]
        )
    rows = [
        [cell.replace(units.THIN_SPACE, " ").replace(units.NARROW_NO_BREAK_SPACE, " ") for cell in row]
        for row in rows
    ]
    wide = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    lines = ("  ".join(cell.ljust(wide[place]) for place, cell in enumerate(row)).rstrip() for row in rows)
    return "\n".join(lines) + "\n"
