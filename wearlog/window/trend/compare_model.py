"""Which vehicles are compared: a list narrowed by typing, and the few that were chosen; no widgets."""

from gettext import gettext as _
from typing import Any

from PySide6.QtCore import QAbstractListModel, QModelIndex, QObject, QPersistentModelIndex, Qt, Signal

from wearlog.drawing.words import rule_text, state_text
from wearlog.fleet.reading import Measurand
from wearlog.workshop.trend_overlay_snapshot import MOST_LINES, OverlayChoice

Index = QModelIndex | QPersistentModelIndex
Key = tuple[int, Measurand]


class CompareModel(QAbstractListModel):
    """Parts in the same place of other vehicles; the chosen ones first, then by tag.

    Signals
    -------
    chosen_changed()
        Another one was chosen, or one left.
    """

    chosen_changed = Signal()
    ChoiceRole = Qt.ItemDataRole.UserRole + 1

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._all: tuple[OverlayChoice, ...] = ()
        self._rows: list[OverlayChoice] = []
        self._words: tuple[str, ...] = ()
        self._chosen: list[Key] = []

    @property
    def chosen(self) -> tuple[Key, ...]:
        """What was chosen, in that order."""
        return tuple(self._chosen)

    @property
    def is_full(self) -> bool:
        """Whether no more can be chosen."""
        return len(self._chosen) >= MOST_LINES

    @property
    def count_text(self) -> str:
        """How many are chosen, of how many at most."""
        return _("{n} of {most} chosen").format(n=len(self._chosen), most=MOST_LINES)

    def show_choices(self, choices: tuple[OverlayChoice, ...]) -> None:
        """Show what can be chosen; what was chosen and is gone is no longer."""
        self._all = choices
        known = {choice.key for choice in choices}
        kept = [key for key in self._chosen if key in known]
        has_lost = kept != self._chosen
        self._chosen = kept
        self._narrow()
        if has_lost:
            self.chosen_changed.emit()

    def filter_by(self, text: str) -> None:
        """Leave those that hold every word."""
        words = tuple(text.casefold().split())
        if words != self._words:
            self._words = words
            self._narrow()

    def toggle(self, row: int) -> bool:
        """Choose the one in a row, or let it go; False if there are too many already."""
        if not 0 <= row < len(self._rows):
            return False
        key = self._rows[row].key
        if key in self._chosen:
            self._chosen.remove(key)
        elif self.is_full:
            return False
        else:
            self._chosen.append(key)
        place = self.index(row)
        self.dataChanged.emit(place, place)
        self.chosen_changed.emit()
        return True

    def clear(self) -> None:
        """Choose none."""
        if self._chosen:
            self._chosen.clear()
            self._narrow()
            self.chosen_changed.emit()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        """Return the number of rows."""
        return 0 if parent.isValid() else len(self._rows)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return what a row says, and whether it is chosen."""
        if not index.isValid():
            return None
        choice = self._rows[index.row()]
        is_chosen = choice.key in self._chosen
        match role:
            case Qt.ItemDataRole.DisplayRole:
                return f"{choice.tag}  ·  {state_text(choice.rule.state)}"
            case Qt.ItemDataRole.CheckStateRole:
                return Qt.CheckState.Checked if is_chosen else Qt.CheckState.Unchecked
            case _other:
                return self._more(choice, role, is_chosen=is_chosen)

    def _more(self, choice: OverlayChoice, role: int, *, is_chosen: bool) -> Any:
        if role == self.ChoiceRole:
            return choice
        if role == Qt.ItemDataRole.ToolTipRole:
            return f"{choice.depot}  ·  {choice.part_text}\n{rule_text(choice.rule)}"
        if role == Qt.ItemDataRole.AccessibleTextRole:
            word = _("chosen") if is_chosen else _("not chosen")
            return f"{choice.tag}, {choice.depot}, {choice.part_text}, {rule_text(choice.rule)}, {word}"
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Let rows be chosen."""
        if not index.isValid():
            return Qt.ItemFlag.NoItemFlags
        return Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable

    def _narrow(self) -> None:
        fitting = [one for one in self._all if all(word in one.search_text for word in self._words)]
        self.beginResetModel()
        self._rows = sorted(fitting, key=lambda one: one.key not in self._chosen)
        self.endResetModel()
