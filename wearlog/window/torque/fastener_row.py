"""One fastener of the torque sheet: its range, what is typed, and how it stands."""

from gettext import gettext as _

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from wearlog.drawing.palette import colour
from wearlog.drawing.torque_words import (
    STANDING_MARK,
    bolts_text,
    last_text,
    range_also_text,
    range_text,
    recheck_text,
    standing_detail_text,
    standing_text,
    treatment_text,
    work_text,
)
from wearlog.drawing.wear_rule import paint_state_mark
from wearlog.fleet.problem import Doubt, DoubtKind, Offer
from wearlog.fleet.state import State
from wearlog.fleet.torque import TorqueWork
from wearlog.window import theme
from wearlog.window.fields import EntryField
from wearlog.window.flow import ElidedLabel
from wearlog.window.offer_bar import OfferBar, Sentence, of_doubt, of_problem
from wearlog.window.theme import colours, scaled, set_role
from wearlog.window.torque.model import TorqueModel
from wearlog.workshop.torque_doubts import KEEP, MARKER_LINE, USE_UNIT

#: Widths of range, range in two units, field and mark; room between columns, [px] at plain text size.
RANGE_PX, WIDE_RANGE_PX, FIELD_PX, MARK_PX, GAP_PX = 108, 148, 112, 12, 12


class TorqueField(EntryField):
    """A field for one torque or one of each bolt; the plus key parts them, so that a number pad is enough.

    Signals
    -------
    marker_wanted()
        The star key: the marker line was looked at, nothing was turned.
    work_wanted()
        F2: another kind of work.
    reached()
        The focus came.
    """

    marker_wanted = Signal()
    work_wanted = Signal()
    reached = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Part values with plus; star and F2 tell what was done."""
        if event.text() == "+":
            if self.text()[: self.cursorPosition()].strip():
                self.insert(" ")
        elif event.text() == "*":
            self.marker_wanted.emit()
        elif event.key() == Qt.Key.Key_F2:
            self.work_wanted.emit()
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Tell that the hand is here."""
        super().focusInEvent(event)
        self.reached.emit()


class StandingMark(QWidget):
    """The shape of a state, beside its word."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.state = State.NO_READING
        self.take_look()

    def take_look(self) -> None:
        """Take the text size that is applied now."""
        self.setFixedSize(QSize(scaled(MARK_PX), scaled(MARK_PX)))

    def show_state(self, state: State) -> None:
        """Show another state."""
        self.state = state
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw."""
        with QPainter(self) as painter:
            paint_state_mark(painter, QRectF(self.rect()), self.state, colours())


class FastenerRow(QWidget):
    """One fastener.

    Signals
    -------
    grew()
        Questions came or went.
    """

    grew = Signal()

    def __init__(self, model: TorqueModel, fastener_id: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self.fastener_id = fastener_id
        line = model.line(fastener_id)
        name = line.fastener.name if line is not None else ""
        self.setAccessibleName(name)
        self.name = ElidedLabel()
        set_role(self.name, "strong")
        self.place = ElidedLabel()
        set_role(self.place, "caption")
        self.range = QLabel()
        self.treatment = QLabel()
        set_role(self.treatment, "caption")
        self.field = TorqueField(_("Applied: {name}").format(name=name))
        self.field.set_bench_size()
        self.mark = StandingMark()
        self.standing = ElidedLabel()
        self.detail = ElidedLabel()
        set_role(self.detail, "caption")
        self.said = OfferBar(_("Questions about {name}").format(name=name))
        self._lay_out()
        self.field.textEdited.connect(lambda text: model.type_torque(fastener_id, text))
        self.field.editingFinished.connect(self.refresh)
        self.field.marker_wanted.connect(self._turn_marker)
        self.field.work_wanted.connect(lambda: model.turn_work(fastener_id))
        self.field.reached.connect(lambda: model.choose(fastener_id))
        self.said.accepted.connect(self._on_accepted)
        self.show_line()
        self.refresh()

    def _lay_out(self) -> None:
        row = QHBoxLayout()
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(scaled(GAP_PX))
        standing = QHBoxLayout()
        standing.setSpacing(6)
        standing.addWidget(self.mark)
        standing.addWidget(self.standing, 1)
        for column, stretch in (
            (_stacked(self.name, self.place), 6),
            (_stacked(self.range, self.treatment), 0),
            (self.field, 0),
            (_stacked(standing, self.detail), 4),
        ):
            if isinstance(column, QWidget):
                row.addWidget(column, stretch)
            else:
                row.addLayout(column, stretch)
        self._row = row
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 4, 4, 4)
        layout.setSpacing(2)
        layout.addLayout(row)
        layout.addWidget(self.said)
        self.take_look()

    def take_look(self) -> None:
        """Take the text size that is applied now."""
        self._row.setSpacing(scaled(GAP_PX))
        for label in (self.range, self.treatment):
            label.setFixedWidth(scaled(range_px(self._model)))
        self.field.setFixedWidth(scaled(FIELD_PX))
        self.mark.take_look()

    def show_line(self) -> None:
        """Show the fastener as the sheet has it."""
        line = self._model.line(self.fastener_id)
        if line is None:
            return
        fastener, shown = line.fastener, self._model.shown
        self.name.show_text(fastener.name[:1].upper() + fastener.name[1:])
        place = [text for text in (bolts_text(fastener), fastener.stage_name) if text]
        self.place.show_text(" · ".join(place))
        self.range.setText(range_text(fastener))
        also = range_also_text(fastener, shown)
        below = [text for text in (also, treatment_text(fastener.treatment)) if text]
        self.treatment.setText(" · ".join(below))
        self.field.setAccessibleDescription(f"{range_text(fastener)}, {treatment_text(fastener.treatment)}")

    def refresh(self) -> None:
        """Show what the model holds of this fastener."""
        entry = self._model.entry(self.fastener_id)
        if self.field.text() != entry.text:
            self.field.setText(entry.text)
        is_marker = entry.work is TorqueWork.MARKER_SEEN
        self.field.setPlaceholderText(_("marker line") if is_marker else "")
        self._show_standing()
        self._show_said()
        self.update()

    def _show_standing(self) -> None:
        line, entry = self._model.line(self.fastener_id), self._model.entry(self.fastener_id)
        if line is None:
            return
        if entry.is_empty or (entry.text.strip() and not entry.values_nm):
            self.mark.show_state(STANDING_MARK[line.standing])
            self.standing.show_text(standing_text(line.standing))
            snapshot = self._model.snapshot
            unit = snapshot.use_unit if snapshot is not None else "km"
            self.detail.show_text(standing_detail_text(line))
            whole = [last_text(line, self._model.shown)]
            if line.recheck is not None:
                whole.append(recheck_text(line.recheck, unit, self._model.shown))
            self.detail.setToolTip("\n".join(whole))
            return
        is_right = all(line.fastener.is_in_range(value) for value in entry.values_nm)
        self.mark.show_state(State.WITHIN_LIMIT if is_right else State.PAST_LIMIT)
        word = _("in range") if is_right else _("out of range")
        if not entry.values_nm:
            word = work_text(entry.work)
        self.standing.show_text(word)
        word = _("{work}, unsaved") if entry.values_nm else _("unsaved")
        self.detail.show_text(word.format(work=work_text(entry.work)))

    def _show_said(self) -> None:
        before = self.said.offers, self.said.text
        problem = self._model.problem(self.fastener_id)
        sentences: list[Sentence] = []
        if problem is not None and not self.field.hasFocus():
            # While somebody types, half a number is no mistake.
            sentences.append(of_problem(problem))
        self.field.mark_problem(bool(sentences))
        for doubt in self._model.doubts(self.fastener_id):
            sentence = of_doubt(doubt)
            if doubt.kind is DoubtKind.CALIBRATION_DUE:
                # Said once, beside the wrench.
                continue
            if all(offer.action != KEEP for offer in sentence.offers):
                sentence = Sentence(sentence.text, (*doubt.offers, Offer(_("It is right"), KEEP)), doubt)
            sentences.append(sentence)
        self.said.show_sentences(sentences)
        if before != (self.said.offers, self.said.text):
            self.grew.emit()

    def show_problem(self) -> None:
        """Show why what is typed can't be understood, though the hand is still there."""
        problem = self._model.problem(self.fastener_id)
        if problem is not None:
            self.said.show_sentences([of_problem(problem)])
            self.field.mark_problem(True)
            self.grew.emit()

    def _turn_marker(self) -> None:
        line, entry = self._model.line(self.fastener_id), self._model.entry(self.fastener_id)
        usual = line.usual_work if line is not None else TorqueWork.TIGHTENED
        is_marker = entry.work is TorqueWork.MARKER_SEEN
        self._model.set_work(self.fastener_id, usual if is_marker else TorqueWork.MARKER_SEEN)

    def _on_accepted(self, doubt: Doubt | None, offer: Offer) -> None:
        if offer.action == USE_UNIT and isinstance(offer.value, str):
            self._model.use_unit(self.fastener_id, offer.value)
        elif offer.action == MARKER_LINE:
            self._model.set_work(self.fastener_id, TorqueWork.MARKER_SEEN)
        elif doubt is not None:
            self._model.keep_value(self.fastener_id, doubt)
        self.field.setFocus(Qt.FocusReason.OtherFocusReason)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Put the hand at the fastener that was clicked on."""
        self.field.setFocus(Qt.FocusReason.TabFocusReason)
        super().mousePressEvent(event)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the hairline below; the row at which the hand is stands out."""
        look = theme.colours()
        with QPainter(self) as painter:
            if self._model.chosen_id == self.fastener_id:
                painter.fillRect(self.rect(), colour(look.raised))
                painter.fillRect(QRectF(0, 0, 3, self.height()), colour(look.accent))
            painter.fillRect(QRectF(0, self.height() - 1, self.width(), 1), colour(look.hairline))


def range_px(model: TorqueModel) -> int:
    """Return the width of the column of ranges: two units need more room than one."""
    return RANGE_PX if model.shown.torque == "N.m" else WIDE_RANGE_PX


def _stacked(upper: QWidget | QHBoxLayout, lower: QWidget) -> QVBoxLayout:
    column = QVBoxLayout()
    column.setSpacing(0)
    column.addStretch(1)
    if isinstance(upper, QWidget):
        column.addWidget(upper)
    else:
        column.addLayout(upper)
    column.addWidget(lower)
    column.addStretch(1)
    return column
