"""Meter entries put right afterwards; what was reckoned from them moves along in the same transaction."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from gettext import gettext as _

from wearlog.fleet.fitting import Installation
from wearlog.fleet.meter import (
    MOST_H_A_DAY,
    MOST_KM_A_DAY,
    MeterEntry,
    MeterEvent,
    UseHistory,
    use_history,
)
from wearlog.fleet.problem import Offer, Problem, WearlogError
from wearlog.fleet.reading import Reading
from wearlog.fleet.service import Visit
from wearlog.fleet.torque import TorqueRecord
from wearlog.fleet.vehicle import Vehicle
from wearlog.store.records import Records
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes

#: Total uses closer than this are those of one moment, [km or h].
SAME_USE = 0.5
#: The number of an entry that is still to be kept; it comes after the others of its day.
_LATER = 1 << 60


@dataclass(frozen=True, slots=True)
class MeterLook:
    """What a meter entry would change before it is kept.

    `records` counts what moves along: visits, readings, fittings and torques; `use_before` and `use_after`
    are the total use at the last entry.
    """

    records: int
    use_before: float | None
    use_after: float | None


def look_at_meter(bench: Bench, entry: MeterEntry) -> MeterLook:
    """Return what a corrected or added meter entry would change. Nothing is saved.

    Raises
    ------
    WearlogError
        If the order of meters would go backwards, or the speed be impossible.
    """
    with bench.database.reading() as records:
        change = _Change.of(records, entry)
        change.refuse_if_backwards()
        return MeterLook(len(change.moved(records)), change.use_before, change.use_after)


def keep_meter(bench: Bench, entry: MeterEntry) -> Changes:
    """Put a meter entry right, or add one afterwards (its number is 0), for example a meter replacement.

    Raises
    ------
    EditConflict
        If somebody else changed it meanwhile.
    WearlogError
        If the day lies ahead, the order of meters would go backwards, or the speed be impossible.
    """
    if entry.on > bench.today():
        raise WearlogError(Problem(_("The day lies ahead."), todo=_("Give the day the meter was read.")))
    is_new = not entry.id
    if is_new and entry.event is not MeterEvent.READ:
        words = _("Meter replacement of {tag} entered")
    else:
        words = _("Meter entry of {tag} added") if is_new else _("Meter entry of {tag} corrected")
    return _write(bench, entry if entry.by else replace(entry, by=bench.by), words)


def void_meter(bench: Bench, entry: MeterEntry, reason: str) -> Changes:
    """Let a meter entry no longer count; it stays, with the reason.

    Raises
    ------
    EditConflict
        If somebody else changed it meanwhile.
    WearlogError
        If no reason is given, or the order of meters would go backwards without it.
    """
    if not reason.strip():
        what = _("Nothing is voided without a reason.")
        raise WearlogError(Problem(what, todo=_("Say in a few words why it should no longer count.")))
    return _write(bench, replace(entry, void_reason=reason.strip()), _("Meter entry of {tag} voided"))


def restore_meter(bench: Bench, entry: MeterEntry) -> Changes:
    """Let a voided meter entry count again.

    Raises
    ------
    EditConflict
        If somebody else changed it meanwhile.
    WearlogError
        If the order of meters would go backwards with it.
    """
    return _write(bench, replace(entry, void_reason=""), _("Meter entry of {tag} counts again"))


def _write(bench: Bench, entry: MeterEntry, words: str) -> Changes:
    with bench.database.reading() as records:
        what = words.format(tag=records.get(Vehicle, entry.vehicle_id).tag)
    installations: set[int] = set()
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        change = _Change.of(records, entry)
        if entry.id and entry == change.before:
            raise WearlogError(
                Problem(
                    _("Nothing is different."), todo=_("Type what the meter showed, or leave it as it is.")
                )
            )
        change.refuse_if_backwards()
        moved = change.moved(records)
        if entry.id:
            records.replace(entry)
        else:
            records.add(entry)
        for record in moved:
            records.replace(record)
            if isinstance(record, Installation):
                installations.add(record.id)
        change_id = records.change_id
    return Changes(what, change_id, frozenset({entry.vehicle_id}), frozenset(installations))


# --- what follows from another entry ---------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Step:
    """Two entries in a row that cannot both be right."""

    earlier: MeterEntry
    later: MeterEntry
    is_backwards: bool
    use_a_day: float


@dataclass(frozen=True, slots=True)
class _Change:
    """One entry replaced or added among those of its vehicle."""

    vehicle: Vehicle
    before: MeterEntry | None
    after: MeterEntry
    entries: tuple[MeterEntry, ...]
    old: UseHistory
    new: UseHistory

    @classmethod
    def of(cls, records: Records, entry: MeterEntry) -> "_Change":
        vehicle = records.get(Vehicle, entry.vehicle_id)
        kept = records.all(MeterEntry, vehicle_id=entry.vehicle_id)
        before = records.get(MeterEntry, entry.id) if entry.id else None
        placed = entry if entry.id else replace(entry, id=_LATER)
        wanted = (*(one for one in kept if one.id != entry.id), placed)
        return cls(vehicle, before, placed, wanted, use_history(kept), use_history(wanted))

    @property
    def use_before(self) -> float | None:
        return self.old.last.total_use if self.old.last else None

    @property
    def use_after(self) -> float | None:
        return self.new.last.total_use if self.new.last else None

    def refuse_if_backwards(self) -> None:
        """Refuse what would make the use run backwards or too fast; what was odd before may stay.

        Raises
        ------
        WearlogError
            With offers.
        """
        kept = [one for one in self.entries if one.id != self.after.id]
        before = [*kept, self.before] if self.before is not None else kept
        known = {(step.earlier.id, step.later.id) for step in _odd_steps(self.vehicle, before)}
        for step in _odd_steps(self.vehicle, self.entries):
            touches = self.after.id in {step.earlier.id, step.later.id}
            if touches or (step.earlier.id, step.later.id) not in known:
                raise WearlogError(self._problem(step))

    def _problem(self, step: _Step) -> Problem:
        unit = self.vehicle.meter_unit.use_unit
        words = {
            "value": f"{step.later.value:.0f} {unit}",
            "day": step.later.on.isoformat(),
            "last": f"{step.earlier.value:.0f} {unit}",
            "since": step.earlier.on.isoformat(),
            "rate": f"{step.use_a_day:.0f} {unit}",
        }
        if step.is_backwards:
            what = _("The meter would go backwards: {last} on {since}, then {value} on {day}.")
        else:
            what = _("{value} on {day} would mean {rate} a day since {since}.")
        other = step.earlier if step.later.id == self.after.id else step.later
        offers = [Offer(_("Typing slip"), "typing slip")]
        if step.is_backwards and self.after.event is MeterEvent.READ and step.later.id == self.after.id:
            offers.insert(0, Offer(_("Meter replaced"), "meter replaced", self.after.value))
        if step.is_backwards and other.id != self.after.id:
            label = _("See {day}").format(day=other.on.isoformat())
            offers.append(Offer(label, "other entry", other.id))
        todo = _("Was the meter replaced, is it a typing slip, or is the other entry wrong?")
        return Problem(what.format(**words), self.vehicle.tag, todo, tuple(offers))

    def moved(self, records: Records) -> list[Visit | Reading | Installation | TorqueRecord]:
        """Return the records whose total use follows from the entry, with their new one."""
        number = self.vehicle.id
        found: list[Visit | Reading | Installation | TorqueRecord] = []
        dated: tuple[Visit | Reading | TorqueRecord, ...] = (
            *records.all(Visit, vehicle_id=number),
            *records.all(Reading, vehicle_id=number),
            *records.all(TorqueRecord, vehicle_id=number),
        )
        for record in dated:
            visit_id = record.id if isinstance(record, Visit) else record.visit_id
            use = self._new_use(record.on, record.total_use, visit_id)
            if abs(use - record.total_use) > 1e-9:
                found.append(replace(record, total_use=use))
        for installation in records.all(Installation, vehicle_id=number):
            fitted = self._new_use(installation.fitted_on, installation.fitted_use, None)
            removed = installation.removed_use
            if removed is not None and installation.removed_on is not None:
                removed = max(self._new_use(installation.removed_on, removed, None), fitted)
            changed = replace(installation, fitted_use=fitted, removed_use=removed)
            if changed != installation:
                found.append(changed)
        return found

    def _new_use(self, on: date, total_use: float, visit_id: int | None) -> float:
        """Return the total use of something that happened on a day, as it follows now."""
        entry = self.before or self.after
        if self.before is not None and on == entry.on:
            was_at = _use_at(entry, self.old, self.entries_before)
            is_same = entry.visit_id is not None and entry.visit_id == visit_id
            if is_same or (was_at is not None and abs(total_use - was_at) < SAME_USE):
                now_at = _use_at(self.after, self.new, self.entries)
                return total_use if now_at is None else now_at
        if any(one.on == on and one.event is not MeterEvent.READ for one in (entry, self.after)):
            # On the day of a replacement nobody knows which of the two meters was read.
            return total_use
        return total_use + self.new.total_for(0.0, on) - self.old.total_for(0.0, on)

    @property
    def entries_before(self) -> tuple[MeterEntry, ...]:
        kept = tuple(one for one in self.entries if one.id != self.after.id)
        return kept if self.before is None else (*kept, self.before)


def _use_at(entry: MeterEntry, history: UseHistory, entries: Iterable[MeterEntry]) -> float | None:
    """Return the total use at an entry, or on its day where it does not count."""
    if entry.void_reason:
        return history.use_on(entry.on)
    live = _in_order(entries)
    place = next(n for n, one in enumerate(live) if one.id == entry.id)
    return history.points[place].total_use


def _in_order(entries: Iterable[MeterEntry]) -> list[MeterEntry]:
    return sorted((one for one in entries if not one.void_reason), key=lambda one: (one.on, one.id))


def _odd_steps(vehicle: Vehicle, entries: Iterable[MeterEntry]) -> list[_Step]:
    most = MOST_H_A_DAY if vehicle.meter_unit.use_unit == "h" else MOST_KM_A_DAY
    live = _in_order(entries)
    points = use_history(live).points
    odd = []
    for place in range(1, len(live)):
        gone = points[place].total_use - points[place - 1].total_use
        days = max((live[place].on - live[place - 1].on).days, 1)
        if gone < -1e-6 or gone / days > most:
            odd.append(_Step(live[place - 1], live[place], gone < 0, gone / days))
    return odd
