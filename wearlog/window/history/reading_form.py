"""A reading put right: as typed, worked out anew while it is typed."""

from gettext import gettext as _
from math import isclose

from PySide6.QtWidgets import QCheckBox, QComboBox

from wearlog.drawing.history_words import reading_text
from wearlog.drawing.words import measurand_text
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.fleet.quantity import CANONICAL_UNIT, Quantity, ShownUnits
from wearlog.fleet.reading import Instrument, Measurand, Method, Reading, Spot
from wearlog.measuring.how_to import methods_for
from wearlog.window.bench_keys import SpotsField
from wearlog.window.fields import EntryField
from wearlog.window.history.forms import HistoryForm
from wearlog.window.history.traffic import Look
from wearlog.window.service_sheet.typed_spots import quantity_read, read_spots
from wearlog.window.service_sheet.words import COUNTED, Way
from wearlog.window.settings.form import Labelled
from wearlog.wording import day_text
from wearlog.workshop.ask import SUITS
from wearlog.workshop.correct import ReadingCorrection
from wearlog.workshop.history_snapshot import HistoryLine, HistorySnapshot, ReadingLook

#: Two values that differ by less are the same; a wrong unit makes them differ by much more.
SAME_SHARE = 1e-3


def spots_text(
    spots: tuple[Spot, ...],
    method: Method,
    measurand: Measurand,
    instrument: Instrument | None,
    shown: ShownUnits,
) -> str:
    """Return the spots as they were typed; with their unit where a bare number would be taken for another.

    Examples
    --------
    >>> spots = (Spot(typed="257.1", value=257.1), Spot(typed="257.4", value=257.4))
    >>> spots_text(spots, Method.PIN_TO_PIN, Measurand.CHAIN_ELONGATION, None, ShownUnits())
    '257.1; 257.4'
    >>> spots_text(spots, Method.PIN_TO_PIN, Measurand.CHAIN_ELONGATION, None, ShownUnits(length="in"))
    '257.1 mm; 257.4 mm'
    """
    if method is Method.GAUGE:
        return " ".join(spot.typed for spot in spots)
    text = "; ".join(spot.typed for spot in spots)
    found = read_spots(text, method, measurand, instrument, shown).spots
    if len(found) == len(spots) and all(map(_is_same, found, spots)):
        return text
    quantity = quantity_read(method, measurand)
    return "; ".join(_with_unit(spot, quantity, method) for spot in spots)


def _is_same(one: Spot, other: Spot) -> bool:
    if (one.second is None) != (other.second is None):
        return False
    is_second = (
        one.second is None or other.second is None or isclose(one.second, other.second, rel_tol=SAME_SHARE)
    )
    return is_second and isclose(one.value, other.value, rel_tol=SAME_SHARE, abs_tol=1e-9)


def _with_unit(spot: Spot, quantity: Quantity, method: Method) -> str:
    if quantity is Quantity.ELONGATION:
        return f"{100.0 * spot.value:.6g} %"
    if quantity is Quantity.GRADE:
        return f"{spot.value:.6g}"
    unit = CANONICAL_UNIT[quantity]
    if spot.second is None:
        return f"{spot.value:.6g} {unit}"
    if method is Method.DEFLECTION_FORCE:
        return f"{spot.value:.6g} {unit}/{spot.second:.6g} mm"
    return f"{spot.value:.6g}/{spot.second:.6g} {unit}"


class ReadingForm(HistoryForm):
    """What was really read, and how."""

    def __init__(self) -> None:
        super().__init__(_("Correct a reading"), _("&Keep the correction"))
        self._reading: Reading | None = None
        self._instruments: tuple[Instrument, ...] = ()
        self._ways: tuple[Way, ...] = ()
        self.text = SpotsField(_("What was read"))
        self.way = QComboBox()
        self.pitches = EntryField(_("Pitches"))
        self.cleaned = QCheckBox(_("&cleaned before"))
        self.note = EntryField(_("Note"))
        self.add_fields(
            Labelled(_("What was read"), self.text, 360, _("Every place, as on the service sheet.")),
            Labelled(_("How"), self.way, 320),
        )
        self._pitches = Labelled(_("Pitches"), self.pitches, 80, _("Pin 1 to pin 21 are 20 pitches."))
        self.add_fields(self._pitches, Labelled(_("Note"), self.note, 320))
        self.add_widget(self.cleaned)
        self.add_widget(self.comes_to)
        for field in (self.text, self.pitches, self.note):
            field.understood.connect(self.typed)
        self.text.cleaned_wanted.connect(self.cleaned.toggle)
        self.cleaned.toggled.connect(lambda _on: self.typed())
        self.way.activated.connect(lambda _index: self._on_way())

    def open_line(self, line: HistoryLine, snapshot: HistorySnapshot, shown: ShownUnits) -> None:
        """Show the reading of a line."""
        reading = line.record
        if not isinstance(reading, Reading):
            message = "only a reading is corrected here"
            raise TypeError(message)
        self.shown, self.use_unit = shown, snapshot.use_unit
        self._instruments = snapshot.instruments
        what = measurand_text(reading.measurand)
        self.title.setText(_("Correct: {what} of {day}").format(what=what, day=day_text(reading.on)))
        self.show_record(reading)

    def show_record(self, record: object) -> None:
        """Show a reading."""
        if not isinstance(record, Reading):
            return
        self._reading = record
        self._ways = _ways(record, self._instruments)
        self.way.clear()
        for way in self._ways:
            self.way.addItem(way.text)
        at = next(
            (
                n
                for n, way in enumerate(self._ways)
                if way.method is record.method
                and (way.instrument.id if way.instrument else None) == record.instrument_id
            ),
            0,
        )
        self.way.setCurrentIndex(at)
        instrument = self._ways[at].instrument
        self.text.setText(spots_text(record.spots, record.method, record.measurand, instrument, self.shown))
        self.text.setCursorPosition(0)
        self.pitches.setText("" if record.pitches is None else str(record.pitches))
        self.cleaned.setChecked(bool(record.was_cleaned))
        self.note.setText(record.note)
        is_chain = record.measurand is Measurand.CHAIN_ELONGATION
        self.cleaned.setVisible(is_chain)
        self._on_way()
        self.stop()

    def _on_way(self) -> None:
        self._pitches.setVisible(self._chosen.method in COUNTED)
        self.typed()

    @property
    def _chosen(self) -> Way:
        return self._ways[max(self.way.currentIndex(), 0)]

    def record(self) -> ReadingCorrection:
        """Return the correction.

        Raises
        ------
        WearlogError
            If what was typed can't be understood.
        """
        reading = self._reading
        if reading is None:
            raise WearlogError(Problem(_("No reading is open."), todo=_("Choose one in the list.")))
        way, text = self._chosen, self.text.text()
        read = read_spots(text, way.method, reading.measurand, way.instrument, self.shown)
        if read.problem is not None:
            raise WearlogError(read.problem)
        pitches = reading.pitches
        if way.method in COUNTED:
            typed = self.pitches.text().strip()
            if not typed.isdigit() or not 0 < int(typed) < 1000:
                what = _("“{text}” is no number of pitches.").format(text=typed)
                raise WearlogError(Problem(what, todo=_("Count the pins: pin 1 to pin 21 are 20 pitches.")))
            pitches = int(typed)
        is_untouched = reading.was_cleaned is None and not self.cleaned.isChecked()
        return ReadingCorrection(
            reading=reading,
            text=text,
            spots=read.spots,
            method=way.method,
            instrument_id=None if way.instrument is None else way.instrument.id,
            pitches=pitches,
            was_cleaned=None if is_untouched else self.cleaned.isChecked(),
            deflection_mm=read.deflection_mm,
            note=self.note.text().strip(),
        )

    def look_text(self, look: Look) -> str:
        """Return old and new value."""
        if not isinstance(look, ReadingLook) or look.reading is None or self._reading is None:
            return ""
        return _("{old} becomes {new}").format(
            old=reading_text(self._reading, self.shown), new=reading_text(look.reading, self.shown)
        )

    def theirs_text(self, theirs: object) -> str:
        """Return what somebody else made of the reading."""
        return reading_text(theirs, self.shown) if isinstance(theirs, Reading) else ""

    def rebase(self, theirs: object) -> None:
        """Correct what somebody else saved."""
        if isinstance(theirs, Reading):
            self._reading = theirs


def _ways(reading: Reading, instruments: tuple[Instrument, ...]) -> tuple[Way, ...]:
    """Return all ways in which the reading may have been taken; the one on record is among them."""
    found: list[Way] = []
    known = {one.id: one for one in instruments}
    on_record = Way(reading.method, known.get(reading.instrument_id or 0))
    for method in methods_for(reading.measurand):
        fitting = [one for one in instruments if one.kind in SUITS.get(method, ())]
        found += [Way(method, one) for one in fitting]
        if not fitting:
            found.append(Way(method, None))
    if on_record not in found:
        found.insert(0, on_record)
    return tuple(found)
