"""Code 39, read back by an independent reader (zxing-cpp)."""

import numpy as np
import pytest
import zxingcpp
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter

from wearlog.drawing.paper_code39 import WIDE, can_be_coded, code39_elements, paint_code39


def read(text):
    image = QImage(1400, 160, QImage.Format.Format_Grayscale8)
    image.fill(255)
    with QPainter(image) as painter:
        paint_code39(painter, QRectF(20.0, 30.0, 1360.0, 100.0), text)
    flat = np.frombuffer(image.constBits(), np.uint8).reshape(160, image.bytesPerLine())[:, :1400]
    return [code.text for code in zxingcpp.read_barcodes(flat, formats=zxingcpp.BarcodeFormat.Code39)]


@pytest.mark.parametrize(
    "text", ["0123456789", "ABCDEFGHIJ", "KLMNOPQRST", "UVWXYZ", "V-0042", "A-1.B 2$3/4+5%"]
)
def test_every_character_is_read_back(qapp, text):
    assert read(text) == [text]


def test_small_letters_are_typed_as_capitals(qapp):
    assert read("lr-017") == ["LR-017"]


def test_three_of_nine_are_wide(qapp):
    # ISO/IEC 16388:2007, 4.2: each character has nine elements, three of them wide.
    for character in "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%":
        inside = list(code39_elements(character))[10:19]
        assert sum(width == WIDE for width, _is_bar in inside) == 3, character


def test_other_characters_can_not_be_coded():
    assert not any(can_be_coded(text) for text in ("", "*", "Gerät", "a_b"))
