"""The same model with nothing plugged in: theta and spreads sampled, rates and wrong readings summed over.

The likelihood is written anew and differs from the forecast's where that approximates: each set of readings
that may be wrong is followed by itself (two cases after one reading, four after two, ...), nothing is
collapsed, and the rate runs over one wide grid, the same for all parts. A gauge reading may only be a part's
last.

References
----------
D. Foreman-Mackey, D. W. Hogg, D. Lang, J. Goodman, emcee: the MCMC hammer, Publications of the Astronomical
Society of the Pacific 125, 2013, 306-312 (the sampler).
"""

from dataclasses import dataclass

import emcee
import numpy as np
from scipy.special import ndtr, ndtri

from wearlog.forecast.family import FamilyData
from wearlog.forecast.prior import FamilyPrior

LOG_RATES = np.linspace(-4.6, 0.8, 38)
#: Points that stand for what a gauge leaves open.
INSIDE = (np.arange(6) + 0.5) / 6
#: Components of a mixture lighter than this are left out.
LEAST_WEIGHT = 1e-7
LOG_2_PI = np.log(2.0 * np.pi)


@dataclass(frozen=True)
class Sampled:
    """What the sampler found.

    Attributes
    ----------
    draws : ndarray of float, shape (n_draws, n_free)
        Family mean, cell effects, ln tau, offset, ln offset sd, ln process, ln error factor.
    lengths : float
        Steps after burn-in over the longest autocorrelation time.
    acceptance : float
        Share of moves accepted.
    """

    draws: np.ndarray
    lengths: float
    acceptance: float


class FullModel:
    """Likelihood and prior of a family whose parts have point readings and after them one gauge at most."""

    def __init__(self, data: FamilyData, prior: FamilyPrior) -> None:
        table = data.readings
        self.prior, self.cell, self.n_cells = prior, data.cell, data.engineering_mean.size
        self.engineering = data.engineering_mean
        is_gauge = table.is_gauge
        last = np.maximum(table.count - 1, 0)
        row = np.arange(len(table))
        self.has_gauge = is_gauge[row, last]
        self.gauged = np.flatnonzero(self.has_gauge)
        assert is_gauge.sum() == self.has_gauge.sum(), "a gauge reading may only be the last"
        self.is_point = table.is_reading & ~is_gauge
        self.y, self.x, self.r = np.nan_to_num(table.y), table.x, table.r
        self.lo, self.hi, self.r_gauge = (
            one[row, last][self.gauged] for one in (table.lo, table.hi, table.r)
        )
        self.x_last = table.x_last

    @property
    def n_free(self) -> int:
        return 1 + self.n_cells + 5

    def split(self, free: np.ndarray):
        """Return mean of ln rate of each part, tau, offset, offset sd, process and factor."""
        effects = free[..., 1 : 1 + self.n_cells]
        mean = self.engineering[self.cell] + free[..., :1] + effects[..., self.cell]
        log_tau, offset, log_sd, log_process, log_factor = np.moveaxis(free[..., 1 + self.n_cells :], -1, 0)
        return mean, np.exp(log_tau), offset, np.exp(log_sd), np.exp(log_process), np.exp(log_factor)

    def log_prior(self, free: np.ndarray) -> np.ndarray:
        one, theta = self.prior, self.prior.theta
        centre = [0.0] * (1 + self.n_cells) + [
            np.log(one.tau),
            theta.offset_mean,
            np.log(theta.offset_sd),
            np.log(theta.process),
            np.log(theta.error_factor),
        ]
        return -0.5 * (((free - np.array(centre)) / self.prior_sd()) ** 2).sum(axis=-1)

    def prior_sd(self) -> np.ndarray:
        one, theta = self.prior, self.prior.theta
        return np.array(
            [one.family_sd]
            + [one.cell_sd] * self.n_cells
            + [
                one.log_tau_sd,
                theta.offset_mean_sd,
                theta.log_offset_sd_sd,
                theta.log_process_sd,
                theta.log_error_factor_sd,
            ]
        )

    def follow(self, free: np.ndarray):
        """Return log weight, mean and variance of wear, each (n_draws, n_parts, n_rates, n_cases)."""
        _mean, _tau, offset, sd, process, factor = (
            one[..., None, None, None] if one.ndim == 1 else one for one in self.split(free)
        )
        rate = np.exp(LOG_RATES)[:, None]
        share, wrong = self.prior.gross.share, self.prior.gross.sd**2
        shape = (free.shape[0], self.cell.size, LOG_RATES.size, 1)
        mean, variance = np.broadcast_to(offset, shape), np.broadcast_to(sd**2, shape)
        weight = np.zeros(shape)
        before = np.zeros(self.cell.size)
        for j in range(self.x.shape[1]):
            is_here = self.is_point[:, j, None, None]
            ahead = np.where(self.is_point[:, j], self.x[:, j] - before, 0.0)
            before = before + ahead
            gained = rate * ahead[:, None, None]
            mean, variance = mean + gained, variance + process * gained
            error = (factor * self.r[:, j, None, None]) ** 2
            miss = self.y[:, j, None, None] - mean
            cases = []
            for chance, extra in ((1.0 - share, 0.0), (share, wrong)):
                total = variance + error + extra
                log_density = -0.5 * (np.log(total) + LOG_2_PI + miss * miss / total)
                gain = np.where(is_here, variance / total, 0.0)
                cases.append(
                    (
                        weight + np.log(chance) + np.where(is_here, log_density, 0.0),
                        mean + gain * miss,
                        variance * (1.0 - gain),
                    )
                )
            weight, mean, variance = (np.concatenate(both, axis=-1) for both in zip(*cases, strict=True))
        ahead = (self.x_last - before)[:, None, None]
        gained = rate * ahead
        return weight, mean + gained, variance + process * gained

    def gauge(self, free: np.ndarray, mean: np.ndarray, variance: np.ndarray):
        """Return ends of each gauge in standard deviations, its chance, and the variance of what it sees."""
        factor = self.split(free)[5][:, None, None, None]
        total = variance[:, self.gauged] + (factor * self.r_gauge[:, None, None]) ** 2
        low, high = (
            (end[:, None, None] - mean[:, self.gauged]) / np.sqrt(total) for end in (self.lo, self.hi)
        )
        flip = low > 0.0
        low, high = np.where(flip, -high, low), np.where(flip, -low, high)
        return low, high, flip, np.maximum(ndtr(high) - ndtr(low), 1e-300), total

    def log_parts(self, free: np.ndarray):
        """Return log weight of each part, rate and case, and moments of wear before the gauge."""
        weight, mean, variance = self.follow(free)
        mu, tau, *_ = self.split(free)
        z = (LOG_RATES - mu[..., None]) / tau[:, None, None]
        step = LOG_RATES[1] - LOG_RATES[0]
        log_prior = -0.5 * (z * z + LOG_2_PI) - np.log(tau)[:, None, None] + np.log(step)
        return weight + log_prior[..., None], mean, variance

    def log_posterior(self, free: np.ndarray) -> np.ndarray:
        weight, mean, variance = self.log_parts(free)
        if self.has_gauge.any():
            gross = self.prior.gross
            inside = self.gauge(free, mean, variance)[3]
            seen = np.log((1.0 - gross.share) * inside + gross.share * gross.gauge_chance)
            weight[:, self.gauged] += seen
        top = weight.max(axis=(-2, -1))
        total = np.log(np.exp(weight - top[..., None, None]).sum(axis=(-2, -1)))
        return (top + total).sum(axis=-1) + self.log_prior(free)

    def sample(self, seed: int, steps: int, burn: int) -> Sampled:
        """Return draws of an ensemble of walkers that started all over the prior."""
        walkers = 2 * (self.n_free + 3)
        rng = np.random.RandomState(seed)
        centre = np.concatenate(
            [
                np.zeros(1 + self.n_cells),
                [np.log(self.prior.tau), self.prior.theta.offset_mean],
                np.log([self.prior.theta.offset_sd, self.prior.theta.process, self.prior.theta.error_factor]),
            ]
        )
        start = centre + 0.5 * self.prior_sd() * rng.normal(size=(walkers, self.n_free))
        sampler = emcee.EnsembleSampler(
            walkers,
            self.n_free,
            self.log_posterior,
            vectorize=True,
            moves=[(emcee.moves.DEMove(), 0.8), (emcee.moves.DESnookerMove(), 0.2)],
        )
        sampler.random_state = rng.get_state()
        sampler.run_mcmc(start, burn + steps)
        time = float(np.max(sampler.get_autocorr_time(discard=burn, tol=0)))
        return Sampled(
            sampler.get_chain(discard=burn, flat=True),
            steps / time,
            float(sampler.acceptance_fraction.mean()),
        )

    def crossings(self, draws: np.ndarray, p: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return quantiles of the distance at the limit, (n_parts, n_p), and mean wear of each part."""
        n = self.cell.size
        found, wear = np.zeros((n, p.size)), np.zeros(n)
        weight, mean, variance = self.log_parts(draws)
        process = np.broadcast_to(self.split(draws)[4][:, None, None], weight[:, 0].shape)
        rate = np.broadcast_to(np.exp(LOG_RATES)[:, None], weight[:, 0].shape)
        gross = self.prior.gross
        low, high, flip, inside, total = self.gauge(draws, mean, variance)
        for part in range(n):
            log_w, m, v = weight[:, part], mean[:, part], variance[:, part]
            columns = [(log_w, rate, m, v, process)]
            if self.has_gauge[part]:
                k = int(np.searchsorted(self.gauged, part))
                s, ends, is_flipped = total[:, k], (ndtr(low[:, k]), ndtr(high[:, k])), flip[:, k]
                columns = [(log_w + np.log(gross.share * gross.gauge_chance), rate, m, v, process)]
                right = log_w + np.log((1.0 - gross.share) * inside[:, k] / INSIDE.size)
                for at in INSIDE:
                    z = ndtri(ends[0] + at * (ends[1] - ends[0]))
                    z = np.where(np.isfinite(z), z, 0.0) * np.where(is_flipped, -1.0, 1.0)
                    columns.append((right, rate, m + v / np.sqrt(s) * z, v - v * v / s, process))
            log_w, b, m, v, c = (
                np.concatenate([one.ravel() for one in column]) for column in zip(*columns, strict=True)
            )
            # Each draw has its own evidence of the part, but draws of the posterior count alike.
            draw = np.tile(np.repeat(np.arange(draws.shape[0]), weight[0, 0].size), len(columns))
            top = log_w.max()
            w = np.exp(log_w - top)
            w /= np.bincount(draw, w, minlength=draws.shape[0])[draw] * draws.shape[0]
            kept = w > LEAST_WEIGHT / draws.shape[0]
            w, b, m, v, c = (one[kept] for one in (w, b, m, v, c))
            w /= w.sum()
            wear[part] = (w * m).sum()
            found[part] = self.x_last[part] + [_distance(chance, w, b, m, v, c) for chance in p]
        return found, wear


def _distance(chance, w, b, m, v, c) -> float:
    def reached(d):
        return (w * ndtr((m + b * d - 1.0) / np.sqrt(np.maximum(v + c * b * d, 1e-12)))).sum() >= chance

    if reached(0.0):
        return 0.0
    low, high = np.log(1e-4), np.log(400.0)
    for _ in range(22):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if reached(np.exp(middle)) else (middle, high)
    return float(np.exp(0.5 * (low + high)))
