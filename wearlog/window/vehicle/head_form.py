"""What is to be known of a vehicle itself."""

from collections.abc import Callable
from datetime import date
from functools import partial
from gettext import gettext as _

from PySide6.QtCore import QStringListModel, Qt, Signal
from PySide6.QtWidgets import QComboBox, QCompleter, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from wearlog.drawing.vehicle_words import duty_text, kind_text, meter_text, meter_unit_text
from wearlog.fleet.vehicle import Duty, MeterUnit, VehicleKind
from wearlog.window.fields import DateField, EntryField, MeterField
from wearlog.window.settings.form import Labelled
from wearlog.window.theme import set_role
from wearlog.window.vehicle.fields import FieldsRow, put_text, shrinking
from wearlog.window.vehicle.model import VehicleModel
from wearlog.wording import day_text
from wearlog.workshop.vehicles_templates import Template


class HeadForm(QWidget):
    """Tag, kind, depot, meter, duty, owner and the rest.

    Signals
    -------
    erase_wanted()
        The owner's contact is to be erased, in the trail too.
    """

    erase_wanted = Signal()

    def __init__(self, model: VehicleModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("Vehicle"))
        self._model = model
        self._is_filling = False
        self.tag = EntryField(_("Tag"))
        self.tag.setPlaceholderText(_("type or scan"))
        self.like = shrinking(QComboBox())
        self.description = EntryField(_("Description"))
        self.kind = _combo([(kind_text(kind), kind) for kind in VehicleKind])
        self.depot = EntryField(_("Depot"))
        self.model_field = EntryField(_("Model"))
        self.meter_unit = _combo([(meter_unit_text(unit), unit) for unit in MeterUnit])
        self.meter = MeterField(_("Meter now"))
        self.meter_on = DateField(_("Read on"), date.min)
        self.duty = _combo([(duty_text(duty), duty) for duty in Duty])
        self.duty_from = DateField(_("On this duty since"), date.min)
        self.since = DateField(_("In service since"), date.min)
        self.owner = EntryField(_("Owner’s contact"))
        self.owner.setPlaceholderText(_("optional"))
        self.notes = EntryField(_("Notes"))
        self.erase = QPushButton(_("E&rase the contact …"))
        self.erase.setAccessibleName(_("Erase the owner’s contact"))
        set_role(self.erase, "link")
        self.read_last = QLabel()
        self.read_last.setAccessibleName(_("Last meter entry"))
        set_role(self.read_last, "muted")
        self.duty_so_far = QLabel()
        self.duty_so_far.setAccessibleName(_("Duty so far"))
        self.duty_so_far.setWordWrap(True)
        set_role(self.duty_so_far, "caption")
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        self._for_like = Labelled(_("Made like"), self.like, 384)
        self._for_meter = Labelled(_("Meter now"), self.meter, 112)
        self._for_meter_on = Labelled(_("Read on"), self.meter_on, 112)
        self._for_duty_from = Labelled(_("Since"), self.duty_from, 112)
        self.rows = (
            FieldsRow(
                _("tag, meter and depot"),
                {
                    "tag": Labelled(_("Tag"), self.tag, 136),
                    "meter": self._for_meter,
                    "depot": Labelled(_("Depot"), self.depot, 152),
                    "like": self._for_like,
                },
            ),
            FieldsRow(
                _("description and kind"),
                {
                    "description": Labelled(_("Description"), self.description, 248),
                    "kind": Labelled(_("Kind"), self.kind, 200),
                    "model": Labelled(_("Model"), self.model_field, 136),
                    "meter_unit": Labelled(_("Meter counts"), self.meter_unit, 104),
                    "meter_on": self._for_meter_on,
                },
            ),
            FieldsRow(
                _("duty and owner"),
                {
                    "duty": Labelled(_("Use on duty"), self.duty, 168),
                    "duty_from": self._for_duty_from,
                    "in_service_since": Labelled(_("In service since"), self.since, 120),
                    "owner_contact": Labelled(_("Owner’s contact"), self.owner, 176),
                    "notes": Labelled(_("Notes"), self.notes, 216),
                },
            ),
        )
        self.duty_from.setAccessibleName(_("On this duty since"))
        self.below = QWidget()
        below = QHBoxLayout(self.below)
        below.setContentsMargins(0, 0, 0, 0)
        below.setSpacing(16)
        below.addWidget(self.read_last)
        below.addWidget(self.duty_so_far, 8)
        below.addStretch(1)
        below.addWidget(self.erase)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(8)
        for row in self.rows:
            layout.addWidget(row)
        layout.addWidget(self.below)
        self._depots, self._models = (_completed(field, self) for field in (self.depot, self.model_field))

    def _connect(self) -> None:
        model = self._model
        for field, name in (
            (self.tag, "tag"),
            (self.description, "description"),
            (self.depot, "depot"),
            (self.model_field, "model"),
            (self.owner, "owner_contact"),
            (self.notes, "notes"),
        ):
            field.understood.connect(self._unless_filling(partial(self._take_text, field, name)))
        for day, name in (
            (self.since, "in_service_since"),
            (self.duty_from, "duty_from"),
            (self.meter_on, "meter_on"),
        ):
            day.understood.connect(self._unless_filling(partial(self._take_day, day, name)))
        self.meter.understood.connect(self._unless_filling(self._take_meter))
        self.kind.activated.connect(lambda _n: model.set(kind=VehicleKind(self.kind.currentData())))
        self.duty.activated.connect(lambda _n: self._choose_duty())
        self.meter_unit.activated.connect(lambda _n: self._choose_unit())
        self.like.activated.connect(lambda _n: self._choose_like())
        self.erase.clicked.connect(self.erase_wanted)
        model.opened.connect(self.fill)
        model.changed.connect(self.show_state)

    def _unless_filling(self, slot: Callable[[], None]) -> Callable[[], None]:
        return lambda: None if self._is_filling else slot()

    # --- what is entered

    def _take_text(self, field: EntryField, name: str) -> None:
        self._model.set(**{name: field.text()})

    def _take_day(self, field: DateField, name: str) -> None:
        self._model.misread(name, field.text(), field.problem)
        if field.problem is None:
            self._model.set(**{name: field.day})

    def _take_meter(self) -> None:
        field = self.meter
        self._model.misread("meter", field.text(), field.problem)
        if field.problem is None:
            value = None if field.typed is None else field.typed.value
            self._model.set(meter_value=value, meter_text=field.text().strip())

    def _choose_duty(self) -> None:
        self._model.set_duty(Duty(self.duty.currentData()))
        self._fill_day(self.duty_from, "duty_from")

    def _choose_unit(self) -> None:
        unit = MeterUnit(self.meter_unit.currentData())
        self._model.set(meter_unit=unit)
        # What is typed means another distance now.
        self.meter.set_meter_unit(unit)
        self._model.reshaped.emit()

    def _choose_like(self) -> None:
        template = self.like.currentData()
        if isinstance(template, Template):
            self._model.take_template(template)

    # --- what is shown

    def fill(self) -> None:
        """Show another vehicle."""
        model, draft, snapshot = self._model, self._model.draft, self._model.snapshot
        if snapshot is None:
            return
        self._is_filling = True
        for field, text in (
            (self.tag, draft.tag),
            (self.description, draft.description),
            (self.depot, draft.depot),
            (self.model_field, draft.model),
            (self.owner, draft.owner_contact),
            (self.notes, draft.notes),
        ):
            put_text(field, text)
        for combo, value in (
            (self.kind, draft.kind),
            (self.meter_unit, draft.meter_unit),
            (self.duty, draft.duty),
        ):
            combo.setCurrentIndex(combo.findData(value))
        for day in (self.since, self.duty_from, self.meter_on):
            day.today = snapshot.today
        for day, name in (
            (self.since, "in_service_since"),
            (self.duty_from, "duty_from"),
            (self.meter_on, "meter_on"),
        ):
            self._fill_day(day, name)
        self.meter.set_meter_unit(draft.meter_unit)
        unread = model.unread_text("meter")
        self.meter.setText(draft.meter_text if unread is None else unread)
        self.meter_on.setPlaceholderText(_("today"))
        self.since.setPlaceholderText(_("not known"))
        self._depots.setStringList(list(snapshot.depots))
        self._models.setStringList(list(snapshot.models))
        self._fill_templates(snapshot.templates)
        self._is_filling = False
        self.show_state()

    def _fill_day(self, field: DateField, name: str) -> None:
        was, self._is_filling = self._is_filling, True
        day = getattr(self._model.draft, name)
        unread = self._model.unread_text(name)
        field.setText(unread if unread is not None else day.isoformat() if day is not None else "")
        self._is_filling = was

    def _fill_templates(self, templates: tuple[Template, ...]) -> None:
        if [self.like.itemData(n) for n in range(self.like.count())] == list(templates):
            return
        chosen = self.like.currentText()
        self.like.clear()
        for template in templates:
            text = _("{name} · our own").format(name=template.text) if template.is_own else template.text
            self.like.addItem(text, template)
        own = sum(template.is_own for template in templates)
        at = self.like.findText(chosen)
        self.like.setCurrentIndex(at if at >= 0 else own)

    def show_state(self) -> None:
        """Show what goes with what is entered."""
        model, snapshot = self._model, self._model.snapshot
        if snapshot is None:
            return
        has_meter = snapshot.last_meter is not None
        self._for_like.setVisible(model.is_new)
        self._for_meter.setVisible(not has_meter)
        self._for_meter_on.setVisible(not has_meter)
        self._for_duty_from.setVisible(model.is_duty_changed)
        unit = MeterUnit(self.meter_unit.currentData())
        last = meter_text(snapshot.last_meter, snapshot.last_meter_on, unit)
        self.read_last.setText(_("Meter: {last}").format(last=last))
        self.read_last.setVisible(has_meter)
        vehicle = snapshot.vehicle
        kept = vehicle is not None and bool(vehicle.owner_contact)
        self.erase.setVisible(kept)
        self.duty_so_far.setText(self._duty_text())
        self.duty_so_far.setVisible(bool(self.duty_so_far.text()))
        self.below.setVisible(has_meter or kept)
        for row in self.rows:
            row.show_problems(model.problems)

    def _duty_text(self) -> str:
        draft = self._model.draft
        if self._model.is_duty_changed and draft.vehicle is not None:
            day = day_text(draft.duty_from, none=_("the day it came"))
            return _("Duty until {day}: {duty}").format(day=day, duty=duty_text(draft.vehicle.duty))
        spells = [
            _("{duty} from {day}").format(duty=duty_text(spell.duty), day=day_text(spell.from_on))
            for spell in draft.spells
        ]
        return _("Duty: {spells}").format(spells=", ".join(spells)) if spells else ""

    def stops(self) -> list[QWidget]:
        """Return the fields in the order of the hand."""
        return [field for row in self.rows for field in row.fields] + [self.erase]

    def first_wrong(self) -> QWidget | None:
        """Return the first field that is wrong."""
        found = [row.show_problems(self._model.problems) for row in self.rows]
        return next((field for field in found if field is not None), None)

    def take_look(self) -> None:
        """Follow the text size."""
        for row in self.rows:
            row.take_look()


def _combo(items: list[tuple[str, object]]) -> QComboBox:
    combo = shrinking(QComboBox())
    for text, value in items:
        combo.addItem(text, value)
    return combo


def _completed(field: EntryField, parent: QWidget) -> QStringListModel:
    known = QStringListModel(parent)
    completer = QCompleter(known, parent)
    completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
    field.setCompleter(completer)
    return known
