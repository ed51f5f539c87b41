"""Sentences that people read: always an interval, a basis and a chance."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from tests.makers import trend
from tests.makers.due import due_line
from wearlog.drawing.words import (
    SentenceKind,
    action_text,
    basis_text,
    cautions,
    chance_text,
    due_interval_text,
    interval_text,
    measurand_text,
    method_text,
    rate_text,
    reason_text,
    rough_use_text,
    rule_text,
    state_text,
    task_text,
    trend_facts,
    trend_sentences,
    use_interval_text,
)
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Measurand, Method
from wearlog.fleet.service import Task
from wearlog.fleet.state import State
from wearlog.workshop.due_snapshot import Action, DueCause
from wearlog.workshop.fleet_snapshot import WearRuleValue

SHOWN = ShownUnits()


def said(snapshot, kind, shown=SHOWN):
    return [sentence.text for sentence in trend_sentences(snapshot, shown) if sentence.kind is kind]


def test_every_state_task_method_and_measurand_has_a_word():
    for text, members in (
        (state_text, State),
        (task_text, Task),
        (method_text, Method),
        (measurand_text, Measurand),
    ):
        words = [text(member) for member in members]
        assert all(words)
        assert len(set(words)) == len(words)


def test_the_limit_is_told_with_its_interval_its_most_likely_place_and_dates():
    (sentence,) = said(trend.chain_at(0.85), SentenceKind.FORECAST)
    assert "between 4680 and 5190\u2009km on it (8 in 10), most likely at 4880\u2009km" in sentence
    assert "between 27 Dec 2026 and 27 Jan 2027, most likely about 9 Jan 2027" in sentence


def test_no_number_shows_more_digits_than_its_interval_supports():
    # 860 km wide: tens of kilometres; 5 000 km wide: hundreds.
    assert rough_use_text(783.4, 860.0, "km", SHOWN, unit=False) == "780"
    assert rough_use_text(7834.0, 5000.0, "km", SHOWN, unit=False) == "7800"
    assert use_interval_text(412.0, 1268.0, "km", SHOWN) == "410 to 1270\u2009km"
    assert use_interval_text(2104.0, np.inf, "km", SHOWN) == "2100\u2009km or more"


def test_miles_are_rounded_as_miles():
    # 783.4 km are 486.8 mi, 860 km are 534 mi (1 mi = 1.609344 km, 1959).
    assert rough_use_text(783.4, 860.0, "km", ShownUnits(distance="mi"), unit=False) == "490"


def test_rates_follow_the_unit_of_distance():
    # 0.33 % per 1000 km are 0.53 % per 1000 mi.
    assert rate_text(Measurand.CHAIN_ELONGATION, 0.0033, "km", SHOWN) == "0.33"
    assert rate_text(Measurand.CHAIN_ELONGATION, 0.0033, "km", ShownUnits(distance="mi")) == "0.53"
    assert rate_text(Measurand.CHAIN_ELONGATION, 0.0033, "h", ShownUnits(distance="mi")) == "0.33"
    assert rate_text(Measurand.CHAIN_ELONGATION, None, "km", SHOWN) == "–"


def test_gauges_leave_an_interval_which_may_be_open():
    elongation = Measurand.CHAIN_ELONGATION
    assert interval_text(elongation, 0.005, 0.0075, SHOWN) == "0.50 to 0.75\u2009%"
    assert interval_text(elongation, -np.inf, 0.005, SHOWN) == "under 0.50\u2009%"
    assert interval_text(elongation, 0.0075, np.inf, SHOWN) == "over 0.75\u2009%"


def test_the_basis_is_own_readings_similar_parts_or_an_engineering_estimate():
    chain = Measurand.CHAIN_ELONGATION
    assert basis_text(3, 42, chain) == "from 3 readings of this chain and 42 similar ones"
    assert basis_text(1, 1, chain) == "from 1 reading of this chain and 1 similar one"
    assert basis_text(0, 42, chain) == "no reading yet: from 42 similar chains"
    assert basis_text(0, 0, chain) == "engineering estimate, no history"


@pytest.mark.parametrize(
    ("chance", "text"),
    [
        (0.0, "less than 1 in 100"),
        (0.02, "1 in 50"),
        (0.05, "1 in 20"),
        (0.1, "1 in 10"),
        (0.5, "5 in 10"),
        (0.93, "93 in 100"),
        (1.0, "more than 99 in 100"),
    ],
)
def test_chances_are_told_as_counts(chance, text):
    assert chance_text(chance) == text


def test_a_questioned_reading_is_told_with_what_it_changes():
    sentences = said(trend.chain_at(0.85), SentenceKind.QUESTIONED)
    assert sentences[0].startswith("The reading of 15 Aug 2026 is questioned")
    assert "93 in 100" in sentences[0]
    assert "27 Dec 2026" in sentences[1]
    assert "15 Jan 2027" in sentences[1]


def test_a_chain_without_end_in_sight_has_no_date():
    plain = trend.chain_at(0.3)
    far = replace(
        plain,
        limit_use=np.full(7, np.inf),
        limit_days=np.full(7, np.inf),
        replace_by=None,
        order_by=None,
    )
    (sentence,) = said(far, SentenceKind.FORECAST)
    assert sentence == "The limit of this chain lies beyond what can be forecast."
    limit, replace_by, _order = trend_facts(far, SHOWN)
    assert limit.figure == "beyond the forecast"
    assert replace_by.figure == "not in sight"


def test_a_part_that_came_off_has_no_date_to_act_by():
    off = replace(trend.chain_at(0.85), removed_on=date(2026, 11, 1))
    assert [fact.key for fact in trend_facts(off, SHOWN)] == ["limit", "removed"]


def test_limits_stand_with_their_source_and_under_the_makers_manual():
    snapshot = trend.chain_at(0.85)
    assert "tooth count" in said(snapshot, SentenceKind.LIMIT)[0]
    assert "vehicle maker's manual" in said(snapshot, SentenceKind.CAUTION)[0]


def test_the_wear_rule_in_words_never_shows_less_than_nothing():
    text = rule_text(WearRuleValue(-0.02, -0.05, 0.04, 0.75, State.WITHIN_LIMIT))
    assert "−" not in text
    assert "0\u2009% of the wear allowance used" in text


def test_every_cause_has_a_full_sentence():
    for cause in DueCause:
        line = due_line(cause=cause)
        text = reason_text(line, SHOWN)
        assert not text[0].islower()
        assert text.endswith(".")
        assert "None" not in text


def test_a_forecast_gives_share_basis_and_chance():
    text = reason_text(due_line(due_on=date(2026, 12, 15)), SHOWN)
    assert text == (
        "86\u2009% of the wear allowance used; from 5 readings of this chain and 31 similar ones; "
        "by 15 Dec 2026 the chance of being past the limit is 1 in 10."
    )


def test_an_interval_names_whichever_comes_first_and_when_it_was_done_last():
    text = reason_text(due_line(action=Action.TASK), SHOWN)
    assert text == "Every 1000\u2009km or 3 months; last done on 2 Oct 2026 at 11\u202f310\u2009km."


def test_actions_are_plain_verbs():
    assert action_text(due_line()) == "replace chain"
    assert action_text(due_line(action=Action.ADJUST)) == "set slack"
    assert action_text(due_line(action=Action.MEASURE)) == "measure elongation"
    assert action_text(due_line(action=Action.TASK)) == "lubricate"
    assert action_text(due_line(action=Action.RECHECK)) == "re-check torque"
    again = due_line(action=Action.MEASURE, cause=DueCause.QUESTIONED_READING)
    assert action_text(again) == "measure elongation again"


def test_a_line_with_one_date_only_has_no_interval():
    assert due_interval_text(due_line(half_width_days=None)) == ""
    line = replace(due_line(), early_on=date(2026, 12, 1), late_on=None)
    assert due_interval_text(line) == "1 Dec 2026 or later"


def test_the_usual_cautions_stand():
    # Common practice, no source: what a workshop says before hands go near a drive.
    told = " ".join(cautions())
    for word in ("battery", "power", "run-on point", "Support", "guards", "eye protection", "lock the wheel"):
        assert word in told


def test_dates_stay_dates_at_the_end_of_the_calendar():
    from wearlog.drawing.words import day_at

    assert day_at(float("inf")) is None
    assert day_at(1e9) is None
    assert day_at(date(2026, 11, 25).toordinal() + 0.7) == date(2026, 11, 25)
    assert day_at(date(2026, 11, 25).toordinal() + 1.0) - timedelta(days=1) == date(2026, 11, 25)
