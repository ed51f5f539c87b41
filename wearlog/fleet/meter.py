"""Meter entries turned into a continuous total use, over replaced and rolled-over meters."""

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from gettext import gettext as _

from wearlog.fleet.problem import Offer, Problem, WearlogError

#: No light two-wheeler covers more than this in a day. Assumption of this program.
MOST_KM_A_DAY = 1500.0
#: A day has this many running hours at most.
MOST_H_A_DAY = 24.0


class MeterEvent(StrEnum):
    """What a meter entry records."""

    READ = "read"
    REPLACED = "replaced"
    ROLLED_OVER = "rolled over"


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterEntry:
    """What a meter showed on a day; km, or h on hour meters.

    For a replaced (or rolled-over) meter `value` is what the new meter showed at the start and `old_value`
    the last value of the old one; None if nobody knows it, then the use since the entry before is lost.
    """

    vehicle_id: int
    on: date
    value: float
    typed: str = ""
    event: MeterEvent = MeterEvent.READ
    old_value: float | None = None
    visit_id: int | None = None
    by: str = ""
    note: str = ""
    void_reason: str = ""
    id: int = 0
    version: int = 0


@dataclass(frozen=True, slots=True)
class UsePoint:
    """Total use of a vehicle at the end of a day.

    Attributes
    ----------
    on
        The day.
    total_use
        km, or h on hour meters; continuous over replaced meters.
    is_after_gap
        Whether the use since the point before is unknown (a replaced meter whose last value was lost).
    """

    on: date
    total_use: float
    is_after_gap: bool = False


@dataclass(frozen=True, slots=True)
class UseHistory:
    """A vehicle's total use over time.

    Attributes
    ----------
    points
        In order of date.
    offsets
        From which day on, what must be added to the meter value to get the total use.
    """

    points: tuple[UsePoint, ...]
    offsets: tuple[tuple[date, float], ...] = ()

    @property
    def offset(self) -> float:
        """What must be added to the value of the meter fitted now."""
        return self.offsets[-1][1] if self.offsets else 0.0

    @property
    def last(self) -> UsePoint | None:
        """The latest point, or None without entries."""
        return self.points[-1] if self.points else None

    def total_for(self, meter_value: float, on: date | None = None) -> float:
        """Return the total use for a meter value; of the meter fitted on a day, else of the one fitted now.

        On the day of a replacement the new meter counts.
        """
        offset = self.offset if on is None else 0.0
        if on is not None:
            for since, added in self.offsets:
                if since <= on:
                    offset = added
        return meter_value + offset

    def use_on(self, day: date) -> float | None:
        """Return the total use on a day, interpolated between entries; None before the first one.

        After the last entry the last total is returned: what came since is for the forecast to say.
        """
        days = [point.on for point in self.points]
        after = bisect_right(days, day)
        if after == 0:
            return None
        before = self.points[after - 1]
        if after == len(self.points) or before.on == day:
            return before.total_use
        ahead = self.points[after]
        share = (day - before.on).days / (ahead.on - before.on).days
        return before.total_use + share * (ahead.total_use - before.total_use)


def use_history(entries: Iterable[MeterEntry]) -> UseHistory:
    """Return the continuous total use that follows from meter entries.

    Parameters
    ----------
    entries
        Of one vehicle, in any order; voided ones are left out.

    Examples
    --------
    >>> a = MeterEntry(vehicle_id=1, on=date(2026, 1, 1), value=900.0)
    >>> change = MeterEvent.REPLACED
    >>> b = MeterEntry(vehicle_id=1, on=date(2026, 2, 1), value=0.0, event=change, old_value=1000.0)
    >>> c = MeterEntry(vehicle_id=1, on=date(2026, 3, 1), value=50.0)
    >>> [point.total_use for point in use_history([a, b, c]).points]
    [900.0, 1000.0, 1050.0]
    """
    points: list[UsePoint] = []
    offsets: list[tuple[date, float]] = []
    offset = 0.0
    for entry in sorted((e for e in entries if not e.void_reason), key=lambda e: (e.on, e.id)):
        is_gap = False
        if entry.event is not MeterEvent.READ:
            last = points[-1].total_use if points else 0.0
            is_gap = entry.old_value is None and bool(points)
            reached = last if entry.old_value is None else entry.old_value + offset
            offset = reached - entry.value
            offsets.append((entry.on, offset))
        points.append(UsePoint(entry.on, entry.value + offset, is_gap))
    return UseHistory(tuple(points), tuple(offsets))


def check_meter_value(
    tag: str, history: UseHistory, meter_value: float, on: date, unit: str, shown: str = ""
) -> None:
    """Refuse a meter value that runs backwards or implies an impossible speed.

    Parameters
    ----------
    tag
        The vehicle, for the sentence.
    history
        Its use so far.
    meter_value
        What the meter shows, km (h on hour meters).
    on
        The day it was read.
    unit
        ``"km"`` or ``"h"``.
    shown
        The value as it should appear in the sentence; made from `meter_value` if empty.

    Raises
    ------
    WearlogError
        With offers: the meter was replaced, the value was mistyped, it is another vehicle.
    """
    total = history.total_for(meter_value, on)
    shown = shown or f"{meter_value:g} {unit}"
    offers = (
        Offer(_("Meter replaced"), "meter replaced", meter_value),
        Offer(_("Typing slip"), "typing slip"),
        Offer(_("Other vehicle"), "other vehicle"),
    )
    before = [point for point in history.points if point.on <= on]
    after = [point for point in history.points if point.on > on]
    if before and total < before[-1].total_use - 1e-9:
        last = before[-1]
        raise WearlogError(
            Problem(
                _("{value} is below the last entry ({last:.0f} {unit} on {day}).").format(
                    value=shown, last=last.total_use - history.offset, unit=unit, day=last.on.isoformat()
                ),
                tag,
                _("Was the meter replaced, is it a typing slip, or is it another vehicle?"),
                offers,
            )
        )
    if after and total > after[0].total_use + 1e-9:
        raise WearlogError(
            Problem(
                _("{value} is above a later entry ({later:.0f} {unit} on {day}).").format(
                    value=shown,
                    later=after[0].total_use - history.offset,
                    unit=unit,
                    day=after[0].on.isoformat(),
                ),
                tag,
                _("Check the date and the value."),
                offers[1:],
            )
        )
    if before:
        days = max((on - before[-1].on).days, 1)
        a_day = (total - before[-1].total_use) / days
        most = MOST_H_A_DAY if unit == "h" else MOST_KM_A_DAY
        if a_day > most:
            raise WearlogError(
                Problem(
                    _("{value} would mean {rate:.0f} {unit} a day since {day}.").format(
                        value=shown, rate=a_day, unit=unit, day=before[-1].on.isoformat()
                    ),
                    tag,
                    _("Check the digits, or say that it is another vehicle."),
                    offers,
                )
            )
