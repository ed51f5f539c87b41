"""What the wear trend page says."""

import pytest

from tests.makers import trend
from wearlog.fleet.quantity import ShownUnits
from wearlog.window.trend.model import Column, TrendModel
from wearlog.workshop.trend_snapshot import ReadingMark


@pytest.fixture
def model(qtmodeltester):
    model = TrendModel(ShownUnits())
    qtmodeltester.check(model.readings)
    return model


def cells(model, row):
    return model.readings.row_at(row).cells


def test_the_newest_reading_stands_first(model):
    model.show(trend.chain_at(0.85))
    assert cells(model, 0)[Column.DATE] == "25 Nov 2026"
    assert cells(model, 0)[Column.METER] == "12\u202f362"
    assert cells(model, model.readings.rowCount() - 1)[Column.DATE] == "9 Apr 2026"


def test_a_reading_shows_what_was_typed_and_what_it_means(model):
    model.show(trend.chain_at(0.85))
    assert cells(model, 0)[Column.READ] == "257.67 over 20, 3 spots"
    assert cells(model, 0)[Column.VALUE] == "1.44 ± 0.05"
    assert cells(model, 0)[Column.RATE] == "0.33"
    gauge = model.readings.row_of(6)
    assert cells(model, gauge)[Column.READ] == "two-prong gauge: 0.75 in"
    assert cells(model, gauge)[Column.VALUE] == "1.01 to 1.51"


def test_voided_and_questioned_readings_say_why(model):
    model.show(trend.chain_at(0.85))
    assert cells(model, model.readings.row_of(8))[Column.REMARKS].startswith("voided: other vehicle")
    assert cells(model, model.readings.row_of(7))[Column.REMARKS].startswith("questioned: not cleaned?")


def test_a_new_reading_touches_only_its_own_row(model, qtbot):
    model.show(trend.chain_at(0.85, is_questioned=False))
    with (
        qtbot.assertNotEmitted(model.readings.modelReset),
        qtbot.waitSignal(model.readings.rowsInserted) as came,
    ):
        model.show(trend.chain_at(0.85))
    assert came.args[1:] == [3, 3]
    assert model.readings.row_at(3).mark is ReadingMark.SUSPECT


def test_a_seat_that_reads_miles_has_all_distances_in_miles(model):
    model.show(trend.chain_at(0.85))
    model.show_units(ShownUnits(distance="mi"))
    headers = [model.readings.headerData(n, trend_horizontal()) for n in range(len(Column))]
    assert headers[Column.METER] == "meter, mi"
    assert headers[Column.RATE] == "rate, % per 1000\u2009mi"
    # 12 362 km are 7681 mi; 0.33 % per 1000 km are 0.53 % per 1000 mi (1 mi = 1.609344 km, 1959).
    assert cells(model, 0)[Column.METER] == "7681"
    assert cells(model, 0)[Column.RATE] == "0.53"
    assert "mi" in model.facts[0].figure


def trend_horizontal():
    from PySide6.QtCore import Qt

    return Qt.Orientation.Horizontal


def test_never_a_lone_date_always_an_interval_and_a_chance(model):
    model.show(trend.chain_at(0.85, is_questioned=False))
    limit, replace, order = model.facts
    assert limit.note == "8 in 10: 530 to 1040\u2009km"
    assert replace.note == "1 in 10 chance to be past it"
    assert order.note == "14 days lead time"


def test_a_questioned_reading_makes_the_earlier_of_two_dates_count(model):
    model.show(trend.chain_at(0.85))
    assert model.facts[1].note == "the earlier of two dates: a reading is questioned"
    dates = {fact.key: fact for fact in model.why}["two dates"]
    assert dates.figure == "27 Dec 2026"
    assert dates.note.startswith("if it is wrong: 15 Jan 2027")


def test_the_limit_and_its_source_are_explained(model):
    model.show(trend.chain_at(0.85))
    why = {fact.key: fact for fact in model.why}
    assert "tooth count" in why["limit"].note
    assert "workshop default" in why["limit"].note
    assert why["readings"].figure == "7 readings"
    assert why["fleet"].figure == "31 similar chains"
    assert "16\u2009km a day" in why["usage"].figure


def test_a_part_without_readings_says_what_it_borrows(model):
    model.show(trend.chain_without_readings())
    assert model.figure.note.endswith("expected, no reading")
    assert "No reading yet: from 31 similar chains." in model.sentences
    assert model.readings.rowCount() == 0


def test_a_part_past_its_limit_is_to_be_replaced_now(model):
    model.show(trend.chain_at(1.06))
    limit, replace, _order = model.facts
    assert limit.label == "Reached its limit"
    assert replace.figure == "now"
    assert any("past its service limit" in sentence for sentence in model.sentences)


def test_parts_that_came_off_are_offered_last(model):
    model.show(trend.chain_at(0.85))
    assert [choice.is_current for choice in model.choices] == [True, True, True, False]
    assert model.choices[-1].text.endswith("(came off)")
    assert model.chosen == 0


def test_what_is_taken_for_granted_is_said(model):
    model.show(trend.chain_at(0.85))
    assert "steady wear" in model.foot
    assert "vehicle maker's manual" in model.foot
