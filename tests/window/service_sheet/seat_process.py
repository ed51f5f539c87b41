"""A seat in a process of its own: opens the window on a database and types half a sheet, or looks at it.

Run as ``python -m tests.window.service_sheet.seat_process DATABASE type|look``; writes one line of JSON and
then waits to be ended.
"""

import json
import sys
from datetime import UTC, datetime
from time import monotonic

from PySide6.QtCore import QCoreApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit

from tests.makers.bench import TODAY
from wearlog.preferences import Preferences
from wearlog.store.database import Database
from wearlog.window import theme
from wearlog.window.bench_keys import put_focus
from wearlog.window.start import build_window
from wearlog.workshop.bench import Bench, FixedClock
from wearlog.workshop.fleet_state import fleet_state

METER, READ, SLACK = "5025", "254.9 255.1", "3"
ELONGATION = "428 chain, 116 links: elongation"
#: How long anything may take on a busy machine, [s].
PATIENCE_S = 120.0


def wait_until(is_so) -> None:
    """Let the window work until something is so."""
    last = monotonic() + PATIENCE_S
    while not is_so():
        if monotonic() > last:
            sys.exit("waited in vain")
        QCoreApplication.processEvents()


def field(page, name: str) -> QLineEdit:
    """Return the field of a name."""
    return next(line for line in page.findChildren(QLineEdit) if line.accessibleName() == name)


def type_half_a_sheet(page) -> None:
    """Type as a hand does, and stop in the middle."""
    for name, text in (("Meter", METER), (ELONGATION, READ), ("slack", SLACK)):
        where = field(page, name)
        put_focus(where)
        for letter in text:
            # The sheet may be laid out anew between two letters; the hand goes on where the focus is.
            QTest.keyClicks(QApplication.focusWidget() or where, letter)
            QCoreApplication.processEvents()


def main(database: str, work: str) -> None:
    """Open the window and do what is asked for."""
    app = QApplication([])
    preferences = Preferences(theme="light", person="Tilda")
    theme.apply(app, preferences)
    bench = Bench(Database.open(database, now=datetime.now(UTC)), "Tilda", FixedClock(TODAY))
    seat = build_window(bench, preferences, place="")
    seat.show()
    seat.window.activateWindow()
    seat.session.choose(fleet_state(bench).vehicle_tagged("LR-001").id)
    seat.window.open_page("sheet")
    page = seat.window.current_page()
    wait_until(lambda: page.model.snapshot is not None and not seat.background.is_busy())
    if work != "look":
        type_half_a_sheet(page)
    if work == "type":
        wait_until(lambda: not page._pause.isActive() and not seat.background.is_busy())
    told = {name: field(page, name).text() for name in ("Meter", ELONGATION, "slack")}
    sys.stdout.write(json.dumps(told | {"note": page.sheet.note.text}) + "\n")
    sys.stdout.flush()
    # Whoever started it ends it.
    wait_until(lambda: False)


if __name__ == "__main__":
    main(*sys.argv[1:])
