"""The check on a new chain: what the instrument reads there tells its bias."""

from dataclasses import dataclass
from datetime import date
from gettext import gettext as _

from PySide6.QtWidgets import QCheckBox, QComboBox, QLabel

from wearlog.fleet.problem import Problem, WearlogError
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.reading import Instrument, InstrumentKind
from wearlog.window.fields import DateField, EntryField, QuantityField
from wearlog.window.flow import FlowLayout
from wearlog.window.settings.form import AgreementForm, Labelled, fill_choices, understood
from wearlog.window.settings.instrument_words import found_text, note_text
from wearlog.window.settings.value_words import exact_text, read_quantity
from wearlog.window.theme import set_role
from wearlog.workshop import agreements
from wearlog.workshop.agree_snapshot import GAUGES, Choices, FoundBias, NewChainCheck

#: Pitches that a caliper and a rule span on most chains.
USUAL_PITCHES = {InstrumentKind.CALIPER: 10, InstrumentKind.RULE: 20, InstrumentKind.TAPE: 50}


@dataclass(frozen=True, slots=True)
class EnteredCheck:
    """A check as it is to be kept, with its note."""

    check: NewChainCheck
    note: str
    takes_u: bool


class CheckForm(AgreementForm):
    """What an instrument reads on a new chain."""

    can_merge = False

    def __init__(self, today: date) -> None:
        super().__init__(_("Check on a new chain"), _("&Keep the check"))
        self._instrument = Instrument(name="", kind=InstrumentKind.CALIPER)
        self._shown = ShownUnits()
        self._today = today
        self._is_opening = False
        self.how = QLabel()
        self.how.setWordWrap(True)
        self.how.setAccessibleName(_("How to check"))
        set_role(self.how, "muted")
        self.add_widget(self.how)
        self.day = DateField(_("Day of the check"), today)
        self.pitch = QuantityField(_("Pitch of the new chain"), Quantity.LENGTH)
        self.chain = QComboBox()
        self.pitches = QuantityField(_("Pitches spanned"), Quantity.COUNT)
        self.lengths = QuantityField(_("What it reads"), Quantity.LENGTH, takes_several=True)
        self.compared = QuantityField(_("Trusted length"), Quantity.LENGTH)
        self.compared.setPlaceholderText(_("none"))
        trusted = _(
            "The same stretch by an instrument that is trusted; without, the chain counts as nominal."
        )
        self._length_fields = (
            Labelled(_("Chain"), self.chain, 168),
            Labelled(_("Pitch"), self.pitch, 80),
            Labelled(_("Pitches"), self.pitches, 64),
            Labelled(_("It reads, at each place"), self.lengths, 192),
            Labelled(_("Trusted length, if measured"), self.compared, 168, trusted),
        )
        self.shows = QuantityField(_("What the scale shows"), Quantity.ELONGATION, takes_several=True)
        self.shows.setPlaceholderText("0.12 0.11 %")
        self._scale = Labelled(_("or what its scale shows, at each place"), self.shows, 264)
        self._stamp_row: FlowLayout = self.add_fields()
        self.add_fields(Labelled(_("Day"), self.day, 104), *self._length_fields, self._scale)
        self.stamps: list[tuple[float, QComboBox]] = []
        self.result = QLabel()
        self.result.setWordWrap(True)
        self.result.setAccessibleName(_("What the check shows"))
        set_role(self.result, "strong")
        self.add_widget(self.result)
        self.takes_u = QCheckBox()
        self.takes_u.setAccessibleName(_("Take this uncertainty as the instrument’s"))
        self.add_widget(self.takes_u)
        self.chain.activated.connect(self._on_chain)
        fields: tuple[EntryField, ...] = (self.day, self.pitch, self.pitches, self.lengths, self.compared)
        for field in (*fields, self.shows):
            field.textChanged.connect(self._show_result)

    # --- opening

    def open(self, instrument: Instrument, choices: Choices, shown: ShownUnits) -> None:
        """Begin the check of an instrument."""
        self._is_opening = True
        self._instrument, self._shown = instrument, shown
        is_gauge = instrument.kind in GAUGES
        self.title.setText(_("Check {name} on a new chain").format(name=instrument.name))
        self.how.setText(
            _("Put the gauge into a new, unused chain. Say of each stamp whether it goes in.")
            if is_gauge
            else _("Measure a new, unused chain as always, at three places or more, over the same count.")
        )
        for widget in self._length_fields:
            widget.setVisible(not is_gauge)
        self._scale.setVisible(is_gauge)
        self.day.set_day(self._today)
        chains = [(f"{name}, {pitch:g} mm", pitch) for name, pitch in choices.pitches]
        fill_choices(self.chain, [*chains, (_("another"), None)], None)
        self.chain.setCurrentIndex(0)
        for field in (self.pitch, self.lengths, self.compared):
            field.set_quantity(Quantity.LENGTH, shown.length)
            field.clear()
        self.lengths.setPlaceholderText(shown.length)
        self.pitches.setText(str(USUAL_PITCHES.get(instrument.kind, 20)))
        self.shows.clear()
        self._make_stamps(instrument)
        self._on_chain()
        self._is_opening = False
        self._show_result()

    def _make_stamps(self, instrument: Instrument) -> None:
        while (item := self._stamp_row.takeAt(0)) is not None:
            widget = item.widget()
            if isinstance(widget, Labelled):
                self._labelled.remove(widget)
                widget.hide()
                widget.deleteLater()
        self.stamps = []
        for stamp, meaning in instrument.stamps if instrument.kind in GAUGES else ():
            answer = QComboBox()
            for text, value in ((_("not tried"), None), (_("goes in"), True), (_("stays out"), False)):
                answer.addItem(text, value)
            answer.setAccessibleName(_("Stamp {stamp}").format(stamp=stamp))
            answer.currentIndexChanged.connect(self._show_result)
            field = Labelled(_("Stamp {stamp}").format(stamp=stamp), answer, 128)
            self._labelled.append(field)
            self._stamp_row.addWidget(field)
            self.stamps.append((meaning, answer))

    @property
    def first(self) -> QComboBox | EntryField:
        """The field to start at."""
        if self._instrument.kind not in GAUGES:
            return self.lengths
        return self.stamps[0][1] if self.stamps else self.shows

    def _on_chain(self) -> None:
        pitch = self.chain.currentData()
        if pitch is not None:
            self.pitch.setText(exact_text(float(pitch), Quantity.LENGTH, self._shown))

    # --- what it shows

    def _check(self) -> NewChainCheck:
        wrong = understood(self.day, self.pitch, self.pitches, self.lengths, self.compared, self.shows)
        if wrong:
            raise WearlogError(*wrong)
        on = self.day.day or self._today
        instrument = self._instrument
        if instrument.kind in GAUGES:
            answered = [(value, answer.currentData()) for value, answer in self.stamps]
            return NewChainCheck(
                instrument,
                on,
                elongations=tuple(typed.value for typed in self.shows.several),
                stamps=()
                if self.shows.several
                else tuple((value, bool(goes_in)) for value, goes_in in answered if goes_in is not None),
                resolution=max((typed.resolution for typed in self.shows.several), default=0.0),
            )
        if self.pitch.typed is None or self.pitches.typed is None:
            raise WearlogError(
                Problem(
                    _("Pitch and count of the new chain are missing."),
                    instrument.name,
                    _("Pin 1 to pin 21 are 20 pitches."),
                )
            )
        return NewChainCheck(
            instrument,
            on,
            lengths_mm=tuple(typed.value for typed in self.lengths.several),
            pitches=round(self.pitches.typed.value),
            pitch_mm=self.pitch.typed.value,
            resolution=max((typed.resolution for typed in self.lengths.several), default=0.0),
            compared_mm=None if self.compared.typed is None else self.compared.typed.value,
        )

    def _show_result(self) -> None:
        if self._is_opening:
            return
        text, found = "", None
        has_begun = bool(self.lengths.several or self.shows.several) or any(
            answer.currentData() is not None for _value, answer in self.stamps
        )
        if has_begun:
            try:
                check = self._check()
                found = agreements.bias_on_new_chain(check)
                text = self._words(check, found)
            except WearlogError as error:
                problem = error.problems[0]
                text = f"{problem.what} {problem.todo}".strip()
        self.result.setText(text)
        self.result.setVisible(bool(text))
        self._show_takes(found)

    def _words(self, check: NewChainCheck, found: FoundBias) -> str:
        before = self._instrument.bias
        quantity = read_quantity(self._instrument.kind)
        words = [found_text(check, found, self._shown)]
        if found.bias is not None and before:
            words.append(_("Before: {bias}.").format(bias=exact_text(before, quantity, self._shown)))
        return " ".join((*words, *(doubt.question for doubt in found.doubts)))

    def _show_takes(self, found: FoundBias | None) -> None:
        u_bias = found.u_bias if found is not None else None
        self.takes_u.setVisible(u_bias is not None)
        if u_bias is None:
            self.takes_u.setChecked(False)
            return
        quantity = read_quantity(self._instrument.kind)
        now = exact_text(self._instrument.u_instrument or None, quantity, self._shown)
        rounded = exact_text(float(f"{u_bias:.2g}"), quantity, self._shown)
        self.takes_u.setText(
            _("Take {u} as the standard uncertainty of the instrument (now {now})").format(u=rounded, now=now)
        )

    # --- keeping

    def record(self) -> object:
        """Return the check as entered, with its note.

        Raises
        ------
        WearlogError
            All that can't be understood, or can't be a new chain.
        """
        check = self._check()
        found = agreements.bias_on_new_chain(check)
        return EnteredCheck(check, note_text(check, found, self._shown), self.takes_u.isChecked())
