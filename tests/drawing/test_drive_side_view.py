"""The side view of a stage: true to scale, the same in every theme, told apart without colour."""

import math
from itertools import pairwise

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter

from tests.makers.setup import belt_primary, chain_primary
from wearlog.drawing.drive_outline import stage_outline
from wearlog.drawing.drive_side_view import DriveSideView, SideView, paint_drive_side_view, side_view_text
from wearlog.drawing.palette import palette
from wearlog.drive.chain import chain_length
from wearlog.drive.describing import describe
from wearlog.drive.setup import DriveSetup
from wearlog.fleet.parts import DriveKind
from wearlog.fleet.quantity import ShownUnits

WIDTH, HEIGHT = 640, 240


def length(points):
    return sum(math.dist(one, other) for one, other in pairwise(points))


def painted(view, theme="light", size=(WIDTH, HEIGHT)):
    look = palette(theme)
    image = QImage(*size, QImage.Format.Format_RGB32)
    image.fill(QColor(look.ground))
    painter = QPainter(image)
    paint_drive_side_view(painter, QRectF(0, 0, *size), view, look)
    painter.end()
    return image


def differing(one, other):
    """Count the pixels in which two pictures differ."""
    return sum(one.pixel(x, y) != other.pixel(x, y) for x in range(one.width()) for y in range(one.height()))


# --- the outline


def test_the_pitch_line_of_a_taut_belt_is_as_long_as_the_belt():
    outline = stage_outline(belt_primary())
    # 112 teeth of 8 mm; the polygon cuts the arcs by less than a thousandth.
    assert length(outline.loop) == pytest.approx(112 * 8.0, rel=1e-3)


def test_a_chain_is_drawn_with_as_many_joints_as_it_has_links():
    outline = stage_outline(chain_primary())
    assert len(outline.joints) == 70
    steps = [math.dist(one, other) for one, other in pairwise(outline.joints)]
    assert max(steps) / min(steps) < 1.05


def test_the_slack_run_hangs_by_the_sag_that_its_slack_means():
    figures = chain_primary()
    outline = stage_outline(figures)
    slack = outline.slack
    assert slack.movement_mm == figures.target.slack_mm
    # Parabola and triangle of the same excess length: sag is sqrt(3)/2 of the lift, half the movement.
    assert slack.sag_mm == pytest.approx(math.sqrt(3) / 2 * slack.movement_mm / 2, rel=1e-2)
    lowest = max(
        (x - slack.middle[0]) * slack.outwards[0] + (y - slack.middle[1]) * slack.outwards[1]
        for x, y in outline.loop
    )
    assert lowest == pytest.approx(slack.sag_mm, rel=0.02)


def test_a_belt_has_no_slack_and_both_runs_straight():
    assert stage_outline(belt_primary()).slack is None


def test_wheels_stand_at_their_centre_distance_with_their_pitch_circles():
    figures = chain_primary()
    outline = stage_outline(figures)
    assert outline.driven.centre[0] == pytest.approx(figures.loop.centre_distance_mm)
    # Pitch diameter p / sin(180/z), ISO 606.
    assert outline.driver.pitch_radius_mm == pytest.approx(12.7 / math.sin(math.pi / 17) / 2)
    assert len(outline.driver.rim) == 4 * 17
    radii = [math.dist(point, outline.driver.centre) for point in outline.driver.rim]
    assert min(radii) < outline.driver.pitch_radius_mm < max(radii)


def test_a_larger_driver_is_drawn_as_well_as_a_larger_driven_wheel():
    cycle = describe(
        DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=44, driven_teeth=18, links=106)
    )
    outline = stage_outline(cycle)
    taut = chain_length(cycle.loop.taut_centre_mm, 12.7, 44, 18) * 12.7
    assert length(outline.loop) == pytest.approx(taut, rel=3e-3)


def test_a_stage_without_any_distance_has_no_outline():
    bare = describe(DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=14, driven_teeth=42))
    assert stage_outline(bare) is None


# --- the picture


@pytest.mark.parametrize("theme", ["light", "dark", "paper"])
def test_every_theme_shows_chain_and_belt(qapp, theme):
    blank = painted(SideView(None), theme)
    for figures in (belt_primary(), chain_primary()):
        assert differing(painted(SideView(figures), theme), blank) > 2000


def test_on_paper_before_and_after_differ_by_their_lines_not_by_colour(qapp):
    plain = painted(SideView(chain_primary()), "paper")
    over = painted(SideView(belt_primary(), chain_primary()), "paper")
    grey = [image.convertToFormat(QImage.Format.Format_Grayscale8) for image in (plain, over)]
    assert differing(*grey) > 200


def test_a_plan_that_is_what_is_fitted_shows_no_pale_lines(qapp):
    same = SideView(chain_primary(), chain_primary())
    assert same.back is None
    assert differing(painted(same), painted(SideView(chain_primary()))) == 0


def test_the_same_stage_is_drawn_larger_on_more_room(qapp):
    def inked(image):
        ground = image.pixel(0, image.height() - 1)
        columns = [
            x
            for x in range(100, image.width() - 80)
            if any(image.pixel(x, y) != ground for y in range(40, image.height() - 60))
        ]
        return max(columns) - min(columns)

    view = SideView(chain_primary())
    assert inked(painted(view, size=(1280, 480))) > 1.6 * inked(painted(view))


def test_an_unknown_distance_is_said_instead_of_drawn(qapp):
    bare = describe(DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=14, driven_teeth=42))
    assert differing(painted(SideView(bare)), painted(SideView(None))) > 50


# --- in words


def test_the_drawing_is_said_in_words_with_what_was_before(qtbot):
    view = SideView(belt_primary(), chain_primary(), ShownUnits())
    text = side_view_text(view).replace("\u2009", " ")
    assert text.startswith("17 to 44 teeth by chain, 244.7 mm between centres, slack 9.8 mm in all")
    assert "Before, in pale lines: 28 to 72 teeth by belt" in text
    widget = DriveSideView()
    qtbot.addWidget(widget)
    widget.show_view(view)
    assert widget.accessibleDescription() == side_view_text(view)


def test_the_drawing_reads_in_the_units_of_the_seat():
    assert "9.63" in side_view_text(SideView(chain_primary(), shown=ShownUnits(length="in")))
