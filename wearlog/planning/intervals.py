"""When a task comes round: by distance, hours or days, whichever comes first."""

from collections.abc import Iterable
from dataclasses import dataclass

from wearlog.fleet.service import IntervalRule


@dataclass(frozen=True, slots=True)
class Moment:
    """A day and the vehicle's total use on it.

    Attributes
    ----------
    use
        Total use, [km or h].
    day
        Ordinal day, [d].
    """

    use: float
    day: int


@dataclass(frozen=True, slots=True)
class NextTime:
    """When a task is due next; None where the rule does not say.

    Attributes
    ----------
    use
        Total use at which it is due, [km or h].
    day
        Ordinal day on which it is due, [d].
    every_use
        Interval that led to `use`, [km or h].
    every_days
        Interval that led to `day`, [d].
    """

    use: float | None
    day: int | None
    every_use: float | None
    every_days: int | None


def next_time(rule: IntervalRule, fitted: Moment, last_done: Moment | None, use_unit: str) -> NextTime | None:
    """Return when a rule asks for its task next, or None if it asks no more.

    Parameters
    ----------
    rule : IntervalRule
        The rule; distances in km, running time in h, time in days.
    fitted : Moment
        When the chain or belt of the stage was fitted, [km or h, d].
    last_done : Moment or None
        When the task was last done since then, [km or h, d].
    use_unit : str
        ``"km"`` or ``"h"``: which of the rule's distances count on this vehicle.

    Examples
    --------
    >>> from wearlog.fleet.service import Task
    >>> rule = IntervalRule(task=Task.LUBRICATED, every_km=500.0, every_days=60)
    >>> next_time(rule, Moment(1000.0, 100), Moment(1400.0, 130), "km")
    NextTime(use=1900.0, day=190, every_use=500.0, every_days=60)
    """
    every = rule.every_h if use_unit == "h" else rule.every_km
    first = rule.first_h if use_unit == "h" else rule.first_km
    if rule.is_after_fitting:
        if last_done is not None:
            return None
        use, days = first, rule.first_days
        start = fitted
    elif last_done is None:
        use = every if first is None else first
        days = rule.every_days if rule.first_days is None else rule.first_days
        start = fitted
    else:
        use, days, start = every, rule.every_days, last_done
    if use is None and days is None:
        return None
    return NextTime(
        use=None if use is None else start.use + use,
        day=None if days is None else start.day + days,
        every_use=use,
        every_days=days,
    )


def narrowest(rules: Iterable[IntervalRule]) -> tuple[IntervalRule, ...]:
    """Return the rules that count: of each task the narrowest scope, newest of equals.

    Parameters
    ----------
    rules : iterable of IntervalRule
        Rules that fit one stage of one vehicle.
    """
    best: dict[tuple[str, bool], tuple[tuple[int, int], IntervalRule]] = {}
    for rule in rules:
        scope = (
            (8 if rule.vehicle_id is not None else 0)
            + (4 if rule.vehicle_kind is not None else 0)
            + (2 if rule.stage_name else 0)
            + (1 if rule.drive is not None else 0)
        )
        key = (rule.task.value, rule.is_after_fitting)
        rank = (scope, rule.id)
        if key not in best or rank > best[key][0]:
            best[key] = (rank, rule)
    return tuple(rule for _, rule in best.values())
