"""Ordinal days of the forecast as dates."""

import math
from datetime import date


def day_of(ordinal: float) -> date | None:
    """Return the date of an ordinal day, or None if it is beyond reach.

    Examples
    --------
    >>> day_of(739944.3)
    datetime.date(2026, 11, 25)
    """
    if not math.isfinite(ordinal) or ordinal >= date.max.toordinal() or ordinal < 1:
        return None
    return date.fromordinal(math.ceil(ordinal - 1e-9))
