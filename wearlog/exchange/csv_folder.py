"""Reads an import, a folder of CSV files or single ones, and collects what is wrong with it row by row."""

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from gettext import gettext as _
from pathlib import Path
from typing import Any

from wearlog import units
from wearlog.exchange.cells import BadCell, nearest, shortened, suggestion
from wearlog.exchange.columns import FORMS, Column, FileForm
from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.progress import Progress, Silent
from wearlog.fleet.quantity import Quantity
from wearlog.workshop.import_rows import ImportRow, ImportRows, Where

#: More problems than this help nobody; the rest is counted.
MOST_PROBLEMS = 500
#: A cell of this size is a missing quote mark rather than a note.
LARGEST_CELL = 131_072
LARGEST_FILE_BYTES = 500_000_000
_STEP = 1000
_HEADER = re.compile(r"(?P<name>[^\[\]()]*?)\s*(?:\((?P<aside>[^()]*)\))?\s*(?:\[(?P<unit>[^\[\]]*)\])?")
#: Zip archives, which spreadsheet programs write, and the old binary spreadsheets.
_SPREADSHEETS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")


@dataclass(slots=True)
class _Problems:
    """Problems of all files, up to a sensible number."""

    found: list[Problem] = field(default_factory=list)
    left_out: int = 0

    def add(self, what: str, where: str, todo: str = "", kind: ProblemKind = ProblemKind.INPUT) -> None:
        if len(self.found) < MOST_PROBLEMS:
            self.found.append(Problem(what, where, todo, kind=kind))
        else:
            self.left_out += 1

    def raise_if_any(self) -> None:
        if self.left_out:
            self.found.append(
                Problem(
                    _("{n} more problems are not listed.").format(n=self.left_out),
                    "",
                    _("Mend those above first and import again."),
                )
            )
        if self.found:
            raise WearlogError(*self.found)


def read_import(paths: Sequence[Path], progress: Progress | None = None) -> ImportRows:
    """Return the rows of an import.

    Parameters
    ----------
    paths : sequence of Path
        Folders of CSV files, or single files of the format.
    progress : Progress or None
        Told row by row; may stop the work.

    Raises
    ------
    WearlogError
        With every problem found in all files: file, row, column, what, what to do.
    """
    progress = progress or Silent()
    problems = _Problems()
    rows = ImportRows()
    files = list(_files(paths, problems))
    for file in files:
        form = FORMS.get(file.name.lower())
        if form is None:
            problems.add(
                _("There is no such file in the import format."),
                file.name,
                suggestion(file.name, FORMS),
            )
            continue
        text = _text(file, problems)
        if text is not None:
            getattr(rows, form.rows).extend(_read_file(file.name, form, text, problems, progress))
    problems.raise_if_any()
    return rows


def _files(paths: Sequence[Path], problems: _Problems) -> Iterator[Path]:
    seen: set[str] = set()
    for path in paths:
        try:
            if path.is_dir():
                inside = sorted(file for file in path.iterdir() if file.suffix.lower() == ".csv")
                if not inside:
                    problems.add(
                        _("There is no CSV file in this folder."),
                        str(path),
                        _("The files are named {names}.").format(names=", ".join(FORMS)),
                        ProblemKind.FILE,
                    )
            elif path.exists():
                inside = [path]
            else:
                raise FileNotFoundError(path)
        except OSError as error:
            problems.add(_reason(error), str(path), _("Check the path and try again."), ProblemKind.FILE)
            continue
        for file in inside:
            if file.name.lower() in seen:
                problems.add(
                    _("A file of this name is given twice."), str(file), _("Import one after the other.")
                )
            else:
                seen.add(file.name.lower())
                yield file


def _reason(error: OSError) -> str:
    if isinstance(error, FileNotFoundError):
        return _("There is no such file or folder.")
    if isinstance(error, PermissionError):
        return _("The file may not be read by you.")
    return _("The file can't be read ({reason}).").format(reason=error.strerror or str(error))


def _text(file: Path, problems: _Problems) -> str | None:
    """Return the text of a file; None, with the problem said, if it is not one."""
    try:
        if file.stat().st_size > LARGEST_FILE_BYTES:
            problems.add(_("The file is larger than 500 MB."), file.name, _("Split it."), ProblemKind.FILE)
            return None
        data = file.read_bytes()
    except OSError as error:
        problems.add(_reason(error), str(file), _("Check the path and try again."), ProblemKind.FILE)
        return None
    as_utf8 = _("Save it as CSV with UTF-8 encoding.")
    if data.startswith(_SPREADSHEETS):
        problems.add(_("This is a spreadsheet file, not CSV."), file.name, as_utf8)
    elif data.startswith((b"\xff\xfe", b"\xfe\xff")):
        problems.add(_("The file is UTF-16 text, not UTF-8."), file.name, as_utf8)
    elif b"\x00" in data:
        row = data[: data.index(b"\x00")].count(b"\n") + 1
        where = _("{file} line {row}").format(file=file.name, row=row)
        problems.add(_("The file holds a NUL character, so it is damaged or not text."), where, as_utf8)
    else:
        try:
            return data.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            row = data[: error.start].count(b"\n") + 1
            where = _("{file} line {row}").format(file=file.name, row=row)
            problems.add(
                _("Byte {byte} is not UTF-8; the file has another encoding.").format(
                    byte=f"0x{data[error.start]:02X}"
                ),
                where,
                as_utf8,
            )
    return None


def _read_file(
    name: str, form: FileForm, text: str, problems: _Problems, progress: Progress
) -> Iterator[ImportRow]:
    lines = text.count("\n") + 1
    csv.field_size_limit(LARGEST_CELL)
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    row = 0
    try:
        header = next(reader, None)
        if header is None or not any(cell.strip() for cell in header):
            problems.add(
                _("The first row names no columns."),
                name,
                _("It must hold the header names: {names}.").format(
                    names=", ".join(column.title for column in form.columns)
                ),
            )
            return
        known = _header(name, form, header, problems)
        if known is None:
            return
        what = _("Reading {file}").format(file=name)
        for row, given in enumerate(reader, start=2):
            if row % _STEP == 0:
                progress.step(row, max(lines, row), what)
            if not any(given) or not any(cell.strip() for cell in given):
                continue
            made = _row(Where(name, row), form, known, given, problems)
            if made is not None:
                yield made
    except csv.Error as error:
        where = _("{file} line {row}").format(file=name, row=max(reader.line_num, row))
        if "field larger" in str(error):
            problems.add(
                _("A cell is longer than {n} letters.").format(n=LARGEST_CELL),
                where,
                _("Look for a quote mark that is never closed."),
            )
        else:
            problems.add(
                _("The quote marks do not fit ({reason}).").format(reason=str(error)),
                where,
                _('Put a cell with commas or quote marks in "…", and double the quote marks inside it.'),
            )


@lru_cache(maxsize=200)
def _is_unit(unit: str, quantity: Quantity) -> bool:
    try:
        units.factor(unit, quantity)
    except WearlogError:
        return False
    return True


def _fits(column: Column, unit: str) -> bool:
    if column.days:
        return unit.lower() in {"d", "day", "days"}
    return any(_is_unit(unit, kind) for kind in column.quantities)


_Placed = tuple[Column, int, str]


@dataclass(frozen=True, slots=True)
class _Header:
    """Column, place in the row and unit of each column that is there; places without a name."""

    placed: tuple[_Placed, ...]
    width: int
    nameless: tuple[int, ...]


def _header(name: str, form: FileForm, header: list[str], problems: _Problems) -> _Header | None:
    """Return what the first row names; None, with the problems said, if it does not fit."""
    where = _("{file} row 1").format(file=name)
    before = len(problems.found) + problems.left_out
    if len(header) == 1 and len(form.columns) > 1 and re.search(r"[;\t|]", header[0]):
        problems.add(
            _("The columns are not parted by commas."), where, _("Save the file as comma-separated values.")
        )
        return None
    found: dict[str, _Placed] = {}
    nameless: list[int] = []
    for place, given in enumerate(header):
        if not given.strip():
            nameless.append(place)
            continue
        match = _HEADER.fullmatch(given.strip())
        wanted = " ".join((match["name"] if match else given).lower().replace("_", " ").split())
        unit = (match["unit"] or "").strip() if match else ""
        named = [column for column in form.columns if column.header == wanted]
        if not named:
            names = dict.fromkeys(column.header for column in form.columns)
            problems.add(
                _("“{header}” is not a column here.").format(header=shortened(given)),
                where,
                suggestion(wanted, names),
            )
            continue
        column = next((column for column in named if unit and _fits(column, unit)), None)
        if column is None and not unit and len(named) == 1:
            column = named[0]
        if column is None:
            allowed = [u for c in named for u in (["d"] if c.days else _unit_names(c))]
            problems.add(
                _("“{header}” has a unit that does not fit.").format(header=shortened(given))
                if unit
                else _("“{header}” needs a unit.").format(header=shortened(given)),
                where,
                _("Units here: {units}.").format(units=", ".join(allowed))
                if allowed
                else _("Write {header} without a unit.").format(header=wanted),
            )
            continue
        if column.field in found:
            problems.add(
                _("“{header}” stands there twice.").format(header=shortened(given)),
                where,
                _("Keep one of the columns."),
            )
            continue
        found[column.field] = (column, place, unit)
    for column in form.columns:
        if column.is_required and column.field not in found:
            near = nearest(column.header, [h.strip() for h in header])
            problems.add(
                _("The column “{header}” is missing.").format(header=column.title),
                where,
                _("Is it the one named “{near}”?").format(near=near) if near else _("Add it."),
            )
    if len(problems.found) + problems.left_out > before:
        return None
    placed = tuple(found[column.field] for column in form.columns if column.field in found)
    return _Header(placed, len(header), tuple(nameless))


def _unit_names(column: Column) -> list[str]:
    return [unit for kind in column.quantities for unit in units.units_for(kind) if unit != "1"]


def _row(
    where: Where, form: FileForm, header: _Header, given: list[str], problems: _Problems
) -> ImportRow | None:
    """Return one row; None, with its problems said, if a cell can't be read."""
    if len(given) > header.width and any(cell.strip() for cell in given[header.width :]):
        problems.add(
            _("The row has {n} cells, the header {width}.").format(n=len(given), width=header.width),
            str(where),
            _('A text with a comma must stand in quote marks: "…".'),
        )
        return None
    for place in header.nameless:
        if place < len(given) and given[place].strip():
            problems.add(
                _("“{text}” stands in a column without a name.").format(text=shortened(given[place])),
                str(where),
                _("Name column {n} in the first row, or empty it.").format(n=place + 1),
            )
            return None
    values: dict[str, Any] = {}
    is_good = True
    for column, place, unit in header.placed:
        text = given[place].strip() if place < len(given) else ""
        if not text:
            if column.is_required:
                problems.add(
                    _("The cell is empty, but is needed."), where.cell(column.header), _("Fill it in.")
                )
                is_good = False
            continue
        try:
            values[column.field] = column.read(text, unit, values)
        except BadCell as bad:
            problems.add(bad.what, where.cell(column.header), bad.todo)
            is_good = False
    return form.make(where=where, **values) if is_good else None
