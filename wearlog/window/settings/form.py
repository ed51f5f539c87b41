"""What every form of the settings shares: captions over fields, questions under them, Keep and Cancel."""

from abc import abstractmethod
from collections.abc import Iterable, Sequence
from dataclasses import replace
from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from wearlog.fleet.limit import Limit
from wearlog.fleet.problem import Doubt, EditConflict, Offer, Problem, WearlogError
from wearlog.fleet.reading import Instrument
from wearlog.fleet.service import IntervalRule
from wearlog.window.bench_keys import put_focus
from wearlog.window.fields import EntryField
from wearlog.window.flow import FlowLayout
from wearlog.window.offer_bar import OfferBar, Sentence, of_problem
from wearlog.window.theme import scaled, set_role

INSIST, TAKE_MINE, TAKE_THEIRS = "keep", "take mine", "take theirs"


class Labelled(QWidget):
    """A field under its caption."""

    def __init__(self, caption: str, field: QWidget, width_px: int = 0, hint: str = "") -> None:
        super().__init__()
        self.field = field
        self._width_px = width_px
        label = QLabel(caption)
        set_role(label, "caption")
        label.setBuddy(field)
        if not field.accessibleName():
            field.setAccessibleName(caption)
        if hint:
            field.setToolTip(hint)
            field.setAccessibleDescription(hint)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(2)
        layout.addWidget(label)
        layout.addWidget(field)
        self.take_look()

    def take_look(self) -> None:
        """Be as wide as the text size asks for."""
        if self._width_px:
            self.setFixedWidth(scaled(self._width_px))


class AgreementForm(QWidget):
    """A form for one record.

    Signals
    -------
    confirmed(object)
        The record is to be kept, after questions about it.
    insisted(object)
        It is to be kept as it is, whatever was asked.
    left()
        It is not.
    """

    confirmed = Signal(object)
    insisted = Signal(object)
    left = Signal()

    #: Whether a record that somebody else changed meanwhile can be kept all the same.
    can_merge = True

    def __init__(self, name: str, keep: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self._theirs: object = None
        self._labelled: list[Labelled] = []
        self.title = QLabel()
        self.title.setWordWrap(True)
        set_role(self.title, "title")
        self.said = OfferBar(_("Questions about it"))
        self.said.accepted.connect(self._on_offer)
        self.keep = QPushButton(keep)
        self.keep.setToolTip("Ctrl+Enter")
        self.keep.clicked.connect(self.confirm)
        self.cancel = QPushButton(_("Ca&ncel"))
        self.cancel.setToolTip("Esc")
        self.cancel.clicked.connect(self.left)
        self.buttons = QHBoxLayout()
        self.buttons.setSpacing(8)
        self.buttons.addWidget(self.keep)
        self.buttons.addWidget(self.cancel)
        self.buttons.addStretch(1)
        self._lines = QVBoxLayout(self)
        self._lines.setContentsMargins(0, 0, 0, 0)
        self._lines.setSpacing(8)
        self._lines.addWidget(self.title)
        self._lines.addWidget(self.said)
        self._lines.addLayout(self.buttons)

    # --- making

    def add_fields(self, *fields: Labelled) -> FlowLayout:
        """Add a row of fields; it goes on in the next where the width is used up."""
        row = FlowLayout(spacing=16)
        for field in fields:
            row.addWidget(field)
            self._labelled.append(field)
        self._lines.insertLayout(self._lines.count() - 2, row)
        return row

    def add_widget(self, widget: QWidget) -> None:
        """Add something that takes the whole width."""
        if isinstance(widget, Labelled):
            self._labelled.append(widget)
        self._lines.insertWidget(self._lines.count() - 2, widget)

    def take_look(self) -> None:
        """Follow the text size."""
        for field in self._labelled:
            field.take_look()

    # --- keeping

    @abstractmethod
    def record(self) -> object:
        """Return what was entered.

        Raises
        ------
        WearlogError
            All that can't be understood.
        """

    def show_record(self, record: object) -> None:
        """Show a record; a form that is always opened empty leaves this out."""

    def confirm(self) -> None:
        """Hand the record over if every field is understood."""
        self._hand_over(insists=False)

    def _hand_over(self, *, insists: bool) -> None:
        try:
            record = self.record()
        except WearlogError as error:
            self.show_error(error)
            return
        self.said.show_sentences(())
        if insists:
            self.insisted.emit(record)
        else:
            self.confirmed.emit(record)

    def start(self) -> None:
        """Begin without anything said."""
        self._theirs = None
        self.said.show_sentences(())

    def show_error(self, error: WearlogError) -> None:
        """Show why it was not kept; where somebody else changed it, both ways on are offered."""
        sentences = [of_problem(problem) for problem in error.problems]
        if isinstance(error, EditConflict) and self.can_merge:
            self._theirs = error.versions.theirs
            offers = (Offer(_("Keep mine"), TAKE_MINE), Offer(_("Take theirs"), TAKE_THEIRS))
            sentences = [Sentence(sentence.text, offers) for sentence in sentences]
        self.said.show_sentences(sentences)
        self.said.number_from(1)

    def ask(self, doubts: Sequence[Doubt]) -> None:
        """Ask about what is odd; one answer is enough for all of it."""
        label = _("It is right") if len(doubts) == 1 else _("All of it is right")
        offers = (Offer(label, INSIST),)
        last = len(doubts) - 1
        self.said.show_sentences(
            [Sentence(doubt.question, offers if n == last else ()) for n, doubt in enumerate(doubts)]
        )
        self.said.number_from(1)

    def take_offer(self, number: int) -> None:
        """Take an offer by its number."""
        if 0 < number <= self.said.offers:
            self.said.accept(number - 1)

    def _on_offer(self, _doubt: Doubt | None, offer: Offer) -> None:
        if offer.action == INSIST:
            self._hand_over(insists=True)
        elif offer.action == TAKE_THEIRS:
            theirs = self._theirs
            self.start()
            self.show_record(theirs)
        elif offer.action == TAKE_MINE:
            try:
                mine = _as_change_of(self._theirs, self.record())
            except WearlogError as error:
                self.show_error(error)
                return
            self.start()
            self.insisted.emit(mine)

    def focus_on(self, field: QWidget) -> None:
        """Start at a field."""
        put_focus(field)

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


class ReasonForm(AgreementForm):
    """Asks why something is taken out of force; the record stays with the reason."""

    can_merge = False

    def __init__(self, name: str, keep: str) -> None:
        super().__init__(name, keep)
        self.reason = EntryField(_("Reason"))
        self.reason.setPlaceholderText(_("for example: the manual was for another model"))
        self.add_widget(Labelled(_("Reason"), self.reason))

    def record(self) -> object:
        """Return the reason."""
        return self.reason.text().strip()

    def ask_for(self, title: str) -> None:
        """Ask for the reason."""
        self.title.setText(title)
        self.reason.clear()
        self.start()
        self.focus_on(self.reason)


def _as_change_of(theirs: object, mine: object) -> object:
    """Return my record as a change of theirs."""
    kinds = (Limit, IntervalRule, Instrument)
    if isinstance(mine, kinds) and isinstance(theirs, kinds):
        return replace(mine, version=theirs.version)
    return mine


def understood(*fields: EntryField) -> list[Problem]:
    """Return what can't be understood in some fields, and mark these."""
    for field in fields:
        field.mark_problem(field.problem is not None)
    return [field.problem for field in fields if field.problem is not None]


def fill_choices(combo: QComboBox, choices: Iterable[tuple[str, object]], chosen: object) -> None:
    """Fill a choice and choose; what is not among them is added."""
    combo.blockSignals(True)
    combo.clear()
    for text, value in choices:
        combo.addItem(text, value)
    place = combo.findData(chosen)
    if place < 0 and chosen not in {None, ""}:
        combo.addItem(str(chosen), chosen)
        place = combo.count() - 1
    combo.setCurrentIndex(max(place, 0))
    combo.blockSignals(False)


def from_the_start(*fields: QLineEdit) -> None:
    """Show long texts from their beginning."""
    for field in fields:
        field.setCursorPosition(0)
