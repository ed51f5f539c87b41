"""Whatever is typed behind the name of the program, it ends with a sentence and a known exit code."""

import os
import shutil
from dataclasses import replace

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.makers.import_folder import brought, new_bench, write_folder
from wearlog import app, cli
from wearlog.cli.exit_codes import BUG, EXIT_CODES, OK, STOPPED

#: No path is made up: it could lead anywhere.
ANY_WORD = st.one_of(
    st.sampled_from(sorted(cli.wearlog.commands)),
    st.sampled_from(
        [
            "--database",
            "--by",
            "--help",
            "--weeks",
            "--depot",
            "--output",
            "-o",
            "--questions",
            "--on",
            "--",
            "-h",
        ]
    ),
    st.sampled_from(
        ["2026-11-23", "2026-13-99", "LR-001", "final drive", "vehicles.csv", "-1", "0", "1e9", "8w"]
    ),
    st.sampled_from(["99999w", "", "%", "=1+1", "a.csv", "a.xlsx", "a.pdf", "a.ics", "none.sqlite"]),
    st.text(st.characters(exclude_characters="/\\~", exclude_categories=["Cs"]), max_size=6),
)


@pytest.fixture(scope="module")
def fleet(tmp_path_factory):
    folder = tmp_path_factory.mktemp("arguments")
    bench = new_bench(folder / "fleet.sqlite")
    brought(bench, write_folder(folder / "csv"))
    bench.database.close()
    return folder


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(typed=st.lists(ANY_WORD, max_size=7))
def test_any_arguments_end_in_a_sentence(fleet, monkeypatch, typed):
    work = fleet / "work"
    shutil.rmtree(work, ignore_errors=True)
    work.mkdir()
    shutil.copy(fleet / "fleet.sqlite", work / "fleet.sqlite")
    monkeypatch.chdir(work)
    program = replace(app.program(), open_window=lambda *_given: OK)
    arguments = ["--database", os.fspath(work / "fleet.sqlite"), *typed]
    result = CliRunner().invoke(cli.wearlog, arguments, obj=program)
    assert result.exit_code != BUG, result.output
    assert result.exit_code in {OK, STOPPED, 1, 2, *EXIT_CODES.values()}, result.output
    assert result.exception is None or isinstance(result.exception, SystemExit)
    assert result.output.strip() or result.exit_code == OK
