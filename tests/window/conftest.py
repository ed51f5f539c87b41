"""A window without a person: workers joined, everything said recorded, nothing left behind."""

import gc
import sys
from dataclasses import dataclass, field
from datetime import date
from functools import partial
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QTimer
from PySide6.QtWidgets import QApplication

from wearlog.fleet.problem import WearlogError
from wearlog.preferences import Preferences
from wearlog.store.database import Database
from wearlog.window import theme
from wearlog.window.background import Background
from wearlog.window.messages import Messages, Said
from wearlog.window.session import Session
from wearlog.workshop.bench import Bench, FixedClock, set_up

#: The day on which every test of the window plays.
TODAY = date(2026, 11, 25)
#: How long a test waits for what is to come, [ms].
PATIENCE_MS = 60_000


def pytest_collection_modifyitems(items):
    """Overlook what the offscreen platform says of every popup; it has no meaning there."""
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.qt_log_ignore("This plugin does not support", extend=True))


@pytest.fixture(scope="session")
def qapp(qapp: QApplication):
    """The application with the look that all tests and pictures share."""
    theme.apply(qapp, Preferences(theme="light"))
    return qapp


@pytest.fixture
def qtbot(qtbot):
    """The robot, with patience for a busy machine: what is waited for comes, only the moment is not sure."""
    for name in ("waitUntil", "waitSignal", "waitSignals"):
        setattr(qtbot, name, partial(getattr(qtbot, name), timeout=PATIENCE_MS))
    return qtbot


@pytest.fixture(autouse=True)
def nothing_left_behind(qapp, qtbot):
    """Fail if a test leaves a top-level widget or a running timer."""
    before = set(map(id, QApplication.topLevelWidgets()))
    yield
    _settle()
    left = [w for w in QApplication.topLevelWidgets() if id(w) not in before and w.isVisible()]
    for widget in left:
        widget.close()
    assert not left, f"left open: {left}"


def _settle() -> None:
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    QCoreApplication.processEvents()


@pytest.fixture(autouse=True)
def light_theme(qapp):
    """Put the plain look back after a test that changed it."""
    yield
    if theme.colours().theme != "light" or theme.text_scale() != 1.0:
        theme.apply(qapp, Preferences(theme="light"))


@pytest.fixture
def background(qapp):
    """Two workers that are joined after the test."""
    made = Background()
    yield made
    made.close()
    _settle()
    assert not made.is_busy()
    assert not [t for t in made.findChildren(QTimer) if t.isActive()]


@dataclass
class Heard:
    """What the person was told; take what the test expects, the rest fails it."""

    problems: list[WearlogError] = field(default_factory=list)
    quiet: list[Said] = field(default_factory=list)
    bugs: list[str] = field(default_factory=list)

    def take_problem(self) -> WearlogError:
        return self.problems.pop(0)

    def take_said(self) -> Said:
        return self.quiet.pop(0)

    def take_bug(self) -> str:
        return self.bugs.pop(0)


@pytest.fixture
def messages(qapp):
    """The way to the person."""
    return Messages()


@pytest.fixture
def heard(messages):
    """What was said; all of it has to be taken by the test."""
    heard = Heard()
    messages.problem_told.connect(lambda error, _page: heard.problems.append(error))
    messages.said_quietly.connect(heard.quiet.append)
    messages.bug_found.connect(heard.bugs.append)
    yield heard
    assert not heard.bugs, heard.bugs[0]
    assert not heard.problems, f"not expected: {heard.problems}"
    assert not heard.quiet, f"not expected: {heard.quiet}"


@pytest.fixture
def bench(tmp_path):
    """An empty workshop on a fixed day, with the default limits and intervals."""
    clock = FixedClock(TODAY)
    database = Database.open(tmp_path / "bench.sqlite", now=clock.now())
    bench = Bench(database, "Ines Falk", clock)
    set_up(bench)
    yield bench
    database.close()


@pytest.fixture
def session(bench, background, messages, heard):
    """What the pages share, on a real and empty store."""
    session = Session(bench, Preferences(theme="light"), background, messages)
    yield session
    session.stop_watching()


@pytest.fixture
def no_errors_lost(monkeypatch):
    """Let errors in slots fail the test, as they do by pytest-qt, and collect what Python throws away."""
    lost = []
    monkeypatch.setattr(sys, "unraisablehook", lost.append)
    yield
    gc.collect()
    assert not lost
