"""Chordal action, articulation, sliding, slack and sag."""

import math
from collections.abc import Callable

import pytest

from tests.worked.rows import reproduces, table
from wearlog.drive import motion, slack
from wearlog.drive.loop import solve_rising

CASES: dict[str, Callable[[], float]] = {
    "AR-1": lambda: math.degrees(motion.articulation_angle(14)),
    "AR-2": lambda: motion.chain_turns_per_km(42, 116, 1900.0),
    "AR-3": lambda: motion.articulations_per_km(42, 116, 1900.0),
    "AR-4": lambda: motion.sliding_per_km(14, 42, 116, 1900.0, 4.51, is_under_load_only=False),
    "AR-5": lambda: motion.sliding_per_km(14, 42, 116, 1900.0, 4.51),
    "AR-6": lambda: 100 * motion.elongation_of_sliding(5e-6, 10.0, 257.1, 12.7),
    "SL-R1": lambda: slack.handbook_slack(1000.0),
    "SL-R2": lambda: slack.handbook_slack(1000.0, is_shock_drive=True),
    "SL-X1": lambda: slack.lift_for_excess_length(1.0, 560.0),
    "SL-X5": lambda: slack.lift_for_excess_length(5.0, 560.0),
    "SL-X10": lambda: slack.lift_for_excess_length(10.0, 560.0),
    "SL-P": lambda: slack.sag_for_excess_length(5.0, 560.0),
    "SL-Q": lambda: slack.sag_for_excess_length(1e-4, 560.0) / slack.lift_for_excess_length(1e-4, 560.0),
}
for _z in (9, 11, 13, 14, 15, 17, 19, 21, 25):
    CASES[f"PG-{_z:02}"] = lambda z=_z: 100 * motion.chordal_variation(z)
#: Checked by a test of its own below.
OTHERS = {"SL-C"}


@pytest.mark.parametrize("row_id", CASES)
def test_a_published_or_derived_figure_of_motion_or_slack_comes_out(row_id):
    reproduces(row_id, CASES[row_id]())


def test_the_parabola_is_three_tenths_of_a_percent_short_of_the_catenary():
    span, excess = 560.0, 5.0
    parameter = solve_rising(lambda a: -2 * a * math.sinh(span / (2 * a)), -(span + excess), 100.0, 1e5)
    sag = parameter * (math.cosh(span / (2 * parameter)) - 1)
    reproduces("SL-C", sag)
    assert slack.sag_for_excess_length(excess, span) / sag == pytest.approx(0.997, abs=0.0005)


def test_makers_slack_for_a_level_drive_lies_where_handbooks_have_it():
    # Four to six percent of the centre distance for slow drives, two to three for reversing ones.
    low, high = (float(part) for part in table()["SL-D1"].value.split("-"))
    assert low <= 100 * slack.handbook_slack(560.0) / 560.0 <= high
    low, high = (float(part) for part in table()["SL-D2"].value.split("-"))
    assert low <= 100 * slack.handbook_slack(560.0, is_shock_drive=True) / 560.0 <= high
