"""Installations of an import: which part sat where, from when to when."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from gettext import gettext as _
from itertools import pairwise

from wearlog.fleet.fitting import Installation, Position, RemovalReason
from wearlog.fleet.parts import DriveKind, Part, PartKind, PartType
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.workshop.bring_in_context import Import
from wearlog.workshop.import_rows import InstallationRow

_RUNS = {PartKind.CHAIN, PartKind.BELT}


@dataclass(slots=True)
class _Fitting:
    """One row on its way to an installation; the part may still be without its number."""

    row: InstallationRow
    vehicle: Vehicle
    stage: Stage
    part_type: PartType
    installation: Installation
    part: Part | None = None


def bring_fittings(work: Import, rows: Sequence[InstallationRow]) -> None:
    """Add parts and installations."""
    fittings = [made for row in rows if (made := _fitting(work, row)) is not None]
    fittings.sort(key=lambda made: (made.row.fitted_on, made.row.where.row))
    fittings = _with_parts(work, fittings)
    _take_off_last(work, fittings)
    _check_places(work, fittings)
    _add(work, fittings)


def _fitting(work: Import, row: InstallationRow) -> _Fitting | None:
    vehicle = work.vehicles.get(row.vehicle)  # an unknown one was said with its meter value
    stage = work.stage(vehicle, row.stage, row.where) if vehicle else None
    part_type = work.part_type(row.part_type, row.where)
    if vehicle is None or stage is None or part_type is None:
        return None
    if (row.position is Position.RUN) != (part_type.kind in _RUNS):
        work.findings.add(
            _("A {kind} does not belong in the position {position}.").format(
                kind=part_type.kind.value, position=row.position.value
            ),
            row.where.cell("position"),
            _("run is for chains and belts, driver and driven for sprockets and pulleys."),
        )
        return None
    meter = work.meters.get(vehicle.id)
    fitted_at = work.canonical(row.fitted_at, vehicle, row.where, "fitted at") if meter else None
    if meter is None or fitted_at is None:
        return None
    fitted_use = meter.total_use(fitted_at, row.fitted_on)
    removed_use = _removed_use(work, row, vehicle, fitted_use)
    if row.removed_on is None and row.position is Position.RUN:
        drive = DriveKind.BELT if part_type.kind is PartKind.BELT else DriveKind.CHAIN
        if drive is not stage.drive:
            work.doubt(
                _("{stage} is a {drive} drive, but a {kind} is fitted. Is the stage up to date?").format(
                    stage=stage.name, drive=stage.drive.value, kind=part_type.kind.value
                ),
                row.where.cell("part type"),
            )
    installation = Installation(
        part_id=0,
        vehicle_id=vehicle.id,
        stage_id=stage.id,
        position=row.position,
        fitted_on=row.fitted_on,
        fitted_use=fitted_use,
        removed_on=row.removed_on,
        removed_use=removed_use,
        removal_reason=row.reason,
        links=row.links,
        thread_lock=row.thread_lock,
        cost=row.cost,
        notes=row.notes,
    )
    return _Fitting(row, vehicle, stage, part_type, installation)


def _removed_use(work: Import, row: InstallationRow, vehicle: Vehicle, fitted_use: float) -> float | None:
    if row.removed_on is None:
        if row.removed_at is not None or row.reason is not None:
            work.findings.add(
                _("It says how it came off, but not when."), row.where.cell("removed on"), _("Give the date.")
            )
        return None
    if not work.is_past(row.removed_on, row.where, "removed on"):
        return None
    if row.removed_on < row.fitted_on:
        work.findings.add(
            _("It came off ({removed}) before it was fitted ({fitted}).").format(
                removed=row.removed_on.isoformat(), fitted=row.fitted_on.isoformat()
            ),
            row.where.cell("removed on"),
            _("Check both dates."),
        )
        return None
    meter = work.meters[vehicle.id]
    if row.removed_at is None:
        return meter.history.use_on(row.removed_on)
    value = work.canonical(row.removed_at, vehicle, row.where, "removed at")
    if value is None:
        return None
    removed_use = meter.total_use(value, row.removed_on)
    if removed_use < fitted_use - 1e-6:
        work.findings.add(
            _("It came off at less use than it was fitted at."),
            row.where.cell("removed at"),
            _("Check both meter values; a replaced meter belongs in meter.csv."),
        )
    return removed_use


def _with_parts(work: Import, fittings: list[_Fitting]) -> list[_Fitting]:
    """Return the fittings with their parts; the same label is the same part."""
    found: list[_Fitting] = []
    types = {part_type.id: part_type for part_type in work.part_types.values()}
    labelled: dict[str, Part] = {part.label: part for part in work.parts.values() if part.label}
    for made in fittings:
        row = made.row
        known = labelled.get(row.part) if row.part else None
        if known is None:
            use_before = (
                work.canonical(row.use_before, made.vehicle, row.where, "use before")
                if row.use_before
                else 0.0
            )
            made.part = Part(
                part_type_id=made.part_type.id,
                label=row.part,
                lot=row.lot,
                use_before=use_before or 0.0,
                is_history_known=row.is_history_known,
            )
            if row.part:
                labelled[row.part] = made.part
            found.append(made)
            continue
        made.part = known
        if known.part_type_id != made.part_type.id:
            other = types.get(known.part_type_id)
            work.findings.add(
                _("The part {label} is a {other}.").format(
                    label=row.part, other=other.name if other else "?"
                ),
                row.where.cell("part type"),
                _("One part has one type; give another part another label."),
            )
            continue
        found.append(made)
        if row.use_before is not None and row.use_before.value > 0:
            work.findings.add(
                _("The part {label} was fitted before; what it ran then is known.").format(label=row.part),
                row.where.cell("use before"),
                _("Give the use before only where the part first came to this fleet."),
            )
    return found


def _take_off_last(work: Import, fittings: list[_Fitting]) -> None:
    """Let what was in a place come off on the day on which a row says that it was replaced."""
    for made in fittings:
        if not made.row.replaces_last:
            continue
        place = (made.stage.id, made.installation.position)
        day = made.row.fitted_on
        kept = [i for i in work.installations.get(made.stage.id, ()) if i.position is place[1]]
        others = [
            other
            for other in fittings
            if (other.stage.id, other.installation.position) == place
            and (other.row.fitted_on < day or not other.row.replaces_last)
        ]
        before = [one for one in (*kept, *(o.installation for o in others)) if one.fitted_on <= day]
        last = max(before, key=lambda one: one.fitted_on, default=None)
        if last is None or last.removed_on is not None:
            continue
        off = replace(
            last,
            removed_on=day,
            removed_use=made.installation.fitted_use,
            removal_reason=RemovalReason.WORN,
        )
        owner = next((o for o in others if o.installation is last), None)
        if owner is not None:
            owner.installation = off
        else:
            places = work.installations[made.stage.id]
            places[places.index(last)] = work.records.replace(off)


def _check_places(work: Import, fittings: list[_Fitting]) -> None:
    """Say where two parts are in one place, or one part in two."""
    kept = [i for installations in work.installations.values() for i in installations]
    labels = {part.id: part.label for part in work.parts.values()}
    spans: dict[tuple[object, ...], list[tuple[Installation, InstallationRow | None]]] = defaultdict(list)
    for installation in kept:
        spans["place", installation.stage_id, installation.position].append((installation, None))
        if labels.get(installation.part_id):
            spans["part", labels[installation.part_id]].append((installation, None))
    for made in fittings:
        spans["place", made.stage.id, made.installation.position].append((made.installation, made.row))
        if made.row.part:
            spans["part", made.row.part].append((made.installation, made.row))
    for key, sharing in spans.items():
        sharing.sort(key=lambda one: (one[0].fitted_on, one[0].removed_on or date.max))
        for (before, row_before), (after, row) in pairwise(sharing):
            teller = row or row_before
            if teller is None or (before.removed_on is not None and before.removed_on <= after.fitted_on):
                continue
            since = before.fitted_on.isoformat()
            place = "" if row_before is None else _(" ({where})").format(where=row_before.where)
            if key[0] == "place":
                what = _("The part fitted there on {since}{place} has not come off by then.")
                todo = _("Give that one the date on which it was removed.")
            else:
                what = _("The same part was fitted elsewhere on {since}{place} and has not come off by then.")
                todo = _("Give that fitting the date on which it was removed, or another label.")
            work.findings.add(what.format(since=since, place=place), teller.where.cell("fitted on"), todo)


def _add(work: Import, fittings: list[_Fitting]) -> None:
    new: dict[int, Part] = {}
    for made in fittings:
        if made.part is not None and not made.part.id:
            new[id(made.part)] = made.part
    added = dict(zip(new, work.add_all(list(new.values()), _("Saving parts")), strict=True))
    for made in fittings:
        part = made.part
        if part is None:
            continue
        part = added.get(id(part), part)
        work.parts[part.id] = part
        made.installation = replace(made.installation, part_id=part.id)
    for installation in work.add_all([made.installation for made in fittings], _("Fitting the parts")):
        work.installations.setdefault(installation.stage_id, []).append(installation)
    work.count("installations", added=len(fittings))
    for installations in work.installations.values():
        installations.sort(key=lambda i: (i.fitted_on, i.fitted_use, i.id))
