"""Where to begin, on a real and empty workshop."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPlainTextEdit, QPushButton

from tests.window.named import named
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


VEHICLES = "tag,description,kind,depot,meter unit\nLR-001,e-moto,electric motorcycle,Upper depot,km\n"


def test_an_import_adds_everything_and_the_same_file_again_adds_nothing(
    page, session, heard, qtbot, tmp_path
):
    file = tmp_path / "vehicles.csv"
    file.write_text(VEHICLES, encoding="utf-8")
    with qtbot.waitSignal(session.changed):
        page.import_paths([file])
    heard.take_said()
    page.import_paths([file])
    qtbot.waitUntil(lambda: bool(heard.quiet))
    assert "Nothing new" in heard.take_said().text


def test_a_wrong_import_lists_every_row_and_imports_nothing(page, session, heard, qtbot, tmp_path, bench):
    file = tmp_path / "vehicles.csv"
    file.write_text(
        VEHICLES + "LR-002,e-moto,hovercraft,Upper depot,km\n,,bicycle,Upper depot,km\n", encoding="utf-8"
    )
    page.import_paths([file])
    report = named(page, QPlainTextEdit, "Problems of the import")
    qtbot.waitUntil(lambda: bool(report.toPlainText()))
    assert "row 3" in report.toPlainText()
    assert "hovercraft" in report.toPlainText()
    assert "row 4" in report.toPlainText()
    from wearlog.workshop.judge import fleet_snapshot

    assert fleet_snapshot(bench).rows == ()
    qtbot.keyClick(button(page, "Back"), Qt.Key.Key_Space)
    assert page.stack.currentWidget() is page.ways


def test_the_sample_fleet_is_one_key_away(page, qtbot):
    with qtbot.waitSignal(page.sample_wanted):
        qtbot.keyClick(button(page, "Open the sample fleet"), Qt.Key.Key_Space)
