"""Where to begin, on a real and empty workshop."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QLineEdit, QPlainTextEdit, QPushButton

from tests.window.named import named
from wearlog.fleet.vehicle import VehicleKind
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


def fill(page, qtbot, **texts):
    for name, text in texts.items():
        qtbot.keyClicks(named(page, QLineEdit, name.replace("_", " ")), text)


def test_a_vehicle_is_added_and_the_service_sheet_follows(page, session, heard, qtbot, bench):
    qtbot.keyClick(button(page, "Add a vehicle"), Qt.Key.Key_Space)
    fill(
        page, qtbot, Tag="LR-001", Description="e-moto, belt primary", Depot="Upper depot", Meter_now="120 mi"
    )
    with qtbot.waitSignal(session.page_wanted) as wanted:
        qtbot.keyClick(page._form, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert wanted.args == ["sheet"]
    assert heard.take_said().text == "Vehicle LR-001 added"
    from wearlog.workshop.judge import fleet_snapshot

    row = fleet_snapshot(bench).rows[0]
    assert (row.vehicle_id, row.tag, row.depot) == (session.vehicle_id, "LR-001", "Upper depot")
    assert len(row.rules) == 2


def test_what_is_missing_is_said_beside_its_field(page, qtbot):
    qtbot.keyClick(button(page, "Add a vehicle"), Qt.Key.Key_Space)
    fill(page, qtbot, Description="e-moto")
    qtbot.keyClick(page._form, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: page._form.tag.problem is not None and bool(page._form._notes[0][1].text()))
    notes = {field.accessibleName(): note.text() for field, note in page._form._notes}
    assert notes["Tag"]
    assert notes["Depot"]
    assert not notes["Description"]


def test_a_tag_that_is_taken_becomes_a_banner_and_the_form_stays(page, session, heard, qtbot):
    for _twice in range(2):
        page.begin_vehicle()
        fill(page, qtbot, Tag="LR-001", Description="e-moto")
        if not page._form.depot.text():
            fill(page, qtbot, Depot="Upper depot")
        page.save_vehicle()
        qtbot.waitUntil(lambda: not session.background.is_busy())
    heard.take_said()
    assert "LR-001" in page.banner.problems[0].what
    assert page._form.tag.text() == "LR-001"


def test_the_drive_that_goes_with_the_kind_is_offered(page, qtbot):
    page.begin_vehicle()
    kind, drive = named(page, QComboBox, "Kind"), named(page, QComboBox, "Drive")
    kind.setCurrentIndex(kind.findData(VehicleKind.BICYCLE))
    assert drive.currentData() == "single chain"
    drive.setCurrentIndex(drive.findData("hub gear belt"))
    drive.activated.emit(drive.currentIndex())
    kind.setCurrentIndex(kind.findData(VehicleKind.PETROL_MOTORCYCLE))
    assert drive.currentData() == "hub gear belt"


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
