"""`wearlog import` with spreadsheets in the import format."""

import csv
from dataclasses import replace

import openpyxl
from click.testing import CliRunner

from tests.makers.import_folder import write_folder
from wearlog import app, cli


def run(*arguments):
    return CliRunner().invoke(cli.wearlog, arguments, obj=replace(app.program()))


def test_a_spreadsheet_and_a_csv_file_are_brought_in_together(tmp_path):
    folder = write_folder(tmp_path / "csv")
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name in ("vehicles", "stages"):
        sheet = book.create_sheet(name)
        for row in csv.reader((folder / f"{name}.csv").read_text(encoding="utf-8").splitlines()):
            sheet.append(row)
    book.save(tmp_path / "fleet.xlsx")
    database = ("--database", str(tmp_path / "fleet.sqlite"))
    result = run(*database, "import", str(tmp_path / "fleet.xlsx"), str(folder / "part_types.csv"))
    assert result.exit_code == 0, result.output
    assert "Added: 3 vehicles, 4 stages, 4 part types" in result.stdout
    again = run(*database, "import", str(folder / "vehicles.csv"))
    assert "Nothing was added." in again.stdout


def test_another_sheet_is_refused_with_the_names_that_are_known(tmp_path):
    book = openpyxl.Workbook()
    book.active.title = "Services"
    book.active.append(["Bike"])
    book.save(tmp_path / "own.xlsx")
    result = run("--database", str(tmp_path / "fleet.sqlite"), "import", str(tmp_path / "own.xlsx"))
    assert result.exit_code == 3
    assert "own.xlsx Services: There is no such sheet in the import format." in result.stderr
