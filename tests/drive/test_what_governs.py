"""Which limit comes first on a drive."""

import pytest

from wearlog.drive.chain import centre_distance
from wearlog.drive.governing import LimitKind, elongation_at_adjuster_end, governing_limit
from wearlog.fleet.limit import Limit
from wearlog.fleet.parts import WearClass
from wearlog.fleet.reading import Measurand

DRIVE = {"pitches": 116, "pitch_mm": 12.7, "small_sprocket_teeth": 14, "large_sprocket_teeth": 42}


def own_limit(percent):
    return Limit(
        measurand=Measurand.CHAIN_ELONGATION,
        wear_class=WearClass.OPEN_MOTORCYCLE_CHAIN,
        service_limit=percent / 100,
        source="the maker's manual",
    )


def test_the_service_limit_governs_a_drive_with_adjuster_to_spare():
    found = governing_limit(own_limit(1.7), adjuster_left_mm=30.0, **DRIVE)
    assert found.governing.kind is LimitKind.CLASS
    assert found.governing.source == "the maker's manual"
    assert "1.70 %" in found.why


def test_a_large_sprocket_governs_above_sixty_six_teeth_at_three_percent():
    # Diamond Chain Company, FAQ: 200/N falls below 3 % at 67 teeth.
    for teeth, kind in ((66, LimitKind.CLASS), (67, LimitKind.TEETH)):
        found = governing_limit(own_limit(3.0), large_sprocket_teeth=teeth)
        assert found.governing.kind is kind


def test_a_short_adjuster_ends_before_the_elongation_limit():
    # 7.40 mm of axle travel for each percent without climbing, exact geometry of 14/42 and 116 pitches.
    found = governing_limit(own_limit(3.0), adjuster_left_mm=10.0, **DRIVE)
    assert found.governing.kind is LimitKind.ADJUSTER
    assert found.governing.elongation == pytest.approx(0.01 * 10.0 / 7.404, rel=1e-3)


def test_travel_left_counts_from_the_elongation_at_which_it_was_read():
    late = elongation_at_adjuster_end(10.0, 0.006, 116, 12.7, 14, 42)
    assert late - elongation_at_adjuster_end(10.0, 0.0, 116, 12.7, 14, 42) == pytest.approx(0.006)


def test_a_chain_too_short_to_close_says_so_before_anything_else():
    found = governing_limit(own_limit(1.0), shortest_centre_mm=560.0, longest_centre_mm=590.0, **DRIVE)
    assert found.governing.kind is LimitKind.CLOSING
    assert "too short" in found.why


def test_a_chain_too_long_new_says_so():
    found = governing_limit(own_limit(1.0), shortest_centre_mm=520.0, longest_centre_mm=550.0, **DRIVE)
    assert found.governing.kind is LimitKind.CLOSING
    assert "too long" in found.why


def test_the_rear_end_of_the_adjuster_is_reached_at_some_elongation():
    new = centre_distance(116, 12.7, 14, 42)
    found = governing_limit(own_limit(3.0), shortest_centre_mm=540.0, longest_centre_mm=new + 7.404, **DRIVE)
    closing = next(limit for limit in found.limits if limit.kind is LimitKind.CLOSING)
    assert closing.elongation == pytest.approx(0.01, rel=1e-3)


def test_limits_come_in_order_and_each_says_where_it_comes_from():
    found = governing_limit(own_limit(1.7), adjuster_left_mm=20.0, longest_centre_mm=600.0, **DRIVE)
    assert [limit.elongation for limit in found.limits] == sorted(limit.elongation for limit in found.limits)
    assert len(found.limits) == 4
    assert all(limit.source and limit.why for limit in found.limits)


def test_what_is_missing_is_named_rather_than_guessed():
    found = governing_limit(None)
    assert found.governing is None
    assert len(found.unknown) == 3
