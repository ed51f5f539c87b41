"""What can be done with the chosen visit: book it for a day, enter it as done, call it off."""

from collections.abc import Sequence
from datetime import date, timedelta
from gettext import gettext as _
from gettext import ngettext

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLabel, QPushButton, QWidget

from wearlog.drawing.plan_words import booked_text
from wearlog.fleet.planned import PlannedVisit
from wearlog.fleet.problem import Problem
from wearlog.window import theme
from wearlog.window.fields import DateField, FieldNote
from wearlog.window.flow import FlowLayout
from wearlog.window.theme import set_role
from wearlog.workshop.due_snapshot import DueLine


class ComingDayField(DateField):
    """A day to come: without a year the next such day is meant."""

    def read(self, text: str) -> None:
        """Understand the text as a day from today on."""
        super().read(text)
        if self.day is None or self.day >= self.today:
            return
        if any(len(word) == 4 for word in "".join(c if c.isdigit() else " " for c in text).split()):
            self.problem = Problem(_("This day is past."), "", _("Give today or a day that is to come."))
            self.day = None
            return
        years = range(self.today.year, self.today.year + 2)
        day = self.day
        self.day = next((day.replace(year=y) for y in years if day.replace(year=y) >= self.today), None)


class BookingBar(QWidget):
    """The chosen visit.

    Signals
    -------
    book_wanted(date)
        Book it for a day.
    done_wanted()
        Enter it as done.
    off_wanted()
        Call it off.
    left()
        Esc: back to the list.
    """

    book_wanted = Signal(object)
    done_wanted = Signal()
    off_wanted = Signal()
    left = Signal()

    def __init__(self, today: date, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("The chosen visit"))
        self.what = QLabel()
        set_role(self.what, "muted")
        self.day = ComingDayField(_("Day of the visit"), today)
        self.day.setFixedWidth(theme.scaled(120))
        self.day.returnPressed.connect(self._book)
        self.note = FieldNote(self.day)
        self.book = QPushButton(_("Book this visit"))
        self.book.setToolTip(_("Book all work of this visit for the day beside.  B"))
        self.book.clicked.connect(self._book)
        self.done = QPushButton(_("Enter as done"))
        self.done.setToolTip(_("Open the service sheet with this visit’s work ticked.  D"))
        self.done.clicked.connect(self.done_wanted)
        self.off = QPushButton(_("Call off"))
        self.off.setToolTip(_("Call a booked visit off; its work stays on the list.  Delete"))
        self.off.clicked.connect(self.off_wanted)
        row = FlowLayout(self)
        for widget in (self.what, self.day, self.book, self.done, self.off, self.note):
            row.addWidget(widget)
        self.show_visit((), None, today)

    def show_visit(self, lines: Sequence[DueLine], booked: PlannedVisit | None, today: date) -> None:
        """Show the lines that come in together, and how far their visit has come."""
        self.setVisible(bool(lines))
        self.day.today = today
        if not lines:
            return
        jobs = ngettext("{n} job", "{n} jobs", len(lines)).format(n=len(lines))
        text = f"{lines[0].tag}, {jobs}"
        if booked is not None:
            text += ", " + booked_text(booked.state, booked.number, booked.on, today)
        self.what.setText(text)
        self.off.setEnabled(booked is not None)
        on = booked.on if booked is not None else lines[0].group_on or lines[0].due_on
        if not self.day.hasFocus():
            self.day.set_day(_working_day(max(on, today)))

    def begin(self) -> None:
        """Ask for the day; Enter books."""
        if not self.isHidden():
            self.day.setFocus(Qt.FocusReason.ShortcutFocusReason)
            self.day.selectAll()

    def _book(self) -> None:
        self.note.show_field()
        if self.day.day is not None:
            self.book_wanted.emit(self.day.day)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go back to the list with Esc."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)


def _working_day(day: date) -> date:
    """Return the day, or the Monday after a weekend: most workshops are closed then."""
    return day + timedelta(days=max(7 - day.weekday(), 0)) if day.weekday() > 4 else day
