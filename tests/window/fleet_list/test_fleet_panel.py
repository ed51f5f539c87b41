"""The fleet at the left, as it is walked with the keyboard."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QCheckBox, QLabel, QLineEdit, QPushButton

from tests.makers.fleet import fleet, fleet_of, fleet_row, rule_at, with_row
from tests.window.named import named
from wearlog.window.fleet_list.panel import FleetPanel, FleetView


@pytest.fixture
def panel(session, qtbot):
    panel = FleetPanel(session)
    qtbot.addWidget(panel)
    panel.resize(312, 700)
    panel.show()
    return panel


def test_arrow_keys_walk_past_the_depots(panel, session, qtbot):
    panel.show_fleet(fleet_of(6))
    view = named(panel, FleetView, "Fleet")
    walked = []
    session.chosen.connect(walked.append)
    # The first vehicle is chosen as soon as the list is entered.
    view.setFocus()
    for _step in range(5):
        qtbot.keyClick(view, Qt.Key.Key_Down)
    assert walked == [row.vehicle_id for row in panel.model.snapshot.rows]


def test_typing_in_the_list_searches(panel, qtbot):
    panel.show_fleet(fleet_of(40))
    qtbot.keyClick(named(panel, FleetView, "Fleet"), Qt.Key.Key_L)
    find = named(panel, QLineEdit, "Find in the fleet")
    assert find.text() == "l"
    qtbot.keyClicks(find, "c-0")
    shown = [panel.model.vehicle_at(n) for n in range(panel.model.rowCount())]
    assert {row.tag[:3] for row in shown if row} == {"LC-"}


def test_searching_never_changes_the_chosen_vehicle(panel, session, qtbot):
    panel.show_fleet(fleet_of(40))
    session.choose(7)
    with qtbot.assertNotEmitted(session.chosen):
        qtbot.keyClicks(named(panel, QLineEdit, "Find in the fleet"), "cargo")
        qtbot.keyClick(named(panel, QLineEdit, "Find in the fleet"), Qt.Key.Key_Escape)
    assert session.vehicle_id == 7
    chosen = panel.model.vehicle_at(panel.view.currentIndex().row())
    assert chosen.vehicle_id == 7


def test_enter_in_the_search_chooses_the_first_match_and_goes_on(panel, session, qtbot):
    panel.show_fleet(fleet_of(40))
    find = named(panel, QLineEdit, "Find in the fleet")
    qtbot.keyClicks(find, "trail")
    with qtbot.waitSignals([session.chosen, panel.entered]):
        qtbot.keyClick(find, Qt.Key.Key_Return)
    assert session.vehicle_id == panel.model.first_vehicle()


def test_a_new_snapshot_keeps_choice_and_place(panel, session, qtbot):
    before = fleet_of(400)
    panel.show_fleet(before)
    session.choose(before.rows[200].vehicle_id)
    bar = panel.view.verticalScrollBar()
    bar.setValue(5000)
    changed = fleet_row(
        before.rows[10].vehicle_id, before.rows[10].tag, rule_at(1.2), depot=before.rows[10].depot
    )
    panel.show_fleet(with_row(before, changed))
    assert bar.value() == 5000
    assert session.vehicle_id == before.rows[200].vehicle_id


def test_a_vehicle_added_above_does_not_move_what_is_looked_at(panel, qtbot):
    before = fleet_of(400)
    panel.show_fleet(before)
    bar = panel.view.verticalScrollBar()
    bar.setValue(5003)
    from PySide6.QtCore import QPoint

    seen = panel.model.vehicle_at(panel.view.indexAt(QPoint(5, 60)).row())
    panel.show_fleet(fleet(*before.rows, fleet_row(9999, "AA-1", depot="Harbour depot")))
    assert panel.model.vehicle_at(panel.view.indexAt(QPoint(5, 60)).row()).tag == seen.tag


def test_the_foot_counts_and_narrows(panel, qtbot):
    rows = [fleet_row(n, "", rule_at(u)) for n, u in enumerate((0.2, 0.3, 0.8, 0.95, 1.1), start=1)]
    panel.show_fleet(fleet(*rows, fleet_row(6, is_retired=True), drafts_kept=2))
    assert named(panel, QLabel, "Vehicles in the fleet").text() == "5 vehicles"
    assert named(panel, QLabel, "Half-filled sheets").text() == "2 half-filled sheets kept"
    due = next(b for b in panel.findChildren(QPushButton) if b.text() == "1 due")
    qtbot.keyClick(due, Qt.Key.Key_Space)
    assert panel.model.vehicles_shown == 1
    qtbot.keyClick(due, Qt.Key.Key_Space)
    retired = next(b for b in panel.findChildren(QCheckBox))
    assert retired.text() == "Show retired (1)"
    qtbot.keyClick(retired, Qt.Key.Key_Space)
    assert panel.model.vehicles_shown == 6


def test_an_empty_search_says_so(panel, qtbot):
    panel.show_fleet(fleet_of(5))
    qtbot.keyClicks(named(panel, QLineEdit, "Find in the fleet"), "zzz")
    assert panel.nothing.isVisible()
    assert "Nothing matches" in panel.nothing.text()
