"""Spreadsheet files: values of XLSX, ODS and XLS by calamine, once the file is known to fit."""

import datetime as dt
import re
from collections.abc import Iterable
from gettext import gettext as _
from io import BytesIO
from typing import Any

from python_calamine import (
    CalamineError,
    CalamineSheet,
    CalamineWorkbook,
    PasswordError,
    SheetTypeEnum,
    SheetVisibleEnum,
)

from wearlog.exchange.archive_checks import Gaps, look_through
from wearlog.exchange.spreadsheet import (
    ARCHIVE,
    LARGEST_CELL,
    MOST_CELLS,
    Cell,
    Sheet,
    SheetRow,
    Unread,
    check_size,
    column_letters,
    kept_rows,
    refusal,
    too_large,
)
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.progress import Progress

#: The record of an XLS sheet that tells its size, for which a reader makes room ([MS-XLS], Dimensions).
_SIZE_RECORD = re.compile(rb"\x00\x02\x0e\x00(.{4})(.{4})(.{2})(.{2})", re.DOTALL)
#: Rows and columns that an XLS sheet can have ([MS-XLS] 2.2.4).
_XLS_ROWS, _XLS_COLUMNS = 65_536, 256
_STEP = 1000


def read_sheets(data: bytes, name: str, progress: Progress) -> tuple[Sheet, ...]:
    """Return the sheets that can be seen and have anything on them.

    Raises
    ------
    WearlogError
        If the file is damaged, protected or beyond the limits.
    """
    gaps: dict[str, Gaps] = {}
    if data.startswith(ARCHIVE):
        gaps = look_through(data, name, progress)
    else:
        _check_old(data, name)
    try:
        return _sheets(data, name, gaps, progress)
    except PasswordError:
        raise refusal(_("The file is protected by a password."), name, _("Save it without one.")) from None
    except (CalamineError, ValueError, OverflowError, OSError) as error:
        raise _damaged(name, str(error)) from None
    except BaseException as error:
        # What the reader, which is not written in Python, did not expect comes as a kind of its own.
        if type(error).__name__ != "PanicException":
            raise
        raise _damaged(name, "") from None


def _damaged(name: str, reason: str) -> WearlogError:
    what = _("The file is damaged ({reason}).").format(reason=reason) if reason else _("The file is damaged.")
    todo = _("Open it in a spreadsheet program and save it again, or take an older copy.")
    return refusal(what, name, todo)


def _check_old(data: bytes, name: str) -> None:
    for match in _SIZE_RECORD.finditer(data):
        first, last, left, right = (int.from_bytes(part, "little") for part in match.groups())
        is_possible = first <= last <= _XLS_ROWS and left <= right <= _XLS_COLUMNS
        if not is_possible or (last - first) * (right - left) > 4 * MOST_CELLS:
            raise _damaged(name, _("a sheet of {rows} rows").format(rows=last))


def _sheets(data: bytes, name: str, gaps: dict[str, Gaps], progress: Progress) -> tuple[Sheet, ...]:
    found: list[Sheet] = []
    cells = 0
    with CalamineWorkbook.from_filelike(BytesIO(data)) as book:
        for count, known in enumerate(book.sheets_metadata):
            if known.typ != SheetTypeEnum.WorkSheet or known.visible != SheetVisibleEnum.Visible:
                continue
            progress.step(count, len(book.sheets_metadata), _("Reading {file}").format(file=name))
            sheet = book.get_sheet_by_name(known.name)
            cells += sheet.total_height * sheet.total_width
            if cells > 4 * MOST_CELLS:
                raise too_large(_("The sheets have too many cells."), name)
            rows = _rows(sheet, name, gaps.get(known.name, {}), progress)
            if rows:
                found.append(Sheet(known.name, rows))
    return tuple(found)


def _rows(sheet: CalamineSheet, name: str, gaps: Gaps, progress: Progress) -> tuple[SheetRow, ...]:
    where = f"{name} {sheet.name}"
    found: list[list[Cell]] = []
    cells = 0
    for number, given in enumerate(sheet.to_python(skip_empty_area=False), start=1):
        if number % _STEP == 0:
            progress.step(number, max(sheet.total_height, number), _("Reading {file}").format(file=name))
        row = [_cell(value, where, number, place) for place, value in enumerate(given)]
        while row and row[-1] is None:
            row.pop()
        cells += len(row)
        check_size(number if row else 0, len(row), cells, where)
        found.append(row)
    for (row_place, place), why in gaps.items():
        if row_place < len(found):
            _put(found[row_place], place, Unread(why))
    _fill_down(found, sheet.merged_cell_ranges or ())
    return kept_rows([SheetRow(number, tuple(row)) for number, row in enumerate(found, start=1)])


def _put(row: list[Cell], place: int, value: Cell) -> None:
    row.extend([None] * (place + 1 - len(row)))
    row[place] = value


def _fill_down(rows: list[list[Cell]], merged: Iterable[tuple[tuple[int, int], tuple[int, int]]]) -> None:
    """Let a cell that reaches over several rows stand in each of them."""
    for (top, left), (bottom, _right) in merged:
        value = rows[top][left] if top < len(rows) and left < len(rows[top]) else None
        if value is None:
            continue
        for row in rows[top + 1 : bottom + 1]:
            if left >= len(row) or row[left] is None:
                _put(row, left, value)


def _cell(value: Any, where: str, row: int, place: int) -> Cell:
    if isinstance(value, str):
        if len(value) > LARGEST_CELL:
            cell = f"{column_letters(place)}{row}"
            raise refusal(
                _("A cell is longer than {n} letters.").format(n=LARGEST_CELL),
                f"{where} {cell}",
                _("Shorten it, or empty it."),
            )
        return value.replace("\x00", "").strip() or None
    if isinstance(value, dt.datetime):
        return value.date()
    if isinstance(value, bool | int | float | dt.date):
        return value
    if isinstance(value, dt.time | dt.timedelta):
        return str(value)
    return None
