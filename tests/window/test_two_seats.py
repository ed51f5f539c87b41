"""Two seats on one database, a file or a server: both see each other's changes, and neither loses a word."""

from dataclasses import dataclass, field

import pytest

from tests.window.conftest import TODAY
from tests.window.vehicle.test_vehicle_page import Hand, add
from wearlog.fleet.problem import WearlogError
from wearlog.preferences import Preferences
from wearlog.store.database import Database
from wearlog.window import session as session_file
from wearlog.window.background import Background
from wearlog.window.messages import Messages
from wearlog.window.session import Session
from wearlog.window.vehicle.page import VehiclePage
from wearlog.workshop.bench import Bench, FixedClock, set_up
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.keeping import verify


@dataclass
class Seat:
    """A person at a window of their own, with their own connection to the database."""

    session: Session
    page: VehiclePage
    hand: Hand
    problems: list[WearlogError] = field(default_factory=list)
    said: list[str] = field(default_factory=list)

    def opens(self, vehicle_id):
        self.session.choose(vehicle_id)
        self.page.activateWindow()
        self.page.show_vehicle(vehicle_id)
        self.hand.waits()

    def notes(self, text):
        self.page.activateWindow()
        self.hand.types("Notes", text)

    def saves(self):
        self.page.activateWindow()
        self.page.save()
        self.hand.waits()


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request, tmp_path):
    if request.param == "sqlite":
        return str(tmp_path / "shared.sqlite")
    return request.getfixturevalue("postgresql")


@pytest.fixture
def take_seat(address, qapp, qtbot, monkeypatch):
    """Puts one more person at the same database."""
    monkeypatch.setattr(session_file, "WATCH_EVERY_MS", 50)
    seats = []

    def take(name):
        clock = FixedClock(TODAY)
        bench = Bench(Database.open(address, now=clock.now()), name, clock)
        set_up(bench)
        background, messages = Background(), Messages()
        session = Session(bench, Preferences(theme="light"), background, messages)
        page = VehiclePage(session)
        page.resize(960, 720)
        with qtbot.waitExposed(page):
            page.show()
        seat = Seat(session, page, Hand(page, qtbot))
        session.changed.connect(page.refresh)
        messages.problem_told.connect(lambda error, _page: seat.problems.append(error))
        messages.said_quietly.connect(lambda said: seat.said.append(said.text))
        seats.append(seat)
        return seat

    yield take
    for seat in seats:
        seat.session.stop_watching()
        seat.page.close()
        seat.page.deleteLater()
        seat.session.background.close()
        seat.session.bench.database.close()


@pytest.fixture
def two(take_seat):
    """Ines and Corbin, and a vehicle that both have open."""
    seats = (take_seat("Ines"), take_seat("Corbin"))
    vehicle_id = add(seats[0].session.bench)
    for seat in seats:
        seat.opens(vehicle_id)
    return seats


def the_vehicle(seat):
    return fleet_state(seat.session.bench).vehicle_tagged("LR-031")


def test_what_one_seat_saves_the_other_shows_without_being_asked(two, qtbot):
    ines, corbin = two
    corbin.session.watch()
    corbin.hand.waits()
    ines.notes("tyre ordered")
    ines.saves()
    qtbot.waitUntil(lambda: corbin.page.model.draft.notes == "tyre ordered")
    assert not corbin.problems


def test_both_versions_are_shown_and_the_one_that_is_chosen_counts(two):
    ines, corbin = two
    ines.notes("belt squeals")
    corbin.notes("chain noisy")
    ines.saves()
    corbin.saves()
    assert corbin.page.stack.currentIndex() == 2
    assert "Ines changed it" in corbin.page.conflict.said.text()
    # Nothing is decided yet: what Ines saved counts, what Corbin typed is still there.
    assert the_vehicle(corbin).notes == "belt squeals"
    assert corbin.page.model.draft.notes == "chain noisy"
    corbin.page.conflict.all_mine.click()
    corbin.page.conflict.confirm()
    corbin.hand.waits()
    assert the_vehicle(ines).notes == "chain noisy"
    with ines.session.bench.database.reading() as records:
        trail = " ".join(entry.before + entry.after for entry in records.audit())
    assert "belt squeals" in trail
    assert verify(ines.session.bench).findings == ()


def test_fields_that_only_one_of_them_changed_are_put_together(two):
    ines, corbin = two
    ines.page.activateWindow()
    ines.hand.types("Description", "patrol motorcycle, rebuilt")
    corbin.notes("chain noisy")
    ines.saves()
    corbin.saves()
    corbin.page.conflict.confirm()
    corbin.hand.waits()
    kept = the_vehicle(ines)
    assert (kept.description, kept.notes) == ("patrol motorcycle, rebuilt", "chain noisy")


def test_what_is_being_typed_stays_while_the_other_seat_saves(two, qtbot):
    ines, corbin = two
    corbin.session.watch()
    corbin.hand.waits()
    corbin.notes("half a sen")
    ines.notes("tyre ordered")
    with qtbot.waitSignal(corbin.session.changed):
        ines.saves()
    corbin.hand.waits()
    assert corbin.page.model.draft.notes == "half a sen"
