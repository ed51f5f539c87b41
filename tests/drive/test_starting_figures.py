"""The catalogue, limits and intervals that a workshop starts with."""

import pytest

from wearlog.drive.defaults import catalogue, default_intervals, default_limits
from wearlog.fleet.parts import DriveKind, PartKind, WearClass
from wearlog.fleet.reading import Measurand
from wearlog.fleet.service import Task
from wearlog.fleet.vehicle import VehicleKind


def elongation_limit(wear_class, designation=""):
    return next(
        row
        for row in default_limits()
        if row.measurand is Measurand.CHAIN_ELONGATION
        and row.wear_class is wear_class
        and row.designation == designation
    )


# Figures: workshop defaults where marked so in the file, else the source named there.
@pytest.mark.parametrize(
    ("wear_class", "designation", "percent"),
    [
        (WearClass.SEALED_MOTORCYCLE_CHAIN, "", 1.0),
        (WearClass.OPEN_MOTORCYCLE_CHAIN, "", 1.7),
        (WearClass.PRIMARY_ROLLER_CHAIN, "", 1.5),
        (WearClass.DERAILLEUR_CYCLE_CHAIN, "", 0.75),
        (WearClass.DERAILLEUR_CYCLE_CHAIN, "11-speed", 0.5),
        (WearClass.DERAILLEUR_CYCLE_CHAIN, "12-speed", 0.5),
        (WearClass.HUB_GEAR_CYCLE_CHAIN, "", 1.0),
    ],
)
def test_each_class_of_chain_has_its_limit(wear_class, designation, percent):
    assert elongation_limit(wear_class, designation).service_limit == pytest.approx(percent / 100)


def test_every_limit_names_its_source_and_stops_use_no_sooner_than_service():
    for row in default_limits():
        assert row.source
        assert row.service_limit != row.as_new
        if row.stop_use_limit is not None:
            assert row.allowance_used(row.stop_use_limit) >= 1.0 - 1e-9


def test_no_limit_stands_twice():
    scopes = [(row.measurand, row.wear_class, row.designation) for row in default_limits()]
    assert len(scopes) == len(set(scopes))


def test_motorcycle_limits_lie_within_what_makers_print():
    # 0.60 % (Suzuki GSX-R600) to 2.0 % (Yamaha YZ250F, Gas Gas EC).
    for kind in (WearClass.SEALED_MOTORCYCLE_CHAIN, WearClass.OPEN_MOTORCYCLE_CHAIN):
        assert 0.006 <= elongation_limit(kind).service_limit <= 0.02


def test_every_chain_in_the_catalogue_has_an_elongation_limit_of_its_class():
    limited = {row.wear_class for row in default_limits() if row.measurand is Measurand.CHAIN_ELONGATION}
    assert {part.wear_class for part in catalogue() if part.kind is PartKind.CHAIN} <= limited


def test_the_third_condition_grade_means_change():
    graded = {Measurand.BELT_CONDITION, Measurand.SPROCKET_CONDITION}
    rows = [row for row in default_limits() if row.measurand in graded]
    assert {row.measurand for row in rows} == graded
    assert {row.service_limit for row in rows} == {3.0}


def test_every_interval_names_its_source_and_when_it_comes_round():
    for rule in default_intervals():
        assert rule.source
        if rule.is_after_fitting:
            assert rule.first_km or rule.first_h or rule.first_days
        else:
            assert rule.every_km or rule.every_h or rule.every_days


@pytest.mark.parametrize("kind", list(VehicleKind))
def test_every_kind_of_vehicle_has_its_chain_lubricated_cleaned_checked_and_measured(kind):
    tasks = {
        rule.task
        for rule in default_intervals()
        if rule.vehicle_kind is kind and rule.drive is DriveKind.CHAIN and not rule.is_after_fitting
    }
    assert {Task.LUBRICATED, Task.CLEANED, Task.INSPECTED, Task.MEASURED} <= tasks


@pytest.mark.parametrize("drive", list(DriveKind))
@pytest.mark.parametrize("kind", list(VehicleKind))
def test_new_chains_and_belts_are_looked_at_again_soon(kind, drive):
    after_fitting = [
        rule
        for rule in default_intervals()
        if rule.is_after_fitting and rule.vehicle_kind in {None, kind} and rule.drive in {None, drive}
    ]
    assert {rule.task for rule in after_fitting} == {Task.TORQUE_CHECKED, Task.TENSION_SET}
    # Common practice, no source: torque after 50 to 100 km, a new chain after 100 to 300 km.
    torque = next(rule for rule in after_fitting if rule.task is Task.TORQUE_CHECKED)
    assert 50 <= torque.first_km <= 100
    if drive is DriveKind.CHAIN:
        tension = next(rule for rule in after_fitting if rule.task is Task.TENSION_SET)
        assert 100 <= tension.first_km <= 300


def test_parts_of_the_catalogue_can_be_told_apart_by_name():
    names = [part.name for part in catalogue()]
    assert len(names) == len(set(names))
