"""What a stage is made of, its figures, and what is odd about it."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.worked.rows import reproduces
from wearlog.drive.belt import pulley_pitch_diameter
from wearlog.drive.describing import describe, span_frequency
from wearlog.drive.line import in_series, overall
from wearlog.drive.remarks import RemarkKind
from wearlog.drive.setup import DriveSetup, Wheel, centre_in_use
from wearlog.drive.sprocket import pitch_diameter
from wearlog.fleet.parts import DriveKind
from wearlog.fleet.problem import WearlogError

CHAIN, BELT = DriveKind.CHAIN, DriveKind.BELT
STAGE = DriveSetup(
    drive=CHAIN,
    pitch_mm=12.7,
    driver_teeth=14,
    driven_teeth=42,
    links=116,
    roller_diameter_mm=8.51,
    pin_diameter_mm=4.51,
    wheel_circumference_mm=1900.0,
)
#: The belt of the worked example at bs-wiki.de: T5, 990 mm, 38 and 114 teeth.
T5 = DriveSetup(drive=BELT, pitch_mm=5.0, driver_teeth=38, driven_teeth=114, belt_teeth=198)


def kinds(stage):
    return [remark.kind for remark in describe(stage).remarks]


# --- published and derived figures, found through the whole record -----------------------------------------


def test_the_figures_of_a_motorcycle_chain_are_those_worked_out_by_hand():
    figures = describe(STAGE)
    reproduces("CL-X1", figures.loop.taut_centre_mm)
    reproduces("CL-X2", figures.loop.taut_centre_handbook_mm)
    reproduces("AR-2", figures.motion.turns_per_km)
    reproduces("AR-3", figures.motion.articulations_per_km)
    reproduces("AR-4", figures.motion.sliding_m_per_km)
    reproduces("AR-5", figures.motion.sliding_under_load_m_per_km)
    reproduces("MR-14", figures.driver.over_pins_mm)
    reproduces("MR-42", figures.driven.over_pins_mm)


def test_sliding_adds_up_from_both_sprockets_and_is_three_times_as_long_on_the_small_one():
    figures = describe(STAGE)
    small, large = figures.driver, figures.driven
    assert small.sliding_m_per_km == pytest.approx(3 * large.sliding_m_per_km)
    both = small.sliding_under_load_m_per_km + large.sliding_under_load_m_per_km
    reproduces("AR-5", both)


def test_a_handbook_drive_needs_the_links_that_the_handbook_says():
    # FOSSEE Scilab textbook companion 764, example 14.3.
    figures = describe(
        DriveSetup(drive=CHAIN, pitch_mm=12.7, driver_teeth=21, driven_teeth=63, centre_distance_mm=500.0)
    )
    reproduces("CL-B143L", figures.loop.needed_handbook)
    assert figures.loop.to_order == 122
    fitted = describe(replace(figures.setup, centre_distance_mm=None, links=122))
    reproduces("CL-B143C", fitted.loop.taut_centre_handbook_mm)
    reproduces("CL-EB143", fitted.loop.taut_centre_mm)
    # machinecalc.pages.dev, chain length: 109.3 pitches make 110 links.
    figures = describe(
        DriveSetup(drive=CHAIN, pitch_mm=12.7, driver_teeth=15, driven_teeth=45, centre_distance_mm=500.0)
    )
    reproduces("CL-M1", figures.loop.needed_exact)
    reproduces("CL-M2", figures.loop.to_order)


def test_speed_and_pull_of_a_chain_are_those_of_the_textbook():
    # FOSSEE Scilab textbook companion 764, example 14.1: 14.32 kW at 1000 1/min on 17 teeth of 19.05 mm is a
    # pull with a safety of 11.722 on 31 100 N.
    figures = describe(
        DriveSetup(
            drive=CHAIN,
            pitch_mm=19.05,
            driver_teeth=17,
            driven_teeth=34,
            rated_input_rpm=1000.0,
            rated_power_kw=14.32,
        )
    )
    assert figures.motion.loop_speed_m_per_s == pytest.approx(5.3975)
    assert 31100 / figures.motion.pull_n == pytest.approx(11.722, abs=5e-4)


def test_a_belt_of_the_textbook_closes_where_it_says():
    figures = describe(T5)
    reproduces("BL-B1", figures.driver.pitch_diameter_mm)
    reproduces("BL-B2", figures.loop.taut_centre_mm)
    reproduces("BL-B2", figures.loop.taut_centre_handbook_mm)
    reproduces("BL-B3", math.degrees(figures.driver.wrap_rad))
    reproduces("BL-B4", figures.target.tensioning_travel_mm)
    assert figures.driven.chordal_variation is None
    assert figures.motion.articulations_per_km is None


def test_a_belt_of_the_course_page_has_its_teeth():
    stage = DriveSetup(drive=BELT, pitch_mm=2.0, driver_teeth=20, driven_teeth=60, centre_distance_mm=100.0)
    reproduces("BL-C1", describe(stage).loop.needed_exact)
    assert describe(stage).loop.to_order == 141
    reproduces("BL-C2", describe(replace(stage, centre_distance_mm=None, belt_teeth=140)).loop.taut_centre_mm)


def test_a_tension_rings_at_its_frequency():
    # rad-forum.de, thread 1270810: 0.0735 kg/m, 472.88 mm, 59.17 N, 30 Hz; equal pulleys have that span.
    stage = DriveSetup(
        drive=BELT,
        pitch_mm=11.0,
        driver_teeth=24,
        driven_teeth=24,
        mass_kg_per_m=0.0735,
        centre_distance_mm=472.88,
        tension_n=59.1687,
    )
    reproduces("BF-4", describe(stage).target.frequency_hz)
    reproduces("BF-4", span_frequency(stage, 59.1687))
    # 1/64 of the span takes 0.06247 of the tension: exact statics.
    assert describe(stage).target.deflection_force_n == pytest.approx(0.062470 * 59.1687, abs=1e-4)


def test_slack_to_set_is_a_share_of_the_centre_distance():
    stage = DriveSetup(
        drive=CHAIN, pitch_mm=12.7, driver_teeth=17, driven_teeth=34, centre_distance_mm=1000.0
    )
    reproduces("SL-R1", describe(stage).target.slack_mm)
    reproduces("SL-R2", describe(stage).target.slack_shock_mm)
    assert "p. 229" in describe(stage).target.source


# --- the adjuster ------------------------------------------------------------------------------------------

ADJUSTED = replace(STAGE, adjuster_front_mm=545.9167, adjuster_rear_mm=575.9167)


def test_the_adjuster_stands_where_the_chain_is_taut():
    figures = describe(ADJUSTED)
    assert figures.loop.adjuster.from_front_mm == pytest.approx(10.0, abs=1e-3)
    assert figures.loop.adjuster.left_mm == pytest.approx(20.0, abs=1e-3)
    assert figures.loop.adjuster.share == pytest.approx(1 / 3, abs=1e-4)
    assert figures.loop.is_closing


def test_a_pair_of_links_more_moves_the_axle_by_about_a_pitch():
    longer = describe(replace(ADJUSTED, links=118)).loop
    assert longer.adjuster.from_front_mm == pytest.approx(10.0 + 12.77, abs=0.01)
    assert longer.closing == (116, 118)


@pytest.mark.parametrize(("links", "word"), [(114, "too short"), (120, "too long")])
def test_a_chain_that_the_adjuster_does_not_reach_does_not_close(links, word):
    figures = describe(replace(ADJUSTED, links=links))
    assert figures.loop.is_closing is False
    remark = next(remark for remark in figures.remarks if remark.kind is RemarkKind.DOES_NOT_CLOSE)
    assert word in remark.text


def test_at_a_fixed_centre_distance_a_longer_chain_hangs_slack():
    # Excess 1.98967 x 1 mm (row CL-X3) on a span of 552 mm: A = sqrt(2 S dL) = 46.9 mm, by hand.
    stage = replace(STAGE, centre_distance_mm=554.9167)
    assert describe(stage).loop.slack_mm == pytest.approx(46.9, abs=0.1)
    assert describe(replace(stage, links=114)).loop.slack_mm is None
    assert RemarkKind.CENTRE_DIFFERS in kinds(replace(stage, links=114))


# --- oddities ----------------------------------------------------------------------------------------------


def test_every_oddity_is_told_with_its_source():
    odd = replace(
        STAGE,
        driver_teeth=10,
        links=115,
        adjuster_front_mm=560.0,
        adjuster_rear_mm=563.0,
        centre_distance_mm=600.0,
    )
    found = describe(odd).remarks
    assert {remark.kind for remark in found} >= {
        RemarkKind.CRANKED_LINK,
        RemarkKind.FEW_TEETH,
        RemarkKind.COMMON_FACTOR,
        RemarkKind.SHORT_ADJUSTER,
        RemarkKind.OUTSIDE_ADJUSTER,
    }
    assert all(remark.source and remark.text.endswith(".") for remark in found)


def test_an_ordinary_chain_stage_is_not_odd():
    # 13 and 45 teeth have no factor in common with 116 links.
    assert kinds(replace(ADJUSTED, driver_teeth=13, driven_teeth=45)) == []


def test_a_belt_with_few_teeth_in_mesh_and_a_long_span_is_odd():
    # ContiTech, troubleshooting, pp. 51-52: six teeth in mesh, a span of eight small diameters.
    stage = DriveSetup(drive=BELT, pitch_mm=8.0, driver_teeth=13, driven_teeth=61, centre_distance_mm=400.0)
    assert kinds(stage) == [
        RemarkKind.NO_TENSION_TARGET,
        RemarkKind.FEW_IN_MESH,
        RemarkKind.LONG_SPAN,
    ]
    assert kinds(replace(stage, driver_teeth=23, tension_n=300.0)) == []


def test_a_belt_with_no_travel_left_to_tension_it_is_odd():
    # bs-wiki.de: 4.95 mm for a belt of 990 mm, taut at 298.86 mm.
    assert RemarkKind.SHORT_ADJUSTER in kinds(replace(T5, adjuster_front_mm=290.0, adjuster_rear_mm=302.0))
    assert RemarkKind.SHORT_ADJUSTER not in kinds(
        replace(T5, adjuster_front_mm=290.0, adjuster_rear_mm=304.0)
    )


# --- stages in series --------------------------------------------------------------------------------------


def test_a_drive_line_multiplies_its_ratios_and_keeps_its_power():
    primary = DriveSetup(
        drive=BELT, pitch_mm=8.0, driver_teeth=24, driven_teeth=72, rated_input_rpm=4000.0, rated_power_kw=3.0
    )
    whole = overall([primary, replace(STAGE, rated_input_rpm=1.0)])
    assert whole.ratio == pytest.approx(9.0)
    # 4000 / 9 turns of 1.9 m a minute, and 3 kW at that speed: by hand.
    assert whole.road_speed_km_per_h == pytest.approx(50.667, abs=1e-3)
    assert whole.wheel_pull_n == pytest.approx(3000 / (50.6667 / 3.6), rel=1e-4)
    stages = in_series([primary, STAGE])
    pulls = [describe(stage).motion.wheel_pull_n for stage in stages]
    assert pulls == pytest.approx([whole.wheel_pull_n] * 2)
    assert stages[0].turn_mm == pytest.approx(1900 / 3)


def test_a_drive_line_needs_a_stage():
    with pytest.raises(WearlogError, match="no stage"):
        overall([])


# --- what holds for every stage ----------------------------------------------------------------------------

PITCH = st.sampled_from([6.35, 8.0, 9.525, 12.7, 15.875])


@st.composite
def stages(draw):
    drive = draw(st.sampled_from(DriveKind))
    pitch, small, large = draw(PITCH), draw(st.integers(9, 40)), draw(st.integers(9, 80))
    of = pitch_diameter if drive is CHAIN else pulley_pitch_diameter
    radii = 0.5 * (of(pitch, small) + of(pitch, large))
    centre = draw(st.floats(1.05, 5.0)) * radii
    return DriveSetup(
        drive=drive,
        pitch_mm=pitch,
        driver_teeth=small,
        driven_teeth=large,
        centre_distance_mm=centre,
        wheel_circumference_mm=1900.0,
    )


@settings(deadline=None)
@given(stage=stages())
def test_what_is_ordered_closes_at_or_behind_the_entered_centre_distance(stage):
    loop = describe(stage).loop
    chosen = {"links": loop.to_order} if stage.is_chain else {"belt_teeth": loop.to_order}
    figures = describe(replace(stage, **chosen))
    assert figures.loop.taut_centre_mm >= stage.centre_distance_mm * (1 - 1e-9)
    assert loop.to_order - loop.needed_exact < (2 if stage.is_chain else 1)
    # The approximation drops the higher powers of the lean of the runs: worst with wheels nearly touching.
    lean = abs(figures.driver.wrap_rad - figures.driven.wrap_rad) / 4
    assert loop.needed_handbook == pytest.approx(loop.needed_exact, abs=0.5)
    if lean < 0.3:
        assert loop.needed_handbook == pytest.approx(loop.needed_exact, abs=0.05)


@settings(deadline=None)
@given(stage=stages(), travel=st.floats(0.0, 80.0))
def test_every_length_that_is_said_to_close_does_so(stage, travel):
    ends = {
        "adjuster_front_mm": stage.centre_distance_mm,
        "adjuster_rear_mm": stage.centre_distance_mm + travel,
    }
    figures = describe(replace(stage, **ends))
    for pitches in figures.loop.closing:
        chosen = {"links": pitches} if stage.is_chain else {"belt_teeth": pitches}
        adjuster = describe(replace(stage, **ends, **chosen)).loop.adjuster
        assert adjuster.from_front_mm > -1e-6
        assert adjuster.left_mm > -1e-6


@settings(deadline=None)
@given(stage=stages())
def test_wraps_make_one_turn_and_teeth_in_mesh_follow(stage):
    figures = describe(stage)
    assert figures.driver.wrap_rad + figures.driven.wrap_rad == pytest.approx(2 * math.pi)
    assert figures.driver.teeth_in_mesh <= stage.driver_teeth
    assert figures.driver.contacts_per_km == pytest.approx(stage.ratio * figures.driven.contacts_per_km)


# --- what cannot be ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "where", "sentence"),
    [
        ({"driver_teeth": 0}, "teeth of the driver", "sprocket with 0 teeth cannot be"),
        ({"driven_teeth": -3}, "teeth of the driven wheel", "cannot be"),
        ({"pitch_mm": 0.0}, "pitch", "pitch must be above zero"),
        ({"links": 0}, "number of links", "number of links must be above zero"),
        ({"belt_teeth": 110}, "number of belt teeth", "A chain has links; 110 belt teeth"),
        ({"centre_distance_mm": -5.0}, "centre distance", "centre distance must be above zero"),
        ({"rated_input_rpm": math.nan}, "rated speed", "rated speed must be above zero"),
        ({"rated_power_kw": -1.0}, "rated power", "rated power cannot be negative"),
        ({"ratio_behind": 0.0}, "ratio behind this stage", "must be above zero"),
        ({"roller_diameter_mm": 12.7}, "roller diameter", "leave no tooth"),
        ({"adjuster_front_mm": 580.0, "adjuster_rear_mm": 550.0}, "adjuster", "lies behind its rear end"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence_at_its_field(changes, where, sentence):
    with pytest.raises(WearlogError, match=sentence) as refused:
        replace(STAGE, **changes)
    assert [problem.where for problem in refused.value.problems] == [where]


def test_all_that_cannot_be_is_said_at_once():
    with pytest.raises(WearlogError) as refused:
        replace(STAGE, driver_teeth=0, links=-1, wheel_circumference_mm=0.0)
    assert len(refused.value.problems) == 3


def test_links_do_not_belong_to_a_belt():
    with pytest.raises(WearlogError, match="A belt has teeth; 116 links were given"):
        replace(STAGE, drive=BELT)


@pytest.mark.parametrize(
    ("stage", "sentence"),
    [
        (replace(STAGE, links=30), "too short to close round 14 and 42 teeth"),
        (replace(T5, belt_teeth=80), "belt with 80 teeth is too short to close"),
        (replace(STAGE, links=None, centre_distance_mm=60.0), "pitch radius touch at 60.0 mm"),
    ],
)
def test_a_stage_that_cannot_be_built_is_refused_in_a_sentence(stage, sentence):
    with pytest.raises(WearlogError, match=sentence):
        describe(stage)


def test_a_frequency_needs_a_belt_its_mass_and_its_span():
    with pytest.raises(WearlogError, match="no span frequency"):
        span_frequency(STAGE, 100.0)
    with pytest.raises(WearlogError, match="mass per metre and its span"):
        span_frequency(T5, 100.0)


def test_without_length_or_centre_distance_the_rest_is_told_all_the_same():
    bare = DriveSetup(drive=CHAIN, pitch_mm=12.7, driver_teeth=14, driven_teeth=42)
    figures = describe(bare)
    assert centre_in_use(bare) is None
    assert figures.motion.ratio == 3.0
    assert figures.loop.span_mm is None
    assert figures.target.slack_mm is None
    assert bare.teeth(Wheel.DRIVEN) == 42
