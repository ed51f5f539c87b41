"""A part moved between vehicles takes its distance and readings along."""

from datetime import timedelta

import pytest

from tests.makers.bench import TODAY, add_motorcycle, add_types
from wearlog.fleet.fitting import Installation, Position, RemovalReason
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.problem import WearlogError
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.judge import rules_of_vehicle
from wearlog.workshop.move_part import PartMove, look_at_move, move_part, places_for
from wearlog.workshop.undo import undo

READ_SO_FAR = [(500, 0.0010), (1500, 0.0022), (2800, 0.0040)]


@pytest.fixture
def pair(bench):
    """Two motorcycles of a kind; the chain of the first is measured."""
    types = add_types(bench)
    first = add_motorcycle(bench, "LR-001", READ_SO_FAR, types=types)
    second = add_motorcycle(bench, "LR-002", km_on_chain=2000.0, types=types)
    return first, second


def move_of(first, second, **more):
    plain = {
        "installation": first,
        "stage_id": second.stage_id,
        "position": Position.RUN,
        "on": TODAY,
        "takes_off": True,
    }
    return PartMove(**{**plain, **more})


def installations(bench, **equal):
    with bench.database.reading() as records:
        return records.all(Installation, live=True, **equal)


def test_the_distance_on_a_moved_chain_is_kept(bench, pair):
    first, second = pair
    assert look_at_move(bench, move_of(first, second)).part_use == pytest.approx(4000.0)
    changes = move_part(bench, move_of(first, second))
    old, new = installations(bench, part_id=first.part_id)
    assert (old.removed_on, old.removed_use, old.removal_reason) == (TODAY, 5000.0, RemovalReason.MOVED)
    assert (new.vehicle_id, new.fitted_use) == (second.vehicle_id, 3000.0)
    state = fleet_state(bench)
    assert state.use_on_part(new, 3500.0) == pytest.approx(4500.0)
    assert changes.vehicle_ids == {first.vehicle_id, second.vehicle_id}
    assert changes.what == "428 chain, 116 links moved from LR-001 to LR-002"


def test_the_readings_go_along_so_the_other_vehicle_is_worn_at_once(bench, pair):
    first, second = pair
    assert not any(rule.has_reading for rule in rules_of_vehicle(bench, second.vehicle_id).values())
    move_part(bench, move_of(first, second))
    (rule,) = [r for r in rules_of_vehicle(bench, second.vehicle_id).values() if r.has_reading]
    assert rule.median > 0.2


def test_what_sits_there_comes_off_only_when_it_is_said(bench, pair):
    first, second = pair
    with pytest.raises(WearlogError, match="sits there since") as met:
        move_part(bench, move_of(first, second, takes_off=False))
    assert met.value.problems[0].offers[0].action == "take off"
    assert len(installations(bench, part_id=first.part_id)) == 1
    move_part(bench, move_of(first, second))
    (gone,) = installations(bench, part_id=second.part_id)
    assert gone.removed_on == TODAY


def test_a_move_is_taken_back_whole(bench, pair):
    first, second = pair
    undo(bench, move_part(bench, move_of(first, second, meter_to=3010.0, typed_to="3010")))
    (back,) = installations(bench, part_id=first.part_id)
    assert back.is_current
    assert all(one.is_current for one in installations(bench, stage_id=second.stage_id))
    with bench.database.reading() as records:
        assert not any(e.value == 3010.0 for e in records.all(MeterEntry, live=True))


def test_a_meter_value_typed_for_the_move_is_checked_and_kept(bench, pair):
    first, second = pair
    with pytest.raises(WearlogError, match="below the last entry"):
        move_part(bench, move_of(first, second, meter_to=100.0, typed_to="100"))
    move_part(bench, move_of(first, second, meter_to=3020.0, typed_to="3020"))
    assert installations(bench, part_id=first.part_id)[1].fitted_use == 3020.0


def test_a_chain_measured_here_later_was_not_moved_before(bench, pair):
    first, second = pair
    with pytest.raises(WearlogError, match="measured here on"):
        move_part(bench, move_of(first, second, on=TODAY - timedelta(days=100)))


def test_a_chain_goes_only_where_chains_go(bench, pair):
    first, second = pair
    places = places_for(bench, first)
    assert {(place.tag, place.position) for place in places} == {("LR-002", Position.RUN)}
    with pytest.raises(WearlogError, match="does not go on"):
        move_part(bench, move_of(first, second, position=Position.DRIVER))
