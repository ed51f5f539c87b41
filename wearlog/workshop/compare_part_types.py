"""Part types of the workshop: the wheel that belongs to a chain or belt, and types of one's own."""

import math
from dataclasses import replace
from gettext import gettext as _

from wearlog.fleet.parts import PartKind, PartType, WearClass
from wearlog.fleet.problem import Findings
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes

#: Fewer teeth close no polygon.
FEWEST_TEETH = 3
#: Which wear classes a part may be of.
CLASSES: dict[PartKind, tuple[WearClass, ...]] = {
    PartKind.CHAIN: (
        WearClass.SEALED_MOTORCYCLE_CHAIN,
        WearClass.OPEN_MOTORCYCLE_CHAIN,
        WearClass.PRIMARY_ROLLER_CHAIN,
        WearClass.DERAILLEUR_CYCLE_CHAIN,
        WearClass.HUB_GEAR_CYCLE_CHAIN,
        WearClass.UNKNOWN,
    ),
    PartKind.SPROCKET: (WearClass.SPROCKET,),
    PartKind.BELT: (WearClass.TOOTHED_BELT,),
    PartKind.PULLEY: (WearClass.PULLEY,),
}


def wheel_type(run: PartType, teeth: int | None) -> PartType:
    """Return the sprocket of a chain or the pulley of a belt, still without a name."""
    is_chain = run.kind is PartKind.CHAIN
    return PartType(
        kind=PartKind.SPROCKET if is_chain else PartKind.PULLEY,
        name="",
        designation=run.designation,
        wear_class=WearClass.SPROCKET if is_chain else WearClass.PULLEY,
        pitch_mm=run.pitch_mm,
        roller_diameter_mm=run.roller_diameter_mm if is_chain else None,
        teeth=teeth,
        chain=run.designation,
        source=run.source,
    )


def add_part_type(bench: Bench, part_type: PartType) -> Changes:
    """Add a chain, sprocket, belt or pulley of the workshop's own.

    Raises
    ------
    WearlogError
        All that is missing or can't be; `Problem.where` is the field of `PartType`.
    """
    findings = Findings()
    _check_words(findings, part_type)
    _check_figures(findings, part_type)
    findings.raise_if_any()
    what = _("Part type {name} added").format(name=part_type.name.strip())
    wanted = replace(
        part_type,
        id=0,
        version=0,
        name=part_type.name.strip(),
        designation=part_type.designation.strip(),
        source=part_type.source.strip() or _("entered in the workshop"),
    )
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        records.add(wanted)
        change_id = records.change_id
    # A type once made stays, as parts may have been ordered by it: there is nothing to take back.
    return Changes(what, change_id, can_undo=False)


def _check_words(findings: Findings, part_type: PartType) -> None:
    if not part_type.name.strip():
        findings.add(_("The name is missing."), "name", _("Name it as it is to stand in lists."))
    if not part_type.designation.strip():
        findings.add(
            _("The designation is missing."),
            "designation",
            _("Give the standard’s or the maker’s number, for example 428 or H8M."),
        )
    if part_type.wear_class not in CLASSES[part_type.kind]:
        findings.add(
            _("A {kind} does not wear as a {wear_class} does.").format(
                kind=_(part_type.kind.value), wear_class=_(part_type.wear_class.value)
            ),
            "wear_class",
            _("Choose how it wears."),
        )


def _check_figures(findings: Findings, part_type: PartType) -> None:
    for field, name, value, unit in (
        ("pitch_mm", _("pitch"), part_type.pitch_mm, "mm"),
        ("roller_diameter_mm", _("roller diameter"), part_type.roller_diameter_mm, "mm"),
        ("width_mm", _("width"), part_type.width_mm, "mm"),
        ("mass_kg_per_m", _("mass per metre"), part_type.mass_kg_per_m, "kg/m"),
        ("links", _("number of links"), part_type.links, ""),
    ):
        if value is not None and not (math.isfinite(value) and value > 0.0):
            shown = f"{value:g} {unit}".strip()
            findings.add(
                _("The {name} must be above zero; {value} was given.").format(name=name, value=shown), field
            )
    is_wheel = part_type.kind in {PartKind.SPROCKET, PartKind.PULLEY}
    if is_wheel and part_type.teeth is None:
        findings.add(_("The number of teeth is missing."), "teeth", _("Count the teeth."))
    elif part_type.teeth is not None and part_type.teeth < FEWEST_TEETH:
        findings.add(
            _("A wheel or belt with {teeth} teeth cannot be.").format(teeth=part_type.teeth),
            "teeth",
            _("Check the number of teeth."),
        )
    roller = part_type.roller_diameter_mm
    if roller is not None and 0.0 < part_type.pitch_mm <= roller:
        findings.add(
            _("Rollers of {roller:g} mm leave no tooth at a pitch of {pitch:g} mm.").format(
                roller=roller, pitch=part_type.pitch_mm
            ),
            "roller_diameter_mm",
            _("Check pitch and roller diameter."),
        )
    if part_type.lead_time_days < 0:
        findings.add(_("A lead time cannot be negative."), "lead_time_days", _("Give days, or nothing."))
    if part_type.price is not None and part_type.price < 0.0:
        findings.add(_("A price cannot be negative."), "price", _("Give a price, or nothing."))
