"""Backing up, putting back and verifying from the command line, with real files."""

import json
import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest
from click.testing import CliRunner

from tests.makers.import_folder import write_folder
from wearlog import app, cli


def run(database, *arguments):
    """Run a verb as a process of its own would: what it opened is closed when it ends."""
    program, opened = app.program(), []

    def open_bench(address, by, progress):
        opened.append(program.open_bench(address, by, progress))
        return opened[-1]

    words = ["--database", str(database), *map(str, arguments)]
    result = CliRunner().invoke(cli.wearlog, words, obj=replace(program, open_bench=open_bench))
    for bench in opened:
        bench.database.close()
    return result


@pytest.fixture
def database(tmp_path):
    file = tmp_path / "fleet.sqlite"
    result = run(file, "import", write_folder(tmp_path / "csv"))
    assert result.exit_code == 0, result.output
    return file


def change(database, statement):
    with closing(sqlite3.connect(database)) as file:
        file.execute(statement)
        file.commit()


def test_a_database_in_order_is_verified(database):
    result = run(database, "verify")
    assert result.exit_code == 0, result.output
    assert result.stdout.endswith(": nothing found.\n")


def test_what_is_found_says_where_and_what_to_do_and_ends_with_code_8(database):
    change(database, "UPDATE reading SET u_value = 9 WHERE id = 2")
    result = run(database, "verify")
    assert result.exit_code == 8
    assert result.stdout.splitlines()[0].startswith(
        "Reading 2: u_value: A row is not what the trail says. Compare with a backup"
    )


def test_what_is_found_is_written_as_json(database, tmp_path):
    change(database, "DELETE FROM audit WHERE id = 5")
    result = run(database, "verify", "--format", "json", "-o", tmp_path / "found.json")
    assert result.exit_code == 8
    told = json.loads((tmp_path / "found.json").read_text(encoding="utf-8"))
    assert told["database"] == str(database)
    assert {"where", "what", "todo"} == set(told["findings"][0])
    assert "The trail was altered" in told["findings"][0]["what"]


def test_a_backup_is_made_and_put_back(database, tmp_path):
    copy = tmp_path / "stick" / "monday.sqlite"
    result = run(database, "backup", copy)
    assert result.exit_code == 0, result.output
    assert str(copy) in result.stdout
    change(database, "UPDATE vehicle SET notes = 'spoilt'")
    result = run(database, "restore", copy)
    assert result.exit_code == 0, result.output
    (aside,) = tmp_path.glob("fleet.aside-*.sqlite")
    assert str(aside) in result.stdout
    assert run(database, "verify").exit_code == 0


def test_a_backup_never_replaces_a_file(database, tmp_path):
    (tmp_path / "monday.sqlite").write_text("the only copy")
    result = run(database, "backup", tmp_path / "monday.sqlite")
    assert result.exit_code == 7
    assert "There is a file of this name already." in result.stderr
    assert (tmp_path / "monday.sqlite").read_text() == "the only copy"


def test_a_damaged_database_names_the_backup_and_is_put_back_with_the_words_given(database, tmp_path):
    folder = database.with_name("fleet.sqlite-backups")
    copy = folder / "fleet-20261124T070000Z.sqlite"
    assert run(database, "backup", copy).exit_code == 0
    with database.open("r+b") as file:
        file.write(b"\0" * 8192)
    result = run(database, "verify")
    assert result.exit_code == 5
    words = result.stderr.partition("Put it back with: wearlog ")[2].partition(" The damaged")[0].split()
    assert words == ["--database", str(database), "restore", str(copy)]
    again = CliRunner().invoke(cli.wearlog, words, obj=app.program())
    assert again.exit_code == 0, again.output
    assert run(database, "verify").exit_code == 0


@pytest.mark.parametrize(
    ("content", "code", "what"),
    [(None, 7, "There is no such file."), (b"Dear workshop,\n" * 100, 5, "is not a wearlog database")],
)
def test_what_is_no_backup_is_refused(database, tmp_path, content, code, what):
    source = tmp_path / "other.sqlite"
    if content is not None:
        source.write_bytes(content)
    before = database.read_bytes()
    result = run(database, "restore", source)
    assert result.exit_code == code, result.output
    assert what in result.stderr
    assert database.read_bytes() == before


def test_the_sample_fleet_is_not_put_back(tmp_path):
    result = CliRunner().invoke(cli.wearlog, ["--sample", "restore", "x.sqlite"], obj=app.program())
    assert result.exit_code == 2
