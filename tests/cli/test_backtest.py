"""`wearlog backtest`: figures and charts of the fleet record from the command line."""

import csv
import io
import json

import pytest
from click.testing import CliRunner, Result

from tests.makers.import_folder import write_folder
from wearlog import app, cli

ON = ("--on", "2026-11-23")


@pytest.fixture(scope="module")
def database(tmp_path_factory) -> str:
    """A database with the small fleet, brought in by the command line itself."""
    folder = tmp_path_factory.mktemp("backtest")
    file = str(folder / "small.sqlite")
    assert run("--database", file, "import", str(write_folder(folder / "csv"))).exit_code == 0
    return file


def run(*arguments: str) -> Result:
    return CliRunner().invoke(cli.wearlog, arguments, obj=app.program())


def test_the_text_says_what_forecasts_were_worth(database):
    result = run("--database", database, "backtest", *ON)
    assert result.exit_code == 0, result.output
    assert "Each forecast knows only what was known in its day." in result.stdout
    assert "STRAIGHT LINE" in result.stdout
    assert "are too few to judge by" in " ".join(result.stdout.split())


def test_json_is_complete_and_owns_up_to_hindsight(database):
    honest = json.loads(run("--database", database, "backtest", "--format", "json", *ON).stdout)
    quick = json.loads(run("--database", database, "backtest", "--format", "json", "--quick", *ON).stdout)
    assert honest["as_of"] == "2026-11-23"
    assert (honest["without_hindsight"], quick["without_hindsight"]) == (True, False)
    assert honest["next_reading"]["checks"] == quick["next_reading"]["checks"] > 0
    assert honest["kinds"]


def test_csv_goes_to_a_file_by_its_ending(database, tmp_path):
    file = tmp_path / "record.csv"
    result = run("--database", database, "backtest", "--output", str(file), *ON)
    assert result.exit_code == 0, result.output
    rows = list(csv.DictReader(io.StringIO(file.read_text(encoding="utf-8"))))
    assert any(row["figure"] == "wear rate" for row in rows)


def test_charts_go_to_a_picture_by_its_ending(database, tmp_path):
    result = run("--database", database, "backtest", "-o", str(tmp_path / "record.svg"), *ON)
    assert result.exit_code == 0, result.output
    assert (tmp_path / "record.svg").read_text(encoding="utf-8").startswith("<?xml")


def test_a_folder_that_is_not_there_ends_with_the_code_for_files(database, tmp_path):
    result = run("--database", database, "backtest", "-o", str(tmp_path / "no" / "r.csv"), *ON)
    assert result.exit_code == 7
    assert "does not exist" in result.stderr


def test_an_empty_database_has_nothing_to_judge(tmp_path):
    result = run("--database", str(tmp_path / "new.sqlite"), "backtest")
    assert result.exit_code == 0
    assert result.stdout == "Nothing to judge yet: no part is followed by its wear.\n"
