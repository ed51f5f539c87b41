"""Looks through the archive that an XLSX or ODS file is, before anything of it is unpacked for good.

A small archive can hold more than any memory, and a single cell at the far corner makes a reader that keeps
a sheet as a table lay out all the others. The directory is judged first, then each part is unpacked piece by
piece and counted; the reader gets the file only if everything fits.
"""

import posixpath
import re
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from gettext import gettext as _
from io import BytesIO
from typing import Any
from xml.parsers import expat

from wearlog.exchange.spreadsheet import (
    LARGEST_CELL,
    MOST_CELLS,
    check_size,
    column_letters,
    refusal,
    too_large,
)
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.progress import Progress

MOST_UNPACKED_BYTES = 300_000_000
MOST_PARTS = 5000
#: Sheets of figures are packed to a tenth or a fiftieth; larger parts packed tighter than this are a trap.
MOST_PACKED, SMALL_PART_BYTES = 200, 1_000_000
#: Letters that all cells may have together, a text used in many cells counted for each.
MOST_LETTERS = 100_000_000
_PIECE = 65_536
_REFERENCE = re.compile(r"([A-Z]{1,3})([0-9]{1,7})")

#: Row and column of cells, from 0, whose value is not in the file, and why.
Gaps = dict[tuple[int, int], str]


def look_through(data: bytes, name: str, progress: Progress) -> dict[str, Gaps]:
    """Return, by sheet, the cells without a value; refuse an archive that does not fit.

    Parameters
    ----------
    data : bytes
        The file.
    name : str
        Its name, for messages.
    progress : Progress
        Told part by part; may stop the work.

    Raises
    ------
    WearlogError
        If it is damaged, protected, no spreadsheet, or beyond the limits.
    """
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            listed = archive.infolist()
        _check_directory(listed, name)
        parts = {part.filename: part for part in listed}
        if len(parts) != len(listed):
            raise _damaged(name, _("two parts have one name"))
        found = _Found(name)
        for count, part in enumerate(_in_order(parts)):
            progress.step(count, len(parts), _("Looking through {file}").format(file=name))
            _look_at(data, part, found)
    except (
        zipfile.BadZipFile,
        zlib.error,
        struct.error,
        RuntimeError,
        OSError,
        EOFError,
        ValueError,
    ) as error:
        raise _damaged(name, str(error)) from None
    if not found.is_spreadsheet:
        raise refusal(
            _("This is an archive, but not a spreadsheet that can be read here."),
            name,
            _("Save it as .xlsx, .ods or .csv."),
        )
    return {found.names.get(part, part): gaps for part, gaps in found.gaps.items()}


def _damaged(name: str, reason: str) -> WearlogError:
    return refusal(
        _("The file is damaged ({reason}).").format(reason=reason or "?"),
        name,
        _("Open it in a spreadsheet program and save it again, or take an older copy."),
    )


def _check_directory(parts: list[zipfile.ZipInfo], name: str) -> None:
    if len(parts) > MOST_PARTS:
        raise too_large(_("The archive has more than {n} parts.").format(n=MOST_PARTS), name)
    if any(part.flag_bits & 1 for part in parts):
        raise refusal(_("The file is protected by a password."), name, _("Save it without one."))
    if sum(part.file_size for part in parts) > MOST_UNPACKED_BYTES:
        raise too_large(_("Unpacked, the file is larger than 300 MB."), name)
    for part in parts:
        if part.file_size > SMALL_PART_BYTES and part.file_size > MOST_PACKED * max(part.compress_size, 1):
            raise too_large(
                _("{part} is packed so tightly that it is hardly a sheet of figures.").format(
                    part=part.filename
                ),
                name,
            )


@dataclass(slots=True)
class _Found:
    """What was seen so far in the parts of one file."""

    name: str
    is_spreadsheet: bool = False
    letters: list[int] = field(default_factory=list)
    all_letters: int = 0
    gaps: dict[str, Gaps] = field(default_factory=dict)
    relations: dict[str, str] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)

    def count_letters(self, count: int) -> None:
        self.all_letters += count
        if self.all_letters > MOST_LETTERS:
            raise too_large(_("The cells hold more text than a person writes."), self.name)


def _in_order(parts: dict[str, zipfile.ZipInfo]) -> Iterator[zipfile.ZipInfo]:
    """Yield the parts, those first that others refer to."""
    first = ("xl/_rels/workbook.xml.rels", "xl/workbook.xml", "xl/sharedStrings.xml")
    yield from (parts[name] for name in first if name in parts)
    yield from (part for name, part in parts.items() if name not in first)


def _look_at(data: bytes, part: zipfile.ZipInfo, found: _Found) -> None:
    name = part.filename
    reader: _Reader | None = None
    if name == "content.xml":
        reader = _OpenSheets(found, name)
    elif name == "xl/sharedStrings.xml":
        reader = _Texts(found, name)
    elif name in {"xl/workbook.xml", "xl/_rels/workbook.xml.rels"}:
        reader = _Names(found, name)
    elif name.startswith("xl/worksheets/") and name.endswith(".xml"):
        reader = _Cells(found, name)
    for piece in _unpacked(data, part):
        if reader is not None:
            reader.read(piece)
    if reader is not None:
        reader.read(b"", is_last=True)


def _unpacked(data: bytes, part: zipfile.ZipInfo) -> Iterator[bytes]:
    """Yield a part piece by piece, and not a byte more than the directory promises.

    The library would stop there without a word; another reader might not.
    """
    head = data[part.header_offset : part.header_offset + 30]
    start = part.header_offset + 30 + sum(struct.unpack("<HH", head[26:30]))
    packed = data[start : start + part.compress_size]
    size, check = 0, 0
    for piece in _inflated(packed, part):
        size += len(piece)
        check = zlib.crc32(piece, check)
        if size > part.file_size:
            break
        yield piece
    if size != part.file_size or check != part.CRC or len(packed) != part.compress_size:
        message = f"{part.filename} is not what the directory says"
        raise ValueError(message)


def _inflated(packed: bytes, part: zipfile.ZipInfo) -> Iterator[bytes]:
    if part.compress_type == zipfile.ZIP_STORED:
        yield from (packed[at : at + _PIECE] for at in range(0, len(packed), _PIECE))
        return
    if part.compress_type != zipfile.ZIP_DEFLATED:
        message = "unusual packing"
        raise ValueError(message)
    inflate = zlib.decompressobj(-zlib.MAX_WBITS)
    while not inflate.eof:
        piece = inflate.decompress(packed, _PIECE)
        packed = inflate.unconsumed_tail
        if not piece and not packed:
            break
        yield piece


class _Reader:
    """Goes through one part; local names only, no declarations of its own."""

    def __init__(self, found: _Found, part: str) -> None:
        self.found = found
        self.part = part
        self.parser = expat.ParserCreate()
        self.parser.StartElementHandler = self._on_start
        self.parser.EndElementHandler = self._on_end
        self.parser.CharacterDataHandler = self.text
        self.parser.StartDoctypeDeclHandler = self._on_doctype

    def read(self, piece: bytes, *, is_last: bool = False) -> None:
        try:
            self.parser.Parse(piece, is_last)
        except expat.ExpatError as error:
            message = f"{self.part}: {error}"
            raise ValueError(message) from None

    def start(self, tag: str, given: dict[str, str]) -> None:
        """Take the begin of an element."""

    def end(self, tag: str) -> None:
        """Take the end of an element."""

    def text(self, text: str) -> None:
        """Take text between two elements."""

    def _on_start(self, tag: str, given: dict[str, str]) -> None:
        self.start(tag.rpartition(":")[2], {key.rpartition(":")[2]: value for key, value in given.items()})

    def _on_end(self, tag: str) -> None:
        self.end(tag.rpartition(":")[2])

    def _on_doctype(self, *_given: Any) -> None:
        message = f"{self.part} declares a document type"
        raise ValueError(message)


class _Names(_Reader):
    """The sheets of a workbook: which part has which name."""

    def start(self, tag: str, given: dict[str, str]) -> None:
        if tag == "Relationship":
            target = given.get("Target", "")
            path = target.lstrip("/") if target.startswith("/") else posixpath.join("xl", target)
            self.found.relations[given.get("Id", "")] = posixpath.normpath(path)
        elif tag == "workbook":
            self.found.is_spreadsheet = True
        elif tag == "sheet":
            self.found.names[self.found.relations.get(given.get("id", ""), "")] = given.get("name", "")


class _Texts(_Reader):
    """The texts that cells share; only how long each is."""

    def start(self, tag: str, _given: dict[str, str]) -> None:
        if tag == "si":
            self.found.letters.append(0)

    def text(self, text: str) -> None:
        if self.found.letters:
            self.found.letters[-1] += len(text)
            if self.found.letters[-1] > LARGEST_CELL:
                raise _long_cell(self.found.name)


def _long_cell(where: str) -> WearlogError:
    return refusal(
        _("A cell is longer than {n} letters.").format(n=LARGEST_CELL), where, _("Shorten it, or empty it.")
    )


class _Counted(_Reader):
    """What the two kinds of sheet have in common: how far cells reach."""

    def __init__(self, found: _Found, part: str) -> None:
        super().__init__(found, part)
        self.reach = [0, 0]
        self.filled = 0

    def fill(self, rows: int, columns: int, cells: int) -> None:
        """Count cells whose last one is in this row and column, from 1."""
        self.reach = [max(self.reach[0], rows), max(self.reach[1], columns)]
        self.filled += cells
        check_size(rows, columns, self.filled, self.found.name)
        # A reader keeps the whole table, blanks as well.
        if self.reach[0] * self.reach[1] > 4 * MOST_CELLS:
            raise too_large(
                _("The cells are spread over {rows} rows and {columns} columns.").format(
                    rows=self.reach[0], columns=self.reach[1]
                ),
                self.found.name,
            )

    def gap(self, row: int, column: int, why: str) -> None:
        """Note a cell without a value."""
        self.found.gaps.setdefault(self.part, {})[row - 1, column - 1] = why


class _Cells(_Counted):
    """A sheet of an XLSX file (ECMA-376, part 1, 18.3.1)."""

    def __init__(self, found: _Found, part: str) -> None:
        super().__init__(found, part)
        self.row, self.column = 0, 0
        self.kind = ""
        self.has_formula = False
        self.value: list[str] | None = None
        self.length = 0
        self.is_inside_value = False

    def start(self, tag: str, given: dict[str, str]) -> None:
        if tag == "row":
            self.row = _whole(given.get("r", ""), self.row + 1)
            self.column = 0
        elif tag == "c":
            match = _REFERENCE.fullmatch(given.get("r", ""))
            if match:
                self.column, self.row = _column_number(match[1]), int(match[2])
            else:
                self.column += 1
            self.kind, self.has_formula = given.get("t", ""), False
            self.value, self.length = None, 0
        elif tag == "f":
            self.has_formula = True
        elif tag in {"v", "is"}:
            self.is_inside_value, self.value = True, []

    def text(self, text: str) -> None:
        if self.is_inside_value and self.value is not None:
            self.length += len(text)
            if self.length > LARGEST_CELL:
                place = f"{column_letters(self.column - 1)}{self.row}"
                raise _long_cell(f"{self.found.name} {place}")
            self.value.append(text)

    def end(self, tag: str) -> None:
        if tag in {"v", "is"}:
            self.is_inside_value = False
        elif tag == "c":
            self._end_cell()

    def _end_cell(self) -> None:
        value = "".join(self.value or ())
        if self.kind == "e":
            self.gap(self.row, self.column, _("It shows the error {error}.").format(error=value or "?"))
        elif self.has_formula and not value and self.kind != "str":
            self.gap(self.row, self.column, _("It holds a formula whose value was not saved."))
        if self.value is not None:
            self.fill(self.row, self.column, 1)
            place = _whole(value, -1) if self.kind == "s" else -1
            shared = self.found.letters[place] if 0 <= place < len(self.found.letters) else 0
            self.found.count_letters(len(value) + shared)


def _whole(text: str, default: int) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 9 else default


def _column_number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


class _OpenSheets(_Counted):
    """The sheets of an ODS file, all in one part (OASIS OpenDocument 1.3, part 3, 9.1)."""

    def __init__(self, found: _Found, part: str) -> None:
        super().__init__(found, part)
        self.row, self.rows, self.column, self.columns = 0, 1, 0, 1
        self.is_filled = False
        self.formula = ""
        self.length = 0
        self.handlers: dict[str, Callable[[dict[str, str]], None]] = {
            "spreadsheet": self._on_spreadsheet,
            "table": self._on_table,
            "table-row": self._on_row,
            "table-cell": self._on_cell,
            "covered-table-cell": self._on_cell,
        }

    def start(self, tag: str, given: dict[str, str]) -> None:
        handler = self.handlers.get(tag)
        if handler is not None:
            handler(given)
        elif tag == "s":
            # A run of spaces is written as its number.
            self._lengthen(min(_whole(given.get("c", ""), 1), 2 * LARGEST_CELL))

    def _on_spreadsheet(self, _given: dict[str, str]) -> None:
        self.found.is_spreadsheet = True

    def _on_table(self, given: dict[str, str]) -> None:
        self.part = given.get("name", "")
        self.reach, self.filled, self.row, self.rows = [0, 0], 0, 0, 0

    def _on_row(self, given: dict[str, str]) -> None:
        self.row += self.rows
        self.rows = max(_whole(given.get("number-rows-repeated", ""), 1), 1)
        self.column, self.columns = 0, 0

    def _on_cell(self, given: dict[str, str]) -> None:
        self.column += self.columns
        self.columns = max(_whole(given.get("number-columns-repeated", ""), 1), 1)
        self.is_filled = "value-type" in given
        self.formula = "" if self.is_filled else given.get("formula", "")
        self.length = 0
        for key, value in given.items():
            if key.endswith("value"):
                self._lengthen(len(value))

    def text(self, text: str) -> None:
        if text.strip():
            self.is_filled = True
        self._lengthen(len(text))

    def _lengthen(self, count: int) -> None:
        self.length += count
        if self.length > LARGEST_CELL:
            place = f"{column_letters(self.column)}{self.row + 1}"
            raise _long_cell(f"{self.found.name} {place}")

    def end(self, tag: str) -> None:
        if tag not in {"table-cell", "covered-table-cell"}:
            return
        if self.is_filled:
            cells = self.rows * self.columns
            self.fill(self.row + self.rows, self.column + self.columns, cells)
            self.found.count_letters(self.length * cells)
        elif self.formula:
            self.fill(self.row + 1, self.column + 1, 1)
            self.gap(self.row + 1, self.column + 1, _("It holds a formula whose value was not saved."))
