"""What forecasts cost, from three hundred installations to thirty thousand; prints a table.

Run with ``python -m tests.benchmarks.bench_forecast``. A loop of least-squares lines and, with statsmodels at
hand, a linear mixed model are timed on the same readings in the same run, with the error of each.
"""

import importlib.util
import resource
import sys
import time
import warnings
from collections.abc import Callable
from typing import TypeVar

import numpy as np
from scipy.optimize import OptimizeWarning, curve_fit

from tests.forecast.worlds import SHOP_PRIOR, Fleet, fleet
from wearlog.fleet.progress import Silent
from wearlog.forecast.backtest import quick_backtest
from wearlog.forecast.crossing import crossing_quantiles, equally_likely_crossings
from wearlog.forecast.date_table import date_distributions
from wearlog.forecast.family import FamilyFit, chosen_shape, fit_family, refresh_family, update_part
from wearlog.forecast.shape import STRAIGHT
from wearlog.forecast.suspect import suspect_probability
from wearlog.forecast.usage import Usage

SIZES = (300, 1000, 3000, 10_000, 30_000)
SMALL = (10, 20, 40, 60, 120, 250)
T = TypeVar("T")


def main() -> None:
    """Print times of one fleet size after the other, then of the parts of the work, then side by side."""
    say("Full refit with theta and spreads, 8 readings each, 12 % gauges")
    say(
        f"{'installations':>15}{'refit s':>10}{'us each':>10}{'refresh s':>11}{'vehicles s':>12}{'path s':>9}"
    )
    times = []
    fit_one = made = None
    for n in SIZES:
        made = fleet(np.random.default_rng(5), n, readings=(8, 8))
        own = fleet(np.random.default_rng(5), n, readings=(8, 8), n_vehicles=n // 5, tau_vehicle=0.25)
        seconds, fit_one = timed(lambda data=made.data: fit_family(data, SHOP_PRIOR, shape=STRAIGHT))
        again, _ = timed(lambda data=made.data, fit=fit_one: refresh_family(fit, data))
        vehicles, _ = timed(lambda data=own.data: fit_family(data, SHOP_PRIOR, shape=STRAIGHT))
        path, _ = timed(lambda data=made.data: chosen_shape(data, SHOP_PRIOR, Silent()))
        times.append(seconds)
        each = 1e6 * seconds / n
        say(f"{n:15d}{seconds:10.2f}{each:10.0f}{again:11.2f}{vehicles:12.2f}{path:9.2f}")
    slope = np.polyfit(np.log(SIZES), np.log(times), 1)[0]
    say(f"slope of ln time over ln installations, {SIZES[0]} to {SIZES[-1]}: {slope:.2f}")
    if fit_one is not None and made is not None:
        tell_parts(made, fit_one)
    say(f"greatest memory so far: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
    tell_small()
    tell_rivals()


def tell_parts(made: Fleet, fit: FamilyFit) -> None:
    """Print what the questions after a fit cost, all parts at once."""
    n = len(made.data.readings)
    say(f"\nQuestions to the fit of {n} parts")
    row = made.data.readings.take([3])
    one, _ = timed(lambda: [update_part(fit, row, part=3) for _ in range(100)])
    say(f"{'one part after a new reading':45}{10 * one:9.2f} ms")
    seven, _ = timed(lambda: crossing_quantiles(fit.posterior))
    say(f"{'seven quantiles of the distance at the limit':45}{seven:9.2f} s")
    fifty, likely = timed(lambda: equally_likely_crossings(fit.posterior))
    say(f"{'fifty equally likely distances':45}{fifty:9.2f} s")
    rng = np.random.default_rng(1)
    uses = [
        Usage(a, a / v, 200.0, 0.001)
        for a, v in zip(rng.uniform(2, 30, n), rng.uniform(5, 60, n), strict=True)
    ]
    ahead = 1000.0 * (likely - fit.posterior.x_last[:, None])
    dates, table = timed(lambda: date_distributions(ahead, uses))
    say(f"{'dates from them':45}{dates:9.2f} s")
    days, _ = timed(lambda: table.days_at([0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95]))
    say(f"{'seven quantiles of the date':45}{days:9.2f} s")
    third = np.arange(0, n, 3)
    few = made.data.readings.take(third)
    prior = fit.rate_prior(third)
    suspect, _ = timed(lambda: suspect_probability(few, prior, fit.law))
    say(f"{f'chance of each of {8 * third.size} readings to be wrong':45}{suspect:9.2f} s")
    record, _ = timed(lambda: quick_backtest(fit, made.data))
    say(f"{'every reading predicted again':45}{record:9.2f} s")


def tell_small() -> None:
    """Print what small families cost."""
    say(f"\nSmall families\n{'parts':>8}{'refit ms':>10}{'path ms':>10}")
    for n in SMALL:
        data = fleet(np.random.default_rng(n), n, readings=(3, 9)).data
        seconds, _ = timed(lambda one=data: fit_family(one, SHOP_PRIOR, shape=STRAIGHT), times=3)
        path, _ = timed(lambda one=data: chosen_shape(one, SHOP_PRIOR, Silent()), times=3)
        say(f"{n:8d}{1e3 * seconds:10.0f}{1e3 * path:10.0f}")


def tell_rivals() -> None:
    """Print time and error of ln rate beside a linear mixed model and a loop of least-squares lines."""
    n = 2000
    made = fleet(np.random.default_rng(8), n, readings=(3, 8), gauges=0.0, gross=0.01)
    truth = np.log(made.rate)
    own, fit = timed(lambda: fit_family(made.data, SHOP_PRIOR, shape=STRAIGHT))
    say(f"\nSide by side, {n} parts, 3 to 8 readings, 1 % gross errors")
    say(f"{'':34}{'s':>9}{'ratio':>9}{'error':>9}{'ratio':>9}")
    own_error = error_of(fit.posterior.log_rate_mean, truth)
    rivals: list[tuple[str, Callable[[], np.ndarray]]] = [
        ("least squares, part by part", lambda: lines(made))
    ]
    if importlib.util.find_spec("statsmodels"):
        rivals.append(("linear mixed model (statsmodels)", lambda: mixed_model(made)))
    say(f"{'this forecast':34}{own:9.2f}{1.0:9.1f}{own_error:9.3f}{1.0:9.2f}")
    for name, run in rivals:
        seconds, slope = timed(run)
        error = error_of(np.log(np.maximum(slope, 1e-3)), truth)
        say(f"{name:34}{seconds:9.2f}{seconds / own:9.1f}{error:9.3f}{error / own_error:9.2f}")
    say("error: median of |ln rate - ln true rate|")


def lines(made: Fleet) -> np.ndarray:
    """Return the rate of each part by scipy's least squares."""
    table = made.data.readings
    rate = np.empty(len(table))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", OptimizeWarning)
        for part, count in enumerate(table.count):
            x, y, r = (column[part, :count] for column in (table.x, table.y, table.r))
            rate[part] = curve_fit(lambda at, a, b: a + b * at, x, y, [0.05, 0.16], sigma=r)[0][1]
    return rate


def mixed_model(made: Fleet) -> np.ndarray:
    """Return the rate of each part by a random intercept and slope in each."""
    from statsmodels.regression.mixed_linear_model import MixedLM

    table = made.data.readings
    part, column = np.nonzero(table.is_reading)
    x, y = table.x[part, column], table.y[part, column]
    design = np.column_stack([np.ones(x.size), x])
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fitted = MixedLM(y, design, part, exog_re=design).fit(reml=False)
    effects = fitted.random_effects
    return np.array([fitted.fe_params[1] + np.asarray(effects[one])[1] for one in range(len(table))])


def error_of(log_rate: np.ndarray, truth: np.ndarray) -> float:
    """Return the median error of ln rate."""
    return float(np.median(np.abs(log_rate - truth)))


def timed(run: Callable[[], T], times: int = 2) -> tuple[float, T]:
    """Return the shortest time of some runs, and what the last of them gave."""
    best = np.inf
    for _ in range(times):
        start = time.perf_counter()
        result = run()
        best = min(best, time.perf_counter() - start)
    return best, result


def say(text: str) -> None:
    """Print a line at once."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
