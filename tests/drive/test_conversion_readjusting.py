"""When adjuster, slack and tension are due, when links come out, and when parts are changed as a set."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wearlog.drive.defaults import default_intervals, default_limits
from wearlog.drive.readjusting import (
    adjuster_run_out,
    distance_for_growth,
    elongation_for_adjuster,
    pair_removal,
    retension_due,
    run_in_loss,
    slack_run_out,
    tension_to_fit,
)
from wearlog.drive.replacing import AdviceKind, set_advice, stop_use_advice
from wearlog.drive.setup import DriveSetup
from wearlog.drive.slack import Bounds
from wearlog.fleet.limit import Limit
from wearlog.fleet.parts import DriveKind, WearClass
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.reading import Measurand
from wearlog.fleet.vehicle import VehicleKind

STAGE = DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=14, driven_teeth=42, links=116)
A_BELT = DriveSetup(drive=DriveKind.BELT, pitch_mm=8.0, driver_teeth=24, driven_teeth=72, belt_teeth=140)


def test_the_adjuster_runs_out_between_the_two_bounds_of_climbing():
    # 5.559 mm (chain climbs) and 7.404 mm (it does not) for each percent: exact geometry.
    growth = elongation_for_adjuster(STAGE, 10.0)
    assert growth.low == pytest.approx(0.01 * 10 / 7.404, rel=1e-4)
    assert growth.high == pytest.approx(0.01 * 10 / 5.559, rel=1e-4)
    ahead = adjuster_run_out(STAGE, 10.0, 0.001)
    assert (ahead.low, ahead.high) == pytest.approx((13506, 17988), abs=2)


def test_with_three_percent_allowed_ten_millimetres_of_adjuster_end_first():
    assert elongation_for_adjuster(STAGE, 10.0).high < 0.03


def test_a_chain_that_does_not_lengthen_never_uses_up_its_adjuster():
    assert adjuster_run_out(STAGE, 10.0, 0.0) == Bounds(math.inf, math.inf)
    assert adjuster_run_out(STAGE, 0.0, 0.0) == Bounds(0.0, 0.0)


@settings(deadline=None)
@given(rate=st.floats(1e-5, 0.02), factor=st.floats(1.01, 20.0), left=st.floats(0.0, 60.0))
def test_a_chain_that_wears_faster_comes_sooner_by_as_much(rate, factor, left):
    slow, fast = adjuster_run_out(STAGE, left, rate), adjuster_run_out(STAGE, left, factor * rate)
    assert fast.low * factor == pytest.approx(slow.low)
    assert fast.high * factor == pytest.approx(slow.high)
    assert slow.low <= slow.high


@settings(deadline=None)
@given(now=st.floats(0.0, 60.0), until=st.floats(0.0, 60.0), rate=st.floats(1e-5, 0.02))
def test_more_slack_is_nearer_to_its_adjustment(now, until, rate):
    ahead = slack_run_out(STAGE, now, until, rate)
    assert 0.0 <= ahead.low <= ahead.high
    later = slack_run_out(STAGE, now, until + 5.0, rate)
    assert later.low >= ahead.low
    if now >= until:
        assert ahead == Bounds(0.0, 0.0)


def test_slack_from_25_to_40_mm_takes_what_the_parabola_of_the_excess_says():
    # Excess A^2 / (2 S) on a span of 553 mm: 0.881 mm, of a loop of 1473 mm at 0.1 % on 1000 km: by hand.
    assert slack_run_out(STAGE, 25.0, 40.0, 0.001).low == pytest.approx(598, abs=2)


def test_taking_out_a_pair_brings_the_axle_forward_and_mends_nothing():
    stage = replace(STAGE, adjuster_front_mm=545.0, adjuster_rear_mm=563.3207)
    removal = pair_removal(stage, limit=0.015)
    # Two links are 12.768 mm of axle travel; 7.404 mm behind the taut chain are 1 %: exact geometry.
    assert removal.axle_forward_mm == pytest.approx(12.768, abs=1e-3)
    assert removal.due_at.low == pytest.approx(0.01, rel=1e-4)
    assert removal.is_possible
    assert not removal.is_after_limit
    assert "never mends" in removal.warning
    assert removal.source


def test_a_pair_is_not_taken_out_of_a_chain_past_its_limit():
    removal = pair_removal(STAGE, adjuster_left_mm=7.404, elongation_now=0.012, limit=0.015)
    assert removal.is_after_limit
    assert removal.due_at.low == pytest.approx(0.022, rel=1e-3)
    assert "change it" in removal.text
    assert removal.is_possible is None


def test_a_pair_is_not_taken_out_where_the_adjuster_does_not_reach():
    removal = pair_removal(replace(STAGE, adjuster_front_mm=550.0, adjuster_rear_mm=560.0))
    assert removal.is_possible is False
    assert "past its front end" in removal.text


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: adjuster_run_out(A_BELT, 5.0, 0.001), "belt does not lengthen as a chain"),
        (lambda: adjuster_run_out(replace(STAGE, links=None), 5.0, 0.001), "number of links is not known"),
        (lambda: adjuster_run_out(STAGE, -5.0, 0.001), "adjuster travel left cannot be negative"),
        (lambda: adjuster_run_out(STAGE, 5.0, -0.001), "elongation rate cannot be negative"),
        (lambda: slack_run_out(STAGE, -5.0, 40.0, 0.001), "slack cannot be negative"),
        (lambda: pair_removal(STAGE), "How much adjuster travel is left is not known"),
        (lambda: tension_to_fit(300.0, 1.0), "run-in loss of 100 % cannot be"),
        (lambda: run_in_loss(0.0, 100.0), "belt tension as fitted must be above zero"),
        (lambda: set_advice(math.nan, chain_replaced=True), "wear of a sprocket must be a number"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(call, sentence):
    with pytest.raises(WearlogError, match=sentence):
        call()


def test_distance_follows_from_growth_and_rate():
    assert distance_for_growth(Bounds(0.001, 0.003), 0.0015) == Bounds(
        pytest.approx(2000 / 3), pytest.approx(2000)
    )


# --- belts -------------------------------------------------------------------------------------------------


@settings(deadline=None)
@given(wanted=st.floats(10.0, 2000.0), loss=st.floats(0.0, 0.9))
def test_a_belt_fitted_for_its_loss_settles_at_the_wanted_tension(wanted, loss):
    fitted = tension_to_fit(wanted, loss)
    assert run_in_loss(fitted, wanted) == pytest.approx(loss, abs=1e-12)


def test_a_new_motorcycle_belt_is_tensioned_again_after_500_miles():
    # Victory 2007 Hammer owner's manual p. 87; the workshop's rule rounds 805 km to 800.
    due = retension_due(default_intervals(), VehicleKind.PETROL_MOTORCYCLE)
    assert due.rule.first_km == pytest.approx(500 * 1.609344, abs=5)
    assert retension_due([]) is None


# --- sets and stop-use -------------------------------------------------------------------------------------


def test_worn_teeth_would_spoil_a_new_chain():
    # Kawasaki ZX-10R: front and rear sprockets with the chain; the share is common practice, no source.
    advice = set_advice(0.8, chain_replaced=True)
    assert advice.kind is AdviceKind.REPLACE_AS_SET
    assert "80 %" in advice.text
    assert advice.source


@pytest.mark.parametrize(
    ("used", "is_chain_new", "kind"),
    [
        (None, True, AdviceKind.INSPECT_FIRST),
        (None, False, None),
        (0.2, True, None),
        (-0.02, True, None),
        (0.8, False, None),
        (0.75, True, AdviceKind.REPLACE_AS_SET),
        (1.0, True, AdviceKind.REPLACE_AS_SET),
        (1.0, False, AdviceKind.REPLACE_SPROCKET),
    ],
)
def test_advice_follows_from_teeth_and_chain(used, is_chain_new, kind):
    advice = set_advice(used, chain_replaced=is_chain_new)
    assert (advice and advice.kind) == kind


def test_past_the_stop_use_limit_nobody_rides():
    limit = next(row for row in default_limits() if row.stop_use_limit is not None)
    advice = stop_use_advice(limit, limit.stop_use_limit)
    assert advice.kind is AdviceKind.STOP_USE
    assert limit.source in advice.source
    assert stop_use_advice(limit, 0.99 * limit.stop_use_limit) is None
    assert stop_use_advice(replace(limit, stop_use_limit=None), 1.0) is None


def test_a_tooth_that_is_too_thin_is_past_stop_use_from_below():
    teeth = Limit(
        measurand=Measurand.SPROCKET_TOOTH_THICKNESS,
        wear_class=WearClass.SPROCKET,
        service_limit=2.1,
        as_new=4.19,
        stop_use_limit=1.5,
    )
    assert stop_use_advice(teeth, 1.4).kind is AdviceKind.STOP_USE
    assert stop_use_advice(teeth, 2.0) is None
