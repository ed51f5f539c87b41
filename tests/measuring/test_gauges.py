"""Drop-in gauges give intervals, and two-prong ones read high."""

import math

import pytest

from wearlog.fleet.problem import WearlogError
from wearlog.fleet.reading import Instrument, InstrumentKind, Measurand, Method, Spot
from wearlog.measuring.evaluate import evaluate

STAMPS = (("0.5", 0.005), ("0.75", 0.0075))
ONE_SIDE = Instrument(name="three-point", kind=InstrumentKind.GAUGE_ONE_SIDE, stamps=STAMPS)
TWO_PRONG = Instrument(name="prong", kind=InstrumentKind.GAUGE_TWO_PRONG, stamps=STAMPS, bias=0.002)


def reading(gauge, *goes_in, stamps=STAMPS):
    tried = [
        Spot(typed=f"{stamp} {'in' if is_in else 'out'}", value=meaning, second=float(is_in))
        for (stamp, meaning), is_in in zip(stamps, goes_in, strict=True)
    ]
    return evaluate(Measurand.CHAIN_ELONGATION, Method.GAUGE, tried, instrument=gauge)


def test_one_stamp_in_and_the_next_out_is_an_interval_and_never_a_value():
    found = reading(ONE_SIDE, True, False)
    assert found.value is None
    assert found.is_interval
    assert (found.low, found.high) == (0.005, 0.0075)


def test_no_stamp_going_in_leaves_the_lower_end_open():
    found = reading(ONE_SIDE, False, False)
    assert (found.low, found.high) == (-math.inf, 0.005)


def test_every_stamp_going_in_leaves_the_upper_end_open():
    found = reading(ONE_SIDE, True, True)
    assert (found.low, found.high) == (0.0075, math.inf)


def test_the_bias_found_on_a_new_chain_is_taken_off_both_ends():
    one_side = Instrument(name="three-point", kind=InstrumentKind.GAUGE_ONE_SIDE, bias=0.001)
    found = reading(one_side, True, False)
    assert (found.low, found.high) == pytest.approx((0.004, 0.0065))


def test_a_prong_gauge_on_worn_rollers_may_mean_less_wear_but_hardly_more():
    # 0.8 on a prong gauge was 0.36 % by length on one chain (forum.cyclinguk.org 51592).
    found = reading(TWO_PRONG, True, False)
    assert found.high == pytest.approx(0.0075 - 0.002)
    assert found.low < 0.005 - 0.002
    worn_out = reading(TWO_PRONG, True, stamps=(("0.8", 0.008),))
    assert worn_out.low <= 0.0040
    assert worn_out.low - 2 * worn_out.u_value <= 0.0036


def test_a_prong_gauge_never_tried_on_a_new_chain_is_less_sure_and_says_so():
    untried = Instrument(name="prong", kind=InstrumentKind.GAUGE_TWO_PRONG, stamps=STAMPS)
    assert reading(untried, True, False).u_value > reading(TWO_PRONG, True, False).u_value
    assert "never tried on a new chain" in reading(untried, True, False).doubts[0].question
    assert reading(TWO_PRONG, True, False).doubts == ()


def test_a_stamp_that_goes_in_at_one_place_counts_as_in():
    twice = (("0.5", 0.005), ("0.5", 0.005), ("0.75", 0.0075))
    found = reading(ONE_SIDE, False, True, False, stamps=twice)
    assert (found.low, found.high, found.governing_spot) == (0.005, 0.0075, 1)


def test_a_greater_stamp_in_with_a_smaller_one_out_is_refused():
    with pytest.raises(WearlogError, match=r"0\.75 % goes in, but the one for 0\.5 % stays out"):
        reading(ONE_SIDE, False, True)


def test_a_stamp_without_an_answer_is_refused():
    with pytest.raises(WearlogError, match=r"whether the stamp 0\.5 goes in"):
        evaluate(
            Measurand.CHAIN_ELONGATION, Method.GAUGE, [Spot(typed="0.5", value=0.005)], instrument=ONE_SIDE
        )
