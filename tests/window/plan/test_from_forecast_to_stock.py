"""The whole way of one chain: forecast, plan, job card, service sheet; then stock and due list are others."""

from dataclasses import replace

import pypdf
import pytest

from tests.makers.bench import add_caliper, add_motorcycle, add_types, empty_bench
from wearlog.exchange.job_card import write_job_card
from wearlog.fleet.planned import PlannedState, PlannedVisit
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Measurand, Reading
from wearlog.fleet.service import Task, Visit
from wearlog.fleet.stock import StockMove, StockMoveKind
from wearlog.planning.scheduling import VisitPolicy
from wearlog.window.service_sheet.desk import BenchDesk
from wearlog.window.service_sheet.model import SheetModel
from wearlog.workshop.due import due_lines_of_vehicle
from wearlog.workshop.due_snapshot import Action
from wearlog.workshop.job_card import job_card
from wearlog.workshop.outlook import outlooks
from wearlog.workshop.parts import parts_snapshot
from wearlog.workshop.plan_keep import keep_plan
from wearlog.workshop.plan_visits import plan_visits
from wearlog.workshop.stock import count_shelf
from wearlog.workshop.undo import undo


@pytest.fixture
def bench():
    """Three motorcycles, one of them with a chain near its limit; two such chains lie on the shelf."""
    made = empty_bench()
    types = add_types(made)
    add_caliper(made)
    add_motorcycle(made, "LR-001", [(1000.0, 0.0025), (2500.0, 0.006), (3900.0, 0.0093)], types=types)
    add_motorcycle(made, "LR-002", [(1000.0, 0.001), (3900.0, 0.004)], types=types)
    add_motorcycle(made, "LR-003", [(1000.0, 0.001), (3900.0, 0.005)], types=types)
    count_shelf(made, types["chain"].id, "Upper Depot", 2)
    yield made
    made.database.close()


def chain_line(bench):
    found = [line for line in due_lines_of_vehicle(bench, 1) if line.action is Action.REPLACE]
    return next((line for line in found if line.measurand is Measurand.CHAIN_ELONGATION), None)


def on_shelf(bench):
    lines = parts_snapshot(bench, 8, 0.95).lines
    return next(line.on_hand for line in lines if line.name == "428 chain")


def test_a_chain_goes_from_forecast_to_fitted_and_back_by_undo(bench, qapp, tmp_path):
    # Forecast: the chain is due within the plan.
    line = chain_line(bench)
    before = outlooks(bench)[line.installation_id, Measurand.CHAIN_ELONGATION]
    assert before.past_probability > 0.01
    assert on_shelf(bench) == 2

    # Plan, accepted: the visit has the number of its job card.
    plan = plan_visits(bench, 8, VisitPolicy.LEAST_COST, seconds=1.0)
    stop = next(stop for stop in plan.stops for work in stop.works if work.line.key == line.key)
    keep_plan(bench, plan, PlannedState.BOOKED)
    with bench.database.reading() as records:
        card = records.first(PlannedVisit, vehicle_id=1, on=stop.on)
    assert card.state is PlannedState.BOOKED
    assert "replace" in {item.work for item in card.items}

    # The card on paper carries the number and the job.
    write_job_card(job_card(bench, card.number), tmp_path / "card.pdf", ShownUnits())
    text = " ".join(pypdf.PdfReader(tmp_path / "card.pdf").pages[0].extract_text().split())
    assert card.number in text
    assert "LR-001" in text
    assert "replace chain" in text.lower()

    # Service sheet: the number typed where a tag is asked for asks for the work of the card.
    desk = BenchDesk(bench)
    opened = desk.open_named(card.number.lower())
    sheet = SheetModel(ShownUnits())
    sheet.show(opened.snapshot, opened.kept, "Tilda")
    new_chain = f"{line.stage_id}:{Task.PART_FITTED.name}:{line.installation_id}"
    assert next(task for task in sheet.tasks() if task.key == new_chain).is_due
    sheet.type_meter("5000")
    sheet.tick(new_chain, True)
    saved = desk.save(sheet.draft)

    # The card is done, the old chain is off, the new one came off the shelf, and the due list knows.
    with bench.database.reading() as records:
        visit = records.all(Visit)[-1]
        done = records.get(PlannedVisit, card.id)
        move = records.all(StockMove, visit_id=visit.id)
    assert (done.state, done.visit_id, visit.planned_number) == (PlannedState.DONE, visit.id, card.number)
    assert [(one.kind, one.count) for one in move] == [(StockMoveKind.USED, -1)]
    assert on_shelf(bench) == 1
    assert chain_line(bench) is None or chain_line(bench).installation_id != line.installation_id
    assert (line.installation_id, Measurand.CHAIN_ELONGATION) not in outlooks(bench)
    assert {stop.vehicle_id for stop in plan_visits(bench, 8, VisitPolicy.AS_LISTED).stops}

    # All of it is one change, and can be taken back as one.
    undo(bench, saved)
    with bench.database.reading() as records:
        assert records.get(PlannedVisit, card.id).state is PlannedState.BOOKED
        assert not [one for one in records.all(StockMove, live=True) if one.visit_id == visit.id]
    assert on_shelf(bench) == 2
    assert chain_line(bench).installation_id == line.installation_id


def test_a_reading_on_the_card_moves_the_forecast_and_leaves_the_shelf(bench, qapp):
    line = chain_line(bench)
    outlook_key = (line.installation_id, Measurand.CHAIN_ELONGATION)
    before = outlooks(bench)[outlook_key]
    keep_plan(bench, plan_visits(bench, 8, VisitPolicy.AS_LISTED), PlannedState.BOOKED)
    with bench.database.reading() as records:
        card = records.first(PlannedVisit, vehicle_id=1)
    desk = BenchDesk(bench)
    opened = desk.open_named(card.number)
    sheet = SheetModel(ShownUnits())
    sheet.show(opened.snapshot, opened.kept, "Tilda")
    sheet.type_meter("5000")
    key = next(
        one.key
        for block in opened.snapshot.blocks
        for one in block.readings
        if one.measurand is Measurand.CHAIN_ELONGATION
    )
    # 20 pitches of 12.7 mm and 1.02 %: more than the trend led to expect.
    sheet.type_entry(key, "256.59")
    desk.save(replace(sheet.draft, planned_number=card.number))
    with bench.database.reading() as records:
        assert records.get(PlannedVisit, card.id).state is PlannedState.DONE
        reading = records.all(Reading, installation_id=line.installation_id)[-1]
    assert reading.value == pytest.approx(0.0102, abs=1e-4)
    after = outlooks(bench)[outlook_key]
    assert after.readings == before.readings + 1
    assert after.past_probability > before.past_probability
    assert on_shelf(bench) == 2
