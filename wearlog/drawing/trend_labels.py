"""Direct labels of the wear trend, instead of a legend."""

from gettext import gettext as _

import numpy as np
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter, QPen

from wearlog.drawing.chart_frame import Frame, draw_text, text_size
from wearlog.drawing.label_room import Label, Line, Wanted, label_size, place_labels, spread_apart
from wearlog.drawing.number_words import day_at, part_noun, rough_use_text, share_text, value_text
from wearlog.drawing.palette import colour
from wearlog.drawing.trend_bands import crossing_box, earlier_lines
from wearlog.drawing.trend_many import has_many, visible_readings
from wearlog.drawing.trend_marks import mark_box
from wearlog.drawing.trend_others import other_labels
from wearlog.drawing.trend_series import TrendSeries
from wearlog.drawing.trend_words import questioned_text
from wearlog.fleet.state import State
from wearlog.wording import day_text, month_text
from wearlog.workshop.trend_snapshot import MEDIAN, TrendEvent

_MARGIN_GAP_PX = 8.0
_EVENT_PX = 8.0
#: Of more events than these the crosshair tells; so many words would run into one another.
EVENTS_LABELLED = 6


def level_lines(frame: Frame, series: TrendSeries) -> list[tuple[str, float, tuple[Line, ...]]]:
    """Return key, value and text of the levels that are labelled at their end."""
    snapshot = series.snapshot
    caption, bold = frame.font(), frame.font(bold=True)
    ink, plan = frame.colours.ink, frame.colours.look(State.PLAN).text

    def value(canonical: float) -> str:
        return value_text(snapshot.measurand, canonical, None, series.shown)

    limit = snapshot.limit
    lines = [
        (
            "limit",
            series.limit,
            (Line(_("service limit"), bold, ink), Line(value(limit.service_limit), caption, ink)),
        ),
        (
            "plan",
            series.plan,
            (Line(_("plan, {share}").format(share=share_text(limit.plan_share)), caption, plan),),
        ),
    ]
    if limit.stop_use_limit is not None:
        text = _("stop use, {value}").format(value=value(limit.stop_use_limit))
        lines.append(("stop", series.stop, (Line(text, caption, ink),)))
    return lines


def margin_width(frame: Frame, series: TrendSeries) -> float:
    """Return the width that labels at the end of the levels need, [px]."""
    return _MARGIN_GAP_PX + max(label_size(lines)[0] for _key, _value, lines in level_lines(frame, series))


def _margin_labels(frame: Frame, series: TrendSeries) -> list[Label]:
    keys, boxes, texts = [], [], []
    for key, value, lines in level_lines(frame, series):
        if not frame.has_y(value):
            continue
        width, height = label_size(lines)
        # The first line stands on the level it names.
        first = text_size(lines[0].font, lines[0].text)[1]
        keys.append(key)
        texts.append(lines)
        boxes.append(QRectF(frame.area.right() + _MARGIN_GAP_PX, frame.y(value) - first / 2, width, height))
    column = QRectF(frame.area.right(), frame.area.top() - 6.0, 1.0, frame.area.height() + 12.0)
    moved = spread_apart(boxes, column, 2.0)
    return [Label(key, lines, box) for key, lines, box in zip(keys, texts, moved, strict=True)]


def _crossing_text(series: TrendSeries) -> str:
    snapshot = series.snapshot
    low, likely, high = (
        series.use_on_part(use) + (snapshot.meter_offset if series.view.is_vehicle else 0.0)
        for use in series.crossing
    )
    if low == high:
        since = rough_use_text(likely, 0.2 * likely, snapshot.use_unit, series.shown)
        return _("reached about {use}").format(use=since)
    if not np.isfinite(high):
        return _("from {use}").format(use=rough_use_text(low, low, snapshot.use_unit, series.shown))
    first = rough_use_text(low, high - low, snapshot.use_unit, series.shown, unit=False)
    return f"{first} – {rough_use_text(high, high - low, snapshot.use_unit, series.shown)}"


def _crossing_dates(series: TrendSeries) -> list[str]:
    """Return the dates of the crossing, as far as they lie ahead."""
    snapshot = series.snapshot
    low, _likely, high = series.crossing
    early, late = day_at(float(snapshot.limit_days[1])), day_at(float(snapshot.limit_days[5]))
    if snapshot.removed_on is not None or low == high or early is None:
        return []
    first = _("now") if early <= snapshot.today else day_text(early)
    if late is None:
        return [_("from {day}").format(day=first)]
    if late <= snapshot.today:
        return []
    if early > snapshot.today and (late - early).days < 300:
        # The year of the late date says which one is meant.
        first = f"{early.day} {month_text(early)}"
    return [f"{first} – {day_text(late)}"]


def _crossing_wanted(frame: Frame, series: TrendSeries) -> list[Wanted]:
    box = crossing_box(frame, series)
    if box is None:
        return []
    lines = [
        Line(_crossing_text(series), frame.font(bold=True), frame.colours.ink),
        *(Line(text, frame.font(), frame.colours.muted) for text in _crossing_dates(series)),
    ]
    return [
        Wanted(
            "crossing",
            tuple(lines),
            box,
            ("above", "above left", "above right", "left", "below left", "below", "below right"),
            is_needed=True,
        )
    ]


def _reading_wanted(frame: Frame, series: TrendSeries) -> list[Wanted]:
    if has_many(frame, series):
        return []
    seen = visible_readings(frame, series)
    caption, wanted = frame.font(), []
    has_gauge = False
    for number in seen.tolist():
        reading = series.snapshot.readings[number]
        box = mark_box(frame, series, number)
        if series.is_questioned[number]:
            line = Line(
                questioned_text(reading, series.snapshot, series.shown), caption, frame.colours.problem
            )
            wanted.append(
                Wanted(
                    f"questioned {reading.reading_id}",
                    (line,),
                    box,
                    ("below right", "right", "below", "above right", "left", "below left"),
                    is_needed=True,
                )
            )
        elif series.is_voided[number]:
            text = (
                _("voided: {reason}").format(reason=reading.void_reason)
                if reading.void_reason
                else _("voided")
            )
            line = Line(text, caption, frame.colours.muted)
            wanted.append(
                Wanted(f"voided {reading.reading_id}", (line,), box, ("above left", "left", "above", "right"))
            )
        elif series.is_gauge[number] and not has_gauge:
            has_gauge = True
            line = Line(_("gauge"), caption, frame.colours.muted)
            wanted.append(
                Wanted(f"gauge {reading.reading_id}", (line,), box, ("below", "below right", "above", "left"))
            )
    return wanted


def _curve_wanted(frame: Frame, series: TrendSeries) -> list[Wanted]:
    caption, wanted = frame.font(), []
    snapshot = series.snapshot
    for use, value, text in earlier_lines(series):
        inside = [n for n in range(len(use)) if frame.has_x(float(use[n])) and frame.has_y(float(value[n]))]
        if not inside:
            continue
        # Late on its line, where it has parted from the others.
        at = inside[max(0, len(inside) * 3 // 4 - 1)]
        box = QRectF(frame.x(float(use[at])) - 1.0, frame.y(float(value[at])) - 1.0, 2.0, 2.0)
        line = Line(text, caption, frame.colours.muted)
        wanted.append(Wanted("earlier", (line,), box, ("left", "above left", "right", "below right")))
    if snapshot.similar_parts and len(series.fleet_use) > 1:
        noun = part_noun(snapshot.measurand, snapshot.similar_parts)
        line = Line(
            _("8 in 10 of {n} similar {noun}").format(n=snapshot.similar_parts, noun=noun),
            caption,
            frame.colours.muted,
        )
        for column in (0, 2):
            curve = series.fleet_value[:, column]
            inside = [
                n
                for n in range(len(curve))
                if frame.has_x(float(series.fleet_use[n])) and frame.has_y(float(curve[n]))
            ]
            if inside:
                at = inside[-max(1, len(inside) // 6)]
                x, y = frame.x(float(series.fleet_use[at])), frame.y(float(curve[at]))
                sides = ("below left", "below", "below right", "left", "right")
                wanted.append(Wanted("fleet", (line,), QRectF(x - 1.0, y - 1.0, 2.0, 2.0), sides))
                break
    return wanted


def _event_wanted(frame: Frame, series: TrendSeries) -> list[Wanted]:
    caption = frame.font()
    events = visible_events(frame, series)
    if len(events) > EVENTS_LABELLED:
        return []
    return [
        Wanted(
            "event",
            (Line(event.text, caption, frame.colours.muted),),
            QRectF(x - 0.5, frame.area.bottom() - _EVENT_PX * frame.scale, 1.0, _EVENT_PX * frame.scale),
            ("above", "above right", "above left", "right", "left"),
        )
        for event, x in events
    ]


def visible_events(frame: Frame, series: TrendSeries) -> list[tuple[TrendEvent, float]]:
    """Return the service events in sight with their positions, [px]."""
    found = []
    for event in series.snapshot.events:
        use = float(series.shown_use(event.use_on_part))
        if frame.has_x(use):
            found.append((event, frame.x(use)))
    return found


def paint_events(painter: QPainter, frame: Frame, series: TrendSeries) -> None:
    """Draw service events as ticks that rise from the lower axis."""
    painter.setPen(QPen(colour(frame.colours.muted), 1.4))
    for _event, x in visible_events(frame, series):
        bottom = frame.area.bottom()
        painter.drawLine(QPointF(x, bottom), QPointF(x, bottom - _EVENT_PX * frame.scale))


def _taken(frame: Frame, series: TrendSeries) -> list[QRectF]:
    area = frame.area
    levels = (series.limit, series.plan, series.stop)
    taken = [
        QRectF(area.left(), frame.y(level) - 2.0, area.width(), 4.0)
        for level in levels
        if not np.isnan(level) and frame.has_y(level)
    ]
    if not has_many(frame, series):
        seen = visible_readings(frame, series)
        taken += [mark_box(frame, series, number) for number in seen.tolist()]
    crossing = crossing_box(frame, series)
    if crossing is not None:
        taken.append(crossing)
    taken += [
        QRectF(x - 1.0, area.bottom() - _EVENT_PX, 2.0, _EVENT_PX)
        for _event, x in visible_events(frame, series)
    ]
    return taken


def _faint(frame: Frame, series: TrendSeries) -> list[QRectF]:
    """Return boxes along the curves that labels avoid if they can."""
    boxes = []
    if series.snapshot.removed_on is None and frame.has_x(series.now):
        boxes.append(QRectF(frame.x(series.now) - 4.0, frame.area.top(), 8.0, frame.area.height()))
    curves = (
        [(series.curve_use, series.curve_value[:, n]) for n in (1, MEDIAN, 5)]
        if len(series.curve_use)
        else []
    )
    curves += [(use, value) for use, value, _text in earlier_lines(series)]
    curves += [(other.use, other.value) for other in series.others]
    for use, value in curves:
        if len(use) < 2:
            continue
        at = np.linspace(frame.x_range[0], frame.x_range[1], 60)
        at = at[(at >= use[0]) & (at <= use[-1])]
        ys = frame.ys(np.interp(at, use, value))
        boxes += [
            QRectF(x - 4.0, y - 4.0, 8.0, 8.0)
            for x, y in zip(frame.xs(at).tolist(), ys.tolist(), strict=True)
        ]
    return boxes


def trend_labels(frame: Frame, series: TrendSeries) -> list[Label]:
    """Return all labels of the chart with their places."""
    first = [*_crossing_wanted(frame, series), *_reading_wanted(frame, series)]
    then = [*_event_wanted(frame, series), *_curve_wanted(frame, series)]
    bounds = frame.area.adjusted(4.0, 2.0, -4.0, -2.0)
    taken, faint = _taken(frame, series), _faint(frame, series)
    if not series.others:
        inside = place_labels([*first, *then], taken, faint, bounds)
        return [*_margin_labels(frame, series), *inside]
    inside = place_labels([wanted for wanted in first if wanted.is_needed], taken, faint, bounds)
    apart = [label.box.adjusted(-6.0, 0.0, 6.0, 0.0) for label in inside]
    names = other_labels(frame, series, [*taken, *apart], faint, bounds)
    inside += names
    # What tells of one part only gives way to the names of the lines.
    rest = [wanted for wanted in first if not wanted.is_needed]
    inside += place_labels(rest, [*taken, *(label.box for label in inside)], faint, bounds)
    return [*_margin_labels(frame, series), *inside]


def moved_labels(labels: list[Label], before: Frame, after: Frame) -> list[Label]:
    """Return labels that go along while the chart is panned; they are placed anew when it rests.

    Parameters
    ----------
    labels : list of Label
        As they were placed.
    before, after : Frame
        Where data lay when they were placed, and where it lies now, in ranges of the same width.
    """
    across = after.x(before.x_range[0]) - after.area.left()
    down = after.y(before.y_range[0]) - after.area.bottom()
    moved = []
    for label in labels:
        is_margin = label.box.left() > before.area.right()
        box = label.box.translated(0.0 if is_margin else across, down)
        is_in_sight = (
            after.area.top() - 8.0 <= box.center().y() <= after.area.bottom() + 8.0
            if is_margin
            else after.area.intersects(box)
        )
        if is_in_sight:
            moved.append(Label(label.key, label.lines, box))
    return moved


def paint_labels(painter: QPainter, frame: Frame, labels: list[Label]) -> None:
    """Write labels, each on a breath of ground so that it reads on top of a band."""
    for label in labels:
        is_inside = frame.area.intersects(label.box)
        painter.save()
        if is_inside:
            # A label that goes along with a panned chart is cut at its edge.
            painter.setClipRect(frame.area)
            painter.fillRect(label.box.adjusted(-2.0, 0.0, 2.0, 0.0), colour(frame.colours.ground, 0.78))
        top = label.box.top()
        for line in label.lines:
            painter.setPen(colour(line.colour))
            draw_text(painter, label.box.left(), top, line.font, line.text)
            top += text_size(line.font, line.text)[1]
        painter.restore()
