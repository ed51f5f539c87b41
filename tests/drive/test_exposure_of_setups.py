"""How hard one set-up is on chain and sprockets against another."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wearlog.drive import motion
from wearlog.drive.exposure import (
    Cause,
    exposed_distance,
    exposure_of,
    relative_exposure,
    wheel_exposure_of,
)
from wearlog.drive.setup import DriveSetup, Wheel
from wearlog.fleet.parts import DriveKind
from wearlog.fleet.problem import WearlogError

#: 428, 14/42 teeth, 116 links on a wheel of 1.90 m.
STAGE = DriveSetup(
    drive=DriveKind.CHAIN,
    pitch_mm=12.7,
    driver_teeth=14,
    driven_teeth=42,
    links=116,
    pin_diameter_mm=4.51,
    bearing_width_mm=11.0,
    wheel_circumference_mm=1900.0,
)

PITCHES = st.sampled_from([6.35, 7.774, 9.525, 12.7, 15.875, 19.05])
LENGTHS = {"allow_nan": False, "allow_infinity": False}

chains = st.builds(
    DriveSetup,
    drive=st.just(DriveKind.CHAIN),
    pitch_mm=PITCHES,
    driver_teeth=st.integers(9, 40),
    driven_teeth=st.integers(9, 90),
    links=st.integers(60, 140),
    pin_diameter_mm=st.floats(2.0, 6.0, **LENGTHS),
    bearing_width_mm=st.floats(4.0, 20.0, **LENGTHS),
    wheel_circumference_mm=st.floats(1000.0, 2300.0, **LENGTHS),
    ratio_behind=st.floats(1.0, 6.0, **LENGTHS),
)
WHEELS = st.sampled_from(Wheel)


@settings(deadline=None)
@given(a=chains, b=chains)
def test_there_and_back_again_is_no_change(a, b):
    assert relative_exposure(a, b) * relative_exposure(b, a) == pytest.approx(1.0, rel=1e-12)


@settings(deadline=None)
@given(a=chains, b=chains, c=chains)
def test_exposures_multiply_along_a_row_of_setups(a, b, c):
    direct = relative_exposure(a, c)
    assert relative_exposure(a, b) * relative_exposure(b, c) == pytest.approx(direct, rel=1e-12)


@settings(deadline=None)
@given(a=chains, b=chains, factor=st.floats(0.01, 100.0), wheel=st.floats(900.0, 2400.0))
def test_units_and_a_wheel_common_to_both_do_not_matter(a, b, factor, wheel):
    def scaled(stage):
        return replace(
            stage,
            pitch_mm=factor * stage.pitch_mm,
            pin_diameter_mm=factor * stage.pin_diameter_mm,
            bearing_width_mm=factor * stage.bearing_width_mm,
            wheel_circumference_mm=factor * stage.wheel_circumference_mm,
        )

    def on(stage):
        return replace(stage, wheel_circumference_mm=wheel)

    plain = relative_exposure(a, b)
    assert relative_exposure(scaled(a), scaled(b)) == pytest.approx(plain, rel=1e-12)
    assert relative_exposure(on(a), on(b)) == pytest.approx(plain, rel=1e-12)


@settings(deadline=None)
@given(a=chains, b=chains)
def test_the_factors_multiply_to_what_archards_law_gives_with_real_pulls(a, b):
    # 100 N at the road wheel; k cancels. Archard, J. Appl. Phys. 24 (1953) 981, from memory.
    def rate_per_km(stage):
        pull = 100.0 * stage.turn_mm / (stage.driven_teeth * stage.pitch_mm)
        pressure = pull / (stage.pin_diameter_mm * stage.bearing_width_mm)
        sliding = motion.sliding_per_km(
            stage.driver_teeth, stage.driven_teeth, stage.links, stage.turn_mm, stage.pin_diameter_mm
        )
        return motion.elongation_of_sliding(5e-6, pressure, sliding, stage.pitch_mm)

    assert relative_exposure(a, b) == pytest.approx(rate_per_km(a) / rate_per_km(b), rel=1e-9)


@settings(deadline=None)
@given(a=chains, b=chains, on_a=WHEELS, on_b=WHEELS)
def test_teeth_compare_both_ways_alike(a, b, on_a, on_b):
    there = wheel_exposure_of(a, on_a, b, on_b).ratio
    back = wheel_exposure_of(b, on_b, a, on_a).ratio
    assert there * back == pytest.approx(1.0, rel=1e-12)
    # What is left when everything cancels: fewer and shorter pitches of tooth take the same work.
    shorter = (b.teeth(on_b) * b.pitch_mm) / (a.teeth(on_a) * a.pitch_mm)
    assert there == pytest.approx(shorter, rel=1e-9)


def test_a_smaller_front_sprocket_wears_the_chain_by_its_sharper_bend():
    # Rate proportional to 1/z1 + 1/z2: (1/12 + 1/42) / (1/14 + 1/42) = 1.125, worked by hand.
    assert relative_exposure(replace(STAGE, driver_teeth=12), STAGE) == pytest.approx(1.125)


def test_a_larger_rear_sprocket_spares_the_chain_although_it_comes_round_more_often():
    larger = exposure_of(replace(STAGE, driven_teeth=48), STAGE)
    values = {factor.cause: factor.value for factor in larger.factors}
    assert values[Cause.TENSION] == pytest.approx(42 / 48)
    assert values[Cause.TURNS] == pytest.approx(48 / 42)
    # (1/14 + 1/48) / (1/14 + 1/42) by hand.
    assert larger.ratio == pytest.approx(0.96875)
    assert larger.life_factor == pytest.approx(1 / 0.96875)


def test_twice_the_pull_at_the_wheel_wears_twice_as_fast():
    assert relative_exposure(STAGE, STAGE, wheel_pull_ratio=2.0) == pytest.approx(2.0)
    assert wheel_exposure_of(STAGE, Wheel.DRIVER, STAGE, wheel_pull_ratio=2.0).ratio == pytest.approx(2.0)


def test_front_teeth_meet_the_chain_more_often_by_the_ratio():
    # Contact count ratio z2/z1, by definition.
    assert wheel_exposure_of(STAGE, Wheel.DRIVER, STAGE, Wheel.DRIVEN).ratio == pytest.approx(3.0)


def test_unknown_geometry_counts_as_alike_and_says_so():
    for pair in ((None, STAGE), (STAGE, None), (None, None)):
        assert relative_exposure(*pair) == 1.0
        assert exposure_of(*pair).unknown
        assert wheel_exposure_of(pair[0], Wheel.DRIVEN, pair[1]).ratio == 1.0


def test_what_only_one_setup_knows_is_taken_as_equal():
    bare = replace(
        STAGE, links=None, pin_diameter_mm=None, bearing_width_mm=None, wheel_circumference_mm=None
    )
    compared = exposure_of(bare, replace(STAGE, bearing_width_mm=22.0))
    assert compared.ratio == pytest.approx(1.0)
    assert len(compared.unknown) == 4


@settings(deadline=None)
@given(a=chains, b=chains)
def test_the_pin_diameter_cancels_between_sliding_and_area(a, b):
    without = relative_exposure(replace(a, pin_diameter_mm=None), b)
    assert without == pytest.approx(relative_exposure(a, b), rel=1e-12)


def test_a_sprocket_changed_in_mid_life_scales_the_distance_from_there_on():
    smaller = replace(STAGE, driver_teeth=12)
    ran = [(2000.0, STAGE), (1000.0, smaller), (500.0, None)]
    assert exposed_distance(ran, STAGE) == pytest.approx(2000 + 1125 + 500)


def test_every_factor_says_what_it_is():
    for factor in exposure_of(replace(STAGE, driver_teeth=12, links=114), STAGE, 1.2).factors:
        assert f"{factor.value:.3f} times" in factor.why


def test_chains_and_belts_are_not_compared_and_belts_have_no_law():
    a_belt = DriveSetup(drive=DriveKind.BELT, pitch_mm=8.0, driver_teeth=24, driven_teeth=72)
    with pytest.raises(WearlogError, match="no common measure"):
        relative_exposure(a_belt, STAGE)
    with pytest.raises(WearlogError, match="no common measure"):
        wheel_exposure_of(a_belt, Wheel.DRIVER, STAGE)
    compared = exposure_of(a_belt, replace(a_belt, driver_teeth=30))
    assert compared.ratio == 1.0
    assert "no law" in compared.unknown[0]


@pytest.mark.parametrize("pull", [0.0, -1.0, float("nan")])
def test_a_pull_that_cannot_be_is_refused(pull):
    with pytest.raises(WearlogError, match="ratio of pulls at the wheel must be above zero"):
        relative_exposure(STAGE, STAGE, pull)


def test_a_negative_distance_is_refused():
    with pytest.raises(WearlogError, match="distance cannot be negative"):
        exposed_distance([(-1.0, STAGE)], STAGE)
