"""Due items grouped into visits: what falls close together comes in together."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Placed:
    """Which visit an item belongs to.

    Attributes
    ----------
    visit
        Number of the visit, from 1, in order of date, [-].
    day
        Ordinal day of the visit: its earliest item, but not before today, [d].
    """

    visit: int
    day: int


def group_into_visits(
    vehicles: Sequence[int], due_days: Sequence[int], window_days: int, today: int
) -> list[Placed]:
    """Return the visit of each item.

    Items of one vehicle that fall within the window of its earliest open item come in together; the next
    item after the window opens the next visit. What is overdue counts as due today.

    Parameters
    ----------
    vehicles : sequence of int, shape (n,)
        Vehicle of each item, [-].
    due_days : sequence of int, shape (n,)
        Ordinal day on which each item is due, [d].
    window_days : int
        Length of the window, [d].
    today : int
        Ordinal day, [d].

    Returns
    -------
    list of Placed, length n
        In the order of the items; visits are numbered by date, then by vehicle.

    Examples
    --------
    >>> [p.visit for p in group_into_visits([7, 7, 8, 7], [100, 110, 105, 130], 14, today=90)]
    [1, 1, 2, 3]
    """
    order = sorted(range(len(vehicles)), key=lambda i: (vehicles[i], max(due_days[i], today)))
    start: dict[int, tuple[int, int]] = {}
    vehicle, opened = None, 0
    for i in order:
        day = max(due_days[i], today)
        if vehicles[i] != vehicle or day > opened + window_days:
            vehicle, opened = vehicles[i], day
        start[i] = (opened, vehicles[i])
    numbers = {key: number for number, key in enumerate(sorted(set(start.values())), start=1)}
    return [Placed(numbers[start[i]], start[i][0]) for i in range(len(vehicles))]
