"""Limits and intervals that a workshop starts with, each with the source it comes from."""

from functools import cache
from typing import Any

from wearlog import resources
from wearlog.drive.catalogue import catalogue
from wearlog.fleet.limit import Limit
from wearlog.fleet.parts import DriveKind, WearClass
from wearlog.fleet.quantity import Quantity
from wearlog.fleet.reading import Measurand
from wearlog.fleet.service import IntervalRule, Task
from wearlog.fleet.vehicle import VehicleKind

__all__ = ["catalogue", "default_intervals", "default_limits"]

#: Elongations stand in percent in the file, as people quote them; everything else in canonical units.
_SIZE = {Quantity.ELONGATION: 0.01}


@cache
def default_limits() -> tuple[Limit, ...]:
    """Return the limits to start with; none of them replaces the vehicle maker's.

    The designation of a sprocket's limit is that of its chain.

    Examples
    --------
    >>> first = default_limits()[0]
    >>> first.wear_class.value, first.service_limit
    ('sealed motorcycle chain', 0.01)
    """
    rows = resources.toml("limits", "limits.toml")["limit"]
    return tuple(_limit(row, wear_class) for row in rows for wear_class in row["wear_classes"])


def _limit(row: dict[str, Any], wear_class: str) -> Limit:
    measurand = Measurand(row["measurand"])
    size = _SIZE.get(measurand.quantity, 1.0)
    stop = row.get("stop_use_limit")
    return Limit(
        measurand=measurand,
        wear_class=WearClass(wear_class),
        service_limit=round(row["service_limit"] * size, 9),
        as_new=round(row.get("as_new", 0.0) * size, 9),
        plan_share=row.get("plan_share", 0.75),
        stop_use_limit=None if stop is None else round(stop * size, 9),
        designation=row.get("designation", ""),
        source=row["source"],
        note=row.get("note", ""),
    )


@cache
def default_intervals() -> tuple[IntervalRule, ...]:
    """Return the interval rules to start with, one for each kind of vehicle that a row names.

    Examples
    --------
    >>> any(rule.is_after_fitting and rule.task is Task.TORQUE_CHECKED for rule in default_intervals())
    True
    """
    rows = resources.toml("limits", "intervals.toml")["interval"]
    return tuple(_rule(row, kind) for row in rows for kind in row.get("vehicle_kinds", [None]))


def _rule(row: dict[str, Any], kind: str | None) -> IntervalRule:
    drive = row.get("drive")
    return IntervalRule(
        task=Task(row["task"]),
        every_km=row.get("every_km"),
        every_h=row.get("every_h"),
        every_days=row.get("every_days"),
        first_km=row.get("first_km"),
        first_h=row.get("first_h"),
        first_days=row.get("first_days"),
        is_after_fitting=row.get("is_after_fitting", False),
        vehicle_kind=VehicleKind(kind) if kind is not None else None,
        drive=DriveKind(drive) if drive is not None else None,
        note=row.get("note", ""),
        source=row["source"],
    )
