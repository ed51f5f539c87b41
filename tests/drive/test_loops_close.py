"""Chains and belts round two wheels: what closes, what does not, and back again."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wearlog.drive import belt, chain, motion, slack, sprocket
from wearlog.fleet.problem import WearlogError

TEETH = st.integers(9, 90)
PITCH = st.sampled_from([6.35, 7.774, 12.7, 15.875, 19.05])


@settings(deadline=None)
@given(pitch=PITCH, small=TEETH, large=TEETH, gap=st.floats(1.02, 6.0))
def test_centre_distance_and_chain_length_are_each_others_inverse(pitch, small, large, gap):
    radii = 0.5 * (sprocket.pitch_diameter(pitch, small) + sprocket.pitch_diameter(pitch, large))
    length = chain.chain_length(gap * radii, pitch, small, large)
    assert chain.centre_distance(length, pitch, small, large) == pytest.approx(gap * radii, rel=1e-9)


@settings(deadline=None)
@given(pitch=st.sampled_from([3.0, 5.0, 8.0, 14.0]), small=TEETH, large=TEETH, gap=st.floats(1.02, 6.0))
def test_centre_distance_and_belt_length_are_each_others_inverse(pitch, small, large, gap):
    radii = 0.5 * (belt.pulley_pitch_diameter(pitch, small) + belt.pulley_pitch_diameter(pitch, large))
    length = belt.belt_length(gap * radii, pitch, small, large)
    assert belt.belt_centre_distance(length / pitch, pitch, small, large) == pytest.approx(
        gap * radii, rel=1e-9
    )


@settings(deadline=None)
@given(pitch=PITCH, small=TEETH, large=TEETH, gap=st.floats(1.1, 6.0))
def test_which_sprocket_drives_does_not_change_the_chain(pitch, small, large, gap):
    centre = gap * 0.5 * (sprocket.pitch_diameter(pitch, small) + sprocket.pitch_diameter(pitch, large))
    there = chain.chain_length(centre, pitch, small, large)
    assert chain.chain_length(centre, pitch, large, small) == pytest.approx(there, rel=1e-12)


def test_equal_sprockets_need_two_runs_and_one_round():
    assert chain.chain_length(254.0, 12.7, 20, 20) == pytest.approx(2 * 20 + 20)


@settings(deadline=None)
@given(frequency=st.floats(5.0, 200.0), span=st.floats(100.0, 1000.0), mass=st.floats(0.02, 2.0))
def test_frequency_and_tension_are_each_others_inverse(frequency, span, mass):
    tension = belt.tension_of_frequency(frequency, span, mass)
    assert belt.frequency_of_tension(tension, span, mass) == pytest.approx(frequency, rel=1e-12)


@settings(deadline=None)
@given(tension=st.floats(5.0, 2000.0), span=st.floats(100.0, 1000.0), share=st.floats(0.001, 0.1))
def test_deflection_force_and_tension_are_each_others_inverse(tension, span, share):
    force = belt.deflection_force(tension, span, share * span)
    assert belt.tension_of_deflection(force, span, share * span) == pytest.approx(tension, rel=1e-12)


@settings(deadline=None)
@given(excess=st.floats(1e-6, 60.0), span=st.floats(50.0, 1500.0))
def test_slack_and_excess_length_are_each_others_inverse(excess, span):
    lift = slack.lift_for_excess_length(excess, span)
    assert slack.excess_length_for_lift(lift, span) == pytest.approx(excess, rel=1e-9)
    sag = slack.sag_for_excess_length(excess, span)
    assert slack.excess_length_for_sag(sag, span) == pytest.approx(excess, rel=1e-9)
    moved = slack.total_movement_for_excess_length(excess, span)
    assert slack.excess_length_for_total_movement(moved, span) == pytest.approx(excess, rel=1e-9)


@settings(deadline=None)
@given(movement=st.floats(0.0, 60.0), growth=st.floats(1e-5, 0.01))
def test_slack_grows_by_what_the_elongation_still_to_come_says(movement, growth):
    drive = (553.0, 116, 12.7)
    grown = slack.slack_after_elongation(movement, growth, *drive)
    assert movement < grown.low < grown.high
    least = slack.elongation_growth_for_slack(movement, grown.high, *drive).low
    most = slack.elongation_growth_for_slack(movement, grown.low, *drive).high
    assert (least, most) == pytest.approx((growth, growth), rel=1e-6)


def test_slack_that_is_already_there_needs_no_more_growth():
    assert slack.elongation_growth_for_slack(50.0, 40.0, 553.0, 116, 12.7) == slack.Bounds(0.0, 0.0)


def test_slack_grows_fast_at_first():
    # Lifts of 16.7, 37.5 and 53.2 mm for 1, 5 and 10 mm of excess length on 560 mm: exact geometry.
    lifts = [slack.lift_for_excess_length(excess, 560.0) for excess in (1.0, 5.0, 10.0)]
    assert lifts == pytest.approx([16.7, 37.5, 53.2], abs=0.06)


def test_a_driven_wheel_turns_slower_by_the_ratio():
    # A drive of 4000 rpm through 3 and 3 on a 1.9 m wheel: 444.4 turns a minute, 844 m a minute.
    total = motion.ratio(14, 42) * motion.ratio(15, 45)
    assert motion.road_speed(4000.0, total, 1900.0) == pytest.approx(4000 / 9 * 1.9 * 60 / 1000)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: sprocket.pitch_diameter(12.7, 0), "A sprocket with 0 teeth cannot be"),
        (lambda: sprocket.pitch_diameter(0.0, 17), "pitch must be above zero"),
        (lambda: sprocket.pitch_diameter(math.nan, 17), "pitch must be above zero"),
        (lambda: chain.chain_length(60.0, 12.7, 14, 42), "pitch radius touch"),
        (lambda: chain.chain_length(-1.0, 12.7, 14, 42), "centre distance must be above zero"),
        (lambda: chain.centre_distance(30, 12.7, 14, 42), "too short to close"),
        (lambda: chain.handbook_centre_distance(20, 12.7, 14, 42), "too short to close"),
        (lambda: sprocket.root_diameter(12.7, 17, -1.0), "roller diameter must be above zero"),
        (lambda: belt.belt_centre_distance(40, 8.0, 24, 72), "belt with 40 teeth is too short"),
        (lambda: belt.belt_length(50.0, 8.0, 24, 72), "pitch radius touch"),
        (lambda: belt.tension_of_frequency(0.0, 480.0, 0.07), "frequency must be above zero"),
        (lambda: belt.deflection_force(100.0, 480.0, 0.0), "deflection must be above zero"),
        (lambda: slack.excess_length_for_lift(-3.0, 560.0), "slack cannot be negative"),
        (lambda: slack.lift_for_excess_length(-3.0, 560.0), "excess length cannot be negative"),
        (lambda: motion.chain_turns_per_km(42, 0, 1900.0), "number of links must be above zero"),
    ],
)
def test_what_cannot_be_built_is_refused_in_a_sentence(call, sentence):
    with pytest.raises(WearlogError, match=sentence):
        call()


def test_an_odd_chain_needs_a_cranked_link():
    assert chain.is_cranked_link_needed(115)
    assert not chain.is_cranked_link_needed(116)
