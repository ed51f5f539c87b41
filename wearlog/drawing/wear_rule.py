"""The wear rule: allowance used on a small graduated scale, from as new to the service limit and beyond."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from enum import StrEnum
from gettext import gettext as _

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from wearlog.drawing.number_words import rule_text
from wearlog.drawing.palette import Palette, Shape, colour, palette, type_font
from wearlog.fleet.state import State
from wearlog.workshop.fleet_snapshot import WearRuleValue

#: The scale ends a quarter beyond the limit: what lies further is worn out, how far no longer matters.
SCALE_END = 1.25
_TICKS = 12


class RuleSize(StrEnum):
    """In lists, on forms, beside the big figure."""

    SMALL = "small"
    MEDIUM = "medium"
    LARGE = "large"


@dataclass(frozen=True, slots=True)
class _Measure:
    """Heights from the top of the rule, [px]; the base line carries the ticks, which rise from it."""

    bar_top: float
    bar: float
    whisker: float
    base: float
    tick: float
    firm: float
    notch: float
    tip: float
    height: float
    width: int


_MEASURES = {
    RuleSize.SMALL: _Measure(4.0, 4.0, 6.0, 14.0, 3.0, 1.5, 3.0, 6.0, 18.0, 112),
    RuleSize.MEDIUM: _Measure(5.0, 6.0, 9.0, 20.0, 4.0, 2.0, 4.0, 8.0, 26.0, 200),
    RuleSize.LARGE: _Measure(22.0, 9.0, 13.0, 46.0, 6.0, 2.0, 5.0, 10.0, 68.0, 240),
}


def rule_height(size: RuleSize, scale: float = 1.0) -> float:
    """Return the height a wear rule needs, [px].

    Parameters
    ----------
    size : RuleSize
        Which of the three sizes.
    scale : float
        The seat's text scale, [-].
    """
    return _MEASURES[size].height * scale


def share_position(rect: QRectF, share: float, size: RuleSize, scale: float = 1.0) -> float:
    """Return where a share of the allowance lies on a rule drawn in `rect`, [px].

    Parameters
    ----------
    rect : QRectF
        What the rule is drawn in.
    share : float
        Allowance used; held to the ends of the scale, [-].
    size : RuleSize
        Which of the three sizes.
    scale : float
        The seat's text scale, [-].
    """
    length = rect.width() - _MEASURES[size].tip * scale - 1.0
    return rect.left() + 0.5 + length * min(max(share, 0.0), SCALE_END) / SCALE_END


@contextmanager
def _kept(painter: QPainter) -> Iterator[None]:
    painter.save()
    try:
        yield
    finally:
        painter.restore()


def paint_wear_rule(
    painter: QPainter,
    rect: QRectF,
    value: WearRuleValue,
    colours: Palette,
    size: RuleSize = RuleSize.SMALL,
    *,
    scale: float = 1.0,
    limit_text: str = "",
) -> None:
    """Draw a wear rule, centred in the height of `rect`.

    Parameters
    ----------
    painter : QPainter
        On a widget, a picture or paper.
    rect : QRectF
        Where; its whole width is used.
    value : WearRuleValue
        What it shows.
    colours : Palette
        The theme's colours.
    size : RuleSize
        Which of the three sizes; the large one is labelled.
    scale : float
        The seat's text scale, [-].
    limit_text : str
        The limit with its unit, written at the limit of the large size.
    """
    measure = _MEASURES[size]
    top = rect.center().y() - measure.height * scale / 2
    with _kept(painter):
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        _paint_scale(painter, rect, top, value, colours, size, scale)
        if value.has_reading:
            _paint_bar(painter, rect, top, value, colours, size, scale)
        else:
            _paint_expectation(painter, rect, top, value, colours, size, scale)
        _paint_limit(painter, rect, top, value, colours, size, scale)
        if size is RuleSize.LARGE:
            _paint_labels(painter, rect, top, value, colours, scale, limit_text)


def _crisp(at: float) -> float:
    return int(at) + 0.5


def _paint_scale(
    painter: QPainter,
    rect: QRectF,
    top: float,
    value: WearRuleValue,
    colours: Palette,
    size: RuleSize,
    scale: float,
) -> None:
    measure = _MEASURES[size]
    base = _crisp(top + measure.base * scale)
    left, right = (share_position(rect, share, size, scale) for share in (0.0, SCALE_END))
    pen = QPen(colour(colours.outline), 1.0)
    if not value.has_reading:
        pen.setDashPattern([3.0, 3.0])
    painter.setPen(pen)
    painter.drawLine(QPointF(left, base), QPointF(right, base))
    pen.setStyle(Qt.PenStyle.SolidLine)
    painter.setPen(pen)
    for tick in range(_TICKS + 1):
        at = _crisp(share_position(rect, tick / 10, size, scale))
        rise = measure.tick * scale * (1.0 if tick % 5 == 0 else 0.6)
        painter.drawLine(QPointF(at, base), QPointF(at, base - rise))


def _paint_bar(
    painter: QPainter,
    rect: QRectF,
    top: float,
    value: WearRuleValue,
    colours: Palette,
    size: RuleSize,
    scale: float,
) -> None:
    measure = _MEASURES[size]
    middle = top + (measure.bar_top + measure.bar / 2) * scale
    low, at, high = (share_position(rect, s, size, scale) for s in (value.low, value.median, value.high))
    start = share_position(rect, 0.0, size, scale)
    mark = colours.look(value.state).mark
    painter.setPen(Qt.PenStyle.NoPen)
    whisker = measure.whisker * scale
    painter.setBrush(colour(mark, 0.32))
    painter.drawRect(QRectF(low, middle - whisker / 2, max(high - low, 1.0), whisker))
    bar = measure.bar * scale
    painter.setBrush(colour(mark))
    painter.drawRect(QRectF(start, middle - bar / 2, max(at - start, 1.5), bar))
    if value.median > SCALE_END:
        # Off the scale: the bar ends in a point beyond the last tick.
        tip = measure.tip * scale
        reach = bar / 2 + 1.5 * scale
        painter.drawPolygon(
            QPolygonF([QPointF(at, middle - reach), QPointF(at + tip, middle), QPointF(at, middle + reach)])
        )
    elif value.high > SCALE_END:
        tip = measure.tip * scale
        painter.setBrush(colour(mark, 0.32))
        painter.drawPolygon(
            QPolygonF(
                [
                    QPointF(high, middle - whisker / 2),
                    QPointF(high + tip, middle),
                    QPointF(high, middle + whisker / 2),
                ]
            )
        )


def _paint_expectation(
    painter: QPainter,
    rect: QRectF,
    top: float,
    value: WearRuleValue,
    colours: Palette,
    size: RuleSize,
    scale: float,
) -> None:
    """Draw what similar parts lead to expect: an open, dashed whisker with its middle, and no bar."""
    measure = _MEASURES[size]
    middle = top + (measure.bar_top + measure.bar / 2) * scale
    low, at, high = (share_position(rect, s, size, scale) for s in (value.low, value.median, value.high))
    whisker = measure.whisker * scale
    pen = QPen(colour(colours.look(value.state).mark), 1.0 * scale)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(pen)
    painter.drawLine(QPointF(at, middle - whisker / 2), QPointF(at, middle + whisker / 2))
    pen.setDashPattern([2.5, 2.5])
    painter.setPen(pen)
    painter.drawRect(QRectF(_crisp(low), _crisp(middle - whisker / 2), max(high - low, 2.0), whisker - 1.0))


def _paint_limit(
    painter: QPainter,
    rect: QRectF,
    top: float,
    value: WearRuleValue,
    colours: Palette,
    size: RuleSize,
    scale: float,
) -> None:
    measure = _MEASURES[size]
    base = _crisp(top + measure.base * scale)
    plan = share_position(rect, value.plan_share, size, scale)
    notch = measure.notch * scale
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour(colours.look(State.PLAN).mark))
    rise = (measure.base - measure.bar_top - measure.bar / 2 - measure.whisker / 2) * scale
    painter.drawRect(QRectF(plan - 0.75 * scale, base - rise, 1.5 * scale, rise))
    painter.drawPolygon(
        QPolygonF(
            [
                QPointF(plan, base - 0.5),
                QPointF(plan + notch, base + notch),
                QPointF(plan - notch, base + notch),
            ]
        )
    )
    limit = share_position(rect, value.limit_share, size, scale)
    above = (measure.bar_top - 3.0) * scale if size is not RuleSize.LARGE else (measure.bar_top - 6.0) * scale
    pen = QPen(colour(colours.ink), measure.firm * scale)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    painter.setPen(pen)
    painter.drawLine(QPointF(limit, top + above), QPointF(limit, base + 2.0 * scale))


def _paint_labels(
    painter: QPainter,
    rect: QRectF,
    top: float,
    value: WearRuleValue,
    colours: Palette,
    scale: float,
    limit_text: str,
) -> None:
    size = RuleSize.LARGE
    measure = _MEASURES[size]
    font = type_font("caption", scale=scale)
    painter.setFont(font)
    metrics = QFontMetricsF(font)
    below = top + (measure.base + measure.notch + 1.0) * scale + metrics.ascent()
    painter.setPen(colour(colours.muted))
    as_new = _("as new")
    painter.drawText(QPointF(rect.left(), below), as_new)
    painter.setPen(colour(colours.ink))
    text = _("limit {limit}").format(limit=limit_text) if limit_text else _("limit")
    limit = share_position(rect, value.limit_share, size, scale)
    width = metrics.horizontalAdvance(text)
    left = min(limit - width / 2, rect.right() - width)
    left = max(left, rect.left() + metrics.horizontalAdvance(as_new + "  "))
    painter.drawText(QPointF(left, below), text)
    word = _("plan")
    painter.setPen(colour(colours.look(State.PLAN).text))
    plan = share_position(rect, value.plan_share, size, scale)
    left = max(
        rect.left(),
        min(plan - metrics.horizontalAdvance(word) / 2, limit - 6.0 - metrics.horizontalAdvance(word)),
    )
    painter.drawText(QPointF(left, top + metrics.ascent()), word)


def paint_state_mark(painter: QPainter, rect: QRectF, state: State, colours: Palette) -> None:
    """Draw the shape of a state, centred in `rect` and as large as fits.

    Parameters
    ----------
    painter : QPainter
        On a widget, a picture or paper.
    rect : QRectF
        Where.
    state : State
        Whose shape.
    colours : Palette
        The theme's colours.
    """
    look = colours.look(state)
    side = min(rect.width(), rect.height())
    centre = rect.center()
    paint = colour(look.mark)
    with _kept(painter):
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QBrush(paint))
        if look.shape is Shape.RING:
            thick = max(1.5, side / 7)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(paint, thick))
            radius = side * 0.42 - thick / 2
            painter.drawEllipse(centre, radius, radius)
        elif look.shape is Shape.DISC:
            painter.drawEllipse(centre, side * 0.42, side * 0.42)
        elif look.shape is Shape.DIAMOND:
            painter.drawPolygon(_polygon(centre, side, ((0, -0.5), (0.5, 0), (0, 0.5), (-0.5, 0))))
        elif look.shape is Shape.TRIANGLE:
            painter.drawPolygon(_polygon(centre, side, ((0, -0.48), (0.52, 0.42), (-0.52, 0.42))))
        else:
            half = side * 0.44
            painter.drawRect(QRectF(centre.x() - half, centre.y() - half, 2 * half, 2 * half))
            pen = QPen(colour(colours.ground), max(1.4, side / 8))
            pen.setCapStyle(Qt.PenCapStyle.FlatCap)
            painter.setPen(pen)
            arm = half * 0.55
            for sign in (1, -1):
                painter.drawLine(centre + QPointF(-arm, -arm * sign), centre + QPointF(arm, arm * sign))


def _polygon(centre: QPointF, side: float, corners: tuple[tuple[float, float], ...]) -> QPolygonF:
    return QPolygonF([QPointF(centre.x() + x * side, centre.y() + y * side) for x, y in corners])


class WearRule(QWidget):
    """A wear rule of its own on a page; says in words what it shows."""

    def __init__(self, size: RuleSize = RuleSize.MEDIUM, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._size = size
        self._value: WearRuleValue | None = None
        self._colours = palette("light")
        self._scale = 1.0
        self._limit_text = ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(_("Wear rule"))

    @property
    def value(self) -> WearRuleValue | None:
        """What is shown, None for nothing."""
        return self._value

    def show_value(self, value: WearRuleValue | None, limit_text: str = "") -> None:
        """Show a value; None leaves the place empty."""
        self._value = value
        self._limit_text = limit_text
        text = rule_text(value) if value is not None else ""
        self.setAccessibleDescription(text)
        self.setToolTip(text)
        self.update()

    def wear_colours(self, colours: Palette, scale: float = 1.0) -> None:
        """Take the colours of a theme and the seat's text scale."""
        self._colours = colours
        self._scale = scale
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """Return the size at which every tick can be told from the next."""
        measure = _MEASURES[self._size]
        return QSize(round(measure.width * self._scale), round(measure.height * self._scale))

    def minimumSizeHint(self) -> QSize:
        """Return the least size; ticks lie four pixels apart."""
        return QSize(64, round(_MEASURES[self._size].height * self._scale))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the rule over the whole width."""
        if self._value is None:
            return
        with QPainter(self) as painter:
            paint_wear_rule(
                painter,
                QRectF(self.rect()),
                self._value,
                self._colours,
                self._size,
                scale=self._scale,
                limit_text=self._limit_text,
            )
        event.accept()
