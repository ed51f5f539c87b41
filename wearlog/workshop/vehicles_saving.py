"""A vehicle as it was entered becomes records: one transaction, every change with its trail."""

from dataclasses import dataclass, replace
from datetime import date
from gettext import gettext as _

from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.meter import MeterEntry, UseHistory
from wearlog.fleet.parts import Part, PartKind
from wearlog.fleet.spells import DutySpell, LayUp
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.store.records import Records
from wearlog.workshop.vehicles_checks import history_of, usual_day
from wearlog.workshop.vehicles_draft import (
    POSITIONS,
    STAGE_FIELDS,
    VEHICLE_FIELDS,
    PartDraft,
    StageDraft,
    VehicleDraft,
)
from wearlog.workshop.vehicles_parts import part_type_for


@dataclass(frozen=True, slots=True)
class Entering:
    """Since when parts are there of which nothing is said, and how the use of the vehicle ran so far."""

    usual_day: date
    history: UseHistory


def write_vehicle(
    records: Records, draft: VehicleDraft, by: str, today: date, known: UseHistory
) -> tuple[Vehicle, frozenset[int]]:
    """Keep what was entered; return the vehicle and the installations that it touched.

    Raises
    ------
    EditConflict
        If somebody else changed one of the records since they were read.
    """
    vehicle = _write_head(records, draft)
    _write_duty(records, draft, vehicle, known, today)
    if not known.points and draft.meter_value is not None:
        records.add(
            MeterEntry(
                vehicle_id=vehicle.id,
                on=draft.meter_on or today,
                value=draft.meter_value,
                typed=draft.meter_text,
                by=by,
            )
        )
    how = Entering(usual_day(draft, today), history_of(draft, known, today))
    touched: set[int] = set()
    order = 1 + max((s.stage.order for s in draft.stages if s.stage is not None), default=0)
    for stage in draft.stages:
        is_new = stage.stage is None
        touched |= _write_stage(records, vehicle, stage, order, how)
        order += is_new
    _write_lay_ups(records, draft, vehicle)
    return vehicle, frozenset(touched)


def _write_head(records: Records, draft: VehicleDraft) -> Vehicle:
    values = {name: getattr(draft, name) for name in VEHICLE_FIELDS}
    for name in ("tag", "description", "depot", "model", "owner_contact", "notes"):
        values[name] = values[name].strip()
    values["description"] = values["description"] or draft.kind.value
    if draft.vehicle is None:
        return records.add(Vehicle(**values))
    return records.replace(replace(draft.vehicle, **values))


# --- duty and lay-ups


def start_of(draft: VehicleDraft, known: UseHistory) -> date | None:
    """Return the day from which on something is known of a vehicle."""
    days = [draft.in_service_since, known.points[0].on if known.points else None]
    return min((day for day in days if day is not None), default=None)


def _write_duty(
    records: Records, draft: VehicleDraft, vehicle: Vehicle, known: UseHistory, today: date
) -> None:
    """Keep since when the vehicle is on another duty; a duty that it was always on needs no spell."""
    before = draft.vehicle
    if before is None or before.duty is draft.duty:
        return
    start = start_of(draft, known)
    since = draft.duty_from or today
    spells = [spell for spell in draft.spells if not spell.void_reason]
    if not spells and start is not None and since <= start:
        return
    same_day = [spell for spell in spells if spell.from_on == since]
    if same_day:
        records.replace(replace(same_day[-1], duty=draft.duty))
        return
    if not spells and start is not None:
        records.add(DutySpell(vehicle_id=vehicle.id, from_on=start, duty=before.duty))
    records.add(DutySpell(vehicle_id=vehicle.id, from_on=since, duty=draft.duty))


def _write_lay_ups(records: Records, draft: VehicleDraft, vehicle: Vehicle) -> None:
    for one in draft.lay_ups:
        if one.lay_up is not None and one.is_dropped:
            records.void(one.lay_up, _("entered by mistake"))
        elif one.from_on is None or one.is_dropped:
            continue
        elif one.lay_up is None:
            records.add(
                LayUp(
                    vehicle_id=vehicle.id,
                    from_on=one.from_on,
                    until_on=one.until_on,
                    reason=one.reason.strip(),
                )
            )
        else:
            records.replace(
                replace(one.lay_up, from_on=one.from_on, until_on=one.until_on, reason=one.reason.strip())
            )


# --- stages and parts


def _write_stage(
    records: Records, vehicle: Vehicle, draft: StageDraft, order: int, how: Entering
) -> set[int]:
    values = {name: getattr(draft, name) for name in STAGE_FIELDS}
    values["name"] = values["name"].strip()
    values["slack_definition"] = values["slack_definition"].strip()
    if draft.run is not None:
        values["drive"] = draft.drive
    end = draft.taken_off
    if draft.stage is None:
        stage = records.add(Stage(vehicle_id=vehicle.id, order=order, **values))
    else:
        retired_on = draft.stage.retired_on if end is None else end.on
        stage = records.replace(replace(draft.stage, retired_on=retired_on, **values))
    touched: set[int] = set()
    for position in POSITIONS:
        part = draft.part(position)
        if end is not None:
            touched |= _take_off(records, draft, part, how)
        elif draft.is_fitted(position):
            touched.add(_write_part(records, stage, draft, part, how).id)
    return touched


def _write_part(
    records: Records, stage: Stage, draft: StageDraft, part: PartDraft, how: Entering
) -> Installation:
    part_type = part_type_for(records, draft, part)
    is_chain = part.position is Position.RUN and part_type.kind is PartKind.CHAIN
    links = part.count if is_chain else None
    fitted = part.fitted
    day = part.fitted_on or how.usual_day
    use = how.history.use_on(day) or 0.0
    if fitted is None:
        made = records.add(
            Part(
                part_type_id=part_type.id,
                lot=part.lot.strip(),
                use_before=part.use_before,
                is_history_known=part.is_history_known,
                cost=part_type.price,
            )
        )
        return records.add(
            Installation(
                part_id=made.id,
                vehicle_id=stage.vehicle_id,
                stage_id=stage.id,
                position=part.position,
                fitted_on=day,
                fitted_use=use,
                links=links,
            )
        )
    records.replace(
        replace(
            fitted.part,
            part_type_id=part_type.id,
            lot=part.lot.strip(),
            use_before=part.use_before,
            is_history_known=part.is_history_known,
        )
    )
    old = fitted.installation
    if day == old.fitted_on:
        use = old.fitted_use
    if links == fitted.part_type.links and old.links is None:
        links = None
    return records.replace(replace(old, fitted_on=day, fitted_use=use, links=links))


def _take_off(records: Records, draft: StageDraft, part: PartDraft, how: Entering) -> set[int]:
    end, fitted = draft.taken_off, part.fitted
    if end is None or fitted is None:
        return set()
    old = fitted.installation
    use = max(how.history.use_on(end.on) or 0.0, old.fitted_use)
    records.replace(replace(old, removed_on=end.on, removed_use=use, removal_reason=end.reason))
    return {old.id}
