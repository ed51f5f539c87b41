"""The form for a fastener: the maker's value in place of common practice, or one more fastener."""

from dataclasses import replace
from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from wearlog.drawing.torque_words import torque_in, treatment_text
from wearlog.drive.tightening import MOST_BOLTS
from wearlog.fleet.problem import Problem
from wearlog.fleet.quantity import Quantity
from wearlog.fleet.torque import Fastener, Treatment
from wearlog.units import in_unit
from wearlog.window.fields import EntryField, FieldNote, QuantityField
from wearlog.window.theme import set_role


class FastenerForm(QWidget):
    """What is to stand on the sheet about one fastener.

    Signals
    -------
    confirmed(Fastener)
        It is to be kept.
    left()
        It is not.
    """

    confirmed = Signal(object)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("Fastener form"))
        self._fastener = Fastener(torque_sheet_id=0, order=0, name="", low_nm=0.0, high_nm=0.0)
        self._use_unit = "km"
        self.title = QLabel()
        set_role(self.title, "title")
        self.shared = QLabel()
        self.shared.setWordWrap(True)
        set_role(self.shared, "caption")
        self.name = EntryField(_("Name of the fastener"))
        self.size_text = EntryField(_("Size"))
        self.size_text.setPlaceholderText(_("for example M6 x 16"))
        self.stage = QComboBox()
        self.stage.setAccessibleName(_("Drive stage"))
        self.bolts = QComboBox()
        self.bolts.setAccessibleName(_("Number of bolts"))
        for bolts in range(1, MOST_BOLTS + 1):
            self.bolts.addItem(str(bolts), bolts)
        self.opposing = QCheckBox(_("in opposing order"))
        self.low = QuantityField(_("Lowest torque"), Quantity.TORQUE)
        self.high = QuantityField(_("Highest torque"), Quantity.TORQUE)
        self.treatment = QComboBox()
        self.treatment.setAccessibleName(_("Treatment of the threads"))
        for treatment in Treatment:
            self.treatment.addItem(treatment_text(treatment), treatment.value)
        self.recheck = QuantityField(_("Re-check after"), Quantity.DISTANCE)
        self.recheck.setPlaceholderText(_("none"))
        self.source = EntryField(_("Source"))
        self.source.setPlaceholderText(_("for example maker's manual, page"))
        self.note = EntryField(_("Note"))
        self.said = FieldNote()
        self.said.setAccessibleName(_("Problems of the fastener"))
        self.keep = QPushButton(_("&Keep"))
        self.keep.clicked.connect(self.confirm)
        self.cancel = QPushButton(_("Ca&ncel"))
        self.cancel.clicked.connect(self.left)
        self._lay_out()

    def _lay_out(self) -> None:
        grid = QGridLayout()
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(6)
        grid.setColumnStretch(1, 1)
        span = QWidget()
        both = QHBoxLayout(span)
        both.setContentsMargins(0, 0, 0, 0)
        for field in (self.low, self.high):
            field.setMinimumWidth(48)
            both.addWidget(field)
        rows: tuple[tuple[str, QWidget], ...] = (
            (_("Name"), self.name),
            (_("Size"), self.size_text),
            (_("Stage"), self.stage),
            (_("Bolts"), self.bolts),
            ("", self.opposing),
            (_("Torque"), span),
            (_("Threads"), self.treatment),
            (_("Re-check"), self.recheck),
            (_("Source"), self.source),
            (_("Note"), self.note),
        )
        for n, (text, widget) in enumerate(rows):
            label = QLabel(text)
            set_role(label, "caption")
            grid.addWidget(label, n, 0)
            grid.addWidget(widget, n, 1)
        buttons = QHBoxLayout()
        buttons.addWidget(self.keep)
        buttons.addWidget(self.cancel)
        buttons.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 4, 0)
        layout.setSpacing(8)
        layout.addWidget(self.title)
        layout.addWidget(self.shared)
        layout.addLayout(grid)
        layout.addWidget(self.said)
        layout.addLayout(buttons)
        layout.addStretch(1)

    def show_fastener(
        self, fastener: Fastener, *, stages: tuple[str, ...], use_unit: str, torque_unit: str, vehicles: int
    ) -> None:
        """Show a fastener; one without a name is new."""
        self._fastener, self._use_unit = fastener, use_unit
        is_new = fastener.id == 0
        self.title.setText(_("Add a fastener") if is_new else _("Change the fastener"))
        self.shared.setText(_("Counts for all {n} vehicles of the model.").format(n=vehicles))
        self.shared.setVisible(vehicles > 1)
        self.name.setText(fastener.name)
        self.size_text.setText(fastener.size)
        self.stage.clear()
        self.stage.addItem(_("none"), "")
        for stage in dict.fromkeys((*stages, *filter(None, [fastener.stage_name]))):
            self.stage.addItem(stage, stage)
        self.stage.setCurrentIndex(max(self.stage.findData(fastener.stage_name), 0))
        self.bolts.setCurrentIndex(fastener.bolts - 1)
        self.opposing.setChecked(fastener.is_opposing)
        for field, value in ((self.low, fastener.low_nm), (self.high, fastener.high_nm)):
            field.set_quantity(Quantity.TORQUE, torque_unit)
            field.setPlaceholderText(torque_unit)
            field.setText("" if is_new else torque_in(value, torque_unit))
        self.treatment.setCurrentIndex(self.treatment.findData(fastener.treatment.value))
        quantity = Quantity.RUNNING_TIME if use_unit == "h" else Quantity.DISTANCE
        self.recheck.set_quantity(quantity, use_unit)
        after = fastener.recheck_after(use_unit)
        self.recheck.setText("" if after is None else f"{in_unit(after, quantity, use_unit):g} {use_unit}")
        self.source.setText(fastener.source)
        self.note.setText(fastener.note)
        for text_field in (self.name, self.size_text, self.source, self.note):
            text_field.setCursorPosition(0)
        self.said.show_problems([])

    def focus_first(self) -> None:
        """Start at the name of a new fastener, at the torque of one that is there."""
        first = self.name if self._fastener.id == 0 else self.low
        first.setFocus(Qt.FocusReason.TabFocusReason)

    def show_problems(self, problems: tuple[Problem, ...]) -> None:
        """Show why it was not kept."""
        self.said.show_problems(problems)

    def confirm(self) -> None:
        """Hand the fastener over if every field is understood."""
        wrong = [field.problem for field in (self.low, self.high, self.recheck) if field.problem is not None]
        if self.low.typed is None and self.low.problem is None:
            wrong.append(Problem(_("The torque is missing."), "", _("Type at least the first of both.")))
        if wrong:
            self.said.show_problems(wrong)
            return
        low = self.low.typed.value if self.low.typed is not None else 0.0
        high = self.high.typed.value if self.high.typed is not None else low
        after = self.recheck.typed.value if self.recheck.typed is not None else None
        is_hours = self._use_unit == "h"
        self.confirmed.emit(
            replace(
                self._fastener,
                name=self.name.text().strip(),
                size=self.size_text.text().strip(),
                stage_name=str(self.stage.currentData() or ""),
                bolts=self.bolts.currentIndex() + 1,
                is_opposing=self.opposing.isChecked() and self.bolts.currentIndex() > 0,
                low_nm=low,
                high_nm=high,
                treatment=Treatment(self.treatment.currentData()),
                recheck_km=self._fastener.recheck_km if is_hours else after,
                recheck_h=after if is_hours else self._fastener.recheck_h,
                source=self.source.text().strip(),
                note=self.note.text().strip(),
            )
        )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter goes on, Ctrl+Enter keeps, Esc leaves."""
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
                self.confirm()
            else:
                self.focusNextChild()
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)
