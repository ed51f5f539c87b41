"""How long from the start of Python to a usable window: `python -m tests.benchmarks.bench_start [PAIRS]`.

Beside it a bare window that loads the same libraries, module by module, shows itself and paints once. Both
are whole processes, offscreen, taken in turns; told are the medians, and the median of the ratios of the
pairs. Usable is: the sample fleet, learnt before, is listed at the left and the first page is filled.
"""

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.makers.bench import sample_bench
from wearlog.workshop.learn import learned

BARE = """
import importlib, os, sys
for name in sys.argv[1].split():
    try:
        importlib.import_module(name)
    except ImportError:
        pass
from PySide6.QtWidgets import QApplication, QMainWindow
app = QApplication([])
window = QMainWindow()
window.resize(1280, 800)
window.show()
app.processEvents()
os._exit(0)
"""
USABLE = """
import os, sys, time
from pathlib import Path
from PySide6.QtWidgets import QApplication
from wearlog.wording import set_up_translations
set_up_translations()
from wearlog.app import open_bench, sample_day
from wearlog.preferences import Preferences
app = QApplication([])
opened = open_bench(Path(sys.argv[1]), "Tilda")
from wearlog.workshop.bench import Bench, FixedClock
from wearlog.window.start import build_window
bench = Bench(opened.database, "Tilda", FixedClock(sample_day()))
seat = build_window(bench, Preferences(theme="light"))
shown = []
seat.window.fleet.shown.connect(shown.append)
seat.show()
while not (shown and seat.window.current_page().model.snapshot is not None):
    app.processEvents()
    time.sleep(0.001)
app.processEvents()
loaded = [n for n, m in list(sys.modules.items()) if "site-packages" in (getattr(m, "__file__", "") or "")]
print(" ".join(sorted(loaded)), flush=True)
os._exit(0)
"""


def ran(code: str, argument: str) -> tuple[float, str]:
    """Run a whole process; return how long it took, [s], and what it printed."""
    begun = time.perf_counter()
    done = subprocess.run(  # noqa: S603 - our own two programs
        [sys.executable, "-c", code, argument],
        check=True,
        capture_output=True,
        text=True,
    )
    return time.perf_counter() - begun, done.stdout


def main() -> None:
    """Print the medians and the ratio."""
    pairs = int(sys.argv[1]) if len(sys.argv) > 1 else 9
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    with tempfile.TemporaryDirectory() as folder:
        for variable in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_STATE_HOME"):
            os.environ[variable] = folder
        kept, file = Path(folder) / "learnt.sqlite", Path(folder) / "sample.sqlite"
        bench = sample_bench(kept)
        learned(bench)
        bench.database.close()
        shutil.copy(kept, file)
        modules = ran(USABLE, str(file))[1]
        ran(BARE, modules)
        bare, usable = [], []
        for _pair in range(pairs):
            bare.append(ran(BARE, modules)[0])
            usable.append(ran(USABLE, str(file))[0])
    ratios = [whole / alone for alone, whole in zip(bare, usable, strict=True)]
    sys.stdout.write(
        f"bare window {statistics.median(bare):.2f} s, usable window {statistics.median(usable):.2f} s, "
        f"ratio {statistics.median(ratios):.2f} ({min(ratios):.2f} to {max(ratios):.2f}, {pairs} pairs)\n"
    )


if __name__ == "__main__":
    main()
