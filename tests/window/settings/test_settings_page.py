"""The settings page, through the keyboard, on a real store."""

import json
from dataclasses import replace
from datetime import timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QCheckBox, QComboBox, QLabel, QLineEdit, QPushButton

from tests.makers.bench import SEALED, add_caliper, add_motorcycle
from tests.makers.settings import add_gauge, kept_instrument, limit_of_class, maker_limit
from tests.window.conftest import TODAY
from tests.window.named import named
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Instrument, InstrumentKind
from wearlog.preferences import Preferences
from wearlog.store.database import Database
from wearlog.window import theme
from wearlog.window.fields import DateField, EntryField, QuantityField, TagField
from wearlog.window.offer_bar import OfferBar
from wearlog.window.settings.ledger import LedgerView
from wearlog.window.settings.model import Section
from wearlog.window.settings.page import SettingsPage
from wearlog.workshop import agreements
from wearlog.workshop.changes import Changes
from wearlog.workshop.fleet_state import fleet_state

CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def chain(bench):
    return add_motorcycle(bench)


@pytest.fixture
def page(session, qtbot, chain):
    add_caliper(session.bench)
    add_gauge(session.bench, name="gauge G1")
    page = SettingsPage(session)
    qtbot.addWidget(page)
    page.resize(960, 720)
    page.show()
    page.activateWindow()
    qtbot.waitUntil(page.isActiveWindow)
    page.become_visible()
    qtbot.waitUntil(lambda: page.model.snapshot is not None)
    page.focus_first()
    return page


def press(qtbot, key, modifier=Qt.KeyboardModifier.NoModifier):
    qtbot.keyClick(QApplication.focusWidget(), key, modifier)


def type_into(qtbot, field, text):
    field.setFocus(Qt.FocusReason.TabFocusReason)
    field.selectAll()
    qtbot.keyClicks(field, text)


def go_to(page, qtbot, section):
    """Go to a section with the arrow keys."""
    page.bar.focus_current()
    while page.model.section is not section:
        press(qtbot, Qt.Key.Key_Right)
    press(qtbot, Qt.Key.Key_Tab)
    page.focus_first()


def kept(page, qtbot, heard):
    """Confirm the form and return what was said."""
    before = page.model.snapshot
    press(qtbot, Qt.Key.Key_Return, CTRL)
    qtbot.waitUntil(lambda: bool(heard.quiet))
    qtbot.waitUntil(lambda: page.model.snapshot is not before)
    return heard.take_said()


def trail(bench):
    with bench.database.reading() as records:
        return records.audit(limit=1)[0]


# --- going about


def test_the_arrow_keys_show_one_section_at_a_time(page, qtbot):
    page.bar.focus_current()
    seen = [page.model.section]
    for _ in range(5):
        press(qtbot, Qt.Key.Key_Right)
        seen.append(page.model.section)
    assert seen == list(Section)
    assert page.database.isVisible()
    assert not page.limits.isVisible()
    press(qtbot, Qt.Key.Key_Right)
    assert page.limits.isVisible()
    assert [heading.text() for heading in page.bar.headings.values() if heading.isChecked()] == ["Limits"]


def test_each_section_fits_a_narrow_window_and_large_text(page, session):
    session.set_preferences(Preferences(theme="light", text_scale=2.0))
    theme.apply(QApplication.instance(), session.preferences)
    for section in Section:
        page.model.turn(section)
        QApplication.processEvents()
        area = page.stack.currentWidget()
        assert area.widget().width() <= area.viewport().width()


def test_every_control_has_a_name(page):
    for section in Section:
        page.model.turn(section)
        for kind in (QPushButton, QLineEdit, QComboBox, QCheckBox, LedgerView):
            for widget in page.section(section).findChildren(kind):
                is_inside = isinstance(widget.parentWidget(), QComboBox)
                said = widget.accessibleName() or getattr(widget, "text", str)()
                assert said or is_inside, (section, widget)


# --- limits


def test_a_limit_is_changed_from_the_keyboard_and_taken_back(page, qtbot, heard, bench, session):
    view = named(page, LedgerView, "Limits in force")
    assert view.hasFocus()
    press(qtbot, Qt.Key.Key_Return)
    service = named(page, QuantityField, "Service limit")
    assert service.hasFocus()
    qtbot.keyClicks(service, "0.8 %")
    type_into(qtbot, page.limits.limit_form.source, "maker's manual, p. 31")
    said = kept(page, qtbot, heard)
    assert said.text == "Limit changed: chain elongation, sealed motorcycle chain"
    assert limit_of_class(bench).service_limit == 0.008
    entry = trail(bench)
    assert json.loads(entry.before)["service_limit"] == 0.01
    assert json.loads(entry.after)["service_limit"] == 0.008
    assert entry.by == "Ines Falk"
    assert view.hasFocus()
    assert view.model().row_at(0).cells[7] == "workshop"
    said.undo()
    qtbot.waitUntil(lambda: bool(heard.quiet))
    heard.take_said()
    qtbot.waitUntil(lambda: view.model().row_at(0).cells[7] == "wearlog")
    assert limit_of_class(bench).service_limit == 0.01


def test_a_limit_on_the_wrong_side_is_refused_beside_the_fields_and_nothing_is_lost(page, qtbot, bench):
    press(qtbot, Qt.Key.Key_Return)
    form = page.limits.limit_form
    type_into(qtbot, form.as_new, "1.5 %")
    press(qtbot, Qt.Key.Key_Return, CTRL)
    qtbot.waitUntil(lambda: "wrong side" in form.said.text)
    assert form.as_new.text() == "1.5 %"
    assert limit_of_class(bench).as_new == 0.0
    press(qtbot, Qt.Key.Key_Escape)
    assert not form.isVisible()


def test_a_wrong_unit_becomes_a_sentence(page, qtbot):
    press(qtbot, Qt.Key.Key_Return)
    form = page.limits.limit_form
    type_into(qtbot, form.service, "2 N")
    press(qtbot, Qt.Key.Key_Return, CTRL)
    assert "force" in form.said.text
    press(qtbot, Qt.Key.Key_Escape)


def test_an_odd_limit_is_kept_when_the_person_insists(page, qtbot, heard, bench):
    press(qtbot, Qt.Key.Key_Return)
    form = page.limits.limit_form
    type_into(qtbot, form.service, "0.25 %")
    press(qtbot, Qt.Key.Key_Return, CTRL)
    qtbot.waitUntil(lambda: "new chain may already read" in form.said.text)
    assert limit_of_class(bench).service_limit == 0.01
    press(qtbot, Qt.Key.Key_1, Qt.KeyboardModifier.AltModifier)
    qtbot.waitUntil(lambda: bool(heard.quiet))
    heard.take_said()
    assert limit_of_class(bench).service_limit == 0.0025


def test_a_limit_for_one_vehicle_is_added_and_governs_its_chain(page, qtbot, heard, bench, chain):
    press(qtbot, Qt.Key.Key_Insert)
    form = page.limits.limit_form
    type_into(qtbot, form.vehicle, "LR-001")
    type_into(qtbot, form.service, "8 mm/m")
    type_into(qtbot, form.source, "insurer")
    kept(page, qtbot, heard)
    lines = [line for line in page.model.snapshot.limits if line.vehicle_tag == "LR-001"]
    assert [(line.limit.service_limit, line.governs) for line in lines] == [(0.008, 1)]
    assert fleet_state(bench).limit_of(chain, lines[0].limit.measurand)[0].source == "insurer"


def test_a_vehicle_nobody_knows_is_no_scope(page, qtbot):
    press(qtbot, Qt.Key.Key_Insert)
    form = page.limits.limit_form
    type_into(qtbot, named(form, TagField, "Vehicle"), "LR-999")
    form.confirm()
    assert "No vehicle has the tag" in form.said.text
    press(qtbot, Qt.Key.Key_Escape)


def test_a_limit_is_taken_out_of_force_with_a_reason_only(page, qtbot, heard, bench):
    press(qtbot, Qt.Key.Key_Delete)
    reason = named(page.limits, EntryField, "Reason")
    assert reason.hasFocus()
    press(qtbot, Qt.Key.Key_Return, CTRL)
    qtbot.waitUntil(lambda: "without a reason" in page.limits.reason.said.text)
    qtbot.keyClicks(reason, "each model has its own")
    said = kept(page, qtbot, heard)
    assert said.text.startswith("Limit taken out of force")
    with pytest.raises(StopIteration):
        limit_of_class(bench)
    assert "each model has its own" in trail(bench).after


def test_somebody_elses_change_meanwhile_is_shown_with_both_ways_on(page, qtbot, heard, bench):
    press(qtbot, Qt.Key.Key_Return)
    form = page.limits.limit_form
    agreements.change_limit(bench, replace(limit_of_class(bench), service_limit=0.009))
    type_into(qtbot, form.service, "0.7 %")
    press(qtbot, Qt.Key.Key_Return, CTRL)
    qtbot.waitUntil(lambda: "changed it" in form.said.text)
    assert form.said.offers == 2
    press(qtbot, Qt.Key.Key_2, Qt.KeyboardModifier.AltModifier)
    assert form.service.text().startswith("0.9")
    type_into(qtbot, form.service, "0.7 %")
    kept(page, qtbot, heard)
    assert limit_of_class(bench).service_limit == 0.007


def test_wearlogs_own_values_come_back_with_a_button(page, qtbot, heard, bench):
    press(qtbot, Qt.Key.Key_Return)
    type_into(qtbot, page.limits.limit_form.service, "0.8 %")
    kept(page, qtbot, heard)
    press(qtbot, Qt.Key.Key_Return)
    button = page.limits.limit_form.put_back
    assert button.isVisible()
    button.setFocus(Qt.FocusReason.TabFocusReason)
    press(qtbot, Qt.Key.Key_Space)
    kept(page, qtbot, heard)
    assert page.model.snapshot.limit_line(limit_of_class(bench).id).is_default


def test_the_list_is_searched_by_words(page, qtbot):
    type_into(qtbot, named(page, QLineEdit, "Search: Limits in force"), "tooth 428")
    model = page.limits.ledger.model
    assert model.rowCount() == 1
    assert "sprocket 428" in model.row_at(0).cells[1]
    assert page.limits.ledger.count.text().startswith("1 of ")
    assert "428" in named(page.limits, QLabel, "Chosen line").text()


def test_what_a_limit_governs_and_where_it_comes_from_stands_under_the_list(page):
    text = named(page.limits, QLabel, "About the chosen line").text()
    assert "Governs 1 chain in use." in text
    assert "wearlog starts with this" in text
    assert "Source: workshop default" in text


def test_values_are_read_in_the_units_of_the_seat(page, session):
    session.set_preferences(Preferences(theme="light", units=ShownUnits(length="in", elongation="mm/m")))
    rows = [page.limits.ledger.model.row_at(n) for n in range(page.limits.ledger.model.rowCount())]
    assert rows[0].cells[3] == "10\u2009mm/m"
    assert any(row.cells[3].endswith("in") for row in rows)


def test_a_part_fitted_elsewhere_is_counted_without_being_asked(page, qtbot, bench, session):
    types = fleet_state(bench).part_types.values()
    wanted = {"chain": "428 chain", "driver": "428 sprocket 14", "driven": "428 sprocket 42"}
    known = {place: next(t for t in types if t.name == name) for place, name in wanted.items()}
    add_motorcycle(bench, "LR-002", types=known)
    session.changed.emit(Changes("Changed at another seat", "", can_undo=False))
    qtbot.waitUntil(lambda: page.limits.ledger.model.row_at(0).cells[6] == "2")


# --- intervals


def test_an_interval_is_changed(page, qtbot, heard, bench):
    go_to(page, qtbot, Section.INTERVALS)
    section = page.intervals
    row = next(
        line for line in page.model.snapshot.rules if line.rule.task.value == "lubricate" and line.governs
    )
    section.ledger.choose(row.rule.id)
    press(qtbot, Qt.Key.Key_Return)
    assert section.rule_form.every_km.hasFocus()
    qtbot.keyClicks(section.rule_form.every_km, "250 mi")
    kept(page, qtbot, heard)
    rule = page.model.snapshot.rule_line(row.rule.id).rule
    # 1 mi = 1.609344 km (international mile, definition).
    assert rule.every_km == pytest.approx(250 * 1.609344)
    assert json.loads(trail(bench).before)["every_km"] == 400.0


def test_an_interval_that_says_nothing_is_refused(page, qtbot):
    go_to(page, qtbot, Section.INTERVALS)
    press(qtbot, Qt.Key.Key_Insert)
    form = page.intervals.rule_form
    form.once.setChecked(False)
    for field in (form.every_km, form.every_h, form.every_days, form.first_km, form.first_h, form.first_days):
        field.clear()
    type_into(qtbot, form.source, "workshop rule")
    press(qtbot, Qt.Key.Key_Return, CTRL)
    qtbot.waitUntil(lambda: "does not say when" in form.said.text)
    press(qtbot, Qt.Key.Key_Escape)


# --- instruments


def choose_instrument(page, name):
    line = next(one for one in page.model.snapshot.instruments if one.instrument.name == name)
    page.instruments.ledger.choose(line.instrument.id)
    return line.instrument


def test_a_gauge_is_checked_on_a_new_chain_and_its_bias_kept_with_the_day(page, qtbot, heard, bench):
    go_to(page, qtbot, Section.INSTRUMENTS)
    gauge = choose_instrument(page, "gauge G1")
    button = named(page.instruments, QPushButton, "Check on a new chain")
    button.setFocus(Qt.FocusReason.TabFocusReason)
    press(qtbot, Qt.Key.Key_Space)
    form = page.instruments.check_form
    type_into(qtbot, form.shows, "0.21 0.19 0.20 %")
    shown = named(form, QLabel, "What the check shows").text()
    assert shown.startswith("Reads 0.20 ± 0.09\u2009% too much on a new chain.")
    kept(page, qtbot, heard)
    now = kept_instrument(bench, gauge.id)
    assert now.bias == pytest.approx(0.002)
    assert TODAY.isoformat() in now.notes
    assert "0.20 ± 0.09" in now.notes


def test_a_gauge_with_no_stamp_in_says_so(page, qtbot):
    go_to(page, qtbot, Section.INSTRUMENTS)
    choose_instrument(page, "gauge G1")
    page.instruments.check()
    form = page.instruments.check_form
    for name in ("Stamp 0.5", "Stamp 0.75", "Stamp 1.0"):
        answer = named(form, QComboBox, name)
        answer.setFocus(Qt.FocusReason.TabFocusReason)
        press(qtbot, Qt.Key.Key_Down)
        press(qtbot, Qt.Key.Key_Down)
    assert "No stamp goes in" in form.result.text()
    assert "less than 0.5" in form.result.text()
    press(qtbot, Qt.Key.Key_Escape)
    assert not form.isVisible()


def test_a_caliper_is_checked_by_lengths(page, qtbot, heard, bench):
    go_to(page, qtbot, Section.INSTRUMENTS)
    caliper = choose_instrument(page, "caliper 300")
    page.instruments.check()
    form = page.instruments.check_form
    assert form.lengths.hasFocus()
    assert form.pitch.text().startswith("12.7")
    qtbot.keyClicks(form.lengths, "127.25 127.20 127.30")
    type_into(qtbot, form.compared, "127.05")
    assert form.result.text().startswith("Reads 0.20 ± 0.0")
    form.takes_u.setFocus(Qt.FocusReason.TabFocusReason)
    press(qtbot, Qt.Key.Key_Space)
    kept(page, qtbot, heard)
    now = kept_instrument(bench, caliper.id)
    assert now.bias == pytest.approx(0.2)
    assert 0.03 < now.u_instrument < 0.1
    assert "10 pitches of 12.7" in now.notes


def test_stamps_in_mm_per_pitch_become_percent(page, qtbot, heard):
    go_to(page, qtbot, Section.INSTRUMENTS)
    press(qtbot, Qt.Key.Key_Insert)
    form = page.instruments.instrument_form
    type_into(qtbot, form.name, "gauge old")
    form.kind.setCurrentIndex(form.kind.findData(InstrumentKind.GAUGE_TWO_PRONG.value))
    form.kind.activated.emit(form.kind.currentIndex())
    type_into(qtbot, form.stamps, "0.075 0.1")
    form.meaning.setFocus(Qt.FocusReason.TabFocusReason)
    press(qtbot, Qt.Key.Key_Down)
    assert "without the pitch" in form.meant.text()
    type_into(qtbot, form.pitch, "12.7")
    assert "0.075 means 0.59055\u2009%" in form.meant.text()
    kept(page, qtbot, heard)
    made = next(
        one.instrument for one in page.model.snapshot.instruments if one.instrument.name == "gauge old"
    )
    assert dict(made.stamps)["0.1"] == pytest.approx(0.007874)


def test_an_overdue_calibration_is_marked_in_a_word(page, qtbot, heard):
    go_to(page, qtbot, Section.INSTRUMENTS)
    choose_instrument(page, "caliper 300")
    press(qtbot, Qt.Key.Key_Return)
    due = named(page.instruments, DateField, "Calibration due")
    type_into(qtbot, due, (TODAY - timedelta(days=9)).isoformat())
    kept(page, qtbot, heard)
    row = next(
        row
        for row in (page.instruments.ledger.model.row_at(n) for n in range(2))
        if row.cells[0] == "caliper 300"
    )
    assert row.cells[6].startswith("overdue")
    assert row.is_problem
    assert "9 days ago" in named(page.instruments, QLabel, "About the chosen line").text()


def test_a_day_to_come_without_a_year_is_the_next_such_day(page, qtbot):
    due = page.instruments.instrument_form.due
    due.setText("3 Feb")
    assert (due.day.year, due.day.month) == (TODAY.year + 1, 2)
    due.setText("2026-02-03")
    assert due.day.year == 2026


def test_an_instrument_is_retired_and_comes_back(page, qtbot, heard, bench):
    go_to(page, qtbot, Section.INSTRUMENTS)
    gauge = choose_instrument(page, "gauge G1")
    press(qtbot, Qt.Key.Key_Delete)
    qtbot.waitUntil(lambda: bool(heard.quiet))
    assert heard.take_said().text == "gauge G1 retired"
    assert kept_instrument(bench, gauge.id).retired_on == TODAY
    qtbot.waitUntil(lambda: [b.text() for b in page.instruments.detail.buttons][1] == "&Back in use")
    page.instruments.take_out()
    qtbot.waitUntil(lambda: bool(heard.quiet))
    assert heard.take_said().text == "gauge G1 back in use"


# --- workshop, seat, database


def test_the_caution_level_is_agreed_on_and_taken_back(page, qtbot, heard, bench):
    go_to(page, qtbot, Section.WORKSHOP)
    form = page.workshop.form
    assert form.caution.hasFocus()
    qtbot.keyClicks(form.caution, "20 %")
    assert "2 in 10" in form.said_of_caution.text()
    type_into(qtbot, form.window_days, "21")
    said = kept(page, qtbot, heard)
    assert fleet_state(bench).policy.caution_level == 0.2
    assert fleet_state(bench).policy.window_days == 21
    said.undo()
    qtbot.waitUntil(lambda: bool(heard.quiet))
    heard.take_said()
    qtbot.waitUntil(lambda: page.model.snapshot.policy.caution_level == 0.1)
    assert form.caution.text().startswith("10")


def test_a_senseless_window_is_refused(page, qtbot):
    go_to(page, qtbot, Section.WORKSHOP)
    type_into(qtbot, page.workshop.form.window_days, "400")
    press(qtbot, Qt.Key.Key_Return, CTRL)
    said = named(page.workshop, OfferBar, "Questions about it")
    qtbot.waitUntil(lambda: "out of range" in said.text)


def test_who_sits_here_stands_beside_what_is_saved(page, qtbot, heard, session, bench):
    go_to(page, qtbot, Section.SEAT)
    assert page.seat.person.hasFocus()
    line = page.seat.person.lineEdit()
    line.selectAll()
    qtbot.keyClicks(line, "Tilda")
    press(qtbot, Qt.Key.Key_Return)
    assert heard.take_said().text == "Tilda sits here now"
    assert session.preferences.person == "Tilda"
    agreements.add_limit(bench, maker_limit(designation="428"))
    assert trail(bench).by == "Tilda"


def test_units_are_chosen_for_this_seat_and_taken_back(page, qtbot, heard, session):
    go_to(page, qtbot, Section.SEAT)
    length = named(page.seat, QComboBox, "Length")
    length.setFocus(Qt.FocusReason.TabFocusReason)
    place = length.findData("in")
    while length.currentIndex() != place:
        press(qtbot, Qt.Key.Key_Down)
        said = heard.take_said()
    assert session.shown_units.length == "in"
    said.undo()
    assert session.shown_units.length != "in"


def test_light_and_dark_and_the_size_of_text_are_chosen_here(page, qtbot, heard, session):
    go_to(page, qtbot, Section.SEAT)
    look = named(page.seat, QComboBox, "Light or dark")
    look.setFocus(Qt.FocusReason.TabFocusReason)
    press(qtbot, Qt.Key.Key_Down)
    heard.take_said()
    assert session.preferences.theme == "dark"
    named(page.seat, QComboBox, "Text").setFocus(Qt.FocusReason.TabFocusReason)
    press(qtbot, Qt.Key.Key_Down)
    heard.take_said()
    assert session.preferences.text_scale == 1.1


def test_the_database_is_copied_while_work_goes_on(page, qtbot, heard, bench, tmp_path):
    go_to(page, qtbot, Section.DATABASE)
    assert page.database.address.text() == bench.database.address
    assert named(page.database, QLabel, "Vehicles").text() == "1"
    target = tmp_path / "copy.sqlite"
    page.database.back_up(target)
    qtbot.waitUntil(lambda: bool(heard.quiet))
    assert str(target) in heard.take_said().text
    copy = Database.open(target, now=bench.now())
    with copy.reading() as records:
        assert [one.name for one in records.all(Instrument)] == ["caliper 300", "gauge G1"]
    copy.close()


def test_a_copy_over_another_file_is_a_problem_on_the_page(page, qtbot, heard, tmp_path):
    go_to(page, qtbot, Section.DATABASE)
    target = tmp_path / "copy.sqlite"
    target.write_text("mine")
    page.database.back_up(target)
    qtbot.waitUntil(lambda: bool(heard.problems))
    assert "already" in str(heard.take_problem())
    assert target.read_text() == "mine"


def test_another_database_is_asked_for_through_the_window(page, qtbot, session):
    go_to(page, qtbot, Section.DATABASE)
    with qtbot.waitSignal(session.database_wanted):
        press(qtbot, Qt.Key.Key_Space)


def test_the_sealed_chains_are_where_the_list_begins(page):
    first = page.model.snapshot.limits[0].limit
    assert first.wear_class is SEALED
    assert first.designation == ""
