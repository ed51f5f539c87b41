"""The service sheet on a real store: what is typed is kept, judged, saved and taken back."""

import pytest
from PySide6.QtCore import Qt

from tests.window.service_sheet.hand import PAGE_SIZE, Hand
from wearlog.fleet.reading import Measurand, Reading
from wearlog.fleet.service import Task, Visit
from wearlog.fleet.vehicle import Duty, MeterUnit, VehicleKind
from wearlog.window.bench_keys import put_focus
from wearlog.window.service_sheet.page import SheetPage
from wearlog.workshop.fit import add_vehicle_from_template
from wearlog.workshop.measure import kept_draft

ELONGATION = Measurand.CHAIN_ELONGATION


def add(bench, tag: str, template: str = "chain primary") -> int:
    changes = add_vehicle_from_template(
        bench,
        tag=tag,
        description="electric patrol motorcycle",
        kind=VehicleKind.ELECTRIC_MOTORCYCLE,
        depot="Upper Depot",
        meter_unit=MeterUnit.KM,
        duty=Duty.MIXED,
        meter_value=100.0,
        template=template,
    )
    return next(iter(changes.vehicle_ids))


@pytest.fixture
def page(session, bench, qtbot):
    add(bench, "LR-031")
    add(bench, "LR-032")
    made = SheetPage(session)
    made.resize(*PAGE_SIZE)
    with qtbot.waitExposed(made):
        made.show()
    made.activateWindow()
    made.become_visible()
    made.focus_first()
    yield made
    qtbot.waitUntil(lambda: not session.background.is_busy())
    made.close()
    made.deleteLater()


@pytest.fixture
def hand(page, qtbot):
    return Hand(page, qtbot)


def final_elongation(page: SheetPage):
    """The row of the final drive's chain."""
    return [row for row in page.sheet.rows() if page.model.asked(row.key).measurand is ELONGATION][-1]


def readings(bench, vehicle_id: int) -> list[Reading]:
    with bench.database.reading() as records:
        return list(records.all(Reading, vehicle_id=vehicle_id, live=True))


def save(hand: Hand) -> None:
    hand.presses_key(Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    hand.waits()


def test_a_reading_reaches_the_store_as_typed_and_in_canonical_units(hand, page, bench, heard):
    hand.scans("LR-031")
    hand.enters("112")
    row = final_elongation(page)
    put_focus(row.field)
    # 20 x 12.7 mm = 254.0 mm = 10.0 in; 10.02 in is 0.2 % more.
    hand.types("10.02 in")
    hand.waits()
    assert row.outcome.value.whole.startswith("0.20")
    vehicle_id = page.model.snapshot.vehicle_id
    save(hand)
    assert "LR-031" in heard.take_said().text
    (kept,) = readings(bench, vehicle_id)
    assert kept.value == pytest.approx(0.002, abs=1e-9)
    assert kept.spots[0].typed == "10.02 in"
    assert kept.is_zero_reading
    assert page.model.snapshot is None
    assert hand.where == "Vehicle tag"


def test_the_save_can_be_taken_back(hand, page, bench, heard):
    hand.scans("LR-031")
    hand.enters("112")
    vehicle_id = page.model.snapshot.vehicle_id
    put_focus(final_elongation(page).field)
    hand.types("254.5")
    save(hand)
    heard.take_said().undo()
    hand.waits()
    heard.take_said()
    assert readings(bench, vehicle_id) == []
    # The sheet is there again as it was typed.
    assert page.model.snapshot.vehicle_id == vehicle_id
    assert final_elongation(page).field.text() == "254.5"
    assert page.head.meter.text() == "112"


def test_a_half_filled_sheet_survives_the_end_of_the_program(hand, page, bench):
    hand.scans("LR-031")
    hand.enters("112")
    vehicle_id = page.model.snapshot.vehicle_id
    put_focus(final_elongation(page).field)
    hand.types("254.5 25")
    hand.waits()
    kept = kept_draft(bench, vehicle_id)
    assert [entry.text for entry in kept.entries.values()] == ["254.5 25"]
    assert kept.meter_text == "112"


def test_a_saved_sheet_leaves_no_draft_behind(hand, page, bench, heard):
    hand.scans("LR-031")
    vehicle_id = page.model.snapshot.vehicle_id
    hand.enters("112")
    put_focus(final_elongation(page).field)
    hand.types("254.5")
    save(hand)
    heard.take_said()
    assert kept_draft(bench, vehicle_id) is None


def test_a_miscounted_chain_is_questioned_by_the_workshop(hand, page):
    hand.scans("LR-031")
    hand.enters("112")
    row = final_elongation(page)
    put_focus(row.field)
    # One pitch too many: 21 x 12.7 mm.
    hand.types("266.9")
    hand.presses_key(Qt.Key.Key_Return)
    hand.waits()
    assert "21" in row.said.text
    hand.presses_key(Qt.Key.Key_1, Qt.KeyboardModifier.AltModifier)
    hand.waits()
    assert page.model.pitches(row.key) == 21
    assert row.outcome.value.whole.startswith("0.0")


def test_a_meter_that_runs_backwards_is_offered_three_ways_on(hand, page):
    hand.scans("LR-031")
    hand.types("12")
    hand.waits()
    assert page.sheet.head_said.offers == 3


def test_ticked_tasks_become_part_of_the_visit(hand, page, bench, heard):
    hand.scans("LR-031")
    vehicle_id = page.model.snapshot.vehicle_id
    hand.enters("112")
    block = page.sheet.blocks[-1]
    block.unfold()
    task = next(t for key, t in block.tasks.items() if page.model.asked_task(key).task is Task.TENSION_SET)
    put_focus(task.tick)
    hand.types("+")
    hand.enters("1.5 in", "30")
    save(hand)
    heard.take_said()
    with bench.database.reading() as records:
        (visit,) = records.all(Visit, vehicle_id=vehicle_id)
    assert [(done.task, done.before, done.after) for done in visit.tasks] == [
        (Task.TENSION_SET, pytest.approx(38.1), 30.0)
    ]


def test_ten_machines_in_a_row_without_leaving_the_keyboard(hand, page, bench, heard):
    for meter in range(110, 120):
        tag = ("LR-031", "LR-032")[meter % 2]
        hand.scans(tag)
        hand.enters(str(meter))
        put_focus(final_elongation(page).field)
        hand.types(f"254.{meter - 110}")
        save(hand)
        assert tag in heard.take_said().text
        assert hand.where == "Vehicle tag"
    with bench.database.reading() as records:
        assert len(records.all(Visit, live=True)) == 10
