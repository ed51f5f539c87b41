"""What the fleet list shows: depots with their vehicles, narrowed by words and states."""

from collections.abc import Collection
from dataclasses import dataclass
from gettext import gettext as _
from typing import Any

from PySide6.QtCore import QAbstractListModel, QModelIndex, QPersistentModelIndex, Qt, Signal

from wearlog.drawing.words import rule_text
from wearlog.fleet.state import State
from wearlog.window.rows import take_rows
from wearlog.wording import count_text
from wearlog.workshop.fleet_snapshot import FleetRow, FleetSnapshot


@dataclass(frozen=True, slots=True)
class DepotHeading:
    """A depot with the number of its vehicles that are shown."""

    depot: str
    vehicles: int


Entry = DepotHeading | FleetRow


def _key(entry: Entry) -> str | int:
    return entry.depot if isinstance(entry, DepotHeading) else entry.vehicle_id


class FleetModel(QAbstractListModel):
    """The fleet, one line per depot and vehicle.

    Signals
    -------
    narrowed()
        What is shown or counted changed.
    """

    narrowed = Signal()

    #: Role of the `DepotHeading` or `FleetRow` itself.
    EntryRole = int(Qt.ItemDataRole.UserRole) + 1

    def __init__(self) -> None:
        super().__init__()
        self._snapshot: FleetSnapshot | None = None
        self._texts: list[str] = []
        self._entries: list[Entry] = []
        self._rows: dict[int, int] = {}
        self._words: tuple[str, ...] = ()
        self._states: frozenset[State] = frozenset()
        self._with_retired = False
        #: True while lines come and go; the view's current line then moves without anybody choosing.
        self.is_narrowing = False

    # --- what is shown

    @property
    def snapshot(self) -> FleetSnapshot | None:
        """The fleet as it was last read."""
        return self._snapshot

    def show(self, snapshot: FleetSnapshot) -> None:
        """Replace what is shown, touching only the rows that differ."""
        self._snapshot = snapshot
        self._texts = [row.search_text or _search_text(row) for row in snapshot.rows]
        self._narrow()

    def find(self, text: str) -> None:
        """Show only vehicles in whose tag, model, parts or depot all words occur."""
        words = tuple(text.casefold().split())
        if words != self._words:
            self._words = words
            self._narrow()

    def show_states(self, states: Collection[State]) -> None:
        """Show only vehicles in some states; all of them if empty."""
        if frozenset(states) != self._states:
            self._states = frozenset(states)
            self._narrow()

    def show_retired(self, is_wanted: bool) -> None:
        """Show retired vehicles too."""
        if is_wanted != self._with_retired:
            self._with_retired = is_wanted
            self._narrow()

    @property
    def is_narrowed(self) -> bool:
        """Whether words or states leave vehicles out."""
        return bool(self._words or self._states)

    @property
    def vehicles_shown(self) -> int:
        """How many vehicles are shown."""
        return len(self._rows)

    def retired(self) -> int:
        """Return how many vehicles of the fleet are retired."""
        return sum(1 for row in self._snapshot.rows if row.is_retired) if self._snapshot else 0

    def in_service(self) -> int:
        """Return how many vehicles of the fleet are not retired."""
        return len(self._snapshot.rows) - self.retired() if self._snapshot else 0

    def row_of(self, vehicle_id: int | None) -> int | None:
        """Return the row of a vehicle, None if it is not shown."""
        return self._rows.get(vehicle_id) if vehicle_id is not None else None

    def first_vehicle(self) -> int | None:
        """Return the id of the first vehicle shown."""
        return next((e.vehicle_id for e in self._entries if isinstance(e, FleetRow)), None)

    def vehicle_at(self, row: int) -> FleetRow | None:
        """Return the vehicle in a row, None for a heading."""
        entry = self._entries[row] if 0 <= row < len(self._entries) else None
        return entry if isinstance(entry, FleetRow) else None

    # --- Qt's questions

    def rowCount(self, parent: QModelIndex | QPersistentModelIndex = QModelIndex()) -> int:  # noqa: B008
        """Return how many lines there are."""
        return 0 if parent.isValid() else len(self._entries)

    def flags(self, index: QModelIndex | QPersistentModelIndex) -> Qt.ItemFlag:
        """Headings can be neither chosen nor walked to."""
        if not index.isValid():
            return Qt.ItemFlag.NoItemFlags
        if isinstance(self._entries[index.row()], DepotHeading):
            return Qt.ItemFlag.ItemNeverHasChildren
        return Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemNeverHasChildren

    def data(
        self, index: QModelIndex | QPersistentModelIndex, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Return the tag, the words for a screen reader, or the entry itself."""
        if not index.isValid():
            return None
        entry = self._entries[index.row()]
        if role == self.EntryRole:
            return entry
        if role == Qt.ItemDataRole.DisplayRole:
            return entry.depot if isinstance(entry, DepotHeading) else entry.tag
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return _spoken(entry)
        if role == Qt.ItemDataRole.ToolTipRole and isinstance(entry, FleetRow):
            return _tool_tip(entry)
        return None

    # --- inside

    def _narrow(self) -> None:
        self.is_narrowing = True
        take_rows(self, self._entries, self._wanted(), _key)
        self._rows = {e.vehicle_id: n for n, e in enumerate(self._entries) if isinstance(e, FleetRow)}
        self.is_narrowing = False
        self.narrowed.emit()

    def _wanted(self) -> list[Entry]:
        if self._snapshot is None:
            return []
        words, states, with_retired = self._words, self._states, self._with_retired
        rows = [
            row
            for row, text in zip(self._snapshot.rows, self._texts, strict=True)
            if (with_retired or not row.is_retired)
            and (not states or row.state in states)
            and all(word in text for word in words)
        ]
        entries: list[Entry] = []
        start = 0
        for n, row in enumerate(rows):
            if n + 1 == len(rows) or rows[n + 1].depot != row.depot:
                entries.append(DepotHeading(row.depot, n + 1 - start))
                entries.extend(rows[start : n + 1])
                start = n + 1
        return entries


def _search_text(row: FleetRow) -> str:
    parts = (stage.part_text for stage in row.rules)
    return " ".join((row.tag, row.description, row.depot, row.kind.value, *parts)).casefold()


def _spoken(entry: Entry) -> str:
    if isinstance(entry, DepotHeading):
        return f"{entry.depot}, {count_text(entry.vehicles, 'vehicle', 'vehicles')}"
    rules = "; ".join(f"{stage.stage_name} {rule_text(stage.rule)}" for stage in entry.rules)
    retired = _(", retired") if entry.is_retired else ""
    return f"{entry.tag}, {entry.description}{retired}. {rules}"


def _tool_tip(row: FleetRow) -> str:
    lines = [f"{row.tag}  {row.description}"]
    lines += [f"{stage.stage_name}, {stage.part_text}: {rule_text(stage.rule)}" for stage in row.rules]
    return "\n".join(lines)
