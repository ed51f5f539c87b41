"""What is measured and how, as one large target."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetrics, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QVBoxLayout, QWidget

from wearlog.window.service_sheet.outcome import ElidedLabel
from wearlog.window.theme import colours, scaled, set_role

#: Least height of a row, [px].
ROW_PX = 44


class WhatButton(QAbstractButton):
    """What is measured and how, as one large target that opens the ways of measuring."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._texts = ("", "")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        self.title = ElidedLabel()
        self.how = ElidedLabel()
        set_role(self.how, "caption")
        self.count = ElidedLabel()
        set_role(self.count, "caption")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(2, 0, 2, 0)
        layout.setSpacing(0)
        layout.addStretch(1)
        for label in (self.title, self.how, self.count):
            label.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
            layout.addWidget(label)
        layout.addStretch(1)

    def sizeHint(self) -> QSize:
        """Return the size of its lines."""
        return self._lines_size()

    def minimumSizeHint(self) -> QSize:
        """Return the size of its lines; they must not overlap."""
        return self._lines_size()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw nothing but where the hand or the focus is."""
        event.accept()
        if not (self.hasFocus() or self.underMouse()):
            return
        look = colours()
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            if self.hasFocus():
                painter.setPen(QPen(QColor(look.accent), 2.0))
            else:
                painter.setPen(Qt.PenStyle.NoPen)
                painter.setBrush(QColor(look.raised))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 4, 4)

    def _lines_size(self) -> QSize:
        layout = self.layout()
        height = layout.minimumSize().height() if layout is not None else 0
        return QSize(scaled(120), max(height, scaled(ROW_PX)))

    def say(self, title: str, how: str, count: str) -> None:
        """Say what, how, and the count of pins and pitches."""
        self._texts = (how, count)
        self.title.say(title)
        self._say_lines()
        self.setAccessibleDescription(f"{how} {count}".strip())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Break the lines anew."""
        super().resizeEvent(event)
        self._say_lines()

    def _say_lines(self) -> None:
        """Say how and the count; a long definition goes on in the line of the count."""
        how, count = self._texts
        metrics, width = QFontMetrics(self.how.font()), self.width() - 8
        if not count and metrics.horizontalAdvance(how) > width > 0:
            how, count = broken_in_two(how, metrics, width)
        self.how.say(how)
        self.count.say(count)
        if self.count.isHidden() is bool(count):
            self.count.setVisible(bool(count))
            self.updateGeometry()


def broken_in_two(text: str, metrics: QFontMetrics, width: int) -> tuple[str, str]:
    """Return a text as two lines, the first as long as fits."""
    words = text.split(" ")
    n = len(words) - 1
    while n > 1 and metrics.horizontalAdvance(" ".join(words[:n])) > width:
        n -= 1
    return " ".join(words[:n]), " ".join(words[n:])
