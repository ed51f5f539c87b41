"""The form for a limit: another value for one in force, or one more for a narrower scope."""

from dataclasses import replace
from gettext import gettext as _

from PySide6.QtWidgets import QComboBox, QPushButton

from wearlog.drawing.number_words import measurand_text
from wearlog.fleet.limit import Limit
from wearlog.fleet.parts import WearClass
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.reading import Measurand
from wearlog.window.fields import EntryField, QuantityField, TagField
from wearlog.window.settings.form import AgreementForm, Labelled, fill_choices, from_the_start, understood
from wearlog.window.settings.limit_words import limit_title
from wearlog.window.settings.value_words import class_text, exact_text
from wearlog.workshop.agree_limits import CLASSES
from wearlog.workshop.agree_snapshot import Choices, LimitLine

_PLAIN = ShownUnits()


class LimitForm(AgreementForm):
    """What is to be agreed on about one limit."""

    def __init__(self) -> None:
        super().__init__(_("Limit form"), _("&Keep the limit"))
        self._limit = Limit(
            measurand=Measurand.CHAIN_ELONGATION, wear_class=WearClass.UNKNOWN, service_limit=0.0
        )
        self._default: Limit | None = None
        self._choices = Choices()
        self._shown = ShownUnits()
        self.what = QComboBox()
        self.part = QComboBox()
        self.designation, self.model, self.stage = QComboBox(), QComboBox(), QComboBox()
        self.designation.setEditable(True)
        self.vehicle = TagField(_("Vehicle"))
        self.vehicle.setPlaceholderText(_("any"))
        self.scope = self.add_fields(
            Labelled(_("What"), self.what, 136),
            Labelled(_("Part"), self.part, 236),
            Labelled(_("Designation"), self.designation, 104),
            Labelled(_("Vehicle model"), self.model, 96),
            Labelled(_("Stage"), self.stage, 120),
            Labelled(_("Vehicle"), self.vehicle, 88),
        )
        self.as_new = QuantityField(_("As new"), Quantity.ELONGATION)
        self.service = QuantityField(_("Service limit"), Quantity.ELONGATION)
        self.plan = QuantityField(_("Plan at"), Quantity.SHARE, "%")
        self.stop = QuantityField(_("Stop use"), Quantity.ELONGATION)
        self.stop.setPlaceholderText(_("none"))
        share_hint = _(
            "Share of the wear allowance, from as new to the service limit, at which to plan ahead."
        )
        self.add_fields(
            Labelled(_("As new"), self.as_new, 104),
            Labelled(_("Service limit"), self.service, 104),
            Labelled(_("Plan at, of the allowance"), self.plan, 168, share_hint),
            Labelled(_("Stop use"), self.stop, 104),
        )
        self.source = EntryField(_("Source"))
        self.source.setPlaceholderText(_("maker’s manual and page, or workshop rule"))
        self.note = EntryField(_("Note"))
        self.add_fields(Labelled(_("Source"), self.source, 400), Labelled(_("Note"), self.note, 400))
        self.put_back = QPushButton(_("wearlog’s &own values"))
        self.put_back.clicked.connect(self._fill_default)
        self.buttons.insertWidget(2, self.put_back)
        self.what.activated.connect(self._on_what)
        self.part.activated.connect(self._fill_designations)

    # --- opening

    def open_change(self, line: LimitLine, choices: Choices, shown: ShownUnits) -> None:
        """Show a limit that is in force."""
        self._choices, self._shown, self._default = choices, shown, line.default
        self.title.setText(_("Change: {limit}").format(limit=limit_title(line)))
        self.show_record(line.limit)
        self._show_scope(is_new=False)
        self.put_back.setVisible(line.default is not None and not line.is_default)

    def open_new(self, like: Limit, choices: Choices, shown: ShownUnits) -> None:
        """Begin a limit like another one, to be narrowed."""
        self._choices, self._shown, self._default = choices, shown, None
        self.title.setText(_("Add a limit; of those that fit a part the narrowest counts"))
        self.show_record(replace(like, id=0, version=0, source="", note=""))
        self._show_scope(is_new=True)
        self.put_back.hide()

    def _show_scope(self, *, is_new: bool) -> None:
        for n in range(self.scope.count()):
            item = self.scope.itemAt(n)
            widget = item.widget() if item is not None else None
            if widget is not None:
                widget.setVisible(is_new)

    def show_record(self, record: object) -> None:
        """Show a limit."""
        if not isinstance(record, Limit):
            return
        self._limit = record
        fill_choices(self.what, [(measurand_text(m), m.value) for m in CLASSES], record.measurand.value)
        self._fill_parts(record.wear_class)
        self.designation.setEditText(record.designation)
        anything = [(_("any"), "")]
        fill_choices(self.model, anything + [(name, name) for name in self._choices.models], record.model)
        stages = anything + [(name, name) for name in self._choices.stages]
        fill_choices(self.stage, stages, record.stage_name)
        self.vehicle.set_tags(self._choices.vehicles)
        tags = {number: tag for tag, number in self._choices.vehicles}
        self.vehicle.setText(tags.get(record.vehicle_id or 0, ""))
        self._show_values(record)
        self.source.setText(record.source)
        self.note.setText(record.note)
        from_the_start(self.source, self.note)

    def _show_values(self, limit: Limit) -> None:
        quantity = limit.measurand.quantity
        unit = self._shown.unit_of(quantity)
        for field, value in (
            (self.as_new, limit.as_new),
            (self.service, limit.service_limit),
            (self.stop, limit.stop_use_limit),
        ):
            field.set_quantity(quantity, unit)
            field.setText("" if value is None else exact_text(value, quantity, self._shown))
        self.plan.setText(exact_text(limit.plan_share, Quantity.SHARE, _PLAIN))

    def _fill_parts(self, chosen: WearClass) -> None:
        classes = CLASSES[Measurand(self.what.currentData())]
        known = chosen if chosen in classes else classes[0]
        fill_choices(self.part, [(class_text(one), one.value) for one in classes], known.value)
        self._fill_designations()

    def _fill_designations(self) -> None:
        kept = self.designation.currentText()
        names = self._choices.designations_of(WearClass(self.part.currentData()))
        fill_choices(self.designation, [("", ""), *((name, name) for name in names)], "")
        self.designation.setEditText(kept)
        line = self.designation.lineEdit()
        if line is not None:
            line.setPlaceholderText(_("any"))

    def _on_what(self) -> None:
        measurand = Measurand(self.what.currentData())
        self._fill_parts(WearClass(self.part.currentData()))
        unit = self._shown.unit_of(measurand.quantity)
        for field in (self.as_new, self.service, self.stop):
            field.set_quantity(measurand.quantity, unit)
            field.clear()

    def _fill_default(self) -> None:
        if self._default is not None:
            self._show_values(self._default)
            self.source.setText(self._default.source)
            self.note.setText(self._default.note)
            from_the_start(self.source, self.note)

    # --- keeping

    def record(self) -> object:
        """Return the limit as entered.

        Raises
        ------
        WearlogError
            All that can't be understood.
        """
        fields = (self.as_new, self.service, self.plan, self.stop)
        wrong = understood(*fields, self.vehicle)
        for field, caption in ((self.service, _("Service limit")), (self.plan, _("Plan at"))):
            if field.typed is None and field.problem is None:
                wrong.append(
                    Problem(
                        _("{field} is missing.").format(field=caption), "", _("Type a value with its unit.")
                    )
                )
                field.mark_problem(True)
        if wrong or self.service.typed is None or self.plan.typed is None:
            raise WearlogError(*wrong)
        return replace(
            self._limit,
            measurand=Measurand(self.what.currentData()),
            wear_class=WearClass(self.part.currentData()),
            designation=self.designation.currentText().strip(),
            model=str(self.model.currentData() or ""),
            stage_name=str(self.stage.currentData() or ""),
            vehicle_id=self._vehicle_id(),
            as_new=self._value(self.as_new, self._limit.as_new) or 0.0,
            service_limit=self._value(self.service, self._limit.service_limit) or 0.0,
            plan_share=round(self.plan.typed.value, 9),
            stop_use_limit=self._value(self.stop, self._limit.stop_use_limit),
            source=self.source.text().strip(),
            note=self.note.text().strip(),
        )

    def _vehicle_id(self) -> int | None:
        # A retired vehicle is not offered; its own limit stays its own.
        return (
            self.vehicle.vehicle_id
            if self.vehicle.text().strip() or not self._limit.id
            else (self._limit.vehicle_id)
        )

    def _value(self, field: QuantityField, before: float | None) -> float | None:
        """Return what was typed; what was not touched keeps every digit, whatever the unit shown."""
        if field.typed is None:
            return None
        quantity = field.quantity
        if before is not None and field.text() == exact_text(before, quantity, self._shown):
            return before
        return round(field.typed.value, 9)
