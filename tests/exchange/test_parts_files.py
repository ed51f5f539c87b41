"""The parts list in files, read back with other programs' libraries."""

import csv
import io
import json
from dataclasses import replace

import openpyxl
import pytest
from pypdf import PdfReader

from tests.makers.parts import TODAY, UPPER, parts_line, some_parts
from wearlog.exchange.parts_files import PARTS_FORMATS, parts_table_text, write_parts
from wearlog.fleet.problem import WearlogError


def written(snapshot, form):
    stream = io.BytesIO()
    write_parts(snapshot, stream, form)
    return stream.getvalue()


def test_a_csv_row_says_what_to_order_by_when():
    rows = list(csv.DictReader(io.StringIO(written(some_parts(), "csv").decode())))
    chain = rows[0]
    assert (chain["part"], chain["depot"], chain["on the shelf"]) == ("Chain 428 116 links", UPPER, "1")
    assert int(chain["order now"]) == int(chain["enough with 95 %"]) - 1
    assert chain["order by"] < TODAY.isoformat()
    assert rows[1]["on the shelf"] == ""
    assert "LR-001, final drive: on the due list today" in chain["why"]


def test_a_spreadsheet_holds_numbers_and_dates_not_text():
    book = openpyxl.load_workbook(io.BytesIO(written(some_parts(), "xlsx")))
    sheet = book["Parts"]
    heads = [cell.value for cell in sheet[1]]
    first = dict(zip(heads, (cell.value for cell in sheet[2]), strict=True))
    assert first["order by"].date() < TODAY
    assert isinstance(first["order now"], int)
    assert [row[0].value for row in book["Sets and chains"].iter_rows(min_row=2)] == [
        "set",
        "chain to cut",
        "joining links",
    ]


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_a_part_named_like_a_formula_is_no_formula_in_a_spreadsheet(form):
    evil = '=HYPERLINK("http://x.example","Chain")'
    snapshot = replace(some_parts(), lines=(parts_line(9, evil, 0.5, depot="+1"),))
    data = written(snapshot, form)
    if form == "csv":
        row = list(csv.reader(io.StringIO(data.decode())))[1]
        assert row[0] == f"'{evil}"
        assert row[2] == "'+1"
    else:
        cell = openpyxl.load_workbook(io.BytesIO(data))["Parts"]["A2"]
        assert (cell.value, cell.data_type) == (evil, "s")


def test_json_keeps_the_whole_law_of_the_demand():
    data = json.loads(written(some_parts(), "json"))
    chain = data["lines"][0]
    assert sum(chain["demand_chances"]) == pytest.approx(1.0, abs=1e-5)
    mean = sum(n * chance for n, chance in enumerate(chain["demand_chances"]))
    assert mean == pytest.approx(chain["demand_by_week"][-1]["mean"], abs=1e-4)
    assert data["chains_to_cut"][0]["links"] == 110


def test_the_paper_lists_each_depot_with_its_orders(tmp_path):
    file = tmp_path / "parts.pdf"
    write_parts(some_parts(), file, "pdf")
    text = " ".join(" ".join(page.extract_text().split()) for page in PdfReader(file).pages)
    for wanted in ("Upper Depot", "Harbour Depot", "Chain 428 116 links", "cut 6 links", "judged by eye"):
        assert wanted in text


def test_the_table_begins_with_what_is_to_be_ordered():
    lines = parts_table_text(some_parts()).splitlines()
    assert "To order today for the next 8 weeks" in lines[0]
    assert "1 without a price" in lines[0]
    assert lines[3].startswith("Chain 428 116 links")
    assert "now" in lines[3]
    assert any("cut 6 links off a 428 chain of 116 for 110 links" in line for line in lines)


def test_nothing_fitted_makes_an_empty_list_in_every_format():
    empty = replace(some_parts(), lines=(), sets=(), cuts=(), joining_links=())
    for form in PARTS_FORMATS:
        assert written(empty, form)
    assert "No parts are fitted" in parts_table_text(empty)
    with pytest.raises(WearlogError, match="not known"):
        written(empty, "odt")
