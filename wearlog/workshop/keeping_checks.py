"""What rows say that cannot be true together: meters, places, parts and readings."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from gettext import gettext as _
from itertools import pairwise

import numpy as np

from wearlog.fleet.fitting import Installation
from wearlog.fleet.meter import MeterEntry, use_history
from wearlog.fleet.parts import Part
from wearlog.fleet.spells import LayUp
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.store.columns import reading_columns
from wearlog.store.records import Records
from wearlog.store.verify import Verified, counting_below_void

#: Uses that differ by less are the same, km or h: what rounding of files leaves.
SAME_USE = 1e-6


def check_records(records: Records, today: date, found: Verified) -> None:
    """Look for records that contradict each other; findings and notes go to `found`."""
    tags = {vehicle.id: vehicle.tag for vehicle in records.all(Vehicle)}
    stages = {stage.id: stage for stage in records.all(Stage)}
    fitted = records.all(Installation, live=True)
    _check_meters(records, tags, today, found)
    _check_installations(fitted, tags, stages, found)
    _check_places(fitted, tags, stages, found)
    _check_parts(records, fitted, tags, found)
    _check_readings(records, fitted, tags, found)
    _check_lay_ups(records, tags, found)
    for table, number, other, other_number in counting_below_void(records.connection):
        found.add(
            _("It still counts though what it belongs to is voided."),
            f"{table} {number} → {other} {other_number}",
            _("Void it as well, or enter what it belongs to again."),
        )


def _check_meters(records: Records, tags: dict[int, str], today: date, found: Verified) -> None:
    by_vehicle: dict[int, list[MeterEntry]] = defaultdict(list)
    for entry in records.all(MeterEntry, live=True):
        by_vehicle[entry.vehicle_id].append(entry)
    ahead = 0
    for vehicle_id, entries in by_vehicle.items():
        for before, after in pairwise(use_history(entries).points):
            if after.total_use < before.total_use - SAME_USE:
                found.add(
                    _("The meter runs backwards."),
                    _("{tag}: {value:.0f} on {day}, {less:.0f} on {later}").format(
                        tag=tags.get(vehicle_id, vehicle_id),
                        value=before.total_use,
                        day=before.on.isoformat(),
                        less=after.total_use,
                        later=after.on.isoformat(),
                    ),
                    _("Correct one of the two entries, or say that the meter was replaced."),
                )
        ahead += sum(entry.on > today for entry in entries)
    if ahead:
        found.notes.append(
            _("{count} meter entries lie ahead of today; a clock or a date may be wrong.").format(count=ahead)
        )


def _check_installations(
    fitted: Iterable[Installation], tags: dict[int, str], stages: dict[int, Stage], found: Verified
) -> None:
    for one in fitted:
        where = _place(one, tags, stages)
        if (one.removed_on is None) != (one.removed_use is None):
            found.add(
                _("A part came off without a day or without the use at which it did."),
                where,
                _("Complete the removal."),
            )
        elif one.removed_on is not None and one.removed_use is not None:
            is_earlier = one.removed_on < one.fitted_on or one.removed_use < one.fitted_use - SAME_USE
            if is_earlier:
                found.add(
                    _("A part came off before it was fitted."),
                    where,
                    _("Correct the fitting or the removal."),
                )
        stage = stages.get(one.stage_id)
        if stage is not None and stage.vehicle_id != one.vehicle_id:
            found.add(
                _("A part sits on a drive stage of another vehicle."),
                where,
                _("Void the installation and enter it again."),
            )


def _check_places(
    fitted: Iterable[Installation], tags: dict[int, str], stages: dict[int, Stage], found: Verified
) -> None:
    by_place: dict[tuple[int, str], list[Installation]] = defaultdict(list)
    for one in fitted:
        by_place[one.stage_id, one.position].append(one)
    for several in by_place.values():
        several.sort(key=lambda one: (one.fitted_use, one.fitted_on, one.id))
        for before, after in pairwise(several):
            if before.removed_use is None or before.removed_use > after.fitted_use + SAME_USE:
                found.add(
                    _("Two parts sit in one place at once."),
                    _("{place}: fitted on {day} and on {later}").format(
                        place=_place(after, tags, stages),
                        day=before.fitted_on.isoformat(),
                        later=after.fitted_on.isoformat(),
                    ),
                    _("Say when the first one came off, or void one of the two."),
                )


def _check_parts(
    records: Records, fitted: Iterable[Installation], tags: dict[int, str], found: Verified
) -> None:
    by_part: dict[int, list[Installation]] = defaultdict(list)
    for one in fitted:
        by_part[one.part_id].append(one)
    twice: list[tuple[Installation, Installation]] = []
    for several in by_part.values():
        several.sort(key=lambda one: (one.fitted_on, one.removed_on or date.max, one.id))
        twice += [
            (before, after)
            for before, after in pairwise(several)
            if before.removed_on is None or before.removed_on > after.fitted_on
        ]
    labels = {part.id: part.label for part in records.all(Part, id={one.part_id for one, _other in twice})}
    for before, after in twice:
        found.add(
            _("One part sits in two places at once."),
            _("part {label}: {tag} since {day}, {other} since {later}").format(
                label=labels.get(before.part_id) or before.part_id,
                tag=tags.get(before.vehicle_id, before.vehicle_id),
                day=before.fitted_on.isoformat(),
                other=tags.get(after.vehicle_id, after.vehicle_id),
                later=after.fitted_on.isoformat(),
            ),
            _("Say when it came off the first one, or void one of the two."),
        )


def _check_readings(
    records: Records, fitted: Iterable[Installation], tags: dict[int, str], found: Verified
) -> None:
    """Hold readings against the time and use in which their part sat there."""
    columns = reading_columns(records)
    by_id = sorted(fitted, key=lambda one: one.id)
    ids = np.array([one.id for one in by_id], dtype=np.int64)
    at = np.searchsorted(ids, columns.installation_id)
    is_of_part = np.isin(columns.installation_id, ids)
    rows = np.flatnonzero(is_of_part)
    if not rows.size:
        return
    at = at[rows]

    def of_part(values: list[float]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        return np.array(values, dtype=np.float64)[at]

    last_day = date.max.toordinal()
    first_use = of_part([one.fitted_use for one in by_id])
    last_use = of_part([np.inf if one.removed_use is None else one.removed_use for one in by_id])
    first_on = of_part([float(one.fitted_on.toordinal()) for one in by_id])
    last_on = of_part([float(one.removed_on.toordinal() if one.removed_on else last_day) for one in by_id])
    use, day = columns.total_use[rows], columns.day[rows]
    is_outside = (use < first_use - SAME_USE) | (use > last_use + SAME_USE)
    is_outside |= (day < first_on) | (day > last_on)
    is_elsewhere = columns.stage_id[rows] != np.array([one.stage_id for one in by_id], dtype=np.int64)[at]
    for row in rows[is_outside]:
        found.add(
            _("A reading lies outside the time in which its part was there."),
            _reading(columns.id[row], tags.get(int(columns.vehicle_id[row]), ""), int(columns.day[row])),
            _("Correct its date or use, or void it."),
        )
    for row in rows[is_elsewhere]:
        found.add(
            _("A reading belongs to another drive stage than its part."),
            _reading(columns.id[row], tags.get(int(columns.vehicle_id[row]), ""), int(columns.day[row])),
            _("Void it and enter it again at the right stage."),
        )


def _check_lay_ups(records: Records, tags: dict[int, str], found: Verified) -> None:
    for one in records.all(LayUp, live=True):
        if one.until_on is not None and one.until_on < one.from_on:
            found.add(
                _("A lay-up ends before it begins."),
                f"{tags.get(one.vehicle_id, one.vehicle_id)}, {one.from_on.isoformat()}",
                _("Correct one of its two days."),
            )


def _place(one: Installation, tags: dict[int, str], stages: dict[int, Stage]) -> str:
    stage = stages.get(one.stage_id)
    return (
        f"{tags.get(one.vehicle_id, one.vehicle_id)}, {stage.name if stage else one.stage_id}, {one.position}"
    )


def _reading(number: int, tag: str, day: int) -> str:
    return _("{tag}, reading {number} of {day}").format(
        tag=tag, number=number, day=date.fromordinal(day).isoformat()
    )
