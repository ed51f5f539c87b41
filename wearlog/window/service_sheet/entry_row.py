"""One reading on the sheet: what and how, its field, and at once what it means."""

from functools import partial
from gettext import gettext as _

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QAction, QIntValidator, QKeySequence, QResizeEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QMenu,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from wearlog.drawing.words import measurand_text
from wearlog.fleet.problem import Doubt, Offer
from wearlog.fleet.reading import Measurand, Method
from wearlog.window.bench_keys import SpotsField
from wearlog.window.fields import EntryField
from wearlog.window.offer_bar import OfferBar, Sentence, of_doubt, of_problem
from wearlog.window.service_sheet.answers import DOUBLE_READING, OTHER_INSTRUMENT
from wearlog.window.service_sheet.model import SheetModel
from wearlog.window.service_sheet.outcome import Outcome
from wearlog.window.service_sheet.what_button import WhatButton
from wearlog.window.service_sheet.words import REASONS, entry_title, field_hint, how_text, pitches_text, ways
from wearlog.window.theme import scaled, set_role

#: Widths of the columns, [px]: what and how, count of pitches, field.
WHAT_PX, COUNT_PX, FIELD_PX = 292, 52, 184
#: Below this width the meaning stands under the field, [px] at plain text size.
NARROW_PX = 800


class EntryRow(QWidget):
    """One reading on the sheet.

    Signals
    -------
    accepted(str, doubt, Offer)
        An offer was taken: key, the doubt it came from (or None), the offer.
    grew()
        Its height may have changed.
    """

    accepted = Signal(str, object, object)
    grew = Signal()

    def __init__(
        self,
        model: SheetModel,
        key: str,
        *,
        drive_text: str = "",
        is_half: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._drive_text = drive_text
        self.key = key
        self._model = model
        asked = model.asked(key)
        self._asked = asked
        title = entry_title(asked)
        self.setAccessibleName(title)
        self.what = WhatButton()
        self.what.setAccessibleName(_("How: {title}").format(title=title))
        self.what.setToolTip(_("Another way of measuring, or not measured (F2)"))
        self.what.clicked.connect(self.open_ways)
        self.field = SpotsField(title)
        self.field.set_bench_size()
        self.field.textEdited.connect(lambda text: model.type_entry(key, text))
        self.field.cleaned_wanted.connect(self._turn_cleaned)
        self.field.editingFinished.connect(self._on_left)
        self.pitches = QLineEdit()
        self.pitches.setAccessibleName(_("Pitches: {title}").format(title=title))
        self.pitches.setToolTip(_("Count of pitches (F4)"))
        self.pitches.setProperty("bench", True)
        self.pitches.setValidator(QIntValidator(1, 999, self.pitches))
        self.pitches.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.pitches.textEdited.connect(self._on_pitches)
        self.definition = EntryField(_("How slack is measured: {title}").format(title=title))
        self.definition.set_bench_size()
        self.definition.setPlaceholderText(
            _("how slack is measured: which run, which place, total, one way or gap, on which stand")
        )
        self.definition.textEdited.connect(lambda text: model.set_definition(key, text.strip()))
        self._asks_definition = asked.measurand is Measurand.SLACK and not model.definition(key)
        self.outcome = Outcome(_("Meaning of {title}").format(title=title), has_rule=not is_half)
        self.said = OfferBar(_("Questions about {title}").format(title=title))
        self.said.accepted.connect(lambda doubt, offer: self.accepted.emit(key, doubt, offer))
        self._is_half = is_half
        self._is_narrow = False
        self._lay_out(is_half)
        self._add_keys()
        self.refresh(tells_problem=True)

    def _lay_out(self, is_half: bool) -> None:
        line = QHBoxLayout()
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(8)
        self.what.setMaximumWidth(scaled(176 if is_half else WHAT_PX))
        self.what.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        line.addWidget(self.what, 100)
        if not is_half:
            count = QWidget()
            count.setFixedWidth(scaled(COUNT_PX))
            inside = QHBoxLayout(count)
            inside.setContentsMargins(0, 0, 0, 0)
            inside.addWidget(self.pitches)
            line.addWidget(count)
        self.field.setFixedWidth(scaled(64 if is_half else FIELD_PX))
        line.addWidget(self.field)
        line.addSpacing(8)
        line.addWidget(self.outcome, 100)
        self._line = line
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 1, 0, 1)
        layout.setSpacing(2)
        layout.addLayout(line)
        layout.addWidget(self.definition)
        layout.addWidget(self.said)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the meaning under the field where there is no room beside it."""
        super().resizeEvent(event)
        is_narrow = not self._is_half and event.size().width() < scaled(NARROW_PX)
        column = self.layout()
        if isinstance(column, QVBoxLayout) and is_narrow is not self._is_narrow:
            self._is_narrow = is_narrow
            (self._line if is_narrow else column).removeWidget(self.outcome)
            self.what.setMaximumWidth(scaled(WHAT_PX * (3 if is_narrow else 1)))
            if is_narrow:
                column.insertWidget(1, self.outcome)
            else:
                self._line.addWidget(self.outcome, 100)

    def _add_keys(self) -> None:
        for keys, slot in (("F2", self.open_ways), ("F3", self.open_reasons), ("F4", self._to_count)):
            action = QAction(self)
            action.setShortcut(QKeySequence(keys))
            action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            action.triggered.connect(slot)
            self.addAction(action)

    # --- showing -----------------------------------------------------------------------------------------

    def refresh(self, *, tells_problem: bool = False) -> None:
        """Show what the model holds; while somebody types, a problem waits for a pause."""
        model, asked = self._model, self._asked
        entry, way = model.entry(self.key), model.way(self.key)
        if self.field.text() != entry.text:
            self.field.setText(entry.text)
        hint = field_hint(asked, way, model.shown)
        self.field.setPlaceholderText(_("not measured") if entry.not_measured else hint)
        pitches = model.pitches(self.key)
        self.pitches.setVisible(pitches is not None and not self._is_half)
        if not self.pitches.hasFocus() or self.pitches.text() == "":
            self.pitches.setText("" if pitches is None else str(pitches))
        self.what.say(self._title(), self._how_text(way.text), pitches_text(asked, pitches, model.shown))
        if not self.definition.hasFocus():
            self.definition.setText(model.definition(self.key))
        self.definition.setVisible(self._asks_definition)
        self.field.setToolTip(how_text(asked, way.method))
        words = model.words(self.key)
        self.outcome.show_words(words, is_answer=not entry.is_empty)
        tells_problem = tells_problem or not self.field.hasFocus()
        sentences: list[Sentence] = []
        if tells_problem or not words.problems:
            sentences = [of_problem(problem) for problem in words.problems]
            sentences += [of_doubt(doubt) for doubt in words.doubts]
            self.field.mark_problem(bool(words.problems))
        before = self.said.text
        self.said.show_sentences(sentences)
        if self.said.text != before:
            self.grew.emit()

    def _title(self) -> str:
        what = measurand_text(self._asked.measurand)
        title = what[:1].upper() + what[1:]
        if self._asked.measurand is not Measurand.CHAIN_ELONGATION:
            return title
        # A dirty chain reads too low, so it is asked; the star key answers.
        was_cleaned = self._model.entry(self.key).was_cleaned
        answer = {None: _("cleaned? *"), True: _("cleaned"), False: _("not cleaned")}[was_cleaned]
        return f"{title} · {answer}"

    def _how_text(self, way_text: str) -> str:
        asked = self._asked
        # What the heading of the stage says already is not said again.
        part = "" if asked.part_text == self._drive_text else asked.part_text
        parts = [self._model.definition(self.key), part]
        if asked.measurand is not Measurand.SLACK and self._model.way(self.key).method is not Method.GRADE:
            parts.append(way_text)
        return " · ".join(part for part in parts if part)

    def _on_left(self) -> None:
        self.refresh(tells_problem=True)
        if not self.field.hasFocus():
            # A long text shows its beginning.
            self.field.setCursorPosition(0)

    # --- choosing ----------------------------------------------------------------------------------------

    def open_ways(self) -> None:
        """Offer the ways of measuring, and not measuring."""
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        now = self._model.way(self.key)
        for number, way in enumerate(ways(self._asked), 1):
            action = menu.addAction(f"&{number}  {way.text}" if number <= 9 else way.text)
            action.setCheckable(True)
            action.setChecked(way == now)
            action.triggered.connect(partial(self._model.choose_way, self.key, way))
        if self._asked.measurand is Measurand.CHAIN_ELONGATION:
            menu.addSeparator()
            cleaned = menu.addAction(_("&Cleaned before measuring  (*)"))
            cleaned.setCheckable(True)
            cleaned.setChecked(self._model.entry(self.key).was_cleaned is True)
            cleaned.triggered.connect(self._turn_cleaned)
        if self._asked.measurand is Measurand.SLACK:
            menu.addSeparator()
            menu.addAction(_("&Defined as …")).triggered.connect(self.ask_definition)
        menu.addSeparator()
        reasons = menu.addMenu(_("&Not measured"))
        self._add_reasons(reasons)
        self._pop_up(menu)

    def open_reasons(self) -> None:
        """Offer the reasons for not measuring."""
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._add_reasons(menu)
        self._pop_up(menu)

    def _add_reasons(self, menu: QMenu) -> None:
        for number, reason in enumerate(REASONS, 1):
            action = menu.addAction(f"&{number}  {reason}")
            action.triggered.connect(partial(self._model.say_not_measured, self.key, reason))
        if self._model.entry(self.key).not_measured:
            menu.addSeparator()
            back = menu.addAction(_("&Measured after all"))
            back.triggered.connect(partial(self._model.say_not_measured, self.key, ""))

    def _pop_up(self, menu: QMenu) -> None:
        menu.popup(self.field.mapToGlobal(QPoint(0, self.field.height())))
        first = next((action for action in menu.actions() if action.isChecked()), menu.actions()[0])
        menu.setActiveAction(first)

    def ask_definition(self) -> None:
        """Ask how slack is measured."""
        self._asks_definition = True
        self.refresh()
        self.grew.emit()
        self.definition.setFocus(Qt.FocusReason.TabFocusReason)

    def stops(self) -> tuple[QWidget, ...]:
        """Return the widgets that Enter stops at."""
        needs_definition = self._asks_definition and not self._model.asked(self.key).definition
        return (self.field, self.definition) if needs_definition else (self.field,)

    def _to_count(self) -> None:
        if self.pitches.isVisible():
            self.pitches.setFocus(Qt.FocusReason.TabFocusReason)
            self.pitches.selectAll()

    def _on_pitches(self, text: str) -> None:
        if text and int(text) > 0:
            self._model.set_pitches(self.key, int(text))

    def _turn_cleaned(self) -> None:
        if self._asked.measurand is Measurand.CHAIN_ELONGATION:
            self._model.set_cleaned(self.key, self._model.entry(self.key).was_cleaned is not True)

    def carry_out(self, doubt: Doubt | None, offer: Offer) -> None:
        """Carry out an offer; what the hand has to do puts the focus on the field."""
        if not self._model.accept(self.key, doubt, offer):
            self.field.setFocus(Qt.FocusReason.TabFocusReason)
            self.field.selectAll()
        elif offer.action in {OTHER_INSTRUMENT, DOUBLE_READING}:
            self.field.setFocus(Qt.FocusReason.TabFocusReason)
            self.open_ways()


def muted_label(text: str) -> QLabel:
    """Return a quiet label."""
    label = QLabel(text)
    set_role(label, "caption")
    return label
