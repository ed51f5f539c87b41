"""The state of the torque page: the sheet of a vehicle, and what is typed on it."""

from dataclasses import replace
from datetime import date
from gettext import gettext as _

from PySide6.QtCore import QObject, Signal

from wearlog import units
from wearlog.fleet.problem import Doubt, Problem, WearlogError
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.reading import Instrument
from wearlog.fleet.torque import TorqueWork
from wearlog.fleet.vehicle import MeterUnit
from wearlog.workshop.torque_doubts import check_torques
from wearlog.workshop.torque_snapshot import FastenerLine, TorqueDraft, TorqueEntry, TorqueSnapshot

#: In the order in which the star key goes through them.
WORKS = tuple(TorqueWork)


class TorqueModel(QObject):
    """The torque sheet as it is typed: every change makes a new draft and tells so.

    Attributes
    ----------
    snapshot
        The sheet of the vehicle, None while no vehicle is shown.
    draft
        What is typed.
    chosen_id
        The fastener that the hand is at; 0 for none.
    is_restored
        Whether the draft was found half-filled.

    Signals
    -------
    opened()
        Another sheet is shown, or the same one read anew.
    entry_changed(int)
        What is typed for a fastener changed.
    head_changed()
        Date, meter, person or wrench changed.
    draft_changed()
        Any of it: the draft is to be kept.
    chosen(int)
        The hand is at another fastener.
    """

    opened = Signal()
    entry_changed = Signal(int)
    head_changed = Signal()
    draft_changed = Signal()
    chosen = Signal(int)

    def __init__(self, shown: ShownUnits, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.shown = shown
        self.snapshot: TorqueSnapshot | None = None
        self.draft: TorqueDraft | None = None
        self.chosen_id = 0
        self.is_restored = False
        self.meter_problem: Problem | None = None
        self._problems: dict[int, Problem] = {}

    # --- opening

    def show(self, snapshot: TorqueSnapshot, kept: TorqueDraft | None, by: str) -> None:
        """Show the sheet of a vehicle with what was kept of it."""
        self.snapshot = snapshot
        self.is_restored = kept is not None and not kept.is_empty
        fresh = TorqueDraft(snapshot.vehicle_id, snapshot.today, by=by, instrument_id=snapshot.last_wrench_id)
        self.draft = kept if kept is not None and self.is_restored else fresh
        known = {line.fastener.id for line in snapshot.lines}
        # A fastener may have been taken off the sheet meanwhile.
        entries = {number: entry for number, entry in self.draft.entries.items() if number in known}
        self.draft = replace(self.draft, entries=entries)
        if self.chosen_id not in known:
            self.chosen_id = snapshot.lines[0].fastener.id if snapshot.lines else 0
        self._understand_anew()
        self.opened.emit()

    def show_again(self, snapshot: TorqueSnapshot, by: str) -> None:
        """Show the sheet as it is now; what was typed stays."""
        draft = None if self.is_empty else self.draft
        was_restored = self.is_restored
        self.show(snapshot, draft, by)
        self.is_restored = was_restored and draft is not None

    def clear(self) -> None:
        """Show no sheet."""
        self.snapshot = self.draft = None
        self.chosen_id, self.is_restored, self.meter_problem = 0, False, None
        self._problems.clear()
        self.opened.emit()

    def set_shown(self, shown: ShownUnits) -> None:
        """Read and show in other units; bare numbers are understood in the new one."""
        self.shown = shown
        self._understand_anew()
        self.opened.emit()

    def _understand_anew(self) -> None:
        self._problems.clear()
        self.meter_problem = None
        if self.draft is None:
            return
        for number, entry in self.draft.entries.items():
            # Bare numbers keep the unit that they were typed in, at another seat or before the units changed.
            text = entry.text
            if text.strip() and entry.unit != self.shown.torque and not any(map(str.isalpha, text)):
                text = f"{text.strip()} {entry.unit}"
            self.draft = self.draft.with_entry(number, self._understood(number, replace(entry, text=text)))
        self._understand_meter(self.draft.meter_text)

    # --- what is shown

    @property
    def lines(self) -> tuple[FastenerLine, ...]:
        """The fasteners of the sheet."""
        return self.snapshot.lines if self.snapshot is not None else ()

    @property
    def is_empty(self) -> bool:
        """Whether nothing was typed."""
        return self.draft is None or self.draft.is_empty

    @property
    def has_torques(self) -> bool:
        """Whether there is anything to save."""
        return self.draft is not None and any(not entry.is_empty for entry in self.draft.entries.values())

    @property
    def wrench(self) -> Instrument | None:
        """The wrench that is chosen."""
        if self.snapshot is None or self.draft is None:
            return None
        return self.snapshot.wrench(self.draft.instrument_id)

    def line(self, fastener_id: int) -> FastenerLine | None:
        """Return the line of a fastener."""
        return self.snapshot.line(fastener_id) if self.snapshot is not None else None

    def entry(self, fastener_id: int) -> TorqueEntry:
        """Return what is typed for a fastener; untouched, what is most likely done next."""
        entry = self.draft.entries.get(fastener_id) if self.draft is not None else None
        if entry is not None:
            return entry
        line = self.line(fastener_id)
        return TorqueEntry(work=line.usual_work if line is not None else TorqueWork.TIGHTENED)

    def problem(self, fastener_id: int) -> Problem | None:
        """Return why what is typed can't be understood."""
        return self._problems.get(fastener_id)

    def doubts(self, fastener_id: int) -> tuple[Doubt, ...]:
        """Return the questions about what is typed that were not answered yet."""
        line, entry = self.line(fastener_id), self.entry(fastener_id)
        if line is None or self.draft is None:
            return ()
        found = check_torques(line.fastener, entry, self.wrench, self.draft.on)
        return tuple(doubt for doubt in found if doubt.kind.value not in entry.kept)

    # --- typing

    def choose(self, fastener_id: int) -> None:
        """Put the hand at a fastener."""
        if fastener_id != self.chosen_id:
            self.chosen_id = fastener_id
            self.chosen.emit(fastener_id)

    def type_torque(self, fastener_id: int, text: str) -> None:
        """Take what was typed for a fastener; the text always stays, understood or not."""
        entry = self.entry(fastener_id)
        if text == entry.text:
            return
        line = self.line(fastener_id)
        if text.strip() and entry.work is TorqueWork.MARKER_SEEN:
            # Who types a torque has turned the bolt.
            entry = replace(entry, work=line.usual_work if line is not None else TorqueWork.TIGHTENED)
        self._put(fastener_id, replace(entry, text=text, kept=()))

    def set_work(self, fastener_id: int, work: TorqueWork) -> None:
        """Say what was done."""
        entry = self.entry(fastener_id)
        if work is not entry.work:
            text = "" if work is TorqueWork.MARKER_SEEN else entry.text
            self._put(fastener_id, replace(entry, work=work, text=text, kept=()))

    def turn_work(self, fastener_id: int) -> None:
        """Go to the next kind of work."""
        at = WORKS.index(self.entry(fastener_id).work)
        self.set_work(fastener_id, WORKS[(at + 1) % len(WORKS)])

    def keep_value(self, fastener_id: int, doubt: Doubt) -> None:
        """Answer a question by keeping the value."""
        entry = self.entry(fastener_id)
        self._put(fastener_id, replace(entry, kept=(*entry.kept, doubt.kind.value)))

    def use_unit(self, fastener_id: int, unit: str) -> None:
        """Read the numbers that were typed in another unit."""
        entry = self.entry(fastener_id)
        try:
            typed = units.parse_several(entry.text, Quantity.TORQUE, self.shown.torque)
        except WearlogError:
            return
        numbers = " ".join(f"{units.in_unit(one.value, Quantity.TORQUE, one.unit):.6g}" for one in typed)
        self._put(fastener_id, replace(entry, text=f"{numbers} {unit}", kept=()))

    def set_day(self, day: date) -> None:
        """Take the date."""
        if self.draft is not None and day != self.draft.on:
            self.draft = replace(self.draft, on=day)
            self._tell_head()

    def set_by(self, by: str) -> None:
        """Take who did it."""
        if self.draft is not None and by != self.draft.by:
            self.draft = replace(self.draft, by=by)
            self._tell_head()

    def set_wrench(self, instrument_id: int | None) -> None:
        """Take the wrench."""
        if self.draft is not None and instrument_id != self.draft.instrument_id:
            self.draft = replace(self.draft, instrument_id=instrument_id)
            self._tell_head()

    def type_meter(self, text: str) -> None:
        """Take what was typed for the meter."""
        if self.draft is not None and text != self.draft.meter_text:
            self.draft = replace(self.draft, meter_text=text)
            self._understand_meter(text)
            self._tell_head()

    # --- understanding

    def _understand_meter(self, text: str) -> None:
        self.meter_problem = None
        if self.draft is None or self.snapshot is None:
            return
        value = None
        if text.strip():
            unit = self.snapshot.meter_unit
            quantity = Quantity.RUNNING_TIME if unit is MeterUnit.HOURS else Quantity.DISTANCE
            try:
                value = units.parse(text, quantity, unit.value).value
            except WearlogError as error:
                self.meter_problem = error.problems[0]
        self.draft = replace(self.draft, meter_value=value)

    def _understood(self, fastener_id: int, entry: TorqueEntry) -> TorqueEntry:
        self._problems.pop(fastener_id, None)
        if not entry.text.strip():
            return replace(entry, values_nm=())
        try:
            typed = units.parse_several(entry.text, Quantity.TORQUE, self.shown.torque)
        except WearlogError as error:
            self._problems[fastener_id] = error.problems[0]
            return replace(entry, values_nm=())
        values = tuple(one.value for one in typed)
        if min(values) <= 0.0:
            self._problems[fastener_id] = Problem(
                _("A torque is above 0."), "", _("Type what the wrench was set to or showed.")
            )
            values = ()
        return replace(entry, values_nm=values, unit=typed[0].unit)

    def _put(self, fastener_id: int, entry: TorqueEntry) -> None:
        if self.draft is None:
            return
        self.draft = self.draft.with_entry(fastener_id, self._understood(fastener_id, entry))
        self.entry_changed.emit(fastener_id)
        self.draft_changed.emit()

    def _tell_head(self) -> None:
        self.head_changed.emit()
        self.draft_changed.emit()
