"""The state of the service sheet: what is asked, what was typed, what it would mean."""

from dataclasses import replace
from datetime import date

from wearlog.fleet.problem import Doubt, Offer, Problem, WearlogError
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Measurand, Method
from wearlog.fleet.service import Task
from wearlog.window.service_sheet.answers import (
    MEASURE_AGAIN,
    OTHER_METHOD,
    PART_REPLACED,
    TYPING_SLIP,
    USE_PITCHES,
    ZERO_READING,
    note_of_answer,
    text_offered,
)
from wearlog.window.service_sheet.moved import draft_fitted, draft_moved
from wearlog.window.service_sheet.sheet_state import SheetState
from wearlog.window.service_sheet.typed_spots import (
    TypedSpots,
    method_typed,
    read_meter,
    read_set_value,
    read_spots,
)
from wearlog.window.service_sheet.words import (
    COUNTED,
    Way,
    usual_pitches,
    way_of,
    ways,
)
from wearlog.workshop.sheet import (
    AskedReading,
    AskedTask,
    EntryDraft,
    SheetDraft,
    SheetPreview,
    SheetSnapshot,
)


class SheetModel(SheetState):
    """The sheet as it is typed: every change makes a new draft and tells so."""

    # --- opening -----------------------------------------------------------------------------------------

    def show(self, snapshot: SheetSnapshot, kept: SheetDraft | None, by: str) -> None:
        """Show the sheet of a vehicle, with what was kept of it."""
        self.snapshot = snapshot
        self.is_restored = kept is not None and not kept.is_empty
        if kept is None or kept.is_empty:
            self.draft = SheetDraft(
                snapshot.vehicle_id, snapshot.today, by=by, planned_number=snapshot.planned_number
            )
        else:
            number = snapshot.planned_number or kept.planned_number
            self.draft = replace(draft_fitted(kept, snapshot), planned_number=number)
        self.preview = None
        self._understand_anew()
        self.opened.emit()
        if self.is_restored:
            self.draft_changed.emit()

    def clear(self) -> None:
        """Show no sheet."""
        self.snapshot = self.draft = self.preview = None
        self.is_restored = False
        self._understand_anew()
        self.opened.emit()

    def show_moved(self, snapshot: SheetSnapshot, draft: SheetDraft, before: SheetSnapshot) -> None:
        """Show the sheet of a vehicle with what was typed on the sheet of another one."""
        self.show(snapshot, draft_moved(draft, before, snapshot), draft.by)
        self.is_restored = False

    def set_shown(self, shown: ShownUnits) -> None:
        """Read and show in other units; what was typed with its unit stays."""
        self.shown = shown
        self._understand_anew()
        self.opened.emit()

    def _understand_anew(self) -> None:
        self._problems.clear()
        self._chosen.clear()
        self._answered.clear()
        self.meter_problem = None
        self.old_meter_text = ""
        if self.draft is None or self.snapshot is None:
            return
        for asked in self.readings():
            entry = self.draft.entries.get(asked.key)
            if entry is not None and entry.text:
                read = self._read(asked, entry)
                if read.problem is not None:
                    self._problems[asked.key] = read.problem
        self._understand_meter(self.draft.meter_text)

    # --- typing ------------------------------------------------------------------------------------------

    def type_meter(self, text: str) -> None:
        """Take what was typed for the meter."""
        if self.draft is None or text == self.draft.meter_text:
            return
        value = self._understand_meter(text)
        self.draft = replace(self.draft, meter_text=text, meter_value=value)
        if not text.strip():
            self.draft = replace(self.draft, meter_was_replaced=False, old_meter_value=None)
        self._tell_head()

    def _understand_meter(self, text: str) -> float | None:
        self.meter_problem = None
        if not text.strip() or self.snapshot is None:
            return None
        try:
            return read_meter(text, self.snapshot.meter_unit).value
        except WearlogError as error:
            self.meter_problem = error.problems[0]
            return None

    def type_old_meter(self, text: str) -> None:
        """Take the last value of the meter that was replaced; empty if nobody knows it."""
        if self.draft is None or self.snapshot is None:
            return
        self.old_meter_text = text
        value = None
        if text.strip():
            try:
                value = read_meter(text, self.snapshot.meter_unit).value
                self.meter_problem = None
            except WearlogError as error:
                self.meter_problem = error.problems[0]
        else:
            self._understand_meter(self.draft.meter_text)
        self.draft = replace(self.draft, old_meter_value=value)
        self._tell_head()

    def set_meter_replaced(self, was_replaced: bool) -> None:
        """Say that the meter was replaced; its last known value stands for the old one until corrected."""
        if self.draft is None or self.snapshot is None:
            return
        old = self.snapshot.last_meter if was_replaced else None
        self.draft = replace(self.draft, meter_was_replaced=was_replaced, old_meter_value=old)
        self._tell_head()

    def set_day(self, day: date) -> None:
        """Take the date of the visit."""
        if self.draft is not None and day != self.draft.on:
            self.draft = replace(self.draft, on=day)
            self._tell_head()

    def set_by(self, by: str) -> None:
        """Take who did it."""
        if self.draft is not None and by != self.draft.by:
            self.draft = replace(self.draft, by=by)
            self._tell_head()

    def set_notes(self, notes: str) -> None:
        """Take the notes of the visit."""
        if self.draft is not None and notes != self.draft.notes:
            self.draft = replace(self.draft, notes=notes)
            self._tell_head()

    def _tell_head(self) -> None:
        self.head_changed.emit()
        self.draft_changed.emit()

    def type_entry(self, key: str, text: str) -> None:
        """Take what was typed for a reading; the text always stays, understood or not."""
        entry = self.entry(key)
        if self.draft is None or (text == entry.text and not entry.not_measured):
            return
        asked = self.asked(key)
        chosen = self._chosen.get(key) or way_of(asked, EntryDraft())
        method = method_typed(text, asked.methods, chosen.method)
        if method is not chosen.method:
            chosen = next(way for way in ways(asked) if way.method is method)
        self._put(asked, replace(entry, text=text, not_measured=""), chosen)

    def choose_way(self, key: str, way: Way) -> None:
        """Take another method and instrument; the text is understood anew."""
        if self.draft is None:
            return
        self._chosen[key] = way
        entry = self.entry(key)
        if way.method is not self.way(key).method:
            entry = replace(entry, pitches=None)
        self._put(self.asked(key), entry, way)

    def set_definition(self, key: str, definition: str) -> None:
        """Say how slack is measured: run, place, total or one way or gap, stance."""
        if self.draft is not None and definition != self.definition(key):
            self._put(self.asked(key), replace(self.entry(key), definition=definition), self.way(key))

    def set_pitches(self, key: str, pitches: int) -> None:
        """Take another count of pitches."""
        if self.draft is not None and pitches > 0 and pitches != self.pitches(key):
            self._put(self.asked(key), replace(self.entry(key), pitches=pitches), self.way(key))

    def set_cleaned(self, key: str, was_cleaned: bool) -> None:
        """Say whether the part was cleaned before measuring."""
        if self.draft is not None and self.entry(key).was_cleaned is not was_cleaned:
            self._put(self.asked(key), replace(self.entry(key), was_cleaned=was_cleaned), self.way(key))

    def say_not_measured(self, key: str, reason: str) -> None:
        """Take the answer that a reading was not taken, and why; an empty reason takes it back."""
        if self.draft is None:
            return
        self._problems.pop(key, None)
        self.draft = self.draft.with_entry(key, EntryDraft(not_measured=reason))
        self._tell_entry(key)

    def _read(self, asked: AskedReading, entry: EntryDraft) -> TypedSpots:
        way = way_of(asked, entry)
        return read_spots(entry.text, way.method, asked.measurand, way.instrument, self.shown)

    def _put(self, asked: AskedReading, entry: EntryDraft, way: Way) -> None:
        if self.draft is None:
            return
        is_counted = way.method in COUNTED and asked.measurand is Measurand.CHAIN_ELONGATION
        entry = replace(
            entry,
            method=way.method,
            instrument_id=way.instrument.id if way.instrument else None,
            pitches=(entry.pitches or usual_pitches(asked, way.method)) if is_counted else None,
            definition=entry.definition or asked.definition,
        )
        read = self._read(asked, entry)
        entry = replace(entry, spots=read.spots, deflection_mm=read.deflection_mm)
        if read.problem is None:
            self._problems.pop(asked.key, None)
        else:
            self._problems[asked.key] = read.problem
        self.draft = self.draft.with_entry(asked.key, entry)
        self._tell_entry(asked.key)

    def _tell_entry(self, key: str) -> None:
        self.entry_changed.emit(key)
        self.draft_changed.emit()

    # --- tasks -------------------------------------------------------------------------------------------

    def tick(self, key: str, done: bool) -> None:
        """Tick a task off, or not."""
        if self.draft is None or self.task(key).done is done:
            return
        self.draft = self.draft.with_task(key, replace(self.task(key), done=done))
        self.task_changed.emit(key)
        self.draft_changed.emit()

    def type_values(self, key: str, before_text: str, after_text: str) -> None:
        """Take what was set, from and to."""
        if self.draft is None:
            return
        asked = self.asked_task(key)
        task = replace(
            self.task(key),
            before_text=before_text,
            after_text=after_text,
            before=_set_value(before_text, asked),
            after=_set_value(after_text, asked),
            done=self.task(key).done or bool(before_text.strip() or after_text.strip()),
        )
        self.draft = self.draft.with_task(key, task)
        self.task_changed.emit(key)
        self.draft_changed.emit()

    def task_problems(self, key: str) -> tuple[Problem, ...]:
        """Return why the values of a task can't be understood."""
        asked, task = self.asked_task(key), self.task(key)
        found = []
        for text in (task.before_text, task.after_text):
            if text.strip() and _set_value(text, asked) is None:
                try:
                    read_set_value(text, asked.quantity_unit)
                except WearlogError as error:
                    found.append(error.problems[0])
        return tuple(found)

    # --- what it would mean ------------------------------------------------------------------------------

    def show_preview(self, preview: SheetPreview) -> None:
        """Take a new preview of the present draft."""
        self.preview = preview
        self.previewed.emit()

    def accept(self, key: str, doubt: Doubt | None, offer: Offer) -> bool:
        """Carry out an offer about an entry; False if the hand has to do something first.

        An offer that needs nothing typed counts as an answer: the question is kept in the note of the
        reading, and is not asked again.
        """
        entry, value = self.entry(key), offer.value
        if offer.action == USE_PITCHES and isinstance(value, int | float):
            self.set_pitches(key, round(value))
        elif (text := text_offered(entry.text, offer)) is not None:
            self.type_entry(key, text)
        elif offer.action == OTHER_METHOD:
            self._choose_other_method(key)
            return False
        elif offer.action in {MEASURE_AGAIN, TYPING_SLIP}:
            return False
        elif self.draft is not None:
            if offer.action == PART_REPLACED:
                self._tick_new_part(key)
            if doubt is not None:
                self._answered.add((key, doubt.kind))
            is_zero = entry.is_zero or offer.action == ZERO_READING
            note = note_of_answer(entry.note, doubt, offer)
            self.draft = self.draft.with_entry(key, replace(entry, note=note, is_zero=is_zero))
            self._tell_entry(key)
        return True

    def _choose_other_method(self, key: str) -> None:
        other = [way for way in ways(self.asked(key)) if way.method is Method.INSIDE_AND_OUTSIDE]
        if other:
            self.choose_way(key, other[0])

    def _tick_new_part(self, key: str) -> None:
        installation_id = self.asked(key).installation_id
        for task in self.tasks():
            if task.task is Task.PART_FITTED and task.key.endswith(f":{installation_id}"):
                self.tick(task.key, True)


def _set_value(text: str, asked: AskedTask) -> float | None:
    if not text.strip():
        return None
    try:
        return read_set_value(text, asked.quantity_unit).value
    except WearlogError:
        return None
