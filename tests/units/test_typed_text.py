"""What a mechanic types, and what it means."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wearlog import units
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.quantity import CANONICAL_UNIT, Quantity, ShownUnits

LENGTH, DISTANCE, ELONGATION = Quantity.LENGTH, Quantity.DISTANCE, Quantity.ELONGATION


@pytest.mark.parametrize(
    ("text", "quantity", "default_unit", "value", "resolution"),
    [
        ("12.7 in", LENGTH, None, 322.58, 2.54),
        ("118 mm", LENGTH, None, 118.0, 1.0),
        ("118mm", LENGTH, None, 118.0, 1.0),
        ("118,2 mm", LENGTH, None, 118.2, 0.1),
        ("12 3/4 in", LENGTH, None, 323.85, 6.35),
        ("12-3/4 in", LENGTH, None, 323.85, 6.35),
        ("12¾ in", LENGTH, None, 323.85, 6.35),
        ("3/8 in", LENGTH, None, 9.525, 3.175),
        ('1 1/2"', LENGTH, None, 38.1, 12.7),
        ("10 1/16", LENGTH, "in", 255.5875, 1.5875),
        ("254.6", LENGTH, None, 254.6, 0.1),
        ("25.46 cm", LENGTH, None, 254.6, 0.1),
        ("12 362 km", DISTANCE, None, 12362.0, 1.0),
        ("12\u202f362\u2009km", DISTANCE, None, 12362.0, 1.0),
        ("12'362", DISTANCE, None, 12362.0, 1.0),
        ("1,234,567 km", DISTANCE, None, 1234567.0, 1.0),
        ("1.234,5 km", DISTANCE, None, 1234.5, 0.1),
        ("100 mi", DISTANCE, None, 160.9344, 1.609344),
        ("0.75 %", ELONGATION, None, 0.0075, 0.0001),
        ("0.75", ELONGATION, "%", 0.0075, 0.0001),
        ("0.0075", ELONGATION, None, 0.0075, 0.0001),
        ("\u22120.1%", ELONGATION, None, -0.001, 0.001),
        ("5 mm/m", ELONGATION, None, 0.005, 0.001),
        ("32 Hz", Quantity.FREQUENCY, None, 32.0, 1.0),
        ("10 lbf", Quantity.FORCE, None, 44.482216, 4.4482216),
        ("10 lb", Quantity.FORCE, None, 44.482216, 4.4482216),
        ("73.5 g/m", Quantity.LINEAR_DENSITY, None, 0.0735, 0.0001),
        ("75 lbf.ft", Quantity.TORQUE, None, 101.68636, 1.3558179),
        ("75 ft-lb", Quantity.TORQUE, None, 101.68636, 1.3558179),
        ("98 N m", Quantity.TORQUE, None, 98.0, 1.0),
        ("98 N·m", Quantity.TORQUE, None, 98.0, 1.0),
        ("98 Nm", Quantity.TORQUE, None, 98.0, 1.0),
        ("3200 rpm", Quantity.ROTATIONAL_SPEED, None, 3200.0, 1.0),
        ("3200 1/min", Quantity.ROTATIONAL_SPEED, None, 3200.0, 1.0),
        ("70 °F", Quantity.TEMPERATURE, None, 21.11111, 0.5555556),
        ("-4 degC", Quantity.TEMPERATURE, None, -4.0, 1.0),
        ("28 mph", Quantity.SPEED, None, 45.061632, 1.609344),
        ("90 min", Quantity.RUNNING_TIME, None, 1.5, 1 / 60),
        ("15 hp", Quantity.POWER, None, 11.1855, 0.7456999),
        ("2.5e2 mm", LENGTH, None, 250.0, 10.0),
        ("20", Quantity.COUNT, None, 20.0, 1.0),
    ],
)
def test_a_value_is_understood_as_typed(text, quantity, default_unit, value, resolution):
    typed = units.parse(text, quantity, default_unit)
    assert typed.value == pytest.approx(value, rel=1e-6)
    assert typed.resolution == pytest.approx(resolution, rel=1e-6)
    assert (typed.text, typed.quantity) == (text, quantity)


@pytest.mark.parametrize(
    ("text", "quantity", "part_of_the_sentence"),
    [
        ("", LENGTH, "Nothing was typed"),
        ("   ", LENGTH, "Nothing was typed"),
        ("12 N", LENGTH, "gives force, but length"),
        ("3 %", LENGTH, "gives elongation, but length"),
        ("12 mm", DISTANCE, "gives length, but distance"),
        ("worn", LENGTH, "“worn” is not a number"),
        ("mm", LENGTH, "is not a number"),
        ("nan", LENGTH, "is not a number"),
        ("inf mm", LENGTH, "is not a number"),
        ("1e999", LENGTH, "too large"),
        ("12.3.4 mm", LENGTH, "is not a number"),
        ("1/0 in", LENGTH, "is not a number"),
        ("12 bananas", LENGTH, "“bananas” in “12 bananas”"),
        ("12 mm in", LENGTH, "two units"),
        ("12 mm 3 in", LENGTH, "more than one number"),
        ("254.1 254.3", LENGTH, "more than one number"),
        ("12,362 km", DISTANCE, "can be read as 12.362 or as 12362"),
        ("5 kW", Quantity.TORQUE, "gives power, but torque"),
    ],
)
def test_what_cannot_be_understood_is_named_with_an_example(text, quantity, part_of_the_sentence):
    with pytest.raises(WearlogError) as caught:
        units.parse(text, quantity)
    problem = caught.value.problems[0]
    assert part_of_the_sentence in problem.what
    assert problem.todo.startswith("Type for example")


def test_three_spots_are_typed_in_one_field():
    spots = units.parse_several("254.6 254.9; 254.7 mm", LENGTH)
    assert [spot.value for spot in spots] == [254.6, 254.9, 254.7]
    assert [spot.resolution for spot in spots] == pytest.approx([0.1] * 3)


def test_a_unit_counts_for_the_spots_before_it():
    spots = units.parse_several("10 1/16 10 1/8 in", LENGTH)
    assert [spot.value for spot in spots] == pytest.approx([255.5875, 257.175])


def test_one_spot_alone_is_read_like_any_value():
    assert [spot.value for spot in units.parse_several("12 362", DISTANCE)] != []
    assert units.parse_several("0.62 %", ELONGATION)[0].value == pytest.approx(0.0062)


def test_one_bad_spot_is_refused_with_the_rest():
    with pytest.raises(WearlogError):
        units.parse_several("254.6 254.x 254.7", LENGTH)


def test_the_first_unit_of_each_quantity_is_the_canonical_one():
    for quantity in Quantity:
        assert units.units_for(quantity)[0] == CANONICAL_UNIT[quantity]
        assert units.factor(CANONICAL_UNIT[quantity], quantity) == 1.0


# NIST SP 811, appendix B.8: the international foot, pound-force and mechanical horsepower.
@pytest.mark.parametrize(
    ("unit", "quantity", "size"),
    [
        ("in", LENGTH, 25.4),
        ("ft", LENGTH, 304.8),
        ("mi", DISTANCE, 1.609344),
        ("lbf", Quantity.FORCE, 4.448222),
        ("kgf", Quantity.FORCE, 9.80665),
        ("lbf.ft", Quantity.TORQUE, 1.355818),
        ("lbf.in", Quantity.TORQUE, 0.1129848),
        ("lb/ft", Quantity.LINEAR_DENSITY, 1.488164),
        ("mph", Quantity.SPEED, 1.609344),
        ("hp", Quantity.POWER, 0.7456999),
        ("PS", Quantity.POWER, 0.7354988),
        ("degF", Quantity.TEMPERATURE, 5 / 9),
        ("%", Quantity.SHARE, 0.01),
    ],
)
def test_factors_are_those_of_the_published_tables(unit, quantity, size):
    assert units.factor(unit, quantity) == pytest.approx(size, rel=5e-7)


def test_fixed_points_of_the_temperature_scales_agree():
    assert units.in_unit(100.0, Quantity.TEMPERATURE, "degF") == pytest.approx(212.0)
    assert units.from_unit(32.0, Quantity.TEMPERATURE, "degF") == pytest.approx(0.0, abs=1e-9)
    assert units.in_unit(0.0, Quantity.TEMPERATURE, "K") == pytest.approx(273.15)


def test_a_unit_of_another_quantity_has_no_factor():
    with pytest.raises(WearlogError, match="not a unit of length"):
        units.factor("lbf", LENGTH)


CHOICES = st.builds(
    ShownUnits,
    length=st.sampled_from(["mm", "in", "cm"]),
    distance=st.sampled_from(["km", "mi"]),
    elongation=st.sampled_from(["%", "1", "mm/m"]),
    force=st.sampled_from(["N", "lbf"]),
    torque=st.sampled_from(["N.m", "lbf.ft"]),
    speed=st.sampled_from(["km/h", "mph"]),
    temperature=st.sampled_from(["degC", "degF"]),
)


@settings(deadline=None)
@given(
    value=st.floats(-1e6, 1e6, allow_nan=False),
    quantity=st.sampled_from(list(Quantity)),
    shown=CHOICES,
    decimals=st.integers(0, 6),
)
def test_what_is_shown_can_be_typed_again(value, quantity, shown, decimals):
    text = units.show(value, quantity, shown, decimals=decimals)
    step = units.factor(shown.unit_of(quantity), quantity) * 10.0**-decimals
    again = units.parse(text, quantity, shown.unit_of(quantity)).value
    assert again == pytest.approx(value, abs=0.5001 * step, rel=1e-12)


@settings(deadline=None)
@given(text=st.text(alphabet="0123456789.,/-+ eE\u202fmin%kN'\"½", max_size=12))
def test_any_text_is_either_understood_or_refused_in_a_sentence(text):
    sentences = []
    for read in (units.parse, units.parse_several):
        try:
            sentences.append(str(read(text, LENGTH)))
        except WearlogError as error:
            sentences.append(str(error))
    assert all(sentences)


@given(
    text=st.one_of(
        st.text(max_size=20), st.from_regex(r"[-+]?[0-9.,' /]{0,12} ?[a-zA-Z%./0-9]{0,8}", fullmatch=True)
    ),
    quantity=st.sampled_from(list(Quantity)),
    data=st.data(),
)
def test_whatever_is_typed_is_a_finite_value_in_a_unit_of_the_quantity_or_refused(text, quantity, data):
    unit = data.draw(st.sampled_from([None, *units.units_for(quantity)]))
    for read in (units.parse, units.parse_several):
        try:
            found = read(text, quantity, unit)
        except WearlogError as error:
            told = [(problem.what, problem.todo) for problem in error.problems]
        else:
            values = found if isinstance(found, tuple) else (found,)
            told = [(math.isfinite(one.value), one.unit in units.units_for(quantity)) for one in values]
        assert told
        assert all(all(pair) for pair in told), text


@given(
    values=st.lists(st.integers(0, 99_999).map(lambda n: n / 100), min_size=1, max_size=6),
    mark=st.sampled_from([".", ","]),
    apart=st.sampled_from(["; ", " ", ";"]),
    unit=st.sampled_from(["", " mm", "mm", " in"]),
)
def test_several_spots_are_read_one_by_one(values, mark, apart, unit):
    text = apart.join(f"{value:.2f}".replace(".", mark) for value in values) + unit
    size = 25.4 if "in" in unit else 1.0
    found = [typed.value for typed in units.parse_several(text, LENGTH)]
    assert found == pytest.approx([value * size for value in values])
