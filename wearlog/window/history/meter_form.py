"""A meter entry put right, or a meter replacement entered afterwards."""

from dataclasses import replace
from datetime import date
from gettext import gettext as _
from gettext import ngettext

from PySide6.QtWidgets import QComboBox

from wearlog.drawing.words import use_text
from wearlog.fleet.meter import MeterEntry, MeterEvent
from wearlog.fleet.problem import Doubt, Offer, Problem, WearlogError
from wearlog.fleet.quantity import ShownUnits
from wearlog.window.bench_keys import put_focus
from wearlog.window.fields import DateField, EntryField
from wearlog.window.history.forms import HistoryForm, MeterText
from wearlog.window.history.traffic import Look
from wearlog.window.settings.form import Labelled, fill_choices, understood
from wearlog.wording import day_text
from wearlog.workshop.correct_meter import MeterLook
from wearlog.workshop.history_snapshot import HistorySnapshot


def _events() -> tuple[tuple[str, object], ...]:
    return (
        (_("read"), MeterEvent.READ),
        (_("meter replaced"), MeterEvent.REPLACED),
        (_("meter rolled over"), MeterEvent.ROLLED_OVER),
    )


class MeterForm(HistoryForm):
    """Day, what the meter showed, and whether it was another meter from then on."""

    def __init__(self, today: date) -> None:
        super().__init__(_("Meter entry"), _("&Keep the meter entry"))
        self._entry: MeterEntry | None = None
        self.day = DateField(_("Day"), today)
        self.happened = QComboBox()
        fill_choices(self.happened, _events(), MeterEvent.READ)
        self.value = MeterText(_("Meter"))
        self.old_value = MeterText(_("Last value of the old meter"))
        self.note = EntryField(_("Note"))
        hint = _("What the new meter showed at its start, where it was replaced.")
        self._day = Labelled(_("Day"), self.day, 130)
        self._old = Labelled(
            _("Last value of the old meter"),
            self.old_value,
            190,
            _("Leave it empty if nobody knows; the use since the entry before is then lost."),
        )
        self.add_fields(self._day, Labelled(_("What happened"), self.happened, 190), self._old)
        self.add_fields(Labelled(_("Meter"), self.value, 130, hint), Labelled(_("Note"), self.note, 320))
        self.add_widget(self.comes_to)
        for field in (self.day, self.value, self.old_value, self.note):
            field.understood.connect(self.typed)
        self.happened.currentIndexChanged.connect(lambda _index: self._on_event())

    def open_entry(self, entry: MeterEntry, snapshot: HistorySnapshot, shown: ShownUnits) -> None:
        """Show an entry; one without a number is new."""
        self.shown, self.use_unit = shown, snapshot.use_unit
        for field in (self.value, self.old_value):
            field.set_meter_unit(snapshot.meter_unit)
        if entry.id:
            title = _("Correct: meter entry of {day}").format(day=day_text(entry.on))
        else:
            title = _("Meter of {tag}, entered afterwards").format(tag=snapshot.tag)
        self.title.setText(title)
        self.show_record(entry)

    def show_record(self, record: object) -> None:
        """Show an entry."""
        if not isinstance(record, MeterEntry):
            return
        self._entry = record
        self.day.set_day(record.on)
        # The day of a visit is that of its readings too.
        self.day.setEnabled(record.visit_id is None)
        fill_choices(self.happened, _events(), record.event)
        is_new = not record.id
        self.value.show_value(None if is_new and not record.value else record.value, record.typed)
        self.old_value.show_value(record.old_value)
        self.note.setText(record.note)
        self._on_event()
        self.stop()

    def _on_event(self) -> None:
        is_read = self.happened.currentData() == MeterEvent.READ
        self._old.setVisible(not is_read)
        self.typed()

    def record(self) -> MeterEntry:
        """Return the entry.

        Raises
        ------
        WearlogError
            All that can't be understood.
        """
        entry = self._entry
        problems = understood(self.day, self.value, self.old_value)
        if self.day.day is None and not self.day.problem:
            problems.append(Problem(_("The day is missing."), todo=_("Give the day the meter was read.")))
        if self.value.value is None and not self.value.problem:
            problems.append(Problem(_("The meter value is missing."), todo=_("Type what the meter showed.")))
        if entry is None or problems or self.day.day is None or self.value.value is None:
            raise WearlogError(*(problems or [Problem(_("No entry is open."))]))
        event = MeterEvent(self.happened.currentData())
        is_same = abs(self.value.value - entry.value) < 1e-9
        return replace(
            entry,
            on=self.day.day,
            value=self.value.value,
            typed=entry.typed if is_same and entry.id else self.value.text().strip(),
            event=event,
            old_value=None if event is MeterEvent.READ else self.old_value.value,
            note=self.note.text().strip(),
        )

    def look_text(self, look: Look) -> str:
        """Return what moves along."""
        if not isinstance(look, MeterLook):
            return ""
        said = []
        if look.use_after is not None:
            use = use_text(look.use_after, self.use_unit, self.shown)
            if look.use_before is None or abs(look.use_after - look.use_before) < 0.5:
                said.append(_("The total use stays {use}.").format(use=use))
            else:
                before = use_text(look.use_before, self.use_unit, self.shown)
                said.append(
                    _("The total use becomes {use} instead of {before}.").format(use=use, before=before)
                )
        if look.records:
            said.append(
                ngettext("{n} record moves along.", "{n} records move along.", look.records).format(
                    n=look.records
                )
            )
        return " ".join(said)

    def theirs_text(self, theirs: object) -> str:
        """Return what somebody else made of the entry."""
        if not isinstance(theirs, MeterEntry):
            return ""
        value = use_text(theirs.value, self.use_unit, self.shown)
        return _("{value} on {day}").format(value=value, day=day_text(theirs.on))

    @property
    def opened(self) -> object:
        """The record as it was when the form was opened."""
        return self._entry

    def rebase(self, theirs: object) -> None:
        """Correct what somebody else saved."""
        if isinstance(theirs, MeterEntry):
            self._entry = theirs

    def _on_offer(self, doubt: Doubt | None, offer: Offer) -> None:
        if offer.action == "meter replaced":
            self.said.show_sentences(())
            fill_choices(self.happened, _events(), MeterEvent.REPLACED)
            self._on_event()
            put_focus(self.old_value)
        elif offer.action == "typing slip":
            self.said.show_sentences(())
            put_focus(self.value)
        else:
            super()._on_offer(doubt, offer)
