"""Every page looks as it was approved: light and dark, with no vehicle, with one, and with a fleet."""

import pytest
from PIL import Image
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QApplication, QPushButton

from tests.pictures.comparing import MOST, difference
from tests.pictures.rendering import APPROVED, FLEETS, LOOKS, dress, picture, rendered, rest
from wearlog.preferences import Preferences
from wearlog.window import theme
from wearlog.window.start import build_window


@pytest.fixture
def plain_look_afterwards(qapp):
    """Put the look of the other tests back."""
    before = QFont(qapp.font())
    yield
    qapp.setFont(before)
    qapp.setStyleSheet("")
    theme.apply(qapp, Preferences(theme="light"))


@pytest.mark.slow
@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("fleet", FLEETS)
def test_every_page_looks_as_approved(qapp, tmp_path, plain_look_afterwards, fleet, look):
    other = []
    for name, image in rendered(fleet, look, tmp_path):
        approved = APPROVED / f"{name}.png"
        found = difference(Image.open(approved), image) if approved.exists() else None
        if found is None or found.is_other:
            image.save(tmp_path / f"{name}.png")
            other.append(f"{name}: {'not approved yet' if found is None else found}, see {tmp_path}")
    assert not other, "if it is meant so: look at the pictures, then `poe approve`"


@pytest.fixture
def seat(sample, qapp, plain_look_afterwards):
    """The window on the sample fleet in the font of the pictures."""
    dress(qapp, "light")
    seat = build_window(sample, Preferences(theme="light", person="Tilda"), place="Larkfell Ranger Service")
    seat.window.resize(1280, 800)
    seat.show()
    rest(seat)
    yield seat
    seat.close()
    seat.window.deleteLater()
    QApplication.processEvents()


def test_two_labels_that_change_places_are_noticed(seat):
    seat.window.open_page("due")
    rest(seat)
    before = picture(seat)
    assert difference(before, picture(seat)).worst == 0.0
    tabs = {tab.text(): tab for tab in seat.window.findChildren(QPushButton) if tab.property("role") == "tab"}
    first, second = tabs["Drive set-up"], tabs["Torque sheet"]
    first.setText("Torque sheet")
    second.setText("Drive set-up")
    rest(seat)
    assert difference(before, picture(seat)).is_other


def test_a_line_that_moves_by_half_its_height_is_noticed(seat):
    seat.window.open_page("due")
    rest(seat)
    before = picture(seat)
    page = seat.window.current_page()
    page.body.setContentsMargins(0, 8, 0, 0)
    rest(seat)
    assert difference(before, picture(seat)).is_other


def test_letters_fitted_to_pixels_are_no_difference(seat, qapp):
    seat.window.open_page("due")
    rest(seat)
    before = picture(seat)
    font = QFont(qapp.font())
    font.setHintingPreference(QFont.HintingPreference.PreferVerticalHinting)
    qapp.setFont(font)
    qapp.setStyleSheet(qapp.styleSheet() + "\n")
    rest(seat)
    assert difference(before, picture(seat)).worst < MOST
