"""Chain length and centre distance against textbook examples and exact geometry."""

import math
from collections.abc import Callable

import pytest

from tests.worked.rows import reproduces
from wearlog.drive import chain, motion, slack, sprocket
from wearlog.measuring.elongation import nominal_length

DRIVE = (116, 12.7, 14, 42)

CASES: dict[str, Callable[[], float]] = {
    "CL-B143L": lambda: chain.handbook_chain_length(500.0, 12.7, 21, 63),
    "CL-B143C": lambda: chain.handbook_centre_distance(122, 12.7, 21, 63),
    "CL-B144L": lambda: chain.handbook_chain_length(762.0, 19.05, 17, 34),
    "CL-B144D1": lambda: sprocket.pitch_diameter(19.05, 17),
    "CL-B144D2": lambda: sprocket.pitch_diameter(19.05, 34),
    "CL-B144C": lambda: 0.998 * chain.handbook_centre_distance(106, 19.05, 17, 34),
    "CS-B141": lambda: 31100 / motion.pull_of_power(14.32, motion.chain_speed(19.05, 17, 1000.0)),
    "CL-M1": lambda: chain.chain_length(500.0, 12.7, 15, 45),
    "CL-M2": lambda: chain.links_to_fit(chain.chain_length(500.0, 12.7, 15, 45)),
    "CL-M3": lambda: nominal_length(110, 12.7),
    "CL-P1": lambda: chain.handbook_centre_distance(114, 1.0, 20, 63),
    "CL-P2": lambda: chain.handbook_chain_length(36.0, 1.0, 20, 63),
    "CL-K1": lambda: chain.folded_length(104, 7.774, 6.5),
    "CL-K2": lambda: chain.folded_length(108, 7.774, 6.5),
    "CL-K3": lambda: 0.01 * nominal_length(106, 7.774),
    "CL-X1": lambda: chain.centre_distance(*DRIVE),
    "CL-X2": lambda: chain.handbook_centre_distance(*DRIVE),
    "CL-X3": lambda: slack.length_per_axle_travel(555.9167, 12.7, 14, 42),
    "CL-X4": lambda: slack.axle_travel_for_elongation(0.01, *DRIVE).low,
    "CL-X5": lambda: slack.axle_travel_for_elongation(0.01, *DRIVE).high,
    "CL-X6": lambda: slack.axle_travel_for_links_removed(2, *DRIVE),
    "CL-EB143": lambda: chain.centre_distance(122, 12.7, 21, 63),
    "CL-EM1": lambda: chain.centre_distance(110, 12.7, 15, 45),
}


@pytest.mark.parametrize("row_id", CASES)
def test_a_published_chain_length_or_centre_distance_comes_out(row_id):
    reproduces(row_id, CASES[row_id]())


def test_the_length_per_axle_travel_of_a_chain_is_two_cos_beta_but_for_a_trifle():
    # The radii of a chain are those of polygons, its turns carry z p: the wrap term does not quite cancel.
    step = 0.01
    grown = chain.chain_length(555.9167 + step, 12.7, 14, 42) - chain.chain_length(
        555.9167 - step, 12.7, 14, 42
    )
    exact = grown * 12.7 / (2 * step)
    assert exact == pytest.approx(slack.length_per_axle_travel(555.9167, 12.7, 14, 42), rel=5e-5)


def test_the_handbook_approximation_is_good_to_hundredths_of_a_millimetre_on_these_drives():
    # Exact and approximate centre distances of the three drives of the table differ by 0.002 to 0.018 mm.
    for drive, off_mm in (
        ((116, 12.7, 14, 42), 0.002),
        ((110, 12.7, 15, 45), 0.004),
        ((122, 12.7, 21, 63), 0.018),
    ):
        off = chain.handbook_centre_distance(*drive) - chain.centre_distance(*drive)
        assert off == pytest.approx(off_mm, abs=0.001)


def test_the_exact_formula_of_one_paper_does_not_follow_from_geometry():
    # An optimisation paper prints 114.305 pitches for 20 and 63 teeth at 36 pitches; geometry gives 114.80.
    assert chain.chain_length(36.0, 1.0, 20, 63) == pytest.approx(114.80, abs=0.01)


def test_wraps_of_both_sprockets_make_a_full_turn_together():
    assert sum(chain.wraps(555.9167, 12.7, 14, 42)) == pytest.approx(2 * math.pi)
