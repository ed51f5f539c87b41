"""The daily job in the whole window, by keyboard alone: enter a service, see the trend, read the due list."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from wearlog.preferences import Preferences
from wearlog.window.bench_keys import put_focus
from wearlog.window.start import build_window
from wearlog.workshop.due import due_snapshot
from wearlog.workshop.due_snapshot import Action
from wearlog.workshop.fleet_state import fleet_state

CONTROL = Qt.KeyboardModifier.ControlModifier
#: A patrol motorcycle of the sample fleet with two chain stages.
TAG = "LR-007"


@pytest.fixture
def seat(sample, qtbot):
    """The whole window on the sample fleet."""
    seat = build_window(sample, Preferences(theme="light", person="Tilda"), place="Larkfell Ranger Service")
    seat.window.resize(1280, 800)
    with qtbot.waitExposed(seat.window):
        seat.show()
    seat.window.activateWindow()
    qtbot.waitUntil(lambda: not seat.background.is_busy(), timeout=60_000)
    yield seat
    qtbot.waitUntil(lambda: not seat.background.is_busy(), timeout=60_000)
    seat.close()
    seat.window.deleteLater()


class Hands:
    """Hands that never leave the keyboard."""

    def __init__(self, seat, qtbot):
        self.seat, self.qtbot = seat, qtbot

    def press(self, key, modifiers=Qt.KeyboardModifier.NoModifier):
        QTest.keyClick(QApplication.focusWidget() or self.seat.window, key, modifiers)

    def type(self, text):
        QTest.keyClicks(QApplication.focusWidget(), text)

    def rest(self):
        """Wait until the program has answered."""
        page = self.seat.window.current_page()
        pause = getattr(page, "_pause", None)
        self.qtbot.waitUntil(
            lambda: not self.seat.background.is_busy() and not (pause and pause.isActive()), timeout=60_000
        )
        self.seat.window.activateWindow()

    @property
    def where(self):
        return QApplication.focusWidget().accessibleName()

    def walk_to(self, name):
        """Press Enter until a field is reached, as a mechanic does."""
        passed = []
        for _ in range(40):
            if name in self.where:
                return
            passed.append(self.where)
            self.press(Qt.Key.Key_Return)
            self.rest()
        pytest.fail(f"no field called {name} among {passed}")


@pytest.fixture
def hands(seat, qtbot):
    return Hands(seat, qtbot)


def chain_lines(bench, vehicle_id):
    return {
        line.installation_id: line.due_on
        for line in due_snapshot(bench, 3000).lines
        if line.vehicle_id == vehicle_id and line.action is Action.REPLACE and "chain" in line.part_text
    }


def test_a_service_is_entered_by_keyboard_and_seen_on_trend_and_due_list(hands, seat, sample, qtbot):
    vehicle = fleet_state(sample).vehicle_tagged(TAG)
    before = chain_lines(sample, vehicle.id)
    meter = fleet_state(sample).histories[vehicle.id].last.total_use
    hands.press(Qt.Key.Key_2, CONTROL)
    hands.rest()
    sheet = seat.window.current_page()
    put_focus(sheet.head.tag)
    hands.type(TAG)
    QTest.keyClick(sheet.head.tag, Qt.Key.Key_Return)
    hands.rest()
    # The offscreen platform leaves no window active when the list of tags closes.
    qtbot.waitUntil(seat.window.isActiveWindow)
    put_focus(sheet.head.meter)
    hands.type(f"{meter + 320:.0f}")
    hands.press(Qt.Key.Key_Return)
    hands.rest()
    hands.walk_to("428 chain, 118 links: elongation")
    # 1.2 % over 10 pitches of 12.7 mm, inside and outside of rollers of 8.51 mm.
    hands.type("120.01/137.03 120.02/137.04 120.00/137.03")
    hands.rest()
    hands.press(Qt.Key.Key_Return, CONTROL)
    hands.rest()

    hands.press(Qt.Key.Key_1, CONTROL)
    seat.session.choose(vehicle.id)
    hands.rest()
    trend = seat.window.current_page().model.snapshot
    assert trend.readings[-1].value == pytest.approx(0.012, abs=0.0004)
    assert trend.readings[-1].by == "Tilda"

    hands.press(Qt.Key.Key_3, CONTROL)
    hands.rest()
    after = chain_lines(sample, vehicle.id)
    assert after[trend.installation_id] == sample.today() < before[trend.installation_id]
    shown = seat.window.current_page().model
    texts = [
        str(shown.index(row, column).data() or "")
        for row in range(shown.rowCount())
        for column in range(shown.columnCount())
    ]
    assert any(TAG in text for text in texts)

    hands.press(Qt.Key.Key_Z, CONTROL)
    hands.rest()
    assert chain_lines(sample, vehicle.id) == before
