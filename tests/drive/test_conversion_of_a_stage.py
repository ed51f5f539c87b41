"""A stage before and after a change: figures, wear, upkeep, cautions."""

import math
from dataclasses import replace

import pytest

from wearlog.drive.cautions import cautions_on
from wearlog.drive.conversion import Compared, compare, compare_lines
from wearlog.drive.defaults import default_intervals
from wearlog.drive.remarks import RemarkKind
from wearlog.drive.setup import DriveSetup, Wheel
from wearlog.drive.upkeep import rechecks_after_fitting, upkeep_changes
from wearlog.fleet.parts import DriveKind
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.service import IntervalRule, Task
from wearlog.fleet.vehicle import VehicleKind

MOTORCYCLE = VehicleKind.ELECTRIC_MOTORCYCLE
BELT_PRIMARY = DriveSetup(
    drive=DriveKind.BELT,
    pitch_mm=8.0,
    driver_teeth=24,
    driven_teeth=60,
    belt_teeth=90,
    tension_n=300.0,
    mass_kg_per_m=0.12,
    rated_input_rpm=4500.0,
    rated_power_kw=3.0,
)
CHAIN_PRIMARY = DriveSetup(
    drive=DriveKind.CHAIN,
    pitch_mm=9.525,
    driver_teeth=15,
    driven_teeth=38,
    links=74,
    roller_diameter_mm=6.35,
    rated_input_rpm=4500.0,
    rated_power_kw=3.0,
)
FINAL = DriveSetup(
    drive=DriveKind.CHAIN,
    pitch_mm=12.7,
    driver_teeth=14,
    driven_teeth=42,
    links=116,
    roller_diameter_mm=7.75,
    adjuster_front_mm=545.0,
    adjuster_rear_mm=575.0,
    wheel_circumference_mm=1900.0,
)


def kinds(remarks):
    return [remark.kind for remark in remarks]


def converted():
    return compare_lines([BELT_PRIMARY, FINAL], [CHAIN_PRIMARY, FINAL], default_intervals(), MOTORCYCLE)


def test_a_belt_primary_turned_to_chain_changes_ratio_speed_and_pull():
    line = converted()
    ratio, speed, pull = line.rows
    # 24/60 and 15/38 before a final stage of 14/42; speed falls and pull rises by the same factor.
    assert (ratio.before, ratio.after) == pytest.approx((7.5, 3 * 38 / 15))
    assert speed.times == pytest.approx(7.5 / 7.6)
    assert pull.times == pytest.approx(7.6 / 7.5)
    assert speed.before == pytest.approx(4500 / 7.5 * 1.9 * 0.06)


def test_a_belt_primary_turned_to_chain_adds_lubrication_and_drops_the_belt_inspection():
    primary, final = converted().stages
    added = {change.task for change in primary.upkeep if change.is_added}
    dropped = {change.task for change in primary.upkeep if not change.is_added}
    assert added == {Task.LUBRICATED, Task.CLEANED, Task.INSPECTED, Task.MEASURED}
    assert dropped == {Task.INSPECTED}
    assert all(change.source for change in primary.upkeep)
    assert {change.task for change in primary.rechecks} == {Task.TORQUE_CHECKED, Task.TENSION_SET}
    assert final.upkeep == final.rechecks == final.cautions == ()


def test_a_belt_primary_turned_to_chain_calls_for_care():
    primary = converted().stages[0]
    assert set(kinds(primary.cautions)) >= {
        RemarkKind.CLEARANCE,
        RemarkKind.GUARD,
        RemarkKind.ALIGNMENT,
        RemarkKind.NOISE,
        RemarkKind.LUBRICATION,
        RemarkKind.APPROVAL,
        RemarkKind.ISOLATION,
    }
    assert all(caution.source and caution.text.endswith(".") for caution in primary.cautions)
    back = compare(CHAIN_PRIMARY, BELT_PRIMARY)
    assert RemarkKind.HANDLING in kinds(back.cautions)
    assert RemarkKind.NOISE not in kinds(back.cautions)


def test_belt_and_chain_promise_no_common_life():
    primary, final = converted().stages
    assert primary.exposure is None
    assert primary.life_factor is None
    assert "own readings" in primary.life_note
    assert final.life_factor == pytest.approx(1.0)
    wider = compare(BELT_PRIMARY, replace(BELT_PRIMARY, driver_teeth=28))
    assert wider.life_factor is None
    assert "no law of wear" in wider.life_note


def test_tension_gives_way_to_slack():
    primary = converted().stages[0]
    assert primary.row(Compared.TENSION).before == 300.0
    assert primary.row(Compared.TENSION).after is None
    assert primary.row(Compared.FREQUENCY).before > 0.0
    slack = primary.row(Compared.SLACK)
    assert slack.before is None
    # A catalogue's centre distance over 25: Renold Jeffrey, p. 229.
    assert slack.after == pytest.approx(primary.after.loop.centre_distance_mm / 25)
    assert slack.change is None
    assert slack.times is None


def test_one_tooth_less_in_front_is_worked_through():
    plan = replace(FINAL, driver_teeth=13)
    change = compare(FINAL, plan, kept=[Wheel.DRIVEN])
    assert change.row(Compared.RATIO).times == pytest.approx(14 / 13)
    # (1/14 + 1/42) / (1/13 + 1/42) by hand: the chain lasts 5.5 % less.
    assert change.life_factor == pytest.approx(0.9455, abs=5e-5)
    # By hand from the handbook length: half a pitch less 2 (z2 - z1) / (2 pi)^2 p / C, over 2 cos(beta).
    freed_pitches = 0.5 - 2 * 28.5 / (2 * math.pi) ** 2 * 12.7 / 556
    moved_mm = freed_pitches * 12.7 / 1.98967
    assert change.row(Compared.CENTRE_DISTANCE).change == pytest.approx(moved_mm, abs=0.01)
    assert change.row(Compared.ADJUSTER_LEFT).change == pytest.approx(
        -change.row(Compared.ADJUSTER_USED).change
    )
    speed = next(caution for caution in change.cautions if caution.kind is RemarkKind.SPEED)
    assert "-7.1 %" in speed.text


def test_another_axle_place_alone_needs_no_fitting():
    change = compare(FINAL, replace(FINAL, adjuster_rear_mm=580.0), default_intervals(), MOTORCYCLE)
    assert change.rechecks == ()
    assert change.cautions == ()


def test_a_chain_with_other_rollers_does_not_fit_the_wheel_that_stays():
    # simsonforum.net, thread 76294: 7.75 against 8.51 mm is 0.76 mm at the root circle.
    plan = replace(FINAL, roller_diameter_mm=8.51)
    cautions = cautions_on(FINAL, plan, kept=[Wheel.DRIVER, Wheel.DRIVEN])
    rollers = next(caution for caution in cautions if caution.kind is RemarkKind.ROLLERS)
    assert "0.76 mm" in rollers.text
    assert RemarkKind.OLD_WHEELS in kinds(cautions)
    assert RemarkKind.ROLLERS not in kinds(cautions_on(FINAL, plan))


def test_an_odd_chain_or_one_that_does_not_close_is_a_caution_of_the_plan():
    assert kinds(cautions_on(FINAL, replace(FINAL, links=117)))[0] is RemarkKind.CRANKED_LINK
    assert kinds(cautions_on(FINAL, replace(FINAL, links=130)))[0] is RemarkKind.DOES_NOT_CLOSE


def test_a_plan_without_centres_of_its_own_is_measured_at_those_of_today():
    primary = converted().stages[0]
    # 74 links of 9.525 mm are taut 37 mm further apart than the belt of 90 teeth stood: exact geometry.
    today_mm = primary.before.loop.centre_distance_mm
    assert primary.row(Compared.CENTRE_DISTANCE).change == pytest.approx(0.0, abs=1e-9)
    assert primary.after.loop.taut_centre_mm - today_mm == pytest.approx(37.16, abs=0.01)
    assert RemarkKind.CENTRE_DIFFERS in kinds(primary.cautions)
    needed = primary.row(Compared.LENGTH_NEEDED).after
    # Handbook length at 186.33 mm: 39.13 + 26.5 + 0.68 pitches, by hand.
    assert needed == pytest.approx(66.31, abs=0.03)
    fitting = compare(BELT_PRIMARY, replace(CHAIN_PRIMARY, links=primary.after.loop.to_order))
    assert fitting.after.loop.slack_mm > 0.0


def test_a_plan_without_wheel_and_rating_runs_in_the_same_vehicle():
    rated = replace(BELT_PRIMARY, wheel_circumference_mm=1900.0, ratio_behind=3.0)
    plan = replace(CHAIN_PRIMARY, rated_input_rpm=None, rated_power_kw=None)
    assert compare(rated, plan).row(Compared.ROAD_SPEED).times == pytest.approx(7.5 / 7.6)


@pytest.mark.parametrize(
    ("before", "plan", "sentence"),
    [
        (BELT_PRIMARY, CHAIN_PRIMARY, "A chain cannot run on a pulley"),
        (FINAL, replace(FINAL, pitch_mm=15.875, links=96), "cut for 12.7 mm pitch; 15.875 mm cannot"),
        (FINAL, replace(FINAL, driver_teeth=13), "is to stay, but has 14 teeth, not 13"),
    ],
)
def test_a_wheel_that_cannot_stay_is_refused(before, plan, sentence):
    with pytest.raises(WearlogError, match=sentence):
        compare(before, plan, kept=[Wheel.DRIVER])


def test_lines_of_different_lengths_are_not_compared():
    with pytest.raises(WearlogError, match="has 2 stages and the plan 1"):
        compare_lines([BELT_PRIMARY, FINAL], [FINAL])


def test_a_change_of_one_stage_leaves_the_wear_of_the_other():
    # Pull and how often the chain comes round cancel at the same pull at the road wheel.
    line = compare_lines([CHAIN_PRIMARY, FINAL], [CHAIN_PRIMARY, replace(FINAL, driven_teeth=48)])
    assert line.stages[0].life_factor == pytest.approx(1.0)
    assert line.stages[1].life_factor > 1.0


def test_rules_of_other_vehicles_and_voided_ones_are_left_out():
    own = {"task": Task.LUBRICATED, "drive": DriveKind.CHAIN, "source": "workshop"}
    rules = [
        IntervalRule(**own, every_km=300.0),
        IntervalRule(**own, every_km=1.0, void_reason="typed twice"),
        IntervalRule(**own, every_km=2.0, vehicle_id=7),
        IntervalRule(**own, every_km=3.0, stage_name="final"),
        IntervalRule(**own, every_km=4.0, vehicle_kind=VehicleKind.BICYCLE),
    ]
    changes = upkeep_changes(DriveKind.BELT, DriveKind.CHAIN, rules, MOTORCYCLE)
    assert [change.text for change in changes] == ["lubricate the chain every 300 km"]
    assert upkeep_changes(DriveKind.CHAIN, DriveKind.CHAIN, rules) == ()


def test_what_is_due_after_fitting_says_when():
    texts = [
        change.text for change in rechecks_after_fitting(DriveKind.CHAIN, default_intervals(), MOTORCYCLE)
    ]
    assert texts == [
        "check the torque of the fasteners once after 75 km or 2 h",
        "set the slack of the chain once after 200 km or 7 h",
    ]
