"""Templates: what a vehicle of a usual sort is made of; wearlog's to start with, and the workshop's own."""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from gettext import gettext as _
from typing import Any

from wearlog.fleet.parts import DriveKind, WearClass
from wearlog.fleet.problem import Findings
from wearlog.fleet.vehicle import Duty, MeterUnit, VehicleKind
from wearlog.store.records import Records
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.compare_snapshot import RunChoice
from wearlog.workshop.vehicles_draft import POSITIONS, PartDraft, StageDraft, VehicleDraft

#: The setting that keeps the workshop's own templates, by name.
OWN_TEMPLATES = "vehicle templates"
#: What the names of the workshop's own begin with, so that none is mistaken for one of wearlog's.
OWN = "own: "

Counts = tuple[int | None, int | None, int | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class TemplateStage:
    """One stage of a template; `counts` are links or belt teeth, driver teeth, driven teeth."""

    name: str
    drive: DriveKind
    designation: str = ""
    wear_class: WearClass = WearClass.UNKNOWN
    width_mm: float | None = None
    counts: Counts = (None, None, None)
    slack_definition: str = ""
    centre_distance_mm: float | None = None
    adjuster_range_mm: float | None = None
    span_mm: float | None = None
    rated_input_rpm: float | None = None
    rated_power_kw: float | None = None
    wheel_circumference_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Template:
    """A sort of vehicle; everything in it can be changed before it is saved.

    `name` is the program's word for it; `text` what a person reads.
    """

    name: str
    text: str
    kind: VehicleKind
    stages: tuple[TemplateStage, ...]
    description: str = ""
    model: str = ""
    meter_unit: MeterUnit = MeterUnit.KM
    duty: Duty = Duty.UNKNOWN

    @property
    def is_own(self) -> bool:
        """Whether the workshop made it."""
        return self.name.startswith(OWN)


# --- those to start with


def _primary_belt() -> TemplateStage:
    return TemplateStage(
        name=_("primary drive"),
        drive=DriveKind.BELT,
        designation="H8M",
        wear_class=WearClass.TOOTHED_BELT,
        width_mm=20.0,
        counts=(90, 28, 56),
    )


def _chain(name: str, designation: str, wear_class: WearClass, counts: Counts, slack: str) -> TemplateStage:
    return TemplateStage(
        name=name,
        drive=DriveKind.CHAIN,
        designation=designation,
        wear_class=wear_class,
        counts=counts,
        slack_definition=slack,
    )


def usual_templates() -> tuple[Template, ...]:
    """Return the templates that come with wearlog.

    Teeth, links and designations are those of a common vehicle of the sort: common practice, no source.
    """
    primary, final = _("primary drive"), _("final drive")
    on_stand, total = _("lower run, total, on the stand"), _("total")
    moto = _chain(final, "428", WearClass.SEALED_MOTORCYCLE_CHAIN, (116, 14, 42), on_stand)
    chain_primary = _chain(primary, "08B", WearClass.PRIMARY_ROLLER_CHAIN, (60, 17, 34), total)
    open_moto = _chain(final, "520", WearClass.OPEN_MOTORCYCLE_CHAIN, (112, 14, 48), on_stand)
    moped = _chain(final, "415", WearClass.OPEN_MOTORCYCLE_CHAIN, (106, 12, 40), on_stand)
    derailleur = _chain(final, "082C", WearClass.DERAILLEUR_CYCLE_CHAIN, (118, 44, 20), "")
    hub = _chain(final, "081C", WearClass.HUB_GEAR_CYCLE_CHAIN, (108, 44, 20), total)
    cargo = _chain(final, "081C", WearClass.HUB_GEAR_CYCLE_CHAIN, (114, 38, 19), total)
    belt = TemplateStage(
        name=final,
        drive=DriveKind.BELT,
        designation="H8M",
        wear_class=WearClass.TOOTHED_BELT,
        width_mm=20.0,
        counts=(150, 50, 24),
    )
    kind = VehicleKind
    return (
        _usual(
            "belt primary",
            _("Electric motorcycle, belt primary, chain final"),
            kind.ELECTRIC_MOTORCYCLE,
            _primary_belt(),
            moto,
        ),
        _usual(
            "chain primary",
            _("Electric motorcycle, chain primary, chain final"),
            kind.ELECTRIC_MOTORCYCLE,
            chain_primary,
            moto,
        ),
        _usual("petrol motorcycle", _("Petrol motorcycle, chain final"), kind.PETROL_MOTORCYCLE, open_moto),
        _usual("moped", _("Moped, chain final"), kind.MOPED, moped),
        _usual("cargo e-bike", _("Cargo e-bike, hub gear, chain"), kind.CARGO_EBIKE, cargo),
        _usual("single chain", _("Bicycle or e-bike, derailleur chain"), kind.BICYCLE, derailleur),
        _usual("hub gear chain", _("Bicycle or e-bike, hub gear, chain"), kind.BICYCLE, hub),
        _usual("hub gear belt", _("Bicycle or e-bike, hub gear, belt"), kind.BICYCLE, belt),
    )


def _usual(name: str, text: str, kind: VehicleKind, *stages: TemplateStage) -> Template:
    return Template(name=name, text=text, kind=kind, stages=stages)


# --- the workshop's own


def templates_of(records: Records) -> tuple[Template, ...]:
    """Return all templates, the workshop's own first."""
    return (*_own(records).values(), *usual_templates())


def _own(records: Records) -> dict[str, Template]:
    kept = json.loads(records.setting(OWN_TEMPLATES) or "{}")
    own = [_from_plain(name, data) for name, data in kept.items()]
    return {template.text: template for template in sorted(own, key=lambda one: one.text.casefold())}


def keep_template(bench: Bench, draft: VehicleDraft, name: str) -> Changes:
    """Keep a vehicle as a template of the workshop's own, under a name; one of the same name is replaced.

    Tag, owner, meter, dates and what is on the parts stay with the vehicle.

    Raises
    ------
    WearlogError
        If the name is missing, or the vehicle has no stage to begin with.
    """
    findings = Findings()
    text = name.strip()
    if not text:
        findings.add(_("The template has no name."), "template", _("Name it as it is to stand in the list."))
    if not draft.stages:
        findings.add(
            _("There is no drive stage to keep."), "template", _("Add a stage, then keep the template.")
        )
    findings.raise_if_any()
    what = _("Template “{name}” kept").format(name=text)
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        own = _own(records)
        had_own = bool(own)
        own[text] = template_of(draft, text)
        _write_own(records, own)
        change_id = records.change_id
    # The first one makes the setting, which then stays; it can be dropped by hand.
    return Changes(what, change_id, can_undo=had_own)


def drop_template(bench: Bench, name: str) -> Changes:
    """Forget a template of the workshop's own; the trail keeps it."""
    text = name.removeprefix(OWN)
    what = _("Template “{name}” dropped").format(name=text)
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        _write_own(records, {key: one for key, one in _own(records).items() if key != text})
        change_id = records.change_id
    return Changes(what, change_id)


def _write_own(records: Records, own: dict[str, Template]) -> None:
    plain = {text: _plain(template) for text, template in own.items()}
    records.set_setting(OWN_TEMPLATES, json.dumps(plain, ensure_ascii=False, sort_keys=True))


def _plain(template: Template) -> dict[str, Any]:
    data = asdict(template)
    del data["name"], data["text"]
    return data


def _from_plain(text: str, data: dict[str, Any]) -> Template:
    stages = tuple(
        TemplateStage(
            **{
                **stage,
                "drive": DriveKind(stage["drive"]),
                "wear_class": WearClass(stage["wear_class"]),
                "counts": tuple(stage["counts"]),
            }
        )
        for stage in data["stages"]
    )
    return Template(
        name=OWN + text,
        text=text,
        kind=VehicleKind(data["kind"]),
        stages=stages,
        description=data["description"],
        model=data["model"],
        meter_unit=MeterUnit(data["meter_unit"]),
        duty=Duty(data["duty"]),
    )


# --- from a vehicle, and to one


def template_of(draft: VehicleDraft, text: str) -> Template:
    """Return what of a vehicle is the same for all of its sort."""
    return Template(
        name=OWN + text,
        text=text,
        kind=draft.kind,
        stages=tuple(_stage_of(stage) for stage in draft.stages if stage.taken_off is None),
        description=draft.description,
        model=draft.model,
        meter_unit=draft.meter_unit,
        duty=draft.duty,
    )


def _stage_of(stage: StageDraft) -> TemplateStage:
    run = stage.run
    run_count, driver, driven = (stage.part(position).count for position in POSITIONS)
    return TemplateStage(
        name=stage.name,
        drive=stage.drive,
        designation="" if run is None else run.designation,
        wear_class=WearClass.UNKNOWN if run is None else run.wear_class,
        width_mm=None if run is None else run.width_mm,
        counts=(run_count, driver, driven),
        slack_definition=stage.slack_definition,
        centre_distance_mm=stage.centre_distance_mm,
        adjuster_range_mm=stage.adjuster_range_mm,
        span_mm=stage.span_mm,
        rated_input_rpm=stage.rated_input_rpm,
        rated_power_kw=stage.rated_power_kw,
        wheel_circumference_mm=stage.wheel_circumference_mm,
    )


def draft_like(template: Template, choices: Sequence[RunChoice], draft: VehicleDraft) -> VehicleDraft:
    """Return a new vehicle made after a template; what is its own (tag, depot, meter) stays as it is."""
    first = draft.free_key
    stages = tuple(stage_like(stage, choices, first + n) for n, stage in enumerate(template.stages))
    return replace(
        draft,
        kind=template.kind,
        description=template.description or draft.description,
        model=template.model or draft.model,
        meter_unit=template.meter_unit,
        duty=template.duty if template.duty is not Duty.UNKNOWN else draft.duty,
        stages=stages,
    )


def stage_like(stage: TemplateStage, choices: Sequence[RunChoice], key: int) -> StageDraft:
    """Return a new stage made after one of a template."""
    run = next(
        (
            choice.part_type
            for choice in choices
            if choice.part_type.designation == stage.designation
            and choice.part_type.wear_class is stage.wear_class
            and (stage.width_mm is None or choice.part_type.width_mm == stage.width_mm)
        ),
        None,
    )
    parts = tuple(
        PartDraft(position=position, count=count if run is not None else None)
        for position, count in zip(POSITIONS, stage.counts, strict=True)
    )
    return StageDraft(
        key=key,
        name=stage.name,
        drive=stage.drive,
        run=run,
        parts=parts,
        centre_distance_mm=stage.centre_distance_mm,
        adjuster_range_mm=stage.adjuster_range_mm,
        span_mm=stage.span_mm,
        rated_input_rpm=stage.rated_input_rpm,
        rated_power_kw=stage.rated_power_kw,
        wheel_circumference_mm=stage.wheel_circumference_mm,
        slack_definition=stage.slack_definition,
    )
