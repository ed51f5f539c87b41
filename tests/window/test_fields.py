"""Entry fields: any unit of the trade, any way to write a day; the text always stays as typed."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import Qt

from wearlog.fleet.problem import Offer, Problem
from wearlog.fleet.quantity import Quantity
from wearlog.fleet.vehicle import MeterUnit
from wearlog.window.fields import DateField, FieldNote, MeterField, QuantityField, TagField, read_day

TODAY = date(2026, 11, 25)


@pytest.fixture
def length(qtbot):
    field = QuantityField("Length", Quantity.LENGTH, "mm", takes_several=True)
    qtbot.addWidget(field)
    return field


def test_inches_become_millimetres(length, qtbot):
    # 1 in = 25.4 mm exactly: ISO 80000-3:2019, annex; international yard and pound agreement 1959.
    qtbot.keyClicks(length, "12 3/4 in")
    assert length.typed.value == pytest.approx(323.85, abs=1e-9)
    assert length.text() == "12 3/4 in"


def test_every_spot_is_kept(length, qtbot):
    qtbot.keyClicks(length, "254.6 254.9; 254.7")
    assert [spot.value for spot in length.several] == [254.6, 254.9, 254.7]


def test_a_wrong_unit_becomes_a_sentence_and_the_text_stays(length, qtbot):
    qtbot.keyClicks(length, "153.2 N")
    assert length.typed is None
    assert "force" in length.problem.what
    assert length.text() == "153.2 N"


def test_pairs_are_inside_and_outside(qtbot):
    field = QuantityField("Inside and outside", Quantity.LENGTH, "mm", takes_several=True, takes_pairs=True)
    qtbot.addWidget(field)
    qtbot.keyClicks(field, "119.76/136.78; 119.80 / 136.80")
    assert [(a.value, b.value) for a, b in field.pairs] == [(119.76, 136.78), (119.8, 136.8)]
    qtbot.keyClicks(field, "; 119.7/")
    assert "pair" in field.problem.what


def test_an_hour_meter_counts_hours(qtbot):
    field = MeterField("Meter", MeterUnit.HOURS)
    qtbot.addWidget(field)
    qtbot.keyClicks(field, "142.5")
    assert (field.typed.value, field.typed.quantity) == (142.5, Quantity.RUNNING_TIME)


def test_a_mile_meter_is_kept_in_kilometres(qtbot):
    # 1 mi = 1.609344 km exactly: international yard and pound agreement 1959.
    field = MeterField("Meter", MeterUnit.MILES)
    qtbot.addWidget(field)
    qtbot.keyClicks(field, "100")
    assert field.typed.value == pytest.approx(160.9344, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-11-05", date(2026, 11, 5)),
        ("5.11.", date(2026, 11, 5)),
        ("5/11/26", date(2026, 11, 5)),
        ("5 Nov", date(2026, 11, 5)),
        ("5 november 2025", date(2025, 11, 5)),
        ("today", TODAY),
        ("yesterday", date(2026, 11, 24)),
        ("-3", date(2026, 11, 22)),
        # Without a year the latest such day is meant: a service lies in the past.
        ("24 Dec", date(2025, 12, 24)),
        ("31.11.", None),
        ("soon", None),
    ],
)
def test_a_day_is_understood_as_people_write_it(text, day):
    assert read_day(text, TODAY) == day


@given(st.dates(min_value=date(2000, 1, 1), max_value=date(2099, 12, 31)))
def test_a_day_in_iso_8601_is_read_back_unchanged(day):
    assert read_day(day.isoformat(), TODAY) == day


def test_arrow_keys_step_through_days(qtbot):
    field = DateField("Date", TODAY)
    qtbot.addWidget(field)
    qtbot.keyClick(field, Qt.Key.Key_Down)
    assert field.day == date(2026, 11, 24)
    qtbot.keyClick(field, Qt.Key.Key_PageDown)
    assert field.day == date(2026, 11, 17)
    qtbot.keyClick(field, Qt.Key.Key_Up)
    assert field.day == date(2026, 11, 18)


def test_a_scanned_tag_chooses_its_vehicle(qtbot):
    field = TagField("Tag")
    qtbot.addWidget(field)
    field.set_tags([("LR-017", 17), ("LC-02", 2)])
    qtbot.keyClicks(field, "lr-017")
    with qtbot.waitSignal(field.tag_entered) as entered:
        qtbot.keyClick(field, Qt.Key.Key_Return)
    assert entered.args == [17]


def test_a_tag_that_nobody_has_is_named(qtbot):
    field = TagField("Tag")
    qtbot.addWidget(field)
    field.set_tags([("LR-017", 17)])
    qtbot.keyClicks(field, "LR-99")
    assert "LR-99" in field.problem.what


def test_the_sentence_comes_when_the_field_is_left_and_goes_when_it_is_right(length, qtbot):
    note = FieldNote(length)
    qtbot.addWidget(note)
    qtbot.keyClicks(length, "12 parsecs")
    assert note.text() == ""
    qtbot.keyClick(length, Qt.Key.Key_Return)
    assert "parsecs" in note.text()
    length.setText("12 mm")
    assert note.text() == ""


def test_an_offer_is_taken_from_the_sentence(length, qtbot):
    note = FieldNote(length)
    qtbot.addWidget(note)
    note.show_problems(
        [Problem("Below the last entry.", offers=(Offer("Meter replaced?", "meter replaced"),))]
    )
    assert "Meter replaced?" in note.text()
    with qtbot.waitSignal(note.offered) as offered:
        note.linkActivated.emit("0")
    assert offered.args[0].action == "meter replaced"
