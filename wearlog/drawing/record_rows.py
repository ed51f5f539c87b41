"""Rows of a dot with its interval on one scale: wear rates, or how far half of the parts go."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from gettext import gettext as _
from gettext import ngettext

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen

from wearlog.drawing.chart_frame import Frame, draw_text, nice_ticks, text_size
from wearlog.drawing.number_words import rough_use_text, use_quantity, use_unit_text
from wearlog.drawing.palette import Palette, colour
from wearlog.drawing.record_words import (
    allowance_rate_text,
    kind_text,
    level_text,
    per_use_text,
    shown_rate,
)
from wearlog.drawing.trend_axes import value_tick_text
from wearlog.fleet.quantity import ShownUnits
from wearlog.units import factor
from wearlog.workshop.record_snapshot import Factor, KindRecord, Rate

#: Height of a row, [px]; more rows than these are counted rather than shown.
ROW_PX, MOST_ROWS = 26.0, 12
_HEAD_PX, _FOOT_PX, _DOT_PX = 8.0, 42.0, 4.5
#: An end farther out than this many times the largest middle is drawn as open.
_FARTHEST = 2.2


@dataclass(frozen=True, slots=True)
class Row:
    """One row, numbers in shown units.

    Attributes
    ----------
    name, note, figure
        At the left, what it rests on, and the number in words at the right.
    value, low, high
        Middle and interval; infinite where out of sight.
    is_faint
        Whether it rests on too little to conclude from.
    """

    name: str
    note: str
    figure: str
    value: float
    low: float
    high: float
    is_faint: bool = False


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows on one scale that starts at 0.

    Attributes
    ----------
    rows
        From the top.
    title
        What the scale counts.
    left_out
        How many more there are.
    """

    rows: tuple[Row, ...]
    title: str
    left_out: int = 0

    @property
    def top(self) -> float:
        """The end of the scale."""
        middles = [row.value for row in self.rows if math.isfinite(row.value)]
        lows = [row.low for row in self.rows if math.isfinite(row.low)]
        highest = max([*middles, *lows], default=1.0)
        ends = [row.high for row in self.rows if math.isfinite(row.high)]
        return 1.04 * max(highest, min(max(ends, default=highest), _FARTHEST * highest))

    def height(self, scale: float = 1.0) -> float:
        """Return the height that all rows take, [px]."""
        return (_HEAD_PX + _FOOT_PX + ROW_PX * len(self.rows)) * scale

    def text(self) -> str:
        """Return the rows in words, for screen readers."""
        said = [f"{row.name}: {row.figure} ({row.note})" for row in self.rows]
        return "; ".join([self.title, *said])


def rate_rows(kind: KindRecord, by: Factor | None, shown: ShownUnits) -> Rows:
    """Return the wear rates of a kind of part by a factor, fast ones first.

    Parameters
    ----------
    kind : KindRecord
        A kind of part.
    by : Factor or None
        What they are compared by; None for all together.
    shown : ShownUnits
        The units of this seat.
    """
    comparison = kind.comparisons.get(by) if by is not None else None
    title = _rate_title(kind.use_unit, shown)
    if comparison is None or by is None:
        whole = [] if kind.rate is None else [_rate_row(kind.rate, _("all together"), kind.use_unit, shown)]
        return Rows(tuple(whole), title)
    rates = sorted(comparison.rates, key=lambda rate: -rate.n_read)[:MOST_ROWS]
    kept = [rate for rate in comparison.rates if rate in rates]
    rows = [
        _rate_row(rate, level_text(by, rate.level, kind.use_unit, shown), kind.use_unit, shown)
        for rate in kept
    ]
    return Rows(tuple(rows), title, len(comparison.rates) - len(kept))


def rates_of_kinds(kinds: Sequence[KindRecord], shown: ShownUnits) -> Rows:
    """Return the wear rates of all kinds of parts that count use in the same unit."""
    own = same_unit(kinds)
    rows = [
        _rate_row(kind.rate, kind_text(kind), kind.use_unit, shown) for kind in own if kind.rate is not None
    ]
    unit = own[0].use_unit if own else "km"
    return Rows(tuple(sorted(rows, key=lambda row: -row.value)), _rate_title(unit, shown))


def lives_of_kinds(kinds: Sequence[KindRecord], shown: ShownUnits) -> Rows:
    """Return how far half of each kind of parts go."""
    own = same_unit(kinds)
    unit = own[0].use_unit if own else "km"
    size = factor(shown.unit_of(use_quantity(unit)), use_quantity(unit))
    rows = []
    for kind in own:
        curve = kind.survival
        if curve is None or not curve.n_worn:
            continue
        width = curve.median_high - curve.median_low
        is_told = math.isfinite(curve.median)
        figure = (
            rough_use_text(curve.median, max(width, 0.05 * curve.median), unit, shown)
            if is_told
            else _("not reached")
        )
        rows.append(
            Row(
                kind_text(kind),
                _("{worn} of {n} worn").format(worn=curve.n_worn, n=curve.n_parts),
                figure,
                (curve.median if is_told else math.inf) / size,
                curve.median_low / size,
                curve.median_high / size,
                curve.n_worn < MOST_ROWS - 2,
            )
        )
    title = _("half of them last so long, {unit}").format(unit=use_unit_text(unit, shown))
    return Rows(tuple(sorted(rows, key=lambda row: -row.value)), title)


def same_unit(kinds: Sequence[KindRecord]) -> list[KindRecord]:
    """Return the kinds that count use in the unit of most of them."""
    units = [kind.use_unit for kind in kinds]
    most = max(units, key=units.count, default="km")
    return [kind for kind in kinds if kind.use_unit == most]


def _rate_title(use_unit: str, shown: ShownUnits) -> str:
    return _("% of the wear allowance {per_use}").format(per_use=per_use_text(use_unit, shown))


def _rate_row(rate: Rate, name: str, use_unit: str, shown: ShownUnits) -> Row:
    value, low, high = (100.0 * shown_rate(one, use_unit, shown) for one in (rate.rate, rate.low, rate.high))
    note = ngettext("{n} part", "{n} parts", rate.n_read).format(n=rate.n_read)
    figure = allowance_rate_text(rate.rate, rate.high - rate.low, use_unit, shown)
    return Row(name, note, figure, value, low, high, not rate.is_telling)


# --- drawing --------------------------------------------------------------------------------------------


def rows_frame(box: QRectF, rows: Rows, colours: Palette, scale: float = 1.0) -> Frame:
    """Return where the scale lies between the names and the figures.

    Parameters
    ----------
    box : QRectF
        All the room there is, [px].
    rows : Rows
        What is drawn.
    colours : Palette
        The theme's colours.
    scale : float
        The seat's text scale, [-].
    """
    probe = Frame(box, box, (0.0, 1.0), (0.0, 1.0), colours, scale)
    font = probe.font("body")
    names = max((text_size(font, row.name)[0] for row in rows.rows), default=0.0)
    notes = max((text_size(probe.font(), row.note)[0] for row in rows.rows), default=0.0)
    figures = max((text_size(font, row.figure)[0] for row in rows.rows), default=0.0)
    left = min(names + notes + 36.0 * scale, 0.55 * box.width())
    bottom = box.top() + (_HEAD_PX + ROW_PX * len(rows.rows)) * scale
    area = QRectF(
        QPointF(box.left() + left, box.top() + _HEAD_PX * scale),
        QPointF(box.right() - figures - 20.0 * scale, bottom),
    )
    return Frame(area, box, (0.0, rows.top), (0.0, 1.0), colours, scale)


def paint_rows(painter: QPainter, box: QRectF, rows: Rows, colours: Palette, scale: float = 1.0) -> None:
    """Draw rows of a dot with its 95 % interval.

    Parameters
    ----------
    painter : QPainter
        On a widget, a picture or paper.
    box : QRectF
        All the room there is, [px].
    rows : Rows
        What is drawn.
    colours : Palette
        The theme's colours.
    scale : float
        The seat's text scale, [-].
    """
    if not rows.rows:
        return
    frame = rows_frame(box, rows, colours, scale)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _paint_scale(painter, frame, rows)
    for n, row in enumerate(rows.rows):
        top = frame.area.top() + n * ROW_PX * scale
        _paint_row(
            painter, frame, row, QRectF(box.left(), top, box.width(), ROW_PX * scale), _tick_width(frame)
        )
    painter.restore()


def _tick_width(frame: Frame) -> Callable[[float], float]:
    def held(value: float) -> float:
        return frame.x(min(max(value, 0.0), frame.x_range[1]))

    return held


def _paint_scale(painter: QPainter, frame: Frame, rows: Rows) -> None:
    font, area = frame.font(), frame.area
    ticks, step = nice_ticks(*frame.x_range, most=max(3, int(area.width() / (46.0 * frame.scale))))
    base = int(area.bottom()) + 0.5
    for tick in ticks:
        x = int(frame.x(tick)) + 0.5
        painter.setPen(QPen(colour(frame.colours.hairline), 1.0))
        painter.drawLine(QPointF(x, area.top()), QPointF(x, base))
        painter.setPen(colour(frame.colours.muted))
        text = value_tick_text(tick, step)
        width = text_size(font, text)[0]
        draw_text(painter, x - width / 2, base + 5.0, font, text)
    painter.setPen(QPen(colour(frame.colours.outline), 1.0))
    painter.drawLine(QPointF(area.left(), base), QPointF(area.right(), base))
    painter.setPen(colour(frame.colours.muted))
    height = text_size(font, rows.title)[1]
    width = text_size(font, rows.title)[0]
    draw_text(painter, max(area.right() - width, frame.whole.left()), base + 7.0 + height, font, rows.title)
    if rows.left_out:
        more = ngettext("and {n} more in the table", "and {n} more in the table", rows.left_out)
        draw_text(painter, frame.whole.left(), base + 5.0, font, more.format(n=rows.left_out))


def _paint_row(
    painter: QPainter, frame: Frame, row: Row, box: QRectF, held: Callable[[float], float]
) -> None:
    middle = box.center().y()
    body, caption = frame.font("body"), frame.font()
    note_width, note_height = text_size(caption, row.note)
    name_room = frame.area.left() - box.left() - note_width - 36.0 * frame.scale
    name = QFontMetricsF(body).elidedText(row.name, Qt.TextElideMode.ElideRight, max(name_room, 24.0))
    height = text_size(body, name)[1]
    painter.setPen(colour(frame.colours.muted if row.is_faint else frame.colours.ink))
    draw_text(painter, box.left(), middle - height / 2, body, name)
    painter.setPen(colour(frame.colours.muted))
    draw_text(
        painter,
        frame.area.left() - note_width - 16.0 * frame.scale,
        middle - note_height / 2,
        caption,
        row.note,
    )
    ink = colour(frame.colours.outline if row.is_faint else frame.colours.median)
    low, high = held(row.low), held(row.high)
    pen = QPen(ink, 2.0)
    painter.setPen(pen)
    if math.isfinite(row.low):
        painter.drawLine(QPointF(low, middle), QPointF(high, middle))
    if not row.high <= frame.x_range[1]:
        tip = 5.0 * frame.scale
        painter.drawLine(QPointF(high - tip, middle - tip), QPointF(high, middle))
        painter.drawLine(QPointF(high - tip, middle + tip), QPointF(high, middle))
    if math.isfinite(row.value):
        painter.setPen(QPen(ink, 2.0))
        painter.setBrush(colour(frame.colours.ground) if row.is_faint else ink)
        painter.drawEllipse(QPointF(held(row.value), middle), _DOT_PX * frame.scale, _DOT_PX * frame.scale)
        painter.setBrush(Qt.BrushStyle.NoBrush)
    width, height = text_size(body, row.figure)
    painter.setPen(colour(frame.colours.muted if row.is_faint else frame.colours.ink))
    draw_text(painter, box.right() - width, middle - height / 2, body, row.figure)
