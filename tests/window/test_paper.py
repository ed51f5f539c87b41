"""From a kept plan to the job card, by its number into the service sheet, and papers for the owner."""

import json

import pypdf
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog

from wearlog.fleet.planned import PlannedState, PlannedVisit
from wearlog.planning.scheduling import VisitPolicy
from wearlog.preferences import Preferences
from wearlog.window.bench_keys import put_focus
from wearlog.window.start import build_window
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.plan_keep import keep_plan
from wearlog.workshop.plan_visits import plan_visits

TAG = "LR-009"


@pytest.fixture
def visit(sample):
    """The planned visit of a patrol motorcycle."""
    keep_plan(sample, plan_visits(sample, 2, VisitPolicy.AS_LISTED))
    vehicle_id = fleet_state(sample).vehicle_tagged(TAG).id
    with sample.database.reading() as records:
        return records.first(PlannedVisit, vehicle_id=vehicle_id)


@pytest.fixture
def seat(sample, visit, qtbot):
    """The whole window on the sample fleet with a kept plan."""
    seat = build_window(sample, Preferences(theme="light", person="Tilda"), place="Larkfell Ranger Service")
    seat.window.resize(1280, 800)
    with qtbot.waitExposed(seat.window):
        seat.show()
    seat.window.activateWindow()
    qtbot.waitUntil(lambda: not seat.background.is_busy())
    yield seat
    qtbot.waitUntil(lambda: not seat.background.is_busy())
    seat.close()
    seat.window.deleteLater()


def chosen(seat, qtbot, page):
    seat.session.choose(fleet_state(seat.session.bench).vehicle_tagged(TAG).id)
    seat.window.open_page(page)
    qtbot.waitUntil(lambda: not seat.background.is_busy())
    return seat.window.current_page()


def entry(page, word):
    """The menu entry of a page that holds a word."""
    return next(slot for text, slot in page.exports() if word in text.replace("&", ""))


def test_a_scanned_card_opens_its_sheet_and_saving_ends_the_visit(seat, visit, qtbot):
    seat.window.open_page("sheet")
    qtbot.waitUntil(lambda: not seat.background.is_busy())
    page = seat.window.current_page()
    put_focus(page.head.tag)
    page.head.tag.selectAll()
    # A scanner types what the bars say, then Enter.
    QTest.keyClicks(page.head.tag, visit.number)
    QTest.keyClick(page.head.tag, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: page.model.snapshot is not None and page.model.snapshot.tag == TAG)
    assert page.model.snapshot.planned_number == visit.number
    page.model.type_meter(f"{page.model.snapshot.last_meter + 1:g}")
    qtbot.waitUntil(lambda: not seat.background.is_busy() and not page._pause.isActive())
    page.save()
    bench = seat.session.bench

    def is_done():
        with bench.database.reading() as records:
            return records.get(PlannedVisit, visit.id).state is PlannedState.DONE

    qtbot.waitUntil(is_done)


def test_the_job_card_of_the_chosen_vehicle_is_written_from_the_due_list(
    seat, visit, qtbot, tmp_path, monkeypatch
):
    page = chosen(seat, qtbot, "due")
    file = tmp_path / "card.pdf"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args: (str(file), ""))
    entry(page, "Job card")()
    qtbot.waitUntil(file.exists)
    said = " ".join(pypdf.PdfReader(file).pages[0].extract_text().split())
    assert TAG in said
    # It is planned: its card bears the number of that visit.
    assert visit.number in said


def test_report_and_warranty_record_are_written_from_the_trend(seat, qtbot, tmp_path, monkeypatch):
    page = chosen(seat, qtbot, "trend")
    qtbot.waitUntil(lambda: page.model.snapshot is not None)
    report, record = tmp_path / "report.pdf", tmp_path / "record.json"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args: (str(report), ""))
    entry(page, "report")()
    qtbot.waitUntil(report.exists)
    assert "What is advised, and why" in " ".join(pypdf.PdfReader(report).pages[0].extract_text().split())
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args: (str(record), ""))
    entry(page, "Warranty")()
    qtbot.waitUntil(record.exists)
    data = json.loads(record.read_text(encoding="utf-8"))
    assert data["installation"]["id"] == page.model.snapshot.installation_id


def test_without_a_vehicle_the_page_says_to_choose_one(seat, qtbot):
    page = chosen(seat, qtbot, "due")
    seat.session.vehicle_id = None
    entry(page, "Job card")()
    assert page.banner.problems[0].what == "No vehicle is chosen."
