"""The service sheet: what is asked, what was typed, and what it means before it is saved."""

import json
from dataclasses import asdict, dataclass, field, replace
from datetime import date
from typing import Any

from wearlog.fleet.fitting import Position
from wearlog.fleet.limit import Limit
from wearlog.fleet.problem import Doubt, Problem
from wearlog.fleet.reading import Instrument, Measurand, Method, Reading, Spot
from wearlog.fleet.service import Task
from wearlog.workshop.fleet_snapshot import WearRuleValue


@dataclass(frozen=True, slots=True)
class AskedReading:
    """One quantity that the sheet asks for.

    `key` names it in the draft. `is_due` ones are unfolded, the rest wait folded away. `pitches` and
    `pitch_mm` are set for elongation; `span_mm` and `mass_kg_per_m` for belts. `wants_zero` asks for the
    reading of a new part.
    """

    key: str
    stage_id: int
    installation_id: int | None
    position: Position | None
    measurand: Measurand
    part_text: str
    method: Method
    methods: tuple[Method, ...]
    instrument_id: int | None
    instruments: tuple[Instrument, ...]
    pitches: int | None
    pitch_mm: float | None
    roller_diameter_mm: float | None
    span_mm: float | None
    mass_kg_per_m: float | None
    definition: str
    previous: Reading | None
    limit: Limit | None
    rule: WearRuleValue | None
    is_due: bool
    why_due: str = ""
    wants_zero: bool = False
    has_zero_reading: bool = False
    unit_hint: str = ""


@dataclass(frozen=True, slots=True)
class AskedTask:
    """One task that the sheet offers; `is_due` ones are ticked off first."""

    key: str
    stage_id: int | None
    task: Task
    text: str
    is_due: bool
    takes_values: bool = False
    quantity_unit: str = ""
    last_on: date | None = None
    last_use: float | None = None


@dataclass(frozen=True, slots=True)
class SheetBlock:
    """What is asked at one stage, in the order of the hand."""

    stage_id: int
    stage_name: str
    drive_text: str
    readings: tuple[AskedReading, ...]
    tasks: tuple[AskedTask, ...]


@dataclass(frozen=True, slots=True)
class SheetSnapshot:
    """The sheet of one vehicle before anything is typed; `meter_unit` is what its meter shows.

    `planned_number` is that of the job card it was opened by, empty for none.
    """

    vehicle_id: int
    tag: str
    vehicle_text: str
    depot: str
    meter_unit: str
    use_unit: str
    today: date
    last_meter: float | None
    last_meter_on: date | None
    use_per_day: float
    blocks: tuple[SheetBlock, ...]
    people: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    planned_number: str = ""


@dataclass(frozen=True, slots=True)
class EntryDraft:
    """What was typed for one reading; `text` letter by letter, `spots` as far as it could be understood."""

    text: str = ""
    spots: tuple[Spot, ...] = ()
    method: Method | None = None
    instrument_id: int | None = None
    pitches: int | None = None
    was_cleaned: bool | None = None
    deflection_mm: float | None = None
    definition: str = ""
    note: str = ""
    not_measured: str = ""
    is_zero: bool = False

    @property
    def is_empty(self) -> bool:
        """Whether nothing was typed."""
        return not (self.text or self.not_measured)


@dataclass(frozen=True, slots=True)
class TaskDraft:
    """A ticked task with what was set, canonical values and as typed."""

    done: bool = False
    before_text: str = ""
    after_text: str = ""
    before: float | None = None
    after: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class SheetDraft:
    """A half-filled sheet; every change makes a new one.

    `meter_value` is canonical (km or h) and None while `meter_text` can't be understood. `planned_number` is
    that of the job card that is filled in, empty for none.
    """

    vehicle_id: int
    on: date
    meter_text: str = ""
    meter_value: float | None = None
    meter_was_replaced: bool = False
    old_meter_value: float | None = None
    by: str = ""
    notes: str = ""
    entries: dict[str, EntryDraft] = field(default_factory=dict)
    tasks: dict[str, TaskDraft] = field(default_factory=dict)
    #: Names the save of this sheet, the same at every try; empty until it is tried.
    save_key: str = ""
    planned_number: str = ""

    @property
    def is_empty(self) -> bool:
        """Whether nothing is worth keeping."""
        typed = any(not entry.is_empty for entry in self.entries.values())
        return not (self.meter_text or self.notes or typed or any(t.done for t in self.tasks.values()))

    def with_entry(self, key: str, entry: EntryDraft) -> "SheetDraft":
        """Return the sheet with one entry replaced."""
        return replace(self, entries={**self.entries, key: entry})

    def with_task(self, key: str, task: TaskDraft) -> "SheetDraft":
        """Return the sheet with one task replaced."""
        return replace(self, tasks={**self.tasks, key: task})

    def to_text(self) -> str:
        """Return the sheet as JSON text, to be kept."""
        return json.dumps(asdict(self), default=str, ensure_ascii=False)

    @classmethod
    def from_text(cls, text: str) -> "SheetDraft":
        """Return a kept sheet."""
        data: dict[str, Any] = json.loads(text)
        entries = {
            key: EntryDraft(
                **{
                    **entry,
                    "spots": tuple(Spot(**spot) for spot in entry["spots"]),
                    "method": Method(entry["method"]) if entry["method"] else None,
                }
            )
            for key, entry in data.pop("entries").items()
        }
        tasks = {key: TaskDraft(**task) for key, task in data.pop("tasks").items()}
        data["on"] = date.fromisoformat(data["on"])
        return cls(**data, entries=entries, tasks=tasks)


@dataclass(frozen=True, slots=True)
class EntryPreview:
    """What one entry means, before saving; canonical units.

    `change` is against the reading before, `replace_by` the forecast with this reading,
    `replace_by_before` the one without it. `pitches_text` shows pins and pitches.
    """

    key: str
    value: float | None = None
    low: float | None = None
    high: float | None = None
    u_value: float = 0.0
    mean: float | None = None
    spread: float | None = None
    allowance: float | None = None
    change: float | None = None
    rule: WearRuleValue | None = None
    doubts: tuple[Doubt, ...] = ()
    problems: tuple[Problem, ...] = ()
    replace_by: date | None = None
    replace_by_before: date | None = None
    pitches_text: str = ""


@dataclass(frozen=True, slots=True)
class SheetPreview:
    """What the sheet means so far; nothing is saved. `total_use` is None while the meter is not known."""

    entries: tuple[EntryPreview, ...]
    meter_problems: tuple[Problem, ...] = ()
    meter_doubts: tuple[Doubt, ...] = ()
    total_use: float | None = None
    can_save: bool = False
