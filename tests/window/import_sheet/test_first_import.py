"""From an empty window to a first forecast by a shop's own book, by keyboard, counted in actions."""

from datetime import date, timedelta

import pytest
from openpyxl import Workbook
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog

from wearlog.fleet.reading import Reading
from wearlog.preferences import Preferences
from wearlog.window.start import build_window
from wearlog.workshop.fleet_state import fleet_state

CONTROL = Qt.KeyboardModifier.ControlModifier
#: One way to the sheet, two values that it lacks, one import: a handful of keys and a few letters.
MOST_ACTIONS = 40


@pytest.fixture
def seat(bench, qtbot):
    seat = build_window(
        bench, Preferences(theme="light", person="Ines Falk"), place="Larkfell Ranger Service"
    )
    seat.window.resize(1280, 800)
    with qtbot.waitExposed(seat.window):
        seat.show()
    seat.window.activateWindow()
    qtbot.waitUntil(lambda: not seat.background.is_busy())
    yield seat
    qtbot.waitUntil(lambda: not seat.background.is_busy())
    seat.close()
    seat.window.deleteLater()


@pytest.fixture
def book(tmp_path):
    """Thirty rows of three vehicles as a spreadsheet: a title, then the headers, then the services."""
    sheet_file = Workbook()
    sheet = sheet_file.active
    sheet.title = "Services"
    sheet.append(["Service book of the Upper Depot"])
    sheet.append([])
    sheet.append(["Bike", "Date", "Odometer (km)", "Mechanic", "Chain, 20 links (mm)", "Slack (mm)", "Paint"])
    for count in range(30):
        number, turn = count % 3, count // 3
        km = 500 * number + 400 * turn
        sheet.append(
            [
                f"LR-{number + 1:03}",
                date(2026, 1, 12) + timedelta(days=28 * turn + number),
                km,
                "Ines",
                round(254.0 + 0.0003 * 400 * turn + 0.05 * number, 2),
                30 + turn,
                "green",
            ]
        )
    file = tmp_path / "services.xlsx"
    sheet_file.save(file)
    return file


class Hands:
    """Hands on the keyboard; every key press counts."""

    def __init__(self, seat, qtbot):
        self.seat, self.qtbot, self.actions = seat, qtbot, 0

    def press(self, key, modifiers=Qt.KeyboardModifier.NoModifier):
        QTest.keyClick(QApplication.focusWidget() or self.seat.window, key, modifiers)
        self.actions += 1

    def type(self, text):
        QTest.keyClicks(QApplication.focusWidget(), text)
        self.actions += len(text)

    def rest(self):
        """Wait until the program has answered."""
        window = self.seat.window
        pause = getattr(window.current_page(), "_pause", None)
        self.qtbot.waitUntil(lambda: not self.seat.background.is_busy() and not (pause and pause.isActive()))
        window.activateWindow()
        self.qtbot.waitUntil(lambda: QApplication.focusWidget() is not None)

    def walk_to(self, widget):
        """Press Tab until a field is reached."""
        for _ in range(20):
            if QApplication.focusWidget() is widget:
                return
            self.press(Qt.Key.Key_Tab)
        pytest.fail("not reached by Tab")


def test_a_book_of_thirty_services_leads_to_forecasts(seat, bench, book, qtbot, monkeypatch):
    hands = Hands(seat, qtbot)
    window = seat.window
    # What the person does in the dialog of the system counts as one action: choosing the file.
    monkeypatch.setattr(QFileDialog, "getOpenFileNames", lambda *_given: ([str(book)], ""))
    hands.press(Qt.Key.Key_I, CONTROL)
    hands.rest()
    page = window.current_page()
    assert page.choose_file.hasFocus()
    with qtbot.waitSignal(page.model.outcome_changed):
        hands.press(Qt.Key.Key_Space)
    hands.actions += 1
    hands.rest()
    assert page.list.hasFocus()
    assert page.model.match.header_row == 3
    assert [column.header for column in page.model.match.left_out] == ["Paint"]
    # What the sheet lacks: what new vehicles are like, the first of the list, and where they belong.
    hands.walk_to(page.fixed.field("like"))
    hands.press(Qt.Key.Key_Down)
    hands.rest()
    assert page.model.match.fixed_text("like") == "belt primary"
    hands.press(Qt.Key.Key_Tab)
    hands.type("Upper")
    with qtbot.waitSignal(page.model.outcome_changed):
        hands.press(Qt.Key.Key_Tab)
    hands.rest()
    assert page.outcome.text().startswith("Would add 3 vehicles"), page.report.toPlainText()
    with qtbot.waitSignal(seat.session.changed):
        hands.press(Qt.Key.Key_Return, CONTROL)
    hands.rest()

    vehicle = fleet_state(bench).vehicle_tagged("LR-001")
    with bench.database.reading() as records:
        assert records.count(Reading, live=True) == 60
    assert vehicle.depot == "Upper"
    hands.press(Qt.Key.Key_1, CONTROL)
    hands.rest()
    trend = window.current_page().model.snapshot
    assert trend is not None
    assert len(trend.readings) == 10
    # The median distance at which the limit is reached: the first forecast.
    assert trend.limit_use is not None
    assert trend.use_now < trend.limit_use[len(trend.limit_use) // 2]
    assert hands.actions < MOST_ACTIONS, hands.actions
