"""Visits booked from the due list, moved, called off, and entered by the service sheet."""

from dataclasses import replace
from datetime import timedelta

import pytest

from tests.makers.bench import TODAY, add_motorcycle, add_types, empty_bench
from wearlog.fleet.planned import PlannedState, PlannedVisit
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.service import Visit
from wearlog.workshop.booking import book_lines, call_off, fill_sheet, move_visit, open_visits, visits_by_line
from wearlog.workshop.due import due_lines_of_vehicle
from wearlog.workshop.due_snapshot import Action
from wearlog.workshop.measure import keep_draft, kept_draft, save
from wearlog.workshop.undo import undo

THURSDAY = TODAY + timedelta(days=3)


@pytest.fixture
def bench():
    """Two motorcycles, the chain of the first worn past its limit."""
    made = empty_bench()
    types = add_types(made)
    add_motorcycle(made, "LR-001", [(1000.0, 0.001), (3900.0, 0.025)], types=types)
    add_motorcycle(made, "LR-002", [(1000.0, 0.001)], types=types)
    yield made
    made.database.close()


@pytest.fixture
def lines(bench):
    found = due_lines_of_vehicle(bench, 1)
    return tuple(line for line in found if line.group == found[0].group)


def test_a_booked_visit_has_a_number_and_stands_with_its_lines(bench, lines):
    changes = book_lines(bench, lines, THURSDAY)
    assert changes.what == "LR-001 booked for 26 Nov 2026, job card V-0001"
    (visit,) = open_visits(bench)
    assert (visit.state, visit.on, visit.depot) == (PlannedState.BOOKED, THURSDAY, "Upper Depot")
    assert {one.number for one in visits_by_line([visit], lines).values()} == {"V-0001"}
    assert set(visits_by_line([visit], lines)) == {line.key for line in lines}
    assert not visits_by_line([visit], due_lines_of_vehicle(bench, 2))
    undo(bench, changes)
    assert open_visits(bench) == ()


def test_work_booked_again_moves_to_its_new_day_and_an_empty_visit_is_called_off(bench, lines):
    book_lines(bench, lines, THURSDAY)
    book_lines(bench, lines[:1], THURSDAY + timedelta(days=1))
    first, second = open_visits(bench)
    assert len(first.items) == len(lines) - 1
    assert [item.work for item in second.items] == [visits_work(lines[0])]
    book_lines(bench, lines[1:], THURSDAY + timedelta(days=1))
    (together,) = open_visits(bench)
    assert (together.number, len(together.items)) == (second.number, len(lines))
    with bench.database.reading() as records:
        assert records.first(PlannedVisit, number=first.number).state is PlannedState.CALLED_OFF


def visits_work(line):
    return line.task.value if line.task else line.action.value


def test_a_visit_is_moved_called_off_and_not_moved_any_more(bench, lines):
    book_lines(bench, lines, THURSDAY)
    move_visit(bench, "V-0001", THURSDAY + timedelta(days=7))
    assert open_visits(bench)[0].on == THURSDAY + timedelta(days=7)
    with pytest.raises(WearlogError, match="is past"):
        move_visit(bench, "V-0001", TODAY - timedelta(days=1))
    called_off = call_off(bench, "V-0001")
    assert open_visits(bench) == ()
    with pytest.raises(WearlogError, match="not to come any more"):
        call_off(bench, "V-0001")
    undo(bench, called_off)
    assert open_visits(bench)[0].state is PlannedState.BOOKED


def test_one_visit_is_for_one_vehicle(bench, lines):
    with pytest.raises(WearlogError, match="one vehicle"):
        book_lines(bench, (*lines, *due_lines_of_vehicle(bench, 2)), THURSDAY)
    with pytest.raises(WearlogError, match="one vehicle"):
        fill_sheet(bench, ())


def test_done_from_the_list_fills_the_sheet_and_saving_it_ends_the_visit(bench, lines):
    book_lines(bench, lines, TODAY)
    replaced = next(line for line in lines if line.action is Action.REPLACE)
    fill_sheet(bench, lines)
    draft = kept_draft(bench, 1)
    assert draft.planned_number == "V-0001"
    ticked = {key for key, task in draft.tasks.items() if task.done}
    assert f"{replaced.stage_id}:PART_FITTED:{replaced.installation_id}" in ticked
    saved = save(bench, replace(draft, meter_text="5000 km", meter_value=5000.0))
    with bench.database.reading() as records:
        visit = records.all(Visit)[-1]
        planned = records.first(PlannedVisit, number="V-0001")
    assert (planned.state, planned.visit_id, visit.planned_number) == (PlannedState.DONE, visit.id, "V-0001")
    assert replaced.key not in {line.key for line in due_lines_of_vehicle(bench, 1)}
    undo(bench, saved)
    assert open_visits(bench)[0].state is PlannedState.BOOKED


def test_what_was_typed_on_the_sheet_stays_when_it_is_filled_in(bench, lines):
    fill_sheet(bench, lines)
    first = kept_draft(bench, 1)
    key = next(iter(first.tasks))
    keep_draft(bench, replace(first.with_task(key, replace(first.tasks[key], done=False)), notes="loud"))
    fill_sheet(bench, lines)
    again = kept_draft(bench, 1)
    assert (again.notes, again.tasks[key].done) == ("loud", False)
