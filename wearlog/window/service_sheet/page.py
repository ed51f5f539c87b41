"""The service sheet: one machine, one page, in the order of the hand."""

from collections.abc import Callable
from functools import partial
from gettext import gettext as _

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QHideEvent, QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import QSizePolicy, QWidget

from wearlog.fleet.problem import ConnectionLost, Doubt, Offer, WearlogError
from wearlog.fleet.reading import Measurand, Method
from wearlog.window.bench_keys import focus_is_within, put_focus
from wearlog.window.offer_bar import Sentence
from wearlog.window.page import SIDE_PX, Page
from wearlog.window.service_sheet import answers
from wearlog.window.service_sheet.completeness import hindrances
from wearlog.window.service_sheet.desk import BenchDesk, Desk, Opened
from wearlog.window.service_sheet.head import SheetHead
from wearlog.window.service_sheet.model import SheetModel
from wearlog.window.service_sheet.sheet_body import SheetBody
from wearlog.window.service_sheet.traffic import SheetTraffic
from wearlog.window.session import Session
from wearlog.window.theme import scaled
from wearlog.workshop.changes import Changes
from wearlog.workshop.sheet import SheetDraft, SheetPreview, SheetSnapshot

#: What may be done about a sheet that was found or left half-filled.
START_AFRESH = Offer(_("Start afresh"), "start afresh")
MOVE_HERE = Offer(_("Move it here"), "move here")
STAY_HERE = Offer(_("Stay here"), "stay here")
#: The key of a sheet that was filled in from a list.
FILLED = "sheet:filled"
#: A pause in typing after which the draft is kept and looked at, [ms].
PAUSE_MS = 180
#: Below this width the head has a line of its own, [px] at plain text size.
NARROW_PX = 930


class SheetPage(Page):
    """What was measured: pick the vehicle, type what is due, see at once what it means, save.

    Attributes
    ----------
    model
        What is asked and what was typed.
    head, sheet
        The widgets of the head, and of what stands under it.
    """

    def __init__(self, session: Session, desk: Desk | None = None, parent: QWidget | None = None) -> None:
        super().__init__(session, _("What was measured?"), parent)
        self.model = SheetModel(session.shown_units, self)
        self.traffic = SheetTraffic(desk or BenchDesk(session.bench), session.background, self)
        self._is_moving = False
        self._saving: tuple[SheetSnapshot, SheetDraft] | None = None
        # Nobody knows whether the save was done: it is tried again until the server answers.
        self._is_unsure = self._is_told_unsure = False
        self._left: tuple[SheetSnapshot, SheetDraft] | None = None
        self._filled_for: int | None = None
        session.changed.connect(self._on_changed_anywhere)
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE_MS)
        self._pause.timeout.connect(self._on_pause)
        self.head = SheetHead(self.model)
        self.sheet = SheetBody(self.model, self.head, self._at_end)
        self.side_actions.addWidget(self.head)
        # Beside the head there is room for two short lines; the words must not push the fields away.
        self.subject.setWordWrap(True)
        self.subject.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.body.setSpacing(4)
        layout = self.layout()
        if layout is not None:
            # A two-stage sheet is to fit a small screen, the quiet bar included.
            layout.setSpacing(6)
        self.body.addWidget(self.sheet, 1)
        self.set_primary(_("Save"), self.save)
        self.primary.setToolTip(_("Save  Ctrl+Enter"))
        self._add_keys()
        self._connect()
        self._take_look()
        self._on_model_opened()

    def _connect(self) -> None:
        model, traffic = self.model, self.traffic
        model.opened.connect(self._on_model_opened)
        model.head_changed.connect(self._on_head_changed)
        model.draft_changed.connect(self._on_draft)
        model.previewed.connect(self._on_previewed)
        self.head.tag_confirmed.connect(self._on_tag)
        self.head.day.editingFinished.connect(self.sheet.show_head_sentences)
        self.sheet.head_said.accepted.connect(self._on_head_offer)
        self.sheet.note.accepted.connect(self._on_note_offer)
        self.sheet.entry_offered.connect(self._on_entry_offer)
        self.sheet.moving_wanted.connect(self.start_moving)
        self.banner.offered.connect(lambda offer: self._on_head_offer(None, offer))
        self.session.preferences_changed.connect(self._on_preferences)
        self.session.answered.connect(self._save_again)
        traffic.opened.connect(self._on_opened)
        traffic.not_found.connect(self._on_not_found)
        traffic.read_again.connect(self._on_read_again)
        traffic.previewed.connect(self._on_preview)
        traffic.saved.connect(self._on_saved)
        traffic.refused.connect(self._on_refused)
        traffic.tags_known.connect(self.head.set_tags)

    def _add_keys(self) -> None:
        # Not the button's own key: that one presses the button visibly for a tenth of a second first, and the
        # next tag would be scanned into the wrong field. The number pad's Enter is a key of its own.
        for keys in ("Ctrl+Return", "Ctrl+Enter"):
            self._add_key(keys, self.save)
        for number in range(1, 10):
            self._add_key(f"Alt+{number}", partial(self.sheet.take_offer, number))

    def _add_key(self, keys: str, slot: Callable[[], None]) -> None:
        shortcut = QShortcut(QKeySequence(keys), self)
        shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        shortcut.activated.connect(slot)

    def _at_end(self) -> None:
        """Past the last field stands the one action that is left."""
        self.primary.setFocus(Qt.FocusReason.TabFocusReason)

    # --- opening a vehicle's sheet -----------------------------------------------------------------------

    def show_vehicle(self, vehicle_id: int | None) -> None:
        """Open the sheet of a vehicle; what was typed for another one stays kept."""
        self.traffic.load_tags()
        shown = self.model.snapshot.vehicle_id if self.model.snapshot else None
        is_filled = self._filled_for is not None and self._filled_for == vehicle_id
        if vehicle_id is not None and (is_filled or vehicle_id not in {shown, self.traffic.wanted_id}):
            self._is_moving = False
            self.traffic.open(vehicle_id)

    def refresh(self, changes: Changes) -> None:
        """Ask anew if something of the shown vehicle changed; what was typed stays."""
        self.traffic.load_tags()
        if self._filled_for is not None:
            self.show_vehicle(self._filled_for)
            return
        snapshot = self.model.snapshot
        is_idle = self.model.draft is None or self.model.draft.is_empty
        is_mine = changes.reopened_key.startswith("sheet:")
        if changes.reopens is not None and is_mine and is_idle:
            # A save was taken back: the sheet is there again as it was typed.
            self.show_vehicle(changes.reopens)
        elif snapshot is not None and changes.concern(snapshot.vehicle_id):
            self.traffic.read_anew(snapshot.vehicle_id, snapshot.planned_number)

    def _on_tag(self, tag: str) -> None:
        snapshot = self.model.snapshot
        is_shown = snapshot is not None and tag.casefold() == snapshot.tag.casefold()
        if is_shown and not self._is_moving:
            self.sheet.walk.go(self.head.tag, 1)
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
        left = self._typed_so_far() if self._saving is None else None
        if left is not None and left[0].vehicle_id == opened.snapshot.vehicle_id:
            left = None
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
        if self.model.snapshot is not None and self.model.snapshot.planned_number:
            text = _("Job card {number}: its work is asked for first; tick what was done.").format(
                number=self.model.snapshot.planned_number
            )
            said.append(Sentence(text, is_quiet=True))
        if self.model.is_restored:
            text = _("This sheet was left half-filled and is as you left it.")
            if self._filled_for is not None:
                text = _("Filled in from the list: check what is ticked, type meter and readings, save.")
            said.append(
                Sentence(
                    text,
                    (START_AFRESH,),
                    is_quiet=True,
                )
            )
        if self._left is not None:
            text = _("The half-filled sheet of {tag} is kept.").format(tag=self._left[0].tag)
            said.append(Sentence(text, () if self.model.is_restored else (MOVE_HERE,), is_quiet=True))
        self._filled_for = None
        self._say(*said)

    def _on_changed_anywhere(self, changes: Changes) -> None:
        """Remember that a list filled in a sheet, which is opened anew when this page is shown."""
        if changes.reopened_key == FILLED:
            self._filled_for = changes.reopens

    def _say(self, *sentences: Sentence) -> None:
        self.sheet.note.show_sentences(sentences)
        self.sheet.number_offers()

    # --- the wrong vehicle -------------------------------------------------------------------------------

    def start_moving(self) -> None:
        """Ask for the right vehicle; what was typed moves there."""
        if self._typed_so_far() is None:
            put_focus(self.head.tag)
            return
        self._is_moving = True
        text = _("Type or scan the tag of the right vehicle: what was typed moves there.")
        self._say(Sentence(text, (STAY_HERE,), is_quiet=True))
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
        self._say(Sentence(text, is_quiet=True))

    def _on_note_offer(self, _doubt: Doubt | None, offer: Offer) -> None:
        snapshot, left = self.model.snapshot, self._left
        if offer == MOVE_HERE and snapshot is not None and left is not None:
            self._left = None
            self._move(left, Opened(snapshot, None))
        elif offer == START_AFRESH and snapshot is not None:
            self.model.show(snapshot, None, self.session.bench.by)
            self.traffic.drop(snapshot.vehicle_id)
            self._say()
            put_focus(self.head.meter)
        elif offer == STAY_HERE and snapshot is not None:
            self._is_moving = False
            self.head.tag.setText(snapshot.tag)
            self._say()
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
        row = self.sheet.row(key)
        if row is not None:
            row.carry_out(doubt, offer)

    # --- typing, keeping, looking ahead ------------------------------------------------------------------

    def _on_draft(self) -> None:
        self._pause.start()
        self._show_primary()

    def _on_head_changed(self) -> None:
        # While the meter is typed, a problem waits for a pause.
        if not self.head.meter.hasFocus():
            self.sheet.show_head_sentences()

    def _on_pause(self) -> None:
        draft = self.model.draft
        if draft is None:
            return
        self.traffic.keep(draft)
        self.traffic.look_ahead(draft)
        self.sheet.refresh_rows(tells_problems=True)
        self.sheet.show_head_sentences()

    def _on_preview(self, vehicle_id: int, preview: SheetPreview) -> None:
        if self.model.snapshot is not None and self.model.snapshot.vehicle_id == vehicle_id:
            self.model.show_preview(preview)

    def _on_previewed(self) -> None:
        self.sheet.refresh_rows()
        self.sheet.show_head_sentences()

    def _keep_now_and_then(self) -> None:
        """Keep what the pause has not kept yet."""
        if self._pause.isActive() and self.model.draft is not None:
            self._pause.stop()
            self.traffic.keep(self.model.draft)

    def method_at_hand(self) -> tuple[Measurand, Method] | None:
        """Return what the entry with the focus asks for, and how it is read."""
        row = next((row for row in self.sheet.rows() if focus_is_within(row)), None)
        return None if row is None else (self.model.asked(row.key).measurand, self.model.way(row.key).method)

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

    # --- saving ------------------------------------------------------------------------------------------

    def save(self) -> None:
        """Save the sheet; what hinders it is said all at once and nothing is lost."""
        if self._is_unsure:
            self._save_again()
        typed = self._typed_so_far()
        if typed is None or self._saving is not None:
            return
        problems = hindrances(self.model)
        if problems:
            self.session.messages.problem(WearlogError(*problems), self)
            self.sheet.go_to_first_problem()
            return
        self._pause.stop()
        snapshot, draft = self._saving = (typed[0], self.model.named_for_saving(typed[1]))
        self._show_primary()
        self.traffic.save(draft, _("Saving the service of {tag}").format(tag=snapshot.tag))
        # The next tag may be scanned before the save has ended.
        put_focus(self.head.tag)

    def _save_again(self) -> None:
        """Try a save again of which nobody knows whether it was done; it is not done twice."""
        if self._is_unsure and self._saving is not None:
            self._is_unsure = False
            snapshot, draft = self._saving
            self.traffic.save(draft, _("Saving the service of {tag}").format(tag=snapshot.tag))

    def _on_saved(self, changes: Changes) -> None:
        saved, self._saving = self._saving, None
        self._is_told_unsure = False
        self._left = None
        self.clear_problems()
        shown = self.model.snapshot
        if saved is not None and shown is not None and shown.vehicle_id == saved[0].vehicle_id:
            self._say()
            self.model.clear()
        self._show_primary()
        self.session.tell_change(changes)

    def _on_lost(self, error: ConnectionLost) -> None:
        """Keep everything as it is until the server answers, and say so, once."""
        self._is_unsure = True
        self._show_primary()
        if not self._is_told_unsure:
            self._is_told_unsure = True
            self.session.messages.problem(error, self)
            text = _(
                "The sheet stays as it is and is saved as soon as the server answers; nothing is saved twice."
            )
            self._say(Sentence(text, is_quiet=True))

    def _on_refused(self, error: WearlogError) -> None:
        if isinstance(error, ConnectionLost) and self._saving is not None:
            self._on_lost(error)
            return
        refused, self._saving = self._saving, None
        self._is_told_unsure = False
        self._show_primary()
        self.session.messages.problem(error, self)
        if refused is None:
            return
        self.traffic.keep(refused[1])
        shown = self.model.snapshot
        if shown is not None and shown.vehicle_id == refused[0].vehicle_id:
            put_focus(self.head.meter)

    # --- showing -----------------------------------------------------------------------------------------

    def _on_model_opened(self) -> None:
        snapshot = self.model.snapshot
        self.set_subject(f"{snapshot.vehicle_text}\n{snapshot.depot}" if snapshot else "")
        self._show_primary()
        self.sheet.show_head_sentences()

    def _show_primary(self) -> None:
        self.primary.setEnabled(self._is_unsure or (not self.model.is_empty and self._saving is None))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the head under the heading where there is no room beside it."""
        super().resizeEvent(event)
        self._place_head()

    def _place_head(self) -> None:
        self.head.fit(self.width() - 2 * SIDE_PX)
        is_narrow = self.width() < scaled(NARROW_PX)
        if is_narrow and self.body.indexOf(self.head) < 0:
            self.side_actions.removeWidget(self.head)
            self.body.insertWidget(0, self.head)
        elif not is_narrow and self.side_actions.indexOf(self.head) < 0:
            self.body.removeWidget(self.head)
            self.side_actions.addWidget(self.head)

    def _take_look(self) -> None:
        """Take the text size that is applied now; wide windows don't pull the columns apart."""
        self.sheet.take_look()
        self._place_head()

    def _on_preferences(self) -> None:
        self._take_look()
        self.model.set_shown(self.session.shown_units)

    def focus_first(self) -> None:
        """Start at the meter of the chosen vehicle; without one, at the tag."""
        if self.model.draft is None and self._saving is None:
            self.show_vehicle(self.session.vehicle_id)
        put_focus(self.head.meter if self.model.draft is not None else self.head.tag)
