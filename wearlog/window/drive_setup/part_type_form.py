"""A part type of the workshop's own: a chain, sprocket, belt or pulley that no standard lists."""

from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QComboBox, QGridLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from wearlog.drawing.setup_words import class_text
from wearlog.fleet.parts import PartKind, PartType, WearClass
from wearlog.fleet.problem import Problem
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.window.fields import EntryField, FieldNote, QuantityField
from wearlog.window.theme import set_role
from wearlog.workshop.compare_part_types import CLASSES

_CHAIN, _SPROCKET, _BELT, _PULLEY = PartKind.CHAIN, PartKind.SPROCKET, PartKind.BELT, PartKind.PULLEY
#: Which kinds of part have which figure.
_FOR = {
    "roller": {_CHAIN, _SPROCKET},
    "inner": {_CHAIN},
    "links": {_CHAIN},
    "teeth": {_SPROCKET, _BELT, _PULLEY},
    "width": {_BELT, _PULLEY},
    "mass": {_BELT},
}


class PartTypeForm(QWidget):
    """What is to be known of a part type.

    Signals
    -------
    confirmed(PartType)
        It is to be added.
    left()
        It is not.
    """

    confirmed = Signal(object)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("Part type form"))
        self.title = QLabel(_("Add a part type"))
        set_role(self.title, "title")
        self.kind = QComboBox()
        self.kind.setAccessibleName(_("Kind of part"))
        words = {_CHAIN: _("chain"), _SPROCKET: _("sprocket"), _BELT: _("belt"), _PULLEY: _("pulley")}
        for kind, text in words.items():
            self.kind.addItem(text, kind.value)
        self.wear_class = QComboBox()
        self.wear_class.setAccessibleName(_("How it wears"))
        for combo in (self.kind, self.wear_class):
            combo.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            combo.setMinimumContentsLength(8)
        self.name = EntryField(_("Name of the part type"))
        self.designation = EntryField(_("Designation"))
        self.designation.setPlaceholderText(_("for example 428 or H8M"))
        length = Quantity.LENGTH
        self.figures = {
            "pitch": QuantityField(_("Pitch"), length),
            "roller": QuantityField(_("Roller diameter"), length),
            "inner": QuantityField(_("Inner width"), length),
            "links": QuantityField(_("Number of links"), Quantity.COUNT),
            "teeth": QuantityField(_("Number of teeth"), Quantity.COUNT),
            "width": QuantityField(_("Width"), length),
            "mass": QuantityField(_("Mass per metre"), Quantity.LINEAR_DENSITY),
            "lead": QuantityField(_("Lead time in days"), Quantity.COUNT),
            "price": QuantityField(_("Price"), Quantity.COUNT),
        }
        self.source = EntryField(_("Source"))
        self.source.setPlaceholderText(_("for example maker’s table, page"))
        self.said = FieldNote()
        self.said.setAccessibleName(_("Problems of the part type"))
        self.keep = QPushButton(_("Add"))
        self.keep.setAccessibleName(_("Add this part type"))
        self.cancel = QPushButton(_("Cancel"))
        self.cancel.setAccessibleName(_("Cancel"))
        self._rows: dict[str, tuple[QLabel, QWidget]] = {}
        self._lay_out()
        self.keep.clicked.connect(self.confirm)
        self.cancel.clicked.connect(self.left)
        self.kind.currentIndexChanged.connect(lambda _n: self._show_kind())
        self._show_kind()

    def _lay_out(self) -> None:
        grid = QGridLayout()
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(4)
        grid.setColumnStretch(1, 1)
        rows: list[tuple[str, str, QWidget]] = [
            ("kind", _("Kind"), self.kind),
            ("name", _("Name"), self.name),
            ("designation", _("Designation"), self.designation),
            ("class", _("Wears as"), self.wear_class),
            ("pitch", _("Pitch"), self.figures["pitch"]),
            ("roller", _("Roller"), self.figures["roller"]),
            ("inner", _("Inner width"), self.figures["inner"]),
            ("links", _("Links"), self.figures["links"]),
            ("teeth", _("Teeth"), self.figures["teeth"]),
            ("width", _("Width"), self.figures["width"]),
            ("mass", _("Mass"), self.figures["mass"]),
            ("lead", _("Lead time"), self.figures["lead"]),
            ("price", _("Price"), self.figures["price"]),
            ("source", _("Source"), self.source),
        ]
        for n, (key, text, widget) in enumerate(rows):
            label = QLabel(text)
            set_role(label, "muted")
            label.setBuddy(widget)
            widget.setMinimumWidth(80)
            grid.addWidget(label, n, 0)
            grid.addWidget(widget, n, 1)
            self._rows[key] = (label, widget)
        buttons = QHBoxLayout()
        buttons.addWidget(self.keep)
        buttons.addWidget(self.cancel)
        buttons.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 8, 0)
        layout.setSpacing(8)
        layout.addWidget(self.title)
        layout.addLayout(grid)
        layout.addWidget(self.said)
        layout.addLayout(buttons)
        layout.addStretch(1)

    def open(self, kind: PartKind, shown: ShownUnits) -> None:
        """Start an empty form."""
        for field in (self.name, self.designation, self.source, *self.figures.values()):
            field.clear()
        for field in self.figures.values():
            unit = shown.unit_of(field.quantity)
            field.set_quantity(field.quantity, unit)
            field.setPlaceholderText("" if unit == "1" else unit)
        self.figures["lead"].setPlaceholderText(_("days"))
        self.kind.setCurrentIndex(self.kind.findData(kind.value))
        self._show_kind()
        self.said.show_problems([])
        self.name.setFocus(Qt.FocusReason.TabFocusReason)

    def _show_kind(self) -> None:
        kind = PartKind(self.kind.currentData())
        self.wear_class.clear()
        for wear_class in CLASSES[kind]:
            self.wear_class.addItem(class_text(wear_class), wear_class.value)
        for key, kinds in _FOR.items():
            for widget in self._rows[key]:
                widget.setVisible(kind in kinds)
        is_only = self.wear_class.count() == 1
        for widget in self._rows["class"]:
            widget.setVisible(not is_only)

    def show_problems(self, problems: tuple[Problem, ...]) -> None:
        """Show why it was not added."""
        self.said.show_problems(problems)

    def confirm(self) -> None:
        """Hand the part type over if every field is understood."""
        kind = PartKind(self.kind.currentData())
        wrong = [
            field.problem
            for key, field in self.figures.items()
            if field.problem is not None and kind in _FOR.get(key, {kind})
        ]
        for key in ("links", "teeth", "lead"):
            typed = self.figures[key].typed
            if typed is not None and typed.value != round(typed.value) and kind in _FOR.get(key, {kind}):
                what = _("“{text}” is not a whole number.").format(text=typed.text)
                wrong.append(Problem(what, key, _("Count them one by one.")))
        if self.figures["pitch"].typed is None and self.figures["pitch"].problem is None:
            wrong.append(
                Problem(_("The pitch is missing."), "pitch_mm", _("Measure it over several pitches."))
            )
        if wrong:
            self.said.show_problems(wrong)
            return
        self.confirmed.emit(self._part_type(kind))

    def _part_type(self, kind: PartKind) -> PartType:
        designation = self.designation.text().strip()
        links, teeth = self._number("links", kind), self._number("teeth", kind)
        return PartType(
            kind=kind,
            name=self.name.text().strip(),
            designation=designation,
            wear_class=WearClass(self.wear_class.currentData()),
            pitch_mm=self._number("pitch", kind) or 0.0,
            roller_diameter_mm=self._number("roller", kind),
            inner_width_mm=self._number("inner", kind),
            links=None if links is None else round(links),
            teeth=None if teeth is None else round(teeth),
            chain=designation if kind in {_SPROCKET, _PULLEY} else "",
            width_mm=self._number("width", kind),
            mass_kg_per_m=self._number("mass", kind),
            lead_time_days=round(self._number("lead", kind) or 0.0),
            price=self._number("price", kind),
            source=self.source.text().strip(),
        )

    def _number(self, key: str, kind: PartKind) -> float | None:
        typed = self.figures[key].typed
        return typed.value if typed is not None and kind in _FOR.get(key, {kind}) else None

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
