"""The instruments: what reads how well, what is due for calibration, and the check on a new chain."""

from datetime import date
from functools import partial
from gettext import gettext as _

from wearlog.fleet.reading import Instrument, InstrumentKind
from wearlog.window.settings.check_form import CheckForm, EnteredCheck
from wearlog.window.settings.instrument_form import InstrumentForm
from wearlog.window.settings.instrument_words import (
    HEADS,
    NEEDED,
    NUMBERS,
    WIDTHS,
    instrument_row,
    instrument_sentences,
)
from wearlog.window.settings.ledger import Ledger
from wearlog.window.settings.ledger_section import LedgerSection
from wearlog.window.settings.model import LedgerModel, SettingsModel
from wearlog.window.settings.traffic import SettingsTraffic
from wearlog.workshop import agreements
from wearlog.workshop.agree_snapshot import GAUGES, LENGTH_KINDS, InstrumentLine


class InstrumentsSection(LedgerSection):
    """The list of instruments and its forms."""

    def __init__(self, model: SettingsModel, traffic: SettingsTraffic, today: date) -> None:
        self._today = today
        self.instrument_form = InstrumentForm(today)
        self.check_form = CheckForm(today)
        ledger = Ledger(
            _("Instruments"), LedgerModel(HEADS, NUMBERS, model), WIDTHS, NEEDED, _("{n} instruments")
        )
        super().__init__(model, traffic, ledger, (self.instrument_form, self.check_form))
        self.instrument_form.confirmed.connect(self._keep)
        self.instrument_form.insisted.connect(self._keep)
        self.check_form.confirmed.connect(self._keep_check)

    @property
    def line(self) -> InstrumentLine | None:
        """The instrument that is chosen."""
        snapshot = self.model.snapshot
        return snapshot.instrument_line(self.ledger.chosen_key) if snapshot is not None else None

    def show_anew(self) -> None:
        """Show the instruments."""
        snapshot = self.model.snapshot
        if snapshot is not None:
            self.ledger.model.show([instrument_row(line, self.model.shown) for line in snapshot.instruments])

    def describe(self) -> None:
        """Say what is known of the chosen instrument."""
        line = self.line
        if line is None:
            self.detail.show_words(
                _("No instrument yet"),
                (_("Add what is measured with: how well it reads says how far a reading is trusted."),),
            )
            self.detail.show_deeds(((_("&Add an instrument …"), self.add),))
            return
        one = line.instrument
        self.detail.show_words(one.name, instrument_sentences(line, self.model.shown, self._today))
        check = ((_("Check on a ne&w chain …"), self.check),) if _can_be_checked(one) else ()
        retire = _("&Retire") if one.retired_on is None else _("&Back in use")
        self.detail.show_deeds(
            (
                (_("&Change …"), self.change),
                *check,
                (retire, self.take_out),
                (_("&Add another one …"), self.add),
            )
        )

    def change(self) -> None:
        """Open the form for the chosen instrument."""
        line = self.line
        if line is not None:
            self.instrument_form.open(line.instrument, self.model.shown)
            self.open_form(self.instrument_form, self.instrument_form.resolution)

    def add(self) -> None:
        """Open the form for one more instrument."""
        line = self.line
        kind = line.instrument.kind if line is not None else InstrumentKind.CALIPER
        self.instrument_form.open(Instrument(name="", kind=kind), self.model.shown)
        self.open_form(self.instrument_form, self.instrument_form.name)

    def check(self) -> None:
        """Open the form for the check of the chosen instrument on a new chain."""
        line, snapshot = self.line, self.model.snapshot
        if line is not None and snapshot is not None and _can_be_checked(line.instrument):
            self.check_form.open(line.instrument, snapshot.choices, self.model.shown)
            self.open_form(self.check_form, self.check_form.first)

    def take_out(self) -> None:
        """Retire the chosen instrument, or bring it back into use."""
        line = self.line
        if line is not None:
            on = self._today if line.instrument.retired_on is None else None
            self.agree(
                partial(agreements.retire_instrument, instrument=line.instrument, on=on),
                _("Saving the instrument"),
            )

    def _keep(self, instrument: Instrument) -> None:
        keep = agreements.change_instrument if instrument.id else agreements.add_instrument
        self.agree(partial(keep, instrument=instrument), _("Saving the instrument"))

    def _keep_check(self, entered: EnteredCheck) -> None:
        self.agree(
            partial(agreements.keep_check, check=entered.check, note=entered.note, takes_u=entered.takes_u),
            _("Saving the check"),
        )


def _can_be_checked(instrument: Instrument) -> bool:
    return instrument.retired_on is None and instrument.kind in LENGTH_KINDS | GAUGES
