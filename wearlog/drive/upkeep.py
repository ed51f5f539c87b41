"""What a conversion adds to the care of a stage and what it drops, from the interval rules."""

from collections.abc import Iterable
from dataclasses import dataclass
from gettext import gettext as _

from wearlog.fleet.parts import DriveKind
from wearlog.fleet.service import IntervalRule, Task
from wearlog.fleet.vehicle import VehicleKind


@dataclass(frozen=True, slots=True)
class UpkeepChange:
    """One task that a conversion adds or drops.

    Attributes
    ----------
    is_added
        Whether it is added; dropped if not.
    task
        What is to be done or no longer.
    text
        What and when, in words.
    source
        Where the interval comes from.
    rule
        The interval rule itself.
    """

    is_added: bool
    task: Task
    text: str
    source: str
    rule: IntervalRule


def upkeep_changes(
    before: DriveKind,
    after: DriveKind,
    rules: Iterable[IntervalRule],
    vehicle_kind: VehicleKind | None = None,
) -> tuple[UpkeepChange, ...]:
    """Return which recurring tasks come in and which fall away when a stage changes its kind.

    Parameters
    ----------
    before, after : DriveKind
        What carried the power, and what will.
    rules : iterable of IntervalRule
        The workshop's rules; those of other vehicles, those of one stage alone, and voided ones are left out.
    vehicle_kind : VehicleKind or None
        Kind of the vehicle; None takes rules of any kind.

    Returns
    -------
    tuple of UpkeepChange
        Added ones first; empty if chain stays chain or belt stays belt.

    Examples
    --------
    >>> from wearlog.drive.defaults import default_intervals
    >>> kind = VehicleKind.ELECTRIC_MOTORCYCLE
    >>> changes = upkeep_changes(DriveKind.BELT, DriveKind.CHAIN, default_intervals(), kind)
    >>> [change.text for change in changes if change.task is Task.LUBRICATED]
    ['lubricate the chain every 400 km or 13 h']
    """
    if before is after:
        return ()
    fitting = [
        rule
        for rule in rules
        if not rule.is_after_fitting and rule.drive is not None and _applies(rule, vehicle_kind)
    ]
    changes = [_change(rule, is_added=True) for rule in fitting if rule.drive is after]
    changes += [_change(rule, is_added=False) for rule in fitting if rule.drive is before]
    return tuple(changes)


def rechecks_after_fitting(
    after: DriveKind, rules: Iterable[IntervalRule], vehicle_kind: VehicleKind | None = None
) -> tuple[UpkeepChange, ...]:
    """Return what is due once after a chain or belt was fitted: slack or tension again, torque again.

    Parameters
    ----------
    after : DriveKind
        What is fitted.
    rules : iterable of IntervalRule
        The workshop's rules.
    vehicle_kind : VehicleKind or None
        Kind of the vehicle; None takes rules of any kind.

    Examples
    --------
    >>> from wearlog.drive.defaults import default_intervals
    >>> due = rechecks_after_fitting(DriveKind.BELT, default_intervals(), VehicleKind.ELECTRIC_MOTORCYCLE)
    >>> [(change.task.value, change.rule.first_km) for change in due]
    [('check torque', 75.0), ('set tension', 800.0)]
    """
    return tuple(
        _change(rule, is_added=True, drive=after)
        for rule in rules
        if rule.is_after_fitting and rule.drive in {None, after} and _applies(rule, vehicle_kind)
    )


def _applies(rule: IntervalRule, vehicle_kind: VehicleKind | None) -> bool:
    if rule.void_reason or rule.vehicle_id is not None or rule.stage_name:
        return False
    return vehicle_kind is None or rule.vehicle_kind in {None, vehicle_kind}


def _change(rule: IntervalRule, *, is_added: bool, drive: DriveKind | None = None) -> UpkeepChange:
    kind = rule.drive if rule.drive is not None else drive
    text = _("{task} {when}").format(task=_task(rule.task, kind), when=_when(rule))
    return UpkeepChange(is_added, rule.task, text, rule.source, rule)


def _task(task: Task, drive: DriveKind | None) -> str:
    """Return what is done, to what."""
    on_chain = {
        Task.CLEANED: _("clean the chain"),
        Task.LUBRICATED: _("lubricate the chain"),
        Task.TENSION_SET: _("set the slack of the chain"),
        Task.INSPECTED: _("inspect the chain and its sprockets"),
        Task.MEASURED: _("measure the chain"),
    }
    on_belt = {
        Task.CLEANED: _("clean the belt"),
        Task.LUBRICATED: _("treat the belt"),
        Task.TENSION_SET: _("set the tension of the belt"),
        Task.INSPECTED: _("inspect the belt and its pulleys"),
        Task.MEASURED: _("measure the belt"),
    }
    on_any = {
        Task.LINKS_REMOVED: _("take out links"),
        Task.PART_FITTED: _("fit the part"),
        Task.PART_REMOVED: _("take off the part"),
        Task.TORQUE_CHECKED: _("check the torque of the fasteners"),
    }
    by_kind = on_belt if drive is DriveKind.BELT else on_chain
    return by_kind.get(task) or on_any[task]


def _when(rule: IntervalRule) -> str:
    once = [(rule.first_km, _("{n:g} km")), (rule.first_h, _("{n:g} h")), (rule.first_days, _("{n:g} days"))]
    often = [(rule.every_km, _("{n:g} km")), (rule.every_h, _("{n:g} h")), (rule.every_days, _("{n:g} days"))]
    joined = _(" or ").join(
        text.format(n=n) for n, text in (once if rule.is_after_fitting else often) if n is not None
    )
    if rule.is_after_fitting:
        return _("once after {when}").format(when=joined)
    return _("every {when}").format(when=joined)
