"""Where to begin: three ways in, each a sentence and a button."""

from collections.abc import Sequence
from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from wearlog.window import theme
from wearlog.window.page import Page, hairline
from wearlog.window.session import Session
from wearlog.window.theme import set_role


class WelcomePage(Page):
    """Says what to do first and offers it.

    Signals
    -------
    vehicle_wanted()
        A vehicle is to be added.
    sheet_wanted(), folder_wanted()
        A sheet, or a folder of files in the import format, is to be brought in.
    sample_wanted()
        A throw-away copy of the sample fleet is to be opened.
    """

    vehicle_wanted = Signal()
    sheet_wanted = Signal()
    folder_wanted = Signal()
    sample_wanted = Signal()

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(session, _("Where do you begin?"), parent)
        self.ways = self._make_ways()
        self.body.addWidget(self.ways, 1)
        self.set_subject(_("wearlog needs to know a vehicle before it can say anything about its drive."))

    def focus_first(self) -> None:
        """Put the focus on the first way."""
        self.add_button.setFocus(Qt.FocusReason.OtherFocusReason)

    def _make_ways(self) -> QWidget:
        self.add_button = QPushButton(_("&Add a vehicle"))
        set_role(self.add_button, "primary")
        self.add_button.clicked.connect(self.vehicle_wanted)
        sheet = QPushButton(_("Choose a shee&t …"))
        sheet.clicked.connect(self.sheet_wanted)
        folder = QPushButton(_("Choose a &folder …"))
        folder.clicked.connect(self.folder_wanted)
        sample = QPushButton(_("Open the &sample fleet"))
        sample.clicked.connect(self.sample_wanted)
        ways = QWidget()
        layout = QVBoxLayout(ways)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.setSpacing(24)
        for title, says, buttons in (
            (
                _("Add a vehicle"),
                _(
                    "A tag, its meter and what it is made like: a minute. The service sheet follows for its "
                    "first reading, and the wear trend shows the first forecast."
                ),
                (self.add_button,),
            ),
            (
                _("Bring in a spreadsheet"),
                _(
                    "A book of services, a list of vehicles or parts as the workshop keeps it: its columns "
                    "are matched by their headers and shown as understood before anything is kept. All or "
                    "nothing, and importing the same file twice adds nothing."
                ),
                (sheet, folder),
            ),
            (
                _("Look at the sample fleet"),
                _(
                    "Larkfell Ranger Service, an invented fleet of about 40 vehicles with three years of "
                    "readings. It opens as a copy that is thrown away; your own database is not touched."
                ),
                (sample,),
            ),
        ):
            layout.addWidget(hairline())
            layout.addWidget(_way(title, says, buttons))
        layout.addStretch(1)
        return _scrolling(ways)


def _scrolling(widget: QWidget) -> QScrollArea:
    """Return a place where a widget scrolls if it is higher than the page."""
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFrameShape(QScrollArea.Shape.NoFrame)
    area.setWidget(widget)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    return area


def _way(title: str, says: str, buttons: Sequence[QPushButton]) -> QWidget:
    """Return one way to begin: a heading, a sentence, and its buttons at the right."""
    way = QWidget()
    heading = QLabel(title)
    set_role(heading, "strong")
    text = QLabel(says)
    text.setWordWrap(True)
    text.setMaximumWidth(theme.scaled(560))
    set_role(text, "muted")
    words = QVBoxLayout()
    words.setSpacing(4)
    words.addWidget(heading)
    words.addWidget(text)
    row = QHBoxLayout(way)
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(16)
    row.addLayout(words, 4)
    row.addStretch(1)
    offered = QVBoxLayout()
    offered.setSpacing(8)
    for button in buttons:
        offered.addWidget(button)
    row.addLayout(offered)
    row.setAlignment(offered, Qt.AlignmentFlag.AlignVCenter)
    return way
