"""What the sheet of one vehicle asks and holds, to be looked up."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from uuid import uuid4

from PySide6.QtCore import QObject, Signal

from wearlog.fleet.problem import DoubtKind, Problem
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Measurand
from wearlog.window.service_sheet.words import COUNTED, EntryWords, Way, entry_words, usual_pitches, way_of
from wearlog.workshop.sheet import (
    AskedReading,
    AskedTask,
    EntryDraft,
    EntryPreview,
    SheetDraft,
    SheetPreview,
    SheetSnapshot,
    TaskDraft,
)


class SheetState(QObject):
    """What the sheet of one vehicle asks, what was typed, and what that would mean.

    Attributes
    ----------
    snapshot
        What is asked; None while no vehicle is chosen.
    draft
        What was typed; every change makes a new one.
    preview
        What it would mean; of the latest draft that was looked at.
    shown
        The units of this seat.

    Signals
    -------
    opened()
        Another sheet, or none.
    head_changed()
        Meter, date or person.
    entry_changed(str), task_changed(str)
        One entry or task, by its key.
    draft_changed()
        Anything typed: time to keep the draft and look ahead.
    previewed()
        There is a new preview.
    """

    opened = Signal()
    head_changed = Signal()
    entry_changed = Signal(str)
    task_changed = Signal(str)
    draft_changed = Signal()
    previewed = Signal()

    def __init__(self, shown: ShownUnits, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.shown = shown
        self.snapshot: SheetSnapshot | None = None
        self.draft: SheetDraft | None = None
        self.preview: SheetPreview | None = None
        self.is_restored = False
        self.meter_problem: Problem | None = None
        self.old_meter_text = ""
        self._problems: dict[str, Problem] = {}
        self._chosen: dict[str, Way] = {}
        self._answered: set[tuple[str, DoubtKind]] = set()

    # --- what is asked -----------------------------------------------------------------------------------

    def readings(self) -> Iterator[AskedReading]:
        """Go through all readings, asked and possible, in the order of the hand."""
        for block in self.snapshot.blocks if self.snapshot else ():
            yield from block.readings

    def tasks(self) -> Iterator[AskedTask]:
        """Go through all tasks."""
        for block in self.snapshot.blocks if self.snapshot else ():
            yield from block.tasks

    def asked(self, key: str) -> AskedReading:
        """Return the reading of a key."""
        return next(reading for reading in self.readings() if reading.key == key)

    def asked_task(self, key: str) -> AskedTask:
        """Return the task of a key."""
        return next(task for task in self.tasks() if task.key == key)

    def entry(self, key: str) -> EntryDraft:
        """Return what was typed for a reading."""
        return self.draft.entries.get(key, EntryDraft()) if self.draft else EntryDraft()

    def task(self, key: str) -> TaskDraft:
        """Return what was ticked and typed for a task."""
        return self.draft.tasks.get(key, TaskDraft()) if self.draft else TaskDraft()

    def way(self, key: str) -> Way:
        """Return how a reading is taken."""
        return way_of(self.asked(key), self.entry(key))

    def pitches(self, key: str) -> int | None:
        """Return over how many pitches a reading is taken, None where pitches don't count."""
        if self.way(key).method not in COUNTED or self.asked(key).measurand is not Measurand.CHAIN_ELONGATION:
            return None
        return self.entry(key).pitches or usual_pitches(self.asked(key), self.way(key).method)

    def definition(self, key: str) -> str:
        """Return how the quantity is defined, as far as anybody said."""
        return self.entry(key).definition or self.asked(key).definition

    def preview_of(self, key: str) -> EntryPreview | None:
        """Return what an entry would mean."""
        entries = self.preview.entries if self.preview else ()
        return next((entry for entry in entries if entry.key == key), None)

    def problem(self, key: str) -> Problem | None:
        """Return why the text of an entry can't be understood."""
        return self._problems.get(key)

    def words(self, key: str) -> EntryWords:
        """Return what stands beside a field."""
        words = entry_words(
            self.asked(key),
            self.entry(key),
            self.preview_of(key),
            self._problems.get(key),
            self.shown,
            self.snapshot.today if self.snapshot else date.min,
        )
        open_doubts = tuple(doubt for doubt in words.doubts if (key, doubt.kind) not in self._answered)
        return replace(words, doubts=open_doubts)

    def named_for_saving(self, draft: SheetDraft) -> SheetDraft:
        """Return a draft under a key that stays the same at every try to save it."""
        if draft.save_key:
            return draft
        named = replace(draft, save_key=uuid4().hex)
        if self.draft is draft:
            self.draft = named
        return named

    @property
    def is_empty(self) -> bool:
        """Whether nothing was typed."""
        return self.draft is None or self.draft.is_empty
