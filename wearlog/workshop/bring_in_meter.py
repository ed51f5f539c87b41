"""Meter values of an import: one sequence per vehicle that never runs backwards."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from gettext import gettext as _

from wearlog.fleet.meter import MOST_H_A_DAY, MOST_KM_A_DAY, MeterEntry, MeterEvent, use_history
from wearlog.fleet.vehicle import Vehicle
from wearlog.workshop.bring_in_context import Import, MeterState, is_of_old_meter
from wearlog.workshop.import_rows import (
    Amount,
    InstallationRow,
    MeterRow,
    ReadingRow,
    VisitRow,
    Where,
)

#: The column of the day that belongs to a meter value.
_DAY_OF = {"meter": "date", "fitted at": "fitted on", "removed at": "removed on"}


@dataclass(frozen=True, slots=True)
class _Told:
    """A meter value that some row tells; `entry` has no number yet."""

    entry: MeterEntry
    where: Where
    column: str


def bring_meter(
    work: Import,
    meter: Iterable[MeterRow],
    installations: Iterable[InstallationRow],
    visits: Iterable[VisitRow],
    readings: Iterable[ReadingRow],
) -> None:
    """Add the meter entries, and those that visits, readings and fittings imply; work out the total use."""
    told: dict[int, list[_Told]] = defaultdict(list)
    explicit = 0
    for row in meter:
        made = _told_by_meter_row(work, row)
        if made is not None:
            told[made.entry.vehicle_id].append(made)
            explicit += 1
    for vehicle, on, amount, where, column in _implied(work, installations, visits, readings):
        value = work.canonical(amount, vehicle, where, column)
        if value is not None and work.is_past(on, where, _DAY_OF[column]):
            entry = MeterEntry(vehicle_id=vehicle.id, on=on, value=value, typed=amount.typed)
            told[vehicle.id].append(_Told(entry, where, column))
    known: dict[int, list[MeterEntry]] = defaultdict(list)
    for entry in work.records.all(MeterEntry, live=True, vehicle_id=list(told)) if told else ():
        known[entry.vehicle_id].append(entry)
    tags = {vehicle.id: vehicle for vehicle in work.vehicles.values()}
    new: list[MeterEntry] = []
    for vehicle_id, values in told.items():
        new.extend(_sequence(work, tags[vehicle_id], known[vehicle_id], values))
    work.add_all(new, _("Saving meter values"))
    work.count("meter", added=explicit)
    work.count("meter entries implied", added=len(new) - explicit)


def _told_by_meter_row(work: Import, row: MeterRow) -> _Told | None:
    vehicle = work.vehicle(row.vehicle, row.where)
    if vehicle is None or not work.is_past(row.on, row.where, "date"):
        return None
    value = work.canonical(row.meter, vehicle, row.where, "meter")
    old = None
    if row.old_meter is not None:
        old = work.canonical(row.old_meter, vehicle, row.where, "old meter")
        if row.event is MeterEvent.READ:
            work.findings.add(
                _("An old meter value belongs to a replaced meter."),
                row.where.cell("old meter"),
                _("Write replaced under event, or empty the cell."),
            )
    if value is None:
        return None
    entry = MeterEntry(
        vehicle_id=vehicle.id,
        on=row.on,
        value=value,
        typed=row.meter.typed,
        event=row.event,
        old_value=old,
        by=row.by,
        note=row.note,
    )
    return _Told(entry, row.where, "meter")


def _implied(
    work: Import,
    installations: Iterable[InstallationRow],
    visits: Iterable[VisitRow],
    readings: Iterable[ReadingRow],
) -> Iterator[tuple[Vehicle, date, Amount, Where, str]]:
    for row in visits:
        if (vehicle := work.vehicle(row.vehicle, row.where)) is not None:
            yield vehicle, row.on, row.meter, row.where, "meter"
    seen: set[tuple[int, date, float, str]] = set()
    for reading in readings:
        if (vehicle := work.vehicles.get(reading.vehicle)) is not None:
            key = (vehicle.id, reading.on, reading.meter.value, reading.meter.unit)
            if key not in seen:
                seen.add(key)
                yield vehicle, reading.on, reading.meter, reading.where, "meter"
    for fitting in installations:
        if (vehicle := work.vehicle(fitting.vehicle, fitting.where)) is not None:
            yield vehicle, fitting.fitted_on, fitting.fitted_at, fitting.where, "fitted at"
            if fitting.removed_on is not None and fitting.removed_at is not None:
                yield vehicle, fitting.removed_on, fitting.removed_at, fitting.where, "removed at"


def _sequence(work: Import, vehicle: Vehicle, known: list[MeterEntry], told: list[_Told]) -> list[MeterEntry]:
    """Return the new entries of one vehicle in the order in which they count; say where they don't fit."""
    last_known = max((entry.on for entry in known), default=date.min)
    by_day: dict[date, list[float]] = defaultdict(list)
    for entry in known:
        by_day[entry.on].append(entry.value)
        if entry.event is not MeterEvent.READ and entry.old_value is not None:
            by_day[entry.on].append(entry.old_value)
    new: list[_Told] = []
    events = {one.entry.on: one.entry for one in told if one.entry.event is not MeterEvent.READ}
    # Rows of meter.csv come first, so that what other files imply by the same value adds nothing.
    for one in told:
        entry = one.entry
        if entry.event is not MeterEvent.READ:
            if entry.on < last_known:
                work.findings.add(
                    _("Later entries of {vehicle} are kept already, up to {day}.").format(
                        vehicle=vehicle.tag, day=last_known.isoformat()
                    ),
                    one.where.cell("event"),
                    _("A replaced meter must be brought in before, or together with, what came after it."),
                )
            by_day[entry.on] += [entry.value] + ([] if entry.old_value is None else [entry.old_value])
            new.append(one)
        elif one.column != "meter" or not one.where.file.startswith("meter"):
            if not any(abs(value - entry.value) < 1e-6 for value in by_day[entry.on]):
                by_day[entry.on].append(entry.value)
                new.append(one)
        else:
            by_day[entry.on].append(entry.value)
            new.append(one)
    new.sort(key=lambda one: (one.entry.on, _rank(one.entry, events.get(one.entry.on)), one.entry.value))
    highest = max((entry.id for entry in known), default=0)
    numbered = [replace(one.entry, id=highest + count) for count, one in enumerate(new, start=1)]
    entries = sorted([*known, *numbered], key=lambda entry: (entry.on, entry.id))
    rows = {entry.id: one for entry, one in zip(numbered, new, strict=True)}
    _check(work, vehicle, entries, rows)
    work.meters[vehicle.id] = MeterState(entries, use_history(entries))
    return [one.entry for one in new]


def _rank(entry: MeterEntry, event: MeterEntry | None) -> int:
    """Return the order within a day: the old meter's values, its replacement, the new meter's values."""
    if entry.event is not MeterEvent.READ:
        return 1
    return 0 if event is not None and is_of_old_meter(event, entry.value) else 2


def _check(work: Import, vehicle: Vehicle, entries: list[MeterEntry], rows: dict[int, _Told]) -> None:
    """Say where a value runs backwards or rises impossibly fast; only where a new row is part of it."""
    unit = vehicle.meter_unit.use_unit
    most = MOST_H_A_DAY if unit == "h" else MOST_KM_A_DAY
    offset = 0.0
    before: MeterEntry | None = None
    total_before = 0.0
    for entry in entries:
        total = entry.value + offset
        if entry.event is not MeterEvent.READ:
            total = total_before if entry.old_value is None else entry.old_value + offset
            offset = total - entry.value
        if before is not None and (entry.id in rows or before.id in rows):
            is_read = entry.event is MeterEvent.READ
            shown = entry.value if is_read else entry.old_value or 0.0
            days = max((entry.on - before.on).days, 1)
            if total < total_before - 1e-6:
                todo = _("Was the meter replaced? Is it a typing slip, or another vehicle?")
                what = _("{vehicle}: {value:.0f} {unit} is below {last:.0f} {unit} on {day}{place}.")
                _say(work, rows, entry, before, what, todo, vehicle, shown, unit)
            elif total - total_before > most * days:
                todo = _("Check the digits and the date.")
                what = _(
                    "{vehicle}: from {last:.0f} {unit} on {day}{place} to {value:.0f} {unit} is more than"
                    " any day allows."
                )
                _say(work, rows, entry, before, what, todo, vehicle, shown, unit)
        before, total_before = entry, total


def _say(
    work: Import,
    rows: dict[int, _Told],
    entry: MeterEntry,
    before: MeterEntry,
    what: str,
    todo: str,
    vehicle: Vehicle,
    shown: float,
    unit: str,
) -> None:
    told, other = rows.get(entry.id), rows.get(before.id)
    place = "" if other is None else _(" ({where})").format(where=other.where)
    where = told or other
    work.findings.add(
        what.format(
            vehicle=vehicle.tag,
            value=shown,
            unit=unit,
            last=before.value,
            day=before.on.isoformat(),
            place=place,
        ),
        "" if where is None else where.where.cell(where.column),
        todo,
    )
