"""What every page does: its question, one primary action, problems under the heading, catching up."""

from dataclasses import dataclass, field

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QLabel, QPushButton

from tests.window.named import named
from wearlog.fleet.problem import Offer, Problem, WearlogError
from wearlog.window.page import Page
from wearlog.workshop.changes import Changes


@dataclass
class Told:
    vehicles: list = field(default_factory=list)
    changes: list = field(default_factory=list)


class Bench(Page):
    def __init__(self, session):
        super().__init__(session, "What is on the bench?")
        self.told = Told()

    def show_vehicle(self, vehicle_id):
        self.told.vehicles.append(vehicle_id)

    def refresh(self, changes):
        self.told.changes.append(changes)


@pytest.fixture
def page(session, qtbot):
    page = Bench(session)
    qtbot.addWidget(page)
    return page


def changed(*vehicle_ids):
    return Changes("Saved", "c1", frozenset(vehicle_ids), can_undo=False)


def test_a_page_names_its_question(page):
    assert page.accessibleName() == page.heading.text() == "What is on the bench?"


def test_a_hidden_page_catches_up_once_when_it_is_opened(page, session):
    session.choose(1)
    session.choose(2)
    assert page.told.vehicles == []
    page.show()
    page.become_visible()
    page.become_visible()
    assert page.told.vehicles == [2]


def test_changes_missed_while_hidden_come_together(page, session):
    page.show()
    page.become_visible()
    page.hide()
    session.changed.emit(changed(1))
    session.changed.emit(changed(2))
    page.show()
    page.become_visible()
    assert [c.vehicle_ids for c in page.told.changes] == [frozenset({1, 2})]


def test_a_missed_import_concerns_every_vehicle(page, session):
    page.show()
    page.become_visible()
    page.hide()
    session.changed.emit(changed(1))
    session.changed.emit(changed())
    page.show()
    page.become_visible()
    assert page.told.changes[0].concern(99)


def test_an_open_page_hears_of_changes_at_once(page, session):
    page.show()
    page.become_visible()
    session.changed.emit(changed(1))
    assert len(page.told.changes) == 1


def test_the_primary_action_has_a_key_and_a_name(page, qtbot):
    done = []
    page.set_primary("Save the &sheet", lambda: done.append(True), "Ctrl+Return")
    page.show()
    button = named(page, QPushButton, "Save the sheet")
    qtbot.waitUntil(button.isVisible)
    button.animateClick()
    qtbot.waitUntil(lambda: bool(done))
    assert "Ctrl+Return" in button.toolTip()


def test_problems_stand_under_the_heading_with_ways_on(page, qtbot):
    page.show()
    offer = Offer("Meter replaced", "meter replaced")
    problem = Problem("11 200 km is below the last entry.", "LR-017", "Was the meter replaced?", (offer,))
    page.show_problems(WearlogError(problem))
    assert "LR-017" in named(page, QLabel, "Problems").text()
    way_on = next(b for b in page.findChildren(QPushButton) if b.text() == "Meter replaced")
    with qtbot.waitSignal(page.banner.offered) as offered:
        qtbot.keyClick(way_on, Qt.Key.Key_Space)
    assert offered.args == [offer]
    qtbot.keyClick(named(page, QPushButton, "Hide the problems"), Qt.Key.Key_Space)
    assert not named(page, QFrame, "Problems on this page").isVisible()


def test_many_problems_are_counted_not_listed_to_the_end(page):
    page.show_problems(WearlogError(*(Problem(f"Row {n} is wrong.") for n in range(50))))
    text = named(page, QLabel, "Problems").text()
    assert "Row 5 is wrong." in text
    assert "Row 6 is wrong." not in text
    assert "and 44 more" in text


def test_words_of_a_problem_are_never_taken_for_markup(page):
    page.show_problems(WearlogError(Problem("<b>x</b> is no number.")))
    assert "&lt;b&gt;x" in named(page, QLabel, "Problems").text()
