"""The form for a new vehicle: what it is, what its meter shows, how it is driven."""

from dataclasses import dataclass
from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QComboBox, QGridLayout, QLabel, QVBoxLayout, QWidget

from wearlog.fleet.problem import Problem
from wearlog.fleet.vehicle import Duty, MeterUnit, VehicleKind
from wearlog.window.fields import EntryField, FieldNote, MeterField
from wearlog.window.page import hairline


@dataclass(frozen=True, slots=True)
class VehicleDraft:
    """What was typed into the form; `meter_value` is canonical (km or h), None if nobody read it."""

    tag: str
    description: str
    kind: VehicleKind
    depot: str
    meter_unit: MeterUnit
    duty: Duty
    meter_value: float | None
    template: str


def _kind_text(kind: VehicleKind) -> str:
    return {
        VehicleKind.ELECTRIC_MOTORCYCLE: _("electric motorcycle"),
        VehicleKind.PETROL_MOTORCYCLE: _("petrol motorcycle"),
        VehicleKind.MOPED: _("moped"),
        VehicleKind.CARGO_EBIKE: _("cargo e-bike"),
        VehicleKind.EBIKE: _("e-bike"),
        VehicleKind.BICYCLE: _("bicycle"),
    }[kind]


#: The drive offered first for a kind of vehicle.
_USUAL_DRIVE = {
    VehicleKind.ELECTRIC_MOTORCYCLE: "belt primary",
    VehicleKind.PETROL_MOTORCYCLE: "petrol motorcycle",
    VehicleKind.MOPED: "petrol motorcycle",
    VehicleKind.CARGO_EBIKE: "single chain",
    VehicleKind.EBIKE: "single chain",
    VehicleKind.BICYCLE: "single chain",
}


def _unit_text(unit: MeterUnit) -> str:
    return {MeterUnit.KM: _("km"), MeterUnit.MILES: _("miles"), MeterUnit.HOURS: _("hours")}[unit]


def _duty_text(duty: Duty) -> str:
    return {
        Duty.UNKNOWN: _("not known"),
        Duty.ROAD: _("road"),
        Duty.MIXED: _("road and tracks"),
        Duty.OFF_ROAD: _("off-road"),
    }[duty]


class _TextField(EntryField):
    """A field that may have to be filled."""

    def __init__(self, name: str, missing: str = "") -> None:
        super().__init__(name)
        self._missing = missing

    def read(self, text: str) -> None:
        self.problem = Problem(self._missing) if self._missing and not text.strip() else None


class VehicleForm(QWidget):
    """Asks for a new vehicle.

    Signals
    -------
    confirmed()
        Ctrl+Enter, or Enter in the last field.
    """

    confirmed = Signal()

    def __init__(self, templates: dict[str, str], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.tag = _TextField(_("Tag"), _("Give the vehicle a tag; it is what you call it and scan."))
        self.tag.setPlaceholderText(_("LR-001"))
        self.description = _TextField(_("Description"), _("Say in a few words what it is."))
        self.description.setPlaceholderText(_("patrol e-moto, belt primary"))
        self.kind = QComboBox()
        for kind in VehicleKind:
            self.kind.addItem(_kind_text(kind), kind)
        self.depot = _TextField(_("Depot"), _("Say where it lives; one word is enough."))
        self.meter_unit = QComboBox()
        for unit in MeterUnit:
            self.meter_unit.addItem(_unit_text(unit), unit)
        self.meter = MeterField(_("Meter now"))
        self.duty = QComboBox()
        for duty in (Duty.UNKNOWN, Duty.ROAD, Duty.MIXED, Duty.OFF_ROAD):
            self.duty.addItem(_duty_text(duty), duty)
        self.template = QComboBox()
        for name, text in templates.items():
            self.template.addItem(text, name)
        self._was_template_chosen = False
        self._notes: list[tuple[EntryField, FieldNote]] = []
        self._lay_out()
        self.meter_unit.currentIndexChanged.connect(self._on_unit)
        self.kind.currentIndexChanged.connect(self._on_kind)
        self.template.activated.connect(self._on_template)
        for field in (self.tag, self.description, self.depot, self.meter):
            field.read(field.text())
            field.returnPressed.connect(self._next)

    def draft(self) -> VehicleDraft | None:
        """Return what was typed; None, with a sentence beside each field, while something is missing."""
        for field, note in self._notes:
            field.read(field.text())
            note.show_field()
        wrong = [field for field, _note in self._notes if field.problem]
        if wrong:
            wrong[0].setFocus(Qt.FocusReason.OtherFocusReason)
            return None
        return VehicleDraft(
            self.tag.text().strip(),
            self.description.text().strip(),
            VehicleKind(self.kind.currentData()),
            self.depot.text().strip(),
            MeterUnit(self.meter_unit.currentData()),
            Duty(self.duty.currentData()),
            self.meter.typed.value if self.meter.typed else None,
            str(self.template.currentData()),
        )

    def clear(self) -> None:
        """Empty the form for the next vehicle; depot and kind stay."""
        for field in (self.tag, self.description, self.meter):
            field.clear()
        for _field, note in self._notes:
            note.show_problems([])

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Save with Ctrl+Enter."""
        is_enter = event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}
        if is_enter and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.confirmed.emit()
        else:
            super().keyPressEvent(event)

    def _lay_out(self) -> None:
        grid = QGridLayout()
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(8)
        grid.setColumnStretch(1, 3)
        grid.setColumnStretch(2, 2)
        rows: tuple[tuple[str, QWidget], ...] = (
            (_("Ta&g"), self.tag),
            (_("&Description"), self.description),
            (_("&Kind"), self.kind),
            (_("De&pot"), self.depot),
            (_("Use on d&uty"), self.duty),
            (_("Its &meter counts"), self.meter_unit),
            (_("M&eter now"), self.meter),
            (_("D&rive"), self.template),
        )
        for row, (text, widget) in enumerate(rows):
            label = QLabel(text)
            label.setBuddy(widget)
            widget.setAccessibleName(text.replace("&", ""))
            grid.addWidget(label, row, 0)
            grid.addWidget(widget, row, 1)
            if isinstance(widget, QComboBox):
                # As wide as the fields, not as the longest drive.
                shrink = QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
                widget.setSizeAdjustPolicy(shrink)
                widget.setMinimumContentsLength(10)
            if isinstance(widget, EntryField):
                note = FieldNote(widget)
                self._notes.append((widget, note))
                grid.addWidget(note, row, 2)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(16)
        layout.addWidget(hairline())
        layout.addLayout(grid)
        layout.addStretch(1)

    def _next(self) -> None:
        self.focusNextChild()

    def _on_unit(self) -> None:
        self.meter.set_meter_unit(MeterUnit(self.meter_unit.currentData()))

    def _on_template(self) -> None:
        self._was_template_chosen = True

    def _on_kind(self) -> None:
        """Offer the drive that goes with the kind, as long as nobody chose one."""
        if not self._was_template_chosen:
            usual = self.template.findData(_USUAL_DRIVE[VehicleKind(self.kind.currentData())])
            self.template.setCurrentIndex(max(usual, 0))
