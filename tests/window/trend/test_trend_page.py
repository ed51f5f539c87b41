"""The wear trend page, worked by keyboard."""

import csv

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from tests.makers import trend
from wearlog.exchange.csv_folder import read_import
from wearlog.fleet.progress import Silent
from wearlog.fleet.quantity import ShownUnits
from wearlog.preferences import Preferences
from wearlog.resources import sample_fleet
from wearlog.window import theme
from wearlog.window.trend.page import TrendPage
from wearlog.workshop.bring_in import bring_in
from wearlog.workshop.judge import fleet_snapshot
from wearlog.workshop.trend_snapshot import ReadingMark

#: Two vehicles of the sample fleet, enough to be learned from.
TAGS = {"LR-009", "LC-01"}


@pytest.fixture
def page(session, qtbot):
    page = TrendPage(session)
    qtbot.addWidget(page)
    page.resize(980, 740)
    page.show()
    page.become_visible()
    return page


@pytest.fixture
def small_fleet(bench, tmp_path):
    """Import two vehicles of the sample fleet; their ids by tag."""
    folder = tmp_path / "small"
    folder.mkdir()
    for file in sorted(sample_fleet().glob("*.csv")):
        with file.open(encoding="utf-8", newline="") as stream:
            rows = list(csv.DictReader(stream))
        key = next((name for name in ("vehicle", "tag") if rows and name in rows[0]), None)
        kept = [row for row in rows if key is None or row[key] in TAGS]
        if kept:
            with (folder / file.name).open("w", encoding="utf-8", newline="") as stream:
                table = csv.DictWriter(stream, rows[0].keys())
                table.writeheader()
                table.writerows(kept)
    bring_in(bench, read_import([folder], Silent()), Silent())
    return {row.tag: row.vehicle_id for row in fleet_snapshot(bench).rows}


def named(page, name):
    (found,) = [w for w in page.findChildren(QWidget) if w.accessibleName() == name and w.isVisibleTo(page)]
    return found


def test_without_a_vehicle_it_says_what_to_do_first(page):
    assert named(page, "Why there is no trend").text() == "Choose a vehicle in the fleet."
    assert not page.export_button.isEnabled()


def test_a_vehicle_that_is_gone_leaves_a_sentence_and_a_way_on(page, session, qtbot):
    session.choose(404)
    qtbot.waitUntil(lambda: "not kept here" in page.nothing.title.text())
    with qtbot.waitSignal(session.page_wanted) as went:
        page.nothing.button.click()
    assert went.args == ["sheet"]


def test_the_page_shows_figure_state_and_dates(page):
    page.show_trend(trend.chain_at(0.85))
    assert named(page, "Estimate today").text() == "1.45"
    assert named(page, "State").text() == "plan"
    shown = {fact.name.text(): fact.figure.text() for fact in page.panel.facts.shown}
    assert shown == {
        "Reaches its limit after": "another 730\u2009km",
        "Replace by": "27 Dec 2026",
        "Order by": "13 Dec 2026",
    }
    assert page.subject.text().startswith("LR-017")


def test_a_part_without_readings_shows_what_is_expected(page):
    page.show_trend(trend.chain_without_readings())
    assert page.expected.isVisible()
    assert not page.readings.isVisible()
    assert page.chart.series is not None


def test_why_unfolds_by_keyboard(page, qtbot):
    page.show_trend(trend.chain_at(0.85))
    assert not page.panel.why.isVisible()
    page.panel.why_button.setFocus()
    qtbot.keyClick(page.panel.why_button, Qt.Key.Key_Space)
    assert page.panel.why.isVisible()
    assert {fact.name.text() for fact in page.panel.why.shown} >= {"Readings used", "Limit", "Usage"}


def test_stepping_in_the_chart_chooses_the_row_and_back(page, qtbot):
    page.show_trend(trend.chain_at(0.85))
    page.focus_first()
    qtbot.keyClick(page.chart, Qt.Key.Key_Home)
    assert page.readings.chosen().reading_id == 1
    qtbot.keyClick(page.readings, Qt.Key.Key_Up)
    assert page.chart.looked_at is not None
    looked_at = page.chart.series.snapshot.readings[page.chart.looked_at]
    assert looked_at.reading_id == page.readings.chosen().reading_id == 2


def test_the_primary_action_goes_to_the_service_sheet(page, session, qtbot):
    page.show_trend(trend.chain_at(0.85))
    with qtbot.waitSignal(session.page_wanted) as went:
        qtbot.keyClick(page, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert went.args == ["sheet"]


def test_the_chart_is_written_as_shown_and_said_quietly(page, heard, tmp_path):
    page.show_trend(trend.chain_at(0.85))
    for ending in ("png", "svg", "pdf", "csv"):
        file = tmp_path / f"chart.{ending}"
        page.write(file)
        assert file.stat().st_size > 1000
        assert heard.take_said().text.endswith(f"chart.{ending}")


def test_a_file_that_cannot_be_written_is_told_on_the_page(page, tmp_path):
    page.show_trend(trend.chain_at(0.85))
    page.write(tmp_path / "no such folder" / "chart.png")
    assert page.banner.isVisible()
    assert "folder does not exist" in page.banner.problems[0].what


def test_another_theme_and_larger_text_reach_the_chart(page, session, qapp):
    page.show_trend(trend.chain_at(0.85))
    theme.apply(qapp, Preferences(theme="dark", text_scale=1.5))
    assert page.chart.frame_now.colours.theme == "dark"
    assert page.chart.frame_now.scale == 1.5


def test_other_units_are_read_at_once(page, session):
    page.show_trend(trend.chain_at(0.85))
    session.set_preferences(Preferences(theme="light", units=ShownUnits(distance="mi")))
    assert "mi" in page.panel.facts.shown[0].figure.text()


def test_the_most_urgent_part_of_a_vehicle_is_shown_and_another_chosen(page, session, small_fleet, qtbot):
    session.choose(small_fleet["LR-009"])
    qtbot.waitUntil(lambda: page.model.snapshot is not None, timeout=20_000)
    first = page.model.snapshot
    assert first.tag == "LR-009"
    assert page.chooser.count() == len(first.choices) > 1
    page.focus_first()
    qtbot.waitUntil(page.chart.hasFocus)
    qtbot.keyClick(page.chart, Qt.Key.Key_Down, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(
        lambda: (
            (page.model.snapshot.installation_id, page.model.snapshot.measurand)
            != (first.installation_id, first.measurand)
        ),
        timeout=20_000,
    )


def test_a_wrong_reading_is_voided_with_its_reason_and_can_be_brought_back(
    page, session, small_fleet, heard, qtbot
):
    session.choose(small_fleet["LR-009"])
    qtbot.waitUntil(lambda: page.model.snapshot is not None, timeout=20_000)
    before = sum(reading.mark is not ReadingMark.VOIDED for reading in page.model.snapshot.readings)
    page.readings.selectRow(0)
    voided = page.readings.chosen().reading_id
    qtbot.keyClick(page.readings, Qt.Key.Key_Delete)
    reason = named(page, "Why the reading is wrong")
    qtbot.keyClicks(reason, "other vehicle")
    qtbot.keyClick(reason, Qt.Key.Key_Return)

    def counting():
        return sum(reading.mark is not ReadingMark.VOIDED for reading in page.model.snapshot.readings)

    qtbot.waitUntil(lambda: counting() == before - 1, timeout=20_000)
    assert page.readings._readings.row_at(page.readings._readings.row_of(voided)).mark is ReadingMark.VOIDED
    said = heard.take_said()
    said.undo()
    qtbot.waitUntil(lambda: counting() == before, timeout=20_000)
    assert heard.take_said()
