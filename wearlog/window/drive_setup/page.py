"""What would change: a stage to scale, a plan for it, both side by side, and fitting it."""

from collections.abc import Callable
from gettext import gettext as _

from PySide6.QtCore import QEvent, Qt, QTimer
from PySide6.QtGui import QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import (
    QBoxLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from wearlog.drawing.drive_side_view import DriveSideView, SideView
from wearlog.drawing.setup_words import adjuster_text, length_text, remarks_shown
from wearlog.drive.remarks import RemarkKind
from wearlog.fleet.fitting import Position
from wearlog.fleet.parts import DriveKind, PartKind, PartType
from wearlog.fleet.problem import WearlogError
from wearlog.window import theme
from wearlog.window.bench_keys import focus_is_within
from wearlog.window.drive_setup.comparison_view import ComparisonView
from wearlog.window.drive_setup.empty import EmptySetup
from wearlog.window.drive_setup.fit_bar import FitBar
from wearlog.window.drive_setup.model import SetupModel
from wearlog.window.drive_setup.notes import SetupNotes, advised, cautioned
from wearlog.window.drive_setup.part_type_form import PartTypeForm
from wearlog.window.drive_setup.plan_form import PlanForm
from wearlog.window.drive_setup.traffic import SetupTraffic
from wearlog.window.page import Page, hairline
from wearlog.window.session import Session
from wearlog.window.theme import scaled, set_role
from wearlog.wording import count_text
from wearlog.workshop.changes import Changes
from wearlog.workshop.compare_snapshot import ComparisonSnapshot, SetupSnapshot
from wearlog.workshop.fit_setup import fitted_text, plan_problems

#: A pause in typing after which the life at this fleet's rates is estimated, [ms].
PAUSE_MS = 180
#: Width of the plan, and from which page width on the notes stand beside the table, [px] at plain text size.
FORM_PX, WIDE_PX = 292, 1240
#: Height of the comparison where it stands below the plan, [px].
STACKED_PX = 480
#: From this width on the plan stands beside the comparison, [px].
SIDE_BY_SIDE_PX = 700
#: What keeps a plan from running stands right under the drawing.
_DECISIVE = {RemarkKind.DOES_NOT_CLOSE, RemarkKind.CRANKED_LINK, RemarkKind.CENTRE_DIFFERS}


class SetupPage(Page):
    """The drive set-up of a vehicle."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(session, _("What would change?"), parent)
        self.model = SetupModel(session.shown_units, self)
        self.traffic = SetupTraffic(session.bench, session.background, self)
        self._is_saving = False
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE_MS)
        self._pause.timeout.connect(self._on_pause)
        self.form = PlanForm(self.model)
        self.type_form = PartTypeForm()
        self.fit_bar = FitBar()
        self.drawing = DriveSideView()
        self.verdict = QLabel()
        self.verdict.setWordWrap(True)
        self.verdict.setAccessibleName(_("What the plan comes to"))
        self.more = QPushButton()
        set_role(self.more, "link")
        self.more.clicked.connect(self._go_to_notes)
        self.table = ComparisonView(self.model.rows)
        self.notes = SetupNotes()
        self.empty = EmptySetup()
        self._lay_out()
        self.set_primary(_("F&it this"), self.fit)
        self.primary.setToolTip(_("Fit this  Ctrl+Enter"))
        self._add_keys()
        self._connect()
        self.wear_theme()
        self._show()

    # --- making

    def _lay_out(self) -> None:
        # From the outside in: each move of a filled widget to a parent costs as much as laying it out.
        self.body.setSpacing(8)
        self.body.addWidget(self.fit_bar)
        whole = QWidget()
        # Side by side plan and comparison scroll by themselves; one under the other they do as a whole.
        self.body.addWidget(_scrolling(whole), 1)
        self.columns = QBoxLayout(QBoxLayout.Direction.LeftToRight, whole)
        self.columns.setContentsMargins(0, 0, 0, 0)
        self.columns.setSpacing(16)
        self.side = QStackedWidget()
        self.columns.addWidget(self.side)
        for widget in (self.form, self.type_form):
            self.side.addWidget(_scrolling(widget))
        self.parting = hairline(vertical=True)
        self.columns.addWidget(self.parting)
        self.right = QStackedWidget()
        self.columns.addWidget(self.right, 1)
        right = QWidget()
        self.right.addWidget(right)
        self.right.addWidget(self.empty)
        verdict = QHBoxLayout()
        verdict.setSpacing(16)
        verdict.addWidget(self.verdict, 1)
        verdict.addWidget(self.more, 0, Qt.AlignmentFlag.AlignTop)
        below = QWidget()
        self.area = _scrolling(below)
        self.area.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.area.setAccessibleName(_("Comparison and cautions"))
        self.area.setAccessibleDescription(_("What would change, to be scrolled with the arrow keys"))
        stacked = QVBoxLayout(right)
        stacked.setContentsMargins(0, 0, 0, 0)
        stacked.setSpacing(8)
        stacked.addWidget(self.drawing, 2)
        stacked.addLayout(verdict)
        stacked.addWidget(hairline())
        stacked.addWidget(self.area, 3)
        column = QVBoxLayout(below)
        column.setContentsMargins(0, 0, 0, 0)
        self.reading = QBoxLayout(QBoxLayout.Direction.TopToBottom)
        self.reading.setContentsMargins(0, 0, 8, 0)
        self.reading.setSpacing(16)
        self.reading.addWidget(self.table, 3, Qt.AlignmentFlag.AlignTop)
        self.reading.addWidget(self.notes, 2, Qt.AlignmentFlag.AlignTop)
        column.addLayout(self.reading)
        column.addStretch(1)

    def _add_keys(self) -> None:
        for keys, slot in (
            ("Ctrl+Return", self.fit),
            ("Ctrl+Enter", self.fit),
            ("Ctrl+Up", lambda: self.form.step_stage(-1)),
            ("Ctrl+Down", lambda: self.form.step_stage(1)),
        ):
            self._add_key(keys, slot)

    def _add_key(self, keys: str, slot: Callable[[], None]) -> None:
        shortcut = QShortcut(QKeySequence(keys), self)
        shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        shortcut.activated.connect(slot)

    def _connect(self) -> None:
        model, traffic = self.model, self.traffic
        model.opened.connect(self._on_model_opened)
        model.changed.connect(self._show)
        model.changed.connect(self._pause.start)
        traffic.opened.connect(self._on_opened)
        traffic.estimated.connect(self._on_estimated)
        traffic.changed.connect(self._on_changed_by_us)
        traffic.refused.connect(self._on_refused)
        self.form.part_type_wanted.connect(self._open_type_form)
        self.type_form.confirmed.connect(self._add_type)
        self.type_form.left.connect(self._leave_type_form)
        self.fit_bar.left.connect(self._close_fit_bar)
        self.session.preferences_changed.connect(self._on_preferences)

    # --- opening

    def show_vehicle(self, vehicle_id: int | None) -> None:
        """Show the drive of a vehicle."""
        if vehicle_id is None:
            self.model.show(None)
        else:
            self.traffic.open(vehicle_id)

    def refresh(self, changes: Changes) -> None:
        """Read anew: what others teach the fleet moves the estimates too."""
        del changes
        if self.session.vehicle_id is not None:
            self.traffic.open(self.session.vehicle_id)

    def _on_opened(self, snapshot: SetupSnapshot) -> None:
        if snapshot.vehicle.id != self.session.vehicle_id:
            return
        shown = self.model.snapshot
        if shown is not None and shown.vehicle.id != snapshot.vehicle.id:
            self.clear_problems()
            self._leave_type_form()
        self.model.show(snapshot)

    def _on_model_opened(self) -> None:
        self._close_fit_bar()

    # --- estimating

    def _on_pause(self) -> None:
        compared = self.model.comparison
        if compared is not None and self.model.wants_estimate:
            self.traffic.estimate(compared.draft)

    def _on_estimated(self, compared: ComparisonSnapshot) -> None:
        self.model.take_estimate(compared)

    # --- fitting

    def fit(self) -> None:
        """Ask what is to be known of the fitting; asked already, save it."""
        if self.side.currentIndex() == 1:
            self.type_form.confirm()
            return
        snapshot, compared = self.model.snapshot, self.model.comparison
        if self._is_saving or not self.model.can_fit or snapshot is None or compared is None:
            return
        if self.fit_bar.isHidden():
            if self.form.show_missing(plan_problems(snapshot, compared)):
                return
            self.fit_bar.open(snapshot, compared.conversion.after, self.model.shown, self.session.bench.by)
            self.fit_bar.say_what(self._what_text(compared))
            self._show_primary()
            return
        if self.fit_bar.typed_problems:
            self.fit_bar.show_typed_problems()
            return
        self._is_saving = True
        self._show_primary()
        bar = self.fit_bar
        self.traffic.fit(compared.draft, bar.on, bar.meter_value, bar.by.text().strip(), bar.fitting)

    def _what_text(self, compared: ComparisonSnapshot) -> str:
        """Say what comes off and what goes on."""
        stage = self.model.stage
        if stage is None:
            return ""
        off = [part.text for part in stage.installed if part.position in compared.fitted]
        places = (Position.RUN, Position.DRIVER, Position.DRIVEN)
        on = [fitted_text(compared.draft, place) for place in places if place in compared.fitted]
        if not on:
            return _("Nothing new goes on; the stage is changed.")
        gone = _("Comes off: {parts}. ").format(parts="; ".join(off)) if off else ""
        return gone + _("Goes on: {parts}.").format(parts="; ".join(on))

    def _close_fit_bar(self) -> None:
        if not self.fit_bar.isHidden():
            had_focus = focus_is_within(self.fit_bar)
            self.fit_bar.hide()
            self._show_primary()
            if had_focus:
                self.form.focus_first()

    def _on_changed_by_us(self, changes: Changes) -> None:
        self._is_saving = False
        self.clear_problems()
        self._leave_type_form()
        self._close_fit_bar()
        self.session.tell_change(changes)

    def _on_refused(self, error: WearlogError) -> None:
        was_saving, self._is_saving = self._is_saving, False
        self._show_primary()
        if self.side.currentIndex() == 1:
            self.type_form.show_problems(error.problems)
        elif was_saving:
            self.form.show_missing(error.problems)
            self.fit_bar.show_problems(error.problems)
        else:
            self.session.messages.problem(error, self)

    # --- part types

    def _open_type_form(self) -> None:
        draft = self.model.draft
        is_belt = draft is not None and draft.drive is DriveKind.BELT
        self._close_fit_bar()
        self.side.setCurrentIndex(1)
        self._show_primary()
        self.type_form.open(PartKind.BELT if is_belt else PartKind.CHAIN, self.model.shown)

    def _add_type(self, part_type: PartType) -> None:
        self.traffic.add_part_type(part_type)

    def _leave_type_form(self) -> None:
        if self.side.currentIndex() == 1:
            self.side.setCurrentIndex(0)
            self._show_primary()
            self.form.run.setFocus(Qt.FocusReason.OtherFocusReason)

    # --- showing

    def _show(self) -> None:
        model = self.model
        self.set_subject(model.subject)
        has_plan = model.draft is not None
        self.right.setCurrentIndex(0 if has_plan else 1)
        self.side.setVisible(model.snapshot is not None and bool(model.snapshot.stages))
        self.parting.setVisible(self.side.isVisibleTo(self))
        self.primary.setVisible(has_plan)
        if not has_plan:
            self._say_why_empty()
        after = model.after if model.is_changed else None
        self.drawing.show_view(SideView(model.before, after, model.shown))
        self.notes.show_comparison(model.comparison)
        self._show_verdict()
        self._show_primary()
        self._place()

    def _say_why_empty(self) -> None:
        snapshot, stage = self.model.snapshot, self.model.stage
        if snapshot is None:
            self.empty.say(
                _("Choose a vehicle in the fleet."),
                _("Its drive is drawn here to scale, beside what another set-up would change."),
            )
        elif stage is None:
            self.empty.say(
                _("{tag} has no drive stage.").format(tag=snapshot.vehicle.tag),
                _("Add the vehicle from a template, or import its stages and parts."),
            )
        elif stage.missing is not None:
            self.empty.say(stage.missing.what, stage.missing.todo)

    def _show_verdict(self) -> None:
        model, compared = self.model, self.model.comparison
        text, is_problem = "", False
        if model.draft is None:
            text = ""
        elif compared is None:
            text = _("The plan can’t be worked out yet: see the fields at the left.")
            is_problem = True
        elif not compared.is_changed:
            text = _("This is what is fitted. Change teeth, chain or belt to see what would change.")
        else:
            figures = compared.conversion.after
            wrong = [remark.text for remark in remarks_shown(figures) if remark.kind in _DECISIVE]
            is_problem = bool(wrong)
            text = wrong[0] if wrong else self._fine_text(compared)
        self.verdict.setText(text)
        set_role(self.verdict, "problem" if is_problem else "muted")
        count = 0
        if compared is not None and compared.is_changed:
            count = len(cautioned(compared)) + len(advised(compared))
        self.more.setVisible(count > 0)
        self.more.setText(count_text(count, "c&aution", "c&autions"))
        self.more.setAccessibleName(_("Go to the cautions"))

    def _fine_text(self, compared: ComparisonSnapshot) -> str:
        figures = compared.conversion.after
        parts = [adjuster_text(figures, self.model.shown)]
        if figures.loop.taut_centre_mm is not None:
            taut = length_text(figures.loop.taut_centre_mm, self.model.shown)
            parts.insert(0, _("closes at {mm}").format(mm=taut))
        text = "; ".join(part for part in parts if part)
        return text[:1].upper() + text[1:] + "." if text else ""

    def _show_primary(self) -> None:
        is_type = self.side.currentIndex() == 1
        is_asked = not self.fit_bar.isHidden()
        text = _("Add the part type") if is_type else _("Save the fitting") if is_asked else _("F&it this")
        self.primary.setText(text)
        self.primary.setAccessibleName(text.replace("&", ""))
        self.primary.setEnabled(not self._is_saving and (is_type or self.model.can_fit))

    def _go_to_notes(self) -> None:
        self.area.ensureWidgetVisible(self.notes, 0, 0)
        self.area.verticalScrollBar().setValue(self.notes.y())
        self.area.setFocus(Qt.FocusReason.OtherFocusReason)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the room anew."""
        super().resizeEvent(event)
        self._place()

    def _place(self) -> None:
        is_beside = self.width() >= scaled(SIDE_BY_SIDE_PX)
        is_wide = self.width() >= scaled(WIDE_PX)
        ways = QBoxLayout.Direction
        self.columns.setDirection(ways.LeftToRight if is_beside else ways.TopToBottom)
        self.reading.setDirection(ways.LeftToRight if is_wide else ways.TopToBottom)
        width = scaled(FORM_PX) if is_beside else 16_777_215
        self.side.setMaximumWidth(width)
        self.side.setMinimumWidth(scaled(FORM_PX) if is_beside else 0)
        content = self.form if self.side.currentIndex() == 0 else self.type_form
        self.side.setMinimumHeight(0 if is_beside else content.sizeHint().height())
        self.area.setMinimumHeight(0 if is_beside else scaled(STACKED_PX))
        policy = QSizePolicy.Policy.Expanding
        self.side.setSizePolicy(policy, policy if is_beside else QSizePolicy.Policy.Preferred)
        low, high = (scaled(px) for px in ((208, 236) if self.height() < scaled(760) else (236, 360)))
        self.drawing.setMinimumHeight(low)
        self.drawing.setMaximumHeight(high)

    def focus_first(self) -> None:
        """Start at the plan."""
        self.form.focus_first()

    def wear_theme(self) -> None:
        """Take the colours and the text scale that are applied now."""
        self.drawing.wear_colours(theme.colours(), theme.text_scale())
        self.table.take_look()
        self.notes.take_look()
        self.fit_bar.take_look()
        self._place()

    def changeEvent(self, event: QEvent) -> None:
        """Draw anew in other colours."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.StyleChange and hasattr(self, "fit_bar"):
            self.wear_theme()

    def _on_preferences(self) -> None:
        self.model.show_units(self.session.shown_units)
        self.wear_theme()


def _scrolling(widget: QWidget) -> QScrollArea:
    area = QScrollArea()
    area.setWidget(widget)
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    return area
