"""What panning the wear trend costs with a hundred thousand readings; prints a table.

Run with ``python -m tests.benchmarks.bench_chart``. The chart is drawn offscreen by Qt's raster engine at
900 x 520 pixels while it is panned step by step, each frame whole: grid, bands, marks, axes, labels. With
matplotlib at hand (``pip install matplotlib``; the project does not need it) the same readings, bands and
lines are panned there with its Agg engine in the same run.
"""

import importlib.util
import os
import sys
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtWidgets import QApplication

from tests.makers import trend
from wearlog.drawing.palette import palette
from wearlog.drawing.trend_chart import TrendChart
from wearlog.drawing.trend_series import TrendSeries, trend_series
from wearlog.fleet.quantity import ShownUnits

READINGS = 100_000
FRAMES = 240
WIDTH, HEIGHT = 900, 520
#: One frame at 60 frames a second.
FRAME_MS = 1000.0 / 60.0
#: Share of the view that one frame pans, and shares of the whole story that are in sight.
STEP = 0.004
VIEWS = {"whole story": 1.0, "a third": 1.0 / 3.0, "a thirtieth": 1.0 / 30.0}


def main() -> None:
    """Print milliseconds a frame for each view, here and in matplotlib."""
    app = QApplication.instance() or QApplication([])
    series = many_readings()
    say(f"{READINGS} readings, {WIDTH} x {HEIGHT} px, {FRAMES} frames, CPU time of the thread, ms a frame")
    say(f"{'in sight':>14}{'drawn by':>12}{'p50':>8}{'p95':>8}{'worst':>8}   within {FRAME_MS:.1f} ms")
    for name, share in VIEWS.items():
        tell(name, "wearlog", chart_times(series, share))
        if importlib.util.find_spec("matplotlib") is not None:
            tell(name, "matplotlib", matplotlib_times(series, share))
    if importlib.util.find_spec("matplotlib") is None:
        say("matplotlib is not installed; pip install matplotlib to compare")
    del app


def many_readings() -> TrendSeries:
    """Return the trend of a chain read a hundred thousand times, some readings questioned or voided."""
    rng = np.random.default_rng(7)
    plain = trend_series(trend.chain_at(0.85), ShownUnits())
    uses = np.sort(rng.uniform(0.0, 4150.0, READINGS))
    values = uses * 0.00035 + rng.normal(0.0, 0.05, READINGS)
    return replace(
        plain,
        reading_use=uses,
        reading_value=values,
        reading_low=values - 0.1,
        reading_high=values + 0.1,
        is_gauge=rng.random(READINGS) < 0.02,
        is_voided=rng.random(READINGS) < 0.001,
        is_questioned=rng.random(READINGS) < 0.001,
    )


def chart_times(series: TrendSeries, share: float) -> list[float]:
    """Return the milliseconds of each frame while the chart is panned there and back."""
    chart = TrendChart()
    chart.wear_colours(palette("light"))
    chart.resize(WIDTH, HEIGHT)
    chart.show_series(series)
    chart.zoom(share)
    chart.show()
    QApplication.processEvents()

    def frame(step: float) -> None:
        chart.pan(step, 0.0)
        chart.viewport().repaint()

    times = timed(frame)
    chart.hide()
    return times


def matplotlib_times(series: TrendSeries, share: float) -> list[float]:
    """Return the milliseconds of each frame of the same picture in matplotlib."""
    import matplotlib as mpl

    mpl.use("Agg")
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(WIDTH / 100, HEIGHT / 100), dpi=100)
    canvas = FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    use, value = series.curve_use, series.curve_value
    for low, high in ((0, 6), (1, 5), (2, 4)):
        axes.fill_between(use, value[:, low], value[:, high], color="tab:blue", alpha=0.25, linewidth=0)
    axes.plot(use, value[:, 3], color="tab:blue")
    axes.plot(series.reading_use, series.reading_value, "k.", markersize=2)
    axes.axhline(series.limit, color="k")
    axes.axhline(series.plan, color="tab:orange", linestyle="--")
    axes.grid(visible=True)
    (left, right), (low_y, high_y) = series.home_range()
    middle, half = (left + right) / 2, share * (right - left) / 2
    centre, rise = (low_y + high_y) / 2, share * (high_y - low_y) / 2
    axes.set_ylim(centre - rise, centre + rise)
    at = [middle]

    def frame(step: float) -> None:
        at[0] += step * 2 * half
        axes.set_xlim(at[0] - half, at[0] + half)
        canvas.draw()  # type: ignore[no-untyped-call]

    return timed(frame, FRAMES // 4)


def timed(frame: Callable[[float], None], frames: int = FRAMES) -> list[float]:
    """Return the milliseconds of each frame, the first few left out."""
    times = []
    for n in range(frames + 5):
        step = STEP if n % 40 < 20 else -STEP
        start = time.thread_time()
        frame(step)
        if n >= 5:
            times.append(1000.0 * (time.thread_time() - start))
    return times


def tell(view: str, drawer: str, times: list[float]) -> None:
    """Print one line of the table."""
    p50, p95 = np.percentile(times, [50, 95])
    is_within = "yes" if p95 <= FRAME_MS else "no"
    say(f"{view:>14}{drawer:>12}{p50:8.1f}{p95:8.1f}{max(times):8.1f}   {is_within}")


def say(text: str) -> None:
    """Print a line at once."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
