"""The service sheet: one machine, one page, in the order of the hand."""

from collections.abc import Callable, Iterator
from gettext import gettext as _

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QHideEvent, QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from wearlog.fleet.problem import Doubt, Offer, WearlogError
from wearlog.window.page import Page
from wearlog.window.service_sheet import answers
from wearlog.window.service_sheet.bench_keys import EnterWalk, focus_is_within, put_focus
from wearlog.window.service_sheet.completeness import hindrances
from wearlog.window.service_sheet.desk import BenchDesk, Desk, Opened
from wearlog.window.service_sheet.head import SheetHead
from wearlog.window.service_sheet.model import SheetModel
from wearlog.window.service_sheet.offer_bar import OfferBar, Sentence
from wearlog.window.service_sheet.outcome import ElidedLabel
from wearlog.window.service_sheet.stage_block import StageBlock
from wearlog.window.service_sheet.traffic import SheetTraffic
from wearlog.window.session import Session
from wearlog.window.theme import scaled, set_role
from wearlog.workshop.changes import Changes
from wearlog.workshop.sheet import SheetDraft, SheetSnapshot

#: What may be done about a sheet that was found or left half-filled.
START_AFRESH = Offer(_("Start afresh"), "start afresh")
MOVE_HERE = Offer(_("Move it here"), "move here")
STAY_HERE = Offer(_("Stay here"), "stay here")
#: A pause in typing after which the draft is kept and looked at, [ms].
PAUSE_MS = 180
#: Below this width the head has a line of its own, [px] at plain text size.
NARROW_PX = 930
#: Widest that the stages are laid out, [px] at plain text size.
WIDEST_PX = 1060


class SheetPage(Page):
    """What was measured: pick the vehicle, type what is due, see at once what it means, save.

    Attributes
    ----------
    model
        What is asked and what was typed.
    head, blocks
        The widgets of the head and of each stage.
    """

    def __init__(self, session: Session, desk: Desk | None = None, parent: QWidget | None = None) -> None:
        super().__init__(session, _("What was measured?"), parent)
        self.model = SheetModel(session.shown_units, self)
        self.traffic = SheetTraffic(desk or BenchDesk(session.bench), session.background, self)
        self.walk = EnterWalk(self._stops, self._at_end, self)
        self.blocks: list[StageBlock] = []
        self._is_moving = False
        self._is_saving = False
        self._left: tuple[SheetSnapshot, SheetDraft] | None = None
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE_MS)
        self._pause.timeout.connect(self._on_pause)
        self.head = SheetHead(self.model)
        self.side_actions.addWidget(self.head)
        # Beside the head there is room for two short lines; the words must not push the fields away.
        self.subject.setWordWrap(True)
        self.subject.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.set_primary(_("Save"), self.save, QKeySequence("Ctrl+Return"))
        self._make_body()
        self._make_keys()
        self._connect()
        self._take_look()
        self._rebuild()

    # --- making ------------------------------------------------------------------------------------------

    def _make_body(self) -> None:
        self.body.setSpacing(4)
        self.cautions = ElidedLabel()
        set_role(self.cautions, "caption")
        self.all_cautions = QLabel()
        self.all_cautions.setWordWrap(True)
        set_role(self.all_cautions, "muted")
        self.all_cautions.hide()
        line = QHBoxLayout()
        line.setSpacing(16)
        line.addWidget(self.cautions, 1)
        self.more_cautions = self._link(_("All cautions"), self._turn_cautions)
        self.add_note = self._link(_("Note"), self._open_note)
        self.wrong_vehicle = self._link(_("Wrong vehicle?"), self.start_moving)
        for button in (self.more_cautions, self.add_note, self.wrong_vehicle):
            line.addWidget(button)
        self.note = OfferBar(_("About this sheet"))
        self.head_said = OfferBar(_("Questions about the meter"))
        self.notes = QLineEdit()
        self.notes.setAccessibleName(_("Notes"))
        self.notes.setPlaceholderText(_("notes on this service"))
        self.notes.setProperty("bench", True)
        self.notes.hide()
        self.empty = QLabel(_("Type or scan the tag of a vehicle and press Enter."))
        set_role(self.empty, "muted")
        content = QWidget()
        self._stages = QVBoxLayout(content)
        self._stages.setContentsMargins(0, 0, 4, 0)
        self._stages.setSpacing(10)
        self.scroller = QScrollArea()
        self.scroller.setWidgetResizable(True)
        self.scroller.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.scroller.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.scroller.setWidget(content)
        self._content = content
        self.body.addWidget(self.head_said)
        self.body.addLayout(line)
        for widget in (self.all_cautions, self.note, self.notes, self.empty):
            self.body.addWidget(widget)
        self.body.addWidget(self.scroller, 1)

    def _link(self, text: str, slot: Callable[[], None]) -> QPushButton:
        button = QPushButton(text)
        set_role(button, "link")
        button.clicked.connect(slot)
        return button

    def _make_keys(self) -> None:
        # The number pad's Enter is another key than the one beside the letters.
        keypad = QShortcut(QKeySequence("Ctrl+Enter"), self)
        keypad.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        keypad.activated.connect(self.save)
        for number in range(1, 10):
            shortcut = QShortcut(QKeySequence(f"Alt+{number}"), self)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(lambda n=number: self._take_offer(n))
        for widget in (*self.head.targets(), self.notes):
            self.walk.watch(widget, has_own_enter=widget is self.head.tag)

    def _connect(self) -> None:
        model = self.model
        model.opened.connect(self._rebuild)
        model.entry_changed.connect(self._on_entry)
        model.task_changed.connect(self._on_task)
        model.head_changed.connect(self._show_head_sentences)
        model.draft_changed.connect(self._on_draft)
        model.previewed.connect(self._on_previewed)
        self.head.tag_confirmed.connect(self._on_tag)
        self.head_said.accepted.connect(self._on_head_offer)
        self.note.accepted.connect(self._on_note_offer)
        self.notes.textEdited.connect(model.set_notes)
        self.banner.offered.connect(lambda offer: self._on_head_offer(None, offer))
        self.session.preferences_changed.connect(self._on_preferences)
        traffic = self.traffic
        traffic.opened.connect(self._on_opened)
        traffic.not_found.connect(self._on_not_found)
        traffic.read_again.connect(self._on_read_again)
        traffic.previewed.connect(model.show_preview)
        traffic.saved.connect(self._on_saved)
        traffic.refused.connect(self._on_refused)
        traffic.tags_known.connect(self.head.set_tags)

    # --- keys --------------------------------------------------------------------------------------------

    def _stops(self) -> list[QWidget]:
        stops = list(self.head.stops())
        for block in self.blocks:
            stops += block.stops()
        if not self.notes.isHidden():
            stops.append(self.notes)
        return stops

    def _at_end(self) -> None:
        """Past the last field stands the one action that is left."""
        self.primary.setFocus(Qt.FocusReason.TabFocusReason)

    def _bars(self) -> Iterator[OfferBar]:
        yield self.head_said
        yield self.note
        for block in self.blocks:
            yield from block.bars()

    def _number_offers(self) -> None:
        number = 1
        for bar in self._bars():
            number = bar.number_from(number)

    def _take_offer(self, number: int) -> None:
        at = number - 1
        for bar in self._bars():
            if at < bar.offers:
                bar.accept(at)
                return
            at -= bar.offers

    # --- opening a vehicle's sheet -----------------------------------------------------------------------

    def show_vehicle(self, vehicle_id: int | None) -> None:
        """Open the sheet of a vehicle; what was typed for another one stays kept."""
        self.traffic.load_tags()
        shown = self.model.snapshot.vehicle_id if self.model.snapshot else None
        if vehicle_id is not None and vehicle_id not in {shown, self.traffic.wanted_id}:
            self._is_moving = False
            self.traffic.open(vehicle_id)

    def refresh(self, changes: Changes) -> None:
        """Ask anew if something of the shown vehicle changed; what was typed stays."""
        self.traffic.load_tags()
        snapshot = self.model.snapshot
        if snapshot is not None and changes.concern(snapshot.vehicle_id):
            self.traffic.read_anew(snapshot.vehicle_id)

    def _on_tag(self, tag: str) -> None:
        snapshot = self.model.snapshot
        is_shown = snapshot is not None and tag.casefold() == snapshot.tag.casefold()
        if is_shown and not self._is_moving:
            self.walk.go(self.head.tag, 1)
        elif tag:
            self.traffic.open_tagged(tag)

    def _on_not_found(self, error: WearlogError) -> None:
        self.head.tag.mark_problem(True)
        self.session.messages.problem(error, self)
        put_focus(self.head.tag)

    def _on_opened(self, opened: Opened) -> None:
        self.clear_problems()
        self.head.tag.mark_problem(False)
        is_move, self._is_moving = self._is_moving, False
        left = self._typed_so_far()
        self._keep_now_and_then()
        if is_move and left is not None and left[0].vehicle_id != opened.snapshot.vehicle_id:
            self._move(left, opened)
        else:
            self._left = left
            self.model.show(opened.snapshot, opened.kept, self.session.bench.by)
            self._tell_about_sheet()
        self.session.choose(opened.snapshot.vehicle_id)
        if self.isVisible() and (focus_is_within(self.head) or not focus_is_within(self.window())):
            put_focus(self.head.meter)

    def _on_read_again(self, opened: Opened) -> None:
        shown = self.model.snapshot
        if shown is not None and opened.snapshot.vehicle_id == shown.vehicle_id:
            draft = None if self.model.is_empty else self.model.draft
            was_restored = self.model.is_restored
            self.model.show(opened.snapshot, draft, self.session.bench.by)
            self.model.is_restored = was_restored

    def _typed_so_far(self) -> tuple[SheetSnapshot, SheetDraft] | None:
        snapshot, draft = self.model.snapshot, self.model.draft
        return None if snapshot is None or draft is None or draft.is_empty else (snapshot, draft)

    def _tell_about_sheet(self) -> None:
        """Say quietly that a sheet was found half-filled, or that another one was left so."""
        said: list[Sentence] = []
        if self.model.is_restored:
            said.append(
                Sentence(_("This sheet was left half-filled and is as you left it."), (START_AFRESH,))
            )
        if self._left is not None:
            text = _("The half-filled sheet of {tag} is kept.").format(tag=self._left[0].tag)
            said.append(Sentence(text, () if self.model.is_restored else (MOVE_HERE,)))
        self.note.show_sentences(said)
        self._number_offers()

    # --- the wrong vehicle -------------------------------------------------------------------------------

    def start_moving(self) -> None:
        """Ask for the right vehicle; what was typed moves there."""
        if self._typed_so_far() is None:
            put_focus(self.head.tag)
            return
        self._is_moving = True
        text = _("Type or scan the tag of the right vehicle: what was typed moves there.")
        self.note.show_sentences([Sentence(text, (STAY_HERE,))])
        self._number_offers()
        put_focus(self.head.tag)

    def _move(self, left: tuple[SheetSnapshot, SheetDraft], opened: Opened) -> None:
        if opened.kept is not None and not opened.kept.is_empty:
            self._left = left
            self.model.show(opened.snapshot, opened.kept, self.session.bench.by)
            self._tell_about_sheet()
            return
        before, draft = left
        self._left = None
        self.traffic.drop(before.vehicle_id)
        self.model.show_moved(opened.snapshot, draft, before)
        text = _("Moved from {before} to {tag}.").format(before=before.tag, tag=opened.snapshot.tag)
        self.note.show_sentences([Sentence(text)])

    def _on_note_offer(self, _doubt: Doubt | None, offer: Offer) -> None:
        snapshot, left = self.model.snapshot, self._left
        if offer == MOVE_HERE and snapshot is not None and left is not None:
            self._left = None
            self._move(left, Opened(snapshot, None))
        elif offer == START_AFRESH and snapshot is not None:
            self.model.show(snapshot, None, self.session.bench.by)
            self.traffic.drop(snapshot.vehicle_id)
            self.note.show_sentences([])
            put_focus(self.head.meter)
        elif offer == STAY_HERE and snapshot is not None:
            self._is_moving = False
            self.head.tag.setText(snapshot.tag)
            self.note.show_sentences([])
            put_focus(self.head.meter)

    def _on_head_offer(self, _doubt: Doubt | None, offer: Offer) -> None:
        if offer.action == answers.METER_REPLACED:
            self.model.set_meter_replaced(True)
            put_focus(self.head.old_meter)
        elif offer.action == answers.OTHER_VEHICLE:
            self.start_moving()
        else:
            put_focus(self.head.meter)

    def _on_entry_offer(self, key: str, doubt: Doubt | None, offer: Offer) -> None:
        if offer.action == answers.OTHER_VEHICLE:
            self.start_moving()
            return
        for block in self.blocks:
            if key in block.rows:
                block.rows[key].carry_out(doubt, offer)

    # --- typing, keeping, looking ahead ------------------------------------------------------------------

    def _on_draft(self) -> None:
        self._pause.start()
        self._show_actions()

    def _on_pause(self) -> None:
        draft = self.model.draft
        if draft is None:
            return
        self.traffic.keep(draft)
        self.traffic.look_ahead(draft)
        for block in self.blocks:
            for row in block.rows.values():
                row.refresh(tells_problem=True)
        self._show_head_sentences()

    def _keep_now_and_then(self) -> None:
        """Keep what the pause has not kept yet."""
        if self._pause.isActive() and self.model.draft is not None:
            self._pause.stop()
            self.traffic.keep(self.model.draft)

    def may_leave(self) -> bool:
        """Keep the half-filled sheet before the page or the window goes."""
        if self._pause.isActive() and self.model.draft is not None:
            self._pause.stop()
            self.traffic.keep_now(self.model.draft)
        return True

    def hideEvent(self, event: QHideEvent) -> None:
        """Keep the half-filled sheet."""
        self._keep_now_and_then()
        super().hideEvent(event)

    def _on_previewed(self) -> None:
        for block in self.blocks:
            for row in block.rows.values():
                row.refresh()
        self._show_head_sentences()

    def _on_entry(self, key: str) -> None:
        for block in self.blocks:
            if key in block.rows:
                block.rows[key].refresh()

    def _on_task(self, key: str) -> None:
        for block in self.blocks:
            if key in block.tasks:
                block.refresh_task(key)

    def _show_head_sentences(self) -> None:
        self.head_said.show_sentences(self.head.sentences())
        self._number_offers()

    # --- saving ------------------------------------------------------------------------------------------

    def save(self) -> None:
        """Save the sheet; what hinders it is said all at once and nothing is lost."""
        draft, snapshot = self.model.draft, self.model.snapshot
        if draft is None or snapshot is None or self._is_saving:
            return
        problems = hindrances(self.model)
        if problems:
            self.session.messages.problem(WearlogError(*problems), self)
            self._go_to_first_problem()
            return
        self._pause.stop()
        self._is_saving = True
        self._show_actions()
        self.traffic.save(draft, _("Saving the service of {tag}").format(tag=snapshot.tag))

    def _go_to_first_problem(self) -> None:
        draft = self.model.draft
        if self.model.meter_problem is not None or (draft is not None and not draft.meter_text.strip()):
            put_focus(self.head.meter)
            return
        for block in self.blocks:
            for key, row in block.rows.items():
                if self.model.problem(key) is not None:
                    put_focus(row.field)
                    return
            for key, task in block.tasks.items():
                if self.model.task_problems(key):
                    put_focus(task.before)
                    return

    def _on_saved(self, changes: Changes) -> None:
        self._is_saving = False
        self._left = None
        self.clear_problems()
        self.note.show_sentences([])
        self.model.clear()
        self.session.tell_change(changes)
        if self.isVisible():
            put_focus(self.head.tag)

    def _on_refused(self, error: WearlogError) -> None:
        self._is_saving = False
        self._show_actions()
        self.session.messages.problem(error, self)
        if self.model.draft is not None:
            self.traffic.keep(self.model.draft)

    # --- showing -----------------------------------------------------------------------------------------

    def _rebuild(self) -> None:
        """Lay out the sheet of another vehicle; the focus stays where it was if that place still is."""
        focus = QApplication.focusWidget()
        name = focus.accessibleName() if focus is not None and self.isAncestorOf(focus) else ""
        while (item := self._stages.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        snapshot = self.model.snapshot
        self.blocks = []
        for block in snapshot.blocks if snapshot else ():
            self._add_block(StageBlock(self.model, block))
        self._stages.addStretch(1)
        self.set_subject(f"{snapshot.vehicle_text}\n{snapshot.depot}" if snapshot else "")
        cautions = snapshot.cautions if snapshot else ()
        self.cautions.say(cautions[0] if cautions else "")
        self.all_cautions.setText("\n".join(cautions))
        self.notes.setText(self.model.draft.notes if self.model.draft else "")
        self.notes.setVisible(bool(self.notes.text()))
        self.empty.setVisible(snapshot is None)
        self._show_actions()
        self._show_head_sentences()
        if name:
            again = next((w for w in self._stops() if w.accessibleName() == name), None)
            if again is not None:
                put_focus(again)

    def _add_block(self, block: StageBlock) -> None:
        self.blocks.append(block)
        self._stages.addWidget(block)
        block.accepted.connect(self._on_entry_offer)
        block.grew.connect(self._on_grew)
        block.connect_ticks(self.walk.go)
        for widget in block.targets():
            self.walk.watch(widget)

    def _on_grew(self) -> None:
        for block in self.blocks:
            for widget in block.targets():
                self.walk.watch(widget)
        self._number_offers()

    def _show_actions(self) -> None:
        has_sheet = self.model.snapshot is not None
        is_typed = not self.model.is_empty
        self.primary.setEnabled(has_sheet and is_typed and not self._is_saving)
        self.more_cautions.setVisible(has_sheet)
        self.add_note.setVisible(has_sheet and self.notes.isHidden())
        self.wrong_vehicle.setVisible(is_typed)

    def _turn_cautions(self) -> None:
        self.all_cautions.setVisible(self.all_cautions.isHidden())

    def _open_note(self) -> None:
        self.notes.show()
        self._show_actions()
        put_focus(self.notes)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the head under the heading where there is no room beside it."""
        super().resizeEvent(event)
        self._place_head()

    def _place_head(self) -> None:
        is_narrow = self.width() < scaled(NARROW_PX)
        if is_narrow and self.body.indexOf(self.head) < 0:
            self.side_actions.removeWidget(self.head)
            self.body.insertWidget(0, self.head)
        elif not is_narrow and self.side_actions.indexOf(self.head) < 0:
            self.body.removeWidget(self.head)
            self.side_actions.addWidget(self.head)

    def _take_look(self) -> None:
        """Take the text size that is applied now; wide windows don't pull the columns apart."""
        self.head.take_look()
        self._content.setMaximumWidth(scaled(WIDEST_PX))
        self._place_head()

    def _on_preferences(self) -> None:
        self._take_look()
        self.model.set_shown(self.session.shown_units)

    def focus_first(self) -> None:
        """Start at the meter if the vehicle is known, else at the tag."""
        put_focus(self.head.meter if self.model.draft is not None else self.head.tag)
