"""The comparison of a stage and its plan as rows of a table; no widgets."""

from enum import IntEnum
from gettext import gettext as _
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from wearlog.drawing.setup_words import TextRow
from wearlog.window.rows import take_rows

Index = QModelIndex | QPersistentModelIndex


class Column(IntEnum):
    """Columns of the comparison."""

    NAME = 0
    BEFORE = 1
    AFTER = 2
    CHANGE = 3


class ComparisonModel(QAbstractTableModel):
    """The comparison, one figure per row."""

    GroupRole = Qt.ItemDataRole.UserRole + 1

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._rows: list[TextRow] = []

    def show(self, rows: list[TextRow]) -> None:
        """Replace what is shown, touching only the rows that differ."""
        take_rows(self, self._rows, rows, lambda row: row.key, len(Column))

    def row_at(self, row: int) -> TextRow | None:
        """Return the figure of a row."""
        return self._rows[row] if 0 <= row < len(self._rows) else None

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        """Return the number of rows."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        """Return the number of columns."""
        return 0 if parent.isValid() else len(Column)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return the words of a cell, and whether its row heads a group."""
        row = self.row_at(index.row())
        if row is None:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return (row.name, row.before, row.after, row.change)[index.column()]
        if role == self.GroupRole:
            return row.is_group
        if role == Qt.ItemDataRole.AccessibleTextRole:
            cell = (row.name, row.before, row.after, row.change)[index.column()]
            return cell if index.column() == Column.NAME else f"{row.name}: {cell}"
        if role == Qt.ItemDataRole.TextAlignmentRole and index.column() != Column.NAME:
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the headings."""
        if orientation is not Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return ("", _("before"), _("after"), _("change"))[section]
        if role == Qt.ItemDataRole.TextAlignmentRole and section != Column.NAME:
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        return None
