"""The due list, one line per row."""

from datetime import date, timedelta

import pytest
from PySide6.QtCore import Qt

from tests.makers.due import due_line, due_list, due_of
from tests.makers.fleet import HARBOUR, TODAY
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.service import Task
from wearlog.window.due.model import HORIZONS, Column, DueModel, Narrowing
from wearlog.window.due.words import span_text, when_text, why_text
from wearlog.workshop.due_snapshot import Action

MAY, JUNE = date(2027, 5, 3), date(2027, 6, 3)
ALL = Narrowing(within_days=None)


@pytest.fixture
def model(qtmodeltester):
    model = DueModel()
    qtmodeltester.check(model)
    model.narrow(ALL)
    return model


def tags(model):
    return [model.line_at(n).tag for n in range(model.rowCount())]


def test_a_new_date_changes_only_its_own_row(model, qtbot):
    model.show(due_list(due_line(1), due_line(2, MAY)))
    with qtbot.assertNotEmitted(model.modelReset), qtbot.waitSignal(model.dataChanged) as changed:
        model.show(due_list(due_line(1), due_line(2, JUNE)))
    assert changed.args[0].row() == 1


def test_a_line_that_comes_forward_moves_alone(model, qtbot):
    model.show(due_list(due_line(1, MAY), due_line(2, MAY), due_line(3, JUNE)))
    with qtbot.assertNotEmitted(model.modelReset):
        model.show(due_list(due_line(1, MAY), due_line(2, MAY), due_line(3, TODAY)))
    assert tags(model) == ["LR-003", "LR-001", "LR-002"]


def test_the_earliest_visit_comes_first_and_its_lines_stay_together(model):
    chain = due_line(1, date(2026, 12, 12), group=1, group_on=date(2026, 12, 1))
    oil = due_line(1, date(2026, 12, 1), Action.TASK, group=1, group_on=date(2026, 12, 1))
    other = due_line(2, date(2026, 12, 5), group=2)
    model.show(due_list(chain, oil, other))
    rows = [model.data(model.index(n, 0), DueModel.RowRole) for n in range(3)]
    assert [row.line.key for row in rows] == [oil.key, chain.key, other.key]
    assert [row.starts_visit for row in rows] == [True, False, True]


@pytest.mark.parametrize(
    ("narrowing", "left"),
    [
        (Narrowing(within_days=14), ["LR-001"]),
        (Narrowing(depot=HARBOUR, within_days=None), ["LR-002"]),
        (Narrowing(action=Action.TASK, within_days=None), ["LR-003"]),
        (Narrowing(words=("lubricate",), within_days=None), ["LR-003"]),
        (Narrowing(words=("lr-00", "chain"), within_days=None), ["LR-001", "LR-002"]),
    ],
)
def test_depot_horizon_kind_and_words_narrow_the_list(model, narrowing, left):
    lines = (
        due_line(1, TODAY + timedelta(days=10)),
        due_line(2, TODAY + timedelta(days=20), depot=HARBOUR),
        due_line(3, TODAY + timedelta(days=30), Action.TASK),
    )
    model.show(due_list(*lines))
    model.narrow(narrowing)
    assert tags(model) == left


def test_what_is_late_stays_in_every_horizon(model):
    model.show(due_list(due_line(1, TODAY - timedelta(days=40))))
    for days in HORIZONS:
        model.narrow(Narrowing(within_days=days))
        assert tags(model) == ["LR-001"]


def test_files_get_what_is_shown_and_no_more(model):
    model.show(due_of(30))
    model.narrow(Narrowing(within_days=28))
    part = model.shown_snapshot()
    assert len(part.lines) == model.rowCount()
    assert sum(len(group.lines) for group in part.groups) == model.rowCount()
    assert all(line.due_on <= TODAY + timedelta(days=28) for line in part.lines)


def test_a_date_never_stands_alone():
    for line in due_of(40).lines:
        assert span_text(line, TODAY)
    assert span_text(due_line(half_width_days=None), TODAY) == "fixed by the calendar"


def test_a_wide_interval_is_written_in_months():
    assert span_text(due_line(1, date(2027, 1, 20), half_width_days=60), TODAY) == "Dec – Mar – May"
    assert span_text(due_line(1, date(2026, 12, 15), half_width_days=9), TODAY) == "12 Dec – 24 Dec – 2 Jan"


def test_late_and_early_are_said_in_words():
    assert when_text(TODAY - timedelta(days=3), TODAY) == "3 days late"
    assert when_text(TODAY, TODAY) == "today"
    assert when_text(TODAY + timedelta(days=21), TODAY) == "in 3 weeks"


def test_the_reason_names_readings_limit_and_what_is_given_away():
    why = why_text(due_line(), ShownUnits())
    assert "5 readings" in why
    assert "workshop default" in why
    assert "gives away" in why


def test_uses_are_written_in_the_units_of_the_seat():
    # 12 770 km / 1.609344 km per mi = 7934.9 mi: international yard and pound agreement 1959.
    why = why_text(due_line(1, MAY, Action.TASK, task=Task.LUBRICATED), ShownUnits(distance="mi"))
    assert "mi" in why
    assert "7" in why
    assert "12" + "\u202f" + "770" not in why


def test_the_summary_counts_jobs_vehicles_and_visits(model):
    model.show(due_list(due_line(1, group=1), due_line(1, date(2026, 12, 16), Action.TASK, group=1)))
    model.narrow(Narrowing(within_days=56))
    assert model.summary() == "2 jobs on 1 vehicle, in 2 visits in the next 8 weeks"


def test_a_screen_reader_hears_the_whole_line(model):
    model.show(due_list(due_line(17)))
    spoken = model.data(model.index(0, Column.DUE), Qt.ItemDataRole.AccessibleTextRole)
    assert spoken.startswith("LR-017; replace chain, final drive; due 15 Dec 2026, ")
    assert "plan" in spoken
