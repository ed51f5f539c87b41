"""From the due list into the books and back, on a bench."""

from datetime import timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLineEdit

from tests.makers.bench import TODAY, add_motorcycle, add_types, empty_bench
from tests.window.named import named
from wearlog.fleet.planned import PlannedState, PlannedVisit
from wearlog.window.due.page import DuePage
from wearlog.window.service_sheet.page import SheetPage
from wearlog.workshop.measure import kept_draft


@pytest.fixture
def bench():
    """Two motorcycles, the chain of the first worn past its limit."""
    made = empty_bench()
    types = add_types(made)
    add_motorcycle(made, "LR-001", [(1000.0, 0.001), (3900.0, 0.025)], types=types)
    add_motorcycle(made, "LR-002", [(1000.0, 0.001), (3900.0, 0.006)], types=types)
    yield made
    made.database.close()


@pytest.fixture
def page(session, qtbot):
    page = DuePage(session)
    qtbot.addWidget(page)
    page.resize(960, 720)
    page.show()
    session.choose(1)
    page.become_visible()
    qtbot.waitUntil(lambda: page.model.rowCount() > 0)
    page.focus_first()
    return page


def kept(bench):
    with bench.database.reading() as records:
        return records.all(PlannedVisit, live=True)


def test_a_visit_is_booked_by_letter_day_and_enter_then_called_off(page, bench, qtbot, heard):
    together = page.model.together_with(page.chosen_line())
    qtbot.keyClick(page.view, Qt.Key.Key_B)
    day = named(page, QLineEdit, "Day of the visit")
    day.setText((TODAY + timedelta(days=8)).isoformat())
    with qtbot.waitSignal(page.session.changed):
        qtbot.keyClick(day, Qt.Key.Key_Return)
    assert "job card V-0001" in heard.take_said().text
    (visit,) = kept(bench)
    assert (visit.on, len(visit.items)) == (TODAY + timedelta(days=8), len(together))
    qtbot.waitUntil(lambda: page.model.visit_of(page.chosen_line()) is not None)
    assert "booked Tue 1 Dec, V-0001" in page.booking.what.text()
    page.focus_first()
    with qtbot.waitSignal(page.session.changed):
        qtbot.keyClick(page.view, Qt.Key.Key_Delete)
    heard.take_said()
    qtbot.waitUntil(lambda: page.model.visit_of(page.chosen_line()) is None)
    assert kept(bench)[0].state is PlannedState.CALLED_OFF


def test_why_unfolds_what_the_date_rests_on(page, qtbot):
    row = next(
        n
        for n in range(page.model.rowCount())
        if page.model.line_at(n).measurand and page.model.line_at(n).rule
    )
    page._choose_row(row)
    plain = page.view.rowHeight(row)
    qtbot.keyClick(page.view, Qt.Key.Key_Y)
    qtbot.waitUntil(lambda: bool(page.delegate.evidence))
    assert any(line.startswith("Rate of wear: ") for line in page.delegate.evidence)
    assert page.view.rowHeight(row) > plain
    qtbot.keyClick(page.view, Qt.Key.Key_Y)
    assert page.view.rowHeight(row) == plain


def test_done_opens_the_sheet_filled_in_even_if_it_was_open(page, session, bench, qtbot, heard):
    sheet = SheetPage(session)
    qtbot.addWidget(sheet)
    sheet.become_visible()
    qtbot.waitUntil(lambda: sheet.model.snapshot is not None)
    assert sheet.model.is_empty
    with qtbot.waitSignal(session.page_wanted) as wanted:
        qtbot.keyClick(page.view, Qt.Key.Key_D)
    assert wanted.args == ["sheet"]
    sheet.become_visible()
    qtbot.waitUntil(lambda: not sheet.model.is_empty)
    draft = kept_draft(bench, 1)
    assert (
        {key for key, task in sheet.model.draft.tasks.items() if task.done}
        == {key for key, task in draft.tasks.items() if task.done}
        != set()
    )
    assert "Filled in from the list" in sheet.sheet.note.text
