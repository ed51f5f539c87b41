"""The sample fleet as the program sees it, held against its known truth."""

import csv
from pathlib import Path

from wearlog.fleet.reading import Measurand
from wearlog.fleet.state import State
from wearlog.workshop.due import due_snapshot
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.judge import fleet_snapshot
from wearlog.workshop.measure import open_sheet
from wearlog.workshop.outlook import outlooks
from wearlog.workshop.predict import forecasts, trend_snapshot

TRUTH = Path(__file__).parents[2] / "sample_fleet" / "truth"


def true_shares():
    """Return the true share of the wear allowance of each part that runs on the sample's last day."""
    with (TRUTH / "installations.csv").open(encoding="utf-8", newline="") as file:
        return {
            (row["vehicle"], row["stage"], row["position"], row["fitted on"]): float(row["share now"])
            for row in csv.DictReader(file)
            if row["share now"]
        }


def test_every_vehicle_of_the_files_is_in_the_list(sample):
    rows = fleet_snapshot(sample).rows
    assert len(rows) == 41
    assert sum(row.is_retired for row in rows) == 1
    assert {row.depot for row in rows} == {"Upper Depot", "Harbour Depot"}


def test_every_state_is_there_to_be_seen(sample):
    assert {row.state for row in fleet_snapshot(sample).rows} == set(State)


def test_every_running_part_has_a_trend(sample):
    state = fleet_state(sample)
    for installation_id, measurand in outlooks(sample):
        vehicle_id = state.installations[installation_id].vehicle_id
        trend = trend_snapshot(sample, vehicle_id, installation_id, measurand)
        assert trend.curve_value.shape == (trend.curve_use.size, 7)
        assert (trend.curve_use[1:] >= trend.curve_use[:-1]).all()


def test_every_sheet_opens(sample):
    for row in fleet_snapshot(sample).rows:
        if not row.is_retired:
            assert open_sheet(sample, row.vehicle_id).blocks


def test_a_chain_that_moved_took_its_distance_along(sample):
    state = fleet_state(sample)
    target = state.vehicle_tagged("LT-08")
    moved = next(
        i
        for i in state.installations.values()
        if i.vehicle_id == target.id and len(state.installations_of_part[i.part_id]) == 2
    )
    trend = trend_snapshot(sample, target.id, moved.id)
    assert any("LT-09" in event.text for event in trend.events)
    assert any(reading.use_on_part < state.use_on_part(moved, moved.fitted_use) for reading in trend.readings)


def test_a_converted_vehicle_shows_what_came_off(sample):
    state = fleet_state(sample)
    converted = state.vehicle_tagged("LR-012")
    choices = trend_snapshot(sample, converted.id).choices
    assert any(not choice.is_current for choice in choices)
    assert any("belt" in choice.part_text for choice in choices if not choice.is_current) or any(
        choice.measurand is Measurand.BELT_TENSION for choice in choices if not choice.is_current
    )


def test_hours_are_counted_on_a_vehicle_with_an_hour_meter(sample):
    state = fleet_state(sample)
    forecast = forecasts(sample, state.vehicle_tagged("LT-07").id)
    assert {one.use_unit for one in forecast} == {"h"}


def test_the_due_list_names_each_line_once(sample):
    keys = [line.key for line in due_snapshot(sample, 3000).lines]
    assert len(keys) == len(set(keys))


def test_the_stated_intervals_hold_the_true_wear_of_the_chains(sample):
    """The generator's laws are its own; with some fifty chains of one seed only a gross failure shows."""
    state = fleet_state(sample)
    truth = true_shares()
    held = []
    for (installation_id, measurand), outlook in outlooks(sample).items():
        if measurand is not Measurand.CHAIN_ELONGATION or not outlook.readings:
            continue
        installation = state.installations[installation_id]
        share = truth[
            state.vehicles[installation.vehicle_id].tag,
            state.stages[installation.stage_id].name,
            installation.position.value,
            installation.fitted_on.isoformat(),
        ]
        held.append(outlook.allowance[0] - 0.02 <= share <= outlook.allowance[-1] + 0.02)
    assert len(held) >= 35
    # 95 % intervals: at 40 chains fewer than 33 inside would have a chance below 1 in 1000.
    assert sum(held) / len(held) >= 0.82
