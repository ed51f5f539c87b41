"""The torque page, through the keyboard, on a real store."""

from datetime import timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QLabel, QPushButton

from tests.makers.bench import add_motorcycle
from tests.makers.torque import add_wrench, fastener_named, motorcycle_with_sheet, tighten
from tests.window.conftest import TODAY
from tests.window.named import named
from wearlog.fleet.torque import Fastener, TorqueRecord, TorqueWork
from wearlog.preferences import Preferences
from wearlog.window import theme
from wearlog.window.fields import EntryField
from wearlog.window.offer_bar import OfferBar
from wearlog.window.torque.fastener_row import TorqueField
from wearlog.window.torque.page import TorquePage
from wearlog.workshop.torque import kept_torques


@pytest.fixture
def page(session, qtbot):
    page = TorquePage(session)
    qtbot.addWidget(page)
    page.resize(960, 720)
    page.show()
    return page


@pytest.fixture
def chain(bench):
    return motorcycle_with_sheet(bench)


def opened(page, session, qtbot, vehicle_id):
    session.choose(vehicle_id)
    qtbot.waitUntil(lambda: page.model.snapshot is not None and page.model.snapshot.vehicle_id == vehicle_id)
    page.activateWindow()
    qtbot.waitUntil(page.isActiveWindow)
    return page


def field_of(page, name) -> TorqueField:
    return named(page, TorqueField, f"Applied: {name}")


def hand_at(page, name) -> TorqueField:
    """Put the hand at a fastener."""
    field = field_of(page, name)
    field.setFocus(Qt.FocusReason.TabFocusReason)
    assert field.hasFocus()
    return field


def questions_of(page, name) -> OfferBar:
    return named(page, OfferBar, f"Questions about {name}")


def records(bench):
    with bench.database.reading() as kept:
        return kept.all(TorqueRecord, live=True)


def save(page, qtbot, heard, where):
    qtbot.keyClick(where, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: bool(heard.quiet))
    return heard.take_said()


# --- empty pages


def test_without_a_vehicle_the_page_says_what_to_do(page):
    assert "Choose a vehicle" in named(page, QLabel, "Why the page is empty").text()
    assert not page.primary.isVisible()


def test_a_vehicle_without_a_sheet_is_offered_the_starting_one(page, session, bench, qtbot, heard):
    vehicle_id = add_motorcycle(bench).vehicle_id
    opened(page, session, qtbot, vehicle_id)
    page.focus_first()
    start = named(page, QPushButton, "Start from: Light electric motorcycle")
    qtbot.keyClick(start, Qt.Key.Key_Space)
    qtbot.waitUntil(lambda: len(page.list.rows) == 7)
    assert heard.take_said().text == "Torque sheet of LR-001 started"
    assert "Defer to the vehicle maker's manual" in named(page, QLabel, "About the values").text()
    assert page.primary.isVisible()


def test_a_sheet_may_start_empty_and_grow(page, session, bench, qtbot, heard):
    vehicle_id = add_motorcycle(bench).vehicle_id
    opened(page, session, qtbot, vehicle_id)
    qtbot.keyClick(named(page, QPushButton, "Start with an empty sheet"), Qt.Key.Key_Space)
    qtbot.waitUntil(lambda: page.model.snapshot.sheet is not None)
    heard.take_said()
    page.focus_first()
    qtbot.keyClick(named(page, QPushButton, "Add a fastener"), Qt.Key.Key_Space)
    name = named(page, EntryField, "Name of the fastener")
    qtbot.keyClicks(name, "chain guard")
    qtbot.keyClicks(named(page, EntryField, "Lowest torque"), "5")
    qtbot.keyClicks(named(page, EntryField, "Highest torque"), "7 N.m")
    qtbot.keyClick(name, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: [line.fastener.high_nm for line in page.model.lines] == [7.0])
    assert heard.take_said().text == "Chain guard added to the torque sheet"


# --- filling in


def test_enter_goes_from_fastener_to_fastener_and_control_enter_saves(
    page, session, bench, chain, qtbot, heard
):
    wrench = add_wrench(bench, due=TODAY + timedelta(days=100))
    opened(page, session, qtbot, chain.vehicle_id)
    page.focus_first()
    names = ["sprocket to intermediate shaft", "motor-shaft nut", "motor mounts", "rear axle"]
    for name, typed in zip(names, ("12", "50", "25", "52"), strict=True):
        field = field_of(page, name)
        qtbot.waitUntil(field.hasFocus)
        qtbot.keyClicks(field, typed)
        qtbot.keyClick(field, Qt.Key.Key_Return)
    assert page.model.chosen_id == fastener_named(bench, chain.vehicle_id, "swing-arm pivot").id
    said = save(page, qtbot, heard, field_of(page, "swing-arm pivot"))
    assert said.text == "Torques of LR-001 saved"
    assert said.undo is not None
    kept = records(bench)
    assert [record.applied_nm for record in kept] == [(12.0,), (50.0,), (25.0,), (52.0,)]
    assert {record.instrument_id for record in kept} == {wrench.id}
    assert {record.by for record in kept} == {"Ines Falk"}
    qtbot.waitUntil(lambda: page.model.entry(kept[3].fastener_id).work is TorqueWork.RECHECKED)
    assert field_of(page, "rear axle").text() == ""


def test_saving_can_be_undone(page, session, bench, chain, qtbot, heard):
    opened(page, session, qtbot, chain.vehicle_id)
    field = hand_at(page, "rear axle")
    qtbot.keyClicks(field, "52")
    save(page, qtbot, heard, field).undo()
    qtbot.waitUntil(lambda: bool(heard.quiet))
    assert heard.take_said().text.startswith("Undone")
    assert records(bench) == ()


def test_a_value_out_of_range_is_questioned_beside_its_field_and_kept(
    page, session, bench, chain, qtbot, heard
):
    opened(page, session, qtbot, chain.vehicle_id)
    field, said = hand_at(page, "rear axle"), questions_of(page, "rear axle")
    qtbot.keyClicks(field, "62")
    assert "62 N·m is above 50 to 55 N·m" in said.text
    assert field.text() == "62"
    qtbot.keyClick(field, Qt.Key.Key_1, Qt.KeyboardModifier.AltModifier)
    assert not said.isVisible()
    save(page, qtbot, heard, field)
    (record,) = records(bench)
    assert record.applied_nm == (62.0,)
    assert "Kept." in record.note


def test_pound_feet_are_taken_over_by_one_key(page, session, chain, qtbot):
    opened(page, session, qtbot, chain.vehicle_id)
    field = hand_at(page, "rear axle")
    qtbot.keyClicks(field, "40")
    qtbot.keyClick(field, Qt.Key.Key_1, Qt.KeyboardModifier.AltModifier)
    assert field.text() == "40 lbf.ft"
    assert not questions_of(page, "rear axle").isVisible()


def test_plus_parts_the_bolts_so_that_a_number_pad_is_enough(page, session, chain, qtbot):
    opened(page, session, qtbot, chain.vehicle_id)
    field = hand_at(page, "sprocket to intermediate shaft")
    qtbot.keyClicks(field, "12+12+12+12")
    assert field.text() == "12 12 12 12"
    assert "5 bolts, but 4 values" in questions_of(page, "sprocket to intermediate shaft").text
    assert page.detail.pattern.pattern.done == 4
    qtbot.keyClicks(field, "+12")
    assert page.detail.pattern.pattern.done == 5


def test_star_says_that_the_marker_line_was_looked_at(page, session, bench, chain, qtbot, heard):
    tighten(bench, chain.vehicle_id, days_ago=20, sprocket_to_intermediate_shaft=12.0)
    opened(page, session, qtbot, chain.vehicle_id)
    field = hand_at(page, "sprocket to intermediate shaft")
    qtbot.keyClicks(field, "*")
    assert named(page, QComboBox, "What was done").currentText() == "Marker line looked at"
    save(page, qtbot, heard, field)
    assert records(bench)[-1].work is TorqueWork.MARKER_SEEN
    assert records(bench)[-1].applied_nm == ()
    qtbot.waitUntil(lambda: page.model.lines[0].recheck is None)


def test_f2_goes_through_what_was_done(page, session, chain, qtbot):
    opened(page, session, qtbot, chain.vehicle_id)
    field = hand_at(page, "rear axle")
    qtbot.keyClick(field, Qt.Key.Key_F2)
    assert named(page, QComboBox, "What was done").currentText() == "Re-checked"


def test_what_can_not_be_understood_holds_the_save_back_and_stays(page, session, bench, chain, qtbot):
    opened(page, session, qtbot, chain.vehicle_id)
    field = hand_at(page, "rear axle")
    qtbot.keyClicks(field, "12 Hz")
    qtbot.keyClick(field, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert "frequency" in questions_of(page, "rear axle").text
    assert field.text() == "12 Hz"
    assert field.property("state") == "problem"
    assert records(bench) == ()


def test_a_wrench_past_its_calibration_is_told_beside_the_wrench(page, session, bench, chain, qtbot):
    add_wrench(bench, due=TODAY - timedelta(days=10))
    opened(page, session, qtbot, chain.vehicle_id)
    said = named(page, OfferBar, "Questions about the wrench, meter and date")
    assert "was due" in said.text
    assert "calibration due" in named(page, QComboBox, "Torque wrench").currentText()


def test_the_drawing_follows_the_hand(page, session, chain, qtbot):
    opened(page, session, qtbot, chain.vehicle_id)
    hand_at(page, "sprocket to intermediate shaft")
    assert page.detail.pattern.pattern.bolts == 5
    assert "1-3-5-2-4" in page.detail.pattern.accessibleDescription()
    qtbot.keyClick(field_of(page, "sprocket to intermediate shaft"), Qt.Key.Key_Down)
    qtbot.waitUntil(field_of(page, "motor-shaft nut").hasFocus)
    assert page.detail.pattern.pattern.bolts == 1


def test_a_meter_that_runs_backwards_becomes_a_banner_and_nothing_is_lost(
    page, session, bench, chain, qtbot, heard
):
    opened(page, session, qtbot, chain.vehicle_id)
    qtbot.keyClicks(named(page, EntryField, "Meter"), "4000")
    field = hand_at(page, "rear axle")
    qtbot.keyClicks(field, "52")
    qtbot.keyClick(field, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: bool(heard.problems))
    assert "below the last entry" in str(heard.take_problem())
    assert field.text() == "52"
    assert records(bench) == ()
    qtbot.waitUntil(lambda: kept_torques(bench, chain.vehicle_id) is not None)


# --- half-filled sheets


def test_a_half_filled_sheet_is_kept_and_comes_back(page, session, bench, chain, qtbot):
    opened(page, session, qtbot, chain.vehicle_id)
    qtbot.keyClicks(field_of(page, "rear axle"), "52")
    qtbot.waitUntil(lambda: kept_torques(bench, chain.vehicle_id) is not None)
    again = TorquePage(session)
    qtbot.addWidget(again)
    again.show()
    again.show_vehicle(chain.vehicle_id)
    qtbot.waitUntil(lambda: again.model.is_restored)
    again.activateWindow()
    qtbot.waitUntil(again.isActiveWindow)
    assert field_of(again, "rear axle").text() == "52"
    assert "half-filled" in named(again, OfferBar, "About this torque sheet").text
    qtbot.keyClick(hand_at(again, "rear axle"), Qt.Key.Key_1, Qt.KeyboardModifier.AltModifier)
    assert field_of(again, "rear axle").text() == ""
    qtbot.waitUntil(lambda: kept_torques(bench, chain.vehicle_id) is None)


def test_a_sheet_is_kept_when_the_window_closes(page, session, bench, chain, qtbot):
    opened(page, session, qtbot, chain.vehicle_id)
    qtbot.keyClicks(field_of(page, "rear axle"), "52")
    assert page.may_leave()
    assert kept_torques(bench, chain.vehicle_id).entries


# --- the sheet itself


def test_the_makers_value_takes_the_place_of_common_practice(page, session, bench, chain, qtbot, heard):
    opened(page, session, qtbot, chain.vehicle_id)
    hand_at(page, "rear axle")
    qtbot.keyClick(named(page, QPushButton, "Change"), Qt.Key.Key_Space)
    low, high = named(page, EntryField, "Lowest torque"), named(page, EntryField, "Highest torque")
    qtbot.waitUntil(low.hasFocus)
    low.selectAll()
    qtbot.keyClicks(low, "75 lbf.ft")
    qtbot.keyClick(low, Qt.Key.Key_Return)
    assert high.hasFocus()
    high.selectAll()
    qtbot.keyClicks(high, "105")
    qtbot.keyClick(high, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: bool(heard.quiet))
    assert heard.take_said().text == "Rear axle changed"
    axle = fastener_named(bench, chain.vehicle_id, "rear axle")
    # 75 lbf.ft = 101.7 N.m: NIST SP 811, appendix B.8.
    assert axle.low_nm == pytest.approx(101.69, abs=0.01)
    assert axle.high_nm == 105.0


def test_a_range_that_can_not_be_is_refused_beside_its_fields(page, session, bench, chain, qtbot):
    opened(page, session, qtbot, chain.vehicle_id)
    hand_at(page, "rear axle")
    qtbot.keyClick(named(page, QPushButton, "Change"), Qt.Key.Key_Space)
    low = named(page, EntryField, "Lowest torque")
    qtbot.waitUntil(low.hasFocus)
    low.selectAll()
    qtbot.keyClicks(low, "90")
    qtbot.keyClick(low, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: "no range" in page.form.said.text())
    qtbot.keyClick(low, Qt.Key.Key_Escape)
    qtbot.waitUntil(field_of(page, "rear axle").hasFocus)
    assert fastener_named(bench, chain.vehicle_id, "rear axle").low_nm == 50.0


def test_a_fastener_is_taken_off_only_after_a_question(page, session, bench, chain, qtbot, heard):
    opened(page, session, qtbot, chain.vehicle_id)
    hand_at(page, "linkage")
    qtbot.keyClick(named(page, QPushButton, "Take off"), Qt.Key.Key_Space)
    assert "Take linkage off" in named(page, OfferBar, "About this torque sheet").text
    assert len(page.list.rows) == 7
    qtbot.keyClick(field_of(page, "linkage"), Qt.Key.Key_1, Qt.KeyboardModifier.AltModifier)
    qtbot.waitUntil(lambda: len(page.list.rows) == 6)
    assert heard.take_said().undo is not None
    with bench.database.reading() as kept:
        assert [f.void_reason for f in kept.all(Fastener) if f.name == "linkage"] == ["taken off the sheet"]


# --- look


def test_every_control_has_a_name(page, session, chain, qtbot):
    opened(page, session, qtbot, chain.vehicle_id)
    for kind in (EntryField, QComboBox):
        for widget in page.findChildren(kind):
            assert widget.accessibleName(), widget


def test_a_narrow_page_puts_the_drawing_under_the_list(page, session, chain, qtbot):
    opened(page, session, qtbot, chain.vehicle_id)
    page.resize(1000, 700)
    assert page.side.x() > page.list.x()
    page.resize(600, 700)
    qtbot.waitUntil(lambda: page.side.y() > page.list.y())
    assert page.side.x() == page.list.x()


def test_ranges_in_the_seats_unit_stand_beside_newton_metres(page, session, chain, qtbot, qapp):
    opened(page, session, qtbot, chain.vehicle_id)
    from wearlog.fleet.quantity import ShownUnits

    wanted = Preferences(theme="dark", units=ShownUnits(torque="lbf.ft"), text_scale=1.5)
    theme.apply(qapp, wanted)
    session.set_preferences(wanted)
    row = page.list.row(fastener_named(session.bench, chain.vehicle_id, "rear axle").id)
    assert row.range.text() == "50 to 55\u2009N·m"
    assert row.treatment.text().startswith("36.9 to 40.6\u2009lbf·ft")
    page.grab()


# --- earlier records, and what is taken back


def test_undo_fills_the_sheet_in_again(page, session, bench, chain, qtbot, heard):
    opened(page, session, qtbot, chain.vehicle_id)
    field = hand_at(page, "rear axle")
    qtbot.keyClicks(field, "52.5")
    said = save(page, qtbot, heard, field)
    qtbot.waitUntil(lambda: field_of(page, "rear axle").text() == "")
    said.undo()
    qtbot.waitUntil(lambda: bool(heard.quiet))
    heard.take_said()
    qtbot.waitUntil(lambda: field_of(page, "rear axle").text() == "52.5")
    assert records(bench) == ()
    assert kept_torques(bench, chain.vehicle_id) is not None


def test_the_last_torque_is_voided_with_a_reason_and_the_one_before_counts(
    page, session, bench, chain, qtbot, heard
):
    tighten(bench, chain.vehicle_id, days_ago=20, rear_axle=51.0)
    tighten(bench, chain.vehicle_id, days_ago=5, rear_axle=54.0)
    opened(page, session, qtbot, chain.vehicle_id)
    hand_at(page, "rear axle")
    assert "51" in named(page, QLabel, "Earlier records").text()
    qtbot.keyClick(named(page, QPushButton, "Void the last record"), Qt.Key.Key_Space)
    reason = named(page, EntryField, "Why the record should no longer count")
    assert reason.hasFocus()
    qtbot.keyClick(reason, Qt.Key.Key_Return)
    assert len(records(bench)) == 2
    qtbot.keyClicks(reason, "wrench was off")
    qtbot.keyClick(reason, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: bool(heard.quiet))
    assert heard.take_said().text == "Torque of LR-001 voided"
    assert [record.applied_nm for record in records(bench)] == [(51.0,)]
    number = fastener_named(bench, chain.vehicle_id, "rear axle").id
    qtbot.waitUntil(lambda: page.model.line(number).last.applied_nm == (51.0,))
    assert not named(page, QLabel, "Earlier records").isVisible()
