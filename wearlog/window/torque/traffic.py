"""The way between the torque page and the workshop; all of it off the window's thread."""

from collections.abc import Callable
from dataclasses import dataclass
from gettext import gettext as _
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from wearlog.fleet.problem import WearlogError
from wearlog.fleet.progress import Progress
from wearlog.fleet.torque import Fastener, TorqueRecord
from wearlog.window.background import Background
from wearlog.workshop.changes import Changes
from wearlog.workshop.torque_snapshot import TorqueDraft, TorqueSnapshot

if TYPE_CHECKING:
    from wearlog.workshop.bench import Bench


@dataclass(frozen=True, slots=True)
class OpenedTorques:
    """The torque sheet of a vehicle, and what was kept of it."""

    snapshot: TorqueSnapshot
    kept: TorqueDraft | None


class TorqueTraffic(QObject):
    """Asks the workshop and brings its answers.

    Drafts are kept one after the other, and a save waits for the last of them: two workers could otherwise
    finish in the wrong order, and an old draft would come back.

    Signals
    -------
    opened(OpenedTorques)
        The sheet of a vehicle that was asked for.
    saved(Changes)
        Torques were saved.
    changed(Changes)
        The sheet itself was changed: started, a fastener added, changed or taken off, a record voided.
    refused(WearlogError)
        Why something was not done.
    """

    opened = Signal(object)
    saved = Signal(object)
    changed = Signal(object)
    refused = Signal(object)

    def __init__(self, bench: "Bench", background: Background, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._background = background
        self._waiting: TorqueDraft | None = None
        self._is_keeping = False
        self._after: Callable[[], None] | None = None

    def open(self, vehicle_id: int) -> None:
        """Ask for the torque sheet of a vehicle."""
        bench = self._bench

        def read(_progress: Progress) -> OpenedTorques:
            from wearlog.workshop.torque import kept_torques, torque_snapshot  # noqa: PLC0415 - loaded late

            return OpenedTorques(torque_snapshot(bench, vehicle_id), kept_torques(bench, vehicle_id))

        self._background.run(
            read,
            key="torque open",
            done=self.opened.emit,
            failed=self.refused.emit,
            what=_("Opening the torque sheet"),
            owner=self,
            is_urgent=True,
        )

    # --- drafts

    def keep(self, draft: TorqueDraft) -> None:
        """Keep a half-filled sheet."""
        if self._waiting is not None and self._waiting.vehicle_id != draft.vehicle_id:
            self.keep_now(self._waiting)
        self._waiting = draft
        self._keep_next()

    def keep_now(self, draft: TorqueDraft) -> None:
        """Keep a half-filled sheet before this call returns; for when the window closes."""
        from wearlog.workshop.torque import keep_torques  # noqa: PLC0415 - as above

        self._waiting = None
        try:
            keep_torques(self._bench, draft)
        except WearlogError as error:
            self.refused.emit(error)

    def _keep_next(self) -> None:
        draft = self._waiting
        if self._is_keeping or draft is None:
            return
        self._waiting, self._is_keeping = None, True
        bench = self._bench

        def keep(_progress: Progress) -> None:
            from wearlog.workshop.torque import keep_torques  # noqa: PLC0415 - as above

            keep_torques(bench, draft)

        self._background.run(
            keep, key="torque draft", done=lambda _none: self._on_kept(), failed=self._on_not_kept
        )

    def _on_not_kept(self, error: WearlogError) -> None:
        self.refused.emit(error)
        self._on_kept()

    def _on_kept(self) -> None:
        self._is_keeping = False
        after, self._after = self._after, None
        if after is not None:
            after()
        self._keep_next()

    def _when_quiet(self, then: Callable[[], None]) -> None:
        self._waiting = None
        if self._is_keeping:
            self._after = then
        else:
            then()

    # --- saving

    def save(self, draft: TorqueDraft, what: str) -> None:
        """Save what was applied, after the last draft of it was kept."""
        bench = self._bench

        def save(_progress: Progress) -> Changes:
            from wearlog.workshop.torque import save_torques  # noqa: PLC0415 - as above

            return save_torques(bench, draft)

        def run() -> None:
            self._background.run(
                save,
                key="torque save",
                done=self.saved.emit,
                failed=self.refused.emit,
                what=what,
                is_urgent=True,
            )

        self._when_quiet(run)

    def drop(self, vehicle_id: int) -> None:
        """Forget the half-filled sheet of a vehicle."""
        bench = self._bench

        def drop(_progress: Progress) -> None:
            from wearlog.workshop.torque import drop_torques  # noqa: PLC0415 - as above

            drop_torques(bench, vehicle_id)

        def run() -> None:
            self._background.run(drop, key="torque drop", done=lambda _none: None, failed=self.refused.emit)

        self._when_quiet(run)

    # --- the sheet itself

    def start(self, vehicle_id: int, template: str) -> None:
        """Start a torque sheet."""
        bench = self._bench

        def start(_progress: Progress) -> Changes:
            from wearlog.workshop.torque import start_sheet  # noqa: PLC0415 - as above

            return start_sheet(bench, vehicle_id, template)

        self._run_change(start, _("Starting the torque sheet"))

    def keep_fastener(self, fastener: Fastener) -> None:
        """Add or change a fastener."""
        bench = self._bench

        def keep(_progress: Progress) -> Changes:
            from wearlog.workshop.torque_sheets import keep_fastener  # noqa: PLC0415 - as above

            return keep_fastener(bench, fastener)

        self._run_change(keep, _("Saving the fastener"))

    def take_off(self, fastener: Fastener) -> None:
        """Take a fastener off the sheet."""
        bench = self._bench
        reason = _("taken off the sheet")

        def take_off(_progress: Progress) -> Changes:
            from wearlog.workshop.torque_sheets import take_off_fastener  # noqa: PLC0415 - as above

            return take_off_fastener(bench, fastener, reason)

        self._run_change(take_off, _("Taking the fastener off"))

    def void(self, record: TorqueRecord, reason: str) -> None:
        """Let a record no longer count."""
        bench = self._bench

        def void(_progress: Progress) -> Changes:
            from wearlog.workshop.correct import void_record  # noqa: PLC0415 - as above

            return void_record(bench, record, reason)

        self._run_change(void, _("Voiding the torque"))

    def _run_change(self, work: Callable[[Progress], Changes], what: str) -> None:
        self._background.run(
            work, key="torque change", done=self.changed.emit, failed=self.refused.emit, what=what
        )
