"""Elongation, its published limits, and the limit by tooth count."""

from collections.abc import Callable

import pytest

from tests.worked.rows import reproduces
from wearlog.drive.defaults import default_limits
from wearlog.drive.governing import elongation_limit_of_teeth, governing_limit
from wearlog.fleet.limit import Limit
from wearlog.fleet.parts import WearClass
from wearlog.fleet.reading import Measurand
from wearlog.measuring.elongation import (
    elongation_over_pitches,
    mean_of_inside_and_outside,
    nominal_length,
)

MM_PER_INCH = 25.4


def percent(length_mm, pitches, pitch_mm):
    return 100 * elongation_over_pitches(length_mm, pitches, pitch_mm, 0.0)[0]


def first_teeth_below(percent_limit):
    return next(z for z in range(9, 200) if 100 * elongation_limit_of_teeth(z) < percent_limit)


def governing_percent(own, teeth):
    limit = Limit(
        measurand=Measurand.CHAIN_ELONGATION,
        wear_class=WearClass.PRIMARY_ROLLER_CHAIN,
        service_limit=own,
        source="own",
    )
    return 100 * governing_limit(limit, large_sprocket_teeth=teeth).governing.elongation


def default_percent(wear_class):
    return next(
        100 * row.service_limit
        for row in default_limits()
        if row.wear_class is wear_class
        and row.measurand is Measurand.CHAIN_ELONGATION
        and not row.designation
    )


CASES: dict[str, Callable[[], float]] = {
    "EL-J": lambda: percent(307.2, 24, 12.7),
    "EL-K2": lambda: percent(323.0, 20, 15.875),
    "EL-K3": lambda: percent(318.2, 20, 15.875),
    "EL-K5": lambda: 1.017 * nominal_length(20, 12.7),
    "EL-Y2": lambda: percent(242.9, 15, 15.875),
    "EL-S2": lambda: percent(319.4, 20, 15.875),
    "EL-D2": lambda: default_percent(WearClass.PRIMARY_ROLLER_CHAIN),
    "EL-D3": lambda: first_teeth_below(3.0),
    "EL-D4": lambda: governing_percent(0.03, 80),
    "EL-D5": lambda: governing_percent(0.03, 48),
    "EL-W": lambda: percent(24.75 * MM_PER_INCH, 24, MM_PER_INCH),
    "EL-C1": lambda: percent((12 + 1 / 16) * MM_PER_INCH, 24, 12.7),
    "EL-C2": lambda: 0.01 * nominal_length(24, 12.7),
    "EL-C3": lambda: 0.005 * nominal_length(24, 12.7),
    "EL-C4": lambda: percent(11.125 * MM_PER_INCH, 22, 12.7),
    "EL-C5": lambda: percent(306.4, 24, 12.7),
    "EL-X1": lambda: 1.01 * nominal_length(10, 12.7) - 8.51,
    "EL-X2": lambda: 1.01 * nominal_length(10, 12.7) + 8.51,
    "EL-X3": lambda: percent(mean_of_inside_and_outside(119.760, 136.780), 10, 12.7),
}


@pytest.mark.parametrize("row_id", CASES)
def test_a_published_elongation_or_limit_comes_out(row_id):
    reproduces(row_id, CASES[row_id]())


# Lengths out of owner's and service manuals, and what they come to in percent of nominal.
@pytest.mark.parametrize(
    ("length_mm", "pitches", "pitch_mm", "expected"),
    [
        (319.4, 20, 15.875, 0.60),  # Suzuki GSX-R600 service manual p. 3A-10
        (272.0, 17, 15.875, 0.79),  # KTM 350 SX-F 2012 p. 46, printed as 18 rollers
        (320.5, 20, 15.875, 0.94),  # Suzuki GW250 owner's manual p. 2-17
        (256.5, 16, 15.875, 0.98),  # ducati.ms thread 727681
        (323.0, 20, 15.875, 1.73),  # Kawasaki KX250F, ZX-10R
        (242.9, 15, 15.875, 2.00),  # Yamaha YZ250F
    ],
)
def test_limits_printed_as_lengths_come_to_these_percentages(length_mm, pitches, pitch_mm, expected):
    assert percent(length_mm, pitches, pitch_mm) == pytest.approx(expected, abs=0.006)


def test_eighteen_rollers_are_seventeen_pitches():
    # The count printed as 18 in KTM manuals would make a worn chain 4.8 % too short.
    assert percent(272.0, 18, 15.875) == pytest.approx(-4.8, abs=0.05)
