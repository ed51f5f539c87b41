"""`wearlog plan`, run as a person runs it."""

import csv
import io
import json
from dataclasses import replace
from datetime import date

import pytest
from click.testing import CliRunner, Result
from icalendar import Calendar

from tests.makers.bench import SAMPLE_DAY
from wearlog import app, cli


@pytest.fixture
def database(sample_file, tmp_path) -> str:
    copy = tmp_path / "sample.sqlite"
    copy.write_bytes(sample_file.read_bytes())
    return str(copy)


def run(database: str, *arguments: str) -> Result:
    on = ("--on", SAMPLE_DAY.isoformat(), "--weeks", "2", "--seconds", "0.3")
    return CliRunner().invoke(
        cli.wearlog, ("--database", database, "plan", *on, *arguments), obj=replace(app.program())
    )


def test_the_table_says_who_comes_when_and_what_that_means(database):
    # Within eight weeks some work is brought forward to visits that happen anyway, and some comes late.
    result = run(database, "--weeks", "8")
    assert result.exit_code == 0, result.output
    assert result.stdout.startswith("Visit plan on 23 Nov 2026, least cost: ")
    assert "for 1000 km" in result.stdout.splitlines()[0]
    assert "gives away" in result.stdout
    assert "chance of being past the limit" in result.stdout


def test_all_formats_tell_the_same_visits(database):
    data = json.loads(run(database, "--policy", "as-listed", "--format", "json").stdout)
    rows = list(csv.DictReader(io.StringIO(run(database, "--policy", "as-listed", "--format", "csv").stdout)))
    calendar = Calendar.from_ical(run(database, "--policy", "as-listed", "--format", "ics").stdout_bytes)
    visits = sorted((visit["on"], visit["vehicle"]) for visit in data["visits"])
    assert visits
    assert sorted({(row["visit on"], row["vehicle"]) for row in rows}) == visits
    events = calendar.walk("VEVENT")
    assert (
        sorted((str(event.decoded("dtstart")), event["summary"].split(":")[0]) for event in events) == visits
    )
    assert len({event["uid"] for event in events}) == len(visits)
    # RFC 5545, 3.6.1: the end of an all-day event is the day after.
    assert all((event.decoded("dtend") - event.decoded("dtstart")).days == 1 for event in events)
    assert sum(len(visit["work"]) for visit in data["visits"]) == len(rows)


def test_one_depot_goes_to_a_file_by_its_name(database, tmp_path):
    file = tmp_path / "visits.csv"
    result = run(database, "--policy", "as-listed", "--depot", "upper depot", "--output", str(file))
    assert result.exit_code == 0, result.output
    rows = list(csv.DictReader(file.read_text("utf-8-sig").splitlines()))
    assert {row["depot"] for row in rows} == {"Upper Depot"}
    assert all(date.fromisoformat(row["visit on"]).weekday() < 5 for row in rows)


def test_the_three_ways_stand_side_by_side(database):
    lines = run(database, "--policy", "compare").stdout.splitlines()
    assert lines[0].split() == ["AS", "THE", "LIST", "SAYS", "FEWEST", "VISITS", "LEAST", "COST"]
    visits = next(line for line in lines if line.startswith("visits")).split()[1:]
    assert int(visits[1]) <= int(visits[0])


def test_a_depot_that_is_not_there_is_said_with_those_that_are(database):
    result = run(database, "--policy", "as-listed", "--depot", "Moon")
    assert result.exit_code != 0
    assert "Harbour Depot, Upper Depot" in result.stderr
