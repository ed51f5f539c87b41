"""Keeps the tests away from the person's own screen, settings and data; set before Qt is loaded."""

import os
import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import settings

from tests.makers.server import administrator, postgresql, server

__all__ = ["administrator", "postgresql", "server"]

# How long an example takes depends on the machine; no test may fail for that.
settings.register_profile("wearlog", deadline=None)
settings.load_profile("wearlog")

_home = Path(tempfile.mkdtemp(prefix="wearlog-tests-"))
os.environ["QT_QPA_PLATFORM"] = "offscreen"
os.environ["QT_SCALE_FACTOR"] = "1"
os.environ["QT_FONT_DPI"] = "96"
os.environ["LC_ALL"] = "C.UTF-8"
os.environ["LANGUAGE"] = "en"
for _variable, _folder in {
    "XDG_CONFIG_HOME": "config",
    "XDG_DATA_HOME": "data",
    "XDG_CACHE_HOME": "cache",
    "XDG_STATE_HOME": "state",
    "APPDATA": "config",
    "LOCALAPPDATA": "data",
}.items():
    os.environ[_variable] = str(_home / _folder)


@pytest.fixture(scope="session")
def sample_file(tmp_path_factory) -> Path:
    """The sample fleet in a file, learnt once; copied for each test that wants it."""
    from tests.makers.bench import sample_bench
    from wearlog.workshop.learn import learned

    file = tmp_path_factory.mktemp("sample") / "sample.sqlite"
    made = sample_bench(file)
    learned(made)
    made.database.close()
    return file


@pytest.fixture
def sample(sample_file, tmp_path):
    """A bench on a copy of the sample fleet."""
    from tests.makers.bench import SAMPLE_DAY
    from wearlog.store.database import Database
    from wearlog.workshop.bench import Bench, FixedClock

    copy = tmp_path / "sample.sqlite"
    shutil.copy(sample_file, copy)
    clock = FixedClock(SAMPLE_DAY)
    database = Database.open(copy, now=clock.now())
    yield Bench(database, "Tilda", clock)
    database.close()
