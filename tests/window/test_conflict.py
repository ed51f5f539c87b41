"""Two versions of a record: what differs, what stands to reason, what the person chooses."""

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel, QRadioButton

from tests.window.named import named
from wearlog.fleet.parts import Part
from wearlog.fleet.problem import EditConflict, Problem, Versions
from wearlog.fleet.reading import Instrument, InstrumentKind
from wearlog.window.conflict import ConflictPanel, differences, merged

BASE = Instrument(name="caliper 300", kind=InstrumentKind.CALIPER, resolution=0.05, id=3, version=4)
MINE = replace(BASE, u_instrument=0.03, notes="jaw worn")
THEIRS = replace(BASE, notes="jaw ground", bias=0.02, version=5)


def conflict(mine=MINE, theirs=THEIRS):
    return EditConflict(Problem("Robin changed it.", "caliper 300", "Choose."), Versions(mine, theirs))


@pytest.fixture
def panel(qtbot):
    panel = ConflictPanel()
    qtbot.addWidget(panel)
    panel.show()
    return panel


def test_what_one_seat_alone_changed_is_chosen_already():
    found = {one.name: one.is_mine for one in differences(MINE, THEIRS, BASE)}
    assert found == {"u_instrument": True, "bias": False, "notes": True}


def test_without_what_both_began_with_what_was_entered_here_comes_first():
    assert all(one.is_mine for one in differences(MINE, THEIRS))


def test_versions_that_agree_leave_nothing_to_choose(panel):
    assert differences(MINE, replace(MINE, version=9)) == ()
    assert not panel.open(conflict(MINE, replace(MINE, version=9)))


def test_records_of_two_kinds_are_no_versions():
    with pytest.raises(TypeError):
        differences(MINE, Part(part_type_id=1))


def test_what_is_chosen_takes_the_place_of_what_is_kept():
    found = differences(MINE, THEIRS, BASE)
    both = merged(THEIRS, found, {"u_instrument": True, "bias": False, "notes": False})
    assert both == replace(THEIRS, u_instrument=0.03)
    assert both.version == THEIRS.version


def test_the_person_reads_who_changed_it_and_chooses_by_keyboard(panel, qtbot):
    panel.open(conflict(), BASE, name_of=str.capitalize)
    assert "Robin changed it." in named(panel, QLabel, "What happened").text()
    theirs = named(panel, QRadioButton, "Notes, theirs: jaw ground")
    theirs.setFocus()
    QTest.keyClick(theirs, Qt.Key.Key_Space)
    with qtbot.waitSignal(panel.chosen) as chosen:
        QTest.keyClick(theirs, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert chosen.args == [THEIRS, replace(THEIRS, u_instrument=0.03)]


def test_all_of_one_seat_is_one_key(panel, qtbot):
    panel.open(conflict(), BASE)
    for button, wanted in ((panel.all_mine, replace(MINE, version=5)), (panel.all_theirs, THEIRS)):
        QTest.keyClick(button, Qt.Key.Key_Space)
        with qtbot.waitSignal(panel.chosen) as chosen:
            panel.confirm()
        assert chosen.args[1] == wanted


def test_putting_it_off_decides_nothing(panel, qtbot):
    panel.open(conflict(), BASE)
    with qtbot.waitSignal(panel.left), qtbot.assertNotEmitted(panel.chosen):
        QTest.keyClick(panel, Qt.Key.Key_Escape)
