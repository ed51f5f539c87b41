"""The fleet at the left: find, walk, choose; what is due at the foot."""

from gettext import gettext as _
from gettext import ngettext

from PySide6.QtCore import QItemSelectionModel, QModelIndex, QPoint, Qt, Signal
from PySide6.QtGui import QKeyEvent, QShortcut
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListView,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from wearlog.fleet.progress import Progress
from wearlog.fleet.state import State
from wearlog.window import theme
from wearlog.window.fleet_list.delegate import FleetDelegate
from wearlog.window.fleet_list.model import FleetModel
from wearlog.window.flow import ElidedLabel, FlowLayout
from wearlog.window.page import hairline
from wearlog.window.session import Session
from wearlog.window.theme import set_role
from wearlog.wording import count_text
from wearlog.workshop.changes import Changes
from wearlog.workshop.fleet_snapshot import FleetSnapshot

#: The list never gets narrower than this, before the text scale, [px].
NARROWEST_PX = 208


class FleetView(QListView):
    """The list itself; letters typed here go to the search.

    Signals
    -------
    text_typed(str)
        A letter that belongs to the search.
    entered()
        Enter on the chosen vehicle.
    """

    text_typed = Signal(str)
    entered = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(_("Fleet"))
        self.setUniformItemSizes(True)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setMouseTracking(True)
        self.setItemDelegate(FleetDelegate(self))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Walk with the arrow keys, enter with Enter, search with letters."""
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            self.entered.emit()
        elif event.text() and event.text().isprintable() and event.text() != " ":
            self.text_typed.emit(event.text())
        else:
            super().keyPressEvent(event)


class _FindField(QLineEdit):
    """The search; arrows lead into the list, Esc clears."""

    left_down = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Down:
            self.left_down.emit()
        elif event.key() == Qt.Key.Key_Escape and self.text():
            self.clear()
        else:
            super().keyPressEvent(event)


class FleetPanel(QWidget):
    """The fleet, always there.

    Signals
    -------
    entered()
        Somebody confirmed the chosen vehicle and wants to go on to the page.
    shown(FleetSnapshot)
        The fleet was read anew.
    """

    entered = Signal()
    shown = Signal(object)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.session = session
        self.model = FleetModel()
        self.setProperty("role", "panel")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setMinimumWidth(theme.scaled(NARROWEST_PX))
        self._make_head()
        self._make_foot()
        self.view = FleetView()
        self.view.setModel(self.model)
        self.nothing = QLabel()
        self.nothing.setWordWrap(True)
        self.nothing.setContentsMargins(24, 16, 24, 16)
        set_role(self.nothing, "muted")
        self.nothing.hide()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 16, 0, 0)
        layout.setSpacing(0)
        layout.addLayout(self._head)
        layout.addSpacing(8)
        layout.addWidget(self.nothing)
        layout.addWidget(self.view, 1)
        layout.addWidget(self._foot)
        self.model.narrowed.connect(self._on_narrowed)
        self.view.selectionModel().currentChanged.connect(self._on_current)
        self.view.text_typed.connect(self._on_text_typed)
        self.view.entered.connect(self.entered)
        self.find_field.textChanged.connect(self.model.find)
        self.find_field.returnPressed.connect(self._on_find_return)
        self.find_field.left_down.connect(self._walk_into_list)
        session.chosen.connect(self._on_chosen)
        session.changed.connect(self._on_changed)
        session.preferences_changed.connect(self._on_preferences)
        key = QShortcut("Ctrl+F", self)
        key.activated.connect(self.focus_find)

    def load(self) -> None:
        """Read the fleet anew."""
        bench = self.session.bench

        def read(progress: Progress) -> FleetSnapshot:
            from wearlog.workshop.judge import fleet_snapshot  # noqa: PLC0415 - numpy and scipy load meanwhile

            return fleet_snapshot(bench, progress)

        def list_all(_progress: Progress) -> FleetSnapshot:
            from wearlog.workshop.judge import fleet_directory  # noqa: PLC0415 - as above

            return fleet_directory(bench)

        if self.model.snapshot is None:
            # The list can be searched while the wear of a large fleet is still being worked out.
            self.session.background.run(
                list_all, key="fleet directory", done=self._show_directory, owner=self, is_urgent=True
            )
        self.session.background.run(
            read, key="fleet", done=self.show_fleet, what=_("Reading the fleet"), owner=self
        )

    def _show_directory(self, directory: FleetSnapshot) -> None:
        """Show who is in the fleet, unless how worn it is is known already."""
        if self.model.snapshot is None and directory.rows:
            self.model.show(directory)

    def show_fleet(self, snapshot: FleetSnapshot) -> None:
        """Show a fleet; the choice and the place in the list stay."""
        top = self.view.indexAt(QPoint(1, 1))
        at_top = self.model.vehicle_at(top.row()) or self.model.vehicle_at(top.row() + 1)
        offset = self.view.visualRect(top).top()
        offset += 0 if self.model.vehicle_at(top.row()) else self.view.visualRect(top).height()
        self.model.show(snapshot)
        row = self.model.row_of(at_top.vehicle_id) if at_top else None
        if row is not None:
            self.view.executeDelayedItemsLayout()
            bar = self.view.verticalScrollBar()
            bar.setValue(bar.value() + self.view.visualRect(self.model.index(row)).top() - offset)
        self.shown.emit(snapshot)

    def focus_find(self) -> None:
        """Go to the search."""
        self.find_field.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.find_field.selectAll()

    def focus_list(self) -> None:
        """Go to the list."""
        self.view.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def step(self, step: int) -> None:
        """Choose the next vehicle down or up the list."""
        row = self.model.row_of(self.session.vehicle_id)
        if row is None:
            wanted = self.model.first_vehicle()
        else:
            row += step
            while 0 <= row < self.model.rowCount() and self.model.vehicle_at(row) is None:
                row += step
            found = self.model.vehicle_at(row)
            wanted = found.vehicle_id if found else None
        if wanted is not None:
            self.session.choose(wanted)

    def set_place_text(self, text: str) -> None:
        """Say whose fleet it is."""
        self._place.show_text(text)

    # --- making

    def _make_head(self) -> None:
        name = QLabel("wearlog")
        set_role(name, "title")
        self._place = ElidedLabel()
        set_role(self._place, "caption")
        self._place.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.find_field = _FindField()
        self.find_field.setAccessibleName(_("Find in the fleet"))
        self.find_field.setPlaceholderText(_("Find a tag, a part, a state …"))
        self.find_field.setToolTip(
            _("Every word has to occur: tag, model, part, depot, notes or state, as in “past limit”.  Ctrl+F")
        )
        self.find_field.setClearButtonEnabled(True)
        titles = QHBoxLayout()
        titles.setContentsMargins(24, 0, 24, 0)
        titles.addWidget(name)
        titles.addWidget(self._place, 1)
        finding = QHBoxLayout()
        finding.setContentsMargins(16, 0, 16, 0)
        finding.addWidget(self.find_field)
        self._head = QVBoxLayout()
        self._head.setSpacing(16)
        self._head.addLayout(titles)
        self._head.addLayout(finding)

    def _make_foot(self) -> None:
        self._foot = QWidget()
        self.counted = QLabel()
        self.counted.setAccessibleName(_("Vehicles in the fleet"))
        set_role(self.counted, "muted")
        # The buttons beside it keep room for the line under a chosen one.
        self.counted.setContentsMargins(0, 0, 0, 2)
        counts = FlowLayout(spacing=16)
        counts.addWidget(self.counted)
        self._state_buttons: dict[State, QPushButton] = {}
        for state in (State.PAST_LIMIT, State.DUE, State.PLAN):
            button = QPushButton()
            button.setCheckable(True)
            set_role(button, "count")
            button.toggled.connect(self._on_states)
            self._state_buttons[state] = button
            counts.addWidget(button)
        self.drafts = QLabel()
        self.drafts.setAccessibleName(_("Half-filled sheets"))
        set_role(self.drafts, "caption")
        self.retired = QCheckBox()
        self.retired.toggled.connect(self.model.show_retired)
        layout = QVBoxLayout(self._foot)
        layout.setContentsMargins(24, 0, 24, 12)
        layout.setSpacing(4)
        layout.addWidget(hairline())
        layout.addSpacing(4)
        layout.addLayout(counts)
        layout.addWidget(self.drafts)
        layout.addWidget(self.retired)

    # --- what happens

    def _on_preferences(self) -> None:
        self.setMinimumWidth(theme.scaled(NARROWEST_PX))
        self.view.doItemsLayout()

    def _on_changed(self, _changes: Changes) -> None:
        self.load()

    def _on_states(self) -> None:
        self.model.show_states([state for state, button in self._state_buttons.items() if button.isChecked()])

    def _on_narrowed(self) -> None:
        snapshot = self.model.snapshot
        if snapshot is None:
            return
        in_service, retired = self.model.in_service(), self.model.retired()
        self.counted.setText(count_text(in_service, "vehicle", "vehicles"))
        words = {State.PAST_LIMIT: _("{n} past limit"), State.DUE: _("{n} due"), State.PLAN: _("{n} to plan")}
        for state, button in self._state_buttons.items():
            n = self.model.count(state)
            button.setText(words[state].format(n=n))
            button.setToolTip(_("Show only these"))
            button.setVisible(n > 0 or button.isChecked())
        n = snapshot.drafts_kept
        self.drafts.setText(
            ngettext("{n} half-filled sheet kept", "{n} half-filled sheets kept", n).format(n=n)
        )
        self.drafts.setVisible(n > 0)
        self.retired.setText(_("Show retired ({n})").format(n=retired))
        self.retired.setVisible(retired > 0)
        is_nothing = self.model.vehicles_shown == 0
        self.nothing.setText(
            _("Nothing matches. Esc in the search clears it.")
            if self.model.is_narrowed
            else _("No vehicle yet.")
        )
        self.nothing.setVisible(is_nothing)
        self._select(self.session.vehicle_id)

    def _on_current(self, current: QModelIndex, _previous: QModelIndex) -> None:
        row = self.model.vehicle_at(current.row())
        if row is not None and not self.model.is_narrowing:
            self.session.choose(row.vehicle_id)

    def _on_chosen(self, vehicle_id: int) -> None:
        self._select(vehicle_id)

    def _select(self, vehicle_id: int | None) -> None:
        row = self.model.row_of(vehicle_id)
        selection = self.view.selectionModel()
        if row is None:
            selection.clear()
        elif row != self.view.currentIndex().row() or not selection.hasSelection():
            selection.setCurrentIndex(self.model.index(row), QItemSelectionModel.SelectionFlag.ClearAndSelect)

    def _on_text_typed(self, text: str) -> None:
        self.find_field.setFocus(Qt.FocusReason.OtherFocusReason)
        self.find_field.setText(text)

    def _walk_into_list(self) -> None:
        self.focus_list()
        first = self.model.first_vehicle()
        if not self.view.currentIndex().isValid() and first is not None:
            self.session.choose(first)

    def _on_find_return(self) -> None:
        first = self.model.first_vehicle()
        if first is None:
            return
        if self.model.row_of(self.session.vehicle_id) is None or self.find_field.text():
            self.session.choose(first)
        self.focus_list()
        self.entered.emit()
