"""The headings of the sections; arrow keys go from one to the next, one section is visible at a time."""

from functools import partial
from gettext import gettext as _

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QPushButton, QWidget

from wearlog.window.flow import FlowLayout
from wearlog.window.settings.model import Section, SettingsModel
from wearlog.window.theme import set_role


class _Heading(QPushButton):
    """The heading of one section."""

    def __init__(self, text: str, model: SettingsModel) -> None:
        super().__init__(text)
        self._model = model
        self.setCheckable(True)
        self.setAccessibleName(text)
        set_role(self, "count")

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go to the section beside with the arrow keys."""
        key = Qt.Key(event.key())
        if key in {Qt.Key.Key_Right, Qt.Key.Key_Down}:
            self._model.step(1)
        elif key in {Qt.Key.Key_Left, Qt.Key.Key_Up}:
            self._model.step(-1)
        else:
            super().keyPressEvent(event)


class SectionBar(QWidget):
    """The headings in a row."""

    def __init__(self, model: SettingsModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self.setAccessibleName(_("Sections of the settings"))
        self.headings: dict[Section, QPushButton] = {}
        row = FlowLayout(self, spacing=24)
        for section, text in {
            Section.LIMITS: _("Limits"),
            Section.INTERVALS: _("Intervals"),
            Section.INSTRUMENTS: _("Instruments"),
            Section.WORKSHOP: _("Workshop"),
            Section.SEAT: _("This seat"),
            Section.DATABASE: _("Database"),
        }.items():
            heading = _Heading(text, model)
            heading.clicked.connect(partial(self._on_clicked, section))
            self.headings[section] = heading
            row.addWidget(heading)
        model.turned.connect(self._show_section)
        self._show_section(model.section)

    def focus_current(self) -> None:
        """Put the focus on the heading of the visible section."""
        self.headings[self._model.section].setFocus(Qt.FocusReason.TabFocusReason)

    def _on_clicked(self, section: Section) -> None:
        self._model.turn(section)
        self._show_section(self._model.section)

    def _show_section(self, section: Section) -> None:
        had_focus = any(heading.hasFocus() for heading in self.headings.values())
        for other, heading in self.headings.items():
            heading.setChecked(other is section)
            # One stop of the Tab key for all of them, as for radio buttons.
            is_here = other is section
            heading.setFocusPolicy(Qt.FocusPolicy.StrongFocus if is_here else Qt.FocusPolicy.ClickFocus)
        if had_focus:
            self.focus_current()
