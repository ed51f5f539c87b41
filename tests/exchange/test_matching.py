"""A workshop's own sheet, matched by its headers: what is understood, what is asked, what is refused."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.makers.import_folder import kept, new_bench, write_folder
from wearlog.exchange.csv_folder import read_import
from wearlog.exchange.format_book import read_all
from wearlog.exchange.matched_rows import missing, understand
from wearlog.exchange.matching import (
    SERVICE,
    DayOrder,
    Measure,
    fields_of,
    fingerprint,
    match_from_text,
    match_to_text,
    purposes,
)
from wearlog.exchange.sheet_words import guess_header_row, guess_match, measure_in, unit_in
from wearlog.exchange.spreadsheet import Sheet, SheetRow, kept_rows
from wearlog.fleet.fitting import Installation, Position, RemovalReason
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.reading import Measurand, Method, Reading
from wearlog.fleet.service import Task, Visit
from wearlog.fleet.vehicle import MeterUnit, Stage, Vehicle
from wearlog.workshop.bring_in import bring_in, try_in
from wearlog.workshop.import_matches import (
    MOST_MATCHES,
    forget_match,
    known_for_import,
    remember_match,
)
from wearlog.workshop.undo import undo


@pytest.fixture
def bench(tmp_path):
    made = new_bench(tmp_path / "bench.sqlite")
    yield made
    made.database.close()


@pytest.fixture
def fleet(bench, tmp_path):
    """The small fleet of the tests, brought in."""
    bring_in(bench, read_import([write_folder(tmp_path / "fleet")]))
    return bench


def sheet(*rows, name=""):
    """Return a sheet; None is an empty cell."""
    return Sheet(name, kept_rows([SheetRow(n, tuple(row)) for n, row in enumerate(rows, start=1)]))


def understood(bench, given, **fixed):
    known = known_for_import(bench)
    match = guess_match(given)
    for name, text in fixed.items():
        match = match.with_fixed(name, text)
    return match, understand(given, match, known, file="book.csv"), known


def said(found):
    return [str(problem) for problem in found.problems]


BOOK = (
    ["Our book"],
    ["Bike", "Date", "Odo (km)", "By", "Stretch %", "Slack (mm)", "New chain", "Cleaned", "Lube", "Notes"],
    ["LR-7", "14.3.2026", "1 240", "Ada", "0,15", "34", None, "x", "dry wax", "ok"],
    ["LR-7", "2.5.2026", "2.480,5", "Ada", "0,32", "40", "x", "n", "yes", None],
    ["LR-7", "2.7.2026", "3900", "Bo", "0,1", None, None, None, None, "squeaks"],
)


# --- headers


@pytest.mark.parametrize(
    ("header", "unit"),
    [
        ("Odo (miles)", "mi"),
        ("km [km]", "km"),
        ("Wear in %", "%"),
        ("Chain 10 links mm", "mm"),
        ("Torque (Nm)", "N.m"),
        ("Meter", ""),
        ("Notes (see below)", ""),
    ],
)
def test_a_header_names_its_unit(header, unit):
    assert unit_in(header) == unit


@pytest.mark.parametrize(
    ("header", "unit", "measure"),
    [
        ("Chain stretch %", "%", Measure(Measurand.CHAIN_ELONGATION, Method.ELONGATION_READ)),
        (
            "Length over 20 pitches (mm)",
            "mm",
            Measure(Measurand.CHAIN_ELONGATION, Method.PIN_TO_PIN, pitches=20),
        ),
        (
            "Primary chain 12 links over rollers",
            "",
            Measure(Measurand.CHAIN_ELONGATION, Method.OVER_ROLLERS, "primary drive", pitches=12),
        ),
        ("Free play final (mm)", "mm", Measure(Measurand.SLACK, Method.DIRECT, "final drive")),
        ("Belt frequency", "Hz", Measure(Measurand.BELT_TENSION, Method.SPAN_FREQUENCY)),
        (
            "Rear sprocket",
            "",
            Measure(Measurand.SPROCKET_CONDITION, Method.GRADE, position=Position.DRIVEN),
        ),
    ],
)
def test_a_header_says_what_was_measured(header, unit, measure):
    assert measure_in(header, unit)[0] == measure


def test_headers_are_found_under_a_title():
    assert guess_header_row(sheet(*BOOK)) == 2


def test_the_formats_own_headers_are_matched_whole():
    from wearlog.exchange.columns import FORMS

    for name, form in FORMS.items():
        given = sheet([column.title for column in form.columns])
        match = guess_match(given, 1, "", name.removesuffix(".csv"))
        assert match.purpose == name
        assert [column.field for column in match.columns] == [column.field for column in form.columns]


def test_a_list_of_vehicles_is_known_as_one(bench):
    given = sheet(
        ["Fleet no", "Description", "Type", "Base", "Unit of meter", "Bought"],
        ["LR-1", "patrol", "e-moto", "Upper", "miles", date(2024, 1, 2)],
    )
    match, found, known = understood(bench, given)
    assert match.purpose == "vehicles.csv"
    assert not said(found)
    assert not missing(match, known, found)
    assert bring_in(bench, found.rows).added == {"vehicles": 1}
    assert kept(bench, Vehicle)[0].meter_unit is MeterUnit.MILES


# --- days and decimals


def test_one_day_that_can_be_read_in_one_way_tells_for_all():
    given = sheet(["Bike", "Date", "km"], ["a", "3/4/2026", "1"], ["a", "14/4/2026", "2"])
    assert guess_match(given).days is DayOrder.DAY_FIRST
    given = sheet(["Bike", "Date", "km"], ["a", "3/4/2026", "1"], ["a", "4/14/2026", "2"])
    assert guess_match(given).days is DayOrder.MONTH_FIRST


def test_days_that_can_be_read_in_two_ways_are_asked_about(bench):
    given = sheet(["Bike", "Date", "km", "Stretch %"], ["a", "3/4/2026", "1", "0.5"])
    _match, found, _known = understood(bench, given)
    (told,) = said(found)
    assert told.startswith("book.csv row 2, Date: “3/4/2026” can be read in two ways.")


def test_a_number_that_can_be_read_in_two_ways_is_asked_about(bench):
    given = sheet(["Bike", "Date", "km", "Stretch %"], ["a", "2026-03-04", "12,362", "1"])
    match, found, _known = understood(bench, given)
    assert match.decimal == ""
    assert "row 2, km: “12,362” can be read as 12.362 or as 12362" in said(found)[0]
    # A decimal comma elsewhere tells.
    given = sheet(["Bike", "Date", "km", "Stretch %"], ["a", "2026-03-04", "12.362", "0,5"])
    match, found, _known = understood(bench, given)
    assert found.rows.visits[0].meter.value == 12362.0


def test_fractions_shown_in_percent_are_fractions(bench):
    given = sheet(["Bike", "Date", "km", "Stretch %"], ["a", date(2026, 3, 4), 100, 0.0045])
    _match, found, _known = understood(bench, given)
    assert found.rows.readings[0].spots[0].value == pytest.approx(0.0045)


def test_days_may_be_numbers_of_a_spreadsheet(bench):
    given = sheet(["Bike", "Date", "km", "Stretch %"], ["a", 46095.0, 100, 0.5])
    _match, found, _known = understood(bench, given)
    assert found.rows.visits[0].on == date(2026, 3, 14)


# --- a book of services


def test_a_book_of_services_brings_vehicles_that_are_not_known(bench):
    match, found, known = understood(bench, sheet(*BOOK), like="belt primary", depot="Upper Depot")
    assert match.purpose == SERVICE
    assert not said(found)
    assert not missing(match, known, found)
    assert try_in(bench, found.rows).rows_added == bring_in(bench, found.rows).rows_added
    (vehicle,) = kept(bench, Vehicle)
    assert (vehicle.tag, vehicle.depot) == ("LR-7", "Upper Depot")
    assert [stage.name for stage in kept(bench, Stage)] == ["primary drive", "final drive"]
    visits = kept(bench, Visit)
    assert [[(task.task, task.care) for task in visit.tasks] for visit in visits] == [
        [(Task.CLEANED, ""), (Task.LUBRICATED, "dry wax")],
        [(Task.LUBRICATED, "")],
        [],
    ]
    assert visits[1].total_use == 2480.5
    readings = [r for r in kept(bench, Reading) if r.measurand is Measurand.CHAIN_ELONGATION]
    assert [(r.was_cleaned, r.value) for r in readings] == [
        (True, pytest.approx(0.0015)),
        (False, pytest.approx(0.0032)),
        (None, pytest.approx(0.001)),
    ]
    # On the day of the new chain the reading was the old one's; the next is the new one's.
    assert readings[1].installation_id == readings[0].installation_id != readings[2].installation_id
    chains = [
        i
        for i in kept(bench, Installation)
        if i.position is Position.RUN and i.id in {r.installation_id for r in readings}
    ]
    assert [(i.removed_on, i.removal_reason) for i in chains] == [
        (date(2026, 5, 2), RemovalReason.WORN),
        (None, None),
    ]


def test_the_same_book_adds_nothing_and_a_longer_one_only_what_is_new(bench):
    _match, found, _known = understood(bench, sheet(*BOOK), like="belt primary", depot="Upper Depot")
    bring_in(bench, found.rows)
    _match, found, _known = understood(bench, sheet(*BOOK))
    assert bring_in(bench, found.rows).added == {}
    more = ["LR-7", "2.9.2026", "5100", "Bo", "0,9", None, "x", None, None, None]
    _match, found, _known = understood(bench, sheet(*BOOK, more))
    assert not said(found)
    added = bring_in(bench, found.rows).added
    assert added == {"installations": 1, "visits": 1, "readings": 1, "meter entries implied": 1}
    runs = [i for i in kept(bench, Installation) if i.position is Position.RUN and i.removed_on is None]
    assert len(runs) == 2


def test_an_import_is_undone_whole_and_can_be_repeated(bench):
    _match, found, _known = understood(bench, sheet(*BOOK), like="belt primary", depot="Upper Depot")
    brought = bring_in(bench, found.rows)
    undo(bench, brought.changes)
    with bench.database.reading() as records:
        for kind in (Vehicle, Stage, Installation, Visit, Reading):
            assert records.count(kind, live=True) == 0
    _match, found, _known = understood(bench, sheet(*BOOK), like="belt primary", depot="Upper Depot")
    assert bring_in(bench, found.rows).rows_added == brought.rows_added - brought.added["part_types"]


def test_known_vehicles_need_nothing_said(fleet):
    given = sheet(
        ["Bike", "Date", "Meter", "Chain 1 20 links mm", "Chain 2 20 links mm", "Belt Hz primary"],
        ["LR-001", "2026-07-01", 2700, 254.9, 255.2, 61.5],
        ["LC-01", "2026-07-01", 900, 254.3, 254.1, None],
        ["LT-01", "2026-07-01", 130.5, 254.3, None, None],
    )
    match, found, known = understood(fleet, given)
    assert not said(found)
    assert not missing(match, known, found)
    brought = bring_in(fleet, found.rows)
    assert brought.added["readings"] == 4
    by_vehicle = {
        row.vehicle: row for row in found.rows.readings if row.measurand is Measurand.CHAIN_ELONGATION
    }
    # Two columns that say the same are two spots of one reading.
    assert [spot.value for spot in by_vehicle["LR-001"].spots] == [254.9, 255.2]
    kept_meters = {
        visit.vehicle_id: visit.total_use for visit in kept(fleet, Visit) if visit.on == date(2026, 7, 1)
    }
    # Bare meter values count as the vehicle's own meter: miles there, after a replaced meter here.
    assert sorted(round(use, 1) for use in kept_meters.values()) == [130.5, 1448.4, 5700.0]


def test_what_is_missing_is_said_before_the_rows(bench):
    given = sheet(["Bike", "Stretch %", "Chain length (mm)", "Sprocket"], ["a", "0.5", "254", "1"])
    match = guess_match(given, 1, SERVICE)
    known = known_for_import(bench)
    told = [str(problem) for problem in missing(match, known, understand(given, match, known, file="b"))]
    assert any("No column holds “date”" in text for text in told)
    assert any("over how many pitches “Chain length (mm)”" in text for text in told)
    assert any("which sprocket “Sprocket”" in text for text in told)


def test_problems_name_row_and_column_of_the_sheet(fleet):
    given = sheet(
        ["Bike", "Date", "Km", "Stretch % (final)"],
        ["LR-001", "2026-02-30", "2600", "0.5"],
        [None, "2026-03-01", "2600", "0.5"],
        ["LR-001", "2026-03-02", "2600", "worn"],
    )
    _match, found, _known = understood(fleet, given)
    places = [problem.where for problem in found.problems]
    assert places == [
        "book.csv row 2, Date",
        "book.csv row 3, Bike",
        "book.csv row 4, Stretch % (final)",
    ]
    # What the workshop finds goes by the same names.
    given = sheet(["Bike", "Date", "Km", "Stretch % (final)"], ["LR-001", "2026-07-02", "1", "0.5"])
    _match, found, _known = understood(fleet, given)
    with pytest.raises(WearlogError, match=r"book\.csv row 2, Km"):
        try_in(fleet, found.rows)


def test_a_try_leaves_nothing_behind(fleet):
    before = fleet.data_version()
    given = sheet(["Bike", "Date", "Km", "Stretch %"], ["LR-001", "2026-07-02", "2700", "0.5"])
    _match, found, _known = understood(fleet, given)
    assert try_in(fleet, found.rows).changes is None
    assert fleet.data_version() == before
    assert bring_in(fleet, found.rows).added["readings"] == 1


# --- remembered matches


def test_a_match_is_remembered_under_its_headers(bench):
    given = sheet(*BOOK)
    match = guess_match(given).with_fixed("depot", "Upper")
    mark = fingerprint(given, match.header_row)
    remember_match(bench, mark, match_to_text(match), "book.csv")
    other = sheet([" BIKE ", *BOOK[1][1:]], *BOOK[2:])
    assert fingerprint(other, 1) == mark
    again = match_from_text(known_for_import(bench).matches[mark], other, 1)
    assert (again.columns, again.fixed, again.header_row) == (match.columns, match.fixed, 1)
    forget_match(bench, mark)
    assert known_for_import(bench).matches == {}


def test_only_so_many_matches_are_kept(bench):
    for n in range(MOST_MATCHES + 3):
        remember_match(bench, str(n), "{}", "book.csv")
    assert next(iter(known_for_import(bench).matches)) == "3"
    assert len(known_for_import(bench).matches) == MOST_MATCHES


@pytest.mark.parametrize("text", ["", "{", "[]", "{}", '{"purpose": "x"}', "null"])
def test_a_match_that_can_not_be_read_is_no_match(text):
    assert match_from_text(text, sheet(*BOOK), 2) is None


# --- the format in a spreadsheet


def test_a_spreadsheet_in_the_format_brings_what_csv_brings(bench, tmp_path):
    import csv

    import openpyxl

    folder = write_folder(tmp_path / "fleet")
    book = openpyxl.Workbook()
    book.remove(book.active)
    for file in sorted(folder.glob("*.csv")):
        given = book.create_sheet(file.stem)
        for row in csv.reader(file.read_text(encoding="utf-8").splitlines()):
            given.append([float(cell) if cell.replace(".", "", 1).isdigit() else cell for cell in row])
    path = tmp_path / "fleet.xlsx"
    book.save(path)
    bring_in(bench, read_all([path], known_for_import(bench)))
    again = bring_in(bench, read_all([folder], known_for_import(bench)))
    assert again.added == {}
    book.create_sheet("jokes").append(["a"])
    book["stages"]["C1"] = "ordre"
    book.save(path)
    with pytest.raises(WearlogError) as caught:
        read_all([path], known_for_import(bench))
    told = str(caught.value)
    assert "fleet.xlsx jokes: There is no such sheet" in told
    assert "fleet.xlsx stages row 1: “ordre” is not a column here." in told


# --- anything at all


ANY_CELL = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**20), 10**20),
    st.floats(),
    st.dates(),
    st.text(max_size=12),
    st.sampled_from(
        ["LR-001", "2026-03-14", "3/4/2026", "12,362", "1e309", "0.5 in; 0.75 out", "=1+1", "%", "1/0"]
    ),
)
ANY_HEADER = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        ["Bike", "Date", "km", "Stretch %", "Chain 20 links (mm)", "Slack", "New chain", "Lube", "Notes"]
    ),
)


@settings(max_examples=150)
@given(
    headers=st.lists(ANY_HEADER, min_size=1, max_size=8),
    rows=st.lists(st.lists(ANY_CELL, max_size=9), max_size=5),
    purpose=st.sampled_from(["", *purposes()]),
)
def test_whatever_a_sheet_holds_it_is_understood_or_refused_by_row(shared_fleet, headers, rows, purpose):
    given = sheet(headers, *rows)
    known = known_for_import(shared_fleet)
    before = shared_fleet.data_version()
    match = guess_match(given, 1, purpose)
    assert {column.field for column in match.columns} - {""} <= {
        field.name for field in fields_of(match.purpose)
    }
    found = understand(given, match, known, file="any.csv")
    refused = list(found.problems)
    try:
        try_in(shared_fleet, found.rows)
    except WearlogError as error:
        refused += error.problems
    assert all("any.csv" in problem.where for problem in refused)
    assert shared_fleet.data_version() == before


@pytest.fixture(scope="module")
def shared_fleet(tmp_path_factory):
    """A small fleet that nothing is added to."""
    folder = tmp_path_factory.mktemp("shared")
    bench = new_bench(folder / "bench.sqlite")
    bring_in(bench, read_import([write_folder(folder / "fleet")]))
    yield bench
    bench.database.close()
