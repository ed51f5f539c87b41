"""Axes that count something else, and other vehicles laid over the trend; all by keyboard."""

import pytest
from PySide6.QtCore import Qt

from tests.makers.bench import add_motorcycle, add_types
from wearlog.drawing.trend_view import TrendView, UseScale, ValueScale
from wearlog.fleet.reading import Measurand
from wearlog.fleet.state import State
from wearlog.window.trend.compare_model import CompareModel
from wearlog.window.trend.page import TrendPage
from wearlog.workshop.fleet_snapshot import WearRuleValue
from wearlog.workshop.trend_overlay_snapshot import MOST_LINES, OverlayChoice


def choice(n, depot="Upper Depot"):
    tag = f"LR-{n:03d}"
    return OverlayChoice(
        vehicle_id=n,
        installation_id=100 + n,
        measurand=Measurand.CHAIN_ELONGATION,
        tag=tag,
        depot=depot,
        part_text="428 chain",
        rule=WearRuleValue(0.4, 0.3, 0.5, 0.8, State.WITHIN_LIMIT),
        search_text=f"{tag} {depot} 428 chain".casefold(),
    )


@pytest.fixture
def choices(qtmodeltester):
    model = CompareModel()
    model.show_choices(tuple(choice(n, "Upper Depot" if n % 2 else "Harbour Depot") for n in range(1, 21)))
    qtmodeltester.check(model)
    return model


def tags(model):
    return [model.data(model.index(n)).split("  ")[0] for n in range(model.rowCount())]


def test_typing_narrows_the_list_to_what_holds_every_word(choices):
    choices.filter_by("harbour 428")
    assert len(tags(choices)) == 10
    choices.filter_by("lr-007")
    assert tags(choices) == ["LR-007"]


def test_no_more_are_chosen_than_can_be_told_apart(choices):
    assert all(choices.toggle(n) for n in range(MOST_LINES))
    assert choices.is_full
    assert not choices.toggle(MOST_LINES)
    assert choices.toggle(0)
    assert choices.count_text == "7 of 8 chosen"


def test_what_is_gone_is_no_longer_chosen(choices, qtbot):
    choices.toggle(0)
    with qtbot.waitSignal(choices.chosen_changed):
        choices.show_choices(tuple(choice(n) for n in range(5, 9)))
    assert choices.chosen == ()


@pytest.fixture
def fleet(bench):
    """Four motorcycles with the same chain; the first wears fastest."""
    types = add_types(bench)
    return [
        add_motorcycle(
            bench,
            f"LR-{n:03d}",
            [(km, (2.0e-6 - 2e-7 * n) * km) for km in (900.0, 2100.0, 3300.0)],
            types=types,
        )
        for n in range(1, 5)
    ]


@pytest.fixture
def page(session, fleet, qtbot):
    page = TrendPage(session)
    qtbot.addWidget(page)
    page.resize(1100, 760)
    page.show()
    page.become_visible()
    session.choose(fleet[0].vehicle_id)
    qtbot.waitUntil(lambda: page.model.snapshot is not None, timeout=20_000)
    page.focus_first()
    qtbot.waitUntil(page.chart.hasFocus)
    return page


def press(qtbot, widget, key, modifier=Qt.KeyboardModifier.NoModifier):
    qtbot.keyClick(widget, key, modifier)


def test_one_key_turns_the_value_into_the_allowance_used_and_back(page, qtbot):
    limit = page.chart.series.limit
    press(qtbot, page.chart, Qt.Key.Key_A, Qt.KeyboardModifier.AltModifier)
    assert page.model.view == TrendView(ValueScale.ALLOWANCE, UseScale.PART)
    # The service limit is where the whole allowance is used.
    assert page.chart.series.limit == pytest.approx(100.0)
    assert page.chart.series.as_new == 0.0
    assert page.chart.series.value_title == "allowance used, %"
    press(qtbot, page.chart, Qt.Key.Key_A, Qt.KeyboardModifier.AltModifier)
    assert page.chart.series.limit == pytest.approx(limit)


def test_one_key_turns_the_distance_on_the_part_into_that_of_the_vehicle(page, qtbot):
    before = page.chart.series
    press(qtbot, page.chart, Qt.Key.Key_D, Qt.KeyboardModifier.AltModifier)
    after = page.chart.series
    # The chain was fitted at 1000 km.
    assert after.reading_use == pytest.approx(before.reading_use + 1000.0)
    assert after.limit_use[3] == pytest.approx(before.limit_use[3] + 1000.0)
    assert after.use_title == "distance of LR-001, km"
    assert page.chart.ranges()[0][0] == pytest.approx(1000.0)


def test_other_vehicles_are_chosen_by_keyboard_and_laid_over(page, qtbot):
    press(qtbot, page.chart, Qt.Key.Key_C, Qt.KeyboardModifier.AltModifier)
    qtbot.waitUntil(lambda: page.choices.rowCount() == 3, timeout=20_000)
    assert page.compare.isVisible()
    assert not page.panel.isVisible()
    qtbot.keyClicks(page.compare.entry, "lr-003")
    assert page.choices.rowCount() == 1
    press(qtbot, page.compare.entry, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: [one.tag for one in page.model.others] == ["LR-003"], timeout=20_000)
    page.compare.entry.clear()
    press(qtbot, page.compare.entry, Qt.Key.Key_Down)
    press(qtbot, page.compare.list, Qt.Key.Key_Down)
    press(qtbot, page.compare.list, Qt.Key.Key_Space)
    qtbot.waitUntil(lambda: len(page.model.others) == 2, timeout=20_000)
    names = {label.lines[0].text for label in page.chart.labels() if label.key.startswith("other")}
    assert names == {"LR-001"} | {one.tag for one in page.model.others}
    press(qtbot, page.compare.list, Qt.Key.Key_Escape)
    assert page.panel.isVisible()
    assert len(page.chart.series.others) == 2


def test_the_own_vehicle_is_never_among_those_to_compare_with(page, qtbot):
    press(qtbot, page.chart, Qt.Key.Key_C, Qt.KeyboardModifier.AltModifier)
    qtbot.waitUntil(lambda: page.choices.rowCount() == 3, timeout=20_000)
    assert "LR-001" not in tags(page.choices)


def test_what_is_compared_goes_to_the_file_too(page, heard, qtbot, tmp_path):
    press(qtbot, page.chart, Qt.Key.Key_C, Qt.KeyboardModifier.AltModifier)
    qtbot.waitUntil(lambda: page.choices.rowCount() == 3, timeout=20_000)
    page.choices.toggle(0)
    qtbot.waitUntil(lambda: len(page.model.others) == 1, timeout=20_000)
    press(qtbot, page.chart, Qt.Key.Key_A, Qt.KeyboardModifier.AltModifier)
    page.write(tmp_path / "chart.svg")
    text = (tmp_path / "chart.svg").read_text(encoding="utf-8")
    assert page.model.others[0].tag in text
    assert "allowance used" in text
    assert heard.take_said().text.endswith("chart.svg")


def test_why_explains_the_date_from_the_readings_at_hand(page):
    why = {fact.key: fact for fact in page.model.why}
    assert why["readings"].figure == "3 readings"
    assert sum(bar.percent for bar in why["width"].bars) == 100
