"""One stage of a vehicle: its name, chain or belt and wheels, since when they are there, and its figures."""

from collections.abc import Callable
from datetime import date
from functools import partial
from gettext import gettext as _

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QComboBox, QGridLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from wearlog.drawing.setup_words import drive_text, removal_text, run_text
from wearlog.drawing.vehicle_words import STAGE_QUANTITIES, count_text, position_text, stage_field_text
from wearlog.fleet.fitting import Position
from wearlog.fleet.parts import DriveKind
from wearlog.fleet.quantity import ShownUnits
from wearlog.window.fields import DateField, EntryField, FieldNote, QuantityField
from wearlog.window.flow import FlowLayout
from wearlog.window.settings.form import Labelled
from wearlog.window.settings.value_words import exact_text
from wearlog.window.theme import scaled, set_role
from wearlog.window.vehicle.fields import CountField, UseBeforeField, put_text, show_problems, shrinking
from wearlog.window.vehicle.model import VehicleModel
from wearlog.wording import day_text
from wearlog.workshop.compare_snapshot import RunChoice
from wearlog.workshop.vehicles_draft import POSITIONS, PartDraft, StageDraft, field_key

_LEAST_PX = 64
_COUNT_PX, _DAY_PX, _USE_PX, _LOT_PX = 76, 128, 104, 128


class StageBlock(QWidget):
    """One stage.

    Signals
    -------
    take_off_wanted(int)
        The stage is to be taken off service; it was kept.
    """

    take_off_wanted = Signal(int)

    def __init__(self, model: VehicleModel, key: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self.key = key
        self._is_filling = False
        self._widths: list[tuple[QWidget, int]] = []
        self.name = EntryField(_("Name of the stage"))
        self.drive = shrinking(QComboBox())
        for kind in DriveKind:
            self.drive.addItem(drive_text(kind), kind)
        self.run = shrinking(QComboBox())
        self.more = QPushButton()
        self.more.setCheckable(True)
        set_role(self.more, "link")
        self.off = QPushButton()
        set_role(self.off, "link")
        self.ended = QLabel()
        self.ended.setWordWrap(True)
        self.ended.setAccessibleName(_("Taken off service"))
        self.counts: dict[Position, CountField] = {}
        self.days: dict[Position, DateField] = {}
        self.uses: dict[Position, UseBeforeField] = {}
        self.lots: dict[Position, EntryField] = {}
        self._captions: dict[Position, QLabel] = {}
        self.figures: dict[str, QuantityField] = {}
        self.slack = EntryField(stage_field_text("slack_definition"))
        self.said = FieldNote()
        self.said.setAccessibleName(_("Notes on the stage"))
        self._fields: dict[str, QWidget] = {}
        self._lay_out()
        self._connect()
        self.fill()

    # --- making

    def _lay_out(self) -> None:
        head = FlowLayout(spacing=16)
        self._labelled = [
            Labelled(_("Stage"), self.name, 176),
            Labelled(_("Drive"), self.drive, 104),
            Labelled(_("Chain or belt"), self.run, 288),
        ]
        for labelled in self._labelled:
            head.addWidget(labelled)
        self.drive.setAccessibleName(_("Drive"))
        links = QHBoxLayout()
        links.setSpacing(16)
        links.addWidget(self.more)
        links.addWidget(self.off)
        beside = QWidget()
        beside.setLayout(links)
        links.setContentsMargins(0, 16, 0, 0)
        head.addWidget(beside)
        self.folded = self._make_figures()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(8)
        layout.addLayout(head)
        layout.addWidget(self.ended)
        self.parts = self._make_parts()
        layout.addWidget(self.parts)
        layout.addWidget(self.folded)
        layout.addWidget(self.said)
        self.folded.hide()
        self.said.hide()
        self.take_look()

    def _make_parts(self) -> QWidget:
        place = QWidget()
        grid = QGridLayout(place)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(4)
        captions = ("", _("How many"), _("Fitted on"), _("On it before"), _("Lot or serial"))
        for column, text in enumerate(captions):
            caption = QLabel(text)
            caption.setWordWrap(True)
            set_role(caption, "caption")
            grid.addWidget(caption, 0, column)
        grid.setColumnStretch(len(captions), 1)
        for row, position in enumerate(POSITIONS, start=1):
            label = QLabel()
            set_role(label, "muted")
            self._captions[position] = label
            count, day = CountField(""), DateField("", date.min)
            use, lot = UseBeforeField(""), EntryField("")
            label.setBuddy(count)
            fields = (count, day, use, lot)
            for column, (field, width) in enumerate(
                zip(fields, (_COUNT_PX, _DAY_PX, _USE_PX, _LOT_PX), strict=True), start=1
            ):
                self._widths.append((field, width))
                grid.addWidget(field, row, column)
            grid.addWidget(label, row, 0)
            self.counts[position], self.days[position] = count, day
            self.uses[position], self.lots[position] = use, lot
        return place

    def _make_figures(self) -> QWidget:
        place = QWidget()
        row = FlowLayout(place, spacing=16)
        for name, quantity in STAGE_QUANTITIES.items():
            field = QuantityField(stage_field_text(name), quantity)
            self.figures[name] = field
            self._labelled.append(Labelled(stage_field_text(name), field, 132))
            row.addWidget(self._labelled[-1])
        self._labelled.append(Labelled(stage_field_text("slack_definition"), self.slack, 280))
        row.addWidget(self._labelled[-1])
        return place

    def _connect(self) -> None:
        model, key = self._model, self.key
        self._when(self.name, lambda: model.set_stage(key, name=self.name.text()))
        self._when(self.slack, lambda: model.set_stage(key, slack_definition=self.slack.text()))
        for name, field in self.figures.items():
            self._when(field, partial(self._take_figure, name, field))
        for position in POSITIONS:
            self._when(self.counts[position], partial(self._take_count, position))
            self._when(self.days[position], partial(self._take_day, position))
            self._when(self.uses[position], partial(self._take_use, position))
            self._when(self.lots[position], partial(self._take_lot, position))
        self.drive.activated.connect(lambda _n: model.set_drive(key, DriveKind(self.drive.currentData())))
        self.run.activated.connect(self._take_run)
        self.more.toggled.connect(self._unfold)
        self.off.clicked.connect(self._take_off)

    def _when(self, field: EntryField, slot: Callable[[], None]) -> None:
        field.understood.connect(lambda: None if self._is_filling else slot())

    # --- what is entered

    def _take_run(self, index: int) -> None:
        choice = self.run.itemData(index)
        self._model.set_run(self.key, choice.part_type if isinstance(choice, RunChoice) else None)

    def _take_figure(self, name: str, field: QuantityField) -> None:
        self._model.misread(f"{self.key}:{name}", field.text(), field.problem)
        if field.problem is None:
            self._model.set_stage(self.key, **{name: None if field.typed is None else field.typed.value})

    def _take_count(self, position: Position) -> None:
        field = self.counts[position]
        self._model.misread(self._key("count", position), field.text(), field.problem)
        if field.problem is None:
            self._model.set_part(self.key, position, count=field.count)

    def _take_day(self, position: Position) -> None:
        field = self.days[position]
        self._model.misread(self._key("fitted_on", position), field.text(), field.problem)
        if field.problem is None:
            self._model.set_part(self.key, position, fitted_on=field.day)

    def _take_use(self, position: Position) -> None:
        field = self.uses[position]
        self._model.misread(self._key("use_before", position), field.text(), field.problem)
        if field.problem is None:
            self._model.set_part(
                self.key, position, use_before=field.value, is_history_known=not field.is_unknown
            )

    def _take_lot(self, position: Position) -> None:
        self._model.set_part(self.key, position, lot=self.lots[position].text())

    def _take_off(self) -> None:
        stage = self._model.draft.stage(self.key)
        if stage is None:
            return
        if stage.taken_off is not None:
            self._model.take_off(self.key, None)
        elif stage.stage is None:
            self._model.drop_stage(self.key)
        else:
            self.take_off_wanted.emit(self.key)

    def _key(self, name: str, position: Position | None = None) -> str:
        stage = self._model.draft.stage(self.key)
        return "" if stage is None else field_key(stage, name, position)

    # --- what is shown

    def fill(self) -> None:
        """Show the stage anew."""
        stage = self._model.draft.stage(self.key)
        snapshot = self._model.snapshot
        if stage is None or snapshot is None:
            return
        self._is_filling = True
        self.setAccessibleName(_("Stage {name}").format(name=stage.name))
        put_text(self.name, stage.name)
        self.drive.setCurrentIndex(self.drive.findData(stage.drive))
        self._fill_runs(stage)
        for position in POSITIONS:
            self._fill_part(stage, stage.part(position))
        shown = self._model.shown
        for name, field in self.figures.items():
            unit = shown.unit_of(STAGE_QUANTITIES[name])
            field.set_quantity(STAGE_QUANTITIES[name], unit)
            field.setPlaceholderText(unit)
            value = getattr(stage, name)
            text = "" if value is None else exact_text(value, STAGE_QUANTITIES[name], shown)
            unread = self._model.unread_text(f"{self.key}:{name}")
            put_text(field, text if unread is None else unread)
        put_text(self.slack, stage.slack_definition)
        self._is_filling = False
        self._unfold(self.more.isChecked())
        self._show_end(stage)
        self.show_state()

    def _fill_runs(self, stage: StageDraft) -> None:
        self.run.clear()
        for choice in self._model.choices(stage.drive):
            self.run.addItem(_choice_text(choice), choice)
            self.run.setItemData(self.run.count() - 1, choice.part_type.source, Qt.ItemDataRole.ToolTipRole)
        if stage.part(Position.RUN).fitted is None:
            self.run.addItem(_("nothing fitted yet"), None)
        at = self._model.run_index(stage)
        self.run.setCurrentIndex(at if at >= 0 else self.run.count() - 1)

    def _fill_part(self, stage: StageDraft, part: PartDraft) -> None:
        model, position = self._model, part.position
        noun = position_text(position, stage.drive)
        self._captions[position].setText(noun)
        count, day, use, lot = (
            self.counts[position],
            self.days[position],
            self.uses[position],
            self.lots[position],
        )
        names = (count_text(position, stage.drive), _("fitted on"), _("on it before"), _("lot or serial"))
        for field, name in zip((count, day, use, lot), names, strict=True):
            field.setAccessibleName(
                _("{stage}, {part}: {what}").format(stage=stage.name, part=noun.lower(), what=name)
            )
        count.setPlaceholderText(names[0])
        if model.snapshot is not None:
            day.today = model.snapshot.today
        day.setPlaceholderText(_("day of meter") if model.is_new else _("today"))
        use.set_meter_unit(model.draft.meter_unit)
        texts = (
            (count, "count", "" if part.count is None else str(part.count)),
            (day, "fitted_on", "" if part.fitted_on is None else part.fitted_on.isoformat()),
            (use, "use_before", self._use_text(part)),
        )
        for field, name, text in texts:
            unread = model.unread_text(self._key(name, position))
            put_text(field, text if unread is None else unread)
        put_text(lot, part.lot)

    def _use_text(self, part: PartDraft) -> str:
        if not part.is_history_known:
            return "?"
        if part.use_before == 0.0:
            return ""
        field = self.uses[part.position]
        shown = ShownUnits(distance=self._model.draft.meter_unit.value) if field.unit != "h" else ShownUnits()
        return exact_text(part.use_before, field.quantity, shown, digits=7)

    def _show_end(self, stage: StageDraft) -> None:
        is_kept, end = stage.stage is not None, stage.taken_off
        self.off.setText(
            _("Keep it after all")
            if end is not None
            else _("Take off service …")
            if is_kept
            else _("Leave out")
        )
        self.off.setAccessibleName(
            _("{stage}: {action}").format(stage=stage.name, action=self.off.text().removesuffix(" …"))
        )
        self.parts.setEnabled(end is None)
        self.ended.setVisible(end is not None)
        if end is not None:
            self.ended.setText(
                _("Goes off service on {day}, with all that is on it: {reason}.").format(
                    day=day_text(end.on), reason=removal_text(end.reason)
                )
            )

    def _unfold(self, is_open: bool) -> None:
        self.folded.setVisible(is_open)
        self.more.setText(_("Fewer figures") if is_open else _("More figures"))
        stage = self._model.draft.stage(self.key)
        name = "" if stage is None else stage.name
        self.more.setAccessibleName(_("{stage}: centre distance, adjuster and more").format(stage=name))

    def stops(self) -> list[QWidget]:
        """Return the fields in the order of the hand."""
        stops: list[QWidget] = [self.name, self.drive, self.run, self.more, self.off]
        for position in POSITIONS:
            stops += [self.counts[position], self.days[position], self.uses[position], self.lots[position]]
        return [*stops, *self.figures.values(), self.slack]

    def fields(self) -> dict[str, QWidget]:
        """Return the fields by the names that problems stand under."""
        found: dict[str, QWidget] = {f"{self.key}:name": self.name, f"{self.key}:taken_off": self.off}
        for position in POSITIONS:
            found[self._key("count", position)] = self.counts[position]
            found[self._key("fitted_on", position)] = self.days[position]
            found[self._key("use_before", position)] = self.uses[position]
        found |= {f"{self.key}:{name}": field for name, field in self.figures.items()}
        return found

    def show_state(self) -> QWidget | None:
        """Show what is wrong with the stage; return the first field that is."""
        problems = self._model.problems
        if any(f"{self.key}:{name}" in problems for name in self.figures):
            self.more.setChecked(True)
        return show_problems(self.fields(), self.said, problems)

    def take_look(self) -> None:
        """Follow the text size."""
        for labelled in self._labelled:
            labelled.take_look()
        for field, width in self._widths:
            # Where text is large and the window narrow they give way.
            field.setMinimumWidth(min(scaled(width), _LEAST_PX))
            field.setMaximumWidth(scaled(width))


def _choice_text(choice: RunChoice) -> str:
    """Return a chain or belt, short enough for a closed list."""
    text = run_text(choice.part_type)
    return text if choice.is_own else _("{name} · standard").format(name=text)
