"""A sentence with its ways on as small buttons, each with a number for Alt+number."""

from collections.abc import Sequence
from dataclasses import dataclass
from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from wearlog.fleet.problem import Doubt, Offer, Problem
from wearlog.window.theme import set_role


@dataclass(frozen=True, slots=True)
class Sentence:
    """What is said, the ways on, and the doubt it came from, if any; quiet where nothing is wrong."""

    text: str
    offers: tuple[Offer, ...] = ()
    doubt: Doubt | None = None
    is_quiet: bool = False


def of_problem(problem: Problem) -> Sentence:
    """Return the sentence of a problem."""
    return Sentence(f"{problem.what} {problem.todo}".strip(), problem.offers)


def of_doubt(doubt: Doubt) -> Sentence:
    """Return the sentence of a doubt; one without offers can still be answered."""
    offers = doubt.offers or (Offer(_("It is right"), "keep"),)
    return Sentence(doubt.question, offers, doubt)


class OfferBar(QWidget):
    """Sentences, one under the other, with their buttons.

    Signals
    -------
    accepted(doubt, Offer)
        A button was pressed, or its number with Alt; the doubt may be None.
    """

    accepted = Signal(object, object)

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self._sentences: tuple[Sentence, ...] = ()
        self._buttons: list[tuple[QPushButton, Sentence, Offer]] = []
        self._first = 1
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        self._lines = layout
        self.hide()

    @property
    def text(self) -> str:
        """All that is said."""
        return "\n".join(sentence.text for sentence in self._sentences)

    @property
    def offers(self) -> int:
        """How many offers there are."""
        return len(self._buttons)

    def show_sentences(self, sentences: Sequence[Sentence]) -> None:
        """Say other sentences; none hides the bar."""
        if tuple(sentences) == self._sentences:
            return
        self._sentences = tuple(sentences)
        self._buttons = []
        while (item := self._lines.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        for sentence in self._sentences:
            self._lines.addWidget(self._line(sentence))
        self.number_from(self._first)
        self.setVisible(bool(self._sentences))

    def number_from(self, first: int) -> int:
        """Give the offers their numbers from `first` on; return the next free one."""
        self._first = first
        for number, (button, _sentence, offer) in enumerate(self._buttons, first):
            button.setText(f"{number}  {offer.label}" if number <= 9 else offer.label)
        return first + len(self._buttons)

    def accept(self, index: int) -> None:
        """Take the offer at an index."""
        _button, sentence, offer = self._buttons[index]
        self.accepted.emit(sentence.doubt, offer)

    def _line(self, sentence: Sentence) -> QWidget:
        line = QWidget()
        row = QHBoxLayout(line)
        row.setContentsMargins(0, 0, 0, 4)
        row.setSpacing(8)
        label = QLabel(sentence.text)
        label.setWordWrap(True)
        set_role(label, "muted" if sentence.is_quiet else "problem")
        label.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        row.addWidget(label, 1)
        for offer in sentence.offers:
            button = QPushButton()
            button.setAccessibleName(offer.label)
            button.setAccessibleDescription(sentence.text)
            index = len(self._buttons)
            button.clicked.connect(lambda _checked=False, at=index: self.accept(at))
            self._buttons.append((button, sentence, offer))
            row.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
        return line
