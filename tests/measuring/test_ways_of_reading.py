"""What the service sheet and the job card say about each way of reading."""

import pytest

from wearlog.fleet.problem import WearlogError
from wearlog.fleet.quantity import Quantity
from wearlog.fleet.reading import Measurand, Method
from wearlog.measuring import belt, sprocket
from wearlog.measuring.how_to import general_cautions, how_to, methods_for
from wearlog.units import units_for


@pytest.mark.parametrize("measurand", list(Measurand))
def test_every_measurand_can_be_read_and_says_how(measurand):
    methods = methods_for(measurand)
    assert methods
    for method in methods:
        way = how_to(measurand, method)
        assert way.spots >= 1
        assert way.label
        assert way.how.endswith(".")
        assert way.default_unit in units_for(way.spot_quantity)


def test_every_method_is_used_somewhere():
    assert {method for measurand in Measurand for method in methods_for(measurand)} == set(Method)


def test_a_chain_is_read_over_an_even_number_of_pitches_at_three_places():
    for method in (Method.PIN_TO_PIN, Method.INSIDE_AND_OUTSIDE):
        way = how_to(Measurand.CHAIN_ELONGATION, method)
        assert way.suggested_pitches % 2 == 0
        assert way.spots == 3
        assert way.spot_quantity is Quantity.LENGTH


def test_a_method_that_does_not_fit_is_refused_with_those_that_do():
    with pytest.raises(WearlogError, match="Choose one of: direct"):
        how_to(Measurand.SLACK, Method.GAUGE)


def test_cautions_begin_with_the_motor():
    assert "Battery isolated" in general_cautions()[0]


def test_grades_go_from_as_new_to_change():
    for grades in (belt.grades(), sprocket.grades()):
        assert len(grades) == 4
        assert grades[3].endswith("change")


def test_half_a_tooth_left_is_the_end_of_the_allowance_one_way():
    new = sprocket.nominal_tooth_thickness(12.7, 8.51)
    limit = sprocket.thickness_limit(12.7, 8.51)
    assert sprocket.allowance_of_thickness(new, new, limit) == 0.0
    assert sprocket.allowance_of_thickness(limit, new, limit) == pytest.approx(1.0)


def test_rollers_wider_than_the_pitch_are_refused():
    with pytest.raises(WearlogError, match="leave no tooth"):
        sprocket.nominal_tooth_thickness(12.7, 15.0)


def test_a_limit_above_the_new_tooth_is_refused():
    with pytest.raises(WearlogError, match="not below"):
        sprocket.allowance_of_thickness(3.0, 4.2, 4.5)
