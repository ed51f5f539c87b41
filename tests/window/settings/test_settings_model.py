"""The lists of the settings page as Qt models, and their words."""

from datetime import date

import pytest
from PySide6.QtCore import Qt

from tests.makers.settings import maker_limit
from wearlog.fleet.parts import DriveKind
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.reading import Instrument, InstrumentKind
from wearlog.fleet.service import IntervalRule, Task
from wearlog.window.settings.instrument_words import instrument_row
from wearlog.window.settings.interval_words import rule_row, rule_sentences
from wearlog.window.settings.limit_words import HEADS, NUMBERS, limit_row, limit_sentences
from wearlog.window.settings.model import LedgerModel, Section, SettingsModel
from wearlog.window.settings.value_words import exact_text
from wearlog.workshop.agree_snapshot import InstrumentLine, LimitLine, RuleLine

SHOWN = ShownUnits()


def line(number, service_limit=0.01, **more):
    return LimitLine(maker_limit(service_limit, id=number), **more)


@pytest.fixture
def model(qtmodeltester):
    model = LedgerModel(HEADS, NUMBERS)
    qtmodeltester.check(model)
    return model


def test_a_changed_limit_changes_only_its_own_row(model, qtbot):
    model.show([limit_row(line(1), SHOWN), limit_row(line(2), SHOWN)])
    with qtbot.assertNotEmitted(model.modelReset), qtbot.waitSignal(model.dataChanged) as changed:
        model.show([limit_row(line(1), SHOWN), limit_row(line(2, 0.008), SHOWN)])
    assert changed.args[0].row() == 1


def test_a_search_keeps_what_has_every_word(model):
    model.show([limit_row(line(1), SHOWN), limit_row(LimitLine(maker_limit(designation="520", id=2)), SHOWN)])
    model.search("sealed 520")
    assert [model.row_at(n).key for n in range(model.rowCount())] == [2]
    model.search("")
    assert model.rowCount() == 2


def test_a_cell_is_spoken_with_its_head(model):
    model.show([limit_row(line(1, governs=3), SHOWN)])
    spoken = model.data(model.index(0, 6), Qt.ItemDataRole.AccessibleTextRole)
    assert spoken == "Parts: 3"


def test_the_sections_follow_each_other_round(qtbot):
    model = SettingsModel(SHOWN)
    with qtbot.waitSignal(model.turned):
        model.step(-1)
    assert model.section is Section.DATABASE


@pytest.mark.parametrize(
    ("value", "quantity", "text"),
    [
        (0.017, Quantity.ELONGATION, "1.7\u2009%"),
        (3.175, Quantity.LENGTH, "3.175\u2009mm"),
        (105.0, Quantity.FORCE, "105\u2009N"),
        (None, Quantity.FORCE, "–"),
    ],
)
def test_an_agreed_value_keeps_its_digits(value, quantity, text):
    assert exact_text(value, quantity, SHOWN) == text


def test_where_a_sprocket_is_tighter_the_words_say_so():
    said = limit_sentences(line(1, governs=31, tightened=4), SHOWN)
    assert said[0] == "Governs 31 chains in use; on 4 of them the largest sprocket sets a tighter limit."


def test_a_rule_reads_as_a_sentence():
    rule = IntervalRule(
        task=Task.LUBRICATED,
        every_km=400.0,
        every_h=13.0,
        drive=DriveKind.CHAIN,
        source="workshop rule",
        id=1,
    )
    assert rule_row(RuleLine(rule), SHOWN).cells[2].replace("\u2009", " ") == "400 km / 13 h"
    said = rule_sentences(RuleLine(rule, governs=2), SHOWN)[0].replace("\u2009", " ")
    assert said.startswith("Every 400 km or 13 h, whichever comes first")
    assert said.endswith("Asked of 2 stages in use.")


def test_an_overdue_instrument_is_a_problem_in_words_too():
    one = Instrument(name="caliper", kind=InstrumentKind.CALIPER, calibration_due=date(2026, 5, 3), id=1)
    row = instrument_row(InstrumentLine(one, is_overdue=True), SHOWN)
    assert row.is_problem
    assert "overdue, 3 May 2026" in row.cells
