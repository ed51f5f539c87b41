"""Opens the window on a bench and runs it until it is closed."""

import logging
import logging.handlers
import sys
from collections.abc import Callable
from dataclasses import dataclass
from gettext import gettext as _
from pathlib import Path

import platformdirs
from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QApplication, QFileDialog

from wearlog.fleet.problem import WearlogError
from wearlog.fleet.progress import Progress
from wearlog.preferences import Preferences, write_preferences
from wearlog.window import theme
from wearlog.window.background import Background
from wearlog.window.main_window import MainWindow
from wearlog.window.messages import BugCatcher, Messages
from wearlog.window.session import Session
from wearlog.workshop.bench import Bench
from wearlog.workshop.keeping_snapshot import KeptBackup

#: The first backup waits until the fleet is on screen, [ms].
BACK_UP_AFTER_MS = 20_000
#: How often a restoring looks whether the workers are free, [ms].
BUSY_LOOK_MS = 50


@dataclass(frozen=True, slots=True)
class Openers:
    """How another database is opened; called on a worker.

    Attributes
    ----------
    database
        Opens a database by its address.
    sample
        Opens a throw-away copy of the sample fleet.
    close
        Closes a bench that is no longer shown.
    """

    database: Callable[[str, Progress], Bench]
    sample: Callable[[Progress], Bench]
    close: Callable[[Bench], None]


def log_file() -> Path:
    """Return the file to which bugs are written."""
    return Path(platformdirs.user_log_dir("wearlog", appauthor=False)) / "wearlog.log"


def start_log(file: Path) -> None:
    """Write warnings and bugs to a file that can't grow without end."""
    file.parent.mkdir(parents=True, exist_ok=True)
    handler = logging.handlers.RotatingFileHandler(file, maxBytes=500_000, backupCount=2, encoding="utf-8")
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    logger = logging.getLogger("wearlog")
    logger.addHandler(handler)
    logger.setLevel(logging.WARNING)


class Seat(QObject):
    """The window with everything behind it; another database replaces the window."""

    def __init__(
        self,
        bench: Bench,
        preferences: Preferences,
        openers: Openers | None = None,
        *,
        place: str = "",
        keep_preferences: Callable[[Preferences], None] | None = None,
    ) -> None:
        super().__init__()
        self._openers = openers
        self._keep = keep_preferences
        self.messages = Messages(self)
        self.background = Background(self)
        self.window = self._make_window(bench, preferences, place)
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(BACK_UP_AFTER_MS)
        self._soon.timeout.connect(self.back_up_if_due)

    @property
    def session(self) -> Session:
        """What the pages of the present window share."""
        return self.window.session

    def show(self) -> None:
        """Show the window and begin to work."""
        self.window.show()
        self.window.start()
        self._soon.start()

    def close(self) -> None:
        """Close the window, join the workers and keep the preferences."""
        self.window.close()
        self.finish()

    def finish(self) -> None:
        """Join the workers once the window is closed."""
        self._soon.stop()
        self.background.close()

    def _make_window(self, bench: Bench, preferences: Preferences, place: str) -> MainWindow:
        session = Session(bench, preferences, self.background, self.messages, self)
        session.preferences_changed.connect(lambda: self._keep and self._keep(session.preferences))
        window = MainWindow(session, place=place, log_file=str(log_file()))
        session.restore_wanted.connect(self._ask_restore)
        window.database_wanted.connect(self._choose_database)
        window.sample_wanted.connect(self._open_sample)
        return window

    def _choose_database(self) -> None:
        name, _kind = QFileDialog.getOpenFileName(
            self.window, _("Open database"), "", _("wearlog databases (*.sqlite);;All files (*)")
        )
        if name:
            self.open_database(name)

    def open_database(self, address: str) -> None:
        """Open another database in place of this one."""
        openers = self._openers
        if openers is not None:
            self.background.run(
                lambda progress: openers.database(address, progress),
                key="open",
                done=lambda bench: self._replace(bench, Path(address).stem),
                what=_("Opening the database"),
                owner=self,
            )

    def back_up_if_due(self) -> None:
        """Make a backup if the newest is older than a day and something has changed since."""
        bench = self.session.bench

        def copy(progress: Progress) -> Path | None:
            from wearlog.workshop.keeping import back_up_if_due  # noqa: PLC0415 - not needed to start

            return back_up_if_due(bench, progress)

        self.background.run(copy, key="daily backup", done=lambda _path: None, owner=self)

    def _ask_restore(self, backup: KeptBackup) -> None:
        question = _("Put back the backup of {when}?").format(when=f"{backup.at.astimezone():%Y-%m-%d %H:%M}")
        detail = _(
            "What was entered since then is no longer shown. The present database is kept aside beside it,"
            " under a dated name. Nobody else may have it open."
        )
        if self.messages.ask(self.window, question, detail, _("Put it back")):
            self.restore(backup)

    def restore(self, backup: KeptBackup) -> None:
        """Put a backup in the place of the open database, and open it.

        Begins when nothing else is on its way: whatever reads has the file open.
        """
        openers = self._openers
        if openers is None:
            return
        self.session.stop_watching()
        self.window.setEnabled(False)
        if self.background.is_busy():
            wait = QTimer(self)
            wait.setInterval(BUSY_LOOK_MS)
            wait.timeout.connect(lambda: self._restore_if_free(wait, openers, backup))
            wait.start()
        else:
            self._restore(openers, backup)

    def _restore_if_free(self, wait: QTimer, openers: Openers, backup: KeptBackup) -> None:
        if not self.background.is_busy():
            wait.stop()
            wait.deleteLater()
            self._restore(openers, backup)

    def _restore(self, openers: Openers, backup: KeptBackup) -> None:
        former = self.session.bench
        address = former.database.address

        def work(progress: Progress) -> Bench:
            from wearlog.workshop.keeping import restore_database  # noqa: PLC0415 - not needed to start

            openers.close(former)
            restore_database(address, backup.path, former.now(), progress)
            return openers.database(address, progress)

        def failed(error: WearlogError) -> None:
            # The former database connects again by itself.
            self.window.setEnabled(True)
            self.session.watch()
            self.messages.problem(error)

        self.background.run(
            work,
            key="open",
            done=lambda bench: self._replace(bench, Path(address).stem),
            failed=failed,
            what=_("Putting the backup back"),
            owner=self,
        )

    def _open_sample(self) -> None:
        openers = self._openers
        if openers is not None:
            self.background.run(
                openers.sample,
                key="open",
                done=lambda bench: self._replace(bench, _("Larkfell Ranger Service")),
                what=_("Opening the sample fleet"),
                owner=self,
            )

    def _replace(self, bench: Bench, place: str) -> None:
        old, preferences = self.window, self.session.preferences
        former = old.session.bench
        self.window = self._make_window(bench, preferences, place)
        self.window.restoreGeometry(old.saveGeometry())
        self.show()
        old.session.stop_watching()
        old.close()
        old.session.deleteLater()
        old.deleteLater()
        openers = self._openers
        if openers is not None:
            self.background.run(
                lambda _progress: openers.close(former), key="close", done=lambda _nothing: None
            )


def build_window(
    bench: Bench,
    preferences: Preferences,
    openers: Openers | None = None,
    *,
    place: str = "",
    keep_preferences: Callable[[Preferences], None] | None = None,
) -> Seat:
    """Return the window with its look applied, not yet shown; the application has to exist."""
    app = QApplication.instance()
    if isinstance(app, QApplication):
        theme.apply(app, preferences)
    return Seat(bench, preferences, openers, place=place, keep_preferences=keep_preferences)


def open_window(
    bench: Bench, preferences: Preferences, openers: Openers | None = None, *, place: str = ""
) -> int:
    """Open the window, run it until it is closed, and return the exit code.

    Parameters
    ----------
    bench : Bench
        An open store, a person, a clock.
    preferences : Preferences
        Of this seat; kept when they change.
    openers : Openers or None
        How another database is opened; without, the menu entries do nothing.
    place : str
        Whose fleet it is, for the title.
    """
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)  # noqa: S101 - nothing else makes one
    app.setApplicationName("wearlog")
    app.setApplicationDisplayName("wearlog")
    start_log(log_file())
    seat = build_window(bench, preferences, openers, place=place, keep_preferences=write_preferences)
    theme.follow_system(app, lambda: seat.session.preferences)
    catcher = BugCatcher(seat.messages)
    catcher.install()
    seat.show()
    try:
        return app.exec()
    finally:
        seat.finish()
        catcher.remove()
        if openers is not None:
            openers.close(seat.session.bench)
