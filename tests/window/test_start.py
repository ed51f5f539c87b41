"""The window with everything behind it: another database replaces it, preferences and bugs are kept."""

import logging

import pytest

from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.fleet.vehicle import Duty, MeterUnit, VehicleKind
from wearlog.preferences import Preferences, read_preferences, write_preferences
from wearlog.store.database import Database
from wearlog.window.messages import BugDialog
from wearlog.window.start import Openers, build_window, start_log
from wearlog.window.welcome.page import WelcomePage
from wearlog.workshop.bench import Bench, set_up
from wearlog.workshop.fit import add_vehicle_from_template


@pytest.fixture
def kept(tmp_path):
    return tmp_path / "preferences.toml"


@pytest.fixture
def other(tmp_path, bench):
    """Another workshop with one vehicle."""
    database = Database.open(tmp_path / "other.sqlite", now=bench.now())
    other = Bench(database, "Ines Falk", bench.clock)
    set_up(other)
    add_vehicle_from_template(
        other,
        tag="LC-02",
        description="cargo e-bike",
        kind=VehicleKind.CARGO_EBIKE,
        depot="Harbour depot",
        meter_unit=MeterUnit.KM,
        duty=Duty.ROAD,
        meter_value=250.0,
        template="single chain",
    )
    yield other
    database.close()


@pytest.fixture
def closed():
    return []


@pytest.fixture
def seat(bench, other, closed, kept, qtbot):
    def open_database(address, _progress):
        if address == "missing":
            raise WearlogError(Problem("There is no such file.", address, kind=ProblemKind.FILE))
        return other

    openers = Openers(open_database, lambda _progress: other, closed.append)
    preferences = Preferences(theme="light", last_page="due")
    seat = build_window(bench, preferences, openers, keep_preferences=lambda p: write_preferences(p, kept))
    seat.show()
    qtbot.waitUntil(lambda: seat.window.fleet.model.snapshot is not None)
    yield seat
    seat.close()


def test_a_new_workshop_opens_with_help_to_begin(seat):
    assert isinstance(seat.window.current_page(), WelcomePage)


def test_the_sample_fleet_takes_the_place_of_the_window(seat, bench, other, closed, qtbot):
    before = seat.window
    seat.window.page("welcome").sample_wanted.emit()
    qtbot.waitUntil(lambda: seat.window is not before)
    qtbot.waitUntil(lambda: seat.window.fleet.model.snapshot is not None)
    assert [row.tag for row in seat.window.fleet.model.snapshot.rows] == ["LC-02"]
    assert "Larkfell Ranger Service" in seat.window.windowTitle()
    qtbot.waitUntil(lambda: closed == [bench])
    assert seat.session.bench is other


def test_a_database_that_can_not_be_opened_leaves_the_window_as_it_was(seat, bench, qtbot):
    before = seat.window
    seat.open_database("missing")
    page = seat.window.current_page()
    qtbot.waitUntil(page.banner.isVisible)
    assert "no such file" in page.banner.text.text()
    assert seat.window is before
    assert seat.session.bench is bench


def test_what_belongs_to_the_seat_is_kept_when_the_window_closes(seat, kept):
    seat.window.close()
    preferences = read_preferences(kept)
    assert preferences.last_page == "due"
    assert preferences.window


def test_bugs_are_written_to_the_log(seat, tmp_path, qtbot):
    file = tmp_path / "logs" / "wearlog.log"
    start_log(file)
    logger = logging.getLogger("wearlog")
    try:
        seat.messages.bug(ZeroDivisionError("no links"))
        assert "no links" in file.read_text(encoding="utf-8")
    finally:
        seat.window.findChild(BugDialog).reject()
        for handler in logger.handlers[:]:
            handler.close()
            logger.removeHandler(handler)
