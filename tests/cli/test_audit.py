"""`wearlog audit`: the trail from the command line."""

import csv
import io
import json
from dataclasses import replace

import pytest
from click.testing import CliRunner, Result

from tests.makers.import_folder import write_folder
from wearlog import app, cli


def run(*arguments: str) -> Result:
    return CliRunner().invoke(cli.wearlog, arguments, obj=replace(app.program()))


@pytest.fixture(scope="module")
def database(tmp_path_factory) -> str:
    """The small fleet, brought in by Ada."""
    folder = tmp_path_factory.mktemp("audit")
    file = str(folder / "small.sqlite")
    result = run("--database", file, "--by", "Ada", "import", str(write_folder(folder / "csv")))
    assert result.exit_code == 0, result.output
    return file


def test_the_trail_of_one_vehicle_is_printed(database):
    result = run("--database", database, "audit", "lr-001")
    assert result.exit_code == 0
    heads = [line for line in result.stdout.splitlines() if not line.startswith(" ")]
    assert all("Ada" in line and "LR-001" in line for line in heads)
    assert any(line.endswith("reading of elongation added") for line in heads)


def test_the_whole_trail_goes_to_a_file_by_its_ending(database, tmp_path):
    file = tmp_path / "trail.csv"
    assert run("--database", database, "audit", "--output", str(file)).exit_code == 0
    rows = list(csv.DictReader(io.StringIO(file.read_text("utf-8-sig"))))
    assert {row["vehicle"] for row in rows} >= {"LR-001", ""}
    assert all(len(row["chain"]) == 64 for row in rows)


def test_the_latest_entries_as_json(database):
    result = run("--database", database, "audit", "--format", "json", "--last", "2")
    assert len(json.loads(result.stdout)) == 2


def test_an_unknown_tag_is_told(database):
    result = run("--database", database, "audit", "XX-1")
    assert result.exit_code != 0
    assert "There is no vehicle with the tag XX-1." in result.stderr
