"""What the forms of the history share: questions, both versions of a record, what it would come to."""

from gettext import gettext as _

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QLabel

from wearlog import units
from wearlog.drawing.number_words import use_quantity
from wearlog.fleet.problem import Doubt, EditConflict, Offer, WearlogError
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.vehicle import MeterUnit
from wearlog.window.fields import EntryField
from wearlog.window.history.traffic import Look, Order
from wearlog.window.offer_bar import Sentence, of_problem
from wearlog.window.service_sheet.typed_spots import read_meter
from wearlog.window.settings.form import TAKE_MINE, TAKE_THEIRS, AgreementForm
from wearlog.window.theme import set_role

#: A pause in typing after which what is typed is looked at, [ms].
PAUSE_MS = 180


class HistoryForm(AgreementForm):
    """A form that says what its order would come to while it is typed.

    Signals
    -------
    look_wanted()
        A pause in typing: what would it come to?
    elsewhere_wanted(str)
        The key of another line that is to be looked at.
    """

    look_wanted = Signal()
    elsewhere_wanted = Signal(str)

    def __init__(self, name: str, keep: str) -> None:
        super().__init__(name, keep)
        self.shown = ShownUnits()
        self.use_unit = "km"
        self.comes_to = QLabel()
        self.comes_to.setWordWrap(True)
        self.comes_to.setAccessibleName(_("What it comes to"))
        set_role(self.comes_to, "strong")
        self.comes_to.hide()
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE_MS)
        self._pause.timeout.connect(self.look_wanted)

    def typed(self) -> None:
        """Look at what was typed after a pause."""
        if self.isVisible():
            self._pause.start()

    @property
    def is_waiting(self) -> bool:
        """Whether the pause after the last key still runs."""
        return self._pause.isActive()

    def stop(self) -> None:
        """Look no more."""
        self._pause.stop()

    def order(self) -> Order | None:
        """Return what is asked for so far; None where something can't be understood yet."""
        try:
            return self.record()  # type: ignore[return-value]  # each form returns its own kind of order
        except WearlogError:
            return None

    def show_look(self, look: Look) -> None:
        """Say what it would come to."""
        self.say_look(self.look_text(look))

    def say_look(self, text: str) -> None:
        """Say something about what it would come to."""
        self.comes_to.setText(text)
        self.comes_to.setVisible(bool(text))

    def look_text(self, look: Look) -> str:  # noqa: ARG002 - each form has its own
        """Return in words what it would come to."""
        return ""

    def theirs_text(self, theirs: object) -> str:  # noqa: ARG002 - as above
        """Return the version of somebody else in words."""
        return ""

    @property
    def opened(self) -> object:
        """The record as it was when the form was opened."""
        return None

    def rebase(self, theirs: object) -> None:
        """Take what somebody else saved for what was there before."""

    def start(self) -> None:
        """Begin without anything said."""
        super().start()
        self.comes_to.hide()

    def show_error(self, error: WearlogError) -> None:
        """Show why it was not kept; of two versions both are told, and either can be taken."""
        self.comes_to.hide()
        if not isinstance(error, EditConflict):
            self.said.show_sentences([of_problem(problem) for problem in error.problems])
            self.said.number_from(1)
            return
        self._theirs = error.versions.theirs
        offers = (Offer(_("Keep mine"), TAKE_MINE), Offer(_("Take theirs"), TAKE_THEIRS))
        texts = [
            _("{what} Theirs: {theirs}.").format(what=p.what, theirs=self.theirs_text(self._theirs))
            for p in error.problems
        ]
        self.said.show_sentences([Sentence(text, offers) for text in texts])
        self.said.number_from(1)

    def _on_offer(self, doubt: Doubt | None, offer: Offer) -> None:
        if offer.action == TAKE_MINE:
            self.rebase(self._theirs)
            self._hand_over(insists=True)
        elif offer.action == "other entry":
            self.elsewhere_wanted.emit(f"meter {offer.value}")
        elif offer.action == "look at reading":
            self.elsewhere_wanted.emit(f"reading {offer.value}")
        else:
            super()._on_offer(doubt, offer)


class MeterText(EntryField):
    """What a meter shows, in its own unit unless another is typed.

    Attributes
    ----------
    value
        km (h on hour meters); None while the text is empty or not understood.
    """

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self.meter_unit = MeterUnit.KM
        self.value: float | None = None

    def set_meter_unit(self, unit: MeterUnit) -> None:
        """Ask in the unit of a vehicle's meter."""
        self.meter_unit = unit
        self.setPlaceholderText(unit.value)

    def show_value(self, value: float | None, typed: str = "") -> None:
        """Show what was typed, or a canonical value in the unit of the meter."""
        text = typed
        if not text and value is not None:
            quantity = use_quantity(self.meter_unit.use_unit)
            text = f"{units.in_unit(value, quantity, self.meter_unit.value):.10g}"
        self.setText(text)

    def read(self, text: str) -> None:
        """Understand the text."""
        self.problem, self.value = None, None
        if not text.strip():
            return
        try:
            self.value = read_meter(text, self.meter_unit.value).value
        except WearlogError as error:
            self.problem = error.problems[0]
