"""How tight is it: the fasteners of a vehicle, what was applied, and what is to be re-checked."""

from collections.abc import Callable
from functools import partial
from gettext import gettext as _

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QHideEvent, QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import (
    QBoxLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from wearlog.drawing.cautions import caution_line, cautions, maker_caution
from wearlog.drawing.torque_words import sheet_text, summary_text
from wearlog.fleet.problem import Doubt, Offer, WearlogError
from wearlog.fleet.torque import Fastener
from wearlog.window.bench_keys import focus_is_within, put_focus
from wearlog.window.flow import ElidedLabel
from wearlog.window.offer_bar import OfferBar, Sentence
from wearlog.window.page import Page
from wearlog.window.session import Session
from wearlog.window.theme import scaled, set_role
from wearlog.window.torque.detail import FastenerDetail
from wearlog.window.torque.empty import EmptySheet
from wearlog.window.torque.fastener_form import FastenerForm
from wearlog.window.torque.fastener_list import FastenerList
from wearlog.window.torque.head import TorqueHead
from wearlog.window.torque.model import TorqueModel
from wearlog.window.torque.traffic import OpenedTorques, TorqueTraffic
from wearlog.workshop.changes import Changes

START_AFRESH = Offer(_("Start afresh"), "start afresh")
#: A pause in typing after which the draft is kept, [ms].
PAUSE_MS = 180
#: Width of the panel beside the list; below the second width it goes under the list, [px] at plain text size.
DETAIL_PX, NARROW_PX = 264, 820
#: Width of that panel where there is room, from which width on, and the widest that the list becomes.
WIDE_DETAIL_PX, WIDE_PX, LIST_PX = 360, 1240, 920
#: No maximum, as Qt counts.
NO_MAXIMUM = 16_777_215


class TorquePage(Page):
    """The torque sheet of a vehicle."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(session, _("How tight is it?"), parent)
        self.model = TorqueModel(session.shown_units, self)
        self.traffic = TorqueTraffic(session.bench, session.background, self)
        self._is_saving = False
        self._wanted_id: int | None = None
        self._takes_kept = False
        self._takes_off: Fastener | None = None
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE_MS)
        self._pause.timeout.connect(self._on_pause)
        self.head = TorqueHead(self.model)
        self.note = OfferBar(_("About this torque sheet"))
        self.list = FastenerList(self.model, self.head, self.note, self._at_end)
        self.detail = FastenerDetail(self.model)
        self.form = FastenerForm()
        self.empty = EmptySheet()
        self._lay_out()
        self.set_primary(_("Save"), self.save)
        self.primary.setToolTip(_("Save  Ctrl+Enter"))
        self._add_keys()
        self._connect()
        self._take_look()
        self._show_state()

    def _lay_out(self) -> None:
        self.body.setSpacing(8)
        layout = self.layout()
        if layout is not None:
            layout.setSpacing(8)
        self.whose = QLabel()
        self.whose.setWordWrap(True)
        self.whose.setAccessibleName(_("About the values"))
        set_role(self.whose, "muted")
        self.caution = ElidedLabel()
        self.caution.show_text(caution_line())
        set_role(self.caution, "caption")
        self.more_cautions = QPushButton(_("All cautions"))
        set_role(self.more_cautions, "link")
        self.more_cautions.clicked.connect(self._turn_cautions)
        self.all_cautions = QLabel("\n".join((*cautions(), maker_caution())))
        self.all_cautions.setWordWrap(True)
        self.all_cautions.setAccessibleName(_("Cautions"))
        set_role(self.all_cautions, "muted")
        self.all_cautions.hide()
        line = QHBoxLayout()
        line.setSpacing(16)
        line.addWidget(self.caution, 1)
        line.addWidget(self.more_cautions)
        # From the outside in: each move of a filled widget to a parent costs as much as laying it out.
        self.stack = QStackedWidget()
        self.body.addWidget(self.stack, 1)
        self.stack.addWidget(self.empty)
        self.sheet = QWidget()
        self.area = _scrolling(self.sheet)
        self.stack.addWidget(self.area)
        self.side = QStackedWidget()
        self.columns = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self.columns.setSpacing(24)
        self.columns.addWidget(self.list, 100)
        self.columns.addWidget(self.side, 1)
        self.columns.addStretch(1)
        inside = QVBoxLayout(self.sheet)
        inside.setContentsMargins(0, 0, 0, 0)
        inside.setSpacing(8)
        inside.addWidget(self.whose)
        inside.addLayout(line)
        inside.addWidget(self.all_cautions)
        inside.addWidget(self.head)
        inside.addWidget(self.note)
        inside.addLayout(self.columns, 1)
        for widget in (self.detail, self.form):
            self.side.addWidget(_scrolling(widget))

    def _connect(self) -> None:
        model, traffic = self.model, self.traffic
        model.opened.connect(self._show_state)
        model.entry_changed.connect(lambda _number: self._show_primary())
        model.draft_changed.connect(self._pause.start)
        model.chosen.connect(self._bring_into_view)
        traffic.opened.connect(self._on_opened)
        traffic.saved.connect(self._on_saved)
        traffic.changed.connect(self._on_sheet_changed)
        traffic.refused.connect(self._on_refused)
        self.note.accepted.connect(self._on_note_offer)
        self.empty.start_wanted.connect(self._start)
        self.detail.change_wanted.connect(self._change_fastener)
        self.detail.adding_wanted.connect(self._add_fastener)
        self.detail.taking_off_wanted.connect(self._take_off)
        self.detail.earlier.void_wanted.connect(traffic.void)
        self.form.confirmed.connect(self._keep_fastener)
        self.form.left.connect(self._leave_form)
        self.session.preferences_changed.connect(self._on_preferences)

    def _add_keys(self) -> None:
        for keys in ("Ctrl+Return", "Ctrl+Enter"):
            self._add_key(keys, self.save)
        for number in range(1, 10):
            self._add_key(f"Alt+{number}", partial(self.list.take_offer, number))

    def _add_key(self, keys: str, slot: Callable[[], None]) -> None:
        shortcut = QShortcut(QKeySequence(keys), self)
        shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        shortcut.activated.connect(slot)

    def _at_end(self) -> None:
        self.primary.setFocus(Qt.FocusReason.TabFocusReason)

    # --- opening

    def show_vehicle(self, vehicle_id: int | None) -> None:
        """Show the torque sheet of a vehicle; what was typed for another one stays kept."""
        shown = self.model.snapshot.vehicle_id if self.model.snapshot else None
        if vehicle_id is None or vehicle_id == shown:
            return
        self._keep_typed()
        self._wanted_id = vehicle_id
        self.traffic.open(vehicle_id)

    def refresh(self, changes: Changes) -> None:
        """Read anew if something of the shown vehicle changed; what was typed stays."""
        snapshot = self.model.snapshot
        if snapshot is not None and changes.concern(snapshot.vehicle_id):
            # A save was taken back: the sheet is there again as it was typed.
            self._takes_kept = self.model.is_empty and changes.reopened_key.startswith("torque:")
            self._wanted_id = snapshot.vehicle_id
            self.traffic.open(snapshot.vehicle_id)

    def _on_opened(self, opened: OpenedTorques) -> None:
        snapshot = opened.snapshot
        if snapshot.vehicle_id != self._wanted_id:
            return
        shown = self.model.snapshot
        takes_kept, self._takes_kept = self._takes_kept, False
        if shown is not None and shown.vehicle_id == snapshot.vehicle_id and not takes_kept:
            self.model.show_again(snapshot, self.session.bench.by)
            return
        self.clear_problems()
        self._leave_form()
        had_focus = focus_is_within(self)
        self.model.show(snapshot, opened.kept, self.session.bench.by)
        self._tell_restored()
        if had_focus and self.isVisible():
            self.focus_first()

    def _tell_restored(self) -> None:
        text = _("This torque sheet was left half-filled and is as you left it.")
        self._say(*([Sentence(text, (START_AFRESH,), is_quiet=True)] if self.model.is_restored else []))

    def _say(self, *sentences: Sentence) -> None:
        self.note.show_sentences(sentences)
        self.list.number_offers()

    def _on_note_offer(self, _doubt: Doubt | None, offer: Offer) -> None:
        snapshot = self.model.snapshot
        if snapshot is None:
            return
        if offer == START_AFRESH:
            self._pause.stop()
            self.model.show(snapshot, None, self.session.bench.by)
            self.traffic.drop(snapshot.vehicle_id)
            self._say()
        elif self._takes_off is not None:
            fastener, self._takes_off = self._takes_off, None
            self._say()
            if offer.action == "take off":
                self.traffic.take_off(fastener)
        self.focus_first()

    # --- keeping and saving

    def _on_pause(self) -> None:
        if self.model.draft is not None and not self._is_saving:
            self.traffic.keep(self.model.draft)

    def _keep_typed(self) -> None:
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
        self._keep_typed()
        super().hideEvent(event)

    def save(self) -> None:
        """Save what was applied; what can't be understood is shown first, and nothing is lost."""
        if self.side.currentIndex() == 1:
            self.form.confirm()
            return
        snapshot, draft = self.model.snapshot, self.model.draft
        if snapshot is None or draft is None or not self.model.has_torques or self._is_saving:
            return
        if self.list.go_to_first_problem():
            return
        self._pause.stop()
        self._is_saving = True
        self._show_primary()
        self.traffic.save(draft, _("Saving the torques of {tag}").format(tag=snapshot.tag))

    def _on_saved(self, changes: Changes) -> None:
        self._is_saving = False
        self.clear_problems()
        self._say()
        snapshot = self.model.snapshot
        if snapshot is not None and changes.concern(snapshot.vehicle_id):
            self.model.show(snapshot, None, self.session.bench.by)
        self.session.tell_change(changes)

    def _on_refused(self, error: WearlogError) -> None:
        was_saving, self._is_saving = self._is_saving, False
        self._show_primary()
        if self.side.currentIndex() == 1 and not was_saving:
            self.form.show_problems(error.problems)
            return
        self.session.messages.problem(error, self)
        if was_saving:
            self._pause.start()

    # --- the sheet itself

    def _start(self, template: str) -> None:
        snapshot = self.model.snapshot
        if snapshot is not None:
            self.traffic.start(snapshot.vehicle_id, template)

    def _on_sheet_changed(self, changes: Changes) -> None:
        self._leave_form()
        self.clear_problems()
        self.session.tell_change(changes)

    def _change_fastener(self) -> None:
        line = self.model.line(self.model.chosen_id)
        if line is not None:
            self._open_form(line.fastener)

    def _add_fastener(self) -> None:
        snapshot = self.model.snapshot
        if snapshot is not None and snapshot.sheet is not None:
            self._open_form(
                Fastener(torque_sheet_id=snapshot.sheet.id, order=0, name="", low_nm=0.0, high_nm=0.0)
            )

    def _open_form(self, fastener: Fastener) -> None:
        snapshot = self.model.snapshot
        if snapshot is None:
            return
        self.form.show_fastener(
            fastener,
            stages=snapshot.stages,
            use_unit=snapshot.use_unit,
            torque_unit=self.model.shown.torque,
            vehicles=snapshot.vehicles,
        )
        self._turn_side(1)
        self.form.focus_first()

    def _keep_fastener(self, fastener: Fastener) -> None:
        self.traffic.keep_fastener(fastener)

    def _leave_form(self) -> None:
        if self.side.currentIndex() == 1:
            self._turn_side(0)
            self.focus_first()

    def _turn_side(self, index: int) -> None:
        # What is hidden with the focus on it hands the focus to its neighbour, a field of another fastener.
        self.setFocus(Qt.FocusReason.OtherFocusReason)
        self.side.setCurrentIndex(index)
        self._place_side()

    def _take_off(self) -> None:
        line = self.model.line(self.model.chosen_id)
        if line is None:
            return
        self._takes_off = line.fastener
        question = _("Take {name} off the torque sheet? What was recorded of it stays.").format(
            name=line.fastener.name
        )
        offers = (Offer(_("Take it off"), "take off"), Offer(_("Leave it"), "leave"))
        self._say(Sentence(question, offers))

    # --- showing

    def _show_state(self) -> None:
        snapshot = self.model.snapshot
        self._place_side()
        has_sheet = snapshot is not None and snapshot.sheet is not None
        self.stack.setCurrentWidget(self.area if has_sheet else self.empty)
        self.empty.show_snapshot(snapshot)
        self.primary.setVisible(has_sheet)
        if snapshot is None:
            self.set_subject("")
        else:
            about = f"{snapshot.tag}, {snapshot.vehicle_text} · {snapshot.depot}"
            summary = summary_text(snapshot)
            self.set_subject(f"{about}\n{summary}" if summary else about)
        if snapshot is not None and snapshot.sheet is not None:
            self.whose.setText(sheet_text(snapshot.sheet, snapshot))
        self._show_primary()

    def _show_primary(self) -> None:
        self.primary.setEnabled(self.model.has_torques and not self._is_saving)

    def _bring_into_view(self, fastener_id: int) -> None:
        row = self.list.row(fastener_id)
        if row is not None:
            self.area.ensureWidgetVisible(row, 0, scaled(24))

    def _turn_cautions(self) -> None:
        self.all_cautions.setVisible(self.all_cautions.isHidden())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the panel under the list where there is no room beside it."""
        super().resizeEvent(event)
        self._place_side()

    def _place_side(self) -> None:
        is_narrow = self.width() < scaled(NARROW_PX)
        wanted = QBoxLayout.Direction.TopToBottom if is_narrow else QBoxLayout.Direction.LeftToRight
        self.columns.setDirection(wanted)
        is_wide = self.width() > scaled(WIDE_PX)
        width = scaled(WIDE_DETAIL_PX if is_wide else DETAIL_PX)
        self.side.setMinimumWidth(0 if is_narrow else width)
        self.side.setMaximumWidth(NO_MAXIMUM if is_narrow else width)
        self.list.setMaximumWidth(NO_MAXIMUM if is_narrow else scaled(LIST_PX))
        # Side by side the two scroll by themselves; one under the other the page scrolls as a whole.
        for widget in (self.list, self.side):
            policy = QSizePolicy.Policy.Preferred if is_narrow else QSizePolicy.Policy.Ignored
            widget.setSizePolicy(QSizePolicy.Policy.Preferred, policy)
        self.list.stretch(is_whole=is_narrow)
        inside = self.side.currentWidget()
        content = inside.widget() if isinstance(inside, QScrollArea) else None
        tall = content.sizeHint().height() if content is not None and is_narrow else 0
        self.side.setMinimumHeight(tall)

    def _take_look(self) -> None:
        self.head.take_look()
        self.list.take_look()
        self.detail.take_look()
        self._place_side()

    def _on_preferences(self) -> None:
        self.model.set_shown(self.session.shown_units)
        self._take_look()

    def focus_first(self) -> None:
        """Put the hand at the fastener that is chosen, or at what the empty page offers."""
        if self.stack.currentWidget() is self.area and self.list.rows:
            self.list.focus_first()
        elif self.stack.currentWidget() is self.area:
            put_focus(self.detail.add)
        else:
            self.empty.focus_first()


def _scrolling(widget: QWidget) -> QScrollArea:
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    # What is wider than the panel wraps or gives way rather than being cut off.
    widget.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
    area.setWidget(widget)
    return area
