"""The way between a sheet and the workshop: opening, keeping, looking ahead, saving."""

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from wearlog.fleet.problem import WearlogError
from wearlog.fleet.progress import Progress
from wearlog.window.background import Background
from wearlog.window.service_sheet.desk import Desk, Opened
from wearlog.window.service_sheet.draft_keeper import DraftKeeper
from wearlog.workshop.changes import Changes
from wearlog.workshop.sheet import SheetDraft


class SheetTraffic(QObject):
    """Asks the workshop and brings its answers.

    Signals
    -------
    opened(Opened), not_found(WearlogError)
        The sheet of a vehicle that was asked for, or why there is none.
    read_again(Opened)
        The sheet that is shown, after something changed.
    previewed(int, SheetPreview)
        What the latest draft of a vehicle would mean.
    saved(Changes), refused(WearlogError)
        How saving ended.
    tags_known(tuple)
        Tags with their vehicles.
    """

    opened = Signal(object)
    not_found = Signal(object)
    read_again = Signal(object)
    previewed = Signal(int, object)
    saved = Signal(object)
    refused = Signal(object)
    tags_known = Signal(object)

    def __init__(self, desk: Desk, background: Background, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._background = background
        self._keeper = DraftKeeper(desk, background, self)
        self.wanted_id: int | None = None

    def load_tags(self) -> None:
        """Ask which tags there are."""
        desk = self._desk
        self._background.run(
            lambda _progress: desk.tags(), key="sheet tags", done=self.tags_known.emit, owner=self
        )

    def open(self, vehicle_id: int) -> None:
        """Open the sheet of a vehicle."""
        desk = self._desk
        self.wanted_id = vehicle_id
        self._run_open(lambda _progress: desk.open(vehicle_id))

    def open_tagged(self, tag: str) -> None:
        """Open the sheet of the vehicle with a tag, or of a job card's number."""
        desk = self._desk
        self.wanted_id = None
        self._run_open(lambda _progress: desk.open_named(tag))

    def _run_open(self, work: Callable[[Progress], Opened]) -> None:
        self._background.run(
            work,
            key="sheet open",
            done=self._on_opened,
            failed=self._on_not_found,
            owner=self,
            is_urgent=True,
        )

    def _on_opened(self, opened: Opened) -> None:
        self.wanted_id = None
        self.opened.emit(opened)

    def _on_not_found(self, error: WearlogError) -> None:
        self.wanted_id = None
        self.not_found.emit(error)

    def read_anew(self, vehicle_id: int, planned_number: str = "") -> None:
        """Ask again for the sheet that is shown, with its job card's number."""
        desk = self._desk
        self._background.run(
            lambda _progress: desk.open(vehicle_id, planned_number),
            key="sheet again",
            done=self.read_again.emit,
            owner=self,
        )

    def keep(self, draft: SheetDraft) -> None:
        """Keep a half-filled sheet."""
        self._keeper.keep(draft)

    def keep_now(self, draft: SheetDraft) -> None:
        """Keep a half-filled sheet before this call returns."""
        self._keeper.keep_now(draft)

    def drop(self, vehicle_id: int) -> None:
        """Forget the half-filled sheet of a vehicle."""
        desk = self._desk

        def drop() -> None:
            self._background.run(
                lambda _progress: desk.drop(vehicle_id),
                key=f"sheet drop {vehicle_id}",
                done=lambda _none: None,
            )

        self._keeper.when_quiet(drop)

    def look_ahead(self, draft: SheetDraft) -> None:
        """Ask what a draft would mean; only the latest answer counts."""
        desk = self._desk
        self._background.run(
            lambda _progress: desk.preview(draft),
            key="sheet preview",
            done=lambda preview: self.previewed.emit(draft.vehicle_id, preview),
            owner=self,
        )

    def save(self, draft: SheetDraft, what: str) -> None:
        """Save a sheet, after the last draft of it was kept: an old draft must not come back."""
        desk = self._desk

        def save() -> None:
            self._background.run(
                lambda _progress: desk.save(draft),
                key="sheet save",
                done=self._on_saved,
                failed=self.refused.emit,
                what=what,
                is_urgent=True,
            )

        self._background.stop("sheet preview")
        self._keeper.when_quiet(save)

    def _on_saved(self, changes: Changes) -> None:
        self.saved.emit(changes)
