"""What the import page shows: a sheet, its match, and what would come of it. No widgets."""

from dataclasses import dataclass, replace
from gettext import gettext as _

from PySide6.QtCore import QObject, Signal

from wearlog.exchange.matched_rows import Understood
from wearlog.exchange.matching import (
    SERVICE,
    ColumnMatch,
    DayOrder,
    Field,
    Match,
    data_rows,
    fields_of,
    fingerprint,
    fixed_fields_of,
    match_from_text,
    match_to_text,
    text_of,
)
from wearlog.exchange.sheet_words import guess_header_row, guess_match
from wearlog.exchange.spreadsheet import Book, Sheet, column_letters
from wearlog.fleet.problem import Doubt, Problem
from wearlog.fleet.quantity import ShownUnits
from wearlog.window.import_sheet import words
from wearlog.workshop.bring_in import Brought
from wearlog.workshop.import_matches import KnownForImport

#: So many rows of the sheet are shown as they were understood.
ROWS_SHOWN = 5


@dataclass(frozen=True, slots=True)
class ColumnLine:
    """One column of the sheet as a line of the page; `wrong` are the places of cells that can't be read."""

    place: int
    letters: str
    header: str
    holds: str
    unit: str
    cells: tuple[str, ...]
    wrong: frozenset[int]
    is_left_out: bool


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a match: what is missing, what can't be read, or what would be added."""

    understood: Understood
    missing: tuple[Problem, ...] = ()
    refused: tuple[Problem, ...] = ()
    brought: Brought | None = None

    @property
    def problems(self) -> tuple[Problem, ...]:
        """All that stands against the import."""
        return (*self.missing, *self.understood.problems, *self.refused)


class ImportModel(QObject):
    """The state of the page.

    Signals
    -------
    book_changed()
        Another file or sheet is shown.
    match_changed()
        The match is another one; an outcome is to be asked for.
    outcome_changed()
        What would come of it is known.
    """

    book_changed = Signal()
    match_changed = Signal()
    outcome_changed = Signal()

    def __init__(self, shown: ShownUnits, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.shown = shown
        self.book: Book | None = None
        self.sheet: Sheet | None = None
        self.known: KnownForImport | None = None
        self.match: Match | None = None
        self.outcome: Outcome | None = None
        self.is_remembered = False

    # --- the file

    def show_book(self, book: Book, known: KnownForImport) -> None:
        """Show a file: its longest sheet, matched as last time or as its headers say."""
        self.book, self.known = book, known
        self.choose_sheet(max(range(len(book.sheets)), key=lambda n: len(book.sheets[n].rows)))

    def show_nothing(self) -> None:
        """Show no file."""
        self.book = self.sheet = self.match = self.outcome = None
        self.is_remembered = False
        self.book_changed.emit()

    def choose_sheet(self, number: int) -> None:
        """Show another sheet of the file."""
        if self.book is None:
            return
        self.sheet = self.book.sheets[number]
        self._match_anew(guess_header_row(self.sheet))
        self.book_changed.emit()

    @property
    def sheet_number(self) -> int:
        """The place of the sheet in the file."""
        return 0 if self.book is None or self.sheet is None else self.book.sheets.index(self.sheet)

    @property
    def fingerprint(self) -> str:
        """What tells the header row from others."""
        if self.sheet is None or self.match is None:
            return ""
        return fingerprint(self.sheet, self.match.header_row)

    def _match_anew(self, header_row: int, purpose: str = "") -> None:
        if self.sheet is None or self.known is None or self.book is None:
            return
        kept = self.known.matches.get(fingerprint(self.sheet, header_row), "")
        remembered = match_from_text(kept, self.sheet, header_row) if kept and not purpose else None
        self.is_remembered = remembered is not None
        title = self.sheet.name or self.book.file.rsplit(".", 1)[0]
        match = remembered or guess_match(self.sheet, header_row, purpose, title)
        # Another sheet may be matched just like the last one; what came of that one says nothing of it.
        self.match = self.outcome = None
        self._take(self._with_usual(match) if remembered is None else match)

    def _with_usual(self, match: Match) -> Match:
        """Return a match with what the workshop always has: its depot, if it is the only one."""
        known = self.known
        if known is not None and match.purpose == SERVICE and len(known.depots) == 1:
            return match.with_fixed("depot", known.depots[0])
        return match

    # --- the match

    def guess_again(self) -> None:
        """Match by the headers alone, whatever was remembered."""
        if self.match is not None:
            self._match_anew(self.match.header_row, self.match.purpose)
            self.book_changed.emit()

    def choose_purpose(self, purpose: str) -> None:
        """Say what a row is."""
        if self.match is not None and purpose != self.match.purpose:
            self._match_anew(self.match.header_row, purpose)
            self.book_changed.emit()

    def choose_header_row(self, number: int) -> None:
        """Say in which row the headers stand."""
        if self.match is not None and number != self.match.header_row:
            self._match_anew(number)
            self.book_changed.emit()

    def set_column(self, column: ColumnMatch) -> None:
        """Say what a column holds."""
        if self.match is not None:
            self._take(self.match.with_column(column))

    def set_fixed(self, name: str, text: str) -> None:
        """Say what holds for all rows."""
        if self.match is not None and self.match.fixed_text(name) != text:
            self._take(self.match.with_fixed(name, text))

    def set_days(self, days: DayOrder) -> None:
        """Say how days are written."""
        if self.match is not None:
            self._take(replace(self.match, days=days))

    def set_decimal(self, decimal: str) -> None:
        """Say how decimals are written."""
        if self.match is not None:
            self._take(replace(self.match, decimal=decimal))

    def _take(self, match: Match) -> None:
        if match != self.match:
            self.match = match
            self.match_changed.emit()

    def match_text(self) -> str:
        """Return the match as it is remembered."""
        return "" if self.match is None else match_to_text(self.match)

    # --- what comes of it

    def show_outcome(self, outcome: Outcome, known: KnownForImport) -> None:
        """Show what would come of the match, and what the workshop has by now."""
        self.outcome, self.known = outcome, known
        self.outcome_changed.emit()

    @property
    def can_import(self) -> bool:
        """Whether there is something to add and nothing against it."""
        outcome = self.outcome
        return outcome is not None and not outcome.problems and outcome.brought is not None

    # --- what is shown

    @property
    def fields(self) -> tuple[Field, ...]:
        """What columns may hold."""
        return () if self.match is None else fields_of(self.match.purpose)

    def lacking(self) -> tuple[Field, ...]:
        """Return what one value may be given for: what the sheet lacks and needs, or often has."""
        match = self.match
        if match is None:
            return ()
        held = {column.field for column in match.columns}
        wanted = {"by", "depot", "instrument", "meter_unit", "like", "kind", "drive", "stage"}
        has_new = bool(self.outcome and self.outcome.understood.rows.vehicles) or any(
            match.fixed_text(name) for name in ("like", "depot")
        )
        found = []
        for field in fixed_fields_of(match.purpose):
            is_for_new = match.purpose == SERVICE and field.name in {"like", "depot", "meter_unit"}
            if field.name in held or (is_for_new and not has_new):
                continue
            if field.is_required or field.name in wanted:
                found.append(field)
        return tuple(found)

    def row_numbers(self) -> tuple[int, ...]:
        """Return the numbers of the rows that are shown."""
        if self.sheet is None or self.match is None:
            return ()
        return tuple(row.number for row in data_rows(self.sheet, self.match.header_row)[:ROWS_SHOWN])

    def lines(self) -> list[ColumnLine]:
        """Return the columns of the sheet as lines."""
        if self.sheet is None or self.match is None:
            return []
        rows = data_rows(self.sheet, self.match.header_row)[:ROWS_SHOWN]
        understood = None if self.outcome is None else self.outcome.understood
        fields = {field.name: field for field in self.fields}
        lines = []
        for column in self.match.columns:
            cells: list[str] = []
            wrong: set[int] = set()
            for count, row in enumerate(rows):
                key = (row.number, column.place)
                raw = text_of(row.cell(column.place))
                if understood is not None and key in understood.values and column.field:
                    field = fields.get(column.field)
                    raw = words.value_text(understood.values[key], column, field, self.shown)
                elif understood is not None and key in understood.wrong:
                    wrong.add(count)
                cells.append(raw)
            lines.append(
                ColumnLine(
                    place=column.place,
                    letters=column_letters(column.place),
                    header=column.header or _("(no header)"),
                    holds=words.field_text(column, self.fields),
                    unit=words.unit_text(column.unit) if column.unit else "",
                    cells=tuple(cells),
                    wrong=frozenset(wrong),
                    is_left_out=not column.field,
                )
            )
        return lines

    def subject(self) -> str:
        """Return what the page is about."""
        if self.book is None or self.sheet is None or self.match is None:
            return ""
        rows = len(data_rows(self.sheet, self.match.header_row))
        text = words.subject_text(self.book.file, self.sheet.name, rows, self.sheet.width)
        left_out = words.left_out_text(self.match)
        parts = [f"{text}."]
        if self.is_remembered:
            parts.append(_("Matched as the last time."))
        return " ".join([*parts, left_out]).strip()

    def doubts(self) -> tuple[Doubt, ...]:
        """Return what is questioned: of the file, and of the rows."""
        asked = () if self.book is None else self.book.doubts
        brought = None if self.outcome is None else self.outcome.brought
        return asked if brought is None else (*asked, *brought.doubts)
