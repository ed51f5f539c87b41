"""A sheet of the workshop's own, matched, tried, imported, remembered; by keyboard, on a real store."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from wearlog.exchange.matching import SERVICE, DayOrder
from wearlog.fleet.reading import Measurand, Reading
from wearlog.fleet.vehicle import Vehicle
from wearlog.window.import_sheet.page import ImportPage

BOOK = """\
Larkfell service book;;;;;
Bike;Date;Odo (km);Mechanic;Chain stretch %;New chain
LR-1;14.3.2026;1 240;Ada;0,15;
LR-1;2.5.2026;2.480;Ada;0,32;
LR-2;2.5.2026;9000;Bo;0,95;x
LR-2;2.7.2026;10200,5;Bo;0,1;
"""


@pytest.fixture
def page(session, qtbot):
    page = ImportPage(session)
    qtbot.addWidget(page)
    page.resize(960, 720)
    page.show()
    page.become_visible()
    return page


@pytest.fixture
def book(tmp_path):
    file = tmp_path / "book.csv"
    file.write_text(BOOK, encoding="utf-8")
    return file


def settle(page, qtbot):
    qtbot.waitUntil(lambda: not page.session.background.is_busy() and not page._pause.isActive())


def opened(page, qtbot, file):
    page.take_paths([file])
    with qtbot.waitSignal(page.model.outcome_changed):
        pass
    settle(page, qtbot)


def kept(bench, kind):
    with bench.database.reading() as records:
        return records.all(kind, live=True)


def said_what_they_are(page, qtbot):
    page.model.set_fixed("like", "belt primary")
    page.model.set_fixed("depot", "Upper Depot")
    settle(page, qtbot)


def test_a_book_of_services_is_known_by_its_headers(page, qtbot, book):
    opened(page, qtbot, book)
    match = page.model.match
    assert (match.purpose, match.header_row) == (SERVICE, 2)
    assert (match.days, match.decimal) == (DayOrder.DAY_FIRST, ",")
    shown = {line.header: line.cells for line in page.list.columns.lines}
    assert shown["Date"][0] == "14 Mar 2026"
    assert shown["Odo (km)"][:2] == ("1240\u2009km", "2480\u2009km")
    assert shown["Chain stretch %"][0] == "0.15\u2009%"
    assert not page.primary.isEnabled()
    assert "new vehicles are like" in page.report.toPlainText()


def test_nothing_is_kept_before_the_import_and_everything_after(page, qtbot, book, bench, session, heard):
    opened(page, qtbot, book)
    said_what_they_are(page, qtbot)
    assert page.outcome.text().startswith("Would add 2 vehicles")
    assert kept(bench, Vehicle) == ()
    with qtbot.waitSignal(session.changed):
        page.primary.click()
    heard.take_said()
    assert {vehicle.tag for vehicle in kept(bench, Vehicle)} == {"LR-1", "LR-2"}
    assert len(kept(bench, Reading)) == 4
    settle(page, qtbot)
    # The same file again: the match is remembered, and it adds nothing.
    opened(page, qtbot, book)
    assert page.model.is_remembered
    assert "Nothing new" in page.outcome.text()
    page.primary.click()
    qtbot.waitUntil(lambda: bool(heard.quiet))
    assert "Nothing new" in heard.take_said().text
    settle(page, qtbot)


def test_an_import_can_be_undone_and_done_again(page, qtbot, book, bench, session, heard):
    opened(page, qtbot, book)
    said_what_they_are(page, qtbot)
    with qtbot.waitSignal(session.changed):
        page.primary.click()
    said = heard.take_said()
    with qtbot.waitSignal(session.changed):
        said.undo()
    heard.take_said()
    settle(page, qtbot)
    assert kept(bench, Vehicle) == ()
    assert kept(bench, Reading) == ()
    opened(page, qtbot, book)
    assert page.outcome.text().startswith("Would add 2 vehicles")


def test_a_remembered_match_is_forgotten_on_wish(page, qtbot, book, session, heard):
    opened(page, qtbot, book)
    said_what_they_are(page, qtbot)
    with qtbot.waitSignal(session.changed):
        page.primary.click()
    heard.take_said()
    settle(page, qtbot)
    opened(page, qtbot, book)
    assert page.forget_button.isVisible()
    page.forget_button.click()
    qtbot.waitUntil(lambda: bool(heard.quiet))
    heard.take_said()
    assert not page.forget_button.isVisible()
    settle(page, qtbot)
    opened(page, qtbot, book)
    assert not page.model.is_remembered


def test_a_column_is_changed_by_keyboard(page, qtbot, book):
    opened(page, qtbot, book)
    page.window().activateWindow()
    page.list.setFocus()
    for _ in range(4):
        QTest.keyClick(page.list, Qt.Key.Key_Down)
    assert page.form.column.header == "Chain stretch %"
    QTest.keyClick(page.list, Qt.Key.Key_Return)
    qtbot.waitUntil(page.form.holds.hasFocus)
    QTest.keyClick(page.form.holds, Qt.Key.Key_Escape)
    qtbot.waitUntil(page.list.hasFocus)
    QTest.keyClick(page.list, Qt.Key.Key_Delete)
    assert [column.header for column in page.model.match.left_out] == ["Chain stretch %"]
    assert "1 column is left out: Chain stretch %" in page.subject.text()
    page.form._on_holds("measure")
    assert page.form.column.measure.measurand is Measurand.CHAIN_ELONGATION
    page.form._on_measurand(Measurand.SLACK)
    assert page.form.column.unit == "mm"
    settle(page, qtbot)


def test_every_wrong_cell_is_listed_and_marked_and_nothing_is_imported(page, qtbot, tmp_path, bench):
    file = tmp_path / "wrong.csv"
    file.write_text(
        "Bike,Date,Km,Stretch %\nLR-1,2026-02-30,120,0.3\nLR-1,2026-03-01,,0.4\nLR-1,2026-04-01,190,red\n",
        encoding="utf-8",
    )
    opened(page, qtbot, file)
    report = page.report.toPlainText()
    assert "wrong.csv row 2, Date" in report
    assert "wrong.csv row 3, Km" in report
    assert "wrong.csv row 4, Stretch %" in report
    assert not page.primary.isEnabled()
    assert [line.wrong for line in page.list.columns.lines] == [set(), {0}, {1}, {2}]
    assert kept(bench, Vehicle) == ()


def test_a_file_that_can_not_be_read_says_why(page, qtbot, tmp_path):
    file = tmp_path / "torn.xlsx"
    file.write_bytes(b"PK\x03\x04 nothing behind it")
    page.take_paths([file])
    qtbot.waitUntil(page.plain_report.isVisible)
    assert "torn.xlsx" in page.plain_report.toPlainText()
    assert "damaged" in page.plain_report.toPlainText()


def test_a_folder_in_the_format_needs_no_matching(page, qtbot, tmp_path, session, heard):
    from tests.makers.import_folder import write_folder

    folder = write_folder(tmp_path / "fleet")
    with qtbot.waitSignal(session.changed):
        page.take_paths([folder])
    heard.take_said()
    assert "Imported: 3 vehicles" in page.subject.text()
    page.take_paths([folder])
    qtbot.waitUntil(lambda: bool(heard.quiet))
    assert "Nothing new" in heard.take_said().text


def test_another_encoding_is_read_when_it_is_chosen(page, qtbot, tmp_path):
    file = tmp_path / "names.csv"
    file.write_bytes("Bike,Date,Km,Mechanic\nLR-1,2026-03-01,120,Ján\n".encode("cp1250"))
    opened(page, qtbot, file)
    assert "Windows-1252" in page.report.toPlainText()
    page.bar.encoding.picked.emit("cp1250")
    qtbot.waitUntil(lambda: page.model.book.way.encoding == "cp1250")
    settle(page, qtbot)
    assert {line.header: line.cells for line in page.list.columns.lines}["Mechanic"] == ("Ján",)


def test_every_control_has_a_name(page, qtbot, book):
    from PySide6.QtWidgets import QComboBox, QLineEdit, QPlainTextEdit, QPushButton, QTableView

    opened(page, qtbot, book)
    for kind in (QComboBox, QLineEdit, QPushButton, QTableView, QPlainTextEdit):
        for widget in page.findChildren(kind):
            if widget.isVisible():
                named = widget.accessibleName() or getattr(widget, "text", str)()
                assert named, widget
