"""The command line: verbs, exit codes, and what is said when something is wrong."""

import csv
import io
import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import icalendar
import openpyxl
import pypdf
import pytest
from click.testing import CliRunner, Result

from tests.makers.import_folder import with_row, write_folder
from wearlog import app, cli
from wearlog.fleet.problem import Cancelled, Problem, ProblemKind, WearlogError
from wearlog.resources import sample_fleet

ON = ("--on", "2026-11-23")


@pytest.fixture(scope="module")
def database(tmp_path_factory) -> str:
    """A database with the small fleet, brought in by the command line itself."""
    folder = tmp_path_factory.mktemp("cli")
    result = run("--database", str(folder / "small.sqlite"), "import", str(write_folder(folder / "csv")))
    assert result.exit_code == 0, result.output
    return str(folder / "small.sqlite")


def run(*arguments: str, **changes) -> Result:
    return CliRunner().invoke(cli.wearlog, arguments, obj=replace(app.program(), **changes))


# --- import ----------------------------------------------------------------------------------------------


def test_an_import_says_what_it_added_and_asks_what_is_odd(tmp_path):
    file = tmp_path / "new" / "fleet.sqlite"
    folder = str(write_folder(tmp_path / "csv"))
    result = run("--database", str(file), "--by", "Ada", "import", folder)
    assert result.exit_code == 0
    assert "Added: 3 vehicles, 4 stages" in result.stdout
    assert "8 readings" in result.stdout
    assert "questions" in result.stderr
    assert file.exists()
    again = run("--database", str(file), "import", folder)
    assert again.exit_code == 0
    assert "Nothing was added." in again.stdout
    assert "Known already: 3 vehicles" in again.stdout


def test_questions_are_listed_when_asked_for(tmp_path):
    folder = str(write_folder(tmp_path / "csv"))
    result = run("--database", str(tmp_path / "f.sqlite"), "import", "--questions", folder)
    assert any(line.startswith("readings.csv row ") for line in result.stderr.splitlines())


def test_problems_of_an_import_stand_one_a_line(tmp_path):
    folder = write_folder(
        tmp_path / "csv",
        vehicles=with_row("vehicles", "LR-2,Bike,rocket,Upper Depot,km"),
        meter=with_row("meter", "LR-001,soon,1"),
    )
    result = run("--database", str(tmp_path / "f.sqlite"), "import", str(folder))
    assert result.exit_code == 3
    assert [line.split(":")[0] for line in result.stderr.splitlines()] == [
        "meter.csv row 4, date",
        "vehicles.csv row 5, kind",
    ]
    assert result.stdout == ""


def test_a_missing_path_ends_with_the_code_for_files(tmp_path):
    result = run("--database", str(tmp_path / "f.sqlite"), "import", str(tmp_path / "nowhere"))
    assert result.exit_code == 7
    assert "no such file" in result.stderr


# --- due -------------------------------------------------------------------------------------------------


def test_due_prints_a_table(database):
    result = run("--database", database, "due", *ON)
    assert result.exit_code == 0
    assert result.stdout.startswith("Due for service on 23 Nov 2026")
    assert "LR-001" in result.stdout


def test_due_writes_every_format_to_a_file(database, tmp_path):
    for form in ("csv", "json", "xlsx", "ics", "pdf"):
        result = run("--database", database, "due", *ON, "--output", str(tmp_path / f"due.{form}"))
        assert result.exit_code == 0, result.output
        assert result.stdout == ""
    data = json.loads((tmp_path / "due.json").read_bytes())
    tags = [line["vehicle"] for line in data["lines"]]
    assert data["as_of"] == "2026-11-23"
    assert tags
    with (tmp_path / "due.csv").open(encoding="utf-8-sig", newline="") as stream:
        assert [row["vehicle"] for row in csv.DictReader(stream)] == tags
    sheet = openpyxl.load_workbook(tmp_path / "due.xlsx").active
    assert [row[1].value for row in sheet.iter_rows(min_row=2)] == tags
    calendar = icalendar.Calendar.from_ical((tmp_path / "due.ics").read_bytes())
    assert {str(event["summary"]).split(":")[0] for event in calendar.walk("VEVENT")} == set(tags)
    text = "".join(page.extract_text() for page in pypdf.PdfReader(tmp_path / "due.pdf").pages)
    assert all(tag in text for tag in tags)


def test_due_writes_text_formats_to_the_output(database):
    data = json.loads(run("--database", database, "due", *ON, "--format", "json").stdout)
    text = run("--database", database, "due", *ON, "--format", "csv").stdout
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [row["vehicle"] for row in rows] == [line["vehicle"] for line in data["lines"]]


def test_a_shorter_horizon_leaves_out_what_is_due_later(database):
    def due_on(*within: str) -> list[str]:
        result = run("--database", database, "due", *ON, *within, "--format", "json")
        return [line["due_on"] for line in json.loads(result.stdout)["lines"]]

    weeks = due_on("--within", "8w")
    assert weeks == due_on("--within", "56d") == due_on("--within", "56")
    assert weeks == [day for day in due_on() if day <= "2027-01-18"]


def test_one_depot_has_its_own_list(database):
    result = run("--database", database, "due", *ON, "--depot", "harbour depot", "--format", "json")
    assert {line["depot"] for line in json.loads(result.stdout)["lines"]} == {"Harbour Depot"}


def test_an_unknown_depot_is_told_with_the_known_ones(database):
    result = run("--database", database, "due", "--depot", "Moon")
    assert result.exit_code == 4
    assert "Depots: Harbour Depot, Upper Depot." in result.stderr


def test_a_binary_format_is_not_poured_over_a_terminal(database, monkeypatch):
    monkeypatch.setattr("wearlog.cli.due.is_terminal", lambda _stream: True)
    result = run("--database", database, "due", "--format", "xlsx")
    assert result.exit_code == 2
    assert "--output" in result.stderr


@pytest.mark.parametrize(
    "arguments",
    [
        ("due", "--within", "soon"),
        ("due", "--on", "23.11.2026"),
        ("due", "--on", "2026-13-01"),
        ("due", "--format", "doc"),
        ("chart", "LR-001"),
        ("chart", "LR-001", "--output", "trend.doc"),
        ("polish",),
        ("import",),
        ("--sample", "--database", "x.sqlite", "due"),
    ],
)
def test_a_slip_in_the_arguments_is_a_usage_error(arguments):
    assert run(*arguments).exit_code == 2


# --- forecast and chart ----------------------------------------------------------------------------------


def test_forecast_tells_the_limit_at_seven_probabilities(database):
    result = run("--database", database, "forecast", "lr-001", "--format", "json", *ON)
    assert result.exit_code == 0, result.output
    data = json.loads(result.stdout)
    assert data["probabilities"] == [0.025, 0.1, 0.25, 0.5, 0.75, 0.9, 0.975]
    chains = [told for told in data["installations"] if told["measurand"] == "chain elongation"]
    assert {told["vehicle"] for told in data["installations"]} == {"LR-001"}
    uses = [use for use in chains[0]["on_part_at_limit_distance_km"] if use is not None]
    assert uses == sorted(uses)


def test_forecast_of_an_unknown_vehicle_is_not_found(database):
    result = run("--database", database, "forecast", "LR-999")
    assert result.exit_code == 4
    assert "LR-999" in result.stderr


@pytest.mark.parametrize("ending", ["png", "svg", "pdf", "csv"])
def test_a_chart_is_written_by_its_ending(database, tmp_path, ending):
    file = tmp_path / f"trend.{ending}"
    result = run(
        "--database", database, "chart", "LR-001", "--part", "elongation", "--output", str(file), *ON
    )
    assert result.exit_code == 0, result.output
    starts = {"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF", "csv": b""}
    assert file.read_bytes().startswith(starts[ending])
    assert file.stat().st_size > 500


def test_a_part_that_is_not_there_is_told_with_those_that_are(database, tmp_path):
    out = str(tmp_path / "trend.png")
    result = run("--database", database, "chart", "LR-001", "--part", "gearbox", "--output", out)
    assert result.exit_code == 4
    assert "final drive" in result.stderr


# --- without a verb --------------------------------------------------------------------------------------


def test_without_a_verb_the_window_opens(database):
    opened = []

    def open_window(bench, preferences, is_sample):
        opened.append((bench.by, is_sample))
        return 0

    result = run("--database", database, "--by", "Ada", open_window=open_window, why_no_window=lambda: "")
    assert result.exit_code == 0
    assert opened == [("Ada", False)]


def test_without_a_screen_the_due_list_is_printed(database):
    result = run("--database", database, why_no_window=lambda: "There is no screen here.")
    assert result.exit_code == 0
    assert result.stderr.startswith("There is no screen here.")
    assert result.stdout.startswith("Due for service on ")


def test_a_missing_screen_is_noticed(monkeypatch):
    monkeypatch.setattr(sys, "platform", "linux")
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    assert "no screen" in app.why_no_window()
    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
    assert app.why_no_window() == ""


def test_a_screen_that_cannot_be_reached_is_noticed(monkeypatch):
    monkeypatch.setattr(sys, "platform", "linux")
    for name in ("WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("DISPLAY", ":4711")
    assert "due list is printed instead" in app.why_no_window()


# --- what goes wrong -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "code"),
    [
        (ProblemKind.INPUT, 3),
        (ProblemKind.NOT_FOUND, 4),
        (ProblemKind.DATABASE, 5),
        (ProblemKind.CONFLICT, 6),
        (ProblemKind.FILE, 7),
    ],
)
def test_each_kind_of_problem_has_its_exit_code(kind, code):
    def fail(*_arguments):
        raise WearlogError(Problem("It\nfailed.", "Here", "Mend it.", kind=kind))

    result = run("due", open_bench=fail)
    assert result.exit_code == code
    assert result.stderr == "Here: It failed. Mend it.\n"


@pytest.mark.parametrize("stop", [Cancelled, KeyboardInterrupt])
def test_stopped_work_ends_with_130(stop):
    def fail(*_arguments):
        raise stop

    result = run("due", open_bench=fail)
    assert result.exit_code == 130
    assert "nothing was changed" in result.stderr


def test_a_fault_of_the_program_is_logged_and_told_in_one_line(caplog):
    def fail(*_arguments):
        message = "the moon is full"
        raise RuntimeError(message)

    result = run("due", open_bench=fail)
    assert result.exit_code == 70
    assert result.stderr.count("\n") == 1
    assert "the moon is full" in result.stderr
    assert "Traceback" in caplog.text


def test_a_file_that_is_no_database_is_told(tmp_path):
    file = tmp_path / "notes.sqlite"
    file.write_text("Dear diary, the chain is worn again.\n" * 100, encoding="utf-8")
    result = run("--database", str(file), "due")
    assert result.exit_code == 5
    assert result.stderr.count("\n") == 1


# --- as a process ----------------------------------------------------------------------------------------


def test_help_is_instant_because_neither_numpy_nor_qt_is_loaded():
    code = (
        "import sys; from wearlog import app, cli; app.program()\n"
        "print([name for name in ('numpy', 'PySide6', 'sqlalchemy', 'pint', 'scipy') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)  # noqa: S603 - our own
    assert done.stdout.strip() == "[]"


def test_every_verb_has_help():
    for verb in cli.wearlog.commands:
        result = run(verb, "--help")
        assert result.exit_code == 0
        assert "Usage: " in result.stdout


def test_the_sample_fleet_is_judged_by_one_command(tmp_path):
    """`wearlog --sample due --format json` as somebody types it, and nothing is left behind."""
    done = subprocess.run(
        [sys.executable, "-m", "wearlog", "--sample", "due", "--format", "json"],
        capture_output=True,
        check=False,
        cwd=Path(__file__).parent.parent.parent,
        env={**os.environ, "TMPDIR": str(tmp_path)},
    )
    assert done.returncode == 0, done.stderr
    data = json.loads(done.stdout)
    assert data["as_of"] == app.sample_day().isoformat()
    with (sample_fleet() / "vehicles.csv").open(encoding="utf-8", newline="") as stream:
        tags = {row["tag"] for row in csv.DictReader(stream)}
    assert {line["vehicle"] for line in data["lines"]} <= tags
    assert {line["action"] for line in data["lines"]} >= {"replace", "measure", "task"}
    assert list(tmp_path.iterdir()) == []
