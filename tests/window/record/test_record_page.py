"""The fleet record page, through the keyboard, on a real store."""

import json

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QLabel, QPushButton, QScrollArea

from tests.makers.bench import add_motorcycle
from tests.makers.record import add_cared_for, kind_record, record
from tests.window.named import named
from wearlog.drawing.record_picture import RecordPicture
from wearlog.preferences import Preferences
from wearlog.window import theme
from wearlog.window.pages import PAGES
from wearlog.window.record.page import RecordPage


@pytest.fixture
def page(session, qtbot):
    page = RecordPage(session)
    qtbot.addWidget(page)
    page.resize(960, 720)
    page.show()
    return page


def words_of(page, title):
    section = next(one for one in (page.forecasts, page.rates, page.lives) if one.accessibleName() == title)
    return section.words.accessibleName().translate({0x2009: " ", 0x202F: " ", 0xA0: " "})


def test_the_page_is_in_the_window_with_its_key():
    entry = next(entry for entry in PAGES if entry.name == "record")
    assert (entry.key, entry.question) == ("Ctrl+8", "Were we right?")


def test_without_parts_the_page_says_what_to_do(page, qtbot):
    page.show_vehicle(None)
    qtbot.waitUntil(lambda: page.model.snapshot is not None)
    assert "from the first reading on" in named(page, QLabel, "Why the page is empty").text()
    assert not page.area.isVisible()
    assert not named(page, QComboBox, "Kind of part").isVisible()
    assert not page.export.isEnabled()


def test_a_quick_look_comes_first_and_the_careful_one_by_itself(page, bench, qtbot):
    add_motorcycle(bench, "LR-001", [(1000.0, 0.002), (2500.0, 0.005)])
    page.load()
    qtbot.waitUntil(lambda: page.model.snapshot is not None and page.model.snapshot.is_honest)
    assert "known in its day" in page.subject.text()
    assert not page.primary.isVisible()
    assert "too few to judge by" in words_of(page, "What forecasts were worth")


def test_a_large_fleet_is_judged_without_hindsight_when_asked_to(page, bench, qtbot):
    add_motorcycle(bench, "LR-001", [(1000.0, 0.002)])
    page.show_record(record(kind_record(n_readings=100_000), is_honest=False))
    button = named(page, QPushButton, "Judge without hindsight")
    assert button.isVisible()
    button.setFocus()
    qtbot.keyClick(button, Qt.Key.Key_Space)
    qtbot.waitUntil(lambda: page.model.snapshot.is_honest)
    assert not button.isVisible()


def test_kind_and_factor_are_chosen_with_the_arrow_keys(page, qtbot):
    page.show_record(record(kind_record()))
    kind, by = named(page, QComboBox, "Kind of part"), named(page, QComboBox, "Compared by")
    assert not by.isVisible()
    kind.setFocus()
    qtbot.keyClick(kind, Qt.Key.Key_Down)
    assert by.isVisible()
    assert by.currentText() == "duty"
    assert "1.7 times as fast" in words_of(page, "How fast parts wear")
    qtbot.keyClick(kind, Qt.Key.Key_Up)
    assert page.model.kind is None


def test_lubricants_are_compared(page, bench, qtbot):
    add_cared_for(bench, 2.0, each=6)
    page.load()
    qtbot.waitUntil(lambda: page.model.snapshot is not None and page.model.snapshot.is_honest)
    page.kind.setCurrentIndex(page.kind.findText("sealed motorcycle chains"))
    page.by.setCurrentIndex(page.by.findText("lubricant"))
    assert "“oil” wears" in words_of(page, "How fast parts wear")
    assert "seen, not tried out" in words_of(page, "How fast parts wear")


def test_every_control_and_chart_has_a_name(page):
    page.show_record(record(kind_record()))
    for kind in (QComboBox, QPushButton, RecordPicture, QScrollArea):
        assert all(widget.accessibleName() or widget.text() for widget in page.area.findChildren(kind))
    assert all(picture.accessibleDescription() for picture in page.findChildren(RecordPicture))


def test_a_new_reading_is_judged_too(page, bench, session, qtbot):
    from tests.makers.bench import add_types
    from wearlog.workshop.changes import Changes

    types = add_types(bench)
    add_motorcycle(bench, "LR-001", [(1000.0, 0.002)], types=types)
    page.load()
    qtbot.waitUntil(lambda: page.model.snapshot is not None and page.model.snapshot.is_honest)
    add_motorcycle(bench, "LR-002", [(1000.0, 0.002)], types=types)
    page.refresh(Changes("saved", 1))
    qtbot.waitUntil(lambda: page.model.snapshot.n_vehicles == 2 and page.model.snapshot.is_honest)
    assert page.model.snapshot.readings.n_checks == 2


def test_figures_are_written_to_a_file(page, qtbot, tmp_path, heard):
    page.show_record(record(kind_record()))
    page.write(tmp_path / "record.json")
    qtbot.waitUntil(lambda: bool(heard.quiet))
    assert "record.json" in heard.take_said().text
    assert json.loads((tmp_path / "record.json").read_text(encoding="utf-8"))["kinds"]


def test_a_file_that_can_not_be_written_is_told_under_the_heading(page, qtbot, tmp_path):
    page.show_record(record(kind_record()))
    page.write(tmp_path / "nowhere" / "record.csv")
    qtbot.waitUntil(lambda: bool(page.banner.problems))
    assert "does not exist" in page.banner.problems[0].what


def test_words_go_under_the_chart_where_there_is_no_room_beside_it(page, qtbot):
    page.show_record(record(kind_record()))
    qtbot.waitUntil(lambda: page.rates.side.x() > page.rates.picture.x())
    page.resize(520, 720)
    qtbot.waitUntil(lambda: page.rates.side.y() > page.rates.picture.y())


def test_charts_take_the_dark_look(page, qapp):
    page.show_record(record(kind_record()))
    theme.apply(qapp, Preferences(theme="dark"))
    assert page.forecasts.picture._colours.theme == "dark"
