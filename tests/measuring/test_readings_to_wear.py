"""From what was typed at the spots to the value that counts and its uncertainty."""

import math

import pytest

from wearlog.fleet.problem import WearlogError
from wearlog.fleet.reading import Instrument, InstrumentKind, Measurand, Method, Spot
from wearlog.measuring.evaluate import evaluate

CHAIN = Measurand.CHAIN_ELONGATION


def spots(*values, resolution=0.0):
    return [Spot(typed=f"{value:g}", value=value, resolution=resolution) for value in values]


def chain_reading(*lengths_mm, method=Method.PIN_TO_PIN, resolution=0.5, **more):
    known = {"pitches": 20, "pitch_mm": 12.7} | more
    return evaluate(CHAIN, method, spots(*lengths_mm, resolution=resolution), **known)


def test_the_greatest_of_several_places_counts():
    # Kawasaki and KTM owner's manuals: several places, the longest counts.
    found = chain_reading(255.0, 256.0, 255.5)
    assert found.value == pytest.approx(256.0 / 254.0 - 1)
    assert found.governing_spot == 1
    assert found.mean == pytest.approx(255.5 / 254.0 - 1)
    assert found.spread == pytest.approx(1.0 / 254.0)
    assert len(found.values) == 3


def test_all_spots_alike_still_leave_the_uncertainty_of_setting_and_place():
    # Setting 0.10 % over 20 x 12.7 mm, half-millimetre steps 0.14/254 mm, places 0.075 % x sqrt(11/20).
    found = chain_reading(255.5, 255.5, 255.5)
    assert 0.0009 < found.u_value < 0.0014


def test_more_places_make_the_value_surer():
    assert chain_reading(255.4, 255.5, 255.6).u_value < chain_reading(255.6).u_value


def test_spread_places_make_the_value_less_sure():
    assert chain_reading(254.0, 256.4).u_value > chain_reading(256.3, 256.4).u_value


# One standard deviation for one place, over the stretches named in the table of defaults.
@pytest.mark.parametrize(
    ("method", "pitches", "pitch_mm", "u_setting"),
    [
        (Method.PIN_TO_PIN, 20, 12.7, 0.0010),
        (Method.TAPE, 50, 15.875, 0.0006),
    ],
)
def test_the_setting_of_each_method_is_what_published_readings_show(method, pitches, pitch_mm, u_setting):
    found = chain_reading(
        1.005 * pitches * pitch_mm, method=method, pitches=pitches, pitch_mm=pitch_mm, resolution=0
    )
    place = 0.00075 * math.sqrt(11 / pitches)
    assert found.u_value == pytest.approx(math.hypot(u_setting, place), rel=0.03)


def test_inside_and_outside_need_no_roller_diameter():
    # Tsubaki, Drive Chains catalogue p. 168: inside 119.760 and outside 136.780 are 1 % over 10 x 12.7.
    pair = [Spot(typed="119.76 136.78", value=119.760, second=136.780, resolution=0.01)]
    found = evaluate(CHAIN, Method.INSIDE_AND_OUTSIDE, pair, pitches=10, pitch_mm=12.7)
    assert found.value == pytest.approx(0.01, abs=1e-9)
    # 0.04 % of setting, 0.075 % of place.
    assert found.u_value == pytest.approx(math.hypot(0.0004, 0.00075), rel=0.03)


def test_between_rollers_the_roller_diameter_is_added():
    found = chain_reading(
        119.760, method=Method.BETWEEN_ROLLERS, pitches=10, roller_diameter_mm=8.51, resolution=0.01
    )
    assert found.value == pytest.approx(0.01, abs=1e-9)


def test_between_rollers_without_a_zero_reading_carries_the_play_of_the_rollers():
    known = {"method": Method.BETWEEN_ROLLERS, "pitches": 10, "roller_diameter_mm": 8.51, "resolution": 0.01}
    unknown = chain_reading(119.0, **known)
    zeroed = chain_reading(119.0, has_zero_reading=True, **known)
    # 0.1 to 0.15 % as long as nobody measured the same chain new.
    assert math.sqrt(unknown.u_value**2 - zeroed.u_value**2) == pytest.approx(0.00125)
    assert len(unknown.doubts) == 1
    assert zeroed.doubts == ()


def test_a_rule_that_reads_long_is_corrected():
    rule = Instrument(name="old rule", kind=InstrumentKind.RULE, resolution=0.5, bias=0.4)
    found = chain_reading(255.9, instrument=rule)
    assert found.value == pytest.approx(255.5 / 254.0 - 1)


def test_a_coarse_instrument_counts_for_more_than_the_digits_typed():
    coarse = Instrument(name="yard stick", kind=InstrumentKind.RULE, resolution=2.0)
    assert chain_reading(255.5, instrument=coarse).u_value > chain_reading(255.5).u_value


def test_an_uncleaned_chain_is_less_sure_and_said_to_read_low():
    dirty, clean = chain_reading(255.5, was_cleaned=False), chain_reading(255.5, was_cleaned=True)
    assert dirty.value == clean.value
    assert dirty.u_value > clean.u_value
    assert "reads too low" in dirty.doubts[0].question


def test_a_whole_chain_has_no_other_place():
    whole = chain_reading(1480.0, method=Method.WHOLE_CHAIN, pitches=116, resolution=1.0)
    # 1 to 2 mm over the whole chain, 0.07 to 0.14 % over 1.4 m, at most: half of that is one deviation.
    assert 0.0004 < whole.u_value < 0.0008


def test_an_odd_count_may_be_off_by_a_pitchs_share_of_the_wear():
    # Yamaha's 15 pitches: inner and outer links do not pair up, up to 1/15 of the wear.
    odd = chain_reading(242.9, pitches=15, pitch_mm=15.875)
    assert [doubt.offers[0].value for doubt in odd.doubts] == [16]


def test_an_elongation_read_off_is_taken_as_it_is():
    found = evaluate(CHAIN, Method.ELONGATION_READ, spots(0.005, 0.0062, resolution=0.0001))
    assert found.value == 0.0062
    assert found.u_value >= 0.001


def test_the_thinnest_tooth_counts():
    found = evaluate(Measurand.SPROCKET_TOOTH_THICKNESS, Method.DIRECT, spots(3.9, 3.4, 3.8, resolution=0.1))
    assert (found.value, found.governing_spot) == (3.4, 1)
    assert found.u_value == pytest.approx(math.hypot(0.1, 0.1 / math.sqrt(12)))


def test_the_tightest_spot_decides_on_slack():
    found = evaluate(
        Measurand.SLACK, Method.DIRECT, spots(35.0, 28.0), definition="lower run, total, side stand"
    )
    assert (found.value, found.governing_spot, found.spread) == (28.0, 1, 7.0)


def test_slack_without_its_definition_is_refused():
    with pytest.raises(WearlogError, match="without its definition"):
        evaluate(Measurand.SLACK, Method.DIRECT, spots(30.0), definition="")


def test_belt_tension_follows_from_the_highest_frequency():
    # rad-forum.de, thread 1270810: 30 Hz on 472.88 mm of 0.0735 kg/m is 59.17 N.
    found = evaluate(
        Measurand.BELT_TENSION,
        Method.SPAN_FREQUENCY,
        spots(28.0, 30.0, 29.0, 29.0, resolution=0.1),
        span_mm=472.88,
        mass_kg_per_m=0.0735,
    )
    assert found.value == pytest.approx(59.17, abs=0.01)
    assert found.governing_spot == 1


def test_two_hertz_in_thirty_two_are_an_eighth_of_the_tension():
    # dT/T = 2 df/f + 2 dL/L + dm/m: +-2 Hz at 32 Hz is +-12.5 %.
    meter = Instrument(name="meter", kind=InstrumentKind.FREQUENCY_METER, u_instrument=2.0)
    with_meter, without = (
        evaluate(
            Measurand.BELT_TENSION,
            Method.SPAN_FREQUENCY,
            spots(32.0),
            span_mm=480.0,
            mass_kg_per_m=0.0735,
            instrument=instrument,
        )
        for instrument in (meter, None)
    )
    added = math.sqrt(with_meter.u_value**2 - without.u_value**2)
    assert added / with_meter.value == pytest.approx(0.125)


def test_belt_tension_follows_from_a_deflection_force():
    # F = T / 16 at a deflection of 1/64 of the span (SDP/SI D790, eq. 1-4 without stretch).
    found = evaluate(
        Measurand.BELT_TENSION, Method.DEFLECTION_FORCE, spots(6.25), span_mm=640.0, deflection_mm=10.0
    )
    assert found.value == pytest.approx(100.0, rel=1e-3)


def test_a_deflection_may_differ_from_push_to_push():
    pushes = [Spot(typed="44.5", value=44.5, second=12.0), Spot(typed="44.5", value=44.5, second=10.0)]
    found = evaluate(Measurand.BELT_TENSION, Method.DEFLECTION_FORCE, pushes, span_mm=480.0)
    assert found.governing_spot == 1


def test_the_worst_grade_counts():
    found = evaluate(Measurand.BELT_CONDITION, Method.GRADE, spots(1, 2, 1))
    assert (found.value, found.governing_spot) == (2, 1)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: evaluate(CHAIN, Method.PIN_TO_PIN, [], pitches=20, pitch_mm=12.7), "No spot was entered"),
        (lambda: evaluate(CHAIN, Method.PIN_TO_PIN, spots(254.0), pitch_mm=12.7), "How many pitches"),
        (lambda: evaluate(CHAIN, Method.PIN_TO_PIN, spots(254.0), pitches=20), "pitch of this chain"),
        (lambda: chain_reading(254.0, pitches=0), "over 0 pitches cannot be measured"),
        (lambda: chain_reading(0.0), "length must be above zero"),
        (lambda: chain_reading(-254.0), "length must be above zero"),
        (lambda: chain_reading(254.0, method=Method.INSIDE_AND_OUTSIDE), "outside length of the spot 254"),
        (lambda: chain_reading(119.0, method=Method.BETWEEN_ROLLERS, pitches=10), "roller diameter"),
        (
            lambda: evaluate(Measurand.BELT_TENSION, Method.SPAN_FREQUENCY, spots(30.0), mass_kg_per_m=0.07),
            "free length of the belt span",
        ),
        (
            lambda: evaluate(Measurand.BELT_TENSION, Method.SPAN_FREQUENCY, spots(30.0), span_mm=480.0),
            "mass per metre",
        ),
        (
            lambda: evaluate(Measurand.BELT_TENSION, Method.DEFLECTION_FORCE, spots(30.0), span_mm=480.0),
            "without the deflection",
        ),
        (lambda: evaluate(Measurand.BELT_CONDITION, Method.GRADE, spots(4)), "4 is not a condition grade"),
        (lambda: evaluate(Measurand.SLACK, Method.DIRECT, spots(-3.0)), "slack cannot be negative"),
    ],
)
def test_impossible_input_is_refused_in_a_sentence(call, sentence):
    with pytest.raises(WearlogError, match=sentence):
        call()
