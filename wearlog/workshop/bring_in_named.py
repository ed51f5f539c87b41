"""Rows of an import that have a name: vehicles, stages, part types, instruments; and rules and limits."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields, replace
from gettext import gettext as _
from typing import Any, TypeVar

from wearlog.drive.defaults import default_intervals, default_limits
from wearlog.fleet.limit import Limit
from wearlog.fleet.parts import PartType
from wearlog.fleet.reading import Instrument
from wearlog.fleet.service import IntervalRule
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.store.records import Records
from wearlog.workshop.bring_in_context import Import
from wearlog.workshop.import_rows import (
    InstrumentRow,
    IntervalRuleRow,
    LimitRow,
    PartTypeRow,
    StageRow,
    VehicleRow,
)
from wearlog.workshop.row_keys import normalised

N = TypeVar("N", Vehicle, Stage, PartType, Instrument)
Row = VehicleRow | StageRow | PartTypeRow | InstrumentRow

#: Fields whose column has another name.
_COLUMNS = {
    "u_instrument": "standard uncertainty",
    "span_mm": "belt span",
    "rated_input_rpm": "rated speed",
    "lead_time_days": "lead time",
    "mass_kg_per_m": "mass per length",
}


def _column(field: str) -> str:
    return _COLUMNS.get(field, field.removesuffix("_mm").removesuffix("_kw").replace("_", " "))


def _values(row: Any, *without: str) -> dict[str, Any]:
    return {f.name: getattr(row, f.name) for f in fields(row) if f.name not in {"where", *without}}


def _bring_named(
    work: Import,
    kind: type[N],
    what: str,
    rows: Sequence[tuple[Row, N, object]],
    kept: Mapping[Any, N],
) -> list[N]:
    """Add what is new; what is kept under the same name must say the same."""
    new: dict[object, tuple[Row, N]] = {}
    for row, record, name in rows:
        before = kept.get(name)
        if before is not None:
            differing = [
                f.name
                for f in fields(kind)
                if f.name not in {"id", "version", "retired_on"}
                and normalised(getattr(before, f.name)) != normalised(getattr(record, f.name))
            ]
            if differing:
                work.findings.add(
                    _("It is kept already with another {columns}.").format(
                        columns=", ".join(map(_column, differing))
                    ),
                    str(row.where),
                    _("Nothing kept is overwritten: change it in wearlog, or take the row out."),
                )
            else:
                work.count(what, already=1)
        elif name in new:
            work.findings.add(
                _("The name stands there twice (first in {where}).").format(where=new[name][0].where),
                str(row.where),
                _("Give every one a name of its own."),
            )
        else:
            new[name] = (row, record)
    work.count(what, added=len(new))
    return work.records.add_all([record for _row, record in new.values()])


def bring_vehicles(work: Import, rows: Sequence[VehicleRow]) -> None:
    """Add the vehicles."""
    for row in rows:
        if row.retired_on and row.in_service_since and row.retired_on < row.in_service_since:
            work.findings.add(
                _("It was retired before it came into service."),
                row.where.cell("retired on"),
                _("Check both dates."),
            )
    made = [(row, Vehicle(**_values(row)), row.tag) for row in rows]
    for vehicle in _bring_named(work, Vehicle, "vehicles", made, work.vehicles):
        work.vehicles[vehicle.tag] = vehicle


def bring_stages(work: Import, rows: Sequence[StageRow]) -> None:
    """Add the drive stages."""
    made: list[tuple[Row, Stage, object]] = []
    orders = {(s.vehicle_id, s.order): s.name for s in work.stages.values()}
    for row in rows:
        vehicle = work.vehicle(row.vehicle, row.where)
        if vehicle is None:
            continue
        stage = Stage(vehicle_id=vehicle.id, name=row.stage, **_values(row, "vehicle", "stage"))
        other = orders.setdefault((vehicle.id, row.order), row.stage)
        if other != row.stage:
            work.findings.add(
                _("{vehicle} has another stage with the order {n}: {other}.").format(
                    vehicle=row.vehicle, n=row.order, other=other
                ),
                row.where.cell("order"),
                _("Number the stages from the motor: 1, 2."),
            )
        made.append((row, stage, (vehicle.id, row.stage)))
    for stage in _bring_named(work, Stage, "stages", made, work.stages):
        work.stages[stage.vehicle_id, stage.name] = stage


def bring_part_types(work: Import, rows: Sequence[PartTypeRow]) -> None:
    """Add the part types."""
    made = [(row, PartType(**_values(row)), row.name) for row in rows]
    for part_type in _bring_named(work, PartType, "part_types", made, work.part_types):
        work.part_types[part_type.name] = part_type


def bring_instruments(work: Import, rows: Sequence[InstrumentRow]) -> None:
    """Add the instruments."""
    made = [(row, Instrument(**_values(row)), row.name) for row in rows]
    for instrument in _bring_named(work, Instrument, "instruments", made, work.instruments):
        work.instruments[instrument.name] = instrument


def _plain(record: Any) -> Any:
    return replace(record, id=0, version=0)


def _void_default(records: Records, default: Limit | IntervalRule, where: str) -> None:
    records.void(default, _("replaced by {where}").format(where=where))


def bring_limits(work: Import, rows: Sequence[LimitRow]) -> None:
    """Add the limits; a default of the same scope gives way."""
    defaults = {_plain(limit) for limit in default_limits()}
    scope: Callable[[Limit], tuple[object, ...]] = lambda limit: (  # noqa: E731 - named for its type
        limit.measurand,
        limit.wear_class,
        limit.designation,
        limit.model,
        limit.vehicle_id,
        limit.stage_name,
    )
    kept = {scope(limit): limit for limit in work.records.all(Limit, live=True)}
    new: dict[object, Limit] = {}
    for row in rows:
        vehicle = work.vehicle(row.vehicle, row.where) if row.vehicle else None
        if row.vehicle and vehicle is None:
            continue
        limit = Limit(
            vehicle_id=vehicle.id if vehicle else None,
            stage_name=row.stage,
            **_values(row, "vehicle", "stage"),
        )
        if limit.service_limit == limit.as_new:
            work.findings.add(
                _("The service limit is the value as new."),
                row.where.cell("service limit"),
                _("Leave an allowance between them."),
            )
        before = kept.get(scope(limit))
        if before is not None and _plain(before) == limit:
            work.count("limits", already=1)
            continue
        if scope(limit) in new or (before is not None and _plain(before) not in defaults):
            work.findings.add(
                _("There is another limit for the same measurand and parts."),
                str(row.where),
                _("Keep one of them, or void the other one first."),
            )
            continue
        if before is not None:
            _void_default(work.records, before, str(row.where))
        new[scope(limit)] = limit
    work.count("limits", added=len(work.records.add_all(list(new.values()))))


def bring_rules(work: Import, rows: Sequence[IntervalRuleRow]) -> None:
    """Add the interval rules; the defaults for the same task and scope give way."""
    defaults = {_plain(rule) for rule in default_intervals()}
    kept = [rule for rule in work.records.all(IntervalRule, live=True) if _plain(rule) in defaults]
    new: list[IntervalRule] = []
    for row in rows:
        vehicle = work.vehicle(row.vehicle, row.where) if row.vehicle else None
        if row.vehicle and vehicle is None:
            continue
        rule = IntervalRule(
            vehicle_id=vehicle.id if vehicle else None,
            stage_name=row.stage,
            **_values(row, "vehicle", "stage"),
        )
        first = (rule.first_km, rule.first_h, rule.first_days)
        every = (rule.every_km, rule.every_h, rule.every_days)
        if not any(first if rule.is_after_fitting else (*first, *every)):
            work.findings.add(
                _("The rule does not say when it is due."),
                str(row.where),
                _("Fill in first after fitting.") if rule.is_after_fitting else _("Fill in every or first."),
            )
        same = [
            default
            for default in kept
            if (default.task, default.is_after_fitting, default.vehicle_kind, default.vehicle_id)
            == (rule.task, rule.is_after_fitting, rule.vehicle_kind, rule.vehicle_id)
            and (default.stage_name, default.drive) == (rule.stage_name, rule.drive)
        ]
        for default in same:
            kept.remove(default)
            _void_default(work.records, default, str(row.where))
        new.append(rule)
    work.count("interval_rules", added=len(work.records.add_all(new)))
