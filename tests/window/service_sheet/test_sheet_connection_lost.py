"""A sheet saved while the connection to the server goes: it stays, says so, and is saved once."""

import pytest
from PySide6.QtCore import Qt
from sqlalchemy import make_url

from tests.makers.cut import Way
from tests.window.conftest import TODAY
from tests.window.service_sheet.hand import PAGE_SIZE, Hand
from tests.window.service_sheet.test_sheet_on_bench import add
from wearlog.fleet.service import Visit
from wearlog.preferences import Preferences
from wearlog.store.database import Database
from wearlog.window.service_sheet.page import SheetPage
from wearlog.window.session import Session
from wearlog.workshop.bench import Bench, FixedClock, set_up
from wearlog.workshop.fleet_state import fleet_state


@pytest.fixture
def way(postgresql):
    with Way(postgresql) as made:
        yield made


@pytest.fixture
def bench(postgresql, way):
    """A seat whose connection can be cut."""
    query = {name: value for name, value in make_url(postgresql).query.items() if name != "host"}
    url = make_url(postgresql).set(host="127.0.0.1", port=way.port, query=query)
    clock = FixedClock(TODAY)
    database = Database.open(url.render_as_string(hide_password=False), now=clock.now())
    made = Bench(database, "Ines Falk", clock)
    set_up(made)
    add(made, "LR-031")
    yield made
    database.close()


@pytest.fixture
def session(bench, background, messages, heard):
    made = Session(bench, Preferences(theme="light"), background, messages)
    yield made
    made.stop_watching()


@pytest.fixture
def page(session, qtbot):
    made = SheetPage(session)
    made.resize(*PAGE_SIZE)
    with qtbot.waitExposed(made):
        made.show()
    made.activateWindow()
    made.become_visible()
    made.focus_first()
    yield made
    qtbot.waitUntil(lambda: not session.background.is_busy())
    made.close()
    made.deleteLater()


@pytest.fixture
def hand(page, qtbot):
    return Hand(page, qtbot)


def visits(bench) -> list[float]:
    with bench.database.reading() as records:
        return [visit.total_use for visit in records.all(Visit)]


def test_a_sheet_whose_connection_is_lost_stays_and_is_saved_when_the_server_answers(
    hand, page, session, bench, way, heard
):
    # Looked up before, so that the first the seat hears of the loss is its save.
    fleet_state(bench)
    hand.scans("LR-031")
    hand.enters("112")
    hand.waits()
    way.shut()
    hand.presses_key(Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    hand.waits()
    assert "server" in heard.take_problem().problems[0].what
    assert "stays as it is" in page.sheet.note.text
    assert page.model.draft.meter_text == "112"
    # The next look finds the server still away: said once by the session, and the sheet waits on.
    session.look_for_changes()
    hand.waits()
    heard.take_problem()
    way.reopen()
    session.look_for_changes()
    hand.waits()
    hand.waits()
    assert "LR-031" in heard.take_said().text
    assert page.model.draft is None
    assert visits(bench) == [112.0]


def test_a_sheet_whose_answer_was_lost_is_found_saved_and_not_doubled(hand, page, session, bench, way, heard):
    fleet_state(bench)
    hand.scans("LR-031")
    hand.enters("112")
    hand.waits()
    way.drop_answer_after(b"INSERT INTO visit", b"COMMIT")
    hand.presses_key(Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    hand.waits()
    assert "nobody knows" in heard.take_problem().problems[0].what
    assert page.model.draft.meter_text == "112"
    way.watch()
    hand.presses_key(Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    hand.waits()
    assert "LR-031" in heard.take_said().text
    assert page.model.draft is None
    assert visits(bench) == [112.0]
