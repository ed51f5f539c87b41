"""`wearlog parts`, run as a person runs it."""

import csv
import io
import json
from dataclasses import replace

import pypdf
import pytest
from click.testing import CliRunner, Result

from tests.makers.bench import SAMPLE_DAY
from wearlog import app, cli


@pytest.fixture
def database(sample_file, tmp_path) -> str:
    copy = tmp_path / "sample.sqlite"
    copy.write_bytes(sample_file.read_bytes())
    return str(copy)


def run(database: str, *arguments: str) -> Result:
    on = ("--on", SAMPLE_DAY.isoformat())
    return CliRunner().invoke(
        cli.wearlog, ("--database", database, "parts", *on, *arguments), obj=replace(app.program())
    )


def test_the_table_says_what_to_order_today(database):
    result = run(database)
    assert result.exit_code == 0, result.output
    assert result.stdout.startswith("Parts on 23 Nov 2026: To order today for the next 8 weeks")
    assert "SETS" in result.stdout


def test_a_safer_level_orders_no_less(database):
    likely, safe = (
        json.loads(run(database, "--level", level, "--format", "json").stdout) for level in ("80", "99")
    )
    orders = [[line["order_now"] + line["short"] for line in data["lines"]] for data in (likely, safe)]
    assert all(less <= more for less, more in zip(*orders, strict=True))
    assert sum(orders[0]) < sum(orders[1])


def test_one_depot_alone_as_csv_and_on_paper(database, tmp_path):
    rows = list(
        csv.DictReader(io.StringIO(run(database, "--depot", "upper depot", "--format", "csv").stdout))
    )
    assert {row["depot"] for row in rows} == {"Upper Depot"}
    file = tmp_path / "parts.pdf"
    assert run(database, "--weeks", "4", "--output", str(file)).exit_code == 0
    assert "for 4 weeks" in " ".join(pypdf.PdfReader(file).pages[0].extract_text().split())


def test_a_depot_that_is_not_there_is_said_with_those_that_are(database):
    result = run(database, "--depot", "Moon")
    assert result.exit_code != 0
    assert "Harbour Depot, Upper Depot" in result.stderr
