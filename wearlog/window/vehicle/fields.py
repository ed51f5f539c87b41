"""Fields of the vehicle page: captions over them, what is wrong right under their row."""

from collections.abc import Mapping
from gettext import gettext as _

from PySide6.QtWidgets import QComboBox, QLineEdit, QVBoxLayout, QWidget

from wearlog.fleet.problem import Problem
from wearlog.fleet.quantity import Quantity
from wearlog.fleet.vehicle import MeterUnit
from wearlog.window.fields import FieldNote, QuantityField
from wearlog.window.flow import FlowLayout
from wearlog.window.settings.form import Labelled


class CountField(QuantityField):
    """A whole number: teeth or links."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(name, Quantity.COUNT, parent=parent)

    def read(self, text: str) -> None:
        """Understand the text as a whole number."""
        super().read(text)
        if self.typed is not None and self.typed.value != round(self.typed.value):
            self.problem = Problem(_("“{text}” is not a whole number.").format(text=text.strip()))

    @property
    def count(self) -> int | None:
        """The number; None while there is none."""
        return None if self.typed is None or self.problem is not None else round(self.typed.value)


class UseBeforeField(QuantityField):
    """What was on a part when it was fitted; empty for a new one, a question mark where nobody knows."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(name, Quantity.DISTANCE, parent=parent)
        self.is_unknown = False
        self.setPlaceholderText(_("new"))
        self.setToolTip(_("What was on it when it was fitted: nothing for a new part, ? where nobody knows"))

    def set_meter_unit(self, unit: MeterUnit) -> None:
        """Ask in the unit of the meter."""
        is_hours = unit is MeterUnit.HOURS
        self.set_quantity(Quantity.RUNNING_TIME if is_hours else Quantity.DISTANCE, unit.value)

    def read(self, text: str) -> None:
        """Understand the text as a distance or running time."""
        self.is_unknown = text.strip().casefold() in {"?", _("unknown"), _("not known")}
        if self.is_unknown:
            self.problem, self.typed, self.several, self.pairs = None, None, [], []
        else:
            super().read(text)

    @property
    def value(self) -> float:
        """What was on it, km (h); 0 for a new one."""
        return 0.0 if self.typed is None else self.typed.value


def put_text(field: QLineEdit, text: str) -> None:
    """Fill a field so that the beginning of a long text is seen."""
    if field.text() != text:
        field.setText(text)
        field.setCursorPosition(0)


def shrinking(combo: QComboBox) -> QComboBox:
    """Let a list be as narrow as its place, not as wide as its longest line."""
    combo.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    combo.setMinimumContentsLength(6)
    return combo


class FieldsRow(QWidget):
    """A row of fields with their captions, and under it what is wrong with any of them."""

    def __init__(self, name: str, fields: Mapping[str, Labelled], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._labelled = dict(fields)
        self.said = FieldNote()
        self.said.setAccessibleName(_("Notes on {row}").format(row=name))
        self.said.hide()
        row = FlowLayout(spacing=16)
        for labelled in self._labelled.values():
            row.addWidget(labelled)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addLayout(row)
        layout.addWidget(self.said)

    @property
    def fields(self) -> list[QWidget]:
        """The fields in their order."""
        return [labelled.field for labelled in self._labelled.values()]

    def take_look(self) -> None:
        """Follow the text size."""
        for labelled in self._labelled.values():
            labelled.take_look()

    def show_problems(self, problems: Mapping[str, Problem]) -> QWidget | None:
        """Show what is wrong with these fields; return the first that is."""
        return show_problems(
            {key: labelled.field for key, labelled in self._labelled.items()}, self.said, problems
        )


def show_problems(
    fields: Mapping[str, QWidget], said: FieldNote, problems: Mapping[str, Problem]
) -> QWidget | None:
    """Mark the fields that are wrong and say why under them; return the first of them."""
    first: QWidget | None = None
    shown = []
    for key, field in fields.items():
        problem = problems.get(key)
        mark(field, is_wrong=problem is not None)
        if problem is not None:
            first = first or field
            name = field.accessibleName()
            shown.append(Problem(f"{name}: {problem.what}", problem.where, problem.todo, problem.offers))
    said.show_problems(shown)
    said.setVisible(bool(shown))
    return first


def mark(field: QWidget, *, is_wrong: bool) -> None:
    """Show a field as wrong or right."""
    state = "problem" if is_wrong else ""
    if isinstance(field, QLineEdit) and (field.property("state") or "") != state:
        field.setProperty("state", state)
        field.style().unpolish(field)
        field.style().polish(field)
