"""Words for dates and counts, and the set-up of translations."""

import gettext
from datetime import date
from functools import cache
from gettext import gettext as _
from gettext import ngettext

from wearlog.resources import resource


def set_up_translations() -> None:
    """Point gettext at the shipped translations; British English is the source language."""
    gettext.bindtextdomain("wearlog", str(resource("translations")))
    gettext.textdomain("wearlog")
    # gettext looks on the disk for every single sentence, some 40 microseconds each; lists of thousands of
    # lines can't wait for that. What it found once is remembered.
    gettext.find = cache(gettext.find)  # type: ignore[assignment]


_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day_text(day: date | None, *, none: str = "–") -> str:
    """Return a date for people.

    Examples
    --------
    >>> day_text(date(2026, 11, 5))
    '5 Nov 2026'
    """
    return none if day is None else f"{day.day} {_(_MONTHS[day.month - 1])} {day.year}"


def month_text(day: date) -> str:
    """Return the short name of a day's month."""
    return _(_MONTHS[day.month - 1])


def days_text(days: int) -> str:
    """Return a number of days in words that a person would use.

    Examples
    --------
    >>> days_text(1), days_text(20), days_text(60)
    ('1 day', '3 weeks', '2 months')
    """
    if days < 14:
        return ngettext("{n} day", "{n} days", days).format(n=days)
    if days < 56:
        weeks = round(days / 7)
        return ngettext("{n} week", "{n} weeks", weeks).format(n=weeks)
    months = round(days / 30.4)
    return ngettext("{n} month", "{n} months", months).format(n=months)


def count_text(n: int, one: str, many: str) -> str:
    """Return a count with its noun.

    Examples
    --------
    >>> count_text(1, "vehicle", "vehicles"), count_text(3, "vehicle", "vehicles")
    ('1 vehicle', '3 vehicles')
    """
    return f"{n} {ngettext(one, many, n)}"
