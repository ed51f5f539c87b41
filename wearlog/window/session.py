"""What the pages share: the bench, the chosen vehicle, and word of every change."""

from gettext import gettext as _
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from wearlog.fleet.problem import WearlogError
from wearlog.fleet.progress import Progress
from wearlog.fleet.quantity import ShownUnits
from wearlog.preferences import Preferences
from wearlog.window.background import Background
from wearlog.window.messages import Messages
from wearlog.workshop.changes import Changes
from wearlog.workshop.keeping_snapshot import KeptBackup

if TYPE_CHECKING:
    from wearlog.workshop.bench import Bench

#: How often the other seats' changes are looked for, [ms].
WATCH_EVERY_MS = 4000


class Session(QObject):
    """What the pages share.

    Attributes
    ----------
    bench, background, messages
        An open store, a person and a clock; the workers; the way to the person.
    preferences
        Of this seat; replaced through `set_preferences`.
    vehicle_id
        The chosen vehicle, or None.

    Signals
    -------
    chosen(int)
        Another vehicle was chosen.
    changed(Changes)
        Something was saved, here or at another seat.
    answered()
        The database was asked for its version and answered; what waits for that may be tried again.
    preferences_changed()
        Units, text size or theme are others now.
    page_wanted(str)
        A page's name: the window goes there.
    database_wanted()
        Another database is to be chosen and opened.
    restore_wanted(KeptBackup)
        A backup is to be put in the place of this database.
    """

    chosen = Signal(int)
    changed = Signal(object)
    answered = Signal()
    preferences_changed = Signal()
    page_wanted = Signal(str)
    database_wanted = Signal()
    restore_wanted = Signal(object)

    def __init__(
        self,
        bench: "Bench",
        preferences: Preferences,
        background: Background,
        messages: Messages,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self.bench = bench
        self.preferences = preferences
        self.background = background
        self.messages = messages
        self.vehicle_id: int | None = None
        self._known_version: int | None = None
        self._is_lost = False
        self._watch = QTimer(self)
        self._watch.setInterval(WATCH_EVERY_MS)
        self._watch.timeout.connect(self.look_for_changes)
        background.problem_left.connect(self._on_problem_left)
        background.broke.connect(self._on_broke)

    @property
    def shown_units(self) -> ShownUnits:
        """The units that this seat reads in."""
        return self.preferences.units

    def choose(self, vehicle_id: int) -> None:
        """Choose a vehicle; pages that show one follow."""
        if vehicle_id != self.vehicle_id:
            self.vehicle_id = vehicle_id
            self.chosen.emit(vehicle_id)

    def want_page(self, name: str) -> None:
        """Go to a page."""
        self.page_wanted.emit(name)

    def want_database(self) -> None:
        """Let another database be chosen."""
        self.database_wanted.emit()

    def want_restore(self, backup: KeptBackup) -> None:
        """Let a backup be put in the place of this database."""
        self.restore_wanted.emit(backup)

    def set_preferences(self, preferences: Preferences) -> None:
        """Replace the preferences of this seat."""
        if preferences != self.preferences:
            self.preferences = preferences
            self.preferences_changed.emit()

    def tell_change(self, changes: Changes) -> None:
        """Tell everybody what was saved, with a way back where there is one.

        The data version is read first: what the pages then load is at least as new, so that a change of
        another seat that slips in between is seen at the next look.
        """
        self.messages.said(changes.what, (lambda: self.undo(changes)) if changes.can_undo else None)

        def on_version(version: int) -> None:
            self._known_version = version
            self.changed.emit(changes)

        def on_failed(error: WearlogError) -> None:
            self.changed.emit(changes)
            self.messages.problem(error)

        bench = self.bench
        self.background.run(
            lambda _progress: bench.data_version(),
            key=f"version after {changes.change_id}",
            done=on_version,
            failed=on_failed,
            owner=self,
            is_urgent=True,
        )

    def undo(self, changes: Changes) -> None:
        """Take back what was saved."""
        bench = self.bench

        def take_back(_progress: Progress) -> Changes:
            from wearlog.workshop.undo import undo  # noqa: PLC0415 - the store is loaded when first needed

            return undo(bench, changes)

        self.background.run(
            take_back, key=f"undo {changes.change_id}", done=self.tell_change, what=_("Undoing"), owner=self
        )

    def watch(self) -> None:
        """Look for the changes of other seats from now on."""
        self.look_for_changes()
        self._watch.start()

    def stop_watching(self) -> None:
        """Look no more."""
        self._watch.stop()

    def look_for_changes(self) -> None:
        """Ask the data version; tell the pages if another seat changed something."""
        bench = self.bench
        self.background.run(
            lambda _progress: bench.data_version(),
            key="data version",
            done=self._on_version,
            failed=self._on_lost,
            owner=self,
        )

    def _on_problem_left(self, error: WearlogError) -> None:
        self.messages.problem(error)

    def _on_broke(self, error: Exception) -> None:
        self.messages.bug(error)

    def _on_lost(self, error: WearlogError) -> None:
        # Said once, not every few seconds.
        if not self._is_lost:
            self._is_lost = True
            self.messages.problem(error)

    def _on_version(self, version: int) -> None:
        self._is_lost = False
        is_other = self._known_version is not None and version > self._known_version
        self._known_version = max(version, self._known_version or 0)
        self.answered.emit()
        if is_other:
            self.changed.emit(Changes(_("Changed at another seat"), "", can_undo=False))
