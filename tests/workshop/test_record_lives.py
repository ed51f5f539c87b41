"""Lives of parts: the published remission example through the record, and what a life is."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from statsmodels.duration.survfunc import SurvfuncRight

from tests.makers.bench import TODAY, add_motorcycle, add_types
from wearlog.fleet.fitting import Installation, Position, RemovalReason
from wearlog.fleet.reading import Measurand
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.learn import learned
from wearlog.workshop.record_lives import Life, lives, survival
from wearlog.workshop.record_snapshot import Factor

# Weeks in remission on 6-MP; E. J. Freireich et al., Blood 21, 1963, 699-716; data and values from memory.
SIX_MP = (6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35)
RELAPSED = (1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0)
ANYWHERE = Installation(
    part_id=1, vehicle_id=1, stage_id=1, position=Position.RUN, fitted_on=date(2025, 1, 1), fitted_use=0.0
)


def life(use, is_worn, *, entry=0.0, is_known=True) -> Life:
    return Life(ANYWHERE, float(use), entry, bool(is_worn), not is_worn, is_known)


def curve_of(found):
    return survival(found, [{} for _one in found])[0]


def test_the_remission_example_comes_through_unchanged():
    # J. P. Klein, M. L. Moeschberger, Survival Analysis, 2nd ed. 2003, table 4.1B; from memory.
    curve = curve_of([life(*one) for one in zip(SIX_MP, RELAPSED, strict=True)])
    assert curve.share == pytest.approx([0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448], abs=6e-4)
    assert (curve.median, curve.n_parts, curve.n_worn, curve.n_running) == (23.0, 21, 9, 12)


def test_the_interval_of_the_median_is_that_of_the_reference_library():
    curve = curve_of([life(*one) for one in zip(SIX_MP, RELAPSED, strict=True)])
    # statsmodels, SurvfuncRight, intervals on the ln(-ln) scale; lifelines 0.30.3 gave the same.
    low, high = SurvfuncRight(np.array(SIX_MP, float), np.array(RELAPSED)).quantile_ci(0.5)
    assert curve.median_low == low
    assert curve.median_high == high == np.inf


def test_the_last_part_worn_does_not_make_the_end_certain():
    curve = curve_of([life(5.0, True), life(7.0, True), life(9.0, True), life(12.0, True)])
    assert curve.share[-1] == 0.0
    assert curve.high[-1] == curve.high[-2] > 0.0


def test_a_part_of_unknown_history_is_counted_but_left_out():
    curve = curve_of([life(5.0, True), life(7.0, False), life(2.0, True, is_known=False)])
    assert (curve.n_parts, curve.n_unknown) == (2, 1)


def test_a_part_bought_used_comes_in_late():
    curve = curve_of([life(5.0, True), life(7.0, True), life(9.0, False, entry=6.0)])
    assert curve.at_risk.tolist() == [2, 2]


def test_curves_are_told_apart_by_what_parts_have_in_common():
    found = [life(use, True) for use in (4, 5, 6, 10, 11, 12)]
    levels = [{Factor.DUTY: "off-road"}] * 3 + [{Factor.DUTY: "road"}] * 3
    by = survival(found, levels)[1]
    assert [(curve.level, curve.median) for curve in by[Factor.DUTY]] == [("road", 11.0), ("off-road", 5.0)]


def chain_lives(bench, today=TODAY):
    known = learned(bench)
    state = fleet_state(bench)
    family = next(f for key, f in known.families.items() if key[0] is Measurand.CHAIN_ELONGATION)
    return {
        state.vehicles[one.installation.vehicle_id].tag: one for one in lives(state, family, today).values()
    }


def test_a_life_ends_where_the_limit_was_passed_between_two_readings(bench):
    types = add_types(bench)
    add_motorcycle(
        bench, "LR-001", [(1000.0, 0.004), (2000.0, 0.012), (3000.0, 0.024)], types=types, limit=0.02
    )
    add_motorcycle(bench, "LR-002", [(1000.0, 0.004), (2000.0, 0.008)], types=types, limit=0.02)
    found = chain_lives(bench)
    # On the straight line from 1.2 % at 2000 km to 2.4 % at 3000 km the limit of 2 % lies at 2667 km.
    assert found["LR-001"].is_worn
    assert found["LR-001"].use == pytest.approx(2000.0 + 1000.0 * 0.8 / 1.2)
    assert not found["LR-002"].is_worn
    assert found["LR-002"].is_running
    assert found["LR-002"].use == pytest.approx(4000.0)


@pytest.mark.parametrize(
    ("reason", "is_worn"), [(RemovalReason.WORN, True), (RemovalReason.CONVERSION, False)]
)
def test_a_part_that_came_off_is_worn_only_if_it_came_off_for_that(bench, reason, is_worn):
    chain = add_motorcycle(bench, "LR-001", [(1000.0, 0.004)])
    with bench.database.writing(by="Tilda", at=bench.now(), what="off") as records:
        records.replace(replace(chain, removed_on=TODAY, removed_use=4500.0, removal_reason=reason))
    found = chain_lives(bench)["LR-001"]
    assert (found.is_worn, found.is_running, found.use) == (is_worn, False, 3500.0)
