"""The state of the service sheet, without a window."""

from datetime import date

import pytest

from tests.makers.sheet import (
    CALIPER,
    GAUGE,
    bicycle_sheet,
    draft_for,
    motorcycle_sheet,
    two_chain_sheet,
)
from tests.makers.sheet_preview import miscount, preview_of
from wearlog.fleet.problem import Offer
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Method
from wearlog.window.service_sheet.completeness import hindrances
from wearlog.window.service_sheet.model import SheetModel
from wearlog.window.service_sheet.words import Way
from wearlog.workshop.sheet import SheetDraft


@pytest.fixture
def model() -> SheetModel:
    made = SheetModel(ShownUnits())
    made.show(motorcycle_sheet(), None, "M. Fell")
    return made


def values(model: SheetModel, key: str) -> list[float]:
    return [spot.value for spot in model.entry(key).spots]


def test_every_spot_is_kept(model):
    model.type_entry("final elongation", "257.1 257.4 257,0")
    assert values(model, "final elongation") == [257.1, 257.4, 257.0]


def test_a_spot_in_inches_is_kept_in_millimetres(model):
    # 1 in = 25.4 mm exactly (International yard and pound agreement, 1959).
    model.type_entry("final elongation", "10.125 in")
    assert values(model, "final elongation") == pytest.approx([257.175])
    assert model.entry("final elongation").text == "10.125 in"


def test_a_wrong_unit_becomes_a_sentence_and_the_text_stays(model):
    model.type_entry("final slack", "38 kg")
    assert model.entry("final slack").text == "38 kg"
    assert model.entry("final slack").spots == ()
    problem = model.words("final slack").problems[0]
    assert "38 kg" in problem.what
    assert problem.todo


def test_the_sentence_goes_when_the_unit_is_mended(model):
    model.type_entry("final slack", "38 kg")
    model.type_entry("final slack", "38 mm")
    assert model.problem("final slack") is None
    assert values(model, "final slack") == [38.0]


def test_a_percentage_was_read_off_whatever_was_chosen(model):
    model.type_entry("final elongation", "0.75 %")
    assert model.way("final elongation").method is Method.ELONGATION_READ
    assert values(model, "final elongation") == [0.0075]
    model.type_entry("final elongation", "257.1")
    assert model.way("final elongation").method is Method.PIN_TO_PIN


def test_inside_and_outside_come_in_pairs(model):
    model.choose_way("final elongation", Way(Method.INSIDE_AND_OUTSIDE, CALIPER))
    model.type_entry("final elongation", "119.76/136.78 119.80 / 136.80")
    spots = model.entry("final elongation").spots
    assert [(spot.value, spot.second) for spot in spots] == [(119.76, 136.78), (119.80, 136.80)]


def test_one_length_alone_is_not_a_pair(model):
    model.choose_way("final elongation", Way(Method.INSIDE_AND_OUTSIDE, CALIPER))
    model.type_entry("final elongation", "119.76")
    assert "two" in model.words("final elongation").problems[0].what


@pytest.mark.parametrize("text", ["0.5 in 0.75 out", "0.5/0.75", "0,5 in and 0.75 out", "0.50 in, 0.75 out"])
def test_gauge_stamps_are_looked_up_in_the_gauge(model, text):
    model.choose_way("final elongation", Way(Method.GAUGE, GAUGE))
    model.type_entry("final elongation", text)
    spots = model.entry("final elongation").spots
    assert [(spot.value, spot.second) for spot in spots] == [(0.005, 1.0), (0.0075, 0.0)]


def test_the_smallest_stamp_may_stay_out(model):
    model.choose_way("final elongation", Way(Method.GAUGE, GAUGE))
    model.type_entry("final elongation", "/0.5")
    assert [(spot.value, spot.second) for spot in model.entry("final elongation").spots] == [(0.005, 0.0)]


def test_a_stamp_that_the_gauge_has_not_is_asked_about(model):
    model.choose_way("final elongation", Way(Method.GAUGE, GAUGE))
    model.type_entry("final elongation", "0.6 in")
    problem = model.words("final elongation").problems[0]
    assert "0.6" in problem.what
    assert "0.75" in problem.todo


def test_a_greater_stamp_cannot_go_in_where_a_smaller_stays_out(model):
    model.choose_way("final elongation", Way(Method.GAUGE, GAUGE))
    model.type_entry("final elongation", "0.75 in 0.5 out")
    assert model.problem("final elongation") is not None


def test_a_grade_is_one_of_four(model):
    model.type_entry("final driver", "2")
    assert values(model, "final driver") == [2.0]
    model.type_entry("final driver", "5")
    assert model.problem("final driver") is not None


def test_a_force_comes_with_its_deflection(model):
    model.choose_way("primary tension", Way(Method.DEFLECTION_FORCE, None))
    model.type_entry("primary tension", "42/12")
    assert model.entry("primary tension").deflection_mm == 12.0
    assert values(model, "primary tension") == [42.0]


def test_pins_and_pitches_are_both_counted(model):
    # Two pins bound one pitch: n + 1 pins for n pitches; 20 x 12.7 mm = 254.0 mm.
    model.type_entry("final elongation", "257.1")
    assert model.pitches("final elongation") == 20
    model.set_pitches("final elongation", 21)
    assert model.entry("final elongation").pitches == 21
    assert model.entry("final elongation").text == "257.1"


def test_not_measured_with_a_reason_is_an_answer(model):
    model.type_entry("final slack", "38 kg")
    model.say_not_measured("final slack", "no time")
    assert model.problem("final slack") is None
    assert "no time" in model.words("final slack").value
    model.type_entry("final slack", "38")
    assert model.entry("final slack").not_measured == ""


@pytest.mark.parametrize(
    ("text", "km"), [("12362", 12362.0), ("12 362", 12362.0), ("12,362 km", 12362.0), ("7,681 mi", 12361.3)]
)
def test_the_meter_is_read_as_people_write_it(model, text, km):
    # 1 mi = 1.609 344 km exactly (International yard and pound agreement, 1959).
    model.type_meter(text)
    assert model.draft.meter_value == pytest.approx(km, abs=0.1)
    assert model.draft.meter_text == text


def test_the_meter_counts_in_its_own_unit():
    model = SheetModel(ShownUnits())
    model.show(bicycle_sheet(), None, "")
    model.type_meter("2450")
    assert model.draft.meter_value == pytest.approx(2450 * 1.609344)


def test_a_sheet_with_a_meter_in_kilograms_cannot_be_saved(model):
    model.type_meter("12362 kg")
    assert model.draft.meter_value is None
    assert [problem.where for problem in hindrances(model)] == ["LR-017"]


def test_a_sheet_names_everything_that_hinders_it(model):
    model.type_entry("final slack", "38 kg")
    model.type_values("final tension", "52 C", "38")
    assert [problem.where for problem in hindrances(model)] == ["LR-017", "slack", "set slack"]


def test_a_replaced_meter_keeps_its_last_known_value_until_corrected(model):
    model.type_meter("12")
    model.set_meter_replaced(True)
    assert model.draft.old_meter_value == 11_312.0
    model.type_old_meter("11 340")
    assert model.draft.old_meter_value == 11_340.0
    model.type_old_meter("")
    assert model.draft.old_meter_value is None


def test_values_that_were_set_are_kept_as_typed_and_in_millimetres(model):
    model.type_values("final tension", "2 in", "38")
    task = model.task("final tension")
    assert task.done
    assert (task.before_text, task.after_text) == ("2 in", "38")
    assert (task.before, task.after) == (pytest.approx(50.8), 38.0)


def test_a_kept_sheet_comes_back_as_it_was_left(model):
    model.type_meter("12 362")
    model.type_entry("final elongation", "257.1 257.4")
    model.type_entry("final slack", "38 kg")
    model.set_cleaned("final elongation", True)
    model.tick("final clean", True)
    kept = SheetDraft.from_text(model.draft.to_text())
    again = SheetModel(ShownUnits())
    again.show(motorcycle_sheet(), kept, "")
    assert again.draft == model.draft
    assert again.is_restored
    assert again.problem("final slack") is not None


def test_an_untouched_sheet_is_not_called_restored(model):
    model.show(motorcycle_sheet(), draft_for(motorcycle_sheet()), "")
    assert not model.is_restored


def test_what_was_typed_for_a_part_that_is_gone_goes_to_the_notes(model):
    model.type_meter("12 362")
    model.type_entry("primary tension", "58.1")
    model.show(two_chain_sheet(), model.draft, "")
    assert "primary tension" not in model.draft.entries
    assert "58.1" in model.draft.notes


def test_every_change_asks_to_be_kept(model, qtbot):
    with qtbot.waitSignals([model.draft_changed] * 4):
        model.type_meter("12362")
        model.type_entry("final elongation", "257")
        model.tick("final clean", True)
        model.set_day(date(2026, 11, 24))


def test_an_offer_of_another_count_is_carried_out(model):
    model.type_entry("final elongation", "266.9")
    assert model.accept("final elongation", miscount(), Offer("21 pitches", "use pitches", 21))
    assert model.pitches("final elongation") == 21


def test_an_offer_of_another_unit_is_written_into_the_text(model):
    model.type_entry("final elongation", "10.1 10.2")
    assert model.accept("final elongation", None, Offer("inches", "use unit", "in"))
    assert model.entry("final elongation").text == "10.1 10.2 in"
    assert values(model, "final elongation") == pytest.approx([256.54, 259.08])


def test_an_answered_question_is_noted_and_not_asked_again(model):
    model.type_entry("final elongation", "270")
    model.show_preview(preview_of(model.snapshot, model.draft))
    doubt = model.words("final elongation").doubts[0]
    assert model.accept("final elongation", doubt, Offer("It is right", "keep"))
    assert model.words("final elongation").doubts == ()
    assert "It is right" in model.entry("final elongation").note


def test_a_sheet_on_the_wrong_vehicle_moves_with_all_that_has_a_place(model):
    model.type_meter("12 362")
    model.type_entry("final elongation", "257.1")
    model.type_entry("primary tension", "58")
    model.tick("final clean", True)
    model.show_moved(two_chain_sheet(), model.draft, model.snapshot)
    assert model.draft.vehicle_id == 18
    assert model.entry("final elongation").text == "257.1"
    assert model.task("final clean").done
    # A belt tension has no place on a chain primary; it is not lost.
    assert "58" in model.draft.notes


def test_the_words_say_value_change_limit_and_date(model):
    model.type_entry("final elongation", "257.68")
    model.show_preview(preview_of(model.snapshot, model.draft))
    words = model.words("final elongation")
    # (257.68 - 254) / 254 = 1.449 %; 1.10 % before.
    assert words.value.startswith("1.45 ± 0.05")
    assert "+0.35" in words.details
    assert "limit 1.70" in words.details
    assert words.forecast == "replace by 9 Jan 2027 → 26 Dec 2026"


def test_a_gauge_reads_an_interval_never_a_value(model):
    model.choose_way("final elongation", Way(Method.GAUGE, GAUGE))
    model.type_entry("final elongation", "0.5/0.75")
    model.show_preview(preview_of(model.snapshot, model.draft))
    assert "0.50 to 0.75" in model.words("final elongation").value


def test_lengths_are_asked_in_the_units_of_the_seat():
    model = SheetModel(ShownUnits(length="in"))
    model.show(motorcycle_sheet(), None, "")
    model.type_entry("final slack", "1.5")
    assert values(model, "final slack") == pytest.approx([38.1])
