"""Part types for the parts of a vehicle: the workshop's own, else made after the standard's."""

from dataclasses import replace
from gettext import gettext as _

from wearlog.fleet.fitting import Position
from wearlog.fleet.parts import PartKind, PartType
from wearlog.store.records import Records
from wearlog.workshop.compare_part_types import wheel_type
from wearlog.workshop.compare_snapshot import run_key
from wearlog.workshop.vehicles_draft import PartDraft, StageDraft


def count_of(part_type: PartType, links: int | None = None) -> int | None:
    """Return links of a chain, teeth of everything else; the links that were fitted come first."""
    if part_type.kind is PartKind.CHAIN:
        return links if links is not None else part_type.links
    return part_type.teeth


def part_type_for(records: Records, stage: StageDraft, part: PartDraft) -> PartType:
    """Return the type of a part of a stage, made if the workshop has none such.

    What is fitted keeps its type as long as it is one of the kind and size that is wanted.
    """
    run = stage.run
    if run is None:
        message = "a stage without chain or belt has no parts"
        raise ValueError(message)
    now = None if part.fitted is None else part.fitted.part_type
    if part.position is Position.RUN:
        if now is not None and run_key(now) == run_key(run) and _is_so_long(now, part):
            return now
        return _run_type(records, run, part.count)
    if now is not None and _is_wheel_for(now, run, part.count):
        return now
    return _wheel_type(records, run, part.count)


def _is_so_long(now: PartType, part: PartDraft) -> bool:
    # A chain has its links at the installation, so that one with links out stays the part that was ordered.
    return now.kind is PartKind.CHAIN or now.teeth == part.count


def _is_wheel_for(now: PartType, run: PartType, teeth: int | None) -> bool:
    kind = PartKind.SPROCKET if run.kind is PartKind.CHAIN else PartKind.PULLEY
    return (
        now.kind is kind
        and now.teeth == teeth
        and run.designation in {now.chain, now.designation}
        and abs(now.pitch_mm - run.pitch_mm) < 1e-6
    )


def _run_type(records: Records, run: PartType, count: int | None) -> PartType:
    is_chain = run.kind is PartKind.CHAIN
    same = [
        one
        for one in records.all(PartType, designation=run.designation, wear_class=run.wear_class)
        if run_key(one) == run_key(run) and (one.links if is_chain else one.teeth) == count
    ]
    if same:
        return same[0]
    return records.add(
        replace(
            run,
            id=0,
            version=0,
            name=_free_name(records, run_name(run, count)),
            links=count if is_chain else None,
            teeth=None if is_chain else count,
            price=None,
        )
    )


def _wheel_type(records: Records, run: PartType, teeth: int | None) -> PartType:
    wanted = wheel_type(run, teeth)
    for one in records.all(PartType, kind=wanted.kind, teeth=teeth):
        if _is_wheel_for(one, run, teeth):
            return one
    return records.add(replace(wanted, name=_free_name(records, wheel_name(run, teeth))))


def wheel_name(run: PartType, teeth: int | None) -> str:
    """Return what the sprocket or pulley of a chain or belt is called if nobody named it."""
    noun = _("Sprocket") if run.kind is PartKind.CHAIN else _("Pulley")
    return _("{noun} {designation}, {teeth} teeth").format(
        noun=noun, designation=run.designation, teeth=teeth
    )


def run_name(run: PartType, count: int | None) -> str:
    """Return what a chain or belt is called if nobody named it."""
    if run.kind is PartKind.BELT:
        width = "" if run.width_mm is None else _(", {mm:g} mm wide").format(mm=run.width_mm)
        name = _("Belt {designation}{width}").format(designation=run.designation, width=width)
        return name if count is None else _("{name}, {n} teeth").format(name=name, n=count)
    name = _("Chain {designation}, {kind}").format(designation=run.designation, kind=_(run.wear_class.value))
    return name if count is None else _("{name}, {n} links").format(name=name, n=count)


def _free_name(records: Records, name: str) -> str:
    """Return a name that no other part type has."""
    if records.first(PartType, name=name) is None:
        return name
    taken = {one.name for one in records.all(PartType)}
    return next(free for n in range(2, len(taken) + 3) if (free := f"{name} ({n})") not in taken)
