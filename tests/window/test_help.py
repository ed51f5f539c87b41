"""Help in place: opened with F1 on every page, not in the way of the work, and gone with Esc."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel

from wearlog.drawing.step_picture import Step, StepPicture
from wearlog.fleet.reading import Measurand, Method
from wearlog.measuring.how_to import how_to, methods_for
from wearlog.preferences import Preferences
from wearlog.window.bench_keys import put_focus
from wearlog.window.help.methods import all_methods
from wearlog.window.help.topics import page_help
from wearlog.window.main_window import WELCOME
from wearlog.window.pages import PAGES
from wearlog.window.start import build_window
from wearlog.workshop.fleet_state import fleet_state


@pytest.fixture
def seat(sample, qtbot):
    """The whole window on the sample fleet, the service sheet of a motorcycle open."""
    seat = build_window(sample, Preferences(theme="light", person="Tilda"))
    seat.window.resize(1280, 800)
    seat.session.vehicle_id = fleet_state(sample).vehicle_tagged("LR-007").id
    with qtbot.waitExposed(seat.window):
        seat.show()
    seat.window.open_page("sheet")
    qtbot.waitUntil(lambda: not seat.background.is_busy())
    seat.window.activateWindow()
    yield seat
    qtbot.waitUntil(lambda: not seat.background.is_busy())
    seat.close()
    seat.window.deleteLater()


def press(key):
    QTest.keyClick(QApplication.focusWidget(), key)


def words(panel) -> str:
    return "\n".join(label.text() for label in panel.findChildren(QLabel))


def row_of(page, measurand):
    return next(row for row in page.sheet.rows() if page.model.asked(row.key).measurand is measurand)


def test_f1_opens_at_the_method_of_the_entry_and_esc_goes_back_to_it(seat):
    page = seat.window.current_page()
    row = row_of(page, Measurand.CHAIN_ELONGATION)
    put_focus(row.field)
    press(Qt.Key.Key_F1)
    panel = seat.window.help
    assert panel.isVisible()
    way = page.model.way(row.key).method
    opened = [part.told.key for part in panel.parts if part.heading.isChecked()]
    assert opened == [(Measurand.CHAIN_ELONGATION, way)]
    assert panel.isAncestorOf(QApplication.focusWidget())
    drawn = {picture.step for picture in panel.findChildren(StepPicture) if picture.isVisibleTo(panel)}
    assert Step.SEVERAL_SPOTS in drawn
    press(Qt.Key.Key_Escape)
    assert not panel.isVisible()
    assert QApplication.focusWidget() is row.field


def test_another_entry_opens_its_own_method(seat):
    page = seat.window.current_page()
    put_focus(row_of(page, Measurand.CHAIN_ELONGATION).field)
    press(Qt.Key.Key_F1)
    put_focus(row_of(page, Measurand.SLACK).field)
    press(Qt.Key.Key_F1)
    opened = [part.told.key for part in seat.window.help.parts if part.heading.isChecked()]
    assert opened == [(Measurand.SLACK, Method.DIRECT)]


def test_the_page_goes_on_working_while_help_is_open(seat):
    page = seat.window.current_page()
    row = row_of(page, Measurand.SLACK)
    put_focus(row.field)
    press(Qt.Key.Key_F1)
    assert not seat.window.help.isModal()
    put_focus(row.field)
    QTest.keyClicks(row.field, "31")
    assert page.model.entry(row.key).text == "31"
    assert seat.window.help.isVisible()


def test_f1_within_help_closes_it(seat):
    put_focus(seat.window.current_page().head.meter)
    press(Qt.Key.Key_F1)
    assert seat.window.help.isVisible()
    press(Qt.Key.Key_F1)
    assert not seat.window.help.isVisible()


def test_every_page_has_help_with_the_cautions_and_every_way_of_measuring(seat, qtbot):
    for entry in PAGES:
        seat.window.open_page(entry.name)
        qtbot.waitUntil(lambda: not seat.background.is_busy())
        seat.window.turn_help()
        panel = seat.window.help
        said = words(panel)
        assert entry.title in panel.title.text()
        assert all(sentence in said for sentence in page_help(entry.name).purpose)
        assert "maker's manual" in said
        assert "Battery isolated or key out" in said
        assert len(panel.parts) == len(all_methods())
        assert all(part.heading.text() for part in panel.parts)
        panel.leave()


def test_help_leaves_when_another_page_is_opened(seat):
    seat.window.turn_help()
    seat.window.open_page("trend")
    assert not seat.window.help.isVisible()


def test_all_pages_and_the_first_steps_have_a_purpose_and_usual_errors():
    for name in (*(entry.name for entry in PAGES), WELCOME):
        told = page_help(name)
        assert told.purpose
        assert told.ways
        assert told.errors


def test_every_way_of_measuring_says_how_what_goes_wrong_and_where_that_is_from():
    told = {method.key: method for method in all_methods()}
    for measurand in Measurand:
        for method in methods_for(measurand):
            one = told[measurand, method]
            assert how_to(measurand, method).how in one.how
            assert one.errors
            assert one.source
