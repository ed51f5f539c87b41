"""The due page, through the keyboard."""

from datetime import date, timedelta

import pypdf
import pytest
from PySide6.QtCore import QMarginsF, Qt
from PySide6.QtGui import QPageLayout, QPageSize
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtWidgets import QComboBox, QLabel, QLineEdit

from tests.makers.due import due_line, due_list, due_of
from tests.makers.fleet import TODAY
from tests.window.named import named
from wearlog.exchange.wall_list import write_wall_list
from wearlog.fleet.planned import PlannedState, PlannedVisit
from wearlog.fleet.quantity import ShownUnits
from wearlog.window.due.booking_bar import ComingDayField
from wearlog.window.due.model import Column
from wearlog.window.due.page import DuePage, DueView
from wearlog.window.due.print_preview import WallListPreview
from wearlog.workshop.due_snapshot import Action


@pytest.fixture
def page(session, qtbot):
    page = DuePage(session)
    qtbot.addWidget(page)
    page.resize(960, 720)
    page.show()
    return page


def test_the_arrow_keys_unfold_the_reason_of_the_chosen_line(page, qtbot):
    page.show_due(due_list(due_line(1), due_line(2)))
    view = named(page, DueView, "Due list")
    view.setFocus()
    qtbot.keyClick(view, Qt.Key.Key_Down)
    qtbot.keyClick(view, Qt.Key.Key_Down)
    folded, unfolded = view.rowHeight(0), view.rowHeight(1)
    assert unfolded > folded
    qtbot.keyClick(view, Qt.Key.Key_Up)
    assert view.rowHeight(0) == unfolded
    assert view.rowHeight(1) == folded


def test_enter_opens_the_service_sheet_and_t_the_trend(page, session, qtbot):
    page.show_due(due_list(due_line(5)))
    view = named(page, DueView, "Due list")
    view.setFocus()
    qtbot.keyClick(view, Qt.Key.Key_Down)
    with qtbot.waitSignal(session.page_wanted) as wanted:
        qtbot.keyClick(view, Qt.Key.Key_Return)
    assert wanted.args == ["sheet"]
    with qtbot.waitSignal(session.page_wanted) as wanted:
        qtbot.keyClick(view, Qt.Key.Key_T)
    assert wanted.args == ["trend"]
    assert session.vehicle_id == 5


def test_the_vehicle_chosen_in_the_fleet_is_found_in_the_list(page, session):
    page.show_due(due_list(due_line(1), due_line(2), due_line(3)))
    session.choose(3)
    assert page.chosen_line().tag == "LR-003"


def test_a_new_list_keeps_the_chosen_line_even_if_it_moved(page, session):
    page.show_due(due_list(due_line(1), due_line(2, date(2026, 12, 16)), due_line(3, date(2026, 12, 17))))
    session.choose(3)
    page.show_due(due_list(due_line(1), due_line(2, date(2026, 12, 16)), due_line(3, TODAY)))
    assert page.chosen_line().tag == "LR-003"
    assert page.view.currentIndex().row() == 0
    heights = [page.view.rowHeight(n) for n in range(3)]
    assert heights[0] > heights[1] == heights[2]


def test_narrowing_by_typing_and_by_kind(page, qtbot):
    page.show_due(due_list(due_line(1), due_line(2, action=Action.TASK), due_line(12, action=Action.TASK)))
    find = named(page, QLineEdit, "Find in the due list")
    qtbot.keyClicks(find, "lr-01")
    assert page.model.rowCount() == 1
    find.clear()
    kind = named(page, QComboBox, "Kind of job")
    kind.setCurrentIndex(kind.findData(Action.TASK))
    assert page.model.rowCount() == 2


def test_an_empty_list_offers_the_whole_one(page, qtbot):
    page.show_due(due_list(due_line(1, TODAY + timedelta(days=300))))
    assert named(page, QLabel, "Why the list is empty").isVisible()
    page.all_button.setFocus()
    qtbot.keyClick(page.all_button, Qt.Key.Key_Space)
    assert page.model.rowCount() == 1
    assert page.view.isVisible()


def test_the_horizon_is_kept_when_depots_come_and_go(page):
    page.show_due(due_of(20))
    page.horizon.setCurrentIndex(0)
    page.show_due(due_of(30))
    assert page.model.narrowing.within_days == 14


@pytest.mark.parametrize("form", ["csv", "xlsx", "ics", "pdf"])
def test_the_list_is_written_to_files(page, heard, tmp_path, qtbot, form):
    page.show_due(due_of(10))
    file = tmp_path / f"due.{form}"
    page.write(file, form)
    qtbot.waitUntil(lambda: bool(heard.quiet))
    assert heard.take_said().text == f"Written to {file}"
    assert file.stat().st_size > 0


def test_a_file_that_can_not_be_written_becomes_a_banner(page, tmp_path, qtbot):
    page.show_due(due_of(3))
    page.write(tmp_path / "no such folder" / "due.csv", "csv")
    qtbot.waitUntil(page.banner.isVisible)
    assert page.banner.problems


def test_a_real_and_empty_workshop_says_what_is_missing(page, qtbot):
    page.load()
    qtbot.waitUntil(lambda: page.model.snapshot is not None)
    page._show_all()
    assert "Nothing is due" in page.nothing.text()


def test_w_shows_the_coming_weeks_and_their_dates(page, qtbot):
    page.show_due(due_of(20))
    view = named(page, DueView, "Due list")
    assert view.isColumnHidden(Column.WEEKS)
    qtbot.keyClick(view, Qt.Key.Key_W)
    assert not view.isColumnHidden(Column.WEEKS)
    assert page.weeks_button.isChecked()
    qtbot.keyClick(view, Qt.Key.Key_W)
    assert view.isColumnHidden(Column.WEEKS)


def test_a_narrow_list_keeps_vehicle_job_and_date(page):
    page.show_due(due_of(20))
    page.resize(520, 600)
    kept = {column for column in Column if not page.view.isColumnHidden(column)}
    assert {Column.VEHICLE, Column.WHAT, Column.DUE} <= kept
    assert Column.ORDER not in kept
    page.resize(1700, 600)
    assert not any(page.view.isColumnHidden(column) for column in Column)


def test_what_a_hidden_column_would_have_said_stands_in_the_reason(page):
    page.resize(520, 600)
    line = due_line(1)
    page.show_due(due_list(line))
    assert "Order by 1 Dec 2026." in page.view.delegate._why(line)


def mark(number="V-0001", on=date(2026, 12, 3), vehicle_id=1):
    return PlannedVisit(
        number=number, vehicle_id=vehicle_id, depot="Upper Depot", on=on, state=PlannedState.BOOKED
    )


def test_booked_work_says_so_and_can_be_left_out(page):
    first, second = due_line(1), due_line(2)
    page.model.show_visits({first.key: mark()})
    page.show_due(due_list(first, second))
    spoken = page.model.data(page.model.index(0, 0), Qt.ItemDataRole.AccessibleTextRole)
    assert spoken.endswith("booked Thu 3 Dec, V-0001")
    page._choose_row(0)
    assert "booked Thu 3 Dec, V-0001" in page.booking.what.text()
    state = named(page, QComboBox, "State")
    state.setCurrentIndex(state.findText("not booked"))
    assert [page.model.line_at(n).tag for n in range(page.model.rowCount())] == ["LR-002"]
    state.setCurrentIndex(state.findText("past limit"))
    assert page.model.rowCount() == 0
    assert "Nothing matches" in page.nothing.text()


def test_a_day_without_a_year_is_one_to_come(page):
    day = ComingDayField("Day of the visit", TODAY)
    for text, meant in (
        ("3 Dec", date(2026, 12, 3)),
        ("5 Jan", date(2027, 1, 5)),
        ("2027-02-01", date(2027, 2, 1)),
    ):
        day.setText(text)
        assert day.day == meant
    day.setText("5 Jan 2026")
    assert day.day is None
    assert "past" in day.problem.what


def test_what_is_printed_is_what_the_wall_list_holds(page, qtbot, tmp_path):
    page.show_due(due_list(due_line(1), due_line(2, action=Action.MEASURE)))
    preview = WallListPreview(page.model.shown_snapshot(), page)
    qtbot.addWidget(preview)
    printer = QPrinter()
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "printed.pdf"))
    printer.setFullPage(True)
    printer.setPageLayout(
        QPageLayout(QPageSize(QPageSize.PageSizeId.A4), QPageLayout.Orientation.Landscape, QMarginsF())
    )
    preview.paint_on(printer)
    write_wall_list(page.model.shown_snapshot(), tmp_path / "file.pdf", ShownUnits())
    printed, written = (pypdf.PdfReader(tmp_path / name) for name in ("printed.pdf", "file.pdf"))
    assert len(printed.pages) == len(written.pages)
    texts = [[page.extract_text().split() for page in one.pages] for one in (printed, written)]
    assert texts[0] == texts[1]
    sizes = [one.pages[0].mediabox for one in (printed, written)]
    assert float(sizes[0].width) == pytest.approx(float(sizes[1].width), abs=1.0)
