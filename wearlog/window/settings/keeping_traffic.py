"""The way between the backups shown and the workshop; all of it off the window's thread."""

from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from wearlog.fleet.progress import Progress
from wearlog.window.background import Background
from wearlog.workshop.keeping_snapshot import KeptBackup, VerifySnapshot

if TYPE_CHECKING:
    from wearlog.workshop.bench import Bench


class KeepingTraffic(QObject):
    """Asks for backups and looks through the database.

    Signals
    -------
    listed(tuple[KeptBackup, ...])
        The backups there are, the newest first.
    verified(VerifySnapshot)
        What a look through the database found.
    refused(WearlogError)
        Why something could not be done.
    """

    listed = Signal(object)
    verified = Signal(object)
    refused = Signal(object)

    def __init__(self, bench: "Bench", background: Background, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._background = background

    def load(self) -> None:
        """Look which backups there are."""
        bench = self._bench

        def look(_progress: Progress) -> tuple[KeptBackup, ...]:
            from wearlog.workshop.keeping import kept_backups  # noqa: PLC0415 - when first needed

            return kept_backups(bench)

        self._background.run(look, key="backups", done=self.listed.emit, failed=self.refused.emit, owner=self)

    def back_up(self) -> None:
        """Make one more of the backups that are kept by age."""
        bench = self._bench

        def copy(progress: Progress) -> Path | None:
            from wearlog.workshop.keeping import back_up_now  # noqa: PLC0415 - when first needed

            return back_up_now(bench, progress)

        self._background.run(
            copy,
            key="one more backup",
            done=lambda _path: self.load(),
            failed=self.refused.emit,
            what=_("Backing up"),
            owner=self,
        )

    def verify(self) -> None:
        """Look through the whole database for what cannot be right."""
        bench = self._bench

        def look(progress: Progress) -> VerifySnapshot:
            from wearlog.workshop.keeping import verify  # noqa: PLC0415 - when first needed

            return verify(bench, progress)

        self._background.run(
            look,
            key="verify",
            done=self.verified.emit,
            failed=self.refused.emit,
            what=_("Looking through the database"),
            owner=self,
        )
