import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.makers.bench import SAMPLE_DAY, empty_bench, sample_bench
from wearlog.store.database import Database
from wearlog.workshop.bench import Bench, FixedClock
from wearlog.workshop.learn import learned


@pytest.fixture
def bench():
    """A bench on a new database in memory, closed at the end."""
    made = empty_bench()
    yield made
    made.database.close()


@pytest.fixture(scope="session")
def sample_file(tmp_path_factory) -> Path:
    """The sample fleet in a file, fitted once; copied for each test that wants it."""
    file = tmp_path_factory.mktemp("sample") / "sample.sqlite"
    made = sample_bench(file)
    learned(made)
    made.database.close()
    return file


@pytest.fixture
def sample(sample_file, tmp_path):
    """A bench on a copy of the sample fleet."""
    copy = tmp_path / "sample.sqlite"
    shutil.copy(sample_file, copy)
    database = Database.open(copy, now=datetime.now(UTC))
    yield Bench(database, "Tilda", FixedClock(SAMPLE_DAY))
    database.close()
