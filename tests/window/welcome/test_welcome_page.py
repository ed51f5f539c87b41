"""Where to begin, on a real and empty workshop."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPushButton

from wearlog.window.welcome.page import WelcomePage


@pytest.fixture
def page(session, qtbot):
    page = WelcomePage(session)
    qtbot.addWidget(page)
    page.resize(960, 720)
    page.show()
    page.become_visible()
    return page


def button(page, text):
    return next(b for b in page.findChildren(QPushButton) if b.text().replace("&", "") == text)


def test_a_vehicle_to_add_is_one_key_away(page, qtbot):
    with qtbot.waitSignal(page.vehicle_wanted):
        qtbot.keyClick(button(page, "Add a vehicle"), Qt.Key.Key_Space)


def test_a_sheet_and_a_folder_to_bring_in_are_one_key_away(page, qtbot):
    with qtbot.waitSignal(page.sheet_wanted):
        qtbot.keyClick(button(page, "Choose a sheet …"), Qt.Key.Key_Space)
    with qtbot.waitSignal(page.folder_wanted):
        qtbot.keyClick(button(page, "Choose a folder …"), Qt.Key.Key_Space)


def test_the_sample_fleet_is_one_key_away(page, qtbot):
    with qtbot.waitSignal(page.sample_wanted):
        qtbot.keyClick(button(page, "Open the sample fleet"), Qt.Key.Key_Space)
