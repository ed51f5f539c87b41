"""The fleet record in words: numbers, honest about small counts, never more than the data tell."""

import math

import pytest

from tests.makers.record import NOTHING, kind_record, record, reliability, survival
from wearlog.drawing.record_sentences import (
    hindsight_text,
    life_sentences,
    rate_sentences,
    reliability_sentences,
)
from wearlog.drawing.record_words import half_life_text, level_text
from wearlog.fleet.quantity import ShownUnits
from wearlog.workshop.record_snapshot import Comparison, Factor, Rate, Verdict

SHOWN = ShownUnits()


def plain(sentences):
    return " ".join(sentences).translate({0x2009: " ", 0x202F: " ", 0xA0: " "})


def test_intervals_that_hold_are_said_to_hold():
    text = plain(reliability_sentences(reliability(), NOTHING))
    assert "the 80 % interval held 80 % (76 to 84 %). The intervals hold what they promise." in text
    assert "missed by less than 5.0 % of the allowance; a straight line" in text
    assert "by 8.0 %. Learning from the fleet pays." in text


def test_intervals_too_narrow_are_said_to_be():
    text = plain(reliability_sentences(reliability(shares=(0.35, 0.6, 0.85)), NOTHING))
    assert "The 50, 80 and 95 % intervals are too narrow" in text


def test_intervals_too_wide_are_said_to_be():
    text = plain(reliability_sentences(reliability(shares=(0.6, 0.9, 0.95)), NOTHING))
    assert "The 50 and 80 % intervals are wider than need be" in text


def test_a_line_that_was_nearer_is_admitted():
    assert "the plain line was nearer" in plain(
        reliability_sentences(reliability(error=0.1, line=0.06), NOTHING)
    )


def test_few_checks_are_called_too_few():
    text = plain(reliability_sentences(reliability(4, (0.5, 0.75, 1.0), n_parts=1), NOTHING))
    assert "Of 4 forecasts of a next reading for 1 part" in text
    assert "4 checks are too few to judge by" in text
    assert "hold what they promise" not in text


def test_distances_of_few_parts_leave_much_possible():
    text = plain(reliability_sentences(reliability(), reliability(30, n_parts=4)))
    assert "foretold 30 times for 4 parts that reached it" in text
    assert "so few parts leave anything from" in text


def test_distances_that_hold_are_not_excused():
    excuse = "more often too high than too low"
    assert excuse in plain(
        reliability_sentences(reliability(), reliability(170, (0.45, 0.7, 0.85), n_parts=22))
    )
    assert excuse not in plain(reliability_sentences(reliability(), reliability(170, (0.5, 0.85, 0.95))))


def test_nothing_predicted_is_said_so():
    assert "Nothing was predicted yet" in plain(reliability_sentences(NOTHING, NOTHING))


def test_a_difference_that_is_told_comes_with_its_interval():
    text = plain(rate_sentences(kind_record(), Factor.DUTY, SHOWN))
    assert "uses up 7.0 % (6.3 to 7.8 %) of its wear allowance per 1000 km, from 46 parts" in text
    assert "“off-road” wears 1.7 times as fast as “road” (1.3 to 2.2)" in text


def test_a_difference_that_is_not_told_says_what_is_possible():
    verdict = Verdict(False, "off-road", "road", 1.1, 0.8, 1.5)
    text = plain(rate_sentences(kind_record(verdict), Factor.DUTY, SHOWN))
    assert "By duty the data do not tell." in text
    assert "anything from 20 % slower to 50 % faster" in text
    assert "times as fast" not in text


def test_too_few_parts_are_not_compared():
    rates = (Rate("off-road", 2, 2, 0.1, 0.05, 0.2), Rate("road", 2, 1, 0.1, 0.05, 0.2))
    compared = {Factor.DUTY: Comparison(Factor.DUTY, rates, None)}
    text = plain(rate_sentences(kind_record(comparisons=compared), Factor.DUTY, SHOWN))
    assert "the data do not tell: 3 read parts of each are the least" in text


@pytest.mark.parametrize("by", [Factor.CARE, Factor.CARE_INTERVAL])
def test_what_was_seen_of_care_is_not_called_a_trial(by):
    levels = ("oil", "wax") if by is Factor.CARE else ("<600", ">600")
    rates = tuple(Rate(level, 9, 9, 0.1, 0.08, 0.12) for level in levels)
    compared = {by: Comparison(by, rates, Verdict(True, *levels, 1.5, 1.2, 1.9))}
    text = plain(rate_sentences(kind_record(comparisons=compared), by, SHOWN))
    assert "This was seen, not tried out" in text


def test_nothing_to_compare_is_said_so():
    assert "nothing to compare by lot" in plain(rate_sentences(kind_record(), Factor.LOT, SHOWN))


def test_half_a_life_comes_with_its_interval():
    text = plain(life_sentences(kind_record(), Factor.DUTY, SHOWN))
    assert "Half of them last 11 000 km (8000 to 14 000 km)." in text
    assert (
        "Of 24 parts, 13 reached their limit or came off worn, 3 came off before that and 8 still run" in text
    )
    assert "1 part is left out" in text
    assert "By duty, half last: road: 11 000 km" in text


def test_a_half_that_is_out_of_sight_is_not_made_up():
    curve = survival(median=math.inf, median_high=math.inf)
    assert "outlast what was followed, 16 000 km" in plain([half_life_text(curve, "km", SHOWN)])
    text = plain(life_sentences(kind_record(survival=curve), None, SHOWN))
    assert "last longer than can be told" in text


def test_no_worn_part_is_said_so():
    text = plain(life_sentences(kind_record(survival=survival(n_worn=0)), None, SHOWN))
    assert text == "None of 24 parts has reached its limit or come off worn yet."


def test_a_care_interval_is_told_in_the_units_of_the_seat():
    assert plain([level_text(Factor.CARE_INTERVAL, "<800", "km", SHOWN)]) == "every 800 km or more often"
    miles = plain([level_text(Factor.CARE_INTERVAL, ">800", "km", ShownUnits(distance="mi"))])
    assert miles == "less often than every 497 mi"


def test_hindsight_is_owned_up_to():
    assert "known in its day" in hindsight_text(record(kind_record()))
    assert "Quick look" in hindsight_text(record(kind_record(), is_honest=False))
