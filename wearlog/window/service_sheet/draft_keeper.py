"""Keeps half-filled sheets in the order in which they were typed, off the window's thread."""

from collections.abc import Callable

from PySide6.QtCore import QObject

from wearlog.fleet.problem import WearlogError
from wearlog.window.background import Background
from wearlog.window.service_sheet.desk import Desk
from wearlog.workshop.sheet import SheetDraft


class DraftKeeper(QObject):
    """Keeps one draft after the other.

    Two workers could otherwise finish in the wrong order, and an old draft would come back after a save.
    """

    def __init__(self, desk: Desk, background: Background, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._background = background
        self._waiting: dict[int, SheetDraft] = {}
        self._is_keeping = False
        self._after: list[Callable[[], None]] = []
        self._is_told = False

    @property
    def is_quiet(self) -> bool:
        """Whether nothing is on its way."""
        return not (self._is_keeping or self._waiting)

    def keep(self, draft: SheetDraft) -> None:
        """Keep a draft; the latest of each vehicle counts."""
        self._waiting[draft.vehicle_id] = draft
        self._next()

    def keep_now(self, draft: SheetDraft) -> None:
        """Keep a draft before this call returns; for when the window closes."""
        self._waiting.pop(draft.vehicle_id, None)
        try:
            self._desk.keep(draft)
        except WearlogError as error:
            self._on_failed(error)

    def when_quiet(self, then: Callable[[], None]) -> None:
        """Go on as soon as nothing is on its way any more; what waits is left out."""
        self._waiting.clear()
        if self._is_keeping:
            self._after.append(then)
        else:
            then()

    def _next(self) -> None:
        if self._is_keeping or not self._waiting:
            return
        draft = self._waiting.pop(next(iter(self._waiting)))
        self._is_keeping = True
        desk = self._desk
        self._background.run(
            lambda _progress: desk.keep(draft),
            key="sheet draft",
            done=self._on_kept,
            failed=self._on_failed,
        )

    def _on_kept(self, _nothing: None) -> None:
        self._is_told = False
        self._go_on()

    def _on_failed(self, error: WearlogError) -> None:
        if not self._is_told:
            # Said once: a full disk would otherwise be told at every key press.
            self._is_told = True
            self._background.problem_left.emit(error)
        self._go_on()

    def _go_on(self) -> None:
        self._is_keeping = False
        after, self._after = self._after, []
        for then in after:
            then()
        self._next()
