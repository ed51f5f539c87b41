"""What parts learn from one another: each part is one study, the shop is the meta-analysis.

References
----------
A. Gelman et al., Bayesian Data Analysis, 3rd ed., CRC 2013, section 5.4 (normal model with the spread between
studies integrated on a grid); section from memory.
"""

from dataclasses import dataclass

import numpy as np

from wearlog.forecast.fleet_layout import FleetLayout
from wearlog.forecast.law import RatePrior
from wearlog.forecast.prior import FamilyPrior
from wearlog.forecast.readings import Bools, Floats, Ints

__all__ = [
    "FleetLayout",
    "FleetStep",
    "Messages",
    "fleet_step",
    "new_part_prior",
    "nothing_learnt",
    "part_messages",
]

TAU_GRID = np.geomspace(0.12, 1.3, 25)
TAU_VEHICLE_GRID = np.array([0.0, 0.1, 0.15, 0.2, 0.3, 0.4, 0.55])
#: Stands for a part that has learnt nothing of its rate.
NOTHING_LEARNT = 1e6
#: Precision gained below which a part has learnt nothing.
LEAST_PRECISION = 1e-4
#: Where one value of a grid takes more than this share, the grid is too coarse and is laid closer around it.
COARSE_SHARE = 0.5
#: Values that the sums over parts are worked out for at a time.
SUM_ROWS = 200_000
#: Spread between vehicles is looked for from this many vehicles with two parts that have been read.
LEAST_VEHICLES = 5


@dataclass(frozen=True, slots=True)
class Messages:
    """What each part says about ln rate by itself.

    Attributes
    ----------
    value, variance : ndarray of float, shape (n_parts,)
        ln rate and its variance; variance 1e6 where nothing was learnt, [-].
    """

    value: Floats
    variance: Floats

    @property
    def is_informative(self) -> Bools:
        """Which parts have learnt something, shape (n_parts,)."""
        return self.variance < NOTHING_LEARNT


def part_messages(mean: Floats, variance: Floats, prior: RatePrior, is_read: Bools | None = None) -> Messages:
    """Return each part's own message: its posterior with the prior taken out.

    Parameters
    ----------
    mean, variance : ndarray of float, shape (n_parts,)
        Posterior moments of ln rate, [-].
    prior : RatePrior
        What the posterior was made with.
    is_read : ndarray of bool, shape (n_parts,), optional
        Which parts have readings; a grid that ends somewhere seems to have learnt a little without, [-].
    """
    precision = 1.0 / np.maximum(variance, 1e-12) - 1.0 / prior.sd**2
    is_learnt = precision > LEAST_PRECISION
    if is_read is not None:
        is_learnt &= is_read
    own = np.where(is_learnt, 1.0 / np.where(is_learnt, precision, 1.0), NOTHING_LEARNT)
    value = own * (mean / np.maximum(variance, 1e-12) - prior.mean / prior.sd**2)
    return Messages(np.where(is_learnt, value, mean), own)


def nothing_learnt(n_parts: int) -> Messages:
    """Return the messages of parts that have not been read.

    Parameters
    ----------
    n_parts : int
        Number of parts, [-].
    """
    return Messages(np.zeros(n_parts), np.full(n_parts, NOTHING_LEARNT))


@dataclass(frozen=True, slots=True)
class FleetStep:
    """Spread between parts, effects of cells, and the prior of each part without its own message.

    Attributes
    ----------
    tau, tau_vehicle : float
        Spread of ln rate between parts of a cell and between vehicles, [-].
    beta : ndarray of float, shape (1 + n_cells,)
        Family effect and cell effects, [-].
    covariance : ndarray of float, shape (1 + n_cells, 1 + n_cells)
        Their covariance, [-].
    prior : RatePrior
        Belief about each part of the fleet without its own readings.
    vehicle_effect, vehicle_variance : ndarray of float, shape (n_vehicles,)
        Effect of each vehicle from all its parts, for a new part on it, [-].
    """

    tau: float
    tau_vehicle: float
    beta: Floats
    covariance: Floats
    prior: RatePrior
    vehicle_effect: Floats
    vehicle_variance: Floats


def fleet_step(
    messages: Messages,
    layout: FleetLayout,
    prior: FamilyPrior,
    tau: float | None = None,
    tau_vehicle: float | None = None,
) -> FleetStep:
    """Return what the fleet says about each part before the part's own readings.

    Parameters
    ----------
    messages : Messages
        What each part says by itself.
    layout : FleetLayout
        Cells and vehicles.
    prior : FamilyPrior
        Belief about the family before the shop's readings.
    tau, tau_vehicle : float, optional
        Spreads to keep; found from the messages where not given, [-].

    Returns
    -------
    FleetStep
        Spreads, effects, and each part's prior.
    """
    y = np.where(messages.is_informative, messages.value - layout.engineering_mean[layout.cell], 0.0)
    v = messages.variance
    between = _spread_between_vehicles(y, v, layout, prior) if tau_vehicle is None else tau_vehicle
    spread = _spread_between_parts(y, v, layout, prior, between) if tau is None else tau
    return _at_spreads(y, v, layout, prior, spread, between)


def new_part_prior(
    step: FleetStep,
    engineering_mean: float,
    cell: int | None,
    cell_sd: float,
    vehicle: int | None,
) -> RatePrior:
    """Return the belief about a part that is not in the fleet yet.

    Parameters
    ----------
    step : FleetStep
        What the fleet says.
    engineering_mean : float
        Mean of ln rate of its cell before the shop's readings, [-].
    cell : int or None
        Its cell; None for a cell that the fleet does not know, [-].
    cell_sd : float
        How much cells differ (sd of ln rate), [-].
    vehicle : int or None
        Its vehicle, counted as in the layout; None for one that the fleet does not know, [-].
    """
    x = np.zeros_like(step.beta)
    x[0] = 1.0
    variance = step.tau**2
    if cell is None:
        variance += cell_sd**2
    else:
        x[1 + cell] = 1.0
    mean = engineering_mean + float(x @ step.beta)
    variance += float(x @ step.covariance @ x)
    if vehicle is None:
        variance += step.tau_vehicle**2
    else:
        mean += float(step.vehicle_effect[vehicle])
        variance += float(step.vehicle_variance[vehicle])
    return RatePrior.of(mean, np.sqrt(variance))


def _spread_between_vehicles(y: Floats, v: Floats, layout: FleetLayout, prior: FamilyPrior) -> float:
    read = np.bincount(layout.vehicle[v < NOTHING_LEARNT], minlength=layout.n_vehicles)
    if int((read >= 2).sum()) < LEAST_VEHICLES or prior.tau_vehicle_sd <= 0.0:
        return 0.0
    grid = TAU_VEHICLE_GRID
    chance = _vehicle_chance(y, v, layout, prior, grid)
    best = int(np.argmax(chance))
    if best > 0 and chance[best] > COARSE_SHARE:
        # With many vehicles the answer lies between two values of the grid.
        grid = np.linspace(grid[best - 1], grid[min(best + 1, grid.size - 1)], TAU_VEHICLE_GRID.size)
        chance = _vehicle_chance(y, v, layout, prior, grid)
    return float(np.sqrt((chance * grid**2).sum()))


def _vehicle_chance(y: Floats, v: Floats, layout: FleetLayout, prior: FamilyPrior, grid: Floats) -> Floats:
    logs = _spread_evidence(y, v, layout, prior, grid, TAU_GRID)
    averaged = np.exp(logs - logs.max()).mean(axis=1)
    chance = averaged * np.exp(-0.5 * (grid / prior.tau_vehicle_sd) ** 2)
    return np.asarray(chance / chance.sum(), dtype=np.float64)


def _spread_between_parts(
    y: Floats, v: Floats, layout: FleetLayout, prior: FamilyPrior, tau_vehicle: float
) -> float:
    taus = TAU_GRID
    chance = _part_chance(y, v, layout, prior, tau_vehicle, taus)
    best = int(np.argmax(chance))
    if chance[best] > COARSE_SHARE:
        taus = np.geomspace(taus[max(best - 1, 0)], taus[min(best + 1, taus.size - 1)], TAU_GRID.size)
        chance = _part_chance(y, v, layout, prior, tau_vehicle, taus)
    # The mean of the variance, not its mode, keeps small fleets from looking all alike.
    return float(np.sqrt((chance * taus**2).sum()))


def _part_chance(
    y: Floats, v: Floats, layout: FleetLayout, prior: FamilyPrior, tau_vehicle: float, taus: Floats
) -> Floats:
    logs = _spread_evidence(y, v, layout, prior, np.array([tau_vehicle]), taus)[0]
    chance = np.exp(logs - logs.max())
    return np.asarray(chance / chance.sum(), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class _Sums:
    """Weighted sums at given spreads between parts; leading axis n_tau."""

    w_cell: Floats
    wy_cell: Floats
    wyy: Floats
    log_w: Floats
    vehicles: "_VehicleSums | None"


@dataclass(frozen=True, slots=True)
class _VehicleSums:
    """The same by vehicle and (vehicle, cell) pair, and products of pairs that share a vehicle."""

    w: Floats
    wy: Floats
    w_place: Floats
    couple: Floats


def _sums(y: Floats, v: Floats, layout: FleetLayout, taus: Floats, by_vehicle: bool) -> _Sums:
    """Return the sums; without vehicles the parts enter through their cells alone."""
    group, n_groups = (
        (layout.place, layout.place_vehicle.size) if by_vehicle else (layout.cell, layout.n_cells)
    )
    w_group, wy_group = np.empty((taus.size, n_groups)), np.empty((taus.size, n_groups))
    wyy, log_w = np.empty(taus.size), np.empty(taus.size)
    at_once = max(SUM_ROWS // max(y.size, 1), 1)
    for begin in range(0, taus.size, at_once):
        chosen = slice(begin, begin + at_once)
        w = 1.0 / (taus[chosen, None] ** 2 + v)
        log_w[chosen] = np.log(w).sum(axis=1)
        w_group[chosen] = _grouped(w, group, n_groups)
        w *= y
        wy_group[chosen] = _grouped(w, group, n_groups)
        w *= y
        wyy[chosen] = w.sum(axis=1)
    if not by_vehicle:
        return _Sums(w_group, wy_group, wyy, log_w, None)
    vehicles = _VehicleSums(
        w=_grouped(w_group, layout.place_vehicle, layout.n_vehicles),
        wy=_grouped(wy_group, layout.place_vehicle, layout.n_vehicles),
        w_place=w_group,
        couple=w_group.take(layout.first, axis=1) * w_group.take(layout.second, axis=1),
    )
    w_cell, wy_cell = (_grouped(one, layout.place_cell, layout.n_cells) for one in (w_group, wy_group))
    return _Sums(w_cell, wy_cell, wyy, log_w, vehicles)


def _grouped(rows: Floats, group: Ints, n_groups: int) -> Floats:
    """Return the sums of each row over groups, shape (n_rows, n_groups)."""
    n = rows.shape[0]
    index = (np.arange(n)[:, None] * n_groups + group).ravel()
    total = np.bincount(index, rows.ravel(), minlength=n * n_groups)
    return np.asarray(total.reshape(n, n_groups), dtype=np.float64)


def _normal_equations(
    sums: _Sums, layout: FleetLayout, prior: FamilyPrior, tau_vehicle: float
) -> tuple[Floats, Floats, Floats, Floats]:
    """Return A (n_tau, p, p), q (n_tau, p), sum of ln(1 + tau_v^2 W_v), and the vehicles' share of w y^2."""
    n_tau, p = sums.w_cell.shape[0], 1 + layout.n_cells
    cells = np.arange(layout.n_cells)
    a = np.zeros((n_tau, p, p))
    a[:, 1 + cells, 1 + cells] = sums.w_cell
    a[:, 0, 1:] = sums.w_cell
    a[:, 0, 0] = sums.w_cell.sum(axis=1)
    q = np.concatenate([sums.wy_cell.sum(axis=1, keepdims=True), sums.wy_cell], axis=1)
    log_vehicle, less = np.zeros(n_tau), np.zeros(n_tau)
    vehicles = sums.vehicles
    if tau_vehicle > 0.0 and vehicles is not None:
        inner = 1.0 + tau_vehicle**2 * vehicles.w
        k_v = tau_vehicle**2 / inner
        couple = layout.place_cell[layout.first] * layout.n_cells + layout.place_cell[layout.second]
        both = k_v.take(layout.place_vehicle[layout.first], axis=1)
        both *= vehicles.couple
        shared = _grouped(both, couple, layout.n_cells**2).reshape(n_tau, layout.n_cells, layout.n_cells)
        shared = shared + shared.transpose(0, 2, 1)
        shared[:, cells, cells] *= 0.5
        a[:, 1:, 1:] -= shared
        a[:, 0, 1:] -= shared.sum(axis=1)
        a[:, 0, 0] -= shared.sum(axis=(1, 2))
        told = (k_v * vehicles.wy).take(layout.place_vehicle, axis=1)
        told *= vehicles.w_place
        q_cell = _grouped(told, layout.place_cell, layout.n_cells)
        q[:, 1:] -= q_cell
        q[:, 0] -= q_cell.sum(axis=1)
        log_vehicle = np.log(inner).sum(axis=1)
        less = (k_v * vehicles.wy**2).sum(axis=1)
    a[:, 1:, 0] = a[:, 0, 1:]
    s = np.concatenate([[prior.family_sd], np.full(layout.n_cells, prior.cell_sd)])
    diagonal = np.arange(p)
    a[:, diagonal, diagonal] += 1.0 / s**2
    return a, q, log_vehicle, less


def _spread_evidence(
    y: Floats, v: Floats, layout: FleetLayout, prior: FamilyPrior, tau_vehicles: Floats, taus: Floats
) -> Floats:
    """Return the log evidence of each pair of spreads, shape (n_tau_vehicle, n_tau)."""
    sums = _sums(y, v, layout, taus, bool((tau_vehicles > 0.0).any()))
    logs = np.empty((tau_vehicles.size, taus.size))
    for i, tau_vehicle in enumerate(tau_vehicles):
        a, q, log_vehicle, less = _normal_equations(sums, layout, prior, float(tau_vehicle))
        beta = np.linalg.solve(a, q[:, :, None])[:, :, 0]
        logs[i] = (
            0.5 * sums.log_w
            - 0.5 * log_vehicle
            - 0.5 * (sums.wyy - less - (q * beta).sum(axis=1))
            - 0.5 * np.linalg.slogdet(a)[1]
            - 0.5 * ((np.log(taus) - np.log(prior.tau)) / prior.log_tau_sd) ** 2
        )
    return logs


def _at_spreads(
    y: Floats, v: Floats, layout: FleetLayout, prior: FamilyPrior, tau: float, tau_vehicle: float
) -> FleetStep:
    sums = _sums(y, v, layout, np.array([tau]), tau_vehicle > 0.0)
    a, q, _, _ = _normal_equations(sums, layout, prior, tau_vehicle)
    covariance = np.linalg.inv(a[0])
    beta = covariance @ q[0]
    cell, vehicle = layout.cell, layout.vehicle
    w = 1.0 / (tau * tau + v)
    inner = np.diagonal(covariance)[1:]
    h = (covariance[0, 0] + 2.0 * covariance[0, 1:] + inner)[cell]
    fitted = (beta[0] + beta[1:])[cell]
    left = np.maximum(1.0 - w * h, 1e-3)
    mean = layout.engineering_mean[cell] + (fitted - w * h * y) / left
    variance = tau * tau + h / left
    e = w * (y - fitted)
    e_all = np.bincount(vehicle, e, minlength=layout.n_vehicles)
    w_all = np.bincount(vehicle, w, minlength=layout.n_vehicles)
    if tau_vehicle > 0.0:
        k = tau_vehicle**2 / (1.0 + tau_vehicle**2 * np.maximum(w_all[vehicle] - w, 0.0))
        mean = mean + k * (e_all[vehicle] - e)
        variance = variance + k
        exact_mean, exact_variance = _without_itself(y, v, layout, covariance, w, y - fitted, h, tau_vehicle)
        is_read = v < NOTHING_LEARNT
        mean = np.where(is_read, layout.engineering_mean[cell] + exact_mean, mean)
        variance = np.where(is_read, np.maximum(exact_variance, tau * tau), variance)
    k_all = tau_vehicle**2 / (1.0 + tau_vehicle**2 * w_all)
    return FleetStep(
        tau=tau,
        tau_vehicle=tau_vehicle,
        beta=beta,
        covariance=covariance,
        prior=RatePrior(mean, np.sqrt(variance)),
        vehicle_effect=np.asarray(k_all * e_all, dtype=np.float64),
        vehicle_variance=np.asarray(k_all, dtype=np.float64),
    )


def _without_itself(
    y: Floats,
    v: Floats,
    layout: FleetLayout,
    covariance: Floats,
    w: Floats,
    rest: Floats,
    h: Floats,
    tau_vehicle: float,
) -> tuple[Floats, Floats]:
    """Return mean and variance of each part's effect from all the other messages, vehicles included.

    With P the inverse covariance of all messages, family, cells and vehicles integrated out, what the others
    say of message i is y_i - (P y)_i / P_ii with variance 1 / P_ii (leave one out of a normal law). Without
    vehicles this is the plain formula; with them the plain one can count a part's weight twice over, and a
    part that outweighs its cell is then thrown far off.

    References
    ----------
    S. Sundararajan, S. S. Keerthi, Predictive approaches for choosing hyperparameters in Gaussian processes,
    Neural Computation 13, 2001, 1103-1118 (the leave-one-out formulas; from memory).
    """
    cell, vehicle = layout.cell, layout.vehicle
    weights = np.zeros((layout.n_vehicles, 1 + layout.n_cells))
    np.add.at(weights, (vehicle, 1 + cell), w)
    weights[:, 0] = weights[:, 1:].sum(axis=1)
    k = (tau_vehicle**2 / (1.0 + tau_vehicle**2 * weights[:, 0]))[vehicle]
    spread = weights @ covariance
    own = (weights * spread).sum(axis=1)[vehicle]
    shared = spread[vehicle, 0] + spread[vehicle, 1 + cell]
    precision = w - k * w**2 - w**2 * (h - 2.0 * k * shared + k**2 * own)
    residual = np.bincount(vehicle, w * rest, minlength=layout.n_vehicles)[vehicle]
    told = w * (rest - k * residual)
    return y - told / precision, 1.0 / precision - v
