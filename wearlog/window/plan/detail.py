"""The chosen visit: its work, what its day means for each piece, and what can be done with it."""

from gettext import gettext as _
from html import escape

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QPushButton, QScrollArea, QVBoxLayout, QWidget

from wearlog.drawing.plan_words import early_or_late_text, plan_day_text, time_text, work_text
from wearlog.fleet.planned import PlannedState
from wearlog.window import theme
from wearlog.window.flow import FlowLayout
from wearlog.window.plan.model import WeekModel
from wearlog.window.theme import set_role
from wearlog.workshop.plan_snapshot import PlannedStop

#: Height of the words before the text scale, [px]; more scrolls.
WORDS_PX = 148


class StopDetail(QWidget):
    """The chosen visit of a week."""

    def __init__(self, model: WeekModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self.words = QLabel()
        self.words.setWordWrap(True)
        self.words.setTextFormat(Qt.TextFormat.RichText)
        self.words.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.words.setAccessibleName(_("The chosen visit"))
        self.words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._scroll = QScrollArea()
        self._scroll.setWidgetResizable(True)
        self._scroll.setWidget(self.words)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.book = QPushButton(_("&Book this visit"))
        self.book.setToolTip("B")
        self.done = QPushButton(_("Enter as &done"))
        self.done.setToolTip(_("Open the service sheet with this work ticked.  Enter"))
        self.off = QPushButton(_("Call &off"))
        self.off.setToolTip(_("Call a booked visit off; its work stays due.  Delete"))
        row = FlowLayout()
        for widget in (self.book, self.done, self.off):
            row.addWidget(widget)
        for text in (_("Alt+← →: a day earlier, later"), _("Alt+Page Up, Page Down: a week")):
            hint = QLabel(text)
            set_role(hint, "caption")
            row.addWidget(hint)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(8)
        layout.addWidget(self._scroll)
        layout.addLayout(row)
        self.take_look()

    def take_look(self) -> None:
        """Follow the text size."""
        self._scroll.setFixedHeight(theme.scaled(WORDS_PX))

    def show_stop(self, stop: PlannedStop | None) -> None:
        """Show a visit; say so if there is none."""
        plan = self._model.plan
        visit = None if stop is None else self._model.visit_of(stop)
        self.book.setEnabled(stop is not None and (visit is None or visit.state is not PlannedState.BOOKED))
        self.done.setEnabled(stop is not None)
        self.off.setEnabled(visit is not None)
        if plan is None:
            self.words.clear()
        elif stop is None:
            is_empty = not plan.stops
            self.words.setText(_("Nothing is due in these weeks.") if is_empty else _("No visit is chosen."))
        else:
            head = (
                f"<b>{escape(stop.tag)}</b>",
                escape(stop.depot),
                plan_day_text(stop.on, plan.today),
                _("{time} in the bay").format(time=time_text(stop.minutes)),
                self._model.booked_words(stop),
            )
            self.words.setText(", ".join(part for part in head if part) + self._table(stop))

    def _table(self, stop: PlannedStop) -> str:
        muted, shown = theme.colours().muted, self._model.shown_units
        rows = (
            f"<tr><td>{escape(work_text(work))}</td><td style='padding-left:24px;color:{muted}'>"
            f"{escape(early_or_late_text(work, stop.on, shown))}</td></tr>"
            for work in stop.works
        )
        return f"<table>{''.join(rows)}</table>"
