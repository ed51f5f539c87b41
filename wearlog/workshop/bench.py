"""A bench: an open store, a person and a clock; what every job is handed."""

import threading  # noqa: TID251 - a lock; no thread is started here
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from typing import Protocol

from wearlog.drive.defaults import default_intervals, default_limits
from wearlog.fleet.limit import Limit
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.fleet.service import IntervalRule
from wearlog.planning.states import Policy
from wearlog.store.database import Database
from wearlog.store.records import Records


class Clock(Protocol):
    """Tells the time."""

    def now(self) -> datetime:
        """Return the present instant, with its time zone."""


class SystemClock:
    """The machine's clock."""

    def now(self) -> datetime:
        """Return the present instant in UTC."""
        return datetime.now(UTC)


@dataclass(frozen=True, slots=True)
class FixedClock:
    """A clock that stands still, for the sample fleet and for tests."""

    day: date

    def now(self) -> datetime:
        """Return noon of the day."""
        return datetime.combine(self.day, time(12), tzinfo=UTC)


@dataclass(slots=True)
class Bench:
    """An open store, a person, a clock.

    Attributes
    ----------
    database
        Only the workshop touches it.
    by
        Who works here; stands in the audit trail.
    clock
        Tells today.
    remembered
        What was worked out for the present data version, by name; replaced whole, never changed in place.
    learning
        Held while the fleet is learnt, so that two pages opened at once do not do it twice.
    """

    database: Database
    by: str = ""
    clock: Clock = field(default_factory=SystemClock)
    remembered: dict[str, tuple[object, object]] = field(default_factory=dict)
    learning: AbstractContextManager[object] = field(default_factory=threading.RLock)

    def now(self) -> datetime:
        """Return the present instant."""
        return self.clock.now()

    def today(self) -> date:
        """Return today where the workshop is."""
        return self.clock.now().astimezone().date()

    def data_version(self) -> int:
        """Return a number that grows with every change, at this seat or another."""
        return self.database.data_version()


#: Settings of the workshop that the store keeps, by the field of the policy they fill.
POLICY_SETTINGS = {
    "caution_level": "caution level",
    "window_days": "visit window days",
    "plan_ahead_days": "plan ahead days",
    "horizon_days": "horizon days",
}


def set_up(bench: Bench) -> None:
    """Give a new database the default limits and intervals, each with its source; once."""
    with bench.database.reading() as records:
        if records.setting("defaults") is not None:
            return
    with bench.database.writing(by=bench.by, at=bench.now(), what="Default limits and intervals") as records:
        if records.first(Limit) is None:
            records.add_all(default_limits())
        if records.first(IntervalRule) is None:
            records.add_all(default_intervals())
        records.set_setting("defaults", "1")


def policy_of(records: Records) -> Policy:
    """Return what the workshop agreed on."""
    plain = Policy()
    level = records.setting(POLICY_SETTINGS["caution_level"])
    days = {
        name: int(text)
        for name in ("window_days", "plan_ahead_days", "horizon_days")
        if (text := records.setting(POLICY_SETTINGS[name])) is not None
    }
    return Policy(
        caution_level=plain.caution_level if level is None else float(level),
        window_days=days.get("window_days", plain.window_days),
        plan_ahead_days=days.get("plan_ahead_days", plain.plan_ahead_days),
        horizon_days=days.get("horizon_days", plain.horizon_days),
    )


def set_caution_level(bench: Bench, caution_level: float) -> None:
    """Agree on another chance of being past the limit at which parts are replaced.

    Raises
    ------
    WearlogError
        If it is not between 0.1 % and 50 %.
    """
    if not 0.001 <= caution_level <= 0.5:
        raise WearlogError(
            Problem(
                f"A caution level of {caution_level:.1%} is out of range.",
                "caution level",
                "Give a chance between 0.1 % and 50 %.",
            )
        )
    with bench.database.writing(by=bench.by, at=bench.now(), what="Caution level") as records:
        records.set_setting(POLICY_SETTINGS["caution_level"], repr(caution_level))
