"""From the plan to the job card, from the card to the service sheet, and what a saved sheet ends."""

from dataclasses import replace
from datetime import timedelta

import pytest

from tests.makers.bench import SAMPLE_DAY, add_motorcycle
from wearlog.fleet.planned import PlannedItem, PlannedState, PlannedVisit
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.service import Task, Visit
from wearlog.planning.scheduling import VisitPolicy
from wearlog.workshop.due_snapshot import Action
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.job_card import job_card
from wearlog.workshop.job_card_filling import open_card
from wearlog.workshop.measure import save
from wearlog.workshop.plan_keep import keep_plan
from wearlog.workshop.plan_visits import plan_visits
from wearlog.workshop.sheet import SheetDraft, TaskDraft
from wearlog.workshop.undo import undo


def planned(bench, number):
    with bench.database.reading() as records:
        return records.first(PlannedVisit, number=number)


def replacements(visit):
    return [item for item in visit.items if item.work == Action.REPLACE]


@pytest.fixture
def visits(sample):
    """The visits of a kept plan, the one with most replacements first."""
    keep_plan(sample, plan_visits(sample, 2, VisitPolicy.AS_LISTED))
    with sample.database.reading() as records:
        found = records.all(PlannedVisit)
    return sorted(found, key=lambda visit: (-len(replacements(visit)), -len(visit.items)))


def filled_in(bench, sheet):
    """A sheet with its meter read and all tasks ticked that are asked for."""
    ticked = {task.key: TaskDraft(done=True) for block in sheet.blocks for task in block.tasks if task.is_due}
    meter = sheet.last_meter + 1.0
    return SheetDraft(
        sheet.vehicle_id,
        bench.today(),
        meter_text=f"{meter:g}",
        meter_value=meter,
        by="Tilda",
        tasks=ticked,
        planned_number=sheet.planned_number,
    )


def test_the_card_has_all_work_of_the_visit_with_its_reasons(sample, visits):
    visit = visits[0]
    card = job_card(sample, visit.number.lower())
    assert (card.number, card.on, card.code) == (visit.number, visit.on, visit.number)
    assert [(task.task or task.action).value for task in card.tasks] == [item.work for item in visit.items]
    assert all(task.line is not None for task in card.tasks)
    assert sum(part.count for part in card.parts) == len(replacements(visit)) > 0


def test_the_sheet_opened_by_the_number_asks_for_the_work_of_the_card(sample, visits):
    visit = visits[0]
    sheet = open_card(sample, visit.number)
    assert sheet.vehicle_id == visit.vehicle_id
    assert sheet.planned_number == visit.number
    due = {task.key for block in sheet.blocks for task in block.tasks if task.is_due}
    for item in visit.items:
        if item.work == Action.REPLACE:
            assert f"{item.stage_id}:{Task.PART_FITTED.name}:{item.installation_id}" in due
        if item.work == Task.LUBRICATED:
            assert f"{item.stage_id}:{Task.LUBRICATED.name}" in due


def test_saving_the_sheet_ends_the_visit_and_undo_opens_it_again(sample, visits):
    number = visits[0].number
    changes = save(sample, filled_in(sample, open_card(sample, number)))
    done = planned(sample, number)
    assert done.state is PlannedState.DONE
    with sample.database.reading() as records:
        assert records.get(Visit, done.visit_id).planned_number == number
    with pytest.raises(WearlogError, match="was entered already, as the service of 23 Nov 2026"):
        open_card(sample, number)
    undo(sample, changes)
    assert planned(sample, number).state is PlannedState.PLANNED
    assert open_card(sample, number).planned_number == number


def test_what_was_done_by_the_card_is_due_no_longer(sample, visits):
    visit = visits[0]
    before = job_card(sample, visit.number)
    save(sample, filled_in(sample, open_card(sample, visit.number)))
    tag = fleet_state(sample).vehicles[visit.vehicle_id].tag
    after = job_card(sample, tag)
    replaced = {task.part_text for task in before.tasks if task.action is Action.REPLACE}
    still = {task.part_text for task in after.tasks if task.action is Action.REPLACE}
    assert replaced
    assert not replaced & still


def test_a_card_that_was_called_off_after_printing_can_be_entered(sample, visits):
    number = visits[0].number
    keep_plan(sample, plan_visits(sample, 2, VisitPolicy.AS_LISTED))
    assert planned(sample, number).state is PlannedState.CALLED_OFF
    save(sample, filled_in(sample, open_card(sample, number)))
    assert planned(sample, number).state is PlannedState.DONE


def test_a_sheet_moved_to_another_vehicle_leaves_the_visit_open(sample, visits):
    first, other = visits[0], next(v for v in visits if v.vehicle_id != visits[0].vehicle_id)
    draft = filled_in(sample, open_card(sample, other.number))
    save(sample, replace(draft, planned_number=first.number))
    assert planned(sample, first.number).state is PlannedState.PLANNED


def test_a_vehicle_without_a_plan_gets_a_card_of_what_is_due_within_a_month(sample):
    card = job_card(sample, "lr-009")
    assert (card.number, card.code) == ("", "LR-009")
    assert card.tasks
    assert max(task.due_on for task in card.tasks) <= SAMPLE_DAY + timedelta(days=30)


def test_work_whose_reason_is_gone_is_still_on_the_card(bench):
    chain = add_motorcycle(bench)
    with bench.database.writing(by="Tilda", at=bench.now(), what="Planned") as records:
        records.add(
            PlannedVisit(
                number="V-0001",
                vehicle_id=chain.vehicle_id,
                depot="Upper Depot",
                on=bench.today(),
                items=(
                    PlannedItem(work=Action.REPLACE.value, stage_id=chain.stage_id, installation_id=chain.id),
                ),
            )
        )
    [task] = job_card(bench, "V-0001").tasks
    assert task.action is Action.REPLACE
    assert task.part_text == fleet_state(bench).part_text(chain)


def test_neither_a_number_nor_a_tag_is_said_so(bench):
    with pytest.raises(WearlogError, match="neither a planned visit nor a vehicle called V-9999"):
        job_card(bench, "V-9999")
    with pytest.raises(WearlogError, match="no job card with the number V-9999"):
        open_card(bench, "V-9999")
