"""A fitting put right: from when and from what meter value, and until when."""

from dataclasses import replace
from datetime import date
from gettext import gettext as _

from PySide6.QtWidgets import QComboBox

from wearlog.drawing.history_words import removal_text
from wearlog.drawing.words import use_text
from wearlog.fleet.fitting import Installation, RemovalReason
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.fleet.quantity import ShownUnits
from wearlog.window.fields import DateField
from wearlog.window.history.forms import HistoryForm, MeterText
from wearlog.window.history.traffic import Look
from wearlog.window.settings.form import Labelled, fill_choices, understood
from wearlog.wording import day_text
from wearlog.workshop.correct_fitting import FittingLook
from wearlog.workshop.history_snapshot import HistoryLine, HistorySnapshot


class FittingForm(HistoryForm):
    """Two days with what the meter showed; the total use follows from the meter fitted that day."""

    def __init__(self, today: date) -> None:
        super().__init__(_("Correct a fitting"), _("&Keep the fitting"))
        self._installation: Installation | None = None
        self._offsets = (0.0, 0.0)
        self.fitted_day = DateField(_("Fitted on"), today)
        self.fitted_meter = MeterText(_("Meter when fitted"))
        self.removed_day = DateField(_("Came off on"), today)
        self.removed_meter = MeterText(_("Meter when it came off"))
        self.reason = QComboBox()
        self._removed = (
            Labelled(_("Came off on"), self.removed_day, 130),
            Labelled(_("Meter when it came off"), self.removed_meter, 170),
            Labelled(_("Why it came off"), self.reason, 170),
        )
        self.add_fields(
            Labelled(_("Fitted on"), self.fitted_day, 130),
            Labelled(_("Meter when fitted"), self.fitted_meter, 170),
        )
        self.add_fields(*self._removed)
        self.add_widget(self.comes_to)
        for field in (self.fitted_day, self.fitted_meter, self.removed_day, self.removed_meter):
            field.understood.connect(self.typed)
        self.reason.activated.connect(lambda _index: self.typed())

    def open_line(self, line: HistoryLine, snapshot: HistorySnapshot, shown: ShownUnits) -> None:
        """Show the fitting of a line."""
        record = line.record
        if not isinstance(record, Installation):
            message = "only a fitting is corrected here"
            raise TypeError(message)
        self.shown, self.use_unit = shown, snapshot.use_unit
        for field in (self.fitted_meter, self.removed_meter):
            field.set_meter_unit(snapshot.meter_unit)
        title = _("Correct: {part}, fitted {day}").format(part=line.part_text, day=day_text(record.fitted_on))
        self.title.setText(title)
        # Both ends of a fitting have a line; each knows the meter that was fitted that day.
        ends = {other.key: other for other in snapshot.lines}
        self._offsets = (
            _offset(ends.get(f"fitted {record.id}")),
            _offset(ends.get(f"removed {record.id}")),
        )
        self.show_record(record)

    def show_record(self, record: object) -> None:
        """Show a fitting."""
        if not isinstance(record, Installation):
            return
        self._installation = record
        self.fitted_day.set_day(record.fitted_on)
        self.fitted_meter.show_value(record.fitted_use - self._offsets[0])
        for field in self._removed:
            field.setVisible(record.removed_on is not None)
        if record.removed_on is not None:
            self.removed_day.set_day(record.removed_on)
            self.removed_meter.show_value((record.removed_use or 0.0) - self._offsets[1])
        choices = [(removal_text(reason), reason) for reason in RemovalReason]
        fill_choices(self.reason, choices, record.removal_reason or RemovalReason.OTHER)
        self.stop()

    def record(self) -> Installation:
        """Return the fitting.

        Raises
        ------
        WearlogError
            All that can't be understood.
        """
        kept = self._installation
        fields = [self.fitted_day, self.fitted_meter]
        is_removed = kept is not None and kept.removed_on is not None
        if is_removed:
            fields += [self.removed_day, self.removed_meter]
        problems = understood(*fields)
        problems += [
            Problem(
                _("“{field}” is empty.").format(field=field.accessibleName()),
                todo=_("Type the day, and what the meter showed."),
            )
            for field in fields
            if not field.text().strip()
        ]
        fitted_on, fitted = self.fitted_day.day, self.fitted_meter.value
        if kept is None or problems or fitted_on is None or fitted is None:
            raise WearlogError(*(problems or [Problem(_("No fitting is open."))]))
        changed = replace(
            kept, fitted_on=fitted_on, fitted_use=_use(fitted, self._offsets[0], kept.fitted_use)
        )
        removed_on, removed = self.removed_day.day, self.removed_meter.value
        if is_removed and removed_on is not None and removed is not None:
            changed = replace(
                changed,
                removed_on=removed_on,
                removed_use=_use(removed, self._offsets[1], kept.removed_use),
                removal_reason=RemovalReason(self.reason.currentData()),
            )
        return changed

    def look_text(self, look: Look) -> str:
        """Return the use on the part, and what moves along."""
        if not isinstance(look, FittingLook):
            return ""
        use = use_text(look.part_use, self.use_unit, self.shown)
        text = _("The part has run {use} by its end here.").format(use=use)
        if look.along:
            text += " " + _("The part before or after it in the same place moves along.")
        return text

    def theirs_text(self, theirs: object) -> str:
        """Return what somebody else made of the fitting."""
        if not isinstance(theirs, Installation):
            return ""
        return _("fitted {on}, came off {off}").format(
            on=day_text(theirs.fitted_on), off=day_text(theirs.removed_on)
        )

    @property
    def opened(self) -> object:
        """The record as it was when the form was opened."""
        return self._installation

    def rebase(self, theirs: object) -> None:
        """Correct what somebody else saved."""
        if isinstance(theirs, Installation):
            self._installation = theirs


def _use(meter: float, offset: float, kept: float | None) -> float:
    """Return the total use for a meter value; what was not touched stays to the last digit."""
    use = meter + offset
    return kept if kept is not None and abs(use - kept) < 1e-6 else use


def _offset(line: HistoryLine | None) -> float:
    if line is None or line.total_use is None or line.meter_value is None:
        return 0.0
    return line.total_use - line.meter_value
