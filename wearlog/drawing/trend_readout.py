"""What the crosshair of the wear trend says, in the seat's units."""

from gettext import gettext as _

import numpy as np

from wearlog.drawing.number_words import (
    day_at,
    method_text,
    rate_text,
    rate_unit_text,
    share_text,
    use_text,
    value_text,
)
from wearlog.drawing.trend_series import TrendSeries
from wearlog.drawing.trend_words import reading_value_text, remarks_text
from wearlog.units import THIN_SPACE
from wearlog.wording import day_text


def reading_lines(series: TrendSeries, number: int) -> tuple[str, ...]:
    """Return what there is to say about a reading: value, when and where, how, remarks.

    Parameters
    ----------
    series : TrendSeries
        The trend.
    number : int
        Which of its readings, [-].
    """
    snapshot, shown = series.snapshot, series.shown
    reading = snapshot.readings[number]
    how = [method_text(reading.method), reading.instrument, reading.by]
    lines = [
        reading_value_text(reading, snapshot, shown),
        f"{day_text(reading.on)}, {use_text(reading.use_on_part, snapshot.use_unit, shown)}",
        ", ".join(word for word in how if word),
    ]
    if reading.rate is not None:
        rate = rate_text(snapshot.measurand, reading.rate, snapshot.use_unit, shown)
        unit = rate_unit_text(snapshot.measurand, snapshot.use_unit, shown)
        lines.append(_("since the one before: {rate}").format(rate=f"{rate}{THIN_SPACE}{unit}"))
    remarks = remarks_text(reading, snapshot, shown)
    return tuple(line for line in (*lines, remarks) if line)


def place_lines(series: TrendSeries, use: float, reach: float = 0.0) -> tuple[str, ...]:
    """Return what the trend says at a place: median with its interval, use and date.

    Parameters
    ----------
    series : TrendSeries
        The trend.
    use : float
        Use on the part in shown units.
    reach : float
        Service events within this of it are told, in shown units.
    """
    snapshot, shown = series.snapshot, series.shown
    low, middle, high = series.value_at(use)
    where = _where(series, use)
    day = day_at(series.day_of(use))
    place = f"{where}, {day_text(day)}" if day is not None else where
    done = tuple(
        f"{day_text(event.on)}: {event.text}"
        for event in snapshot.events
        if abs(float(series.shown_use(event.use_on_part)) - use) <= reach
    )
    if np.isnan(middle):
        return (place, *done[:2])
    if series.view.is_allowance:
        span = sorted((low, high))
        return (
            _("{share} of the allowance used").format(share=share_text(middle / 100.0)),
            _("8 in 10: {low} to {high}").format(
                low=share_text(max(span[0], 0.0) / 100.0), high=share_text(span[1] / 100.0)
            ),
            place,
            *done[:2],
        )
    low, middle, high = (series.value_of(one) for one in (low, middle, high))
    u = abs(high - low) / 2.563
    unit_free = [
        value_text(snapshot.measurand, v, u, shown, unit=False).partition(" ")[0] for v in sorted((low, high))
    ]
    return (
        value_text(snapshot.measurand, middle, u, shown).replace(" ±", "  ±"),
        _("8 in 10: {low} to {high}").format(low=unit_free[0], high=unit_free[1]),
        place,
        *done[:2],
    )


def _where(series: TrendSeries, use: float) -> str:
    """Return a place of the use axis in words."""
    snapshot = series.snapshot
    on_part = series.use_on_part(use)
    if series.view.is_vehicle:
        return use_text(on_part + snapshot.meter_offset, snapshot.use_unit, series.shown)
    return use_text(on_part, snapshot.use_unit, series.shown)
