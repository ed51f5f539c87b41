"""The drawn steps of measuring: each shows something, within its sheet, and says what it shows."""

import pytest
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter

from wearlog.drawing.palette import palette
from wearlog.drawing.step_pencil import HEIGHT, WIDTH
from wearlog.drawing.step_picture import Step, StepPicture, paint_step, step_text, steps_of
from wearlog.fleet.reading import Measurand
from wearlog.measuring.how_to import methods_for

MARGIN = 12
SCALE = 2


def painted(step: Step, theme: str) -> QImage:
    image = QImage(
        int(WIDTH * SCALE) + 2 * MARGIN, int(HEIGHT * SCALE) + 2 * MARGIN, QImage.Format.Format_RGB32
    )
    image.fill(QColor(palette(theme).ground))
    with QPainter(image) as painter:
        paint_step(painter, QRectF(MARGIN, MARGIN, WIDTH * SCALE, HEIGHT * SCALE), step, palette(theme))
    return image


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("step", list(Step))
def test_a_step_is_drawn_within_its_sheet(qapp, step, theme):
    image = painted(step, theme)
    ground = QColor(palette(theme).ground).rgb()
    width, height = image.width(), image.height()
    inked = sum(image.pixel(x, y) != ground for x in range(0, width, 3) for y in range(0, height, 3))
    assert inked > 300
    edge = [(x, y) for x in range(width) for y in (2, height - 3)]
    edge += [(x, y) for x in (2, width - 3) for y in range(height)]
    assert all(image.pixel(x, y) == ground for x, y in edge)


def test_each_drawing_says_in_words_what_it_shows(qapp):
    texts = [step_text(step) for step in Step]
    assert len(set(texts)) == len(texts)
    assert all(len(text) > 40 and text.endswith(".") for text in texts)
    picture = StepPicture(Step.SLACK)
    assert picture.accessibleDescription() == step_text(Step.SLACK)
    assert "slack" in picture.accessibleName()


@pytest.mark.parametrize("measurand", list(Measurand))
def test_every_way_of_measuring_is_drawn(measurand):
    assert all(steps_of(measurand, method) for method in methods_for(measurand))


def test_a_drawing_keeps_its_shape_and_never_grows_beyond_its_labels(qapp):
    picture = StepPicture(Step.OVER_ROLLERS)
    assert picture.heightForWidth(180) == 75
    assert picture.heightForWidth(4000) == HEIGHT
    picture.wear_colours(palette("dark"), 2.0)
    assert picture.heightForWidth(4000) == 2 * HEIGHT
    assert picture.focusPolicy() is Qt.FocusPolicy.NoFocus
