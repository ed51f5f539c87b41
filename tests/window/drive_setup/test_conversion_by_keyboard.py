"""A belt primary turned into a chain primary in the whole window, by keyboard alone."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from wearlog.fleet.fitting import Position, RemovalReason
from wearlog.fleet.parts import DriveKind, PartKind
from wearlog.fleet.service import Task
from wearlog.preferences import Preferences
from wearlog.window.start import build_window
from wearlog.workshop.due import due_snapshot
from wearlog.workshop.due_snapshot import Action
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.predict import trend_snapshot

CONTROL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
#: A patrol motorcycle of the sample fleet with a belt primary.
TAG = "LR-001"


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
        pause = getattr(self.seat.window.current_page(), "_pause", None)
        self.qtbot.waitUntil(
            lambda: not self.seat.background.is_busy() and not (pause and pause.isActive()), timeout=60_000
        )
        self.seat.window.activateWindow()

    @property
    def where(self):
        return QApplication.focusWidget().accessibleName()

    def walk_to(self, name, modifiers=Qt.KeyboardModifier.NoModifier):
        """Press Tab, or Shift+Tab, until a field is reached."""
        key = Qt.Key.Key_Backtab if modifiers else Qt.Key.Key_Tab
        passed = []
        for _ in range(30):
            if self.where == name:
                return
            passed.append(self.where)
            self.press(key, modifiers)
        pytest.fail(f"no field called {name} among {passed}")


@pytest.fixture
def hands(seat, qtbot):
    return Hands(seat, qtbot)


def due_lines(bench, vehicle_id):
    return {
        (line.stage_name, line.part_text, line.action, line.task, line.due_on)
        for line in due_snapshot(bench, 3000).lines
        if line.vehicle_id == vehicle_id
    }


def plan_by_keys(hands):
    """Plan a chain, 08B-1, 17 to 44 teeth, 70 links."""
    hands.walk_to("Drive", SHIFT)
    hands.type("chain")
    hands.walk_to("Chain or belt")
    hands.type("08B-1")
    hands.walk_to("Driver teeth")
    hands.type("17")
    hands.walk_to("Driven teeth")
    hands.type("44")
    hands.walk_to("Links or belt teeth")
    hands.type("70")
    hands.rest()


def fit_by_keys(hands, meter):
    """Fit what is planned; date, person and reason stand already."""
    hands.press(Qt.Key.Key_Return, CONTROL)
    assert hands.where == "Meter"
    hands.type(f"{meter:.0f}")
    hands.walk_to("Slack or tension set to")
    hands.type("10")
    hands.press(Qt.Key.Key_Return, CONTROL)
    hands.rest()


def trail_of(bench, vehicle_id):
    with bench.database.reading() as records:
        latest = records.audit(vehicle_id=vehicle_id, limit=1)[0]
        return records.audit(change_id=latest.change_id)


def shown_on(page):
    model = page.model
    return [
        str(model.index(row, column).data() or "")
        for row in range(model.rowCount())
        for column in range(model.columnCount())
    ]


@pytest.fixture
def vehicle(sample):
    return fleet_state(sample).vehicle_tagged(TAG)


@pytest.fixture
def primary(sample, vehicle):
    return fleet_state(sample).stages_of[vehicle.id][0]


@pytest.fixture
def before(sample, vehicle):
    """The due list of the vehicle as long as the belt was on."""
    return due_lines(sample, vehicle.id)


@pytest.fixture
def converted(hands, seat, sample, vehicle, primary, before):
    """Convert the vehicle by keyboard; the parts that were on before."""
    state = fleet_state(sample)
    history = state.histories[vehicle.id]
    old = {i.position: i.id for i in state.current_on(primary.id)}
    assert primary.drive is DriveKind.BELT
    seat.session.choose(vehicle.id)
    hands.press(Qt.Key.Key_4, CONTROL)
    hands.rest()
    page = seat.window.current_page()
    assert page.heading.text() == "What would change?"
    plan_by_keys(hands)
    assert page.model.comparison.is_estimated
    assert "Closes at 244.7" in page.verdict.text()
    fit_by_keys(hands, history.last.total_use - history.offset + 40)
    assert page.model.stage.setup.is_chain
    assert not page.model.is_touched
    return old


@pytest.mark.slow
def test_a_belt_primary_becomes_a_chain_primary_and_is_seen_everywhere(
    hands, seat, sample, vehicle, primary, before, converted
):
    # Kept: old parts closed with the reason, new ones open, the audit trail whole.
    state = fleet_state(sample)
    assert state.stages[primary.id].drive is DriveKind.CHAIN
    reasons = {state.installations[number].removal_reason for number in converted.values()}
    assert reasons == {RemovalReason.CONVERSION}
    run = next(i for i in state.current_on(primary.id) if i.position is Position.RUN)
    assert (state.part_type_of(run).kind, run.links) == (PartKind.CHAIN, 70)
    trail = trail_of(sample, vehicle.id)
    assert {entry.what for entry in trail} == {f"Set-up of {TAG}, primary drive fitted"}
    assert {entry.by for entry in trail} == {"Tilda"}
    assert [entry.record for entry in trail].count("Installation") == 6

    # The trend: the new chain can be chosen, and borrows from its like.
    assert trend_snapshot(sample, vehicle.id, run.id).similar_parts > 10
    hands.press(Qt.Key.Key_1, CONTROL)
    hands.rest()
    choices = [choice.text for choice in seat.window.current_page().model.choices]
    assert any("08B-1 chain, 70 links" in text for text in choices)

    # The due list: the re-checks after fitting, and the care of a chain.
    hands.press(Qt.Key.Key_3, CONTROL)
    hands.rest()
    after = [line for line in due_snapshot(sample, 3000).lines if line.stage_id == primary.id]
    rechecks = {line.task for line in after if line.action is Action.RECHECK}
    assert rechecks == {Task.TORQUE_CHECKED, Task.TENSION_SET}
    assert Task.LUBRICATED in {line.task for line in after}
    assert not any("belt" in line.part_text for line in after)
    assert any(TAG in text for text in shown_on(seat.window.current_page()))

    # And back.
    hands.press(Qt.Key.Key_Z, CONTROL)
    hands.rest()
    assert fleet_state(sample).stages[primary.id].drive is DriveKind.BELT
    assert due_lines(sample, vehicle.id) == before
