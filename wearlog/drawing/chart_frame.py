"""Where data lies on a chart: one linear map from shown units to pixels, with colours and sizes of text."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from pyqtgraph.functions import arrayToQPolygonF
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QFont, QFontMetricsF, QGuiApplication, QPainter, QPolygonF

from wearlog.drawing.palette import Palette, TypeName, type_font
from wearlog.workshop.trend_snapshot import FloatArray

#: Positions are held to this many pixels outside the chart; painters lose precision far away.
_FAR_PX = 4000.0


@dataclass(frozen=True, slots=True)
class Frame:
    """The area that data is drawn in, [px], and the ranges it shows, in shown units."""

    area: QRectF
    whole: QRectF
    x_range: tuple[float, float]
    y_range: tuple[float, float]
    colours: Palette
    scale: float = 1.0

    def xs(self, values: FloatArray) -> FloatArray:
        """Return horizontal positions, [px]."""
        low, high = self.x_range
        at = self.area.left() + (values - low) / max(high - low, 1e-12) * self.area.width()
        return np.asarray(np.clip(at, self.area.left() - _FAR_PX, self.area.right() + _FAR_PX))

    def ys(self, values: FloatArray) -> FloatArray:
        """Return vertical positions, [px]; larger values lie higher."""
        low, high = self.y_range
        at = self.area.bottom() - (values - low) / max(high - low, 1e-12) * self.area.height()
        return np.asarray(np.clip(at, self.area.top() - _FAR_PX, self.area.bottom() + _FAR_PX))

    def x(self, value: float) -> float:
        """Return one horizontal position, [px]."""
        low, high = self.x_range
        left, width = self.area.left(), self.area.width()
        at = left + (value - low) / max(high - low, 1e-12) * width
        return min(max(at, left - _FAR_PX), left + width + _FAR_PX)

    def y(self, value: float) -> float:
        """Return one vertical position, [px]."""
        low, high = self.y_range
        bottom, height = self.area.bottom(), self.area.height()
        at = bottom - (value - low) / max(high - low, 1e-12) * height
        return min(max(at, bottom - height - _FAR_PX), bottom + _FAR_PX)

    def use_at(self, x: float) -> float:
        """Return the value of the horizontal axis at a position."""
        low, high = self.x_range
        return low + (x - self.area.left()) / max(self.area.width(), 1e-12) * (high - low)

    def has_x(self, value: float) -> bool:
        """Whether a use lies in the range shown."""
        return self.x_range[0] <= value <= self.x_range[1]

    def has_y(self, value: float) -> bool:
        """Whether a value lies in the range shown."""
        return self.y_range[0] <= value <= self.y_range[1]

    def lines(self, use: FloatArray, value: FloatArray) -> list[QPolygonF]:
        """Return the pieces of a curve that lie in the ranges shown; `use` ascends.

        Cut here rather than by the painter, since SVG files that Qt writes know no clipping.
        """
        at, (inside,) = self._cut(use, (value,))
        low, high = self.y_range
        slack = 1e-9 * (high - low)
        is_in = (inside >= low - slack) & (inside <= high + slack)
        edges = np.flatnonzero(np.diff(is_in.astype(np.int8))) + 1
        pieces = zip(np.split(at, edges), np.split(inside, edges), np.split(is_in, edges), strict=True)
        return [points(self.xs(x), self.ys(y)) for x, y, kept in pieces if len(x) > 1 and kept[0]]

    def ribbon(self, use: FloatArray, low: FloatArray, high: FloatArray) -> QPolygonF:
        """Return the area between two curves as far as it lies in the ranges shown; `use` ascends."""
        at, (lower, upper) = self._cut(use, (low, high))
        lower, upper = np.clip(lower, *self.y_range), np.clip(upper, *self.y_range)
        return points(self.xs(np.concatenate([at, at[::-1]])), self.ys(np.concatenate([lower, upper[::-1]])))

    def _cut(self, use: FloatArray, curves: tuple[FloatArray, ...]) -> tuple[FloatArray, list[FloatArray]]:
        """Return curves over the range of use that is shown, with points where they cross its other range."""
        first, last = max(float(use[0]), self.x_range[0]), min(float(use[-1]), self.x_range[1])
        if first > last:
            return np.zeros(0), [np.zeros(0) for _curve in curves]
        extra: list[FloatArray] = [np.array([first, last])]
        for curve in curves:
            for level in self.y_range:
                side = curve - level
                at = np.flatnonzero(side[:-1] * side[1:] < 0)
                share = side[at] / (side[at] - side[at + 1])
                extra.append(use[at] + share * (use[at + 1] - use[at]))
        grid = np.unique(np.concatenate([use, *extra]))
        grid = grid[(grid >= first) & (grid <= last)]
        return grid, [np.interp(grid, use, curve) for curve in curves]

    def font(self, name: TypeName = "caption", *, bold: bool = False) -> QFont:
        """Return a font of the chart."""
        return QFont(_kept_font(QGuiApplication.font().key(), name, bold, self.scale))


@lru_cache(maxsize=64)
def _kept_font(platform: str, name: TypeName, bold: bool, scale: float) -> QFont:
    """Return a font that is made once; a chart asks for it a hundred times a frame."""
    del platform
    return type_font(name, bold=bold, scale=scale)


def points(xs: FloatArray, ys: FloatArray) -> QPolygonF:
    """Return positions as Qt wants them, without a loop in Python."""
    if not len(xs):
        return QPolygonF()
    polygon = arrayToQPolygonF(xs, ys)
    assert isinstance(polygon, QPolygonF)  # noqa: S101 - tells the type checker, which does not know pyqtgraph
    return polygon


#: Sizes of text that were measured; ticks and labels are the same from frame to frame.
_SIZES: dict[tuple[str, str], tuple[float, float]] = {}
_MOST_SIZES = 8192


def text_size(font: QFont, text: str) -> tuple[float, float]:
    """Return the width and height of a line of text, [px]."""
    key = (font.key(), text)
    size = _SIZES.get(key)
    if size is None:
        metrics = QFontMetricsF(font)
        size = metrics.horizontalAdvance(text), metrics.height()
        if len(_SIZES) >= _MOST_SIZES:
            _SIZES.clear()
        _SIZES[key] = size
    return size


def draw_text(painter: QPainter, left: float, top: float, font: QFont, text: str) -> None:
    """Write a line of text whose box starts at a point."""
    painter.setFont(font)
    painter.drawText(QPointF(left, top + QFontMetricsF(font).ascent()), text)


def nice_ticks(low: float, high: float, most: int) -> tuple[list[float], float]:
    """Return round positions in a range and their step; never more than `most` of them.

    Parameters
    ----------
    low, high : float
        The range, [-].
    most : int
        How many fit, [-].

    Examples
    --------
    >>> nice_ticks(0.0, 7000.0, 8)
    ([0.0, 1000.0, 2000.0, 3000.0, 4000.0, 5000.0, 6000.0, 7000.0], 1000.0)
    """
    width = high - low
    if not np.isfinite(width) or width <= 0:
        return [], 1.0
    raw = width / max(most - 1, 1)
    power = 10.0 ** np.floor(np.log10(raw))
    step = float(next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= raw * (1 - 1e-9)))
    first = int(np.ceil(low / step - 1e-9))
    last = int(np.floor(high / step + 1e-9))
    return [round(n * step, 12) for n in range(first, last + 1)], step
