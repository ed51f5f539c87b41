"""Forecasts of a simulated fleet held against what will come."""

from dataclasses import dataclass

import numpy as np

from tests.forecast.other_worlds import Made, Parts
from tests.forecast.worlds import SHOP_PRIOR
from wearlog.forecast.crossing import crossing_cdf, crossing_quantiles, past_probability
from wearlog.forecast.family import FamilyFit, fit_family
from wearlog.forecast.law import RatePrior
from wearlog.forecast.next_reading import next_reading_cdf
from wearlog.forecast.posterior import Posterior, part_posterior
from wearlog.forecast.shape import PathShape

COUNTS = (0, 1, 2, 3, 5)
CRPS_LEVELS = (np.arange(40) + 0.5) / 40


@dataclass(frozen=True)
class Judged:
    """Chance that each forecast gave to what came, and how far its middle was off."""

    limit: np.ndarray
    reading: np.ndarray
    error: np.ndarray
    crps: np.ndarray

    def coverage(self) -> np.ndarray:
        """Return how often 50, 80 and 95 % intervals held: of the limit, then of the next reading."""
        return np.array(
            [
                np.mean(np.abs(level - 0.5) <= 0.5 * width)
                for level in (self.limit, self.reading)
                for width in (0.5, 0.8, 0.95)
            ]
        )


def fitted(made: Made, shape: PathShape | None = None) -> FamilyFit:
    """Return the fit of a fleet as it stands; the path is chosen unless given."""
    return fit_family(made.history, SHOP_PRIOR, shape=shape)


def judge(made: Parts, fit: FamilyFit, rng: np.random.Generator, n_readings: int | None = None) -> Judged:
    """Return the forecasts of parts: as they are seen, or after so many readings of each."""
    parts = np.flatnonzero(made.off >= (n_readings or 0))
    count = made.seen[parts] if n_readings is None else np.full(parts.size, n_readings)
    full = made.full.take(parts)
    cells = [fit.new_part_prior(cell) for cell in range(int(made.cell.max()) + 1)]
    prior = RatePrior(*(np.concatenate([getattr(one, name) for one in cells]) for name in ("mean", "sd")))
    after = part_posterior(full.until(count), prior.take(made.cell[parts]), fit.law)
    truth = made.crossing[parts]
    level = crossing_cdf(after, truth[:, None])[:, 0]
    # Past already at the last reading: anywhere below the chance of being past.
    is_past = truth <= after.x_last
    level = np.where(is_past, rng.random(level.size) * past_probability(after), level)
    ahead = ~is_past
    soon = after.take(ahead)
    return Judged(
        level,
        _next_levels(full, after, count, rng),
        crossing_quantiles(soon, [0.5])[:, 0] / truth[ahead],
        _crps(soon, truth[ahead]),
    )


def _next_levels(full, after: Posterior, count: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    is_next = count < full.count
    row, column = np.flatnonzero(is_next), count[is_next]
    soon = after.take(row)
    x, r, y = full.x[row, column], full.r[row, column], full.y[row, column]
    lo, hi = full.lo[row, column], full.hi[row, column]
    low = next_reading_cdf(soon, x, np.where(np.isnan(y), lo, y), r)
    high = next_reading_cdf(soon, x, np.where(np.isnan(y), hi, y), r)
    return low + rng.random(row.size) * (high - low)


def _crps(after: Posterior, truth: np.ndarray) -> np.ndarray:
    """Return the continuous ranked probability score of the limit over the true distance."""
    at = crossing_quantiles(after, CRPS_LEVELS)
    pinball = np.where(at >= truth[:, None], 1.0 - CRPS_LEVELS, -CRPS_LEVELS) * (at - truth[:, None])
    return 2.0 * pinball.mean(axis=1) / truth
