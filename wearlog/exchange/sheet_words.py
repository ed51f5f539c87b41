"""Guesses what the columns of a sheet are, by the words of the trade in its headers and by its cells."""

import re
from dataclasses import replace
from difflib import SequenceMatcher
from functools import cache, lru_cache
from typing import Any

from wearlog import resources, units
from wearlog.exchange.cell_text import decimal_mark, order_of_days
from wearlog.exchange.matching import (
    MEASURE,
    OVER_PITCHES,
    RENEWED,
    SERVICE,
    ColumnMatch,
    Field,
    Match,
    Measure,
    data_rows,
    fields_of,
    header_cells,
    purposes,
    text_of,
)
from wearlog.exchange.measured_cells import spot_quantity
from wearlog.exchange.spreadsheet import Sheet
from wearlog.fleet.fitting import Position
from wearlog.fleet.quantity import Quantity
from wearlog.fleet.reading import Measurand, Method

#: A header further down than this is chosen by the person.
_ROWS_LOOKED_AT = 25
_CELLS_LOOKED_AT = 200
#: So many rows, spread over the sheet, tell the decimal mark.
_ROWS_FOR_MARKS = 1000
#: Fields that hold a day.
_DAYS = {"on", "fitted_on", "removed_on", "in_service_since", "retired_on", "calibration_due"}
_BRACKETS = re.compile(r"[\[(]\s*([^\[\]()]*?)\s*[\])]")
_PITCHES = re.compile(r"(\d{1,3})\s*(?:links?|pitches|pitch|pins?|rollers?)\b")
#: Headers less like a known one than this are not taken for it.
_LIKE = 0.86


@cache
def words() -> dict[str, Any]:
    """Return the words by which columns are known."""
    return resources.toml("import_words.toml")


def guess_header_row(sheet: Sheet) -> int:
    """Return the number of the row that most likely holds the headers: texts, and more under them."""
    best, best_score = sheet.rows[0].number if sheet.rows else 1, -1.0
    for place, row in enumerate(sheet.rows[:_ROWS_LOOKED_AT]):
        texts = [text_of(cell).lower() for cell in row.cells if isinstance(cell, str)]
        told = sum(_is_header(_plain(text)) for text in texts)
        score = told + 0.1 * len(texts) - 0.01 * place
        if score > best_score:
            best, best_score = row.number, score
    return best


@cache
def _phrases() -> frozenset[frozenset[str]]:
    """Return all that headers are known by, each as its words."""
    known = {phrase for phrases in words()["fields"].values() for phrase in phrases}
    known |= {phrase for measure in words()["measures"] for phrase in measure["words"]}
    known |= {_plain(column.header) for name in purposes() for column in _columns(name)}
    return frozenset(map(_words_of, known))


@lru_cache(maxsize=20_000)
def _is_header(plain: str) -> bool:
    held = _words_of(plain)
    return bool(held) and any(phrase <= held for phrase in _phrases())


def _columns(purpose: str) -> tuple[Any, ...]:
    return tuple(field.column for field in fields_of(purpose) if field.column is not None)


def guess_match(sheet: Sheet, header_row: int | None = None, purpose: str = "", title: str = "") -> Match:
    """Return the likeliest match of a sheet.

    Parameters
    ----------
    sheet : Sheet
        The sheet.
    header_row : int or None
        The number of the row with the headers; None to guess it.
    purpose : str
        What a row is; empty to guess it.
    title : str
        The name of file or sheet, which may be one of the import format.
    """
    row = guess_header_row(sheet) if header_row is None else header_row
    named = f"{title.lower().removesuffix('.csv').strip().replace(' ', '_')}.csv"
    tried = [purpose] if purpose else list(purposes())
    best, best_score = tried[0], -1.0
    for one in tried:
        match = _columns_matched(sheet, row, one)
        score = _score(match, one) + (3.0 if one == named else 0.0)
        if score > best_score:
            best, best_score = one, score
    match = _columns_matched(sheet, row, best)
    rows = data_rows(sheet, row)
    step = max(len(rows) // _ROWS_FOR_MARKS, 1)
    cells = [given.cell(column.place) for given in rows[::step] for column in match.columns]
    places = [column.place for column in match.columns if column.field in _DAYS]
    days = [given.cell(place) for given in rows for place in places]
    return replace(match, days=order_of_days(days), decimal=decimal_mark(cells))


def _score(match: Match, purpose: str) -> float:
    held = {column.field for column in match.columns if column.field}
    needed = {field.name for field in fields_of(purpose) if field.is_required}
    score = len([column for column in match.columns if column.field]) - 2.0 * len(needed - held)
    if purpose == SERVICE:
        score += 0.5 if any(column.field == MEASURE for column in match.columns) else -1.5
    return score


def _columns_matched(sheet: Sheet, header_row: int, purpose: str) -> Match:
    headers = header_cells(sheet, header_row)
    fields = fields_of(purpose)
    wished: list[tuple[float, int, Field]] = []
    for place, header in enumerate(headers):
        for field in fields:
            score = _likeness(header, field) if header else 0.0
            if score:
                wished.append((score, -place, field))
    columns = [ColumnMatch(place, header) for place, header in enumerate(headers)]
    taken: set[str] = set()
    for _likely, at, field in sorted(wished, key=lambda wish: wish[:2], reverse=True):
        place = -at
        if columns[place].field or (field.name in taken and not field.is_many):
            continue
        columns[place] = _filled(sheet, header_row, columns[place], field)
        taken.add(field.name)
    return Match(purpose, header_row, tuple(columns))


def _filled(sheet: Sheet, header_row: int, column: ColumnMatch, field: Field) -> ColumnMatch:
    unit = unit_in(column.header)
    cells = [row.cell(column.place) for row in data_rows(sheet, header_row)[:_CELLS_LOOKED_AT]]
    if field.name == MEASURE:
        measure, usual = measure_in(column.header, unit)
        unit = unit or usual
        numbers = [c for c in cells if isinstance(c, int | float) and not isinstance(c, bool)]
        # Cells shown in percent hold fractions.
        is_share = unit == "%" and bool(numbers) and max(map(abs, numbers)) < 0.05
        is_share = is_share and measure.measurand is Measurand.CHAIN_ELONGATION
        return replace(column, field=MEASURE, unit="1" if is_share else unit, measure=measure)
    if field.name == RENEWED:
        stage = stage_in(column.header)
        held = Measure(Measurand.CHAIN_ELONGATION, Method.ELONGATION_READ, stage)
        return replace(column, field=RENEWED, measure=held)
    known = field.column
    allowed = () if known is None else known.quantities
    fits = any(_is_unit(unit, quantity) for quantity in allowed)
    if known is not None and known.unit and not fits and not known.days:
        unit = known.unit if f"[{known.unit}]" in column.header else unit
    bare = _plain(column.header)
    if field.name == "meter" and not fits:
        unit = "h" if "hour" in bare else "mi" if "mile" in bare else "km" if bare in {"km", "kms"} else ""
        fits = bool(unit)
    return replace(column, field=field.name, unit=unit if fits else "")


def units_of(field: Field, measure: Measure | None) -> tuple[str, ...]:
    """Return the units in which the bare numbers of a column may be."""
    if field.name == MEASURE and measure is not None:
        quantity = spot_quantity(measure.method, measure.measurand)
        return () if quantity in {Quantity.GRADE, Quantity.COUNT} else units.units_for(quantity)
    if field.column is None:
        return ()
    return tuple(dict.fromkeys(unit for kind in field.column.quantities for unit in units.units_for(kind)))


# --- words in a header


@lru_cache(maxsize=20_000)
def _plain(header: str) -> str:
    """Return a header in lower case, without what stands in brackets and without marks."""
    bare = _BRACKETS.sub(" ", header.lower())
    return " ".join(re.sub(r"[^\w%/]+", " ", bare.replace("_", " ")).split())


def _holds(plain: str, phrase: str) -> bool:
    # Most phrases are told apart by their letters, without cutting them into words.
    return all(word in plain for word in _words_of(phrase)) and _words_of(phrase) <= _words_of(plain)


@lru_cache(maxsize=20_000)
def _words_of(text: str) -> frozenset[str]:
    return frozenset(text.split())


def _likeness(header: str, field: Field) -> float:
    return _alike(header, field.name, "" if field.column is None else field.column.header)


@lru_cache(maxsize=50_000)
def _alike(header: str, field: str, own: str) -> float:
    """Return how well a header fits a field: 0 for not at all, 3 for the format's own word."""
    plain = _plain(header)
    if own and plain == _plain(own):
        return 3.0
    if field == MEASURE:
        phrases = [phrase for one in words()["measures"] for phrase in one["words"]]
        if _PITCHES.search(header.lower()):
            return 2.6
    else:
        phrases = words()["fields"].get(field, [])
    held = [len(_words_of(phrase)) for phrase in phrases if _holds(plain, phrase)]
    if held:
        # The whole header known is worth more than one word of it.
        return min(1.0 + max(held) / max(len(_words_of(plain)), 1), 2.0) + 0.2 * (max(held) - 1)
    if field == MEASURE:
        return 0.0
    near = max((_nearness(plain, phrase) for phrase in phrases if phrase[0] == plain[:1]), default=0.0)
    return near if near >= _LIKE else 0.0


@lru_cache(maxsize=20_000)
def _nearness(plain: str, phrase: str) -> float:
    """Return how near a mistyped header is to a phrase; slips in the first letter are rare."""
    matcher = SequenceMatcher(None, plain, phrase)
    if matcher.real_quick_ratio() < _LIKE or matcher.quick_ratio() < _LIKE:
        return 0.0
    return matcher.ratio()


def _is_unit(unit: str, quantity: Quantity) -> bool:
    return bool(unit) and unit in units.units_for(quantity)


def unit_in(header: str) -> str:
    """Return the unit that a header names, in brackets or as its last word, as the program writes it.

    Examples
    --------
    >>> unit_in("Odo (miles)"), unit_in("slack [mm]"), unit_in("Stretch %"), unit_in("Meter")
    ('mi', 'mm', '%', '')
    """
    bracketed = [_unit_spelt(text.lower(), text) for text in reversed(_BRACKETS.findall(header))]
    words_ = header.replace("_", " ").split()
    # A last word is only taken for a unit if it is a sign: a meter is no metre.
    last = [_unit_spelt("", words_[-1])] if len(words_) > 1 else []
    return next((unit for unit in (*bracketed, *last) if unit), "")


@cache
def _unit_spelt(also: str, sign: str) -> str:
    """Return the unit with this sign, or with this other spelling in lower case; empty for none."""
    for quantity in Quantity:
        if quantity in {Quantity.COUNT, Quantity.GRADE}:
            continue
        for name, row in resources.toml("units.toml")[quantity.value]["units"].items():
            if name != "1" and (sign == name or also in {name.lower(), *row.get("also", ())}):
                return str(name)
    return ""


def stage_in(header: str) -> str:
    """Return the stage that a header names, empty for none."""
    plain = _plain(header)
    told = words()["stages"].items()
    return next((stage for stage, known in told if any(_holds(plain, one) for one in known)), "")


def measure_in(header: str, unit: str) -> tuple[Measure, str]:
    """Return what a header says was measured, and its usual unit."""
    plain = _plain(header)
    pitches = _PITCHES.search(header.lower())
    best: dict[str, Any] = words()["measures"][0]
    best_score = 0.0
    for one in words()["measures"]:
        known = max((len(phrase) for phrase in one["words"] if _holds(plain, phrase)), default=0)
        score = float(known)
        score += 8.0 if pitches and one.get("over") else 0.0
        score += 4.0 if unit and unit in one.get("units", ()) else 0.0
        score -= 6.0 if unit and unit not in one.get("units", ()) else 0.0
        if score > best_score:
            best, best_score = one, score
    method, measurand = Method(best["method"]), Measurand(best["measurand"])
    position = None
    if measurand in {Measurand.SPROCKET_CONDITION, Measurand.SPROCKET_TOOTH_THICKNESS}:
        told = words()["positions"].items()
        position = next(
            (Position(name) for name, known in told if any(_holds(plain, one) for one in known)), None
        )
    counted = int(pitches[1]) if pitches and method in OVER_PITCHES else None
    usual = best.get("units", [""])[0]
    return Measure(measurand, method, stage_in(header), position, counted), usual
