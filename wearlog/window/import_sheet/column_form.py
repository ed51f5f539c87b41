"""What the chosen column says: chosen from lists, each change taken at once."""

from dataclasses import replace
from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QIntValidator, QKeyEvent
from PySide6.QtWidgets import QLabel, QLineEdit, QVBoxLayout, QWidget

from wearlog.exchange.matching import MEASURE, OVER_PITCHES, RENEWED, ColumnMatch, Field, Measure
from wearlog.exchange.sheet_words import measure_in, stage_in, unit_in, units_of
from wearlog.fleet.fitting import Position
from wearlog.fleet.reading import Measurand, Method
from wearlog.measuring.how_to import methods_for
from wearlog.window.flow import FlowLayout
from wearlog.window.import_sheet import words
from wearlog.window.import_sheet.choices import Choice
from wearlog.window.import_sheet.model import ImportModel
from wearlog.window.settings.form import Labelled
from wearlog.window.theme import set_role

#: Measurands on sprockets, of which a stage has two.
_ON_SPROCKETS = {Measurand.SPROCKET_CONDITION, Measurand.SPROCKET_TOOTH_THICKNESS}


class ColumnForm(QWidget):
    """The fields of one column.

    Signals
    -------
    left()
        Esc: back to the list.
    """

    left = Signal()

    def __init__(self, model: ImportModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("Chosen column"))
        self._model = model
        self._place = -1
        self.title = QLabel()
        set_role(self.title, "strong")
        self.holds = Choice(_("What it says"))
        self.unit = Choice(_("Unit"))
        self.measurand = Choice(_("What was measured"))
        self.method = Choice(_("How"))
        self.pitches = QLineEdit()
        self.pitches.setValidator(QIntValidator(1, 999, self.pitches))
        self.position = Choice(_("Which sprocket"))
        self.stage = Choice(_("Stage"), is_free=True)
        self.instrument = Choice(_("Instrument"))
        self._labelled = {
            "holds": Labelled(_("It says"), self.holds, 184),
            "measurand": Labelled(_("Measured"), self.measurand, 232),
            "method": Labelled(_("How"), self.method, 200),
            "pitches": Labelled(_("Over pitches"), self.pitches, 88),
            "position": Labelled(_("Which sprocket"), self.position, 112),
            "unit": Labelled(_("Unit of bare numbers"), self.unit, 136),
            "stage": Labelled(_("Stage"), self.stage, 144),
            "instrument": Labelled(_("Instrument"), self.instrument, 160),
        }
        row = FlowLayout(spacing=16)
        for labelled in self._labelled.values():
            row.addWidget(labelled)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addWidget(self.title)
        layout.addLayout(row)
        self.holds.picked.connect(self._on_holds)
        self.unit.picked.connect(lambda unit: self._change(unit=str(unit)))
        self.measurand.picked.connect(self._on_measurand)
        self.method.picked.connect(self._on_method)
        self.pitches.editingFinished.connect(self._on_pitches)
        self.position.picked.connect(lambda one: self._change_measure(position=one))
        self.stage.picked.connect(lambda stage: self._change_measure(stage=str(stage)))
        self.instrument.picked.connect(lambda name: self._change_measure(instrument=str(name)))

    # --- showing

    def show_column(self, place: int) -> None:
        """Show a column of the match."""
        self._place = place
        self.show_anew()

    @property
    def column(self) -> ColumnMatch | None:
        """The column that is shown."""
        match = self._model.match
        if match is None:
            return None
        return next((column for column in match.columns if column.place == self._place), None)

    def show_anew(self) -> None:
        """Show the column as it is in the match now."""
        column = self.column
        self.setVisible(column is not None)
        if column is None:
            return
        self.title.setText(column.header or _("column {n}").format(n=column.place + 1))
        fields = self._model.fields
        left_out = [("", _("left out"))]
        self.holds.offer([*left_out, *((field.name, field.title) for field in fields)], column.field)
        units = units_of(self._field(column.field), column.measure) if column.field else ()
        self.unit.offer([(unit, words.unit_text(unit)) for unit in ("", *units)], column.unit)
        self._show("unit", bool(units))
        self._show_measure(column)

    def _show_measure(self, column: ColumnMatch) -> None:
        measure = column.measure
        is_measured = column.field == MEASURE and measure is not None
        for name in ("measurand", "method", "instrument"):
            self._show(name, is_measured)
        self._show("stage", column.field in {MEASURE, RENEWED} and measure is not None)
        self._show("pitches", measure is not None and is_measured and measure.method in OVER_PITCHES)
        self._show("position", measure is not None and is_measured and measure.measurand in _ON_SPROCKETS)
        if measure is None:
            return
        self.measurand.offer([(one, _(one.value)) for one in Measurand], measure.measurand)
        methods = methods_for(measure.measurand)
        self.method.offer([(one, _(one.value)) for one in methods], measure.method)
        if not self.pitches.hasFocus():
            self.pitches.setText("" if measure.pitches is None else str(measure.pitches))
        sprockets = (Position.DRIVER, Position.DRIVEN)
        self.position.offer([(one, _(one.value)) for one in sprockets], measure.position)
        known = self._model.known
        stages = list(known.stages) if known is not None else []
        template = (
            known.template(self._model.match.fixed_text("like")) if known and self._model.match else None
        )
        stages += [stage.name for stage in (template.stages if template else ()) if stage.name not in stages]
        self.stage.offer([("", _("the last one")), *((name, name) for name in stages)], measure.stage)
        instruments = known.instruments if known is not None else ()
        self.instrument.offer([("", "–"), *((name, name) for name in instruments)], measure.instrument)

    def _show(self, name: str, is_wanted: bool) -> None:
        self._labelled[name].setVisible(is_wanted)

    def _field(self, name: str) -> Field:
        return next(field for field in self._model.fields if field.name == name)

    def take_look(self) -> None:
        """Follow the text size."""
        for labelled in self._labelled.values():
            labelled.take_look()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go back with Esc, on with Enter."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        elif event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            self.focusNextChild()
        else:
            super().keyPressEvent(event)

    # --- changing

    def _change(self, **changes: object) -> None:
        column = self.column
        if column is not None:
            self._model.set_column(replace(column, **changes))  # type: ignore[arg-type]

    def _change_measure(self, **changes: object) -> None:
        column = self.column
        if column is not None and column.measure is not None:
            self._change(measure=replace(column.measure, **changes))  # type: ignore[arg-type]

    def leave_out(self) -> None:
        """Leave the column out."""
        self._change(field="", unit="", measure=None)

    def _on_holds(self, name: object) -> None:
        column = self.column
        if column is None:
            return
        field = str(name)
        measure, unit = None, unit_in(column.header)
        if field == MEASURE:
            measure, usual = measure_in(column.header, unit)
            unit = unit or usual
        elif field == RENEWED:
            measure = Measure(Measurand.CHAIN_ELONGATION, Method.ELONGATION_READ, stage_in(column.header))
        allowed = units_of(self._field(field), measure) if field else ()
        self._change(field=field, unit=unit if unit in allowed else "", measure=measure)

    def _on_measurand(self, measurand: object) -> None:
        column = self.column
        if column is None or column.measure is None or not isinstance(measurand, Measurand):
            return
        measure = replace(
            column.measure, measurand=measurand, method=methods_for(measurand)[0], position=None
        )
        self._take_measure(column, measure)

    def _on_method(self, method: object) -> None:
        column = self.column
        if column is not None and column.measure is not None and isinstance(method, Method):
            self._take_measure(column, replace(column.measure, method=method))

    def _take_measure(self, column: ColumnMatch, measure: Measure) -> None:
        if measure.method not in OVER_PITCHES:
            measure = replace(measure, pitches=None)
        allowed = units_of(self._field(MEASURE), measure)
        unit = column.unit if column.unit in allowed else next(iter(allowed), "")
        if unit == "1" and "%" in allowed:
            unit = "%"
        self._change(measure=measure, unit=unit)

    def _on_pitches(self) -> None:
        text = self.pitches.text().strip()
        self._change_measure(pitches=int(text) if text else None)
