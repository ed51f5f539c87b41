"""The due list as a file, read again by programs that did not write it."""

import csv
import io
import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import icalendar
import openpyxl
import pypdf
import pytest

from tests.makers.due import due_line, due_list, due_of
from tests.makers.fleet import TODAY
from wearlog.drawing.words import action_text, reason_text
from wearlog.exchange.due_cells import due_headers
from wearlog.exchange.due_files import due_table_text, write_due
from wearlog.exchange.files import write_whole
from wearlog.fleet.problem import ProblemKind, WearlogError
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.state import State
from wearlog.workshop.due_snapshot import Action

SHOWN = ShownUnits()


@pytest.fixture
def snapshot():
    """Four visits: one overdue, one with two tasks, one in another depot, one on an hour meter."""
    return due_list(
        due_line(1, TODAY - timedelta(days=3), state=State.PAST_LIMIT, group=1),
        due_line(2, TODAY + timedelta(days=10), group=2),
        due_line(2, TODAY + timedelta(days=14), Action.TASK, group=2, group_on=TODAY + timedelta(days=10)),
        due_line(3, TODAY + timedelta(days=20), Action.ADJUST, depot="Harbour Depot", group=3),
        replace(
            due_line(4, TODAY + timedelta(days=30), tag="LT-04", group=4), use_unit="h", likely_use=210.25
        ),
    )


def written(snapshot, form, shown=SHOWN) -> bytes:
    stream = io.BytesIO()
    write_due(snapshot, stream, form, shown)
    return stream.getvalue()


# --- CSV -------------------------------------------------------------------------------------------------


def rows_of(snapshot, shown=SHOWN) -> list[dict[str, str]]:
    text = written(snapshot, "csv", shown).decode("utf-8")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_csv_has_one_row_a_line(snapshot):
    rows = rows_of(snapshot)
    assert [row["vehicle"] for row in rows] == ["LR-001", "LR-002", "LR-002", "LR-003", "LT-04"]
    first, line = rows[1], snapshot.lines[1]
    assert first["due on"] == line.due_on.isoformat()
    assert first["action"] == action_text(line)
    assert first["reason"] == reason_text(line, SHOWN)
    assert first["visit"] == "2"
    assert float(first["likely [km]"]) == line.likely_use
    assert float(first["chance past limit now [%]"]) == pytest.approx(4.0)


def test_csv_gives_distances_in_the_units_of_the_seat(snapshot):
    # 1 mi = 1.609344 km exactly: NIST SP 811 (2008), appendix B; 13 140 km are 8164.8 mi.
    row = rows_of(snapshot, ShownUnits(distance="mi"))[1]
    assert float(row["likely [mi]"]) == 8165


def test_csv_keeps_hours_in_columns_of_their_own(snapshot):
    row = rows_of(snapshot)[4]
    assert (row["likely [km]"], row["likely [h]"]) == ("", "210.2")


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_no_cell_of_a_csv_is_a_formula(snapshot, start):
    tag = f'{start}HYPERLINK("http://example.invalid")'
    row = rows_of(due_list(replace(snapshot.lines[0], tag=tag)))[0]
    assert row["vehicle"] == f"'{tag}"


def test_a_csv_file_is_known_as_utf_8_by_its_mark(tmp_path, snapshot):
    file = tmp_path / "due.csv"
    write_due(snapshot, file, "csv", SHOWN)
    assert file.read_bytes().startswith(b"\xef\xbb\xbf")
    with file.open(encoding="utf-8-sig", newline="") as stream:
        assert next(csv.reader(stream)) == due_headers(SHOWN)


# --- JSON ------------------------------------------------------------------------------------------------


def test_json_has_every_field_with_its_unit_in_the_name(snapshot):
    data = json.loads(written(snapshot, "json", ShownUnits(distance="mi")))
    assert data["as_of"] == TODAY.isoformat()
    line, told = snapshot.lines[1], data["lines"][1]
    assert told["vehicle"] == "LR-002"
    assert told["depot"] == line.depot
    assert told["stage"] == "final drive"
    assert told["part"] == line.part_text
    assert told["action"] == "replace"
    assert (told["early_distance_km"], told["likely_distance_km"], told["late_distance_km"]) == (
        line.early_use,
        line.likely_use,
        line.late_use,
    )
    assert told["early_on"] == line.early_on.isoformat()
    assert told["likely_on"] == line.likely_on.isoformat()
    assert told["late_on"] == line.late_on.isoformat()
    assert told["order_by"] == line.order_by.isoformat()
    assert told["probability_past_limit_now"] == pytest.approx(0.04)
    assert told["reason"] == reason_text(line, SHOWN)
    assert told["visit_group"] == 2
    assert told["visit_on"] == (TODAY + timedelta(days=10)).isoformat()


def test_json_of_an_hour_meter_speaks_of_hours(snapshot):
    told = json.loads(written(snapshot, "json"))["lines"][4]
    assert told["likely_running_time_h"] == 210.25
    assert told["likely_distance_km"] is None


def test_json_knows_no_infinity(snapshot):
    line = replace(snapshot.lines[0], late_use=float("inf"), past_probability=float("nan"))
    told = json.loads(written(due_list(line), "json"))["lines"][0]
    assert told["late_distance_km"] is None
    assert told["probability_past_limit_now"] is None


# --- spreadsheet -----------------------------------------------------------------------------------------


def sheet_of(snapshot):
    return openpyxl.load_workbook(io.BytesIO(written(snapshot, "xlsx"))).active


def test_the_sheet_has_real_dates_and_numbers(snapshot):
    sheet = sheet_of(snapshot)
    head = [cell.value for cell in sheet[1]]
    assert head == due_headers(SHOWN)
    second = dict(zip(head, [cell.value for cell in sheet[3]], strict=True))
    line = snapshot.lines[1]
    assert second["due on"] == datetime(line.due_on.year, line.due_on.month, line.due_on.day)  # noqa: DTZ001
    assert sheet.cell(3, head.index("due on") + 1).is_date
    assert second["likely [km]"] == 13140
    assert second["vehicle"] == "LR-002"
    assert sheet.max_row == 1 + len(snapshot.lines)


def test_the_sheet_keeps_its_header_in_sight_and_can_be_filtered(snapshot):
    sheet = sheet_of(snapshot)
    assert sheet.freeze_panes == "C2"
    assert sheet.auto_filter.ref == f"A1:U{1 + len(snapshot.lines)}"


def test_the_sheet_is_one_page_wide_on_paper(snapshot):
    sheet = sheet_of(snapshot)
    assert sheet.page_setup.orientation == "landscape"
    assert sheet.page_setup.paperSize == 9  # A4: ECMA-376 part 1, 18.3.1.63
    assert sheet.page_setup.fitToHeight == 0
    assert sheet.page_setup.fitToWidth in {None, 1}  # one page wide where nothing is said: same clause
    assert sheet.print_title_rows == "$1:$1"


def test_no_cell_of_a_sheet_is_a_formula(snapshot):
    sheet = sheet_of(due_list(replace(snapshot.lines[0], tag="=1+1", depot="@SUM(A1)")))
    cells = {cell.value: cell.data_type for cell in sheet[2] if cell.value in {"=1+1", "@SUM(A1)"}}
    # openpyxl takes any text with an equals sign for a formula when reading; the file itself says string.
    assert set(cells) == {"=1+1", "@SUM(A1)"}
    assert cells["@SUM(A1)"] == "s"


def test_an_empty_due_list_is_a_sheet_with_a_header():
    sheet = sheet_of(due_list())
    assert [cell.value for cell in sheet[1]] == due_headers(SHOWN)


# --- calendar --------------------------------------------------------------------------------------------


def events_of(snapshot):
    return icalendar.Calendar.from_ical(written(snapshot, "ics")).walk("VEVENT")


def test_each_visit_is_one_all_day_event(snapshot):
    events = events_of(snapshot)
    assert [str(event["summary"]) for event in events] == [
        "LR-001: replace chain",
        f"LR-002: {action_text(snapshot.lines[1])}, {action_text(snapshot.lines[2])}",
        "LR-003: set slack",
        "LT-04: replace chain",
    ]
    second = events[1]
    assert second["dtstart"].dt == TODAY + timedelta(days=10)
    assert type(second["dtstart"].dt) is date
    assert second["dtend"].dt == TODAY + timedelta(days=11)
    assert str(events[2]["location"]) == "Harbour Depot"
    assert reason_text(snapshot.lines[2], SHOWN) in str(second["description"])
    assert second["categories"].cats == ["replace", "task"]


def test_what_is_overdue_stands_on_the_day_of_the_list(snapshot):
    assert events_of(snapshot)[0]["dtstart"].dt == TODAY


def test_an_event_keeps_its_uid_when_its_date_moves(snapshot):
    before = {str(event["uid"]) for event in events_of(snapshot)}
    later = [
        replace(line, due_on=line.due_on + timedelta(days=9), group_on=line.group_on + timedelta(days=9))
        for line in snapshot.lines
    ]
    after = [str(event["uid"]) for event in events_of(due_list(*later))]
    assert set(after) == before
    assert len(after) == len(before) == 4


def test_a_calendar_says_what_rfc_5545_asks_for(snapshot):
    """RFC 5545: 3.6 (VERSION, PRODID), 3.6.1 (UID, DTSTAMP once), 3.1 (75 octets a line, CRLF)."""
    data = written(snapshot, "ics")
    calendar = icalendar.Calendar.from_ical(data)
    assert str(calendar["version"]) == "2.0"
    assert "wearlog" in str(calendar["prodid"])
    assert "method" not in calendar
    for event in calendar.walk("VEVENT"):
        assert event["dtstamp"].dt == datetime(TODAY.year, TODAY.month, TODAY.day, tzinfo=UTC)
        assert str(event["uid"])
    lines = data.split(b"\r\n")
    assert lines[-1] == b""
    assert max(len(line) for line in lines) <= 75
    assert b"DTSTART;VALUE=DATE:" in data


def test_the_same_list_makes_the_same_calendar(snapshot):
    assert written(snapshot, "ics") == written(snapshot, "ics")


# --- paper -----------------------------------------------------------------------------------------------


def test_the_wall_list_goes_to_a_file_and_to_a_stream(tmp_path, snapshot):
    file = tmp_path / "due.pdf"
    write_due(snapshot, file, "pdf", SHOWN)
    for source in (file, io.BytesIO(written(snapshot, "pdf"))):
        text = "".join(page.extract_text() for page in pypdf.PdfReader(source).pages)
        for tag in ("LR-001", "LR-002", "LR-003", "LT-04"):
            assert tag in text
    assert [path.name for path in tmp_path.iterdir()] == ["due.pdf"]


# --- terminal --------------------------------------------------------------------------------------------


def test_the_table_says_when_which_what_and_why(snapshot):
    text = due_table_text(snapshot, SHOWN, 100)
    assert text.startswith("Due for service on ")
    for line in snapshot.lines:
        assert line.tag in text
        assert action_text(line) in text
    words = " ".join(text.split())
    why = reason_text(snapshot.lines[1], SHOWN).replace("\u202f", " ").replace("\u2009", " ")
    assert " ".join(why.split()) in words


def test_reasons_keep_within_the_terminal():
    text = due_table_text(due_of(12), SHOWN, 90)
    assert max(len(line) for line in text.splitlines() if line.startswith("   ")) <= 120
    assert all(len(line) <= 90 for line in text.splitlines() if line.startswith(" " * 13) and " – " in line)


def test_an_empty_list_says_so():
    assert "nothing" in due_table_text(due_list(), SHOWN, 80)


# --- files -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("form", ["csv", "json", "xlsx", "ics"])
def test_a_file_holds_the_same_as_a_stream(tmp_path, snapshot, form):
    file = tmp_path / f"due.{form}"
    write_due(snapshot, file, form, SHOWN)
    mark = b"\xef\xbb\xbf" if form == "csv" else b""
    assert file.read_bytes() == mark + written(snapshot, form)
    assert [path.name for path in tmp_path.iterdir()] == [file.name]


def test_a_failure_leaves_the_old_file_and_no_half_one(tmp_path):
    file = tmp_path / "due.csv"
    file.write_bytes(b"old")

    def fail(stream):
        stream.write(b"half")
        raise OSError(28, "No space left on device")

    with pytest.raises(WearlogError) as caught:
        write_whole(file, fail)
    assert caught.value.problems[0].kind is ProblemKind.FILE
    assert "No space left" in str(caught.value)
    assert file.read_bytes() == b"old"
    assert [path.name for path in tmp_path.iterdir()] == ["due.csv"]


def test_a_missing_folder_is_told(tmp_path, snapshot):
    with pytest.raises(WearlogError, match="folder does not exist"):
        write_due(snapshot, tmp_path / "nowhere" / "due.csv", "csv", SHOWN)


def test_a_folder_in_place_of_the_file_is_told(tmp_path, snapshot):
    (tmp_path / "due.csv").mkdir()
    with pytest.raises(WearlogError, match="folder"):
        write_due(snapshot, tmp_path / "due.csv", "csv", SHOWN)


def test_an_unknown_format_is_told_with_those_that_are_known(tmp_path, snapshot):
    with pytest.raises(WearlogError, match="csv, json, xlsx, ics, pdf"):
        write_due(snapshot, tmp_path / "due.doc", "doc", SHOWN)
