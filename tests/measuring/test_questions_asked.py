"""Odd readings are questioned, with offers, and kept."""

from datetime import date

import pytest

from wearlog.fleet.problem import DoubtKind
from wearlog.fleet.quantity import Quantity
from wearlog.fleet.reading import Instrument, InstrumentKind, Measurand, Method, Reading, Spot
from wearlog.measuring.elongation import pins_text
from wearlog.measuring.evaluate import evaluate
from wearlog.measuring.evaluated import Evaluated
from wearlog.measuring.history import history_doubts, instrument_doubts
from wearlog.measuring.plausibility import other_unit_doubts

CHAIN = Measurand.CHAIN_ELONGATION


def length_reading(*lengths_mm, pitches=20, pitch_mm=12.7):
    typed = [Spot(typed=f"{mm:g}", value=mm, resolution=0.5) for mm in lengths_mm]
    return evaluate(CHAIN, Method.PIN_TO_PIN, typed, pitches=pitches, pitch_mm=pitch_mm, was_cleaned=True)


def kinds(doubts):
    return [doubt.kind for doubt in doubts]


def earlier(value, u=0.0008, *, measurand=CHAIN, method=Method.PIN_TO_PIN, instrument_id=1, is_zero=False):
    return Reading(
        vehicle_id=1,
        stage_id=1,
        installation_id=1,
        visit_id=1,
        on=date(2026, 3, 1),
        total_use=4000.0,
        measurand=measurand,
        method=method,
        value=value,
        u_value=u,
        instrument_id=instrument_id,
        is_zero_reading=is_zero,
    )


def asked(value, *past, method=Method.PIN_TO_PIN, measurand=CHAIN, u=0.0008, **more):
    return history_doubts(measurand, method, Evaluated(value=value, u_value=u), past, **more)


def test_pins_and_pitches_are_both_said():
    assert pins_text(20, 12.7) == "pin 1 to pin 21 = 20 pitches = 254.0\u2009mm new"


# A miscount by one at 20 pitches is about -4.8 % or +5.3 %, at 10 about -9 % or +11 %.
@pytest.mark.parametrize(("entered", "measured"), [(20, 19), (20, 21), (10, 9), (10, 11)])
def test_a_pin_too_many_or_too_few_is_questioned_with_both_counts(entered, measured):
    found = length_reading(1.004 * measured * 12.7, pitches=entered)
    assert kinds(found.doubts) == [DoubtKind.MISCOUNT]
    doubt = found.doubts[0]
    assert f"{measured * 12.7:.1f} mm new" in doubt.question
    assert f"{entered * 12.7:.1f} mm new" in doubt.question
    assert ("use pitches", measured) in [(offer.action, offer.value) for offer in doubt.offers]
    assert found.value is not None


def test_the_trap_of_the_eighteen_rollers_is_caught():
    # KTM's 272 mm are 17 pitches of 15.875; entered as 18 they are questioned.
    found = length_reading(272.0, pitches=18, pitch_mm=15.875)
    assert found.doubts[0].offers[0].value == 17


def test_inches_typed_as_millimetres_are_offered_and_not_converted():
    found = length_reading(10.05)
    assert kinds(found.doubts) == [DoubtKind.OTHER_UNIT]
    assert found.doubts[0].offers[0].value == "in"
    assert found.value == pytest.approx(10.05 / 254.0 - 1)


def test_inches_between_rollers_are_recognised_beside_the_roller_in_millimetres():
    typed = [Spot(typed="4.69", value=4.69, resolution=0.01)]
    known = {"pitches": 10, "pitch_mm": 12.7, "roller_diameter_mm": 8.51, "has_zero_reading": True}
    found = evaluate(CHAIN, Method.BETWEEN_ROLLERS, typed, **known)
    assert [doubt.offers[0].value for doubt in found.doubts] == ["in"]


def test_a_length_that_fits_nothing_is_questioned_plainly():
    assert kinds(length_reading(150.0).doubts) == [DoubtKind.SUSPECT]


def test_a_healthy_new_chain_is_not_questioned():
    # Kawasaki's own range for new chains: 317.5 to 318.2 mm over 20 pitches.
    for length_mm in (317.5, 318.2):
        assert length_reading(length_mm, pitch_mm=15.875).doubts == ()


def test_a_percentage_typed_as_a_plain_number_is_offered_as_percent():
    found = evaluate(CHAIN, Method.ELONGATION_READ, [Spot(typed="0.75", value=0.75)])
    assert kinds(found.doubts) == [DoubtKind.OTHER_UNIT]
    assert found.doubts[0].offers[0].value == "%"


# A value near 25.4, 1.609, 4.448 or 1.356 times the expected one.
@pytest.mark.parametrize(
    ("value", "expected", "quantity", "unit"),
    [
        (30.0 / 25.4, 30.0, Quantity.LENGTH, "in"),
        (30.0 * 25.4, 31.0, Quantity.LENGTH, "mm"),
        (7681.0, 12362.0, Quantity.DISTANCE, "mi"),
        (12362.0 * 1.609, 12500.0, Quantity.DISTANCE, "km"),
        (10.0, 44.0, Quantity.FORCE, "lbf"),
        (75.0, 102.0, Quantity.TORQUE, "lbf.ft"),
        (0.0735 * 1000, 0.0735, Quantity.LINEAR_DENSITY, "g/m"),
    ],
)
def test_mixed_units_are_questioned_with_the_other_unit(value, expected, quantity, unit):
    (doubt,) = other_unit_doubts(value, expected, quantity)
    assert doubt.kind is DoubtKind.OTHER_UNIT
    assert (doubt.offers[0].action, doubt.offers[0].value) == ("use unit", unit)


@pytest.mark.parametrize("value", [20.0, 28.0, 34.0, 45.0])
def test_a_value_near_the_expected_one_is_not_questioned(value):
    assert other_unit_doubts(value, 30.0, Quantity.LENGTH) == ()


def test_places_far_apart_ask_for_tight_joints():
    found = length_reading(254.5, 256.0)
    assert kinds(found.doubts) == [DoubtKind.SPREAD]
    assert "Tight joints or missing rings" in found.doubts[0].question


def test_places_as_far_apart_as_usual_are_not_questioned():
    # Five places on one chain: 0.07 to 0.21 % apart (robobiking.wordpress.com).
    assert length_reading(255.0, 255.5).doubts == ()


def test_slack_that_changes_round_the_turn_asks_for_stiff_joints():
    turn = [Spot(typed="20", value=20.0), Spot(typed="38", value=38.0)]
    assert kinds(evaluate(Measurand.SLACK, Method.DIRECT, turn).doubts) == [DoubtKind.SPREAD]


def test_an_overtone_is_questioned():
    plucks = [Spot(typed="31", value=31.0), Spot(typed="62", value=62.0)]
    found = evaluate(Measurand.BELT_TENSION, Method.SPAN_FREQUENCY, plucks, span_mm=470.0, mass_kg_per_m=0.07)
    assert "about 2 times 31.0 Hz" in found.doubts[0].question


def test_a_hot_belt_is_questioned():
    pluck = [Spot(typed="31", value=31.0)]
    found = evaluate(
        Measurand.BELT_TENSION,
        Method.SPAN_FREQUENCY,
        pluck,
        span_mm=470.0,
        mass_kg_per_m=0.07,
        temperature_degc=45.0,
    )
    assert kinds(found.doubts) == [DoubtKind.UNUSUAL]


def test_a_new_part_is_asked_for_its_zero_reading():
    (doubt,) = asked(0.0005, is_part_new=True)
    assert doubt.kind is DoubtKind.NO_ZERO_READING
    assert doubt.offers[0].action == "zero reading"


def test_a_part_never_measured_new_is_told_once():
    assert kinds(asked(0.004)) == [DoubtKind.NO_ZERO_READING]
    assert asked(0.006, earlier(0.004)) == ()


def test_the_zero_reading_itself_is_not_questioned():
    assert asked(0.0005, is_zero_reading=True, is_part_new=True) == ()


def test_a_changed_instrument_is_questioned():
    other = Instrument(name="new rule", kind=InstrumentKind.RULE, id=2)
    assert kinds(asked(0.006, earlier(0.004), instrument=other)) == [DoubtKind.INSTRUMENT_CHANGED]


def test_a_changed_method_is_questioned():
    assert kinds(asked(0.006, earlier(0.004), method=Method.TAPE)) == [DoubtKind.INSTRUMENT_CHANGED]


def test_a_fall_to_nothing_asks_whether_a_chain_was_fitted():
    (doubt,) = asked(0.0003, earlier(0.008))
    assert doubt.kind is DoubtKind.PART_REPLACED
    assert "Was a chain fitted?" in doubt.question


def test_a_fall_beyond_the_uncertainty_is_questioned():
    assert kinds(asked(0.0045, earlier(0.0095))) == [DoubtKind.FELL]


def test_a_fall_within_the_uncertainty_is_not():
    # Three combined standard uncertainties: 3 * sqrt(0.08^2 + 0.08^2) % = 0.34 %.
    assert asked(0.0065, earlier(0.0095)) == ()


def test_a_tooth_that_grows_is_questioned():
    past = earlier(3.2, 0.1, measurand=Measurand.SPROCKET_TOOTH_THICKNESS, method=Method.DIRECT)
    found = asked(4.1, past, measurand=Measurand.SPROCKET_TOOTH_THICKNESS, method=Method.DIRECT, u=0.1)
    assert kinds(found) == [DoubtKind.FELL]


def test_a_gauge_that_stays_out_where_a_rule_said_worn_is_questioned():
    gauge = Evaluated(low=float("-inf"), high=0.004, u_value=0.0005)
    found = history_doubts(CHAIN, Method.GAUGE, gauge, [earlier(0.009, method=Method.GAUGE)])
    assert DoubtKind.FELL in kinds(found)


def test_slack_in_inches_is_noticed_beside_the_last_one():
    past = earlier(30.0, 2.5, measurand=Measurand.SLACK, method=Method.DIRECT)
    found = asked(1.2, past, measurand=Measurand.SLACK, method=Method.DIRECT, u=2.5)
    assert kinds(found) == [DoubtKind.OTHER_UNIT]


def test_a_voided_reading_is_no_comparison():
    voided = Reading(
        vehicle_id=1,
        stage_id=1,
        installation_id=1,
        visit_id=1,
        on=date(2026, 3, 1),
        total_use=4000.0,
        measurand=CHAIN,
        method=Method.PIN_TO_PIN,
        value=0.02,
        u_value=0.0008,
        void_reason="typing slip",
    )
    assert DoubtKind.FELL not in kinds(asked(0.004, voided))


def test_an_instrument_past_its_check_is_named():
    caliper = Instrument(name="caliper 2", kind=InstrumentKind.CALIPER, calibration_due=date(2026, 1, 31))
    (doubt,) = instrument_doubts(caliper, date(2026, 2, 1))
    assert doubt.kind is DoubtKind.CALIBRATION_DUE
    assert "caliper 2" in doubt.question
    assert instrument_doubts(caliper, date(2026, 1, 31)) == ()


def test_a_retired_instrument_is_questioned():
    rule = Instrument(name="short rule", kind=InstrumentKind.RULE, retired_on=date(2025, 6, 1))
    assert "was retired" in instrument_doubts(rule, date(2026, 2, 1))[0].question
