"""`wearlog job-card`, `wearlog report`, `wearlog warranty`, run as a person runs them."""

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


def run(database: str, verb: str, *arguments: str) -> Result:
    on = ("--on", SAMPLE_DAY.isoformat())
    return CliRunner().invoke(
        cli.wearlog, ("--database", database, verb, *on, *arguments), obj=replace(app.program())
    )


def words(file):
    return " ".join(" ".join(page.extract_text().split()) for page in pypdf.PdfReader(file).pages)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_job_card_of_a_vehicle_on_either_paper(database, tmp_path, paper):
    file = tmp_path / "card.pdf"
    result = run(database, "job-card", "lr-009", "--paper", paper, "--output", str(file))
    assert result.exit_code == 0, result.output
    [page] = pypdf.PdfReader(file).pages
    # ISO 216: A4 is 210 mm wide; ANSI/ASME Y14.1: size A is 8.5 in wide.
    assert float(page.mediabox.width) / 72 == pytest.approx(
        8.5 if paper == "letter" else 210 / 25.4, abs=0.02
    )
    assert "LR-009" in words(file)
    assert "Cautions" in words(file)


def test_a_report_and_a_warranty_record(database, tmp_path):
    report, record = tmp_path / "report.pdf", tmp_path / "record.json"
    assert run(database, "report", "LR-009", "--output", str(report)).exit_code == 0
    assert "What was measured" in words(report)
    result = run(database, "warranty", "LR-009", "--part", "final", "--output", str(record))
    assert result.exit_code == 0, result.output
    data = json.loads(record.read_text(encoding="utf-8"))
    assert data["vehicle"]["tag"] == "LR-009"
    assert data["trail"]["is_whole"]


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("job-card", "V-9999", "-o", "card.pdf"), "neither a planned visit nor a vehicle called V-9999"),
        (("report", "LR-999", "-o", "report.pdf"), "no vehicle with the tag LR-999"),
        (("warranty", "LR-009", "--part", "gearbox", "-o", "record.pdf"), "has no part gearbox"),
    ],
)
def test_what_is_not_there_is_said_and_nothing_is_written(
    database, tmp_path, monkeypatch, arguments, sentence
):
    monkeypatch.chdir(tmp_path)
    result = run(database, *arguments)
    assert result.exit_code not in {0, 1, 2}
    assert sentence in result.stderr
    assert not list(tmp_path.glob("*.pdf"))


@pytest.mark.parametrize("verb", ["job-card", "report"])
def test_without_a_file_the_verb_asks_for_one(database, verb):
    result = run(database, verb, "LR-009")
    assert result.exit_code == 2
    assert "--output" in result.stderr
