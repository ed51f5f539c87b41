"""What keeps a vehicle from being saved, field by field."""

import math
from collections.abc import Iterable
from datetime import date
from gettext import gettext as _

from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.meter import MeterEntry, UseHistory, use_history
from wearlog.fleet.problem import Findings
from wearlog.fleet.reading import Reading
from wearlog.fleet.vehicle import MeterUnit, Vehicle
from wearlog.workshop.compare_part_types import FEWEST_TEETH
from wearlog.workshop.compare_setups import MOST_PITCHES, MOST_TEETH
from wearlog.workshop.vehicles_draft import (
    POSITIONS,
    LayUpDraft,
    PartDraft,
    StageDraft,
    VehicleDraft,
    field_key,
)

#: A meter never showed more, km or h. Assumption of this program.
MOST_ON_A_METER = 9_999_999.0


def history_of(draft: VehicleDraft, known: UseHistory, today: date) -> UseHistory:
    """Return the use history that a vehicle has once the draft is kept."""
    if known.points or draft.meter_value is None:
        return known
    return use_history([MeterEntry(vehicle_id=0, on=draft.meter_on or today, value=draft.meter_value)])


def usual_day(draft: VehicleDraft, today: date) -> date:
    """Return since when parts are there of which nothing else is said: the first meter entry, else today."""
    return (draft.meter_on or today) if draft.is_new else today


def check_draft(
    draft: VehicleDraft,
    others: Iterable[Vehicle],
    known: UseHistory,
    readings: Iterable[Reading],
    today: date,
) -> Findings:
    """Return all that keeps a vehicle from being saved; `Problem.where` names the field.

    Parameters
    ----------
    others
        The other vehicles of the fleet.
    known
        The use of the vehicle so far.
    readings
        Those of the vehicle that count.
    """
    findings = Findings()
    _check_words(findings, draft, others)
    _check_meter(findings, draft, known, today)
    _check_days(findings, draft, today)
    history = history_of(draft, known, today)
    if not draft.is_new and not history.points and _wants_a_day(draft):
        findings.add(
            _("No meter entry is known yet, so nobody knows at what meter the parts went on."),
            "meter",
            _("Give the meter first."),
        )
    read = list(readings)
    names: dict[str, StageDraft] = {}
    for stage in draft.stages:
        _check_stage(findings, stage, names)
        for position in POSITIONS:
            if stage.is_fitted(position):
                part = stage.part(position)
                day = part.fitted_on or usual_day(draft, today)
                _check_part(findings, stage, part, day, history, read, today)
        _check_end(findings, stage, history, read, today)
    for lay_up in draft.lay_ups:
        _check_lay_up(findings, lay_up, draft.lay_ups)
    return findings


def _wants_a_day(draft: VehicleDraft) -> bool:
    """Whether a part is fitted, or fitted on another day than was known."""
    return any(
        stage.is_fitted(position)
        and (part.fitted is None or part.fitted.installation.fitted_on != part.fitted_on)
        for stage in draft.stages
        for position, part in zip(POSITIONS, stage.parts, strict=True)
    )


def _check_words(findings: Findings, draft: VehicleDraft, others: Iterable[Vehicle]) -> None:
    tag = draft.tag.strip()
    if not tag:
        findings.add(_("The tag is missing."), "tag", _("Give the vehicle a tag; it can be scanned later."))
    elif any(other.tag.casefold() == tag.casefold() for other in others):
        findings.add(
            _("There is another vehicle with the tag {tag}.").format(tag=tag), "tag", _("Choose another tag.")
        )
    if not draft.depot.strip():
        findings.add(_("The depot is missing."), "depot", _("Name the depot that looks after it."))


def _check_meter(findings: Findings, draft: VehicleDraft, known: UseHistory, today: date) -> None:
    if draft.vehicle is not None and known.points:
        was_hours = draft.vehicle.meter_unit is MeterUnit.HOURS
        if was_hours != (draft.meter_unit is MeterUnit.HOURS):
            findings.add(
                _("Its meter entries so far count the other quantity."),
                "meter_unit",
                _("Hours can’t become a distance: retire this vehicle and add it anew."),
            )
        return
    if draft.meter_value is None:
        if draft.is_new:
            findings.add(
                _("The meter is missing."), "meter", _("Read the meter; 0 for a vehicle that never ran.")
            )
        return
    if not 0.0 <= draft.meter_value <= MOST_ON_A_METER:
        findings.add(
            _("No meter shows that."), "meter", _("Type what it shows; check the digits and the unit.")
        )
    if draft.meter_on is not None and draft.meter_on > today:
        findings.add(_("The day lies ahead."), "meter_on", _("Give the day on which the meter was read."))


def _check_days(findings: Findings, draft: VehicleDraft, today: date) -> None:
    if draft.in_service_since is not None and draft.in_service_since > today:
        findings.add(
            _("The day lies ahead."), "in_service_since", _("Give the day it came into service, or nothing.")
        )
    if draft.duty_from is None:
        return
    if draft.duty_from > today:
        findings.add(_("The day lies ahead."), "duty_from", _("Enter the change of duty once it has come."))
    later = [s for s in draft.spells if not s.void_reason and s.from_on > draft.duty_from]
    was = draft.vehicle.duty if draft.vehicle is not None else draft.duty
    if later and draft.duty is not was:
        findings.add(
            _("A change of duty on {day} is kept already.").format(day=later[-1].from_on.isoformat()),
            "duty_from",
            _("Give a day from then on."),
        )


def _check_stage(findings: Findings, stage: StageDraft, names: dict[str, StageDraft]) -> None:
    name = stage.name.strip().casefold()
    if not name:
        findings.add(
            _("The stage has no name."), field_key(stage, "name"), _("Call it primary drive, final drive …")
        )
    elif name in names:
        findings.add(
            _("Two stages have this name."), field_key(stage, "name"), _("Name one of them otherwise.")
        )
    names[name] = stage
    for field, value in (
        ("centre_distance_mm", stage.centre_distance_mm),
        ("span_mm", stage.span_mm),
        ("rated_input_rpm", stage.rated_input_rpm),
        ("rated_power_kw", stage.rated_power_kw),
        ("wheel_circumference_mm", stage.wheel_circumference_mm),
    ):
        if value is not None and not (math.isfinite(value) and value > 0.0):
            findings.add(
                _("It must be above zero."), field_key(stage, field), _("Give it, or leave it empty.")
            )
    if stage.adjuster_range_mm is not None and stage.adjuster_range_mm < 0.0:
        findings.add(
            _("An adjuster can’t travel less than 0."),
            field_key(stage, "adjuster_range_mm"),
            _("Give its travel to the rear, or nothing."),
        )


def _check_part(
    findings: Findings,
    stage: StageDraft,
    part: PartDraft,
    day: date,
    history: UseHistory,
    readings: list[Reading],
    today: date,
) -> None:
    _check_count(findings, stage, part)
    if not 0.0 <= part.use_before <= MOST_ON_A_METER:
        findings.add(
            _("That can’t be on a part."),
            field_key(stage, "use_before", part.position),
            _("Type what was on it when it was fitted; nothing for a new one."),
        )
    where = field_key(stage, "fitted_on", part.position)
    fitted = part.fitted
    if fitted is not None and part.fitted_on == fitted.installation.fitted_on:
        return
    if day > today:
        findings.add(_("The day lies ahead."), where, _("Give the day on which it was fitted."))
    elif history.points and history.use_on(day) is None:
        first = history.points[0].on.isoformat()
        findings.add(
            _("The meter is known only from {day} on.").format(day=first),
            where,
            _("Say that it was fitted on {day}, and what was on it by then.").format(day=first),
        )
    if fitted is not None:
        early = _first_reading(fitted.installation, readings)
        if early is not None and early < day:
            findings.add(
                _("It was measured on {day} already.").format(day=early.isoformat()),
                where,
                _("Give a day up to then."),
            )


def _check_count(findings: Findings, stage: StageDraft, part: PartDraft) -> None:
    where = field_key(stage, "count", part.position)
    is_run = part.position is Position.RUN
    if part.count is None:
        if not is_run:
            findings.add(_("The number of teeth is missing."), where, _("Count the teeth."))
        return
    least, most = (FEWEST_TEETH, MOST_PITCHES if is_run else MOST_TEETH)
    if not least <= part.count <= most:
        findings.add(
            _("{n} can’t be.").format(n=part.count),
            where,
            _("Check the digits; {least} to {most} are taken.").format(least=least, most=most),
        )


def _first_reading(installation: Installation, readings: list[Reading]) -> date | None:
    return min((r.on for r in readings if r.installation_id == installation.id), default=None)


def _check_end(
    findings: Findings, stage: StageDraft, history: UseHistory, readings: list[Reading], today: date
) -> None:
    end = stage.taken_off
    if end is None or stage.stage is None:
        return
    where = field_key(stage, "taken_off")
    if end.on > today:
        findings.add(_("The day lies ahead."), where, _("Give the day on which it came off."))
        return
    stage_id = stage.stage.id
    last = max((r.on for r in readings if r.stage_id == stage_id), default=None)
    fitted = [part.fitted.installation.fitted_on for part in stage.parts if part.fitted is not None]
    latest = max([*fitted, *([last] if last is not None else [])], default=None)
    if latest is not None and end.on < latest:
        findings.add(
            _("Something was fitted or measured there on {day}.").format(day=latest.isoformat()),
            where,
            _("Give a day from then on."),
        )
    elif fitted and history.use_on(end.on) is None:
        findings.add(_("The meter of that day is not known."), where, _("Give a later day."))


def _check_lay_up(findings: Findings, one: LayUpDraft, others: Iterable[LayUpDraft]) -> None:
    if one.is_dropped:
        return
    if one.from_on is None:
        findings.add(
            _("The day from which it stands is missing."),
            field_key(one, "from_on"),
            _("Give the first day on which it stood."),
        )
        return
    if one.until_on is not None and one.until_on <= one.from_on:
        findings.add(
            _("It is used again before it stood."),
            field_key(one, "until_on"),
            _("Give the first day on which it is used again."),
        )
        return
    for other in others:
        if other.key >= one.key or other.is_dropped or other.from_on is None:
            continue
        ends_before = other.until_on is not None and other.until_on <= one.from_on
        starts_after = one.until_on is not None and one.until_on <= other.from_on
        if not (ends_before or starts_after):
            findings.add(
                _("It overlaps the lay-up from {day}.").format(day=other.from_on.isoformat()),
                field_key(one, "from_on"),
                _("Give each time in which it stood once."),
            )
