"""Cells of somebody's own sheet as the text that the import format would have: days, decimals, yes and no."""

import re
from collections.abc import Iterable
from datetime import date, timedelta
from gettext import gettext as _

from wearlog import resources
from wearlog.exchange import cells as format_cells
from wearlog.exchange.cells import BadCell, shortened
from wearlog.exchange.columns import Column
from wearlog.exchange.matching import DayOrder, text_of
from wearlog.exchange.spreadsheet import Cell, Unread

_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ].*)?")
_IN_FIGURES = re.compile(r"(\d{1,2})\s*[-/. ]\s*(\d{1,2})\s*[-/. ]\s*(\d{4}|\d{2})(?:\s.*)?")
_WITH_MONTH = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[-. ]*([a-z]{3,9})\.?[-, ]*(\d{4}|\d{2})")
_MONTH_BEFORE = re.compile(r"([a-z]{3,9})\.?\s*(\d{1,2})(?:st|nd|rd|th)?[-, ]+(\d{4}|\d{2})")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
#: Day 1 of spreadsheets is 1900-01-01, and they hold 1900 for a leap year (ECMA-376, part 1, 18.17.4.1).
_DAY_ZERO = date(1899, 12, 30)
#: Numbers that can be days: 1954 to 2119.
_DAYS = (20_000, 80_000)
_NUMBER = re.compile(r"\d[\d.,]*\d|\d")
_TWO_WAYS = re.compile(r"[1-9]\d{0,2}[.,]\d{3}")


# --- days


def order_of_days(cells: Iterable[Cell]) -> DayOrder:
    """Return how days are written, told by one that can only be read in one way; unknown if none is.

    Examples
    --------
    >>> order_of_days(["3/4/2026", "14/4/2026"])
    <DayOrder.DAY_FIRST: 'day first'>
    """
    first, second = 0, 0
    for cell in cells:
        match = _IN_FIGURES.fullmatch(cell.strip()) if isinstance(cell, str) else None
        if match and not _ISO.fullmatch(match[0]):
            first = max(first, int(match[1]))
            second = max(second, int(match[2]))
    if first > 12 >= second:
        return DayOrder.DAY_FIRST
    return DayOrder.MONTH_FIRST if second > 12 >= first else DayOrder.UNKNOWN


def day_text(cell: Cell, order: DayOrder) -> str:
    """Return a day as ISO 8601.

    Raises
    ------
    BadCell
        If it is no day, or can be read in two ways.

    Examples
    --------
    >>> day_text("14.3.26", DayOrder.UNKNOWN), day_text("3/4/2026", DayOrder.MONTH_FIRST), day_text(46095, "")
    ('2026-03-14', '2026-03-04', '2026-03-14')
    """
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, int | float) and not isinstance(cell, bool):
        if _DAYS[0] <= cell <= _DAYS[1]:
            return (_DAY_ZERO + timedelta(days=int(cell))).isoformat()
        raise _no_day(text_of(cell))
    text = text_of(cell)
    if match := _ISO.fullmatch(text):
        return _iso(text, int(match[1]), int(match[2]), int(match[3]))
    if match := _IN_FIGURES.fullmatch(text):
        first, second, year = int(match[1]), int(match[2]), _year(match[3])
        if order is DayOrder.UNKNOWN and first <= 12 and second <= 12 and first != second:
            raise BadCell(
                _("“{text}” can be read in two ways.").format(text=text),
                _("Say whether the day or the month comes first."),
            )
        month_first = order is DayOrder.MONTH_FIRST if order else second > 12
        return _iso(text, year, *((first, second) if month_first else (second, first)))
    plain = text.lower()
    if (match := _WITH_MONTH.fullmatch(plain)) and match[2][:3] in _MONTHS:
        return _iso(text, _year(match[3]), _MONTHS.index(match[2][:3]) + 1, int(match[1]))
    if (match := _MONTH_BEFORE.fullmatch(plain)) and match[1][:3] in _MONTHS:
        return _iso(text, _year(match[3]), _MONTHS.index(match[1][:3]) + 1, int(match[2]))
    raise _no_day(text)


def _year(text: str) -> int:
    return int(text) + (2000 if len(text) == 2 else 0)


def _iso(text: str, year: int, month: int, day: int) -> str:
    try:
        return date(year, month, day).isoformat()
    except ValueError:
        raise _no_day(text) from None


def _no_day(text: str) -> BadCell:
    return BadCell(
        _("“{text}” is not a day of the calendar.").format(text=shortened(text)),
        _("Write it for example as 2026-03-14, or choose another order of day and month."),
    )


# --- decimals


def decimal_mark(cells: Iterable[Cell]) -> str:
    """Return the decimal mark that texts of a sheet use; empty if nothing tells, or they do not agree.

    Examples
    --------
    >>> decimal_mark(["254,6", "12.362"]), decimal_mark(["12,362"]), decimal_mark([254.6, "LR-001"])
    (',', '', '.')
    """
    found: set[str] = set()
    is_open = False
    for cell in cells:
        if not isinstance(cell, str) or not cell[:1].strip() or cell[0] not in "0123456789-+":
            continue
        if _ISO.fullmatch(cell) or _IN_FIGURES.fullmatch(cell):
            continue
        for number in _NUMBER.findall(cell):
            marks = [letter for letter in number if letter in ".,"]
            if _TWO_WAYS.fullmatch(number):
                is_open = True
            elif len(marks) == 1 or len(set(marks)) == 2:
                found.add(marks[-1])
    if len(found) == 1:
        return found.pop()
    return "" if found or is_open else "."


def number_text(cell: Cell, decimal: str) -> str:
    """Return a text with figures in it as the format has them: a decimal point, no thousands marks.

    Raises
    ------
    BadCell
        If a number can be read in two ways.

    Examples
    --------
    >>> number_text("1.254,6 mm", ","), number_text("12,362", "."), number_text(254.60000000000002, "")
    ('1254.6 mm', '12362', '254.6')
    """
    if isinstance(cell, bool):
        raise BadCell(_("“{text}” is not a number.").format(text=cell), _("Check the cell."))
    if isinstance(cell, float):
        return _plain_number(cell)
    text = text_of(cell)

    def pointed(match: re.Match[str]) -> str:
        number = match[0]
        marks = {letter for letter in number if letter in ".,"}
        if not marks:
            return number
        if _TWO_WAYS.fullmatch(number) and not decimal:
            raise BadCell(
                _("“{text}” can be read as {small} or as {large}.").format(
                    text=shortened(text),
                    small=number.replace(",", "."),
                    large=number.replace(",", "").replace(".", ""),
                ),
                _("Say whether the sheet has a decimal comma or a decimal point."),
            )
        if not decimal:
            return number
        thousands = "." if decimal == "," else ","
        whole, mark, part = number.partition(decimal)
        groups = whole.split(thousands)
        is_grouped = len(groups[0]) <= 3 and all(len(group) == 3 for group in groups[1:])
        if (len(groups) > 1 and not is_grouped) or not re.fullmatch(r"\d*", part):
            # Another mark than the sheet has elsewhere: left for the reader of the cell to judge.
            return number
        return "".join(groups) + ("." + part if mark else "")

    return _NUMBER.sub(pointed, text)


def _plain_number(value: float) -> str:
    if value != value or value in {float("inf"), float("-inf")}:  # noqa: PLR0124 - only a NaN is not itself
        raise BadCell(_("This is not a number."), _("Check the cell."))
    text = f"{value:.12g}"
    return f"{value:.12f}".rstrip("0").rstrip(".") if "e" in text else text


# --- yes and no


def answer(cell: Cell) -> bool | None:
    """Return whether a cell says yes or no; None if it says something else, or nothing.

    Examples
    --------
    >>> answer("x"), answer("No"), answer("dry wax")
    (True, False, None)
    """
    if isinstance(cell, bool):
        return cell
    text = text_of(cell).lower()
    answers = resources.toml("import_words.toml")["answers"]
    if text in answers["yes"]:
        return True
    return False if text in answers["no"] else None


# --- a cell for a column of the format


def format_text(cell: Cell, column: Column, days: DayOrder, decimal: str) -> str:
    """Return a cell as the text that the format would have in a column; empty for an empty cell.

    Raises
    ------
    BadCell
        If its value is not in the file, or can be read in two ways.
    """
    if isinstance(cell, Unread):
        raise BadCell(cell.why, _("Open the file in a spreadsheet program and save it again, or mend it."))
    if cell is None:
        return ""
    if column.read is format_cells.day:
        return day_text(cell, days)
    if column.read in {format_cells.name, format_cells.words}:
        return text_of(cell)
    if column.read is format_cells.yes_no:
        said = answer(cell)
        return text_of(cell) if said is None else "yes" if said else "no"
    if isinstance(cell, date):
        return cell.isoformat()
    text = number_text(cell, decimal)
    if column.read is format_cells.number:
        text = re.sub(r"^[£€$\s]+|[£€$\s]+$", "", text)
    return text


def words_for(text: str) -> list[str]:
    """Return the format's words for one of the trade's."""
    values = resources.toml("import_words.toml")["values"]
    return [word for word, also in values.items() if text.lower() in also]
