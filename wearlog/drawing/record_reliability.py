"""What intervals promised against what they held: a line on the diagonal is a forecast to be trusted."""

from gettext import gettext as _

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from wearlog.drawing.chart_frame import Frame, draw_text, points, text_size
from wearlog.drawing.number_words import share_text
from wearlog.drawing.palette import Palette, colour
from wearlog.workshop.record_snapshot import WIDTHS, Reliability

_POINT_PX, _NARROW_PX = 4.5, 560.0
#: How far the two kinds of forecasts stand beside one another on the chart, [-].
_BESIDE = 0.012


def reliability_frame(box: QRectF, colours: Palette, scale: float = 1.0) -> Frame:
    """Return where the chart lies: a margin for its numbers at the left and below.

    Parameters
    ----------
    box : QRectF
        All the room there is, [px].
    colours : Palette
        The theme's colours.
    scale : float
        The seat's text scale, [-].
    """
    area = box.adjusted(48.0 * scale, 26.0 * scale, -12.0 * scale, -42.0 * scale)
    return Frame(area, box, (0.0, 1.0), (0.0, 1.0), colours, scale)


def paint_reliability(
    painter: QPainter,
    box: QRectF,
    readings: Reliability,
    distances: Reliability,
    colours: Palette,
    scale: float = 1.0,
) -> None:
    """Draw the share held over the share promised, for next readings and for distances at the limit.

    Parameters
    ----------
    painter : QPainter
        On a widget, a picture or paper.
    box : QRectF
        All the room there is, [px].
    readings, distances : Reliability
        What forecasts were worth.
    colours : Palette
        The theme's colours.
    scale : float
        The seat's text scale, [-].
    """
    frame = reliability_frame(box, colours, scale)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _paint_axes(painter, frame)
    if readings.is_telling:
        _paint_curve(painter, frame, readings)
    _paint_promise(painter, frame)
    for shown, is_hollow, beside in ((readings, False, -_BESIDE), (distances, True, _BESIDE)):
        if shown.n_checks:
            _paint_points(painter, frame, shown, beside, is_hollow=is_hollow)
    _paint_key(painter, frame, readings, distances)
    painter.restore()


def _paint_axes(painter: QPainter, frame: Frame) -> None:
    font, area = frame.font(), frame.area
    for n in range(0, 101, 25):
        y = int(frame.y(n / 100)) + 0.5
        painter.setPen(QPen(colour(frame.colours.hairline if n else frame.colours.outline), 1.0))
        painter.drawLine(QPointF(area.left(), y), QPointF(area.right(), y))
        text = share_text(n / 100)
        width, height = text_size(font, text)
        painter.setPen(colour(frame.colours.muted))
        draw_text(painter, area.left() - 8.0 - width, y - height / 2, font, text)
    base = int(area.bottom()) + 0.5
    for width_told in (0.0, *WIDTHS):
        x = int(frame.x(width_told)) + 0.5
        painter.setPen(QPen(colour(frame.colours.outline), 1.0))
        painter.drawLine(QPointF(x, base), QPointF(x, base + 5.0))
        text = share_text(width_told)
        width = text_size(font, text)[0]
        painter.setPen(colour(frame.colours.muted))
        draw_text(painter, min(x - width / 2, frame.whole.right() - width), base + 7.0, font, text)
    title = _("share that the interval promised")
    width, height = text_size(font, title)
    draw_text(painter, area.right() - width, base + 9.0 + height, font, title)
    draw_text(painter, frame.whole.left(), frame.whole.top(), font, _("share that it held"))


def _paint_promise(painter: QPainter, frame: Frame) -> None:
    """Draw the diagonal, and say what it means to lie above or below."""
    pen = QPen(colour(frame.colours.muted), 1.0)
    pen.setDashPattern([4.0, 3.0])
    painter.setPen(pen)
    painter.drawLine(
        QPointF(frame.x(0.0), frame.y(0.0)),
        QPointF(frame.x(1.0), frame.y(1.0)),
    )
    font = frame.font()
    painter.setPen(colour(frame.colours.muted))
    above, below = _("above: wider than need be"), _("below: too narrow")
    height = text_size(font, above)[1]
    draw_text(painter, frame.area.left() + 8.0, frame.y(0.75) + 4.0, font, above)
    width = text_size(font, below)[0]
    draw_text(painter, frame.x(0.97) - width, frame.y(0.25) - height - 2.0, font, below)


def _paint_curve(painter: QPainter, frame: Frame, shown: Reliability) -> None:
    told = [
        (0.0, 0.0, 0.0, 0.0),
        *((c.width, c.low, c.share, c.high) for c in shown.curve),
        (1.0, 1.0, 1.0, 1.0),
    ]
    width, low, share, high = (np.array(column) for column in zip(*told, strict=True))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour(frame.colours.bands[1]))
    painter.drawPolygon(frame.ribbon(width, low, high))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(colour(frame.colours.median), 1.5))
    painter.drawPolyline(points(frame.xs(width), frame.ys(share)))


def _paint_points(
    painter: QPainter, frame: Frame, shown: Reliability, beside: float, *, is_hollow: bool
) -> None:
    ink = colour(frame.colours.crossing if is_hollow else frame.colours.median)
    for one in shown.told:
        x = frame.x(one.width + beside)
        painter.setPen(QPen(ink, 1.5))
        painter.drawLine(QPointF(x, frame.y(one.low)), QPointF(x, frame.y(one.high)))
        paint_point(painter, QPointF(x, frame.y(one.share)), frame, is_hollow=is_hollow)


def paint_point(painter: QPainter, at: QPointF, frame: Frame, *, is_hollow: bool) -> None:
    """Draw a filled disc, or a hollow diamond for distances."""
    size = _POINT_PX * frame.scale
    if is_hollow:
        painter.setPen(QPen(colour(frame.colours.crossing), 1.8))
        painter.setBrush(colour(frame.colours.ground))
        ways = ((0.0, -1.2), (1.2, 0.0), (0.0, 1.2), (-1.2, 0.0))
        painter.drawPolygon(QPolygonF([QPointF(at.x() + dx * size, at.y() + dy * size) for dx, dy in ways]))
    else:
        painter.setPen(QPen(colour(frame.colours.ground), 1.0))
        painter.setBrush(colour(frame.colours.median))
        painter.drawEllipse(at, size, size)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def _paint_key(painter: QPainter, frame: Frame, readings: Reliability, distances: Reliability) -> None:
    """Say which mark is which, at the right above the chart."""
    font = frame.font()
    is_narrow = frame.whole.width() < _NARROW_PX * frame.scale
    words = [
        (_("next reading") if is_narrow else _("next reading ({n})").format(n=readings.n_checks), False),
        (
            _("distance at limit")
            if is_narrow
            else _("distance at the limit ({n} for {parts} parts)").format(
                n=distances.n_checks, parts=distances.n_parts
            ),
            True,
        ),
    ]
    right = frame.area.right()
    checked = (readings.n_checks, distances.n_checks)
    for (text, is_hollow), n_checks in zip(reversed(words), reversed(checked), strict=True):
        if not n_checks:
            continue
        width, height = text_size(font, text)
        left = right - width
        painter.setPen(colour(frame.colours.ink))
        draw_text(painter, left, frame.whole.top(), font, text)
        paint_point(
            painter,
            QPointF(left - 10.0 * frame.scale, frame.whole.top() + height / 2),
            frame,
            is_hollow=is_hollow,
        )
        right = left - 32.0 * frame.scale
