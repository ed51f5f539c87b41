"""What belongs to this seat: who sits here, the units read in, light or dark, the size of text."""

from collections.abc import Callable
from dataclasses import replace
from gettext import gettext as _

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QLabel, QVBoxLayout, QWidget

from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.preferences import Preferences
from wearlog.units import show_parts, units_for
from wearlog.window import theme
from wearlog.window.bench_keys import put_focus
from wearlog.window.flow import FlowLayout
from wearlog.window.session import Session
from wearlog.window.settings.form import Labelled, fill_choices
from wearlog.window.settings.model import SettingsModel
from wearlog.window.theme import set_role

_UNITS = (
    ("length", _("Length"), Quantity.LENGTH),
    ("distance", _("Distance"), Quantity.DISTANCE),
    ("elongation", _("Elongation"), Quantity.ELONGATION),
    ("force", _("Force"), Quantity.FORCE),
    ("torque", _("Torque"), Quantity.TORQUE),
    ("speed", _("Speed"), Quantity.SPEED),
    ("temperature", _("Temperature"), Quantity.TEMPERATURE),
)


class SeatSection(QWidget):
    """The preferences of this seat; each counts as soon as it is chosen."""

    def __init__(self, session: Session, model: SettingsModel) -> None:
        super().__init__()
        self._session = session
        self._model = model
        self._labelled: list[Labelled] = []
        self.person = QComboBox()
        self.person.setEditable(True)
        self.person.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.theme = QComboBox()
        self.text_size = QComboBox()
        self.units = {name: QComboBox() for name, _caption, _quantity in _UNITS}
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(8)
        layout.addWidget(_title(_("Who sits here")))
        layout.addLayout(self._row(Labelled(_("Person"), self.person, 240)))
        layout.addWidget(_muted(_("Stands beside everything that is saved at this seat.")))
        layout.addSpacing(16)
        layout.addWidget(_title(_("Units to read in")))
        layout.addLayout(
            self._row(*(Labelled(caption, self.units[name], 104) for name, caption, _quantity in _UNITS))
        )
        layout.addWidget(_muted(_("Every unit of the trade may be typed, whatever is shown.")))
        layout.addSpacing(16)
        layout.addWidget(_title(_("Look")))
        layout.addLayout(
            self._row(Labelled(_("Light or dark"), self.theme, 160), Labelled(_("Text"), self.text_size, 104))
        )
        layout.addStretch(1)
        self._fill()
        line = self.person.lineEdit()
        if line is not None:
            line.editingFinished.connect(self._on_person)
        self.person.activated.connect(self._on_person)
        self.theme.activated.connect(self._on_look)
        self.text_size.activated.connect(self._on_look)
        for combo in self.units.values():
            combo.activated.connect(self._on_units)
        session.preferences_changed.connect(self._fill)
        model.shown_anew.connect(self._fill)

    def _row(self, *fields: Labelled) -> FlowLayout:
        row = FlowLayout(spacing=16)
        for field in fields:
            row.addWidget(field)
            self._labelled.append(field)
        return row

    def focus_first(self) -> None:
        """Start at the person."""
        put_focus(self.person)

    def take_look(self) -> None:
        """Follow the text size."""
        for field in self._labelled:
            field.take_look()

    def _fill(self) -> None:
        preferences = self._session.preferences
        people = self._model.snapshot.people if self._model.snapshot is not None else ()
        if not self.person.hasFocus():
            fill_choices(self.person, [(name, name) for name in people], preferences.person)
            self.person.setEditText(preferences.person or self._session.bench.by)
        for name, _caption, quantity in _UNITS:
            shown = [(_unit_text(quantity, name, unit), unit) for unit in units_for(quantity)]
            fill_choices(self.units[name], shown, getattr(preferences.units, name))
        looks: list[tuple[str, object]] = [
            (_("as the system"), "system"),
            (_("light"), "light"),
            (_("dark"), "dark"),
        ]
        fill_choices(self.theme, looks, preferences.theme)
        sizes = [(f"{100 * scale:.0f}\u2009%", scale) for scale in theme.TEXT_SCALES]
        fill_choices(self.text_size, sizes, preferences.text_scale)

    # --- what is chosen

    def _on_person(self) -> None:
        person = self.person.currentText().strip()
        before = self._session.preferences.person or self._session.bench.by
        if person and person != before:
            self._session.bench.by = person
            self._set(lambda p: replace(p, person=person), _("{person} sits here now").format(person=person))

    def _on_units(self) -> None:
        chosen = {name: str(combo.currentData()) for name, combo in self.units.items()}
        self._set(lambda p: replace(p, units=ShownUnits(**chosen)), _("Units changed at this seat"))

    def _on_look(self) -> None:
        look, size = str(self.theme.currentData()), float(self.text_size.currentData())
        self._set(lambda p: replace(p, theme=look, text_scale=size), _("Look changed at this seat"))

    def _set(self, change: Callable[[Preferences], Preferences], what: str) -> None:
        session = self._session
        before, by = session.preferences, session.bench.by
        after = change(before)
        if after == before:
            return
        session.set_preferences(after)

        def put_back() -> None:
            now = session.preferences
            session.bench.by = before.person or by
            session.set_preferences(
                replace(
                    now,
                    person=before.person,
                    units=before.units,
                    theme=before.theme,
                    text_scale=before.text_scale,
                )
            )

        session.messages.said(what, put_back)


def _unit_text(quantity: Quantity, name: str, unit: str) -> str:
    label = show_parts(0.0, quantity, replace(ShownUnits(), **{name: unit}))[1]
    return label or _("as a number")


def _title(text: str) -> QLabel:
    label = QLabel(text)
    set_role(label, "title")
    return label


def _muted(text: str) -> QLabel:
    label = QLabel(text)
    label.setWordWrap(True)
    label.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
    set_role(label, "muted")
    return label
