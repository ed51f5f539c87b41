"""The due list as a table: its columns, its head with the weeks, its keys."""

from gettext import gettext as _

from PySide6.QtCore import QRect, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QWidget

from wearlog.drawing.due_timeline import paint_week_axis
from wearlog.drawing.palette import colour
from wearlog.window import theme
from wearlog.window.due.delegate import LINE_PX, DueDelegate, week_scale, weeks_rect
from wearlog.window.due.model import Column, DueModel

#: Widths of the columns but the one with the reasons, which takes the rest; before the text scale, [px].
_WIDTHS = {
    Column.VISIT: 104,
    Column.VEHICLE: 112,
    Column.DUE: 184,
    Column.ORDER: 80,
    Column.WEAR: 128,
    Column.WEEKS: 520,
}


#: Below this width of the list, before the text scale, a column leaves; its words move elsewhere, [px].
_NEEDED = {Column.ORDER: 760, Column.VISIT: 640, Column.WEAR: 500, Column.WEEKS: 1400}
#: Where the weeks are asked for in a narrower list, these make room, and what is left for the words, [px].
_LEAVE_FOR_WEEKS = {Column.ORDER, Column.WEAR}
_WORDS_BESIDE_WEEKS_PX = 200


class _Head(QHeaderView):
    """The heads of the columns; over the coming weeks stand their dates."""

    def __init__(self, model: DueModel, parent: QWidget) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self._model = model
        self.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.setHighlightSections(False)
        self.setSectionsClickable(False)
        self.setMinimumSectionSize(24)

    def paintSection(self, painter: QPainter, rect: QRect, logicalIndex: int) -> None:  # noqa: N803
        """Paint one head."""
        if logicalIndex != Column.WEEKS:
            super().paintSection(painter, rect, logicalIndex)
            return
        look = theme.colours()
        painter.save()
        painter.fillRect(rect, colour(look.ground))
        painter.fillRect(rect.left(), rect.bottom(), rect.width(), 1, colour(look.hairline))
        paint_week_axis(painter, weeks_rect(rect), week_scale(self._model), look, theme.text_scale())
        painter.restore()


class DueView(QTableView):
    """The list itself.

    Signals
    -------
    sheet_wanted(), trend_wanted(), weeks_wanted(), book_wanted(), done_wanted(), off_wanted(), why_wanted()
        Enter, T, W, B, D, Delete or Y on the chosen line.
    resized()
        The width changed.
    """

    sheet_wanted = Signal()
    trend_wanted = Signal()
    weeks_wanted = Signal()
    book_wanted = Signal()
    done_wanted = Signal()
    off_wanted = Signal()
    why_wanted = Signal()
    resized = Signal()

    def __init__(self, model: DueModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setModel(model)
        self.setHorizontalHeader(_Head(model, self))
        self.delegate = DueDelegate(self, model)
        self.setItemDelegate(self.delegate)
        self.setAccessibleName(_("Due list"))
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTabKeyNavigation(False)
        self.setCornerButtonEnabled(False)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.verticalHeader().setMinimumSectionSize(8)

    def has_room_for_weeks(self) -> bool:
        """Whether the weeks stand beside everything else without being asked for."""
        return self.viewport().width() / theme.text_scale() >= _NEEDED[Column.WEEKS]

    def size_columns(self, *, with_weeks: bool) -> None:
        """Give the columns their widths; those that matter least leave where there is no room."""
        self.verticalHeader().setDefaultSectionSize(theme.scaled(LINE_PX))
        head = self.horizontalHeader()
        room = self.viewport().width() / theme.text_scale()
        is_squeezed = with_weeks and not self.has_room_for_weeks()
        stretched = Column.WEEKS if is_squeezed else Column.WHAT
        for column in Column:
            is_hidden = room < _NEEDED.get(column, 0)
            if is_squeezed:
                is_hidden = column in _LEAVE_FOR_WEEKS or (is_hidden and column is not Column.WEEKS)
            self.setColumnHidden(column, is_hidden)
            if column is stretched:
                head.setSectionResizeMode(column, QHeaderView.ResizeMode.Stretch)
            else:
                head.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
                head.resizeSection(column, theme.scaled(_WIDTHS.get(column, _WORDS_BESIDE_WEEKS_PX)))
        head.setFixedHeight(theme.scaled(28))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Open the service sheet with Enter, the trend with T; the letters of the buttons do as these."""
        letters = {
            Qt.Key.Key_T: self.trend_wanted,
            Qt.Key.Key_W: self.weeks_wanted,
            Qt.Key.Key_B: self.book_wanted,
            Qt.Key.Key_D: self.done_wanted,
            Qt.Key.Key_Y: self.why_wanted,
            Qt.Key.Key_Delete: self.off_wanted,
        }
        key = Qt.Key(event.key())
        if key in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            self.sheet_wanted.emit()
        elif key in letters and not event.modifiers():
            letters[key].emit()
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let the unfolded line take its new height."""
        super().resizeEvent(event)
        self.resized.emit()
