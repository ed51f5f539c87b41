"""Entry fields for quantities, dates, tags and meters, and the sentence beside each."""

import re
from collections.abc import Iterable
from datetime import date, timedelta
from gettext import gettext as _
from html import escape

from PySide6.QtCore import QStringListModel, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QCompleter, QLabel, QLineEdit, QWidget

from wearlog import units
from wearlog.fleet.problem import Doubt, Offer, Problem, WearlogError
from wearlog.fleet.quantity import Quantity, Typed
from wearlog.fleet.vehicle import MeterUnit
from wearlog.window.theme import colours, set_role


class EntryField(QLineEdit):
    """A field that understands what is typed; the text always stays as typed.

    Signals
    -------
    understood()
        After every change of the text; `problem` is up to date.
    """

    understood = Signal()

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.problem: Problem | None = None
        self.textChanged.connect(self._on_text)

    def set_bench_size(self) -> None:
        """Make it high enough for a glove."""
        self.setProperty("bench", True)

    def mark_problem(self, is_wrong: bool) -> None:
        """Show the field itself as wrong or right."""
        state = "problem" if is_wrong else ""
        if (self.property("state") or "") != state:
            self.setProperty("state", state)
            self.style().unpolish(self)
            self.style().polish(self)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Select all when reached by a key, so that typing replaces."""
        super().focusInEvent(event)
        if event.reason() in {Qt.FocusReason.TabFocusReason, Qt.FocusReason.BacktabFocusReason}:
            self.selectAll()

    def _on_text(self, text: str) -> None:
        self.read(text)
        if self.problem is None:
            self.mark_problem(False)
        self.understood.emit()

    def read(self, text: str) -> None:
        """Understand a text; sets `problem` and what the field is for."""


class QuantityField(EntryField):
    """One quantity, or several spots of one, with any unit that the trade uses.

    Parameters
    ----------
    name
        Its accessible name.
    quantity, unit
        What is asked, and the unit that a bare number stands in.
    takes_several
        Whether several spots may be typed, parted by spaces or semicolons.
    takes_pairs
        Whether each spot is a pair, inside/outside.

    Attributes
    ----------
    typed
        The value, the first of several; None while the text is empty or not understood.
    several
        All spots.
    pairs
        With `takes_pairs`: inside and outside of every spot.
    """

    def __init__(
        self,
        name: str,
        quantity: Quantity,
        unit: str | None = None,
        *,
        takes_several: bool = False,
        takes_pairs: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(name, parent)
        self.quantity = quantity
        self.unit = unit
        self.takes_several = takes_several
        self.takes_pairs = takes_pairs
        self.typed: Typed | None = None
        self.several: list[Typed] = []
        self.pairs: list[tuple[Typed, Typed]] = []

    def set_quantity(self, quantity: Quantity, unit: str | None) -> None:
        """Ask for another quantity or unit; the text is understood anew."""
        self.quantity, self.unit = quantity, unit
        self._on_text(self.text())

    def read(self, text: str) -> None:
        """Understand the text as quantities."""
        self.problem, self.typed, self.several, self.pairs = None, None, [], []
        if not text.strip():
            return
        try:
            if self.takes_pairs and "/" in text:
                self.pairs = read_pairs(text, self.quantity, self.unit)
                self.several = [inside for inside, _outside in self.pairs]
            elif self.takes_several:
                self.several = list(units.parse_several(text, self.quantity, self.unit))
            else:
                self.several = [units.parse(text, self.quantity, self.unit)]
        except WearlogError as error:
            self.problem = error.problems[0]
            return
        self.typed = self.several[0]


def read_pairs(text: str, quantity: Quantity, unit: str | None) -> list[tuple[Typed, Typed]]:
    """Return pairs typed as inside/outside, parted by spaces or semicolons.

    Raises
    ------
    WearlogError
        If a number can't be understood or one of a pair is missing.

    Examples
    --------
    >>> pairs = read_pairs("119.76/136.78; 119.8 / 136.8 mm", Quantity.LENGTH, None)
    >>> [(inside.value, outside.value) for inside, outside in pairs]
    [(119.76, 136.78), (119.8, 136.8)]
    """
    plain = re.sub(r"\s*/\s*", "/", text.strip())
    plain = re.sub(r"(?<=[\d.,])\s+(?=[^\d\s;/])", "", plain)
    pieces = [piece for piece in re.split(r"[;\s]+", plain) if piece]
    pairs = []
    for piece in pieces:
        inside, _slash, outside = piece.partition("/")
        if not inside or not outside or "/" in outside:
            raise WearlogError(
                Problem(
                    _("“{text}” is not a pair.").format(text=piece),
                    "",
                    _("Type inside/outside for every spot, for example 119.76/136.78."),
                )
            )
        second = units.parse(outside, quantity, unit)
        pairs.append((units.parse(inside, quantity, second.unit), second))
    return pairs


class MeterField(QuantityField):
    """What the meter of a vehicle shows, in its own unit unless another is typed."""

    def __init__(self, name: str, unit: MeterUnit = MeterUnit.KM, parent: QWidget | None = None) -> None:
        super().__init__(name, Quantity.DISTANCE, parent=parent)
        self.set_meter_unit(unit)

    def set_meter_unit(self, unit: MeterUnit) -> None:
        """Ask in another unit."""
        is_hours = unit is MeterUnit.HOURS
        self.set_quantity(Quantity.RUNNING_TIME if is_hours else Quantity.DISTANCE, unit.value)
        self.setPlaceholderText(unit.value)


class DateField(EntryField):
    """A date, typed as people type it: 5.11., 5/11/2026, 5 Nov, 2026-11-05, today, -3; arrow keys step.

    Attributes
    ----------
    day
        None while the text is empty or not understood.
    """

    def __init__(self, name: str, today: date, parent: QWidget | None = None) -> None:
        super().__init__(name, parent)
        self.today = today
        self.day: date | None = None
        self.setPlaceholderText(_("day, for example 5 Nov"))

    def set_day(self, day: date) -> None:
        """Show a day."""
        self.setText(day.isoformat())

    def read(self, text: str) -> None:
        """Understand the text as a date."""
        self.problem, self.day = None, None
        if not text.strip():
            return
        self.day = read_day(text, self.today)
        if self.day is None:
            self.problem = Problem(
                _("“{text}” is not a date.").format(text=text.strip()),
                "",
                _("Type for example {iso}, 5 Nov, 5.11. or today.").format(iso=self.today.isoformat()),
            )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Step by a day with the arrow keys, by a week with Page Up and Page Down."""
        steps = {
            Qt.Key.Key_Up: 1,
            Qt.Key.Key_Down: -1,
            Qt.Key.Key_PageUp: 7,
            Qt.Key.Key_PageDown: -7,
        }
        step = steps.get(Qt.Key(event.key()))
        if step is None:
            super().keyPressEvent(event)
        else:
            self.set_day((self.day or self.today) + timedelta(days=step))


_MONTH_WORDS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


def read_day(text: str, today: date) -> date | None:
    """Return the day that a person means, day before month; without a year the latest such day.

    Examples
    --------
    >>> today = date(2026, 11, 25)
    >>> read_day("5.11.", today), read_day("3 Dec", today), read_day("yesterday", today)
    (datetime.date(2026, 11, 5), datetime.date(2025, 12, 3), datetime.date(2026, 11, 24))
    """
    plain = text.strip().lower()
    words = {_("today"): 0, _("yesterday"): -1, "t": 0, "y": -1}
    ago = re.fullmatch(r"[-\u2212](\d{1,3})", plain)
    days_back = words.get(plain, -int(ago[1]) if ago else None)
    if days_back is not None:
        return today + timedelta(days=days_back)
    try:
        return _written_day(plain, today)
    except ValueError:
        return None


def _written_day(plain: str, today: date) -> date | None:
    if re.fullmatch(r"\d{4}-\d{1,2}-\d{1,2}", plain):
        return date(*(int(part) for part in plain.split("-")))
    by_word = re.fullmatch(r"(\d{1,2})\.?\s*([a-z]{3})[a-z]*\.?\s*(\d{4}|\d{2})?", plain)
    if by_word and by_word[2] in _MONTH_WORDS:
        return _day(int(by_word[1]), _MONTH_WORDS.index(by_word[2]) + 1, by_word[3], today)
    by_number = re.fullmatch(r"(\d{1,2})\s*[./ -]\s*(\d{1,2})\.?(?:\s*[/ -]?\s*(\d{4}|\d{2}))?", plain)
    return _day(int(by_number[1]), int(by_number[2]), by_number[3], today) if by_number else None


def _day(day: int, month: int, year: str | None, today: date) -> date:
    if year:
        return date(int(year) + (2000 if len(year) == 2 else 0), month, day)
    this_year = date(today.year, month, day)
    return this_year if this_year <= today else date(today.year - 1, month, day)


class TagField(EntryField):
    """The tag of a vehicle, typed or scanned.

    Signals
    -------
    tag_entered(int)
        The id of the vehicle whose tag was confirmed with Enter (a scanner ends with Enter).
    """

    tag_entered = Signal(int)

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(name, parent)
        self.vehicle_id: int | None = None
        self._ids: dict[str, int] = {}
        self._tags = QStringListModel(self)
        completer = QCompleter(self._tags, self)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        completer.setFilterMode(Qt.MatchFlag.MatchContains)
        self.setCompleter(completer)
        self.returnPressed.connect(self._on_return)

    def set_tags(self, tags: Iterable[tuple[str, int]]) -> None:
        """Say which tags there are, with their vehicles."""
        known = sorted(tags)
        self._ids = {tag.casefold(): vehicle_id for tag, vehicle_id in known}
        self._tags.setStringList([tag for tag, _id in known])

    def read(self, text: str) -> None:
        """Understand the text as a tag."""
        wanted = text.strip().casefold()
        self.vehicle_id = self._ids.get(wanted)
        self.problem = None
        if wanted and self.vehicle_id is None:
            self.problem = Problem(
                _("No vehicle has the tag “{tag}”.").format(tag=text.strip()), "", _("Check the tag.")
            )

    def _on_return(self) -> None:
        if self.vehicle_id is not None:
            self.tag_entered.emit(self.vehicle_id)


class FieldNote(QLabel):
    """The sentence beside a field: what is wrong, what is asked, with offers to click or reach by Tab.

    A field's own problem appears when the field is left, not while somebody still types.

    Signals
    -------
    offered(Offer)
        An offer was taken.
    """

    offered = Signal(object)

    def __init__(self, field: EntryField | None = None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._offers: list[Offer] = []
        self._field = field
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.RichText)
        self.setTextInteractionFlags(
            Qt.TextInteractionFlag.LinksAccessibleByMouse | Qt.TextInteractionFlag.LinksAccessibleByKeyboard
        )
        self.linkActivated.connect(lambda link: self.offered.emit(self._offers[int(link)]))
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        if field is not None:
            self.setAccessibleName(_("Note on {field}").format(field=field.accessibleName()))
            field.editingFinished.connect(self.show_field)
            field.understood.connect(self._on_understood)

    def show_field(self) -> None:
        """Show the problem of the field, if it has one."""
        if self._field is not None:
            self.show_problems([self._field.problem] if self._field.problem else [])

    def show_problems(self, problems: Iterable[Problem]) -> None:
        """Show what is wrong and what to do."""
        found = list(problems)
        set_role(self, "problem")
        self._show([(f"{p.what} {p.todo}".strip(), p.offers) for p in found])
        if self._field is not None:
            self._field.mark_problem(bool(found))

    def show_doubts(self, doubts: Iterable[Doubt]) -> None:
        """Ask about what is odd and may be true."""
        set_role(self, "problem")
        self._show([(doubt.question, doubt.offers) for doubt in doubts])

    def show_text(self, text: str) -> None:
        """Show a plain word in the quiet colour."""
        set_role(self, "caption")
        self._show([(text, ())] if text else [])

    def _show(self, sentences: list[tuple[str, tuple[Offer, ...]]]) -> None:
        self._offers = [offer for _text, offers in sentences for offer in offers]
        lines, number = [], 0
        for text, offers in sentences:
            parts = [escape(text)]
            for offer in offers:
                style = f"color:{colours().accent}"
                parts.append(f'<a href="{number}" style="{style}">{escape(offer.label)}</a>')
                number += 1
            lines.append(" &nbsp;".join(parts))
        self.setText("<br>".join(lines))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus if self._offers else Qt.FocusPolicy.NoFocus)

    def _on_understood(self) -> None:
        if self._field is not None and self._field.problem is None:
            self.show_problems([])
