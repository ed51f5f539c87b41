"""The charts of the fleet record: where marks lie, and what stays empty."""

import math

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter

from tests.makers.record import NOTHING, kind_record, record, reliability, survival
from wearlog.drawing.palette import palette
from wearlog.drawing.record_picture import RecordPicture, lives_drawn, rates_drawn, reliability_drawn
from wearlog.drawing.record_reliability import paint_reliability, reliability_frame
from wearlog.drawing.record_rows import (
    ROW_PX,
    lives_of_kinds,
    paint_rows,
    rate_rows,
    rates_of_kinds,
    rows_frame,
)
from wearlog.drawing.record_survival import paint_survival, survival_frame
from wearlog.fleet.quantity import ShownUnits
from wearlog.workshop.record_snapshot import Factor, Rate

SHOWN, COLOURS, BOX = ShownUnits(), palette("light"), QRectF(0.0, 0.0, 640.0, 264.0)


@pytest.fixture
def sheet(qapp):
    """A white sheet, and what paints on it."""
    image = QImage(640, 264, QImage.Format.Format_RGB32)
    image.fill(QColor(COLOURS.ground))
    painter = QPainter(image)
    yield image, painter
    painter.end()


def count_of(image, name, area=None):
    """Return how many pixels have about a colour of the palette."""
    wanted = QColor(name)
    box = (area or QRectF(image.rect())).toRect().intersected(image.rect())
    return sum(
        abs(got.red() - wanted.red()) + abs(got.green() - wanted.green()) + abs(got.blue() - wanted.blue())
        < 24
        for x in range(box.left(), box.right() + 1)
        for y in range(box.top(), box.bottom() + 1)
        for got in [image.pixelColor(x, y)]
    )


def around(x, y, reach=5.0):
    return QRectF(x - reach, y - reach, 2 * reach, 2 * reach)


def test_a_forecast_that_holds_its_promise_lies_on_the_diagonal(sheet):
    image, painter = sheet
    paint_reliability(painter, BOX, reliability(), NOTHING, COLOURS)
    frame = reliability_frame(BOX, COLOURS)
    for width in (0.5, 0.8, 0.95):
        at = around(frame.x(width - 0.012), frame.y(width))
        assert count_of(image, COLOURS.median, at) > 30
    assert count_of(image, COLOURS.bands[1]) > 1000
    assert count_of(image, COLOURS.crossing) == 0


def test_distances_have_a_mark_of_their_own(sheet):
    image, painter = sheet
    paint_reliability(painter, BOX, NOTHING, reliability(170, (0.45, 0.7, 0.85)), COLOURS)
    frame = reliability_frame(BOX, COLOURS)
    assert count_of(image, COLOURS.crossing, around(frame.x(0.812), frame.y(0.7), 8.0)) > 10
    assert count_of(image, COLOURS.median) == 0


def test_few_checks_have_no_curve(sheet):
    image, painter = sheet
    paint_reliability(painter, BOX, reliability(6), NOTHING, COLOURS)
    # Edges of the whiskers are blended into colours near that of the band.
    assert count_of(image, COLOURS.bands[1]) < 100


def test_without_checks_the_chart_has_only_its_axes(sheet):
    image, painter = sheet
    paint_reliability(painter, BOX, NOTHING, NOTHING, COLOURS)
    assert count_of(image, COLOURS.median) == count_of(image, COLOURS.crossing) == 0


def test_each_rate_has_its_dot_on_the_scale(sheet):
    image, painter = sheet
    rows = rate_rows(kind_record(), Factor.DUTY, SHOWN)
    assert [row.name for row in rows.rows] == ["off-road", "road"]
    assert [row.value for row in rows.rows] == pytest.approx([11.0, 6.5])
    paint_rows(painter, BOX, rows, COLOURS)
    frame = rows_frame(BOX, rows, COLOURS)
    for n, row in enumerate(rows.rows):
        middle = frame.area.top() + (n + 0.5) * ROW_PX
        assert count_of(image, COLOURS.median, around(frame.x(row.value), middle)) > 40
        assert count_of(image, COLOURS.median, around(frame.x(row.low) + 2.0, middle, 2.0)) > 2


def test_rates_are_counted_in_the_miles_of_the_seat():
    rows = rate_rows(kind_record(), Factor.DUTY, ShownUnits(distance="mi"))
    # One mile is 1.609344 km exactly, so 1000 miles wear that much more.
    assert rows.rows[0].value == pytest.approx(11.0 * 1.609344)
    assert "mi" in rows.title


def test_a_rate_from_too_few_parts_is_drawn_faintly():
    kind = kind_record(rate=Rate("", 2, 2, 0.1, 0.03, 0.4))
    assert rates_of_kinds([kind], SHOWN).rows[0].is_faint
    assert not rates_of_kinds([kind_record()], SHOWN).rows[0].is_faint


def test_an_open_end_leaves_the_scale_with_a_tip(sheet):
    image, painter = sheet
    rows = lives_of_kinds([kind_record(survival=survival(median_high=math.inf))], SHOWN)
    assert math.isfinite(rows.top)
    paint_rows(painter, BOX, rows, COLOURS)
    frame = rows_frame(BOX, rows, COLOURS)
    middle = frame.area.top() + 0.5 * ROW_PX
    assert count_of(image, COLOURS.median, around(frame.area.right() - 3.0, middle, 5.0)) > 12


def test_more_levels_than_fit_are_counted():
    kind = kind_record()
    many = tuple(Rate(f"L{n}", 5, 5, 0.1, 0.05, 0.2) for n in range(30))
    compared = {Factor.DUTY: type(kind.comparisons[Factor.DUTY])(Factor.DUTY, many, None)}
    rows = rate_rows(kind_record(comparisons=compared), Factor.DUTY, SHOWN)
    assert (len(rows.rows), rows.left_out) == (12, 18)


def test_the_steps_go_down_where_parts_were_worn(sheet):
    image, painter = sheet
    curve = survival()
    paint_survival(painter, BOX, curve, "km", SHOWN, COLOURS)
    frame = survival_frame(BOX, curve, "km", SHOWN, COLOURS)
    for use, share in ((4000.0, 1.0), (9500.0, 0.8), (12_500.0, 0.5), (15_000.0, 0.3)):
        assert count_of(image, COLOURS.median, around(frame.x(use), frame.y(share), 4.0)) >= 8
    assert count_of(image, COLOURS.crossing, around(frame.x(11_000.0), frame.area.bottom(), 4.0)) > 20


def test_nothing_is_drawn_of_lives_while_no_part_is_worn():
    snapshot = record(kind_record(survival=survival(use=(), share=(), n_worn=0)))
    assert lives_drawn(snapshot, snapshot.kinds[0], SHOWN) is None
    assert lives_drawn(snapshot, None, SHOWN) is None


def test_a_picture_says_what_it_shows(qapp):
    snapshot = record(kind_record())
    picture = RecordPicture("How fast parts wear")
    picture.show_drawn(rates_drawn(snapshot, snapshot.kinds[0], Factor.DUTY, SHOWN))
    assert "off-road: 11.0" in picture.accessibleDescription().replace("\u2009", " ")
    picture.resize(500, 120)
    assert not picture.grab().isNull()
    picture.show_drawn(None)
    assert picture.sizeHint().height() == 0


@pytest.mark.parametrize("kind", [None, 0])
def test_all_charts_paint_at_any_size(qapp, kind):
    snapshot = record(kind_record(), kind_record(use_unit="h"))
    chosen = None if kind is None else snapshot.kinds[kind]
    drawn = [
        reliability_drawn(snapshot, chosen),
        rates_drawn(snapshot, chosen, Factor.DUTY, SHOWN),
        lives_drawn(snapshot, chosen, SHOWN),
    ]
    for one in drawn:
        picture = RecordPicture("chart")
        picture.show_drawn(one)
        for size in ((280, 60), (1600, 300)):
            picture.resize(*size)
            assert not picture.grab().isNull()
