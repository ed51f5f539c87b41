"""A spreadsheet file in the import format: one sheet for each file of it, under the same names."""

from collections.abc import Sequence
from gettext import gettext as _
from pathlib import Path

from wearlog.exchange.cells import suggestion
from wearlog.exchange.columns import FORMS
from wearlog.exchange.csv_folder import read_import
from wearlog.exchange.matched_rows import missing, understand
from wearlog.exchange.sheet_words import guess_match
from wearlog.exchange.spreadsheet import ARCHIVE, OLD_BINARY, Book, Sheet, read_book
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.fleet.progress import Progress, Silent
from wearlog.workshop.import_matches import KnownForImport
from wearlog.workshop.import_rows import ImportRows


def form_of(sheet: Sheet) -> str:
    """Return the file of the format that a sheet is named after, empty for none."""
    name = sheet.name.strip().lower().replace(" ", "_").removesuffix(".csv") + ".csv"
    return name if name in FORMS else ""


def is_in_format(book: Book) -> bool:
    """Whether every sheet of a book is named after a file of the format."""
    return book.way is None and all(form_of(sheet) for sheet in book.sheets)


def is_spreadsheet(path: Path) -> bool:
    """Whether a file is a spreadsheet rather than text; its content says so."""
    try:
        with path.open("rb") as stream:
            return stream.read(4) in {ARCHIVE, OLD_BINARY}
    except OSError:
        return False


def read_all(paths: Sequence[Path], known: KnownForImport, progress: Progress | None = None) -> ImportRows:
    """Return the rows of CSV files, of folders of them, and of spreadsheet files in the import format.

    Raises
    ------
    WearlogError
        With every problem found in all of them.
    """
    progress = progress or Silent()
    books = [path for path in paths if path.is_file() and is_spreadsheet(path)]
    others = [path for path in paths if path not in books]
    problems: list[Problem] = []
    rows = ImportRows()
    if others:
        try:
            rows = read_import(others, progress)
        except WearlogError as error:
            problems += error.problems
    for path in books:
        try:
            more = rows_of_book(read_book(path, progress=progress), known, progress)
        except WearlogError as error:
            problems += error.problems
        else:
            for name, given in more.lists().items():
                getattr(rows, name).extend(given)
    if problems:
        raise WearlogError(*problems)
    return rows


def rows_of_book(book: Book, known: KnownForImport, progress: Progress) -> ImportRows:
    """Return the rows of all sheets of a book in the import format.

    Raises
    ------
    WearlogError
        If a sheet has another name, a header is not one of its columns, or a cell can't be read.
    """
    rows = ImportRows()
    problems: list[Problem] = []
    for sheet in book.sheets:
        title = f"{book.file} {sheet.name}".strip()
        form = form_of(sheet)
        if not form:
            names = [name.removesuffix(".csv") for name in FORMS]
            problems.append(
                Problem(
                    _("There is no such sheet in the import format."), title, suggestion(sheet.name, names)
                )
            )
            continue
        match = guess_match(sheet, sheet.rows[0].number, form)
        known_names = dict.fromkeys(column.header for column in FORMS[form].columns)
        problems += [
            Problem(
                _("“{header}” is not a column here.").format(header=column.header),
                _("{file} row {row}").format(file=title, row=match.header_row),
                suggestion(column.header, known_names),
            )
            for column in match.left_out
            if column.header
        ]
        found = understand(sheet, match, known, file=book.file, progress=progress)
        problems += [
            Problem(problem.what, f"{title}, {problem.where}", problem.todo)
            for problem in missing(match, known)
        ]
        problems += found.problems
        for name, given in found.rows.lists().items():
            getattr(rows, name).extend(given)
    if problems:
        raise WearlogError(*problems)
    return rows
