"""The line drawings of resources/icons."""

import xml.etree.ElementTree as ET

import pytest

from wearlog.drawing.icons import icon
from wearlog.resources import resource

SVG = "{http://www.w3.org/2000/svg}"


def test_the_programs_own_mark_says_what_it_is():
    root = ET.parse(resource("icons", "wearlog.svg")).getroot()  # noqa: S314 - a file of our own
    assert root.find(f"{SVG}title").text == "wearlog"


def test_the_mark_is_a_wear_rule_in_the_colours_of_okabe_and_ito(qapp):
    image = icon("wearlog").pixmap(64, 64).toImage()
    inks = {image.pixelColor(x, y).name() for x in range(64) for y in range(64)}
    # Sky blue for the bar, orange for the limit; M. Okabe, K. Ito, Color Universal Design, 2008.
    assert {"#56b4e9", "#e69f00"} <= inks


def test_a_drawing_that_is_not_there_is_told():
    with pytest.raises(FileNotFoundError):
        icon("no such drawing")
