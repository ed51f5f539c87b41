"""Rows of somebody's own sheet, matched, as rows of an import; problems by its rows and columns."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from gettext import gettext as _
from typing import Any

from wearlog.exchange.cell_text import format_text, words_for
from wearlog.exchange.cells import BadCell
from wearlog.exchange.columns import FORMS, Column
from wearlog.exchange.matched_services import Services, SheetWhere
from wearlog.exchange.matching import (
    MEASURE,
    OVER_PITCHES,
    SERVICE,
    ColumnMatch,
    Field,
    Match,
    data_rows,
    fields_of,
    fixed_fields_of,
)
from wearlog.exchange.spreadsheet import Sheet, SheetRow
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.fleet.progress import Progress, Silent
from wearlog.fleet.reading import Measurand, Method
from wearlog.workshop.import_matches import KnownForImport
from wearlog.workshop.import_rows import ImportRows

#: More problems than this help nobody; the rest is counted.
MOST_PROBLEMS = 500
_STEP = 500


@dataclass(slots=True)
class Understood:
    """What a match makes of a sheet.

    Attributes
    ----------
    rows
        For the workshop; only those without a problem.
    problems
        What can't be read, each with its row and column.
    left_out
        Problems beyond those that are listed.
    values
        What was read, by row number and place of the column: the value as the import takes it.
    wrong
        Row number and place of the cells that can't be read.
    """

    rows: ImportRows = field(default_factory=ImportRows)
    problems: list[Problem] = field(default_factory=list)
    left_out: int = 0
    values: dict[tuple[int, int], object] = field(default_factory=dict)
    wrong: set[tuple[int, int]] = field(default_factory=set)

    def say(self, what: str, where: str, todo: str) -> None:
        """Collect a problem."""
        if len(self.problems) < MOST_PROBLEMS:
            self.problems.append(Problem(what, where, todo))
        else:
            self.left_out += 1

    def raise_if_any(self) -> None:
        """Raise all problems.

        Raises
        ------
        WearlogError
            If there is at least one.
        """
        if self.left_out:
            what = _("{n} more problems are not listed.").format(n=self.left_out)
            raise WearlogError(*self.problems, Problem(what, "", _("Mend those above first.")))
        if self.problems:
            raise WearlogError(*self.problems)


def missing(match: Match, known: KnownForImport, understood: Understood | None = None) -> tuple[Problem, ...]:
    """Return what must be said before the sheet can be brought in at all, apart from its rows."""
    held = {column.field for column in match.columns}
    found = [
        Problem(
            _("No column holds “{field}”.").format(field=one.title),
            one.title,
            _("Choose the column that does, or give one value for all rows."),
        )
        for one in fields_of(match.purpose)
        if one.is_required and one.name not in held and not match.fixed_text(one.name)
    ]
    for column in match.columns:
        found += _unfinished(column)
    if understood is not None and understood.rows.vehicles and match.purpose == SERVICE:
        lacking = [name for name in ("like", "depot") if not match.fixed_text(name)]
        n = len(understood.rows.vehicles)
        if lacking:
            found.append(
                Problem(
                    _("{n} vehicles are not known yet.").format(n=n)
                    if n > 1
                    else _("The vehicle {tag} is not known yet.").format(tag=understood.rows.vehicles[0].tag),
                    "",
                    _("Say what new vehicles are like and where they belong, or bring them in first."),
                )
            )
    named = {column.measure.instrument for column in match.columns if column.measure is not None}
    found += [
        Problem(
            _("There is no instrument {name}.").format(name=name),
            name,
            _("Add it in Settings, or choose another."),
        )
        for name in sorted(named - set(known.instruments) - {""})
    ]
    return tuple(found)


def _unfinished(column: ColumnMatch) -> Iterator[Problem]:
    measure = column.measure
    if column.field != MEASURE or measure is None:
        return
    if measure.method in OVER_PITCHES and measure.pitches is None:
        yield Problem(
            _("It is not said over how many pitches “{header}” was measured.").format(header=column.header),
            column.header,
            _("Give the number of pitches of this column."),
        )
    if measure.method is Method.GAUGE and not measure.instrument:
        yield Problem(
            _("It is not said with which gauge “{header}” was measured.").format(header=column.header),
            column.header,
            _("Choose the gauge; its stamps stand in Settings."),
        )
    needs_position = {Measurand.SPROCKET_CONDITION, Measurand.SPROCKET_TOOTH_THICKNESS}
    if measure.measurand in needs_position and measure.position is None:
        yield Problem(
            _("It is not said which sprocket “{header}” is about.").format(header=column.header),
            column.header,
            _("Choose driver or driven."),
        )


def understand(
    sheet: Sheet,
    match: Match,
    known: KnownForImport,
    *,
    file: str,
    progress: Progress | None = None,
) -> Understood:
    """Return what a match makes of a sheet; nothing is raised but what stops the work.

    Parameters
    ----------
    sheet : Sheet
        The sheet.
    match : Match
        What its columns are.
    known : KnownForImport
        What the workshop has.
    file : str
        Its name, for messages.
    progress : Progress or None
        Told now and then; may stop the work.

    Raises
    ------
    Cancelled
        If the person stopped it.
    """
    progress = progress or Silent()
    title = f"{file} {sheet.name}".strip()
    found = Understood()
    rows = data_rows(sheet, match.header_row)
    reader = _Rows(match, title, found)
    services = Services(match, known, found.rows, found.say) if match.purpose == SERVICE else None
    for count, row in enumerate(rows):
        if count % _STEP == 0:
            progress.step(count, len(rows), _("Understanding {file}").format(file=title))
        values = reader.values(row)
        if services is not None:
            services.take(row, reader.where(row.number), values, found)
        elif values is not None:
            _add(found, match.purpose, reader.where(row.number), values)
    if services is not None:
        services.finish()
    return found


def _add(found: Understood, purpose: str, where: SheetWhere, values: Mapping[str, Any]) -> None:
    form = FORMS[purpose]
    getattr(found.rows, form.rows).append(form.make(where=where, **values))


class _Rows:
    """Reads the cells of rows that one column of the format reads each."""

    def __init__(self, match: Match, title: str, found: Understood) -> None:
        self.match = match
        self.title = title
        self.found = found
        fields = {one.name: one for one in fields_of(match.purpose)}
        self.needed = {one.name for one in fields.values() if one.is_required}
        placed = {column.field: column for column in match.columns if column.field}
        self.headers = tuple(
            (one.column.header, placed[one.name].header)
            for one in fields.values()
            if one.column is not None and one.name in placed
        )
        self.fixed = self._read_fixed({one.name for one in fields.values()} - set(placed))
        self.placed: list[tuple[Field, Column, list[ColumnMatch]]] = []
        for one in fields.values():
            held = [column for column in match.columns if column.field == one.name]
            if one.column is not None and held:
                self.placed.append((one, one.column, held))

    def where(self, row: int) -> SheetWhere:
        """Return the place of a row."""
        return SheetWhere(self.title, row, self.headers)

    def _read_fixed(self, lacking: set[str]) -> dict[str, Any]:
        values: dict[str, Any] = {}
        for one in fixed_fields_of(self.match.purpose):
            text = self.match.fixed_text(one.name).strip()
            if not text or one.column is None or one.name not in lacking:
                continue
            try:
                values[one.name] = read_cell(text, one.column, "", values, self.match)
            except BadCell as bad:
                where = _("{file}, {field} for all rows").format(file=self.title, field=one.title)
                self.found.say(bad.what, where, bad.todo)
        return values

    def values(self, row: SheetRow) -> dict[str, Any] | None:
        """Return what a row says; None, with its problems said, if a cell can't be read."""
        values = dict(self.fixed)
        is_good = True
        for one, column, held in self.placed:
            said = []
            for matched in held:
                cell = row.cell(matched.place)
                if cell is None:
                    continue
                try:
                    value = read_cell(cell, column, matched.unit, values, self.match)
                except BadCell as bad:
                    self.bad(row.number, matched, bad)
                    is_good = False
                    continue
                if value != "":
                    self.found.values[row.number, matched.place] = value
                    said.append(value)
            if said:
                values[one.name] = "; ".join(said) if one.is_many else said[0]
            elif one.is_required and is_good and one.name not in values:
                lack = BadCell(_("The cell is empty, but is needed."), _("Fill it in."))
                self.bad(row.number, held[0], lack)
                is_good = False
        return values if is_good and self.needed <= values.keys() else None

    def bad(self, row: int, matched: ColumnMatch, bad: BadCell) -> None:
        """Say what is wrong with a cell."""
        self.found.wrong.add((row, matched.place))
        where = _("{file} row {row}, {column}").format(file=self.title, row=row, column=matched.header)
        self.found.say(bad.what, where, bad.todo)


def read_cell(cell: Any, column: Column, unit: str, values: Mapping[str, Any], match: Match) -> Any:
    """Return the value of a cell as a column of the format reads it; an empty text for an empty cell.

    Raises
    ------
    BadCell
        If it can't be read.
    """
    text = format_text(cell, column, match.days, match.decimal).strip()
    if not text:
        return ""
    try:
        return column.read(text, unit, values)
    except BadCell:
        for word in words_for(text):
            try:
                return column.read(word, unit, values)
            except BadCell:
                continue
        raise
