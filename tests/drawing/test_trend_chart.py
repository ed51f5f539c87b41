"""The chart's structure: what is drawn where, what its labels and its read-out say."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QImage, QPainter

from tests.makers import trend
from wearlog.drawing.palette import palette
from wearlog.drawing.trend_axes import date_ticks
from wearlog.drawing.trend_bands import crossing_span, earlier_lines
from wearlog.drawing.trend_chart import TrendChart
from wearlog.drawing.trend_labels import trend_labels
from wearlog.drawing.trend_many import has_many, thinned
from wearlog.drawing.trend_picture import paint_trend, trend_frame
from wearlog.drawing.trend_readout import place_lines, reading_lines
from wearlog.drawing.trend_series import trend_series
from wearlog.drawing.trend_view import TrendView, UseScale, ValueScale
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.state import State
from wearlog.workshop.trend_overlay_snapshot import OverlayLine

STORIES = {
    "worn to 85 %": trend.chain_at(0.85),
    "worn to 30 %": trend.chain_at(0.3),
    "past its limit": trend.chain_at(1.06),
    "no reading": trend.chain_without_readings(),
    "teeth getting thinner": trend.sprocket_wearing_down(),
}
SIZES = [(560, 300), (760, 420), (1300, 700)]


def drawn(snapshot, size=(760, 420), shown=None, scale=1.0):
    series = trend_series(snapshot, shown or ShownUnits())
    return trend_frame(series, QRectF(0, 0, *size), palette("light"), scale=scale), series


@pytest.fixture
def chart(qtbot):
    chart = TrendChart()
    qtbot.addWidget(chart)
    chart.wear_colours(palette("light"))
    chart.resize(800, 460)
    chart.show_snapshot(trend.chain_at(0.85), ShownUnits())
    return chart


@pytest.mark.parametrize("scale", [1.0, 2.0])
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("story", STORIES)
def test_no_label_covers_another_or_is_cut(qapp, story, size, scale):
    frame, series = drawn(STORIES[story], size, scale=scale)
    labels = trend_labels(frame, series)
    assert labels
    needed = {"crossing", "questioned 7"}
    for label in labels:
        assert frame.whole.adjusted(-0.5, -0.5, 0.5, 0.5).contains(label.box), label.key
    for one, other in itertools.combinations(labels, 2):
        if {one.key, other.key} & needed and scale > 1.0 and size == SIZES[0]:
            continue  # twice the text in the smallest chart: these two are never left out, come what may
        assert not one.box.intersects(other.box), (one.key, other.key)


def test_the_limit_is_labelled_at_the_end_of_its_line(qapp):
    frame, series = drawn(STORIES["worn to 85 %"])
    (limit,) = [label for label in trend_labels(frame, series) if label.key == "limit"]
    assert limit.box.left() > frame.area.right()
    assert abs(limit.box.top() - frame.y(series.limit)) < 12
    assert [line.text for line in limit.lines] == ["service limit", "1.70\u2009%"]


def test_the_crossing_lies_over_its_interval_on_the_limit(qapp):
    frame, series = drawn(STORIES["worn to 85 %"])
    left, right = crossing_span(frame, series)
    assert frame.use_at(left) == pytest.approx(series.snapshot.limit_use[1], abs=1.0)
    assert frame.use_at(right) == pytest.approx(series.snapshot.limit_use[5], abs=1.0)
    (label,) = [label for label in trend_labels(frame, series) if label.key == "crossing"]
    assert label.lines[0].text == "4680 – 5190\u2009km"


def test_a_crossing_without_late_end_runs_to_the_edge(qapp):
    frame, series = drawn(STORIES["no reading"])
    assert not np.isfinite(series.limit_use[5])
    assert crossing_span(frame, series)[1] == frame.area.right()


def test_a_questioned_reading_says_why_and_a_voided_one_too(qapp):
    frame, series = drawn(STORIES["worn to 85 %"])
    said = {label.key: label.lines[0].text for label in trend_labels(frame, series)}
    assert said["questioned 7"] == "questioned: not cleaned?"
    assert said["voided 8"] == "voided: other vehicle"
    assert said["gauge 6"] == "gauge"
    assert said["earlier"] == "chain before"


def test_dates_follow_distance_through_the_vehicles_own_use(qapp):
    frame, series = drawn(STORIES["worn to 85 %"])
    ticks = date_ticks(frame, series)
    (today,) = [tick for tick in ticks if tick.is_today]
    assert frame.use_at(today.x) == pytest.approx(4150.0, abs=1.0)
    assert len(ticks) >= 4
    # 1 July 2026 is 109 days after fitting; the axis says 150 days for the first 2075 km.
    (july,) = [tick for tick in ticks if tick.text.startswith("Jul")]
    assert frame.use_at(july.x) == pytest.approx(2075.0 * 109 / 150, abs=2.0)
    middles = sorted(tick.middle for tick in ticks)
    assert min(b - a for a, b in itertools.pairwise(middles)) > 30


def test_a_seat_that_reads_miles_sees_miles(qapp):
    shown = ShownUnits(distance="mi")
    frame, series = drawn(STORIES["worn to 85 %"], shown=shown)
    # 1 mi = 1.609344 km: International yard and pound agreement of 1959.
    assert series.now == pytest.approx(4150.0 / 1.609344)
    assert series.limit == pytest.approx(1.7)
    (label,) = [label for label in trend_labels(frame, series) if label.key == "crossing"]
    assert label.lines[0].text.endswith("mi")


def test_wear_that_makes_a_value_smaller_runs_down_to_its_limit(qapp):
    frame, series = drawn(STORIES["teeth getting thinner"])
    assert series.is_falling
    assert frame.y(series.limit) > frame.y(series.plan) > frame.y(series.as_new)


def test_arrow_keys_step_through_the_readings_in_order(chart, qtbot):
    told = []
    chart.reading_chosen.connect(told.append)
    for _step in range(3):
        qtbot.keyClick(chart, Qt.Key.Key_Left)
    qtbot.keyClick(chart, Qt.Key.Key_Home)
    uses = {reading.reading_id: reading.use_on_part for reading in chart.series.snapshot.readings}
    assert [uses[n] for n in told] == [4150.0, 0.87 * 4150.0, 0.75 * 4150.0, 415.0]
    qtbot.keyClick(chart, Qt.Key.Key_Escape)
    assert chart.looked_at is None


def test_zoom_and_pan_are_undone_by_one_key(chart, qtbot):
    home = chart.ranges()
    for key in (Qt.Key.Key_Plus, Qt.Key.Key_Plus, Qt.Key.Key_Minus):
        qtbot.keyClick(chart, key)
    qtbot.keyClick(chart, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    assert chart.ranges() != home
    qtbot.keyClick(chart, Qt.Key.Key_0)
    assert np.allclose(chart.ranges(), home)


def test_a_reading_out_of_sight_is_brought_into_sight(chart, qtbot):
    chart._view.setRange(xRange=(3000, 3100), yRange=(1.0, 1.1), padding=0.0)
    qtbot.keyClick(chart, Qt.Key.Key_Home)
    (left, right), (low, high) = chart.ranges()
    first = chart.series.snapshot.readings[0]
    assert left <= first.use_on_part <= right
    assert low <= first.value * 100 <= high


def test_the_view_stays_when_the_same_part_is_loaded_again(chart, qtbot):
    qtbot.keyClick(chart, Qt.Key.Key_Plus)
    zoomed = chart.ranges()
    chart.show_snapshot(trend.chain_at(0.86), ShownUnits())
    assert chart.ranges() == zoomed
    chart.show_snapshot(trend.sprocket_wearing_down(), ShownUnits())
    assert chart.ranges() != zoomed


def test_the_pointer_reads_out_the_reading_under_it(chart, qtbot):
    frame, series = chart.frame_now, chart.series
    at = QPointF(frame.x(4150.0) + 4, frame.y(1.445) - 3)
    with qtbot.waitSignal(chart.reading_chosen) as told:
        chart._on_pointer(at)
    assert told.args == [5]
    lines = reading_lines(series, chart.looked_at)
    assert lines[0] == "1.44 ± 0.05\u2009%"
    assert "25 Nov 2026" in lines[1]


def test_the_crosshair_reads_median_interval_distance_and_date(qapp):
    _frame, series = drawn(STORIES["worn to 85 %"])
    median, interval, place = place_lines(series, 4150.0)
    assert median.startswith("1.45")
    assert interval.startswith("8 in 10: 1.39")
    assert place == "4150\u2009km, 25 Nov 2026"


def test_the_chart_tells_screen_readers_what_it_means(chart):
    assert chart.accessibleName() == "Wear trend"
    assert "between 4680 and 5190" in chart.accessibleDescription()


def test_nothing_to_draw_leaves_an_empty_chart(chart):
    plain = trend.chain_without_readings()
    empty = np.zeros(0)
    chart.show_snapshot(
        replace(
            plain,
            curve_use=empty,
            curve_value=np.zeros((0, 7)),
            fleet_use=empty,
            fleet_value=np.zeros((0, 3)),
        ),
        ShownUnits(),
    )
    assert chart.series is None
    assert chart.labels() == []
    chart.grab()


def many_readings(series, **other):
    rng = np.random.default_rng(7)
    uses = np.sort(rng.uniform(0, 4150, 100_000))
    values = uses * 0.00035 + rng.normal(0, 0.05, uses.size)
    none = np.zeros(uses.size, dtype=bool)
    told = {
        "reading_use": uses,
        "reading_value": values,
        "reading_low": values - 0.1,
        "reading_high": values + 0.1,
        "is_gauge": none,
        "is_voided": none,
        "is_questioned": none,
    }
    return replace(series, **(told | other))


def test_of_a_hundred_thousand_readings_every_spot_that_holds_one_gets_one(chart):
    frame, many = chart.frame_now, many_readings(chart.series)
    assert has_many(frame, many)
    kept = thinned(many.reading_use, many.reading_value, frame, 2.0)
    assert 1000 < len(kept) < 40_000
    # The outline stays: nothing stands out further than what is drawn by more than a spot.
    xs, ys = frame.xs(many.reading_use), frame.ys(many.reading_value)
    inside = (many.reading_value >= frame.y_range[0]) & (many.reading_value <= frame.y_range[1])
    columns = (xs / 2.0).astype(int)
    for column in np.unique(columns)[5:-5:20]:
        here = inside & (np.abs(columns - column) <= 1)
        drawn = kept[np.abs(columns[kept] - column) <= 1]
        assert ys[drawn].min() - ys[here].min() <= 2.0 + 1e-9
        assert ys[here].max() - ys[drawn].max() <= 2.0 + 1e-9


def test_what_is_drawn_of_many_readings_stays_the_same_while_the_chart_is_panned(chart):
    many = many_readings(chart.series)
    frame = chart.frame_now
    left, right = frame.x_range
    moved = replace(frame, x_range=(left + 0.3337 * (right - left), right + 0.3337 * (right - left)))
    both = (many.reading_use > moved.x_range[0] + 50.0) & (many.reading_use < right - 50.0)
    first, second = (set(thinned(many.reading_use, many.reading_value, f, 2.0)) for f in (frame, moved))
    assert {n for n in first if both[n]} == {n for n in second if both[n]}


def test_questioned_voided_and_gauge_readings_keep_their_marks_among_many(chart, qtbot):
    plain = many_readings(chart.series)
    odd = np.zeros(100_000, dtype=bool)
    odd[::20_000] = True
    pictures = [
        picture_of(chart, many)
        for many in (
            plain,
            replace(plain, is_questioned=odd),
            replace(plain, is_voided=odd),
            replace(plain, is_gauge=odd),
        )
    ]
    assert len({bytes(picture.constBits()) for picture in pictures}) == 4


def picture_of(chart, series):
    frame = trend_frame(series, QRectF(0, 0, 760, 420), palette("light"))
    image = QImage(760, 420, QImage.Format.Format_RGB32)
    image.fill(0xFFFFFFFF)
    with QPainter(image) as painter:
        paint_trend(painter, frame, series)
    return image


def test_labels_go_along_while_panned_and_find_their_place_at_rest(chart, qtbot):
    before = {label.key: label.box for label in chart.labels()}
    frame = chart.frame_now
    chart.pan(0.05, 0.0)
    assert chart.is_moving
    moved = {label.key: label.box for label in chart.labels()}
    across = -0.05 * frame.area.width()
    assert moved["crossing"].left() == pytest.approx(before["crossing"].left() + across, abs=0.01)
    assert moved["limit"] == before["limit"]
    qtbot.waitUntil(lambda: not chart.is_moving)
    at_rest = {label.key: label.box for label in chart.labels()}
    placed = {label.key: label.box for label in trend_labels(chart.frame_now, chart.series)}
    assert at_rest == placed


def test_a_place_without_any_curve_is_drawn_all_the_same(chart):
    chart._view.setRange(xRange=(9000, 9500), yRange=(0.0, 0.2), padding=0.0)
    chart.grab()
    assert chart.labels() is not None


def others(count):
    """Lines of other vehicles that lie close together, as they do in a fleet."""
    return tuple(
        OverlayLine(
            vehicle_id=n,
            installation_id=n,
            tag=f"LR-{n:03d}",
            state=list(State)[n % len(State)],
            use_on_part=np.linspace(0.0, 6000.0, 60),
            value=np.linspace(0.0, 6000.0, 60) * (3.2e-6 + 1.5e-7 * n),
            use_known=2500.0 + 200.0 * n,
            meter_offset=4000.0 + 500.0 * n,
            as_new=0.0,
            service_limit=0.017,
        )
        for n in range(1, count + 1)
    )


@pytest.mark.parametrize("view", [TrendView(), TrendView(ValueScale.ALLOWANCE, UseScale.VEHICLE)])
@pytest.mark.parametrize("size", SIZES[1:])
def test_eight_vehicles_are_named_on_the_chart_and_no_name_covers_another(qapp, size, view):
    series = trend_series(STORIES["worn to 85 %"], ShownUnits(), view, others(8))
    frame = trend_frame(series, QRectF(0, 0, *size), palette("light"))
    labels = trend_labels(frame, series)
    named = {label.lines[0].text for label in labels if label.key.startswith("other")}
    assert named == {"LR-017"} | {f"LR-{n:03d}" for n in range(1, 9)}
    for one, other in itertools.combinations(labels, 2):
        assert not one.box.intersects(other.box), (one.key, other.key)


def test_every_vehicle_is_measured_by_its_own_limit_when_allowances_are_compared(qapp):
    (line,) = others(1)
    tight = replace(line, service_limit=line.service_limit / 2)
    view = TrendView(ValueScale.ALLOWANCE)
    series = trend_series(STORIES["worn to 85 %"], ShownUnits(), view, (line, tight))
    assert series.others[1].value == pytest.approx(2.0 * series.others[0].value)


def test_thickness_that_falls_is_allowance_that_grows(qapp):
    plain = STORIES["teeth getting thinner"]
    series = trend_series(plain, ShownUnits(), TrendView(ValueScale.ALLOWANCE))
    assert not series.is_falling
    assert (series.reading_low <= series.reading_high).all()
    assert series.reading_value == pytest.approx(
        [100.0 * plain.limit.allowance_used(reading.value) for reading in plain.readings]
    )
    lines = place_lines(series, series.now)
    assert "of the allowance used" in lines[0]


def test_on_the_vehicles_own_axis_the_part_before_stands_before_this_one(qapp):
    plain = STORIES["worn to 85 %"]
    before = replace(plain.earlier[0], meter_offset=4500.0)
    snapshot = replace(plain, meter_offset=8212.0, earlier=(before,))
    series = trend_series(snapshot, ShownUnits(), TrendView(use=UseScale.VEHICLE))
    ((use, _value, _text),) = earlier_lines(series)
    assert use[0] == pytest.approx(4500.0)
    assert series.reading_use.min() == pytest.approx(8212.0 + 415.0)
    assert series.home_range()[0][0] <= 4500.0 + 1e-6
    # The read-out says where the vehicle was.
    assert place_lines(series, 8212.0 + 4150.0)[2].startswith("12\u202f362\u2009km")
