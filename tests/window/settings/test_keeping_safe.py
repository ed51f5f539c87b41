"""Backups and the look through the database, on the settings page."""

from datetime import UTC, datetime

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from tests.makers.bench import add_motorcycle
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.vehicle import Vehicle
from wearlog.window.settings.model import Section
from wearlog.window.settings.page import SettingsPage


class Clock:
    """A clock that is put forward by hand; one that stands still is that of the sample fleet."""

    def __init__(self, at):
        self.at = at

    def now(self):
        return self.at


@pytest.fixture
def page(session, qtbot):
    add_motorcycle(session.bench)
    session.bench.clock = Clock(datetime(2026, 11, 25, 12, tzinfo=UTC))
    page = SettingsPage(session)
    qtbot.addWidget(page)
    page.resize(960, 720)
    page.show()
    page.activateWindow()
    qtbot.waitUntil(page.isActiveWindow)
    page.become_visible()
    qtbot.waitUntil(lambda: page.model.snapshot is not None)
    page.model.turn(Section.DATABASE)
    return page


def add_backup(page, qtbot, rows):
    page.database.safe.more.setFocus()
    qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Space)
    qtbot.waitUntil(lambda: page.database.safe.list.count() == rows)


def test_without_backups_the_page_says_so(page):
    assert page.database.safe.none.isVisible()
    assert not page.database.safe.put_back.isEnabled()


def test_backups_are_listed_the_newest_first_and_one_is_put_back_by_keyboard(page, qtbot, session):
    add_backup(page, qtbot, 1)
    session.bench.clock.at = datetime(2026, 11, 25, 13, 30, tzinfo=UTC)
    add_backup(page, qtbot, 2)
    safe = page.database.safe
    when = session.bench.clock.at.astimezone()
    assert safe.list.item(0).text().startswith(f"{when:%Y-%m-%d %H:%M}")
    assert "kB" in safe.list.item(0).text() or "MB" in safe.list.item(0).text()
    assert not safe.put_back.isEnabled()
    safe.list.setFocus()
    qtbot.keyClick(safe.list, Qt.Key.Key_Down)
    assert safe.put_back.isEnabled()
    safe.put_back.setFocus()
    with qtbot.waitSignal(session.restore_wanted) as wanted:
        qtbot.keyClick(safe.put_back, Qt.Key.Key_Space)
    assert wanted.args[0] == safe.chosen


def look_through(page, qtbot):
    safe = page.database.safe
    safe.look.setFocus()
    qtbot.keyClick(safe.look, Qt.Key.Key_Space)
    assert not safe.look.isEnabled()
    qtbot.waitUntil(safe.look.isEnabled)
    return safe


def test_a_database_in_order_is_said_to_be(page, qtbot):
    safe = look_through(page, qtbot)
    assert safe.found.text().endswith(": nothing found.")
    assert not safe.findings.isVisible()


def test_what_is_found_is_listed_with_where_and_what_to_do(page, qtbot, session):
    bench = session.bench
    with bench.database.writing(by="Tilda", at=bench.now(), what="x") as records:
        (bike,) = records.all(Vehicle)
        records.add(MeterEntry(vehicle_id=bike.id, on=bench.today(), value=1.0))
    safe = look_through(page, qtbot)
    assert safe.found.text().endswith(": 1 findings.")
    assert safe.findings.count() == 1
    assert safe.findings.item(0).text().startswith("LR-001: ")
    assert "Correct one of the two entries" in safe.findings.item(0).text()
