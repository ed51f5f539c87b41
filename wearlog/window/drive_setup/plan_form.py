"""The plan for a stage, field by field, each with its sentence below."""

from gettext import gettext as _

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from wearlog.drawing.setup_words import choice_text, drive_text
from wearlog.fleet.fitting import Position
from wearlog.fleet.parts import DriveKind
from wearlog.fleet.problem import Offer, Problem
from wearlog.window.drive_setup.model import TYPED, SetupModel
from wearlog.window.fields import EntryField, FieldNote
from wearlog.window.theme import scaled, set_role
from wearlog.workshop.compare_snapshot import PlanField, RunChoice, SetupDraft, run_key

#: Which part a field is about.
_POSITIONS = {
    PlanField.DRIVER: Position.DRIVER,
    PlanField.DRIVEN: Position.DRIVEN,
    PlanField.PITCHES: Position.RUN,
}
_LABEL_PX = 96


def _typed_names() -> dict[PlanField, tuple[str, str]]:
    """Return the label of each typed field, and its accessible name."""
    return {
        PlanField.DRIVER: (_("&Driver teeth"), _("Driver teeth")),
        PlanField.DRIVEN: (_("Drive&n teeth"), _("Driven teeth")),
        PlanField.PITCHES: (_("&Links"), _("Links or belt teeth")),
        PlanField.CENTRE: (_("&Centres"), _("Centre distance")),
        PlanField.ADJUSTER: (_("Ad&juster"), _("Adjuster travel")),
        PlanField.TENSION: (_("Tensi&on"), _("Static belt tension")),
    }


class PlanNote(FieldNote):
    """The sentence below a field of the plan: what is wrong with it, or a quiet hint with ways on."""

    def show_hint(self, text: str, offers: tuple[Offer, ...]) -> None:
        """Show a hint in the quiet colour."""
        set_role(self, "caption")
        self._show([(text, offers)] if text else [])


class PlanForm(QWidget):
    """What is planned.

    Signals
    -------
    part_type_wanted()
        A chain, sprocket, belt or pulley is missing from the list.
    """

    part_type_wanted = Signal()

    def __init__(self, model: SetupModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("Plan"))
        self._model = model
        self.stage, self.drive, self.run = (self._combo(name) for name in (_("Stage"), _("Drive"), _("Kind")))
        self.run.setAccessibleName(_("Chain or belt"))
        self.stage.setToolTip(_("The stage that is planned  {key}").format(key="Ctrl+Up, Ctrl+Down"))
        for kind in DriveKind:
            self.drive.addItem(drive_text(kind), kind)
        self.fields: dict[PlanField, EntryField] = {}
        self.notes: dict[PlanField, PlanNote] = {}
        self.labels: dict[PlanField, QLabel] = {}
        self.news: dict[Position, QCheckBox] = {}
        self._told: tuple[SetupDraft | None, dict[str, Problem]] = (None, {})
        self.add_type = QPushButton(_("Add a part t&ype"))
        self.add_type.setAccessibleName(_("Add a part type"))
        self.back = QPushButton(_("&Back to what is fitted"))
        self.back.setAccessibleName(_("Back to what is fitted"))
        for button in (self.add_type, self.back):
            set_role(button, "link")
        self._lay_out()
        self._connect()

    @staticmethod
    def _combo(name: str) -> QComboBox:
        combo = QComboBox()
        combo.setAccessibleName(name)
        combo.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        combo.setMinimumContentsLength(8)
        combo.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        return combo

    def _lay_out(self) -> None:
        grid = QGridLayout()
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(4)
        grid.setColumnStretch(1, 1)
        grid.setColumnMinimumWidth(0, scaled(_LABEL_PX))
        row = 0
        for text, combo in ((_("&Stage"), self.stage), (_("D&rive"), self.drive), (_("&Kind"), self.run)):
            grid.addWidget(self._label(text, combo), row, 0)
            grid.addWidget(combo, row, 1)
            row += 1
        for field, (text, name) in _typed_names().items():
            entry = EntryField(name)
            note = PlanNote()
            note.setAccessibleName(_("Note on {field}").format(field=name))
            note.hide()
            self.fields[field], self.notes[field] = entry, note
            self.labels[field] = self._label(text, entry)
            grid.addWidget(self.labels[field], row, 0)
            grid.addLayout(self._with_new(field, entry), row, 1)
            grid.addWidget(note, row + 1, 0, 1, 2)
            row += 2
        links = QHBoxLayout()
        links.setSpacing(16)
        links.addWidget(self.back)
        links.addStretch(1)
        links.addWidget(self.add_type)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 8, 0)
        layout.setSpacing(8)
        layout.addLayout(grid)
        layout.addLayout(links)
        layout.addStretch(1)

    @staticmethod
    def _label(text: str, buddy: QWidget) -> QLabel:
        label = QLabel(text)
        set_role(label, "muted")
        label.setBuddy(buddy)
        return label

    def _with_new(self, field: PlanField, entry: EntryField) -> QHBoxLayout:
        line = QHBoxLayout()
        line.setSpacing(8)
        line.addWidget(entry, 1)
        position = _POSITIONS.get(field)
        if position is not None:
            tick = QCheckBox(_("new"))
            names = {
                Position.RUN: _("New chain or belt"),
                Position.DRIVER: _("New driver"),
                Position.DRIVEN: _("New driven wheel"),
            }
            tick.setAccessibleName(names[position])
            tick.setToolTip(_("A new part goes on; ticked by itself where the old one cannot stay"))
            self.news[position] = tick
            line.addWidget(tick)
        return line

    def _connect(self) -> None:
        model = self._model
        model.opened.connect(self.refresh)
        model.changed.connect(self.show_state)
        self.stage.activated.connect(lambda _n: model.choose_stage(int(self.stage.currentData())))
        self.drive.activated.connect(lambda _n: model.set_drive(DriveKind(self.drive.currentData())))
        self.run.activated.connect(self._on_run)
        self.back.clicked.connect(model.reset)
        self.add_type.clicked.connect(self.part_type_wanted)
        for field, entry in self.fields.items():
            entry.textEdited.connect(lambda text, field=field: model.type_text(field, text))
            entry.editingFinished.connect(self.show_notes)
            self.notes[field].offered.connect(self._on_offer)
        for position, tick in self.news.items():
            tick.clicked.connect(
                lambda checked, position=position: model.set_new(position, is_new=bool(checked))
            )

    # --- showing

    def refresh(self) -> None:
        """Show another vehicle, stage or kind of drive: every field anew."""
        snapshot, draft = self._model.snapshot, self._model.draft
        with QSignalBlocker(self.stage), QSignalBlocker(self.run):
            self.stage.clear()
            self.run.clear()
            if snapshot is None:
                return
            for one in snapshot.stages:
                self.stage.addItem(one.stage.name, one.stage.id)
            self.stage.setCurrentIndex(self.stage.findData(self._model.stage_id))
            if draft is None:
                return
            choices = snapshot.choices_for(draft.drive)
            for choice in choices:
                self.run.addItem(choice_text(choice), choice)
                tip = choice.part_type.source
                self.run.setItemData(self.run.count() - 1, tip, Qt.ItemDataRole.ToolTipRole)
            wanted = None if draft.run is None else run_key(draft.run)
            keys = [choice.key for choice in choices]
            self.run.setCurrentIndex(keys.index(wanted) if wanted in keys else -1)
            self.run.setToolTip(self.run.currentText())
        self.drive.setCurrentIndex(self.drive.findData(draft.drive))
        is_chain = draft.drive is DriveKind.CHAIN
        self.labels[PlanField.PITCHES].setText(_("&Links") if is_chain else _("Belt &teeth"))
        self.labels[PlanField.TENSION].setText(_("Tensi&on"))
        for field, entry in self.fields.items():
            if entry.text() != self._model.text(field):
                entry.setText(self._model.text(field))
            unit = self._model.shown.unit_of(TYPED[field])
            entry.setPlaceholderText("" if unit == "1" else unit)
        for widget in (self.fields[PlanField.TENSION], self.labels[PlanField.TENSION]):
            widget.setVisible(not is_chain)
        self.show_state()

    def show_state(self) -> None:
        """Show what comes of the plan beside the fields."""
        must, new = self._model.must_be_new, self._model.is_new
        for position, tick in self.news.items():
            tick.setChecked(position in new)
            tick.setEnabled(position not in must)
        self.back.setEnabled(self._model.is_touched)
        self.show_notes()

    def show_notes(self) -> None:
        """Show the sentence below each field; what is only begun may still become right."""
        for field, note in self.notes.items():
            entry = self.fields[field]
            problem = self._model.problem(field) or self._told_of(field)
            if problem is not None and entry.hasFocus() and self._is_begun(field):
                problem = None
            entry.mark_problem(problem is not None)
            if problem is not None:
                note.show_problems([problem])
            elif field is PlanField.PITCHES:
                note.show_hint(*self._model.length_hint)
            else:
                note.show_hint("", ())
            note.setVisible(bool(note.text()) and not entry.isHidden())

    def _is_begun(self, field: PlanField) -> bool:
        """Whether what is typed may be the first digit of more, as the 1 of 17."""
        text = self._model.text(field).strip()
        return len(text) == 1 and text in "123456789"

    def _told_of(self, field: PlanField) -> Problem | None:
        """Return what kept this very plan from being fitted."""
        draft, problems = self._told
        return problems.get(field) if draft == self._model.draft else None

    def show_missing(self, problems: tuple[Problem, ...]) -> bool:
        """Show why the plan is not fitted, until it changes; return whether a field is to be seen to."""
        self._told = (self._model.draft, {problem.where: problem for problem in problems})
        wrong = [field for field in self.fields if self._told_of(field) is not None]
        if wrong:
            self.fields[wrong[0]].setFocus(Qt.FocusReason.TabFocusReason)
        self.show_notes()
        return bool(wrong)

    # --- doing

    def _on_run(self, index: int) -> None:
        choice = self.run.itemData(index)
        if isinstance(choice, RunChoice):
            self._model.set_run(choice.part_type)

    def _on_offer(self, offer: Offer) -> None:
        if offer.action == PlanField.PITCHES:
            entry = self.fields[PlanField.PITCHES]
            entry.setText(str(offer.value))
            self._model.type_text(PlanField.PITCHES, str(offer.value))
            entry.setFocus(Qt.FocusReason.OtherFocusReason)

    def step_stage(self, way: int) -> None:
        """Go to the next stage, or the one before."""
        if self.stage.count() > 1:
            index = (self.stage.currentIndex() + way) % self.stage.count()
            self._model.choose_stage(int(self.stage.itemData(index)))

    def focus_first(self) -> None:
        """Start at the teeth of the driver."""
        target: QWidget = self.fields[PlanField.DRIVER] if self._model.draft is not None else self.stage
        target.setFocus(Qt.FocusReason.TabFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter goes on, Shift+Enter back."""
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
                self.focusPreviousChild()
            else:
                self.focusNextChild()
        else:
            super().keyPressEvent(event)
