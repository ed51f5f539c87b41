"""What a removal says about wear: a part found worn stands for a reading, one that went along does not."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from tests.makers.bench import TODAY, add_motorcycle
from wearlog.fleet.fitting import Position, RemovalReason
from wearlog.fleet.reading import Measurand
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.learn import learned
from wearlog.workshop.record_lives import lives

OFF_ON = TODAY - timedelta(days=40)


def taken_off(bench, chain, reasons, days_later=0):
    """Take parts of a drive off: the chain on a day, the sprockets then or some days later."""
    state = fleet_state(bench)
    with bench.database.writing(by="Tilda", at=bench.now(), what="removal") as records:
        for one in state.installed_on[chain.stage_id]:
            if one.position in reasons:
                on = OFF_ON + timedelta(days=0 if one.position is Position.RUN else days_later)
                records.replace(
                    replace(one, removed_on=on, removed_use=4000.0, removal_reason=reasons[one.position])
                )


def of_driven_sprocket(bench, chain):
    """Return how many readings stand for the driven sprocket, and whether its life counts as worn out."""
    state = fleet_state(bench)
    family, row = next(
        (family, row)
        for key, family in learned(bench).families.items()
        if key[0] is Measurand.SPROCKET_TOOTH_THICKNESS
        for row, item in enumerate(family.items)
        if item.installation.position is Position.DRIVEN
    )
    part_id = family.items[row].installation.part_id
    return int(family.readings.count[row]), lives(state, family, TODAY)[part_id].is_worn


# Chain and sprockets are renewed as a set, whatever the sprockets look like; common practice, no source.
@pytest.mark.parametrize(
    ("chain_reason", "days_later", "expected"),
    [
        (RemovalReason.WORN, 0, (0, False)),
        (RemovalReason.WORN, 9, (1, True)),
        (RemovalReason.EARLY, 0, (1, True)),
    ],
    ids=["with its worn chain", "by itself", "its chain was still good"],
)
def test_a_sprocket_that_went_with_its_worn_chain_was_not_found_worn(
    bench, chain_reason, days_later, expected
):
    chain = add_motorcycle(bench, readings=[(1500.0, 0.004), (2900.0, 0.012)])
    reasons = {Position.RUN: chain_reason, Position.DRIVEN: RemovalReason.WORN}
    taken_off(bench, chain, reasons, days_later)
    assert of_driven_sprocket(bench, chain) == expected


def test_a_worn_chain_that_nobody_measured_stands_for_a_reading_also_in_a_set(bench):
    chain = add_motorcycle(bench)
    taken_off(bench, chain, {Position.RUN: RemovalReason.WORN, Position.DRIVEN: RemovalReason.WORN})
    family = next(f for key, f in learned(bench).families.items() if key[0] is Measurand.CHAIN_ELONGATION)
    assert family.readings.count.tolist() == [1]
    assert np.isinf(family.readings.hi[0, 0])
