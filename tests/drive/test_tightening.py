"""In which order bolts are tightened."""

import math
from itertools import pairwise

import pytest

from wearlog.drive.tightening import (
    MOST_BOLTS,
    bolt_positions,
    pass_torques,
    steps_by_place,
    tightening_order,
)
from wearlog.fleet.problem import WearlogError


@pytest.mark.parametrize(
    ("bolts", "order"),
    [
        # Common practice, no source.
        (2, (1, 2)),
        (3, (1, 2, 3)),
        (5, (1, 3, 5, 2, 4)),
        (6, (1, 4, 2, 5, 3, 6)),
        # Cross pattern of ASME PCC-1, from memory.
        (4, (1, 3, 2, 4)),
        (8, (1, 5, 3, 7, 2, 6, 4, 8)),
        (12, (1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12)),
    ],
)
def test_the_order_is_the_one_of_the_trade(bolts, order):
    assert tightening_order(bolts) == order


@pytest.mark.parametrize("bolts", range(1, MOST_BOLTS + 1))
def test_every_bolt_has_its_turn_once(bolts):
    assert sorted(tightening_order(bolts)) == list(range(1, bolts + 1))


@pytest.mark.parametrize("bolts", range(3, MOST_BOLTS + 1))
def test_the_second_bolt_lies_opposite_the_first_as_nearly_as_can_be(bolts):
    first, second = tightening_order(bolts)[:2]
    places = bolt_positions(bolts)
    across = math.dist(places[first - 1], places[second - 1])
    assert across == pytest.approx(max(math.dist(places[0], place) for place in places))


@pytest.mark.parametrize("bolts", range(5, MOST_BOLTS + 1))
def test_no_bolt_follows_its_neighbour_while_a_pattern_is_half_done(bolts):
    # Common practice, no source: neighbours in a row tilt the joint.
    half = tightening_order(bolts)[: bolts // 2]
    apart = [abs(one - other) for one, other in pairwise(half)]
    assert all(min(gap, bolts - gap) > 1 for gap in apart)


@pytest.mark.parametrize("bolts", range(1, MOST_BOLTS + 1))
def test_the_numbers_in_the_drawing_lead_through_the_order(bolts):
    steps = steps_by_place(bolts)
    assert [steps[place - 1] for place in tightening_order(bolts)] == list(range(1, bolts + 1))


@pytest.mark.parametrize("bolts", range(2, MOST_BOLTS + 1))
def test_bolts_stand_evenly_on_their_circle_from_the_top_clockwise(bolts):
    places = bolt_positions(bolts)
    # Chord of a regular polygon: 2 sin(pi / n).
    chord = 2 * math.sin(math.pi / bolts)
    assert all(math.dist(one, other) == pytest.approx(chord) for one, other in pairwise((*places, places[0])))
    assert places[0] == pytest.approx((0.0, -1.0))
    assert bolts == 2 or places[1][0] > 0


@pytest.mark.parametrize("bolts", [0, -1, 13])
def test_a_pattern_of_no_bolts_or_too_many_is_refused(bolts):
    with pytest.raises(WearlogError, match="from 1 to 12"):
        tightening_order(bolts)


def test_rounds_end_at_the_final_torque():
    assert pass_torques(30.0) == (10.0, 20.0, 30.0)


@pytest.mark.parametrize("torque", [0.0, -5.0, math.nan, math.inf])
def test_no_torque_is_no_torque_to_tighten_to(torque):
    with pytest.raises(WearlogError, match="above 0"):
        pass_torques(torque)
