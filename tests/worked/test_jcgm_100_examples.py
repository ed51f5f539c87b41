"""Worked examples of JCGM 100:2008 (Guide to the expression of uncertainty in measurement).

The figures of annex H are from memory; they are the ones in print in H.1 and H.2.
"""

import pytest

from wearlog.measuring.uncertainty import (
    combined,
    combined_relative,
    experimental_deviation,
    mean_of,
    pooled_deviation,
    u_of_half_width,
    u_of_mean,
    u_of_resolution,
)

# H.2, table H.2: five simultaneous observations of voltage, current and phase.
VOLTAGE_V = [5.007, 4.994, 5.005, 4.990, 4.999]
CURRENT_MA = [19.663, 19.639, 19.640, 19.685, 19.678]
PHASE_RAD = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433]


@pytest.mark.parametrize(
    ("observations", "mean", "u_mean", "digits"),
    [
        (VOLTAGE_V, 4.9990, 0.0032, 4),
        (CURRENT_MA, 19.6610, 0.0095, 4),
        (PHASE_RAD, 1.04446, 0.00075, 5),
    ],
)
def test_means_and_their_uncertainties_of_annex_h2_come_out(observations, mean, u_mean, digits):
    assert mean_of(observations) == pytest.approx(mean, abs=0.5 * 10**-digits)
    assert u_of_mean(observations) == pytest.approx(u_mean, abs=0.5 * 10**-digits)


def test_the_end_gauge_of_annex_h1_has_a_combined_uncertainty_of_32_nanometres():
    # H.1.4: standard 25 nm, difference 9.7 nm, expansion 2.9 nm, temperature difference 16.6 nm.
    assert combined(25.0, 9.7, 2.9, 16.6) == pytest.approx(32.0, abs=0.5)


def test_the_length_difference_of_annex_h1_has_an_uncertainty_of_9_7_nanometres():
    # H.1.3.2: repeated observations 5.8 nm, comparator random 3.9 nm, comparator systematic 6.7 nm.
    assert combined(5.8, 3.9, 6.7) == pytest.approx(9.7, abs=0.05)


def test_a_pooled_scatter_counts_for_a_few_observations():
    # H.1.3.2: an s of 13 nm from 25 comparisons gives 13 nm / sqrt(5) = 5.8 nm for five observations.
    assert pooled_deviation([1.0], usual=13.0, usual_freedom=24) / 5**0.5 == pytest.approx(5.8, abs=0.05)


def test_a_resolution_leaves_0_29_of_its_step():
    # F.2.2.1: u = 0.29 delta x.
    assert u_of_resolution(1.0) == pytest.approx(0.29, abs=0.005)


def test_a_rectangular_half_width_leaves_0_58_of_itself():
    # 4.3.7, equation (7): a / sqrt(3).
    assert u_of_half_width(1.0) == pytest.approx(0.577, abs=0.0005)


def test_relative_uncertainties_combine_with_their_exponents():
    # 5.1.6, example: P = C0 I^2 / (t0 + t): the relative variance of I^2 counts four times.
    assert combined_relative((2.0, 0.01)) == pytest.approx(0.02)


def test_one_observation_has_no_scatter_of_its_own():
    assert experimental_deviation([3.0]) == 0.0
