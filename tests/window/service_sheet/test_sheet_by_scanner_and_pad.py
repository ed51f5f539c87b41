"""The sheet as a scanner and a number pad drive it: key events as these devices send them."""

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from wearlog.fleet.reading import Method
from wearlog.window.bench_keys import put_focus

PAD = Qt.KeyboardModifier.KeypadModifier
NONE = Qt.KeyboardModifier.NoModifier
_PAD_KEYS = {
    **{str(n): Qt.Key(Qt.Key.Key_0 + n) for n in range(10)},
    ".": Qt.Key.Key_Period,
    ",": Qt.Key.Key_Comma,
    "/": Qt.Key.Key_Slash,
    "*": Qt.Key.Key_Asterisk,
    "+": Qt.Key.Key_Plus,
    "-": Qt.Key.Key_Minus,
}


def burst(widget, text: str, end: Qt.Key = Qt.Key.Key_Return) -> None:
    """All keys of a scan at once, with no time between them, as a keyboard wedge sends them."""
    for letter in text:
        key = Qt.Key(ord(letter.upper()))
        shift = Qt.KeyboardModifier.ShiftModifier if letter.isupper() else NONE
        for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
            QCoreApplication.postEvent(widget, QKeyEvent(kind, key, shift, letter))
    for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
        QCoreApplication.postEvent(widget, QKeyEvent(kind, end, NONE, "\r"))


def pad(text: str) -> None:
    """Keys of the number pad, at whatever has the focus."""
    for letter in text:
        event = QKeyEvent(QEvent.Type.KeyPress, _PAD_KEYS[letter], PAD, letter)
        QCoreApplication.sendEvent(QApplication.focusWidget(), event)


def pad_enter() -> None:
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Enter, PAD)


@pytest.mark.parametrize("scanned", ["LR-017", "lr-017"])
def test_a_tag_scanned_in_one_burst_opens_its_sheet(hand, page, qtbot, scanned):
    put_focus(page.head.tag)
    burst(page.head.tag, scanned)
    qtbot.waitUntil(lambda: page.model.snapshot is not None)
    hand.waits()
    assert page.model.snapshot.tag == "LR-017"


def test_the_hand_is_at_the_meter_after_a_scan(hand, page, qtbot):
    put_focus(page.head.tag)
    burst(page.head.tag, "LR-017")
    qtbot.waitUntil(lambda: page.model.snapshot is not None)
    page.window().activateWindow()
    qtbot.waitUntil(page.window().isActiveWindow)
    hand.waits()
    assert hand.where == "Meter"


def test_two_scans_in_a_row_open_the_second(hand, page, qtbot):
    put_focus(page.head.tag)
    burst(page.head.tag, "LR-017")
    qtbot.waitUntil(lambda: page.model.snapshot is not None)
    hand.waits()
    put_focus(page.head.tag)
    burst(page.head.tag, "LC-02")
    qtbot.waitUntil(lambda: page.model.snapshot.tag == "LC-02")
    hand.waits()
    assert page.model.is_empty


def test_a_scan_that_nobody_knows_is_told_and_opens_nothing(hand, page, qtbot, heard):
    put_focus(page.head.tag)
    burst(page.head.tag, "ZZ-99")
    qtbot.waitUntil(lambda: bool(heard.problems))
    assert "no vehicle with the tag ZZ-99" in heard.take_problem().problems[0].what
    assert page.model.snapshot is None


def test_figures_and_enter_of_the_pad_fill_the_sheet(hand, page):
    hand.scans("LR-017")
    pad("12362")
    pad_enter()
    assert page.model.draft.meter_value == 12362.0
    assert hand.where == "belt H8M, 880-8M-30: static tension"
    pad("84.5")
    pad_enter()
    assert page.model.entry("primary tension").spots[0].value == 84.5


def test_the_pad_alone_enters_several_places_and_says_that_they_were_cleaned(hand, page):
    hand.scans("LR-017")
    row = page.sheet.row("final elongation")
    put_focus(row.field)
    pad("257.1+257,4*")
    entry = page.model.entry("final elongation")
    assert [spot.value for spot in entry.spots] == [257.1, 257.4]
    assert entry.was_cleaned is True


def test_the_stroke_of_the_pad_parts_what_goes_in_from_what_stays_out(hand, page):
    hand.scans("LC-02")
    pad("2450")
    pad_enter()
    pad("0.5/0.75")
    (key,) = [key for key, entry in page.model.draft.entries.items() if entry.text]
    assert [(spot.value, spot.second) for spot in page.model.entry(key).spots] == [
        (0.005, 1.0),
        (0.0075, 0.0),
    ]


@pytest.mark.parametrize(
    "typed",
    [
        "258.826",
        "258.826 mm",
        "25.8826 cm",
        # 1 in is 25.4 mm exactly (NIST SP 811, appendix B.8); 258.826 mm are 10.19 in.
        "10.19 in",
        '10.19"',
    ],
)
def test_a_length_may_be_typed_in_any_unit_of_the_trade(hand, page, typed):
    hand.scans("LR-017")
    row = page.sheet.row("final elongation")
    put_focus(row.field)
    hand.types(typed)
    hand.waits()
    assert row.outcome.value.whole.startswith("1.90")
    assert row.field.text() == typed


def test_a_percentage_is_taken_as_read_off(hand, page):
    hand.scans("LR-017")
    put_focus(page.sheet.row("final elongation").field)
    hand.types("1.9 %")
    entry = page.model.entry("final elongation")
    assert entry.method is Method.ELONGATION_READ
    assert entry.spots[0].value == pytest.approx(0.019)


@pytest.mark.parametrize(
    ("typed", "km"), [("7,681 mi", 12361.37), ("12 362", 12362.0), ("12362 km", 12362.0)]
)
def test_a_meter_may_be_typed_in_miles_or_with_thousands_parted(hand, page, typed, km):
    hand.scans("LR-017")
    hand.types(typed)
    assert page.model.draft.meter_value == pytest.approx(km, abs=0.01)
