"""What the fleet list shows: depots with their vehicles, narrowed by words and states."""

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass
from gettext import gettext as _
from typing import Any

from PySide6.QtCore import QAbstractListModel, QModelIndex, QPersistentModelIndex, Qt, Signal

from wearlog.drawing.words import rule_text, state_text
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

#: Up to so many lines come and go one by one, so that the place in the list stays.
FEW = 200
#: The word that brings retired vehicles into the list.
_RETIRED = _("retired")


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
        self._counts: Counter[State] = Counter()
        self._retired = 0
        self._text = ""
        self._matching: list[int] | None = None
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
        words = {state: state_text(state).casefold() if snapshot.is_judged else "" for state in State}
        self._texts = [_search_text(row, words[row.state]) for row in snapshot.rows]
        self._retired = sum(row.is_retired for row in snapshot.rows)
        self._counts = Counter(row.state for row in snapshot.rows if not row.is_retired)
        self._matching = None
        self._narrow(keep_place=True)

    def find(self, text: str) -> None:
        """Show only vehicles in whose tag, model, parts, depot, notes or state all words occur.

        Retired ones are shown too once they are asked for by that word.
        """
        plain = text.casefold()
        words = tuple(plain.split())
        if words != self._words:
            # Whoever types on leaves out more: only what matched so far can match.
            if not plain.startswith(self._text):
                self._matching = None
            self._words, self._text = words, plain
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
        return self._retired

    def in_service(self) -> int:
        """Return how many vehicles of the fleet are not retired."""
        return len(self._snapshot.rows) - self._retired if self._snapshot else 0

    def count(self, state: State) -> int:
        """Return how many vehicles in service are in a state."""
        return self._counts[state] if self._snapshot is not None and self._snapshot.is_judged else 0

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

    def _narrow(self, *, keep_place: bool = False) -> None:
        wanted = self._wanted()
        self.is_narrowing = True
        if keep_place or abs(len(wanted) - len(self._entries)) <= FEW:
            take_rows(self, self._entries, wanted, _key)
        else:
            # Nobody can follow hundreds of lines that come and go: a new list is drawn at once.
            self.beginResetModel()
            self._entries[:] = wanted
            self.endResetModel()
        self._rows = {e.vehicle_id: n for n, e in enumerate(self._entries) if type(e) is FleetRow}
        self.is_narrowing = False
        self.narrowed.emit()

    def _wanted(self) -> list[Entry]:
        if self._snapshot is None:
            return []
        all_rows, texts, states = self._snapshot.rows, self._texts, self._states
        matching = range(len(texts)) if self._matching is None else self._matching
        for word in self._words:
            matching = [n for n in matching if word in texts[n]]
        self._matching = list(matching)
        asks_for_retired = any(len(word) >= 4 and _RETIRED.startswith(word) for word in self._words)
        rows = [all_rows[n] for n in self._matching]
        if not (self._with_retired or asks_for_retired):
            rows = [row for row in rows if not row.is_retired]
        if states:
            rows = [row for row in rows if row.state in states]
        entries: list[Entry] = []
        start = 0
        for n, row in enumerate(rows):
            if n + 1 == len(rows) or rows[n + 1].depot != row.depot:
                entries.append(DepotHeading(row.depot, n + 1 - start))
                entries.extend(rows[start : n + 1])
                start = n + 1
        return entries


def _search_text(row: FleetRow, state: str) -> str:
    text = row.search_text
    if not text:
        parts = (stage.part_text for stage in row.rules)
        text = " ".join((row.tag, row.description, row.depot, row.kind.value, *parts)).casefold()
    return f"{text} {state} {_RETIRED}" if row.is_retired else f"{text} {state}"


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
