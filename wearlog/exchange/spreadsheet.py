"""A spreadsheet as its writer left it: sheets, rows by the numbers that people see, cells by kind."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from gettext import gettext as _
from pathlib import Path
from typing import TypeAlias

from wearlog.fleet.problem import Doubt, Problem, ProblemKind, WearlogError
from wearlog.fleet.progress import Progress, Silent

#: More than this is not a sheet that a person filled in.
MOST_ROWS = 200_000
MOST_COLUMNS = 500
MOST_CELLS = 3_000_000
LARGEST_CELL = 131_072
LARGEST_FILE_BYTES = 100_000_000
#: How archives begin, which spreadsheet programs write, and the old binary spreadsheets.
ARCHIVE, OLD_BINARY = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
#: Endings under which spreadsheets are offered for choice.
SUFFIXES = (".csv", ".tsv", ".txt", ".xlsx", ".xlsm", ".ods", ".xls")


@dataclass(frozen=True, slots=True)
class Unread:
    """A cell that shows something in a spreadsheet program, but whose value is not in the file."""

    why: str


Cell: TypeAlias = str | int | float | bool | date | Unread | None


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A row that is not blank, with the number that a spreadsheet program shows beside it."""

    number: int
    cells: tuple[Cell, ...]

    def cell(self, place: int) -> Cell:
        """Return the cell in a column, counted from 0; None behind the last one."""
        return self.cells[place] if 0 <= place < len(self.cells) else None


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet; a text file has one without a name."""

    name: str
    rows: tuple[SheetRow, ...]

    @property
    def width(self) -> int:
        """How many columns its widest row has."""
        return max((len(row.cells) for row in self.rows), default=0)


@dataclass(frozen=True, slots=True)
class TextWay:
    """How a text file was read: its encoding and what parts its columns."""

    encoding: str
    separator: str


@dataclass(frozen=True, slots=True)
class Book:
    """A file with its sheets.

    Attributes
    ----------
    file
        Its name, for messages.
    sheets
        Those with anything on them.
    way
        How a text was read; None for a spreadsheet file.
    doubts
        What was guessed and may be wrong.
    """

    file: str
    sheets: tuple[Sheet, ...]
    way: TextWay | None = None
    doubts: tuple[Doubt, ...] = field(default=())


def read_book(
    path: Path, *, encoding: str = "", separator: str = "", progress: Progress | None = None
) -> Book:
    """Return what is in a CSV, XLSX, ODS or XLS file.

    Parameters
    ----------
    path : Path
        The file; its content says what it is, whatever its ending.
    encoding : str
        Of a text; empty to find it out.
    separator : str
        What parts the columns of a text; empty to find it out.
    progress : Progress or None
        Told now and then; may stop the work.

    Raises
    ------
    WearlogError
        If it can't be read, is damaged or larger than any sheet that a person fills in; says where.
    """
    # They need each other's limits; and the reader of spreadsheet files is only loaded for one.
    from wearlog.exchange import sheet_files, sheet_text  # noqa: PLC0415

    progress = progress or Silent()
    name = path.name
    data = _bytes_of(path)
    if data.startswith((ARCHIVE, OLD_BINARY)):
        sheets = sheet_files.read_sheets(data, name, progress)
        book = Book(name, sheets)
    else:
        book = sheet_text.read_text(data, name, encoding, separator, progress)
    if not book.sheets:
        raise refusal(_("There is nothing in this file."), name, _("Choose another one."))
    return book


def refusal(what: str, where: str, todo: str, kind: ProblemKind = ProblemKind.INPUT) -> WearlogError:
    """Return the error of a file that can't be read."""
    return WearlogError(Problem(what, where, todo, kind=kind))


def too_large(what: str, where: str) -> WearlogError:
    """Return the error of a file beyond the limits."""
    return refusal(what, where, _("Import it in parts, or save only the sheet that is wanted."))


def check_size(rows: int, columns: int, cells: int, where: str) -> None:
    """Refuse a sheet beyond the limits.

    Raises
    ------
    WearlogError
        If it has more rows, columns or cells than a person fills in.
    """
    if rows <= MOST_ROWS and columns <= MOST_COLUMNS and cells <= MOST_CELLS:
        return  # asked for every cell
    if rows > MOST_ROWS:
        what = _("The sheet has more than {most} rows.").format(most=MOST_ROWS)
    elif columns > MOST_COLUMNS:
        what = _("The sheet has more than {most} columns.").format(most=MOST_COLUMNS)
    else:
        what = _("The sheet has more than {most} cells.").format(most=MOST_CELLS)
    raise too_large(what, where)


def column_letters(place: int) -> str:
    """Return what a spreadsheet program calls a column.

    Examples
    --------
    >>> [column_letters(place) for place in (0, 25, 26, 701, 702)]
    ['A', 'Z', 'AA', 'ZZ', 'AAA']
    """
    letters = ""
    number = place + 1
    while number > 0:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def kept_rows(rows: Sequence[SheetRow]) -> tuple[SheetRow, ...]:
    """Return the rows that are not blank, without blank cells at their end."""
    kept = []
    for row in rows:
        last = len(row.cells)
        while last and row.cells[last - 1] is None:
            last -= 1
        if last:
            kept.append(row if last == len(row.cells) else SheetRow(row.number, row.cells[:last]))
    return tuple(kept)


def _bytes_of(path: Path) -> bytes:
    try:
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise too_large(_("The file is larger than 100 MB."), path.name)
        return path.read_bytes()
    except FileNotFoundError:
        what = _("There is no such file.")
    except PermissionError:
        what = _("The file may not be read by you.")
    except OSError as error:
        what = _("The file can't be read ({reason}).").format(reason=error.strerror or str(error))
    raise refusal(what, str(path), _("Check the path and try again."), ProblemKind.FILE)
