"""The page of the service sheet with a desk that remembers, and a hand on its keyboard."""

import pytest

from tests.makers.sheet import bicycle_sheet, motorcycle_sheet, two_chain_sheet
from tests.window.service_sheet.hand import PAGE_SIZE, Hand
from tests.window.service_sheet.made_desk import MadeDesk
from wearlog.window.service_sheet.page import SheetPage


@pytest.fixture
def desk():
    sheets = (motorcycle_sheet(), two_chain_sheet(), bicycle_sheet())
    return MadeDesk({sheet.vehicle_id: sheet for sheet in sheets})


@pytest.fixture
def page(session, desk, qtbot):
    made = SheetPage(session, desk)
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
