"""Sheets as other programs write them, and what is refused before it is unpacked."""

import csv
import io
import struct
import zipfile
from datetime import date, datetime
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from wearlog.exchange import archive_checks, spreadsheet
from wearlog.exchange.spreadsheet import Unread, read_book
from wearlog.fleet.problem import WearlogError

ODS = """<?xml version="1.0" encoding="UTF-8"?>
<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" office:version="1.3">
<office:body><office:spreadsheet><table:table table:name="Services">{rows}</table:table></office:spreadsheet>
</office:body></office:document-content>"""


def write_ods(file, rows):
    """Write the least that is an ODS file (OpenDocument 1.3, part 2 and 3)."""
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    manifest = (
        '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/></manifest:manifest>'
    )
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", kind, zipfile.ZIP_STORED)
        archive.writestr("content.xml", ODS.format(rows=rows))
        archive.writestr("META-INF/manifest.xml", manifest)
    return file


def ods_cell(text="", value="", kind="string", more=""):
    held = f' office:value="{value}"' if value else ""
    return (
        f'<table:table-cell office:value-type="{kind}"{held}{more}><text:p>{text}</text:p></table:table-cell>'
    )


def problem_of(file, **how):
    with pytest.raises(WearlogError) as caught:
        read_book(file, **how)
    return str(caught.value)


def cells(file, **how):
    (sheet,) = read_book(file, **how).sheets
    return [(row.number, *row.cells) for row in sheet.rows]


# --- texts


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_a_text_is_read_whatever_its_encoding_and_separator(tmp_path, encoding, separator):
    file = tmp_path / "book.csv"
    rows = [["Bike", "Käthe’s remark", "km"], ["LR-1", 'says "squeaks"', "12"], [], ["LR-2", "", "13"]]
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=separator).writerows(rows)
    file.write_bytes(text.getvalue().encode(encoding))
    assert cells(file) == [
        (1, "Bike", "Käthe’s remark", "km"),
        (2, "LR-1", 'says "squeaks"', "12"),
        (4, "LR-2", None, "13"),
    ]


def test_decimal_commas_do_not_part_columns(tmp_path):
    file = tmp_path / "book.csv"
    file.write_text("Bike;km;mm\nLR-1;120,5;0,3\nLR-2;130,5;0,4\n", encoding="utf-8")
    assert cells(file)[1] == (2, "LR-1", "120,5", "0,3")


def test_an_old_encoding_is_asked_about_and_may_be_chosen(tmp_path):
    file = tmp_path / "book.csv"
    file.write_bytes("Bike,Who\nLR-1,Ján Čapek\n".encode("cp1250"))
    book = read_book(file)
    assert book.way.encoding == "cp1252"
    assert "line 2" in book.doubts[0].question
    assert cells(file, encoding="cp1250")[1] == (2, "LR-1", "Ján Čapek")
    assert "line 2" in problem_of(file, encoding="utf-8")


def test_the_separator_may_be_named_in_the_first_line(tmp_path):
    file = tmp_path / "book.csv"
    file.write_text("sep=|\nBike|km, all\nLR-1|12\n", encoding="utf-8")
    assert cells(file) == [(2, "Bike", "km, all"), (3, "LR-1", "12")]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"a,b\n1,\x002\n", "line 2"),
        (b'a,b\n1,"2\n3,4\n', "line"),
        (b"a,b\n1,2\n" + b'"' + b"x" * 200_000 + b'",1\n', "line 3"),
        (b"a,b\n" + b"1,\x81\n", "line 2"),
        (b"", "nothing"),
        (b"\n \n,,\n", "nothing"),
    ],
)
def test_a_text_that_is_none_is_refused_with_its_line(tmp_path, content, said):
    file = tmp_path / "book.csv"
    file.write_bytes(content)
    assert said in problem_of(file)


def test_a_text_has_bounds(tmp_path):
    file = tmp_path / "book.csv"
    file.write_text(",".join("x" * (spreadsheet.MOST_COLUMNS + 1)), encoding="utf-8")
    assert "columns" in problem_of(file)
    file.write_text("x\n" * (spreadsheet.MOST_ROWS + 1), encoding="utf-8")
    assert "rows" in problem_of(file)


# --- spreadsheet files


def test_values_keep_their_kind_and_rows_their_number(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet["B3"], sheet["C3"] = "Bike", "Date"
    sheet["B5"], sheet["C5"], sheet["D5"], sheet["E5"] = "LR-1", date(2026, 3, 14), 254.6, True
    sheet["B6"], sheet["C6"], sheet["D6"] = "LR-2", datetime(2026, 3, 15, 9, 30), 7  # noqa: DTZ001 - as files have it
    file = tmp_path / "book.xlsx"
    book.save(file)
    assert cells(file) == [
        (3, None, "Bike", "Date"),
        (5, None, "LR-1", date(2026, 3, 14), 254.6, True),
        (6, None, "LR-2", date(2026, 3, 15), 7),
    ]


def test_formulas_give_their_kept_value_and_errors_none(tmp_path):
    file = tmp_path / "book.xlsx"
    with xlsxwriter.Workbook(file) as book:
        sheet = book.add_worksheet("Services")
        sheet.write_row(0, 0, ["a", "b"])
        sheet.write_formula(1, 0, "=1+1", None, 2)
        sheet.write_formula(1, 1, "=1/0", None, "#DIV/0!")
    (sheet,) = read_book(file).sheets
    assert sheet.rows[1].cells[0] == 2
    assert "#DIV/0!" in sheet.rows[1].cells[1].why


def test_a_formula_without_a_value_is_no_empty_cell(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["a", "b"])
    book.active.append([1, "=A2*2"])
    file = tmp_path / "book.xlsx"
    book.save(file)
    assert isinstance(cells(file)[1][2], Unread)


def test_a_merged_cell_stands_in_each_of_its_rows(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    for row in (["Bike", "km"], ["LR-1", 10], [None, 20], [None, 30]):
        sheet.append(row)
    sheet.merge_cells("A2:A4")
    file = tmp_path / "book.xlsx"
    book.save(file)
    assert cells(file) == [(1, "Bike", "km"), (2, "LR-1", 10), (3, "LR-1", 20), (4, "LR-1", 30)]


def test_hidden_sheets_are_left_alone(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["a"])
    hidden = book.create_sheet("Old")
    hidden.append(["b"])
    hidden.sheet_state = "hidden"
    file = tmp_path / "book.xlsx"
    book.save(file)
    assert [sheet.name for sheet in read_book(file).sheets] == ["Sheet"]


def test_an_open_document_is_read(tmp_path):
    day = ods_cell("14/03/26", kind="date", more=' office:date-value="2026-03-14"')
    blank = '<table:table-cell table:number-columns-repeated="16384"/></table:table-row>'
    rows = (
        f"<table:table-row>{ods_cell('Bike')}{ods_cell('Date')}{ods_cell('mm')}</table:table-row>"
        f'<table:table-row table:number-rows-repeated="2">{blank}'
        f"<table:table-row>{ods_cell('LR-1')}{day}{ods_cell('254,6', '254.6', 'float')}</table:table-row>"
        f'<table:table-row table:number-rows-repeated="1048572">{blank}'
    )
    assert cells(write_ods(tmp_path / "book.ods", rows)) == [
        (1, "Bike", "Date", "mm"),
        (4, "LR-1", date(2026, 3, 14), 254.6),
    ]


#: Written by xlwt 1.3.0: three rows, the tag merged over two of them.
OLD_BOOK = Path(__file__).parent / "data" / "services.xls"


def test_an_old_binary_spreadsheet_is_read():
    assert cells(OLD_BOOK) == [
        (1, "Bike", "Date", "Km", "Stretch %"),
        (2, "LR-1", date(2026, 3, 14), 120.5, 0.3),
        (3, "LR-1", date(2026, 4, 14), 220),
    ]


# --- traps


def repacked(tmp_path, change):
    """Return a workbook with one of its parts changed."""
    book = openpyxl.Workbook()
    book.active.append(["a", "b"])
    file = tmp_path / "book.xlsx"
    book.save(file)
    parts = {name: zipfile.ZipFile(file).read(name) for name in zipfile.ZipFile(file).namelist()}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in change(parts).items():
            archive.writestr(name, data)
    return file


def test_a_bomb_is_refused_by_its_directory(tmp_path):
    bomb = b"0" * 60_000_000
    file = repacked(tmp_path, lambda parts: {**parts, "xl/sharedStrings.xml": bomb})
    assert "packed so tightly" in problem_of(file)
    many = {f"xl/media/{n}": b"x" for n in range(archive_checks.MOST_PARTS + 1)}
    assert "parts" in problem_of(repacked(tmp_path, lambda parts: {**parts, **many}))


def test_a_directory_that_lies_about_sizes_is_refused(tmp_path):
    file = repacked(tmp_path, lambda parts: {**parts, "xl/sharedStrings.xml": b"0" * 50_000})
    data = bytearray(file.read_bytes())
    # The size of the unpacked part stands in the central directory, 24 bytes after its signature.
    at = data.rindex(b"PK\x01\x02", 0, data.rindex(b"xl/sharedStrings.xml"))
    assert struct.unpack_from("<I", data, at + 24) == (50_000,)
    struct.pack_into("<I", data, at + 24, 40)
    file.write_bytes(data)
    assert "directory" in problem_of(file)


def test_a_cell_at_the_far_corner_is_refused(tmp_path):
    book = openpyxl.Workbook()
    book.active["XFD1048576"] = 1
    file = tmp_path / "book.xlsx"
    book.save(file)
    assert "more than" in problem_of(file)
    book = openpyxl.Workbook()
    book.active["A1"], book.active["RA199000"] = 1, 1
    book.save(file)
    assert "spread over" in problem_of(file)


def test_a_row_repeated_without_end_is_refused(tmp_path):
    cell = ods_cell("x", more=' table:number-columns-repeated="16384"')
    row = f'<table:table-row table:number-rows-repeated="1048576">{cell}</table:table-row>'
    assert "more than" in problem_of(write_ods(tmp_path / "book.ods", row))


def test_one_long_text_in_many_cells_is_refused(tmp_path):
    file = tmp_path / "book.xlsx"
    with xlsxwriter.Workbook(file) as book:
        sheet = book.add_worksheet()
        for row in range(4000):
            sheet.write_string(row, 0, "x" * 32_000)
    assert "more text" in problem_of(file)


def test_entities_are_not_followed(tmp_path):
    sheet = (
        b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;">]>'
        b'<worksheet><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>&b;</t></is></c></row>'
        b"</sheetData></worksheet>"
    )
    file = repacked(tmp_path, lambda parts: {**parts, "xl/worksheets/sheet1.xml": sheet})
    assert "document type" in problem_of(file)


def test_other_archives_and_torn_files_are_refused(tmp_path):
    file = tmp_path / "book.xlsx"
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("letter.txt", "Dear workshop")
    assert "not a spreadsheet" in problem_of(file)
    book = openpyxl.Workbook()
    book.active.append(["a"] * 50)
    book.save(file)
    whole = file.read_bytes()
    file.write_bytes(whole[: len(whole) // 2])
    assert "damaged" in problem_of(file)
    file.write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600))
    assert "damaged" in problem_of(file)


def refused_places(file):
    """Return where a file was refused; nothing if it was read."""
    try:
        read_book(file)
    except WearlogError as error:
        return [problem.where for problem in error.problems]
    return []


STARTS = (b"", b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"\xff\xfe", b"a;b\n")


@settings(max_examples=300)
@given(data=st.binary(max_size=400), start=st.sampled_from(STARTS))
def test_any_bytes_are_read_or_refused_with_the_file_named(tmp_path_factory, data, start):
    file = tmp_path_factory.mktemp("any") / "any.csv"
    file.write_bytes(start + data)
    assert all("any.csv" in where for where in refused_places(file))


@settings(max_examples=60)
@given(at=st.integers(0, 10_000), byte=st.integers(0, 255))
def test_a_spoilt_workbook_is_read_or_refused(tmp_path_factory, workbook_bytes, at, byte):
    data = bytearray(workbook_bytes)
    data[at % len(data)] = byte
    file = tmp_path_factory.mktemp("spoilt") / "book.xlsx"
    file.write_bytes(data)
    assert all("book.xlsx" in where for where in refused_places(file))


@settings(max_examples=60)
@given(at=st.integers(0, 10_000), byte=st.integers(0, 255))
def test_a_spoilt_old_spreadsheet_is_read_or_refused(tmp_path_factory, at, byte):
    data = bytearray(OLD_BOOK.read_bytes())
    data[at % len(data)] = byte
    file = tmp_path_factory.mktemp("spoilt") / "book.xls"
    file.write_bytes(data)
    assert all("book.xls" in where for where in refused_places(file))


def test_an_old_spreadsheet_of_impossible_size_is_refused(tmp_path):
    data = OLD_BOOK.read_bytes()
    at = data.index(b"\x00\x02\x0e\x00")
    file = tmp_path / "book.xls"
    file.write_bytes(data[: at + 8] + b"\xff\xff\xff\x7f" + data[at + 12 :])
    assert "damaged" in problem_of(file)


@pytest.fixture(scope="module")
def workbook_bytes():
    stream = io.BytesIO()
    book = openpyxl.Workbook()
    book.active.append(["Bike", "Date", "km"])
    book.active.append(["LR-1", date(2026, 3, 14), 120.5])
    book.save(stream)
    return stream.getvalue()
