"""Vehicles added, with their stages and parts, from the workshop's own templates."""

from dataclasses import dataclass, replace
from datetime import date
from gettext import gettext as _

from wearlog.drive.defaults import catalogue
from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.parts import DriveKind, Part, PartKind, PartType, WearClass
from wearlog.fleet.problem import Findings, Problem, ProblemKind, WearlogError
from wearlog.fleet.vehicle import Duty, MeterUnit, Stage, Vehicle, VehicleKind
from wearlog.store.records import Records
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes


@dataclass(frozen=True, slots=True)
class TemplatePart:
    """One part of a template: what of the catalogue, where, and how many teeth or links."""

    position: Position
    kind: PartKind
    designation: str
    wear_class: WearClass
    teeth: int | None = None
    links: int | None = None


@dataclass(frozen=True, slots=True)
class TemplateStage:
    """One stage of a template; `slack_definition` says how slack is measured on it."""

    name: str
    drive: DriveKind
    parts: tuple[TemplatePart, ...]
    slack_definition: str = ""


def _chain(
    designation: str, wear_class: WearClass, links: int, driver: int, driven: int
) -> tuple[TemplatePart, ...]:
    return (
        TemplatePart(Position.RUN, PartKind.CHAIN, designation, wear_class, links=links),
        TemplatePart(Position.DRIVER, PartKind.SPROCKET, designation, WearClass.SPROCKET, teeth=driver),
        TemplatePart(Position.DRIVEN, PartKind.SPROCKET, designation, WearClass.SPROCKET, teeth=driven),
    )


def _belt(designation: str, teeth: int, driver: int, driven: int) -> tuple[TemplatePart, ...]:
    return (
        TemplatePart(Position.RUN, PartKind.BELT, designation, WearClass.TOOTHED_BELT, teeth=teeth),
        TemplatePart(Position.DRIVER, PartKind.PULLEY, designation, WearClass.PULLEY, teeth=driver),
        TemplatePart(Position.DRIVEN, PartKind.PULLEY, designation, WearClass.PULLEY, teeth=driven),
    )


def _motorcycle_final() -> TemplateStage:
    parts = _chain("428", WearClass.SEALED_MOTORCYCLE_CHAIN, 116, 14, 42)
    return TemplateStage(_("final drive"), DriveKind.CHAIN, parts, _("lower run, total, on the stand"))


def _templates() -> dict[str, tuple[str, tuple[TemplateStage, ...]]]:
    primary = _("primary drive")
    final = _("final drive")
    primary_chain = _chain("08B", WearClass.PRIMARY_ROLLER_CHAIN, 60, 17, 34)
    cycle = _chain("081C", WearClass.HUB_GEAR_CYCLE_CHAIN, 108, 44, 20)
    derailleur = _chain("082C", WearClass.DERAILLEUR_CYCLE_CHAIN, 118, 44, 20)
    open_chain = _chain("520", WearClass.OPEN_MOTORCYCLE_CHAIN, 112, 14, 48)
    return {
        "belt primary": (
            _("Electric motorcycle, belt primary, chain final"),
            (TemplateStage(primary, DriveKind.BELT, _belt("H8M", 90, 28, 56)), _motorcycle_final()),
        ),
        "chain primary": (
            _("Electric motorcycle, chain primary, chain final"),
            (TemplateStage(primary, DriveKind.CHAIN, primary_chain, _("total")), _motorcycle_final()),
        ),
        "single chain": (
            _("Bicycle or e-bike, derailleur chain"),
            (TemplateStage(final, DriveKind.CHAIN, derailleur),),
        ),
        "hub gear chain": (
            _("Bicycle or e-bike, hub gear, chain"),
            (TemplateStage(final, DriveKind.CHAIN, cycle, _("total")),),
        ),
        "hub gear belt": (
            _("Bicycle or e-bike, hub gear, belt"),
            (TemplateStage(final, DriveKind.BELT, _belt("H8M", 150, 50, 24)),),
        ),
        "petrol motorcycle": (
            _("Petrol motorcycle, chain final"),
            (TemplateStage(final, DriveKind.CHAIN, open_chain, _("lower run, total, on the stand")),),
        ),
    }


def templates() -> dict[str, str]:
    """Return the names of the templates and what each stands for, in words."""
    return {name: text for name, (text, _stages) in _templates().items()}


def add_vehicle_from_template(
    bench: Bench,
    *,
    tag: str,
    description: str,
    kind: VehicleKind,
    depot: str,
    meter_unit: MeterUnit,
    duty: Duty,
    meter_value: float | None,
    template: str,
) -> Changes:
    """Add a vehicle with the stages and parts of a template, as fitted today; all of it can be changed later.

    Parameters
    ----------
    meter_value
        What the meter shows, km (h on hour meters); 0 if None.
    template
        One of `templates`.

    Raises
    ------
    WearlogError
        If the tag or the depot is missing, the tag is taken, or there is no such template.
    """
    findings = Findings()
    if not tag.strip():
        findings.add(
            _("The tag is missing."), _("tag"), _("Give the vehicle a tag; it can be scanned later.")
        )
    if not depot.strip():
        findings.add(_("The depot is missing."), _("depot"), _("Name the depot that looks after it."))
    known = _templates()
    if template not in known:
        findings.add(
            _("There is no drive line “{name}”.").format(name=template),
            _("drive line"),
            _("Choose one of: {names}.").format(names=", ".join(known)),
        )
    if meter_value is not None and meter_value < 0.0:
        findings.add(_("A meter can’t show less than 0."), _("meter"), _("Type what the meter shows."))
    findings.raise_if_any()
    today = bench.today()
    what = _("Vehicle {tag} added").format(tag=tag.strip())
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        if any(v.tag.casefold() == tag.strip().casefold() for v in records.all(Vehicle)):
            raise WearlogError(
                Problem(
                    _("There is another vehicle with the tag {tag}.").format(tag=tag.strip()),
                    _("tag"),
                    _("Choose another tag."),
                    kind=ProblemKind.CONFLICT,
                )
            )
        vehicle = records.add(
            Vehicle(
                tag=tag.strip(),
                description=description.strip() or kind.value,
                kind=kind,
                depot=depot.strip(),
                meter_unit=meter_unit,
                duty=duty,
                in_service_since=today,
            )
        )
        use = meter_value or 0.0
        records.add(MeterEntry(vehicle_id=vehicle.id, on=today, value=use, by=bench.by))
        for order, stage in enumerate(known[template][1], start=1):
            _add_stage(records, vehicle, order, stage, today, use)
        change_id = records.change_id
    return Changes(what, change_id, frozenset({vehicle.id}), can_undo=False)


def _add_stage(
    records: Records, vehicle: Vehicle, order: int, template: TemplateStage, today: date, use: float
) -> None:
    stage = records.add(
        Stage(
            vehicle_id=vehicle.id,
            order=order,
            name=template.name,
            drive=template.drive,
            slack_definition=template.slack_definition,
        )
    )
    for wanted in template.parts:
        part = records.add(Part(part_type_id=_part_type(records, wanted).id))
        records.add(
            Installation(
                part_id=part.id,
                vehicle_id=vehicle.id,
                stage_id=stage.id,
                position=wanted.position,
                fitted_on=today,
                fitted_use=use,
                links=wanted.links,
            )
        )


def _part_type(records: Records, wanted: TemplatePart) -> PartType:
    """Return the part type of the workshop, made from the catalogue if it is not there yet."""
    from_standard = next(
        (
            p
            for p in catalogue()
            if p.designation == wanted.designation and p.kind in {wanted.kind, _carrier(wanted.kind)}
        ),
        None,
    )
    if from_standard is None:
        raise WearlogError(
            Problem(
                _("{designation} is not in the catalogue.").format(designation=wanted.designation),
                todo=_("Import the part types first."),
                kind=ProblemKind.NOT_FOUND,
            )
        )
    name = _name(wanted)
    found = records.first(PartType, name=name)
    if found is not None:
        return found
    is_run = wanted.position is Position.RUN
    return records.add(
        replace(
            from_standard,
            id=0,
            version=0,
            kind=wanted.kind,
            name=name,
            wear_class=wanted.wear_class,
            teeth=wanted.teeth,
            links=wanted.links,
            chain="" if is_run else wanted.designation,
        )
    )


def _carrier(kind: PartKind) -> PartKind:
    """Return what runs on a sprocket or pulley; its pitch is theirs."""
    return {PartKind.SPROCKET: PartKind.CHAIN, PartKind.PULLEY: PartKind.BELT}.get(kind, kind)


def _name(wanted: TemplatePart) -> str:
    if wanted.kind is PartKind.CHAIN:
        return _("Chain {designation}, {links} links, {wear_class}").format(
            designation=wanted.designation, links=wanted.links, wear_class=wanted.wear_class.value
        )
    noun = {PartKind.BELT: _("Belt"), PartKind.SPROCKET: _("Sprocket"), PartKind.PULLEY: _("Pulley")}[
        wanted.kind
    ]
    return _("{noun} {designation}, {teeth} teeth").format(
        noun=noun, designation=wanted.designation, teeth=wanted.teeth
    )
