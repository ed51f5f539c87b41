"""The way between the settings page and the workshop; all of it off the window's thread."""

from collections.abc import Callable
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from wearlog.fleet.problem import Doubt, WearlogError
from wearlog.fleet.progress import Progress
from wearlog.window.background import Background
from wearlog.workshop import agreements
from wearlog.workshop.agree_snapshot import AgreedSnapshot
from wearlog.workshop.changes import Changes

if TYPE_CHECKING:
    from wearlog.workshop.bench import Bench

Keep = Callable[["Bench"], Changes]
Ask = Callable[["Bench"], tuple[Doubt, ...]]


class SettingsTraffic(QObject):
    """Asks the workshop and brings its answers.

    Signals
    -------
    opened(AgreedSnapshot)
        What is agreed on now.
    refused(WearlogError)
        Why it could not be read, or no back-up be made.
    backed_up(Path)
        Where a copy of the database is.
    """

    opened = Signal(object)
    refused = Signal(object)
    backed_up = Signal(object)

    def __init__(self, bench: "Bench", background: Background, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._background = background

    def load(self) -> None:
        """Read what is agreed on."""
        bench = self._bench

        def read(_progress: Progress) -> AgreedSnapshot:
            return agreements.agreed(bench)

        self._background.run(
            read,
            key="settings",
            done=self.opened.emit,
            failed=self.refused.emit,
            what=_("Reading the settings"),
            owner=self,
        )

    def agree(
        self,
        keep: Keep,
        what: str,
        *,
        ask: Ask | None = None,
        done: Callable[[Changes], None],
        asked: Callable[[tuple[Doubt, ...]], None] | None = None,
        refused: Callable[[WearlogError], None],
    ) -> None:
        """Keep a change unless something about it is odd; then it is asked about and nothing is kept.

        Parameters
        ----------
        keep, ask
            Called on a worker with the bench; `ask` first.
        what
            For the progress strip.
        done, asked, refused
            What to do with the change, with the questions, with the problems.
        """
        bench = self._bench

        def work(_progress: Progress) -> Changes | tuple[Doubt, ...]:
            doubts = ask(bench) if ask is not None else ()
            return doubts or keep(bench)

        def on_done(result: Changes | tuple[Doubt, ...]) -> None:
            if isinstance(result, Changes):
                done(result)
            elif asked is not None:
                asked(result)

        self._background.run(
            work, key="settings change", done=on_done, failed=refused, what=what, is_urgent=True
        )

    def back_up(self, target: Path) -> None:
        """Copy the database to a new file."""
        bench = self._bench

        def copy(_progress: Progress) -> Path:
            return agreements.back_up_database(bench, target)

        self._background.run(
            copy,
            key="back up",
            done=self.backed_up.emit,
            failed=self.refused.emit,
            what=_("Backing up to {file}").format(file=target.name),
        )
