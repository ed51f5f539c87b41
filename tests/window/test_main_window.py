"""The frame: fleet on the left, one page on the right, everything by keyboard."""

import sys
import threading  # noqa: TID251 - to hold a worker until the test lets it go

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QComboBox,
    QDialog,
    QFrame,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
)

from tests.makers.due import due_list, due_of
from tests.makers.fleet import fleet, fleet_of, fleet_row, rule_at
from tests.window.named import named
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.fleet.state import State
from wearlog.window import theme
from wearlog.window.background import Ending
from wearlog.window.due.page import DuePage
from wearlog.window.main_window import MainWindow
from wearlog.window.messages import BugCatcher
from wearlog.window.page import Page
from wearlog.window.pages import PAGES, PageEntry
from wearlog.window.welcome.page import WelcomePage


class NotesPage(Page):
    def __init__(self, session):
        super().__init__(session, "What was noted?")
        self.shown = []

    def show_vehicle(self, vehicle_id):
        self.shown.append(vehicle_id)


class QuietDuePage(DuePage):
    """The due page with a list of its own."""

    def load(self):
        self.show_due(due_of(20))


ENTRIES = (
    PageEntry("notes", "Notes", "What was noted?", "Ctrl+1", NotesPage),
    PageEntry("due", "Due for service", "When is it due?", "Ctrl+3", QuietDuePage),
)


@pytest.fixture
def window(session, heard, qtbot, monkeypatch):
    window = MainWindow(session, place="Larkfell Ranger Service", entries=ENTRIES)
    monkeypatch.setattr(window.fleet, "load", lambda: None)
    qtbot.addWidget(window)
    window.show()
    window.start()
    window.fleet.show_fleet(fleet_of(40))
    return window


def action(window, text):
    return next(a for a in window.findChildren(QAction) if a.text().replace("&", "") == text)


def test_every_page_has_a_name_a_question_and_a_key_of_its_own():
    names = [entry.name for entry in PAGES]
    assert names[:3] == ["trend", "sheet", "due"]
    assert "torque" in names
    for what in ("name", "title", "question", "key"):
        assert len({getattr(entry, what) for entry in PAGES}) == len(PAGES)
    assert all(entry.question.endswith("?") for entry in PAGES)


def test_pages_are_reached_by_key_tab_and_menu(window, qtbot):
    assert window.current_page().heading.text() == "What was noted?"
    qtbot.keyClick(window, Qt.Key.Key_3, Qt.KeyboardModifier.ControlModifier)
    assert window.current_page().heading.text() == "When is it due?"
    action(window, "Notes").trigger()
    assert window.current_page().heading.text() == "What was noted?"
    tab = next(b for b in window.findChildren(QPushButton) if b.text() == "Due for service")
    tab.click()
    assert tab.isChecked()
    assert isinstance(window.current_page(), DuePage)


def test_the_most_urgent_vehicle_is_chosen_at_first(session, heard, qtbot):
    window = MainWindow(session, entries=ENTRIES)
    qtbot.addWidget(window)
    window.fleet.show_fleet(
        fleet(fleet_row(1, "", rule_at(0.4)), fleet_row(2, "", rule_at(1.1)), fleet_row(3, "", rule_at(0.8)))
    )
    assert session.vehicle_id == 2
    assert window.fleet.model.snapshot.count(State.PAST_LIMIT) == 1


def test_the_next_vehicle_is_one_key_away_and_the_page_follows(window, session, qtbot):
    session.choose(window.fleet.model.first_vehicle())
    before = session.vehicle_id
    action(window, "Next vehicle").trigger()
    assert session.vehicle_id != before
    assert window.current_page().shown[-1] == session.vehicle_id
    action(window, "Previous vehicle").trigger()
    assert session.vehicle_id == before


def test_an_empty_workshop_is_helped_to_begin(window, qtbot):
    window.fleet.show_fleet(fleet())
    assert isinstance(window.current_page(), WelcomePage)
    window.fleet.show_fleet(fleet(fleet_row(1)))
    assert isinstance(window.current_page(), NotesPage)


def test_the_search_is_one_key_away(window, qtbot):
    action(window, "Find in the fleet").trigger()
    assert named(window, QLineEdit, "Find in the fleet").hasFocus() or window.focusWidget() is not None
    assert window.focusWidget().accessibleName() == "Find in the fleet"


def test_what_was_saved_is_said_quietly_and_taken_back_from_the_menu(window, heard, session):
    undone = []
    session.messages.said("Service of LR-017 saved", lambda: undone.append(True))
    heard.take_said()
    assert named(window, QFrame, "What was saved").isVisible()
    assert named(window, QLabel, "What was saved, in words").text() == "Service of LR-017 saved"
    action(window, "Undo: Service of LR-017 saved").trigger()
    assert undone == [True]
    assert not action(window, "Undo").isEnabled()


def test_a_problem_stands_on_the_open_page_and_nothing_is_modal(window, heard, session):
    session.messages.problem(WearlogError(Problem("The database is locked.", todo="Try again.")))
    heard.take_problem()
    assert "locked" in named(window.current_page(), QLabel, "Problems").text()
    assert QApplication.activeModalWidget() is None


def test_a_bug_is_shown_with_a_report_to_copy_and_work_goes_on(window, heard, session, qtbot, caplog):
    catcher = BugCatcher(session.messages)
    catcher.install()
    try:
        sys.excepthook(*_raised(ZeroDivisionError("no links")))
    finally:
        catcher.remove()
    assert "ZeroDivisionError" in heard.take_bug()
    dialog = window.findChild(QDialog)
    assert "no links" in named(dialog, QPlainTextEdit, "Report").toPlainText()
    copy = next(b for b in dialog.findChildren(QPushButton) if b.text() == "&Copy report")
    copy.click()
    assert "no links" in QApplication.clipboard().text()
    dialog.reject()
    assert "no links" in caplog.text


def _raised(error):
    try:
        raise error
    except ZeroDivisionError:
        return sys.exc_info()


def test_a_problem_that_escaped_is_still_shown_as_a_problem(window, heard, session):
    catcher = BugCatcher(session.messages)
    catcher.install()
    try:
        error = WearlogError(Problem("The file is gone."))
        sys.excepthook(WearlogError, error, None)
    finally:
        catcher.remove()
    assert heard.take_problem() is error


def test_long_work_shows_a_strip_and_esc_stops_it(window, session, qtbot):
    reached, got = threading.Event(), []

    def work(progress):
        n = 0
        while True:
            n = (n + 1) % 100
            progress.step(n, 100, "Reading rows")
            reached.set()

    job = session.background.run(work, key="import", done=got.append, what="Importing")
    strip = named(window, QFrame, "Work on its way")
    assert not strip.isVisible()
    qtbot.waitUntil(strip.isVisible)
    assert named(strip, QLabel, "What is being done").text() in {"Reading rows", "Importing …"}
    qtbot.keyClick(window, Qt.Key.Key_Escape)
    qtbot.waitUntil(lambda: job.ending is not None)
    assert job.ending is Ending.STOPPED
    assert not got
    assert not strip.isVisible()


def test_short_work_shows_no_strip(window, session, qtbot):
    got = []
    session.background.run(lambda _progress: 1, key="short", done=got.append, what="Looking")
    qtbot.waitUntil(lambda: bool(got))
    assert not named(window, QFrame, "Work on its way").isVisible()


def test_light_dark_and_text_size_are_changed_in_the_menu(window, session, qtbot):
    action(window, "Dark").trigger()
    assert theme.colours().is_dark
    action(window, "Text larger").trigger()
    assert session.preferences.text_scale == pytest.approx(1.1)
    assert theme.text_scale() == pytest.approx(1.1)
    action(window, "Plain text size").trigger()
    assert session.preferences.text_scale == pytest.approx(1.0)


def test_the_window_is_found_again_as_it_was_left(window, session, heard, qtbot):
    # Smaller than the offscreen screen of 800 x 800, or it is held to that.
    window.resize(777, 666)
    window.open_page("due")
    session.choose(7)
    tag = window.fleet.model.vehicle_at(window.fleet.model.row_of(7)).tag
    window.close()
    kept = session.preferences
    assert (kept.last_page, kept.last_vehicle) == ("due", tag)
    session.vehicle_id = None
    again = MainWindow(session, entries=ENTRIES)
    qtbot.addWidget(again)
    assert (again.width(), again.height()) == (777, 666)
    again.fleet.show_fleet(fleet_of(40))
    assert session.vehicle_id == 7


def test_what_a_page_can_export_stands_in_the_file_menu(window):
    window._fill_export()
    assert [a.text() for a in window._export.actions()] == ["Nothing to export on this page"]
    window.open_page("due")
    window._fill_export()
    assert any("CSV" in a.text() for a in window._export.actions())


def test_help_shows_the_cautions(window):
    action(window, "Cautions").trigger()
    dialog = window.findChild(QDialog)
    assert "run-on point" in dialog.text.toPlainText()
    assert "never override the vehicle maker's manual" in dialog.text.toPlainText()
    dialog.reject()


def test_every_control_has_a_name(window):
    for name in ("notes", "due", "welcome"):
        window.page(name)
    window.page("due").show_due(due_list())
    kinds = (QAbstractButton, QComboBox, QLineEdit, QAbstractItemView)
    for kind in kinds:
        for control in window.findChildren(kind):
            if control.isHidden() or control.objectName().startswith("qt_") or _is_part_of_another(control):
                continue
            text = control.text() if hasattr(control, "text") else ""
            assert control.accessibleName() or text, control


def _is_part_of_another(control):
    """Whether it is the pop-up list of a box or a button inside a field."""
    parent = control.parent()
    while parent is not None:
        if isinstance(parent, QLineEdit | QComboBox | QAbstractItemView):
            return True
        parent = parent.parent()
    return False
