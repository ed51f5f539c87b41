"""Belt geometry and tension against worked examples of handbooks and course pages."""

import math
from collections.abc import Callable

import pytest

from tests.worked.rows import reproduces
from wearlog import units
from wearlog.drive import belt
from wearlog.drive.defaults import default_intervals
from wearlog.fleet.parts import DriveKind
from wearlog.fleet.quantity import Quantity
from wearlog.fleet.service import Task
from wearlog.fleet.vehicle import VehicleKind

N_PER_LBF = 4.4482216152605


def belt_inspection_km():
    return next(
        rule.every_km
        for rule in default_intervals()
        if rule.drive is DriveKind.BELT
        and rule.task is Task.INSPECTED
        and rule.vehicle_kind is VehicleKind.ELECTRIC_MOTORCYCLE
    )


CASES: dict[str, Callable[[], float]] = {
    "BL-C1": lambda: belt.belt_length(100.0, 2.0, 20, 60) / 2.0,
    "BL-C2": lambda: belt.belt_centre_distance(140, 2.0, 20, 60),
    "BL-B1": lambda: belt.pulley_pitch_diameter(5.0, 38),
    "BL-B2": lambda: belt.belt_centre_distance(990 / 5, 5.0, 38, 114),
    "BL-B3": lambda: math.degrees(belt.belt_wraps(299.0, 5.0, 38, 114)[0]),
    "BL-B4": lambda: belt.tensioning_travel(990.0),
    "BF-2": lambda: belt.tension_of_frequency(30.0, 472.88, 0.0735),
    "BF-3": lambda: belt.tension_of_frequency(30.0, 472.88, 6.126e-3 * 12),
    "BF-4": lambda: belt.frequency_of_tension(59.1687, 472.88, 0.0735),
    "BD-1": lambda: belt.handbook_deflection(10.0),
    "BD-2": lambda: belt.deflection_force(32.0, 10.0, belt.handbook_deflection(10.0)),
    "BD-3": lambda: belt.deflection_force(1.0, 1.0, 1 / 64),
    "BD-4": lambda: belt.handbook_deflection(25.0),
    "BS-1": belt_inspection_km,
    "TQ-8": lambda: units.parse("75 lbf.ft", Quantity.TORQUE).value,
}
#: Checked by a test of its own below.
OTHERS = {"BF-V1", "BF-V2"}


@pytest.mark.parametrize("row_id", CASES)
def test_a_published_belt_figure_comes_out(row_id):
    reproduces(row_id, CASES[row_id]())


def test_frequency_and_deflection_of_one_motorcycle_belong_to_one_belt():
    # 10 lbf deflecting by 12 mm and 32 Hz on the same span: together they imply m L = F / (16 delta f^2).
    frequency_hz, deflection_mm = 32.0, 12.0
    span_mm = 480.0
    tension_n = belt.tension_of_deflection(10 * N_PER_LBF, span_mm, deflection_mm)
    mass = tension_n / (4 * (1e-3 * span_mm * frequency_hz) ** 2)
    assert mass * 1e-3 * span_mm == pytest.approx(0.226, abs=0.001)


def test_the_length_of_an_open_belt_agrees_with_the_usual_approximation():
    # L = 2 C + pi (d1 + d2) / 2 + (d2 - d1)^2 / (4 C), Roloff/Matek.
    small, large, centre = belt.pulley_pitch_diameter(8.0, 24), belt.pulley_pitch_diameter(8.0, 72), 400.0
    usual = 2 * centre + math.pi * (small + large) / 2 + (large - small) ** 2 / (4 * centre)
    assert belt.belt_length(centre, 8.0, 24, 72) == pytest.approx(usual, rel=2e-5)
