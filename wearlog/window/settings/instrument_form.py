"""The form for an instrument, with the stamps of a gauge and what they mean."""

import re
from dataclasses import replace
from datetime import date
from gettext import gettext as _

from PySide6.QtWidgets import QComboBox, QLabel

from wearlog.fleet.problem import WearlogError
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.reading import Instrument, InstrumentKind
from wearlog.window.fields import DateField, EntryField, QuantityField
from wearlog.window.settings.form import AgreementForm, Labelled, fill_choices, from_the_start, understood
from wearlog.window.settings.instrument_words import stamps_entry, stamps_text
from wearlog.window.settings.value_words import exact_text, instrument_kind_text, read_quantity
from wearlog.window.theme import set_role
from wearlog.workshop.agree_snapshot import GAUGES
from wearlog.workshop.agree_stamps import StampMeaning, StampReading, read_stamps

_EXPLAINED = {
    StampMeaning.PERCENT: _("A stamp 0.75 is a chain 0.75 % longer than new."),
    StampMeaning.MM_PER_PITCH: _(
        "A stamp 0.075 is 0.075 mm over one pitch: 0.59 % where the pitch is 12.7 mm."
    ),
    StampMeaning.SHARE_OF_LIMIT: _(
        "A stamp 75 is three quarters of the elongation at which it stands at 100."
    ),
}


class DueField(DateField):
    """A day to come; without a year the next such day."""

    def read(self, text: str) -> None:
        """Understand the text as a date to come."""
        super().read(text)
        if self.day is not None and self.day < self.today and not re.search(r"\d{4}|^[-\u2212]", text):
            # 29 February comes again only in four years; the day after it will do.
            year = self.day.year + 1
            is_leap_day = (self.day.month, self.day.day) == (2, 29)
            self.day = date(year, 3, 1) if is_leap_day else self.day.replace(year=year)


class InstrumentForm(AgreementForm):
    """What is to be known of one instrument."""

    def __init__(self, today: date) -> None:
        super().__init__(_("Instrument form"), _("&Keep the instrument"))
        self._instrument = Instrument(name="", kind=InstrumentKind.CALIPER)
        self._shown = ShownUnits()
        self.name = EntryField(_("Name"))
        self.kind = QComboBox()
        self.resolution = QuantityField(_("Resolution"), Quantity.LENGTH)
        self.uncertainty = QuantityField(_("Standard uncertainty"), Quantity.LENGTH)
        self.bias = QuantityField(_("Bias"), Quantity.LENGTH)
        self.due = DueField(_("Calibration due"), today)
        self.due.setPlaceholderText(_("none"))
        bias_hint = _("What it reads too much on a new part; found by the check on a new chain.")
        self.add_fields(
            Labelled(_("Name"), self.name, 192),
            Labelled(_("Kind"), self.kind, 168),
            Labelled(
                _("Resolution"), self.resolution, 84, _("What lies between two marks, or the last digit.")
            ),
            Labelled(
                _("Standard uncertainty"), self.uncertainty, 136, _("From its certificate, or as a rule.")
            ),
            Labelled(_("Bias"), self.bias, 80, bias_hint),
            Labelled(_("Calibration due"), self.due, 112),
        )
        self.stamps = EntryField(_("Stamps"))
        self.stamps.setPlaceholderText(_("for example 0.5 0.75 1.0"))
        self.meaning = QComboBox()
        for meaning, text in {
            StampMeaning.PERCENT: _("percent of elongation"),
            StampMeaning.MM_PER_PITCH: _("mm over one pitch"),
            StampMeaning.SHARE_OF_LIMIT: _("percent of the wear allowance"),
        }.items():
            self.meaning.addItem(text, meaning.value)
        self.pitch = QuantityField(_("Pitch"), Quantity.LENGTH)
        self.pitch.setPlaceholderText("12.7 mm")
        self.limit = QuantityField(_("Elongation at 100"), Quantity.ELONGATION)
        self._for_pitch = Labelled(_("Pitch"), self.pitch, 88)
        self._for_limit = Labelled(_("Elongation at 100"), self.limit, 128)
        self._for_stamps = (
            Labelled(_("Stamps on the gauge"), self.stamps, 288),
            Labelled(_("A stamp is"), self.meaning, 208),
        )
        self.add_fields(*self._for_stamps, self._for_pitch, self._for_limit)
        self.meant = QLabel()
        self.meant.setWordWrap(True)
        self.meant.setAccessibleName(_("What the stamps mean"))
        set_role(self.meant, "muted")
        self.add_widget(self.meant)
        self.notes = EntryField(_("Notes"))
        self.add_fields(Labelled(_("Notes"), self.notes, 640))
        self.kind.activated.connect(self._on_kind)
        self.meaning.activated.connect(self._on_meaning)
        for field in (self.stamps, self.pitch, self.limit):
            field.textChanged.connect(self._show_meant)

    # --- opening

    def open(self, instrument: Instrument, shown: ShownUnits) -> None:
        """Show an instrument; one without a name is new."""
        self._shown = shown
        is_new = instrument.id == 0
        self.title.setText(
            _("Add an instrument") if is_new else _("Change: {name}").format(name=instrument.name)
        )
        self.show_record(instrument)

    def show_record(self, record: object) -> None:
        """Show an instrument."""
        if not isinstance(record, Instrument):
            return
        self._instrument = record
        self.name.setText(record.name)
        kinds = [(instrument_kind_text(kind), kind.value) for kind in InstrumentKind]
        fill_choices(self.kind, kinds, record.kind.value)
        self._show_kind()
        for field, value in self._values():
            field.setText("" if not value else exact_text(value, field.quantity, self._shown))
        due = record.calibration_due
        self.due.setText("" if due is None else due.isoformat())
        self.meaning.setCurrentIndex(0)
        self.pitch.clear()
        self.limit.clear()
        self.stamps.setText(stamps_entry(record))
        self.notes.setText(record.notes)
        from_the_start(self.name, self.notes, self.stamps)
        self._on_meaning()

    def _values(self) -> tuple[tuple[QuantityField, float], ...]:
        one = self._instrument
        return (
            (self.resolution, one.resolution),
            (self.uncertainty, one.u_instrument),
            (self.bias, one.bias),
        )

    @property
    def _kind_now(self) -> InstrumentKind:
        return InstrumentKind(self.kind.currentData())

    def _on_kind(self) -> None:
        self._show_kind()
        self._on_meaning()

    def _show_kind(self) -> None:
        quantity = read_quantity(self._kind_now)
        for field, _value in self._values():
            field.set_quantity(quantity, self._shown.unit_of(quantity))
            field.setPlaceholderText(self._shown.unit_of(quantity))
        for widget in (*self._for_stamps, self.meant):
            widget.setVisible(self._kind_now in GAUGES)

    # --- stamps

    def _on_meaning(self) -> None:
        is_gauge = self._kind_now in GAUGES
        meaning = StampMeaning(self.meaning.currentData())
        self._for_pitch.setVisible(is_gauge and meaning is StampMeaning.MM_PER_PITCH)
        self._for_limit.setVisible(is_gauge and meaning is StampMeaning.SHARE_OF_LIMIT)
        self._show_meant()

    def _reading(self) -> StampReading:
        pitch, limit = self.pitch.typed, self.limit.typed
        return StampReading(
            StampMeaning(self.meaning.currentData()),
            pitch_mm=None if pitch is None else pitch.value,
            limit=None if limit is None else limit.value,
        )

    def _show_meant(self) -> None:
        text = _EXPLAINED[self._reading().meaning]
        if self.stamps.text().strip():
            try:
                stamps = read_stamps(self.stamps.text(), self._reading())
            except WearlogError as error:
                problem = error.problems[0]
                text = f"{problem.what} {problem.todo}".strip()
            else:
                meant = stamps_text(replace(self._instrument, stamps=stamps))
                text = _("{stamps}. {explained}").format(stamps=meant, explained=text)
        self.meant.setText(text)

    # --- keeping

    def record(self) -> object:
        """Return the instrument as entered.

        Raises
        ------
        WearlogError
            All that can't be understood.
        """
        is_gauge = self._kind_now in GAUGES
        fields = [field for field, _value in self._values()]
        wrong = understood(*fields, self.due)
        stamps: tuple[tuple[str, float], ...] = ()
        if is_gauge and self.stamps.text().strip():
            try:
                stamps = read_stamps(self.stamps.text(), self._reading())
            except WearlogError as error:
                wrong += error.problems
        if wrong:
            raise WearlogError(*wrong)
        resolution, u_instrument, bias = (self._value(field, before) for field, before in self._values())
        return replace(
            self._instrument,
            name=self.name.text().strip(),
            kind=self._kind_now,
            resolution=resolution,
            u_instrument=u_instrument,
            bias=bias,
            stamps=stamps,
            calibration_due=self.due.day,
            notes=self.notes.text().strip(),
        )

    def _value(self, field: QuantityField, before: float) -> float:
        if field.typed is None:
            return 0.0
        if before and field.text() == exact_text(before, field.quantity, self._shown):
            return before
        return round(field.typed.value, 9)
