"""What stands under the head of the sheet: cautions, sentences with offers, the stages, notes."""

from collections.abc import Callable, Iterator
from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from wearlog.window.bench_keys import EnterWalk, put_focus
from wearlog.window.offer_bar import OfferBar
from wearlog.window.service_sheet.entry_row import EntryRow
from wearlog.window.service_sheet.head import SheetHead
from wearlog.window.service_sheet.model import SheetModel
from wearlog.window.service_sheet.outcome import ElidedLabel
from wearlog.window.service_sheet.stage_block import StageBlock
from wearlog.window.theme import scaled, set_role

#: Widest that the stages are laid out, [px] at plain text size.
WIDEST_PX = 1060


class SheetBody(QWidget):
    """The stages of a vehicle in the order of the hand, and what is said about the sheet.

    Signals
    -------
    entry_offered(str, doubt, Offer)
        An offer about an entry was taken.
    moving_wanted()
        The sheet is on the wrong vehicle.
    """

    entry_offered = Signal(str, object, object)
    moving_wanted = Signal()

    def __init__(self, model: SheetModel, head: SheetHead, at_end: Callable[[], None]) -> None:
        super().__init__()
        self._model = model
        self._head = head
        self.blocks: list[StageBlock] = []
        self.walk = EnterWalk(self.stops, at_end, self)
        self.head_said = OfferBar(_("Questions about the meter"))
        self.note = OfferBar(_("About this sheet"))
        self.cautions = ElidedLabel()
        set_role(self.cautions, "caption")
        self.all_cautions = QLabel()
        self.all_cautions.setWordWrap(True)
        self.all_cautions.setAccessibleName(_("Cautions"))
        set_role(self.all_cautions, "muted")
        self.all_cautions.hide()
        self.notes = QLineEdit()
        self.notes.setAccessibleName(_("Notes"))
        self.notes.setPlaceholderText(_("notes on this service"))
        self.notes.setProperty("bench", True)
        self.notes.hide()
        self.empty = QLabel(_("Type or scan the tag of a vehicle and press Enter."))
        set_role(self.empty, "muted")
        self._lay_out()
        self._watch_keys()
        self.notes.textEdited.connect(model.set_notes)
        model.opened.connect(self.rebuild)
        model.entry_changed.connect(self._on_entry)
        model.task_changed.connect(self._on_task)
        model.draft_changed.connect(self.show_actions)

    def _lay_out(self) -> None:
        line = QHBoxLayout()
        line.setSpacing(16)
        line.addWidget(self.cautions, 1)
        self.more_cautions = self._link(_("All cautions"), self._turn_cautions)
        self.add_note = self._link(_("Note"), self._open_notes)
        self.wrong_vehicle = self._link(_("Wrong vehicle?"), self.moving_wanted.emit)
        for button in (self.more_cautions, self.add_note, self.wrong_vehicle):
            line.addWidget(button)
        self._content = QWidget()
        self._stages = QVBoxLayout(self._content)
        self._stages.setContentsMargins(0, 0, 4, 0)
        self._stages.setSpacing(6)
        self.scroller = QScrollArea()
        self.scroller.setWidgetResizable(True)
        self.scroller.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.scroller.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.scroller.setWidget(self._content)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addWidget(self.head_said)
        layout.addLayout(line)
        for widget in (self.all_cautions, self.note, self.notes, self.empty):
            layout.addWidget(widget)
        layout.addWidget(self.scroller, 1)

    def _link(self, text: str, slot: Callable[[], None]) -> QPushButton:
        button = QPushButton(text)
        set_role(button, "link")
        button.clicked.connect(lambda _checked: slot())
        return button

    def _watch_keys(self) -> None:
        for widget in (*self._head.targets(), self.notes):
            self.walk.watch(widget, has_own_enter=widget is self._head.tag)

    # --- rows --------------------------------------------------------------------------------------------

    def rows(self) -> Iterator[EntryRow]:
        """Go through all rows."""
        for block in self.blocks:
            yield from block.rows.values()

    def stops(self) -> list[QWidget]:
        """Return the widgets that Enter stops at, in the order of the hand."""
        stops = list(self._head.stops())
        for block in self.blocks:
            stops += block.stops()
        if not self.notes.isHidden():
            stops.append(self.notes)
        return stops

    def rebuild(self) -> None:
        """Lay out the sheet of another vehicle; the focus stays where it was if that place still is."""
        focus = QApplication.focusWidget()
        name = focus.accessibleName() if focus is not None and self.isAncestorOf(focus) else ""
        while (item := self._stages.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        snapshot, draft = self._model.snapshot, self._model.draft
        self.blocks = [
            StageBlock(self._model, block, self._content) for block in (snapshot.blocks if snapshot else ())
        ]
        for block in self.blocks:
            self._stages.addWidget(block)
            # Shown now rather than by the next turn of the event loop: the focus may go there at once.
            block.show()
            block.accepted.connect(self.entry_offered)
            block.grew.connect(self._on_grew)
            block.connect_ticks(self.walk.go)
        self._stages.addStretch(1)
        self._on_grew()
        cautions = snapshot.cautions if snapshot else ()
        is_open = not self.all_cautions.isHidden()
        self.cautions.say("" if is_open or not cautions else cautions[0])
        self.all_cautions.setText("\n".join(cautions))
        self.notes.setText(draft.notes if draft else "")
        self.notes.setVisible(bool(self.notes.text()))
        self.empty.setVisible(snapshot is None)
        self.show_actions()
        again = next((w for w in self.stops() if name and w.accessibleName() == name), None)
        if again is not None:
            put_focus(again)

    def _on_grew(self) -> None:
        for block in self.blocks:
            for widget in block.targets():
                self.walk.watch(widget)
        self.number_offers()

    def refresh_rows(self, *, tells_problems: bool = False) -> None:
        """Show every row as the model holds it."""
        for row in self.rows():
            row.refresh(tells_problem=tells_problems)
        self.number_offers()

    def _on_entry(self, key: str) -> None:
        for row in self.rows():
            if row.key == key:
                row.refresh()

    def _on_task(self, key: str) -> None:
        for block in self.blocks:
            if key in block.tasks:
                block.refresh_task(key)

    def row(self, key: str) -> EntryRow | None:
        """Return the row of a key, None if it is folded away."""
        return next((row for row in self.rows() if row.key == key), None)

    def go_to_first_problem(self) -> None:
        """Put the focus where something has to be mended first."""
        draft = self._model.draft
        if self._model.meter_problem is not None or (draft is not None and not draft.meter_text.strip()):
            put_focus(self._head.meter)
            return
        wrong = [row.field for row in self.rows() if self._model.problem(row.key) is not None]
        wrong += [
            task.before
            for block in self.blocks
            for key, task in block.tasks.items()
            if self._model.task_problems(key)
        ]
        if wrong:
            put_focus(wrong[0])

    # --- offers ------------------------------------------------------------------------------------------

    def _bars(self) -> Iterator[OfferBar]:
        yield self.head_said
        yield self.note
        for block in self.blocks:
            yield from block.bars()

    def number_offers(self) -> None:
        """Give all offers their numbers down the page, for Alt+number."""
        number = 1
        for bar in self._bars():
            number = bar.number_from(number)

    def take_offer(self, number: int) -> None:
        """Take the offer of a number."""
        at = number - 1
        for bar in self._bars():
            if at < bar.offers:
                bar.accept(at)
                return
            at -= bar.offers

    def show_head_sentences(self) -> None:
        """Show what is to be said about meter and date."""
        self.head_said.show_sentences(self._head.sentences())
        self.number_offers()

    # --- the small actions -------------------------------------------------------------------------------

    def show_actions(self) -> None:
        """Show what can be done now."""
        has_sheet = self._model.snapshot is not None
        self.more_cautions.setVisible(has_sheet)
        self.add_note.setVisible(has_sheet and self.notes.isHidden())
        self.wrong_vehicle.setVisible(not self._model.is_empty)

    def take_look(self) -> None:
        """Take the text size that is applied now; a wide window does not pull the columns apart."""
        self._content.setMaximumWidth(scaled(WIDEST_PX))

    def _turn_cautions(self) -> None:
        is_open = self.all_cautions.isHidden()
        self.all_cautions.setVisible(is_open)
        self.more_cautions.setText(_("Fewer") if is_open else _("All cautions"))
        cautions = self._model.snapshot.cautions if self._model.snapshot else ()
        self.cautions.say("" if is_open or not cautions else cautions[0])

    def _open_notes(self) -> None:
        self.notes.show()
        self.show_actions()
        put_focus(self.notes)
