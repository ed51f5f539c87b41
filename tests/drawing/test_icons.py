"""The line drawings of resources/icons."""

import xml.etree.ElementTree as ET

import pytest
from PySide6.QtGui import QColor

from wearlog.drawing.icons import icon
from wearlog.resources import resource

NAMES = sorted(file.stem for file in resource("icons").glob("*.svg"))


@pytest.mark.parametrize("name", NAMES)
def test_every_drawing_says_what_it_is(name):
    root = ET.parse(resource("icons", f"{name}.svg")).getroot()  # noqa: S314 - a file of our own
    assert root.find("{http://www.w3.org/2000/svg}title").text == name


@pytest.mark.parametrize("name", NAMES)
def test_a_drawing_takes_the_colour_it_is_given(qapp, name):
    image = icon(name, "#d55e00").pixmap(64, 64).toImage()
    inks = {
        QColor(image.pixelColor(x, y)).name()
        for x in range(image.width())
        for y in range(image.height())
        if image.pixelColor(x, y).alpha() == 255
    }
    assert inks
    assert name == "wearlog" or inks == {"#d55e00"}
