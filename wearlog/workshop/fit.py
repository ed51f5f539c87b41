"""A vehicle added in one call after one of wearlog's own templates, as fitted today."""

from dataclasses import replace
from gettext import gettext as _

from wearlog.fleet.problem import Problem, WearlogError
from wearlog.fleet.vehicle import Duty, MeterUnit, VehicleKind
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.vehicles import save_vehicle, vehicle_snapshot
from wearlog.workshop.vehicles_templates import draft_like, usual_templates


def templates() -> dict[str, str]:
    """Return the names of the templates and what each stands for, in words."""
    return {template.name: template.text for template in usual_templates()}


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
    known = {one.name: one for one in usual_templates()}
    if template not in known:
        raise WearlogError(
            Problem(
                _("There is no drive line “{name}”.").format(name=template),
                _("drive line"),
                _("Choose one of: {names}.").format(names=", ".join(known)),
            )
        )
    snapshot = vehicle_snapshot(bench, None)
    draft = draft_like(known[template], snapshot.choices, snapshot.draft)
    return save_vehicle(
        bench,
        replace(
            draft,
            tag=tag,
            description=description,
            kind=kind,
            depot=depot,
            meter_unit=meter_unit,
            duty=duty,
            in_service_since=snapshot.today,
            meter_value=meter_value or 0.0,
        ),
    )
