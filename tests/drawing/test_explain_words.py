"""What a predicted date rests on, in words."""

from dataclasses import replace
from datetime import date

import pytest

from tests.makers import trend
from tests.makers.explained import explained
from wearlog.drawing.explain_bars import bars_height
from wearlog.drawing.explain_words import explain_blocks, explain_lines, whole_percents
from wearlog.drawing.trend_doubt_words import two_ways_lines
from wearlog.drawing.trend_facts import why_facts
from wearlog.fleet.quantity import ShownUnits
from wearlog.workshop.trend_snapshot import InDoubt, Possibility, TwoWays


@pytest.fixture
def blocks():
    return {block.key: block for block in explain_blocks(explained(), ShownUnits())}


def test_percentages_make_a_hundred_whatever_is_rounded():
    assert sum(whole_percents((1 / 3, 1 / 3, 1 / 3))) == 100
    assert sum(whole_percents((0.555, 0.2225, 0.2225))) == 100
    assert whole_percents((0.0, 0.0)) == (0, 0)


def test_the_causes_are_told_with_shares_that_make_the_whole(blocks):
    bars = blocks["width"].bars
    assert sum(bar.percent for bar in bars) == 100
    assert [bar.label for bar in bars[:2]] == ["how fast it wears", "use ahead"]
    assert bars[0].alone == "3 months"
    assert blocks["width"].figure == "4 months from 1 Feb 2027 to 1 Jun 2027"


def test_fleet_and_own_readings_are_told_with_their_shares(blocks):
    fleet, _cell, own = blocks["rate"].lines
    assert fleet.startswith("25\u2009% from 31 similar chains")
    assert own.startswith("75\u2009% from its own readings")
    assert blocks["rate"].figure == "0.19\u2009% per 1000\u2009km (8 in 10: 0.16 to 0.23)"


def test_a_reading_left_aside_says_why(blocks):
    assert blocks["readings"].figure == "1 reading"
    assert blocks["readings"].lines == ("left aside: 0.90\u2009% of 3 May 2026, voided: other vehicle",)


def test_the_usage_names_its_meter_entries_and_season(blocks):
    assert blocks["usage"].figure == "110\u2009km a week"
    assert any("from 14 meter entries, 4 Jan 2026 to 20 Nov 2026" in line for line in blocks["usage"].lines)
    assert any("until the date 98" in line for line in blocks["usage"].lines)


def test_the_set_up_tells_how_much_faster_it_wears(blocks):
    assert "1.04 times as fast" in blocks["duty"].lines[0]


def test_miles_are_told_in_miles():
    lines = explain_lines(explained(), ShownUnits(distance="mi"))
    # 112 km are 69.6 mi: 1 mi = 1.609344 km, International yard and pound agreement of 1959.
    assert any("70\u2009mi a week" in line for line in lines)
    assert not any("\u2009km" in line for line in lines)


def test_a_date_that_is_behind_has_no_width():
    blocks = explain_blocks(replace(explained(), width=None), ShownUnits())
    assert "width" not in {block.key for block in blocks}


def test_why_unfolds_every_block_and_the_bars(qapp):
    facts = why_facts(replace(trend.chain_at(0.85), explanation=explained()), ShownUnits())
    keys = [fact.key for fact in facts]
    assert keys[:6] == ["readings", "rate", "limit", "usage", "duty", "width"]
    assert len(facts[5].bars) == 4
    assert bars_height(facts[5].bars) > bars_height(facts[5].bars[:1]) > 0


def ways(in_doubt, own_share=0.3, times=2.4):
    return TwoWays(
        in_doubt,
        Possibility((0.6, 0.72, 0.85), date(2026, 12, 27), date(2027, 2, 1)),
        Possibility((0.2, 0.33, 0.45), date(2027, 6, 1), date(2027, 9, 1)),
        own_share,
        times,
    )


def test_both_possibilities_of_a_questioned_reading_are_told():
    right, wrong, lean = two_ways_lines(replace(trend.chain_at(0.85), two_ways=ways(InDoubt.READING)))
    assert right.startswith("If the questioned reading is right: 72\u2009% used")
    assert "due by 27 Dec 2026" in right
    assert wrong.startswith("If it is wrong: 33\u2009% used")
    assert lean == "The forecast leans to the rest: the chance that it is wrong is 7 in 10."


def test_both_possibilities_of_a_rogue_chain_are_told():
    own, fleet, lean = two_ways_lines(replace(trend.chain_at(0.85), two_ways=ways(InDoubt.PART, 0.92)))
    assert own.startswith("By its own readings it wears 2.4 times as fast as similar chains: 72\u2009% used")
    assert fleet.startswith("If it wears as they do: 33\u2009% used")
    assert "92\u2009%" in lean


def test_a_part_that_agrees_with_its_fleet_has_one_possibility():
    assert two_ways_lines(trend.chain_at(0.85)) == ()
