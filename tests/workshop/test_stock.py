"""Work at the shelf: ordered, received, counted, fitted at a visit, and taken back."""

from dataclasses import replace
from datetime import timedelta

import pytest

from tests.makers.bench import TODAY, add_caliper, add_motorcycle
from tests.makers.setup import add_belt_motorcycle
from wearlog.fleet.fitting import Installation
from wearlog.fleet.parts import DriveKind, PartKind, WearClass
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.service import Task
from wearlog.fleet.stock import PartOrder, StockLine, StockMove, StockMoveKind
from wearlog.workshop.compare_setups import draft_of as draft_of_setup
from wearlog.workshop.compare_setups import setup_snapshot
from wearlog.workshop.fit_setup import fit_setup
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.measure import open_sheet, save
from wearlog.workshop.parts import of_line, parts_snapshot
from wearlog.workshop.parts_snapshot import ShelfTerms, Wanted
from wearlog.workshop.sheet import SheetDraft, TaskDraft
from wearlog.workshop.stock import (
    agree_terms,
    call_off,
    count_shelf,
    place_orders,
    receive,
    use_part,
)
from wearlog.workshop.undo import undo


@pytest.fixture
def chain(bench):
    add_caliper(bench)
    return add_motorcycle(bench, readings=[(500, 0.0010), (1500, 0.0022), (2800, 0.0040)])


@pytest.fixture
def shelf(bench, chain):
    """Part type and depot of the motorcycle's chain."""
    state = fleet_state(bench)
    return state.part_type_of(chain).id, state.vehicles[chain.vehicle_id].depot


def all_of(bench, kind, **equal):
    with bench.database.reading() as records:
        return records.all(kind, live=kind is not StockLine, **equal)


def on_hand(bench, shelf):
    return of_line(parts_snapshot(bench), shelf).on_hand


def test_a_delivery_serves_the_oldest_order_first_and_closes_it(bench, shelf):
    place_orders(bench, [Wanted(*shelf, 2)])
    place_orders(bench, [Wanted(*shelf, 3)])
    receive(bench, *shelf, 4)
    first, second = all_of(bench, PartOrder)
    assert (first.received_count, first.closed_on) == (2, TODAY)
    assert (second.received_count, second.closed_on, second.open_count) == (2, None, 1)
    line = of_line(parts_snapshot(bench), shelf)
    assert (line.on_hand, line.on_order) == (4, 1)
    assert sum(move.count for move in all_of(bench, StockMove)) == 4


def test_an_order_is_expected_after_the_lead_time_of_its_depot(bench, shelf):
    agree_terms(bench, *shelf, ShelfTerms(lead_days=5, price=51.5, least=1))
    place_orders(bench, [Wanted(*shelf, 1)])
    order = all_of(bench, PartOrder)[0]
    assert (order.expected_on, order.price) == (TODAY + timedelta(days=5), 51.5)


def test_an_order_called_off_is_no_longer_on_its_way(bench, shelf):
    place_orders(bench, [Wanted(*shelf, 2)])
    order = all_of(bench, PartOrder)[0]
    call_off(bench, order.id)
    assert of_line(parts_snapshot(bench), shelf).on_order == 0
    with pytest.raises(WearlogError, match="closed already"):
        call_off(bench, order.id)


def test_a_count_keeps_the_difference_it_found(bench, shelf):
    receive(bench, *shelf, 3)
    count_shelf(bench, *shelf, 2, joining_links=5)
    moves = all_of(bench, StockMove)
    assert [(move.kind, move.count) for move in moves] == [
        (StockMoveKind.RECEIVED, 3),
        (StockMoveKind.COUNTED, -1),
    ]
    assert all_of(bench, StockLine)[0].joining_links == 5


def test_more_than_there_is_cannot_be_taken(bench, shelf):
    receive(bench, *shelf, 1)
    with pytest.raises(WearlogError, match="only 1"):
        use_part(bench, *shelf, 2)
    assert on_hand(bench, shelf) == 1


@pytest.mark.parametrize("job", ["receive", "count", "terms", "order", "use"])
def test_each_job_is_undone_as_one(bench, shelf, job):
    if job == "use":
        receive(bench, *shelf, 2)
    before = (on_hand(bench, shelf), of_line(parts_snapshot(bench), shelf).on_order)
    done = {
        "receive": lambda: receive(bench, *shelf, 2),
        "count": lambda: count_shelf(bench, *shelf, 7),
        "terms": lambda: agree_terms(bench, *shelf, ShelfTerms(lead_days=3)),
        "order": lambda: place_orders(bench, [Wanted(*shelf, 2)]),
        "use": lambda: use_part(bench, *shelf, 1),
    }[job]()
    undo(bench, done)
    assert (on_hand(bench, shelf), of_line(parts_snapshot(bench), shelf).on_order) == before


def fitted_draft(bench, chain, km=5100.0):
    sheet = open_sheet(bench, chain.vehicle_id)
    key = next(
        asked.key
        for block in sheet.blocks
        for asked in block.tasks
        if asked.task is Task.PART_FITTED and str(chain.id) in asked.key
    )
    return SheetDraft(
        vehicle_id=chain.vehicle_id,
        on=TODAY,
        meter_text=f"{km:g}",
        meter_value=km,
        tasks={key: TaskDraft(done=True)},
    )


def test_a_chain_fitted_on_a_service_sheet_leaves_the_shelf_with_it(bench, chain, shelf):
    receive(bench, *shelf, 2)
    changes = save(bench, fitted_draft(bench, chain))
    used = next(move for move in all_of(bench, StockMove) if move.kind is StockMoveKind.USED)
    assert on_hand(bench, shelf) == 1
    assert used.visit_id is not None
    new = all_of(bench, Installation, id=used.installation_id)[0]
    assert new.fitted_on == TODAY
    undo(bench, changes)
    assert on_hand(bench, shelf) == 2
    assert not [move for move in all_of(bench, StockMove) if move.kind is StockMoveKind.USED]


def test_a_chain_that_was_not_on_the_shelf_came_from_elsewhere(bench, chain, shelf):
    save(bench, fitted_draft(bench, chain))
    assert all_of(bench, StockMove) == ()
    receive(bench, *shelf, 1)
    count_shelf(bench, *shelf, 0)
    assert on_hand(bench, shelf) == 0


def test_numbers_out_of_range_are_refused_and_nothing_is_kept(bench, shelf):
    for job in (
        lambda: receive(bench, *shelf, 0),
        lambda: receive(bench, *shelf, 1, on=TODAY + timedelta(days=1)),
        lambda: count_shelf(bench, *shelf, -1),
        lambda: place_orders(bench, []),
        lambda: agree_terms(bench, *shelf, ShelfTerms(lead_days=9999)),
    ):
        with pytest.raises(WearlogError):
            job()
    assert all_of(bench, StockLine) == ()
    assert all_of(bench, PartOrder) == ()


def test_a_set_up_that_is_fitted_takes_its_parts_off_the_shelf(bench):
    made = add_belt_motorcycle(bench)
    snapshot = setup_snapshot(bench, made.vehicle.id)
    run = next(
        choice.part_type
        for choice in snapshot.choices
        if choice.part_type.designation == "08B"
        and choice.part_type.wear_class is WearClass.PRIMARY_ROLLER_CHAIN
    )
    with bench.database.writing(by="Tilda", at=bench.now(), what="Part type") as records:
        known = records.add(
            replace(run, id=0, version=0, name="Chain 08B 70 links", links=70, kind=PartKind.CHAIN)
        )
    receive(bench, known.id, made.vehicle.depot, 2)
    draft = replace(
        draft_of_setup(setup_snapshot(bench, made.vehicle.id), made.primary.id),
        drive=DriveKind.CHAIN,
        run=known,
        pitches=70,
        driver_teeth=17,
        driven_teeth=44,
    )
    changes = fit_setup(bench, draft, TODAY, 4050.0, "Ines")
    assert all_of(bench, StockLine)[0].on_hand == 1
    undo(bench, changes)
    assert all_of(bench, StockLine)[0].on_hand == 2
