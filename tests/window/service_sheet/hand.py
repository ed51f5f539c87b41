"""A hand on the keyboard of the service sheet."""

from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from wearlog.window.bench_keys import put_focus
from wearlog.window.service_sheet.page import SheetPage

#: What is left of a window of 1280 x 800 beside 300 px of fleet, under menu and page bar, over the quiet bar.
PAGE_SIZE = (979, 800 - 26 - 45 - 40)
#: A pad types these without leaving the figures.
FIGURES = set("0123456789./")


@dataclass
class Hand:
    """A hand on the keyboard; counts the key presses that are not figures."""

    page: SheetPage
    qtbot: object
    presses: int = 0

    def types(self, text: str) -> None:
        for letter in text:
            self.presses += letter not in FIGURES
            QTest.keyClicks(self.at(), letter)

    def scans(self, tag: str) -> None:
        """A scanner is a keyboard that ends with Enter."""
        put_focus(self.page.head.tag)
        QTest.keyClicks(self.page.head.tag, tag)
        QTest.keyClick(self.page.head.tag, Qt.Key.Key_Return)
        self.presses += 1
        self.waits()
        # The offscreen platform leaves no window active when the list of tags closes.
        self.page.window().activateWindow()
        self.qtbot.waitUntil(self.page.window().isActiveWindow)
        put_focus(self.page.head.meter)

    def enters(self, *texts: str) -> None:
        for text in texts:
            self.types(text)
            self.presses_key(Qt.Key.Key_Enter, Qt.KeyboardModifier.KeypadModifier)

    def presses_key(
        self, key: Qt.Key, modifiers: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier
    ) -> None:
        self.presses += 1
        QTest.keyClick(self.at(), key, modifiers)

    def waits(self) -> None:
        """Until everything typed is kept and looked at."""
        page = self.page
        self.qtbot.waitUntil(lambda: not page._pause.isActive() and not page.session.background.is_busy())

    def at(self) -> QWidget:
        widget = QApplication.focusWidget()
        assert widget is not None
        return widget

    @property
    def where(self) -> str:
        return self.at().accessibleName()
