"""A half-filled sheet is there again after a kill in mid-work: real processes, a real file."""

import json
import os
import signal
import sqlite3
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.makers.bench import add_caliper, add_motorcycle, empty_bench
from tests.window.service_sheet.seat_process import ELONGATION, METER, READ, SLACK
from wearlog.workshop.measure import kept_draft

ROOT = Path(__file__).parents[3]


@pytest.fixture
def file(tmp_path):
    """A workshop with one motorcycle, in a file."""
    bench = empty_bench(tmp_path / "bench.sqlite")
    add_caliper(bench)
    add_motorcycle(bench)
    bench.database.close()
    return tmp_path / "bench.sqlite"


@contextmanager
def seat(file: Path, work: str):
    """A seat in its own process; killed at the end, as by a power cut."""
    homes = ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_STATE_HOME")
    own = {name: str(file.parent) for name in homes}
    process = subprocess.Popen(  # noqa: S603 - this very program
        [sys.executable, "-m", "tests.window.service_sheet.seat_process", str(file), work],
        cwd=ROOT,
        env={**os.environ, **own, "QT_QPA_PLATFORM": "offscreen"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        yield process
    finally:
        process.send_signal(signal.SIGKILL)
        process.communicate()
    assert process.returncode == -signal.SIGKILL


def told_by(process) -> dict[str, str]:
    line = process.stdout.readline()
    assert line, process.stderr.read()
    return json.loads(line)


def test_a_half_filled_sheet_is_filled_in_again_after_kill_9(file):
    with seat(file, "type") as first:
        told = told_by(first)
    assert (told["Meter"], told[ELONGATION], told["slack"]) == (METER, READ, SLACK)
    with seat(file, "look") as second:
        told = told_by(second)
    assert (told["Meter"], told[ELONGATION], told["slack"]) == (METER, READ, SLACK)
    assert "half-filled" in told["note"]


def test_a_kill_between_two_letters_leaves_a_sound_file_and_what_was_kept(file):
    with seat(file, "type and be cut off") as first:
        told_by(first)
    connection = sqlite3.connect(file)
    assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    connection.close()
    bench = empty_bench(file)
    draft = kept_draft(bench, 1)
    bench.database.close()
    if draft is not None:
        assert METER.startswith(draft.meter_text)
        typed = [entry.text for entry in draft.entries.values() if entry.text]
        assert all(READ.startswith(text) or text == SLACK for text in typed)
