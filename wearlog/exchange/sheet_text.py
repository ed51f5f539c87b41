"""Text files with columns: which encoding, which separator, and their rows."""

import csv
import io
from collections import Counter
from gettext import gettext as _

from wearlog.exchange.spreadsheet import (
    LARGEST_CELL,
    Book,
    Cell,
    Sheet,
    SheetRow,
    TextWay,
    check_size,
    kept_rows,
    refusal,
)
from wearlog.fleet.problem import Doubt, DoubtKind, WearlogError
from wearlog.fleet.progress import Progress

#: What may be chosen; the first are tried by themselves.
ENCODINGS = ("utf-8", "utf-16", "cp1252", "cp1250", "iso-8859-15", "mac-roman")
SEPARATORS = (",", ";", "\t", "|")
_MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
_LOOKED_AT = 65_536
_ROWS_LOOKED_AT = 40
_STEP = 1000


def read_text(data: bytes, name: str, encoding: str, separator: str, progress: Progress) -> Book:
    """Return the one sheet of a text file.

    Raises
    ------
    WearlogError
        If it can't be decoded or its quote marks do not fit; says the line.
    """
    text, used, doubts = _decoded(data, name, encoding)
    if "\x00" in text:
        row = text[: text.index("\x00")].count("\n") + 1
        raise refusal(
            _("There is a NUL character: the file is damaged, or not a text."),
            _("{file} line {row}").format(file=name, row=row),
            _("Save it again as CSV or as a spreadsheet."),
        )
    first, _newline, rest = text.partition("\n")
    # Spreadsheet programs may name the separator in a first line of its own: sep=;
    named = first.strip().lower()
    skipped = 0
    if named.startswith("sep=") and len(named) == 5:
        separator, text, skipped = separator or named[4], rest, 1
    separator = separator or _separator(text)
    rows = _rows(text, name, separator, skipped, progress)
    sheets = (Sheet("", rows),) if rows else ()
    return Book(name, sheets, TextWay(used, separator), doubts)


def _decoded(data: bytes, name: str, encoding: str) -> tuple[str, str, tuple[Doubt, ...]]:
    """Return the text, its encoding, and the question where it was guessed."""
    mark = next((codec for start, codec in _MARKS if data.startswith(start)), "")
    if not encoding:
        encoding = mark or _utf16_without_mark(data)
    elif encoding == "utf-8" and mark == "utf-8-sig":
        encoding = mark
    if encoding:
        return _strictly(data, name, encoding), encoding.removesuffix("-sig"), ()
    try:
        return data.decode("utf-8"), "utf-8", ()
    except UnicodeDecodeError as error:
        at = error.start
    text = _strictly(data, name, "cp1252")
    line = data[:at].count(b"\n") + 1
    shown = text.split("\n")[line - 1].strip()
    question = _(
        "The text is not UTF-8 and was read as Windows-1252. Is line {line} written right: “{text}”?"
    ).format(line=line, text=shown[:60])
    return text, "cp1252", (Doubt(DoubtKind.OTHER, question, name),)


def _utf16_without_mark(data: bytes) -> str:
    """Return the name of UTF-16 where every second byte of a plain text is zero."""
    head = data[:4096]
    if len(head) < 4:
        return ""
    even, odd = head[0::2].count(0), head[1::2].count(0)
    if odd > len(head) * 0.3 and not even:
        return "utf-16-le"
    return "utf-16-be" if even > len(head) * 0.3 and not odd else ""


def _strictly(data: bytes, name: str, encoding: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise refusal(
            _("Byte {byte} has no meaning in {encoding}.").format(
                byte=f"0x{data[error.start]:02X}", encoding=encoding
            ),
            _("{file} line {row}").format(file=name, row=line),
            _("Choose another encoding, or save the file as a spreadsheet or as UTF-8 text."),
        ) from None


def _separator(text: str) -> str:
    """Return what parts the columns: the mark that cuts most rows into as many cells as the first one."""
    head = text[:_LOOKED_AT]
    lines = head.count("\n")
    best, best_score = ",", (0.0, 0)
    for separator in SEPARATORS:
        widths: list[int] = []
        try:
            for row in csv.reader(io.StringIO(head, newline=""), delimiter=separator):
                if any(cell.strip() for cell in row):
                    widths.append(len(row))
                if len(widths) >= _ROWS_LOOKED_AT:
                    break
        except csv.Error:
            pass
        if lines > len(widths) > 1 and len(head) == _LOOKED_AT:
            widths.pop()  # cut in the middle
        usual, times = Counter(widths).most_common(1)[0] if widths else (1, 0)
        if usual < 2:
            continue
        # A decimal comma parts the rows of figures, but not their heads.
        share = times / len(widths) * (1.0 if widths[0] in {1, usual} else 0.5)
        if (round(share, 1), usual) > best_score:
            best, best_score = separator, (round(share, 1), usual)
    return best


def _rows(text: str, name: str, separator: str, skipped: int, progress: Progress) -> tuple[SheetRow, ...]:
    csv.field_size_limit(LARGEST_CELL)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    lines = text.count("\n") + 1
    found: list[SheetRow] = []
    number, cells = skipped, 0
    try:
        for number, given in enumerate(reader, start=1 + skipped):
            if number % _STEP == 0:
                progress.step(number, max(lines, number), _("Reading {file}").format(file=name))
            cells += len(given)
            check_size(number, len(given), cells, name)
            found.append(SheetRow(number, tuple(map(_cell, given))))
    except csv.Error as error:
        raise _unfitting(error, name, max(reader.line_num + skipped, number + 1)) from None
    return kept_rows(found)


def _cell(text: str) -> Cell:
    return text.strip() or None


def _unfitting(error: csv.Error, name: str, line: int) -> WearlogError:
    where = _("{file} line {row}").format(file=name, row=line)
    if "field larger" in str(error):
        return refusal(
            _("A cell is longer than {n} letters.").format(n=LARGEST_CELL),
            where,
            _("Look for a quote mark that is never closed."),
        )
    return refusal(
        _("The quote marks do not fit ({reason}).").format(reason=str(error)),
        where,
        _('Put a cell with separators or quote marks in "…", and double the quote marks inside it.'),
    )
