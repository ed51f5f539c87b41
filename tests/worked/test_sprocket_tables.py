"""Sprocket diameters against published wheel tables and worked examples."""

from collections.abc import Callable

import pytest

from tests.worked.rows import reproduces, table
from wearlog.drive import sprocket

MM_PER_INCH = 25.4

#: Row id -> the same figure by this program. Inputs as in the row.
CASES: dict[str, Callable[[], float]] = {
    "PD-U25": lambda: sprocket.pitch_diameter(1.0, 25),
    "OD-U25": lambda: sprocket.tip_diameter_us(1.0, 25),
    "OD-120-25": lambda: sprocket.tip_diameter_us(38.1, 25),
    "PD-40-17": lambda: sprocket.pitch_diameter(0.5, 17),
    "PD-step": lambda: sprocket.pitch_diameter(0.5, 18) - sprocket.pitch_diameter(0.5, 17),
    "PD-34": lambda: sprocket.pitch_diameter(12.7, 34),
    "RD-34a": lambda: sprocket.root_diameter(12.7, 34, 7.75),
    "RD-34b": lambda: sprocket.root_diameter(12.7, 34, 8.51),
    "PD-12B16": lambda: sprocket.pitch_diameter(19.05, 16),
    "MR-14": lambda: sprocket.over_pin_measure(12.7, 14, 8.51),
    "MR-15": lambda: sprocket.over_pin_measure(12.7, 15, 8.51),
    "MR-17": lambda: sprocket.over_pin_measure(12.7, 17, 8.51),
    "MR-42": lambda: sprocket.over_pin_measure(12.7, 42, 8.51),
    "MD-17": lambda: sprocket.caliper_diameter(12.7, 17, 7.92),
    "TD-max": lambda: sprocket.tip_diameter_max(12.7, 17, 7.92),
    "TD-min": lambda: sprocket.tip_diameter_min(12.7, 17, 7.92),
    "EL-X4": lambda: 100 * sprocket.elongation_at_tip(12.7, 60, 7.92),
    "EL-I2": lambda: sprocket.pitch_circle_growth(0.127, 42),
}
for _z in (*range(8, 22), 23, 25, 28, 30, 34, 38, 42, 45, 48, 52, 60, 80, 120):
    CASES[f"PD-{_z:03}"] = lambda z=_z: sprocket.pitch_diameter(MM_PER_INCH, z)
for _z in (11, 16, 22, 32, 38):
    CASES[f"PDW-{_z:03}"] = lambda z=_z: sprocket.pitch_diameter(12.7, z)
#: Rows that are checked by a test of their own below.
OTHERS = {"TD-12B16"}


@pytest.mark.parametrize("row_id", CASES)
def test_a_published_sprocket_measure_comes_out(row_id):
    reproduces(row_id, CASES[row_id]())


def test_a_listed_tip_diameter_lies_between_the_least_and_the_greatest():
    listed = table()["TD-12B16"].values[0]
    assert sprocket.tip_diameter_min(19.05, 16, 12.07) < listed < sprocket.tip_diameter_max(19.05, 16, 12.07)


def test_two_inch_duplex_wheels_of_one_table_do_not_follow_the_formula():
    # A public table of 2 in duplex wheels gives 132.69 for z 8; the exact diameter is 132.75.
    assert sprocket.pitch_diameter(50.8, 8) == pytest.approx(132.75, abs=0.005)
