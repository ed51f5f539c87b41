"""Puts the program together: the only file that knows everybody."""

import atexit
import ctypes
import getpass
import importlib
import io
import logging
import logging.handlers
import os
import shutil
import sys
import tempfile
import tomllib
from contextlib import suppress
from datetime import UTC, date, datetime
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING

import platformdirs

from wearlog import cli
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.progress import Progress, Silent
from wearlog.preferences import Preferences, default_database, read_preferences
from wearlog.resources import sample_fleet
from wearlog.wording import set_up_translations

if TYPE_CHECKING:
    from wearlog.workshop.bench import Bench


def main() -> None:
    """Start wearlog; the process ends with its exit code."""
    set_up_translations()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    start_log(log_file())
    cli.wearlog.main(prog_name="wearlog", obj=program())


def log_file() -> Path:
    """Return the file that faults are written to."""
    return Path(platformdirs.user_log_dir("wearlog", appauthor=False)) / "wearlog.log"


def start_log(file: Path) -> None:
    """Write faults to a file, made when the first one happens; without one if it can't be written."""
    logger = logging.getLogger("wearlog")
    logger.addHandler(logging.NullHandler())
    with suppress(OSError):
        file.parent.mkdir(parents=True, exist_ok=True)
        handler = logging.handlers.RotatingFileHandler(
            file, maxBytes=500_000, backupCount=2, encoding="utf-8", delay=True
        )
        handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
        logger.addHandler(handler)


def program() -> cli.Program:
    """Return how this program opens databases and its window."""
    preferences = read_preferences()

    def open_bench_here(address: str, by: str, progress: Progress) -> "Bench":
        return open_bench(
            address or preferences.database or default_database(), by or _person(preferences), progress
        )

    def open_sample_here(by: str, progress: Progress) -> "Bench":
        return open_sample(by or _person(preferences), progress)

    return cli.Program(
        preferences, open_bench_here, open_sample_here, open_window, why_no_window, str(log_file())
    )


def _person(preferences: Preferences) -> str:
    if preferences.person:
        return preferences.person
    # A container may have a user without a name.
    with suppress(OSError, KeyError, ImportError):
        return getpass.getuser()
    return ""


def open_bench(address: str | Path, by: str, progress: Progress | None = None) -> "Bench":
    """Open a database, made and filled with the default limits if it is new.

    Parameters
    ----------
    address : str or Path
        The path of a SQLite file, or a URL.
    by : str
        Who works here.
    progress : Progress or None
        Told what is done.

    Raises
    ------
    WearlogError
        If it can't be opened.
    """
    from wearlog.store.database import Database  # noqa: PLC0415 - `--help` needs no database
    from wearlog.workshop.bench import Bench, SystemClock, set_up  # noqa: PLC0415

    (progress or Silent()).step(0, 1, _("Opening the database"))
    clock = SystemClock()
    bench = Bench(Database.open(address, now=clock.now()), by, clock)
    set_up(bench)
    return bench


def close_bench(bench: "Bench") -> None:
    """Back up the database of a bench if something has changed, and close it."""
    from wearlog.workshop.keeping import back_up_if_changed  # noqa: PLC0415 - not needed to start

    try:
        back_up_if_changed(bench)
    except WearlogError as error:
        logging.getLogger("wearlog").warning("No backup when closing: %s", error)
    bench.database.close()


def open_sample(by: str, progress: Progress | None = None) -> "Bench":
    """Open a throw-away copy of the sample fleet on the day it was written for; it is gone at exit."""
    from wearlog.exchange.csv_folder import read_import  # noqa: PLC0415 - `--help` needs none of it
    from wearlog.store.database import Database  # noqa: PLC0415
    from wearlog.workshop.bench import Bench, FixedClock, set_up  # noqa: PLC0415
    from wearlog.workshop.bring_in import bring_in  # noqa: PLC0415

    folder = Path(tempfile.mkdtemp(prefix="wearlog-sample-"))
    database = Database.open(folder / "larkfell.sqlite", now=datetime.now(UTC))

    def throw_away() -> None:
        database.close()
        shutil.rmtree(folder, ignore_errors=True)

    atexit.register(throw_away)
    bench = Bench(database, by, FixedClock(sample_day()))
    set_up(bench)
    bring_in(bench, read_import([sample_fleet()], progress), progress)
    return bench


def sample_day() -> date:
    """Return the day on which the sample fleet is looked at."""
    scenario = tomllib.loads((sample_fleet() / "scenario.toml").read_text(encoding="utf-8"))
    day = scenario["as_of"]
    return day if isinstance(day, date) else date.fromisoformat(day)


# --- the window ------------------------------------------------------------------------------------------


def open_window(bench: "Bench", preferences: Preferences, is_sample: bool) -> int:
    """Open the window on a bench and return the exit code."""
    from wearlog.window import start  # noqa: PLC0415 - Qt is loaded when the window is wanted

    logger = logging.getLogger("wearlog")
    for handler in [h for h in logger.handlers if isinstance(h, logging.FileHandler)]:
        logger.removeHandler(handler)  # the window writes to the same file itself
    openers = start.Openers(
        database=lambda address, progress: open_bench(address, bench.by, progress),
        sample=lambda progress: open_sample(bench.by, progress),
        close=close_bench,
    )
    place = _("Larkfell Ranger Service") if is_sample else Path(bench.database.address).stem
    return start.open_window(bench, preferences, openers, place=place)


def why_no_window() -> str:
    """Return why no window can be opened here, in a sentence; empty if one can."""
    chosen = os.environ.get("QT_QPA_PLATFORM", "")
    display, wayland = os.environ.get("DISPLAY"), os.environ.get("WAYLAND_DISPLAY")
    if sys.platform.startswith("linux") and not (chosen or display or wayland):
        return _("There is no screen here, so the due list is printed instead of opening the window.")
    try:
        importlib.import_module("PySide6.QtWidgets")
    except ImportError as error:
        return _missing(str(error))
    if sys.platform.startswith("linux") and not wayland and chosen in {"", "xcb"}:
        return _why_no_x11()
    return ""


def _missing(reason: str) -> str:
    return _(
        "A system library that the window needs is missing ({reason}); README names them."
        " The due list is printed instead."
    ).format(reason=reason)


def _why_no_x11() -> str:
    """Return why Qt could not show a window on X11; it would end the process instead of saying so."""
    import PySide6  # noqa: PLC0415

    plugin = Path(PySide6.__file__).parent / "Qt" / "plugins" / "platforms" / "libqxcb.so"
    try:
        if plugin.exists():
            ctypes.CDLL(str(plugin))
        xcb = ctypes.CDLL("libxcb.so.1")
    except OSError as error:
        return _missing(str(error))
    xcb.xcb_connect.restype = ctypes.c_void_p
    xcb.xcb_connection_has_error.argtypes = [ctypes.c_void_p]
    xcb.xcb_disconnect.argtypes = [ctypes.c_void_p]
    connection = xcb.xcb_connect(None, None)
    has_failed = bool(xcb.xcb_connection_has_error(connection))
    xcb.xcb_disconnect(connection)
    if has_failed:
        return _(
            "The screen {display} can't be reached, so the due list is printed instead of opening the window."
        ).format(display=os.environ.get("DISPLAY", ""))
    return ""
