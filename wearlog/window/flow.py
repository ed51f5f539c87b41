"""A row that breaks into more rows where the window is narrow or the text large."""

from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLabel, QLayout, QLayoutItem, QSizePolicy, QWidget


class FlowLayout(QLayout):
    """Lays out widgets in a row and goes on in the next one when the width is used up."""

    def __init__(self, parent: QWidget | None = None, *, spacing: int = 8) -> None:
        super().__init__(parent)
        self._items: list[QLayoutItem] = []
        # Asked for often while a page is laid out, and each time of every item.
        self._least: QSize | None = None
        self._hint: QSize | None = None
        self._heights: dict[int, int] = {}
        self.setSpacing(spacing)
        self.setContentsMargins(0, 0, 0, 0)

    def addItem(self, item: QLayoutItem) -> None:
        """Take one more item."""
        self._items.append(item)

    def invalidate(self) -> None:
        """Measure the items anew when next asked."""
        self._least, self._hint = None, None
        self._heights.clear()
        super().invalidate()

    def count(self) -> int:
        """Return how many items there are."""
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        """Return an item, None beyond the last."""
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        """Return an item and let go of it."""
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:
        """Grow in no direction."""
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:
        """Return that the height follows from the width."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return the height of all rows, [px]."""
        if width not in self._heights:
            self._heights[width] = self._arrange(QRect(0, 0, width, 0), is_trial=True)
        return self._heights[width]

    def setGeometry(self, rect: QRect) -> None:
        """Put every item in its place."""
        super().setGeometry(rect)
        self._arrange(rect, is_trial=False)

    def sizeHint(self) -> QSize:
        """Return the size of a single row."""
        if self._hint is None:
            sizes = [item.sizeHint() for item in self._items if not item.isEmpty()]
            width = sum(size.width() for size in sizes) + self.spacing() * max(len(sizes) - 1, 0)
            self._hint = QSize(width, max((size.height() for size in sizes), default=0))
        return QSize(self._hint)

    def minimumSize(self) -> QSize:
        """Return the size of the largest item."""
        if self._least is None:
            sizes = [item.minimumSize() for item in self._items if not item.isEmpty()]
            self._least = QSize(
                max((size.width() for size in sizes), default=0),
                max((size.height() for size in sizes), default=0),
            )
        return QSize(self._least)

    def _arrange(self, rect: QRect, *, is_trial: bool) -> int:
        rows: list[list[tuple[QLayoutItem, QSize]]] = [[]]
        used = 0
        for item in self._items:
            if item.isEmpty():
                continue
            size = item.sizeHint()
            size.setWidth(min(size.width(), max(rect.width(), 1)))
            if rows[-1] and used + self.spacing() + size.width() > rect.width():
                rows.append([])
                used = 0
            used += size.width() + (self.spacing() if rows[-1] else 0)
            rows[-1].append((item, size))
        top, gap = rect.top(), min(self.spacing(), 8)
        for row in rows:
            height = max((size.height() for _item, size in row), default=0)
            left = rect.left()
            for item, size in row:
                if not is_trial:
                    at = QPoint(left, top + (height - size.height()) // 2)
                    item.setGeometry(QRect(at, size))
                left += size.width() + self.spacing()
            top += height + (gap if height else 0)
        return max(top - gap - rect.top(), 0)


class ElidedLabel(QLabel):
    """A label that gives way: what does not fit ends in dots, the whole stands in the tool tip."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._whole = ""
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def show_text(self, text: str) -> None:
        """Show a text as far as it fits."""
        self._whole = text
        self.setToolTip(text)
        self.setAccessibleName(text)
        self._elide()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Cut anew."""
        super().resizeEvent(event)
        self._elide()

    def _elide(self) -> None:
        self.setText(self.fontMetrics().elidedText(self._whole, Qt.TextElideMode.ElideRight, self.width()))
