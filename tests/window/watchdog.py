"""Watches how long the window's thread is busy at a stretch, in processor time of that thread alone.

A timer of the event loop ticks as often as it can. Between two ticks the loop has dealt with what waited;
no key is answered meanwhile. Processor time, not the clock, is counted: what another program, or a worker of
ours on another core, takes fails nobody. What the thread waits for without working is not seen.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass, field

from PySide6.QtCore import QEventLoop, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from wearlog.fleet.vehicle import Vehicle
from wearlog.window.bench_keys import put_focus
from wearlog.window.pages import PAGES
from wearlog.window.start import Seat
from wearlog.workshop.fleet_state import fleet_state

TICK_MS = 2
#: So many times the program has to be found idle before the next thing is done.
IDLE_TICKS = 5
CONTROL = Qt.KeyboardModifier.ControlModifier
ALT = Qt.KeyboardModifier.AltModifier


@dataclass
class Watchdog:
    """Does one thing after the other in the running event loop and notes the longest busy stretch of each.

    Attributes
    ----------
    longest_ms
        For each thing that was done: processor time of the window's thread between two ticks, [ms].
    """

    seat: Seat
    longest_ms: dict[str, float] = field(default_factory=dict)

    def watch(self, what: str, action: Callable[[], object]) -> None:
        """Do something from within the event loop and watch until the program is idle again."""
        loop, tick = QEventLoop(), QTimer()
        tick.setInterval(TICK_MS)
        tick.setTimerType(Qt.TimerType.PreciseTimer)
        last, idle, longest, has_begun = time.thread_time(), 0, 0.0, False

        def on_tick() -> None:
            nonlocal last, idle, longest, has_begun
            now = time.thread_time()
            longest, last = max(longest, now - last), now
            if not has_begun:
                has_begun = True
                action()
                return
            idle = 0 if self._is_busy() else idle + 1
            if idle >= IDLE_TICKS:
                loop.quit()
            # The look at the program is ours, not the window's.
            last = time.thread_time() if now == last else last

        tick.timeout.connect(on_tick)
        tick.start()
        loop.exec()
        tick.stop()
        self.longest_ms[what] = max(self.longest_ms.get(what, 0.0), 1000.0 * longest)

    def _is_busy(self) -> bool:
        page = self.seat.window.current_page()
        pause = getattr(page, "_pause", None)
        return self.seat.background.is_busy() or (isinstance(pause, QTimer) and pause.isActive())

    def press(self, what: str, key: Qt.Key, modifiers: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier):
        """Press a key where the focus is."""
        self.watch(what, lambda: QTest.keyClick(self._at(), key, modifiers))

    def type(self, what: str, text: str) -> None:
        """Type letter by letter; each is waited for by itself."""
        for letter in text:
            self.watch(what, lambda letter=letter: QTest.keyClicks(self._at(), letter))

    def _at(self) -> QWidget:
        return QApplication.focusWidget() or self.seat.window


def walk_through(dog: Watchdog) -> None:
    """Open every page, go to other vehicles on each, search the fleet, save a sheet and undo it."""
    seat = dog.seat
    window = seat.window
    # What has to be loaded before there is a window is the start; bench_start measures that.
    PAGES[0].make.load()
    dog.watch("show the window and read the fleet", seat.show)
    window.activateWindow()
    vehicle = some_motorcycle(seat)
    for entry in PAGES:
        name = entry.name
        dog.watch(f"open {name}", lambda name=name: window.open_page(name))
        dog.watch(f"choose a vehicle on {name}", lambda: seat.session.choose(vehicle.id))
        dog.watch(f"next vehicle on {name}", lambda: window.fleet.step(1))
        dog.watch(f"previous vehicle on {name}", lambda: window.fleet.step(-1))
        dog.watch(f"help on {name}", window.turn_help)
        dog.watch(f"close help on {name}", lambda: window.help.leave())  # noqa: PLW0108 - made when first asked for
    dog.watch("go to the search", window.fleet.focus_find)
    dog.type("search the fleet", "lr-01 plan")
    dog.watch("end the search", window.fleet.find_field.clear)
    save_a_sheet(dog, vehicle)
    dog.watch("undo", window.quiet.undo)
    dog.watch("open due", lambda: window.open_page("due"))


def some_motorcycle(seat: Seat) -> Vehicle:
    """Return a patrol motorcycle from the middle of the fleet."""
    vehicles = list(fleet_state(seat.session.bench).vehicles.values())
    return next(v for v in vehicles[len(vehicles) // 2 :] if v.tag.startswith("LR") and v.retired_on is None)


def save_a_sheet(dog: Watchdog, vehicle: Vehicle) -> None:
    """Fill in the meter and every chain of a vehicle, and save."""
    window, bench = dog.seat.window, dog.seat.session.bench
    dog.watch("open sheet", lambda: window.open_page("sheet"))
    page = window.current_page()
    put_focus(page.head.tag)
    page.head.tag.selectAll()
    dog.type("type a tag", vehicle.tag)
    dog.press("open the sheet of a tag", Qt.Key.Key_Return)
    window.activateWindow()
    last = fleet_state(bench).histories[vehicle.id].last
    put_focus(page.head.meter)
    dog.type("type the meter", f"{last.total_use + 3:.0f}")
    for row in [row for row in page.sheet.rows() if "ELONGATION" in row.key]:
        asked = page.model.asked(row.key)
        length = (asked.pitches or 10) * (asked.pitch_mm or 12.7) * 1.006
        roller = asked.roller_diameter_mm or 8.51
        put_focus(row.field)
        dog.type("type a reading", f"{length - roller:.2f}/{length + roller:.2f}")
    dog.press("save the sheet", Qt.Key.Key_Return, CONTROL)
