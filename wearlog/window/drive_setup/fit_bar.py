"""What is asked when a plan is fitted: meter, date, person, why the old parts came off, what was set."""

from collections.abc import Iterable
from datetime import date
from gettext import gettext as _

from PySide6.QtCore import QStringListModel, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QComboBox, QCompleter, QFrame, QLabel, QVBoxLayout, QWidget

from wearlog.drawing.setup_words import force_text, length_text, removal_text
from wearlog.drive.figures import SetupFigures
from wearlog.fleet.fitting import RemovalReason
from wearlog.fleet.problem import Problem
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.vehicle import MeterUnit
from wearlog.window.fields import DateField, EntryField, FieldNote, MeterField, QuantityField
from wearlog.window.flow import FlowLayout
from wearlog.window.theme import scaled, set_role
from wearlog.wording import day_text
from wearlog.workshop.compare_snapshot import PlanField, SetupSnapshot
from wearlog.workshop.fit_setup import REASONS, Fitting

_WIDTHS_PX = (132, 116, 116, 148, 116)


class FitBar(QFrame):
    """Asks what is to be known when a plan is fitted.

    Signals
    -------
    left()
        It is not to be fitted after all.
    """

    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("role", "panel")
        self.setAccessibleName(_("Fit the plan"))
        self._is_chain = True
        self.meter = MeterField(_("Meter"))
        self.day = DateField(_("Date"), date.min)
        self.by = EntryField(_("By"))
        self.reason = QComboBox()
        self.reason.setAccessibleName(_("Why the old parts come off"))
        for reason in REASONS:
            self.reason.addItem(removal_text(reason), reason.value)
        self.set_to = QuantityField(_("Slack or tension set to"), Quantity.LENGTH)
        self.what = QLabel()
        self.what.setWordWrap(True)
        self.what.setAccessibleName(_("What is fitted"))
        self.said = FieldNote()
        self.said.setAccessibleName(_("Problems of the fitting"))
        self._people = QStringListModel(self)
        completer = QCompleter(self._people, self)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        self.by.setCompleter(completer)
        self._labels = [QLabel() for _n in _WIDTHS_PX]
        row = FlowLayout(spacing=12)
        for label, field in zip(self._labels, self._fields(), strict=True):
            row.addWidget(_captioned(label, field))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 8, 16, 8)
        layout.setSpacing(6)
        layout.addWidget(self.what)
        layout.addLayout(row)
        layout.addWidget(self.said)
        for field in (self.meter, self.day, self.set_to):
            field.editingFinished.connect(self.show_typed_problems)
        self.take_look()
        self.hide()

    def _fields(self) -> tuple[QWidget, ...]:
        return (self.meter, self.day, self.by, self.reason, self.set_to)

    def take_look(self) -> None:
        """Take the text size that is applied now."""
        for field, width in zip(self._fields(), _WIDTHS_PX, strict=True):
            field.setFixedWidth(scaled(width))

    def open(self, snapshot: SetupSnapshot, figures: SetupFigures, shown: ShownUnits, by: str) -> None:
        """Ask about a plan; what was typed before is asked anew."""
        self._is_chain = figures.setup.is_chain
        self.day.today = snapshot.today
        self.day.set_day(snapshot.today)
        self.meter.set_meter_unit(snapshot.meter_unit)
        self.meter.clear()
        self.by.setText(by)
        self._people.setStringList(list(snapshot.people))
        self.reason.setCurrentIndex(0)
        self.set_to.clear()
        quantity = Quantity.LENGTH if self._is_chain else Quantity.FORCE
        self.set_to.set_quantity(quantity, shown.unit_of(quantity))
        self.set_to.setPlaceholderText(shown.unit_of(quantity))
        target = figures.target
        if self._is_chain:
            wanted = "" if target.slack_mm is None else length_text(target.slack_mm, shown)
            text = _("Slack set to, {wanted}") if wanted else _("Slack set to")
        else:
            wanted = "" if target.tension_n is None else force_text(target.tension_n, shown)
            text = _("Tension set, {wanted}") if wanted else _("Tension set to")
        last = _last_text(snapshot)
        texts = (
            _("Meter, last {last}").format(last=last) if last else _("Meter"),
            _("Date"),
            _("By"),
            _("Old parts come off"),
            text.format(wanted=wanted),
        )
        for label, caption in zip(self._labels, texts, strict=True):
            label.setText(caption)
        self.meter.setToolTip(
            _("Last entry on {day}").format(day=day_text(snapshot.last_meter_on)) if last else ""
        )
        self.say_what("")
        self._say(())
        self.show()
        self.meter.setFocus(Qt.FocusReason.TabFocusReason)

    def say_what(self, text: str) -> None:
        """Say what comes off and what goes on."""
        self.what.setText(text)
        self.what.setVisible(bool(text))

    @property
    def typed_problems(self) -> list[Problem]:
        """What can't be understood."""
        return [field.problem for field in (self.meter, self.day, self.set_to) if field.problem is not None]

    def show_typed_problems(self) -> None:
        """Show what can't be understood, beside the fields."""
        for field in (self.meter, self.day, self.set_to):
            field.mark_problem(field.problem is not None)
        self._say(self.typed_problems)

    def show_problems(self, problems: tuple[Problem, ...]) -> None:
        """Show why it was not fitted."""
        self._say(problems)
        self.set_to.mark_problem(any(problem.where == PlanField.TENSION for problem in problems))

    def _say(self, problems: Iterable[Problem]) -> None:
        self.said.show_problems(problems)
        self.said.setVisible(bool(self.said.text()))

    @property
    def meter_value(self) -> float | None:
        """What the meter shows, km (h)."""
        return None if self.meter.typed is None else self.meter.typed.value

    @property
    def on(self) -> date:
        """The day; today if none is typed."""
        return self.day.day or self.day.today

    @property
    def fitting(self) -> Fitting:
        """The rest of what is said."""
        return Fitting(
            reason=RemovalReason(self.reason.currentData()),
            meter_text=self.meter.text().strip(),
            set_to=None if self.set_to.typed is None else self.set_to.typed.value,
        )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter goes on, Shift+Enter back, Esc leaves."""
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
                self.focusPreviousChild()
            else:
                self.focusNextChild()
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)


def _last_text(snapshot: SetupSnapshot) -> str:
    if snapshot.last_meter is None:
        return ""
    unit = snapshot.meter_unit
    value = snapshot.last_meter / 1.609344 if unit is MeterUnit.MILES else snapshot.last_meter
    return f"{value:.0f}"


def _captioned(label: QLabel, field: QWidget) -> QWidget:
    set_role(label, "caption")
    label.setBuddy(field)
    box = QWidget()
    column = QVBoxLayout(box)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(0)
    column.addWidget(label)
    column.addWidget(field)
    return box
