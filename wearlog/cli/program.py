"""What the command line is handed, and its line of progress."""

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from wearlog.fleet.progress import Progress, Silent
from wearlog.preferences import Preferences

if TYPE_CHECKING:
    from wearlog.workshop.bench import Bench

#: Progress that lasts shorter than this is not worth a line, [s].
_QUIET_S = 0.5


@dataclass(slots=True)
class Program:
    """What the command line is handed: how to open a database and the window.

    Attributes
    ----------
    preferences
        Of this seat.
    open_bench
        Opens a database by its address, empty for the default one; whose work it is, and progress.
    open_sample
        Opens a throw-away copy of the sample fleet.
    open_window
        Opens the window on a bench and returns the exit code.
    why_no_window
        Why no window can be opened here, or nothing.
    log_file
        Where faults are written to.
    """

    preferences: Preferences
    open_bench: Callable[[str, str, Progress], "Bench"]
    open_sample: Callable[[str, Progress], "Bench"]
    open_window: Callable[["Bench", Preferences, bool], int]
    why_no_window: Callable[[], str] = lambda: ""
    log_file: str = ""


@dataclass(slots=True)
class Chosen:
    """What was said before the verb."""

    program: Program
    database: str = ""
    is_sample: bool = False
    by: str = ""
    progress: Progress = field(default_factory=Silent)

    def bench(self) -> "Bench":
        """Open what was chosen."""
        if self.is_sample:
            return self.program.open_sample(self.by, self.progress)
        return self.program.open_bench(self.database, self.by, self.progress)


class Line:
    """Progress as one line on a terminal."""

    def __init__(self) -> None:
        self._since = time.monotonic()
        self._shown = 0.0
        self._width = 0

    def step(self, done: int, total: int, what: str) -> None:
        """Show how far the work is."""
        now = time.monotonic()
        if now - self._since < _QUIET_S or now - self._shown < 0.1:
            return
        self._shown = now
        share = min(done / total, 1.0) if total > 0 else 0.0
        filled = round(20 * share)
        text = f"{what} [{'#' * filled}{'.' * (20 - filled)}] {share:4.0%}"
        sys.stderr.write("\r" + text.ljust(self._width))
        sys.stderr.flush()
        self._width = len(text)

    def clear(self) -> None:
        """Leave no line behind."""
        if self._width:
            sys.stderr.write("\r" + " " * self._width + "\r")
            sys.stderr.flush()
            self._width = 0
