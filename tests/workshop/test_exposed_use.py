"""Parts that ran on different sprockets, pooled by Archard's law."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.makers.bench import TODAY, add_motorcycle
from wearlog.fleet.fitting import Installation, Position, RemovalReason
from wearlog.fleet.parts import Part, PartType
from wearlog.fleet.reading import Measurand
from wearlog.workshop.exposed_use import USUAL, ExposedUse
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.outlook import outlooks
from wearlog.workshop.predict import trend_snapshot
from wearlog.workshop.trend_snapshot import MEDIAN
from wearlog.workshop.wear_items import wear_items

STEADY = [(500, 0.0012), (1500, 0.0026), (2500, 0.0040), (3500, 0.0054)]
#: 42 teeth behind: (1/12 + 1/42) / (1/14 + 1/42), Archard at the same pull at the wheel.
TWELVE_FOR_FOURTEEN = (1 / 12 + 1 / 42) / (1 / 14 + 1 / 42)


def small_sprocket(bench):
    with bench.database.writing(by="Tilda", at=bench.now(), what="sprocket") as records:
        fourteen = records.first(PartType, name="428 sprocket 14")
        return records.add(replace(fourteen, id=0, version=0, name="428 sprocket 12", teeth=12))


def fit_small_sprocket(bench, chain, at_km):
    """Change the driver to 12 teeth when the chain had run so far."""
    twelve = small_sprocket(bench)
    with bench.database.writing(by="Tilda", at=bench.now(), what="change") as records:
        old = records.first(Installation, vehicle_id=chain.vehicle_id, position=Position.DRIVER)
        use = 1000.0 + at_km
        records.replace(
            replace(old, removed_on=TODAY, removed_use=use, removal_reason=RemovalReason.CONVERSION)
        )
        part = records.add(Part(part_type_id=twelve.id))
        records.add(
            Installation(
                part_id=part.id,
                vehicle_id=chain.vehicle_id,
                stage_id=chain.stage_id,
                position=Position.DRIVER,
                fitted_on=TODAY,
                fitted_use=use,
            )
        )


@given(
    st.lists(st.floats(0.2, 5.0), min_size=1, max_size=5),
    st.lists(st.floats(1.0, 5000.0), min_size=4, max_size=4),
    st.floats(0.0, 30_000.0),
)
def test_distance_counted_and_back_is_the_same(factors, lengths, use):
    since = tuple(np.concatenate([[0.0], np.cumsum(lengths)])[: len(factors)].tolist())
    counted = ExposedUse(since, tuple(factors))
    assert float(counted.use(counted.exposed(use))) == pytest.approx(use, rel=1e-9, abs=1e-6)


def test_the_usual_set_up_counts_as_it_is():
    assert float(USUAL.exposed(1234.5)) == 1234.5


def test_each_stretch_counts_with_its_own_factor():
    counted = ExposedUse((0.0, 1000.0), (1.0, 1.5))
    assert counted.exposed([500.0, 1000.0, 3000.0]).tolist() == [500.0, 1000.0, 4000.0]


def test_a_smaller_sprocket_makes_the_distance_ahead_count_more(bench):
    usual = add_motorcycle(bench, "LR-001", STEADY)
    with bench.database.reading() as records:
        types = {t.name: t for t in records.all(PartType)}
    known = {
        "chain": types["428 chain"],
        "driver": types["428 sprocket 14"],
        "driven": types["428 sprocket 42"],
    }
    add_motorcycle(bench, "LR-002", STEADY, types=known)
    changed = add_motorcycle(bench, "LR-003", STEADY, types=known)
    fit_small_sprocket(bench, changed, 4000.0)
    found = outlooks(bench)
    same = found[usual.id, Measurand.CHAIN_ELONGATION].item
    other = found[changed.id, Measurand.CHAIN_ELONGATION].item
    assert same.exposed.is_usual
    assert other.exposed.now == pytest.approx(TWELVE_FOR_FOURTEEN)
    assert float(other.exposed.exposed(5000.0)) == pytest.approx(4000.0 + 1000.0 * TWELVE_FOR_FOURTEEN)


def test_a_smaller_sprocket_brings_the_limit_nearer(bench):
    usual = add_motorcycle(bench, "LR-001", STEADY)
    with bench.database.reading() as records:
        types = {t.name: t for t in records.all(PartType)}
    known = {
        "chain": types["428 chain"],
        "driver": types["428 sprocket 14"],
        "driven": types["428 sprocket 42"],
    }
    add_motorcycle(bench, "LR-002", STEADY, types=known)
    changed = add_motorcycle(bench, "LR-003", STEADY, types=known)
    fit_small_sprocket(bench, changed, 4000.0)
    before = trend_snapshot(bench, usual.vehicle_id, usual.id)
    after = trend_snapshot(bench, changed.vehicle_id, changed.id)
    left_before = before.limit_use[MEDIAN] - 4000.0
    left_after = after.limit_use[MEDIAN] - 4000.0
    assert left_after == pytest.approx(left_before / TWELVE_FOR_FOURTEEN, rel=0.02)
    assert after.exposure == pytest.approx(TWELVE_FOR_FOURTEEN)


def test_where_the_geometry_is_not_known_nothing_is_scaled(bench):
    chain = add_motorcycle(bench, "LR-001", STEADY)
    with bench.database.writing(by="Tilda", at=bench.now(), what="unknown") as records:
        for part_type in records.all(PartType):
            if part_type.teeth is not None:
                records.replace(replace(part_type, teeth=None))
    items, _setups = wear_items(fleet_state(bench))
    assert all(item.exposed.is_usual for family in items.values() for item in family)
    assert trend_snapshot(bench, chain.vehicle_id, chain.id).exposure == 1.0
