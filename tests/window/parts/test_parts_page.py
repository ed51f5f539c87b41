"""The parts page by keyboard, on the sample fleet and on lists made for it."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QLabel, QLineEdit, QPushButton, QTableView

from tests.makers.parts import some_parts
from tests.window.named import named
from wearlog.fleet.stock import PartOrder, StockLine
from wearlog.window.parts.model import Column, Group, Narrowing, PartsModel, group_of
from wearlog.window.parts.page import PartsPage


@pytest.fixture
def model(qtmodeltester):
    made = PartsModel()
    qtmodeltester.check(made)
    return made


def test_what_must_be_ordered_today_stands_first(model):
    model.show(some_parts())
    groups = [group_of(model.line_at(row)) for row in range(model.rowCount())]
    assert groups == sorted(groups, key=list(Group).index)
    assert groups[0] is Group.NOW
    assert groups[-1] is Group.ENOUGH


def test_a_row_is_told_to_a_screen_reader_whole(model):
    model.show(some_parts())
    spoken = model.data(model.index(0, 0), Qt.ItemDataRole.AccessibleTextRole)
    assert "Chain 428 116 links, Upper Depot" in spoken
    assert "LR-001, final drive: on the due list today" in spoken
    assert model.data(model.index(0, Column.ORDER)).endswith("now")


def test_search_depot_and_shortage_narrow_the_list(model):
    model.show(some_parts())
    assert model.rowCount() == 4
    model.narrow(Narrowing(words=("sprocket",)))
    assert model.rowCount() == 1
    model.narrow(Narrowing(depot="Harbour Depot"))
    assert [model.line_at(0).depot, model.rowCount()] == ["Harbour Depot", 1]
    model.narrow(Narrowing(only_orders=True))
    assert all(model.line_at(row).short for row in range(model.rowCount()))
    assert {line.name for line in model.shown_snapshot().lines} == {
        "Chain 428 116 links",
        "Sprocket 428 14 t",
    }


@pytest.fixture
def bench(sample):
    """The sample fleet, which the session of these tests opens."""
    return sample


@pytest.fixture
def page(qtbot, session):
    made = PartsPage(session)
    qtbot.addWidget(made)
    made.resize(900, 720)
    made.show()
    made.become_visible()
    qtbot.waitUntil(lambda: made.model.snapshot is not None)
    return made


def kept(bench, kind):
    with bench.database.reading() as records:
        return records.all(kind)


def press(qtbot, widget, *keys):
    for key in keys:
        qtbot.keyClick(widget, key)


def test_a_delivery_is_received_by_keyboard_and_taken_back(qtbot, page, sample, heard):
    first = page.chosen_line()
    page.view.setFocus()
    press(qtbot, page.view, Qt.Key.Key_R)
    pieces = named(page, QLineEdit, "Pieces")
    assert pieces.text() == str(first.on_order or first.order_now)
    pieces.setText("3")
    with qtbot.waitSignal(page.session.changed):
        press(qtbot, pieces, Qt.Key.Key_Return)
    said = heard.take_said()
    assert "3 received" in said.text
    qtbot.waitUntil(lambda: page.model.line_at(page.model.row_of(first.key)).on_hand == first.on_hand + 3)
    assert page.chosen_line().key == first.key
    with qtbot.waitSignal(page.session.changed):
        said.undo()
    heard.take_said()
    qtbot.waitUntil(lambda: page.model.line_at(page.model.row_of(first.key)).on_hand == first.on_hand)


def test_a_count_and_an_order_of_one_part_are_kept(qtbot, page, sample, heard):
    key = page.chosen_line().key
    page.view.setFocus()
    press(qtbot, page.view, Qt.Key.Key_C)
    pieces = named(page, QLineEdit, "Pieces")
    pieces.setText("0")
    with qtbot.waitSignal(page.session.changed):
        press(qtbot, pieces, Qt.Key.Key_Return)
    heard.take_said()
    press(qtbot, page.view, Qt.Key.Key_O)
    with qtbot.waitSignal(page.session.changed):
        press(qtbot, pieces, Qt.Key.Key_Return)
    heard.take_said()
    counted = next(line for line in kept(sample, StockLine) if (line.part_type_id, line.depot) == key)
    assert counted.on_hand == 0
    assert len(kept(sample, PartOrder)) == 1


def test_all_of_today_is_ordered_at_once_and_undone_as_one(qtbot, page, sample, heard):
    wanted = sum(line.order_now for line in page.model.snapshot.lines)
    assert wanted > 0
    with qtbot.waitSignal(page.session.changed):
        page.primary.click()
    said = heard.take_said()
    assert said.text == f"{wanted} parts ordered"
    assert sum(order.count for order in kept(sample, PartOrder)) == wanted
    qtbot.waitUntil(lambda: not page.primary.isEnabled())
    with qtbot.waitSignal(page.session.changed):
        said.undo()
    heard.take_said()
    qtbot.waitUntil(page.primary.isEnabled)
    assert not [order for order in kept(sample, PartOrder) if not order.void_reason]


def test_taking_more_than_there_is_says_so_on_the_page(qtbot, page):
    there = page.chosen_line().on_hand
    page.bar.job_done.emit("use", there + 5)
    qtbot.waitUntil(page.banner.isVisible)
    assert f"only {there} on the shelf" in page.banner.problems[0].what


def test_price_and_lead_time_are_kept_and_a_slip_is_named(qtbot, page, sample, heard):
    key = page.chosen_line().key
    named(page, QPushButton, "Price and lead time").click()
    price, lead = named(page, QLineEdit, "Price of one piece"), named(page, QLineEdit, "Lead time in days")
    price.setText("dear")
    press(qtbot, price, Qt.Key.Key_Return)
    assert "not a number" in page.bar.note.text()
    price.setText("81.5")
    lead.setText("3")
    with qtbot.waitSignal(page.session.changed):
        press(qtbot, lead, Qt.Key.Key_Return)
    heard.take_said()
    qtbot.waitUntil(lambda: page.model.line_at(page.model.row_of(key)).lead_days == 3)
    assert page.model.line_at(page.model.row_of(key)).price == 81.5


def test_another_level_is_worked_out_anew(qtbot, page):
    before = sum(line.wanted for line in page.model.snapshot.lines)
    level = named(page, QComboBox, "Chance of having enough")
    level.setCurrentIndex(level.count() - 1)
    qtbot.waitUntil(lambda: page.model.snapshot.level == 0.99)
    assert sum(line.wanted for line in page.model.snapshot.lines) >= before


def test_the_policy_unfolds_by_its_letter_and_says_where_the_cost_is_least(qtbot, page):
    page.view.setFocus()
    press(qtbot, page.view, Qt.Key.Key_P)
    qtbot.waitUntil(lambda: page.policy.snapshot is not None)
    assert "Cheapest in the long run at" in named(page, QLabel, "Where the cost is least").text()
    assert named(page, QComboBox, "Class of chains").count() == len(page.policy.snapshot.policies) > 1
    page.policy_button.click()
    assert page.stack.currentWidget() is page.list


def test_every_control_has_an_accessible_name(page):
    for kind in (QLineEdit, QComboBox, QPushButton, QTableView):
        for widget in page.findChildren(kind):
            if widget.isVisibleTo(page) and not isinstance(widget.parent(), QComboBox):
                assert widget.accessibleName() or getattr(widget, "text", str)(), widget
