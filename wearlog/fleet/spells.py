"""Spells of a vehicle's life: the duty it was on, and when it stood unused."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from wearlog.fleet.vehicle import Duty


@dataclass(frozen=True, slots=True, kw_only=True)
class DutySpell:
    """The duty a vehicle is on from a day until its next spell begins.

    `Vehicle.duty` is the duty now; spells say since when, and what it was before. Days before the first
    spell count as `Vehicle.duty`, so whoever notes the first change keeps two spells, the old duty from the
    day the vehicle came and the new one, and sets `Vehicle.duty` to the new one.
    """

    vehicle_id: int
    from_on: date
    duty: Duty
    note: str = ""
    void_reason: str = ""
    id: int = 0
    version: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class LayUp:
    """A time in which a vehicle stood unused.

    `until_on` is the day on which it is used again, so that `until_on - from_on` is how long it stood; None
    while nobody knows.
    """

    vehicle_id: int
    from_on: date
    until_on: date | None = None
    reason: str = ""
    void_reason: str = ""
    id: int = 0
    version: int = 0

    def has_day(self, day: date) -> bool:
        """Whether the vehicle stood on a day; a voided lay-up has none."""
        is_over = self.until_on is not None and day >= self.until_on
        return not self.void_reason and self.from_on <= day and not is_over


def duty_on(spells: Iterable[DutySpell], day: date, duty_now: Duty) -> Duty:
    """Return the duty of one vehicle on a day.

    Parameters
    ----------
    spells
        Of that vehicle, in any order; voided ones do not count, of two from one day the later kept one does.
    day
        The day.
    duty_now
        `Vehicle.duty`, for days before the first spell.

    Examples
    --------
    >>> road = DutySpell(vehicle_id=1, from_on=date(2025, 4, 1), duty=Duty.ROAD, id=1)
    >>> woods = DutySpell(vehicle_id=1, from_on=date(2026, 3, 1), duty=Duty.OFF_ROAD, id=2)
    >>> [str(duty_on([woods, road], date(year, 6, 1), Duty.MIXED)) for year in (2024, 2025, 2026)]
    ['mixed', 'road', 'off-road']
    """
    begun = [spell for spell in spells if not spell.void_reason and spell.from_on <= day]
    latest = max(begun, key=lambda spell: (spell.from_on, spell.id), default=None)
    return latest.duty if latest else duty_now


def days_standing(lay_ups: Iterable[LayUp], first: date, last: date) -> int:
    """Return on how many days from `first` to `last`, both counted, one vehicle stood.

    Examples
    --------
    >>> winter = LayUp(vehicle_id=1, from_on=date(2025, 11, 20), until_on=date(2026, 2, 1))
    >>> days_standing([winter], date(2025, 12, 1), date(2026, 3, 1))
    62
    """
    standing: set[int] = set()
    for one in lay_ups:
        if not one.void_reason:
            end = last.toordinal() + 1 if one.until_on is None else one.until_on.toordinal()
            begin = max(one.from_on.toordinal(), first.toordinal())
            standing.update(range(begin, min(end, last.toordinal() + 1)))
    return len(standing)
