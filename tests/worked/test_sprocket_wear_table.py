"""Tooth thickness limits against the one published table."""

import pytest

from tests.worked.rows import reproduces, table
from wearlog.drive.catalogue import catalogue
from wearlog.drive.defaults import default_limits
from wearlog.fleet.reading import Measurand
from wearlog.measuring.sprocket import SHARE_LEFT_ONE_WAY, SHARE_LEFT_REVERSING, nominal_tooth_thickness

#: Name in the published table -> designation here.
NAMES = {
    "SW-RS25-1": "25",
    "SW-RS35-1": "35",
    "SW-RS41-1": "41",
    "SW-RS40-1": "40",
    "SW-RS50-1": "50",
    "SW-RS60-1": "60",
    "SW-RF06B-1": "06B",
    "SW-RS08B-1": "08B",
    "SW-10B-1": "10B",
    "SW-12B-1": "12B",
}
RATIOS = {
    "SWR-06B": "06B",
    "SWR-08B": "08B",
    "SWR-10B": "10B",
    "SWR-12B": "12B",
    "SWR-RS40": "40",
    "SWR-RS50": "50",
    "SWR-RS60": "60",
    "SWR-RS40rev": "40",
    "SWR-RS50rev": "50",
    "SWR-RS60rev": "60",
}
CASES = {*NAMES, *RATIOS}


def limit_of(designation):
    return next(
        row
        for row in default_limits()
        if row.measurand is Measurand.SPROCKET_TOOTH_THICKNESS and row.designation == designation
    )


@pytest.mark.parametrize("row_id", NAMES)
def test_default_tooth_limits_are_those_of_the_published_table(row_id):
    limit = limit_of(NAMES[row_id])
    if len(table()[row_id].values) == 2:
        # One direction first, then both: the stricter is the service limit here.
        reproduces(row_id, limit.stop_use_limit, limit.service_limit)
    else:
        reproduces(row_id, limit.service_limit)


@pytest.mark.parametrize("row_id", RATIOS)
def test_half_of_the_tooth_may_go_and_a_third_when_it_pulls_both_ways(row_id):
    limit = limit_of(RATIOS[row_id])
    has_two = limit.stop_use_limit is not None
    left_mm = limit.service_limit if row_id.endswith("rev") or not has_two else limit.stop_use_limit
    chain = next(part for part in catalogue() if part.designation == RATIOS[row_id])
    share = left_mm / nominal_tooth_thickness(chain.pitch_mm, chain.roller_diameter_mm)
    reproduces(row_id, share)
    usual = SHARE_LEFT_REVERSING if row_id.endswith("rev") else SHARE_LEFT_ONE_WAY
    assert share == pytest.approx(usual, abs=0.03)


def test_a_new_tooth_is_as_thick_as_pitch_less_roller():
    for row in default_limits():
        if row.measurand is Measurand.SPROCKET_TOOTH_THICKNESS:
            chain = next(part for part in catalogue() if part.designation == row.designation)
            new_mm = nominal_tooth_thickness(chain.pitch_mm, chain.roller_diameter_mm)
            assert row.as_new == pytest.approx(new_mm, abs=0.01), row.designation
