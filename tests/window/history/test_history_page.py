"""The history page, through the keyboard, on a real store."""

from dataclasses import replace
from datetime import timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QLabel, QLineEdit, QPushButton, QRadioButton

from tests.makers.bench import KM_A_DAY, add_motorcycle, add_types
from tests.makers.bench import TODAY as FLEET_DAY
from tests.makers.torque import motorcycle_with_sheet, tighten
from tests.window.named import named
from wearlog.fleet.fitting import Installation
from wearlog.fleet.meter import MeterEntry, MeterEvent
from wearlog.fleet.reading import Reading
from wearlog.fleet.torque import TorqueRecord
from wearlog.window.fields import EntryField
from wearlog.window.history.model import Filter
from wearlog.window.history.page import HistoryPage
from wearlog.window.history.view import RecordsView
from wearlog.window.offer_bar import OfferBar
from wearlog.workshop.measure import save
from wearlog.workshop.sheet import SheetDraft

READ_SO_FAR = [(500, 0.0010), (1500, 0.0022), (2800, 0.0040)]
CTRL = Qt.KeyboardModifier.ControlModifier
ALT = Qt.KeyboardModifier.AltModifier


@pytest.fixture
def page(session, qtbot):
    page = HistoryPage(session)
    qtbot.addWidget(page)
    page.resize(979, 690)
    page.show()
    return page


@pytest.fixture
def chain(bench):
    return add_motorcycle(bench, readings=READ_SO_FAR)


def opened(page, session, qtbot, vehicle_id):
    session.choose(vehicle_id)
    qtbot.waitUntil(lambda: page.snapshot is not None and page.snapshot.vehicle_id == vehicle_id)
    page.activateWindow()
    qtbot.waitUntil(page.isActiveWindow)
    page.focus_first()
    return named(page, RecordsView, "What happened")


def kept(bench, kind, **equal):
    with bench.database.reading() as records:
        return records.all(kind, **equal)


def keep(page, qtbot, heard, where, *, at_once=True):
    """Ctrl+Enter; a question about it is answered with Alt+1."""
    qtbot.keyClick(where, Qt.Key.Key_Return, CTRL)
    if not at_once:
        qtbot.waitUntil(lambda: page.below.form is not None and page.below.form.said.offers > 0)
        qtbot.keyClick(where, Qt.Key.Key_1, ALT)
    qtbot.waitUntil(lambda: bool(heard.quiet))
    return heard.take_said()


def typed(qtbot, field, text):
    field.setFocus(Qt.FocusReason.TabFocusReason)
    field.selectAll()
    qtbot.keyClicks(field, text)


def shown(view):
    model = view.records
    return [model.row_at(n).cells for n in range(model.rowCount())]


# --- what is shown


def test_without_a_vehicle_the_page_says_what_to_do(page):
    assert "Choose a vehicle" in named(page, QLabel, "Chosen line").text()


def test_the_latest_comes_first_and_filters_leave_one_kind(page, session, qtbot, chain):
    view = opened(page, session, qtbot, chain.vehicle_id)
    days = [page.records.row_at(n).item.on for n in range(page.records.rowCount())]
    assert days == sorted(days, reverse=True)
    button = named(page, QPushButton, "Readings, 3 records")
    qtbot.keyClick(button, Qt.Key.Key_Space)
    assert [cells[2] for cells in shown(view)] == ["Elongation"] * 3
    qtbot.keyClicks(named(page, QLineEdit, "Search the history"), "0.22")
    assert len(shown(view)) == 1
    assert named(page, QLabel, "How many are shown").text() == "1 of 3"


def test_a_meter_value_of_a_visit_stands_with_its_visit(page, session, bench, qtbot, chain):
    save(bench, SheetDraft(chain.vehicle_id, FLEET_DAY, meter_text="5010", meter_value=5010.0, notes="x"))
    opened(page, session, qtbot, chain.vehicle_id)
    on_day = [page.records.row_at(n).cells for n in range(3)]
    assert [cells[2] for cells in on_day].count("Visit") == 1
    assert not any("5010" in cells[1] and cells[2] == "Meter read" for cells in on_day)
    page.head.choose(Filter.METER)
    assert "5010" in page.records.row_at(0).cells[1].replace("\u202f", "")


# --- readings


def test_a_reading_is_voided_with_a_reason_and_counts_again(page, session, bench, qtbot, heard, chain):
    view = opened(page, session, qtbot, chain.vehicle_id)
    page.head.choose(Filter.READINGS)
    view.setFocus()
    qtbot.keyClick(view, Qt.Key.Key_Delete)
    reason = named(page, EntryField, "Reason")
    assert reason.hasFocus()
    qtbot.keyClicks(reason, "other bike")
    assert keep(page, qtbot, heard, reason).text == "Reading of LR-001 voided"
    qtbot.waitUntil(lambda: page.records.row_at(0).is_void)
    assert view.hasFocus()
    assert shown(view)[0][2] == "Elongation (voided)"
    assert "Voided: other bike." in named(page, QLabel, "About the chosen line").text()
    qtbot.keyClick(view, Qt.Key.Key_Delete)
    qtbot.waitUntil(lambda: bool(heard.quiet))
    assert heard.take_said().text == "Reading of LR-001 counts again"
    qtbot.waitUntil(lambda: not page.records.row_at(0).is_void)


def test_a_reading_is_corrected_as_typed_and_taken_back(page, session, bench, qtbot, heard, chain):
    view = opened(page, session, qtbot, chain.vehicle_id)
    page.head.choose(Filter.READINGS)
    view.setFocus()
    qtbot.keyClick(view, Qt.Key.Key_Return)
    field = named(page, EntryField, "What was read")
    assert field.text() == "255.02 mm"
    typed(qtbot, field, "255.4 255.27")
    comes_to = named(page.below.reading_form, QLabel, "What it comes to")
    # 255.40 mm over 20 pitches of 12.7 mm: 1.40 / 254 = 0.55 % (worked by hand).
    qtbot.waitUntil(lambda: "becomes 0.55" in comes_to.text())
    assert comes_to.text().startswith("0.40")
    said = keep(page, qtbot, heard, field)
    assert said.text == "Reading of LR-001 corrected"
    assert kept(bench, Reading)[-1].value == pytest.approx(0.00551, abs=5e-6)
    qtbot.waitUntil(lambda: "0.55" in shown(view)[0][4])
    said.undo()
    qtbot.waitUntil(lambda: bool(heard.quiet))
    assert heard.take_said().text == "Undone: Reading of LR-001 corrected"
    assert kept(bench, Reading)[-1].value == 0.004


def test_a_number_pad_parts_the_spots_of_a_correction(page, session, qtbot, chain):
    view = opened(page, session, qtbot, chain.vehicle_id)
    page.head.choose(Filter.READINGS)
    qtbot.keyClick(view, Qt.Key.Key_F2)
    field = named(page, EntryField, "What was read")
    typed(qtbot, field, "255.4+255.1")
    assert field.text() == "255.4 255.1"


def test_an_odd_correction_is_asked_about_and_kept_by_one_key(page, session, bench, qtbot, heard, chain):
    view = opened(page, session, qtbot, chain.vehicle_id)
    page.head.choose(Filter.READINGS)
    qtbot.keyClick(view, Qt.Key.Key_Return)
    field = named(page, EntryField, "What was read")
    typed(qtbot, field, "253")
    keep(page, qtbot, heard, field, at_once=False)
    assert kept(bench, Reading)[-1].value == pytest.approx(-1 / 254)


def test_what_cannot_be_understood_stays_typed(page, session, bench, qtbot, heard, chain):
    view = opened(page, session, qtbot, chain.vehicle_id)
    page.head.choose(Filter.READINGS)
    qtbot.keyClick(view, Qt.Key.Key_Return)
    field = named(page, EntryField, "What was read")
    typed(qtbot, field, "25 horses")
    qtbot.keyClick(field, Qt.Key.Key_Return, CTRL)
    assert "horses" in named(page.below.reading_form, OfferBar, "Questions about it").text
    assert field.text() == "25 horses"
    assert kept(bench, Reading)[-1].value == 0.004


def test_a_second_seat_sees_both_versions_and_chooses(page, session, bench, qtbot, heard, chain):
    view = opened(page, session, qtbot, chain.vehicle_id)
    page.head.choose(Filter.READINGS)
    qtbot.keyClick(view, Qt.Key.Key_Return)
    field = named(page, EntryField, "What was read")
    with bench.database.writing(by="Rhys", at=bench.now(), what="fix") as records:
        records.replace(replace(records.all(Reading)[-1], value=0.0031))
    typed(qtbot, field, "255.4")
    qtbot.keyClick(field, Qt.Key.Key_Return, CTRL)
    bar = named(page.below.reading_form, OfferBar, "Questions about it")
    qtbot.waitUntil(lambda: bar.offers == 2)
    assert "Rhys changed it" in bar.text
    assert "Theirs: 0.31" in bar.text
    assert field.text() == "255.4"
    qtbot.keyClick(field, Qt.Key.Key_1, ALT)
    qtbot.waitUntil(lambda: bool(heard.quiet))
    heard.take_said()
    assert kept(bench, Reading)[-1].value == pytest.approx(0.00551, abs=5e-6)


# --- meter


def test_a_meter_entry_is_corrected_and_told_what_moves_along(page, session, bench, qtbot, heard, chain):
    view = opened(page, session, qtbot, chain.vehicle_id)
    page.head.choose(Filter.METER)
    qtbot.keyClick(view, Qt.Key.Key_Return)
    field = named(page, EntryField, "Meter")
    typed(qtbot, field, "5030")
    qtbot.waitUntil(lambda: "5030" in named(page.below.meter_form, QLabel, "What it comes to").text())
    assert keep(page, qtbot, heard, field).text == "Meter entry of LR-001 corrected"
    assert max(entry.value for entry in kept(bench, MeterEntry)) == 5030.0


def test_a_meter_that_would_run_backwards_is_refused_and_was_perhaps_replaced(
    page, session, bench, qtbot, heard, chain
):
    view = opened(page, session, qtbot, chain.vehicle_id)
    page.head.choose(Filter.METER)
    qtbot.keyClick(view, Qt.Key.Key_Return)
    field = named(page, EntryField, "Meter")
    typed(qtbot, field, "12")
    qtbot.keyClick(field, Qt.Key.Key_Return, CTRL)
    bar = named(page.below.meter_form, OfferBar, "Questions about it")
    qtbot.waitUntil(lambda: bar.offers == 3)
    assert "go backwards" in bar.text
    qtbot.keyClick(field, Qt.Key.Key_1, ALT)
    old = named(page, EntryField, "Last value of the old meter")
    assert old.hasFocus()
    qtbot.keyClicks(old, "5000")
    keep(page, qtbot, heard, old)
    assert kept(bench, MeterEntry, event=MeterEvent.REPLACED)[0].old_value == 5000.0


def test_a_forgotten_replacement_is_entered_afterwards(page, session, bench, qtbot, heard, chain):
    view = opened(page, session, qtbot, chain.vehicle_id)
    qtbot.keyClick(view, Qt.Key.Key_Insert)
    assert named(page, QComboBox, "What happened").currentText() == "meter replaced"
    typed(qtbot, named(page, EntryField, "Last value of the old meter"), "5000")
    field = named(page, EntryField, "Meter")
    assert field.text() == "0"
    assert keep(page, qtbot, heard, field).text == "Meter replacement of LR-001 entered"
    qtbot.waitUntil(lambda: any(cells[2] == "Meter replaced" for cells in shown(view)))


def test_two_seats_on_one_meter_entry_choose_field_by_field(page, session, bench, qtbot, heard, chain):
    view = opened(page, session, qtbot, chain.vehicle_id)
    page.head.choose(Filter.METER)
    latest = page.line.record
    qtbot.keyClick(view, Qt.Key.Key_Return)
    field = named(page, EntryField, "Meter")
    with bench.database.writing(by="Rhys", at=bench.now(), what="note") as records:
        records.replace(replace(latest, note="read twice"))
    typed(qtbot, field, "5030")
    qtbot.keyClick(field, Qt.Key.Key_Return, CTRL)
    panel = page.below.conflict
    qtbot.waitUntil(panel.isVisible)
    assert named(panel, QRadioButton, "value, mine: 5030\u2009km").isChecked()
    assert named(panel, QRadioButton, "note, theirs: read twice").isChecked()
    qtbot.keyClick(panel.keep, Qt.Key.Key_Space)
    qtbot.waitUntil(lambda: bool(heard.quiet))
    heard.take_said()
    (entry,) = kept(bench, MeterEntry, id=latest.id)
    assert (entry.value, entry.note) == (5030.0, "read twice")


# --- parts


def test_a_part_is_moved_to_another_vehicle_by_keyboard(page, session, bench, qtbot, heard):
    types = add_types(bench)
    chain = add_motorcycle(bench, "LR-001", READ_SO_FAR, types=types)
    other = add_motorcycle(bench, "LR-002", km_on_chain=2000.0, types=types)
    view = opened(page, session, qtbot, chain.vehicle_id)
    page.head.choose(Filter.PARTS)
    row = next(n for n in range(3) if page.records.row_at(n).item.record.id == chain.id)
    view.choose(page.records.row_at(row).key)
    qtbot.keyClick(named(page, QPushButton, "Move the part"), Qt.Key.Key_Space)
    place = named(page, EntryField, "To vehicle")
    assert place.hasFocus()
    qtbot.waitUntil(lambda: page.below.move_form.has_places)
    qtbot.keyClicks(place, "LR-002")
    qtbot.waitUntil(lambda: "4000" in named(page.below.move_form, QLabel, "What it comes to").text())
    qtbot.keyClick(place, Qt.Key.Key_Return, CTRL)
    bar = named(page.below.move_form, OfferBar, "Questions about it")
    qtbot.waitUntil(lambda: bar.offers == 2)
    assert "sits there since" in bar.text
    qtbot.keyClick(place, Qt.Key.Key_1, ALT)
    qtbot.waitUntil(lambda: bool(heard.quiet))
    assert heard.take_said().text == "428 chain, 116 links moved from LR-001 to LR-002"
    assert kept(bench, Installation, part_id=chain.part_id)[1].vehicle_id == other.vehicle_id
    qtbot.waitUntil(lambda: any(cells[4].startswith("moved, after") for cells in shown(view)))


def test_a_reading_in_the_way_of_a_fitting_is_one_key_away(page, session, qtbot, chain):
    view = opened(page, session, qtbot, chain.vehicle_id)
    page.head.choose(Filter.PARTS)
    view.choose(f"fitted {chain.id}")
    qtbot.keyClick(view, Qt.Key.Key_Return)
    day = named(page, EntryField, "Fitted on")
    typed(qtbot, day, (FLEET_DAY - timedelta(days=100)).isoformat())
    typed(qtbot, named(page, EntryField, "Meter when fitted"), f"{5000 - 100 * KM_A_DAY:g}")
    qtbot.keyClick(day, Qt.Key.Key_Return, CTRL)
    bar = named(page.below.fitting_form, OfferBar, "Questions about it")
    qtbot.waitUntil(lambda: bar.offers == 1)
    qtbot.keyClick(day, Qt.Key.Key_1, ALT)
    assert page.line.key.startswith("reading ")
    assert page.below.form is None


# --- torques and the trail


def test_a_torque_is_voided_from_the_history(page, session, bench, qtbot, heard):
    chain = motorcycle_with_sheet(bench)
    tighten(bench, chain.vehicle_id, rear_axle=52.0)
    view = opened(page, session, qtbot, chain.vehicle_id)
    page.head.choose(Filter.TORQUES)
    qtbot.keyClick(view, Qt.Key.Key_Delete)
    reason = named(page, EntryField, "Reason")
    qtbot.keyClicks(reason, "wrench was off")
    keep(page, qtbot, heard, reason)
    assert kept(bench, TorqueRecord, live=True) == ()


def test_the_trail_says_who_changed_what_and_goes_to_a_file(
    page, session, bench, qtbot, heard, chain, tmp_path, monkeypatch
):
    with bench.database.writing(by="Rhys", at=bench.now(), what="Slip mended") as records:
        records.replace(replace(records.all(Reading)[-1], note="by hand"))
    opened(page, session, qtbot, chain.vehicle_id)
    qtbot.keyClick(named(page, QPushButton, "Who changed it"), Qt.Key.Key_Space)
    view = named(page, RecordsView, "Trail of changes")
    assert shown(view)[0][1:] == ("Rhys", "reading of elongation changed", "note: –", "note: by hand")
    assert "Slip mended" in named(page, QLabel, "Chosen line").text()
    file = tmp_path / "trail.csv"
    monkeypatch.setattr(
        "wearlog.window.history.page.QFileDialog.getSaveFileName", lambda *_args: (str(file), "")
    )
    qtbot.keyClick(named(page, QPushButton, "Export the trail"), Qt.Key.Key_Space)
    qtbot.waitUntil(lambda: bool(heard.quiet))
    assert heard.take_said().text == f"Written: {file}"
    assert "Slip mended" in file.read_text("utf-8-sig")
    assert len(page.exports()) == 2


def test_the_history_follows_the_units_of_the_seat(page, session, qtbot, chain):
    view = opened(page, session, qtbot, chain.vehicle_id)
    units = replace(session.preferences.units, distance="mi")
    session.set_preferences(replace(session.preferences, units=units))
    # 5000 km are 3106.9 international miles (NIST SP 811, appendix B.8).
    qtbot.waitUntil(lambda: shown(view)[0][1].replace("\u2009", " ") == "3107 mi")


def test_escape_leaves_a_form_and_changes_nothing(page, session, bench, qtbot, chain):
    view = opened(page, session, qtbot, chain.vehicle_id)
    page.head.choose(Filter.READINGS)
    qtbot.keyClick(view, Qt.Key.Key_Return)
    field = named(page, EntryField, "What was read")
    typed(qtbot, field, "260")
    qtbot.keyClick(field, Qt.Key.Key_Escape)
    assert page.below.form is None
    assert view.hasFocus()
    assert kept(bench, Reading)[-1].value == 0.004


def test_every_control_has_a_name(page, session, qtbot, chain):
    opened(page, session, qtbot, chain.vehicle_id)
    kinds = (QPushButton, QLineEdit, QComboBox, RecordsView)
    nameless = [
        widget
        for kind in kinds
        for widget in page.findChildren(kind)
        if not (widget.accessibleName() or (isinstance(widget, QPushButton) and widget.text()))
        and widget.objectName() != "qt_spinbox_lineedit"
        and not isinstance(widget.parent(), QComboBox)
    ]
    assert not nameless
