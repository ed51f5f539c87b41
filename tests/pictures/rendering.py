"""Renders every page offscreen, always alike: one font, one day, one size, nothing that blinks."""

import io
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from PIL import Image
from PySide6.QtCore import QBuffer, QTimer
from PySide6.QtGui import QFont, QFontInfo
from PySide6.QtWidgets import QApplication

from tests.makers.bench import add_motorcycle, empty_bench, sample_bench
from wearlog.preferences import Preferences
from wearlog.window import theme
from wearlog.window.main_window import WELCOME
from wearlog.window.pages import PAGES
from wearlog.window.start import Seat, build_window
from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_state import fleet_state

APPROVED = Path(__file__).parent / "approved"
SIZE = (1280, 800)
FAMILY = "DejaVu Sans"
LOOKS = ("light", "dark")
#: Colours of a kept picture; enough for all that is small and bright, and still a third of the file.
COLOURS = 255
#: A picture that does not come is a fault, [s].
PATIENCE_S = 120.0


def _one(file: Path) -> Bench:
    bench = empty_bench(file)
    add_motorcycle(bench, readings=((600.0, 0.0008), (1800.0, 0.0026), (3200.0, 0.0049)), limit=0.01)
    return bench


#: Each fleet: how it is made, the vehicle that is shown, the pages it has.
EVERY = tuple(entry.name for entry in PAGES)
FLEETS: dict[str, tuple[Callable[[Path], Bench], str, tuple[str, ...]]] = {
    # Without a vehicle every other page is the first steps.
    "empty": (empty_bench, "", (WELCOME, "vehicle")),
    "one": (_one, "LR-001", EVERY),
    # How good a plan of many visits gets in its time depends on the machine.
    "sample": (sample_bench, "LR-007", tuple(name for name in EVERY if name != "plan")),
}


def rendered(fleet: str, look: str, folder: Path) -> Iterator[tuple[str, Image.Image]]:
    """Go through the pages of a fleet in a look: the name of each and its picture."""
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    before = QFont(app.font())
    blinking = app.cursorFlashTime()
    app.setCursorFlashTime(0)
    dress(app, look)
    make, tag, pages = FLEETS[fleet]
    bench = make(folder / f"{fleet}-{look}.sqlite")
    seat = build_window(bench, Preferences(theme=look, person="Tilda"), place="Larkfell Ranger Service")
    seat.window.resize(*SIZE)
    if tag:
        seat.session.vehicle_id = fleet_state(bench).vehicle_tagged(tag).id
    seat.show()
    rest(seat)
    try:
        for name in pages:
            seat.window.open_page(name)
            rest(seat)
            yield f"{name}-{fleet}-{look}", picture(seat)
    finally:
        rest(seat)
        seat.close()
        seat.window.deleteLater()
        bench.database.close()
        app.setFont(before)
        app.setCursorFlashTime(blinking)


def dress(app: QApplication, look: str) -> None:
    """Give the application the look in the font of the pictures."""
    font = QFont(FAMILY)
    # How letters are fitted to pixels is a setting of each machine, and moves whole lines.
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    app.setFont(font)
    found = QFontInfo(app.font()).family()
    assert found == FAMILY, f"the pictures are of {FAMILY}, here is only {found}"
    app.setStyleSheet("")
    theme.apply(app, Preferences(theme=look))


def rest(seat: Seat) -> None:
    """Wait until the program has answered and nothing is about to happen."""
    app, until, quiet = QApplication.instance(), time.monotonic() + PATIENCE_S, 0
    while quiet < 4:
        assert time.monotonic() < until, "the page does not come to rest"
        app.processEvents()
        timers = [t for t in seat.window.findChildren(QTimer) if t.isActive() and t.isSingleShot()]
        is_busy = seat.background.is_busy() or any(t.interval() < 2000 for t in timers)
        quiet = 0 if is_busy else quiet + 1
        if is_busy:
            time.sleep(0.002)


def picture(seat: Seat) -> Image.Image:
    """Return what the window shows."""
    buffer = QBuffer()
    buffer.open(QBuffer.OpenModeFlag.WriteOnly)
    seat.window.grab().toImage().save(buffer, "PNG")
    return Image.open(io.BytesIO(bytes(buffer.data().data()))).convert("RGB")


def keep(image: Image.Image, file: Path) -> None:
    """Write a picture with few colours."""
    file.parent.mkdir(parents=True, exist_ok=True)
    few = image.quantize(COLOURS, method=Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE)
    few.save(file, optimize=True)
