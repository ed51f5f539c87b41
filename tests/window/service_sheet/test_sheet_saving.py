"""A sheet on its way: kept, moved, saved, refused, and the next machine."""

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit

from tests.makers.sheet import draft_for, motorcycle_sheet
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.window.bench_keys import put_focus
from wearlog.window.service_sheet.page import SheetPage
from wearlog.workshop.changes import Changes


def field(page: SheetPage, name: str) -> QLineEdit:
    return next(line for line in page.findChildren(QLineEdit) if line.accessibleName() == name)


def test_a_sheet_on_the_wrong_vehicle_is_moved_to_another_tag(hand, page, desk):
    hand.scans("LR-017")
    hand.types("12")
    hand.waits()
    put_focus(page.sheet.row("final elongation").field)
    hand.types("257.1")
    hand.waits()
    hand.presses_key(Qt.Key.Key_3, Qt.KeyboardModifier.AltModifier)
    assert hand.where == "Vehicle tag"
    hand.scans("LR-018")
    assert page.model.snapshot.tag == "LR-018"
    assert page.model.entry("final elongation").text == "257.1"
    assert list(desk.kept) == [18]


def test_the_sheet_left_half_filled_can_be_fetched_to_the_next_vehicle(hand, page, desk):
    hand.scans("LR-017")
    hand.types("12362")
    hand.scans("LR-018")
    assert "LR-017" in page.sheet.note.text
    assert page.model.is_empty
    hand.presses_key(Qt.Key.Key_1, Qt.KeyboardModifier.AltModifier)
    hand.waits()
    assert page.model.draft.meter_text == "12362"
    assert list(desk.kept) == [18]


def test_a_half_filled_sheet_is_kept_and_comes_back(hand, page, desk):
    hand.scans("LR-017")
    hand.enters("12362", "84.5")
    hand.waits()
    hand.scans("LR-018")
    hand.scans("LR-017")
    assert field(page, "belt H8M, 880-8M-30: static tension").text() == "84.5"
    assert "half-filled" in page.sheet.note.text


def test_leaving_keeps_what_the_last_pause_did_not(hand, page, desk):
    hand.scans("LR-017")
    hand.types("12362")
    assert page.may_leave()
    assert "12362" in desk.kept[17]


def test_starting_afresh_forgets_what_was_kept(hand, page, desk):
    sheet = motorcycle_sheet()
    desk.keep(draft_for(sheet, meter_text="12362", meter_value=12362.0))
    hand.scans("LR-017")
    hand.presses_key(Qt.Key.Key_1, Qt.KeyboardModifier.AltModifier)
    hand.waits()
    assert desk.kept == {}
    assert page.model.is_empty


def test_a_save_is_told_and_the_next_tag_can_be_typed_at_once(hand, page, desk, heard, session, qtbot):
    hand.scans("LC-02")
    hand.enters("2450", "0.5/0.75")
    with qtbot.waitSignal(session.changed) as changed:
        hand.presses_key(Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
        assert hand.where == "Vehicle tag"
    assert changed.args[0].concern(42)
    assert "LC-02" in heard.take_said().text
    assert page.head.tag.text() == ""
    assert page.model.snapshot is None
    assert desk.kept == {}
    hand.scans("LR-017")
    assert page.model.snapshot.tag == "LR-017"


def test_coming_back_to_the_page_opens_the_chosen_vehicle(hand, page, heard):
    hand.scans("LC-02")
    hand.enters("2450", "0.5/0.75")
    hand.presses_key(Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    hand.waits()
    heard.take_said()
    assert page.model.snapshot is None
    page.focus_first()
    hand.waits()
    assert page.model.snapshot.tag == "LC-02"
    assert hand.where == "Meter"


def test_a_tag_scanned_while_the_last_sheet_is_saved_is_not_lost(hand, page, desk, heard, qtbot):
    hand.scans("LC-02")
    hand.enters("2450", "0.5/0.75")
    hand.presses_key(Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    QTest.keyClicks(page.head.tag, "LR-017")
    QTest.keyClick(page.head.tag, Qt.Key.Key_Return)
    hand.waits()
    heard.take_said()
    assert page.model.snapshot.tag == "LR-017"
    assert [draft.vehicle_id for draft in desk.saved] == [42]
    assert desk.kept == {}
    assert page.sheet.note.text == ""


def test_a_refused_sheet_stays_as_it_is(hand, page, desk, heard):
    desk.refusal = WearlogError(Problem("The date lies ahead.", "LC-02", "Give the day of the service."))
    hand.scans("LC-02")
    hand.enters("2450", "0.5/0.75")
    hand.presses_key(Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    hand.waits()
    assert heard.take_problem() is desk.refusal
    assert page.model.entry("drive elongation").text == "0.5/0.75"
    assert list(desk.kept) == [42]


def test_an_unknown_tag_is_told_and_the_tag_can_be_typed_anew(hand, page, heard):
    put_focus(page.head.tag)
    QTest.keyClicks(page.head.tag, "LR-999")
    QTest.keyClick(page.head.tag, Qt.Key.Key_Return)
    hand.waits()
    assert "LR-999" in str(heard.take_problem())
    assert hand.where == "Vehicle tag"


def test_a_change_elsewhere_keeps_what_is_typed_and_where_the_hand_is(hand, page, session):
    hand.scans("LR-017")
    hand.enters("12362", "84.5")
    at = hand.where
    session.changed.emit(Changes("Changed at another seat", "", can_undo=False))
    hand.waits()
    assert field(page, "belt H8M, 880-8M-30: static tension").text() == "84.5"
    assert hand.where == at
