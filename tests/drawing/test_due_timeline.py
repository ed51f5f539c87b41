"""The coming weeks of a due list."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from PySide6.QtCore import QPoint, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter

from tests.makers.due import due_line, due_of
from tests.makers.fleet import TODAY
from wearlog.drawing.due_timeline import DueTimeline, WeekScale, paint_due_span, span_text
from wearlog.drawing.palette import palette
from wearlog.fleet.state import State

ROW = QRectF(0, 0, 364, 24)
WEEKS = WeekScale(TODAY, 13)


def columns(line, colour_name):
    image = QImage(364, 24, QImage.Format.Format_RGB32)
    image.fill(QColor("#ffffff"))
    with QPainter(image) as painter:
        paint_due_span(painter, ROW, line, WEEKS, palette("paper"))
    wanted = QColor(colour_name)
    return {x for x in range(364) for y in range(24) if QColor(image.pixel(x, y)) == wanted}


def test_a_day_lies_in_proportion_to_its_distance_from_today():
    # 13 weeks are 91 days: four pixels a day here.
    assert WEEKS.x(ROW, TODAY) == 0.0
    assert WEEKS.x(ROW, TODAY + timedelta(days=10)) == pytest.approx(40.0)
    assert WEEKS.x(ROW, TODAY - timedelta(days=5)) == 0.0
    assert WEEKS.x(ROW, TODAY + timedelta(days=500)) == 364.0


def test_weeks_begin_on_mondays():
    # ISO 8601: the first day of the week is Monday. 25 November 2026 is a Wednesday.
    mondays = WEEKS.mondays()
    assert mondays[0] == date(2026, 11, 30)
    assert {day.isoweekday() for day in mondays} == {1}
    assert len(mondays) == 13


def test_the_mark_stands_at_the_date_that_counts(qapp):
    line = due_line(due_on=TODAY + timedelta(days=30), half_width_days=None, state=State.DUE)
    found = columns(line, palette("paper").look(State.DUE).mark)
    assert (min(found) + max(found)) / 2 == pytest.approx(120.0, abs=1.5)


def test_the_bar_runs_from_early_to_late(qapp):
    line = replace(
        due_line(due_on=TODAY + timedelta(days=30), state=State.DUE),
        early_on=TODAY + timedelta(days=25),
        likely_on=TODAY + timedelta(days=40),
        late_on=TODAY + timedelta(days=60),
    )
    image = QImage(364, 24, QImage.Format.Format_RGB32)
    image.fill(QColor("#ffffff"))
    with QPainter(image) as painter:
        paint_due_span(painter, ROW, line, WEEKS, palette("paper"))
    inked = [x for x in range(364) if QColor(image.pixel(x, 12)) != QColor("#ffffff")]
    assert min(inked) == pytest.approx(100, abs=1.5)
    assert max(inked) == pytest.approx(240, abs=1.5)


def test_what_lies_beyond_the_weeks_is_hinted_at_the_edge(qapp):
    far = due_line(due_on=TODAY + timedelta(days=300), half_width_days=None)
    found = columns(far, palette("paper").outline)
    assert min(found) > 355


def test_a_row_in_words_gives_the_interval(qapp):
    text = span_text(due_line(6, date(2026, 12, 15)))
    assert text.startswith("LR-006, replace chain: by 15 Dec 2026 (8 in 10: ")


def test_a_click_chooses_a_line_and_screen_readers_hear_how_many(qtbot):
    timeline = DueTimeline()
    qtbot.addWidget(timeline)
    snapshot = due_of(8)
    timeline.show_lines(snapshot.lines, snapshot.today)
    timeline.resize(500, timeline.sizeHint().height())
    timeline.show()
    where = timeline.row_rect(2).center().toPoint()
    with qtbot.waitSignal(timeline.line_chosen) as chosen:
        qtbot.mouseClick(timeline, Qt.MouseButton.LeftButton, pos=QPoint(where))
    assert chosen.args == [snapshot.lines[2].key]
    soon = sum(1 for line in snapshot.lines if line.due_on <= snapshot.today + timedelta(weeks=13))
    assert timeline.accessibleDescription().startswith(f"{soon} of {len(snapshot.lines)} lines")
    timeline.grab()
