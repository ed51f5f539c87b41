"""Parts with known laws of wear, and published readings, for the tests of the forecast."""

import csv
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from wearlog.forecast.family import FamilyData
from wearlog.forecast.law import RatePrior, Theta, WearLaw
from wearlog.forecast.prior import FamilyPrior
from wearlog.forecast.readings import ReadingTable, one_part

NAN, INF = np.nan, np.inf
DATA = Path(__file__).parent / "data"

#: Law and prior of the one-part cases.
PLAIN_LAW = WearLaw(theta=Theta(0.05, 0.06, 0.015, 1.0), bedding_distance=0.0)
PLAIN_PRIOR = RatePrior.of(np.log(0.16), 0.6)
#: What the simulated shops believe before they read anything.
SHOP_PRIOR = FamilyPrior(log_rate=float(np.log(0.16)), family_sd=0.6, bedding_distance=0.0)

ONE_PART = {
    "none": one_part([], 0.06, y=[]),
    "one": one_part([2.0], 0.06, y=[0.40]),
    "three steady": one_part([1.0, 2.5, 4.0], 0.06, y=[0.22, 0.45, 0.71]),
    "three falling": one_part([1.0, 2.0, 3.0], 0.06, y=[0.5, 0.42, 0.35]),
    "past the limit": one_part([1.0, 3.0, 5.0], 0.06, y=[0.4, 0.8, 1.25]),
    "all at one distance": one_part([2.0, 2.0, 2.0], 0.06, y=[0.30, 0.36, 0.33]),
    "three gauges": one_part([1.0, 2.0, 4.0], 0.05, lo=[-INF, -INF, 0.5], hi=[0.5, 0.5, 0.75]),
    "caliper and gauge": one_part(
        [1.0, 2.0, 3.5], [0.06, 0.15, 0.05], y=[0.2, 0.35, NAN], lo=[NAN, NAN, 0.5], hi=[NAN, NAN, 0.75]
    ),
    "one far too high": one_part([1, 2, 3, 4, 5], 0.06, y=[0.2, 0.35, 1.3, 0.66, 0.8]),
    "last far too low": one_part([1, 2, 3, 4, 5], 0.06, y=[0.2, 0.35, 0.5, 0.66, 0.1]),
    "lone high on a fresh part": one_part([0.1], 0.05, y=[0.9]),
    "contradictory gauges": one_part([1.0, 2.0, 4.0], 0.05, lo=[0.75, -INF, 0.5], hi=[1.0, 0.5, 0.75]),
}


@dataclass(frozen=True)
class Fleet:
    """A simulated fleet and the truth about it."""

    data: FamilyData
    rate: np.ndarray
    offset: np.ndarray
    vehicle_effect: np.ndarray
    cell_mean: np.ndarray
    wear_last: np.ndarray
    is_off: np.ndarray
    theta: Theta = field(default_factory=Theta)


def fleet(
    rng: np.random.Generator,
    n_parts: int,
    readings: tuple[int, int] = (8, 8),
    tau: float = 0.45,
    theta: Theta | None = None,
    n_cells: int = 6,
    n_vehicles: int = 0,
    tau_vehicle: float = 0.0,
    gauges: float = 0.12,
    gross: float = 0.01,
    off_at: float = INF,
) -> Fleet:
    """Return parts that wear by the model's own law, read about every 1100 km, off at a reading `off_at`."""
    law = theta or Theta(0.05, 0.06, 0.015, 1.0)
    cell = rng.integers(0, n_cells, n_parts)
    cell_mean = np.log(0.16) + rng.normal(0.0, 0.35, n_cells)
    vehicle = rng.integers(0, max(n_vehicles, 1), n_parts)
    effect = rng.normal(0.0, tau_vehicle, max(n_vehicles, 1)) if tau_vehicle else np.zeros(max(n_vehicles, 1))
    rate = np.exp(cell_mean[cell] + effect[vehicle] + rng.normal(0.0, tau, n_parts))
    offset = rng.normal(law.offset, law.offset_sd, n_parts)
    most = readings[1]
    d = 0.1 + np.abs(rng.normal(1.0, 0.4, (n_parts, most)))
    x = np.cumsum(d, axis=1)
    gained = rate[:, None] * d
    wear = offset[:, None] + np.cumsum(
        gained + rng.normal(0, 1, d.shape) * np.sqrt(law.process * gained), axis=1
    )
    count = rng.integers(readings[0], readings[1] + 1, n_parts)
    r = rng.uniform(0.04, 0.20, d.shape)
    y = wear + law.error_factor * r * rng.normal(0, 1, d.shape)
    y = y + np.where(rng.random(d.shape) < gross, rng.normal(0.0, 0.7, d.shape), 0.0)
    is_gauge = rng.random(d.shape) < gauges
    edges = np.array([-INF, 0.5, 0.75, 1.0, INF])
    step = np.digitize(wear + 0.05 * rng.normal(0, 1, d.shape), edges[1:-1])
    # What takes a part off is what was read, not what was true.
    is_over = np.where(is_gauge, edges[step], y) >= off_at
    seen = np.where(is_over.any(axis=1), np.argmax(is_over, axis=1) + 1, most)
    is_off = seen <= count
    is_off &= is_over.any(axis=1)
    count = np.minimum(count, seen)
    is_read = np.arange(most) < count[:, None]
    table = ReadingTable.from_columns(
        n_parts,
        np.repeat(np.arange(n_parts), most).reshape(d.shape)[is_read],
        x[is_read],
        np.where(is_gauge, 0.05, r)[is_read],
        y=np.where(is_gauge, NAN, y)[is_read],
        lo=np.where(is_gauge, edges[step], NAN)[is_read],
        hi=np.where(is_gauge, edges[step + 1], NAN)[is_read],
    )
    last = np.where(count > 0, wear[np.arange(n_parts), np.maximum(count, 1) - 1], offset)
    data = FamilyData(table, cell, np.full(n_cells, np.log(0.16)), vehicle if n_vehicles else None)
    return Fleet(data, rate, offset, effect, cell_mean, last, is_off, law)


def crossing_from(rng: np.random.Generator, made: Fleet, limit: float = 1.0) -> np.ndarray:
    """Return the distance at which each part truly reaches its limit, counted on from its last reading."""
    step = 0.01 / made.rate
    wear, x = made.wear_last.copy(), made.data.readings.x_last.copy()
    crossing = np.where(wear >= limit, x, NAN)
    while np.isnan(crossing).any():
        open_ = np.isnan(crossing)
        gained = 0.01
        wear = wear + gained + rng.normal(0, 1, wear.shape) * np.sqrt(made.theta.process * gained)
        x = x + step
        crossing[open_ & (wear >= limit)] = (x - 0.5 * step)[open_ & (wear >= limit)]
    return crossing


def published(name: str, unit: str, x: str, reading: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return unit (from 0), x and reading of a published set."""
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    _, number = np.unique([int(row[unit]) for row in rows], return_inverse=True)
    return number, np.array([float(row[x]) for row in rows]), np.array([float(row[reading]) for row in rows])


def laser_readings() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return unit, thousand hours and increase over 10 % of the GaAs lasers, the readings at 0 left out."""
    unit, hours, increase = published("gaas_laser.csv", "unit", "hours", "increase_pct")
    later = hours > 0.0
    return unit[later], hours[later] / 1000.0, increase[later] / 10.0
