"""Makes the pictures of the pages that README shows: `python -m tests.pictures.make_screenshots`.

The sample fleet, the day of its scenario, one font, Fusion style, 1280 x 800, light and dark, offscreen.
"""

import os
import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"
os.environ["QT_SCALE_FACTOR"] = "1"
os.environ["QT_FONT_DPI"] = "96"

from PySide6.QtCore import QEventLoop, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit

from tests.makers.bench import sample_bench
from wearlog.preferences import Preferences
from wearlog.window import theme
from wearlog.window.bench_keys import put_focus
from wearlog.window.pages import PAGES
from wearlog.window.start import Seat, build_window
from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.torque_sheets import start_sheet, torque_templates

TARGET = Path(__file__).parents[2] / "resources" / "screenshots"
SIZE = (1280, 800)
#: A vehicle with two chain stages, one of them to plan.
TAG = "LR-007"


def wait_for(is_there: Callable[[], bool], most_ms: int = 60_000) -> None:
    """Run the window until something is there."""
    loop = QEventLoop()
    look = QTimer(interval=20)
    look.timeout.connect(lambda: is_there() and loop.quit())
    look.start()
    QTimer.singleShot(most_ms, loop.quit)
    loop.exec()


def rest(seat: Seat) -> None:
    """Wait until the program has answered and the page stands."""
    for _ in range(3):
        done = [False]
        QTimer.singleShot(250, lambda done=done: done.__setitem__(0, True))
        wait_for(lambda done=done: done[0] and not seat.background.is_busy())


def fill_sheet(seat: Seat, bench: Bench) -> None:
    """Type half a sheet, so that the picture shows what stands beside the entries."""
    page = seat.window.current_page()
    vehicle = fleet_state(bench).vehicle_tagged(TAG)
    last = fleet_state(bench).histories[vehicle.id].last
    put_focus(page.head.meter)
    QTest.keyClicks(page.head.meter, f"{last.total_use + 300:.0f}" if last else "100")
    for row in (row for row in page.sheet.rows() if "ELONGATION" in row.key):
        asked = page.model.asked(row.key)
        length = (asked.pitches or 10) * (asked.pitch_mm or 12.7) * 1.009
        roller = asked.roller_diameter_mm or 8.51
        put_focus(row.field)
        QTest.keyClicks(row.field, f"{length - roller:.2f}/{length + roller:.2f}")


def fill_torques(seat: Seat, _bench: Bench) -> None:
    """Type a few torques, one of them out of range."""
    typed = {"Rear axle": "52", "Linkage": "29", "Motor mounts": "25 25 25 25"}
    fields = seat.window.current_page().findChildren(QLineEdit)
    for name, text in typed.items():
        field = next(f for f in fields if name.casefold() in f.accessibleName().casefold())
        field.setFocus()
        QTest.keyClicks(field, text)


def fill_setup(seat: Seat, _bench: Bench) -> None:
    """Plan two teeth more in front, so that the picture compares something."""
    field = next(
        f
        for f in seat.window.current_page().findChildren(QLineEdit)
        if "driver teeth" in f.accessibleName().casefold()
    )
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "19")


#: What is typed on a page before its picture is taken.
FILL: dict[str, Callable[[Seat, Bench], None]] = {
    "sheet": fill_sheet,
    "setup": fill_setup,
    "torque": fill_torques,
}


def main() -> None:
    """Write one picture of each page in light and dark."""
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else TARGET
    target.mkdir(parents=True, exist_ok=True)
    app = QApplication.instance() or QApplication([])
    with tempfile.TemporaryDirectory() as folder:
        for look in ("light", "dark"):
            preferences = replace(Preferences(), theme=look, person="Tilda")
            theme.apply(app, preferences)
            bench = sample_bench(Path(folder) / f"{look}.sqlite")
            start_sheet(bench, fleet_state(bench).vehicle_tagged(TAG).id, torque_templates()[0].key)
            seat = build_window(bench, preferences, place="Larkfell Ranger Service")
            seat.window.resize(*SIZE)
            seat.show()
            rest(seat)
            for page in PAGES:
                # Some pages choose the vehicle of their first line.
                seat.session.choose(fleet_state(bench).vehicle_tagged(TAG).id)
                seat.window.open_page(page.name)
                seat.window.resize(*SIZE)
                rest(seat)
                if page.name in FILL:
                    FILL[page.name](seat, bench)
                    rest(seat)
                seat.window.grab().save(str(target / f"{page.name}-{look}.png"))
            seat.close()
            bench.database.close()


if __name__ == "__main__":
    main()
