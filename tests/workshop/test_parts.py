"""What parts will be wanted and what to order, on the sample fleet and on a small one."""

from datetime import timedelta

import numpy as np
import pytest

from tests.makers.bench import SAMPLE_DAY
from wearlog.fleet.parts import PartKind
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.state import State
from wearlog.workshop.due import due_snapshot
from wearlog.workshop.due_snapshot import Action
from wearlog.workshop.parts import narrowed, of_line, parts_snapshot
from wearlog.workshop.parts_ahead import parts_ahead
from wearlog.workshop.parts_snapshot import Wanted
from wearlog.workshop.stock import count_shelf, place_orders, receive


def total(snapshot, kind):
    return sum(line.mean for line in snapshot.lines if line.kind is kind)


def test_what_is_past_its_limit_is_wanted_for_certain(sample):
    asked = {
        line.installation_id
        for line in due_snapshot(sample, 0).lines
        if line.action is Action.REPLACE and line.due_on <= SAMPLE_DAY
    }
    called_in = {one.installation.id for one in parts_ahead(sample, 8) if one.is_called_in}
    followed = {one.installation.id for one in parts_ahead(sample, 8)}
    assert asked
    assert called_in <= asked & followed
    past = {line.installation_id for line in due_snapshot(sample, 0).lines if line.state is State.PAST_LIMIT}
    assert past & asked & followed <= called_in
    assert all(one.chance[0] == 1.0 for one in parts_ahead(sample, 8) if one.is_called_in)


def test_the_expected_number_is_the_sum_over_the_vehicles(sample):
    snapshot = parts_snapshot(sample)
    ahead = parts_ahead(sample, 8)
    expected = sum(float(one.chance[-1]) for one in ahead)
    assert sum(line.mean for line in snapshot.lines) == pytest.approx(expected)
    for line in snapshot.lines:
        assert sum(line.chances) == pytest.approx(1.0, abs=1e-4)
        assert line.weeks[-1].few <= line.weeks[-1].many <= line.running


def test_a_longer_look_ahead_and_a_safer_level_want_no_less(sample):
    near, far = parts_snapshot(sample, 4), parts_snapshot(sample, 26)
    safe = parts_snapshot(sample, 4, 0.99)
    for line in near.lines:
        assert of_line(far, line.key).wanted >= line.wanted
        assert of_line(safe, line.key).wanted >= line.wanted


def test_chain_and_both_sprockets_of_a_worn_stage_are_ordered_as_a_set(sample):
    snapshot = parts_snapshot(sample)
    assert snapshot.sets
    for one in snapshot.sets:
        lines = [of_line(snapshot, (type_id, one.depot)) for type_id in one.part_type_ids]
        assert {line.kind for line in lines} == {PartKind.CHAIN, PartKind.SPROCKET}
        if any(line.order_now for line in lines):
            assert all(line.order_now or not line.short for line in lines)
        assert all(set(line.set_with) & set(one.names) for line in lines)


def test_both_sprockets_of_a_stage_come_with_the_same_chance(sample):
    stages = {}
    for one in parts_ahead(sample, 8):
        if one.installation.position.value != "run" and one.outlook is not None:
            stages.setdefault(one.installation.stage_id, []).append(one.chance)
    pairs = [pair for pair in stages.values() if len(pair) == 2]
    assert pairs
    for first, second in pairs:
        assert np.allclose(first, second)


def test_a_full_shelf_needs_no_order_and_an_empty_one_does(sample):
    short = next(line for line in parts_snapshot(sample).lines if line.order_now)
    assert short.order_by is not None
    assert short.order_by <= SAMPLE_DAY + timedelta(days=7)
    receive(sample, *short.key, short.wanted)
    filled = of_line(parts_snapshot(sample), short.key)
    assert (filled.order_now, filled.short, filled.order_by) == (0, 0, None)
    assert filled.chance_enough >= 0.95


def test_what_was_ordered_is_on_its_way_and_not_ordered_again(sample):
    short = next(line for line in parts_snapshot(sample).lines if line.order_now)
    place_orders(sample, [Wanted(*short.key, short.order_now)])
    after = of_line(parts_snapshot(sample), short.key)
    assert (after.on_order, after.order_now) == (short.order_now, 0)
    assert after.next_arrival == SAMPLE_DAY + timedelta(days=short.lead_days)


def test_a_longer_chain_on_the_shelf_is_cut_for_a_drive_that_needs_a_shorter_one(sample):
    snapshot = parts_snapshot(sample)
    long = next(line for line in snapshot.lines if line.name == "Chain 1/2 x 3/32 122 links")
    short = next(line for line in snapshot.lines if line.name == "Chain 1/2 x 3/32 114 links")
    assert short.mean > 0.5
    count_shelf(sample, long.part_type_id, short.depot, 3)
    cut = next(one for one in parts_snapshot(sample).cuts if one.links == short.links)
    assert (cut.links, cut.from_links, cut.links_off) == (114, 122, 8)


def test_every_chain_that_is_wanted_takes_a_joining_link(sample):
    snapshot = parts_snapshot(sample)
    for links in snapshot.joining_links:
        lines = [
            line
            for line in snapshot.lines
            if (line.depot, line.designation, line.joining_link)
            == (links.depot, links.designation, links.kind)
        ]
        enough = [line.weeks[-1].enough for line in lines]
        assert max(enough) <= links.for_chains <= sum(enough)


def test_one_depot_can_be_asked_for_alone(sample):
    whole = parts_snapshot(sample)
    depot = whole.depots[0]
    alone = parts_snapshot(sample, depot=depot.upper())
    assert alone.lines == narrowed(whole, depot).lines
    with pytest.raises(WearlogError, match="no depot"):
        parts_snapshot(sample, depot="Nowhere")


def test_weeks_and_levels_out_of_range_are_refused(sample):
    for weeks, level in ((0, 0.9), (60, 0.9), (8, 1.0)):
        with pytest.raises(WearlogError, match="out of range"):
            parts_snapshot(sample, weeks, level)


def test_a_fleet_without_vehicles_wants_nothing(bench):
    snapshot = parts_snapshot(bench)
    assert (snapshot.lines, snapshot.vehicles, snapshot.order_cost) == ((), 0, 0.0)
