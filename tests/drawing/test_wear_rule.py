"""The wear rule, pixel by pixel where it matters."""

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter

from wearlog.drawing.palette import palette
from wearlog.drawing.wear_rule import (
    SCALE_END,
    RuleSize,
    WearRule,
    paint_state_mark,
    paint_wear_rule,
    rule_height,
    share_position,
)
from wearlog.fleet.state import State
from wearlog.workshop.fleet_snapshot import WearRuleValue

WIDTH = 240
SIZES = list(RuleSize)


def value(median=0.6, low=0.52, high=0.7, state=State.WITHIN_LIMIT, **more):
    return WearRuleValue(median, low, high, 0.75, state, **more)


def painted(shown, size=RuleSize.MEDIUM, theme="light", width=WIDTH):
    height = round(rule_height(size))
    image = QImage(width, height, QImage.Format.Format_RGB32)
    image.fill(QColor(palette(theme).ground))
    with QPainter(image) as painter:
        paint_wear_rule(
            painter, QRectF(0, 0, width, height), shown, palette(theme), size, limit_text="1.70 %"
        )
    return image


def columns_of(image, colour, row=None):
    """The columns in which a colour is found, in one row or in any."""
    rows = range(image.height()) if row is None else [row]
    wanted = QColor(colour).rgb()
    return {x for x in range(image.width()) for y in rows if image.pixel(x, y) == wanted}


def at(share, size=RuleSize.MEDIUM):
    return share_position(QRectF(0, 0, WIDTH, 0), share, size)


@pytest.mark.parametrize("size", SIZES)
def test_the_bar_ends_at_the_median(qapp, size):
    mark = palette("light").look(State.WITHIN_LIMIT).mark
    columns = columns_of(painted(value(), size), mark)
    assert min(columns) <= 2
    assert max(columns) == pytest.approx(at(0.6, size), abs=2)


@pytest.mark.parametrize("size", SIZES)
def test_the_limit_is_a_firm_line_in_ink_at_its_share(qapp, size):
    image = painted(value(), size)
    middle = image.height() // 2
    dark = [x for x in range(WIDTH) if QColor(image.pixel(x, middle)).lightness() < 110]
    assert [x for x in dark if abs(x - at(1.0, size)) < 2]


def test_a_part_with_its_own_limit_has_the_line_there(qapp):
    image = painted(value(limit_share=0.9))
    assert {round(at(0.9))} & {x + d for x in columns_of(image, palette("light").ink) for d in (-1, 0, 1)}
    assert not any(abs(x - at(1.0)) < 2 for x in columns_of(image, palette("light").ink))


def test_the_whisker_runs_from_low_to_high_and_is_lighter_than_the_bar(qapp):
    image = painted(value())
    mark, ground = QColor(palette("light").look(State.WITHIN_LIMIT).mark), QColor(palette("light").ground)
    row = 8
    beyond = QColor(image.pixel(round(at(0.66)), row))
    assert mark.lightness() < beyond.lightness() < ground.lightness()
    assert QColor(image.pixel(round(at(0.72)), row)) == ground


def test_the_plan_share_is_notched_in_its_own_colour(qapp):
    columns = columns_of(painted(value()), palette("light").look(State.PLAN).mark)
    assert columns
    assert sum(columns) / len(columns) == pytest.approx(at(0.75), abs=1.5)


def test_what_lies_beyond_the_scale_runs_off_its_end(qapp):
    far = painted(value(1.6, 1.5, 1.7, State.PAST_LIMIT))
    near = painted(value(1.1, 1.05, 1.15, State.PAST_LIMIT))
    mark = palette("light").look(State.PAST_LIMIT).mark
    middle = 8
    assert max(columns_of(far, mark, middle)) > at(SCALE_END) + 2
    assert max(columns_of(near, mark, middle)) < at(1.12)


def test_without_a_reading_there_is_no_bar_but_the_scale_and_the_expectation(qapp):
    none = painted(value(0.4, 0.2, 0.6, State.NO_READING, has_reading=False))
    some = painted(value(0.4, 0.2, 0.6))
    base = 20
    outline = palette("light").outline
    assert 0 < len(columns_of(none, outline, base)) < 0.75 * len(columns_of(some, outline, base))
    mark = palette("light").look(State.NO_READING).mark
    found = columns_of(none, mark)
    assert min(found) == pytest.approx(at(0.2), abs=2)
    assert max(found) == pytest.approx(at(0.6), abs=3)  # the last dash may end before the corner


def test_there_is_a_tick_every_tenth(qapp):
    image = painted(value(0.0, 0.0, 0.01), RuleSize.LARGE)
    base = 46
    ticks = sorted(columns_of(image, palette("light").outline, base - 2))
    expected = [at(n / 10, RuleSize.LARGE) for n in range(13) if n != 10]
    for tick in expected:
        assert any(abs(tick - x) <= 1.5 for x in ticks), tick


def test_the_states_differ_in_shape_even_without_colour(qapp):
    drawn = {}
    for state in State:
        image = QImage(24, 24, QImage.Format.Format_Grayscale8)
        image.fill(255)
        with QPainter(image) as painter:
            paint_state_mark(painter, QRectF(0, 0, 24, 24), state, palette("light"))
        drawn[state] = frozenset(
            (x, y) for x in range(24) for y in range(24) if QColor(image.pixel(x, y)).lightness() < 170
        )
    for one in State:
        for other in State:
            if one is not other:
                differing = drawn[one] ^ drawn[other]
                assert len(differing) > 0.2 * max(len(drawn[one]), len(drawn[other])), (one, other)


def test_the_rule_says_in_words_what_it_shows(qtbot):
    rule = WearRule(RuleSize.MEDIUM)
    qtbot.addWidget(rule)
    rule.show_value(value(0.82, 0.75, 0.9, State.PLAN))
    assert rule.accessibleName() == "Wear rule"
    assert (
        rule.accessibleDescription()
        == "plan: 82\u2009% of the wear allowance used (8 in 10: 75 to 90\u2009%)"
    )
    rule.show_value(None)
    assert rule.accessibleDescription() == ""


def test_larger_text_makes_a_larger_rule(qtbot):
    rule = WearRule(RuleSize.SMALL)
    qtbot.addWidget(rule)
    plain = rule.sizeHint()
    rule.wear_colours(palette("dark"), 2.0)
    assert rule.sizeHint() == plain * 2
