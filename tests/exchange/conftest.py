"""What tests of papers share."""

import pytest
from PySide6.QtGui import QFont, QFontDatabase, QGuiApplication

from wearlog.drawing.paper_ink import paper_font

#: The font of the approved pictures; lines break elsewhere in another one.
APPROVED_FONT = "DejaVu Sans"


@pytest.fixture
def approved_font(qapp):
    """The font of the approved pictures, for as long as the test runs."""
    if APPROVED_FONT not in QFontDatabase.families():
        pytest.skip(f"{APPROVED_FONT} is not installed: pages can't be compared with the approved ones")
    before = QGuiApplication.font()
    QGuiApplication.setFont(QFont(APPROVED_FONT))
    paper_font.cache_clear()
    yield
    QGuiApplication.setFont(before)
    paper_font.cache_clear()
