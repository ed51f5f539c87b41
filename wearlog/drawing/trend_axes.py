"""Axes of the wear trend: value at the left, use below, and the dates above it by the vehicle's own use."""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from gettext import gettext as _

import numpy as np
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QPainter, QPen

from wearlog.drawing.chart_frame import Frame, draw_text, nice_ticks, text_size
from wearlog.drawing.number_words import use_quantity
from wearlog.drawing.palette import colour
from wearlog.drawing.trend_series import TrendSeries
from wearlog.fleet.quantity import CANONICAL_UNIT, ShownUnits
from wearlog.units import show
from wearlog.wording import day_text, month_text

_TICK_PX = 5.0
_GAP_PX = 14.0
_MOST_VALUES = 9
#: No date is narrower than this with the gap after it, [px].
_LEAST_DATE_PX = 34.0


@dataclass(frozen=True, slots=True)
class DateTick:
    """One date on the upper axis: where its tick and the middle of its text lie, [px]."""

    x: float
    text: str
    middle: float
    is_today: bool = False


def paint_grid(painter: QPainter, frame: Frame) -> None:
    """Draw faint lines at the ticks of the value axis."""
    painter.setPen(QPen(colour(frame.colours.hairline), 1.0))
    for tick in value_ticks(frame)[0]:
        y = int(frame.y(tick)) + 0.5
        painter.drawLine(QPointF(frame.area.left(), y), QPointF(frame.area.right(), y))


def value_ticks(frame: Frame) -> tuple[list[float], float]:
    """Return the ticks of the value axis and their step."""
    return nice_ticks(
        *frame.y_range, most=min(max(3, int(frame.area.height() / (36.0 * frame.scale))), _MOST_VALUES)
    )


def use_ticks(frame: Frame) -> tuple[list[float], float]:
    """Return the ticks of the use axis and their step."""
    return nice_ticks(*frame.x_range, most=max(3, int(frame.area.width() / (58.0 * frame.scale))))


def value_tick_text(value: float, step: float) -> str:
    """Return a tick in the digits its step needs; the number is in shown units already."""
    decimals = max(0, -int(np.floor(np.log10(step) + 1e-9)))
    # Ticks are plain numbers here: the canonical unit of a count leaves them as they are.
    return show(value, use_quantity("km"), _AS_IS, unit=False, decimals=decimals)


_AS_IS = ShownUnits(distance=CANONICAL_UNIT[use_quantity("km")])


def paint_axes(painter: QPainter, frame: Frame, series: TrendSeries) -> None:
    """Draw the three axes with their ticks, numbers and titles."""
    muted = colour(frame.colours.muted)
    font = frame.font()
    area = frame.area
    painter.setPen(muted)
    ticks, step = value_ticks(frame)
    for tick in ticks:
        text = value_tick_text(tick, step)
        width, height = text_size(font, text)
        draw_text(painter, area.left() - 8.0 - width, frame.y(tick) - height / 2, font, text)
    title = series.value_title
    height = text_size(font, title)[1]
    draw_text(painter, frame.whole.left(), _date_top(frame), font, title)

    ticks, step = use_ticks(frame)
    painter.setPen(QPen(colour(frame.colours.outline), 1.0))
    base = int(area.bottom()) + 0.5
    painter.drawLine(QPointF(area.left(), base), QPointF(area.right(), base))
    for tick in ticks:
        x = int(frame.x(tick)) + 0.5
        painter.drawLine(QPointF(x, base), QPointF(x, base + _TICK_PX))
    painter.setPen(muted)
    for tick in ticks:
        text = value_tick_text(tick, step)
        width = text_size(font, text)[0]
        left = min(frame.x(tick) - width / 2, frame.whole.right() - width)
        draw_text(painter, left, base + _TICK_PX + 3.0, font, text)
    title = series.use_title
    width = text_size(font, title)[0]
    draw_text(painter, area.right() - width, base + _TICK_PX + 5.0 + height, font, title)
    _paint_note(painter, frame, base + _TICK_PX + 5.0 + height, area.right() - width)
    _paint_dates(painter, frame, series)


def _paint_note(painter: QPainter, frame: Frame, top: float, end: float) -> None:
    """Say what bands and whiskers mean, if there is room beside the title of the axis."""
    font = frame.font()
    for text in (_("bands 50, 80, 95 %; whiskers two standard uncertainties"), _("bands 50, 80, 95 %")):
        if frame.area.left() + text_size(font, text)[0] + 24.0 < end:
            draw_text(painter, frame.area.left(), top, font, text)
            return


def _date_top(frame: Frame) -> float:
    height = text_size(frame.font(), "0")[1]
    return frame.area.top() - _TICK_PX - 5.0 - height


def _paint_dates(painter: QPainter, frame: Frame, series: TrendSeries) -> None:
    top = _date_top(frame)
    base = int(frame.area.top()) - 2.5
    for tick in date_ticks(frame, series):
        font = frame.font(bold=tick.is_today)
        width = text_size(font, tick.text)[0]
        painter.setPen(QPen(colour(frame.colours.ink if tick.is_today else frame.colours.outline), 1.0))
        x = int(tick.x) + 0.5
        painter.drawLine(QPointF(x, base), QPointF(x, base - _TICK_PX + 1.0))
        painter.setPen(colour(frame.colours.ink if tick.is_today else frame.colours.muted))
        draw_text(painter, tick.middle - width / 2, top, font, tick.text)


def _months(first: date, last: date, every: int) -> list[date]:
    number = first.year * 12 + first.month - 1
    end = last.year * 12 + last.month - 1
    return [date(n // 12, n % 12 + 1, 1) for n in range(number, end + 2) if n % every == 0]


def _day_steps(first: int, last: int, every: int) -> list[date]:
    return [date.fromordinal(n) for n in range(first, last + 1) if n % every == 0]


def _candidates(first: float, last: float) -> list[tuple[list[date], str]]:
    """Return sets of dates from the finest to the coarsest, with what their labels tell."""
    start, end = date.fromordinal(int(first)), date.fromordinal(int(last))
    span = last - first
    sets: list[tuple[list[date], str]] = []
    if span <= 150:
        sets += [(_day_steps(start.toordinal(), end.toordinal(), every), "day") for every in (1, 2, 7, 14)]
    sets += [(_months(start, end, every), "month") for every in (1, 2, 3, 6) if span / every < 40 * 31]
    years = [date(year, 1, 1) for year in range(start.year, end.year + 2)]
    sets += [([day for day in years if day.year % every == 0], "year") for every in (1, 2, 5, 10)]
    return sets


@lru_cache(maxsize=12)
def _month(number: int) -> str:
    """Return the short name of a month; looked up once, not at every frame of a panned chart."""
    return month_text(date(2000, number, 1))


def _label(day: date, kind: str, before: date | None) -> str:
    if kind == "year":
        return str(day.year)
    if kind == "day":
        text = f"{day.day} {_month(day.month)}"
        return day_text(day) if before is None or before.year != day.year else text
    if before is None or before.year != day.year:
        return f"{_month(day.month)} {day.year}"
    return _month(day.month)


def date_ticks(frame: Frame, series: TrendSeries) -> list[DateTick]:
    """Return the dates that fit along the upper axis, today among them; labels never touch or leave it."""
    title_end = frame.whole.left() + text_size(frame.font(), series.value_title)[0] + _GAP_PX
    today = _today_tick(frame, series, title_end)
    days = [
        series.day_of(use) for use in (max(frame.x_range[0], float(series.shown_use(0.0))), frame.x_range[1])
    ]
    if len(series.axis_use) >= 2:
        known = (float(series.axis_day[0]), float(series.axis_day[-1]))
        days = [known[n] if np.isnan(day) else day for n, day in enumerate(days)]
    if any(np.isnan(day) for day in days) or days[1] <= days[0]:
        return today
    best = today
    for dates, kind in _candidates(*days):
        ticks, has_room = _fitted(frame, series, dates, kind, title_end, today)
        if len(ticks) > len(today):
            best = ticks if has_room or len(best) <= len(today) else best
        if has_room and len(ticks) - len(today) >= 1:
            return sorted(ticks, key=lambda tick: tick.x)
    return sorted(best, key=lambda tick: tick.x)


def _today_tick(frame: Frame, series: TrendSeries, title_end: float) -> list[DateTick]:
    if series.snapshot.removed_on is not None or not frame.has_x(series.now):
        return []
    text = _("today")
    half = text_size(frame.font(bold=True), text)[0] / 2
    x = frame.x(series.now)
    # Close to either end the word gives way to the side; its tick stays.
    middle = min(max(x, title_end + half), frame.whole.right() - half)
    return [DateTick(x, text, middle, is_today=True)]


def _fitted(
    frame: Frame,
    series: TrendSeries,
    dates: list[date],
    kind: str,
    title_end: float,
    today: list[DateTick],
) -> tuple[list[DateTick], bool]:
    """Return the ticks of one set of dates and whether all but the neighbours of today found room."""
    font, bold = frame.font(), frame.font(bold=True)
    halves = [(tick.middle, text_size(bold, tick.text)[0] / 2) for tick in today]
    taken = [(middle - half, middle + half) for middle, half in halves]
    ticks = list(today)
    has_room = True
    before: date | None = None
    end = title_end
    low, high = float(series.axis_day[0]), float(series.axis_day[-1])
    numbers = np.array([day.toordinal() for day in dates], dtype=float)
    uses = np.interp(numbers, series.axis_day, series.axis_use)
    is_in = (numbers >= low) & (numbers <= high)
    is_in &= (uses >= frame.x_range[0]) & (uses <= frame.x_range[1])
    if np.count_nonzero(is_in) * _LEAST_DATE_PX * frame.scale > frame.area.width():
        return ticks, False
    for n in np.flatnonzero(is_in).tolist():
        day, use = dates[n], float(uses[n])
        x = frame.x(use)
        text = _label(day, kind, before)
        half = text_size(font, text)[0] / 2
        if x - half < title_end or x + half > frame.whole.right():
            continue
        if any(x - half < right + _GAP_PX and x + half > left - _GAP_PX for left, right in taken):
            continue
        if x - half < end + (_GAP_PX if end > title_end else 0.0):
            has_room = False
            continue
        ticks.append(DateTick(x, text, x))
        before, end = day, x + half
    return ticks, has_room


def paint_today(painter: QPainter, frame: Frame, series: TrendSeries) -> None:
    """Draw today as a thin vertical line."""
    if series.snapshot.removed_on is not None or not frame.has_x(series.now):
        return
    pen = QPen(colour(frame.colours.ink), 1.0)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    painter.setPen(pen)
    x = int(frame.x(series.now)) + 0.5
    painter.drawLine(QPointF(x, frame.area.top() - 2.0), QPointF(x, frame.area.bottom()))
