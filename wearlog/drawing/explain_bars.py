"""Draws what makes the width of a date: a bar for each cause, its share and what it would do alone."""

from gettext import gettext as _

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from wearlog.drawing.chart_frame import draw_text, text_size
from wearlog.drawing.explain_words import ShareBar, bar_text
from wearlog.drawing.palette import Palette, colour, palette, type_font
from wearlog.units import THIN_SPACE

_BAR_PX, _GAP_PX, _PERCENT_PX = 5.0, 6.0, 44.0


def bars_height(bars: tuple[ShareBar, ...], scale: float = 1.0) -> float:
    """Return the height that bars need, [px].

    Parameters
    ----------
    bars : tuple of ShareBar
        What is drawn.
    scale : float
        The seat's text scale, [-].
    """
    line = text_size(type_font("caption", scale=scale), "0")[1]
    return len(bars) * (line + (_BAR_PX + _GAP_PX) * scale)


def paint_bars(
    painter: QPainter, rect: QRectF, bars: tuple[ShareBar, ...], colours: Palette, scale: float = 1.0
) -> None:
    """Draw one bar for each cause, its words above it.

    Parameters
    ----------
    painter : QPainter
        On a widget, a picture or paper.
    rect : QRectF
        The room there is, [px].
    bars : tuple of ShareBar
        What is drawn.
    colours : Palette
        The theme's colours.
    scale : float
        The seat's text scale, [-].
    """
    font = type_font("caption", scale=scale)
    line = text_size(font, "0")[1]
    top = rect.top()
    for bar in bars:
        percent = f"{bar.percent}{THIN_SPACE}%"
        painter.setPen(colour(colours.ink))
        draw_text(painter, rect.left(), top, font, bar.label)
        draw_text(painter, rect.right() - text_size(font, percent)[0], top, font, percent)
        alone = _("alone {days}").format(days=bar.alone)
        end = rect.right() - _PERCENT_PX * scale
        left = end - text_size(font, alone)[0]
        if left > rect.left() + text_size(font, bar.label)[0] + _GAP_PX:
            painter.setPen(colour(colours.muted))
            draw_text(painter, left, top, font, alone)
        track = QRectF(rect.left(), top + line + 1.0, rect.width(), _BAR_PX * scale)
        painter.fillRect(track, colour(colours.hairline))
        track.setWidth(max(track.width() * min(bar.share, 1.0), 1.0))
        painter.fillRect(track, colour(colours.median))
        top += line + (_BAR_PX + _GAP_PX) * scale


class WidthBars(QWidget):
    """What makes the width of a date."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bars: tuple[ShareBar, ...] = ()
        self._colours, self._scale = palette("light"), 1.0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(_("What makes the width of the date"))
        self.hide()

    def wear_colours(self, colours: Palette, scale: float = 1.0) -> None:
        """Take the colours of a theme and the seat's text scale."""
        self._colours, self._scale = colours, scale
        self.updateGeometry()
        self.update()

    def show_bars(self, bars: tuple[ShareBar, ...]) -> None:
        """Show other bars; none hides them."""
        self._bars = bars
        self.setVisible(bool(bars))
        self.setAccessibleDescription("; ".join(bar_text(bar) for bar in bars))
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """Return the height of all bars."""
        return QSize(160, round(bars_height(self._bars, self._scale)))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the bars."""
        with QPainter(self) as painter:
            paint_bars(painter, QRectF(self.rect()), self._bars, self._colours, self._scale)
        event.accept()
