"""The drive set-up page, worked by keyboard on a small fleet."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLabel

from tests.makers.setup import add_belt_motorcycle
from tests.window.named import named
from wearlog.fleet.fitting import Position
from wearlog.fleet.parts import DriveKind
from wearlog.fleet.quantity import ShownUnits
from wearlog.preferences import Preferences
from wearlog.window import theme
from wearlog.window.bench_keys import put_focus
from wearlog.window.drive_setup.model import SetupModel
from wearlog.window.drive_setup.page import SetupPage
from wearlog.workshop.compare_setups import setup_snapshot
from wearlog.workshop.compare_snapshot import PlanField
from wearlog.workshop.fleet_state import fleet_state

CONTROL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def made(bench):
    return add_belt_motorcycle(bench)


@pytest.fixture
def page(session, qtbot):
    page = SetupPage(session)
    qtbot.addWidget(page)
    page.resize(960, 720)
    with qtbot.waitExposed(page):
        page.show()
    page.activateWindow()
    qtbot.waitUntil(page.isActiveWindow)
    page.become_visible()
    return page


@pytest.fixture
def rest(page, session, qtbot):
    """Wait until the program has answered."""

    def wait():
        qtbot.waitUntil(
            lambda: not session.background.is_busy() and not page._pause.isActive(), timeout=30_000
        )

    return wait


@pytest.fixture
def opened(page, session, made, rest):
    """The page on a motorcycle with a belt primary."""
    session.choose(made.vehicle.id)
    rest()
    return page


def type_into(page, field, text):
    entry = page.form.fields[field]
    put_focus(entry)
    QTest.keyClicks(entry, text)


def press(key, modifiers=Qt.KeyboardModifier.NoModifier):
    QTest.keyClick(QApplication.focusWidget(), key, modifiers)


def cells(page, name):
    """Return the cells of a figure as they are shown."""
    model = page.model.rows
    for row in range(model.rowCount()):
        if model.index(row, 0).data() == name:
            return [model.index(row, column).data().replace("\u2009", " ") for column in range(1, 4)]
    return None


def note(page, field):
    return page.form.notes[field]


# --- empty


def test_without_a_vehicle_it_says_what_to_do_first(page):
    assert named(page, QLabel, "Why there is no set-up").text() == "Choose a vehicle in the fleet."
    assert not page.primary.isVisible()


def test_a_stage_that_is_not_known_says_which_part_is_missing(page, bench, made, session, rest):
    state = fleet_state(bench)
    with bench.database.writing(by="Tilda", at=bench.now(), what="off") as records:
        for stage_id in (made.primary.id, made.final.id):
            records.void(
                next(i for i in state.current_on(stage_id) if i.position is Position.DRIVER), "never there"
            )
    session.choose(made.vehicle.id)
    rest()
    assert "the driver" in page.empty.title.text()
    assert "Fit a chain or belt" in page.empty.text.text()
    assert not page.primary.isVisible()


# --- planning


def test_it_opens_on_what_is_fitted(opened):
    assert opened.subject.text().startswith("LR-031")
    assert cells(opened, "ratio of this stage") == ["2.571", "", ""]
    assert not opened.primary.isEnabled()
    assert opened.form.fields[PlanField.PITCHES].text() == "112"
    assert "28 to 72 teeth by belt" in opened.drawing.accessibleDescription()


def test_the_figures_follow_every_key(opened):
    type_into(opened, PlanField.DRIVER, "2")
    QTest.keyClicks(QApplication.focusWidget(), "6")
    assert cells(opened, "ratio of this stage") == ["2.571", "2.769", "+7.7 %"]
    assert opened.form.news[Position.DRIVER].isChecked()
    assert not opened.form.news[Position.DRIVEN].isChecked()


def test_the_life_at_this_fleets_rates_follows_in_a_moment(opened, rest):
    opened.model.choose_stage(opened.model.snapshot.stages[1].stage.id)
    type_into(opened, PlanField.DRIVER, "12")
    rest()
    life = cells(opened, "chain, to its limit")
    assert life[0].endswith(" km")
    # (1/14 + 1/48) / (1/12 + 1/48) by Archard's law, from memory.
    assert life[2] == "\u221211.4 %"
    assert cells(opened, "rests on")[0] == "engineering estimate"


def test_what_is_wrong_becomes_a_sentence_and_the_text_stays(opened):
    type_into(opened, PlanField.DRIVEN, "0")
    press(Qt.Key.Key_Tab)
    assert "0 teeth cannot be" in note(opened, PlanField.DRIVEN).text()
    assert opened.form.fields[PlanField.DRIVEN].text() == "0"
    type_into(opened, PlanField.CENTRE, "500 N")
    press(Qt.Key.Key_Tab)
    assert "length is wanted" in note(opened, PlanField.CENTRE).text()
    assert opened.form.fields[PlanField.CENTRE].text() == "500 N"
    assert cells(opened, "ratio of this stage") == ["2.571", "", ""]
    assert not opened.primary.isEnabled()
    type_into(opened, PlanField.DRIVEN, "72")
    type_into(opened, PlanField.CENTRE, "9.508 in")
    assert not note(opened, PlanField.CENTRE).isVisible()
    assert cells(opened, "ratio of this stage")[0] == "2.571"


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        (PlanField.PITCHES, "7.5", "not a whole number"),
        (PlanField.PITCHES, "20", "too short to close"),
        (PlanField.CENTRE, "40", "touch"),
        (PlanField.ADJUSTER, "-3", "cannot travel"),
        (PlanField.TENSION, "-180", "above zero"),
        (PlanField.DRIVER, "many", "not a number"),
    ],
)
def test_each_wrong_figure_is_told_below_its_own_field(opened, field, text, said):
    type_into(opened, field, text)
    press(Qt.Key.Key_Tab)
    assert said in note(opened, field).text()
    assert [one for one in PlanField if one in opened.form.notes and opened.model.problem(one)] == [field]


def test_the_length_that_closes_is_offered_and_taken(opened, rest):
    put_focus(opened.form.drive)
    press(Qt.Key.Key_Up)
    assert opened.model.draft.drive is DriveKind.CHAIN
    opened.model.set_run(
        next(c.part_type for c in opened.model.snapshot.choices if c.part_type.designation == "08B")
    )
    type_into(opened, PlanField.DRIVER, "17")
    type_into(opened, PlanField.DRIVEN, "44")
    hint = note(opened, PlanField.PITCHES)
    assert "70 links close" in hint.text()
    hint.linkActivated.emit("0")
    assert opened.form.fields[PlanField.PITCHES].text() == "70"
    assert cells(opened, "links or belt teeth")[1] == "70"
    assert "Closes at 244.7" in opened.verdict.text()


def test_what_does_not_close_stands_right_under_the_drawing(opened):
    type_into(opened, PlanField.PITCHES, "108")
    assert "108 belt teeth are too short" in opened.verdict.text()
    assert opened.verdict.property("role") == "problem"


def test_cautions_are_counted_and_one_press_away(opened, rest):
    put_focus(opened.form.drive)
    press(Qt.Key.Key_Up)
    rest()
    assert "cautions" in opened.more.text().replace("&", "")
    assert "guard" in opened.notes.text
    before = opened.area.verticalScrollBar().value()
    opened.more.click()
    assert opened.area.verticalScrollBar().value() > before


def test_the_plan_goes_back_to_what_is_fitted(opened):
    type_into(opened, PlanField.DRIVER, "99")
    opened.form.back.click()
    assert opened.form.fields[PlanField.DRIVER].text() == "28"
    assert not opened.model.is_touched


def test_the_stages_are_stepped_through_by_keys(opened):
    put_focus(opened.form.fields[PlanField.DRIVER])
    press(Qt.Key.Key_Down, CONTROL)
    assert opened.form.stage.currentText() == "final drive"
    assert opened.form.fields[PlanField.DRIVER].text() == "14"
    press(Qt.Key.Key_Up, CONTROL)
    assert opened.form.stage.currentText() == "primary drive"


def test_a_plan_in_progress_outlives_a_change_elsewhere(opened, session, rest, bench):
    type_into(opened, PlanField.DRIVER, "26")
    with bench.database.writing(by="Ines", at=bench.now(), what="other") as records:
        records.set_setting("caution level", "0.05")
    session.look_for_changes()
    rest()
    opened.traffic.open(opened.model.snapshot.vehicle.id)
    rest()
    assert opened.form.fields[PlanField.DRIVER].text() == "26"


def test_the_life_is_estimated_anew_when_the_fleet_was_measured(opened, rest, qtbot, made):
    rest()
    assert not opened.model.wants_estimate
    with qtbot.waitSignal(opened.traffic.estimated, timeout=30_000):
        opened.traffic.open(made.vehicle.id)
    rest()
    assert opened.model.comparison.is_estimated


def test_a_late_estimate_of_the_plan_that_was_fitted_is_not_taken_for_the_new_stage(
    opened, rest, bench, made
):
    rest()
    late = opened.model.comparison
    type_into(opened, PlanField.DRIVER, "26")
    shown = opened.model.comparison
    opened.model.take_estimate(late)
    assert opened.model.comparison is shown


# --- fitting


def test_fitting_asks_for_the_meter_and_esc_leaves_it(opened, rest):
    type_into(opened, PlanField.DRIVER, "26")
    rest()
    press(Qt.Key.Key_Return, CONTROL)
    assert opened.fit_bar.isVisible()
    assert QApplication.focusWidget() is opened.fit_bar.meter
    assert "Goes on: driver pulley H8M, 26 teeth" in opened.fit_bar.what.text()
    press(Qt.Key.Key_Escape)
    assert not opened.fit_bar.isVisible()
    assert QApplication.focusWidget() is opened.form.fields[PlanField.DRIVER]


@pytest.mark.parametrize(("text", "said"), [("108", "too short"), ("", "number of belt teeth is missing")])
def test_a_plan_that_cannot_be_fitted_says_so_at_the_field_before_anything_is_asked(opened, text, said):
    put_focus(opened.form.fields[PlanField.PITCHES])
    press(Qt.Key.Key_Delete)
    if text:
        QTest.keyClicks(QApplication.focusWidget(), text)
    type_into(opened, PlanField.DRIVER, "27")
    press(Qt.Key.Key_Return, CONTROL)
    assert said in note(opened, PlanField.PITCHES).text()
    assert QApplication.focusWidget() is opened.form.fields[PlanField.PITCHES]
    assert not opened.fit_bar.isVisible()


def test_what_is_missing_for_the_fitting_is_said_in_the_page(opened, rest):
    type_into(opened, PlanField.DRIVER, "27")
    press(Qt.Key.Key_Return, CONTROL)
    press(Qt.Key.Key_Return, CONTROL)
    rest()
    assert "meter value is missing" in opened.fit_bar.said.text()
    assert opened.fit_bar.isVisible()


def test_a_negative_tension_is_told_beside_its_field(opened, rest):
    type_into(opened, PlanField.DRIVER, "27")
    press(Qt.Key.Key_Return, CONTROL)
    QTest.keyClicks(opened.fit_bar.meter, "4100")
    put_focus(opened.fit_bar.set_to)
    QTest.keyClicks(opened.fit_bar.set_to, "-180 N")
    press(Qt.Key.Key_Return, CONTROL)
    rest()
    assert "must be above zero" in opened.fit_bar.said.text()


def test_a_fitted_plan_is_what_is_fitted_from_then_on(opened, rest, heard, bench, made):
    opened.model.choose_stage(made.final.id)
    type_into(opened, PlanField.DRIVER, "13")
    press(Qt.Key.Key_Return, CONTROL)
    QTest.keyClicks(QApplication.focusWidget(), "4100")
    press(Qt.Key.Key_Return, CONTROL)
    rest()
    assert heard.take_said().text == "Set-up of LR-031, final drive fitted"
    assert not opened.fit_bar.isVisible()
    assert opened.form.stage.currentText() == "final drive"
    assert cells(opened, "ratio of this stage") == ["3.692", "", ""]
    state = fleet_state(bench)
    teeth = {i.position: state.part_type_of(i).teeth for i in state.current_on(made.final.id)}
    assert teeth[Position.DRIVER] == 13


# --- part types


def test_a_part_type_of_ones_own_is_added_by_keyboard_and_can_be_chosen(opened, rest, heard, bench):
    opened.form.add_type.click()
    form = opened.type_form
    kind = named(form, QComboBox, "Kind of part")
    kind.setCurrentIndex(kind.findData("belt"))
    for entry, text in (
        (form.name, "Workshop belt"),
        (form.designation, "H8M"),
        (form.figures["pitch"], "8"),
        (form.figures["teeth"], "114"),
        (form.figures["width"], "2 cm"),
        (form.figures["mass"], "124 g/m"),
    ):
        put_focus(entry)
        QTest.keyClicks(entry, text)
    press(Qt.Key.Key_Return, CONTROL)
    rest()
    assert heard.take_said().text == "Part type Workshop belt added"
    belts = opened.model.snapshot.choices_for(DriveKind.BELT)
    mine = next(choice.part_type for choice in belts if choice.part_type.name == "Workshop belt")
    assert (mine.teeth, mine.width_mm, mine.mass_kg_per_m) == (114, 20.0, pytest.approx(0.124))
    assert "H8M belt, 20 mm wide" in [opened.form.run.itemText(n) for n in range(opened.form.run.count())]


def test_what_is_missing_of_a_part_type_is_said_in_its_form(opened, rest):
    opened.form.add_type.click()
    press(Qt.Key.Key_Return, CONTROL)
    assert "pitch is missing" in opened.type_form.said.text()
    QTest.keyClicks(opened.type_form.figures["pitch"], "8 mm")
    press(Qt.Key.Key_Return, CONTROL)
    rest()
    assert "name is missing" in opened.type_form.said.text()
    press(Qt.Key.Key_Escape)
    assert opened.side.currentIndex() == 0


# --- look and units


def test_the_page_reads_in_the_units_of_the_seat(opened, session):
    session.set_preferences(Preferences(theme="light", units=ShownUnits(length="in", force="lbf")))
    assert opened.form.fields[PlanField.CENTRE].text() == "9.5079 in"
    assert cells(opened, "centre distance, taut")[0].endswith(" in")
    assert opened.model.draft.centre_distance_mm == pytest.approx(241.5)


def test_dark_and_large_text_are_taken_at_once(opened, qapp):
    theme.apply(qapp, Preferences(theme="dark", text_scale=1.5))
    assert opened.drawing._colours.is_dark
    assert opened.drawing._scale == 1.5


def test_every_control_has_a_name(opened):
    for widget in (*opened.form.fields.values(), *opened.form.news.values(), opened.form.run):
        assert widget.accessibleName()


# --- the model and Qt's own tester


def test_the_comparison_satisfies_qts_own_tester(bench, made, qtmodeltester):
    model = SetupModel(ShownUnits())
    qtmodeltester.check(model.rows)
    model.show(setup_snapshot(bench, made.vehicle.id))
    model.type_text(PlanField.DRIVER, "26")
    model.type_text(PlanField.DRIVER, "zero")
    model.set_drive(DriveKind.CHAIN)
    model.reset()
    model.show(None)
    assert model.rows.rowCount() == 0


def test_only_the_rows_that_differ_are_touched(bench, made, qtbot):
    model = SetupModel(ShownUnits())
    model.show(setup_snapshot(bench, made.vehicle.id))
    model.type_text(PlanField.DRIVER, "26")
    with qtbot.assertNotEmitted(model.rows.modelReset), qtbot.assertNotEmitted(model.rows.rowsRemoved):
        model.type_text(PlanField.DRIVER, "27")
