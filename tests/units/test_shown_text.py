"""How values are written for people."""

import locale

import pytest

from wearlog import units
from wearlog.fleet.quantity import Quantity, ShownUnits

SEAT = ShownUnits()
THIN, NARROW = "\u2009", "\u202f"


@pytest.mark.parametrize(
    ("value", "quantity", "u", "text"),
    [
        (0.0145, Quantity.ELONGATION, 0.0005, f"1.45 ± 0.05{THIN}%"),
        (0.0145, Quantity.ELONGATION, 0.00013, f"1.450 ± 0.013{THIN}%"),
        (0.0145, Quantity.ELONGATION, None, f"1.45{THIN}%"),
        (-0.0005, Quantity.ELONGATION, None, f"\u22120.05{THIN}%"),
        (12362.4, Quantity.DISTANCE, None, f"12{NARROW}362{THIN}km"),
        (1234567.0, Quantity.DISTANCE, None, f"1{NARROW}234{NARROW}567{THIN}km"),
        (9812.0, Quantity.DISTANCE, None, f"9812{THIN}km"),
        (12362.4, Quantity.DISTANCE, 123.0, f"12{NARROW}360 ± 120{THIN}km"),
        (98.0, Quantity.TORQUE, None, f"98.0{THIN}N·m"),
        (21.0, Quantity.TEMPERATURE, None, f"21{THIN}°C"),
        (20.0, Quantity.COUNT, None, "20"),
        (0.62, Quantity.SHARE, None, f"62{THIN}%"),
        (59.1687, Quantity.FORCE, 7.4, f"59 ± 7{THIN}N"),
    ],
)
def test_a_value_is_written_for_people(value, quantity, u, text):
    assert units.show(value, quantity, SEAT, u=u) == text


# Particle Data Group, Review of Particle Physics, introduction 5.3, from memory: 0.827 with 0.119 and 0.367.
@pytest.mark.parametrize(
    ("value", "u", "text"),
    [(0.827, 0.119, "0.83 ± 0.12"), (0.827, 0.367, "0.8 ± 0.4"), (0.827, 0.0952, "0.83 ± 0.10")],
)
def test_digits_follow_the_uncertainty(value, u, text):
    assert units.show(value, Quantity.LENGTH, SEAT, u=u, unit=False) == text


def test_no_more_digits_are_written_than_the_uncertainty_supports():
    assert units.show(254.6789, Quantity.LENGTH, SEAT, u=0.5, decimals=3, with_u=False) == f"254.7{THIN}mm"


def test_a_seat_may_read_in_inches_and_miles():
    seat = ShownUnits(length="in", distance="mi")
    assert units.show(254.0, Quantity.LENGTH, seat) == f"10.000{THIN}in"
    assert units.show_parts(1609.344, Quantity.DISTANCE, seat) == ("1000", "mi")


def test_nothing_known_and_no_end_are_written_as_signs():
    assert units.show_parts(float("nan"), Quantity.LENGTH, SEAT)[0] == "\u2013"
    assert units.show_parts(float("-inf"), Quantity.ELONGATION, SEAT)[0] == "\u2212\u221e"


def test_zero_has_no_minus():
    assert units.show(-0.0000001, Quantity.ELONGATION, SEAT) == f"0.00{THIN}%"


def test_the_decimal_mark_is_the_persons_own(monkeypatch):
    monkeypatch.setattr(locale, "localeconv", lambda: {"decimal_point": ","})
    assert units.show(118.2, Quantity.LENGTH, SEAT) == f"118,20{THIN}mm"
    assert units.parse(units.show(118.2, Quantity.LENGTH, SEAT), Quantity.LENGTH).value == 118.2
