"""One question of the fleet record: a title, a chart, and beside it what the chart means."""

from html import escape

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from wearlog.drawing.record_picture import Drawn, RecordPicture
from wearlog.units import NARROW_NO_BREAK_SPACE, THIN_SPACE
from wearlog.window import theme
from wearlog.window.theme import scaled, set_role

#: Below this width the words stand under the chart, [px].
NARROW_PX = 720
#: Widths of the words beside the chart, and under it at most, [px].
WORDS_PX, WIDE_WORDS_PX, WORDS_MOST_PX = 312, 420, 860
_WIDE_PX = 1200
_TOGETHER = str.maketrans({THIN_SPACE: "\u00a0", NARROW_NO_BREAK_SPACE: "\u00a0"})


class Section(QWidget):
    """A chart with its words.

    Attributes
    ----------
    title, picture, table, words
        The question; the chart; figures in columns, hidden where there are none; the sentences.
    """

    def __init__(self, title: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(title)
        self.title = QLabel(title)
        set_role(self.title, "title")
        self.picture = RecordPicture(title)
        self.table = QLabel()
        self.table.setTextFormat(Qt.TextFormat.RichText)
        self.table.setAccessibleName(title)
        self.words = QLabel()
        self.words.setWordWrap(True)
        self.words.setTextFormat(Qt.TextFormat.RichText)
        self.words.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.words.setTextInteractionFlags(
            Qt.TextInteractionFlag.TextSelectableByMouse | Qt.TextInteractionFlag.TextSelectableByKeyboard
        )
        self.side = QWidget()
        side = QVBoxLayout(self.side)
        side.setContentsMargins(0, 0, 0, 0)
        side.setSpacing(12)
        side.addWidget(self.table)
        side.addWidget(self.words)
        side.addStretch(1)
        self.row = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self.row.setSpacing(32)
        self.row.addWidget(self.picture, 1, Qt.AlignmentFlag.AlignTop)
        self.row.addWidget(self.side, 0)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(8)
        layout.addWidget(self.title)
        layout.addLayout(self.row)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)

    def show_section(self, drawn: Drawn | None, sentences: list[str], table: str = "") -> None:
        """Show a chart and what it means."""
        self.picture.show_drawn(drawn)
        self.table.setText(table)
        self.table.setVisible(bool(table))
        # Thin spaces would let a number and its unit fall apart at the end of a line.
        kept = (sentence.translate(_TOGETHER) for sentence in sentences)
        paragraphs = (f'<p style="margin:0 0 8px 0">{escape(sentence)}</p>' for sentence in kept)
        self.words.setText("".join(paragraphs))
        self.words.setAccessibleName(" ".join(sentences))

    def take_look(self) -> None:
        """Take the colours and the text scale that are applied now."""
        self.picture.wear_colours(theme.colours(), theme.text_scale())
        self._place()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the words under the chart where there is no room beside it."""
        super().resizeEvent(event)
        self._place()

    def _place(self) -> None:
        is_narrow = self.width() < scaled(NARROW_PX)
        way = QBoxLayout.Direction.TopToBottom if is_narrow else QBoxLayout.Direction.LeftToRight
        self.row.setDirection(way)
        width = scaled(WIDE_WORDS_PX if self.width() > scaled(_WIDE_PX) else WORDS_PX)
        self.side.setMinimumWidth(0 if is_narrow else width)
        self.side.setMaximumWidth(scaled(WORDS_MOST_PX) if is_narrow else width)
