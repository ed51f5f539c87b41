"""From an empty window to a first forecast, by keyboard alone, counted in key presses."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from wearlog.fleet.vehicle import VehicleKind
from wearlog.preferences import Preferences
from wearlog.window.start import build_window
from wearlog.workshop.fleet_state import fleet_state

CONTROL = Qt.KeyboardModifier.ControlModifier
#: So many key presses are well under five minutes even for two fingers: one every two seconds.
MOST_ACTIONS = 120


@pytest.fixture
def seat(bench, qtbot):
    """The whole window on an empty workshop."""
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


class CountedHands:
    """Hands on the keyboard; every key press counts."""

    def __init__(self, seat, qtbot):
        self.seat, self.qtbot, self.actions = seat, qtbot, 0

    @property
    def where(self):
        focused = QApplication.focusWidget()
        return focused.accessibleName() if focused is not None else ""

    def press(self, key, modifiers=Qt.KeyboardModifier.NoModifier):
        QTest.keyClick(QApplication.focusWidget() or self.seat.window, key, modifiers)
        self.actions += 1

    def type(self, text):
        QTest.keyClicks(QApplication.focusWidget(), text)
        self.actions += len(text)

    def rest(self):
        """Wait until the program has answered."""
        page = self.seat.window.current_page()
        pause = getattr(page, "_pause", None)
        self.qtbot.waitUntil(lambda: not self.seat.background.is_busy() and not (pause and pause.isActive()))
        self.seat.window.activateWindow()
        # The offscreen platform is not always quick to say which window is active.
        self.qtbot.waitUntil(lambda: QApplication.focusWidget() is not None)

    def walk_to(self, name):
        """Press Enter until a field is reached."""
        passed = []
        for _ in range(30):
            if name in self.where:
                return
            passed.append(self.where)
            self.press(Qt.Key.Key_Return)
            self.rest()
        pytest.fail(f"no field called {name} among {passed}")


def test_a_new_user_gets_from_an_empty_window_to_a_first_forecast(seat, bench, qtbot):
    hands = CountedHands(seat, qtbot)
    window = seat.window
    assert hands.where or window.current_page().add_button.hasFocus()
    # The first way in has the focus: add a vehicle.
    hands.press(Qt.Key.Key_Space)
    hands.rest()
    assert hands.where == "Tag"
    hands.type("LR-001")
    hands.walk_to("Meter now")
    hands.type("1240")
    hands.walk_to("Depot")
    hands.type("Upper")
    hands.press(Qt.Key.Key_Return, CONTROL)
    hands.rest()

    vehicle = fleet_state(bench).vehicle_tagged("LR-001")
    assert vehicle.kind is VehicleKind.ELECTRIC_MOTORCYCLE
    assert len(fleet_state(bench).stages_of[vehicle.id]) == 2
    # The service sheet is open on it, and waits for its first reading.
    sheet = window.current_page()
    assert sheet.model.snapshot.tag == "LR-001"
    assert "Meter" in hands.where
    hands.type("1240")
    hands.walk_to("428 chain, 116 links: elongation")
    # 0.30 % over 20 pitches of 12.7 mm, from pin to pin.
    hands.type("254.76")
    hands.rest()
    hands.press(Qt.Key.Key_Return, CONTROL)
    hands.rest()

    hands.press(Qt.Key.Key_1, CONTROL)
    hands.rest()
    trend = window.current_page().model.snapshot
    assert trend is not None
    assert trend.tag == "LR-001"
    assert len(trend.readings) == 1
    # The median distance at which the limit is reached: the first forecast.
    assert trend.limit_use is not None
    assert trend.use_now < trend.limit_use[len(trend.limit_use) // 2]
    assert hands.actions < MOST_ACTIONS, hands.actions
