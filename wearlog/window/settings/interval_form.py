"""The form for an interval rule: how often a task comes round, and for which stages."""

from dataclasses import replace
from gettext import gettext as _

from PySide6.QtWidgets import QCheckBox, QComboBox

from wearlog.drawing.number_words import task_text, use_text
from wearlog.fleet.parts import DriveKind
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.service import IntervalRule, Task
from wearlog.fleet.vehicle import VehicleKind
from wearlog.window.fields import EntryField, QuantityField, TagField
from wearlog.window.settings.form import AgreementForm, Labelled, fill_choices, from_the_start, understood
from wearlog.window.settings.interval_words import rule_title
from wearlog.window.settings.value_words import vehicle_kind_text
from wearlog.workshop.agree_intervals import TASKS
from wearlog.workshop.agree_snapshot import Choices, RuleLine


class IntervalForm(AgreementForm):
    """What is to be agreed on about one interval rule."""

    def __init__(self) -> None:
        super().__init__(_("Interval form"), _("&Keep the interval"))
        self._rule = IntervalRule(task=Task.CLEANED)
        self._choices = Choices()
        self._shown = ShownUnits()
        self.task, self.kind, self.drive, self.stage = QComboBox(), QComboBox(), QComboBox(), QComboBox()
        self.vehicle = TagField(_("Vehicle"))
        self.vehicle.setPlaceholderText(_("any"))
        self.scope = self.add_fields(
            Labelled(_("Task"), self.task, 136),
            Labelled(_("Kind of vehicle"), self.kind, 192),
            Labelled(_("Drive"), self.drive, 88),
            Labelled(_("Stage"), self.stage, 136),
            Labelled(_("Vehicle"), self.vehicle, 96),
        )
        self.once = QCheckBox(_("once after fitting, not again"))
        self.once.toggled.connect(self._show_once)
        self.add_widget(self.once)
        self.every_km = QuantityField(_("Every, distance"), Quantity.DISTANCE)
        self.every_h = QuantityField(_("Every, running time"), Quantity.RUNNING_TIME)
        self.every_days = QuantityField(_("Every, days"), Quantity.COUNT)
        self.first_km = QuantityField(_("First, distance"), Quantity.DISTANCE)
        self.first_h = QuantityField(_("First, running time"), Quantity.RUNNING_TIME)
        self.first_days = QuantityField(_("First, days"), Quantity.COUNT)
        self.every = self.add_fields(
            Labelled(_("Every"), self.every_km, 104),
            Labelled(_("or every"), self.every_h, 88),
            Labelled(_("or every … days"), self.every_days, 104),
            Labelled(_("First after"), self.first_km, 104),
            Labelled(_("or first after"), self.first_h, 88),
            Labelled(_("or first after … days"), self.first_days, 128),
        )
        for field in self._values:
            field.setPlaceholderText("–")
        self.source = EntryField(_("Source"))
        self.source.setPlaceholderText(_("maker’s manual and page, or workshop rule"))
        self.note = EntryField(_("Note"))
        self.add_fields(Labelled(_("Source"), self.source, 400), Labelled(_("Note"), self.note, 400))

    @property
    def _values(self) -> tuple[QuantityField, ...]:
        return (
            self.every_km,
            self.every_h,
            self.every_days,
            self.first_km,
            self.first_h,
            self.first_days,
        )

    # --- opening

    def open_change(self, line: RuleLine, choices: Choices, shown: ShownUnits) -> None:
        """Show a rule that is in force."""
        self._choices, self._shown = choices, shown
        self.title.setText(_("Change: {rule}").format(rule=rule_title(line)))
        self.show_record(line.rule)
        self._show_scope(is_new=False)

    def open_new(self, like: IntervalRule, choices: Choices, shown: ShownUnits) -> None:
        """Begin a rule like another one."""
        self._choices, self._shown = choices, shown
        self.title.setText(_("Add an interval; of each task the narrowest that fits a stage counts"))
        self.show_record(replace(like, id=0, version=0, source="", note=""))
        self._show_scope(is_new=True)

    def _show_scope(self, *, is_new: bool) -> None:
        self.once.setEnabled(is_new)
        for n in range(self.scope.count()):
            item = self.scope.itemAt(n)
            widget = item.widget() if item is not None else None
            if widget is not None:
                widget.setVisible(is_new)

    def show_record(self, record: object) -> None:
        """Show a rule."""
        if not isinstance(record, IntervalRule):
            return
        self._rule = record
        tasks = [(task_text(task), task.value) for task in TASKS]
        fill_choices(self.task, tasks, record.task.value)
        anything: list[tuple[str, object]] = [(_("any"), "")]
        kinds = [(vehicle_kind_text(kind), kind.value) for kind in VehicleKind]
        fill_choices(self.kind, [*anything, *kinds], record.vehicle_kind.value if record.vehicle_kind else "")
        drives = [(_("chain"), DriveKind.CHAIN.value), (_("belt"), DriveKind.BELT.value)]
        fill_choices(self.drive, [*anything, *drives], record.drive.value if record.drive else "")
        stages = [(name, name) for name in self._choices.stages]
        fill_choices(self.stage, [*anything, *stages], record.stage_name)
        self.vehicle.set_tags(self._choices.vehicles)
        tags = {number: tag for tag, number in self._choices.vehicles}
        self.vehicle.setText(tags.get(record.vehicle_id or 0, ""))
        self.once.setChecked(record.is_after_fitting)
        for km, value in ((self.every_km, record.every_km), (self.first_km, record.first_km)):
            km.set_quantity(Quantity.DISTANCE, self._shown.distance)
            km.setText("" if value is None else use_text(value, "km", self._shown))
        for hours, value in ((self.every_h, record.every_h), (self.first_h, record.first_h)):
            hours.setText("" if value is None else f"{value:g} h")
        for days, count in ((self.every_days, record.every_days), (self.first_days, record.first_days)):
            days.setText("" if count is None else str(count))
        self.source.setText(record.source)
        self.note.setText(record.note)
        from_the_start(self.source, self.note)
        self._show_once()

    def _show_once(self) -> None:
        for field in (self.every_km, self.every_h, self.every_days):
            field.setEnabled(not self.once.isChecked())

    # --- keeping

    def record(self) -> object:
        """Return the rule as entered.

        Raises
        ------
        WearlogError
            All that can't be understood.
        """
        wrong = understood(*self._values, self.vehicle)
        if wrong:
            raise WearlogError(*wrong)
        rule, once = self._rule, self.once.isChecked()
        kind, drive = self.kind.currentData(), self.drive.currentData()
        has_vehicle = bool(self.vehicle.text().strip()) or not rule.id
        return replace(
            rule,
            task=Task(self.task.currentData()),
            is_after_fitting=once,
            every_km=None if once else self._km(self.every_km, rule.every_km),
            every_h=None if once else _value(self.every_h),
            every_days=None if once else _days(self.every_days),
            first_km=self._km(self.first_km, rule.first_km),
            first_h=_value(self.first_h),
            first_days=_days(self.first_days),
            vehicle_kind=VehicleKind(kind) if kind else None,
            vehicle_id=self.vehicle.vehicle_id if has_vehicle else rule.vehicle_id,
            stage_name=str(self.stage.currentData() or ""),
            drive=DriveKind(drive) if drive else None,
            source=self.source.text().strip(),
            note=self.note.text().strip(),
        )

    def _km(self, field: QuantityField, before: float | None) -> float | None:
        if before is not None and field.text() == use_text(before, "km", self._shown):
            return before
        return _value(field)


def _value(field: QuantityField) -> float | None:
    return None if field.typed is None else round(field.typed.value, 6)


def _days(field: QuantityField) -> int | None:
    return None if field.typed is None else round(field.typed.value)
