"""Help beside the page: not in its way, closed with Esc, and the focus goes back to where it was."""

from collections.abc import Iterable
from gettext import gettext as _

from PySide6.QtCore import QEvent, QObject, QRect, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QApplication,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from wearlog.drawing.cautions import cautions, maker_caution
from wearlog.drawing.step_picture import StepPicture
from wearlog.fleet.reading import Measurand, Method
from wearlog.measuring.how_to import general_cautions
from wearlog.window import theme
from wearlog.window.help.methods import MethodHelp, all_methods
from wearlog.window.help.topics import PageHelp, page_help
from wearlog.window.page import hairline
from wearlog.window.theme import scaled, set_role

#: How wide the panel is, [px] at plain text size, and the least that stays of the page beside it.
WIDE_PX, LEAST_BESIDE_PX = 432, 240
MethodKey = tuple[Measurand, Method]


def _words(text: str, role: str = "") -> QLabel:
    label = QLabel(text)
    label.setWordWrap(True)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    if role:
        set_role(label, role)
    return label


def _points(lines: Iterable[str]) -> QWidget:
    """Return sentences one under the other, each with a dash before it."""
    place = QWidget()
    column = QVBoxLayout(place)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(4)
    for line in lines:
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(QLabel("–"), 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(_words(line), 1)
        column.addLayout(row)
    return place


class MethodPart(QWidget):
    """One way of measuring: its heading unfolds the drawings and sentences."""

    def __init__(self, told: MethodHelp) -> None:
        super().__init__()
        self.told = told
        self.heading = QPushButton(told.title)
        self.heading.setCheckable(True)
        self.heading.setAccessibleDescription(_("Unfolds how it is done"))
        set_role(self.heading, "link")
        self.heading.toggled.connect(self._unfold)
        self.pictures: list[StepPicture] = []
        self._inside: QWidget | None = None
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(8)
        self._column.addWidget(self.heading)

    def _unfold(self, is_open: bool) -> None:
        if self._inside is None:
            self._inside = self._make()
            self._column.addWidget(self._inside)
        self._inside.setVisible(is_open)

    def _make(self) -> QWidget:
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.setContentsMargins(0, 0, 0, 12)
        column.setSpacing(8)
        for step in self.told.steps:
            picture = StepPicture(step)
            picture.wear_colours(theme.colours(), theme.text_scale())
            self.pictures.append(picture)
            column.addWidget(picture)
        column.addWidget(_points(self.told.how))
        for title, lines in ((_("Usual errors"), self.told.errors), (_("To mind"), self.told.cautions)):
            if lines:
                column.addWidget(_words(title, "strong"))
                column.addWidget(_points(lines))
        column.addWidget(_words(_("Source: {source}").format(source=self.told.source), "caption"))
        return inside


class HelpPanel(QFrame):
    """Help on a page, laid over the far side of it; the page goes on working beside it.

    Signals
    -------
    closed()
        It was closed; the focus is back where it was.
    """

    closed = Signal()

    def __init__(self, over: QWidget) -> None:
        super().__init__(over)
        self._over = over
        self._before: QWidget | None = None
        self.name = ""
        self.parts: list[MethodPart] = []
        self.setProperty("role", "help")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.title = QLabel()
        self.title.setWordWrap(True)
        set_role(self.title, "title")
        self.close_button = QPushButton(_("Close  Esc"))
        self.close_button.setAccessibleName(_("Close help"))
        set_role(self.close_button, "link")
        self.close_button.clicked.connect(self.leave)
        head = QHBoxLayout()
        head.addWidget(self.title, 1)
        head.addWidget(self.close_button, 0, Qt.AlignmentFlag.AlignTop)
        self.area = QScrollArea()
        self.area.setWidgetResizable(True)
        self.area.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 16, 8, 16)
        layout.setSpacing(12)
        layout.addLayout(head)
        layout.addWidget(hairline())
        layout.addWidget(self.area, 1)
        over.installEventFilter(self)
        self.hide()

    def show_page(self, name: str, title: str, at: MethodKey | None = None) -> None:
        """Show help on a page, opened at a way of measuring if one is given."""
        focus = QApplication.focusWidget()
        if focus is not None and not self.isAncestorOf(focus):
            self._before = focus
        self.name = name
        text = _("Help: {page}").format(page=title)
        self.title.setText(text)
        self.setAccessibleName(text)
        self.area.setAccessibleName(text)
        told = page_help(name)
        self.area.setAccessibleDescription(" ".join(told.purpose))
        self.area.setWidget(self._make(told))
        self._take_place()
        self.show()
        self.raise_()
        self.area.setFocus(Qt.FocusReason.ShortcutFocusReason)
        if at is not None:
            self.open_method(at)

    def open_method(self, key: MethodKey) -> None:
        """Unfold a way of measuring and bring it into view."""
        for part in self.parts:
            if part.told.key == key:
                part.heading.setChecked(True)
                QApplication.sendPostedEvents()
                self.area.verticalScrollBar().setValue(part.y())
                part.heading.setFocus(Qt.FocusReason.OtherFocusReason)

    def leave(self) -> None:
        """Close; the focus goes back to where it was."""
        before, self._before = self._before, None
        self.hide()
        if before is not None and before.isVisible():
            before.setFocus(Qt.FocusReason.OtherFocusReason)
        self.closed.emit()

    def is_at(self, name: str) -> bool:
        """Whether help on a page is open."""
        return self.isVisible() and self.name == name

    def take_look(self) -> None:
        """Follow the colours and the text size."""
        self._take_place()
        for part in self.parts:
            for picture in part.pictures:
                picture.wear_colours(theme.colours(), theme.text_scale())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close with Esc."""
        if event.key() == Qt.Key.Key_Escape:
            self.leave()
        else:
            super().keyPressEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep to the far side when the page changes its size."""
        if watched is self._over and event.type() == QEvent.Type.Resize:
            self._take_place()
        return super().eventFilter(watched, event)

    def _take_place(self) -> None:
        room = self._over.rect()
        width = min(scaled(WIDE_PX), max(room.width() - LEAST_BESIDE_PX, room.width() // 2))
        self.setGeometry(QRect(room.width() - width, 0, width, room.height()))

    # --- making

    def _make(self, told: PageHelp) -> QWidget:
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.setContentsMargins(0, 0, 12, 0)
        column.setSpacing(8)
        for sentence in told.purpose:
            column.addWidget(_words(sentence))
        for title, lines in (
            (_("How to go about it"), told.ways),
            (_("Usual errors"), told.errors),
            (_("Keys"), tuple(f"{key}: {what}" for key, what in told.keys)),
        ):
            if lines:
                column.addSpacing(8)
                column.addWidget(_words(title, "strong"))
                column.addWidget(_points(lines))
        column.addSpacing(8)
        column.addWidget(_words(_("How to measure"), "strong"))
        first = [m for m in all_methods() if m.measurand in told.measurands]
        rest = [m for m in all_methods() if m.measurand not in told.measurands]
        self.parts = [MethodPart(method) for method in (*first, *rest)]
        for part in self.parts:
            column.addWidget(part)
        column.addSpacing(8)
        column.addWidget(_words(_("Cautions"), "strong"))
        column.addWidget(_points((*general_cautions(), *cautions()[4:], maker_caution())))
        for source in told.sources:
            column.addWidget(_words(_("Source: {source}").format(source=source), "caption"))
        column.addStretch(1)
        return inside
