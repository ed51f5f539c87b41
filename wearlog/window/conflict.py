"""Two versions of one record side by side: the person chooses field by field, and nothing is lost."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from gettext import gettext as _
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from wearlog.fleet.problem import EditConflict
from wearlog.window.theme import scaled, set_role

#: Fields that are the program's own.
_OWN = {"id", "version"}
#: Room for a version of a field, before the text scale, [px].
_VERSION_PX = 264


@dataclass(frozen=True, slots=True)
class Difference:
    """A field in which two versions differ.

    `is_mine` is the version that stands to reason: whoever alone changed the field.
    """

    name: str
    mine: Any
    theirs: Any
    is_mine: bool


def differences(mine: Any, theirs: Any, base: Any = None) -> tuple[Difference, ...]:
    """Return the fields in which two versions of a record differ, in their order.

    Parameters
    ----------
    mine, theirs
        The versions, of one kind.
    base
        What both began with; without it, what this seat entered stands first.

    Examples
    --------
    >>> from wearlog.fleet.parts import Part
    >>> base = Part(part_type_id=1, lot="A")
    >>> [(d.name, d.is_mine) for d in differences(replace(base, lot="B"), replace(base, notes="x"), base)]
    [('lot', True), ('notes', False)]
    """
    if type(mine) is not type(theirs) or not is_dataclass(mine):
        message = "only two versions of one record can be compared"
        raise TypeError(message)
    found = []
    for name in (field.name for field in fields(mine) if field.name not in _OWN):
        one, other = getattr(mine, name), getattr(theirs, name)
        if one != other:
            was = getattr(base, name) if base is not None else other
            found.append(Difference(name, one, other, is_mine=one != was))
    return tuple(found)


def merged(theirs: Any, found: tuple[Difference, ...], is_mine: Mapping[str, bool]) -> Any:
    """Return their version with the fields of mine that were chosen; it can be kept in place of theirs."""
    return replace(theirs, **{one.name: one.mine for one in found if is_mine[one.name]})


class ConflictPanel(QWidget):
    """Shows both versions and lets the person choose for each field.

    Signals
    -------
    chosen(theirs, merged)
        What is kept now, and what should count.
    left()
        Nothing is decided; what was entered stays in its form.
    """

    chosen = Signal(object, object)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("Two versions"))
        self._theirs: Any = None
        self._found: tuple[Difference, ...] = ()
        self._groups: dict[str, QButtonGroup] = {}
        self.said = QLabel()
        self.said.setWordWrap(True)
        self.said.setAccessibleName(_("What happened"))
        set_role(self.said, "problem")
        self._grid_place = QVBoxLayout()
        self._grid: QWidget | None = None
        self.keep = QPushButton(_("&Keep what is chosen"))
        self.keep.setAccessibleName(_("Keep what is chosen"))
        self.keep.setToolTip("Ctrl+Enter")
        set_role(self.keep, "primary")
        self.all_mine = QPushButton(_("All &mine"))
        self.all_theirs = QPushButton(_("All &theirs"))
        self.back = QPushButton(_("&Back to the form"))
        self.back.setToolTip("Esc")
        for button in (self.all_mine, self.all_theirs, self.back):
            button.setAccessibleName(button.text().replace("&", ""))
        self.keep.clicked.connect(self.confirm)
        self.all_mine.clicked.connect(lambda: self._choose_all(is_mine=True))
        self.all_theirs.clicked.connect(lambda: self._choose_all(is_mine=False))
        self.back.clicked.connect(self.left)
        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        for button in (self.keep, self.all_mine, self.all_theirs, self.back):
            buttons.addWidget(button)
        buttons.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(16)
        layout.addWidget(self.said)
        layout.addLayout(self._grid_place)
        layout.addLayout(buttons)
        layout.addStretch(1)

    def open(
        self,
        error: EditConflict,
        base: Any = None,
        *,
        name_of: Callable[[str], str] = str,
        value_of: Callable[[str, Any], str] = lambda _name, value: str(value),
    ) -> bool:
        """Show both versions; return whether there is anything to choose.

        Parameters
        ----------
        error
            With both versions.
        base
            What this seat began with.
        name_of, value_of
            What a person calls a field, and how its value is written.
        """
        self._theirs = error.versions.theirs
        self._found = differences(error.versions.mine, self._theirs, base)
        problem = error.problems[0]
        where = f"{problem.where}: " if problem.where else ""
        self.said.setText(f"{where}{problem.what} {problem.todo}".strip())
        if self._grid is not None:
            self._grid.hide()
            self._grid.deleteLater()
        self._grid = self._make_grid(name_of, value_of)
        self._grid_place.addWidget(self._grid)
        return bool(self._found)

    def confirm(self) -> None:
        """Hand over what is chosen."""
        choice = {one.name: self._groups[one.name].checkedId() == 0 for one in self._found}
        self.chosen.emit(self._theirs, merged(self._theirs, self._found, choice))

    def focus_first(self) -> None:
        """Start at the first field."""
        groups = list(self._groups.values())
        first = groups[0].checkedButton() if groups else None
        (first or self.keep).setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Ctrl+Enter keeps, Enter goes on, Esc leaves."""
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
                self.confirm()
            else:
                self.focusNextChild()
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def _choose_all(self, *, is_mine: bool) -> None:
        for group in self._groups.values():
            group.button(0 if is_mine else 1).setChecked(True)

    def _make_grid(self, name_of: Callable[[str], str], value_of: Callable[[str, Any], str]) -> QWidget:
        self._groups = {}
        whole = QWidget()
        grid = QGridLayout(whole)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(24)
        grid.setVerticalSpacing(4)
        for column in (1, 2):
            grid.setColumnMinimumWidth(column, scaled(_VERSION_PX))
        grid.setColumnStretch(3, 1)
        for column, text in enumerate(("", _("Mine"), _("Theirs"))):
            head = QLabel(text)
            set_role(head, "strong")
            grid.addWidget(head, 0, column)
        for row, one in enumerate(self._found, start=1):
            name = name_of(one.name)
            label = QLabel(name)
            set_role(label, "muted")
            grid.addWidget(label, row, 0)
            group = QButtonGroup(whole)
            for number, (whose, value) in enumerate(((_("mine"), one.mine), (_("theirs"), one.theirs))):
                button = QRadioButton(value_of(one.name, value))
                button.setAccessibleName(
                    _("{field}, {whose}: {value}").format(field=name, whose=whose, value=button.text())
                )
                group.addButton(button, number)
                grid.addWidget(button, row, 1 + number)
            group.button(0 if one.is_mine else 1).setChecked(True)
            self._groups[one.name] = group
        return whole
