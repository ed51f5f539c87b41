"""The bolts of a joint, drawn and numbered; torques in words."""

import itertools
import math
from datetime import date, timedelta

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter

from tests.makers.torque import AXLE, TODAY, torque_of
from wearlog.drawing.palette import contrast, palette
from wearlog.drawing.torque_pattern import (
    BoltPattern,
    TorquePattern,
    head_places,
    paint_torque_pattern,
    pattern_text,
)
from wearlog.drawing.torque_words import (
    applied_text,
    last_text,
    passes_text,
    range_also_text,
    range_text,
    recheck_text,
    sheet_text,
    standing_text,
    summary_text,
    torque_text,
    treatment_text,
    work_text,
    wrench_text,
)
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Instrument, InstrumentKind
from wearlog.fleet.torque import Fastener, TorqueRecord, TorqueWork, Treatment
from wearlog.workshop.torque_snapshot import Standing

SQUARE = QRectF(0, 0, 200, 200)


def painted(pattern, theme="light", side=200, scale=1.0):
    colours = palette(theme)
    image = QImage(side, side, QImage.Format.Format_RGB32)
    image.fill(QColor(colours.ground))
    with QPainter(image) as painter:
        paint_torque_pattern(painter, QRectF(0, 0, side, side), pattern, colours, scale)
    return image


@pytest.mark.parametrize("bolts", range(2, 13))
@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_heads_stand_apart_and_inside_the_drawing(qapp, bolts, scale):
    places, head = head_places(SQUARE, BoltPattern(bolts, is_opposing=True), scale)
    for one, other in itertools.combinations(places, 2):
        assert math.dist(one.toTuple(), other.toTuple()) > 1.7 * head
    for place in places:
        assert SQUARE.adjusted(head, head, -head, -head).contains(place)


@pytest.mark.parametrize("bolts", range(1, 13))
def test_bolts_that_stand_side_by_side_stay_inside(qapp, bolts):
    rect = QRectF(0, 0, 216, 144)
    places, head = head_places(rect, BoltPattern(bolts))
    assert len(places) == bolts
    assert all(rect.adjusted(head, head, -head, -head).contains(place) for place in places)


def test_the_numbers_are_the_turns():
    # 1-3-5-2-4, common practice, no source: the bolt at the top first, then the third clockwise.
    assert BoltPattern(5, is_opposing=True).steps == (1, 4, 2, 5, 3)
    assert BoltPattern(4).steps == (1, 2, 3, 4)


@pytest.mark.parametrize("theme", ["light", "dark", "paper"])
def test_entered_bolts_are_filled_in_every_theme(qapp, theme):
    pattern = BoltPattern(6, is_opposing=True, done=1)
    places, head = head_places(SQUARE, pattern)
    image, look = painted(pattern, theme), palette(theme)

    def beside_figure(place):
        # Left of the figure, well inside the head.
        return image.pixelColor(round(place.x() - 0.7 * head), round(place.y())).name()

    assert beside_figure(places[0]) == look.ink
    assert beside_figure(places[1]) == look.raised
    # WCAG 2.2, 1.4.11: 3:1 for graphics; figures 4.5:1.
    assert contrast(look.ink, look.raised) >= 4.5
    assert contrast(look.ink, look.ground) >= 4.5


def test_paper_is_black_and_white_and_grey(qapp):
    image = painted(BoltPattern(5, is_opposing=True, done=2), "paper")
    for x, y in itertools.product(range(0, 200, 2), repeat=2):
        red, green, blue, _alpha = image.pixelColor(x, y).getRgb()
        assert max(red, green, blue) - min(red, green, blue) < 32


def test_screen_and_paper_draw_the_same_shapes(qapp):
    pattern = BoltPattern(5, is_opposing=True)
    light, paper = painted(pattern, "light"), painted(pattern, "paper")

    def inked(image, theme):
        blank = {palette(theme).ground, palette(theme).raised}
        return {(x, y) for x in range(200) for y in range(200) if image.pixelColor(x, y).name() not in blank}

    one, other = inked(light, "light"), inked(paper, "paper")
    assert len(one ^ other) < 0.05 * len(one)


def test_words_tell_the_order_to_those_who_do_not_see_it(qtbot):
    widget = TorquePattern()
    qtbot.addWidget(widget)
    widget.show_pattern(BoltPattern(6, is_opposing=True))
    assert "1-4-2-5-3-6" in widget.accessibleDescription()
    widget.show_pattern(BoltPattern(1))
    assert widget.accessibleDescription() == "One bolt or nut."
    assert pattern_text(BoltPattern(2)) == "2 bolts, one after the other."
    widget.resize(widget.sizeHint())
    widget.grab()


# --- words

AXLE_BOLT = Fastener(torque_sheet_id=1, order=1, name="rear axle", low_nm=50.0, high_nm=55.0)


def test_ranges_stand_in_newton_metres_and_in_the_seats_unit_if_wanted():
    # 1 lbf.ft = 1.3558 N.m: NIST SP 811, appendix B.8.
    assert range_text(AXLE_BOLT) == "50 to 55\u2009N·m"
    assert range_also_text(AXLE_BOLT, ShownUnits()) == ""
    assert range_also_text(AXLE_BOLT, ShownUnits(torque="lbf.ft")) == "36.9 to 40.6\u2009lbf·ft"


def test_a_torque_has_no_needless_nought():
    assert torque_text(10.0) == "10\u2009N·m"
    assert torque_text(100.0) == "100\u2009N·m"
    assert torque_text(10.5) == "10.5\u2009N·m"
    assert torque_text(13.558, ShownUnits(torque="lbf.in")) == "120\u2009lbf·in"
    assert torque_text(98.0665, ShownUnits(torque="kgf.m")) == "10.00\u2009kgf·m"


def test_several_bolts_are_told_by_least_and_most():
    record = TorqueRecord(vehicle_id=1, fastener_id=1, on=TODAY, total_use=0.0, applied_nm=(11.5, 12.0, 12.5))
    assert applied_text(record) == "11.5 to 12.5\u2009N·m"


def test_steps_lead_to_the_range():
    linkage = Fastener(torque_sheet_id=1, order=1, name="linkage", low_nm=20.0, high_nm=25.0, bolts=2)
    assert passes_text(linkage).endswith("7.5, 15 and 20 to 25\u2009N·m.")
    assert passes_text(AXLE_BOLT) == ""


def test_what_was_done_last_names_day_wrench_and_person():
    line = torque_of((AXLE, 2, 52.0)).line(AXLE)
    assert last_text(line, ShownUnits()) == "21 Nov 2026: 52\u2009N·m, with wrench A, by Tilda"
    # Tightened at 4960 km; the sheet asks for 75 km.
    assert recheck_text(line.recheck, "km", ShownUnits()).startswith("Re-check at 5035\u2009km, about ")


def test_an_overdue_re_check_says_so():
    line = torque_of((AXLE, 30, 52.0)).line(AXLE)
    assert recheck_text(line.recheck, "km", ShownUnits()).startswith("Re-check was due at ")


def test_calibration_is_told_with_the_wrench():
    def wrench(due):
        return Instrument(name="wrench A", kind=InstrumentKind.TORQUE_WRENCH, calibration_due=due)

    assert wrench_text(wrench(date(2027, 3, 1)), TODAY) == "wrench A (calibrated to 1 Mar 2027)"
    assert wrench_text(wrench(TODAY), TODAY).startswith("wrench A (calibrated to")
    assert "(calibration due 22 Nov 2026)" in wrench_text(wrench(TODAY - timedelta(days=1)), TODAY)
    assert "not recorded" in wrench_text(wrench(None), TODAY)


def test_the_sheet_defers_to_the_makers_manual_and_names_its_source():
    snapshot = torque_of()
    text = sheet_text(snapshot.sheet, snapshot)
    assert "common practice, no source" in text
    assert "Defer to the vehicle maker's manual" in text
    assert "model EM-C, 4 vehicles" in text


def test_the_summary_counts_how_fasteners_stand():
    snapshot = torque_of((AXLE, 30, 52.0), (1, 0, 20.0))
    assert summary_text(snapshot) == "1 re-check due, 1 out of range, 1 not recorded"


def test_every_word_is_there():
    assert all(standing_text(one) for one in Standing)
    assert all(treatment_text(one) for one in Treatment)
    assert all(work_text(one) for one in TorqueWork)
