"""Which vehicle is it: added after a template or changed, retired and brought back, all on one sheet."""

from functools import partial
from gettext import gettext as _
from itertools import pairwise

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import QLabel, QLayout, QPushButton, QScrollArea, QStackedWidget, QVBoxLayout, QWidget

from wearlog.drawing.vehicle_words import field_text, field_value_text
from wearlog.fleet.problem import EditConflict, WearlogError
from wearlog.window.conflict import ConflictPanel
from wearlog.window.flow import FlowLayout
from wearlog.window.page import Page, hairline
from wearlog.window.service_sheet.bench_keys import put_focus
from wearlog.window.session import Session
from wearlog.window.theme import scaled, set_role
from wearlog.window.vehicle.asking import Asking
from wearlog.window.vehicle.head_form import HeadForm
from wearlog.window.vehicle.lay_ups import LayUpRows
from wearlog.window.vehicle.model import NEW, VehicleModel
from wearlog.window.vehicle.stage_block import StageBlock
from wearlog.window.vehicle.traffic import VehicleTraffic
from wearlog.wording import day_text
from wearlog.workshop.changes import Changes
from wearlog.workshop.vehicles_snapshot import VehicleSnapshot
from wearlog.workshop.vehicles_templates import Template

#: Pages narrower than this have no room for all buttons beside the heading, before the text scale, [px].
NARROW_PX = 760


class VehiclePage(Page):
    """One vehicle of the fleet, or one that joins it."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(session, _("Which vehicle is it?"), parent)
        self.model = VehicleModel(session.shown_units, self)
        self.traffic = VehicleTraffic(session.bench, session.background, self)
        self._is_saving = False
        self._wants_new = False
        self._made_like: Template | None = None
        self.head = HeadForm(self.model)
        self.lay_ups = LayUpRows(self.model)
        self.blocks: list[StageBlock] = []
        self.add_stage = QPushButton(_("Add a &stage"))
        self.gone = QLabel()
        self.nothing = QLabel(_("Choose a vehicle in the fleet, or add one with Ctrl+N."))
        self.conflict = ConflictPanel()
        self.asking = Asking(self.model, self.traffic)
        self._make_actions()
        self._lay_out()
        self._connect()
        self.set_primary(_("Sa&ve"), self.save)
        self._show_state()

    # --- making

    def _make_actions(self) -> None:
        self.like_this = QPushButton(_("New one li&ke this"))
        self.keep_template = QPushButton(_("Keep as &template …"))
        self.retire = QPushButton(_("Ret&ire …"))
        self.reset = QPushButton(_("&Undo what was entered"))
        for button in self._actions:
            button.setAccessibleName(button.text().replace("&", "").removesuffix(" …"))

        # With a parent from the start: shown without one it would be a window of its own for a moment.
        self.narrow_actions = QWidget(self)
        self._narrow_row = FlowLayout(self.narrow_actions, spacing=8)
        self.narrow_actions.hide()
        self._place_actions()

    @property
    def _actions(self) -> tuple[QPushButton, ...]:
        return (self.reset, self.like_this, self.keep_template, self.retire)

    def _place_actions(self) -> None:
        """Put the small buttons under the heading where there is no room beside it."""
        is_narrow = self.width() < scaled(NARROW_PX)
        row: QLayout = self._narrow_row if is_narrow else self.side_actions
        if row.indexOf(self.reset) >= 0:
            return
        for button in self._actions:
            (self.side_actions if is_narrow else self._narrow_row).removeWidget(button)
            row.addWidget(button)
            self.side_actions.setAlignment(button, Qt.AlignmentFlag.AlignTop)
        self.narrow_actions.setVisible(is_narrow)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Find room for the small buttons."""
        super().resizeEvent(event)
        self._place_actions()

    def _lay_out(self) -> None:
        set_role(self.nothing, "muted")
        set_role(self.gone, "caption")
        self.gone.setAccessibleName(_("Stages off service"))
        set_role(self.add_stage, "link")
        self.add_stage.setAccessibleName(_("Add a stage"))
        self._stages = QVBoxLayout()
        self._stages.setSpacing(16)
        sheet = QWidget()
        column = QVBoxLayout(sheet)
        column.setContentsMargins(0, 0, 8, 8)
        column.setSpacing(16)
        column.addWidget(self.head)
        column.addLayout(self._stages)
        column.addWidget(self.add_stage, 0, Qt.AlignmentFlag.AlignLeft)
        column.addWidget(self.gone)
        column.addWidget(hairline())
        column.addWidget(self.lay_ups)
        column.addStretch(1)
        self.stack = QStackedWidget()
        self.area = _scrolling(sheet)
        for widget in (self.nothing, self.area, _scrolling(self.conflict)):
            self.stack.addWidget(widget)
        self.nothing.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.body.setSpacing(12)
        self.body.addWidget(self.narrow_actions)
        self.body.addWidget(self.asking)
        self.body.addWidget(self.stack, 1)

    def _connect(self) -> None:
        model, traffic = self.model, self.traffic
        model.opened.connect(self._on_model_opened)
        model.reshaped.connect(self._make_blocks)
        model.changed.connect(self._show_state)
        traffic.opened.connect(self._on_opened)
        traffic.saved.connect(self._on_saved)
        traffic.changed.connect(self._on_changed_by_us)
        traffic.refused.connect(self._on_refused)
        self.head.erase_wanted.connect(self.asking.ask_erase)
        self.add_stage.clicked.connect(self._add_stage)
        self.like_this.clicked.connect(self._begin_like_this)
        self.keep_template.clicked.connect(self.asking.ask_template)
        self.retire.clicked.connect(self._retire_or_bring_back)
        self.reset.clicked.connect(self._undo_entered)
        self.conflict.chosen.connect(self._settle)
        self.conflict.left.connect(self._leave_conflict)
        self.asking.turned.connect(self._on_asked)
        self.session.preferences_changed.connect(self._on_preferences)
        for keys in ("Ctrl+Return", "Ctrl+Enter"):
            shortcut = QShortcut(QKeySequence(keys), self)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(self.save)

    # --- opening

    def show_vehicle(self, vehicle_id: int | None) -> None:
        """Show a vehicle; one that was being added is remembered."""
        if self._wants_new:
            return
        if vehicle_id is None:
            self.stack.setCurrentWidget(self.nothing)
            self._show_state()
        else:
            self.traffic.open(vehicle_id)

    def begin(self, template: Template | None = None) -> None:
        """Add a vehicle; what was entered for one before comes back."""
        self._wants_new, self._made_like = True, template
        self.traffic.open(None)

    def refresh(self, changes: Changes) -> None:
        """Read the vehicle anew, unless something is entered that is not saved."""
        vehicle_id = self.model.vehicle_id
        if vehicle_id is not None and vehicle_id != NEW and not changes.concern(vehicle_id):
            return
        if vehicle_id and not self.model.is_touched:
            self.traffic.open(vehicle_id)

    def _on_opened(self, snapshot: VehicleSnapshot) -> None:
        is_wanted = (
            self._wants_new if snapshot.vehicle is None else snapshot.vehicle_id == self.session.vehicle_id
        )
        if not is_wanted:
            return
        self._wants_new = False
        if snapshot.vehicle_id == self.model.vehicle_id and snapshot.vehicle is not None:
            self.model.reread(snapshot)
            return
        self.clear_problems()
        self.asking.close_bar()
        self.model.show(snapshot)
        if self._made_like is not None:
            self.model.take_template(self._made_like)
            self._made_like = None
        if snapshot.vehicle is None:
            put_focus(self.head.tag)

    def _on_model_opened(self) -> None:
        self.stack.setCurrentWidget(self.area)
        self._make_blocks()

    def _make_blocks(self) -> None:
        """Show the stages there are; those that stay keep their fields and the focus."""
        wanted = [stage.key for stage in self.model.draft.stages]
        known = {block.key: block for block in self.blocks}
        for key, block in known.items():
            if key not in wanted:
                self._stages.removeWidget(block)
                block.hide()
                block.deleteLater()
        self.blocks = [known.get(key) or self._make_block(key) for key in wanted]
        for at, block in enumerate(self.blocks):
            if self._stages.indexOf(block) != at:
                self._stages.insertWidget(at, block)
                block.show()
            block.fill()
        self.lay_ups.fill()
        self._order_tabs()
        self._show_state()

    def _make_block(self, key: int) -> StageBlock:
        block = StageBlock(self.model, key)
        block.take_off_wanted.connect(self.asking.ask_off)
        return block

    def _order_tabs(self) -> None:
        """Let Tab and Enter go down the sheet, whenever its rows were made."""
        stops = self.head.stops()
        for block in self.blocks:
            stops += block.stops()
        stops += [self.add_stage, *self.lay_ups.stops()]
        for before, after in pairwise(stops):
            QWidget.setTabOrder(before, after)

    # --- saving

    def save(self) -> None:
        """Save what was entered, or confirm what is asked."""
        if self.stack.currentIndex() == 2:
            self.conflict.confirm()
            return
        if self.asking.bar is not None:
            self.asking.bar.confirm()
            return
        if self._is_saving or not self.model.can_save:
            return
        if self.model.unread:
            self._go_to_first_wrong()
            return
        self._is_saving = True
        self._show_state()
        self.traffic.save(self.model.draft)

    def _on_saved(self, changes: Changes) -> None:
        was_new = self.model.is_new
        self._is_saving = False
        self.clear_problems()
        self.model.forget()
        self._show_state()
        if was_new:
            for vehicle_id in changes.vehicle_ids:
                self.session.choose(vehicle_id)
            self.session.tell_change(changes)
            self.session.want_page("sheet")
        else:
            self.session.tell_change(changes)

    def _on_changed_by_us(self, changes: Changes) -> None:
        self._is_saving = False
        self.clear_problems()
        self.asking.close_bar()
        self.session.tell_change(changes)

    def _on_refused(self, error: WearlogError) -> None:
        was_saving, self._is_saving = self._is_saving, False
        self._wants_new = False
        if self.asking.bar is not None:
            self.asking.bar.refuse(error)
        elif isinstance(error, EditConflict) and self._show_conflict(error):
            pass
        elif was_saving:
            self.model.tell(error.problems)
            if not self._go_to_first_wrong():
                self.session.messages.problem(error, self)
        else:
            self.session.messages.problem(error, self)
        self._show_state()

    def _go_to_first_wrong(self) -> bool:
        found = [self.head.first_wrong(), *(block.show_state() for block in self.blocks)]
        found.append(self.lay_ups.show_state())
        wrong = next((field for field in found if field is not None), None)
        if wrong is not None:
            put_focus(wrong)
        return wrong is not None

    # --- two seats

    def _show_conflict(self, error: EditConflict) -> bool:
        theirs = error.versions.theirs
        base = self.model.base_of(theirs)
        if base is None:
            return False
        value_of = partial(self._value_text)
        self.conflict.open(error, base, name_of=field_text, value_of=value_of)
        self.stack.setCurrentIndex(2)
        self.conflict.focus_first()
        return True

    def _value_text(self, name: str, value: object) -> str:
        return field_value_text(name, value, self.model.shown)

    def _settle(self, theirs: object, merged: object) -> None:
        self.model.settle(theirs, merged)
        self.save()

    def _leave_conflict(self) -> None:
        self.stack.setCurrentWidget(self.area)
        self._show_state()
        put_focus(self.head.tag)

    # --- stages and templates

    def _retire_or_bring_back(self) -> None:
        snapshot = self.model.snapshot
        if snapshot is None or snapshot.vehicle is None:
            return
        if snapshot.vehicle.retired_on is None:
            self.asking.ask_retire()
        elif not self._is_saving:
            self._is_saving = True
            self.traffic.bring_back(snapshot.vehicle)

    def _on_asked(self) -> None:
        self._show_state()
        if self.asking.bar is None:
            put_focus(self.head.tag)

    def _begin_like_this(self) -> None:
        self.begin(self.model.template())

    def _add_stage(self) -> None:
        key = self.model.add_stage()
        block = next((block for block in self.blocks if block.key == key), None)
        if block is not None:
            put_focus(block.name)

    def _undo_entered(self) -> None:
        if self.model.is_new:
            self.model.forget()
            self.begin()
        else:
            self.model.reset()
        put_focus(self.head.tag)

    # --- showing

    def _show_state(self) -> None:
        model, snapshot = self.model, self.model.snapshot
        is_shown = snapshot is not None and self.stack.currentWidget() is not self.nothing
        is_sheet = is_shown and self.stack.currentWidget() is self.area
        vehicle = snapshot.vehicle if snapshot is not None else None
        heading = _("Which vehicle joins the fleet?") if model.is_new else _("Which vehicle is it?")
        self.heading.setText(heading)
        self.setAccessibleName(heading)
        self.set_subject(self._subject_text() if is_shown else "")
        text = _("Add the vehicle") if model.is_new else _("Sa&ve")
        self.primary.setText(text)
        self.primary.setAccessibleName(text.replace("&", ""))
        self.primary.setToolTip(_("{action}  Ctrl+Enter").format(action=text.replace("&", "")))
        self.primary.setVisible(is_sheet and self.asking.bar is None)
        self.primary.setEnabled(model.can_save and not self._is_saving)
        self.reset.setVisible(is_sheet and model.is_touched and not model.is_new)
        for button in (self.like_this, self.retire):
            button.setVisible(is_sheet and vehicle is not None and not model.is_touched)
        self.keep_template.setVisible(is_sheet and bool(model.draft.stages) and not model.is_touched)
        is_retired = vehicle is not None and vehicle.retired_on is not None
        self.retire.setText(_("Br&ing back") if is_retired else _("Ret&ire …"))
        self.retire.setAccessibleName(_("Bring back") if is_retired else _("Retire"))
        names = snapshot.gone_stages if snapshot is not None else ()
        self.gone.setText(_("Off service: {stages}").format(stages=", ".join(names)))
        self.gone.setVisible(bool(names))
        self.head.show_state()
        for block in self.blocks:
            block.show_state()
        self.lay_ups.show_state()

    def _subject_text(self) -> str:
        snapshot = self.model.snapshot
        if snapshot is None:
            return ""
        vehicle = snapshot.vehicle
        if vehicle is None:
            return _("The template fills in what is usual; change what differs.")
        if vehicle.retired_on is not None:
            text = _("{tag} is out of service since {day}: {reason}.")
            return text.format(
                tag=vehicle.tag,
                day=day_text(vehicle.retired_on),
                reason=vehicle.retired_reason or _("no reason given"),
            )
        return _("What was entered is set right here; new parts go on by Drive set-up.")

    def focus_first(self) -> None:
        """Start at the tag."""
        if self.stack.currentIndex() == 2:
            self.conflict.focus_first()
        elif self.asking.bar is not None:
            put_focus(self.asking.bar.first)
        else:
            put_focus(self.head.tag)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter goes on, Shift+Enter back."""
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
                self.focusPreviousChild()
            else:
                self.focusNextChild()
        else:
            super().keyPressEvent(event)

    def _on_preferences(self) -> None:
        self.model.set_shown(self.session.shown_units)
        self._take_look()

    def changeEvent(self, event: QEvent) -> None:
        """Follow the text size."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.StyleChange and hasattr(self, "asking"):
            self._take_look()

    def _take_look(self) -> None:
        self._place_actions()
        self.head.take_look()
        for block in self.blocks:
            block.take_look()
        self.asking.take_look()


def _scrolling(widget: QWidget) -> QScrollArea:
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setWidget(widget)
    return area
