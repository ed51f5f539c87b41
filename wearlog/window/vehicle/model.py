"""The state of the vehicle page: what is kept, what is entered, and what is wrong with it. No widgets."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from gettext import gettext as _
from typing import Any

from PySide6.QtCore import QObject, Signal

from wearlog.fleet.fitting import Position
from wearlog.fleet.parts import DriveKind, PartType
from wearlog.fleet.problem import Problem
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.vehicle import Duty
from wearlog.workshop.compare_snapshot import RunChoice, run_key
from wearlog.workshop.vehicles_draft import (
    LayUpDraft,
    StageDraft,
    TakenOff,
    VehicleDraft,
    with_records,
)
from wearlog.workshop.vehicles_snapshot import VehicleSnapshot
from wearlog.workshop.vehicles_templates import Template, draft_like, template_of

#: The number under which a vehicle that is still being added is remembered.
NEW = 0


@dataclass(frozen=True, slots=True)
class Unread:
    """A text that could not be understood; it stays as it was typed."""

    text: str
    problem: Problem


@dataclass(slots=True)
class _Left:
    """What was entered for a vehicle before another one was shown."""

    snapshot: VehicleSnapshot
    draft: VehicleDraft
    unread: dict[str, Unread] = field(default_factory=dict)


class VehicleModel(QObject):
    """One vehicle as it is entered.

    Signals
    -------
    opened()
        Another vehicle, or the same read anew: every field is to be filled.
    changed()
        Something was entered.
    reshaped()
        Stages, parts or lay-ups came or went: their rows are to be made anew.
    """

    opened = Signal()
    changed = Signal()
    reshaped = Signal()

    def __init__(self, shown: ShownUnits, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.shown = shown
        self.snapshot: VehicleSnapshot | None = None
        self.draft = VehicleDraft()
        self._unread: dict[str, Unread] = {}
        self._told: dict[str, Problem] = {}
        self._left: dict[int, _Left] = {}

    # --- what is shown

    @property
    def vehicle_id(self) -> int | None:
        """The vehicle shown; `NEW` for one that is being added, None for none."""
        return None if self.snapshot is None else self.snapshot.vehicle_id

    @property
    def is_new(self) -> bool:
        """Whether a vehicle is being added."""
        return self.snapshot is not None and self.snapshot.vehicle is None

    @property
    def is_touched(self) -> bool:
        """Whether anything is entered that is not kept."""
        return self.snapshot is not None and (self.draft != self.snapshot.draft or bool(self._unread))

    @property
    def can_save(self) -> bool:
        """Whether there is something to save."""
        return self.snapshot is not None and (self.is_new or self.is_touched)

    @property
    def unread(self) -> tuple[Problem, ...]:
        """What can't be understood."""
        return tuple(one.problem for one in self._unread.values())

    @property
    def problems(self) -> Mapping[str, Problem]:
        """What is wrong, by the name of its field."""
        return {**self._told, **{key: one.problem for key, one in self._unread.items()}}

    def unread_text(self, key: str) -> str | None:
        """Return the text of a field that could not be understood."""
        one = self._unread.get(key)
        return None if one is None else one.text

    def choices(self, drive: DriveKind) -> tuple[RunChoice, ...]:
        """Return the chains or belts to choose from."""
        return () if self.snapshot is None else self.snapshot.choices_for(drive)

    # --- opening

    def show(self, snapshot: VehicleSnapshot) -> None:
        """Show a vehicle; what was entered for it before comes back, what is entered now is remembered."""
        self._remember()
        left = self._left.pop(snapshot.vehicle_id, None)
        self.snapshot = snapshot
        self.draft, self._unread, self._told = snapshot.draft, {}, {}
        if left is not None:
            # What was entered is based on the records as they were read then: saving tells if they changed.
            self.snapshot = replace(snapshot, draft=left.snapshot.draft)
            self.draft, self._unread = left.draft, left.unread
        self.opened.emit()

    def _remember(self) -> None:
        if self.snapshot is not None and self.is_touched:
            self._left[self.snapshot.vehicle_id] = _Left(self.snapshot, self.draft, self._unread)

    def reread(self, snapshot: VehicleSnapshot) -> None:
        """Show the same vehicle as it is kept now, unless something is entered that is not."""
        if not self.is_touched and snapshot.vehicle_id == self.vehicle_id:
            self.forget()
            self.show(snapshot)

    def forget(self) -> None:
        """Drop what was entered: it is saved, or nobody wants it."""
        if self.snapshot is not None:
            self._left.pop(self.snapshot.vehicle_id, None)
            self.draft, self._unread, self._told = self.snapshot.draft, {}, {}

    def reset(self) -> None:
        """Go back to what is kept."""
        self.forget()
        self.opened.emit()

    def set_shown(self, shown: ShownUnits) -> None:
        """Show lengths in other units."""
        if shown != self.shown:
            self.shown = shown
            self.opened.emit()

    # --- entering

    def set(self, **values: Any) -> None:
        """Enter values of the vehicle itself."""
        self._take(replace(self.draft, **values), values)

    def set_stage(self, key: int, **values: Any) -> None:
        """Enter values of a stage."""
        stage = self.draft.stage(key)
        if stage is not None:
            self._take(self.draft.with_stage(replace(stage, **values)), (f"{key}:{n}" for n in values))

    def set_part(self, key: int, position: Position, **values: Any) -> None:
        """Enter values of a part."""
        stage = self.draft.stage(key)
        if stage is not None:
            part = replace(stage.part(position), **values)
            told = (f"{key}:{position.value}:{name}" for name in values)
            self._take(self.draft.with_stage(stage.with_part(part)), told)

    def set_run(self, key: int, run: PartType | None) -> None:
        """Choose the chain or belt of a stage; links and teeth stay."""
        self.set_stage(key, run=run)

    def set_drive(self, key: int, drive: DriveKind) -> None:
        """Turn a stage from chain to belt or back; the first such the workshop knows is offered."""
        stage = self.draft.stage(key)
        if stage is None or stage.drive is drive:
            return
        choices = self.choices(drive)
        parts = tuple(replace(part, count=None) for part in stage.parts)
        run = choices[0].part_type if choices and stage.run is not None else None
        self.draft = self.draft.with_stage(replace(stage, drive=drive, run=run, parts=parts))
        self.reshaped.emit()
        self.changed.emit()

    def run_index(self, stage: StageDraft) -> int:
        """Return which of the choices a stage has; -1 for none of them."""
        if stage.run is None:
            return -1
        keys = [choice.key for choice in self.choices(stage.drive)]
        wanted = run_key(stage.run)
        return keys.index(wanted) if wanted in keys else -1

    def misread(self, key: str, text: str, problem: Problem | None) -> None:
        """Note that a text can't be understood, or that it can now."""
        if problem is not None:
            self._unread[key] = Unread(text, problem)
        else:
            self._unread.pop(key, None)
        self._told.pop(key, None)
        self.changed.emit()

    def tell(self, problems: Iterable[Problem]) -> None:
        """Note why nothing was saved; each problem stands at its field until that is changed."""
        self._told = {problem.where: problem for problem in problems}
        self.changed.emit()

    def _take(self, draft: VehicleDraft, names: Iterable[str]) -> None:
        for name in list(names):
            self._told.pop(name, None)
        if draft != self.draft:
            self.draft = draft
        self.changed.emit()

    # --- duty

    @property
    def is_duty_changed(self) -> bool:
        """Whether a vehicle that is in the fleet goes on another duty."""
        vehicle = self.draft.vehicle
        return vehicle is not None and vehicle.duty is not self.draft.duty

    def set_duty(self, duty: Duty) -> None:
        """Choose the duty; from today on, unless nobody knew what it was on before."""
        vehicle, snapshot = self.draft.vehicle, self.snapshot
        since = None
        if vehicle is not None and snapshot is not None and duty is not vehicle.duty:
            was_known = vehicle.duty is not Duty.UNKNOWN
            since = snapshot.today if was_known else vehicle.in_service_since
        self.set(duty=duty, duty_from=since)

    # --- stages, lay-ups and templates

    def take_template(self, template: Template) -> None:
        """Make the new vehicle after a template."""
        if self.snapshot is not None:
            self.draft = draft_like(template, self.snapshot.choices, self.draft)
            self._unread = {key: one for key, one in self._unread.items() if ":" not in key}
            self._told = {}
            self.opened.emit()

    def template(self) -> Template:
        """Return the vehicle shown as a template."""
        return template_of(self.draft, self.draft.tag)

    def add_stage(self) -> int:
        """Add a stage at the end and return its key."""
        key = self.draft.free_key
        taken = {stage.name.casefold() for stage in self.draft.stages}
        usual = (_("final drive"), _("primary drive"))
        name = next((one for one in usual if one.casefold() not in taken), "")
        choices = self.choices(DriveKind.CHAIN)
        run = choices[0].part_type if choices else None
        self.draft = self.draft.with_stage(StageDraft(key=key, name=name, drive=DriveKind.CHAIN, run=run))
        self.reshaped.emit()
        self.changed.emit()
        return key

    def drop_stage(self, key: int) -> None:
        """Leave out a stage that was never kept."""
        self.draft = self.draft.without_stage(key)
        self._drop_texts(key)
        self.reshaped.emit()
        self.changed.emit()

    def take_off(self, key: int, end: TakenOff | None) -> None:
        """Take a stage off service, or keep it after all."""
        self.set_stage(key, taken_off=end)
        self.reshaped.emit()

    def add_lay_up(self) -> int:
        """Add a time in which the vehicle stands and return its key."""
        key = self.draft.free_key
        self.draft = self.draft.with_lay_up(LayUpDraft(key=key))
        self.reshaped.emit()
        self.changed.emit()
        return key

    def set_lay_up(self, key: int, **values: Any) -> None:
        """Enter values of a lay-up."""
        one = next((one for one in self.draft.lay_ups if one.key == key), None)
        if one is not None:
            self._take(self.draft.with_lay_up(replace(one, **values)), (f"{key}:{n}" for n in values))

    def drop_lay_up(self, key: int) -> None:
        """Leave out a lay-up, or take back one that was kept."""
        one = next((one for one in self.draft.lay_ups if one.key == key), None)
        if one is None:
            return
        if one.lay_up is None:
            self.draft = self.draft.without_lay_up(key)
        else:
            self.draft = self.draft.with_lay_up(replace(one, is_dropped=True))
        self._drop_texts(key)
        self.reshaped.emit()
        self.changed.emit()

    def _drop_texts(self, key: int) -> None:
        for told in (self._unread, self._told):
            for name in [name for name in told if name.startswith(f"{key}:")]:
                del told[name]

    # --- two seats

    def base_of(self, theirs: object) -> object:
        """Return the record with which this seat began, where somebody else has kept another version."""
        wanted = (type(theirs), getattr(theirs, "id", 0))
        known: list[object] = [self.draft.vehicle]
        known += [one.lay_up for one in self.draft.lay_ups]
        for stage in self.draft.stages:
            known.append(stage.stage)
            for part in stage.parts:
                if part.fitted is not None:
                    known += [part.fitted.installation, part.fitted.part]
        return next((one for one in known if one is not None and (type(one), _id(one)) == wanted), None)

    def settle(self, theirs: object, merged: object) -> None:
        """Go on from what somebody else kept, with what was chosen of both versions."""
        self.draft = with_records(self.draft, theirs, merged)
        self.opened.emit()


def _id(record: object) -> int:
    return int(getattr(record, "id", 0))
