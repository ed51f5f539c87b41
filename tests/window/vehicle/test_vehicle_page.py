"""The vehicle page on a real store, by keyboard: added, set right, retired, settled between two seats."""

from dataclasses import replace
from datetime import date

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLabel, QLineEdit, QPushButton, QRadioButton

from tests.window.named import named
from wearlog.fleet.fitting import Position
from wearlog.fleet.vehicle import Duty, MeterUnit, VehicleKind
from wearlog.window.service_sheet.bench_keys import put_focus
from wearlog.window.vehicle.page import VehiclePage
from wearlog.workshop.fit import add_vehicle_from_template
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.vehicles import save_vehicle, vehicle_snapshot
from wearlog.workshop.vehicles_templates import keep_template

CONTROL = Qt.KeyboardModifier.ControlModifier


class Hand:
    """A hand on the keyboard of one page."""

    def __init__(self, page, qtbot):
        self.page, self.qtbot = page, qtbot

    def presses(self, key, modifiers=Qt.KeyboardModifier.NoModifier):
        QTest.keyClick(QApplication.focusWidget() or self.page, key, modifiers)

    def types(self, name, text):
        field = named(self.page, QLineEdit, name)
        put_focus(field)
        field.selectAll()
        QTest.keyClicks(field, text) if text else QTest.keyClick(field, Qt.Key.Key_Delete)

    def clicks(self, name):
        QTest.keyClick(named(self.page, QPushButton, name), Qt.Key.Key_Space)

    def chooses(self, name, data):
        box = named(self.page, QComboBox, name)
        box.setCurrentIndex([box.itemData(n) for n in range(box.count())].index(data))
        box.activated.emit(box.currentIndex())

    def waits(self):
        self.qtbot.waitUntil(lambda: not self.page.session.background.is_busy())

    def saves(self):
        self.presses(Qt.Key.Key_Return, CONTROL)
        self.waits()


def add(bench, tag="LR-031", template="chain primary", meter=100.0):
    changes = add_vehicle_from_template(
        bench,
        tag=tag,
        description="electric patrol motorcycle",
        kind=VehicleKind.ELECTRIC_MOTORCYCLE,
        depot="Upper Depot",
        meter_unit=MeterUnit.KM,
        duty=Duty.MIXED,
        meter_value=meter,
        template=template,
    )
    return next(iter(changes.vehicle_ids))


@pytest.fixture
def page(session, bench, qtbot):
    session.choose(add(bench))
    made = VehiclePage(session)
    made.resize(960, 720)
    with qtbot.waitExposed(made):
        made.show()
    made.activateWindow()
    made.become_visible()
    qtbot.waitUntil(lambda: not session.background.is_busy())
    made.focus_first()
    yield made
    qtbot.waitUntil(lambda: not session.background.is_busy())
    made.close()
    made.deleteLater()


@pytest.fixture
def hand(page, qtbot):
    return Hand(page, qtbot)


def the_vehicle(bench, tag="LR-031"):
    return fleet_state(bench).vehicle_tagged(tag)


def said_under(page, name):
    return named(page, QLabel, f"Notes on {name}").text()


# -- adding ------------------------------------------------------------------------------------------------


def test_a_tag_and_a_meter_are_enough_and_the_service_sheet_follows(hand, page, session, bench, heard, qtbot):
    page.begin()
    hand.waits()
    assert QApplication.focusWidget() is page.head.tag
    QTest.keyClicks(page.head.tag, "LR-032")
    hand.presses(Qt.Key.Key_Return)
    assert QApplication.focusWidget() is page.head.meter
    QTest.keyClicks(page.head.meter, "120 mi")
    with qtbot.waitSignal(session.page_wanted) as wanted:
        hand.saves()
    assert wanted.args == ["sheet"]
    assert heard.take_said().text == "Vehicle LR-032 added"
    added = the_vehicle(bench, "LR-032")
    assert (added.id, added.depot) == (session.vehicle_id, "Upper Depot")
    assert fleet_state(bench).histories[added.id].last.total_use == pytest.approx(120 * 1.609344)
    assert len(fleet_state(bench).stages_of[added.id]) == 2


def test_a_template_fills_in_the_stages_and_all_of_it_can_be_changed(hand, page, bench, heard):
    page.begin()
    hand.waits()
    templates = page.model.snapshot.templates
    hand.types("Tag", "LB-01")
    hand.chooses("Made like", next(t for t in templates if t.name == "hub gear belt"))
    assert page.head.kind.currentData() == VehicleKind.BICYCLE
    assert page.head.tag.text() == "LB-01"
    hand.types("Meter now", "0")
    hand.types("final drive, belt: teeth", "148")
    hand.types("final drive, driven pulley: on it before", "2100")
    hand.saves()
    heard.take_said()
    bicycle = the_vehicle(bench, "LB-01")
    (stage,) = fleet_state(bench).stages_of[bicycle.id]
    belt, _driver, driven = fleet_state(bench).current_on(stage.id)
    assert fleet_state(bench).part_type_of(belt).teeth == 148
    assert fleet_state(bench).parts[driven.part_id].use_before == 2100.0


def test_what_is_wrong_stands_under_its_field_and_the_text_stays(hand, page, bench):
    page.begin()
    hand.waits()
    hand.types("Tag", "lr-031")
    hand.types("Meter now", "12 furlongs")
    hand.saves()
    assert "furlongs" in said_under(page, "tag, meter and depot")
    assert QApplication.focusWidget() is page.head.meter
    assert page.head.meter.text() == "12 furlongs"
    hand.types("Meter now", "12")
    hand.types("primary drive, belt: teeth", "2")
    hand.saves()
    assert "another vehicle with the tag" in said_under(page, "tag, meter and depot")
    assert QApplication.focusWidget() is page.head.tag
    assert "2 can’t be" in page.blocks[0].said.text()
    assert page.head.tag.text() == "lr-031"
    assert len(fleet_state(bench).vehicles) == 1


def test_half_entered_vehicles_stay_while_another_one_is_looked_at(hand, page, session, bench):
    other = add(bench, "LR-040")
    page.begin()
    hand.waits()
    hand.types("Tag", "LR-05")
    hand.types("Meter now", "x")
    session.choose(other)
    hand.waits()
    assert page.head.tag.text() == "LR-040"
    hand.types("Notes", "left pannier cracked")
    page.begin()
    hand.waits()
    assert (page.head.tag.text(), page.head.meter.text()) == ("LR-05", "x")
    page.show_vehicle(other)
    hand.waits()
    assert page.head.notes.text() == "left pannier cracked"


def test_an_own_template_stands_first_in_the_list(hand, page, bench, heard):
    hand.clicks("Keep as template")
    hand.types("Name of the template", "Patrol, woods gearing")
    hand.saves()
    heard.take_said()
    page.begin()
    hand.waits()
    assert page.head.like.itemText(0) == "Patrol, woods gearing · our own"


def test_a_vehicle_is_the_template_for_the_next(hand, page, bench, heard):
    hand.types("final drive, driven sprocket: teeth", "48")
    hand.saves()
    heard.take_said()
    hand.clicks("New one like this")
    hand.waits()
    assert page.head.tag.text() == ""
    hand.types("Tag", "LR-032")
    hand.types("Meter now", "5")
    hand.saves()
    heard.take_said()
    stages = fleet_state(bench).stages_of[the_vehicle(bench, "LR-032").id]
    driven = fleet_state(bench).current_on(stages[-1].id)[-1]
    assert fleet_state(bench).part_type_of(driven).teeth == 48


# -- changing ----------------------------------------------------------------------------------------------


def test_a_change_is_saved_said_quietly_and_undone(hand, page, session, bench, heard):
    hand.types("Depot", "Harbour Depot")
    hand.saves()
    said = heard.take_said()
    assert said.text == "Vehicle LR-031 changed"
    assert the_vehicle(bench).depot == "Harbour Depot"
    said.undo()
    hand.waits()
    heard.take_said()
    assert the_vehicle(bench).depot == "Upper Depot"
    hand.waits()
    assert page.head.depot.text() == "Upper Depot"


def test_stages_are_named_added_and_left_out(hand, page, bench, heard):
    put_focus(page.blocks[0].name)
    page.blocks[0].name.selectAll()
    QTest.keyClicks(page.blocks[0].name, "motor drive")
    hand.clicks("Add a stage")
    assert QApplication.focusWidget() is page.blocks[2].name
    QTest.keyClicks(page.blocks[2].name, "winch drive")
    page.blocks[2].run.setCurrentIndex(page.blocks[2].run.count() - 1)
    page.blocks[2].run.activated.emit(page.blocks[2].run.currentIndex())
    hand.clicks("Add a stage")
    assert len(page.blocks) == 4
    QTest.keyClick(page.blocks[3].off, Qt.Key.Key_Space)
    assert len(page.blocks) == 3
    hand.saves()
    heard.take_said()
    stages = fleet_state(bench).stages_of[the_vehicle(bench).id]
    assert [stage.name for stage in stages] == ["motor drive", "final drive", "winch drive"]


def test_a_stage_goes_off_service_after_a_question(hand, page, bench, heard):
    QTest.keyClick(page.blocks[0].off, Qt.Key.Key_Space)
    hand.saves()
    assert "Goes off service" in page.blocks[0].ended.text()
    hand.saves()
    heard.take_said()
    hand.waits()
    assert [block.name.text() for block in page.blocks] == ["final drive"]
    assert "primary drive" in page.gone.text()


def test_another_duty_asks_since_when_and_keeps_what_it_was(hand, page, bench, heard):
    assert page.head.duty_from.isHidden() or not page.head.duty_from.isVisible()
    hand.chooses("Use on duty", Duty.OFF_ROAD)
    assert page.head.duty_from.text() == bench.today().isoformat()
    assert "Duty until 25 Nov 2026: road and tracks" in page.head.duty_so_far.text()
    hand.saves()
    heard.take_said()
    assert the_vehicle(bench).duty is Duty.OFF_ROAD


def test_a_lay_up_is_entered_by_keyboard(hand, page, bench, heard):
    hand.clicks("Add a lay-up")
    assert QApplication.focusWidget().accessibleName() == "Lay-up 1: stands from"
    QTest.keyClicks(QApplication.focusWidget(), "20 Oct")
    hand.presses(Qt.Key.Key_Return)
    assert QApplication.focusWidget().accessibleName() == "Lay-up 1: used again on"
    hand.presses(Qt.Key.Key_Return)
    assert QApplication.focusWidget().accessibleName() == "Lay-up 1: reason"
    QTest.keyClicks(QApplication.focusWidget(), "winter")
    hand.saves()
    heard.take_said()
    (one,) = vehicle_snapshot(bench, the_vehicle(bench).id).draft.lay_ups
    assert (one.from_on, one.until_on, one.reason) == (date(2026, 10, 20), None, "winter")


def test_a_vehicle_retires_after_a_question_and_comes_back_by_one_key(hand, page, bench, heard):
    hand.clicks("Retire")
    hand.saves()
    assert "reason is missing" in page.asking.retire_bar.said.text()
    hand.types("Reason", "sold")
    hand.saves()
    heard.take_said()
    assert the_vehicle(bench).retired_reason == "sold"
    hand.waits()
    assert "sold" in page.subject.text()
    hand.clicks("Bring back")
    hand.waits()
    heard.take_said()
    assert the_vehicle(bench).retired_on is None


def test_the_owners_contact_is_erased_only_on_purpose(hand, page, bench, heard):
    hand.types("Owner’s contact", "Aldwyn Pike")
    hand.saves()
    heard.take_said()
    hand.waits()
    hand.clicks("Erase the owner’s contact")
    # One key too many changes nothing.
    hand.presses(Qt.Key.Key_Space)
    hand.waits()
    assert the_vehicle(bench).owner_contact == "Aldwyn Pike"
    hand.clicks("Erase the owner’s contact")
    hand.saves()
    assert heard.take_said().undo is None
    assert the_vehicle(bench).owner_contact == ""


# -- two seats ---------------------------------------------------------------------------------------------


def at_another_seat(bench, **values):
    draft = vehicle_snapshot(bench, the_vehicle(bench).id).draft
    save_vehicle(bench, replace(draft, **values))


def test_both_versions_are_shown_and_the_person_chooses_field_by_field(hand, page, bench, heard):
    hand.types("Depot", "Harbour Depot")
    hand.types("Notes", "mine")
    at_another_seat(bench, notes="theirs", model="PM-C")
    hand.saves()
    assert "changed it" in page.conflict.said.text()
    mine, theirs = (named(page, QRadioButton, f"Notes, {whose}: {whose}") for whose in ("mine", "theirs"))
    assert mine.isChecked()
    # What one seat alone has changed is chosen already.
    assert named(page, QRadioButton, "Depot, mine: Harbour Depot").isChecked()
    assert named(page, QRadioButton, "Model, theirs: PM-C").isChecked()
    theirs.setFocus()
    QTest.keyClick(theirs, Qt.Key.Key_Space)
    hand.saves()
    heard.take_said()
    now = the_vehicle(bench)
    assert (now.depot, now.notes, now.model) == ("Harbour Depot", "theirs", "PM-C")


def test_nothing_is_lost_when_the_choice_is_put_off(hand, page, bench):
    hand.types("Notes", "mine")
    at_another_seat(bench, notes="theirs")
    hand.saves()
    hand.presses(Qt.Key.Key_Escape)
    assert page.head.notes.text() == "mine"
    assert the_vehicle(bench).notes == "theirs"


def test_keeping_a_template_twice_replaces_it(bench, page):
    draft = vehicle_snapshot(bench, the_vehicle(bench).id).draft
    for _twice in range(2):
        keep_template(bench, draft, "Patrol")
    own = [t for t in vehicle_snapshot(bench, None).templates if t.is_own]
    assert [t.text for t in own] == ["Patrol"]
    assert own[0].stages[0].counts[0] == draft.stages[0].part(Position.RUN).count


def test_every_control_is_named(page):
    for kind in (QLineEdit, QComboBox, QPushButton):
        for control in page.findChildren(kind):
            if isinstance(control.parent(), QComboBox) or control.objectName().startswith("qt_"):
                continue
            text = control.text() if isinstance(control, QPushButton) else ""
            assert control.accessibleName() or text, control
