"""The fleet as lines of a list."""

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt

from tests.makers.fleet import HARBOUR, UPPER, fleet, fleet_of, fleet_row, rule_at, with_row
from wearlog.fleet.state import State
from wearlog.window.fleet_list.delegate import most_urgent
from wearlog.window.fleet_list.model import DepotHeading, FleetModel


@pytest.fixture
def model(qtmodeltester):
    model = FleetModel()
    qtmodeltester.check(model)
    return model


def tags(model):
    return [model.vehicle_at(n).tag for n in range(model.rowCount()) if model.vehicle_at(n)]


def test_depots_stand_over_their_vehicles_with_their_count(model):
    model.show(fleet(fleet_row(1), fleet_row(2), fleet_row(3, depot=HARBOUR)))
    headings = [model.data(model.index(n), FleetModel.EntryRole) for n in (0, 2)]
    assert headings == [DepotHeading(HARBOUR, 1), DepotHeading(UPPER, 2)]


def test_headings_can_not_be_chosen(model):
    model.show(fleet(fleet_row(1)))
    choosable = Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEnabled
    assert not model.flags(model.index(0)) & choosable
    assert model.flags(model.index(1)) & choosable == choosable


def test_a_new_reading_changes_only_its_own_line(model, qtbot):
    before = fleet_of(40)
    model.show(before)
    worn = replace(before.rows[7], state=State.DUE)
    with qtbot.assertNotEmitted(model.modelReset), qtbot.waitSignal(model.dataChanged) as changed:
        model.show(with_row(before, worn))
    first, last, *_roles = changed.args
    assert first.row() == last.row() == model.row_of(worn.vehicle_id)


def test_a_vehicle_that_joins_is_added_without_touching_the_others(model, qtbot):
    model.show(fleet(fleet_row(1), fleet_row(3)))
    with qtbot.assertNotEmitted(model.modelReset), qtbot.waitSignal(model.rowsInserted):
        model.show(fleet(fleet_row(1), fleet_row(2), fleet_row(3)))
    assert tags(model) == ["LR-001", "LR-002", "LR-003"]


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("lr-00", ["LR-001", "LR-002"]),
        ("cargo", ["LC-03"]),
        ("HARBOUR", ["LC-03"]),
        ("chain 428 belt", ["LR-002"]),
        ("upper lr-001", ["LR-001"]),
        ("nothing like it", []),
    ],
)
def test_tag_model_part_and_depot_are_searched_for_every_word(model, typed, found):
    model.show(
        fleet(
            fleet_row(1),
            fleet_row(2, "", rule_at(0.1), rule_at(0.2), description="e-moto, belt primary"),
            fleet_row(3, "LC-03", description="cargo e-bike, hub gear", depot=HARBOUR),
        )
    )
    model.find(typed)
    assert tags(model) == found


def test_retired_vehicles_are_hidden_unless_asked_for(model):
    model.show(fleet(fleet_row(1), fleet_row(2, is_retired=True)))
    assert tags(model) == ["LR-001"]
    model.show_retired(True)
    assert tags(model) == ["LR-001", "LR-002"]
    assert (model.in_service(), model.retired()) == (1, 1)


def test_only_vehicles_in_a_state_can_be_shown(model):
    model.show(
        fleet(fleet_row(1, "", rule_at(0.2)), fleet_row(2, "", rule_at(0.95)), fleet_row(3, "", rule_at(1.1)))
    )
    model.show_states({State.DUE, State.PAST_LIMIT})
    assert tags(model) == ["LR-002", "LR-003"]


def test_ten_thousand_vehicles_are_searched_without_losing_one(model):
    fleet_now = fleet_of(10_000)
    model.show(fleet_now)
    model.find("hub gear")
    expected = [r.tag for r in fleet_now.rows if "hub gear" in r.description and not r.is_retired]
    assert tags(model) == expected
    model.find("")
    assert model.vehicles_shown == sum(not row.is_retired for row in fleet_now.rows)


def test_a_screen_reader_hears_word_and_share(model):
    model.show(fleet(fleet_row(1, "", rule_at(0.82))))
    spoken = model.data(model.index(1), Qt.ItemDataRole.AccessibleTextRole)
    assert spoken.startswith("LR-001, e-moto, chain primary")
    assert "plan" in spoken
    assert "82" in spoken


def test_of_many_stages_the_most_urgent_fit_on_the_line_in_their_order():
    row = fleet_row(1)
    stages = tuple(
        replace(row.rules[0], stage_id=n, rule=rule_at(u)) for n, u in enumerate((0.95, 0.1, 0.8, 1.1))
    )
    assert [stage.stage_id for stage in most_urgent(stages)] == [0, 2, 3]


def test_states_are_words_of_the_search(model):
    model.show(
        fleet(
            fleet_row(1, "LR-001", rule_at(1.05)),
            fleet_row(2, "LR-002", rule_at(0.95)),
            fleet_row(3, "LR-003", rule_at(0.2)),
        )
    )
    for text, found in (
        ("past limit", ["LR-001"]),
        ("due", ["LR-002"]),
        ("002 past", []),
        ("003", ["LR-003"]),
    ):
        model.find(text)
        assert tags(model) == found


def test_retired_vehicles_come_when_they_are_asked_for_by_word(model):
    model.show(fleet(fleet_row(1, "LR-001"), fleet_row(2, "LR-002", is_retired=True)))
    for text, count in (("lr", 1), ("lr ret", 0), ("lr reti", 1), ("retired", 1), ("lr", 1)):
        model.find(text)
        assert model.vehicles_shown == count, text
    model.find("retired")
    assert model.row_of(2) is not None


def test_typing_on_and_taking_letters_back_show_the_same_as_typing_at_once(model):
    model.show(fleet_of(600))
    for text in ("c", "ca", "car", "cargo", "cargo h", "cargo", "x", "", "trail 5", "trail"):
        model.find(text)
        typed = [model.vehicle_at(n) for n in range(model.rowCount())]
        fresh = FleetModel()
        fresh.show(fleet_of(600))
        fresh.find(text)
        assert typed == [fresh.vehicle_at(n) for n in range(fresh.rowCount())], text


def test_a_directory_without_wear_is_searched_but_not_counted(model):
    directory = replace(fleet(fleet_row(1, "LR-001")), is_judged=False)
    model.show(directory)
    model.find("lr")
    assert model.vehicles_shown == 1
    assert all(model.count(state) == 0 for state in State)
    model.find("within")
    assert model.vehicles_shown == 0
