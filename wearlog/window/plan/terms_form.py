"""What is agreed on for planning: opening days and bay time of each depot, and what things cost."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from wearlog.drawing.plan_words import weekday_text
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.window import theme
from wearlog.window.fields import FieldNote
from wearlog.window.flow import FlowLayout
from wearlog.window.settings.form import Labelled
from wearlog.window.theme import set_role
from wearlog.workshop.plan_snapshot import DepotHours, PlanTerms


class _DepotRow:
    """The days a depot is open, and its bay time."""

    def __init__(self, depot: str, name: str) -> None:
        self.depot = depot
        self.name = QLabel(name)
        self.days: list[QToolButton] = []
        for number in range(7):
            button = QToolButton()
            button.setText(weekday_text(number))
            button.setCheckable(True)
            button.setAccessibleName(_("{depot} open on {day}").format(depot=name, day=weekday_text(number)))
            self.days.append(button)
        self.minutes = QLineEdit()
        self.minutes.setAccessibleName(_("Bay time of {depot} on an open day, minutes").format(depot=name))
        self.minutes.setFixedWidth(theme.scaled(72))

    def show_hours(self, hours: DepotHours) -> None:
        for number, button in enumerate(self.days):
            button.setChecked(number in hours.weekdays)
        self.minutes.setText(str(hours.bay_minutes))

    def hours(self) -> DepotHours:
        days = tuple(number for number, button in enumerate(self.days) if button.isChecked())
        return DepotHours(days, int(_number(self.minutes, 20 * 24 * 60)))


class TermsForm(QWidget):
    """Opening days, bay time, days closed, and the amounts that the costs rest on.

    Signals
    -------
    given(PlanTerms)
        They are to be kept.
    left()
        Esc, or nothing is to change.
    """

    given = Signal(object)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("Terms of the visit plan"))
        self._before = PlanTerms()
        self._rows: list[_DepotRow] = []
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(4)
        self._grid.setVerticalSpacing(4)
        self.closed = QLineEdit()
        self.closed.setPlaceholderText(_("for example 2026-12-25 2026-12-28"))
        self.labour, self.visit_cost, self.visit_minutes = QLineEdit(), QLineEdit(), QLineEdit()
        self.late, self.failure = QLineEdit(), QLineEdit()
        captions = {
            _("Labour, an hour"): self.labour,
            _("Each visit"): self.visit_cost,
            _("Each visit, minutes"): self.visit_minutes,
            _("A task late, a day"): self.late,
            _("A chain that breaks"): self.failure,
        }
        amounts = FlowLayout(spacing=16)
        for caption, field in captions.items():
            amounts.addWidget(Labelled(caption, field, 136))
        amounts.addWidget(Labelled(_("Days on which no depot works"), self.closed, 320))
        self.note = FieldNote()
        keep, cancel = QPushButton(_("&Keep and plan anew")), QPushButton(_("Ca&ncel"))
        keep.clicked.connect(self.confirm)
        cancel.clicked.connect(self.left)
        cancel.setToolTip("Esc")
        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        for button in (keep, cancel):
            buttons.addWidget(button)
        buttons.addWidget(self.note, 1)
        said = QLabel(
            _(
                "Bay time is that of all bays together. Amounts are in your own currency; those set at first "
                "are assumptions."
            )
        )
        said.setWordWrap(True)
        set_role(said, "muted")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(12)
        layout.addWidget(said)
        layout.addLayout(self._grid)
        layout.addLayout(amounts)
        layout.addLayout(buttons)
        layout.addStretch(1)

    def show_terms(self, terms: PlanTerms, depots: Sequence[str]) -> None:
        """Show what is agreed on."""
        self._before = terms
        while (item := self._grid.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.deleteLater()
        self._rows = [_DepotRow(depot, depot) for depot in depots]
        for place, row in enumerate(self._rows):
            self._grid.addWidget(row.name, place, 0)
            for column, button in enumerate(row.days):
                self._grid.addWidget(button, place, 1 + column)
            self._grid.addWidget(row.minutes, place, 9)
            self._grid.addWidget(QLabel(_("minutes a day")), place, 10)
            row.show_hours(terms.hours_of(row.depot))
        self._grid.setColumnStretch(11, 1)
        self.closed.setText(" ".join(day.isoformat() for day in terms.closed_on))
        self.labour.setText(f"{terms.labour_per_hour:g}")
        self.visit_cost.setText(f"{terms.visit_cost:g}")
        self.visit_minutes.setText(str(terms.visit_minutes))
        self.late.setText(f"{terms.late_per_day:g}")
        self.failure.setText(f"{terms.failure_cost:g}")
        self.note.show_problems(())

    def terms(self) -> PlanTerms:
        """Return what was entered.

        Raises
        ------
        WearlogError
            If a number or a date can't be understood.
        """
        hours = {row.depot: row.hours() for row in self._rows}
        return replace(
            self._before,
            hours={**self._before.hours, **hours},
            closed_on=_days(self.closed.text()),
            labour_per_hour=_number(self.labour, 1e6),
            visit_cost=_number(self.visit_cost, 1e6),
            visit_minutes=int(_number(self.visit_minutes, 480)),
            late_per_day=_number(self.late, 1e6),
            failure_cost=_number(self.failure, 1e6),
        )

    def confirm(self) -> None:
        """Hand the terms over if every field is understood."""
        try:
            terms = self.terms()
        except WearlogError as error:
            self.note.show_problems(error.problems)
            return
        self.note.show_problems(())
        self.given.emit(terms)

    def focus_first(self) -> None:
        """Start at the first bay time."""
        (self._rows[0].minutes if self._rows else self.labour).setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keep with Enter, leave with Esc."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        elif event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            self.confirm()
        else:
            super().keyPressEvent(event)


def _number(field: QLineEdit, most: float) -> float:
    try:
        number = float(field.text().strip().replace(",", "."))
    except ValueError:
        number = -1.0
    if not 0.0 <= number <= most:
        raise WearlogError(
            Problem(
                _("“{text}” is not a number from 0 to {most:g}.").format(
                    text=field.text().strip(), most=most
                ),
                field.accessibleName(),
                _("Give a number."),
            )
        )
    return number


def _days(text: str) -> tuple[date, ...]:
    try:
        return tuple(sorted({date.fromisoformat(word) for word in text.replace(",", " ").split()}))
    except ValueError:
        raise WearlogError(
            Problem(
                _("The days on which no depot works can’t be understood."),
                "",
                _("Write year-month-day, parted by spaces."),
            )
        ) from None
