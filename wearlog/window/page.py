"""What every page has: its question as heading, one primary action, a banner for problems."""

from collections.abc import Callable
from gettext import gettext as _
from html import escape

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QKeySequence, QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from wearlog.fleet.problem import Offer, Problem, WearlogError
from wearlog.fleet.reading import Measurand, Method
from wearlog.window.session import Session
from wearlog.window.theme import scaled, set_role
from wearlog.workshop.changes import Changes

#: Margins of a page at the sides, the top and the bottom, [px].
SIDE_PX, TOP_PX, BOTTOM_PX = 32, 24, 16
#: Room for the question beside the actions, [px] at plain text size; with less they go under it.
QUESTION_PX = 176


def hairline(parent: QWidget | None = None, *, vertical: bool = False) -> QFrame:
    """Return a rule that orders a page without boxing it in."""
    rule = QFrame(parent)
    rule.setProperty("role", "rule")
    if vertical:
        rule.setFixedWidth(1)
    else:
        rule.setFixedHeight(1)
    return rule


class Banner(QFrame):
    """Problems of a page, under its heading: what was wrong, where, what to do; nothing is lost.

    Signals
    -------
    offered(Offer)
        A way on was chosen.
    """

    offered = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("role", "banner")
        self.setAccessibleName(_("Problems on this page"))
        self.problems: tuple[Problem, ...] = ()
        self.text = QLabel()
        self.text.setWordWrap(True)
        self.text.setTextFormat(Qt.TextFormat.RichText)
        self.text.setAccessibleName(_("Problems"))
        self._offers = QHBoxLayout()
        self._offers.setSpacing(8)
        close = QPushButton(_("&Hide"))
        close.setAccessibleName(_("Hide the problems"))
        set_role(close, "link")
        close.clicked.connect(self.clear)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(16, 8, 16, 8)
        layout.setSpacing(16)
        layout.addWidget(self.text, 1)
        layout.addLayout(self._offers)
        layout.addWidget(close, 0, Qt.AlignmentFlag.AlignTop)
        self.hide()

    def show_problems(self, problems: tuple[Problem, ...]) -> None:
        """Show problems; many are counted rather than listed to the end."""
        self.problems = problems
        lines = []
        for problem in problems[:6]:
            where = f"<b>{escape(problem.where)}</b>: " if problem.where else ""
            lines.append(f"{where}{escape(problem.what)} {escape(problem.todo)}".strip())
        if len(problems) > 6:
            lines.append(_("and {n} more").format(n=len(problems) - 6))
        self.text.setText("<br>".join(lines))
        while (item := self._offers.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.deleteLater()
        for problem in problems[:2]:
            for offer in problem.offers:
                self._offers.addWidget(self._button(offer))
        self.setVisible(bool(problems))

    def clear(self) -> None:
        """Show nothing."""
        self.show_problems(())

    def _button(self, offer: Offer) -> QPushButton:
        button = QPushButton(offer.label)
        button.clicked.connect(lambda: self.offered.emit(offer))
        return button


class PageFrame(QScrollArea):
    """A page in its place; one that needs more height than there is, as with large text, scrolls."""

    def __init__(self) -> None:
        super().__init__()
        self.page: Page | None = None
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setWidgetResizable(True)

    def take(self, page: "Page") -> None:
        """Show a page from now on."""
        self.page = page
        self.setWidget(page)


class Page(QWidget):
    """One page of the window; answers one question and names it in its heading.

    Attributes
    ----------
    session
        What the pages share.
    heading, subject
        The question, and what it is about (a vehicle and part); labels.
    primary
        The one primary action, at the same place on each page; hidden until `set_primary`.
    side_actions
        A row to the left of the primary action, for the few others.
    banner
        Problems of this page.
    body
        Where the page puts its content; margins are set.

    A page overrides `show_vehicle` and `refresh`; both are called only while it is visible, and once when
    it becomes visible if something happened meanwhile.
    """

    def __init__(self, session: Session, question: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.session = session
        self.setAccessibleName(question)
        self._is_stale = True
        self._missed: Changes | None = None
        self.heading = QLabel(question)
        set_role(self.heading, "heading")
        self.heading.setWordWrap(True)
        self.subject = QLabel()
        set_role(self.subject, "muted")
        self.subject.setWordWrap(True)
        self.subject.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.side_actions = QHBoxLayout()
        self.side_actions.setSpacing(8)
        self.primary = QPushButton()
        set_role(self.primary, "primary")
        self.primary.hide()
        self.banner = Banner()

        words = QVBoxLayout()
        words.setSpacing(4)
        words.addWidget(self.heading)
        words.addWidget(self.subject)
        self._question_row = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._question_row.setSpacing(8)
        self._question_row.addLayout(words, 1)
        self._action_row = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._action_row.setSpacing(8)
        self._action_row.addLayout(self.side_actions)
        self._action_row.addWidget(self.primary, 0, Qt.AlignmentFlag.AlignTop)
        self._question_row.addLayout(self._action_row)
        self._question_row.setAlignment(self._action_row, Qt.AlignmentFlag.AlignTop)
        self.body = QVBoxLayout()
        self.body.setSpacing(16)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(SIDE_PX, TOP_PX, SIDE_PX, BOTTOM_PX)
        layout.setSpacing(16)
        layout.addLayout(self._question_row)
        layout.addWidget(self.banner)
        layout.addLayout(self.body, 1)
        session.chosen.connect(self._on_chosen)
        session.changed.connect(self._on_changed)

    def minimumSizeHint(self) -> QSize:
        """Let the window be made small; what does not fit scrolls."""
        return QSize(480, 320)

    @property
    def seen_height_px(self) -> int:
        """How much of the page is seen at once, [px]; the page itself may be higher and scroll."""
        parent = self.parentWidget()
        return self.height() if parent is None else min(parent.height(), self.height())

    def heightForWidth(self, width: int) -> int:
        """Return the least height in which nothing is cut off, [px]; in a lower window the page scrolls."""
        layout = self.layout()
        return 0 if layout is None else layout.minimumHeightForWidth(width)

    def set_primary(
        self, text: str, slot: Callable[[], None], key: QKeySequence | QKeySequence.StandardKey | str = ""
    ) -> None:
        """Name the primary action of the page."""
        self.primary.setText(text)
        self.primary.setAccessibleName(text.replace("&", ""))
        self.primary.clicked.connect(lambda *_checked: slot())
        if key:
            shown = QKeySequence(key)
            self.primary.setShortcut(shown)
            native = shown.toString(QKeySequence.SequenceFormat.NativeText)
            self.primary.setToolTip(f"{text.replace('&', '')}  {native}")
        self.primary.show()

    def set_subject(self, text: str) -> None:
        """Say what the page is about."""
        self.subject.setText(text)

    def show_problems(self, error: WearlogError) -> None:
        """Show problems under the heading."""
        self.banner.show_problems(error.problems)

    def clear_problems(self) -> None:
        """Show no problems."""
        self.banner.clear()

    def show_vehicle(self, vehicle_id: int | None) -> None:
        """Show another vehicle; a page that is not about one vehicle leaves this out."""

    def refresh(self, changes: Changes) -> None:
        """Load anew if the changes concern what is shown."""

    def focus_first(self) -> None:
        """Put the focus where work on this page starts."""
        self.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def method_at_hand(self) -> tuple[Measurand, Method] | None:
        """Return what is measured where the focus is, and how; Help opens there."""
        return None

    def may_leave(self) -> bool:
        """Whether another page may be shown or the window closed; drafts are kept, so nearly always."""
        return True

    def exports(self) -> tuple[tuple[str, Callable[[], None]], ...]:
        """Return what this page can write to files: the words of the menu and what to call."""
        return ()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the actions under the question where there is no room beside it."""
        super().resizeEvent(event)
        self._settle_actions()

    def event(self, event: QEvent) -> bool:
        """Place the actions anew when their words or the text size are others."""
        if event.type() == QEvent.Type.LayoutRequest:
            self._settle_actions()
        return super().event(event)

    def _settle_actions(self) -> None:
        across, down = QBoxLayout.Direction.LeftToRight, QBoxLayout.Direction.TopToBottom
        room = self.width() - 2 * SIDE_PX
        wanted = self.side_actions.sizeHint().width() + self._action_row.spacing()
        wanted += self.primary.sizeHint().width() if not self.primary.isHidden() else 0
        for layout, is_beside in (
            (self._question_row, wanted + scaled(QUESTION_PX) <= room),
            (self._action_row, wanted <= room),
        ):
            direction = across if is_beside else down
            if layout.direction() is not direction:
                layout.setDirection(direction)
                side = Qt.AlignmentFlag.AlignTop
                side = side if is_beside else side | Qt.AlignmentFlag.AlignLeft
                self._question_row.setAlignment(self._action_row, side)

    def changeEvent(self, event: QEvent) -> None:
        """Paint anew in other colours."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.StyleChange:
            self.update()

    def become_visible(self) -> None:
        """Catch up with what happened while another page was open."""
        if self._is_stale:
            self._is_stale = False
            self._missed = None
            self.show_vehicle(self.session.vehicle_id)
        elif self._missed is not None:
            missed, self._missed = self._missed, None
            self.refresh(missed)

    def _on_chosen(self, vehicle_id: int) -> None:
        if self.isVisible():
            self.show_vehicle(vehicle_id)
        else:
            self._is_stale = True

    def _on_changed(self, changes: Changes) -> None:
        if self.isVisible():
            self.refresh(changes)
        elif self._missed is None:
            self._missed = changes
        else:
            self._missed = _together(self._missed, changes)


def _together(first: Changes, second: Changes) -> Changes:
    """Return changes that concern whatever either of two concerns."""
    if not first.vehicle_ids or not second.vehicle_ids:
        return Changes(second.what, second.change_id, can_undo=False)
    return Changes(
        second.what,
        second.change_id,
        first.vehicle_ids | second.vehicle_ids,
        first.installation_ids | second.installation_ids,
        can_undo=False,
    )
