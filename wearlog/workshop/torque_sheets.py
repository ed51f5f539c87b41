"""Torque sheets started, and their fasteners added, changed and taken off."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from gettext import gettext as _

from wearlog import resources
from wearlog.drive.tightening import tightening_order
from wearlog.fleet.problem import Findings, Problem, ProblemKind, WearlogError
from wearlog.fleet.torque import Fastener, TorqueSheet, Treatment
from wearlog.fleet.vehicle import Vehicle, VehicleKind
from wearlog.store.records import Records
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.torque_rechecks import torque_state

#: A sheet without fasteners.
EMPTY_SHEET = ""
#: No fastener of a light two-wheeler is tighter, [N.m]; assumption that catches slips of units and digits.
MOST_NM = 500.0


@dataclass(frozen=True, slots=True)
class TorqueTemplate:
    """A sheet to start from: which kinds of vehicle it fits, and its fasteners in order."""

    key: str
    sheet: TorqueSheet
    kinds: frozenset[VehicleKind]
    fasteners: tuple[Fastener, ...]


def torque_templates() -> tuple[TorqueTemplate, ...]:
    """Return the sheets that are shipped to start from.

    Examples
    --------
    >>> [len(template.fasteners) for template in torque_templates()]
    [7]
    """
    files = sorted(resources.resource("torque").glob("*.toml"))
    return tuple(_template(file.stem) for file in files)


def _template(key: str) -> TorqueTemplate:
    table = resources.toml("torque", f"{key}.toml")
    return TorqueTemplate(
        key=key,
        sheet=TorqueSheet(name=table["name"], note=table["note"], source=table["source"]),
        kinds=frozenset(VehicleKind(kind) for kind in table["kinds"]),
        fasteners=tuple(
            Fastener(
                torque_sheet_id=0,
                order=order,
                name=row["name"],
                stage_name=row.get("stage", ""),
                size=row.get("size", ""),
                low_nm=row["low_nm"],
                high_nm=row["high_nm"],
                treatment=Treatment(row["treatment"]),
                bolts=row["bolts"],
                is_opposing=row.get("is_opposing", False),
                recheck_km=row.get("recheck_km"),
                recheck_h=row.get("recheck_h"),
                source=row["source"],
                note=row.get("note", ""),
            )
            for order, row in enumerate(table["fastener"], 1)
        ),
    )


def fitting_templates(kind: VehicleKind) -> tuple[tuple[str, str], ...]:
    """Return names and words of the sheets made for a kind of vehicle."""
    return tuple((t.key, t.sheet.name) for t in torque_templates() if kind in t.kinds)


def start_sheet(bench: Bench, vehicle_id: int, template: str) -> Changes:
    """Start the torque sheet of a vehicle's model, or of the vehicle itself if its model is not known.

    Parameters
    ----------
    template
        Name of a shipped sheet; empty for one without fasteners.

    Raises
    ------
    WearlogError
        If the vehicle or the template is not there, or the vehicle has a sheet already.
    """
    state = fleet_state(bench)
    vehicle = _vehicle(state, vehicle_id)
    if torque_state(bench).sheet_of(vehicle) is not None:
        what = _("This vehicle has a torque sheet already.")
        raise WearlogError(Problem(what, vehicle.tag, _("Change its fasteners instead.")))
    start = next((t for t in torque_templates() if t.key == template), None)
    if start is None and template != EMPTY_SHEET:
        what = _("There is no torque sheet called {name} to start from.").format(name=template)
        raise WearlogError(Problem(what, vehicle.tag, _("Choose another one."), kind=ProblemKind.NOT_FOUND))
    sheet = start.sheet if start is not None else TorqueSheet(name=vehicle.model or vehicle.tag)
    what = _("Torque sheet of {tag} started").format(tag=vehicle.tag)
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        kept = records.add(
            replace(sheet, model=vehicle.model, vehicle_id=None if vehicle.model else vehicle.id)
        )
        for fastener in start.fasteners if start is not None else ():
            records.add(replace(fastener, torque_sheet_id=kept.id))
        change_id = records.change_id
    return Changes(what, change_id, _sharing(state, kept))


def keep_fastener(bench: Bench, fastener: Fastener) -> Changes:
    """Add a fastener to its sheet, or change one that is there.

    Raises
    ------
    WearlogError
        All that is wrong with it; or somebody else changed it meanwhile.
    """
    look_at_fastener(fastener)
    is_new = fastener.id == 0
    what = (_("{name} added to the torque sheet") if is_new else _("{name} changed")).format(
        name=fastener.name[:1].upper() + fastener.name[1:]
    )
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        sheet = records.get(TorqueSheet, fastener.torque_sheet_id)
        _look_for_same_name(records, fastener)
        if is_new:
            last = max((f.order for f in _of_sheet(records, sheet.id)), default=0)
            records.add(replace(fastener, order=last + 1))
        else:
            records.replace(fastener)
        change_id = records.change_id
    return Changes(what, change_id, _sharing(fleet_state(bench), sheet))


def take_off_fastener(bench: Bench, fastener: Fastener, reason: str) -> Changes:
    """Take a fastener off its sheet; what was recorded of it stays.

    Raises
    ------
    WearlogError
        If no reason is given, or it is not there.
    """
    what = _("{name} taken off the torque sheet").format(name=fastener.name[:1].upper() + fastener.name[1:])
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        sheet = records.get(TorqueSheet, fastener.torque_sheet_id)
        records.void(records.get(Fastener, fastener.id), reason)
        change_id = records.change_id
    return Changes(what, change_id, _sharing(fleet_state(bench), sheet))


def look_at_fastener(fastener: Fastener) -> None:
    """Refuse a fastener that can't be.

    Raises
    ------
    WearlogError
        All that is wrong with it.
    """
    findings = Findings()
    where = fastener.name or _("fastener")
    if not fastener.name.strip():
        findings.add(_("The fastener has no name."), where, _("Name what it holds, for example rear axle."))
    if not 0.0 < fastener.low_nm <= fastener.high_nm:
        findings.add(
            _("{low:g} to {high:g} N·m is no range.").format(low=fastener.low_nm, high=fastener.high_nm),
            where,
            _("Give a lowest torque above 0 N·m and a highest one that is not below it."),
        )
    elif fastener.high_nm > MOST_NM:
        findings.add(
            _("{high:g} N·m is more than any fastener of a light two-wheeler takes.").format(
                high=fastener.high_nm
            ),
            where,
            _("Check the digits and the unit."),
        )
    try:
        tightening_order(fastener.bolts)
    except WearlogError as error:
        findings.problems.extend(error.problems)
    if any(after is not None and after <= 0.0 for after in (fastener.recheck_km, fastener.recheck_h)):
        findings.add(
            _("A re-check can’t be due at once."),
            where,
            _("Give a distance above 0, or none for no re-check."),
        )
    findings.raise_if_any()


def _look_for_same_name(records: Records, fastener: Fastener) -> None:
    for other in _of_sheet(records, fastener.torque_sheet_id):
        if other.id != fastener.id and other.name.casefold() == fastener.name.casefold():
            what = _("The sheet has a fastener called {name} already.").format(name=fastener.name)
            raise WearlogError(Problem(what, fastener.name, _("Change that one, or use another name.")))


def _of_sheet(records: Records, sheet_id: int) -> Iterable[Fastener]:
    return records.all(Fastener, live=True, torque_sheet_id=sheet_id)


def _vehicle(state: FleetState, vehicle_id: int) -> Vehicle:
    vehicle = state.vehicles.get(vehicle_id)
    if vehicle is None:
        what = _("This vehicle is not in the fleet.")
        raise WearlogError(Problem(what, todo=_("Choose another one."), kind=ProblemKind.NOT_FOUND))
    return vehicle


def _sharing(state: FleetState, sheet: TorqueSheet) -> frozenset[int]:
    """Return the vehicles that a sheet is for."""
    if sheet.vehicle_id is not None:
        return frozenset({sheet.vehicle_id})
    return frozenset(v.id for v in state.vehicles.values() if v.model == sheet.model)
