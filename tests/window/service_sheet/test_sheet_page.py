"""The service sheet by keyboard, as a mechanic fills it in."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget

from tests.makers.sheet import motorcycle_sheet, slack_asked
from tests.window.service_sheet.hand import PAGE_SIZE, Hand
from tests.window.service_sheet.made_desk import MadeDesk
from wearlog.fleet.reading import Method
from wearlog.window.bench_keys import BenchTick, put_focus
from wearlog.window.service_sheet.page import SheetPage
from wearlog.workshop.sheet import EntryDraft


def field(page: SheetPage, name: str) -> QLineEdit:
    return next(line for line in page.findChildren(QLineEdit) if line.accessibleName() == name)


def tick(page: SheetPage, name: str) -> BenchTick:
    return next(box for box in page.findChildren(BenchTick) if box.accessibleName() == name)


def fill_motorcycle(hand: Hand) -> None:
    hand.scans("LR-017")
    hand.enters("12362")
    hand.enters("84.5+83.9", "1")
    hand.types("+")
    hand.types("+")
    hand.enters("380", "420")
    hand.enters("257.68+257.4+257.5", "46+52", "15.5", "1", "2")
    hand.types("+")
    hand.types("+")
    hand.types("+")
    hand.enters("52", "38")


def test_a_two_stage_sheet_needs_under_thirty_key_presses_besides_figures(hand, desk, heard):
    fill_motorcycle(hand)
    hand.presses_key(
        Qt.Key.Key_Enter, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.KeypadModifier
    )
    hand.waits()
    heard.take_said()
    saved = desk.saved[0]
    assert len(saved.entries) == 7
    assert [task.done for task in saved.tasks.values()] == [True] * 5
    assert saved.tasks["final tension"].after == 38.0
    assert hand.presses < 30, hand.presses


def test_the_fullest_two_chain_sheet_needs_under_thirty_too(hand, desk, heard):
    hand.scans("LR-018")
    hand.enters("12362")
    for elongation in ("156.1+156.2+156.1", "257.68+257.4+257.5"):
        hand.enters(elongation, "46+52")
        if elongation.startswith("257"):
            hand.enters("15.5")
        hand.enters("1", "2")
        for _task in range(3):
            hand.types("+")
        hand.enters("52", "38")
    hand.presses_key(Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    hand.waits()
    heard.take_said()
    assert len(desk.saved[0].entries) == 9
    assert hand.presses < 30


@pytest.mark.parametrize("tag", ["LR-017", "LR-018"])
def test_a_two_stage_sheet_fits_without_scrolling(hand, page, tag):
    hand.scans(tag)
    hand.enters("12362")
    hand.waits()
    bar = page.sheet.scroller.verticalScrollBar()
    assert bar.maximum() == 0
    for row in page.sheet.rows():
        assert row.height() >= 40
        assert row.field.height() >= 40


def test_enter_walks_in_the_order_of_the_hand(hand):
    hand.scans("LR-017")
    walked = [hand.where]
    for _step in range(5):
        hand.presses_key(Qt.Key.Key_Return)
        walked.append(hand.where)
    assert walked == [
        "Meter",
        "belt H8M, 880-8M-30: static tension",
        "belt H8M, 880-8M-30: belt condition",
        "primary drive: inspect",
        "primary drive: set tension",
        "chain 420, 118 links: elongation",
    ]


def test_shift_enter_goes_back(hand):
    hand.scans("LR-017")
    hand.enters("12362", "84.5")
    hand.presses_key(Qt.Key.Key_Return, Qt.KeyboardModifier.ShiftModifier)
    hand.presses_key(Qt.Key.Key_Return, Qt.KeyboardModifier.ShiftModifier)
    assert hand.where == "Meter"


def test_past_the_last_field_stands_the_save(hand, page):
    hand.scans("LC-02")
    hand.enters("2450", "0.5/0.75")
    hand.types("+")
    assert hand.at() is page.primary


def test_an_entry_says_at_once_what_it_means(hand, page):
    hand.scans("LR-017")
    put_focus(page.sheet.row("final elongation").field)
    hand.types("257.68")
    hand.waits()
    outcome = page.sheet.row("final elongation").outcome
    assert outcome.value.whole.startswith("1.45")
    assert "+0.35" in outcome.details.whole
    assert "limit 1.70" in outcome.details.whole
    assert "→" in outcome.forecast.whole
    assert outcome.rule.value is not None


def test_pins_and_pitches_are_shown_and_the_count_can_be_changed(hand, page):
    hand.scans("LR-017")
    row = page.sheet.row("final elongation")
    put_focus(row.field)
    assert row.what.count.whole == "pin 1 to pin 21 = 20 pitches = 254.0\u2009mm new"
    hand.types("260")
    hand.presses_key(Qt.Key.Key_F4)
    assert hand.at() is row.pitches
    QTest.keyClicks(row.pitches, "16")
    assert "16 pitches = 203.2" in row.what.count.whole
    hand.presses_key(Qt.Key.Key_Return)
    assert page.model.entry("final elongation").pitches == 16


def test_a_wrong_unit_is_told_beside_the_field_and_the_text_stays(hand, page):
    hand.scans("LR-017")
    hand.enters("12362", "84.5 kg")
    row = page.sheet.row("primary tension")
    assert "84.5 kg" in row.said.text
    assert row.field.text() == "84.5 kg"
    assert row.said.isVisible()


def test_what_cannot_be_understood_is_named_at_saving_and_nothing_is_saved(hand, page, desk, heard):
    hand.scans("LR-017")
    hand.enters("12362", "84.5 kg")
    hand.presses_key(Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    problems = heard.take_problem().problems
    assert [problem.where for problem in problems] == ["belt H8M, 880-8M-30: static tension"]
    assert desk.saved == []
    assert hand.where == "belt H8M, 880-8M-30: static tension"


def test_a_doubt_is_answered_with_alt_and_its_number(hand, page):
    hand.scans("LR-017")
    put_focus(page.sheet.row("final elongation").field)
    hand.types("266.9")
    hand.presses_key(Qt.Key.Key_Return)
    hand.waits()
    row = page.sheet.row("final elongation")
    assert "too few" in row.said.text
    hand.presses_key(Qt.Key.Key_1, Qt.KeyboardModifier.AltModifier)
    hand.waits()
    assert page.model.pitches("final elongation") == 21
    assert row.said.text == ""


def test_a_meter_that_runs_backwards_is_questioned_and_can_be_a_new_meter(hand, page, desk, heard):
    hand.scans("LR-017")
    hand.types("12")
    hand.waits()
    assert "below the last entry" in page.sheet.head_said.text
    hand.presses_key(Qt.Key.Key_1, Qt.KeyboardModifier.AltModifier)
    assert hand.where == "Old meter, last value"
    QTest.keyClicks(hand.at(), "11340")
    hand.waits()
    assert page.sheet.head_said.text == ""
    hand.presses_key(Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    hand.waits()
    heard.take_said()
    assert desk.saved[0].meter_was_replaced
    assert desk.saved[0].old_meter_value == 11_340.0


def test_wheels_and_arrow_keys_change_no_number(hand, page):
    hand.scans("LR-017")
    hand.types("12362")
    day = page.head.day.text()
    put_focus(page.head.day)
    hand.presses_key(Qt.Key.Key_Up)
    assert page.head.day.text() == day
    row = page.sheet.row("final elongation")
    for widget in (row.pitches, row.field, page.head.meter, row.what):
        put_focus(widget)
        wheel = QWheelEvent(
            QPointF(5, 5),
            widget.mapToGlobal(QPointF(5, 5)),
            QPoint(),
            QPoint(0, 120),
            Qt.MouseButton.NoButton,
            Qt.KeyboardModifier.NoModifier,
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        QApplication.sendEvent(widget, wheel)
        QTest.keyClick(widget, Qt.Key.Key_Up)
    assert page.head.meter.text() == "12362"
    assert row.pitches.text() == "20"
    assert row.field.text() == ""


def test_another_way_of_measuring_is_chosen_by_key(hand, page, qtbot):
    hand.scans("LR-017")
    row = page.sheet.row("final elongation")
    put_focus(row.field)
    hand.presses_key(Qt.Key.Key_F2)
    menu = QApplication.activePopupWidget()
    chosen = next(action for action in menu.actions() if "inside and outside" in action.text())
    menu.setActiveAction(chosen)
    QTest.keyClick(menu, Qt.Key.Key_Return)
    assert page.model.way("final elongation").method is Method.INSIDE_AND_OUTSIDE
    page.activateWindow()
    put_focus(row.field)
    hand.types("119.76/136.78")
    assert page.model.entry("final elongation").spots[0].second == 136.78


def test_not_measured_is_answered_with_its_reason(hand, page):
    hand.scans("LR-017")
    row = page.sheet.row("final slack")
    put_focus(row.field)
    hand.presses_key(Qt.Key.Key_F3)
    menu = QApplication.activePopupWidget()
    QTest.keyClick(menu, Qt.Key.Key_Return)
    assert page.model.entry("final slack") == EntryDraft(not_measured="not accessible")
    assert "not accessible" in row.outcome.value.whole


def test_the_star_key_says_that_the_chain_was_cleaned(hand, page):
    hand.scans("LR-017")
    row = page.sheet.row("final elongation")
    assert "cleaned?" in row.what.title.text()
    put_focus(row.field)
    hand.types("257.1*")
    assert page.model.entry("final elongation").was_cleaned is True
    assert row.field.text() == "257.1"
    assert row.what.title.text().endswith("cleaned")


def test_what_is_possible_but_not_due_waits_folded(hand, page):
    hand.scans("LR-017")
    block = page.sheet.blocks[1]
    assert page.sheet.row("final lift") is None
    assert "lift-off" in block.more.text()
    block.more.click()
    assert page.sheet.row("final lift") is not None
    assert tick(page, "final drive: check torque").isVisible()
    assert block.more.isHidden()


def test_slack_without_a_definition_asks_for_one(session, qtbot, heard):
    sheet = motorcycle_sheet()
    block = sheet.blocks[1]
    asked = slack_asked(definition="")
    sheet = replace(sheet, blocks=(replace(block, readings=(asked,)),))
    page = SheetPage(session, MadeDesk({17: sheet}))
    page.resize(*PAGE_SIZE)
    page.show()
    page.become_visible()
    hand = Hand(page, qtbot)
    hand.scans("LR-017")
    hand.enters("12362", "38")
    assert hand.where == "How slack is measured: slack"
    hand.enters("lower run, total, side stand")
    assert page.model.entry("final slack").definition == "lower run, total, side stand"
    hand.waits()
    page.close()


def test_every_control_has_a_name(hand, page):
    hand.scans("LR-017")
    page.sheet.blocks[1].unfold()
    nameless = [
        widget
        for widget in page.findChildren(QWidget)
        if widget.focusPolicy() != Qt.FocusPolicy.NoFocus
        and widget.isVisible()
        and not (widget.accessibleName() or getattr(widget, "text", str)())
    ]
    assert nameless == []
